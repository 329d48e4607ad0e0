"""The second witness for inspection sheets: each reading is a true distance of the part.

Which readings are asked for is a choice, and not asked here. Imports the part, the shop and
`reading`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadRow, ReadSection, ReadSheet
from millprep.reading.pages.slots import Said
from millprep.witness.compared import (
    SLACK_MM,
    Due,
    Fault,
    Report,
    Within,
    names_of,
    near,
    once,
    report_findings,
)
from millprep.witness.faces import AXIS, FAR
from millprep.witness.left import check_left
from millprep.witness.lengths import (
    COARSE_SHARE,
    IN_FULL_MM,
    KINDS,
    Drawn,
    Length,
    diameter_of,
    instrument_of,
    measured_by,
    place_of,
    size_of,
    sized_by,
)

_COUNT_MM = {
    "calliper": {"mm": 0.01, "inch": 0.0005 * 25.4},
    "finer": {"mm": 0.001, "inch": 0.0001 * 25.4},
}
"""What instruments show (common practice)."""
_TRIED = ("go", "no-go", "thread go", "thread no-go", "square")
_SAID_ONCE = (
    "inspected first-deburr first-warm first-square instruments-used or then assumed-inspection"
)


_NO_GO_TURNS = 2.0  # a thread's no-go gauge may go in so far (from memory of ISO 1502)
_GO = re.compile(r"(?P<pin>.+?) goes in(?:; so does the (?P<screw>.+) screw)?")
_NO_GO = re.compile(r"(?P<pin>.+?) does not go in")
_SAME_MM = 1e-6
_DEPTH_DIGIT_MM = 0.051


@frozen
class _Row(Length):
    """One reading of the sheet, in whichever form. limits : where those stand"""

    number: int
    limits: Said
    said: Said
    note: str
    is_mean: bool
    is_coarse: bool

    @property
    def instrument(self) -> str:
        return str(self.limits.slots.get("instrument") or self.said.slots.get("instrument") or "")


@frozen
class _Case(Report, Drawn):
    sheet: ReadSheet
    form: str
    faces: Mapping[int, str]

    def check_face(self, number: str, face: str, line: int | None) -> None:
        """Raises UnreadableSheet for a face that is not of that setup."""
        if self.faces.get(int(number)) != face:
            raise UnreadableSheet(f"{face.upper()} is not setup {number}", line)


def check_inspection(
    data: bytes,
    form: SheetForm,
    part: Part,
    shop: Shop,
    faces: Mapping[int, str],
    setup: int | None,
    remarks: Sequence[Finding],
    *,
    file: str,
    pieces: int = 1,
) -> list[Finding]:
    """How a finished inspection sheet differs from its part; empty when they agree.

    faces : that are measured, by number of the setup; setup : that one alone;
    pieces : how many are made, a sheet each
    """

    def faults(sheet: ReadSheet) -> Iterator[Fault]:
        case = _Case(part, shop, sheet, form, faces)
        rows = [row for page in sheet.pages for row in _rows(case, page.sections)]
        start = rows[0].number if setup is not None and rows else 1
        for number, row in enumerate(rows, start):
            if row.number != number:
                yield f"check {number} is numbered {row.number}", row.said
            for words in _row_faults(case, row):
                yield f"check {row.number}, {row.hole}: {words}", row.said
        if form != "csv":
            yield from _words(case, rows)
            yield from case.heading(part, remarks, stock=True)
            right = str(pieces) if pieces > 1 else None
            for said in sheet.pages[0].whole.all("inspected"):
                if said.slots.get("piece_count") != right:
                    yield f"{said.text}: there are {pieces} pieces", said
            yield from check_left([case.whole], part, _told, case.title, is_measured=True)

    names = names_of(part)
    return report_findings(data, "inspection", form, names, faults, table="places", file=file)


def _told(words: str, said: Said) -> Fault:
    return words, said


def _rows(case: _Case, sections: Sequence[ReadSection]) -> Iterator[_Row]:
    """Raises UnreadableSheet."""
    for section in sections:
        labels = [said for said in section.said if "setup" in said.slots and "face" in said.slots]
        for label in labels:
            case.check_face(label["setup"], label.face("face"), label.line)
        for row in section.rows:
            look = _named_row if case.form in ("json", "csv") else _shown_row
            yield look(case, row, labels[0].face("face") if labels else "")


def _named_row(case: _Case, row: ReadRow, _: str) -> _Row:
    """A row of JSON or CSV. Raises UnreadableSheet."""
    said, slots = row.said, row.said.slots
    face = said.face("face")
    case.check_face(slots["setup"], face, row.line)
    if case.form == "json":
        mean = slots["takes_mean"] == "yes"
        pins = tuple(float(one["diameter_mm"]) for one in slots["pins"] or ())
    else:
        mean = slots["mean"] == "mean"
        shown = [said.mm(name) for name in ("pin", "to_pin") if slots[name]]
        pins = tuple(case.nearest_pin_mm(one) for one in shown)
    kind, to, note = (str(slots[name] or "") for name in ("what", "to", "note"))
    number, is_coarse = said.count("check"), slots.get("is_coarse") == "yes"
    return _Row(kind, said["hole"], to, pins, face, number, said, said, note, mean, is_coarse)


def _shown_row(case: _Case, row: ReadRow, face: str) -> _Row:
    """A row on paper: how a hole is tried stands in the head. Raises UnreadableSheet."""
    said = row.said
    head = row.head if row.head is not None and row.table == "tried" else said
    kind = str(head.slots.get("what") or KINDS.get(head.slug.partition(" ")[2], "opened"))
    if row.table == "tried" and (said["box"] == "[ ]") != (kind in _TRIED):
        raise UnreadableSheet(f"check {said['check']}: {said['box']}", row.line)
    to = str(said.slots.get("to") or head.slots.get("opened") or "")
    pins = tuple(case.pins.get(words, math.nan) for words in said.slots.get("pin_words") or ())
    note, number = str(head.slots.get("note") or ""), said.count("check")
    mean, coarse = bool(said.slots.get("mean")), bool(head.slots.get("coarse"))
    return _Row(kind, said["hole"], to, pins, face, number, head, said, note, mean, coarse)


def _row_faults(case: _Case, row: _Row) -> Iterator[str]:
    hole = case.holes.get(row.hole)
    if hole is None:
        yield "the part has no such hole"
        return
    if row.face not in {hole.face, hole.face if row.kind in KINDS.values() else FAR[hole.face]}:
        yield f"it is not on {row.face.upper()}"
    if (row.kind in _TRIED or (row.note and not row.is_place)) and not _is_note(case, row, hole):
        yield row.note
    if row.kind in _TRIED:
        return
    found = place_of(case, row, hole) if row.is_place else size_of(case, row, hole)
    instrument = instrument_of(case.shop, row.instrument)
    if found is None or instrument is None:
        yield f"it has no {row.kind} {row.to}, or no {row.instrument} reads that"
        return
    expected, least, greatest, shake, _ = found
    for words, _ in case.unlike(row.limits, _figures(case, row, expected, least, greatest)):
        yield words
    by = measured_by(case.shop, row.kind, found) if row.is_place else None
    if (row.instrument, row.is_mean) != (by or (sized_by(case.shop, row.kind, hole), False)):
        yield f"{row.instrument}{', mean' if row.is_mean else ''}"
    off = instrument.uncertainty_mm + (0.0 if row.is_mean else shake)
    is_coarse = off > COARSE_SHARE * (greatest - least) + 1e-9
    if case.form != "csv" and is_coarse != row.is_coarse:
        yield f"whether {row.instrument} is coarse is told amiss"


def _figures(case: _Case, row: _Row, expected: float, least: float, greatest: float) -> Due:
    """Expected rounded once, limits inwards; in CSV all in full, in JSON so beside."""
    count = _COUNT_MM["calliper" if row.instrument == "calliper" else "finer"][case.sheet.units]
    inwards = count * (1 - 1e-6) + SLACK_MM
    due: dict[str, Any] = {
        "expected": near(expected, count / 2 + SLACK_MM),
        "least": Within(least - SLACK_MM, least + inwards),
        "greatest": Within(greatest - inwards, greatest + SLACK_MM),
    }
    exact = {"expected": expected, "least": least, "greatest": greatest}
    if case.form == "csv":
        due = {name: near(one, IN_FULL_MM + SLACK_MM) for name, one in exact.items()}
    if not row.is_place and not row.limits.has("expected"):
        del due["expected"]
    if case.form == "json":
        due |= {
            f"{name}_mm": near(one, SLACK_MM, is_plain=True)
            for name, one in exact.items()
            if row.limits.has(f"{name}_mm")
        }
    return due


def _is_note(case: _Case, row: _Row, hole: Hole) -> bool:
    """Whether what is said of how to try it is so."""
    _, low, high = diameter_of(case, hole)
    thickness = case.part.stock.size_mm[AXIS[hole.face]]
    return is_note(row.kind, row.note, row.face, hole, case.pins, (low, high), thickness)


def _words(case: _Case, rows: Sequence[_Row]) -> Iterator[Fault]:
    """What stands around the readings."""
    pinned = {
        pin for row in rows if row.kind not in ("edge to hole", "rim to hole") for pin in row.pins
    }
    disc = case.part.stock.axis
    is_disc = disc is not None and any(AXIS[h.face] == disc for h in case.part.holes)
    usual = any(_is_usual(case, row) for row in rows)
    yield from case.sentences(
        {
            **{slug: once(True) for slug in _SAID_ONCE.split()},
            **{slug: once(pinned) for slug in ("pins", "pins-largest", "pins-half", "pins-mean")},
            "assumed-inspection": once(True, usual=usual, disc=is_disc),
        }
    )
    for said in case.whole.all("pins"):
        told = [case.pins.get(words, math.nan) for words in said["pins"]]
        if {*told} != pinned or told != sorted(told):
            yield f"PINS names {', '.join(said['pins'])}", said
    for said in case.whole.all("instruments-used"):
        yield from _with(case, said, rows)


def _is_usual(case: _Case, row: _Row) -> bool:
    """Whether the limits of a reading are not the drawing's."""
    if row.kind in _TRIED:
        return False
    ends = [case.holes[name] for name in (row.hole, row.to) if name in case.holes]
    if row.is_place:
        general = case.part.general_tolerance_mm
        given = ((one.position_mm, one.tolerance_mm, general) for one in ends)
        return any({*one} == {None} for one in given)
    return row.kind != "size" or not ends or ends[0].limits_um is None


