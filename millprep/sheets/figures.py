"""Figures as the readout shows them: rounded once, from the exact value. Imports layers 0 to 2."""

from __future__ import annotations

from decimal import Decimal

from millprep.base.records import frozen
from millprep.base.units import Units, in_units, round_to
from millprep.model.shop import Readout
from millprep.sheets.document import Shown


@frozen
class Figures:
    """How lengths are shown: the readout's count in the unit chosen, and its reversed axes."""

    units: Units
    readout: Readout

    @property
    def step(self) -> Decimal:
        return self.readout.resolution_inch if self.units == "inch" else self.readout.resolution_mm

    def signed(self, value_mm: float, axis: str) -> float:
        """A coordinate with the sign that the readout gives it."""
        return 0.0 + (-value_mm if axis in self.readout.reversed_axes else value_mm)

    def shown(self, value_mm: float, axis: str = "") -> Decimal:
        """The figure on the readout."""
        return round_to(in_units(self.signed(value_mm, axis), self.units), self.step)

    def words(self, value_mm: float) -> str:
        """A distance in a sentence: positive, to the readout's count, without the unit."""
        return str(round_to(in_units(abs(value_mm), self.units), self.step))

    def size(self, value_mm: float) -> str:
        """A size in a sentence, as short as it goes: 60, 25.4, 0.3937."""
        value = in_units(value_mm, self.units)
        return f"{value:.{3 if self.units == 'mm' else 4}f}".rstrip("0").rstrip(".")

    def length(self, value_mm: float) -> Shown:
        """The same with its unit."""
        return Shown(f"{self.size(value_mm)} {self.unit}", value_mm)

    def optional_length(self, value_mm: float | None) -> Shown | None:
        return None if value_mm is None else self.length(value_mm)

    def limit(self, value_mm: float) -> str:
        """A limit of size, to the micron or the hundred thousandth of an inch."""
        return f"{value_mm / 25.4:.5f}" if self.units == "inch" else f"{value_mm:.3f}"

    @property
    def unit(self) -> str:
        return "mm" if self.units == "mm" else "in"


def about(value_mm: float, units: Units, decimals: int = 1) -> Shown:
    """A rule of thumb in a sentence: to so many decimals in mm, to two figures in inches."""
    inches, mm = f"{value_mm / 25.4:.2g} in", f"{value_mm:.{decimals}f} mm"
    return Shown(inches if units == "inch" else mm, value_mm)


@frozen
class DrawnFigures(Figures):
    """Figures as the drawing gives them: the file's own, whatever a readout can show."""

    def shown(self, value_mm: float, axis: str = "") -> Decimal:
        return as_drawn(in_units(self.signed(value_mm, axis), self.units), self.units)

    def size(self, value_mm: float) -> str:
        return str(as_drawn(in_units(value_mm, self.units), self.units))


_EXACT_PLACES = {"mm": 4, "inch": 5}  # 7.9375 mm is 5/16 in, 0.03125 in a thirty-second
_ROUNDED_TO = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}
_SAME = 1e-7  # what adding up dimensions in binary fractions leaves


def as_drawn(value: float, units: Units) -> Decimal:
    """A length in its unit, exact where its decimals end soon, else to a micron or a tenth thou."""
    for places in range(_EXACT_PLACES[units] + 1):
        if abs(value - round(value, places)) < _SAME:
            return Decimal(f"{round(value, places) + 0.0:.{places}f}")
    short = f"{round_to(value, _ROUNDED_TO[units]):f}".rstrip("0").rstrip(".")
    return Decimal(short)
