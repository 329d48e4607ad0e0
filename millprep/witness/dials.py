"""The second witness for dial sheets: turns and figures of the finished sheet against the part.

Each setting is turned into a place by the shop's own dial, the figure under the index line counted
by the witness's own rules, and compared with where the hole belongs: half a division is allowed,
once. The way back past a place, the zero, the table of places and the words on the dials are held
against the same. Imports the part, the shop and `reading`; never what wrote the sheet.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from millprep.errors import Finding, MillprepError
from millprep.part import Part
from millprep.reading.sheets import SIZE_ROUNDED_MM, Figure, PrintedRow, UnreadableSheet
from millprep.reading.sheets.dial_rows import (
    DialFigure,
    DialPlace,
    DialRow,
    DialWords,
    DialZero,
    PrintedDials,
)
from millprep.reading.sheets.dials import DialForm, read_dials
from millprep.shop import Dial, Shop
from millprep.witness.headings import check_words
from millprep.witness.listing import check_holes, check_names, check_setups, check_tools
from millprep.witness.printed import OFF_COUNT, SLACK_MM, Printed

_REMEDY = "the sheet does not agree with the part file; please report it"
_SIDES = {
    ("x", 1): "left hand",
    ("x", -1): "right hand",
    ("y", 1): "towards you",
    ("y", -1): "away",
}
_HIGH = {"x": "right hand", "y": "away", "z": "up"}
_LOW = {"x": "left hand", "y": "towards you", "z": "down"}
_LEAST_BACK_TURNS = 0.5  # past a place before coming up to it, or three times the backlash
_LEAST_BACK_BACKLASHES = 3
_MOST_BACK_DIVISIONS = 1.5  # more than that: a whole division, and what rounding up to it adds
_LEFT_ROUNDED_MM = 1e-6  # what is left over is given to a millionth in csv and json


@dataclass(frozen=True, slots=True)
class _Wheel:
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

    def hand(self) -> str:
        """How the handle turns when places are come up to."""
        is_clockwise = (self.dial.clockwise == "+") == (self.way == 1)
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


def check_dials(
    data: bytes,
    form: DialForm,
    part: Part,
    shop: Shop,
    *,
    file: str,
    setup_numbers_expected: int | None = None,
    faces: Collection[str] | None = None,
) -> list[Finding]:
    """How a finished dial sheet differs from its part; empty when they agree.

    The arguments are those of `witness.listing.check_listing`; the dials are the shop's.
    """
    try:
        sheets = read_dials(data, form)
    except UnreadableSheet as fault:
        return [
            Finding(
                "stop", "unreadable-sheet", f"the dial sheet cannot be read back: {fault.message}",
                "it is not handed over; please report it", file=file, line=fault.line,
            )
        ]  # fmt: skip
    setups = tuple(one.setup for one in sheets)
    findings = [*check_setups(setups, part, file, setup_numbers_expected, faces)]
    findings += check_tools(setups, file)
    for one in sheets:
        printed = Printed(one.setup, part, shop.readout, file, dials=shop.dials)
        try:
            findings += _check_setup(printed, one, shop)
        except MillprepError as fault:
            findings += [replace(each, file=file, line=one.setup.line) for each in fault.findings]
    return findings


def _wheels(printed: Printed, shop: Shop) -> list[_Wheel]:
    """Places are come up to on the way from zero towards the middle of the part; else up."""
    reversed_axes = shop.readout.reversed_axes
    return [
        _Wheel(
            axis, shop.dials[axis],
            -1 if printed.middle[index] < -SLACK_MM else 1,
            -1 if axis in reversed_axes else 1,
        )
        for index, axis in enumerate("xy")
    ]  # fmt: skip


def _check_setup(printed: Printed, one: PrintedDials, shop: Shop) -> Iterator[Finding]:
    yield from check_words(printed)
    yield from check_names(printed)
    wheels = _wheels(printed, shop)
    before = [0.0, 0.0]
    for row, dials in zip(printed.setup.rows, one.dials, strict=True):
        figures = ((dials.x, dials.back_x), (dials.y, dials.back_y))
        for index, (wheel, (figure, back)) in enumerate(zip(wheels, figures, strict=True)):
            yield from _check_setting(printed, wheel, row, figure, index)
            yield from _check_way(printed, wheel, row, before[index], figure, back)
            before[index] = wheel.place_mm(figure)
        if "z" in shop.dials:
            yield from _check_depth(printed, shop, row, dials)
    yield from check_holes(printed)
    for zero, wheel in zip(one.zero, wheels, strict=False):
        yield from _check_zero(printed, wheel, zero, shop.finder.diameter_mm)
    for words in one.words:
        yield from _check_words(printed, words, shop, wheels)
    if one.winds_with_figures is not None:
        yield from _check_corner(printed, wheels, one.winds_with_figures)
    for place in one.places:
        yield from _check_place(printed, wheels, place)
    if one.places and {place.hole for place in one.places} != printed.places.keys():
        yield _stop(printed, "WHERE does not name every hole of this face once")


def _stop(printed: Printed, words: str, row: PrintedRow | None = None) -> Finding:
    return printed.stop("wrong-figure", words, _REMEDY, row, line=printed.setup.line)


def _check_setting(
    printed: Printed, wheel: _Wheel, row: PrintedRow, figure: DialFigure, index: int
) -> Iterator[Finding]:
    """The place that the figures stand for is the hole's, to half a division."""
    axis = wheel.axis.upper()
    fault = wheel.fault(figure, wheel.side(figure))
    if fault:
        yield _stop(printed, f"{axis}: {fault}", row)
    if row.hole not in printed.places:
        return
    exact, stands = printed.places[row.hole][index], wheel.place_mm(figure)
    if abs(exact - stands) > wheel.division_mm / 2 + SLACK_MM:
        yield printed.stop(
            "hole-off", f"the {axis} dial puts it at {stands:.4f} mm; it belongs at {exact:.4f}",
            "check turns and figure against the part file, and the dial's lead and divisions",
            row,
        )  # fmt: skip
    left = figure.left_over_mm
    if left is not None and abs(wheel.sign * (exact - stands) - left) > _LEFT_ROUNDED_MM:
        yield _stop(printed, f"{axis} leaves {exact - stands:.6f} mm over, not {left:g}", row)


