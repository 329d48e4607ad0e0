"""The verdicts on a piece that was measured, each figure rounded once. Imports layers 0 to 4."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.base.units import Units, in_units, round_to
from millprep.inspection import Inspection
from millprep.inspection.judging import Judged
from millprep.inspection.limits import Limits
from millprep.inspection.verdicts import CheckVerdict, HoleVerdict, MeasuredBore
from millprep.model.readings import Readings
from millprep.sheets.document import Column, Document, Page, Row, Sayer, Section, Sentence, Table
from millprep.sheets.heading import remarks_field
from millprep.sheets.inspection import FINER, assumed_sentence, assumed_words, exact_mm

VERDICT_COLUMNS = (
    "part_mark", "piece", "date", "setup", "face", "hole", "unit", "dx", "dy", "true_position",
    "zone", "allowed", "size", "place_verdict", "size_verdict", "thread_verdict", "verdict",
)  # fmt: skip
_FIGURES = (
    Column(8, right=True, gap=0),
    Column(8, right=True, gap=0),
    Column(10, right=True, gap=0),
    Column(12, right=True, gap=0),
    Column(gap=2),
)
_LONGEST = 22  # letters of a name with its figures beside it
_say = Sayer("verdict")


@frozen
class Piece:
    """What was measured, and when.

    path   : of what was measured, as the user gave it
    at_mmc : whether zones of position gain what a hole is above its least size
    """

    name: str
    date: str
    path: str
    at_mmc: bool = False


def make_verdict_sheet(
    inspection: Inspection,
    judged: Judged,
    given: Readings | None,
    piece: Piece,
    units: Units,
    findings: Sequence[Finding],
) -> Document:
    """The verdicts in a unit. given : the readings; None where places were read on the readout."""
    part = inspection.part
    heading = _measured(inspection, given, piece)
    rows = tuple(_hole_row(one, part.mark, piece, units) for one in judged.holes)
    doubtful = [one for one in judged.readings if one.verdict != "in"]
    label = "READINGS that are {_which:not in/in}"
    readings = _say.field(label, *(_reading(one, units) for one in doubtful), _which="not in")
    closing = (
        _say.field("VERDICT", _totals(judged)),
        _say.field("ASSUMED", assumed_sentence(_say, inspection, inspection.checks)),
        remarks_field(_say, findings),
    )
    sections = (
        Section((_table(rows),)),
        *([Section((readings,))] if doubtful else []),
        Section(tuple(field for field in closing if field is not None)),
    )
    title = _say("verdict-title", part=part.name, piece=piece.name, date=piece.date)
    marked = _say("marked", drawing=part.drawing or None, part_mark=part.mark, units=units)
    also = {
        "drawing": part.drawing,
        "measured": str(heading),
        "readings": [_reading_json(one) for one in judged.readings],
        "assumed": list(assumed_words(inspection, inspection.checks)),
    }
    page = Page(title, (marked, heading), sections)
    csv = ("holes", VERDICT_COLUMNS)
    return Document("verdict", units, (page,), tuple(findings), also=also, csv=csv)


def measured_rows(document: Document) -> list[Sequence[object]]:
    """The rows of CSV of what was measured, to be kept."""
    tables = [item for section in document.pages[0].sections for item in section.items]
    rows = [row.csv for table in tables if isinstance(table, Table) for row in table.rows]
    return [
        [row[column] for column in VERDICT_COLUMNS]
        for row in rows
        if row["verdict"] != "not measured"
    ]


def _measured(inspection: Inspection, given: Readings | None, piece: Piece) -> Sentence:
    material = "maximum" if piece.at_mmc else None
    if given is None:
        off = f"{inspection.shop.instruments.readout_mm:g} mm"
        return _say("by-places", readout_off=off, file=piece.path, material=material)
    return _say(
        "by-readings",
        reading_count=len(given.readings),
        file=piece.path,
        empty_count=given.empty or None,
        material=material,
    )


def _shown(value_mm: float | None, units: Units) -> Decimal | None:
    """To the micron, or the ten thousandth of an inch."""
    return None if value_mm is None else round_to(in_units(value_mm, units), FINER[units])


def _table(rows: tuple[Row, ...]) -> Table:
    """The holes; a long name has a line of its own."""
    width = min(max([4, *(len(row.cells.cells[0]) for row in rows)]), _LONGEST)
    head = _say("holes head", x_axis="x", y_axis="y")
    return Table("holes", head, rows, (Column(width, gap=0), *_FIGURES), boxes=False)


def _hole_row(one: HoleVerdict, mark: str, piece: Piece, units: Units) -> Row:
    place, zone = one.place, one.place.zone
    allowed_mm = zone.width_mm + place.bonus_mm if zone.is_round else zone.half_mm
    figures = {
        "dx": _shown(place.dx_mm, units),
        "dy": _shown(place.dy_mm, units),
        "true_position": _shown(place.true_position_mm, units),
        "allowed": _shown(allowed_mm, units),
    }
    slots: dict[str, Any] = {
        **figures,
        "hole": one.hole.name,
        "zone": "diameter" if zone.is_round else "plus and minus",
        "verdict": one.verdict,
    }
    known = ("placed", "along-x", "along-y", "unplaced")
    slug = known[2 * (place.dx_mm is None) + (place.dy_mm is None)]
    cells = _say(f"holes {slug}", **slots)
    csv = {
        **slots,
        "part_mark": mark,
        "piece": piece.name,
        "date": piece.date,
        "setup": one.setup,
        "face": one.hole.face,
        "unit": units,
        "size": _shown(one.size.size_mm, units),
        "place_verdict": place.verdict,
        "size_verdict": one.size.verdict,
        "thread_verdict": one.thread,
    }
    named = {slot.name for slot in cells.template.slots}
    also = {name: value for name, value in _hole_json(one, figures).items() if name not in named}
    empty = {name: "" if value is None else value for name, value in csv.items()}
    return Row(cells, tuple(_below(one, units)), also=also, csv=empty)


def _hole_json(one: HoleVerdict, figures: dict[str, Decimal | None]) -> dict[str, Any]:
    place, size = one.place, one.size
    bore = None if size.bore is None else str(_say("bore", **_bore(size.bore)))
    return {
        **{name: None if value is None else float(value) for name, value in figures.items()},
        "setup": one.setup,
        "face": one.hole.face,
        "true_position_mm": exact_mm(place.true_position_mm),
        "allowed_mm": exact_mm(place.zone.width_mm + place.bonus_mm),
        "bonus_mm": exact_mm(place.bonus_mm),
        "dx_mm": exact_mm(place.dx_mm),
        "dy_mm": exact_mm(place.dy_mm),
        "uncertainty_mm": exact_mm(place.uncertainty_mm),
        "place_verdict": place.verdict,
        "size_mm": exact_mm(size.size_mm),
        "size_least_mm": _ends_mm(size.limits)[0],
        "size_greatest_mm": _ends_mm(size.limits)[1],
        "size_verdict": size.verdict,
        "fit": bore or "",
        "thread_verdict": one.thread,
        "tolerance_from": place.zone.basis,
        "not_measured": list(one.not_measured),
    }


def _ends_mm(limits: Limits | None) -> tuple[float | None, float | None]:
    if limits is None:
        return None, None
    return exact_mm(limits.least_mm), exact_mm(limits.greatest_mm)


def _ends(limits: Limits | None, units: Units, names: str) -> dict[str, Decimal | None]:
    """Least and greatest as shown, by the names of their slots."""
    least, greatest = names.split()
    ends = (None, None) if limits is None else (limits.least_mm, limits.greatest_mm)
    return {least: _shown(ends[0], units), greatest: _shown(ends[1], units)}


def _below(one: HoleVerdict, units: Units) -> Iterator[Sentence]:
    """Its size and its thread."""
    size = one.size
    slots: dict[str, Any] = _ends(size.limits, units, "size_least size_greatest")
    if size.size_mm is not None and size.limits is None:  # of a thread
        yield _say("hole-width", size=_shown(size.size_mm, units))
    elif size.size_mm is not None:
        bore = None if size.bore is None else _bore(size.bore)
        shown = _shown(size.size_mm, units)
        yield _say("hole-size", size=shown, size_verdict=size.verdict, bore=bore, **slots)
    elif size.verdict != "not measured":
        yield _say("hole-pins", size_verdict=size.verdict, **slots)
    if one.thread != "not measured":
        yield _say("hole-thread", thread=one.hole.words, thread_verdict=one.thread)


def _bore(bore: MeasuredBore) -> dict[str, Any]:
    pins = [
        {"shaft": shaft, "least_um": _um(least), "greatest_um": _um(greatest)}
        for shaft, least, greatest in bore.pins
    ]
    return {
        "class": bore.fit,
        "class_least": _um(bore.class_um[0]),
        "class_greatest": _um(bore.class_um[1]),
        "deviation": _um(bore.over_um),
        "pin_fits": pins or None,
    }


def _um(deviation_um: float) -> str:
    """A deviation with its sign, to the micron; nothing has none."""
    text = f"{deviation_um:+.0f}"
    return "0" if text in ("+0", "-0") else text


def _reading(one: CheckVerdict, units: Units) -> Sentence:
    check, reading = one.check, one.reading
    slots: dict[str, Any] = {
        "check": check.number,
        "what": check.kind,
        "hole": check.hole,
        "to": check.to or None,
        "verdict": one.verdict,
    }
    if reading.value_mm is not None:
        slots |= _ends(check.limits, units, "least greatest")
        return _say("read-length", reading=_shown(reading.value_mm, units), **slots)
    if reading.turns is not None:
        return _say("read-turns", turns=f"{reading.turns:g}", **slots)
    return _say("read-answer", answer="yes" if reading.answer else "no", **slots)


def _reading_json(one: CheckVerdict) -> dict[str, Any]:
    check, reading = one.check, one.reading
    least, greatest = _ends_mm(check.limits if reading.value_mm is not None else None)
    return {
        "check": check.number or None,
        "line": reading.line,
        "what": check.kind,
        "hole": check.hole,
        "to": check.to,
        "reading_mm": exact_mm(reading.value_mm),
        "answer": reading.answer,
        "turns": reading.turns,
        "least_mm": least,
        "greatest_mm": greatest,
        "verdict": one.verdict,
    }


def _totals(judged: Judged) -> Sentence:
    """How many holes are in, out, and neither."""
    counts = Counter(one.verdict for one in judged.holes)
    return _say(
        "totals",
        in_count=counts["in"],
        hole_count=len(judged.holes),
        out_count=counts["out"] or None,
        beyond_count=counts["beyond usual"] or None,
        open_count=counts["not decidable"] or None,
        missing_count=counts["not measured"] or None,
        _out="out" if counts["out"] else None,
        _beyond="beyond usual" if counts["beyond usual"] else None,
        _open="not decidable" if counts["not decidable"] else None,
        _missing="not measured" if counts["not measured"] else None,
    )
