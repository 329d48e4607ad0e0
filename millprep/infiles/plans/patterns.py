"""Patterns found again: places that are a circle, row, grid or corners, as the pattern's own TOML.

Works in the axes of the view (x to the right, y up), in which a part file counts its angles. Only
what comes out within SAME_MM of every place is a pattern.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.infiles.plans.record import SAME_MM, Outline, Place, figure

_LEAST = 3
_MOST_CENTRES = 40
_MOST_SEARCHED = 5_000
"""Places among which patterns of some of them are looked for, and centres that are tried."""
_NEARLY = 2 * SAME_MM


@frozen
class Frame:
    """How a file counts: its units, where its zero is in the view, and which way each axis runs.

    blank : in the view, where it is a block that is known: corners count from its edges
    """

    units: Units
    zero_mm: Place = (0.0, 0.0)
    signs: tuple[int, int] = (1, 1)
    blank: Outline | None = None

    def counted(self, place: Place) -> Place:
        """A place as the file counts it [mm]."""
        x, y = place
        return (x - self.zero_mm[0]) * self.signs[0], (y - self.zero_mm[1]) * self.signs[1]

    def pair(self, values: Place, decimals: int = 6) -> str:
        """Two lengths in brackets."""
        first, second = (figure(value, self.units, decimals) for value in values)
        return f"[{first}, {second}]"


@frozen
class Pattern:
    """Places in one pattern: indices in its own order, its line of TOML, how it is said."""

    members: tuple[int, ...]
    line: str
    said: str


Fit = Callable[[Sequence[Place], Frame, int], tuple[str, str, list[Place]] | None]
"""(line, said, places that it makes) of places in the pattern's order, to so many decimals."""


def patterns_in(
    places: Sequence[Place], frame: Frame, centres: Sequence[Place], *, in_order: bool
) -> list[Pattern]:
    """The patterns among places that are alike; what is in none is left out.

    centres  : of other things on the plan, round which a circle may lie
    in_order : the numbering is the plan's and must stay: one pattern of all, as they come, or none
    """
    whole = tuple(range(len(places)))
    if len(places) < _LEAST:
        return []
    if in_order:
        found = _fitted(whole, places, frame)
        return [found] if found else []
    is_about = any(_is_centre(places, centre) for centre in centres[:_MOST_CENTRES])
    found = next(filter(None, _tries(whole, places, frame, is_about)), None)
    if found is not None:
        return [found]
    if len(places) > _MOST_SEARCHED:
        return []
    return list(_some(places, frame, centres))


def _is_centre(places: Sequence[Place], centre: Place) -> bool:
    radius = math.dist(centre, places[0])
    return radius > SAME_MM and all(
        abs(math.dist(centre, place) - radius) <= SAME_MM for place in places
    )


def _tries(
    members: tuple[int, ...], places: Sequence[Place], frame: Frame, is_about: bool
) -> Iterator[Pattern | None]:
    """All of them as one pattern, in the orders in which it could number them.

    is_about : they lie round something, which makes four of them a circle rather than corners
    """
    by_rows = tuple(i for row in _lines(members, places, 1) for i in row)
    count = len(members)
    middle = sum(places[i][0] for i in members) / count, sum(places[i][1] for i in members) / count
    round_it = _by_angle(members, places, middle)
    if is_about:
        yield _fitted(round_it, places, frame, (_circle,))
    if count == 4:
        first, second, last, third = by_rows
        yield _fitted((first, second, third, last), places, frame, (_corners,))
    yield _fitted(by_rows, places, frame, (_row, _grid))
    yield _fitted(round_it, places, frame, (_circle,))


def _by_angle(members: Sequence[int], places: Sequence[Place], centre: Place) -> tuple[int, ...]:
    """Anticlockwise from 0 degrees on."""

    def angle(i: int) -> float:
        x, y = places[i]
        turn = math.degrees(math.atan2(y - centre[1], x - centre[0])) % 360
        return 0.0 if turn > 360 - 1e-6 else turn

    return tuple(sorted(members, key=angle))


