"""The outline of a part on a drawing: its largest closed line."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from millprep.base.plain_text import clean
from millprep.base.records import frozen
from millprep.infiles.plans.record import SAME_MM, Near, Outline, Place
from millprep.infiles.plans.shapes import Circle, Segment

_WHOLE_DEG = 1e-6


@frozen
class Loop:
    """A closed line, and the segments that it is made of."""

    outline: Outline
    segments: tuple[Segment, ...]


def loops_of(closed: Sequence[tuple[Segment, ...]], segments: Sequence[Segment]) -> list[Loop]:
    """Every closed line: polylines, and lines and arcs that meet end to end. Lengths in mm."""
    found = [_loop(parts, "polyline") for parts in closed]
    found += [_loop(parts, "lines and arcs") for parts in _chains(segments)]
    return found


def round_loop(parts: Sequence[Segment]) -> tuple[Place, float] | None:
    """Centre and radius of arcs that make a circle."""
    first = parts[0]
    if first.centre is None:
        return None
    is_round = all(
        part.centre is not None
        and math.dist(part.centre, first.centre) <= SAME_MM
        and abs(part.radius - first.radius) <= SAME_MM
        for part in parts
    )
    return (first.centre, first.radius) if is_round else None


def _loop(parts: tuple[Segment, ...], kind: str) -> Loop:
    xs, ys = zip(*(place for part in parts for place in _reach(part)), strict=True)
    low, high = (min(xs), min(ys)), (max(xs), max(ys))
    is_box = all(part.centre is None and _runs_along(part, low, high) for part in parts)
    layers = ", ".join(dict.fromkeys(part.layer for part in parts))
    words = clean(f"{kind} {parts[0].handle} on layer {layers}")
    found = round_loop(parts)
    return Loop(Outline(low, high, found is not None, is_box or found is not None, words), parts)


def _runs_along(part: Segment, low: Place, high: Place) -> bool:
    """Whether a line lies on an edge of the box."""
    return any(
        abs(part.start[axis] - edge[axis]) <= SAME_MM
        and abs(part.end[axis] - edge[axis]) <= SAME_MM
        for axis in (0, 1)
        for edge in (low, high)
    )


def _reach(part: Segment) -> Iterator[Place]:
    """Its ends, and where an arc reaches farthest."""
    yield part.start
    yield part.end
    if part.centre is None:
        return
    (x, y), radius = part.centre, part.radius
    begin = math.degrees(math.atan2(part.start[1] - y, part.start[0] - x))
    for quarter in range(4):
        if (90 * quarter - begin) % 360 <= part.sweep_deg + _WHOLE_DEG:
            turn = math.radians(90 * quarter)
            yield x + radius * math.cos(turn), y + radius * math.sin(turn)


def _chains(segments: Sequence[Segment]) -> Iterator[tuple[Segment, ...]]:
    """Segments that close end to end, with no branch; what hangs loose on them is taken off."""
    ends: Near[int] = Near()
    nodes: list[set[int]] = []  # at each place where ends meet, the segments

    def node_at(place: Place) -> int:
        found = ends.first(place)
        if found is None:
            found = len(nodes)
            ends.add(place, found)
            nodes.append(set())
        return found

    pairs: list[tuple[int, int]] = []
    for index, segment in enumerate(segments):
        pair = node_at(segment.start), node_at(segment.end)
        pairs.append(pair)
        if pair[0] == pair[1]:
            if segment.sweep_deg >= 360 - _WHOLE_DEG:
                yield (segment,)
            continue
        for node in pair:
            nodes[node].add(index)
    _take_off_loose(nodes, pairs)
    seen: set[int] = set()
    for index in range(len(segments)):
        if index not in seen and index in nodes[pairs[index][0]]:
            chain, is_closed = _walked(index, nodes, pairs)
            seen.update(chain)
            if is_closed:
                yield tuple(segments[one] for one in chain)


def _take_off_loose(nodes: list[set[int]], pairs: Sequence[tuple[int, int]]) -> None:
    """What has an end that meets nothing, again and again."""
    loose = [node for node, there in enumerate(nodes) if len(there) == 1]
    while loose:
        node = loose.pop()
        if len(nodes[node]) != 1:
            continue
        (index,) = nodes[node]
        for end in pairs[index]:
            nodes[end].discard(index)
            if len(nodes[end]) == 1:
                loose.append(end)


def _walked(
    index: int, nodes: Sequence[set[int]], pairs: Sequence[tuple[int, int]]
) -> tuple[list[int], bool]:
    """The segments from one on, and whether they came back with no branch on the way."""
    first, node = pairs[index]
    chain = [index]
    while node != first:
        if len(nodes[node]) != 2:
            return chain, False
        (index,) = nodes[node] - {index}
        chain.append(index)
        a, b = pairs[index]
        node = b if node == a else a
    return chain, len(nodes[first]) == 2


def largest(
    loops: Sequence[Loop], circles: Sequence[Circle], is_candidate: Callable[[Circle], bool]
) -> tuple[Outline | None, Circle | None, Loop | None]:
    """The largest of all closed lines, and the circle or the loop that it is."""
    loop = max(loops, key=lambda one: math.prod(one.outline.size_mm), default=None)
    least = 0.0 if loop is None else math.sqrt(math.prod(loop.outline.size_mm)) / 2
    for circle in sorted(circles, key=lambda one: -one.radius):
        if circle.radius <= least:
            break
        if is_candidate(circle):
            (x, y), r = circle.centre, circle.radius
            low, high = (x - r, y - r), (x + r, y + r)
            return Outline(low, high, True, True, circle.where), circle, None
    return (None if loop is None else loop.outline), None, loop
