"""What the readings say of each hole: its place, its size, its thread, and all of it together.

In and out are said only where the uncertainty leaves no doubt (ISO 14253-1). Where the drawing
gives no tolerance, a hole that is beyond what is usual is not called out. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot

import numpy as np

from millprep.base.records import frozen
from millprep.inspection.checks import NO_GO_TURNS, Check
from millprep.inspection.limits import (
    Decision,
    Limits,
    Zone,
    bonus_mm,
    decided,
    size_limits,
    true_position_mm,
)
from millprep.inspection.views import Floats
from millprep.model.part import Hole
from millprep.model.readings import Reading
from millprep.reference.fits import recommended_fits, shaft_limits_um

_WORST_FIRST: tuple[Decision, ...] = ("out", "beyond usual", "not decidable", "in", "not measured")


@frozen
class CheckVerdict:
    """A reading against the limits of its own check."""

    check: Check
    reading: Reading
    verdict: Decision


@frozen
class PlaceVerdict:
    """A hole's place: measured less drawn, setup X and Y [mm].

    dx_mm, dy_mm    : None where nothing decides them
    uncertainty_mm  : how far the true position may be off
    bonus_mm        : what the zone gains at maximum material
    """

    verdict: Decision
    zone: Zone
    dx_mm: float | None = None
    dy_mm: float | None = None
    uncertainty_mm: float = 0.0
    bonus_mm: float = 0.0

    @property
    def true_position_mm(self) -> float | None:
        if self.dx_mm is None or self.dy_mm is None:
            return None
        return true_position_mm(self.dx_mm, self.dy_mm)

    @property
    def over_mm(self) -> float:
        """By how much it is outside: on the diameter of the zone, or along the worse axis where
        the zone is none or one axis alone is known."""
        if self.zone.is_round and self.true_position_mm is not None:
            return self.true_position_mm - self.zone.width_mm - self.bonus_mm
        worse = max(abs(self.dx_mm or 0.0), abs(self.dy_mm or 0.0))
        return worse - self.zone.half_mm - self.bonus_mm / 2


@frozen
class MeasuredBore:
    """How a bore stands to its class: the deviations of the class and its own [um].

    pins : (class of the shaft, least clearance, greatest) of those that usually go with it [um]
    """

    fit: str
    class_um: tuple[float, float]
    over_um: float
    pins: tuple[tuple[str, float, float], ...]


@frozen
class SizeVerdict:
    """A hole's diameter as measured, or as pins tried it; nothing measured has no size."""

    verdict: Decision
    limits: Limits | None = None
    size_mm: float | None = None
    uncertainty_mm: float = 0.0
    bore: MeasuredBore | None = None


