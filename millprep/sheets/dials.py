"""The dial sheet: the steps of a sheet as turns and divisions of the handwheels.

Takes the exact places that a sheet carries; `planning.dials` rounds each once, to a division.
Imports layers 0 to 4 and `sheet`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import frozen, replace
from millprep.model.shop import Shop
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.dials import Handle, Setting, Wound, marked_otherwise
from millprep.planning.rows import ways_of
from millprep.setting.holding import faces_along, size_along_mm
from millprep.setting.setups import Setup
from millprep.setting.skew import turned
from millprep.setting.zeroing import AxisZero, Touch
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures
from millprep.sheets.setting_words import side_of
from millprep.sheets.setup_sheet import SetupSheet, Sheet, Step
from millprep.sheets.words import by_rule
from millprep.sheets.zero_words import met_at_mm, recovery_of

_TO = {"x": ("left hand", "right hand"), "y": ("towards you", "away"), "z": ("down", "up")}
"""Where the cutter goes, relative to the work, when an axis goes down or up."""
_AGAINST = {"face": "", "fixed jaw": "the fixed jaw beside ", "stop": "the stop for "}
CHECK_TURNS = 10
_say = Sayer("dials")


@frozen
class DialStep:
    """A step of the sheet and its settings; z and pecks where the shop has a dial for depth."""

    step: Step
    x: Wound
    y: Wound
    z: Setting | None
    pecks: tuple[Setting, ...]


@frozen
class DialPlace:
    """Where a hole lies: as shown, by rule, and what its settings leave over, X and Y each."""

    hole: str
    shown: tuple[str, str]
    by_rule: tuple[str, str]
    left_over: tuple[str, str]


@frozen
class DialSetup:
    """One setup: the sheet's words and blocks, handwheels, zeroing by dial, settings by step.

    recover : which holes give a lost zero back, by dial
    """

    setup: SetupSheet
    handles: tuple[Handle, ...]
    zero: tuple[Sentence, ...]
    dials: tuple[Sentence, ...]
    steps: dict[int, DialStep]
    places: tuple[DialPlace, ...]
    recover: tuple[Sentence, ...] = ()


@frozen
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
                "stop",
                "missing-key",
                f"the shop has no dial for {' and '.join(missing)}",
                "describe it in the shop file: [dials] x = { lead = 2.5, divisions = 100 }",
                file=shop.path or None,
            )
        )


def make_dial_sheet(plan: Plan, sheet: Sheet) -> DialSheet:
    """The dial sheet of a plan's sheet. Raises MillprepError where the shop has no dials."""
    shop = plan.shop
    refuse_without_dials(shop)
    figures = Figures(sheet.units, shop.readout)
    by_number = {setup_plan.setup.number: setup_plan for setup_plan in plan.setups}
    setups = tuple(
        _dial_setup(plan, by_number[setup.number], setup, figures) for setup in sheet.setups
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
                "note",
                "dial-marking",
                f"{axes} dial: {dial.divisions:g} divisions on a screw of "
                f"{dial.lead_mm:g} mm; such a ring may be marked in divisions of {marked}",
                f"count divisions, whatever is engraved; {CHECK_TURNS} turns must measure "
                f"{ten:g} mm ({ten / 25.4:.4f} in)",
                file=shop.path or None,
            )


def excerpt(dials: DialSheet, shown: Sheet) -> DialSheet:
    """Those steps of a dial sheet that an excerpt of its sheet shows."""
    whole = {one.setup.number: one for one in dials.setups}
    setups = tuple(_excerpt(whole[setup.number], setup) for setup in shown.setups)
    return replace(dials, sheet=shown, setups=setups)


def _excerpt(one: DialSetup, shown: SetupSheet) -> DialSetup:
    """Places are gone back past where they are on the whole sheet, and where they must be here."""
    x, y, *_ = one.handles
    alone_x = x.wind([step.x_exact_mm for step in shown.steps])
    alone_y = y.wind([step.y_exact_mm for step in shown.steps])
    steps = {}
    for step, here_x, here_y in zip(shown.steps, alone_x, alone_y, strict=True):
        dialled = one.steps[step.step]
        steps[step.step] = replace(
            dialled,
            x=dialled.x if dialled.x.back_off else here_x,
            y=dialled.y if dialled.y.back_off else here_y,
        )
    holes = {step.hole for step in shown.steps}
    places = tuple(place for place in one.places if place.hole in holes)
    return replace(one, setup=shown, steps=steps, places=places, recover=())


