"""The words for what errors look like: figures that betray a slip, compared with the shop's own.

Imports layers 0 to 2 and `fitting`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import hypot

from millprep.base.plain_text import some
from millprep.base.records import frozen
from millprep.base.units import Length, Units, in_units
from millprep.model.shop import Shop
from millprep.sums.fitting import Fit, Floats

NOISE_MM = 0.02  # how far a calliper's reading of a hole may be wrong (common practice)
_NEAR_MM = 0.05  # a zero, a turn or a figure is met no better than this (common practice)
_NEAR_SCALE = 0.002
_SQUARE_DEG = 1.0  # a part turned round is held against something, and lies this true at least
_ASKEW_DEG = 0.05
_MOST_TURNS = 3
_MOST_LISTED = 6
_MANY_TIMES = 8  # what a slip explains is more than what it leaves, by this
_SCALES = (
    (25.4, "25.4: millimetres were read as inches"),
    (1 / 25.4, "1/25.4: inches were read as millimetres"),
    (2.54 / 2.5, "2.54/2.5: a dial in millimetres on an inch screw, or an inch taken for 25 mm"),
    (2.5 / 2.54, "2.5/2.54: a dial in inches on a metric screw, or 25 mm taken for an inch"),
)


@frozen
class ShopFigures:
    """What slips at this shop measure, and how readings are shown.

    noise_mm : how far a reading may be wrong
    finder_mm : diameter of the finder's tip; leads_mm, backlash_mm : of the dials of x and y, or
                None and 0 where there are none
    units, reversed_axes : in which figures are told, and the axes whose sign the readout turns
    read_in   : units of the readings as they were written down; None: as they are told
    """

    finder_mm: float = 0.0
    leads_mm: tuple[float | None, float | None] = (None, None)
    backlash_mm: tuple[float, float] = (0.0, 0.0)
    noise_mm: float = NOISE_MM
    units: Units = "mm"
    reversed_axes: tuple[str, ...] = ()
    read_in: Units | None = None

    def figure(self, value_mm: float) -> str:
        """A length in a sentence."""
        return f"{Length(value_mm, self.units):3}"

    def signed(self, value_mm: float, axis: str) -> str:
        """The axis and a length along it, with the sign that the readout gives it."""
        shown_mm = -value_mm if axis.lower() in self.reversed_axes else value_mm
        return f"{axis} {'+' if shown_mm > 0 else ''}{self.figure(shown_mm)}"

    def way(self, turn_deg: float) -> str:
        """Which way round a turn goes as the readout counts: one reversed axis turns it about."""
        is_anticlockwise = (turn_deg > 0) != (len(self.reversed_axes) == 1)
        return "anticlockwise" if is_anticlockwise else "clockwise"

    @property
    def near_mm(self) -> float:
        return self.noise_mm + _NEAR_MM


def shop_figures(shop: Shop, units: Units, noise_mm: float = NOISE_MM) -> ShopFigures:
    """The figures of a shop file; signs as in setup axes."""
    dials = [shop.dials.get(axis) for axis in "xy"]
    x, y = dials
    return ShopFigures(
        shop.finder.diameter_mm,
        (x.lead_mm if x else None, y.lead_mm if y else None),
        (x.backlash_mm if x else 0.0, y.backlash_mm if y else 0.0),
        noise_mm,
        units,
    )


def pattern_words(
    name: str, fit: Fit, stretch: tuple[float, float] | None, shop: ShopFigures
) -> Iterator[str]:
    """How the whole pattern lies otherwise than drawn, a sentence each."""
    if fit.mirrored:
        yield "the pattern is mirrored: seen from the other side, or of the opposite hand"
    if name == "scale":
        yield from _scale_words(fit, stretch)
    is_askew = abs(fit.turn_deg) > (_ASKEW_DEG if name == "scale" else 0)
    if is_askew and not (fit.mirrored and _is_near_turn(fit.turn_deg, 0)):
        yield _turn_words(fit.turn_deg, shop)
    if name == "shift":
        yield _shift_words(fit.shift_mm, shop)


def _is_near_turn(turn_deg: float, wanted_deg: float) -> bool:
    return abs((turn_deg - wanted_deg + 180) % 360 - 180) <= _SQUARE_DEG


def _turn_words(turn_deg: float, shop: ShopFigures) -> str:
    way = shop.way(turn_deg)
    if _is_near_turn(turn_deg, 180):
        return f"the part was set the wrong way round, end for end ({abs(turn_deg):.2f} deg)"
    if _is_near_turn(turn_deg, 90) or _is_near_turn(turn_deg, -90):
        return f"the part was set a quarter turn round, {way} ({abs(turn_deg):.2f} deg)"
    if abs(turn_deg) < 0.01:
        return f"the part was set out of square by less than 0.01 deg, {way}"
    return f"the part was set out of square by {abs(turn_deg):.2f} deg, {way}"


def _scale_words(fit: Fit, stretch: tuple[float, float] | None) -> Iterator[str]:
    if stretch is None or abs(stretch[0] - stretch[1]) <= _NEAR_SCALE:
        scale = fit.scale if stretch is None else sum(stretch) / 2
        yield f"the pattern is {_scale_name(scale)}"
        return
    for axis, scale in zip("XY", stretch, strict=True):
        if abs(scale - 1) > _NEAR_SCALE / 4:
            yield f"along {axis} the pattern is {_scale_name(scale)}"


def _scale_name(scale: float) -> str:
    """The scale, and what is known to stretch by as much."""
    cause = next((words for known, words in _SCALES if abs(scale / known - 1) <= _NEAR_SCALE), "")
    return f"{scale:.4f} times its size" + (f", about {cause}" if cause else "")


def _shift_words(shift_mm: Floats, shop: ShopFigures) -> str:
    x_mm, y_mm = (float(value) for value in shift_mm)
    where = " and ".join(
        shop.signed(value, axis)
        for axis, value in (("X", x_mm), ("Y", y_mm))
        if abs(value) > shop.near_mm or hypot(x_mm, y_mm) <= shop.near_mm * 2
    )
    causes = [
        f"{axis}: {cause}"
        for axis, value, lead in (("X", x_mm, shop.leads_mm[0]), ("Y", y_mm, shop.leads_mm[1]))
        if (cause := _shift_cause(value, lead, shop))
    ]
    words = f"the whole pattern is shifted by {where}"
    return words + (f" ({'; '.join(causes)})" if causes else "")


def _shift_cause(value_mm: float, lead_mm: float | None, shop: ShopFigures) -> str:
    """What at this shop measures as much."""
    size, causes = abs(value_mm), []
    if shop.finder_mm and abs(size - shop.finder_mm / 2) <= shop.near_mm:
        causes.append("edge finder radius left out")
    if shop.finder_mm and abs(size - shop.finder_mm) <= shop.near_mm:
        causes.append("edge finder radius applied the wrong way")
    turns = _turns(size, lead_mm, shop)
    if turns:
        causes.append(f"{turns} of the handle")
    return " or ".join(causes)


def _turns(size_mm: float, lead_mm: float | None, shop: ShopFigures) -> str:
    """Whole turns of the dial that measure as much, in words."""
    turns = round(size_mm / lead_mm) if lead_mm else 0
    if lead_mm is None or not 1 <= turns <= _MOST_TURNS:
        return ""
    if abs(size_mm - turns * lead_mm) > shop.near_mm:
        return ""
    return ("one turn", "two turns", "three turns")[turns - 1]


def group_words(names: Sequence[str], off_mm: tuple[float, float], shop: ShopFigures) -> str:
    """Some holes off along one axis by one figure."""
    axis = 0 if off_mm[0] else 1
    off, lead, backlash = off_mm[axis], shop.leads_mm[axis], shop.backlash_mm[axis]
    words = f"{listed(names)} {'is' if len(names) == 1 else 'are'} off by "
    words += shop.signed(off, "XY"[axis])
    turns = _turns(abs(off), lead, shop)
    if turns:
        return f"{words}: {turns} of the handle out"
    if backlash and abs(abs(off) - backlash) <= max(shop.noise_mm, backlash / 3):
        return f"{words}: backlash: come up to from the other side"
    return f"{words} against the others: backlash, or the stop has moved"


def hole_words(
    name: str, expected_mm: Floats, measured_mm: Floats, others_mm: Floats, shop: ShopFigures
) -> str:
    """One hole that is off by itself, or was misread.

    expected_mm, measured_mm : (2,); others_mm : (2, N) where the other holes are
    """
    causes: list[str] = []
    off = measured_mm - expected_mm
    is_off = [abs(float(value)) > shop.near_mm for value in off]
    for axis in (0, 1):
        if is_off[axis]:
            wanted, given = float(expected_mm[axis]), float(measured_mm[axis])
            cause = _figure_cause(wanted, given, shop.leads_mm[axis], others_mm[axis], shop)
            causes += [f"{'XY'[axis]} {cause}"] if cause else []
    where = " and ".join(
        shop.signed(float(value), axis)
        for axis, value, is_much in zip("XY", off, is_off, strict=True)
        if is_much or not any(is_off)
    )
    return f"{name} alone is off by {where}" + (f": {'; '.join(causes)}" if causes else "")


def _figure_cause(
    wanted_mm: float, given_mm: float, lead_mm: float | None, others_mm: Floats, shop: ShopFigures
) -> str:
    """Why one figure may stand where another should."""
    near = shop.near_mm
    turns = _turns(abs(given_mm - wanted_mm), lead_mm, shop)
    if turns:
        return f"{turns} of the handle out"
    if abs(given_mm + wanted_mm) <= near:
        return "has the wrong sign"
    if abs(wanted_mm) > near:  # nought is nought in any unit, and with any digits
        cause = _writing_cause(wanted_mm, given_mm, shop)
        if cause:
            return cause
    if abs(others_mm - given_mm).min() <= near:
        return "is the figure of another hole"
    return ""


def _writing_cause(wanted_mm: float, given_mm: float, shop: ShopFigures) -> str:
    """How a figure that is not nought may have been written down wrongly."""
    near = shop.near_mm
    if abs(given_mm * 25.4 - wanted_mm) <= near or abs(given_mm / 25.4 - wanted_mm) <= near:
        return "was read in the other unit"
    left_mm = min(near, abs(given_mm - wanted_mm) / _MANY_TIMES)
    swapped = _digits_swapped(given_mm, shop.read_in or shop.units)
    if any(abs(figure - wanted_mm) <= left_mm for figure in swapped):
        return "has two figures swapped"
    if abs(given_mm * 10 - wanted_mm) <= near or abs(given_mm / 10 - wanted_mm) <= near:
        return "has the decimal point in the wrong place"
    return ""


def _digits_swapped(value_mm: float, units: Units) -> Iterator[float]:
    """The figure with two neighbouring digits exchanged, each way there is, in mm."""
    text = f"{in_units(abs(value_mm), units):.{4 if units == 'inch' else 2}f}"
    digits = text.replace(".", "")
    point = len(digits) - text.find(".") if "." in text else 0
    scale = 25.4 if units == "inch" else 1.0
    decimals = len(text) - text.find(".") - 1
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1] and point:
            swapped = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
            value = int(swapped) / 10**decimals * scale
            yield value if value_mm >= 0 else -value


def listed(names: Sequence[str]) -> str:
    """Names in a sentence; of many the first."""
    if len(names) > _MOST_LISTED:
        return some(names, _MOST_LISTED)
    return ", ".join(names[:-1]) + f" and {names[-1]}" if len(names) > 1 else "".join(names)
