"""The second witness for inspection sheets: each reading is a true distance of the part.

Over pins, M = C + (d1 + d2) / 2 and the like, from centres and faces in the part's own axes; what
may be read follows from the zones along the direction of the reading. Which readings are asked for
is a choice, and not asked here. Imports the part, the shop, the tables and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Hole, Mouth, Part
from millprep.model.shop import Instrument, Shop
from millprep.model.tools import Cutter
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.lines import ReadRow, ReadSection, ReadSheet
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.reference.drills import drilled_limits_mm, oversize_mm
from millprep.reference.fits import hole_limits_um
from millprep.witness.asked import check_heading_of, check_sound_words, complaint, unreadable
from millprep.witness.inspection_notes import is_note

_AXIS = {"left": 0, "right": 0, "front": 1, "back": 1, "bottom": 2, "top": 2}
_FAR = {"left": "right", "front": "back", "bottom": "top"}
_FAR |= {high: low for low, high in _FAR.items()}
_HIGH = ("right", "back", "top")
_USUAL = ((6.0, 0.1), (30.0, 0.2), (120.0, 0.3), (400.0, 0.5), (1000.0, 0.8), (2000.0, 1.2))
"""Up to a length, plus or minus [mm]. Source: ISO 2768-1, class m."""
_COUNT_MM = {
    "calliper": {"mm": 0.01, "inch": 0.0005 * 25.4},
    "finer": {"mm": 0.001, "inch": 0.0001 * 25.4},
}
"""What instruments show (common practice)."""
_COARSE_SHARE = 0.25  # of the tolerance (common practice)
_SLACK_MM = 2e-6
_IN_FULL_MM = 1.2e-4  # figures of CSV in either unit, with the pins of theirs
_KINDS = {
    "edge-to-pin": "edge to pin", "edge-to-hole": "edge to hole", "rim-to-hole": "rim to hole",
    "rim-to-pin": "rim to pin",
}  # fmt: skip
_ON_PINS = ("over pins", "between pins")
_TRIED = ("go", "no-go", "thread go", "thread no-go", "square")
_LEAST_JAWS_MM = 5.0  # inner jaws do not go into smaller holes (common practice)
_PIN_STEP_MM = 0.5  # one that is thinner than that is no pin for its hole
Span = tuple[float, float]
Fault = tuple[str, Said]
Right = tuple[float, float, float, float, float]
"""Expected, least, greatest; what the pins shake; the width of the narrower zone [mm]."""


@frozen
class _Row:
    """One reading of the sheet, in whichever form. limits : where those stand"""

    number: int
    kind: str
    hole: str
    to: str
    pins: tuple[float, ...]
    limits: Said
    said: Said
    face: str
    note: str
    is_mean: bool
    is_coarse: bool


@frozen
class _Case:
    part: Part
    shop: Shop
    sheet: ReadSheet
    form: str

    @cached_property
    def holes(self) -> Mapping[str, Hole]:
        return {hole.name: hole for hole in self.part.holes}

    @cached_property
    def pins(self) -> Mapping[str, float]:
        tools: tuple[Cutter, ...] = (*self.shop.instruments.pins, *self.shop.cabinet.drills)
        return {tool.words: tool.diameter_mm for tool in tools}

    def nearest_pin_mm(self, told_mm: float) -> float:
        """The pin that a figure in either unit tells."""
        return min(self.pins.values(), key=lambda size: abs(size - told_mm), default=math.nan)

    def face_mm(self, face: str) -> float:
        return self.part.stock.size_mm[_AXIS[face]] if face in _HIGH else 0.0

    def usual_mm(self, length_mm: float) -> float:
        return next((off for up_to, off in _USUAL if abs(length_mm) <= up_to), _USUAL[-1][1])

    def zone(self, hole: Hole) -> tuple[float, bool]:
        """(half, is round) of where the centre may lie [mm]."""
        if hole.position_mm is not None:
            return hole.position_mm / 2, True
        own = hole.tolerance_mm
        given = own if own is not None else self.part.general_tolerance_mm
        if given is not None:
            return given, False
        away = []
        for axis in {0, 1, 2} - {_AXIS[hole.face]}:
            datum, size = self.part.datum[axis], self.part.stock.size_mm[axis]
            at = size / 2 if datum == "centre" else self.face_mm(str(datum))
            away.append(abs(hole.centre_mm[axis] - at))
        return self.usual_mm(max(away)), False

    def reach_mm(self, hole: Hole, along: Sequence[float]) -> float:
        """How far its centre may go along a direction of length 1."""
        half, is_round = self.zone(hole)
        return half if is_round else half * sum(map(abs, along))


def least_and_expected_mm(hole: Hole) -> Span:
    """The hole that a pin goes into: at its least, and as it is expected."""
    size = hole.diameter_mm
    if hole.thread is not None:
        drill = hole.thread.tap_drill_mm
        return drill, drill + oversize_mm(drill)
    if hole.limits_um is not None:
        return size + hole.limits_um[0] / 1000, size + hole.limits_um[1] / 1000
    if hole.kind.is_true:
        return size, size + hole_limits_um(size, "H7")[1] / 1000
    return size, size + oversize_mm(size)


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
        kind = str(head.slots.get("what") or _KINDS.get(slug, "opened"))
        note = str(head.slots.get("note") or "")
        to = str(slots.get("to") or head.slots.get("opened") or "")
        pins = tuple(case.pins.get(words, math.nan) for words in slots.get("pin_words") or ())
        mean, limits = bool(slots.get("mean")), head
        coarse = bool(head.slots.get("coarse"))
        if row.table == "tried" and (slots["box"] == "[ ]") != (kind in _TRIED):
            raise UnreadableSheet(f"check {slots['check']}: {slots['box']}", row.line)
    return _Row(
        int(slots["check"]), kind, str(slots["hole"]), to, pins, limits, said, face, note,
        bool(mean), coarse,
    )  # fmt: skip


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
    ends = {hole.face, _FAR[hole.face]} if row.kind not in _KINDS.values() else {hole.face}
    if row.face not in ends:
        yield f"{row.hole} is not on {row.face.upper()}", row.said
    if row.kind in _TRIED:
        if not _is_note(case, row, hole):
            yield f"check {row.number}, {row.hole}: {row.note}", row.limits
        return
    found = _place(case, row, hole) if _is_place(row) else _size(case, row, hole)
    if found is None:
        yield f"check {row.number}: {row.hole} has no {row.kind} {row.to}", row.said
        return
    expected, least, greatest, shake, _ = found
    yield from _figures(case, row, (expected, least, greatest))
    name = str(row.limits.slots.get("instrument") or row.said["instrument"])
    instrument = _instrument(case.shop, name)
    if instrument is None:
        yield f"check {row.number}: no {name} reads that", row.said
        return
    by = _measured_by(case.shop, row.kind, found) if _is_place(row) else None
    if (name, row.is_mean) != (by or (_sized_by(case.shop, row.kind, hole), False)):
        yield f"check {row.number}: {name}{', mean' if row.is_mean else ''}", row.said
    off = instrument.uncertainty_mm + (0.0 if row.is_mean else shake)
    is_coarse = off > _COARSE_SHARE * (greatest - least) + 1e-9
    if case.form != "csv" and is_coarse != row.is_coarse:
        yield f"check {row.number}: whether {name} is coarse is told amiss", row.said
    if not _is_place(row) and row.note and not _is_note(case, row, hole):
        yield f"check {row.number}, {row.hole}: {row.note}", row.limits


def _is_place(row: _Row) -> bool:
    return row.kind in (*_ON_PINS, *_KINDS.values())


def _instrument(shop: Shop, name: str) -> Instrument | None:
    tools = shop.instruments
    known = {
        "calliper": tools.calliper, "micrometer": tools.micrometer, "bore gauge": tools.bore_gauge,
    }  # fmt: skip
    return known.get(name)


def _measured_by(shop: Shop, kind: str, right: Right) -> tuple[str, bool]:
    """By what, and whether the mean of two readings counts, which takes the shake of pins out."""
    length, _, _, shake, finest = right
    if kind == "between pins":
        return "calliper", True
    if kind in ("edge to hole", "rim to hole"):
        return "calliper", False
    tools, enough = shop.instruments, _COARSE_SHARE * finest + 1e-6
    named = (("calliper", tools.calliper), ("micrometer", tools.micrometer))
    able = [(name, one.uncertainty_mm) for name, one in named if length <= one.largest_mm + 1e-6]
    for name, off in able:
        if off <= enough:
            return name, off + shake > enough
    name, off = min(able, key=lambda pair: pair[1], default=("none", 0.0))
    return name, shake > _COARSE_SHARE * off


def _sized_by(shop: Shop, kind: str, hole: Hole) -> str:
    """By jaws and rod of the calliper, but for bores that are too small or too close for them."""
    tools, size = shop.instruments, hole.diameter_mm
    if kind != "size":
        return "calliper"
    width = 0.0 if hole.limits_um is None else (hole.limits_um[1] - hole.limits_um[0]) / 1000
    off = tools.calliper.uncertainty_mm
    is_fine = hole.limits_um is None or off <= _COARSE_SHARE * width + 1e-6
    if is_fine and _LEAST_JAWS_MM - 1e-6 <= size <= tools.calliper.largest_mm:
        return "calliper"
    return "bore gauge" if size <= tools.bore_gauge.largest_mm else "calliper"


def _figures(case: _Case, row: _Row, right: tuple[float, float, float]) -> Iterator[Fault]:
    """Expected rounded once, limits inwards; in CSV all in full."""
    units, slots = case.sheet.units, row.limits.slots
    name = str(slots.get("instrument") or row.said["instrument"])
    count = _COUNT_MM["calliper" if name == "calliper" else "finer"][units]
    figures = dict(zip(("expected", "least", "greatest"), right, strict=True))
    for slot, exact in figures.items():
        if slots.get(slot) is None:
            if slot != "expected" or _is_place(row):
                yield f"check {row.number}: no {slot}", row.said
            continue
        told = row.limits.mm(slot)
        over = {"least": told - exact, "greatest": exact - told}.get(slot)
        if case.form == "csv":
            is_so = abs(told - exact) <= _IN_FULL_MM + _SLACK_MM
        elif over is None:
            is_so = abs(told - exact) <= count / 2 + _SLACK_MM
        else:
            is_so = -_SLACK_MM <= over <= count * (1 - 1e-6) + _SLACK_MM
        if not is_so:
            yield f"check {row.number}, {row.hole}: {slot} is {exact:.4f} mm", row.said
        if slots.get(f"{slot}_mm") is not None and abs(float(slots[f"{slot}_mm"]) - exact) > 2e-6:
            yield f"check {row.number}, {row.hole}: {slot}_mm is {exact:.6f}", row.said


def _place(case: _Case, row: _Row, hole: Hole) -> Right | None:
    """Of a reading that says where a hole is."""
    ends, pins = [hole], row.pins
    if row.kind in _ON_PINS:
        other = case.holes.get(row.to)
        if other is None or other is hole or other.face != hole.face:
            return None
        ends.append(other)
    is_wall = row.kind in ("edge to hole", "rim to hole")
    if is_wall:
        least, expected = least_and_expected_mm(hole)
        pins = ((least + expected) / 2,)
        shake = expected - least
    else:
        if len(pins) != len(ends) or not all(map(_goes_in, pins, ends)):
            return None
        wide = [least_and_expected_mm(one)[1] for one in ends]
        shake = sum(a - b for a, b in zip(wide, pins, strict=True))
    found = _distance(case, row, ends)
    if found is None:
        return None
    distance, along = found
    added = sum(pins) / 2 * (-1 if is_wall or row.kind == "between pins" else 1)
    reaches = [case.reach_mm(one, along) for one in ends]
    half, reading = sum(reaches), distance + added
    return reading, reading - half, reading + half, shake / 2, 2 * min(reaches)


def _goes_in(pin_mm: float, hole: Hole) -> bool:
    least, _ = least_and_expected_mm(hole)
    return least - _PIN_STEP_MM - _IN_FULL_MM <= pin_mm <= least + _IN_FULL_MM


def _distance(
    case: _Case, row: _Row, ends: Sequence[Hole]
) -> tuple[float, tuple[float, ...]] | None:
    """How far apart, and in which direction of the face's two axes."""
    hole = ends[0]
    axes = [axis for axis in range(3) if axis != _AXIS[hole.face]]
    here = [hole.centre_mm[axis] for axis in axes]
    if len(ends) > 1:
        there = [ends[1].centre_mm[axis] for axis in axes]
    elif row.kind.startswith("rim"):
        if case.part.stock.axis != _AXIS[hole.face]:
            return None
        there = [case.part.stock.size_mm[axis] / 2 for axis in axes]
    else:
        face = row.to.lower()
        if face not in _AXIS or _AXIS[face] not in axes:
            return None
        along = tuple(1.0 if axis == _AXIS[face] else 0.0 for axis in axes)
        return abs(hole.centre_mm[_AXIS[face]] - case.face_mm(face)), along
    way = [a - b for a, b in zip(here, there, strict=True)]
    apart = math.hypot(*way)
    if apart < 1e-9:
        return None
    unit = tuple(one / apart for one in way)
    if row.kind.startswith("rim"):
        return case.part.stock.size_mm[axes[0]] / 2 - apart, unit
    return apart, unit