def _lines(members: Sequence[int], places: Sequence[Place], axis: int) -> list[list[int]]:
    """Those of one y (axis 1) or one x (axis 0), along the other axis."""
    lines: list[list[int]] = []
    for i in sorted(members, key=lambda i: places[i][axis]):
        if lines and places[i][axis] - places[lines[-1][-1]][axis] <= SAME_MM:
            lines[-1].append(i)
        else:
            lines.append([i])
    return [sorted(line, key=lambda i: places[i][1 - axis]) for line in lines]


def _some(places: Sequence[Place], frame: Frame, centres: Sequence[Place]) -> Iterator[Pattern]:
    """Circles about what else is on the plan, then rows; no place is in two."""
    left = set(range(len(places)))
    for centre in centres[:_MOST_CENTRES]:
        for ring in _rings(sorted(left), places, centre):
            found = _fitted(_by_angle(ring, places, centre), places, frame)
            if found is not None:
                yield found
                left -= set(found.members)
    for axis in (1, 0):
        for line in _lines(sorted(left), places, axis):
            for run in _runs(line, places, 1 - axis):
                found = _fitted(run, places, frame)
                if found is not None:
                    yield found
                    left -= set(found.members)


def _rings(members: Sequence[int], places: Sequence[Place], centre: Place) -> list[list[int]]:
    """Those at one distance from a centre, three or more."""
    away = sorted((math.dist(places[i], centre), i) for i in members)
    rings: list[list[tuple[float, int]]] = []
    for one in away:
        if rings and one[0] - rings[-1][-1][0] <= SAME_MM:
            rings[-1].append(one)
        else:
            rings.append([one])
    return [[i for _, i in ring] for ring in rings if len(ring) >= _LEAST]


def _runs(line: Sequence[int], places: Sequence[Place], axis: int) -> Iterator[tuple[int, ...]]:
    """Stretches of a line in equal steps."""
    start = 0
    while start + _LEAST <= len(line):
        step = places[line[start + 1]][axis] - places[line[start]][axis]
        end = start + 2
        while end < len(line):
            due = places[line[start]][axis] + (end - start) * step
            if abs(places[line[end]][axis] - due) > SAME_MM:
                break
            end += 1
        if end - start >= _LEAST:
            yield tuple(line[start:end])
            start = end
        else:
            start += 1


def _fitted(
    order: Sequence[int], places: Sequence[Place], frame: Frame, fits: Sequence[Fit] = ()
) -> Pattern | None:
    """The pattern that these places are in this order, in as plain figures as they allow."""
    ordered = [places[i] for i in order]
    for fit in fits or (_corners, _row, _grid, _circle):
        exact = fit(ordered, frame, 6)
        if exact is None or _worst(exact[2], ordered) > SAME_MM:
            continue
        most = min(SAME_MM, _worst(exact[2], ordered) + 0.001)
        for decimals in (1, 2, 3, 4):
            plain = fit(ordered, frame, decimals)
            if plain is not None and _worst(plain[2], ordered) <= most:
                return Pattern(tuple(order), plain[0], plain[1])
        return Pattern(tuple(order), exact[0], exact[1])
    return None


def _worst(made: Sequence[Place], places: Sequence[Place]) -> float:
    if len(made) != len(places):
        return math.inf
    return max(math.dist(one, other) for one, other in zip(made, places, strict=True))


def _rounded(value_mm: float, frame: Frame, decimals: int) -> float:
    """A length as its figure has it [mm]."""
    unit = 25.4 if frame.units == "inch" else 1.0
    return round(value_mm / unit, decimals) * unit


def _back(counted: Place, frame: Frame) -> Place:
    """A place of the view, from as the file counts it."""
    return (
        counted[0] * frame.signs[0] + frame.zero_mm[0],
        counted[1] * frame.signs[1] + frame.zero_mm[1],
    )


def _start(places: Sequence[Place], frame: Frame, decimals: int) -> Place:
    x, y = frame.counted(places[0])
    return _rounded(x, frame, decimals), _rounded(y, frame, decimals)


