"""Whether bodies of an assembly meet, looked at once more: what was found of it, and what was not.

Imports the assembly and its neighbours; never what judged it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from millprep.base.findings import Finding
from millprep.model.assembled import Assembly, PinJoint
from millprep.witness.assembly_bodies import Floats, Lump, Places, apart_mm, lumps_of, mouth

_PROVED_MM = 0.15  # so deep a place has to lie in both
_NEAR_MM, _SLACK_MM = 0.5, 0.06
_IN_LINE_MM = 0.05
_STEPS = 24  # places of what turns, at which it is looked at, each way
_TOLD = ("bodies-meet", "bodies-near", "end-float", "faces-apart", "patterns-differ")
_TURNING = ", turning on "
Heaps = dict[str, frozenset[str]]


def meets_faults(assembly: Assembly, findings: Sequence[Finding], places: Places) -> Iterator[str]:
    """What was found of bodies and is not so; and bodies that meet, of which nothing was found."""
    lumps = lumps_of(assembly, places)
    told = [one.message for one in findings if one.kind in _TOLD]
    blanks = {lump.at: lump for lump in lumps if lump.is_member}
    groups = _heaps(_linked(assembly), assembly)
    pairs = [
        (one, other)
        for one, other in _close(lumps)
        if groups[min(one.of)] == groups[min(other.of)] and _may_meet(one, other)
    ]
    for one, other in pairs:
        is_told = any(_names(one, words) and _names(other, words) for words in told)
        if not is_told and _do_meet(one, other, blanks):
            yield f"{one.at} and {other.at} meet, and nothing was found of it"
    swept = [*_swept(assembly, lumps, places)]
    for turning, one, other in swept:
        is_told = any(_names(one, words) and _names(other, words) for words in told)
        are_blanks = one.is_member and other.is_member
        if are_blanks and not is_told and any(_do_meet(each, other, {}) for each in turning):
            yield f"{one.at} sweeps into {other.at}, and nothing was found of it"
    for finding in findings:
        if finding.kind not in ("bodies-meet", "bodies-near"):
            continue
        limit = (_NEAR_MM if finding.kind == "bodies-near" else 0.0) + _SLACK_MM
        words = finding.message
        if _TURNING in words:
            apart = (
                apart_mm(each, other)
                for turning, one, other in swept
                if _names(one, words) and _names(other, words)
                for each in turning
            )
        else:
            apart = (apart_mm(a, b) for a, b in pairs if _names(a, words) and _names(b, words))
        if not any(each < limit for each in apart):
            yield f"nothing meets: {words}"


def _names(lump: Lump, words: str) -> bool:
    """Whether a message speaks of it."""
    if not lump.is_member:
        return f"{lump.at}: the " in words
    return re.search(rf"(?<!\w){re.escape(lump.at)}(?!\w)", words) is not None


def _may_meet(one: Lump, other: Lump) -> bool:
    """Whether they belong to different things."""
    if one.is_member or other.is_member:
        return (one.is_member and other.is_member) or not one.of & other.of
    return (one.at, one.hole) != (other.at, other.hole)


def _do_meet(one: Lump, other: Lump, blanks: dict[str, Lump]) -> bool:
    """Whether a place lies deep in both, in no hole, and outside the members of a fastener."""
    fasteners = [lump for lump in (one, other) if not lump.is_member]
    without = [blanks[name] for lump in fasteners for name in lump.of if len(fasteners) == 1]
    for here, there in ((one, other), (other, one)):
        spots = here.spots()
        spots = spots[there.deep_mm(spots) > _PROVED_MM]
        for blank in without:
            spots = spots[blank.deep_mm(spots) < -_SLACK_MM]
        if len(spots) and not (here.are_in_holes(spots) | there.are_in_holes(spots)).all():
            return True
    return False


def _close(lumps: Sequence[Lump]) -> Iterator[tuple[Lump, Lump]]:
    """Those whose boxes are less than 0.6 mm apart."""
    lows, highs = _boxes(lumps)
    for index, one in enumerate(lumps):
        near = (lows[index + 1 :] < highs[index]) & (lows[index] < highs[index + 1 :])
        for other in np.flatnonzero(near.all(axis=1)).tolist():
            yield one, lumps[index + 1 + other]


def _boxes(lumps: Sequence[Lump]) -> tuple[Floats, Floats]:
    middles = np.array([lump.middle for lump in lumps]).reshape(-1, 3)
    reach = np.array([lump.reach(np.eye(3)) for lump in lumps]).reshape(-1, 3)
    wide = reach + (_NEAR_MM + _SLACK_MM) / 2
    return middles - wide, middles + wide


def _swept(
    assembly: Assembly, lumps: Sequence[Lump], places: Places
) -> Iterator[tuple[list[Lump], Lump, Lump]]:
    """(at many places of its turn, as it stands, what it may meet) of what turns about a pin."""
    held = held_heaps(assembly)
    groups = _heaps(_linked(assembly), assembly)
    pins = [joint for joint in assembly.joints if isinstance(joint, PinJoint) and _runs(joint)]
    for heap in dict.fromkeys(held.values()):
        beside = [{held[p.member] for how, p in pin.held if how != "clear"} for pin in pins]
        still = max((held[name] for name in held if name in groups[min(heap)]), key=len)
        mine = [pin for pin, met in zip(pins, beside, strict=True) if {heap, still} <= met]
        lines = [_line(assembly, pin, places) for pin in mine]
        if heap == still or not mine or not all(_is_same_line(lines[0], one) for one in lines):
            continue
        carried = frozenset[str]().union(*(h for met in beside if heap in met for h in met))
        carried -= still
        swing = min(mine[0].swing_deg or 180.0, 180.0)
        angles = np.linspace(-swing, swing, 2 * _STEPS + 1).tolist()
        for one in lumps:
            if not one.of <= heap:
                continue
            turned = [one.turned(*lines[0], angle) for angle in angles]
            for other in lumps:
                if not other.of & carried and other.of <= groups[min(heap)]:
                    yield turned, one, other


def held_heaps(assembly: Assembly) -> Heaps:
    """By a member's name those that hold together with it."""
    return _heaps(_held(assembly), assembly)


