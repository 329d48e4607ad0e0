"""What turns about a pin: members that hold together, and which of these run on which pin.

Members that screws, pressed or sliding pins, or edges hold together turn as one. The largest such
heap of a group stands still; a heap that a pin lets run on that one turns right round, or swings as
far as the file says. What hangs on a heap that turns is left out: how it moves is not worked out.
Layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from millprep.assembly.bodies import Body
from millprep.base.records import frozen
from millprep.model.assembled import Assembly, PinJoint
from millprep.sums.convex import Floats, Shape, cylinder

Heap = frozenset[str]
_SAME_LINE_MM = 0.05
_STEP_MM = 1.0  # of what lies farthest out, from one place of a swing to the next
_MOST_STEPS = 180
_WAYS = 360  # in which it is looked how near a body comes to the line
_PARALLEL = 1 - 1e-9


@frozen
class Turning:
    """Members that turn as one about a pin; beside : those that it is no matter to meet, for they
    hang on these or are turned by them."""

    joint: PinJoint
    members: Heap
    beside: Heap
    pin: Shape


def heaps_of(assembly: Assembly) -> dict[str, Heap]:
    """By a member's name those that hold together with it, itself too."""
    heap = {member.name: frozenset([member.name]) for member in assembly.members}
    running: set[str] = set()
    held = []
    for joint in assembly.joints:
        if isinstance(joint, PinJoint):
            held.append({place.member for how, place in joint.held if how in ("press", "slide")})
            running |= {place.member for how, place in joint.held if how == "pivot"}
        else:
            held.append({place.member for place in joint.places if not place.is_loose})
    held += [{m.name, m.on} for m in assembly.members if m.on and m.name not in running]
    for names in held:
        whole = frozenset[str]().union(*(heap[name] for name in names))
        heap.update(dict.fromkeys(whole, whole))
    return heap


def turnings_of(assembly: Assembly, bodies: Sequence[Body]) -> list[Turning]:
    """What turns, about which pin; what two pins on two lines hold does not."""
    heaps = heaps_of(assembly)
    still = _still(heaps, bodies)
    pins = {body.name: body.shape for body in bodies if body.what == "pin"}
    runs: dict[Heap, list[PinJoint]] = {}
    near: dict[Heap, Heap] = {}
    for joint in assembly.joints:
        if isinstance(joint, PinJoint) and any(how == "pivot" for how, _ in joint.held):
            met = {heaps[place.member] for how, place in joint.held if how != "clear"}
            whole = frozenset[str]().union(*met)
            for heap in met:
                near[heap] = near.get(heap, heap) | whole
                if met & still and heap not in still:
                    runs.setdefault(heap, []).append(joint)
    return [
        Turning(joint, heap, near[heap] - frozenset[str]().union(*still), pins[joint.name])
        for heap, (joint, *more) in runs.items()
        if all(_are_in_line(pins[joint.name], pins[other.name]) for other in more)
    ]


def _still(heaps: dict[str, Heap], bodies: Sequence[Body]) -> set[Heap]:
    """The largest heap of each group."""
    largest: dict[int, Heap] = {}
    for body in bodies:
        if body.is_member:
            heap = heaps[body.name]
            largest[body.group] = max(largest.get(body.group, heap), heap, key=len)
    return set(largest.values())


def is_about(shape: Shape, turning: Turning) -> bool:
    """Whether a cylinder lies about the line on which something turns."""
    return _are_in_line(turning.pin, shape)


def _are_in_line(one: Shape, other: Shape) -> bool:
    way, between = one.axes[2], other.centre_mm - one.centre_mm
    off = between - way * float(way @ between)
    return abs(float(way @ other.axes[2])) > _PARALLEL and bool(np.linalg.norm(off) < _SAME_LINE_MM)


@frozen
class Swept:
    """What a shape sweeps over: shapes one of which it fills at any time.

    free_mm : so far from the line nothing of it comes; 0 where it crosses the line
    """

    shapes: tuple[Shape, ...]
    free_mm: float


def swept(shape: Shape, turning: Turning) -> Swept | None:
    """None where it stays where it is, turning."""
    pin = turning.pin
    way, centre = pin.axes[2], pin.centre_mm
    along = float(way @ (shape.centre_mm - centre))
    off = shape.centre_mm - centre - way * along
    if shape.is_round and is_about(shape, turning):
        return None
    if shape.is_round and abs(float(way @ shape.axes[2])) > _PARALLEL:
        far = float(np.linalg.norm(off)) + float(shape.half_mm[0])
    else:
        corners = np.array(np.meshgrid(*[(-1, 1)] * 3)).reshape(3, -1).T * shape.half_mm
        places = corners @ shape.axes + shape.centre_mm - centre
        far = float(np.linalg.norm(places - np.outer(places @ way, way), axis=1).max())
    free = max(_nearest_mm(shape, off, pin.axes[:2]), 0.0)
    swing = turning.joint.swing_deg
    if swing is None or swing >= 180:
        high = _reach_mm(shape, way)
        ring = cylinder(centre, way, along - high, along + high, far)
        return Swept((ring,), free)
    steps = min(math.ceil(math.radians(swing) * far / _STEP_MM), _MOST_STEPS)
    angles = np.radians(np.linspace(-swing, swing, 2 * steps + 1))
    return Swept(tuple(shape.turned(_turn(way, angle), centre) for angle in angles), 0.0)


def _nearest_mm(shape: Shape, off: Floats, across: Floats) -> float:
    """How near a shape comes to the line; off : (3,) from the line to its middle."""
    angles = np.arange(_WAYS) * (2 * math.pi / _WAYS)
    ways = np.cos(angles)[:, None] * across[0] + np.sin(angles)[:, None] * across[1]
    return float(max(way @ off - _reach_mm(shape, way) for way in ways))


def _reach_mm(shape: Shape, way: Floats) -> float:
    """How far it reaches from its middle along a way."""
    along = np.abs(shape.axes @ way)
    if not shape.is_round:
        return float(along @ shape.half_mm)
    up = min(float(along[2]), 1.0)
    return float(shape.half_mm[0] * math.sqrt(1 - up**2) + shape.half_mm[2] * up)


def _turn(way: Floats, angle: float) -> Floats:
    """(3, 3) a turn about a way (Rodrigues)."""
    x, y, z = way
    crossed = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn: Floats = np.eye(3) + math.sin(angle) * crossed + (1 - math.cos(angle)) * crossed @ crossed
    return turn


def lies_within(shape: Shape, turning: Turning, free_mm: float) -> bool:
    """Whether a shape keeps to what a body that turns leaves free about the line."""
    centre, way = turning.pin.centre_mm, turning.pin.axes[2]
    corners = np.array(np.meshgrid(*[(-1, 1)] * 3)).reshape(3, -1).T * shape.half_mm
    places = corners @ shape.axes + shape.centre_mm - centre
    return bool(np.linalg.norm(places - np.outer(places @ way, way), axis=1).max() <= free_mm)