@frozen
class HoleVerdict:
    """One hole, judged; `others` are the readings of its depth, mouths and stand."""

    hole: Hole
    setup: int
    place: PlaceVerdict
    size: SizeVerdict
    thread: Decision
    others: tuple[CheckVerdict, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def verdict(self) -> Decision:
        """The worst of what was measured: "in" says nothing of what was not."""
        parts = (self.place.verdict, self.size.verdict, self.thread, *self._others())
        return next(word for word in _WORST_FIRST if word in parts)

    def _others(self) -> Iterable[Decision]:
        return (one.verdict for one in self.others)

    @property
    def not_measured(self) -> tuple[str, ...]:
        """What of it was not measured at all."""
        wanted = [("place", self.place.verdict)]
        if self.hole.thread is not None:
            wanted.append(("thread", self.thread))
        else:
            wanted.append(("size", self.size.verdict))
        return tuple(name for name, verdict in wanted if verdict == "not measured")


def check_verdict(check: Check, reading: Reading) -> CheckVerdict:
    """A reading against its own check: in, out, or not decidable."""
    if reading.value_mm is None:
        return CheckVerdict(check, reading, _tried(check, reading))
    if check.limits is None:
        return CheckVerdict(check, reading, "not decidable")
    off = reading.off_mm if reading.off_mm is not None else check.uncertainty_mm
    verdict = decided(reading.value_mm, off, check.limits)
    return CheckVerdict(check, reading, _by_basis(verdict, check.basis == "usual"))


def _by_basis(verdict: Decision, is_usual: bool) -> Decision:
    """What is only usual puts nothing out, and leaves nothing open that is near it."""
    if not is_usual:
        return verdict
    return "beyond usual" if verdict == "out" else "in"


def _tried(check: Check, reading: Reading) -> Decision:
    if check.kind == "thread go":
        passes = reading.answer if reading.turns is None else _goes_all_the_way(check, reading)
    elif check.kind == "thread no-go":
        turns = reading.turns
        passes = not reading.answer if turns is None else turns <= NO_GO_TURNS
    else:
        passes = reading.answer if check.kind != "no-go" else not reading.answer
    return _by_basis("in" if passes else "out", check.basis == "usual" or check.kind == "square")


def _goes_all_the_way(check: Check, reading: Reading) -> bool:
    """Half a turn is what the hand does not tell at the bottom of a hole (common practice)."""
    return reading.turns is not None and reading.turns >= (check.turns or 0.0) - 0.5


def place_verdict(
    zone: Zone, offset_mm: Floats, covariance_mm2: Floats, touched: bool, bonus: float = 0.0
) -> PlaceVerdict:
    """A centre against its zone.

    offset_mm : (2,) measured less drawn, nan where not decided; covariance_mm2 : (2, 2)
    touched   : whether any reading speaks of the hole
    bonus     : of a round zone at maximum material, on its diameter
    """
    dx, dy = (None if np.isnan(each) else float(each) for each in offset_mm)
    along = np.sqrt(np.maximum(np.diagonal(covariance_mm2), 0.0))
    if dx is not None and dy is not None and zone.is_round:
        off = 2 * _uncertainty_along(dx, dy, covariance_mm2)
        most = Limits(None, zone.width_mm + bonus, zone.basis)
        verdict = decided(true_position_mm(dx, dy), off, most)
    elif dx is None and dy is None:
        off, verdict = 0.0, "not decidable" if touched else "not measured"
    else:
        off = 2 * float(np.nanmax(along))
        most = Limits(None, zone.half_mm + bonus / 2, zone.basis)
        axes = [
            decided(abs(each), float(u), most)
            for each, u in zip((dx, dy), along, strict=True)
            if each is not None
        ]
        verdict = next(word for word in _WORST_FIRST if word in axes)
        if verdict == "in" and len(axes) < 2:
            verdict = "not decidable"
    if zone.basis == "usual" and verdict == "out":
        verdict = "beyond usual"
    return PlaceVerdict(verdict, zone, dx, dy, off, bonus)


def _uncertainty_along(dx: float, dy: float, covariance_mm2: Floats) -> float:
    """How far a distance may be off: along its own direction, or the worst where it is none."""
    distance = hypot(dx, dy)
    worst = float(np.sqrt(max(float(np.linalg.eigvalsh(covariance_mm2)[-1]), 0.0)))
    if distance <= worst:
        return worst
    unit = np.array([dx, dy]) / distance
    return float(np.sqrt(max(float(unit @ covariance_mm2 @ unit), 0.0)))


def size_verdict(hole: Hole, size_mm: float, uncertainty_mm: float) -> SizeVerdict:
    """A measured diameter against the drawing, or against what a drill leaves."""
    limits = size_limits(hole)
    if limits is None:
        return SizeVerdict("not measured", None, size_mm, uncertainty_mm)
    verdict = decided(size_mm, uncertainty_mm, limits)
    verdict, bore = _by_basis(verdict, limits.basis == "usual"), measured_bore(hole, size_mm)
    return SizeVerdict(verdict, limits, size_mm, uncertainty_mm, bore)


def measured_bore(hole: Hole, size_mm: float) -> MeasuredBore | None:
    """What pins of the usual classes find in a bore as it was measured; None without a class."""
    if hole.fit is None or hole.limits_um is None:
        return None
    over = (size_mm - hole.diameter_mm) * 1000
    pairs = {
        fit.shaft
        for purpose in ("press", "slide", "pivot", "locate")
        for fit in recommended_fits(purpose)
        if fit.hole == hole.fit
    }
    pins = []
    for shaft in sorted(pairs & {"h6", "m6", "g6", "f7"}):
        least, most = shaft_limits_um(hole.diameter_mm, shaft)
        pins.append((shaft, over - most, over - least))
    return MeasuredBore(hole.fit, hole.limits_um, over, tuple(pins))


def zone_bonus_mm(hole: Hole, zone: Zone, size: SizeVerdict) -> float:
    """The bonus at maximum material, by the least that the measured size can be."""
    if not zone.is_round or zone.basis == "usual" or size.size_mm is None or size.limits is None:
        return 0.0
    least = size.limits.least_mm if size.limits.basis == "drawing" else hole.diameter_mm
    return bonus_mm(size.size_mm - size.uncertainty_mm, least or hole.diameter_mm)


def thread_verdict(readings: Iterable[CheckVerdict]) -> Decision:
    """Both gauges together."""
    words = [one.verdict for one in readings]
    return next((word for word in _WORST_FIRST if word in words), "not measured")
