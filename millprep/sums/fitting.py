"""Fits of a pattern of holes to where its holes were measured: least squares, least worst hole.

Always in a plane and by one rule: measured = shift + turn(nominal), anticlockwise about X0 Y0; for
a pattern seen from its other side measured = shift + turn(mirror(nominal)), where the mirror takes
x to -x. Places are arrays (2, N), the N holes in the same order. Imports numpy only.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen

Floats = NDArray[np.float64]

_SAME_PLACE_MM = 1e-9  # a pattern no wider than this shows no turn
_STEP_RAD = np.pi / 60  # of the angles tried for the least worst hole before one is refined
_IN_LINE = 1e-12  # sine of an angle that is none
_FINEST_RAD = 1e-12
_MOST_ROUNDS = 200
_GOLDEN = (5**0.5 - 1) / 2


@frozen
class Fit:
    """Where a pattern lies.

    shift_mm     : (2,)
    turn_deg     : anticlockwise, over -180 up to 180
    mirrored     : whether the pattern is seen from its other side
    residuals_mm : (2, N)  measured less fitted
    scale        : by which the pattern is larger; 1 in a rigid fit
    """

    shift_mm: Floats
    turn_deg: float
    mirrored: bool
    residuals_mm: Floats
    scale: float = 1.0

    @property
    def errors_mm(self) -> Floats:
        """(N,) how far each hole is from where the fit puts it."""
        return np.asarray(np.hypot(*self.residuals_mm))

    @property
    def worst_mm(self) -> float:
        return float(self.errors_mm.max())

    @property
    def rms_mm(self) -> float:
        """Root of the mean square of the errors."""
        return float(np.sqrt((self.errors_mm**2).mean()))

    def placed(self, nominal_mm: Floats) -> Floats:
        """(2, M) where the fit puts places of the pattern."""
        return _placed(nominal_mm, np.radians(self.turn_deg), self) + self.shift_mm[:, None]

    def undone(self, measured_mm: Floats) -> Floats:
        """(2, M) places of the pattern that the fit puts there."""
        turn = np.radians(self.turn_deg)
        back = _turned(measured_mm - self.shift_mm[:, None], -turn) / self.scale
        return _mirror(back) if self.mirrored else back


def rigid_fit(
    nominal_mm: Floats,
    measured_mm: Floats,
    weights: Floats | None = None,
    mirrored: bool | None = None,
) -> Fit:
    """The fit with the least sum of squares, weighted where weights (N,) are given.

    mirrored : None takes what fits better, the pattern as it is where both fit alike
    A single hole, or holes in one place, show no turn: it is 0.
    Source: the closed form of the plane, from setting to nought the derivative by the turn.
    """
    if mirrored is None:
        fits = [rigid_fit(nominal_mm, measured_mm, weights, hand) for hand in (False, True)]
        return _better(fits, [_root_of_squares(fit, weights) for fit in fits])
    return _closed_form(nominal_mm, measured_mm, weights, mirrored, scaled=False)


def scaled_fit(nominal_mm: Floats, measured_mm: Floats, mirrored: bool = False) -> Fit:
    """The same with the pattern free to be larger or smaller, for finding out what went wrong."""
    return _closed_form(nominal_mm, measured_mm, None, mirrored, scaled=True)


def hand_difference_mm(nominal_mm: Floats) -> float:
    """By how much the wrong hand of a pattern misses at best (root of the mean square).

    Nought for holes in one line, which look the same from either side.
    """
    middle = nominal_mm - nominal_mm.mean(axis=1, keepdims=True)
    narrow = np.linalg.svd(middle, compute_uv=False)[-1] if middle.shape[1] > 1 else 0.0
    return float(2.0 * narrow / np.sqrt(middle.shape[1]))


def least_worst_fit(
    nominal_mm: Floats,
    measured_mm: Floats,
    plays_mm: Floats | None = None,
    mirrored: bool | None = None,
) -> Fit:
    """The rigid fit whose worst hole is the least bad: it decides whether all screws enter.

    plays_mm : (N,) how far each hole may be off; the worst is then the one that lacks most play
    For each turn the best shift is the middle of the least circle round what is left of the holes;
    the turn is looked for over the whole circle and refined by golden section.
    """
    if mirrored is None:
        fits = [least_worst_fit(nominal_mm, measured_mm, plays_mm, hand) for hand in (False, True)]
        return _better(fits, [lacking_mm(fit, plays_mm) for fit in fits])
    radii = np.zeros(nominal_mm.shape[1]) if plays_mm is None else plays_mm.max() - plays_mm
    pattern = _mirror(nominal_mm) if mirrored else nominal_mm
    turn = np.radians(rigid_fit(nominal_mm, measured_mm, None, mirrored).turn_deg)

    def radius(turn: float) -> float:
        return _least_circle(measured_mm - _turned(pattern, turn), radii)[2]

    if not _is_one_place(nominal_mm):
        best = min(_hopeful_turns(pattern, measured_mm, radii, turn), key=radius)
        turn = min(turn, _lowest(radius, best - _STEP_RAD, best + _STEP_RAD), key=radius)
    left = measured_mm - _turned(pattern, turn)
    shift = np.array(_least_circle(left, radii)[:2])
    return Fit(shift, _in_degrees(turn), mirrored, left - shift[:, None])


def lacking_mm(fit: Fit, plays_mm: Floats | None = None) -> float:
    """By how much the worst hole is off beyond its play; negative where all have play to spare."""
    return float((fit.errors_mm - (0.0 if plays_mm is None else plays_mm)).max())


def _closed_form(
    nominal_mm: Floats, measured_mm: Floats, weights: Floats | None, mirrored: bool, *, scaled: bool
) -> Fit:
    pattern = _mirror(nominal_mm) if mirrored else nominal_mm
    shares = np.ones(pattern.shape[1]) if weights is None else np.asarray(weights, dtype=float)
    shares = shares / shares.sum()
    p_middle, q_middle = pattern @ shares, measured_mm @ shares
    p, q = pattern - p_middle[:, None], measured_mm - q_middle[:, None]
    along = float(shares @ (p * q).sum(axis=0))
    across = float(shares @ (p[0] * q[1] - p[1] * q[0]))
    spread = float(shares @ (p * p).sum(axis=0))
    is_plain = _is_one_place(nominal_mm)
    turn = 0.0 if is_plain else float(np.arctan2(across, along))
    scale = 1.0 if is_plain or not scaled else float(np.hypot(along, across)) / spread
    shift = q_middle - scale * _turned(p_middle[:, None], turn)[:, 0]
    residuals = measured_mm - scale * _turned(pattern, turn) - shift[:, None]
    return Fit(shift, _in_degrees(turn), mirrored, residuals, scale)


def _better(fits: list[Fit], misses_mm: list[float]) -> Fit:
    """The pattern as it is, unless its mirror misses by less."""
    return fits[1] if misses_mm[1] < misses_mm[0] - _SAME_PLACE_MM else fits[0]


def _root_of_squares(fit: Fit, weights: Floats | None) -> float:
    return float(np.sqrt(np.average(fit.errors_mm**2, weights=weights)))


def _placed(nominal_mm: Floats, turn: float, fit: Fit) -> Floats:
    pattern = _mirror(nominal_mm) if fit.mirrored else nominal_mm
    return fit.scale * _turned(pattern, turn)


def _mirror(places_mm: Floats) -> Floats:
    return np.asarray(places_mm * np.array([[-1.0], [1.0]]))


def _turned(places_mm: Floats, turn: float) -> Floats:
    x, y = places_mm
    cos, sin = np.cos(turn), np.sin(turn)
    return np.array([cos * x - sin * y, sin * x + cos * y])


def _in_degrees(turn: float) -> float:
    degrees = float(np.degrees(turn)) % 360.0
    return degrees - 360.0 if degrees > 180.0 else degrees


def _is_one_place(nominal_mm: Floats) -> bool:
    return bool(np.ptp(nominal_mm, axis=1).max() <= _SAME_PLACE_MM)


def _lowest(height: Callable[[float], float], low: float, high: float) -> float:
    """The angle of the lowest value between two, by golden section."""
    inner, outer = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_inner, at_outer = height(inner), height(outer)
    while high - low > _FINEST_RAD:
        if at_inner <= at_outer:
            high, outer, at_outer = outer, inner, at_inner
            inner = high - _GOLDEN * (high - low)
            at_inner = height(inner)
        else:
            low, inner, at_inner = inner, outer, at_outer
            outer = low + _GOLDEN * (high - low)
            at_outer = height(outer)
    return (low + high) / 2


def _hopeful_turns(pattern: Floats, measured_mm: Floats, radii_mm: Floats, start: float) -> Floats:
    """The angles all round at which the least circle may be the least of all.

    The mean lies within the circle: no hole is farther from it than the circle is wide, and a
    circle round the mean through the farthest hole is never too small.
    """
    angles = start + _STEP_RAD * np.arange(round(2 * np.pi / _STEP_RAD))
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    left = np.array(
        [
            measured_mm[0] - (cos * pattern[0] - sin * pattern[1]),
            measured_mm[1] - (sin * pattern[0] + cos * pattern[1]),
        ]
    )
    apart = np.hypot(*(left - left.mean(axis=2, keepdims=True)))
    at_most = (apart + radii_mm).max(axis=1)
    return np.asarray(angles[apart.max(axis=1) / 2 <= at_most.min()])


Circle = tuple[float, float, float]  # middle x, y and radius


def _least_circle(places_mm: Floats, radii_mm: Floats) -> Circle:
    """The least circle round circles: at most three of them decide.

    The one that sticks out farthest joins those that decided so far, until none sticks out.
    """
    first = int(np.argmax(radii_mm))
    deciding = [first]
    x, y = float(places_mm[0, first]), float(places_mm[1, first])
    radius = float(radii_mm[first])
    slack = 1e-13 * (1.0 + float(np.abs(places_mm).max()))
    for _ in range(_MOST_ROUNDS):
        reach = np.hypot(places_mm[0] - x, places_mm[1] - y) + radii_mm
        farthest = int(np.argmax(reach))
        if reach[farthest] <= radius + slack or farthest in deciding:
            break
        circles = {
            i: (float(places_mm[0, i]), float(places_mm[1, i]), float(radii_mm[i]))
            for i in (*deciding, farthest)
        }
        deciding, (x, y, radius) = _deciding(circles, farthest, slack)
    return x, y, radius


def _deciding(circles: dict[int, Circle], newest: int, slack: float) -> tuple[list[int], Circle]:
    """Which of at most four circles decide the least round all of them: the newest is one."""
    others = [i for i in circles if i != newest]
    best: tuple[list[int], Circle] | None = None
    for count in (0, 1, 2):
        for few in combinations(others, count):
            for found in _touching([circles[i] for i in (newest, *few)]):
                is_least = best is None or found[2] < best[1][2]
                if is_least and all(
                    hypot(x - found[0], y - found[1]) + r <= found[2] + 10 * slack
                    for x, y, r in circles.values()
                ):
                    best = [newest, *few], found
    if best is None:  # so nearly alike that rounding hides which decide
        x, y, r = circles[newest]
        radius = max(hypot(a - x, b - y) + c for a, b, c in circles.values())
        return [newest], (x, y, max(radius, r))
    return best


def _touching(circles: list[Circle]) -> list[Circle]:
    """The circles that one, two or three circles touch from within and that may be the least.

    Three: the problem of Apollonius. |m - p| = R - r for each; less the first, the two others are
    linear in m and R, so that m = p1 + a + b R, and the first is a quadratic in R.
    """
    x, y, r = circles[0]
    if len(circles) == 1:
        return [circles[0]]
    (u, v, w), *third = [(cx - x, cy - y, cr) for cx, cy, cr in circles[1:]]
    if not third:
        apart = hypot(u, v)
        if apart <= abs(w - r):  # one lies within the other
            return []
        radius = (apart + r + w) / 2
        share = (radius - r) / apart
        return [(x + u * share, y + v * share, radius)]
    ((s, t, z),) = third
    across = u * t - v * s
    if abs(across) < _IN_LINE * hypot(u, v) * hypot(s, t):
        return []
    one, two = (u * u + v * v - w * w + r * r) / 2, (s * s + t * t - z * z + r * r) / 2
    a, b = (t * one - v * two) / across, (u * two - s * one) / across
    c, d = (t * (w - r) - v * (z - r)) / across, (u * (z - r) - s * (w - r)) / across
    radii = _roots(c * c + d * d - 1.0, 2 * (a * c + b * d + r), a * a + b * b - r * r)
    widest = max(circle[2] for circle in circles)
    return [(x + a + c * R, y + b + d * R, R) for R in radii if widest <= R]


def _roots(leading: float, middle: float, last: float) -> list[float]:
    """The real roots of a quadratic, or of what is left of it."""
    if abs(leading) < _IN_LINE:
        return [] if middle == 0 else [-last / middle]
    inside = middle * middle - 4 * leading * last
    if inside < 0:
        return []
    half = -(middle + (sqrt(inside) if middle >= 0 else -sqrt(inside))) / 2
    return [half / leading] + ([last / half] if half else [])
