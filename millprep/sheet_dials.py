"""The dial sheet: the steps of a sheet as turns and divisions of the handwheels.

Takes the exact places that a sheet carries; `planning.dials` rounds each once, to a division.
Imports layers 0 to 4 and `sheet`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from millprep.errors import Finding, MillprepError
from millprep.figures import Figures
from millprep.holding import faces_along
from millprep.planning import Plan
from millprep.planning.dials import Handle, Setting, Wound, marked_otherwise
from millprep.planning.rows import ways_of
from millprep.setups import Setup
from millprep.sheet import SetupSheet, Sheet, Step
from millprep.sheet_words import by_rule
from millprep.shop import Shop

_TO = {"x": ("left hand", "right hand"), "y": ("towards you", "away"), "z": ("down", "up")}
"""Where the cutter goes, relative to the work, when an axis goes down or up."""
CHECK_TURNS = 10


@dataclass(frozen=True, slots=True)
class DialStep:
    """A step of the sheet and its settings; z and pecks where the shop has a dial for depth."""

    step: Step
    x: Wound
    y: Wound
    z: Setting | None
    pecks: tuple[Setting, ...]


@dataclass(frozen=True, slots=True)
class DialPlace:
    """Where a hole lies: as shown, by rule, and what its settings leave over, X and Y each."""

    hole: str
    shown: tuple[str, str]
    by_rule: tuple[str, str]
    left_over: tuple[str, str]


@dataclass(frozen=True, slots=True)
class DialSetup:
    """One setup: the sheet's words and blocks, handwheels, zeroing by dial, settings by step."""

    setup: SetupSheet
    handles: tuple[Handle, ...]
    zero: tuple[str, ...]
    dials: tuple[str, ...]
    steps: dict[int, DialStep]
    places: tuple[DialPlace, ...]


@dataclass(frozen=True, slots=True)
class DialSheet:
    """The sheet that it was made from, its setups by dial, and what was assumed and found."""

    sheet: Sheet
    setups: tuple[DialSetup, ...]
    assumed: tuple[str, ...]
    findings: tuple[Finding, ...]


def refuse_without_dials(shop: Shop) -> None:
    """Raises MillprepError where the shop file describes no dial for X or Y."""
    missing = [axis for axis in "xy" if axis not in shop.dials]
    if missing:
        raise MillprepError(
            Finding(
                "stop", "missing-key", f"the shop has no dial for {' and '.join(missing)}",
                "describe it in the shop file: [dials] x = { lead = 2.5, divisions = 100 }",
                file=shop.path or None,
            )
        )  # fmt: skip


def make_dial_sheet(plan: Plan, sheet: Sheet) -> DialSheet:
    """The dial sheet of a plan's sheet. Raises MillprepError where the shop has no dials."""
    shop = plan.shop
    refuse_without_dials(shop)
    figures = Figures(sheet.units, shop.readout)
    by_number = {setup_plan.setup.number: setup_plan.setup for setup_plan in plan.setups}
    setups = tuple(
        _dial_setup(shop, by_number[setup.number], setup, figures) for setup in sheet.setups
    )
    depth = "depths by the quill's scale" if "z" not in shop.dials else "depths by the Z dial"
    assumed = (*(each for each in sheet.assumed if not each.startswith("readout")), depth)
    return DialSheet(sheet, setups, assumed, (*sheet.findings, *_traps(shop)))


def _traps(shop: Shop) -> Iterator[Finding]:
    for dial in dict.fromkeys(shop.dials.values()):
        axes = " and ".join(axis.upper() for axis, one in shop.dials.items() if one == dial)
        marked = marked_otherwise(dial)
        if marked:
            ten = CHECK_TURNS * dial.lead_mm
            yield Finding(
                "note", "dial-marking",
                f"{axes} dial: {dial.divisions:g} divisions on a screw of "
                f"{dial.lead_mm:g} mm; such a ring may be marked in divisions of {marked}",
                f"count divisions, whatever is engraved; {CHECK_TURNS} turns must measure "
                f"{ten:g} mm ({ten / 25.4:.4f} in)",
                file=shop.path or None,
            )  # fmt: skip


def _dial_setup(shop: Shop, setup: Setup, shown: SetupSheet, figures: Figures) -> DialSetup:
    ways = {**dict(zip("xy", ways_of(setup), strict=True)), "z": -1}
    handles = tuple(
        Handle(axis, shop.dials[axis], ways[axis], axis in shop.readout.reversed_axes)
        for axis in "xyz"
        if axis in shop.dials
    )
    x, y, *z = handles
    wound_x = x.wind([step.x_exact_mm for step in shown.steps])
    wound_y = y.wind([step.y_exact_mm for step in shown.steps])
    steps = {
        step.step: DialStep(
            step, at_x, at_y,
            z[0].setting(step.z_exact_mm) if z else None,
            tuple(z[0].setting(peck) for peck in _pecks_mm(step, figures)) if z else (),
        )
        for step, at_x, at_y in zip(shown.steps, wound_x, wound_y, strict=True)
    }  # fmt: skip
    return DialSetup(
        shown, handles, tuple(_zero_line(shop, setup, handle, figures) for handle in (x, y)),
        tuple(_dial_lines(setup, handles)), steps, tuple(_places(steps, figures)),
    )  # fmt: skip


