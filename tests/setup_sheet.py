"""The sheet: a plan as rows of figures, each rounded once to what the readout can show.

This is the one place that rounds for paper. Writers lay a sheet out and change nothing in it.
Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.base.units import Units
from millprep.model.part import Part
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.blunders import measures_of
from millprep.planning.head import head_heights
from millprep.planning.rows import row_words
from millprep.setting.setups import Setup
from millprep.sheets.figures import Figures
from millprep.sheets.hand_words import hand_line
from millprep.sheets.setting_words import head_lines, hold_lines, lies_line, skew_line, turn_line
from millprep.sheets.view import View, view_of
from millprep.sheets.words import (
    advice_of,
    blunder_lines,
    lock_line,
    look_line,
    measure_lines,
    oil_words,
    places_of,
    size_lines,
    stock_words,
    tool_line,
    touch_off,
)
from millprep.sheets.zero_words import first_line, recovery_lines, zero_lines


@frozen
class Step:
    """One operation at one hole; x, y, z, pecks as the readout shows them, in the sheet's units."""

    step: int
    hole: str
    operation: str
    tool: str
    tool_number: int
    diameter_mm: float | None
    point_angle_deg: float | None
    tip_flat_mm: float
    pitch_mm: float | None
    lead: float | None
    x: Decimal
    y: Decimal
    z: Decimal
    x_exact_mm: float
    y_exact_mm: float
    z_exact_mm: float
    rpm: float | None
    feed_mm_per_min: float | None
    pecks: tuple[Decimal, ...]
    by_hand: bool
    cone_mm: float | None = None
    turns: float | None = None


@frozen
class Block:
    """Steps that stand under one heading: those of one tool, or those at one hole.

    heading : tool or hole; steps in order; after : lines of words below them
    lack, touch, said, lock : lines above them, in that order: that the drawer lacks the tool, where
    it is touched off, what else there is to say, and what to lock; "" where there is no such line
    measure : last of them, at the first hole of a sheet by hole: what its spot must measure
    """

    heading: str
    is_tool: bool
    steps: tuple[Step, ...]
    said: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    lack: str = ""
    touch: str = ""
    lock: str = ""
    measure: tuple[str, ...] = ()

    @property
    def before(self) -> tuple[str, ...]:
        """Every line above the steps."""
        return (*filter(None, (self.lack, self.touch, *self.said, self.lock)), *self.measure)


@frozen
class SetupSheet:
    """One setup: how the part lies, is held and zeroed, and its blocks of steps.

    face, towards_you, left_hand : the faces up, towards you and at your left hand
    turn : how it comes from the setup before; empty in the first
    skew : told where the part lies askew by skew_deg, anticlockwise; else empty
    hand : what tells this part from its opposite hand
    head : where the head of a round column may stand; recover : which holes give zero back
    """

    number: int
    face: str
    towards_you: str
    zero_x: str
    zero_y: str
    lies: str
    hold: tuple[str, ...]
    zero: tuple[str, ...]
    places: tuple[str, ...]
    blocks: tuple[Block, ...]
    done: str
    view: View
    left_hand: str = ""
    turn: str = ""
    skew: str = ""
    skew_deg: float = 0.0
    hand: str = ""
    head: tuple[str, ...] = ()
    recover: tuple[str, ...] = ()

    @property
    def steps(self) -> tuple[Step, ...]:
        return tuple(step for block in self.blocks for step in block.steps)


@frozen
class Sheet:
    """Everything that a sheet for the mill says, in order.

    units : of every figure; resolution : count of the readout in those units
    """

    part: str
    drawing: str
    mark: str
    units: Units
    resolution: Decimal
    has_z_readout: bool
    stock: str
    setups: tuple[SetupSheet, ...]
    setup_count: int
    assumed: tuple[str, ...]
    findings: tuple[Finding, ...]
    note: str = ""
    advice: str = ""
    general_tolerance: str = ""


