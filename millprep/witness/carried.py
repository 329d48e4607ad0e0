"""What a sheet says of holes that are carried over, against both members' own holes and blanks.

Edges are measured from holes: as far as the hole that is there lies from an edge, less how far the
one that comes lies from its own. Imports the part and `reading`.
"""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterator
from typing import Any

from millprep.base.findings import Finding
from millprep.model.carrying import Beside, Carrying, Mate
from millprep.model.part import Hole, Part, Stock
from millprep.witness.compared import Due, any_case
from millprep.witness.faces import AXIS, FAR, from_face_mm
from millprep.witness.set_up import SetUp

_LEVEL_MM = 0.01
_APART_MM = 0.002  # to which edges agree from hole to hole
_OVER_SIZE_MM = 0.3  # of a spot over its hole, or its thread (common practice)
_CONE_SLACK_MM = 0.02  # of a quill that is read to half a count
_WANTED = 0.95
_BY_DRILL = ("spotted through", "jig")

_FACES = "face other_face jaw_face stop_face face_again seat stood squared"  # by names of slots


def as_told(due: Due) -> Due:
    """Faces stand in capitals but in JSON; what says nothing is not there."""
    return {name: _as_told(name, value) for name, value in due.items() if name != "layers"}


def _as_told(name: str, value: Any) -> Any:
    if value is None or value == "":
        return {"", None}
    return any_case(value) if name in _FACES.split() else value


def passes_mm(mate: Mate) -> float:
    """What goes through the hole that is there: in a tapped one the drill before the tap."""
    thread = mate.source.thread
    return mate.source.diameter_mm if thread is None else thread.tap_drill_mm


def chamfer_mm(mate: Mate) -> float:
    return mate.hole.diameter_mm + _OVER_SIZE_MM


def is_finished_bore(hole: Hole) -> bool:
    """Into which no drill goes: reamed, bored, or with limits of its own."""
    return hole.kind.is_true or hole.fit is not None or hole.limits_um is not None


def to_edge_mm(hole: Hole, stock: Stock, face: str) -> float:
    """From the middle of a hole to a face of its blank."""
    return from_face_mm(hole.centre_mm, face, stock.size_mm)


def lies(of: Carrying) -> Iterator[tuple[str, Due]]:
    """FIRST, ALIGN, CLAMP and CHANCE."""
    blanks = dict(of.blanks)
    others = [name for name in blanks if name != of.source]
    yield "carry-first", {"source": of.source, "others": others, "stack": of.after}
    for one in of.besides:
        names = {"member": one.member, "source": of.source}
        if one.face is None or one.other_face is None:
            yield _middle(of, one, names)
            continue
        inside = [
            to_edge_mm(each.source, blanks[of.source], one.other_face)
            - to_edge_mm(each.hole, blanks[one.member], one.face)
            for each in of.mates
            if each.member == one.member
        ]
        faces = {"face": one.face, "other_face": one.other_face}
        if max(inside) - min(inside) > _APART_MM:
            yield "carry-edge", {**names, **faces, "beside_mm": math.nan}
        elif abs(inside[0]) < _LEVEL_MM:
            yield "carry-level", {**names, **faces}
        else:
            way = "inside" if inside[0] > 0 else "outside"
            yield "carry-edge", {**names, **faces, "way": way, "beside_mm": abs(inside[0])}
    if of.by in (*_BY_DRILL, "transfer punch"):
        done = "spotted" if of.by in _BY_DRILL else "marked"
        yield "carry-clamp", {"own": "jig" if of.by == "jig" else "", "done": done}
    if of.share is not None:
        share = {"share": f"{of.share * 100:.1f}", "wanted": f"{_WANTED * 100:.0f}"}
        short = "" if of.share >= _WANTED else "short"
        yield "carry-chance", {**share, "reach": short, "better": of.better}


