"""The second witness for dial sheets: turns and figures of the finished sheet against the part.

Each setting is turned into a place by the shop's own dial, the figure under the index line counted
by the witness's own rules, and compared with where the hole belongs: half a division is allowed,
once. The way back past a place, the zero, the table of places and the words on the dials are held
against the same. Imports the part, the shop and `reading`; never what wrote the sheet.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import replace
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.reading.pages import Figure, PrintedRow, UnreadableSheet
from millprep.reading.pages.dial_rows import DialFigure, DialPlace, DialRow, DialWords, PrintedDials
from millprep.reading.pages.dials import DialForm, read_dials
from millprep.witness.dial_zero import check_zero
from millprep.witness.headings import check_words
from millprep.witness.listing import check_holes, check_names, check_setups, check_tools
from millprep.witness.printed import OFF_COUNT, SLACK_MM, Printed
from millprep.witness.setting import check_setting
from millprep.witness.wheel import Wheel

_REMEDY = "the sheet does not agree with the part file; please report it"
_HIGH = {"x": "right hand", "y": "away", "z": "up"}
_LOW = {"x": "left hand", "y": "towards you", "z": "down"}
_LEFT_ROUNDED_MM = 1e-6  # what is left over is given to a millionth in csv and json


def check_dials(
    data: bytes,
    form: DialForm,
    part: Part,
    shop: Shop,
    *,
    file: str,
    setup_numbers_expected: int | None = None,
    faces: Collection[str] | None = None,
    skews: Mapping[str, float] | None = None,
) -> list[Finding]:
    """How a finished dial sheet differs from its part; empty when they agree.

    The arguments are those of `witness.listing.check_listing`; the dials are the shop's.
    """
    try:
        sheets = read_dials(data, form)
    except UnreadableSheet as fault:
        return [
            Finding(
                "stop",
                "unreadable-sheet",
                f"the dial sheet cannot be read back: {fault.message}",
                "it is not handed over; please report it",
                file=file,
                line=fault.line,
            )
        ]
    setups = tuple(one.setup for one in sheets)
    findings = [*check_setups(setups, part, file, setup_numbers_expected, faces)]
    findings += check_tools(setups, file)
    for before, one in zip((None, *setups), sheets, strict=False):
        skew_deg = (skews or {}).get(one.setup.face, 0.0)
        printed = Printed(one.setup, part, shop.readout, file, skew_deg, shop.dials, shop.finder)
        try:
            findings += _check_setup(printed, one, shop)
            findings += check_setting(printed, before)
        except MillprepError as fault:
            findings += [replace(each, file=file, line=one.setup.line) for each in fault.findings]
    return findings


def _wheels(printed: Printed, shop: Shop) -> list[Wheel]:
    """Places are come up to on the way from zero towards the middle of the part; else up."""
    reversed_axes = shop.readout.reversed_axes
    return [
        Wheel(
            axis,
            shop.dials[axis],
            -1 if printed.middle[index] < -SLACK_MM else 1,
            -1 if axis in reversed_axes else 1,
        )
        for index, axis in enumerate("xy")
    ]


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
        for words in check_zero(printed, wheel, zero, shop.finder.diameter_mm):
            yield _stop(printed, words)
    for dial_words in one.words:
        yield from _check_words(printed, dial_words, shop, wheels)
    if one.winds_with_figures is not None:
        yield from _check_corner(printed, wheels, one.winds_with_figures)
    for place in one.places:
        yield from _check_place(printed, wheels, place)
    if one.places and {place.hole for place in one.places} != printed.places.keys():
        yield _stop(printed, "WHERE does not name every hole of this face once")
    yield from _check_recovery(printed, wheels, one)


def _stop(printed: Printed, words: str, row: PrintedRow | None = None) -> Finding:
    return printed.stop("wrong-figure", words, _REMEDY, row, line=printed.setup.line)


def _check_setting(
    printed: Printed, wheel: Wheel, row: PrintedRow, figure: DialFigure, index: int
) -> Iterator[Finding]:
    """The place that the figures stand for is the hole's, to half a division."""
    axis = wheel.axis.upper()
    fault = wheel.fault(figure, wheel.side(figure))
    if fault:
        yield _stop(printed, f"{axis}: {fault}", row)
    if row.hole not in printed.places:
        return
    exact = printed.on_machine(printed.places[row.hole])[index]
    stands = wheel.place_mm(figure)
    if abs(exact - stands) > wheel.division_mm / 2 + SLACK_MM:
        yield printed.stop(
            "hole-off",
            f"the {axis} dial puts it at {stands:.4f} mm; it belongs at {exact:.4f}",
            "check turns and figure against the part file, and the dial's lead and divisions",
            row,
        )
    left = figure.left_over_mm
    if left is not None and abs(wheel.sign * (exact - stands) - left) > _LEFT_ROUNDED_MM:
        yield _stop(printed, f"{axis} leaves {exact - stands:.6f} mm over, not {left:g}", row)