def make_sheet(
    plan: Plan, units: Units, findings: Sequence[Finding] = (), setup_number: int | None = None
) -> Sheet:
    """The sheet of a plan in a unit; of one setup when its number is given."""
    figures = Figures(units, plan.shop.readout)
    part = plan.part
    setups = tuple(
        _setup_sheet(plan, setup_plan, figures)
        for setup_plan in plan.setups
        if setup_number is None or setup_plan.setup.number == setup_number
    )
    counts = f"readout counts {figures.step} {figures.unit}"
    return Sheet(
        part.name,
        part.drawing,
        part.mark,
        units,
        figures.step,
        plan.shop.readout.axes == "xyz",
        stock_words(part, figures),
        setups,
        len(plan.setups),
        (*plan.assumed.words, counts),
        tuple(findings),
        part.note,
        advice_of(part),
        _general_tolerance(part, figures),
    )


def is_named(step: Step, name: str) -> bool:
    """Whether a name means this step's hole, or the pattern it belongs to."""
    return step.hole == name or step.hole.startswith(f"{name} ")


def _general_tolerance(part: Part, figures: Figures) -> str:
    if part.general_tolerance_mm is None:
        return ""
    return f"+/- {figures.size(part.general_tolerance_mm)} {figures.unit}"


def filtered(sheet: Sheet, only: str | None = None, from_step: int | None = None) -> Sheet:
    """The sheet with the steps of one hole (or pattern) only, or from a step on; numbers stay."""

    def keeps(step: Step) -> bool:
        named = only is None or is_named(step, only)
        return named and (from_step is None or step.step >= from_step)

    def kept(blocks: Iterable[Block]) -> Iterator[Block]:
        for block in blocks:
            steps = tuple(step for step in block.steps if keeps(step))
            if steps:
                yield replace(block, steps=steps, after=(), measure=())

    def excerpt(setup: SetupSheet) -> SetupSheet:
        blocks = tuple(kept(setup.blocks))
        shown = sum(len(block.steps) for block in blocks)
        holes = {step.hole for block in blocks for step in block.steps}
        places = tuple(line for line in setup.places if line.split(":")[0] in holes)
        done = f"excerpt: {shown} of {len(setup.steps)} steps; the setup is not done with these."
        return replace(setup, blocks=blocks, places=places, done=done, recover=())

    setups = tuple(excerpt(setup) for setup in sheet.setups)
    return replace(sheet, setups=tuple(setup for setup in setups if setup.blocks))


def _setup_sheet(plan: Plan, setup_plan: SetupPlan, figures: Figures) -> SetupSheet:
    setup, operations, square = setup_plan.setup, setup_plan.operations, setup_plan.square
    steps = [_step(plan, o, n, figures) for n, o in enumerate(operations, 1)]
    pairs = list(zip(square, steps, strict=True))
    beyond_mm = setup_plan.zeros[0].beyond_mm, setup_plan.zeros[1].beyond_mm
    make_blocks = _hole_blocks if plan.order == "hole" else _tool_blocks
    blocks = make_blocks(plan, setup, pairs, figures, beyond_mm)
    holes = len({operation.hole.name for operation in operations})
    skew = setup_plan.skew_deg
    return SetupSheet(
        setup.number,
        setup.face,
        setup.towards_you,
        setup.zero_x,
        setup.zero_y,
        str(lies_line(setup)),
        _words(hold_lines(plan.part, plan.shop, setup, figures, setup_plan.holding)),
        _zero(plan, setup_plan, figures),
        _words(places_of(plan.part, setup, square, figures)),
        tuple(blocks),
        f"{holes} of {holes} holes, {len(steps)} steps.",
        view_of(plan.part, setup, square, figures),
        setup.left_hand,
        turn=_turn(plan, setup_plan),
        skew=str(skew_line(skew)) if skew else "",
        skew_deg=skew,
        hand=hand_line(plan.part, setup.face),
        head=_words(
            head_lines(head_heights(operations, plan.shop), plan.shop.mill, figures, plan.order)
        ),
        recover=_words(recovery_lines(square, setup, figures, skew)),
    )


def _words(sentences: Iterable[object]) -> tuple[str, ...]:
    return tuple(map(str, sentences))


def _turn(plan: Plan, setup_plan: SetupPlan) -> str:
    """How the part comes from the setup before; empty in the first."""
    place = next(n for n, one in enumerate(plan.setups) if one is setup_plan)
    if not place:
        return ""
    before = plan.setups[place - 1]
    return str(turn_line(before.setup, setup_plan.setup, before.holding, setup_plan.holding))


