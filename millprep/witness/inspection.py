"""The second witness for inspection sheets: each reading is a true distance of the part.

Which readings are asked for is a choice, and not asked here. Imports the part, the shop and
`reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.lines import ReadRow, ReadSection, ReadSheet
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.witness.asked import check_heading_of, check_sound_words, complaint, unreadable
from millprep.witness.inspection_notes import is_note
from millprep.witness.lengths import (
    AXIS,
    COARSE_SHARE,
    FAR,
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
_SLACK_MM = 2e-6
_TRIED = ("go", "no-go", "thread go", "thread no-go", "square")
Fault = tuple[str, Said]


@frozen
class _Row(Length):
    """One reading of the sheet, in whichever form. limits : where those stand"""

    number: int
    limits: Said
    said: Said
    note: str
    is_mean: bool
    is_coarse: bool


@frozen
class _Case(Drawn):
    sheet: ReadSheet
    form: str


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
) -> list[Finding]:
    """How a finished inspection sheet differs from its part; empty when they agree.

    faces : that are measured, by number of the setup; setup : that one alone
    """
    complain = complaint(file)
    try:
        names = names_by_letters(hole=[hole.name for hole in part.holes])
        sheet = read_sheet(data, "inspection", form, names, table="places")
        case = _Case(part, shop, sheet, form)
        rows = [row for page in sheet.pages for row in _rows(case, page.sections, faces)]
    except UnreadableSheet as fault:
        return [unreadable("the sheet", fault, file)]
    faults = [*_numbers(rows, setup)]
    for row in rows:
        faults += _row_faults(case, row)
    whole = sheet.pages[0].whole
    if form != "csv":
        faults += _words(case, whole, rows)
    found = [complain(words, said) for words, said in faults]
    if form == "csv":
        return found
    found += check_heading_of(sheet, sheet.pages[0], part, complain, remarks=remarks)
    return [*found, *check_sound_words(whole, complain)]


def _rows(case: _Case, sections: Sequence[ReadSection], faces: Mapping[int, str]) -> Iterator[_Row]:
    """Raises UnreadableSheet."""
    for section in sections:
        labels = [said for said in section.said if "setup" in said.slots and "face" in said.slots]
        for label in labels:
            if faces.get(label.count("setup")) != label.face("face"):
                raise UnreadableSheet(f"{label['face']} is not setup {label['setup']}", label.line)
        for row in section.rows:
            yield _row(case, row, labels[0].face("face") if labels else "", faces)


def _row(case: _Case, row: ReadRow, face: str, faces: Mapping[int, str]) -> _Row:
    said, slots = row.said, row.said.slots
    limits = row.head if row.head is not None and row.head.group == "table tried" else said
    limits = row.head if row.head is not None and "least" in row.head.slots else limits
    is_data = case.form in ("json", "csv")
    if is_data:
        kind, face = str(slots["what"]), str(slots["face"]).lower()
        if faces.get(int(slots["setup"])) != face:
            raise UnreadableSheet(f"{face.upper()} is not setup {slots['setup']}", row.line)
        note, mean = str(slots["note"] or ""), slots.get("mean") == "mean"
        coarse = slots.get("is_coarse") == "yes"
        if case.form == "json":
            mean = slots["takes_mean"] == "yes"
            pins = tuple(float(one["diameter_mm"]) for one in slots["pins"] or ())
        else:
            shown = [said.mm(name) for name in ("pin", "to_pin") if slots[name]]
            pins = tuple(case.nearest_pin_mm(one) for one in shown)
        to = str(slots["to"] or "")
    else:
        head = row.head if row.head is not None and row.table == "tried" else said
        slug = head.slug.partition(" ")[2]
        kind = str(head.slots.get("what") or KINDS.get(slug, "opened"))
        note = str(head.slots.get("note") or "")
        to = str(slots.get("to") or head.slots.get("opened") or "")
        pins = tuple(case.pins.get(words, math.nan) for words in slots.get("pin_words") or ())
        mean, limits = bool(slots.get("mean")), head
        coarse = bool(head.slots.get("coarse"))
        if row.table == "tried" and (slots["box"] == "[ ]") != (kind in _TRIED):
            raise UnreadableSheet(f"check {slots['check']}: {slots['box']}", row.line)
    return _Row(
        kind,
        str(slots["hole"]),
        to,
        pins,
        face,
        int(slots["check"]),
        limits,
        said,
        note,
        bool(mean),
        coarse,
    )


def _numbers(rows: Sequence[_Row], setup: int | None) -> Iterator[Fault]:
    numbers = [row.number for row in rows]
    start = numbers[0] if setup is not None and numbers else 1
    for place, row in enumerate(rows, start):
        if row.number != place:
            yield f"check {place} is numbered {row.number}", row.said


def _row_faults(case: _Case, row: _Row) -> Iterator[Fault]:
    hole = case.holes.get(row.hole)
    if hole is None:
        yield f"the part has no hole {row.hole}", row.said
        return
    ends = {hole.face, FAR[hole.face]} if row.kind not in KINDS.values() else {hole.face}
    if row.face not in ends:
        yield f"{row.hole} is not on {row.face.upper()}", row.said
    if row.kind in _TRIED:
        if not _is_note(case, row, hole):
            yield f"check {row.number}, {row.hole}: {row.note}", row.limits
        return
    found = place_of(case, row, hole) if row.is_place else size_of(case, row, hole)
    if found is None:
        yield f"check {row.number}: {row.hole} has no {row.kind} {row.to}", row.said
        return
    expected, least, greatest, shake, _ = found
    yield from _figures(case, row, (expected, least, greatest))
    name = str(row.limits.slots.get("instrument") or row.said["instrument"])
    instrument = instrument_of(case.shop, name)
    if instrument is None:
        yield f"check {row.number}: no {name} reads that", row.said
        return
    by = measured_by(case.shop, row.kind, found) if row.is_place else None
    if (name, row.is_mean) != (by or (sized_by(case.shop, row.kind, hole), False)):
        yield f"check {row.number}: {name}{', mean' if row.is_mean else ''}", row.said
    off = instrument.uncertainty_mm + (0.0 if row.is_mean else shake)
    is_coarse = off > COARSE_SHARE * (greatest - least) + 1e-9
    if case.form != "csv" and is_coarse != row.is_coarse:
        yield f"check {row.number}: whether {name} is coarse is told amiss", row.said
    if not row.is_place and row.note and not _is_note(case, row, hole):
        yield f"check {row.number}, {row.hole}: {row.note}", row.limits


def _figures(case: _Case, row: _Row, right: tuple[float, float, float]) -> Iterator[Fault]:
    """Expected rounded once, limits inwards; in CSV all in full."""
    units, slots = case.sheet.units, row.limits.slots
    name = str(slots.get("instrument") or row.said["instrument"])
    count = _COUNT_MM["calliper" if name == "calliper" else "finer"][units]
    figures = dict(zip(("expected", "least", "greatest"), right, strict=True))
    for slot, exact in figures.items():
        if slots.get(slot) is None:
            if slot != "expected" or row.is_place:
                yield f"check {row.number}: no {slot}", row.said
            continue
        told = row.limits.mm(slot)
        over = {"least": told - exact, "greatest": exact - told}.get(slot)
        if case.form == "csv":
            is_so = abs(told - exact) <= IN_FULL_MM + _SLACK_MM
        elif over is None:
            is_so = abs(told - exact) <= count / 2 + _SLACK_MM
        else:
            is_so = -_SLACK_MM <= over <= count * (1 - 1e-6) + _SLACK_MM
        if not is_so:
            yield f"check {row.number}, {row.hole}: {slot} is {exact:.4f} mm", row.said
        if slots.get(f"{slot}_mm") is not None and abs(float(slots[f"{slot}_mm"]) - exact) > 2e-6:
            yield f"check {row.number}, {row.hole}: {slot}_mm is {exact:.6f}", row.said


def _is_note(case: _Case, row: _Row, hole: Hole) -> bool:
    """Whether what is said of how to try it is so."""
    _, low, high = diameter_of(case, hole)
    thickness = case.part.stock.size_mm[AXIS[hole.face]]
    return is_note(row.kind, row.note, row.face, hole, case.pins, (low, high), thickness)


def _words(case: _Case, whole: ReadSection, rows: Sequence[_Row]) -> Iterator[Fault]:
    """What stands around the readings."""
    title = case.sheet.pages[0].title
    pinned = {
        pin for row in rows if row.kind not in ("edge to hole", "rim to hole") for pin in row.pins
    }
    due = dict.fromkeys(
        (
            "inspected",
            "first-deburr",
            "first-warm",
            "first-square",
            "instruments-used",
            "or",
            "then",
            "assumed-inspection",
        ),
        1,
    )
    due |= dict.fromkeys(("pins", "pins-largest", "pins-half", "pins-mean"), int(bool(pinned)))
    for slug, count in due.items():
        if len(whole.all(slug)) != count:
            yield f"{len(whole.all(slug))} sentences of {slug}", title
    for said in whole.all("pins"):
        told = [case.pins.get(words, math.nan) for words in said["pins"]]
        if {*told} != pinned or told != sorted(told):
            yield f"PINS names {', '.join(said['pins'])}", said
    for said in whole.all("instruments-used"):
        yield from _with(case, said, rows)
    usual = any(_is_usual(case, row) for row in rows)
    disc = case.part.stock.axis
    is_disc = disc is not None and any(AXIS[h.face] == disc for h in case.part.holes)
    for said in whole.all("assumed-inspection"):
        if (bool(said["usual"]), bool(said["disc"])) != (usual, is_disc):
            yield f"ASSUMED says {said.text}", said


def _is_usual(case: _Case, row: _Row) -> bool:
    """Whether the limits of a reading are not the drawing's."""
    if row.kind in _TRIED:
        return False
    ends = [case.holes.get(row.hole), case.holes.get(row.to)]
    if row.is_place:
        return any(
            one.position_mm is None
            and one.tolerance_mm is None
            and case.part.general_tolerance_mm is None
            for one in ends
            if one is not None
        )
    return row.kind != "size" or ends[0] is None or ends[0].limits_um is None


def _with(case: _Case, said: Said, rows: Sequence[_Row]) -> Iterator[Fault]:
    digit = _COUNT_MM["finer"][case.sheet.units]
    used = {
        str(row.limits.slots.get("instrument") or row.said.slots.get("instrument") or "")
        for row in rows
    }
    told = [str(one["name"]) for one in said.parts("with_instruments")]
    needed = {name for name in used if name and name != "pins"}
    needed |= {"thread gauge"} if any(row.kind.startswith("thread") for row in rows) else set()
    needed |= {"square"} if any(row.kind == "square" for row in rows) else set()
    if {*told} != needed or len({*told}) != len(told):
        yield f"WITH names {', '.join(told)}", said
    for one in said.parts("with_instruments"):
        instrument = instrument_of(case.shop, str(one["name"]))
        off = one.mm("off") if one.has("off") else None
        right = None if instrument is None else instrument.uncertainty_mm
        if (off is None) != (right is None) or (
            off is not None and right is not None and abs(off - right) > digit / 2 + _SLACK_MM
        ):
            yield f"{one['name']} is {off} mm off", said
