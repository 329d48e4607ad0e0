"""The opposite hand of a part: everything that has a side changes it, threads keep their hand.

Where the file says that the hands differ, holes are left out, and those of its own come in. A
mirrored part lies in its setup as the original does in a looking glass: one readout axis of the
setup is reversed, and which one follows from how the two lie.
"""

from __future__ import annotations

from typing import Any, Literal

from millprep.base.records import replace
from millprep.base.units import shown
from millprep.infiles.drafts import Bench, Draft
from millprep.infiles.faults import Faults
from millprep.infiles.features import What
from millprep.infiles.holes import read_holes
from millprep.infiles.part_schema import HoleTable
from millprep.infiles.points import AXIS_LETTERS, VIEW
from millprep.infiles.taken import Others
from millprep.infiles.wording import named
from millprep.model.part import (
    FACE_AXIS,
    FACES,
    HIGH_FACES,
    OPPOSITE,
    Datum,
    Dimension,
    Face,
    Hole,
    ObstacleRequest,
    Part,
    Point,
    SetupRequest,
)

Axis = Literal["x", "y", "z"]


def mirrored(part: Part, axis: Axis) -> Part:
    """The opposite hand: mirrored about the middle of the stock along that part axis.

    Twice about one axis gives the part back. Name, drawing and file stay; `is_opposite_hand` turns.
    """
    index = AXIS_LETTERS.index(axis)
    return replace(
        part,
        datum=_datum(part.datum, index),
        holes=tuple(_hole(hole, index, part.stock.size_mm[index]) for hole in part.holes),
        setups=tuple(_setup(request, index) for request in part.setups),
        dimensions=tuple(_dimension(each, index) for each in part.dimensions),
        is_opposite_hand=not part.is_opposite_hand,
    )


def _face(face: Face, axis: int) -> Face:
    return OPPOSITE[face] if FACE_AXIS[face] == axis else face


def _named(name: Face | Literal["centre"] | None, axis: int) -> Face | Literal["centre"] | None:
    return name if name is None or name == "centre" else _face(name, axis)


def _datum(datum: Datum, axis: int) -> Datum:
    turned: dict[str, Any] = {AXIS_LETTERS[axis]: _named(datum[axis], axis)}
    return replace(datum, **turned)


def _hole(hole: Hole, axis: int, size_mm: float) -> Hole:
    centre = list(hole.centre_mm)
    centre[axis] = size_mm - centre[axis]
    return replace(hole, face=_face(hole.face, axis), centre_mm=(centre[0], centre[1], centre[2]))


def _dimension(dimension: Dimension, axis: int) -> Dimension:
    """The same length between the faces that these have become."""
    first, second = (_face(name, axis) if name in FACES else name for name in dimension.between)
    sign = -1 if dimension.along == axis else 1
    return replace(dimension, between=(first, second), placed_mm=sign * dimension.placed_mm)


def _setup(request: SetupRequest, axis: int) -> SetupRequest:
    face = _face(request.face, axis)
    towards_you = None if request.towards_you is None else _face(request.towards_you, axis)
    reverses_x = _reverses_x(request, face, towards_you, axis)
    toes = request.straps_at_mm
    width, at_mm = request.parallel_thickness_mm, request.parallels_at_mm
    if width is not None and not reverses_x:
        at_mm = tuple(0.0 - at - width for at in at_mm)
    return replace(
        request,
        face=face,
        towards_you=towards_you,
        zero_x=_named(request.zero_x, axis),
        zero_y=_named(request.zero_y, axis),
        parallels_at_mm=at_mm,
        straps_at_mm=tuple((0.0 - x, y) if reverses_x else (x, 0.0 - y) for x, y in toes),
        obstacles=tuple(_obstacle(each, 0 if reverses_x else 1) for each in request.obstacles),
    )


def _reverses_x(request: SetupRequest, face: Face, towards_you: Face | None, axis: int) -> bool:
    """Whether the looking glass reverses the setup's X; otherwise it reverses Y.

    Y reverses when what points away from you afterwards is not the mirror image of what did before.
    """
    before = _away(request.face, request.towards_you)
    after = _away(face, towards_you)
    seen = (before[0], -before[1]) if before[0] == axis else before
    return seen == after


