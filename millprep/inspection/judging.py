"""Measured files against a part: by position, or by readings over pins and from edges.

Imports layers 0 to 3 and numpy.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot

import numpy as np

from millprep.base.bounds import MOST_PLACED_BY_READINGS
from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.inspection import Inspection
from millprep.inspection.checks import Check, distance_mm, pins_sum_mm
from millprep.inspection.choice import PlaceChecks
from millprep.inspection.gauges import bore, pins_of
from millprep.inspection.limits import size_limits
from millprep.inspection.locate import Placed, PlaceReading, placed
from millprep.inspection.verdicts import (
    CheckVerdict,
    HoleVerdict,
    SizeVerdict,
    check_verdict,
    place_verdict,
    size_verdict,
    thread_verdict,
    zone_bonus_mm,
)
from millprep.inspection.views import FaceView, Floats
from millprep.model.measured import Measured, MeasuredHole
from millprep.model.part import FACES, Face, Hole
from millprep.model.readings import EDGE_KINDS, PAIR_KINDS, Reading, Readings
from millprep.model.shop import Shop
from millprep.setting.setups import Setup

_INCH = 25.4
_SLIP_SHARE, _SLIP_MM, _TOLD_APART_MM = 0.02, 0.5, 2.0
_LEAST_PIN, _GREATEST_PIN = 0.5, 1.5  # of the pin drawn: what stands in the hole all the same


@frozen
class Judged:
    """A part, judged: a verdict for each hole in the order of the file, and for each reading.

    disagreements : the reading of a face that disagrees with the others, and by how much [mm]
    """

    holes: tuple[HoleVerdict, ...]
    readings: tuple[CheckVerdict, ...]
    disagreements: tuple[tuple[CheckVerdict, float], ...] = ()

    def of(self, hole: str) -> HoleVerdict:
        return next(one for one in self.holes if one.hole.name == hole)

    def in_setup(self, number: int | None) -> Judged:
        """What concerns one setup; None: everything."""
        if number is None:
            return self
        return Judged(
            tuple(one for one in self.holes if one.setup == number),
            tuple(one for one in self.readings if one.check.setup == number),
            tuple(pair for pair in self.disagreements if pair[0].check.setup == number),
        )


def judge_places(inspection: Inspection, measured: Measured, *, at_mmc: bool = False) -> Judged:
    """Holes by their measured places on the readout, with or without diameters."""
    shop = inspection.shop
    off = shop.instruments.readout_mm
    covariance = np.eye(2) * off**2
    by_name = {one.hole: one for one in measured.holes}
    setups = {view.setup.number: view.setup for view in inspection.views}
    holes = []
    for view in inspection.views:
        for number, hole in enumerate(view.holes):
            found = by_name.get(hole.name)
            offset = np.full(2, np.nan)
            size = SizeVerdict("not measured")
            if found is not None:
                read_in = view.setup if found.setup is None else setups[found.setup]
                offset = _offset(view.setup, read_in, hole, found, shop)
                if found.diameter_mm is not None:
                    size = size_verdict(hole, found.diameter_mm, _size_off_mm(shop, hole))
            bonus = zone_bonus_mm(hole, view.zones[number], size) if at_mmc else 0.0
            touched = not np.isnan(offset).all()
            place = place_verdict(view.zones[number], offset, covariance, touched, bonus)
            holes.append(HoleVerdict(hole, view.setup.number, place, size, "not measured"))
    return Judged(_in_file_order(inspection, holes), ())


def _offset(own: Setup, read_in: Setup, hole: Hole, found: MeasuredHole, shop: Shop) -> Floats:
    """(2,) how far a hole is off along the axes of its own setup; nan where that was not read."""
    offset = np.full(2, np.nan)
    drawn = read_in.place_of(hole)
    across = (own.rotation @ read_in.rotation.T)[:2, :2]  # its axes, in those it was read along
    for axis, share in zip(*np.nonzero(np.round(across)), strict=True):
        value = (found.x_mm, found.y_mm)[share]
        if value is not None:
            sign = _signs(shop)[share]
            offset[axis] = across[axis, share] * (value * sign - drawn[share])
    return offset


def _signs(shop: Shop) -> tuple[float, float]:
    x, y = (-1.0 if axis in shop.readout.reversed_axes else 1.0 for axis in "xy")
    return x, y


def _size_off_mm(shop: Shop, hole: Hole) -> float:
    limits = size_limits(hole)
    width = limits.width_mm if limits is not None and limits.basis == "drawing" else None
    measuring = bore(shop, hole.diameter_mm, width)
    return measuring.uncertainty_mm if measuring is not None else 0.0


def _in_file_order(inspection: Inspection, holes: Iterable[HoleVerdict]) -> tuple[HoleVerdict, ...]:
    by_name = {one.hole.name: one for one in holes}
    return tuple(by_name[h.name] for h in inspection.part.holes if h.name in by_name)


def judge_readings(inspection: Inspection, given: Readings, *, at_mmc: bool = False) -> Judged:
    """Holes by readings: their places as far as those decide them."""
    matched = [(found, reading) for reading, found in _matched(inspection, given)]
    verdicts = [check_verdict(check, reading) for check, reading in matched if check is not None]
    by_hole: dict[str, list[CheckVerdict]] = {}
    for one in verdicts:
        if not one.check.is_place:
            by_hole.setdefault(one.check.hole, []).append(one)
    holes: list[HoleVerdict] = []
    disagreements: list[tuple[CheckVerdict, float]] = []
    for view in inspection.views:
        here = [v for v in verdicts if v.check.setup == view.setup.number]
        solved, doubtful = _places(view, here)
        disagreements += doubtful
        for number, hole in enumerate(view.holes):
            of_hole = by_hole.get(hole.name, [])
            holes.append(_hole(view, number, solved, of_hole, bool(doubtful), inspection, at_mmc))
    return Judged(_in_file_order(inspection, holes), tuple(verdicts), tuple(disagreements))


def _hole(
    view: FaceView,
    number: int,
    solved: Placed,
    of_hole: Sequence[CheckVerdict],
    is_doubtful: bool,
    inspection: Inspection,
    at_mmc: bool,
) -> HoleVerdict:
    hole, zone = view.holes[number], view.zones[number]
    size = _size(hole, of_hole)
    bonus = zone_bonus_mm(hole, zone, size) if at_mmc else 0.0
    place = place_verdict(
        zone,
        solved.offsets_mm[:, number],
        solved.covariance_mm2[number],
        number in solved.holes_touched,
        bonus,
    )
    doubts: tuple[str, ...] = ()
    if is_doubtful and place.verdict in ("in", "out", "beyond usual"):
        place = replace(place, verdict="not decidable")
        doubts = ("a reading on this face disagrees with the others",)
    gauged = [v for v in of_hole if v.check.kind.startswith("thread")]
    thread = thread_verdict(gauged)
    if thread == "in" and all(v.check.kind == "thread no-go" for v in gauged):
        thread = "not decidable"  # that stops in a plain hole too
    others = tuple(
        v
        for v in of_hole
        if v.check.kind not in ("size", "go", "no-go") and not v.check.kind.startswith("thread")
    )
    return HoleVerdict(hole, view.setup.number, place, size, thread, others, doubts)


def _size(hole: Hole, of_hole: Sequence[CheckVerdict]) -> SizeVerdict:
    """The diameter measured, else what the pins said."""
    tried = [v for v in of_hole if v.check.kind in ("go", "no-go")]
    for one in of_hole:
        if one.check.kind == "size" and one.reading.value_mm is not None:
            off = one.reading.off_mm
            found = size_verdict(
                hole, one.reading.value_mm, off if off is not None else one.check.uncertainty_mm
            )
            words = thread_verdict([*tried, CheckVerdict(one.check, one.reading, found.verdict)])
            by_both = {v.check.kind for v in tried} == {"go", "no-go"}
            if found.verdict == "not decidable" and by_both:
                words = thread_verdict(tried)  # pins at both limits decide what no gauge reads
            return replace(found, verdict=words)
    if not tried:
        return SizeVerdict("not measured")
    verdict = thread_verdict(tried)
    if verdict == "in" and len(tried) < 2 and hole.limits_um is not None:
        verdict = "not decidable"
    return SizeVerdict(verdict, size_limits(hole))


def _places(
    view: FaceView, verdicts: Sequence[CheckVerdict]
) -> tuple[Placed, list[tuple[CheckVerdict, float]]]:
    """The holes as the readings place them, and the reading that disagrees with the others."""
    of_places = [v for v in verdicts if v.check.is_place and v.reading.value_mm is not None]
    solved = placed(view, [_place_reading(view, v) for v in of_places])
    if solved.disagreeing is None:
        return solved, []
    worst = solved.disagreeing
    return solved, [(of_places[worst], float(solved.residuals_mm[worst]))]


def _place_reading(view: FaceView, verdict: CheckVerdict) -> PlaceReading:
    check, reading = verdict.check, verdict.reading
    assert reading.value_mm is not None  # asked before
    off = reading.off_mm if reading.off_mm is not None else check.uncertainty_mm
    to = view.index.get(reading.to) if check.kind in PAIR_KINDS else None
    face: Face | None = next((each for each in FACES if each == reading.to.lower()), None)
    return PlaceReading(
        check.kind,
        view.index[reading.hole],
        to,
        face if check.kind in EDGE_KINDS else None,
        distance_mm(check.kind, reading.value_mm, _pins_mm(check, reading)),
        off,
        reading.line,
    )


def _matched(inspection: Inspection, given: Readings) -> list[tuple[Reading, Check | None]]:
    """Each reading with its check: the sheet's, or one made for it where it can be read."""
    by_key = {_key(c.kind, c.hole, c.to): c for c in inspection.checks}
    makers: dict[str, PlaceChecks] = {}
    pins = pins_of(inspection.shop)
    for view in inspection.views:
        maker = PlaceChecks(view, inspection.shop, pins)
        makers |= dict.fromkeys(view.index, maker)
    out: list[tuple[Reading, Check | None]] = []
    for reading in given.readings:
        check = by_key.get(_key(reading.kind, reading.hole, reading.to))
        if check is None:
            check = _of_its_kind(inspection, reading)
        if check is None and reading.hole in makers:
            check = makers[reading.hole].check_of(reading.kind, reading.hole, reading.to)
        out.append((reading, check))
    return out


