"""Each joint of a report against the parts that it joins: screws, pins, patterns, chances.

Imports the assembly and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from millprep.base.bounds import MOST_SIMULATED
from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import Assembly, PinJoint, Place, ScrewJoint, Shared, Stack
from millprep.reading.pages.sheet import ReadSection, ReadSheet
from millprep.reading.pages.slots import Said, as_figure
from millprep.witness.asked import same_words
from millprep.witness.assembly_bodies import Places
from millprep.witness.assembly_parts import floats_due
from millprep.witness.assembly_stacks import are_members, heights_mm, stood_mm
from millprep.witness.assembly_sums import (
    Joined,
    apart_mm,
    joined_of,
    linked,
    narrowest_mm,
    pin_sums,
    pins_between,
    screw_sums,
    zones_mm,
)
from millprep.witness.compared import Due, Fault, Report, Within, near
from millprep.witness.faces import AXIS

_JOINT = "{called:text}: {what:text}"
_SLACK_MM = 0.0055  # lengths are told to 0.01 mm or 0.0001 in
_UM = 0.501
_SAME_MM = 0.05  # patterns that lie over each other: twice what both may be off
_LIKELY = 95.0  # per cent: below that it is told among what was found
_ERROR_SLACK = 0.1
_TRIALS = 10_000
_EXACT_MM = 1e-6
_HOLDS = ("screw-holds", "stud-holds", "stack-holds")
_FITS = ("pin-clears", "pin-sits", "pin-may")

Shows = Callable[[str], str]


@frozen
class Case(Report):
    """The report beside its assembly. shows : words in the letters that the form has."""

    sheet: ReadSheet
    assembly: Assembly
    findings: Sequence[Finding]
    shows: Shows
    places: Places

    @property
    def half_mm(self) -> float:
        return _SLACK_MM

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
        called, through = joint.name.upper(), [case.shows(place.words) for place in joint.places]
        holds, fits = section.all(*_HOLDS), section.all(*_FITS)
        held = [_held(case, joint, said) for said in holds[:1]] or [{}]
        pins = range(len(joint.held)) if isinstance(joint, PinJoint) else ()
        due: dict[str, Sequence[Due]] = {
            _JOINT: [{"called": case.shows(called), "what": case.shows(what)}],
            "joint-places": [{"places": through}],
            " | ".join(_HOLDS): held if isinstance(joint, ScrewJoint | Stack) else (),
            " | ".join(_FITS): [
                _fit(case, joint, index, fits[index].slug if index < len(fits) else "")
                for index in pins
                if isinstance(joint, PinJoint)
            ],
        }
        if isinstance(joint, PinJoint):
            due["end-float | end-long"] = floats_due(case.assembly, case.places, joint, case.shows)
        yield from case.sentences(due, section)
        yield from _patterns(case, joint, section, label)


def _held(case: Case, joint: Joined, said: Said) -> Due:
    """The sums of a screw, a stud or a stack."""
    if isinstance(joint, Stack):
        height, gaps = heights_mm(case.assembly, joint)
        names = {case.shows(member.name): member.name for member in case.assembly.members}
        listed = [names[one] for one in said["members"] or () if one in names]
        if listed:
            high, free = stood_mm(case.assembly, joint, case.places, listed)
            gaps = [*gaps, free]
            told = as_figure(said["height_mm"], "mm").mm if said.has("height_mm") else 0.0
            height = high if abs(told - high) < _SLACK_MM else height
        return {
            "height_mm": height,
            "members": lambda told: are_members(
                case.assembly, joint, [names.get(one, "") for one in told]
            ),
            "gaps_mm": lambda told: _is_any(
                sum(as_figure(one, "mm").mm for one in told or ()), gaps, len(told or ())
            ),
        }
    if not isinstance(joint, ScrewJoint):
        return {}
    sums = screw_sums(case.assembly, joint)
    end, head, room = sums.end, sums.head, sums.spare
    due: dict[str, Any] = {
        "grip_mm": sums.grip,
        "play_mm": lambda told: _are([as_figure(one, "mm").mm for one in told or ()], sums.plays),
    }
    if said.slug == "stud-holds":
        return due | {
            "stud_end_mm": abs(end or 0.0),
            **_way(end, "where", "out of", "inside"),
            **_way(end, "_stud_way", "stands", "ends"),
        }
    is_deeper = room is not None and room < 0
    is_flush = room is not None and abs(room) < _SLACK_MM
    across = (sums.engagement or 0.0) / joint.thread.major_mm
    return due | {
        "engagement_mm": sums.engagement,
        "engagement_diameters": near(across, 0.051, is_plain=True),
        "wanted_mm": sums.wanted,
        **({} if is_flush else {"spare_mm": None if is_deeper else room}),
        "deeper_mm": abs(room or 0.0) if is_deeper else None,
        "end_mm": None if end is None else abs(end),
        "head_off_mm": None if head is None else abs(head),
        "head_face": None if head is None else sums.face,
        **_way(end, "end_way", "out of", "inside"),
        **_way(head, "head_way", "above", "below"),
    }


def _is_any(total: float, right: Sequence[float], count: int) -> bool:
    return any(abs(total - one) <= _SLACK_MM * max(count, 1) for one in right)


def _are(told: Sequence[float], right: Sequence[float]) -> bool:
    near_by = (abs(a - b) <= _SLACK_MM for a, b in zip(told, right, strict=False))
    return len(told) == len(right) and all(near_by)


def _way(value: float | None, name: str, more: str, less: str) -> Due:
    """The word for a length that is told without its sign; none where it is too short to tell."""
    is_told = value is not None and abs(value) > _SLACK_MM
    return {name: more if (value or 0.0) > 0 else less} if is_told else {}


def _fit(case: Case, joint: PinJoint, index: int, slug: str) -> Due:
    """Least and greatest play of a pin in one of its holes."""
    (how, place), (least, most, fit, word) = joint.held[index], pin_sums(joint, index)
    due: dict[str, Any] = {"how": how, "holes": case.shows(place.words)}
    if how == "clear":
        return due | {"clears_mm": least}
    due |= {"fit": case.shows(fit), "word": word}
    names, play_um = ("least_um", "greatest_um"), (1000 * least, 1000 * most)
    if slug == "pin-may":
        names, play_um = ("tight_um", "play_um"), (-1000 * least, 1000 * most)
    elif most < _EXACT_MM:  # told as how tight it is
        due["as"], play_um = "tight", (-1000 * most, -1000 * least)
    else:
        due["as"] = "of play"
    figures = (near(one, _UM, is_plain=True) for one in play_um)
    return due | dict(zip(names, figures, strict=True))


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
    rows = (row for row in case.whole.rows if row.table == "members")
    lies_on = {
        member.name: row.said["on"]
        for member, row in zip(case.assembly.members, rows, strict=False)
    }
    lie = any(lies_on.get(a) == case.shows(b) for a in names for b in names if a != b)
    by_edges = lie and any(
        member.on in names and len({AXIS[edge.face] for edge in member.edges}) > 1
        for member in map(case.assembly.member, names)
    )
    return by_edges or pins_between(case.assembly, {*names}) > 1


def _found_by(assembly: Assembly, joint: ScrewJoint, name: str) -> str:
    """How a member's holes get their places: carried over, as is good for that way of it."""
    of = joint.carried
    if of is None or of.source == name or of.by == "readings":
        return assembly.member(name).made_by
    return "transfer punch" if of.by.startswith("transfer") else "spotted through"


def _enters(
    case: Case, joint: ScrewJoint, said: Said, pair: tuple[Place, Place]
) -> Iterator[Fault]:
    assembly, names = case.assembly, [place.member for place in pair]
    zones, left = zones_mm(assembly, joint, pair)
    is_told = not math.isnan(zones)
    share = float(said["share"])
    likely = min(max(share / 100, 0.0), 1.0)
    spread = 100 * math.sqrt(likely * (1 - likely) / _TRIALS)
    due: dict[str, Any] = {
        "made_by": [*dict.fromkeys(_found_by(assembly, joint, name) for name in names)],
        "held": _is_held(case, names),
        "share": Within(0, 100, is_plain=True),
        "error": near(spread, _ERROR_SLACK, is_plain=True),
        "zones_mm": zones if is_told else None,
        "left_mm": left if is_told else None,
    }
    if is_told and abs(zones - left) > _EXACT_MM:
        due["zones"] = "within" if zones < left else "more than"
    yield from case.unlike(said, due)
    told = f"{said['share']} % (+/- {said['error']})"
    if share < _LIKELY - 0.05 and not any(
        told in words for words in case.about(joint, "may-not-assemble")
    ):
        yield f"{said.text}: nothing of that was found", said