def _with(case: _Case, said: Said, rows: Sequence[_Row]) -> Iterator[Fault]:
    told = [str(one["name"]) for one in said.parts("with_instruments")]
    needed = {row.instrument for row in rows} - {"", "pins"}
    needed |= {"thread gauge"} if any(row.kind.startswith("thread") for row in rows) else set()
    needed |= {"square"} if any(row.kind == "square" for row in rows) else set()
    if sorted(told) != sorted(needed):
        yield f"WITH names {', '.join(told)}", said
    half_mm = _COUNT_MM["finer"][case.sheet.units] / 2 + SLACK_MM
    for one in said.parts("with_instruments"):
        instrument = instrument_of(case.shop, str(one["name"]))
        off = None if instrument is None else near(instrument.uncertainty_mm, half_mm)
        yield from case.unlike(one, {"off": off})


def is_note(
    kind: str,
    note: str,
    face: str,
    hole: Hole,
    pins: Mapping[str, float],
    limits_mm: tuple[float, float],
    thickness_mm: float,
) -> bool:
    """Whether what is said of how to try it is so.

    face : from which; pins : diameters by name; limits_mm : of the hole's diameter
    thickness_mm : of the blank along the hole
    """
    if kind in ("go", "no-go"):
        return _is_pin_note(kind, note, hole, pins, limits_mm)
    if kind == "square":
        return hole.kind.is_true and note == "by a square against the pin"
    if kind.startswith("thread"):
        return hole.thread is not None and note == _thread_note(kind, hole)
    if kind == "countersink":
        mouth = hole.mouth if face == hole.face else hole.far
        angle = mouth.countersink.angle_deg if mouth.countersink is not None else 0.0
        return note == f"across the mouth, {angle:g} deg: the screw's head lies flush"
    if kind == "depth":
        return _is_depth_note(note, hole, thickness_mm)
    return not note


