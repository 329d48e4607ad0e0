"""What each kind of question needs, what else it can use, and who answers it.

The answer that uses most of what was said wins, the earlier of two; what it does not use is named.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import product

from millprep.base.records import frozen
from millprep.lookup.bag import Bag
from millprep.lookup.readings import Reading
from millprep.lookup.vocabulary import ANSWERS as _TABLE

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
        found = [
            [place for place, thing in enumerate(used.things) if thing.kinds.intersection(need)]
            for need in self.needs
        ]
        return all(found) and any(len(set(one)) == len(one) for one in product(*found))

    def readings(self, used: Bag) -> list[Reading]:
        from importlib import import_module

        module, _, name = self.give.partition(":")
        give: Give = getattr(import_module(f"millprep.lookup.{module}"), name)
        return give(used)


def _answer(needs: str, also: str, give: str) -> Answer:
    """A row of the table: "*cuts" stands for a group of kinds, "class:2" for two of a kind."""
    for group in re.findall(r"\*(\w+)", also):
        also = also.replace(f"*{group}", _TABLE[group])
    counts = [each.replace("_", " ").partition(":") for each in also.split()]
    uses = {name: int(count or (1 if name in _ONCE else _ANY)) for name, _, count in counts}
    uses.setdefault("to", _ANY)  # "in inches": every page has both units
    choices = tuple(tuple(each.replace("_", " ").split("|")) for each in needs.split())
    return Answer(choices, uses, give)


ANSWERS = [_answer(*row) for row in _TABLE["rows"]]


def answered(bag: Bag) -> tuple[Bag, list[Reading]] | None:
    """What was used, and the readings; None where no answer knows anything.

    WordError of the answer that would use most, where it has a reason to have none.
    """
    tried = [(answer, used) for answer in ANSWERS if (used := answer.used_of(bag)) is not None]
    for answer, used in sorted(tried, key=lambda pair: -len(pair[1].things)):
        if readings := answer.readings(used):
            return used, readings
    return None