def _dial_setup(
    plan: Plan, setup_plan: SetupPlan, shown: SetupSheet, figures: Figures
) -> DialSetup:
    setup, shop = setup_plan.setup, plan.shop
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
            step,
            at_x,
            at_y,
            z[0].setting(step.z_exact_mm) if z else None,
            tuple(z[0].setting(peck) for peck in _pecks_mm(step, figures)) if z else (),
        )
        for step, at_x, at_y in zip(shown.steps, wound_x, wound_y, strict=True)
    }
    return DialSetup(
        shown,
        handles,
        tuple(_zero_lines(plan, setup_plan, (x, y), figures)),
        tuple(_dial_lines(setup, handles)),
        steps,
        tuple(_places(steps, setup_plan.square, figures)),
        tuple(_recovery(setup_plan, x, y, figures)),
    )


def _zero_lines(
    plan: Plan, setup_plan: SetupPlan, handles: tuple[Handle, Handle], figures: Figures
) -> Iterator[Sentence]:
    """ZERO, an axis at a time: its own face met on the usual way, or what the listing goes by."""
    shop, setup = plan.shop, setup_plan.setup
    for handle, zero in zip(handles, setup_plan.zeros, strict=True):
        at_mm = met_at_mm(setup, zero, setup_plan.skew_deg)
        yield _zero_line(shop, setup, handle, zero, at_mm, figures)


def _recovery(setup_plan: SetupPlan, x: Handle, y: Handle, figures: Figures) -> Iterator[Sentence]:
    """Which two holes give a lost zero back; none where there are not two."""
    pair = recovery_of(setup_plan.square, setup_plan.setup)
    if pair is None:
        return
    slots: dict[str, Any] = {}
    for name, hole in zip("ab", pair, strict=True):
        x_mm, y_mm = turned(hole.x_mm, hole.y_mm, setup_plan.skew_deg)
        slots |= {
            name: hole.hole.name,
            f"{name}_x_axis": "X",
            f"{name}_x": setting_slots(x.setting(x_mm)),
            f"{name}_y_axis": "Y",
            f"{name}_y": setting_slots(y.setting(y_mm)),
        }
    apart = math.hypot(pair[0].x_mm - pair[1].x_mm, pair[0].y_mm - pair[1].y_mm)
    yield _say("recover-dial", apart=Shown(figures.words(apart), apart), **slots)


def _pecks_mm(step: Step, figures: Figures) -> list[float]:
    """Pecks as the sheet shows them, in mm and setup axes; the last is the exact depth."""
    sign = -1 if "z" in figures.readout.reversed_axes else 1
    per_unit = 25.4 if figures.units == "inch" else 1.0
    shown = [sign * float(peck) * per_unit for peck in step.pecks[:-1]]
    return [*shown, step.z_exact_mm] if step.pecks else []


def _places(
    steps: dict[int, DialStep], square: Sequence[Operation], figures: Figures
) -> Iterator[DialPlace]:
    """Every hole once, in the order of the steps; a rule is held along the part, askew or not."""
    decimals = 3 if figures.units == "mm" else 4
    seen: set[str] = set()
    for dialled, on_part in zip(steps.values(), square, strict=True):
        step = dialled.step
        if step.hole in seen:
            continue
        seen.add(step.hole)
        left = [wound.setting.left_over_mm for wound in (dialled.x, dialled.y)]
        per_unit = 25.4 if figures.units == "inch" else 1.0
        yield DialPlace(
            step.hole,
            (str(step.x), str(step.y)),
            (by_rule(abs(on_part.x_mm), figures), by_rule(abs(on_part.y_mm), figures)),
            (_signed(left[0] / per_unit, decimals), _signed(left[1] / per_unit, decimals)),
        )


def _signed(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:+.{decimals}f}"


def setting_slots(setting: Setting) -> dict[str, Any]:
    """Turns, with a minus on the other side of zero, and the figure under the index line."""
    return {
        "turns": f"{'-' if setting.negative else ''}{setting.turns}",
        "figure": str(setting.reading),
    }


def unsigned_slots(setting: Setting) -> dict[str, Any]:
    """The same where all settings are on one side."""
    return {"turns": str(setting.turns), "figure": str(setting.reading)}


def setting_words(setting: Setting) -> str:
    """As a sheet shows it."""
    return str(_say("setting", **setting_slots(setting)))


def back_offs(dialled: DialStep) -> Iterator[Sentence]:
    """Where to go back past the place first."""
    for letter, wound in (("X", dialled.x), ("Y", dialled.y)):
        if wound.back_off is not None:
            yield _say("back-off", axis=letter, back_to=setting_slots(wound.back_off))


def below(dialled: DialStep) -> Iterator[Sentence]:
    """What hangs on a row of the Z dial."""
    if dialled.z is not None:
        yield _say("z-dial", z_axis="Z", z_dial=unsigned_slots(dialled.z))
    if dialled.pecks:
        yield _say("pecks-dial", pecks_dial=[unsigned_slots(peck) for peck in dialled.pecks])


