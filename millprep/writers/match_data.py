"""The as-drilled sheet as JSON, and its coordinates as CSV. Lays a match sheet out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from millprep.base.findings import findings_json
from millprep.base.outfile import BLANK_MARK
from millprep.base.plain_text import csv_text
from millprep.sheets.match import MatchRow, MatchSheet

CSV_COLUMNS = ("hole", "x", "y", "unit", "note")
_EXACT_DECIMALS = 9


def match_json(sheet: MatchSheet) -> dict[str, Any]:
    """The sheet as one JSON object, exact, in setup axes; `mark` holds the blank mark."""
    match = sheet.match
    fit, mate = match.fit, match.mate
    return {
        "part": sheet.part,
        "drawing": sheet.drawing,
        "part_mark": sheet.mark,
        "measured": sheet.measured_file,
        "units": sheet.units,
        "setup": sheet.setup,
        "face": sheet.face,
        "zero": {"x": sheet.zero[0], "y": sheet.zero[1], "z": sheet.face},
        "shift_mm": [_exact(float(value)) for value in fit.shift_mm],
        "turn_deg": _exact(fit.turn_deg),
        "mirrored": fit.mirrored,
        "left_out": list(match.left_out),
        "residuals_mm": {row.hole: _exact(row.exact.error_mm or 0.0) for row in sheet.drilled},
        "rms_mm": _exact(fit.rms_mm),
        "worst_mm": _exact(fit.worst_mm),
        "least_worst_mm": _exact(match.least_worst.worst_mm),
        "looks_like": {
            "kind": match.likeness.kind,
            "sentences": list(match.likeness.sentences),
            "holes": list(match.likeness.holes),
            "before_mm": _exact(match.likeness.before_mm),
            "left_mm": _exact(match.likeness.left_mm),
        },
        "mate": {
            "verdict": mate.verdict,
            "lacking_mm": None if mate.fit is None else _exact(mate.lacking_mm),
            "holes": list(mate.holes),
            "tight": list(mate.tight),
            "not_judged": list(mate.not_judged),
        },
        "keeps_edges": match.keeps_edges,
        "holes": [_hole_json(row) for row in sheet.rows],
        "coordinates": [_coordinate_json(row) for row in sheet.rows],
        "assumed": list(sheet.assumed),
        "findings": findings_json(sheet.findings),
        "mark": BLANK_MARK,
    }


def _exact(value: float) -> float:
    return round(value, _EXACT_DECIMALS) + 0.0  # never -0.0


def _pair(values: tuple[float, float] | None) -> list[float] | None:
    return None if values is None else [_exact(value) for value in values]


def _hole_json(row: MatchRow) -> dict[str, Any]:
    return {
        "hole": row.hole,
        "nominal_mm": _pair(row.exact.nominal_mm),
        "measured_mm": _pair(row.exact.measured_mm),
        "residual_mm": _pair(row.exact.residual_mm),
        "play_mm": None if row.exact.play_mm is None else _exact(row.exact.play_mm),
    }


def _coordinate_json(row: MatchRow) -> dict[str, Any]:
    x_mm, y_mm = row.exact.coordinate_mm
    return {
        "hole": row.hole,
        "x_mm": _exact(x_mm),
        "y_mm": _exact(y_mm),
        "x": float(row.place[0]),
        "y": float(row.place[1]),
        "is_measured": row.is_drilled,
    }


def match_csv(sheet: MatchSheet) -> str:
    """The coordinates as the readout shows them: a file that can be read as measured again."""
    rows: list[Sequence[object]] = [CSV_COLUMNS]
    for row in sheet.rows:
        note = "measured" if row.is_drilled else "by the fit"
        note = "likely misread" if row.is_left_out else note
        rows.append([row.hole, *row.place, sheet.units, note])
    return csv_text(rows)