def _size(case: _Case, row: _Row, hole: Hole) -> Right | None:
    """Of a diameter or depth of one hole."""
    if row.kind == "size":
        return None if hole.thread is not None else (*_diameter(case, hole), 0.0, 0.0)
    mouth = hole.mouth if row.face == hole.face else hole.far
    length = {
        "depth": None if hole.is_through else hole.depth_mm,
        "opened": next((o.diameter_mm for o in hole.opened if o.words == row.to), None),
        **_mouth(mouth),
    }.get(row.kind)
    if length is None:
        return None
    usual = case.usual_mm(length)
    return length, length - usual, length + usual, 0.0, 0.0


def _mouth(mouth: Mouth) -> dict[str, float | None]:
    recess, face, cone = mouth.counterbore, mouth.spotface, mouth.countersink
    return {
        "counterbore": None if recess is None else recess.diameter_mm,
        "counterbore depth": None if recess is None else recess.depth_mm,
        "spotface": None if face is None else face.diameter_mm,
        "countersink": None if cone is None else cone.diameter_mm,
    }


def _diameter(case: _Case, hole: Hole) -> tuple[float, float, float]:
    size = hole.diameter_mm
    if hole.limits_um is not None:
        low, high = (size + limit / 1000 for limit in hole.limits_um)
        return (low + high) / 2, low, high
    drilled = drilled_limits_mm(size) if hole.kind.is_as_drilled else None
    low, high = drilled or (size - case.usual_mm(size), size + case.usual_mm(size))
    return size, low, high