def _row(
    places: Sequence[Place], frame: Frame, decimals: int
) -> tuple[str, str, list[Place]] | None:
    last = len(places) - 1
    if last < 2:
        return None
    (ax, ay), (bx, by) = frame.counted(places[0]), frame.counted(places[-1])
    step = (
        _rounded((bx - ax) / last, frame, decimals),
        _rounded((by - ay) / last, frame, decimals),
    )
    start = _start(places, frame, decimals)
    if step == (0, 0):
        return None
    made = [_back((start[0] + n * step[0], start[1] + n * step[1]), frame) for n in range(last + 1)]
    line = f"row = {{ start = {frame.pair(start)}, step = {frame.pair(step)}, count = {last + 1} }}"
    return line, f"a row of {last + 1}, step {frame.pair(step)}", made


def _grid(
    places: Sequence[Place], frame: Frame, decimals: int
) -> tuple[str, str, list[Place]] | None:
    counted = [frame.counted(place) for place in places]
    columns = next(
        (i for i, (_, y) in enumerate(counted) if abs(y - counted[0][1]) > _NEARLY), len(counted)
    )
    rows, rest = divmod(len(counted), columns)
    if rest or rows < 2 or columns < 2:
        return None
    (ax, ay), (bx, by) = counted[0], counted[-1]
    step = (
        _rounded((bx - ax) / (columns - 1), frame, decimals),
        _rounded((by - ay) / (rows - 1), frame, decimals),
    )
    if 0 in step:
        return None
    start = _start(places, frame, decimals)
    made = [
        _back((start[0] + i * step[0], start[1] + j * step[1]), frame)
        for j in range(rows)
        for i in range(columns)
    ]
    line = (
        f"grid = {{ start = {frame.pair(start)}, step = {frame.pair(step)}, "
        f"columns = {columns}, rows = {rows} }}"
    )
    return line, f"a grid of {columns} by {rows}, step {frame.pair(step)}", made


def _corners(
    places: Sequence[Place], frame: Frame, decimals: int
) -> tuple[str, str, list[Place]] | None:
    blank = frame.blank
    if len(places) != 4 or blank is None or blank.is_round:
        return None
    (x1, y1), (x2, y2) = blank.low_mm, blank.high_mm
    a, b = (_rounded(places[0][k] - blank.low_mm[k], frame, decimals) for k in (0, 1))
    if a <= 0 or b <= 0 or 2 * a >= x2 - x1 or 2 * b >= y2 - y1:
        return None
    made = [(x1 + a, y1 + b), (x2 - a, y1 + b), (x2 - a, y2 - b), (x1 + a, y2 - b)]
    if math.dist(places[1], made[1]) > math.dist(places[1], made[3]):
        return None
    if math.dist(places[2], made[3]) < SAME_MM:  # by rows: the corners go round
        return None
    inset = figure(a, frame.units) if a == b else frame.pair((a, b))
    return f"corners = {{ inset = {inset} }}", f"the four corners, inset {inset}", made


def _circle(
    places: Sequence[Place], frame: Frame, decimals: int
) -> tuple[str, str, list[Place]] | None:
    count = len(places)
    middle = sum(x for x, _ in places) / count, sum(y for _, y in places) / count
    radius = sum(math.dist(middle, place) for place in places) / count
    if count < _LEAST or radius <= SAME_MM:
        return None
    x, y = frame.counted(middle)
    centre = _rounded(x, frame, decimals), _rounded(y, frame, decimals)
    diameter = _rounded(2 * radius, frame, decimals)
    middle = _back(centre, frame)
    angles = [math.degrees(math.atan2(y - middle[1], x - middle[0])) for x, y in places]
    is_clockwise = (angles[1] - angles[0]) % 360 > 180
    step = (-360 if is_clockwise else 360) / count
    due = [angles[i] - i * step for i in range(count)]
    start = due[0] + sum((one - due[0] + 180) % 360 - 180 for one in due) / count
    start = round(start % 360, min(decimals, 4)) % 360
    made = [
        (
            middle[0] + diameter / 2 * math.cos(math.radians(start + i * step)),
            middle[1] + diameter / 2 * math.sin(math.radians(start + i * step)),
        )
        for i in range(count)
    ]
    across = figure(diameter, frame.units)
    parts = [f"centre = {frame.pair(centre)}", f"diameter = {across}", f"count = {count}"]
    parts += [f"start = {start:.6g}"] if start else []
    parts += ["clockwise = true"] if is_clockwise else []
    said = f"a circle of {count} on diameter {across} about {frame.pair(centre)}"
    return f"circle = {{ {', '.join(parts)} }}", said, made