def where_sentence(*, is_askew: bool) -> Sentence:
    """What stands in the table of places."""
    return _say("where", skew="; by rule: on the part, along its edges" if is_askew else "")


def _dial_lines(setup: Setup, handles: tuple[Handle, ...]) -> Iterator[Sentence]:
    """What each handwheel does, how it is come up to, and the zero that suits the numbering."""
    for handle in handles:
        dial, axis = handle.dial, handle.axis.upper()
        down, up = _TO[handle.axis]
        measure = CHECK_TURNS * dial.lead_mm * (1 + dial.correction_ppm * 1e-6)
        yield _say(
            "dial",
            axis=axis,
            lead=f"{dial.lead_mm:g} mm",
            divisions=f"{dial.divisions:g}",
            goes=_towards(up if dial.clockwise == "+" else down),
            rise=dial.numbers_rise,
            check_turns=CHECK_TURNS,
            measures=f"{measure:.3f} mm",
        )
        if handle.axis != "z":
            past = max(handle.back_off_mm / dial.lead_mm, 0.0)
            hand = handle.hand(handle.way)
            yield _say("come-up", axis=axis, come_up=hand, past_turns=f"{past:.2g}")
    yield _numbering_line(setup, handles[:2])


def _towards(place: str) -> str:
    return f"to the {place}" if "hand" in place else place


def _numbering_line(setup: Setup, handles: tuple[Handle, ...]) -> Sentence:
    """The corner from which all moves wind with the numbers."""
    if all(handle.way == handle.numbered_way for handle in handles) and "centre" not in (
        setup.zero_x,
        setup.zero_y,
    ):
        return _say("numbering-so")
    x_face, y_face = (
        faces_along(setup, axis)[0 if handle.numbered_way > 0 else 1]
        for axis, handle in enumerate(handles)
    )
    return _say("numbering-other", x_face=x_face, y_face=y_face)


def _zero_line(
    shop: Shop, setup: Setup, handle: Handle, found: AxisZero, at_mm: float, figures: Figures
) -> Sentence:
    """What is met for zero, the way on from there, and what stands in the way of its own face.

    at_mm : where the spindle stands, in setup axes, when it is met
    """
    zero = found.zero
    slots = {
        "axis": handle.axis.upper(), "on": zero, "over": zero, "set_to": 0,
        **_way_on(handle, -at_mm),
    }  # fmt: skip
    if found.blocked is not None:
        slots |= {"blocked": found.blocked[0], "why": found.blocked[1]}
    if found.reckoned:
        low, high = faces_along(setup, found.axis)
        across_mm = size_along_mm(setup, found.axis)
        across = Shown(figures.words(across_mm), across_mm)
        slots |= {"low": low, "high": high, "across": across}
    if found.touch is not None:
        return _say("zero-dial", **slots, **_met(shop, setup, handle, found.touch, figures))
    assert found.hole is not None
    hand = handle.hand(handle.way)
    return _say("zero-dial-hole", hole=found.hole.name, hand=hand, dial=0, **slots)


def _met(
    shop: Shop, setup: Setup, handle: Handle, touch: Touch, figures: Figures
) -> dict[str, Any]:
    """The finder's touch; one from the far side pushes the screw's other flank.

    The table is then brought to the same place from the usual side, by an indicator.
    """
    met_way = -1 if touch.beyond_mm > 0 else 1
    diameter_mm, speed_rpm = shop.finder.diameter_mm, shop.finder.speed_rpm
    slots: dict[str, Any] = {
        "empty": "before the part goes in, " if touch.against == "stop" else "",
        "finder": Shown(f"{figures.size(diameter_mm)} {figures.unit}", diameter_mm),
        "rpm": None if speed_rpm is None else f"{speed_rpm:g}",
        "hand": handle.hand(met_way),
        "against": _AGAINST[touch.against],
        "face": touch.face,
        "side": side_of(setup, touch.face),
    }
    if met_way == handle.way:
        return {**slots, "dial": 0}
    turns = math.ceil(10 * handle.back_off_mm / handle.dial.lead_mm - 1e-9) / 10
    come_up = handle.hand(handle.way)
    zeros = {"indicator": 0, "again": 0, "dial_then": 0}
    return {**slots, "past_turns": f"{turns:g}", "come_up": come_up, **zeros}


def _way_on(handle: Handle, way_mm: float) -> dict[str, Any]:
    """From the dial's first 0 to zero, come up to from the usual side."""
    (wound,) = handle.wind([way_mm])
    to = unsigned_slots(wound.setting)
    if wound.back_off is None:
        return {"on_to": to}
    return {"back": unsigned_slots(wound.back_off), "to": to}
