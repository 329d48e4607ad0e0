"""Edges and walls: holes against faces and against parallel holes.

A hole here is a stack of cylinders along one part axis; two stacks are compared where their depths
overlap. Neighbours come from a grid, so 10,000 holes take about ten times as long as 1,000.
Imports layers 0 to 3.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from millprep.checks.registry import Job, check
from millprep.errors import Finding
from millprep.part import AXIS_FACES, FACE_AXIS, HIGH_FACES, OPPOSITE, Face, Hole, Part, plane_axes


@dataclass(frozen=True, slots=True)
class Cylinder:
    """One diameter of a hole: centre (a, b) in the plane of its face, from low to high along it."""

    hole: Hole
    a_mm: float
    b_mm: float
    low_mm: float
    high_mm: float
    radius_mm: float


def least_wall_mm(diameter_mm: float) -> float:
    """Least wall beside a hole in a small mechanism (common practice: 0.8 mm, more when wide)."""
    return max(0.8, 0.25 * diameter_mm)


def _along(part: Part, face: Face, depth_mm: float) -> tuple[float, float]:
    """The span from a face down to a depth, along its part axis."""
    at = part.stock.face_at_mm(face)
    return (at - depth_mm, at) if face in HIGH_FACES else (at, at + depth_mm)


def cylinders_of(part: Part, hole: Hole) -> list[Cylinder]:
    """The hole's own diameter, what is opened, and the recesses at both ends."""
    first, second = plane_axes(hole.face)
    a, b = hole.centre_mm[first], hole.centre_mm[second]
    spans = [(hole.face, hole.depth_mm, hole.diameter_mm)]
    spans += [(hole.face, opened.depth_mm, opened.diameter_mm) for opened in hole.opened]
    for face, mouth in ((hole.face, hole.mouth), (OPPOSITE[hole.face], hole.far)):
        for recess in (mouth.counterbore, mouth.spotface):
            if recess is not None:
                spans.append((face, recess.depth_mm, recess.diameter_mm))
        if mouth.countersink is not None:
            spans.append((face, 0.0, mouth.countersink.diameter_mm))
    return [
        Cylinder(hole, a, b, *_along(part, face, depth), diameter / 2)
        for face, depth, diameter in spans
    ]


def _edge_distances(part: Part, cylinder: Cylinder) -> Iterator[tuple[str, float]]:
    """(name of the edge, distance from it to the hole's centre), nearest edges of its face."""
    stock, face = part.stock, cylinder.hole.face
    place = dict(zip(plane_axes(face), (cylinder.a_mm, cylinder.b_mm), strict=True))
    if stock.axis == FACE_AXIS[face]:
        centre = [stock.size_mm[axis] / 2 for axis in place]
        off = [at - middle for at, middle in zip(place.values(), centre, strict=True)]
        from_centre = float((off[0] ** 2 + off[1] ** 2) ** 0.5)
        yield "the rim", centre[0] - from_centre
        if stock.bore_mm is not None and from_centre > stock.bore_mm / 2:
            yield "the bore", from_centre - stock.bore_mm / 2
        return
    for axis, at in place.items():
        low, high = AXIS_FACES[axis]
        yield low.upper(), at
        yield high.upper(), stock.size_mm[axis] - at


@check
def edges(job: Job) -> Iterator[Finding]:
    """Every hole lies inside its face with some wall to the edges."""
    part = job.plan.part
    for hole in part.holes:
        worst: tuple[float, str, Cylinder] | None = None
        for cylinder in cylinders_of(part, hole):
            for edge, distance in _edge_distances(part, cylinder):
                wall = distance - cylinder.radius_mm
                if worst is None or wall < worst[0]:
                    worst = (wall, edge, cylinder)
        if worst is None:
            continue
        wall, edge, cylinder = worst
        diameter = 2 * cylinder.radius_mm
        if wall < -1e-9:
            yield job.finding(
                "stop", "over-edge",
                f'hole "{hole.name}": {diameter:.2f} mm wide, it goes {-wall:.2f} mm over {edge}',
                f"move it at least {-wall + least_wall_mm(diameter):.2f} mm away from {edge}", hole,
            )  # fmt: skip
        elif wall < least_wall_mm(diameter) - 1e-9:
            yield job.finding(
                "warning", "thin-wall",
                f'hole "{hole.name}": {wall:.2f} mm is left to {edge} '
                f"(wanted {least_wall_mm(diameter):.2f} mm)",
                f"move it {least_wall_mm(diameter) - wall:.2f} mm away from {edge}, or write "
                'allow = ["thin wall"]', hole,
            )  # fmt: skip


