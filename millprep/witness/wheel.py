"""A handwheel's dial as the witness counts it. Imports the shop and `reading`."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from millprep.base.records import frozen
from millprep.model.shop import Dial
from millprep.reading.pages.printed import UnreadableSheet, decimal_of
from millprep.reading.pages.slots import Said
from millprep.witness.printed import OFF_COUNT, SLACK_MM

_LEAST_BACK_TURNS = 0.5  # past a place before coming up to it, or three times the backlash
_LEAST_BACK_BACKLASHES = 3
_MOST_BACK_DIVISIONS = 1.5  # more than that: a whole division, and what rounding up to it adds


@frozen
class DialFigure:
    """A setting as shown: whole turns, whether on the far side of zero, figure at the index.

    division : away from zero, and left_over_mm, where the form has them
    """

    turns: int
    is_negative: bool
    reading: Decimal
    division: Decimal | None = None
    left_over_mm: float | None = None


def settings_said(said: Said, name: str) -> list[DialFigure]:
    """The settings of a slot. Raises UnreadableSheet."""
    return [_shown(one["turns"], one["figure"]) for one in said.parts(name)]


def _shown(turns: str, figure: str) -> DialFigure:
    if turns == "under 0":
        return DialFigure(0, True, decimal_of(figure))
    if turns == "-0":
        raise UnreadableSheet("-0 turns")
    return DialFigure(int(turns.removeprefix("-")), turns.startswith("-"), decimal_of(figure))


def setting_named(named: Mapping[str, Any], prefix: str = "") -> DialFigure:
    """A setting by name, as JSON and CSV have it. Raises UnreadableSheet."""
    try:
        division, left = named.get(f"{prefix}division"), named.get(f"{prefix}left_over_mm")
        return DialFigure(
            int(named[f"{prefix}turns"]),
            {"yes": True, "no": False}[named[f"{prefix}negative"]],
            decimal_of(named[f"{prefix}reading"]),
            None if division is None else decimal_of(division),
            None if left is None else float(left),
        )
    except (KeyError, TypeError, ValueError) as fault:
        raise UnreadableSheet(f"a setting without {fault}") from None


@frozen
class Wheel:
    """A dial as the witness reads it.

    way : 1 or -1, in setup axes, in which places are come up to; sign : of the readout's count
    """

    axis: str
    dial: Dial
    way: int
    sign: int

    @property
    def division_mm(self) -> float:
        return self.dial.lead_mm * (1 + self.dial.correction_ppm / 1e6) / self.dial.divisions

    @property
    def grows(self) -> int:
        """The way, in setup axes, in which the figure under the index line grows."""
        clockwise = 1 if self.dial.clockwise == "+" else -1
        return clockwise if self.dial.numbers_rise == "clockwise" else -clockwise

    def hand(self, way: int | None = None) -> str:
        """How the handle turns on a way; when places are come up to where none is given."""
        is_clockwise = (self.dial.clockwise == "+") == ((way or self.way) == 1)
        return "clockwise" if is_clockwise else "anticlockwise"

    def count(self, figure: DialFigure, side: int) -> float:
        """Divisions from zero, in setup axes, of a figure on that side of it."""
        shown = float(figure.reading)
        away = shown if side == self.grows or not shown else self.dial.divisions - shown
        return side * (figure.turns * self.dial.divisions + away)

    def side(self, figure: DialFigure) -> int:
        return self.sign * (-1 if figure.is_negative else 1)

    def place_mm(self, figure: DialFigure) -> float:
        """Where a setting puts the axis, in setup axes."""
        return self.count(figure, self.side(figure)) * self.division_mm

    def fault(self, figure: DialFigure, side: int) -> str:
        """Why a figure cannot stand on this dial; empty when it can."""
        count = self.count(figure, side)
        if not 0 <= figure.reading < self.dial.divisions:
            return f"figure {figure.reading} on a dial of {self.dial.divisions:g} divisions"
        if abs(count - round(count)) > OFF_COUNT:
            return f"figure {figure.reading} is no whole division from zero"
        if figure.division is not None:
            own = side * (figure.turns * self.dial.divisions + float(figure.division))
            if abs(own - count) > OFF_COUNT:
                return f"division {figure.division} and figure {figure.reading} are two places"
        return ""

    @property
    def least_past_mm(self) -> float:
        """How far the handle goes past a place, at least, before it comes up to it."""
        return max(
            _LEAST_BACK_TURNS * self.dial.lead_mm, _LEAST_BACK_BACKLASHES * self.dial.backlash_mm
        )

    def is_past_enough(self, past_mm: float) -> bool:
        """Far enough past a place, and no more than a division's rounding farther."""
        least = self.least_past_mm - self.division_mm / 2 - SLACK_MM
        most = self.least_past_mm + _MOST_BACK_DIVISIONS * self.division_mm + SLACK_MM
        return least <= past_mm <= most
