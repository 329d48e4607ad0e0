"""The words of finding zero: against faces, over holes, with an indicator; and of finding it again.

Each maker gives sentences of `base/templates/setting.txt`. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from millprep.base.units import in_units
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.planning import Operation
from millprep.planning.head import recovery_pair
from millprep.setting.holding import faces_along, size_along_mm
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.seating import ANGLE_PLATE
from millprep.setting.setups import Setup, side_of
from millprep.setting.skew import turned
from millprep.setting.zeroing import AxisZero, Touch, made_holes
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures
from millprep.sheets.words import nearest_faces

CLOCKED_MM = 0.02  # by which an indicator may move round a rim or bore (common practice)
_WITH = {"face": "finder", "fixed jaw": "jaw", "stop": "stop"}

_say = Sayer("setting")


def zero_lines(
    part: Part,
    shop: Shop,
    setup: Setup,
    figures: Figures,
    zeros: Sequence[AxisZero],
    earlier: Sequence[Setup] = (),
    skew_deg: float = 0.0,
) -> tuple[Sentence, ...]:
    """Signed presets for the finder on each axis, the move that checks them, other ways to zero.

    earlier : the setups that the part has been through; skew_deg : by which it lies askew in this
    """
    lines = [_on_line(shop, figures, zeros)]
    lines += [_axis_words(shop, setup, figures, zero, skew_deg) for zero in zeros]
    lines += _otherwise(zeros, skew_deg)
    over = "corner"
    if "centre" in (setup.zero_x, setup.zero_y):
        over = "centre" if setup.zero_x == setup.zero_y else "edge"
    if is_disc_on_end(part, setup):
        lines.append(_clocking(part, setup, figures, skew_deg))
    lines.append(_say("try-zero", x=0, y=0, over=over))
    gave_zero = {zero.hole.name for zero in zeros if zero.hole is not None}
    others = [one for one in made_holes(part, setup, earlier) if one.name not in gave_zero]
    for hole in others[:1]:
        place = _shown_place(figures, *turned(*setup.place_of(hole), skew_deg))
        lines.append(_say("try-made", hole=hole.name, **place))
    return tuple(lines)


def _on_line(shop: Shop, figures: Figures, zeros: Sequence[AxisZero]) -> Sentence:
    """What zero is on, and the finder, where one is used."""
    x, y = (zero.zero for zero in zeros)
    is_found = any(zero.touch is not None for zero in zeros)
    finder = _finder(shop, figures) if is_found else {}
    if x == y:
        return _say("zero-on-centre", both_zeros=x, **finder, also={"x_zero": x, "y_zero": y})
    return _say("zero-on", x_zero=x, y_zero=y, **finder)


def _otherwise(zeros: Sequence[AxisZero], skew_deg: float) -> list[Sentence]:
    """What it means that the opposite face does not read as it should."""
    means = [zero.again.face for zero in zeros if zero.again is not None]
    sizes = [one.face for zero in zeros if (one := _checked(zero, skew_deg)) is not None]
    told = (("zero-mean", means), ("zero-size", sizes))
    return [_say(slug, faces=faces) for slug, faces in told if faces]


def _checked(zero: AxisZero, skew_deg: float) -> Touch | None:
    """The face opposite that of zero; of a part that lies askew it reads by where it is touched."""
    return None if skew_deg else zero.check


def met_at_mm(setup: Setup, zero: AxisZero, skew_deg: float) -> float:
    """Where the spindle stands along the axis when what gives zero is met, in setup axes."""
    if zero.touch is not None:
        return zero.touch.at_mm
    assert zero.hole is not None
    return turned(*setup.place_of(zero.hole), skew_deg)[zero.axis]


def _axis_words(
    shop: Shop, setup: Setup, figures: Figures, zero: AxisZero, skew_deg: float
) -> Sentence:
    axis = "xy"[zero.axis]
    slots: dict[str, Any] = {}
    also: dict[str, Any] = {"axis": axis, "zero": zero.zero}
    at_mm = met_at_mm(setup, zero, skew_deg)
    set_to = Shown(str(figures.shown(at_mm, axis)), figures.signed(at_mm, axis))
    if zero.blocked is not None:
        slots |= {"blocked": zero.blocked[0], "why": zero.blocked[1]}
    if zero.reckoned:
        slots["low"], slots["high"] = faces_along(setup, zero.axis)
        across_mm = size_along_mm(setup, zero.axis)
        slots["across"] = Shown(figures.words(across_mm), across_mm)
    if zero.touch is None:
        assert zero.hole is not None
        slots |= {"on": zero.hole.name, "axis": axis, "set_to": set_to}
        return _say("zero-over", **slots, also={**also, "with": "hole", "side": None})
    touches = [
        {
            **_met(setup, zero.touch, figures, shop),
            "when": "before" if zero.touch.is_before else None,
            "set_axis": axis,
            "set_to": set_to,
        }
    ]
    again = zero.again or _checked(zero, skew_deg)
    if again is not None:
        reading = Shown(
            _with_sign(figures.shown(again.at_mm, axis)), figures.signed(again.at_mm, axis)
        )
        touches.append({**_met(setup, again, figures), "should_read": reading})
    return _say("zero-touch", touches=touches, **slots, also=also)


def _with_sign(value: object) -> str:
    text = str(value)
    return f"+{text}" if text.strip("0.") and text[0] != "-" else text


def _met(
    setup: Setup, touch: Touch, figures: Figures, shop: Shop | None = None
) -> Mapping[str, Any]:
    """shop : whose finder JSON names with the first touch of an axis"""
    finder: dict[str, float | None] = {"finder_mm": None, "finder_again": None, "finder_rpm": None}
    if shop is not None:
        finder |= {name: _number(value) for name, value in _finder(shop, figures).items()}
    return {
        "with": _WITH[touch.against],
        "on": touch.face,
        "tip_below": figures.optional_length(touch.tip_below_mm),
        "also": {"side": side_of(setup, touch.face), **finder},
    }


def _number(value: object) -> float | None:
    if isinstance(value, Shown):
        return value.exact_mm
    return None if value is None else float(str(value).split(" ")[0])


def _clocking(part: Part, setup: Setup, figures: Figures, skew_deg: float) -> Sentence:
    """A disc is truer clocked than touched."""
    middle = [(setup.low_mm[axis] + setup.high_mm[axis]) / 2 for axis in (0, 1)]
    place = _shown_place(figures, *turned(middle[0], middle[1], skew_deg))
    are_straps = any(clamp.name != ANGLE_PLATE for clamp in setup.clamps)
    on = "bore" if part.stock.bore_mm is not None else "rim"
    within = in_units(CLOCKED_MM, figures.units)
    places = 2 if figures.units == "mm" else 4
    return _say(
        "zero-clock",
        on=on,
        clocked="straps" if on == "rim" and are_straps else "turn",
        within_mm=Shown(f"{within:.{places}f} {figures.unit}", CLOCKED_MM),
        touches=[{"axis": axis, "set_to": at} for axis, at in place.items()],
        also={"with": "clock", "side": None},
    )


def _shown_place(figures: Figures, x_mm: float, y_mm: float) -> dict[str, Shown]:
    return {
        axis: Shown(str(figures.shown(at_mm, axis)), figures.signed(at_mm, axis))
        for axis, at_mm in (("x", x_mm), ("y", y_mm))
    }


def _finder(shop: Shop, figures: Figures) -> Mapping[str, Any]:
    """By the size it is known by: a metric finder stays metric on an inch sheet."""
    diameter, speed_rpm = shop.finder.diameter_mm, shop.finder.speed_rpm
    inches = f"{diameter / 25.4:.4f}".rstrip("0").rstrip(".")
    is_metric = abs(diameter * 10 - round(diameter * 10)) < 1e-6
    size = f"{diameter:g} mm" if is_metric else f"{inches} in"
    return {
        "finder_mm": Shown(size, diameter),
        "finder_again": f"{inches} in" if is_metric and figures.units == "inch" else None,
        "finder_rpm": None if speed_rpm is None else f"{speed_rpm:g}",
    }


def first_line(setup: Setup, first: Operation, figures: Figures, skew_deg: float = 0.0) -> Sentence:
    """The first hole, tried with a rule before anything is cut; a rule is held along the part."""
    place = _shown_place(figures, *turned(first.x_mm, first.y_mm, skew_deg))
    (x_face, x_rule), (y_face, y_rule) = nearest_faces(setup, first, figures)
    ruled = {"x_face": x_face, "x_rule": x_rule, "y_face": y_face, "y_rule": y_rule}
    return _say("try-first", hole=first.hole.name, **place, **ruled)


def recovery_of(
    operations: Sequence[Operation], setup: Setup
) -> tuple[Operation, Operation] | None:
    """The two holes that give a lost zero back best, if there are two."""
    reach_mm = math.hypot(size_along_mm(setup, 0), size_along_mm(setup, 1)) / 2
    return recovery_pair(operations, reach_mm)


def recovery_lines(
    operations: Sequence[Operation], setup: Setup, figures: Figures, skew_deg: float = 0.0
) -> tuple[Sentence, ...]:
    """Which two holes give a lost zero back; none where there are not two."""
    pair = recovery_of(operations, setup)
    if pair is None:
        return ()
    one, other = (_shown_place(figures, *turned(o.x_mm, o.y_mm, skew_deg)) for o in pair)
    apart = math.hypot(pair[0].x_mm - pair[1].x_mm, pair[0].y_mm - pair[1].y_mm)
    names = [operation.hole.name for operation in pair]
    return (
        _say(
            "recover",
            hole=names[0],
            **one,
            other=names[1],
            other_x=other["x"],
            other_y=other["y"],
            apart_mm=Shown(figures.words(apart), apart),
            also={"holes": names},
        ),
    )
