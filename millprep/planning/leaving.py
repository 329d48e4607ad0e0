"""The part as its own sheets make it: without what is drilled already, and what an assembly leaves
for later only as far as they make it. Layers 0 to 2."""

from __future__ import annotations

from collections.abc import Mapping

from millprep.base.records import replace
from millprep.model.carrying import Left
from millprep.model.kinds import DRILL, SPOT
from millprep.model.part import Hole, Mouth, Part


def part_for_now(part: Part, *, finishing: bool = False) -> Part:
    """The part with its holes as far as its own sheets make them before they are left; none of
    those that readings say are drilled.

    finishing : what is carried over is there, and is made from there on; what a stack finishes is
                not made here
    """
    left = {one.hole: one for one in part.left}
    drilled = () if part.as_measured is None else part.as_measured.drilled
    if not left and not drilled:
        return part
    made = {hole.name: _made(hole, left.get(hole.name), finishing) for hole in part.holes}
    holes = {name: hole for name, hole in made.items() if hole is not None and name not in drilled}
    later = (one for one in part.left if one.stack or one.hole not in drilled)
    told = tuple(replace(one, is_there=finishing and not one.stack) for one in later)
    return replace(part, holes=tuple(_met(hole, holes) for hole in holes.values()), left=told)


def _made(hole: Hole, left: Left | None, finishing: bool) -> Hole | None:
    if left is None:
        return hole
    if finishing and not left.stack:
        return replace(hole, spot=False) if left.is_spotted else hole
    if left.made == "undrilled":
        return None
    plain = bare(hole)
    if left.made == "spotted":
        depth_mm = hole.diameter_mm / 2
        return replace(plain, kind=SPOT, words="spot", is_through=False, depth_mm=depth_mm)
    assert left.pilot_mm is not None  # the assembly was refused without one
    return replace(plain, kind=DRILL, words=f"{left.pilot_mm:g} mm", diameter_mm=left.pilot_mm)


def bare(hole: Hole) -> Hole:
    """Nothing is asked of it but its place, its size and how deep it is."""
    return replace(
        hole,
        thread=None,
        mouth=Mouth(),
        far=Mouth(),
        opened=(),
        from_both_ends=False,
        drill_depth_mm=None,
        fit=None,
        limits_um=None,
        drills_words=None,
        screw="",
    )


def _met(hole: Hole, there: Mapping[str, Hole]) -> Hole:
    """Without the holes that are not there yet among those that it meets or runs into."""
    into = hole.goes_into if hole.goes_into in there else None
    if into == hole.goes_into and all(name in there for name in hole.meets):
        return hole
    return replace(hole, goes_into=into, meets=tuple(name for name in hole.meets if name in there))
