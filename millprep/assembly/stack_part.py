"""A stack as a part: one blank in the axes of its top member, as high as it stands, with its bores.

What plans, writes and witnesses the sheets of a part does so for it too; `layers` tells it where
there is metal, and what stands `proud` of it is in the tool's way. Layers 0 to 3.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Container, Iterator, Sequence
from itertools import combinations

import numpy as np

from millprep.assembly import Judged
from millprep.assembly.frames import Floats, centres
from millprep.assembly.job import table_of
from millprep.assembly.links import entered_by
from millprep.assembly.stacks import Bored, Stacked
from millprep.base.findings import MillprepError, stopped
from millprep.base.records import replace
from millprep.infiles.wording import accepted
from millprep.model.assembled import Place, ScrewJoint
from millprep.model.part import (
    FACE_AXIS,
    HIGH_FACES,
    OPPOSITE,
    Face,
    Hole,
    Layer,
    Mouth,
    Part,
    Point,
    Proud,
    SetupRequest,
    Stock,
)
from millprep.reference.heads import head_for, nut_for
from millprep.reference.materials import material_named
from millprep.setting.setups import default_towards_you, outward, point_of, setup_of

SCRAP = "scrap block"
_SCRAP_MATERIAL = "aluminium"
_AT_FACE_MM = 0.01
_LEAST_STRAPS = 2
_BESIDE_STRAPS = {"hold", "packing", "safe_height"}
"""Keys of holding that leave open where straps stand."""
_CLEAR_OF_CHUCK_MM = 50.0  # from a bore to the middle of a strap's toe


def stack_named(judged: Judged, name: str) -> Stacked:
    """The stack of that name. Raises MillprepError where there is none."""
    for row in judged.stacks:
        if row.name.casefold() == " ".join(name.split()).casefold():
            return row
    carried = [table_of(joint) for joint in judged.assembly.joints if joint.carried is not None]
    there = [*(row.name for row in judged.stacks), *dict.fromkeys(carried)]
    remedy = accepted(there, name) if there else "write [[reamed_together]] for its bores"
    message = f'there is no stack "{name}"'
    raise stopped("unknown-word", message, remedy, file=judged.assembly.path or None)


def stack_part(judged: Judged, name: str) -> Part:
    """The stack as a part. Raises MillprepError where it cannot stand as the file has it."""
    row = stack_named(judged, name)
    refuse_stopped(judged, {table.name for table in row.tables})
    part = _part(judged, row)
    return replace(part, setups=(_setup(row, part),))


def refuse_stopped(judged: Judged, names: Container[str]) -> None:
    """Raises MillprepError with the stops that were found of the tables of those names."""
    wrong = [
        one
        for one in judged.findings
        if one.severity == "stop" and one.message.partition(":")[0] in names
    ]
    if wrong:
        raise MillprepError(*wrong)


def _part(judged: Judged, row: Stacked) -> Part:
    assembly = judged.assembly
    top = assembly.member(row.top).part
    bodies = _bodies(judged, row)
    material = hardest(bodies)
    return Part(
        name=f"{assembly.name}: {row.name}",
        drawing=top.drawing,
        units=assembly.units,
        material=material,
        stock=high_stock(top.stock, row),
        datum=top.datum,
        holes=tuple(in_turn([_hole(row, bore, top) for bore in row.bores])),
        general_tolerance_mm=top.general_tolerance_mm,
        note=assembly.note,
        path=assembly.path,
        mark=mark_of(judged, row),
        layers=bodies,
        proud=tuple(_proud(judged, row)),
        pieces=row.members,
        screwed=tuple(dict.fromkeys(joint.words for joint in _screws(judged, row))),
        pillars=tuple(point_of(place) for place in _pillars(judged, row).T),
    )


def _bodies(judged: Judged, row: Stacked) -> tuple[Layer, ...]:
    """What the bores pass, scrap blocks in the gaps among it where the file wants them."""
    bodies = [
        Layer(one.member, one.from_mm, one.to_mm, judged.assembly.member(one.member).part.material)
        for one in row.layers
    ]
    if row.gap != "open":
        bodies += [Layer(SCRAP, low, high, _SCRAP_MATERIAL, True) for low, high in row.gaps]
    return tuple(sorted(bodies, key=lambda one: one.from_mm))


def hardest(bodies: Sequence[Layer]) -> str:
    """The material that is drilled most slowly: speeds are set for it."""

    def speed(body: Layer) -> float:
        found = material_named(body.material)
        return found.drill_m_per_min if found is not None else 0.0

    return min((one for one in bodies if not one.is_scrap), key=speed).material


def shift_mm(row: Stacked, stock: Stock) -> Floats:
    """(3,) from the axes of the top member to those of the stack."""
    shift = np.zeros(3)
    axis = FACE_AXIS[row.face]
    if row.face in HIGH_FACES:
        shift[axis] = row.height_mm - stock.size_mm[axis]
    return shift


def high_stock(stock: Stock, row: Stacked) -> Stock:
    """The blank of the top member, as high as the whole."""
    axis = FACE_AXIS[row.face]

    def high(size: Point) -> Point:
        x, y, z = (row.height_mm if one == axis else length for one, length in enumerate(size))
        return x, y, z

    is_upright = stock.axis == axis
    round_about = stock.axis if is_upright else None
    bore_mm = stock.bore_mm if is_upright else None
    return Stock(high(stock.size_mm), high(stock.nominal_mm), round_about, bore_mm)


def _hole(row: Stacked, bore: Bored, top: Part) -> Hole:
    """The bore as a hole from the face that is up, as true as the truest of its members wants."""
    first = bore.holes[row.top]
    own = list(bore.holes.values())
    last = bore.layers[-1]
    centre = np.array(first.centre_mm) + shift_mm(row, top.stock)
    axis = FACE_AXIS[row.face]
    centre[axis] = row.height_mm if row.face in HIGH_FACES else 0.0
    left = dict(bore.table.leave).get(row.top, "undrilled")
    return replace(
        first,
        name=bore.name,
        group=bore.table.name,
        member=first.member if bore.name != bore.table.name else None,
        face=row.face,
        centre_mm=point_of(centre),
        depth_mm=last.to_mm,
        is_through=all(hole.is_through for hole in own),
        mouth=Mouth(),
        far=Mouth(),
        opened=(),
        goes_into=None,
        from_both_ends=False,
        drill_depth_mm=None,
        spot=first.spot and left == "undrilled",
        position_mm=_least(hole.position_mm for hole in own),
        tolerance_mm=_least(hole.tolerance_mm for hole in own),
        meets=(),
        allow=tuple(dict.fromkeys((*bore.table.allow, *first.allow))),
        layers=tuple(layer.member for layer in bore.layers),
        key=bore.table.key,
        line=bore.table.line,
        lines={},
    )


def _least(values: Iterator[float | None]) -> float | None:
    return min((value for value in values if value is not None), default=None)


def in_turn(holes: list[Hole]) -> list[Hole]:
    """The first as listed, then the farthest from it, then the rest: so they are finished."""
    if len(holes) < 3:
        return holes
    places = centres(holes)
    far = int(np.argmax(np.linalg.norm(places - places[:, :1], axis=0)))
    return [holes[0], holes[far], *(h for n, h in enumerate(holes) if n not in (0, far))]


def _setup(row: Stacked, part: Part) -> SetupRequest:
    """As the file has it; on the table where there are gaps, its straps over what holds them
    apart and never over a gap, if nothing else is said of holding."""
    said = next((table.setup for table in row.tables if table.setup is not None), None)
    request = SetupRequest(row.face) if said is None else replace(said, face=row.face)
    other = {*request.lines} - _BESIDE_STRAPS
    is_said = request.hold not in (None, "straps") or request.straps_at_mm or other
    if not row.gaps or is_said:
        return request
    return strapped_over(part, request)


def strapped_over(part: Part, request: SetupRequest) -> SetupRequest:
    """On the table, straps over two of the part's pillars: clear of the chuck, then far apart."""
    pillars = np.array(part.pillars).reshape(-1, 3).T
    if pillars.shape[1] < _LEAST_STRAPS:
        return request
    near = request.towards_you or default_towards_you(request.face)
    request = replace(request, hold="straps", towards_you=near)
    places = setup_of(part, request, 1).from_part(pillars)[:2]
    bores = setup_of(part, request, 1).from_part(centres(part.holes))[:2]
    away = np.linalg.norm(places[:, :, None] - bores[:, None, :], axis=0).min(axis=1)

    def worth(pair: tuple[int, int]) -> tuple[float, float]:
        clear_mm = min(float(away[number]) for number in pair)
        return round(min(clear_mm, _CLEAR_OF_CHUCK_MM), 3), math.dist(*(places[:, n] for n in pair))

    best = max(combinations(range(places.shape[1]), 2), key=worth)
    return replace(request, straps_at_mm=tuple((places[0, n], places[1, n]) for n in best))