def _check_way(
    printed: Printed, wheel: _Wheel, row: PrintedRow, before_mm: float, figure: DialFigure,
    back: DialFigure | None,
) -> Iterator[Finding]:  # fmt: skip
    """Where the way to a place leads back, the handle goes past it first, far enough."""
    axis, here = wheel.axis.upper(), wheel.place_mm(figure)
    goes_back = (here - before_mm) * wheel.way < -wheel.division_mm * OFF_COUNT
    if back is None:
        if goes_back:
            yield _stop(printed, f"{axis} comes back to the place, and no way past it is told", row)
        return
    fault = wheel.fault(back, wheel.side(back))
    past = (here - wheel.place_mm(back)) * wheel.way
    least = max(
        _LEAST_BACK_TURNS * wheel.dial.lead_mm, _LEAST_BACK_BACKLASHES * wheel.dial.backlash_mm
    )
    slack = wheel.division_mm / 2 + SLACK_MM
    most = least + _MOST_BACK_DIVISIONS * wheel.division_mm + SLACK_MM
    if fault or not least - slack <= past <= most:
        words = f"{axis} goes {past:.3f} mm past the place, not {least:.3f} and a little"
        yield _stop(printed, f"{axis}: {fault}" if fault else words, row)


def _check_depth(
    printed: Printed, shop: Shop, row: PrintedRow, dials: DialRow
) -> Iterator[Finding]:
    """The depth dial says what the depth column says, to half a division and half a count."""
    wheel = _Wheel("z", shop.dials["z"], -1, 1)
    tolerance = wheel.division_mm / 2 + printed.half_count_mm
    if dials.z is None:
        yield _stop(printed, "no figure for the Z dial", row)
        return
    pairs = [(dials.z, row.z_mm), *zip(dials.pecks, row.pecks_mm, strict=False)]
    for figure, shown_mm in pairs:
        fault, depth = wheel.fault(figure, -1), wheel.count(figure, -1) * wheel.division_mm
        if not fault and abs(depth - printed.z_sign * shown_mm) > tolerance:
            fault = f"the dial goes to {depth:.3f} mm, the column to {shown_mm:.3f}"
        if fault:
            yield _stop(printed, f"Z: {fault}", row)
    if dials.pecks and len(dials.pecks) != len(row.pecks_mm):
        yield _stop(printed, "another number of pecks by dial than by scale", row)


