"""The second witness for dial sheets: turns and figures of the finished sheet against the part.

Each setting is turned into a place by the shop's own dial, the figure under the index line counted
by the witness's own rules, and compared with where the hole belongs: half a division is allowed,
once. The way back past a place, the zero, the table of places and the words on the dials are held
against the same. Imports the part, the shop and `reading`; never what wrote the sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.sheet import ReadPage, ReadRow, ReadSection
from millprep.reading.pages.slots import Said
from millprep.witness.beside_rows import check_beside_rows
from millprep.witness.dial_words import check_dial_words
from millprep.witness.listing import Sheet, check_sheet
from millprep.witness.printed import OFF_COUNT, SLACK_MM, Printed
from millprep.witness.set_up import SetUp
from millprep.witness.setting_up import check_lying
from millprep.witness.steps import check_holes, check_names
from millprep.witness.wheel import DialFigure, Wheel, setting_named, settings_said

_REMEDY = "the sheet does not agree with the part file; please report it"
_LEFT_ROUNDED_MM = 1e-6  # what is left over is given to a millionth in csv and json


def check_dials(
    data: bytes, form: SheetForm, part: Part, shop: Shop, *, file: str, **expected: Any
) -> list[Finding]:
    """How a finished dial sheet differs from its part; empty when they agree.

    file, expected : as of `witness.listing.check_sheet`; the dials are the shop's
    """
    sheet = Sheet("dials", "the dial sheet", "dialled", _check_rows, _check_around)
    return check_sheet(sheet, data, form, part, shop, file=file, **expected)


def _check_around(body: SetUp) -> Iterator[Finding]:
    yield from check_lying(body)
    yield from check_dial_words(body, wheels_of(body.printed, body.shop))
    yield from check_beside_rows(body)


def wheels_of(printed: Printed, shop: Shop) -> list[Wheel]:
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


@frozen
class _Told:
    """The settings of a step, wherever they are told: each of them has to be right."""

    at: tuple[list[DialFigure], list[DialFigure]]
    back: tuple[list[DialFigure], list[DialFigure]]
    z: list[DialFigure]
    pecks: list[list[DialFigure]]


def _told_of(page: ReadPage) -> Iterator[_Told]:
    for section in page.sections:
        for row in section.rows:
            if "step" in row.said.slots:
                yield _told(section, row)


def _told(section: ReadSection, row: ReadRow) -> _Told:
    slots, is_csv = row.said.slots, "x_negative" in row.said.slots
    said = [one for one in section.said if one.group == "HOLE"]
    at: list[list[DialFigure]] = []
    back: list[list[DialFigure]] = []
    for axis in "xy":
        here = [one for found in said for one in settings_said(found, f"{axis}_dial")]
        past = [
            one for found in (*said, *row.below) for one in settings_said(found, f"{axis}_back")
        ]
        if isinstance(slots.get(axis), Mapping):
            here.append(setting_named(slots[axis]))
            if isinstance(slots[axis].get("back_off"), Mapping):
                past.append(setting_named(slots[axis]["back_off"]))
        elif is_csv:
            here.append(setting_named(slots, f"{axis}_"))
            if slots.get(f"{axis}_back_turns") is not None:
                past.append(setting_named(slots, f"{axis}_back_"))
        if f"{axis}_figure" in slots:
            here += settings_said(_cell(row.said, axis), "cell")
        at.append(here)
        back.append(past)
    shared = section.all("all-dial")
    z = [one for found in (*shared, row.said, *row.below) for one in settings_said(found, "z_set")]
    pecks = [
        settings_said(found, "pecks_set")
        for found in (*shared, row.said, *row.below)
        if found.slots.get("pecks_set")
    ]
    if isinstance(slots.get("z_dial"), Mapping):
        z.append(setting_named(slots["z_dial"]))
    if slots.get("pecks_dial"):
        pecks.append([setting_named(one) for one in slots["pecks_dial"]])
    if is_csv and slots.get("z_turns") is not None:
        z.append(setting_named({**slots, "z_negative": "no"}, "z_"))
    return _Told((at[0], at[1]), (back[0], back[1]), z, pecks)


def _cell(said: Said, axis: str) -> Said:
    """The cells of an axis as one setting."""
    pair = {"turns": said[f"{axis}_turns"], "figure": said[f"{axis}_figure"]}
    return Said(said.slug, said.group, {"cell": pair}, said.text, said.units, said.line)


def _check_rows(body: SetUp) -> Iterator[Finding]:
    """Numbering and names, every setting, hole by hole."""
    printed, shop = body.printed, body.shop
    yield from check_names(printed)
    wheels = wheels_of(printed, shop)
    before = [0.0, 0.0]
    last = ""
    for row, told in zip(printed.setup.rows, _told_of(body.page), strict=True):
        is_same_hole = body.is_by_hole and row.hole == last
        last = row.hole
        for index, wheel in enumerate(wheels):
            at, back = told.at[index], told.back[index]
            if not at:
                yield _stop(printed, f"no setting of {wheel.axis.upper()}", row)
                continue
            for figure in at:
                yield from _check_setting(printed, wheel, row, figure, index)
            if not is_same_hole:
                yield from _check_way(printed, wheel, row, before[index], at[0], back)
            before[index] = wheel.place_mm(at[0])
        if "z" in shop.dials:
            yield from _check_depth(printed, shop, row, told)
        elif told.z or told.pecks:
            yield _stop(printed, "a figure for a Z dial that the shop does not have", row)
    yield from check_holes(printed)


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
    back: Sequence[DialFigure],
) -> Iterator[Finding]:
    """Where the way to a place leads back, the handle goes past it first, far enough."""
    axis, here = wheel.axis.upper(), wheel.place_mm(figure)
    goes_back = (here - before_mm) * wheel.way < -wheel.division_mm * OFF_COUNT
    if goes_back and not back:
        yield _stop(printed, f"{axis} comes back to the place, and no way past it is told", row)
    for one in back:
        fault = wheel.fault(one, wheel.side(one))
        past = (here - wheel.place_mm(one)) * wheel.way
        if fault or not wheel.is_past_enough(past):
            least = wheel.least_past_mm
            words = f"{axis} goes {past:.3f} mm past the place, not {least:.3f} and more"
            yield _stop(printed, f"{axis}: {fault}" if fault else words, row)


def _check_depth(printed: Printed, shop: Shop, row: PrintedRow, told: _Told) -> Iterator[Finding]:
    """The depth dial says what the depth column says, to half a division and half a count."""
    wheel = Wheel("z", shop.dials["z"], -1, 1)
    tolerance = wheel.division_mm / 2 + printed.half_count_mm
    if not told.z:
        yield _stop(printed, "no figure for the Z dial", row)
    pairs = [(figure, row.z_mm) for figure in told.z]
    for pecks in told.pecks:
        pairs += zip(pecks, row.pecks_mm, strict=False)
        if len(pecks) != len(row.pecks_mm):
            yield _stop(printed, "another number of pecks by dial than by scale", row)
    for figure, shown_mm in pairs:
        fault, depth = wheel.fault(figure, -1), wheel.count(figure, -1) * wheel.division_mm
        if not fault and abs(depth - printed.z_sign * shown_mm) > tolerance:
            fault = f"the dial goes to {depth:.3f} mm, the column to {shown_mm:.3f}"
        if fault:
            yield _stop(printed, f"Z: {fault}", row)