def _check_way(
    printed: Printed,
    wheel: Wheel,
    row: PrintedRow,
    before_mm: float,
    figure: DialFigure,
    back: DialFigure | None,
) -> Iterator[Finding]:
    """Where the way to a place leads back, the handle goes past it first, far enough."""
    axis, here = wheel.axis.upper(), wheel.place_mm(figure)
    goes_back = (here - before_mm) * wheel.way < -wheel.division_mm * OFF_COUNT
    if back is None:
        if goes_back:
            yield _stop(printed, f"{axis} comes back to the place, and no way past it is told", row)
        return
    fault = wheel.fault(back, wheel.side(back))
    past = (here - wheel.place_mm(back)) * wheel.way
    if fault or not wheel.is_past_enough(past):
        words = f"{axis} goes {past:.3f} mm past the place, not {wheel.least_past_mm:.3f} and more"
        yield _stop(printed, f"{axis}: {fault}" if fault else words, row)


def _check_depth(
    printed: Printed, shop: Shop, row: PrintedRow, dials: DialRow
) -> Iterator[Finding]:
    """The depth dial says what the depth column says, to half a division and half a count."""
    wheel = Wheel("z", shop.dials["z"], -1, 1)
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


def _check_words(
    printed: Printed, words: DialWords, shop: Shop, wheels: list[Wheel]
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
    printed: Printed, wheels: list[Wheel], named: tuple[str, ...]
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


def _check_place(printed: Printed, wheels: list[Wheel], place: DialPlace) -> Iterator[Finding]:
    """A row of WHERE: the readout's figure, a rule's, and what the nearest division leaves over."""
    if place.hole not in printed.places:
        yield _stop(printed, f'WHERE names "{place.hole}", which is no hole of this face')
        return
    for index, wheel in enumerate(wheels):
        on_part = printed.places[place.hole]
        exact, by_rule = printed.on_machine(on_part)[index], place.by_rule[index]
        left = wheel.sign * (exact - round(exact / wheel.division_mm) * wheel.division_mm)
        told = place.left_over[index]
        is_tie = abs(abs(left) - wheel.division_mm / 2) < SLACK_MM
        if not (
            abs(place.at[index].mm - wheel.sign * exact) <= printed.half_count_mm
            and _is(by_rule, abs(on_part[index]))
            and (_is(told, left) or (is_tie and _is(told, -left)))
        ):
            words = f"WHERE has {place.hole} at {place.at[index].mm:g} mm in {wheel.axis.upper()}"
            yield _stop(printed, f"{words}, {told.mm:g} mm left over; it lies at {exact:.4f}")


def _check_recovery(printed: Printed, wheels: list[Wheel], one: PrintedDials) -> Iterator[Finding]:
    """Over the holes that give a lost zero back the dials stand as for the holes themselves."""
    named = [
        [place for name, place in printed.places.items() if _is_named(name, over.hole)]
        for over in one.recover
    ]
    for over, places in zip(one.recover, named, strict=True):
        figures = list(zip(wheels, (over.x, over.y), strict=True))
        faults = [wheel.fault(figure, wheel.side(figure)) for wheel, figure in figures]
        is_there = any(
            all(
                abs(exact - wheel.place_mm(figure)) <= wheel.division_mm / 2 + SLACK_MM
                for exact, (wheel, figure) in zip(printed.on_machine(place), figures, strict=True)
            )
            for place in places
        )
        if any(faults) or not is_there:
            yield _stop(printed, f"RECOVER has not the settings of {over.hole}")
    if one.apart is not None and not any(
        abs(math.dist(a, b) - one.apart.mm) <= printed.half_count_mm
        for a in named[0]
        for b in named[1]
    ):
        yield _stop(printed, f"the holes for a lost zero are not {one.apart.mm:g} mm apart")


def _is_named(name: str, words: str) -> bool:
    """Running text may be broken at any blank."""
    return name.replace(" ", "") == words.replace(" ", "")
