"""The second witness for verdicts: what was read, against the part, by a comparison of its own.

Readings off the readout are held against the part by this side's frames. Where holes are by
readings over pins is a sum that is not done again here: the verdict is held against the places that
are told. Imports the part, the shop, what was measured, the tables and `reading`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import anew, frozen
from millprep.model.measured import Measured, MeasuredHole
from millprep.model.part import Hole, Part
from millprep.model.readings import PAIR_KINDS, Reading, Readings
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.sheet import ReadRow, ReadSheet
from millprep.reading.pages.slots import Said
from millprep.reference.fits import shaft_limits_um
from millprep.witness import Lay, from_part, to_part
from millprep.witness.compared import (
    SLACK_MM,
    Due,
    Fault,
    Report,
    names_of,
    near,
    once,
    report_findings,
)
from millprep.witness.expected import expected_holes
from millprep.witness.faces import AXIS, FAR, LOOKS
from millprep.witness.judged import Judge, decided, worst

_UM = 0.51
DISAGREES = 2.0  # a residual of more uncertainties is told as a slip


@frozen
class Asked:
    """What was asked for. lays : how the part lies, by setup; all_lays : in all of them"""

    lays: Mapping[int, Lay]
    piece: str
    date: str
    at_mmc: bool
    all_lays: Mapping[int, Lay] = anew(factory=dict)


@frozen
class _Case(Report, Judge):
    """The sheet beside its part and what was measured. doubted : setups with a reading that is
    told to disagree with others"""

    sheet: ReadSheet
    asked: Asked
    doubted: frozenset[int | None]

    @cached_property
    def setup_of(self) -> Mapping[str, int]:
        """The setup of each hole that is due."""
        return {
            one.hole.name: number
            for number, lay in self.asked.lays.items()
            for one in expected_holes(self.part, lay.face, number)
            if one.hole.face == lay.face
        }

    @cached_property
    def off_mm(self) -> Mapping[str, tuple[float | None, float | None]]:
        """How far each hole is off its place, as it was read on the readout."""
        if isinstance(self.given, Readings):
            return {}
        return {one.hole: self._off(one) for one in self.given.holes if one.hole in self.setup_of}

    def _off(self, one: MeasuredHole) -> tuple[float | None, float | None]:
        """In the axes of the setup that the hole is made in, whichever it was read in."""
        own = self.asked.lays[self.setup_of[one.hole]]
        read_in = own if one.setup is None else self.asked.all_lays[one.setup]
        signs = [-1 if axis in self.shop.readout.reversed_axes else 1 for axis in "xy"]
        drawn = from_part(read_in, self.part, np.array([self.holes[one.hole].centre_mm]).T).ravel()
        along: list[float | None] = [None, None]
        for axis, value in enumerate((one.x_mm, one.y_mm)):
            ends = np.zeros((3, 2))
            ends[axis, 1] = 1.0
            way = from_part(own, self.part, to_part(read_in, self.part, ends)) @ [-1.0, 1.0]
            to = int(np.argmax(np.abs(way)))
            if value is not None:
                along[to] = float(way[to]) * (value * signs[axis] - float(drawn[axis]))
        return along[0], along[1]

    def has_depth(self, name: str) -> bool:
        """Whether the depth of a hole is measured, which never has a tolerance."""
        hole, calliper = self.holes[name], self.shop.instruments.calliper
        is_open = not hole.is_through and hole.thread is None and hole.goes_into is None
        return is_open and hole.depth_mm <= calliper.largest_mm

    def drawn_at(self, hole: str) -> complex:
        """Where a hole is drawn, in the axes of its setup."""
        return self.seen(hole, self.holes[hole].centre_mm)

    def seen(self, hole: str, at: Sequence[float]) -> complex:
        """A place of the part in the axes of the setup of a hole."""
        lay = self.asked.lays[self.setup_of[hole]]
        x, y, _ = from_part(lay, self.part, np.array(at).reshape(3, 1))
        return complex(x[0], y[0])


def check_verdict(
    data: bytes,
    form: SheetForm,
    part: Part,
    shop: Shop,
    given: Measured | Readings,
    asked: Asked,
    remarks: Sequence[Finding],
    *,
    file: str,
) -> list[Finding]:
    """How finished verdicts differ from the part and what was measured.

    remarks : what was found, told below the sheet
    """
    doubted = frozenset(one.setup for one in remarks if one.kind == "readings-disagree")

    def faults(sheet: ReadSheet) -> Iterator[Fault]:
        case = _Case(part, shop, given, sheet, asked, doubted)
        rows = [row for row in case.whole.rows if row.said["hole"] in case.setup_of]
        due = {row.said["hole"]: _row(case, row.said) for row in rows}
        yield from case.rows("holes", {name: {} for name in case.setup_of} | due)
        for row in rows:
            yield from _below(case, row, case.holes[row.said["hole"]])
        yield from _residuals(case, rows)
        if form != "csv":
            yield from case.unlike(case.title, {"piece": asked.piece, "date": asked.date})
            yield from case.sentences(_sentences(case))
            yield from _readings(case)
            yield from case.heading(part, remarks, advice=None)
        if form == "json":
            yield from _all_readings(case)

    return report_findings(data, "verdict", form, names_of(part), faults, table="holes", file=file)


def _sentences(case: _Case) -> Mapping[str, Sequence[Due]]:
    """What stands around the rows."""
    given, part = case.given, case.part
    shared = {"file": given.path, "material": "maximum" if case.asked.at_mmc else None}
    is_disc = any(AXIS[hole.face] == part.stock.axis for hole in part.holes)
    read = map(case.is_usual_length, case.readings_here(case.setup_of))
    is_usual = any(map(case.has_depth, case.setup_of)) or any(read)
    counts = Counter(row.said["verdict"] for row in case.whole.rows)
    off_mm = near(case.shop.instruments.readout_mm, SLACK_MM)
    return {
        "by-places": once(isinstance(given, Measured), **shared, readout_off=off_mm),
        "by-readings": once(
            isinstance(given, Readings),
            **shared,
            reading_count=len(case.readings),
            empty_count=given.empty or None if isinstance(given, Readings) else None,
        ),
        "assumed-inspection": once(
            True, disc=is_disc, usual=lambda told: told is not None or not is_usual
        ),
        "totals": once(
            True,
            in_count=counts["in"],
            hole_count=len(case.whole.rows),
            out_count=counts["out"] or None,
            beyond_count=counts["beyond usual"] or None,
            open_count=counts["not decidable"] or None,
            missing_count=counts["not measured"] or None,
        ),
    }


def _row(case: _Case, said: Said) -> Due:
    """What the row of a hole should say; over pins its place is as it is told."""
    hole, is_measured = case.holes[said["hole"]], isinstance(case.given, Measured)
    size, thread = case.size(hole), case.thread(hole)
    off: tuple[float | None, float | None]
    if is_measured:
        off = case.off_mm.get(hole.name, (None, None))
    else:
        off = said.mm("dx") if said.has("dx") else None, said.mm("dy") if said.has("dy") else None
    dx, dy = off
    half, is_round = case.zone(hole)
    bonus = case.bonus_mm(hole, size.size_mm) if case.asked.at_mmc and is_round else 0.0
    places, width = _places(case, hole, dx, dy, bonus), 2 * half + bonus
    of_hole = [size.verdict, thread, *case.others(hole)]
    due: dict[str, Any] = {
        "true_position": None
        if dx is None or dy is None
        else near(2 * math.hypot(dx, dy), case.half_mm * (1 if is_measured else 4)),
        "zone": "diameter" if is_round else "plus and minus",
        "allowed": near(width if is_round else half, case.half_mm),
        "allowed_mm": lambda told: told is None or abs(float(told) - width) <= SLACK_MM,
        "verdict": {worst([place, *of_hole]) for place in places},
    }
    due |= {"dx": dx, "dy": dy} if is_measured else {}
    if "place_verdict" in said.slots:
        due |= {"place_verdict": places, "size_verdict": size.verdict, "thread_verdict": thread}
        due |= {"setup": case.setup_of[hole.name], "face": hole.face}
    if "part_mark" in said.slots:  # of CSV, with nothing below
        due["size"] = size.size_mm
    return due


def _residuals(case: _Case, rows: Sequence[ReadRow]) -> Iterator[Fault]:
    """Every reading from the datum and over pins is what the places that are told make of it."""
    told = {row.said["hole"]: row.said for row in rows}
    for one in case.readings_here(told):
        over = _over(case, one)
        if over is None or case.setup_of[one.hole] in case.doubted:
            continue
        found = _longer(case, told, one)
        room = DISAGREES * over[1] + 3 * case.half_mm
        if found is not None and abs(found - over[0]) > room:
            words = f"{one.hole}: line {one.line} is {over[0]:.4f} mm over, the place {found:.4f}"
            yield words, told[one.hole]


def _over(case: _Case, one: Reading) -> tuple[float, float] | None:
    """By how much a reading is over, and how sure; from a centre line, half of what its two are
    apart."""
    over, face = case.over_mm(one), one.to.lower()
    if over is None or face not in AXIS or case.part.datum[AXIS[face]] != "centre":
        return over
    across = case.reading(one.kind, one.hole, FAR[face])
    other = None if across is None else case.over_mm(across)
    return None if other is None else ((over[0] - other[0]) / 2, over[1] + other[1])


def _longer(case: _Case, told: Mapping[str, Said], one: Reading) -> float | None:
    """By how much the places that are told make a reading longer; None where they do not say."""
    if one.kind in PAIR_KINDS:
        if one.to not in told:
            return None
        ends = [_off(told[name], 1 + 1j) for name in (one.hole, one.to)]
        if ends[0] is None or ends[1] is None:
            return None
        apart = case.drawn_at(one.hole) - case.drawn_at(one.to)
        return abs(apart + ends[0] - ends[1]) - abs(apart)
    face = one.to.lower()
    if face not in AXIS or case.part.datum[AXIS[face]] not in (face, "centre"):
        return None
    hole = case.holes[one.hole]
    moved = [a - b for a, b in zip(hole.centre_mm, LOOKS[face], strict=True)]
    way = case.seen(one.hole, moved) - case.drawn_at(one.hole)
    off = _off(told[one.hole], way)
    return None if off is None else (off * way.conjugate()).real


def _off(said: Said, way: complex) -> complex | None:
    """How far a hole is told to be off; None where an axis that matters is not told."""
    parts = []
    for name, share in (("dx", way.real), ("dy", way.imag)):
        is_told = said.slots.get(name) is not None
        if not is_told and abs(share) > SLACK_MM:
            return None
        parts.append(said.mm(name) if is_told else 0.0)
    return complex(*parts)


def _places(
    case: _Case, hole: Hole, dx: float | None, dy: float | None, bonus: float
) -> frozenset[str]:
    """What may be said of the place: by readings, how sure they are is not asked."""
    touched = case.is_touched(hole)
    if not touched or (dx is None and dy is None):
        return frozenset({"not decidable" if touched else "not measured"})
    half, is_round = case.zone(hole)
    off = case.shop.instruments.readout_mm if isinstance(case.given, Measured) else None
    if is_round and dx is not None and dy is not None:
        value, most, times = 2 * math.hypot(dx, dy), 2 * half + bonus, 2
    else:
        value, most, times = max(abs(dx or 0.0), abs(dy or 0.0)), half + bonus / 2, 1
    if off is not None:
        found = {decided(value, off * times, None, most)}
    else:  # known as it is shown
        found = {"not decidable"}
        if case.setup_of[hole.name] not in case.doubted:
            found |= {"in"} if value < most + case.half_mm * 2 else set()
            found |= {"out"} if value > most - case.half_mm * 2 else set()
    if dx is None or dy is None:
        found = {"not decidable" if one == "in" else one for one in found}
    if case.is_usual(hole):
        found = {"beyond usual" if one == "out" else one for one in found}
    return frozenset(found)


def _below(case: _Case, row: ReadRow, hole: Hole) -> Iterator[Fault]:
    """The size and the thread that hang on the row; in CSV nothing does."""
    size, thread = case.size(hole), case.thread(hole)
    least, greatest = size.limits or (None, None)
    is_sized = size.size_mm is not None
    limits = {"size_least": least, "size_greatest": greatest, "size_verdict": size.verdict}
    due: dict[str, Due] = {}
    if is_sized and size.limits is None:
        due["hole-width"] = {"size": size.size_mm}
    elif is_sized:
        due["hole-size"] = {"size": size.size_mm, **limits}
    elif size.verdict != "not measured":
        due["hole-pins"] = limits
    if thread != "not measured":
        due["hole-thread"] = {"thread": hole.words, "thread_verdict": thread}
    if [one.slug for one in row.below] != [*due] and "part_mark" not in row.said.slots:
        yield f"{hole.name}: below it is not told {', '.join(due) or 'nothing'}", row.said
    for said in row.below:
        yield from case.unlike(said, due.get(said.slug, {}))
        if said.slug == "hole-size":
            yield from _bore(case, said, hole, size.size_mm or 0.0)


def _bore(case: _Case, said: Said, hole: Hole, size_mm: float) -> Iterator[Fault]:
    """How a bore stands to its class, and pins in it."""

    def um(**figures: float) -> Due:
        return {name: near(one, _UM, is_plain=True) for name, one in figures.items()}

    over, limits = (size_mm - hole.diameter_mm) * 1000, hole.limits_um
    is_due = hole.fit is not None and limits is not None
    if len(said.parts("bore")) != is_due:
        yield f"{said.text}: of a class", said
    for bore in said.parts("bore"):
        least, greatest = limits or (0.0, 0.0)
        figures = um(class_least=least, class_greatest=greatest, deviation=over)
        yield from case.unlike(bore, {"class": hole.fit, **figures})
        for pin in bore.parts("pin_fits"):
            low, high = shaft_limits_um(hole.diameter_mm, pin["shaft"])
            yield from case.unlike(pin, um(least_um=over - high, greatest_um=over - low))


def _readings(case: _Case) -> Iterator[Fault]:
    """Those that are not in: each by its own limits."""
    told = case.whole.all("read-length", "read-turns", "read-answer")
    keys = [case.key(one["what"], one["hole"], one.slots.get("to") or "") for one in told]
    due = [one for one in case.readings_here(case.setup_of) if case.verdict(one) != "in"]
    by_key = {case.key(one.kind, one.hole, one.to): one for one in reversed(due)}
    if Counter(keys) != Counter(case.key(one.kind, one.hole, one.to) for one in due):
        yield "the readings that are not in are not all told, each once", case.title
    for key, said in zip(keys, told, strict=True):
        if key in by_key:
            yield from case.unlike(said, _reading(case, by_key[key]))


def _reading(case: _Case, one: Reading) -> Due:
    limits = case.limits(one) if one.value_mm is not None else None
    least, greatest = limits or (None, None)
    is_answer = one.value_mm is None and one.turns is None
    return {
        "turns": None if one.turns is None else near(float(f"{one.turns:g}"), 0.0, is_plain=True),
        "answer": {True: "yes", False: "no"}[bool(one.answer)] if is_answer else None,
        "reading": one.value_mm,
        "least": least,
        "greatest": greatest,
        "verdict": case.verdict(one),
    }


def _all_readings(case: _Case) -> Iterator[Fault]:
    """What JSON has of every reading."""
    due = {str(one.line): one for one in case.readings_here(case.setup_of)}
    told = case.sheet.whole.get("readings", [])
    if sorted(str(one["line"]) for one in told) != sorted(due):
        yield "readings has not every line of the file once", case.title
        return
    for entry in told:
        one = due[str(entry["line"])]
        right = _reading(case, one)
        for name in ("reading", "least", "greatest"):
            shown, exact = entry[f"{name}_mm"], right[name]
            if (shown is None) != (exact is None) or abs(
                float(shown or 0) - (exact or 0)
            ) > SLACK_MM:
                yield f"readings, line {one.line}: {name}_mm is {exact}", case.title
        if (entry["verdict"], entry["what"]) != (right["verdict"], one.kind):
            yield f"readings, line {one.line}: it is {right['verdict']}", case.title