def _parallel_pairs(cylinders: list[Cylinder]) -> Iterator[tuple[Cylinder, Cylinder]]:
    """Pairs near enough to matter, by a grid whose cell holds the widest hole and its wall."""
    if not cylinders:
        return
    widest = max(cylinder.radius_mm for cylinder in cylinders)
    cell = 2 * widest + least_wall_mm(2 * widest)
    grid: dict[tuple[int, int], list[Cylinder]] = defaultdict(list)
    for cylinder in cylinders:
        column, row = int(cylinder.a_mm // cell), int(cylinder.b_mm // cell)
        for i in (-1, 0, 1):
            for j in (-1, 0, 1):
                for other in grid.get((column + i, row + j), ()):
                    if other.hole is not cylinder.hole:
                        yield other, cylinder
        grid[column, row].append(cylinder)


def _wall_mm(one: Cylinder, other: Cylinder) -> float | None:
    """The wall between two parallel cylinders; None where their depths do not overlap."""
    if min(one.high_mm, other.high_mm) < max(one.low_mm, other.low_mm) - 1e-9:
        return None
    apart = ((one.a_mm - other.a_mm) ** 2 + (one.b_mm - other.b_mm) ** 2) ** 0.5
    return float(apart - one.radius_mm - other.radius_mm)


def _thinnest(job: Job) -> dict[tuple[str, str], tuple[float, float, Cylinder, Cylinder]]:
    """(wall, wanted, one, other) of each pair of parallel holes, the thinnest place of each."""
    part = job.plan.part
    by_axis: dict[int, list[Cylinder]] = defaultdict(list)
    for hole in part.holes:
        by_axis[FACE_AXIS[hole.face]] += cylinders_of(part, hole)
    thinnest: dict[tuple[str, str], tuple[float, float, Cylinder, Cylinder]] = {}
    for cylinders in by_axis.values():
        for one, other in _parallel_pairs(cylinders):
            wall = _wall_mm(one, other)
            wanted = least_wall_mm(2 * min(one.radius_mm, other.radius_mm))
            if wall is None or wall >= wanted - 1e-9:
                continue
            key = (one.hole.name, other.hole.name)
            if key not in thinnest or wall < thinnest[key][0]:
                thinnest[key] = (wall, wanted, one, other)
    return thinnest


@check
def walls(job: Job) -> Iterator[Finding]:
    """Parallel holes keep a wall between them, unless they are meant to meet."""
    told: set[frozenset[str]] = set()
    for wall, wanted, one, other in _thinnest(job).values():
        first, second = one.hole, other.hole
        names = f'holes "{first.name}" and "{second.name}"'
        if _meet(first, second) or _meet(second, first):
            patterns = frozenset((first.group, second.group))
            if patterns in told:
                continue
            told.add(patterns)
            yield job.finding("note", "meeting", f"{names} meet (meant)", "", first, second)
        elif wall < -1e-9:
            same = abs(one.a_mm - other.a_mm) < 1e-9 and abs(one.b_mm - other.b_mm) < 1e-9
            how = "lie at the same place" if same else f"overlap by {-wall:.2f} mm"
            yield job.finding(
                "stop", "holes-overlap", f"{names} {how}",
                f"move one {wanted - wall:.2f} mm away, or write meets where it is meant",
                first, second,
            )  # fmt: skip
        else:
            yield job.finding(
                "warning", "thin-wall",
                f"{names}: {wall:.2f} mm is left between them (wanted {wanted:.2f} mm)",
                f'move one {wanted - wall:.2f} mm away, or write allow = ["thin wall"]',
                first, second,
            )  # fmt: skip


def _meet(one: Hole, other: Hole) -> bool:
    named = (*one.meets, *((one.goes_into,) if one.goes_into else ()))
    return other.name in named or other.group in named
