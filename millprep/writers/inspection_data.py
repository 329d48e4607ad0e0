"""The verdicts on a piece as JSON and as CSV. Lays a sheet out."""

from __future__ import annotations

from typing import Any

from millprep.base.findings import findings_json
from millprep.base.outfile import BLANK_MARK
from millprep.base.plain_text import csv_text
from millprep.inspection.limits import Limits
from millprep.inspection.verdicts import HoleVerdict
from millprep.sheets.inspection import ReadingLine, VerdictSheet

VERDICT_COLUMNS = (
    "part_mark", "piece", "date", "setup", "face", "hole", "unit", "dx", "dy", "true_position",
    "zone", "allowed", "size", "place_verdict", "size_verdict", "thread_verdict", "verdict",
)  # fmt: skip
_EXACT_DECIMALS = 6


def _exact(value_mm: float | None) -> float | None:
    return None if value_mm is None else round(value_mm, _EXACT_DECIMALS) + 0.0


def _limits_json(limits: Limits | None) -> list[float | None]:
    if limits is None:
        return [None, None]
    return [_exact(limits.least_mm), _exact(limits.greatest_mm)]


# with measurements


def _hole_json(one: HoleVerdict) -> dict[str, Any]:
    place, size = one.place, one.size
    least, greatest = _limits_json(size.limits)
    return {
        "hole": one.hole.name,
        "verdict": one.verdict,
        "setup": one.setup,
        "face": one.hole.face,
        "true_position_mm": _exact(place.true_position_mm),
        "allowed_mm": _exact(place.zone.width_mm + place.bonus_mm),
        "zone": _zone(one),
        "bonus_mm": _exact(place.bonus_mm),
        "dx_mm": _exact(place.dx_mm),
        "dy_mm": _exact(place.dy_mm),
        "uncertainty_mm": _exact(place.uncertainty_mm),
        "place_verdict": place.verdict,
        "size_mm": _exact(size.size_mm),
        "size_least_mm": least,
        "size_greatest_mm": greatest,
        "size_verdict": size.verdict,
        "fit": size.fit_words,
        "thread_verdict": one.thread,
        "tolerance_from": place.zone.basis,
        "not_measured": list(one.not_measured),
    }


def _reading_json(line: ReadingLine) -> dict[str, Any]:
    check, reading = line.judged.check, line.judged.reading
    least, greatest = _limits_json(check.limits if reading.value_mm is not None else None)
    return {
        "check": check.number or None,
        "line": reading.line,
        "what": check.kind,
        "hole": check.hole,
        "to": check.to,
        "reading_mm": _exact(reading.value_mm),
        "answer": reading.answer,
        "turns": reading.turns,
        "least_mm": least,
        "greatest_mm": greatest,
        "verdict": line.judged.verdict,
    }


def verdict_json(sheet: VerdictSheet) -> dict[str, Any]:
    """The verdicts as one JSON object; `mark` holds the blank mark of `outfile`."""
    return {
        "part": sheet.part,
        "drawing": sheet.drawing,
        "part_mark": sheet.mark,
        "units": sheet.units,
        "piece": sheet.piece,
        "date": sheet.date,
        "measured": sheet.source,
        "findings": findings_json(sheet.findings),
        "holes": [_hole_json(line.judged) for line in sheet.holes],
        "readings": [_reading_json(line) for line in sheet.readings],
        "assumed": list(sheet.assumed),
        "mark": BLANK_MARK,
    }


def verdict_rows(sheet: VerdictSheet, *, measured_only: bool = False) -> list[list[object]]:
    """A row a hole, as the file of results keeps them."""
    rows = []
    for line in sheet.holes:
        one = line.judged
        if measured_only and one.verdict == "not measured":
            continue
        rows.append(
            [
                sheet.mark,
                sheet.piece,
                sheet.date,
                one.setup,
                one.hole.face,
                one.hole.name,
                sheet.units,
                _cell(line.dx),
                _cell(line.dy),
                _cell(line.true_position),
                _zone(one),
                line.allowed.split()[-1],
                _cell(line.size),
                one.place.verdict,
                one.size.verdict,
                one.thread,
                one.verdict,
            ]
        )
    return rows


def _zone(one: HoleVerdict) -> str:
    return "diameter" if one.place.zone.is_round else "plus and minus"


def _cell(value: object) -> str:
    return "" if value is None else str(value)


def verdict_csv(sheet: VerdictSheet) -> str:
    """One row a hole, header first."""
    return csv_text([VERDICT_COLUMNS, *verdict_rows(sheet)])
