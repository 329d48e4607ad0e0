"""Quick sums of the bench: circles, grids, sine bar, dividing, dials, a circle from three points.

                 90
              .--+--.            angles anticlockwise from X, as on a drawing seen from above;
            /    |    \\           the first hole of a circle is at the start angle
       180 +-----+-----+ 0       lengths mm, angles degrees

Pure functions; they import nothing but the standard library and layer 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise

from millprep.base.findings import WordError
from millprep.base.records import frozen

Point = tuple[float, float]
LEAST_SPAN_DEG = 60.0  # three points nearer together than this tell little of a circle
IN_LINE_SHARE = 0.02  # of their distance: three points that bulge less are as good as in line
MOST_POINTS = 400


def on_arc(
    count: int, radius_mm: float, from_deg: float, to_deg: float, centre: Point = (0.0, 0.0)
) -> list[Point]:
    """Holes evenly along an arc, both ends included."""
    step = (to_deg - from_deg) / (count - 1) if count > 1 else 0.0
    angles = [math.radians(from_deg + step * place) for place in range(count)]
    return [
        (centre[0] + radius_mm * math.cos(each), centre[1] + radius_mm * math.sin(each))
        for each in angles
    ]


def on_circle(
    count: int, circle_mm: float, start_deg: float = 0.0, centre: Point = (0.0, 0.0)
) -> list[Point]:
    """Holes evenly on a whole circle of that diameter, anticlockwise from the start angle."""
    last_deg = start_deg + 360 * (count - 1) / count
    return on_arc(count, circle_mm / 2, start_deg, last_deg, centre)


def chord_mm(count: int, circle_mm: float) -> float:
    """Straight across from one hole of a circle to the next."""
    return circle_mm * math.sin(math.pi / count)


def on_grid(
    columns: int, rows: int, pitch_x_mm: float, pitch_y_mm: float, start: Point = (0.0, 0.0)
) -> list[Point]:
    """Holes row by row, the first at the start, X growing first."""
    return [
        (start[0] + column * pitch_x_mm, start[1] + row * pitch_y_mm)
        for row in range(rows)
        for column in range(columns)
    ]


def sine_stack_mm(bar_mm: float, angle_deg: float) -> float:
    """Height of the blocks under one roller of a sine bar: its length times the sine."""
    return bar_mm * math.sin(math.radians(angle_deg))


@frozen
class Touched:
    """A circle by three points: centre, diameter, and the arc that the points span [degrees]."""

    centre: Point
    diameter_mm: float
    span_deg: float


def through_three(points: Sequence[Point]) -> Touched:
    """The circle through three points. WordError where they are in line, or nearly so."""
    (ax, ay), (bx, by), (cx, cy) = points
    twice = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    longest = max(math.dist(points[place - 1], points[place]) for place in range(3))
    if abs(twice) / 2 < IN_LINE_SHARE * longest**2 or not longest:
        raise WordError(
            "the three points are nearly in line, and tell no circle",
            "touch at three places well round it",
        )
    a, b, c = (x * x + y * y for x, y in points)
    x = (a * (by - cy) + b * (cy - ay) + c * (ay - by)) / twice
    y = (a * (cx - bx) + b * (ax - cx) + c * (bx - ax)) / twice
    angles = sorted(math.degrees(math.atan2(py - y, px - x)) % 360 for px, py in points)
    gaps = [after - before for before, after in pairwise([*angles, angles[0] + 360])]
    return Touched((x, y), 2 * math.dist((x, y), points[0]), 360 - max(gaps))


@frozen
class Indexed:
    """Turns of a worm's crank: whole ones, and spaces (not holes) on a circle of the plate."""

    turns: int
    spaces: int
    circle: int


def cranked(turns: Fraction, circles: Iterable[int]) -> list[Indexed]:
    """Those turns on each circle that has them exactly, in the order of the circles."""
    whole, part = divmod(turns, 1)
    return [
        Indexed(int(whole), int(part * circle), circle)
        for circle in circles
        if circle > 0 and (part * circle).denominator == 1
    ]


def nearest_cranked(turns: Fraction, circles: Iterable[int]) -> Indexed:
    """The nearest that any of the circles has."""
    tried = [(abs(Fraction(round(turns * each), each) - turns), each) for each in circles]
    _, circle = min(tried)
    whole, spaces = divmod(round(turns * circle), circle)
    return Indexed(whole, spaces, circle)


def dialled(length_mm: float, lead_mm: float, divisions: float) -> tuple[int, float, float]:
    """Turns, divisions, and what is left over [mm], for a length on a screw; from nought."""
    division_mm = lead_mm / divisions
    count = math.floor(length_mm / division_mm + 0.5 + 1e-9)
    turns = math.floor(count / divisions + 1e-9)
    return turns, round(count - turns * divisions, 6), length_mm - count * division_mm