def _check_zero(
    printed: Printed, wheel: _Wheel, zero: DialZero, finder_mm: float
) -> Iterator[Finding]:
    """From where the finder touches it is so far to the zero, come up to on the usual way."""
    axis = "xy".index(wheel.axis)
    upright = printed.upright.get(zero.face)
    side = _SIDES[wheel.axis, wheel.way]
    if upright is None or upright.axis != axis or zero.side != side:
        words = (
            f"ZERO touches {zero.face.upper()} at the side called {zero.side}; {side} is met first"
        )
        yield _stop(printed, words)
        return
    if zero.hand != wheel.hand() or zero.over != zero.zero:
        yield _stop(printed, f"ZERO of {wheel.axis.upper()}: handle {zero.hand}, over {zero.over}")
    if abs(zero.finder.mm - finder_mm) > SIZE_ROUNDED_MM:
        yield _stop(printed, f"ZERO has a finder of {zero.finder.mm:g} mm; it is {finder_mm:g}")
    if upright.outward != -wheel.way:
        yield _stop(
            printed, f"ZERO touches {zero.face.upper()}, which is not met on the way to zero"
        )
    way = wheel.way * finder_mm / 2 - upright.at_mm
    told = wheel.count(zero.go_on, wheel.way) * wheel.division_mm
    if wheel.fault(zero.go_on, wheel.way) or abs(told - way) > wheel.division_mm / 2 + SLACK_MM:
        yield _stop(printed, f"ZERO goes on {told:.3f} mm from the touch; it is {way:.3f} to zero")


def _check_words(
    printed: Printed, words: DialWords, shop: Shop, wheels: list[_Wheel]
) -> Iterator[Finding]:
    """Lead, divisions and directions of a dial are the shop's."""
    dial = shop.dials.get(words.axis)
    if dial is None:
        yield _stop(printed, f"the shop has no dial for {words.axis.upper()}")
        return
    goes = (_HIGH if dial.clockwise == "+" else _LOW)[words.axis]
    ten = 10 * dial.lead_mm * (1 + dial.correction_ppm / 1e6)
    come_up = next((wheel.hand() for wheel in wheels if wheel.axis == words.axis), None)
    is_right = (
        abs(words.lead_mm - dial.lead_mm) < 1e-5 * dial.lead_mm
        and abs(words.divisions - dial.divisions) < 1e-5 * dial.divisions
        and words.clockwise_to == goes
        and words.numbers_rise == dial.numbers_rise
        and words.come_up == come_up
        and _is(words.measures, ten)
    )
    if not is_right:
        yield _stop(printed, f"what DIALS says of {words.axis.upper()} is not the shop's dial")


def _is(figure: Figure | None, exact_mm: float) -> bool:
    return figure is None or abs(figure.mm - exact_mm) <= figure.half_digit_mm + SLACK_MM


def _check_corner(
    printed: Printed, wheels: list[_Wheel], named: tuple[str, ...]
) -> Iterator[Finding]:
    """All moves wind with the figures when zero is on the side from which they grow."""
    setup = printed.setup
    is_so = all(wheel.way == wheel.grows for wheel in wheels)
    is_so = is_so and "centre" not in (setup.zero_x, setup.zero_y)
    if not named:
        if not is_so:
            yield _stop(printed, "moves from this zero do not all wind with the figures")
        return
    for index, (face, wheel) in enumerate(zip(named, wheels, strict=True)):
        upright = printed.upright.get(face)
        if is_so or upright is None or (upright.axis, upright.outward) != (index, -wheel.grows):
            yield _stop(printed, f"zero on {face.upper()} is not where moves wind with the figures")


def _check_place(printed: Printed, wheels: list[_Wheel], place: DialPlace) -> Iterator[Finding]:
    """A row of WHERE: the readout's figure, a rule's, and what the nearest division leaves over."""
    if place.hole not in printed.places:
        yield _stop(printed, f'WHERE names "{place.hole}", which is no hole of this face')
        return
    for index, wheel in enumerate(wheels):
        exact = printed.places[place.hole][index]
        left = wheel.sign * (exact - round(exact / wheel.division_mm) * wheel.division_mm)
        told = place.left_over[index]
        is_tie = abs(abs(left) - wheel.division_mm / 2) < SLACK_MM
        if not (
            abs(place.at[index].mm - wheel.sign * exact) <= printed.half_count_mm
            and abs(place.by_rule[index].mm - abs(exact))
            <= place.by_rule[index].half_digit_mm + SLACK_MM
            and (_is(told, left) or (is_tie and _is(told, -left)))
        ):
            words = f"WHERE has {place.hole} at {place.at[index].mm:g} mm in {wheel.axis.upper()}"
            yield _stop(printed, f"{words}, {told.mm:g} mm left over; it lies at {exact:.4f}")
