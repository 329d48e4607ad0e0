"""An end mill goes round in a hole: helices down to its floor, then a last turn to its size.

    each helix    down over the middle, out above the work, round and down, one level turn,
                  in to the middle, up
    the last      at depth: from the middle in on a quarter, once round, out on a quarter,
                  to the middle, and only then up
    a countersink goes round in a mouth like that, at one height

A whole turn is two halves: a control that takes an arc back to its start for no way at all would go
straight down. Given by its radius it is four quarters: of halves a digit of rounding would move the
centre a lot (NISTIR 6556, section 3.5.3.1). Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise

from millprep.planning import Operation
from millprep.planning.helical import START_MM, arc_code
from millprep.planning.plan import Helix
from millprep.writers.program_changes import Changes

_QUARTERS = ((1, 0), (0, 1), (-1, 0), (0, -1))
_SHARE_OF_RUN_IN = 2  # of the way out to the wall, the radius of the arc that leads to it


def helical_lines(of: Changes, one: Operation) -> Iterator[str]:
    """All of it, from the clear height and back to it."""
    yield from _Helical(of, one).lines()


class _Helical:
    """Places are rounded before they are added, so that each end of an arc is exactly as far from
    the centre as the other."""

    def __init__(self, of: Changes, one: Operation) -> None:
        assert one.helix is not None  # the writer asks for no other
        self.of, self.one, self.helix = of, one, one.helix
        self.code = arc_code(of.control) or "G2"
        self.order = _QUARTERS if self.code == "G3" else _QUARTERS[:1] + _QUARTERS[:0:-1]
        self.centre = self._rounded(one.x_mm), self._rounded(one.y_mm)

    def _rounded(self, length_mm: float) -> float:
        step_mm = Decimal(str(self.of.control.step_mm(self.of.units)))
        return float(round(Decimal(str(length_mm)) / step_mm) * step_mm)

    def lines(self) -> Iterator[str]:
        of, one, helix = self.of, self.one, self.helix
        yield of.form.comment(f"round to {of.form.size(helix.to_mm)}, {one.where}, {one.name}")
        yield from of._up_to(one.x_mm, one.y_mm)
        yield f"G0 {self._at(0, 0)}"
        if not helix.turn_mm:
            yield from self._rings(helix)
        for wide_mm, turn_mm in zip(helix.rough_mm, helix.turn_mm, strict=False):
            yield f"G0 {of._z(START_MM)}"
            yield from self._helix(wide_mm, turn_mm)
            if wide_mm != helix.rough_mm[-1]:
                yield f"G0 {of._z(START_MM)}"
        yield from self._last(helix.to_mm)
        yield of.safe

    def _rings(self, helix: Helix) -> Iterator[str]:
        """A countersink: down in the free middle, and ring after ring out of it."""
        yield f"G0 {self.of._z(START_MM)}"
        feed = f"F{self.of.form.feed(self.one.feed_mm_per_min)}"
        yield f"G1 {self.of._z(self.one.z_mm)} {feed}"
        for wide_mm in helix.rough_mm:
            yield from self._last(wide_mm)

    def _radius(self, wide_mm: float) -> float:
        return self._rounded((wide_mm - self.helix.wide_mm) / 2)

    def _feed(self, wide_mm: float) -> str:
        """Of the mill's middle, which goes a shorter way round than its edge."""
        share = (wide_mm - self.helix.wide_mm) / wide_mm
        return f"F{self.of.form.feed(max(self.one.feed_mm_per_min * share, 1.0))}"

    def _at(self, x_mm: float, y_mm: float) -> str:
        """A place from the centre."""
        x, y = self.centre[0] + x_mm, self.centre[1] + y_mm
        return f"X{self.of.form.length(x)} Y{self.of.form.length(y)}"

    def _arc(self, start: _Place, end: _Place, middle: _Place, radius_mm: float, z: str) -> str:
        """All places from the hole's centre."""
        length, style = self.of.form.length, self.of.control.arcs
        words = [self.code, self._at(*end), z]
        if style == "radius":
            words.append(f"R{length(radius_mm)}")
        else:
            base = start if style == "centre" else (-self.centre[0], -self.centre[1])
            i, j = (at - from_ for at, from_ in zip(middle, base, strict=True))
            words.append(f"I{length(i)} J{length(j)}")
        return " ".join(word for word in words if word)

    def _turn(self, radius_mm: float, from_mm: float, to_mm: float) -> Iterator[str]:
        """Once round from the right, from a height to another; level, no height is told."""
        count = 4 if self.of.control.arcs == "radius" else 2
        for number in range(count):
            first, behind = (n * 4 // count % 4 for n in (number, number + 1))
            start, end = (
                (radius_mm * x, radius_mm * y) for x, y in (self.order[first], self.order[behind])
            )
            z_mm = from_mm + (to_mm - from_mm) * (number + 1) / count
            z = self.of._z(z_mm) if from_mm != to_mm else ""
            yield self._arc(start, end, (0.0, 0.0), radius_mm, z)

    def _helix(self, wide_mm: float, turn_mm: float) -> Iterator[str]:
        radius, bottom = self._radius(wide_mm), self.one.z_mm
        yield f"G1 {self._at(radius, 0)} {self._feed(wide_mm)}"
        turns = round((START_MM - bottom) / turn_mm)
        heights = [START_MM - number * turn_mm for number in range(turns)] + [bottom]
        for before, after in pairwise(heights):
            yield from self._turn(radius, before, after)
        yield from self._turn(radius, bottom, bottom)
        yield f"G1 {self._at(0, 0)}"

    def _last(self, wide_mm: float) -> Iterator[str]:
        radius = self._radius(wide_mm)
        lead = self._rounded(radius / _SHARE_OF_RUN_IN)
        side = lead if self.code == "G2" else -lead
        middle, wall = (radius - lead, 0.0), (radius, 0.0)
        yield f"G1 {self._at(radius - lead, side)} {self._feed(wide_mm)}"
        yield self._arc((radius - lead, side), wall, middle, lead, "")
        yield from self._turn(radius, self.one.z_mm, self.one.z_mm)
        yield self._arc(wall, (radius - lead, -side), middle, lead, "")
        yield f"G1 {self._at(0, 0)}"


_Place = tuple[float, float]
