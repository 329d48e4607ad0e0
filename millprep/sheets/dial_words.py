"""What a dial sheet says of its dials: what they do, how zero is come to by them.

Imports layers 0 to 4.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from millprep.base.units import in_units
from millprep.model.shop import Shop
from millprep.planning.dials import Handle, Setting
from millprep.setting.holding import faces_along, size_along_mm
from millprep.setting.setups import Setup, side_of
from millprep.setting.zeroing import AxisZero, Touch
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures

_TO = {"x": ("left hand", "right hand"), "y": ("towards you", "away"), "z": ("down", "up")}
"""Where the cutter goes, relative to the work, when an axis goes down or up."""
_WITH = {"face": "finder", "fixed jaw": "jaw", "stop": "stop"}
CHECK_TURNS = 10
UNDER_ZERO = "under 0"
_CUT_SO = 1e-7
_say = Sayer("dials")


def setting_slots(setting: Setting) -> dict[str, Any]:
    """Turns, with a minus on the other side of zero, and the figure under the index line; less
    than a turn on that side has a word of its own."""
    turns = f"{'-' if setting.negative else ''}{setting.turns}"
    return {"turns": UNDER_ZERO if turns == "-0" else turns, "figure": str(setting.reading)}


def unsigned_slots(setting: Setting) -> dict[str, Any]:
    """The same where all settings are on one side."""
    return {"turns": str(setting.turns), "figure": str(setting.reading)}


def dial_lines(setup: Setup, handles: tuple[Handle, ...], figures: Figures) -> Iterator[Sentence]:
    """What each handwheel does, how it is come up to, and the zero that suits the numbering."""
    for handle in handles:
        dial = handle.dial
        down, up = _TO[handle.axis]
        measure_mm = CHECK_TURNS * dial.lead_mm * (1 + dial.correction_ppm * 1e-6)
        measures = in_units(measure_mm, figures.units)
        yield _say(
            "dial",
            axis=handle.axis,
            lead=_lead(dial.lead_mm, figures),
            divisions=f"{dial.divisions:g}",
            goes=up if dial.clockwise == "+" else down,
            rise=dial.numbers_rise,
            check_turns=CHECK_TURNS,
            measures=f"{measures:.{3 if figures.units == 'mm' else 4}f} {figures.unit}",
        )
        if handle.axis != "z":
            past = max(handle.back_off_mm / dial.lead_mm, 0.0)
            told = {"axis": handle.axis, "come_up": handle.hand(handle.way)}
            if f"{past:.2g}" == "0.5":
                yield _say("come-up-half", **told, also={"past_turns": 0.5})
            else:
                yield _say("come-up", **told, past_turns=f"{past:.2g}")
    yield _numbering_line(setup, handles[:2])


def _lead(lead_mm: float, figures: Figures) -> str:
    """In the unit of the sheet where the screw is cut so."""
    lead = in_units(lead_mm, figures.units)
    is_cut_so = abs(lead - round(lead, 4)) < _CUT_SO
    return f"{round(lead, 4):g} {figures.unit}" if is_cut_so else f"{lead_mm:g} mm"


def _numbering_line(setup: Setup, handles: tuple[Handle, ...]) -> Sentence:
    """The corner from which all moves wind with the numbers."""
    if all(handle.way == handle.numbered_way for handle in handles) and "centre" not in (
        setup.zero_x,
        setup.zero_y,
    ):
        return _say("numbering-so")
    x_face, y_face = (
        faces_along(setup, axis)[0 if handle.numbered_way > 0 else 1]
        for axis, handle in enumerate(handles)
    )
    return _say("numbering-other", x_face=x_face, y_face=y_face)


def zero_line(
    shop: Shop, setup: Setup, handle: Handle, found: AxisZero, at_mm: float, figures: Figures
) -> Sentence:
    """What is met for zero, the way on from there, and what stands in the way of its own face.

    at_mm : where the spindle stands, in setup axes, when it is met
    """
    zero = found.zero
    slots = {
        "axis": handle.axis,
        "zero": zero,
        "over": zero,
        "dial_again": 0,
        **_way_on(handle, -at_mm),
    }
    if found.blocked is not None:
        slots |= {"blocked": found.blocked[0], "why": found.blocked[1]}
    if found.reckoned:
        low, high = faces_along(setup, found.axis)
        across_mm = size_along_mm(setup, found.axis)
        across = Shown(figures.words(across_mm), across_mm)
        slots |= {"low": low, "high": high, "across": across}
    if found.touch is not None:
        met = _met(shop, handle, found.touch, figures)
        also = {**_set_to(handle, -at_mm), "side": side_of(setup, found.touch.face)}
        return _say("zero-dial", **slots, **met, also=also)
    assert found.hole is not None
    hand = handle.hand(handle.way)
    also = {**_set_to(handle, -at_mm), "with": "hole", "side": None}
    return _say("zero-dial-hole", on=found.hole.name, hand=hand, dial=0, **slots, also=also)


def _met(shop: Shop, handle: Handle, touch: Touch, figures: Figures) -> dict[str, Any]:
    """The finder's touch; one from the far side pushes the screw's other flank.

    The table is then brought to the same place from the usual side, by an indicator.
    """
    met_way = -1 if touch.beyond_mm > 0 else 1
    diameter_mm, speed_rpm = shop.finder.diameter_mm, shop.finder.speed_rpm
    slots: dict[str, Any] = {
        "when": "before" if touch.is_before else "",
        "finder": Shown(f"{figures.size(diameter_mm)} {figures.unit}", diameter_mm),
        "rpm": None if speed_rpm is None else f"{speed_rpm:g}",
        "hand": handle.hand(met_way),
        "with": _WITH[touch.against],
        "on": touch.face,
        "tip_below": figures.optional_length(touch.tip_below_mm),
    }
    if met_way == handle.way:
        return {**slots, "dial": 0}
    turns = math.ceil(10 * handle.back_off_mm / handle.dial.lead_mm - 1e-9) / 10
    come_up = handle.hand(handle.way)
    zeros = {"indicator": 0, "again": 0, "dial_then": 0}
    return {**slots, "past_turns": f"{turns:g}", "come_up": come_up, **zeros}


def _way_on(handle: Handle, way_mm: float) -> dict[str, Any]:
    """From the dial's first 0 to zero, come up to from the usual side."""
    (wound,) = handle.wind([way_mm])
    to = unsigned_slots(wound.setting)
    if wound.back_off is None:
        return {"on_to": to}
    return {"back": unsigned_slots(wound.back_off), "to": to}


def _set_to(handle: Handle, way_mm: float) -> dict[str, Any]:
    """The way from the touch to zero, for JSON."""
    (wound,) = handle.wind([way_mm])
    setting = wound.setting
    return {"set_to": {"turns": setting.turns, "division": number_of(setting.division)}}


def number_of(value: Decimal) -> int | float:
    """A figure of a dial, for JSON."""
    return int(value) if value == value.to_integral_value() else float(value)
