"""What a dial sheet says as data: the settings of handles for JSON and CSV."""

from __future__ import annotations

from typing import Any

from millprep.base.records import frozen
from millprep.planning import Operation
from millprep.planning.dials import Handle, Setting, Wound
from millprep.sheets.dial_words import number_of

_LEFT_OVER_DECIMALS = 6


@frozen
class Dialled:
    """A step's settings; z and pecks where the shop has a dial for depth."""

    x: Wound
    y: Wound
    z: Setting | None
    pecks: tuple[Setting, ...]


def signed(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:+.{decimals}f}"


def _setting_json(setting: Setting) -> dict[str, Any]:
    return {
        "turns": setting.turns,
        "division": number_of(setting.division),
        "negative": setting.negative,
        "reading": number_of(setting.reading),
        "left_over_mm": round(setting.left_over_mm, _LEFT_OVER_DECIMALS) + 0.0,
    }


def _wound_json(wound: Wound, exact_mm: float) -> dict[str, Any]:
    past = wound.back_off
    back = None if past is None else _setting_json(past)
    return {**_setting_json(wound.setting), "exact_mm": round(exact_mm, 6), "back_off": back}


def settings_of(dialled: Dialled, operation: Operation) -> dict[str, Any]:
    """The settings of a step, for JSON."""
    return {
        "x": _wound_json(dialled.x, operation.x_mm),
        "y": _wound_json(dialled.y, operation.y_mm),
        "z_dial": None if dialled.z is None else _setting_json(dialled.z),
        "pecks_dial": [_setting_json(peck) for peck in dialled.pecks],
    }


def csv_of(dialled: Dialled) -> dict[str, Any]:
    """The same for CSV."""
    cells: dict[str, Any] = {}
    for axis, wound in (("x", dialled.x), ("y", dialled.y)):
        setting, back = wound.setting, wound.back_off
        cells |= {
            f"{axis}_turns": setting.turns,
            f"{axis}_division": setting.division,
            f"{axis}_negative": "yes" if setting.negative else "no",
            f"{axis}_reading": setting.reading,
            f"{axis}_left_over_mm": round(setting.left_over_mm, _LEFT_OVER_DECIMALS) + 0.0,
        }
        if back is not None:
            is_negative = "yes" if back.negative else "no"
            cells |= {f"{axis}_back_turns": back.turns, f"{axis}_back_negative": is_negative}
            cells |= {f"{axis}_back_reading": back.reading}
    if dialled.z is not None:
        cells |= {"z_turns": dialled.z.turns, "z_reading": dialled.z.reading}
    return cells


def handle_json(handle: Handle) -> dict[str, Any]:
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