def _is_note(case: _Case, row: _Row, hole: Hole) -> bool:
    """Whether what is said of how to try it is so."""
    _, low, high = _diameter(case, hole)
    thickness = case.part.stock.size_mm[_AXIS[hole.face]]
    return is_note(row.kind, row.note, row.face, hole, case.pins, (low, high), thickness)


def _words(case: _Case, whole: ReadSection, rows: Sequence[_Row]) -> Iterator[Fault]:
    """What stands around the readings."""
    title = case.sheet.pages[0].title
    pinned = {
        pin for row in rows if row.kind not in ("edge to hole", "rim to hole") for pin in row.pins
    }
    due = dict.fromkeys(
        ("inspected", "first-deburr", "first-warm", "first-square", "instruments-used", "or",
         "then", "assumed-inspection"), 1,
    )  # fmt: skip
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
    is_disc = disc is not None and any(_AXIS[h.face] == disc for h in case.part.holes)
    for said in whole.all("assumed-inspection"):
        if (bool(said["usual"]), bool(said["disc"])) != (usual, is_disc):
            yield f"ASSUMED says {said.text}", said


def _is_usual(case: _Case, row: _Row) -> bool:
    """Whether the limits of a reading are not the drawing's."""
    if row.kind in _TRIED:
        return False
    ends = [case.holes.get(row.hole), case.holes.get(row.to)]
    if _is_place(row):
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
        instrument = _instrument(case.shop, str(one["name"]))
        off = one.mm("off") if one.has("off") else None
        right = None if instrument is None else instrument.uncertainty_mm
        if (off is None) != (right is None) or (
            off is not None and right is not None and abs(off - right) > digit / 2 + _SLACK_MM
        ):
            yield f"{one['name']} is {off} mm off", said
