"""A drawing read for its holes: what lies round one centre is one hole, its largest line the blank.

Two circles round one centre are a thread where they are its core or tapping drill and its nominal
diameter, and coarse; else a counterbore. What else is drawn is told, and never taken for a hole.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from millprep.base.findings import Finding
from millprep.base.plain_text import counted
from millprep.base.records import anew, frozen, replace
from millprep.base.units import Units
from millprep.infiles.plans.outlines import largest, loops_of, round_loop
from millprep.infiles.plans.record import (
    SAME_MM,
    Near,
    Outline,
    Place,
    Plan,
    PlanHole,
    figure,
    refuse_little,
)
from millprep.infiles.plans.rings import Rings
from millprep.infiles.plans.shapes import Circle, Segment, Shapes, no_units
from millprep.infiles.told import Told

_MOST_LARGE, _FEW = 200, 5_000
"""So many of the largest circles are asked what lies on and in them; of many shapes a tenth."""
_MOST_TEXTS = 300
_NOUN = "circles and points"


@frozen
class _Drawn:
    """The shapes in mm, and the notes about them."""

    circles: list[Circle]
    points: list[Circle]
    segments: list[Segment]
    loops: list[tuple[Segment, ...]]
    faults: Told
    told: dict[tuple[str, str], int] = anew(factory=dict)

    def tell(self, message: str, remedy: str = "") -> None:
        """What was not understood; what is said alike of several is said once."""
        self.told[message, remedy] = self.told.get((message, remedy), 0) + 1

    def hand_on(self) -> None:
        """All of it, to the faults."""
        for (message, remedy), count in self.told.items():
            found = Finding("warning", "not-understood", message, remedy, self.faults.path)
            self.faults.tell(replace(found, count=count))


def plan_of_shapes(
    shapes: Shapes,
    path: str,
    units: Units | None,
    given: Callable[[Units], Outline | None] = lambda _: None,
) -> Plan:
    """The holes of a drawing. units : where they are said; given : the blank, in those units

    Raises MillprepError where the units, or most of it, cannot be known.
    """
    unit_mm, chosen, taken = _units(shapes, path, units)
    drawn = _in_mm(shapes, unit_mm, Told(path))
    solid = _solid(drawn)
    outline, solid = _outline(drawn, solid, given(chosen))
    inside = list(_inside(drawn, solid, outline))
    if shapes.is_own:
        inside = list(_of_this_setup(drawn, inside))
    rings = Rings(chosen)
    holes = _holes(drawn, inside, rings)
    _tell_rest(drawn, shapes)
    drawn.hand_on()
    lost = len(shapes.lone) + rings.lost
    read = len(inside) + len(drawn.points) - rings.lost
    refuse_little(path, drawn.faults, read, read + lost, _NOUN)
    taken += [f"the outline is the {outline.words}"] if outline is not None else []
    if outline is not None and not outline.is_box:
        taken.append("the outline is no rectangle: the blank is the box round it")
    return Plan(
        path=path,
        units=chosen,
        holes=tuple(holes),
        faults=drawn.faults,
        total=read + lost,
        noun=_NOUN,
        read=read,
        outline=outline,
        is_drawing=True,
        taken=(*taken, *rings.said()),
        texts=tuple(
            f"{words} (at {figure(x * unit_mm, chosen, 2)}, {figure(y * unit_mm, chosen, 2)})"
            for words, (x, y) in shapes.texts[:_MOST_TEXTS]
        ),
    )


def _units(shapes: Shapes, path: str, given: Units | None) -> tuple[float, Units, list[str]]:
    """mm of a unit of the drawing, the units of the file, and what is said of them."""
    if given is not None:
        unit_mm = 25.4 if given == "inch" else 1.0
        if shapes.unit_mm in (None, unit_mm):
            return unit_mm, given, []
        was = f"{shapes.unit_mm:g} mm"
        return (
            unit_mm,
            given,
            [f"the drawing says that its unit is {was}; --units {given} was taken"],
        )
    if shapes.unit_mm is None:
        raise no_units(path)
    return shapes.unit_mm, "inch" if shapes.is_inch else "mm", []


def _in_mm(shapes: Shapes, unit_mm: float, faults: Told) -> _Drawn:
    def place(at: Place) -> Place:
        return at[0] * unit_mm, at[1] * unit_mm

    def circle(one: Circle) -> Circle:
        return replace(one, centre=place(one.centre), radius=one.radius * unit_mm)

    def segment(one: Segment) -> Segment:
        return replace(
            one,
            start=place(one.start),
            end=place(one.end),
            centre=None if one.centre is None else place(one.centre),
            radius=one.radius * unit_mm,
        )

    return _Drawn(
        [circle(one) for one in shapes.circles],
        [circle(one) for one in shapes.points],
        [segment(one) for one in shapes.segments],
        [tuple(map(segment, loop)) for loop in shapes.loops],
        faults,
    )


def _solid(drawn: _Drawn) -> list[Circle]:
    """Circles in a whole line, each once; the others are told by their layer."""
    seen: Near[Circle] = Near()
    kept = []
    broken: dict[str, int] = {}
    for circle in drawn.circles:
        if circle.is_broken:
            broken[circle.layer] = broken.get(circle.layer, 0) + 1
            continue
        same = [c for c in seen.at(circle.centre) if abs(c.radius - circle.radius) <= SAME_MM / 2]
        if same:
            drawn.tell(f"{circle.where} is drawn over {same[0].where}: read once")
            continue
        seen.add(circle.centre, circle)
        kept.append(circle)
    for layer, count in broken.items():
        what = f"{counted(count, 'circle')} in a broken line on layer {layer}"
        drawn.tell(f"{what}: hidden, or a pitch circle")
    return kept


def _outline(
    drawn: _Drawn, circles: list[Circle], given: Outline | None
) -> tuple[Outline | None, list[Circle]]:
    """The outline, and the circles left; those that carry centres are told and left out."""
    loops = loops_of(drawn.loops, drawn.segments)
    for loop in loops:  # a circle of arcs is a circle
        found = round_loop(loop.segments)
        if found is not None:
            first = loop.segments[0]
            circles = [*circles, Circle(found[0], found[1], first.handle, first.layer)]
    loops = [loop for loop in loops if round_loop(loop.segments) is None]
    carriers = _carriers(circles, drawn.points)
    for circle in carriers:
        drawn.tell(f"{circle.where}: other centres lie on it, so it is taken for a pitch circle")
    known = {id(circle) for circle in carriers}
    circles = [circle for circle in circles if id(circle) not in known]
    centres = [circle.centre for circle in circles] + [point.centre for point in drawn.points]

    def may_be_outline(circle: Circle) -> bool:
        if given is not None and given.is_round:
            return abs(2 * circle.radius - given.size_mm[0]) <= SAME_MM
        return any(SAME_MM < math.dist(circle.centre, other) < circle.radius for other in centres)

    outline, disc, chosen = largest(loops, _largest(circles), may_be_outline)
    for loop in loops:
        if loop is not chosen:
            size = " x ".join(f"{length:.4g}" for length in loop.outline.size_mm)
            drawn.tell(f"{loop.outline.words}, {size} mm: a closed line that is not the outline")
    return outline, [circle for circle in circles if circle is not disc]


def _largest(circles: Sequence[Circle]) -> list[Circle]:
    most = _MOST_LARGE if len(circles) <= _FEW else _MOST_LARGE // 10
    return sorted(circles, key=lambda circle: -circle.radius)[:most]


def _carriers(circles: Sequence[Circle], points: Sequence[Circle]) -> list[Circle]:
    """Circles on whose line other centres lie."""
    large = _largest(circles)
    centres = [one.centre for one in (*circles, *points)]
    return [
        circle
        for circle in large
        if any(abs(math.dist(circle.centre, other) - circle.radius) <= SAME_MM for other in centres)
    ]


def _inside(drawn: _Drawn, circles: Sequence[Circle], outline: Outline | None) -> Iterator[Circle]:
    """Those that lie on the part; the others are told."""
    for circle in circles:
        if outline is None or _is_within(circle.centre, outline):
            yield circle
        else:
            drawn.tell(f"{circle.where} lies outside of the outline")
    if outline is not None:
        for point in drawn.points:
            if not _is_within(point.centre, outline):
                where = f"point {point.handle} on layer {point.layer}"
                drawn.tell(f"{where} lies outside of the outline")
        drawn.points[:] = [one for one in drawn.points if _is_within(one.centre, outline)]


def _is_within(place: Place, outline: Outline) -> bool:
    (x1, y1), (x2, y2) = outline.low_mm, outline.high_mm
    if outline.is_round:
        return math.dist(place, ((x1 + x2) / 2, (y1 + y2) / 2)) < (x2 - x1) / 2
    return x1 < place[0] < x2 and y1 < place[1] < y2


def _of_this_setup(drawn: _Drawn, circles: Sequence[Circle]) -> Iterator[Circle]:
    """Of millprep's own drawing: a thin circle alone is a hole of another setup."""
    wide: Near[Circle] = Near((c.centre, c) for c in circles if c.layer == "edge")
    has_wide = any(circle.layer == "edge" for circle in circles)
    for circle in circles:
        if circle.layer != "thin" or not has_wide or wide.first(circle.centre) is not None:
            yield circle
        else:
            drawn.tell(f"{circle.where} is a hole of another setup: see the drawing of that")