def _pecks_mm(step: Step, figures: Figures) -> list[float]:
    """Pecks as the sheet shows them, in mm and setup axes; the last is the exact depth."""
    sign = -1 if "z" in figures.readout.reversed_axes else 1
    per_unit = 25.4 if figures.units == "inch" else 1.0
    shown = [sign * float(peck) * per_unit for peck in step.pecks[:-1]]
    return [*shown, step.z_exact_mm] if step.pecks else []


def _places(steps: dict[int, DialStep], figures: Figures) -> Iterator[DialPlace]:
    """Every hole once, in the order of the steps."""
    decimals = 3 if figures.units == "mm" else 4
    seen: set[str] = set()
    for dialled in steps.values():
        step = dialled.step
        if step.hole in seen:
            continue
        seen.add(step.hole)
        left = [wound.setting.left_over_mm for wound in (dialled.x, dialled.y)]
        per_unit = 25.4 if figures.units == "inch" else 1.0
        yield DialPlace(
            step.hole,
            (str(step.x), str(step.y)),
            (by_rule(abs(step.x_exact_mm), figures), by_rule(abs(step.y_exact_mm), figures)),
            (_signed(left[0] / per_unit, decimals), _signed(left[1] / per_unit, decimals)),
        )


def _signed(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:+.{decimals}f}"


def setting_words(setting: Setting) -> str:
    """As a sheet shows it: turns, with a minus on the other side of zero, and the figure."""
    turns = f"{'-' if setting.negative else ''}{setting.turns}"
    return f"{turns} turn{'' if setting.turns == 1 else 's'}, figure {setting.reading}"


def _dial_lines(setup: Setup, handles: tuple[Handle, ...]) -> Iterator[str]:
    """What each handwheel does, how it is come up to, and the zero that suits the numbering."""
    for handle in handles:
        dial, axis = handle.dial, handle.axis.upper()
        down, up = _TO[handle.axis]
        measure = CHECK_TURNS * dial.lead_mm * (1 + dial.correction_ppm * 1e-6)
        yield (
            f"{axis}: {dial.lead_mm:g} mm a turn, {dial.divisions:g} divisions; clockwise takes "
            f"the cutter {_towards(up if dial.clockwise == '+' else down)}; figures grow "
            f"{dial.numbers_rise}; {CHECK_TURNS} turns measure {measure:.3f} mm."
        )
        if handle.axis != "z":
            yield (
                f"Come up to every {axis} {handle.hand(handle.way)}; where the way leads back, "
                f"first past it by {max(handle.back_off_mm / dial.lead_mm, 0.0):.2g} turns or more."
            )
    yield _numbering_line(setup, handles[:2])


def _towards(place: str) -> str:
    return f"to the {place}" if "hand" in place else place


def _numbering_line(setup: Setup, handles: tuple[Handle, ...]) -> str:
    """The corner from which all moves wind with the numbers."""
    if all(handle.way == handle.numbered_way for handle in handles) and "centre" not in (
        setup.zero_x, setup.zero_y,
    ):  # fmt: skip
        return "From this zero all moves wind with the figures."
    corner = [
        faces_along(setup, axis)[0 if handle.numbered_way > 0 else 1].upper()
        for axis, handle in enumerate(handles)
    ]
    return f"With zero on {corner[0]} and {corner[1]} all moves would wind with the figures."


def _zero_line(shop: Shop, setup: Setup, handle: Handle, figures: Figures) -> str:
    """Touch from outside, on the way on which everything is come up to, then go on to zero."""
    axis = "xy".index(handle.axis)
    zero = (setup.zero_x, setup.zero_y)[axis]
    low, high = faces_along(setup, axis)
    touched = low if handle.way > 0 else high
    sides = _TO[handle.axis]
    side = sides[0] if handle.way > 0 else sides[1]
    at_mm = setup.low_mm[axis] if handle.way > 0 else setup.high_mm[axis]
    way_mm = handle.way * shop.finder.diameter_mm / 2 - at_mm
    over = touched.upper() if zero != "centre" else "the centre line"
    finder = figures.size(shop.finder.diameter_mm)
    on = zero.upper() if zero != "centre" else "the centre"
    return (
        f"{handle.axis.upper()} on {on}: {finder} {figures.unit} finder, handle "
        f"{handle.hand(handle.way)}, against {touched.upper()} ({side}), set the dial to 0; raise "
        f"it, go on {setting_words(handle.setting(way_mm)).replace('-', '')}, set the dial to 0 "
        f"again: it stands over {over}."
    )