def _of_its_kind(inspection: Inspection, reading: Reading) -> Check | None:
    """The one check of that kind at that hole, for a list that does not name the mouth."""
    if reading.to:
        return None
    found = [c for c in inspection.checks if (c.kind, c.hole) == (reading.kind, reading.hole)]
    return found[0] if len(found) == 1 else None


def _key(kind: str, hole: str, to: str) -> tuple[str, frozenset[str]]:
    if kind in PAIR_KINDS:
        return kind, frozenset({hole, to})
    return f"{kind} of {hole}", frozenset({to.lower()})


Doubt = tuple[str, str, str]
"""(kind, what is wrong with a reading, what to do)."""


def unread(inspection: Inspection, given: Readings) -> list[Finding]:
    """Readings that belong to nothing on the part, and those in the other unit: stops."""
    findings = []
    matched = _matched(inspection, given)
    for view in inspection.views:
        placed_here = {
            check.hole
            for _, check in matched
            if check is not None and check.is_place and check.setup == view.setup.number
        }
        if len(placed_here) > MOST_PLACED_BY_READINGS:
            message = f"{view.setup.face.upper()}: readings of {len(placed_here)} holes at once"
            remedy = f"give at most {MOST_PLACED_BY_READINGS} of a face in one file"
            findings.append(Finding("stop", "bad-reading", message, remedy, given.path))
    for reading, check in matched:
        for doubt in _doubts(inspection, reading, check):
            holes = (reading.hole,)
            findings.append(Finding("stop", *doubt, given.path, reading.line, holes=holes))
    return findings


