"""Where the file leaves open how a member lies, or its `on` was not followed.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from millprep.assembly.bodies import Body, Standing
from millprep.assembly.floats import spans_of
from millprep.assembly.frames import Floats, out_of
from millprep.assembly.matching import SAME_PLACE_MM
from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.model.assembled import Member, PinJoint
from millprep.model.part import FACE_AXIS, FACES, OPPOSITE, Face
from millprep.setting.setups import outward

_IN_A_ROW = 3  # places in one list of a pin, which lie in its order
_SAME_MM = 1e-6


def reading_findings(say: Say, standing: Standing, bodies: Sequence[Body]) -> Iterator[Finding]:
    """Members that could as well lie elsewhere by the file, and those that do not lie `on`."""
    pins = {body.name: body.shape.axes[2] for body in bodies if body.what == "pin"}
    members = {body.name: body.shape for body in bodies if body.is_member}
    for joint in standing.assembly.joints:
        if not isinstance(joint, PinJoint):
            continue
        way = pins[joint.name]
        spans = spans_of(joint, way, members)
        if len(spans) >= _IN_A_ROW:
            yield from _outside(say, standing, joint, spans, way)
    for member in standing.assembly.members:
        yield from _not_followed(say, standing, member)


def _outside(
    say: Say,
    standing: Standing,
    joint: PinJoint,
    spans: Mapping[str, tuple[float, float]],
    way: Floats,
) -> Iterator[Finding]:
    """A member at the end of a pin that would go in between others of it."""
    ordered = sorted(spans, key=lambda name: sum(spans[name]))
    for (name, one, other), there in ((ordered[:3], way), (ordered[:-4:-1], -way)):
        long_mm = spans[name][1] - spans[name][0]
        apart_mm = max(spans[one][0] - spans[other][1], spans[other][0] - spans[one][1])
        if apart_mm >= long_mm - _SAME_MM and not _is_said(standing, joint, name):
            inner = _looking(standing, one, there)
            yield say.finding(
                "warning",
                "lies-outside",
                joint,
                f"{name} is laid outside {one} and {other}, and would go between them too: they "
                f"are {say.length(apart_mm)} apart",
                f'say where {name} is, in [members]: on = "{one}: {inner}" between them, '
                f'on = "{one}: {OPPOSITE[inner]}" outside',
            )


def _is_said(standing: Standing, joint: PinJoint, name: str) -> bool:
    """Whether the file says where it lies: by on, by another joint that it has with one of the
    pin, or in a list of places that lie in its order."""
    how, place = next(each for each in joint.held if each[1].member == name)
    row = [one for other, one in joint.held if other == how]
    near = {each.member for each in joint.places} - {name}
    held = [
        {each.member for each in one.places} for one in standing.assembly.joints if one is not joint
    ]
    return (
        standing.assembly.member(name).on is not None
        or place.face is not None
        or len(row) >= _IN_A_ROW
        or any(name in one and one & near for one in held)
    )


def _looking(standing: Standing, name: str, way: Floats) -> Face:
    """The face of a member that looks that way, in assembly axes."""
    rotation = standing.lays[name].pose.rotation
    return max(FACES, key=lambda face: float(way @ rotation @ outward(face)))


def _not_followed(say: Say, standing: Standing, member: Member) -> Iterator[Finding]:
    """A member that was laid on another than `on` names, and does not lie there either."""
    lay, lays = standing.lays[member.name], standing.lays
    if member.on is None or member.on_face is None or lay.on in (None, member.on):
        return
    assert lay.on is not None
    if lays[member.on].group != lay.group or lays[member.on].on == member.name:
        return
    out = lays[member.on].pose.rotation @ outward(member.on_face)
    face = _looking(standing, member.name, -out)
    other = standing.assembly.member(member.on)
    apart_mm = _height(standing, member, face, out) - _height(standing, other, member.on_face, out)
    is_across = member.face is not None and FACE_AXIS[member.face] != FACE_AXIS[face]
    if member.face in (None, face) and abs(apart_mm) <= SAME_PLACE_MM:
        return
    turned = f', face = "{face}"' if is_across else ""
    message = f"{member.name} is not on {member.on}: {member.on_face}: its holes put it on {lay.on}"
    yield Finding(
        "warning",
        "edges-differ",
        message,
        f'give edges in both directions too, or on = "{lay.on}: '
        f'{_looking(standing, lay.on, -out)}"{turned}',
        standing.assembly.path or None,
        member.line,
    )


def _height(standing: Standing, member: Member, face: Face, way: Floats) -> float:
    """How far that way a face lies, which looks that way or back [mm]."""
    pose = standing.lays[member.name].pose
    point = outward(face) * out_of(member.part, face)
    return float(way @ (pose.rotation @ point + pose.shift_mm))