def _holes(drawn: _Drawn, circles: Sequence[Circle], rings: Rings) -> list[PlanHole]:
    """Holes by their centres, in the order they were drawn."""
    by_centre: Near[list[Circle]] = Near()
    groups: list[list[Circle]] = []
    for circle in circles:
        group = by_centre.first(circle.centre)
        if group is None:
            group = []
            by_centre.add(circle.centre, group)
            groups.append(group)
        group.append(circle)
    arcs: Near[Segment] = Near((s.centre, s) for s in drawn.segments if s.centre is not None)
    holes = []
    for group in groups:
        threads = [arc for arc in arcs.at(group[0].centre) if 240 <= arc.sweep_deg <= 300]
        holes.append(rings.hole(group, threads))
        for extra in rings.untold:
            drawn.tell(extra)
    for point in drawn.points:
        if by_centre.first(point.centre) is None:
            where = f"point {point.handle} on layer {point.layer}"
            ask = "drill =         # FILL IN: the plan gives no size"
            x, y = point.centre
            holes.append(PlanHole(x, y, where, asks=(ask,)))
        else:
            drawn.tell(f"point {point.handle} on layer {point.layer} marks a circle's centre")
    return holes


def _tell_rest(drawn: _Drawn, shapes: Shapes) -> None:
    """What is drawn beside, by kind and layer."""
    for words in shapes.lone:
        drawn.tell(words)
    for (kind, layer), count in shapes.strange.items():
        drawn.tell(f"{count} x {kind} on layer {layer}: not read")
    if shapes.texts:
        count = len(shapes.texts)
        which = "they" if count <= _MOST_TEXTS else f"the first {_MOST_TEXTS}"
        drawn.tell(
            f"{counted(count, 'text')}: not read, for they may mean any hole",
            f"{which} stand at the end of the file",
        )