def _away(face: Face, towards_you: Face | None) -> tuple[int, int]:
    """Part axis and sign that point away from you in a setup."""
    if towards_you is None:
        return VIEW[face][1]
    return FACE_AXIS[towards_you], -1 if towards_you in HIGH_FACES else 1


def _obstacle(obstacle: ObstacleRequest, axis: int) -> ObstacleRequest:
    low, high = list(obstacle.low_mm), list(obstacle.high_mm)
    low[axis], high[axis] = 0.0 - high[axis], 0.0 - low[axis]
    return replace(obstacle, low_mm=_point(low), high_mm=_point(high))


def _point(values: list[float]) -> Point:
    return values[0], values[1], values[2]


def differing(part: Part, faults: Faults, without: tuple[str, ...], others: Others) -> Part:
    """The mirrored part without those holes or patterns, and with the file's own [[hole]] tables.

    A dimension of the original that ends at a hole left out goes with it. What is wrong is noted.
    """
    left = _left_out(part, faults, without)
    kept = tuple(hole for hole in part.holes if hole.name not in left)
    kept = tuple(_not_meeting(hole, left) for hole in kept)
    for hole in kept:
        if hole.goes_into in left:
            message = f"{shown(hole.goes_into)} is left out, and {shown(hole.name)} runs into it"
            faults.add("contradiction", ("without",), message, "leave both out, or neither")
    raw = faults.array("hole")
    own = _own(part, kept, faults, raw, others) if raw else ()
    ends = {hole.group for hole in kept} | {hole.name for hole in kept}
    gone = {name for hole in part.holes for name in (hole.name, hole.group)} - ends
    dimensions = tuple(each for each in part.dimensions if gone.isdisjoint(each.between))
    return replace(part, holes=(*kept, *own), dimensions=dimensions)


def _left_out(part: Part, faults: Faults, without: tuple[str, ...]) -> set[str]:
    """Names of the holes that the words name."""
    found: set[str] = set()
    for words in without:
        with faults.noting(("without",)):
            lost = "without: the original has no hole"
            found |= {hole.name for hole in named(part.holes, words, lost)}
    return found


def _not_meeting(hole: Hole, left: set[str]) -> Hole:
    if left.isdisjoint(hole.meets):
        return hole
    return replace(hole, meets=tuple(name for name in hole.meets if name not in left))


def _own(
    part: Part, kept: tuple[Hole, ...], faults: Faults, raw: list[Any], others: Others
) -> tuple[Hole, ...]:
    """The file's own holes; they may count from those that are mirrored, and meet them."""
    bench = Bench(faults, part.stock, part.datum, others=others)
    for draft in _drafts(kept):
        bench.names.claim(draft.name, draft)
        for name, _, _ in draft.members:
            bench.names.claim(name, draft)
    return tuple(replace(hole, file=faults.path) for hole in read_holes(bench, raw, None))


def _drafts(holes: tuple[Hole, ...]) -> list[Draft]:
    """Holes that are read already, as holes yet to be read find them."""
    groups: dict[str, list[Hole]] = {}
    for hole in holes:
        groups.setdefault(hole.group, []).append(hole)
    return [_draft(name, members) for name, members in groups.items()]


def _draft(name: str, members: list[Hole]) -> Draft:
    first = members[0]
    numbers = {hole.member: hole.centre_mm for hole in members if hole.member is not None}
    last = max(numbers, default=0)
    there = range(1, last + 1)
    table = HoleTable.model_construct(
        face=first.face, skip=tuple(number for number in there if number not in numbers)
    )
    return Draft(
        ("opposite_hand_of", 0),
        table,
        name,
        What(first.kind, first.words, first.diameter_mm, first.thread, first.screw),
        "row" if numbers else "polar",
        [numbers.get(number, first.centre_mm) for number in there] or [first.centre_mm],
        [(hole.name, hole.member, hole.centre_mm) for hole in members],
        is_placed=True,
    )