def _is_pin_note(
    kind: str, note: str, hole: Hole, pins: Mapping[str, float], limits_mm: tuple[float, float]
) -> bool:
    match = (_GO if kind == "go" else _NO_GO).fullmatch(note)
    if match is None or match["pin"] not in pins or hole.thread is not None:
        return False
    low, high = limits_mm
    size = pins[match["pin"]]
    if kind == "no-go":
        return size >= high - _SAME_MM
    low = low if hole.limits_um is not None else max(low, hole.diameter_mm)
    return size <= low + _SAME_MM and match["screw"] == (hole.screw or None)


def _thread_note(kind: str, hole: Hole) -> str:
    thread = hole.thread
    assert thread is not None  # asked before
    if kind == "thread no-go":
        return f"{thread.designation} stops within {_NO_GO_TURNS:g} turns"
    cut = [one.depth_mm for one in (hole.mouth.counterbore, hole.mouth.spotface) if one]
    widened = max([0.0, *cut, *(opened.depth_mm for opened in hole.opened)])
    how = "all the way"
    if not hole.is_through:
        how = f"{(hole.depth_mm - widened) / thread.pitch_mm:.1f} turns"
    return f"{thread.designation} goes {how}; without a gauge a new screw, by the fingers"


def _is_depth_note(note: str, hole: Hole, thickness_mm: float) -> bool:
    if hole.kind.has_flat_floor:
        return note == "by the depth rod"
    start = "by a pin of the hole's size, down to the drill's shoulder"
    if not hole.kind.is_as_drilled:
        return note == start
    match = re.fullmatch(start + r"; a floor of about (-?[0-9.]+) mm is left", note)
    point = hole.diameter_mm / 2 / math.tan(math.radians(59.0))
    deep = max(hole.depth_mm, hole.drill_depth_mm or 0.0) + point
    return match is not None and abs(float(match[1]) - (thickness_mm - deep)) <= _DEPTH_DIGIT_MM
