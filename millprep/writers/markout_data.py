"""The marking-out list as JSON and as CSV. Lays a mark sheet out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from millprep.base.findings import findings_json
from millprep.base.outfile import BLANK_MARK
from millprep.base.plain_text import csv_text
from millprep.base.units import MM_PER_INCH
from millprep.sheets.markout import MarkHeight, MarkSheet, MarkStanding

CSV_COLUMNS = (
    "standing", "face_down", "units", "gauge_offset", "gauge", "hole", "face", "from_face",
    "start", "end",
)  # fmt: skip
_EXACT_DECIMALS = 6


def _height_json(height: MarkHeight) -> dict[str, Any]:
    return {
        "height_mm": round(height.height_mm, _EXACT_DECIMALS),
        "gauge": float(height.gauge),
        "holes": list(height.holes),
        "lines": [
            {
                "hole": line.hole,
                "face": line.face,
                "from_face": line.from_face,
                "start": float(line.start),
                "end": float(line.end),
            }
            for line in height.lines
        ],
    }


def _standing_json(standing: MarkStanding) -> dict[str, Any]:
    return {
        "number": standing.number,
        "face": standing.face,
        "up": standing.up,
        "is_datum": standing.is_datum,
        "words": list(standing.words),
        "ink": list(standing.inked),
        "heights": [_height_json(height) for height in standing.heights],
    }


def markout_json(sheet: MarkSheet) -> dict[str, Any]:
    """The list as one JSON object; `mark` holds the blank mark of `outfile`."""
    per_unit = float(MM_PER_INCH) if sheet.units == "inch" else 1.0
    return {
        "part": sheet.part,
        "drawing": sheet.drawing,
        "part_mark": sheet.mark,
        "units": sheet.units,
        "stock": sheet.stock,
        "findings": findings_json(sheet.findings),
        "gauge_offset": float(sheet.gauge_offset),
        "gauge_offset_mm": round(float(sheet.gauge_offset) * per_unit, _EXACT_DECIMALS),
        "standings": [_standing_json(standing) for standing in sheet.standings],
        "punch": [
            {
                "hole": cross.hole,
                "face": cross.face,
                "checks": [
                    {"face": face, "distance": float(distance)} for face, distance in cross.checks
                ],
            }
            for cross in sheet.crosses
        ],
        "crosses": sheet.crosses_on,
        "hand": list(sheet.hand),
        "mark": BLANK_MARK,
    }


def markout_csv(sheet: MarkSheet) -> str:
    """One row a line to scribe, header first."""
    rows: list[Sequence[object]] = [CSV_COLUMNS]
    for standing in sheet.standings:
        for height in standing.heights:
            rows += [
                [
                    standing.number,
                    standing.face,
                    sheet.units,
                    sheet.gauge_offset,
                    height.gauge,
                    line.hole,
                    line.face,
                    line.from_face,
                    line.start,
                    line.end,
                ]
                for line in height.lines
            ]
    return csv_text(rows)