def _middle(of: Carrying, one: Beside, names: Due) -> tuple[str, Due]:
    """A round member: its holes lie as far from its middle as those that they come from do."""
    blanks, axis = dict(of.blanks), AXIS[of.face]
    blank, own = blanks[one.member], blanks[of.source]
    seat = AXIS[dict(of.meets)[one.member]]
    at = (
        dict(one.middle)
        if one.middle
        else {
            face: own.size_mm[AXIS[face]] / 2
            for face in ("left", "front", "bottom")
            if AXIS[face] != axis
        }
    )
    off_mm = max(
        abs(
            math.hypot(*(mate.source.centre_mm[AXIS[face]] - mm for face, mm in at.items()))
            - math.hypot(
                *(mate.hole.centre_mm[n] - blank.size_mm[n] / 2 for n in range(3) if n != seat)
            )
        )
        for mate in of.mates
        if mate.member == one.member
    )
    if not one.middle and off_mm <= _APART_MM:
        return "carry-round", names
    (face, mm), (other, other_mm) = at.items()
    if off_mm > _APART_MM:
        mm = other_mm = math.nan
    told = {"face": face, "from_mm": mm, "other_face": other, "other_mm": other_mm}
    return "carry-middle", {**names, **told}


def then(of: Carrying) -> Iterator[tuple[str, Due]]:
    for file, name in of.finishes:
        command = shlex.join(["listing", file, "--only", name])
        yield "carry-then", {"apart": "no" if of.by == "readings" else "yes", "command": command}


def bodies(part: Part, of: Carrying) -> list[tuple[str, float, float]]:
    """The member whose holes are there on top, each of the others against it."""
    axis, thick = AXIS[of.face], dict(of.blanks)[of.source].size_mm[AXIS[of.face]]
    meets = dict(of.meets)
    deep = [(name, thick, thick + b.size_mm[AXIS[meets[name]]]) for name, b in of.blanks[1:]]
    assert part.stock.size_mm[axis] > thick
    return [(of.source, 0.0, thick), *deep]


def spotting(one: SetUp, of: Carrying) -> Iterator[tuple[str, Due]]:
    """What a listing says where a drill goes through one member into the other."""
    part, face = one.printed.part, one.printed.setup.face
    yield from lies(of)
    layers = bodies(part, of)
    told = [{"layer": name, "begins": begin, "ends": end} for name, begin, end in layers]
    yield "carry-layers", {"face": face, "top_member": of.source, "layers": told}
    alike: dict[tuple[Any, ...], dict[str, Any]] = {}
    for mate in of.mates:
        drill, most = passes_mm(mate), chamfer_mm(mate)
        due = {
            "drill_mm": drill,
            "source": of.source,
            "members": [],
            "cone_mm": min(drill, most),
            "full": "yes" if drill <= most else "",
            "thread": None if mate.hole.thread is None else mate.hole.thread.designation,
            "chamfer_mm": None if mate.hole.thread is None else most,
            "thick_mm": layers[0][2],
        }
        members = alike.setdefault((drill, most, due["thread"]), due)["members"]
        members += [] if mate.member in members else [mate.member]
    yield from (("carry-spot", due) for due in alike.values())
    if of.by == "jig":
        for pin in dict.fromkeys(passes_mm(mate) for mate in of.mates):
            yield "carry-jig", {"pin_mm": pin, "source": of.source}


def spotting_faults(one: SetUp, of: Carrying) -> Iterator[Finding]:
    """The drill of each step fits the hole that is there and leaves no wider a cone than may be."""
    thick_mm = bodies(one.printed.part, of)[0][2]
    mates = {mate.name: mate for mate in of.mates}
    for mate in of.mates:
        if is_finished_bore(mate.source):
            yield one.wrong(f"a drill goes into {mate.source.name}, which is finished")
        if not mate.hole.is_through and mate.hole.face != dict(of.meets).get(mate.member):
            yield one.wrong(f"{mate.name} does not open on the face that {of.source} lies on")
    if one.printed.setup.face != of.face or FAR[of.face] == one.printed.setup.face:
        yield one.wrong(f"{of.source} does not lie with {of.face} up")
    for row in one.rows:
        found = mates.get(row.hole)
        if found is None or row.tool.point_angle_deg is None or row.z_mm is None:
            yield one.wrong(f"{row.hole} is none that is carried over")
            continue
        deep_mm = -one.printed.z_sign * row.z_mm - thick_mm
        cone = 2 * deep_mm * math.tan(math.radians(row.tool.point_angle_deg / 2))
        right = min(passes_mm(found), chamfer_mm(found))
        if row.tool.kind != "drill" or abs(row.tool.diameter_mm - passes_mm(found)) > _APART_MM:
            words = f"{row.hole}: {row.tool.diameter_mm:g} mm through a hole of "
            yield one.wrong(f"{words}{passes_mm(found):g} mm")
        elif abs(cone - right) > _CONE_SLACK_MM:
            yield one.wrong(f"{row.hole}: a cone of {cone:.3f} mm, where {right:.3f} mm may be")
