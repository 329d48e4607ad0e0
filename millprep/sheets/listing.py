"""The readout listing: a plan as pages of steps, each figure rounded once to what a readout shows.

A page a setup: how it is set up, then tool by tool or hole by hole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby, pairwise
from typing import Any, ClassVar

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.base.units import Units
from millprep.model.shop import Dial
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.blunders import measures_of, with_turns
from millprep.planning.head import heights_of
from millprep.setting.setups import Setup
from millprep.sheets.batch_words import batch_facts, batch_lines, ticks_line
from millprep.sheets.by_hole import hole_blocks
from millprep.sheets.by_tool import tool_blocks
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.cutter_words import each_tool, pass_line, point_lines
from millprep.sheets.document import (
    Column,
    Document,
    Field,
    Page,
    Row,
    Sayer,
    Section,
    Sentence,
    Shown,
    Table,
    plain,
)
from millprep.sheets.figures import Figures
from millprep.sheets.hand_words import hand_sentence
from millprep.sheets.heading import bearing_on, heading_of, marked_sentence
from millprep.sheets.holding_words import hold_lines, vice_line
from millprep.sheets.left_words import carried_lines, left_lines
from millprep.sheets.moved_words import moved_lines
from millprep.sheets.setting_words import head_lines, lies_line, skew_line, turn_line
from millprep.sheets.stack_words import apart_lines, stack_lines
from millprep.sheets.steps import CSV, Run, Step, assumptions_of, setup_facts, steps_of, told_of
from millprep.sheets.tool_heads import columns_of, shared_line, turns_of
from millprep.sheets.words import (
    check_table,
    first_members,
    look_line,
    place_facts,
    place_sentence,
    stock_words,
)
from millprep.sheets.zero_words import first_line, recovery_lines, zero_lines

_RUN_ON = frozenset(
    ("TRY", "EACH TOOL", "PLACES", "TOUCH", "ALL", "SIZES", "LIPS", "TURNED", "POINT", "OIL")
)
"""Labels that are not shown, whose sentences text has one behind the other."""

Keeps = Callable[[int, Operation], bool]
"""Whether an excerpt has a step: by its number, and what is done."""


def make_listing(
    plan: Plan,
    units: Units,
    findings: Sequence[Finding] = (),
    setup_number: int | None = None,
    keeps: Keeps | None = None,
    *,
    on_cards: bool = False,
) -> Document:
    """The listing of a plan in a unit.

    setup_number : of one setup only; keeps : an excerpt, of the steps for which it is true
    on_cards : for a page that shows a step at a time: what is said of some holes stands alone
    """
    sheet = Listing(plan, units, findings, keeps)
    sheet.on_cards = on_cards
    return sheet.document(setup_number)


class Listing:
    """Lays the pages out. A sheet with other figures overrides what it has otherwise."""

    sheet: ClassVar[str] = "listing"
    steps: ClassVar[str] = "steps"  # the table of its steps
    csv: ClassVar[tuple[str, ...]] = CSV

    def __init__(
        self, plan: Plan, units: Units, findings: Sequence[Finding] = (), keeps: Keeps | None = None
    ) -> None:
        self.plan, self.units, self.findings, self.keeps = plan, units, tuple(findings), keeps
        self.figures = Figures(units, plan.shop.readout)
        self.on_cards = False
        self.say = Sayer(self.sheet)

    def document(self, setup_number: int | None = None) -> Document:
        """All setups, or one."""
        part = self.plan.part
        setups = [one for one in self.plan.setups if setup_number in (None, one.setup.number)]
        pages: list[Page] = []
        shown = None if self.keeps is None else set().union(*map(self.holes, setups))
        remarks: list[Finding] = []
        for one in setups:
            if (page := self.page(one, is_first=not pages)) is not None:
                pages.append(page)
                remarks += [found for found in self.remarks(one) if found not in remarks]
        care = (self.say("caution", caution=caution) for caution in AT_THE_MILL)
        foot = (
            *self.fields(
                [*left_lines(self.say, part, shown), self.assumed(), *map(self.remark, remarks)]
            ),
            replace(self.say.field("TAKE CARE", *care), runs_on=True),
        )
        also = {
            "part": part.name,
            "drawing": part.drawing,
            "part_mark": part.mark,
            "stock": stock_words(part, self.figures),
        }
        return Document(
            self.sheet,
            self.units,
            tuple(pages),
            self.findings,
            foot=(Section(foot),),
            also=also,
            csv=("steps", self.csv),
        )

    def page(self, setup_plan: SetupPlan, *, is_first: bool) -> Page | None:
        """A setup; None where an excerpt has no step of it. What holds for the whole sheet is told
        on the first only, and JSON has it of every setup."""
        plan, setup = self.plan, setup_plan.setup
        steps = steps_of(plan, setup_plan)
        shown = self.kept(steps)
        if not shown:
            return None
        blocks = hole_blocks(self, setup_plan, steps)
        if plan.order != "hole":
            blocks = tool_blocks(self, setup_plan, steps)
        of = {"number": setup.number, "of": len(plan.setups)}
        heading = self.heading()
        whole = [*heading, self.assumed()]
        facts = {name: one for said in whole for name, one in plain(said, self.units).items()}
        remarks = [plain(self.remark(one), self.units) for one in self.remarks(setup_plan)]
        again = (marked_sentence(self.say, plan.part, self.figures, at_the_mill=True),)
        return Page(
            self.say(f"{self.sheet}-title", part=plan.part.name, face=setup.face, **of),
            heading if is_first else again,
            (
                Section(self.fields(self.setting_up(setup_plan, shown))),
                *self.further(setup_plan, shown),
                Section(tuple(blocks)),
                Section(self.fields(self.closing(setup_plan, steps, shown))),
            ),
            key="setups",
            also=facts
            | {"remarks": remarks}
            | self.also(setup_plan)
            | self.place_facts(setup_plan, shown),
        )

    def heading(self) -> tuple[Sentence, ...]:
        return heading_of(self.say, self.plan.part, self.figures, at_the_mill=True)

    def remarks(self, setup_plan: SetupPlan) -> list[Finding]:
        """What was found that bears on the steps of a setup that are shown."""
        return bearing_on(self.findings, setup_plan.setup.number, self.holes(setup_plan))

    def remark(self, found: Finding) -> Sentence:
        return self.say("remark", severity=found.severity, message=found.message)

    def further(self, setup_plan: SetupPlan, shown: Run) -> Iterator[Section]:
        """What stands between setting up and the first tool."""
        yield from ()

    def kept(self, run: Run) -> Run:
        """The steps that are shown."""
        return [one for one in run if self.keeps is None or self.keeps(one.number, one.operation)]

    def holes(self, setup_plan: SetupPlan) -> set[str]:
        """The holes of a setup whose steps are shown."""
        return {one.operation.hole.name for one in self.kept(steps_of(self.plan, setup_plan))}

    def fields(self, sentences: Iterable[Sentence | None]) -> tuple[Field, ...]:
        """The sentences that there are, under the labels of their groups."""
        given = (one for one in sentences if one is not None)
        runs = groupby(given, key=lambda one: one.template.group)
        fields = ((group, self.say.field(group, *run)) for group, run in runs)
        return tuple(replace(one, runs_on=group in _RUN_ON) for group, one in fields)

    def also(self, setup_plan: SetupPlan) -> dict[str, Any]:
        """What JSON and CSV have of a setup beside its sentences."""
        return setup_facts(self.plan, setup_plan) | batch_facts(self.plan, setup_plan)

    def setting_up(self, setup_plan: SetupPlan, shown: Run) -> Iterator[Sentence | None]:
        """How the part is set up, and where its holes lie."""
        plan, setup, figures = self.plan, setup_plan.setup, self.figures
        yield from stack_lines(plan.part, setup, figures)
        yield self.turn(setup_plan)
        yield vice_line(setup_plan, plan.setups, figures)
        yield lies_line(setup)
        held = setup_plan.holding, setup_plan.below_mm
        yield from hold_lines(plan.part, plan.shop, setup, figures, *held)
        yield from self.batch(setup_plan)
        yield from self.zero(setup_plan)
        yield self.each_tool(setup_plan)
        yield skew_line(setup_plan.skew_deg) if setup_plan.skew_deg else None
        yield from self.handwheels(setup_plan)
        heights = heights_of(setup_plan, plan.part, plan.shop)
        yield from head_lines(heights, plan.shop.mill, figures, plan.order)
        yield hand_sentence(plan.part, setup.face, is_up=True)
        yield from self.places(setup_plan, shown)
        yield from self.moved(setup_plan)

    def handwheels(self, setup_plan: SetupPlan) -> Iterator[Sentence]:
        """How the handwheels are read."""
        yield from ()

    def moved(self, setup_plan: SetupPlan) -> Iterator[Sentence]:
        """What is carried over, and what is moved to fit holes that are drilled and measured."""
        yield from carried_lines(self.say, self.plan.part, self.holes(setup_plan))
        here = {one.hole.name for one in setup_plan.operations}
        yield from moved_lines(self.say, self.plan.part, here, self.figures)

    def batch(self, setup_plan: SetupPlan) -> Iterator[Sentence]:
        """How several pieces go through the setup."""
        return batch_lines(self.plan, setup_plan, self.figures, is_whole=self.keeps is None)

    def turn(self, setup_plan: SetupPlan) -> Sentence | None:
        """How the part comes from the setup before; None in the first."""
        for before, after in pairwise(self.plan.setups):
            if after is setup_plan:
                return turn_line(before.setup, after.setup, before.holding, after.holding)
        return None

    def zero(self, setup_plan: SetupPlan) -> Iterator[Sentence]:
        """How zero is found, and where the first hole lies from it."""
        plan, setup, skew_deg = self.plan, setup_plan.setup, setup_plan.skew_deg
        earlier = [one.setup for one in plan.setups if one.setup.number < setup.number]
        yield from zero_lines(
            plan.part, plan.shop, setup, self.figures, setup_plan.zeros, earlier, skew_deg
        )
        yield first_line(setup, setup_plan.square[0], self.figures, skew_deg)

    def patterns(self, setup_plan: SetupPlan, shown: Run) -> list[Operation]:
        """The first member of each pattern that is shown."""
        here = {one.operation.hole.name for one in shown}
        return [one for one in first_members(setup_plan.square) if one.hole.name in here]

    def places(self, setup_plan: SetupPlan, shown: Run) -> Iterator[Sentence | None]:
        """How true each pattern has to be, where the heading does not say it."""
        for one in self.patterns(setup_plan, shown):
            yield place_sentence(self.plan.part, one.hole, self.figures)

    def place_facts(self, setup_plan: SetupPlan, shown: Run) -> dict[str, Any]:
        """Where the first of each pattern is from the faces of zero: for JSON."""
        part, setup = self.plan.part, setup_plan.setup
        firsts = self.patterns(setup_plan, shown)
        return {"places": [place_facts(part, setup, one, self.figures) for one in firsts]}

    def each_tool(self, setup_plan: SetupPlan) -> Sentence | None:
        """How tools are touched off; hole by hole it is told below the list of them."""
        if self.plan.order == "hole":
            return None
        return each_tool(setup_plan.setup, self.plan.part, self.plan.shop)

    def closing(self, setup_plan: SetupPlan, steps: Run, shown: Run) -> Iterator[Sentence]:
        """What stands below the last step."""
        count = len(steps)
        if self.keeps is None:
            holes = {one.operation.hole.name for one in steps}
            begun = holes & {one.hole for one in self.plan.part.left if not one.is_there}
            yield self.say(
                "done",
                done_count=len(holes - begun),
                hole_count=len(holes),
                begun_count=len(begun) or None,
                step_count=count,
            )
            yield from self.recovery(setup_plan)
            yield from apart_lines(self.plan.part, setup_plan, self.figures)
        else:
            more = "not" if len(shown) < count else None
            yield self.say("done-excerpt", shown_count=len(shown), step_count=count, _done=more)

    def recovery(self, setup_plan: SetupPlan) -> Sequence[Sentence]:
        """Which holes give a lost zero back."""
        square, skew_deg = setup_plan.square, setup_plan.skew_deg
        return recovery_lines(square, setup_plan.setup, self.figures, skew_deg)

    def assumed(self) -> Sentence:
        """The defaults that were used."""
        count = f"{self.figures.step} {self.figures.unit}"
        return self.say("assumed", readout_count=count, **assumptions_of(self.plan, self.units))

    @property
    def has_boxes(self) -> bool:
        """Whether each step has a box to tick; of several pieces each has one, once a tool."""
        return self.on_cards or self.plan.pieces == 1

    def ticks(self) -> tuple[Field, ...]:
        """A box a piece, below the steps of a tool."""
        return () if self.has_boxes else self.fields([ticks_line(self.plan)])

    def look(
        self, setup_plan: SetupPlan, operations: Sequence[Operation], *, is_first: bool
    ) -> tuple[Field | Table, ...]:
        """What is looked at after the steps of a tool, and first of all measured."""
        look = self.fields([look_line(operations, setup_plan.setup, self.figures)])
        table = self.check(setup_plan, operations) if is_first else None
        return look if table is None else (*look, table)

    def check(self, setup_plan: SetupPlan, operations: Sequence[Operation]) -> Table | None:
        """What a calliper reads on the first spots."""
        x, y = setup_plan.zeros
        beyond_mm, dials = (x.beyond_mm, y.beyond_mm), self.dials
        measures = measures_of(setup_plan.setup, operations, beyond_mm, dials, self.units)
        turns = self.plan.shop.dials if not dials else {}  # JSON has what a readout counts too
        whole = [
            with_turns(one, setup_plan.setup, operations, beyond_mm, turns) for one in measures
        ]
        return check_table(measures, self.units, whole)

    @property
    def dials(self) -> Mapping[str, Dial]:
        """Whose turns may be miscounted: a readout counts them itself."""
        return {}

    def shared(self, run: Run) -> Iterator[Sentence]:
        """What all steps of the tool have alike."""
        if (line := shared_line(self.say, run, self.figures)) is not None:
            yield line

    def points(self, run: Run) -> Iterator[Sentence]:
        """What to grind where the material wants another point."""
        plan, steps = self.plan, [(one.number, one.operation) for one in run]
        yield from point_lines(steps, plan.part, plan.tool_numbers, plan.shop, self.figures)

    def head(self) -> Sentence:
        """Of the columns, once a setup."""
        unit = self.figures.unit
        return self.say(f"{self.steps} head", x_unit=unit, y_unit=unit, depth=self.depth)

    def columns(self, steps: Run, runs: Sequence[Run]) -> tuple[Column, ...]:
        """Of all tables of a setup, so that figures stand below each other."""
        return columns_of(steps, runs, self.figures)

    @property
    def depth(self) -> str:
        """What the column of depths is headed by."""
        return "down" if self.plan.shop.readout.axes == "xyz" else "quill"

    def row(self, slug: str, one: Step, beside: dict[str, Any], *, has_pecks: bool) -> Row:
        """A step, which JSON has whole. beside : the slots that are not told for all of them;
        has_pecks : whether they hang on the row"""
        operation = one.operation
        shown = {axis: getattr(operation, f"{axis}_mm") for axis in "xyz"}
        figures = {axis: self.shown(at_mm, axis) for axis, at_mm in shown.items()}
        pecks = [self.shown(z_mm, "z") for z_mm in operation.pecks_mm]
        turns = turns_of(operation)
        told = {
            **told_of(self.plan, operation),
            "hole": operation.hole.name,
            **figures,
            "turns": None if turns is None else float(turns),
            "pecks": pecks,
        }
        slots = {
            "step": one.number,
            "hole": operation.hole.name,
            "x": figures["x"],
            "y": figures["y"],
            "tool_number": self.plan.tool_numbers[operation.tool],
        }
        cells = self.say(slug, **slots, **beside)
        below: tuple[Sentence, ...] = ()
        if pecks and has_pecks:
            below = (self.say("pecks", pecks=[str(peck) for peck in pecks]),)
        if operation.boring is not None:
            below = (pass_line(operation, self.figures),)
        return Row(cells, below, told)

    def shown(self, value_mm: float, axis: str) -> Shown:
        """As the readout shows it."""
        return Shown(str(self.figures.shown(value_mm, axis)), self.figures.signed(value_mm, axis))

    def every_change(self, setup: Setup) -> Sentence:
        """Hole by hole, how each tool is touched off."""
        return self.say("every-change", face=setup.face, set_to=0)

    def go_to(self, one: Step) -> Iterator[Sentence]:
        """Hole by hole, how the place is reached."""
        x, y = self.shown(one.operation.x_mm, "x"), self.shown(one.operation.y_mm, "y")
        yield self.say("go-to", x=x, y=y)
