"""Where bodies meet: blanks, screws, heads, nuts and pins in one place, or all but touching.

What belongs together is left out: a screw and the members that it joins, a shape in a hole that is
wide enough for it, faces that touch because something joins them.
Members that screws, pressed or sliding pins, or edges hold together turn as one. The largest such
heap of a group stands still; a heap that a pin lets run on that one turns right round, or swings as
far as the file says. What hangs on a heap that turns is left out: how it moves is not worked out.
Layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence

import numpy as np

from millprep.assembly.bodies import Body
from millprep.base.records import frozen
from millprep.model.assembled import Assembly, PinJoint
from millprep.sums.convex import Floats, Shape, apart_mm, boxes, cylinder, outside

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


NEAR_MM = 0.5
TOUCH_MM = 0.05  # what patterns that line up may be off, and what is rounded from inches, together
_SLACK_MM = 0.05  # of a hollow: what is as wide as it goes in


@frozen
class Meeting:
    """Two bodies that meet, or nearly. apart_mm : negative is how far they are in each other.

    turning : the pin about which the first turns; None as the members lie
    """

    first: Body
    second: Body
    apart_mm: float
    turning: Turning | None = None

    @property
    def is_into(self) -> bool:
        return self.apart_mm < -TOUCH_MM


@frozen
class _Pair:
    """Two bodies, and the shapes of each that may meet.

    cut, others_cut : hollows, of the second in the first's shapes, and the other way round
    is_whole        : shapes that lie inside members too, of which it tells only that they meet
    """

    first: Body
    second: Body
    shapes: Sequence[Shape]
    others: Sequence[Shape]
    cut: Sequence[Shape] = ()
    others_cut: Sequence[Shape] = ()
    turning: Turning | None = None
    is_whole: bool = False


def meetings_of(
    assembly: Assembly, bodies: Sequence[Body], told: Collection[frozenset[str]]
) -> list[Meeting]:
    """Every two bodies that are in each other, or less than 0.5 mm apart with nothing to join them.

    told : pairs of members of which it is said already that they do not lie as they should
    """
    joined, heaps = _joined(assembly), heaps_of(assembly)
    found: dict[tuple[int, int], Meeting] = {}
    for pairs in (_standing(bodies), _turning(bodies, turnings_of(assembly, bodies))):
        listed = [pair for pair in pairs if pair.first.of | pair.second.of not in told]
        for pair, apart in zip(listed, _apart_mm(listed), strict=True):
            key = (id(pair.first), id(pair.second))
            if key not in found and key[::-1] not in found and _matters(pair, apart, joined, heaps):
                found[key] = Meeting(pair.first, pair.second, apart, pair.turning)
    return [*found.values()]


def _joined(assembly: Assembly) -> set[Heap]:
    """Members two by two that a joint, a shared pattern or an edge brings together."""
    tables = [*assembly.joints, *assembly.shared, *assembly.stacks]
    groups = [{place.member for place in table.places if not place.is_loose} for table in tables]
    groups += [{member.name, member.on} for member in assembly.members if member.on]
    return {frozenset((a, b)) for names in groups for a in names for b in names if a != b}


def _matters(pair: _Pair, apart: float, joined: set[Heap], heaps: dict[str, Heap]) -> bool:
    first, second = pair.first, pair.second
    if apart < -TOUCH_MM or pair.is_whole or apart >= NEAR_MM:
        return apart < -TOUCH_MM
    if not (first.is_member and second.is_member):
        return True
    if first.of | second.of in joined:
        return False
    return apart > TOUCH_MM or heaps[first.name] != heaps[second.name]


def _standing(bodies: Sequence[Body]) -> Iterator[_Pair]:
    """Bodies beside each other, as they stand."""
    for i, j in _near([body.shape for body in bodies]):
        first, second = bodies[i], bodies[j]
        if first.is_member:
            first, second = second, first
        if first.group != second.group:
            continue
        if first.is_member:
            here, there = first.pieces, second.pieces
            cut, others_cut = second.hollows_at(here), first.hollows_at(there)
            yield _Pair(first, second, here, there, cut, others_cut)
        elif second.is_member:
            if second.name not in first.of:
                cut = second.hollows_at(first.pieces)
                yield _Pair(first, second, first.pieces, second.pieces, cut)
        elif (first.name, first.hole) != (second.name, second.hole):
            yield _Pair(first, second, [first.shape], [second.shape], is_whole=True)
            yield _Pair(first, second, first.pieces, second.pieces)


def _turning(bodies: Sequence[Body], turnings: Sequence[Turning]) -> Iterator[_Pair]:
    """What turns, swept, beside what does not turn with it."""
    for turning in turnings:
        with_it = turning.members | turning.beside
        others = [body for body in bodies if not body.of & with_it]
        lows, highs = boxes([other.shape for other in others])
        for body in bodies:
            if not body.of <= turning.members:
                continue
            for piece in body.pieces:
                sweep = swept(piece, turning)
                if sweep is None:
                    continue
                hollows = [one for one in body.hollows if is_about(one, turning)]
                low, high = (ends.T for ends in boxes(sweep.shapes))
                near = (lows < high.max(axis=1) + NEAR_MM) & (low.min(axis=1) - NEAR_MM < highs)
                for index in np.flatnonzero(near.all(axis=1)).tolist():
                    other = others[index]
                    left = [p for p in other.pieces if not lies_within(p, turning, sweep.free_mm)]
                    cut = other.hollows_at(sweep.shapes)
                    if other.group == body.group:
                        yield _Pair(body, other, sweep.shapes, left, cut, hollows, turning)


def _near(shapes: Sequence[Shape]) -> Iterator[tuple[int, int]]:
    """Numbers of those the boxes around which are less than 0.5 mm apart."""
    lows, highs = boxes(shapes)
    order = np.argsort(lows[:, 0])
    starts = lows[order, 0]
    for place, index in enumerate(order):
        end = int(np.searchsorted(starts, highs[index, 0] + NEAR_MM))
        rest = order[place + 1 : end]
        near = (lows[rest] < highs[index] + NEAR_MM) & (lows[index] - NEAR_MM < highs[rest])
        for other in rest[near.all(axis=1)]:
            yield min(index, other), max(index, other)


def _apart_mm(pairs: Sequence[_Pair]) -> list[float]:
    """How far the shapes of each pair are apart; infinite where they are clear of each other.

    What lies in a hollow of the other is out of its way, whichever of the two has the hollow.
    """
    ones: list[Shape] = []
    others: list[Shape] = []
    of: list[tuple[int, int]] = []
    for number, pair in enumerate(pairs):
        ways: list[tuple[Sequence[Shape], Sequence[Shape]]]
        ways = [(_cut(pair.shapes, pair.cut), pair.others)]
        if pair.others_cut:
            ways.append((pair.shapes, _cut(pair.others, pair.others_cut)))
        for way, (here, there) in enumerate(ways):
            for one, other in _close(here, there):
                ones.append(one)
                others.append(other)
                of.append((number, way))
    least = [[np.inf] * (2 if pair.others_cut else 1) for pair in pairs]
    for (number, way), apart in zip(of, apart_mm(ones, others).tolist(), strict=True):
        least[number][way] = min(least[number][way], apart)
    return [max(each) for each in least]


def _cut(shapes: Sequence[Shape], hollows: Sequence[Shape]) -> list[Shape]:
    """What of shapes lies outside all hollows."""
    left = [*shapes]
    for hollow in hollows:
        left = [part for shape in left for part in outside(shape, hollow, _SLACK_MM)]
    return left


def _close(here: Sequence[Shape], there: Sequence[Shape]) -> Iterator[tuple[Shape, Shape]]:
    """Those the boxes around which are less than 0.5 mm apart."""
    if not here or not there:
        return
    (low, high), (lows, highs) = boxes(here), boxes(there)
    for index, one in enumerate(here):
        near = (lows < high[index] + NEAR_MM) & (low[index] - NEAR_MM < highs)
        for other in np.flatnonzero(near.all(axis=1)).tolist():
            yield one, there[other]


def apart_of(first: Body, second: Body) -> float:
    """How far a fastener is from what it does not belong to [mm], or 0.5 mm and more."""
    cut = second.hollows_at(first.pieces)
    (apart,) = _apart_mm([_Pair(first, second, first.pieces, second.pieces, cut)])
    return apart