def _pillars(judged: Judged, row: Stacked) -> Floats:
    """(3, N) where screws along the bores go through the top member, in the axes of the stack:
    there bars and distance pieces bear what is pressed on."""
    holes = [
        hole
        for joint in _screws(judged, row)
        for place in joint.places
        if place.member == row.top and FACE_AXIS[place.holes[0].face] == FACE_AXIS[row.face]
        for hole in place.holes
    ]
    places: Floats = centres(holes) + shift_mm(row, _top_stock(judged, row))[:, None]
    return places


def _screws(judged: Judged, row: Stacked) -> list[ScrewJoint]:
    """Those whose members all stand in the stack."""
    return [
        joint
        for joint in judged.assembly.joints
        if isinstance(joint, ScrewJoint)
        and {place.member for place in joint.places if not place.is_loose} <= {*row.members}
    ]


def _top_stock(judged: Judged, row: Stacked) -> Stock:
    return judged.assembly.member(row.top).part.stock


def mark_of(judged: Judged, row: Stacked) -> str:
    """Of the assembly file and of the files of its members together."""
    marks = [judged.assembly.member(name).part.mark for name in row.members]
    words = " ".join([judged.assembly.mark, *marks])
    return hashlib.sha256(words.encode()).hexdigest()[:6]


def _proud(judged: Judged, row: Stacked) -> Iterator[Proud]:
    """Heads and nuts that stand out of the face that is up, and out of the underside."""
    figures = {one.joint.name: one for one in judged.screws}
    for joint in _screws(judged, row):
        solid = [place for place in joint.places if not place.is_loose]
        sums = figures[joint.name].figures
        head = head_for(joint.thread, joint.kind) if joint.kind is not None else None
        if head is not None and sums is not None and (sums.head_mm or 0.0) > 0:
            face = entered_by(joint, solid[0])
            wide, what = head.head_diameter_mm, f"head of {joint.name}"
            yield from _boxes(judged, row, solid[0], face, sums.head_mm or 0.0, wide, what)
        nut = nut_for(joint.thread) if joint.into is None else None
        if nut is not None and nut.height_mm is not None:
            out = nut.height_mm + max(sums.comes_out_mm or 0.0 if sums is not None else 0.0, 0.0)
            face = OPPOSITE[entered_by(joint, solid[-1])]
            wide, what = nut.across_corners_mm, f"nut of {joint.name}"
            yield from _boxes(judged, row, solid[-1], face, out, wide, what)


