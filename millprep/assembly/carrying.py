"""Members whose holes are carried over, as a part that its sheets are made of.

Where a drill goes through the holes that are there, the members lie on one another as a stack, its
holes as deep as the drill leaves a cone in the one below; a punch or a screw leaves a mark there,
and by readings the other member is spotted by itself. Layers 0 to 3 and planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from millprep.assembly import Judged
from millprep.assembly.chances import Likely, method_words
from millprep.assembly.frames import Floats, Pose, centres
from millprep.assembly.job import table_of
from millprep.assembly.saying import length_words
from millprep.assembly.stack_part import (
    hardest,
    high_stock,
    in_turn,
    mark_of,
    refuse_stopped,
    shift_mm,
    strapped_over,
)
from millprep.assembly.stacks import SAME_HEIGHT_MM, Layer, Stacked, stacked
from millprep.base.findings import stopped
from millprep.base.records import replace
from millprep.model.assembled import Carried, PinJoint, ScrewJoint, Stack
from millprep.model.carrying import DRILLED, Beside, Carrying, Mate
from millprep.model.kinds import DRILL, MARK, SPOT
from millprep.model.part import AXIS_FACES, FACE_AXIS, HIGH_FACES, Face, Hole, Part, SetupRequest
from millprep.model.part import Layer as Body
from millprep.model.shop import Shop
from millprep.model.tools import Drill
from millprep.planning.drawer import drill_asked, pointed_for
from millprep.planning.leaving import bare
from millprep.planning.making import widest_spot_mm
from millprep.reference.materials import material_named
from millprep.setting.setups import outward, point_of

_PARALLEL = 0.999
_SAME_OUTLINE_MM = 0.5
_CLEAR_OF_DRILL_MM = 15.0  # of a strap's toe, half of its width and the drill
_TOE_MM = 6.0  # of a strap, from the edge of what bears it (common practice)

Joint = ScrewJoint | PinJoint


def carried_joints(judged: Judged, name: str) -> list[Joint]:
    """The joints of the table of that name whose holes are carried over; none where it has none,
    or a stack has the name."""
    wanted = " ".join(name.split()).casefold()
    if any(row.name.casefold() == wanted for row in judged.stacks):
        return []
    return [
        joint
        for joint in judged.assembly.joints
        if joint.carried is not None and table_of(joint).casefold() == wanted
    ]


def carried_part(judged: Judged, joints: Sequence[Joint], shop: Shop) -> Part:
    """The members of one table as a part. Raises MillprepError for what cannot be carried so."""
    carried, table = joints[0].carried, table_of(joints[0])
    assert carried is not None  # `carried_joints` gives no other
    refuse_stopped(judged, {table, *(joint.name for joint in joints)})
    row = _stacked(judged, joints, carried, table)
    _refuse_far(judged, row, table)
    carrying = _carrying(judged, row, joints, carried, shop)
    if carried.by == "readings":
        return _alone(judged, row, carrying, carried.setup)
    top, assembly = judged.assembly.member(row.top).part, judged.assembly
    bodies = tuple(
        Body(one.member, one.from_mm, one.to_mm, assembly.member(one.member).part.material)
        for one in _against(row)
    )
    part = Part(
        name=f"{assembly.name}: {table}",
        drawing=top.drawing,
        units=assembly.units,
        material=hardest(bodies),
        stock=high_stock(top.stock, row),
        datum=top.datum,
        holes=(),
        note=assembly.note,
        path=assembly.path,
        mark=mark_of(judged, row),
        layers=bodies,
        pieces=row.members,
        pillars=tuple(point_of(place) for place in _borne(judged, row).T),
        carrying=carrying,
    )
    holes = [_hole(row, top, one, part, shop) for one in carrying.mates]
    part = replace(part, holes=tuple(in_turn(holes)))
    return replace(part, setups=(_setup(part, carried, row.face),))


def _setup(part: Part, carried: Carried, face: Face) -> SetupRequest:
    """As the file has it; else under straps over what the other members bear."""
    if carried.setup is None:
        return strapped_over(part, SetupRequest(face))
    request = replace(carried.setup, face=face)
    is_said = request.hold is not None or request.straps_at_mm or "vice" in request.lines
    return request if is_said else strapped_over(part, request)


def _stacked(judged: Judged, joints: Sequence[Joint], carried: Carried, table: str) -> Stacked:
    """The member whose holes are there on top, the others against it."""
    tables = []
    for joint in joints:
        solid = [replace(place, face=None) for place in joint.places if not place.is_loose]
        first = [place for place in solid if place.member == carried.source]
        rest = [place for place in solid if place.member != carried.source]
        tables.append(Stack(joint.name, (*first[:1], *rest), joint.allow, joint.line, table))
    members = tuple(dict.fromkeys(place.member for one in tables for place in one.places))
    tables = [replace(one, members=members) for one in tables]
    row = stacked(judged.assembly, (), judged.lays, tuple(tables))
    return replace(row, layers=tuple(_against(row)))


def _against(row: Stacked) -> Iterator[Layer]:
    """The members without what is loose between them."""
    first = next(one for one in row.pieces if one.member == row.top)
    yield first
    for one in row.pieces:
        if one is not first:
            lift = one.from_mm - first.to_mm
            yield Layer(one.member, first.to_mm, one.to_mm - lift)


def _refuse_far(judged: Judged, row: Stacked, table: str) -> None:
    """Raises MillprepError where a member lies behind another of the joint."""
    for bore in row.bores:
        others = [one for one in row.pieces if one.member in bore.holes and one.member != row.top]
        if len(others) > 1:
            near, far = others[0].member, others[1].member
            message = f"{table}: {near} lies between {row.top} and {far}"
            remedy = "carry the holes over from each to the one against it: a joint for each"
            raise stopped("stack-order", message, remedy, file=judged.assembly.path or None)


def _carrying(
    judged: Judged, row: Stacked, joints: Sequence[Joint], carried: Carried, shop: Shop
) -> Carrying:
    assembly = judged.assembly
    others = [name for name in row.members if name != row.top]
    mates = []
    for bore in row.bores:
        ((member, hole),) = ((m, h) for m, h in bore.holes.items() if m != row.top)
        name = hole.name if len(others) == 1 else f"{member}: {hole.name}"
        mates.append(Mate(name, member, bore.holes[row.top], hole))
    inside = {name: judged.lays[name].pose.seen_from(judged.lays[row.top].pose) for name in others}
    meets = tuple((name, _face_along(inside[name], outward(row.face))) for name in others)
    rows = [one for one in judged.chances if one.joint in joints and one.chance is not None]
    worst = min(rows, key=lambda one: one.share, default=None)
    return Carrying(
        table_of(joints[0]),
        carried.by,
        row.top,
        row.face,
        meets,
        tuple(mates),
        tuple(one for name in others for one in _besides(judged, row, name, inside[name])),
        tuple((name, assembly.member(name).part.stock) for name in row.members),
        carried.after,
        None if worst is None else worst.share,
        None if worst is None else _better(worst),
        tuple(_finishes(judged, mates)),
        tuple(one.diameter_mm for one in shop.cabinet.transfer_punches),
    )


def _better(row: Likely) -> str | None:
    """What reaches the share wanted where this way of it does not."""
    if row.is_likely:
        return None
    if row.method is not None and row.method.words not in row.made_by:
        return method_words(row.method.words)
    if row.clearance is not None and row.clearance.hole_mm is not None:
        return f"holes of {length_words(row.clearance.hole_mm, 'mm')}"
    return None


def _finishes(judged: Judged, mates: Sequence[Mate]) -> Iterator[tuple[str, str]]:
    """Part files, by their paths, with the pattern that comes; its holes where not all do."""
    folder = Path(judged.assembly.path).parent
    told: dict[tuple[str, str], None] = {}
    for one in mates:
        member = judged.assembly.member(one.member)
        whole = {hole.name for hole in member.part.holes if hole.group == one.hole.group}
        here = {each.hole.name for each in mates if each.member == one.member}
        words = one.hole.group if whole <= here else one.hole.name
        told[(folder / member.file).as_posix(), words] = None
    yield from told


def _face_along(pose: Pose, out: Floats) -> Face:
    """The face of a member that looks that way, as it lies in the first."""
    return next(
        face for face in FACE_AXIS if float(pose.rotation @ outward(face) @ out) > _PARALLEL
    )


def _besides(judged: Judged, row: Stacked, name: str, pose: Pose) -> Iterator[Beside]:
    """Of both ways in the face that meets: the edges that lie nearest to one another."""
    top, part = judged.assembly.member(row.top).part, judged.assembly.member(name).part
    if top.stock.axis is not None or part.stock.axis is not None:
        low = [faces[0] for faces in AXIS_FACES if row.face not in faces]
        middle = pose.placed(np.array([part.stock.size_mm]).T / 2)[:, 0]
        places = [float(middle[FACE_AXIS[face]]) for face in low]
        own = [top.stock.size_mm[FACE_AXIS[face]] / 2 for face in low]
        is_same = max(abs(a - b) for a, b in zip(places, own, strict=True)) < SAME_HEIGHT_MM
        told = () if is_same else tuple(zip(low, places, strict=True))
        yield Beside(name, None, None, middle=told)
        return
    for faces in AXIS_FACES:
        if row.face in faces:
            continue
        found = []
        for number, other in enumerate(faces):
            out, axis = outward(other), FACE_AXIS[other]
            face = _face_along(pose, out)
            corner = pose.placed(np.array([part.stock.size_mm]).T * (face in HIGH_FACES))[:, 0]
            inside = float(out @ (np.eye(3)[axis] * top.stock.face_at_mm(other) - corner))
            found.append((abs(round(inside, 3)), number, Beside(name, face, other, inside + 0.0)))
        yield min(found, key=lambda one: one[:2])[2]


def _hole(row: Stacked, top: Part, mate: Mate, part: Part, shop: Shop) -> Hole:
    """As deep as the drill that fits the hole above leaves a cone that its own chamfer takes away;
    of a punch or a screw a mark."""
    axis = FACE_AXIS[row.face]
    centre = np.array(mate.source.centre_mm) + shift_mm(row, top.stock)
    centre[axis] = row.height_mm if row.face in HIGH_FACES else 0.0
    size, thick = mate.passes_mm, part.layers[0].to_mm
    words, is_drilled = f"{size:.4f}".rstrip("0").rstrip(".") + " mm", _is_drilled(part)
    return _bare(
        replace(mate.source, group=part.name),
        name=mate.name,
        face=row.face,
        kind=DRILL if is_drilled else MARK,
        words=words,
        diameter_mm=size,
        centre_mm=point_of(centre),
        depth_mm=thick - _short_of_full_mm(mate, part, shop, words) if is_drilled else thick,
        drills_words=(words,),
        layers=(row.top, mate.member),
    )


def _is_drilled(part: Part) -> bool:
    return part.carrying is not None and part.carrying.by in DRILLED


def _bare(hole: Hole, **more: object) -> Hole:
    """Nothing is asked of it but its place and how far it is made now."""
    alone: dict[str, object] = {"member": None, "goes_into": None, "meets": (), "lines": {}}
    plain: dict[str, object] = {"is_through": False, "spot": False, "peck_mm": ()}
    return replace(bare(hole), **alone | plain | more)


def _short_of_full_mm(mate: Mate, part: Part, shop: Shop, words: str) -> float:
    """How far above the face below the drill's full diameter stays."""
    material = material_named(part.material)
    cabinet = shop.cabinet if material is None else pointed_for(shop.cabinet, material)
    drill = drill_asked(cabinet, mate.passes_mm, words).tool
    assert isinstance(drill, Drill)  # nothing else is asked for
    over = max(drill.diameter_mm - widest_spot_mm(mate.hole), 0.0)
    return over / 2 / math.tan(math.radians(drill.angle_deg / 2))


