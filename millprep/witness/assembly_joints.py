"""Each joint of a report against the parts that it joins: screws, pins, patterns, chances.

Imports the assembly and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from millprep.base.bounds import MOST_SIMULATED
from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import Assembly, PinJoint, Place, ScrewJoint, Shared, Stack
from millprep.reading.pages.lines import ReadSection, ReadSheet
from millprep.reading.pages.slots import Said
from millprep.witness.asked import same_words
from millprep.witness.assembly_sums import (
    AXES,
    Joined,
    apart_mm,
    deep_mm,
    joined_of,
    linked,
    narrowest_mm,
    pin_sums,
    pins_between,
    screw_sums,
    zones_mm,
)

_JOINT = "{called:text}: {what:text}"
_SLACK_MM = 0.0055  # lengths are told to 0.01 mm or 0.0001 in
_UM = 0.501
_SAME_MM = 0.05  # patterns that lie over each other: twice what both may be off
_FLUTES_MM = 12.0  # that a reamer's lead and its room ask for, at the most
_LIKELY = 95.0  # per cent: below that it is told among what was found
_ERROR_SLACK = 0.1
_TRIALS = 10_000

Fault = tuple[str, Said]
Shows = Callable[[str], str]


@frozen
class Case:
    """The report beside its assembly. shows : words in the letters that the form has."""

    sheet: ReadSheet
    assembly: Assembly
    findings: Sequence[Finding]
    shows: Shows

    @property
    def title(self) -> Said:
        return self.sheet.pages[0].title

    @property
    def whole(self) -> ReadSection:
        return self.sheet.pages[0].whole

    def about(self, joint: Joined, kind: str) -> list[str]:
        """What was found of that kind about a joint."""
        begins = f"{joint.name}: "
        found = (one.message for one in self.findings if one.kind == kind)
        return [words for words in found if words.startswith(begins)]


def joint_faults(case: Case) -> Iterator[Fault]:
    """Each joint once and in order, with what it says."""
    sections = [one for one in case.sheet.pages[0].sections if one.all(_JOINT)]
    joined = [*joined_of(case.assembly)]
    if len(sections) != len(joined):
        yield f"{len(sections)} joints of {len(joined)}", case.title
        return
    for section, (joint, what) in zip(sections, joined, strict=True):
        (label,) = section.all(_JOINT)
        if not same_words(label["called"], case.shows(joint.name.upper())):
            yield f"{label['called']} is {joint.name}", label
        if not same_words(label["what"], case.shows(what)):
            yield f"{label['called']} is {what}, not {label['what']}", label
        words = [case.shows(place.words) for place in joint.places]
        if [one["places"] for one in section.all("joint-places")] != [words]:
            yield f"{label['called']} goes through {' > '.join(words)}", label
        told = section.all("screw-holds", "stud-holds", "stack-holds")
        if len(told) != isinstance(joint, ScrewJoint | Stack):
            yield f"{label['called']}: {len(told)} sentences of what holds it", label
        for said in told:
            yield from _held(case, joint, said)
        yield from _fits(case, joint, section, label)
        yield from _patterns(case, joint, section, label)


def _held(case: Case, joint: Joined, said: Said) -> Iterator[Fault]:
    """The sums of a screw, a stud or a stack."""
    assembly = case.assembly
    right: dict[str, float | None] = {}
    plays: Sequence[float] = ()
    if isinstance(joint, Stack):
        height = sum(deep_mm(assembly, place) for place in joint.places)
        right = {"height_mm": height}
        if not height < said.mm("needed_mm") <= height + _FLUTES_MM:
            yield f"{said.text}: the stack is {height:.2f} mm high", said
    elif isinstance(joint, ScrewJoint):
        sums = screw_sums(assembly, joint)
        plays, right = sums.plays, {"grip_mm": sums.grip}
        if said.slug == "stud-holds":
            end = sums.end or 0.0
            right["stud_end_mm"] = abs(end)
            way = ("stands", "out of") if end > -_SLACK_MM else ("ends", "inside")
            if abs(end) > _SLACK_MM and (said["_stud_way"], said["where"]) != way:
                yield f"{said.text}: it {' '.join(way)} its nuts", said
        else:
            room, head = sums.spare, sums.head
            right |= {"engagement_mm": sums.engagement, "wanted_mm": sums.wanted}
            right["spare_mm"] = room if room is not None and room >= 0 else None
            right["deeper_mm"] = -room if room is not None and room < 0 else None
            right["end_mm"] = None if sums.end is None else abs(sums.end)
            right["head_off_mm"] = None if head is None else abs(head)
            across = (sums.engagement or 0.0) / joint.thread.major_mm
            if abs(float(said["engagement_diameters"]) - across) > 0.051:
                yield f"{said.text}: that is {across:.2f} D", said
            yield from _ways(said, sums.end, head, sums.face)
    for name, wanted in right.items():
        told = said.mm(name) if said.has(name) else None
        is_nothing = told is None and abs(wanted or 0.0) < _SLACK_MM and name == "spare_mm"
        if (told is None) != (wanted is None) and not is_nothing:
            yield f"{said.text}: {name} is {wanted}", said
        elif told is not None and abs(told - (wanted or 0.0)) > _SLACK_MM:
            yield f"{said.text}: {name} is {wanted:.3f}", said
    told_plays = said.slots.get("play_mm") or []
    shown = [float(one.split(" ")[0]) * (25.4 if one.endswith(" in") else 1) for one in told_plays]
    is_off = [abs(a - b) > _SLACK_MM for a, b in zip(shown, plays, strict=False)]
    if len(shown) != len(plays) or any(is_off):
        yield f"{said.text}: the play is {', '.join(f'{one:.3f}' for one in plays)}", said


def _ways(said: Said, end: float | None, head: float | None, face: str) -> Iterator[Fault]:
    """Out of or inside, above or below, and of which face."""
    for value, name, words in ((end, "end_way", "out of"), (head, "head_way", "above")):
        if value is not None and abs(value) > _SLACK_MM and (said[name] == words) != (value > 0):
            yield f"{said.text}: {name} is {said[name]}, by {value:.3f} mm", said
    if head is not None and said["head_face"] != face:
        yield f"{said.text}: the head is on {face}", said


def _fits(case: Case, joint: Joined, section: ReadSection, label: Said) -> Iterator[Fault]:
    told = section.all("pin-clears", "pin-sits", "pin-may")
    held = joint.held if isinstance(joint, PinJoint) else ()
    if len(told) != len(held):
        yield f"{label['called']}: {len(told)} fits of {len(held)}", label
        return
    for index, (said, (how, place)) in enumerate(zip(told, held, strict=True)):
        assert isinstance(joint, PinJoint)
        least, most, fit, word = pin_sums(joint, index)
        if (said["how"], said["holes"]) != (how, case.shows(place.words)):
            yield f"{said.text}: {how} in {place.words}", said
        if (said.slug == "pin-clears") != (how == "clear"):
            yield f"{said.text}: it is {how}", said
        elif how == "clear":
            if abs(said.mm("clears_mm") - least) > _SLACK_MM:
                yield f"{said.text}: it clears by {least:.3f} mm", said
            continue
        if (said["fit"], said["word"]) != (case.shows(fit), word):
            yield f"{said.text}: {fit}, {word}", said
        if said.slug == "pin-may":
            shown = -said.count("tight_um"), said.count("play_um")
        else:
            shown = said.count("least_um"), said.count("greatest_um")
            shown = shown if said["as"] == "of play" else (-shown[1], -shown[0])
            if shown[1] < 0 < most * 1000 - 1:
                yield f"{said.text}: tight", said
        if abs(shown[0] - least * 1000) > _UM or abs(shown[1] - most * 1000) > _UM:
            yield f"{said.text}: {least:.4f} to {most:.4f} mm of play", said


_OVERS = ("over-lies", "over-in-line", "over-askew", "over-out", "over-off")


def _patterns(case: Case, joint: Joined, section: ReadSection, label: Said) -> Iterator[Fault]:
    """How holes lie over each other, and whether the screws go in."""
    told, links = section.all(*_OVERS), linked(joint)
    if len(told) != len(links):
        yield f"{label['called']}: {len(told)} patterns of {len(links)}", label
        return
    for said, (one, other) in zip(told, links, strict=True):
        if [said["member"], said["other"]] != [case.shows(p.member) for p in (one, other)]:
            yield f"{said.text}: of {one.member} and {other.member}", said
        yield from _over(case, joint, said, one, other)
    entering = iter([*section.all("enter")])
    count = 0
    if isinstance(joint, ScrewJoint):
        for over, pair in zip(told, links, strict=True):
            if not _is_reckoned(case, joint, over, pair):
                continue
            said = next(entering, label)
            count += 1
            if said is label:
                yield f"{label['called']}: whether all screws enter is not told", label
            else:
                yield from _enters(case, joint, said, pair)
    if len(section.all("enter")) != count:
        yield f"{label['called']}: {len(section.all('enter'))} chances of {count}", label


def _over(case: Case, joint: Joined, said: Said, one: Place, other: Place) -> Iterator[Fault]:
    """Distances between the holes of both are the same where they lie over each other; what does
    not is told among what was found."""
    lies = said.slug in ("over-lies", "over-in-line")
    is_single = said.slug in ("over-in-line", "over-out")
    if said.slug != "over-askew" and is_single != (len(other.holes) == 1):
        yield f"{said.text}: of {len(other.holes)} holes", said
    pairs = zip(apart_mm(one), apart_mm(other), strict=False)
    if lies and any(abs(a - b) > _SAME_MM for a, b in pairs):
        yield f"{said.text}: their distances differ", said
    about = case.about(joint, "patterns-differ")
    told = [words for words in about if f": {one.words} and {other.words} " in words]
    if lies and told:
        yield f"{said.text}: {told[0]}", said
    if lies:
        return
    if not told and not isinstance(joint, Shared):
        yield f"{said.text}: nothing of that was found", said
    if said.slug != "over-askew":
        if isinstance(joint, Shared) and not told and said.mm("off_mm") > joint.within_mm + 1e-3:
            yield f"{said.text}: more than {joint.within_mm} mm is told", said
        words = case.shows(told[0]) if told else ""
        off, why = said["off_mm"], said.slots.get("words") or ""
        if told and not (f"{off} off" in words and same_words(why, words[len(words) - len(why) :])):
            yield f"{said.text}: {words}", said


def _is_reckoned(case: Case, joint: ScrewJoint, over: Said, pair: tuple[Place, Place]) -> bool:
    """Whether there is a chance to tell: several screws, or one in members that are held."""
    clear = [place for place in pair if place != joint.into]
    passes = all(narrowest_mm(place.holes[0]) > joint.thread.major_mm for place in clear)
    fewest = 1 if _is_held(case, [place.member for place in pair]) else 2
    lies = over.slug in ("over-lies", "over-in-line")
    return lies and passes and fewest <= len(pair[0].holes) <= MOST_SIMULATED


def _is_held(case: Case, names: Sequence[str]) -> bool:
    """Whether two pins, or edges along both axes where one lies on the other, hold them."""
    lies_on = {
        member.name: row.said["on"]
        for member, row in zip(case.assembly.members, case.whole.rows, strict=False)
    }
    lie = any(lies_on.get(a) == case.shows(b) for a in names for b in names if a != b)
    by_edges = lie and any(
        member.on in names and len({AXES[edge.face] for edge in member.edges}) > 1
        for member in map(case.assembly.member, names)
    )
    return by_edges or pins_between(case.assembly, {*names}) > 1


def _enters(
    case: Case, joint: ScrewJoint, said: Said, pair: tuple[Place, Place]
) -> Iterator[Fault]:
    assembly, names = case.assembly, [place.member for place in pair]
    made_by = list(dict.fromkeys(assembly.member(name).made_by for name in names))
    if said["made_by"] != made_by:
        yield f"{said.text}: made by {' and '.join(made_by)}", said
    is_held = _is_held(case, names)
    if said.has("held") != is_held:
        yield f"{said.text}: pins or edges {'do' if is_held else 'do not'} hold them", said
    share, error = float(said["share"]), float(said["error"])
    likely = share / 100
    spread = 100 * math.sqrt(max(likely * (1 - likely), 0.0) / _TRIALS)
    if not 0 <= share <= 100 or abs(error - spread) > _ERROR_SLACK:
        yield f"{said.text}: no share of {_TRIALS} trials", said
    told = f"{said['share']} % (+/- {said['error']})"
    if share < _LIKELY - 0.05 and not any(
        told in words for words in case.about(joint, "may-not-assemble")
    ):
        yield f"{said.text}: nothing of that was found", said
    zones, left = zones_mm(assembly, joint, pair)
    if said.has("zones_mm") == math.isnan(zones):
        yield f"{said.text}: the drawings allow {zones:.3f} mm", said
    elif said.has("zones_mm"):
        if max(abs(said.mm("zones_mm") - zones), abs(said.mm("left_mm") - left)) > _SLACK_MM:
            yield f"{said.text}: the zones are {zones:.3f} and {left:.3f} mm", said
        if abs(zones - left) > 1e-6 and (said["zones"] == "within") != (zones < left):
            yield f"{said.text}: {zones:.3f} of {left:.3f} mm", said