def _zero(plan: Plan, setup_plan: SetupPlan, figures: Figures) -> tuple[str, ...]:
    setup, square = setup_plan.setup, setup_plan.square
    lines = zero_lines(
        plan.part,
        plan.shop,
        setup,
        figures,
        setup_plan.zeros,
        _earlier(plan, setup),
        setup_plan.skew_deg,
    )
    if not square:
        return _words(lines)
    return _words((*lines, first_line(setup, square[0], figures, setup_plan.skew_deg)))


def _step(plan: Plan, operation: Operation, number: int, figures: Figures) -> Step:
    tool, told = operation.tool, operation.tool.told
    by_power = not operation.by_hand
    return Step(
        step=number,
        hole=operation.hole.name,
        operation=operation.name,
        tool=tool_line(tool),
        tool_number=plan.tool_numbers[tool],
        diameter_mm=tool.diameter_mm,
        point_angle_deg=told.get("point"),
        tip_flat_mm=told.get("flat", 0.0),
        pitch_mm=told.get("pitch"),
        lead=told.get("lead"),
        x=figures.shown(operation.x_mm, "x"),
        y=figures.shown(operation.y_mm, "y"),
        z=figures.shown(operation.z_mm, "z"),
        x_exact_mm=operation.x_mm,
        y_exact_mm=operation.y_mm,
        z_exact_mm=operation.z_mm,
        rpm=operation.rpm if by_power else None,
        feed_mm_per_min=operation.feed_mm_per_min if by_power else None,
        pecks=tuple(figures.shown(z, "z") for z in operation.pecks_mm),
        by_hand=operation.by_hand,
        cone_mm=None if operation.cone_mm is None else round(operation.cone_mm, 4),
        turns=round(operation.turns, 1) if operation.turns is not None else None,
    )


Pairs = list[tuple[Operation, Step]]


def _tool_blocks(
    plan: Plan, setup: Setup, pairs: Pairs, figures: Figures, beyond_mm: tuple[float, float]
) -> Iterator[Block]:
    looked_at: set[str] = set()
    for _, run in groupby(pairs, key=lambda pair: (pair[0].tool, pair[0].name == "tap")):
        group = list(run)
        operations = [operation for operation, _ in group]
        first = operations[0]
        said = [
            *_words(size_lines(operations, figures)),
            *_words(oil_words(plan.part, first)),
            *_rows_line(plan, setup, group),
        ]
        after = []
        if first.hole.name not in looked_at:
            after.append(str(look_line(operations, setup, figures)))
            if not looked_at:
                measures = measures_of(setup, operations, beyond_mm, plan.shop.dials, figures.units)
                after += _words(blunder_lines(measures, figures.units))
            looked_at |= {operation.hole.name for operation in operations}
        yield Block(
            tool_line(first.tool),
            True,
            tuple(step for _, step in group),
            tuple(said),
            tuple(after),
            lack="" if first.in_drawer else "NOT IN THE DRAWER",
            touch=str(touch_off(first, setup, plan.part, plan.shop)),
            lock=str(lock_line(operations) or ""),
        )


def _rows_line(plan: Plan, setup: Setup, group: Pairs) -> list[str]:
    if plan.order != "row" or len(group) < 2:
        return []
    return [row_words([operation for operation, _ in group], group[0][1].step, setup)]


def _earlier(plan: Plan, setup: Setup) -> list[Setup]:
    """The setups that the part has been through."""
    return [one.setup for one in plan.setups if one.setup.number < setup.number]


def _hole_blocks(
    plan: Plan, setup: Setup, pairs: Pairs, figures: Figures, beyond_mm: tuple[float, float]
) -> Iterator[Block]:
    for name, run in groupby(pairs, key=lambda pair: pair[0].hole.name):
        group = list(run)
        operations = [operation for operation, _ in group]
        first = group[0][1].step
        measures = (
            measures_of(setup, operations[:1], beyond_mm, plan.shop.dials, figures.units)
            if first == 1
            else []
        )
        yield Block(
            name,
            False,
            tuple(step for _, step in group),
            _words(size_lines(operations, figures)),
            lock=str(lock_line(operations) or ""),
            measure=_words(measure_lines(first, measures, figures.units)),
        )