def _borne(judged: Judged, row: Stacked) -> Floats:
    """(3, N) where a strap presses on what has a member under it: at the corners of that and half
    way between, clear of the holes; none where outlines are the same, and the vice may have both,
    or where one is round."""
    axis = FACE_AXIS[row.face]
    top = judged.assembly.member(row.top).part
    size = np.array(top.stock.size_mm)
    places: list[Floats] = []
    is_same = True
    blanks = [judged.assembly.member(name).part.stock for name in row.members]
    if any(blank.axis is not None for blank in blanks):
        return np.empty((3, 0))
    for name in (one for one in row.members if one != row.top):
        pose = judged.lays[name].pose.seen_from(judged.lays[row.top].pose)
        far = np.array(judged.assembly.member(name).part.stock.size_mm)
        ends = pose.placed(np.array([np.zeros(3), far]).T)
        low, high = ends.min(axis=1), ends.max(axis=1)
        flat = flat_of(axis)
        off = np.maximum(np.abs(low), np.abs(high - size))[flat]
        is_same = is_same and bool((off <= _SAME_OUTLINE_MM).all())
        low, high = np.maximum(low, 0.0), np.minimum(high, size)
        toe = np.minimum(_TOE_MM, (high - low) / 2)
        one, other = np.flatnonzero(flat)
        across, along = (
            [low[n] + toe[n], (low[n] + high[n]) / 2, high[n] - toe[n]] for n in (one, other)
        )
        for a, b in product(across, along):
            place = np.zeros(3)
            place[[one, other]] = a, b
            places.append(place + shift_mm(row, top.stock))
    found = np.unique(np.array([] if is_same else places).reshape(-1, 3).round(6), axis=0)
    holes = centres([bore.holes[row.top] for bore in row.bores]) + shift_mm(row, top.stock)[:, None]
    away = np.linalg.norm((found[:, :, None] - holes[None])[:, flat_of(axis)], axis=1)
    clear: Floats = found[(away >= _CLEAR_OF_DRILL_MM).all(axis=1)].T
    return clear


