"""The dial sheet as JSON and as CSV. Lays a dial sheet out; imports layers 0 to 2 and sheet."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from millprep.base.findings import findings_json
from millprep.base.outfile import BLANK_MARK
from millprep.base.plain_text import csv_text
from millprep.planning.dials import Handle, Setting, Wound
from millprep.sheets.dials import DialSetup, DialSheet, DialStep
from millprep.writers.listing_data import SKEW_DIGITS

_AXIS_COLUMNS = (
    "turns",
    "division",
    "negative",
    "reading",
    "left_over_mm",
    "back_turns",
    "back_negative",
    "back_reading",
)
CSV_COLUMNS = (
    "setup", "face", "towards_you", "zero_x", "zero_y", "units", "step", "hole", "operation",
    "tool", "tool_number", *(f"x_{name}" for name in _AXIS_COLUMNS),
    *(f"y_{name}" for name in _AXIS_COLUMNS), "z", "z_turns", "z_reading", "pecks", "turns",
    "skew_deg",
)  # fmt: skip
_LEFT_OVER_DECIMALS = 6


def _number(value: Decimal) -> int | float:
    return int(value) if value == value.to_integral_value() else float(value)


def _setting_json(setting: Setting) -> dict[str, Any]:
    return {
        "turns": setting.turns,
        "division": _number(setting.division),
        "negative": setting.negative,
        "reading": _number(setting.reading),
        "left_over_mm": round(setting.left_over_mm, _LEFT_OVER_DECIMALS) + 0.0,
    }


def _wound_json(wound: Wound, exact_mm: float) -> dict[str, Any]:
    past = wound.back_off
    back = None if past is None else _setting_json(past)
    return {**_setting_json(wound.setting), "exact_mm": exact_mm, "back_off": back}


def _step_json(dialled: DialStep) -> dict[str, Any]:
    step = dialled.step
    return {
        "step": step.step,
        "hole": step.hole,
        "operation": step.operation,
        "tool": step.tool,
        "tool_number": step.tool_number,
        "x": _wound_json(dialled.x, step.x_exact_mm),
        "y": _wound_json(dialled.y, step.y_exact_mm),
        "z": float(step.z),
        "z_dial": None if dialled.z is None else _setting_json(dialled.z),
        "pecks": [float(z) for z in step.pecks],
        "pecks_dial": [_setting_json(peck) for peck in dialled.pecks],
        "turns": step.turns,
        "rpm": step.rpm,
        "feed_mm_per_min": step.feed_mm_per_min,
        "by_hand": step.by_hand,
    }


def _handle_json(handle: Handle) -> dict[str, Any]:
    dial = handle.dial
    return {
        "lead_mm": dial.lead_mm,
        "divisions": dial.divisions,
        "backlash_mm": dial.backlash_mm,
        "correction_ppm": dial.correction_ppm,
        "clockwise": dial.clockwise,
        "numbers_rise": dial.numbers_rise,
        "come_up": handle.hand(handle.way),
    }


def _setup_json(one: DialSetup) -> dict[str, Any]:
    setup = one.setup
    return {
        "number": setup.number,
        "face": setup.face,
        "towards_you": setup.towards_you,
        "zero": {"x": setup.zero_x, "y": setup.zero_y, "z": setup.face},
        "turn": setup.turn,
        "lies": setup.lies,
        "hold": list(setup.hold),
        "zeroing": list(map(str, one.zero)),
        "skew": setup.skew,
        "skew_deg": round(setup.skew_deg, SKEW_DIGITS),
        "head": list(setup.head),
        "hand": setup.hand,
        "recover": list(map(str, one.recover)),
        "looks": [" ".join(block.after) for block in setup.blocks if block.after],
        "measure": [" ".join(block.measure) for block in setup.blocks if block.measure],
        "words": list(map(str, one.dials)),
        "dials": {handle.axis: _handle_json(handle) for handle in one.handles},
        "steps": [_step_json(dialled) for dialled in one.steps.values()],
    }


def dials_json(dials: DialSheet) -> dict[str, Any]:
    """The dial sheet as one JSON object; `mark` holds the blank mark of `outfile`."""
    sheet = dials.sheet
    return {
        "part": sheet.part,
        "drawing": sheet.drawing,
        "part_mark": sheet.mark,
        "units": sheet.units,
        "stock": sheet.stock,
        "findings": findings_json(dials.findings),
        "assumed": list(dials.assumed),
        "setups": [_setup_json(one) for one in dials.setups],
        "mark": BLANK_MARK,
    }


def dials_csv(dials: DialSheet) -> str:
    """One row a step, header first."""
    rows: list[Sequence[object]] = [CSV_COLUMNS]
    for one in dials.setups:
        setup = one.setup
        lay = [setup.number, setup.face, setup.towards_you, setup.zero_x, setup.zero_y]
        for dialled in one.steps.values():
            cells = [*_csv_cells(dialled), round(setup.skew_deg, SKEW_DIGITS)]
            rows.append([*lay, dials.sheet.units, *cells])
    return csv_text(rows)


def _csv_cells(dialled: DialStep) -> list[object]:
    step, z = dialled.step, dialled.z
    depth = ["", ""] if z is None else [z.turns, z.reading]
    return [
        step.step,
        step.hole,
        step.operation,
        step.tool,
        step.tool_number,
        *_wound_cells(dialled.x),
        *_wound_cells(dialled.y),
        step.z,
        *depth,
        " ".join(str(z) for z in step.pecks),
        step.turns,
    ]


def _wound_cells(wound: Wound) -> list[object]:
    setting, back = wound.setting, wound.back_off
    left_over = round(setting.left_over_mm, _LEFT_OVER_DECIMALS) + 0.0
    cells: list[object] = [
        setting.turns,
        setting.division,
        _yes(setting.negative),
        setting.reading,
        left_over,
    ]
    return cells + (
        ["", "", ""] if back is None else [back.turns, _yes(back.negative), back.reading]
    )


def _yes(truth: bool) -> str:
    return "yes" if truth else "no"
