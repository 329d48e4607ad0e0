"""What was found: a finding for each hole that is out, not decidable or not measured; slips.

Beforehand, the holes that a sheet cannot place, for nothing in the shop reads so far. Imports
layers 0 to 3 and numpy.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

import numpy as np

from millprep.base.findings import Finding, Severity, worst_first
from millprep.base.plain_text import some
from millprep.base.records import frozen
from millprep.base.units import Length, Units
from millprep.inspection import Check, Inspection
from millprep.inspection.judging import Judged
from millprep.inspection.limits import USUAL, Decision, Limits
from millprep.inspection.verdicts import CheckVerdict, HoleVerdict
from millprep.inspection.views import FaceView
from millprep.matching.slip_words import shop_figures
from millprep.matching.slips import likeness
from millprep.model.readings import EDGE_KINDS, PAIR_KINDS
from millprep.setting.holding import faces_along

_QUIET = ("within noise", "scatter")
Beyond = Callable[[str, str, int | None, str], Finding]
Fault = tuple[Decision, str, str]
"""(verdict, what is wrong, what to do)."""
_BY_VERDICT: dict[Decision, tuple[Severity, str]] = {
    "out": ("stop", "out-of-tolerance"),
    "not decidable": ("warning", "not-decidable"),
}
_LEAST_FOR_A_SLIP = 2


@frozen
class Words:
    """Lengths in sentences, in the unit of the sheet."""

    units: Units

    def length(self, value_mm: float) -> str:
        return f"{Length(value_mm, self.units):3}"

    def signed(self, value_mm: float) -> str:
        return f"{Length(value_mm, self.units):+3}"

    def limits(self, limits: Limits) -> str:
        ends = [self.length(e) for e in (limits.least_mm, limits.greatest_mm) if e is not None]
        return " to ".join(ends)


def findings_of(inspection: Inspection, judged: Judged, path: str, units: Units) -> list[Finding]:
    """All that the measurements say, worst first."""
    words = Words(units)
    found = [
        *(f for one in judged.holes for f in _of_hole(one, words, path)),
        *_beyond_usual(judged, words, path),
        *_disagreeing(judged, words, path),
        *_slips(inspection, judged, units, path),
        *_not_measured(judged, path),
    ]
    return worst_first(found)


def coarse_findings(inspection: Inspection) -> list[Finding]:
    """One note an instrument: the checks that it decides nowhere, and those not near a limit."""
    coarse: dict[tuple[str, bool], list[str]] = {}
    for check in inspection.checks:
        if check.is_coarse and check.basis == "drawing":
            is_never_in = check.kind == "size" and _is_never_in(check)
            coarse.setdefault((check.instrument, is_never_in), []).append(str(check.number))
    findings = []
    for (name, is_never_in), numbers in coarse.items():
        message = f"the {name} takes more than a quarter of the tolerance in {_checks(numbers)}"
        remedy = "near a limit such a reading decides nothing: a finer instrument would"
        if is_never_in:
            message = f"no reading of the {name} can be in: it takes more than half of the "
            message += f"tolerance in {_checks(numbers)}"
            remedy = "take a finer instrument, or gauge pins at both limits"
        file = inspection.part.path or None
        findings.append(Finding("note", "instrument-coarse", message, remedy, file))
    return findings


def _is_never_in(check: Check) -> bool:
    """Whether the uncertainty from both limits leaves nothing between them."""
    width = check.limits.width_mm if check.limits is not None else None
    return width is not None and 2 * check.uncertainty_mm > width


def _checks(numbers: Sequence[str]) -> str:
    return f"{'check' if len(numbers) == 1 else 'checks'} {some(numbers)}"


def _of_hole(one: HoleVerdict, words: Words, path: str) -> Iterator[Finding]:
    name, thread = one.hole.name, f"its {one.hole.words} thread"
    told = [*_place_faults(one, words), *_size_faults(one, words)]
    if one.thread == "not decidable":
        remedy = "try the go gauge, or a new screw by the fingers"
        told.append((one.thread, f"of {thread} only the no-go gauge was tried", remedy))
    if one.thread == "out":
        remedy = "go too tight: run the tap through again; no-go too loose: the next larger thread"
        told.append((one.thread, f"{thread} does not pass the gauge", remedy))
    for verdict, message, remedy in told:
        severity, kind = _BY_VERDICT[verdict]
        yield Finding(
            severity, kind, f"{name}: {message}", remedy, path, holes=(name,), setup=one.setup
        )


def _place_faults(one: HoleVerdict, words: Words) -> Iterator[Fault]:
    place = one.place
    if place.verdict == "out":
        remedy = "measure it again; `match` says where its mate has to be drilled"
        yield "out", _place_words(one, words), remedy
    elif place.verdict == "not decidable":
        remedy = "measure it by something finer, or from another side"
        yield "not decidable", _undecided(one, words), remedy


def _place_words(one: HoleVerdict, words: Words) -> str:
    place = one.place
    off = ", ".join(
        f"{axis} {words.signed(value)}"
        for axis, value in (("X", place.dx_mm), ("Y", place.dy_mm))
        if value is not None
    )
    if place.zone.is_round and place.true_position_mm is not None:
        bonus = f" and {words.length(place.bonus_mm)} bonus" if place.bonus_mm else ""
        return (
            f"true position {words.length(place.true_position_mm)} ({off}); the drawing allows "
            f"{words.length(place.zone.width_mm)}{bonus}: {words.length(place.over_mm)} too much"
        )
    return (
        f"off by {off}; the drawing allows "
        f"+/- {words.length(place.zone.half_mm + place.bonus_mm / 2)}: "
        f"{words.length(place.over_mm)} too much"
    )


def _undecided(one: HoleVerdict, words: Words) -> str:
    place = one.place
    if one.doubts:
        return f"its place is not decidable: {'; '.join(one.doubts)}"
    missing = [axis for axis, at in (("X", place.dx_mm), ("Y", place.dy_mm)) if at is None]
    if missing:
        return f"the readings do not decide its {' and '.join(missing)}"
    if place.zone.is_round:
        shown = f"true position {words.length(place.true_position_mm or 0.0)}, allowed "
        shown += words.length(place.zone.width_mm + place.bonus_mm)
    else:
        shown = f"off by X {words.signed(place.dx_mm or 0.0)}, Y {words.signed(place.dy_mm or 0.0)}"
        shown += f", allowed +/- {words.length(place.zone.half_mm)}"
    return f"{shown}; the readings leave {words.length(place.uncertainty_mm)} of true position open"


def _size_faults(one: HoleVerdict, words: Words) -> Iterator[Fault]:
    size, limits = one.size, one.size.limits
    if limits is None or limits.basis == "usual":
        return  # told with the others beyond what is usual
    measured = "by the pins" if size.size_mm is None else words.length(size.size_mm)
    about = f"size {measured}, the drawing allows {words.limits(limits)}"
    if size.verdict == "out":
        yield "out", about, "too small: ream or lap it; too large: a pin to suit, or a bush"
    elif size.verdict == "not decidable":
        open_mm = words.length(size.uncertainty_mm)
        remedy = "try gauge pins at both limits, or the pin that goes in"
        yield "not decidable", f"{about}; the reading may be {open_mm} off", remedy


def _beyond_usual(judged: Judged, words: Words, path: str) -> Iterator[Finding]:
    """Depths, mouths, drilled sizes and places that the drawing gives no tolerance for."""

    def finding(hole: str, what: str, line: int | None, usual: str) -> Finding:
        message = f"{hole}: {what}; the drawing gives no tolerance, {usual}"
        remedy = "judge by what it is for"
        return Finding("warning", "beyond-usual", message, remedy, path, line, holes=(hole,))

    for one in judged.holes:
        if one.place.verdict == "beyond usual":
            off = ", ".join(
                f"{axis} {'not measured' if value is None else words.signed(value)}"
                for axis, value in (("X", one.place.dx_mm), ("Y", one.place.dy_mm))
            )
            usual = f"{USUAL} would allow +/- {words.length(one.place.zone.half_mm)}"
            yield finding(one.hole.name, f"off by {off}", None, usual)
        size, limits = one.size, one.size.limits
        if limits is not None and size.verdict == "beyond usual":
            shown = "the pins" if size.size_mm is None else words.length(size.size_mm)
            usual = f"a drill leaves {words.limits(limits)}"
            yield finding(one.hole.name, f"size by {shown}", None, usual)
        for other in one.others:
            yield from _other(other, words, finding) if other.verdict != "in" else ()


def _other(one: CheckVerdict, words: Words, finding: Beyond) -> Iterator[Finding]:
    check, reading = one.check, one.reading
    if check.kind == "square":
        lean = "a drilled hole leans where the drill wandered"
        yield finding(check.hole, "a pin in it is not square", reading.line, lean)
    elif check.limits is not None and reading.value_mm is not None:
        what = f"{check.kind} {words.length(reading.value_mm)}"
        usual = f"{USUAL} would allow {words.limits(check.limits)}"
        yield finding(check.hole, what, reading.line, usual)


def _disagreeing(judged: Judged, words: Words, path: str) -> Iterator[Finding]:
    for one, residual in judged.disagreements:
        check = one.check
        to = f" and {check.to}" if check.to else ""
        yield Finding(
            "warning",
            "readings-disagree",
            f"{check.kind}, {check.hole}{to}: this reading is {words.signed(residual)} off what "
            "the others of its face make of it",
            "a reading or a pin is wrong: read it again before anything is decided",
            file=path,
            line=one.reading.line,
            holes=(check.hole,),
            setup=check.setup,
        )


def _slips(inspection: Inspection, judged: Judged, units: Units, path: str) -> Iterator[Finding]:
    """The likely blunder, face by face, where the errors have the shape of one."""
    by_name = {one.hole.name: one for one in judged.holes}
    for view in inspection.views:
        known = [
            n
            for n, hole in enumerate(view.holes)
            if hole.name in by_name and by_name[hole.name].place.true_position_mm is not None
        ]
        places = [by_name[view.holes[n].name].place for n in known]
        is_out = any(place.verdict != "in" for place in places)
        if len(known) < _LEAST_FOR_A_SLIP or not is_out:
            continue
        drawn = view.places_mm[:, known]
        off = np.array([[p.dx_mm or 0.0, p.dy_mm or 0.0] for p in places]).T
        names = [view.holes[n].name for n in known]
        noise = max(place.uncertainty_mm / 2 for place in places)
        shop = shop_figures(inspection.shop, units, noise)
        looks = likeness(drawn, drawn + off, names, shop)
        if looks.kind in _QUIET:
            continue
        message = f"{view.setup.face.upper()}: {'; '.join(looks.sentences)}"
        remedy, number = "look for that slip before the next part", view.setup.number
        yield Finding(
            "warning", "likely-slip", message, remedy, path, holes=looks.holes, setup=number
        )


def _not_measured(judged: Judged, path: str) -> Iterator[Finding]:
    """One note for each thing that was left out."""
    left: dict[str, list[str]] = {}
    for one in judged.holes:
        for what in one.not_measured:
            left.setdefault(what, []).append(one.hole.name)
    for what, names in left.items():
        message, remedy = f"{what} not measured: {some(names)}", "no verdict holds for it"
        yield Finding("note", "not-measured", message, remedy, path, holes=tuple(names))


_SAME_MM = 1e-6
Reading = tuple[str | None, tuple[float, float]]
"""The other hole, or None of an edge; and the direction of the reading."""


def unreached_findings(inspection: Inspection) -> list[Finding]:
    """A warning for each face of a block with holes whose X or Y no reading of the sheet tells."""
    return [
        Finding(
            "warning",
            "not-measured",
            f"{view.setup.face.upper()}: the readings of this sheet do not place {some(names)}: "
            "no instrument of the shop reads so far",
            "find them on the readout, and give hole,x,y; or take a longer calliper",
            file=inspection.part.path or None,
            holes=tuple(names),
            setup=view.setup.number,
        )
        for view in inspection.views
        if not view.is_round and (names := _unplaced(view, inspection.checks))
    ]


def _unplaced(view: FaceView, checks: tuple[Check, ...]) -> list[str]:
    """Holes without two readings that cross, from edges or from holes that are placed."""
    readings: dict[str, list[Reading]] = {hole.name: [] for hole in view.holes}
    for check in checks:
        if check.setup == view.setup.number and check.is_place:
            for hole, reading in _both_ways(view, check):
                readings[hole].append(reading)
    placed: set[str | None] = {None}
    waiting = list(readings)
    while waiting:
        left = [hole for hole in waiting if not _cross(readings[hole], placed)]
        if len(left) == len(waiting):
            return left
        placed |= set(waiting) - set(left)
        waiting = left
    return []


def _both_ways(view: FaceView, check: Check) -> Iterator[tuple[str, Reading]]:
    if check.kind in EDGE_KINDS:
        is_along_x = check.to.lower() in faces_along(view.setup, 0)
        yield check.hole, (None, (1.0, 0.0) if is_along_x else (0.0, 1.0))
    elif check.kind in PAIR_KINDS:
        way = view.places_mm[:, view.index[check.hole]] - view.places_mm[:, view.index[check.to]]
        yield check.hole, (check.to, (float(way[0]), float(way[1])))
        yield check.to, (check.hole, (float(way[0]), float(way[1])))


def _cross(readings: list[Reading], placed: set[str | None]) -> bool:
    told = [way for other, way in readings if other in placed]
    return any(abs(a[0] * b[1] - a[1] * b[0]) > _SAME_MM for a, b in combinations(told, 2))