def flat_of(axis: int) -> NDArray[np.bool_]:
    """(3,) the axes across that one."""
    across: NDArray[np.bool_] = np.arange(3) != axis
    return across


def _alone(judged: Judged, row: Stacked, carrying: Carrying, setup: SetupRequest | None) -> Part:
    """By readings: the member that is spotted, by itself, the face that meets the other one up."""
    others = [name for name in row.members if name != row.top]
    assembly = judged.assembly
    if len(others) > 1:
        message = f"{carrying.joint}: readings are of one member at a time, here {len(others)}"
        raise stopped(
            "contradiction", message, "make it a joint for each", file=assembly.path or None
        )
    if any(one.face is None for one in carrying.besides):
        message = f"{carrying.joint}: a round blank has no edges for jaw and stop to repeat"
        remedy = 'carry them over by = "transfer punch", or by = "jig"'
        raise stopped("contradiction", message, remedy, file=assembly.path or None)
    part = assembly.member(others[0]).part
    ((_, face),) = carrying.meets
    holes = []
    for one in carrying.mates:
        centre = np.array(one.hole.centre_mm)
        centre[FACE_AXIS[face]] = part.stock.face_at_mm(face)
        spot = _bare(
            one.hole,
            kind=SPOT,
            words="spot",
            face=face,
            depth_mm=one.hole.diameter_mm / 2,
            spot=True,
            peck_mm=None,
            centre_mm=point_of(centre),
        )
        holes.append(spot)
    return replace(
        part,
        name=f"{assembly.name}: {carrying.joint}",
        units=assembly.units,
        path=assembly.path,
        mark=mark_of(judged, row),
        holes=tuple(in_turn(holes)),
        setups=(replace(setup or SetupRequest(face), face=face),),
        dimensions=(),
        stated=(),
        left=(),
        carrying=carrying,
    )
