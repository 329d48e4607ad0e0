"""A hole cut through its axis, where it is more than drilled: what each step leaves, and how deep.

Depths count from the face that is up, as the sheet's own figures; one section serves all holes that
are made alike. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from millprep.base.records import frozen
from millprep.base.units import DIAMETER
from millprep.model.kinds import TRUE_DONE
from millprep.model.tools import Drill, Tap
from millprep.planning import Operation, SetupPlan
from millprep.sheets.figures import Figures

_PLAIN = frozenset(("spot drill", "pilot drill", "drill"))


_BELOW = 1.3  # the deepest, as much is shown of a thick part


@frozen
class Depth:
    """How deep something goes [mm], and what is said of it."""

    depth_mm: float
    words: str


@frozen
class Cut:
    """The half of a hole beside its axis.

    title      : of which holes, and what they are
    floor_mm   : how deep the section goes; is_whole : to the far side
    half_mm    : corners of its wall (distance from the axis, depth), from the face down
    thread_mm  : radius and depth of a thread outside its core; None without
    depths     : from the shallowest
    """

    title: str
    floor_mm: float
    is_whole: bool
    half_mm: tuple[tuple[float, float], ...]
    thread_mm: tuple[float, float] | None
    depths: tuple[Depth, ...]


def cuts_of(setup_plan: SetupPlan, figures: Figures) -> tuple[Cut, ...]:
    """A section for every kind of hole that something other than a drill works on."""
    by_hole: dict[str, list[Operation]] = {}
    for one in setup_plan.square:
        by_hole.setdefault(one.hole.name, []).append(one)
    told = [run for run in by_hole.values() if _is_worth(run)]
    told.sort(key=lambda run: (run[0].hole.group, _likeness(run)))
    return tuple(
        _cut([*alike], setup_plan.setup.height_mm, figures)
        for _, alike in groupby(told, key=lambda run: (run[0].hole.group, _likeness(run)))
    )


def _is_worth(run: Sequence[Operation]) -> bool:
    """Whether something hangs on a depth but a drill's."""
    hole = run[0].hole
    plain = _PLAIN | TRUE_DONE.keys() if hole.is_through else _PLAIN
    return bool(hole.opened) or any(one.name not in plain for one in run)


def _likeness(run: Sequence[Operation]) -> tuple[tuple[str, str, float], ...]:
    return tuple((one.name, one.tool.words, round(one.z_mm, 4)) for one in run)


def _cut(alike: Sequence[Sequence[Operation]], floor_mm: float, figures: Figures) -> Cut:
    run, hole = alike[0], alike[0][0].hole
    members = [one[0].hole.member for one in alike if one[0].hole.member is not None]
    name = hole.group + (f" {min(members)} to {max(members)}" if len(members) > 1 else "")
    if len(members) == 1:
        name = hole.name
    walls = [wall for one in run if (wall := _wall(one)) is not None]
    if hole.is_through and not any(isinstance(one.tool, Drill) for one in run):
        radius = hole.diameter_mm / 2  # drilled from the other side
        walls.append(((radius, 0.0), (radius, 2 * floor_mm), (0.0, 2 * floor_mm)))
    threads = ((one.tool.diameter_mm / 2, one.full_mm) for one in run if one.name == "tap")
    deepest = max(-one.z_mm for one in run)
    shown = min(floor_mm, _BELOW * deepest) if deepest < floor_mm else floor_mm
    is_whole = hole.is_through or shown == floor_mm
    return Cut(
        name,
        floor_mm if is_whole else shown,
        is_whole,
        tuple(_half(walls, floor_mm if is_whole else shown)),
        next(threads, None),
        tuple(sorted(_depths(run, floor_mm, figures), key=lambda one: one.depth_mm)),
    )


Wall = tuple[tuple[float, float], ...]
"""Corners of what a tool leaves, from the face down, the last on the axis or at the far side."""


def _wall(one: Operation) -> Wall | None:
    """None of what leaves no wall of its own: a spot under a larger hole, a tap."""
    radius, deep = one.tool.diameter_mm / 2, -one.z_mm
    if one.name in ("spot drill", "tap"):
        return None
    if one.name == "countersink":
        wide = (one.cone_mm or 2 * radius) / 2
        angle = getattr(one.tool, "angle_deg", 90.0)
        return ((wide, 0.0), (0.0, wide / math.tan(math.radians(angle / 2))))
    if isinstance(one.tool, Drill):
        point = radius / math.tan(math.radians(one.tool.angle_deg / 2))
        return ((radius, 0.0), (radius, deep - point), (0.0, deep))
    return ((radius, 0.0), (radius, deep), (0.0, deep))


def _half(walls: Sequence[Wall], floor_mm: float) -> Iterator[tuple[float, float]]:
    """The outline of all walls together: at each depth the widest of them."""
    depths = {0.0, floor_mm, *(deep for wall in walls for _, deep in wall)}
    for one, other in ((a, b) for a in walls for b in walls if a is not b):
        depths |= {*_crossings(one, other)}
    last: tuple[float, float] | None = None
    for deep in sorted(d for d in depths if d <= floor_mm + 1e-9):
        for above in (True, False):
            wide = max((_radius_at(wall, deep, above) for wall in walls), default=0.0)
            if last != (wide, deep):
                last = (wide, deep)
                yield last


def _radius_at(wall: Wall, deep: float, is_above: bool) -> float:
    """How wide a wall is at a depth, just above it or just below."""
    side = deep - 1e-7 if is_above else deep + 1e-7
    for (r0, d0), (r1, d1) in pairwise(wall):
        if d0 <= side <= d1 and d1 > d0:
            return r0 + (r1 - r0) * (side - d0) / (d1 - d0)
    return wall[0][0] if side < 0 else 0.0


def _crossings(one: Wall, other: Wall) -> Iterator[float]:
    """Depths at which a slanting piece of one is as wide as a straight piece of the other."""
    for (r0, d0), (r1, d1) in pairwise(one):
        for (s0, e0), (s1, e1) in pairwise(other):
            if r0 != r1 and s0 == s1 and e0 != e1 and d0 != d1:
                deep = d0 + (s0 - r0) / (r1 - r0) * (d1 - d0)
                if min(d0, d1) <= deep <= max(d0, d1) and min(e0, e1) <= deep <= max(e0, e1):
                    yield deep


def _depths(run: Sequence[Operation], floor_mm: float, figures: Figures) -> Iterator[Depth]:
    """What is dimensioned: tips and ends by the sheet's own figures, a thread by the drawing's."""
    hole = run[0].hole
    for one in run:
        deep = -one.z_mm
        shown = str(figures.shown(one.z_mm, "z")).removeprefix("-")
        is_out = deep > floor_mm - 1e-9
        if one.name in ("spot drill", "pilot drill"):
            continue
        if isinstance(one.tool, Tap):
            depth = "through" if hole.is_through else f"{figures.size(hole.depth_mm)} deep"
            yield Depth(min(one.full_mm, floor_mm), f"{one.tool.words}, {depth}")
        elif one.name == "countersink":
            wide = figures.size(one.cone_mm or one.tool.diameter_mm)
            yield Depth(0.0, f"countersink {DIAMETER}{wide}")
        else:
            tip = "tip " if isinstance(one.tool, Drill) else ""
            depth = "through" if is_out else f"{tip}{shown} deep"
            name = {"drill": "drill", "ream": "ream"}.get(one.name, one.name)
            yield Depth(min(deep, floor_mm), f"{name} {one.tool.words}, {depth}")