def _boxes(
    judged: Judged, row: Stacked, place: Place, face: Face, out_mm: float, wide: float, what: str
) -> Iterator[Proud]:
    """One a hole, where the face is the upper or the lower one of the whole stack."""
    under = judged.lays[row.top].pose
    pose = judged.lays[place.member].pose.seen_from(under)
    shift = shift_mm(row, _top_stock(judged, row))
    axis, up = FACE_AXIS[row.face], outward(row.face)
    out = pose.rotation @ outward(face)
    part = judged.assembly.member(place.member).part
    seats = centres(place.holes)
    seats[FACE_AXIS[face]] = part.stock.face_at_mm(face)
    for seat in pose.placed(seats).T + shift:
        depth_mm = row.height_mm - seat[axis] if row.face in HIGH_FACES else seat[axis]
        end_mm = {1: 0.0, -1: row.height_mm}.get(round(float(up @ out)))
        if end_mm is None or abs(depth_mm - end_mm) > _AT_FACE_MM:
            continue
        half = np.full(3, wide / 2)
        half[axis] = 0.0
        corners = np.array([seat - half, seat + half + out * out_mm, seat - half + out * out_mm])
        low, high = corners.min(axis=0), corners.max(axis=0)
        yield Proud(what, point_of(low), point_of(high))