def _doubts(inspection: Inspection, reading: Reading, check: Check | None) -> list[Doubt]:
    """What is wrong with a reading: the first of it, but for pins all of them."""
    if check is None:
        what = f"{reading.kind}, {reading.hole}{' and ' + reading.to if reading.to else ''}"
        remedy = "both holes are on one face and take a pin; an edge stands upright there"
        return [("bad-reading", f"{what}: this part has no such reading", remedy)]
    value_mm, wanted_mm = reading.value_mm, check.expected_mm
    if value_mm is None or wanted_mm is None:
        return []
    return (
        _slip(check, reading, value_mm, wanted_mm)
        or _strange_pins(check, reading)
        or _off_the_part(inspection, check, reading, value_mm, wanted_mm)
    )


def _pins_mm(check: Check, reading: Reading) -> tuple[float, ...]:
    """Diameters of the pins that were used: those drawn where nothing is said."""
    return reading.pins_mm or tuple(pin.diameter_mm for pin in check.pins)


def _both_units(length_mm: float) -> str:
    return f"{length_mm:.3f} mm ({length_mm / _INCH:.4f} in)"


def _strange_pins(check: Check, reading: Reading) -> list[Doubt]:
    """Pins that stand in no such hole: another unit, or a decimal point."""
    drawn = [pin.diameter_mm for pin in check.pins]
    if reading.hole != check.hole:
        drawn.reverse()
    return [
        (
            "bad-reading",
            f"{reading.hole}: {reading.kind}: no pin of {_both_units(given)} stands in such a "
            f"hole; it should be about {_both_units(wanted)}",
            "write it in the unit of its line",
        )
        for given, wanted in zip(reading.pins_mm, drawn, strict=False)
        if not _LEAST_PIN * wanted <= given <= _GREATEST_PIN * wanted + _SLIP_MM
    ]


