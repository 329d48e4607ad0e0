"""Positions as turns and divisions of a handwheel, each from zero, so that rounding never adds up.

        position x from zero           travel of one division   g = lead / divisions (corrected)
        G = x / g, rounded once        turns = |G| div N        division = |G| mod N
        x - G g is left over           the figure under the index line: the division, or N less the
                                       division where the handle turns against the numbering

Every place is come up to from the same side, so that the screw pushes the same flank of its nut;
where the way there leads back, the handle goes past the place first (common practice).
Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from millprep.base.records import frozen
from millprep.base.units import round_to
from millprep.model.shop import Dial

Hand = Literal["clockwise", "anticlockwise"]
_OTHER: dict[Hand, Hand] = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}

BACK_OFF_TURNS = 0.5  # past a place before coming up to it, or
BACK_OFF_BACKLASHES = 3  # so many times the backlash, whichever is more (common practice)
_PPM = 1e-6


@frozen
class Setting:
    """A place on a dial.

    turns, division : away from zero; negative : on the side where the readout would count below 0
    reading         : the figure under the index line, in divisions
    left_over_mm    : how far the exact place lies beyond the setting, in the direction the sheet
                      counts up
    """

    turns: int
    division: Decimal
    negative: bool
    reading: Decimal
    left_over_mm: float


@frozen
class Wound:
    """A setting, and the one to go back past first where the way to it leads back; None: not."""

    setting: Setting
    back_off: Setting | None


@frozen
class Handle:
    """One axis's handwheel in one setup.

    axis     : "x", "y" or "z"
    way      : 1 or -1: the direction, in setup axes, in which every place is come up to
    is_shown_reversed : the readout, and with it the sheet, counts this axis the other way
    """

    axis: str
    dial: Dial
    way: int
    is_shown_reversed: bool = False

    @property
    def division_mm(self) -> float:
        """What one division truly moves the axis."""
        dial = self.dial
        return dial.lead_mm / dial.divisions * (1 + dial.correction_ppm * _PPM)

    @property
    def back_off_mm(self) -> float:
        """How far past a place the handle goes before it comes up to it."""
        dial = self.dial
        return max(BACK_OFF_TURNS * dial.lead_mm, BACK_OFF_BACKLASHES * dial.backlash_mm)

    def hand(self, way: int) -> Hand:
        """How the handle turns, as the hand sees it, when the axis moves that way."""
        hand: Hand = "clockwise"
        return hand if (self.dial.clockwise == "+") == (way > 0) else _OTHER[hand]

    @property
    def numbered_way(self) -> int:
        """The direction in which the figure under the index line grows."""
        return 1 if self.hand(1) == self.dial.numbers_rise else -1

    def setting(self, position_mm: float) -> Setting:
        """The setting nearest to a position in setup axes [mm]."""
        return self._counted(self._count(position_mm), position_mm)

    def _count(self, position_mm: float) -> int:
        """The whole division nearest to a position."""
        return int(round_to(position_mm / self.division_mm, Decimal(1)))

    def _counted(self, count: int, position_mm: float) -> Setting:
        divisions = Decimal(repr(self.dial.divisions))
        turns, division = divmod(Decimal(abs(count)), divisions)
        is_with_numbers = count * self.numbered_way >= 0
        reading = division if is_with_numbers or not division else divisions - division
        sign = -1 if self.is_shown_reversed else 1
        left_over = sign * (position_mm - count * self.division_mm)
        return Setting(
            int(turns), _plain(division), count * sign < 0, _plain(reading), left_over + 0.0
        )

    def wind(self, positions_mm: Sequence[float]) -> list[Wound]:
        """The settings of positions one after another from zero, come up to from the same side."""
        wound, before = [], 0
        for position in positions_mm:
            count = self._count(position)
            goes_back = (count - before) * self.way < 0  # the handle stands on whole divisions
            wound.append(Wound(self.setting(position), self._past(position) if goes_back else None))
            before = count
        return wound

    def _past(self, position_mm: float) -> Setting:
        """A whole division at least the back-off short of the place, seen the way it is come up."""
        exact = (position_mm - self.way * self.back_off_mm) / self.division_mm
        count = math.floor(exact) if self.way > 0 else math.ceil(exact)
        return self._counted(count, count * self.division_mm)


def _plain(value: Decimal) -> Decimal:
    """Without zeros at its end: 45 for 45.0, 40 for 4E+1."""
    whole = value.to_integral_value()
    return whole if value == whole else value.normalize()


def marked_otherwise(dial: Dial) -> str:
    """What the ring of a dial may really be marked in, where that is not what the screw is cut in.

    Empty when nothing speaks for it. An inch ring of a thousandth a division on a 2.5 mm screw,
    and the other way round, are known traps: 1.6 % in every move.
    """
    lead_in = dial.lead_mm / 25.4
    for thousandths in (50, 100, 125, 200):
        if _is_near(lead_in, thousandths / 1000) and _is_same(dial.divisions, thousandths):
            return f"0.001 in, as on a screw of {thousandths / 1000:g} in"
    for lead_mm in (1.25, 2.5, 5.0):
        for division_mm in (0.01, 0.02, 0.05):
            if _is_near(dial.lead_mm, lead_mm) and _is_same(dial.divisions, lead_mm / division_mm):
                return f"{division_mm:g} mm, as on a screw of {lead_mm:g} mm"
    return ""


def _is_near(lead: float, marked: float) -> bool:
    """Near enough to be taken for it and not near enough to be it."""
    return 0.002 < abs(lead / marked - 1) < 0.025


def _is_same(divisions: float, marked: float) -> bool:
    return abs(divisions - marked) < 1e-6
