"""What each kind of question needs, what else it can use, and who answers it.

The answer that uses most of what was said wins, the earlier of two; what it does not use is named.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

from millprep.base.records import frozen
from millprep.lookup.bag import Bag
from millprep.lookup.readings import Reading

Give = Callable[[Bag], list[Reading]]
_ANY = 9  # words may be said twice
_VALUES = """
size thread material percent depth ratio angle plate start sweep radius finder lead holes
columns rows tpi divisions surface revs per-turn form made
"""
_ONCE = frozenset(_VALUES.split())


@frozen
class Answer:
    """One kind of question.

    needs : kinds that must be there, each a choice, of which one thing is used
    also  : how many of each further kind can be used
    give  : "module:function" of this room, imported when it is first asked
    """

    needs: tuple[tuple[str, ...], ...]
    also: dict[str, int]
    give: str

    def used_of(self, bag: Bag) -> Bag | None:
        """What of a question it would use; None where it needs more."""
        uses = dict(self.also)
        for choice in self.needs:
            there = [kind for kind in choice if bag.has(kind)]
            worded = [kind for kind in there if kind not in _ONCE]
            for kind in worded or there[:1]:
                uses[kind] = max(uses.get(kind, 0), 1 if kind in _ONCE else _ANY)
        used = bag.within(uses)
        return used if self._has_all(used) else None

    def _has_all(self, used: Bag) -> bool:
        """Each need by a thing of its own."""
        found = [[i for i, thing in enumerate(used.things) if thing.kinds.intersection(need)]
                 for need in self.needs]  # fmt: skip
        return all(found) and any(len(set(one)) == len(one) for one in product(*found))

    def readings(self, used: Bag) -> list[Reading]:
        from importlib import import_module

        module, _, name = self.give.partition(":")
        give: Give = getattr(import_module(f"millprep.lookup.{module}"), name)
        return give(used)


def _answer(needs: str, also: str, give: str) -> Answer:
    """ "ream size", "material class:2": "_" stands for a blank in a kind's name."""
    counts = [each.replace("_", " ").partition(":") for each in also.split()]
    uses = {name: int(count or (1 if name in _ONCE else _ANY)) for name, _, count in counts}
    uses.setdefault("to", _ANY)  # "in inches": every page has both units
    choices = tuple(tuple(each.replace("_", " ").split("|")) for each in needs.split())
    return Answer(choices, uses, give)


_CUTS = "drill|spot_drill|counterbore|countersink|spotface|bore"
_ABOUT = "speed feed oil pecks"
_GRADES = "close normal loose coarse fine"
_SCREW = "screw head nut bolt nearest"
ANSWERS = (
    _answer("circle|holes size|radius", "holes divisions radius size:2 start point angle spacing drill screw head",
            "quick:circle"),
    _answer("arc", "holes size:2 radius sweep point", "quick:arc"),
    _answer("grid|spacing by|columns", "grid columns rows by:2 size:2 pitch spacing point holes", "quick:grid"),
    _answer("sine size", "angle size:2", "quick:sine"),
    _answer("divide|ratio", "ratio divisions size angle plate circle turns", "quick:dividing"),
    _answer("turns|lead size", "turns size:2 lead divisions screw pitch depth tpi", "quick:dial_turns"),
    _answer("points|inside|outside|finder point",
            "points point:3 outside inside bore finder size", "quick:three_points"),
    _answer("surface size", "speed drill material", "quick:spindle_speed"),
    _answer("revs size", "speed drill", "quick:surface_speed"),
    _answer("per-turn revs", "feed", "quick:feed"),
    _answer("percent thread|size", "tap drill screw percentage form left right",
            "screws:percent_asked"),
    _answer("thread size percentage|drill", "tap percentage drill screw", "quick:percentage_left"),
    _answer("length|number|fraction to", "nearest", "quick:length"),
    _answer("thread material", f"tap drill screw depth {_ABOUT}", "cuts:tapping_asked"),
    _answer("ream size", f"material class drill depth limit {_ABOUT}", "cuts:reaming_asked"),
    _answer("size material", f"size:2 depth carbide {_CUTS.replace('|', ' ')} {_ABOUT}",
            "cuts:cut_asked"),
    _answer("engagement|deep thread material", "tap screw form", "screws:engagement_asked"),
    _answer("clearance thread|size",
            f"clearance drill form left right tpi {_GRADES} {_SCREW}",
            "screws:clearance_asked"),
    _answer("head|counterbore|countersink thread|size",
            "head_size clearance form drill screw deep thick key", "screws:head_asked"),
    _answer("nut|flats|washer thread|size", "head head_size screw form major thick",
            "screws:bought_asked"),
    _answer("key thread|size", "head head_size screw form", "screws:head_asked"),
    _answer("close|normal|loose thread|size", "screw form left right tpi head",
            "screws:clearance_asked"),
    _answer("centre_drill size", "drill", "things:centre_drill_asked"),
    _answer("centre_drill form|unknown", "drill", "things:centre_drill_asked"),
    _answer("dowel size", "pin class limit press ream drill locate", "bought:dowel_asked"),
    _answer("taper-pin size|by", "size:2 by drill pin ream", "bought:taper_pin_asked"),
    _answer("spring-pin size", "drill pin", "bought:spring_pin_asked"),
    _answer("grub thread|size", "form drill tap screw key head_size", "bought:grub_asked"),
    _answer("pipe size", "tap drill screw", "bought:pipe_asked"),
    _answer("press|slide|pivot|locate size", "pin limit", "things:purpose_asked"),
    _answer("class size", "class:2 limit pin bore", "things:fit_asked"),
    _answer("tip|spot_drill|countersink size", "angle depth deep drill", "quick:cone"),
    _answer("no_table", "thread size head pin drill", "things:not_listed"),
    _answer("speed|feed|pecks|spotface|counterbore|bore size", _CUTS.replace("|", " ") + " depth",
            "cuts:material_wanted"),
    _answer("forming thread|size", "tap drill screw form", "quick:forming_drill"),
    _answer("thread",
            "tap drill pitch effective core major screw left right coarse fine nearest form tpi",
            "screws:thread_asked"),
    _answer("size tap|screw|pitch|core|major|form|left|right|coarse|fine|tpi",
            "tap drill pitch core major screw left right coarse fine form", "screws:size_asked"),
    _answer("size", "drill nearest to limit", "things:drill_asked"),
    _answer("made", "", "things:made_asked"),
    _answer("material", f"{_ABOUT} ream tap {_CUTS.replace('|', ' ')} limit carbide",
            "things:material_asked"),
)  # fmt: skip


def answered(bag: Bag) -> tuple[Bag, list[Reading]] | None:
    """What was used, and the readings; None where no answer knows anything.

    WordError of the answer that would use most, where it has a reason to have none.
    """
    tried = [(answer, used) for answer in ANSWERS if (used := answer.used_of(bag)) is not None]
    for answer, used in sorted(tried, key=lambda pair: -len(pair[1].things)):
        if readings := answer.readings(used):
            return used, readings
    return None