def _off_the_part(
    inspection: Inspection, check: Check, reading: Reading, value_mm: float, wanted_mm: float
) -> list[Doubt]:
    """A reading that puts the hole off its face: a decimal point, or a figure left out."""
    if not check.is_place:
        return []
    view = next(v for v in inspection.views if v.setup.number == check.setup)
    across = [view.setup.high_mm[axis] - view.setup.low_mm[axis] for axis in (0, 1)]
    longest = hypot(*across)
    if check.kind in EDGE_KINDS:
        face = next(each for each in FACES if each == check.to.lower())
        longest = across[view.axis_of(face)]
    away_mm = distance_mm(check.kind, value_mm, _pins_mm(check, reading))
    if 0 < away_mm < longest + _TOLD_APART_MM:
        return []
    message = (
        f"{reading.hole}: {reading.kind} reads {_both_units(value_mm)}, which is off the part; "
        f"it should be about {_both_units(wanted_mm)}"
    )
    return [("bad-reading", message, "read it again, and look at its decimal point")]


def _slip(check: Check, reading: Reading, value_mm: float, wanted_mm: float) -> list[Doubt]:
    """A reading that makes sense only in the other unit."""
    drawn = tuple(pin.diameter_mm for pin in check.pins)
    wanted_mm += pins_sum_mm(check.kind, _pins_mm(check, reading))
    wanted_mm -= pins_sum_mm(check.kind, drawn)
    room = _SLIP_MM + _SLIP_SHARE * wanted_mm
    is_near = abs(value_mm - wanted_mm) < max(_TOLD_APART_MM, 2 * room)
    if is_near and value_mm < 10 * wanted_mm:
        return []
    for factor, other in ((_INCH, "inch"), (1 / _INCH, "mm")):
        if abs(value_mm * factor - wanted_mm) <= room:
            message = (
                f"{reading.hole}: {reading.kind} reads {_both_units(value_mm)} and would be "
                f"{value_mm * factor:.3f} mm if it was read in {other}; it should be about "
                f"{_both_units(wanted_mm)}"
            )
            remedy = f'write "{other}" into the column unit of this line, or read it again'
            return [("units-suspect", message, remedy)]
    return []