def _line(assembly: Assembly, pin: PinJoint, places: Places) -> tuple[Floats, Floats]:
    hole = pin.places[0].holes[0]
    return mouth(assembly, pin.places[0].member, hole, hole.face, places)


def _is_same_line(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> bool:
    between = other[0] - one[0]
    off = np.linalg.norm(np.cross(between, one[1]))
    return bool(off < _IN_LINE_MM and np.linalg.norm(np.cross(one[1], other[1])) < 1e-4)


def _runs(joint: PinJoint) -> bool:
    return any(how == "pivot" for how, _ in joint.held)


def _held(assembly: Assembly) -> Iterator[set[str]]:
    """Members that screws, tight pins and edges hold as one."""
    loose = set()
    for joint in assembly.joints:
        if isinstance(joint, PinJoint):
            yield {place.member for how, place in joint.held if how in ("press", "slide")}
            loose |= {place.member for how, place in joint.held if how == "pivot"}
        else:
            yield {place.member for place in joint.places if place.member}
    yield from ({m.name, m.on} for m in assembly.members if m.on and m.name not in loose)


def _linked(assembly: Assembly) -> Iterator[set[str]]:
    """Members of which it is known how they lie to each other."""
    for table in (*assembly.joints, *assembly.shared, *assembly.stacks):
        yield {place.member for place in table.places if place.member}
    yield from ({one.name, one.on} for one in assembly.members if one.on and one.edges)


def _heaps(groups: Iterable[set[str]], assembly: Assembly) -> Heaps:
    heaps: Heaps = {member.name: frozenset([member.name]) for member in assembly.members}
    for names in groups:
        whole = frozenset[str]().union(*(heaps[name] for name in names))
        heaps |= dict.fromkeys(whole, whole)
    return heaps
