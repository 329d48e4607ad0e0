"""End float of what runs on a shaft between two members; where the file leaves open how one lies.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from millprep.assembly.bodies import Body, Standing
from millprep.assembly.frames import Floats, out_of
from millprep.assembly.matching import SAME_PLACE_MM
from millprep.assembly.meeting import heaps_of
from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import Member, PinJoint
from millprep.model.part import FACE_AXIS, FACES, OPPOSITE, Face
from millprep.setting.setups import outward
from millprep.sums.convex import Shape, Shapes, supports

LEAST_MM = 0.05
"""Of end float, so that what runs does not bind: common practice for small shafts."""


@frozen
class EndFloat:
    """What stands between two members on one pin. gap_mm : between the two; long_mm : of what
    stands there."""

    joint: PinJoint
    outer: tuple[str, str]
    between: tuple[str, ...]
    gap_mm: float
    long_mm: float

    @property
    def free_mm(self) -> float:
        return self.gap_mm - self.long_mm

    @property
    def pairs(self) -> Iterator[frozenset[str]]:
        """Members two by two of which this says that they do not go in."""
        names = (*self.outer, *self.between)
        return (frozenset((a, b)) for a in names for b in names if a != b)


def end_floats(standing: Standing, bodies: list[Body]) -> list[EndFloat]:
    """One for every gap on a pin in which something runs."""
    heaps = heaps_of(standing.assembly)
    pins = {body.name: body.shape for body in bodies if body.what == "pin"}
    members = {body.name: body.shape for body in bodies if body.is_member}
    found = []
    for joint in standing.assembly.joints:
        if not isinstance(joint, PinJoint) or len(joint.places) < 3:
            continue
        spans = spans_of(joint, pins[joint.name].axes[2], members)
        held = max((heaps[name] for name in spans), key=lambda heap: len(heap & spans.keys()))
        ordered = sorted(spans, key=lambda name: sum(spans[name]))
        fixed = [name for name in ordered if name in held]
        for one, other in pairwise(fixed):
            between = ordered[ordered.index(one) + 1 : ordered.index(other)]
            if between:
                gap = spans[other][0] - spans[one][1]
                long = sum(spans[name][1] - spans[name][0] for name in between)
                found.append(EndFloat(joint, (one, other), tuple(between), gap, long))
    return found


def spans_of(
    joint: PinJoint, way: Floats, members: Mapping[str, Shape]
) -> dict[str, tuple[float, float]]:
    """From where to where each member of a pin reaches along it [mm]."""
    spans = {}
    for place in joint.places:
        shape = members[place.member]
        middle = float(way @ shape.centre_mm)
        reach = float(supports(Shapes.of([shape]), way[None, None])[0, 0])
        spans[place.member] = middle - reach, middle + reach
    return spans


def float_findings(say: Say, row: EndFloat) -> Iterator[Finding]:
    """Whether it goes in, and turns."""
    if row.free_mm >= LEAST_MM - 1e-6:
        return
    what = " and ".join(row.between)
    one, other = row.outer
    wanted = say.length(LEAST_MM - row.free_mm, 3)
    cure = f"make {' or '.join(row.between)} shorter by {wanted} or more, or the gap wider"
    if row.free_mm < -1e-6:
        words = (
            f"{what}, {say.length(row.long_mm, 3)} long, do{'' if len(row.between) > 1 else 'es'} "
            f"not go between {one} and {other}, {say.length(row.gap_mm, 3)} apart"
        )
        yield say.finding("stop", "end-float", row.joint, words, cure)
        return
    words = f"{what} have {say.length(row.free_mm, 3)} of end float between {one} and {other}"
    words = words if len(row.between) > 1 else words.replace(" have ", " has ", 1)
    yield say.finding("warning", "end-float", row.joint, words, cure)


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
        yield from _not_followed(standing, member)


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


def _not_followed(standing: Standing, member: Member) -> Iterator[Finding]:
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
