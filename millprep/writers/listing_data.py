"""The readout listing as JSON and as CSV. Lays a sheet out; imports layers 0 to 2 and sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from millprep.base.findings import findings_json
from millprep.base.outfile import BLANK_MARK
from millprep.base.plain_text import csv_text
from millprep.sheets.setup_sheet import SetupSheet, Sheet, Step

SKEW_DIGITS = 4
CSV_COLUMNS = (
    "setup", "face", "towards_you", "zero_x", "zero_y", "units", "step", "hole", "operation",
    "tool", "tool_number", "diameter_mm", "point_angle_deg", "tip_flat_mm", "pitch_mm", "lead",
    "cone_mm", "x", "y", "z", "pecks", "turns", "rpm", "feed_mm_per_min", "by_hand", "skew_deg",
)  # fmt: skip


def _step_json(step: Step) -> dict[str, Any]:
    return {
        "step": step.step,
        "hole": step.hole,
        "operation": step.operation,
        "tool": step.tool,
        "tool_number": step.tool_number,
        "diameter_mm": step.diameter_mm,
        "cone_mm": step.cone_mm,
        "point_angle_deg": step.point_angle_deg,
        "tip_flat_mm": step.tip_flat_mm,
        "pitch_mm": step.pitch_mm,
        "lead": step.lead,
        "x": float(step.x),
        "y": float(step.y),
        "z": float(step.z),
        "x_exact_mm": step.x_exact_mm,
        "y_exact_mm": step.y_exact_mm,
        "z_exact_mm": step.z_exact_mm,
        "rpm": step.rpm,
        "feed_mm_per_min": step.feed_mm_per_min,
        "pecks": [float(z) for z in step.pecks],
        "turns": step.turns,
        "by_hand": step.by_hand,
    }


def _setup_json(setup: SetupSheet) -> dict[str, Any]:
    return {
        "number": setup.number,
        "face": setup.face,
        "towards_you": setup.towards_you,
        "zero": {"x": setup.zero_x, "y": setup.zero_y, "z": setup.face},
        "turn": setup.turn,
        "lies": setup.lies,
        "hand": setup.hand,
        "hold": list(setup.hold),
        "zeroing": list(setup.zero),
        "skew": setup.skew,
        "skew_deg": round(setup.skew_deg, SKEW_DIGITS),
        "head": list(setup.head),
        "recover": list(setup.recover),
        "looks": [" ".join(block.after) for block in setup.blocks if block.after],
        "measure": [" ".join(block.measure) for block in setup.blocks if block.measure],
        "places": list(setup.places),
        "steps": [_step_json(step) for step in setup.steps],
    }


def listing_json(sheet: Sheet) -> dict[str, Any]:
    """The listing as one JSON object; `mark` holds the blank mark of `outfile`."""
    return {
        "part": sheet.part,
        "drawing": sheet.drawing,
        "part_mark": sheet.mark,
        "units": sheet.units,
        "stock": sheet.stock,
        "findings": findings_json(sheet.findings),
        "assumed": list(sheet.assumed),
        "setups": [_setup_json(setup) for setup in sheet.setups],
        "mark": BLANK_MARK,
    }


def listing_csv(sheet: Sheet) -> str:
    """One row a step, header first; figures as the readout shows them."""
    rows: list[Sequence[object]] = [CSV_COLUMNS]
    for setup in sheet.setups:
        lay = [setup.number, setup.face, setup.towards_you, setup.zero_x, setup.zero_y, sheet.units]
        skew_deg = round(setup.skew_deg, SKEW_DIGITS)
        rows += [[*lay, *_csv_cells(step), skew_deg] for step in setup.steps]
    return csv_text(rows)


def _csv_cells(step: Step) -> list[object]:
    return [
        step.step,
        step.hole,
        step.operation,
        step.tool,
        step.tool_number,
        step.diameter_mm,
        step.point_angle_deg,
        step.tip_flat_mm,
        step.pitch_mm,
        step.lead,
        step.cone_mm,
        step.x,
        step.y,
        step.z,
        " ".join(str(z) for z in step.pecks),
        step.turns,
        step.rpm,
        step.feed_mm_per_min,
        "yes" if step.by_hand else "no",
    ]
