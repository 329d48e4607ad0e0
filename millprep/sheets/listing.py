"""The readout listing: a plan as pages of steps, each figure rounded once to what a readout shows.

A page a setup: how it is set up, then tool by tool or hole by hole. Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby, pairwise
from typing import Any, ClassVar

from millprep.base.findings import Finding
from millprep.base.units import Units, in_units
from millprep.model.tools import Cutter
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.blunders import Measure, measures_of
from millprep.planning.head import heights_of
from millprep.setting.setups import Setup
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.cutter_words import (
    boring_line,
    is_set_by_rim,
    lips_line,
    pass_line,
    point_lines,
    rim_line,
    touch_off,
)
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
)
from millprep.sheets.figures import Figures
from millprep.sheets.hand_words import hand_sentence
from millprep.sheets.heading import heading_of, stock_sentence
from millprep.sheets.holding_words import hold_lines, vice_line
from millprep.sheets.setting_words import head_lines, lies_line, skew_line, turn_line
from millprep.sheets.steps import (
    CSV,
    Run,
    Step,
    assumptions_of,
    long_line,
    moved_lines,
    rows_sentence,
    setup_facts,
    steps_of,
    told_of,
)
from millprep.sheets.words import (
    advice_of,
    blunder_lines,
    hand_line,
    lock_line,
    look_line,
    measure_lines,
    oil_words,
    places_of,
    scrap_lines,
    size_lines,
    tool_line,
)
from millprep.sheets.zero_words import first_line, recovery_lines, zero_lines

_WIDTH = 78
_BESIDE = 10  # box, number and blanks before the name in a row
_COLUMNS = (9, 9, 11)  # X, Y and Z, a blank before each
_NARROW = (8, 8, 8)  # beside names so long that the row would leave the page
_OPERATIONS = (
    Column(5, right=True, gap=0), Column(16, gap=2), Column(8, right=True, gap=0),
    Column(14, right=True, gap=0), Column(gap=2),
)  # fmt: skip

Keeps = Callable[[int, Operation], bool]
"""Whether an excerpt has a step: by its number, and what is done."""


def make_listing(
    plan: Plan,
    units: Units,
    findings: Sequence[Finding] = (),
    setup_number: int | None = None,
    keeps: Keeps | None = None,
) -> Document:
    """The listing of a plan in a unit.

    setup_number : of one setup only; keeps : an excerpt, of the steps for which it is true
    """
    return Listing(plan, units, findings, keeps).document(setup_number)


class Listing:
    """Lays the pages out. A sheet with other figures overrides what it has otherwise."""

    sheet: ClassVar[str] = "listing"
    csv: ClassVar[tuple[str, ...]] = CSV

    def __init__(
        self, plan: Plan, units: Units, findings: Sequence[Finding] = (), keeps: Keeps | None = None
    ) -> None:
        self.plan, self.units, self.findings, self.keeps = plan, units, tuple(findings), keeps
        self.figures = Figures(units, plan.shop.readout)
        self.say = Sayer(self.sheet)

    def document(self, setup_number: int | None = None) -> Document:
        """All setups, or one."""
        part = self.plan.part
        pages = [
            self.page(one) for one in self.plan.setups if setup_number in (None, one.setup.number)
        ]
        care = (self.say("caution", caution=caution) for caution in AT_THE_MILL)
        also = {
            "part": part.name,
            "drawing": part.drawing,
            "part_mark": part.mark,
            "stock": str(stock_sentence(self.say, part, self.figures)),
        }
        return Document(
            self.sheet,
            self.units,
            tuple(page for page in pages if page is not None),
            self.findings,
            foot=(Section((self.say.field("TAKE CARE", *care),)),),
            also=also,
            csv=("steps", self.csv),
        )

    def page(self, setup_plan: SetupPlan) -> Page | None:
        """A setup; None where an excerpt has no step of it."""
        plan, setup = self.plan, setup_plan.setup
        steps = steps_of(plan, setup_plan)
        shown = self.kept(steps)
        if not shown:
            return None
        blocks = self.hole_blocks if plan.order == "hole" else self.tool_blocks
        of = {"number": setup.number, "of": len(plan.setups)}
        return Page(
            self.say(f"{self.sheet}-title", part=plan.part.name, face=setup.face, **of),
            self.heading(),
            (
                Section(self.fields(self.setting_up(setup_plan, shown))),
                *self.further(setup_plan, shown),
                *blocks(setup_plan, steps),
                Section(self.fields(self.closing(setup_plan, steps, shown))),
            ),
            key="setups",
            also=self.also(setup_plan),
        )

    def heading(self) -> tuple[Sentence, ...]:
        part = self.plan.part
        return heading_of(self.say, part, self.figures, advice_of(part))

    def further(self, setup_plan: SetupPlan, shown: Run) -> Iterator[Section]:
        """What stands between setting up and the first tool."""
        yield from ()

    def kept(self, run: Run) -> Run:
        """The steps that are shown."""
        return [one for one in run if self.keeps is None or self.keeps(one.number, one.operation)]

    def fields(self, sentences: Iterable[Sentence | None]) -> tuple[Field, ...]:
        """The sentences that there are, under the labels of their groups."""
        given = (one for one in sentences if one is not None)
        runs = groupby(given, key=lambda one: one.template.group)
        return tuple(self.say.field(group, *run) for group, run in runs)

    def also(self, setup_plan: SetupPlan) -> dict[str, Any]:
        """What JSON and CSV have of a setup beside its sentences."""
        return setup_facts(self.plan, setup_plan)

    def setting_up(self, setup_plan: SetupPlan, shown: Run) -> Iterator[Sentence | None]:
        """How the part is set up, and where its holes lie."""
        plan, setup, figures = self.plan, setup_plan.setup, self.figures
        yield self.turn(setup_plan)
        yield vice_line(setup_plan, plan.setups, figures)
        yield lies_line(setup)
        holding, below_mm = setup_plan.holding, setup_plan.below_mm
        yield from hold_lines(plan.part, plan.shop, setup, figures, holding, below_mm)
        yield from self.zero(setup_plan)
        yield skew_line(setup_plan.skew_deg) if setup_plan.skew_deg else None
        heights = heights_of(setup_plan, plan.part, plan.shop)
        yield from head_lines(heights, plan.shop.mill, figures, plan.order)
        yield hand_sentence(plan.part, setup.face)
        yield from self.places(setup_plan, shown)

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

    def places(self, setup_plan: SetupPlan, shown: Run) -> Iterator[Sentence]:
        """Where the first of each pattern lies."""
        here = {one.operation.hole.name for one in shown}
        square, setup = setup_plan.square, setup_plan.setup
        for place in places_of(self.plan.part, setup, square, self.figures):
            if place.slots["hole"] in here:
                yield place

    def closing(self, setup_plan: SetupPlan, steps: Run, shown: Run) -> Iterator[Sentence]:
        """What stands below the last step."""
        setup, count = setup_plan.setup, len(steps)
        if self.keeps is None:
            holes = len({one.operation.hole.name for one in steps})
            yield self.say("done", done_count=holes, hole_count=holes, step_count=count)
            yield from self.recovery(setup_plan)
        else:
            yield self.say("done-excerpt", shown_count=len(shown), step_count=count)
        yield self.assumed()
        here = {one.operation.hole.name for one in shown}
        for finding in self.findings:
            is_here = not finding.holes or here.intersection(finding.holes)
            if finding.setup in (None, setup.number) and is_here:
                yield self.say("remark", severity=finding.severity, message=finding.message)

    def recovery(self, setup_plan: SetupPlan) -> Sequence[Sentence]:
        """Which holes give a lost zero back."""
        square, setup = setup_plan.square, setup_plan.setup
        return recovery_lines(square, setup, self.figures, setup_plan.skew_deg)

    def assumed(self) -> Sentence:
        """The defaults that were used."""
        count = f"{self.figures.step} {self.figures.unit}"
        return self.say("assumed", readout_count=count, **assumptions_of(self.plan))

    # Tool by tool.

    def tool_blocks(self, setup_plan: SetupPlan, steps: Run) -> Iterator[Section]:
        """A section a tool; tapping is a section of its own."""
        tools = groupby(steps, key=lambda one: (one.operation.tool, one.operation.name == "tap"))
        runs = [list(run) for _, run in tools]
        shown = [run for run in runs if self.kept(run)]
        looked_at: set[str] = set()
        for run in runs:
            look = []
            if run[0].operation.hole.name not in looked_at:
                look = self.look(setup_plan, _square(run), is_first=not looked_at)
                looked_at |= {one.operation.hole.name for one in run}
            if run in shown:
                change = {"change": shown.index(run) + 1, "change_count": len(shown)}
                tool = self.tool(setup_plan, run, change)
                after = self.fields(look if self.keeps is None else [])
                yield Section((tool, *self.step_tables(self.kept(run)), *after))

    def look(
        self, setup_plan: SetupPlan, operations: Sequence[Operation], *, is_first: bool
    ) -> list[Sentence]:
        """What is looked at after the steps of a tool, and first of all measured."""
        look = [look_line(operations, setup_plan.setup, self.figures)]
        measures = self.measures(setup_plan, operations) if is_first else []
        return [*look, *blunder_lines(measures, self.units)]

    def measures(self, setup_plan: SetupPlan, operations: Sequence[Operation]) -> Sequence[Measure]:
        x, y = setup_plan.zeros
        beyond_mm = x.beyond_mm, y.beyond_mm
        dials = self.plan.shop.dials
        return measures_of(setup_plan.setup, operations, beyond_mm, dials, self.units)

    def tool(self, setup_plan: SetupPlan, run: Run, change: dict[str, int]) -> Section:
        """What stands above the steps of a tool, which JSON has as one."""
        plan, first, square = self.plan, run[0].operation, _square(run)
        kept = self.kept(run)
        holes = len({one.operation.hole.name for one in kept})
        drawer = None if first.in_drawer else self.say("drawer")
        in_rows = plan.order == "row" and len(run) > 1
        above = (
            *moved_lines(plan.part, setup_plan, run, self.zero(setup_plan)),
            touch_off(first, setup_plan.setup, plan.part, plan.shop, self.figures),
            *size_lines(square, self.figures),
            lips_line(square),
            hand_line(square),
            *self.points(run),
            *oil_words(plan.part, first),
            rows_sentence(self.say, setup_plan.setup, run) if in_rows else None,
            *scrap_lines(square, self.plan.part, setup_plan.setup, self.figures),
            lock_line(square),
            boring_line(square),
        )
        named = self.tool_field(kept[0].operation, drawer, hole_count=holes, **change)
        return self.tool_section(first, (named, *self.fields(above)))

    def points(self, run: Run) -> Iterator[Sentence]:
        """What to grind where the material wants another point."""
        plan, steps = self.plan, [(one.number, one.operation) for one in run]
        yield from point_lines(steps, plan.part, plan.tool_numbers, plan.shop, self.figures)

    def tool_field(self, operation: Operation, *more: Sentence | None, **counts: int) -> Field:
        """A tool's name, speed and feed, with the time that this depth takes: a hand on the lever
        can judge that."""
        name = self.say("tool", name=tool_line(operation.tool))
        number = self.plan.tool_numbers[operation.tool]
        long = long_line(self.say, self.plan, operation.tool, self.figures)
        if operation.by_hand:
            speed = self.say("by-hand", **counts)
        else:
            feed, depth = operation.feed_mm_per_min, -operation.z_mm
            speed = self.say(
                "speed",
                rpm=f"{operation.rpm:g}",
                feed_mm_per_min=self.length(feed, "g", ".2f"),
                depth_mm=self.length(depth, ".1f", ".2f"),
                seconds=f"{60 * depth / feed:.1f}",
                **counts,
            )
        return self.say.field("TOOL {tool:count}", name, speed, long, *more, tool=number)

    def tool_section(self, operation: Operation, items: tuple[Field, ...]) -> Section:
        also: dict[str, Any] = {"by_hand": operation.by_hand, "in_drawer": operation.in_drawer}
        if operation.by_hand:
            also |= {"rpm": None, "feed_mm_per_min": None}
        return Section(items, key="tools", also=also)

    def length(self, value_mm: float, mm: str, inch: str) -> Shown:
        """In the unit of the sheet, each shown in a format of its own."""
        digits = mm if self.units == "mm" else inch
        return Shown(f"{in_units(value_mm, self.units):{digits}} {self.figures.unit}", value_mm)

    def step_tables(self, run: Run) -> Iterator[Table]:
        """A table for each operation that the tool does."""
        names = [(one.operation.hole.name, f"{one.operation.name} at") for one in run]
        width = max(len(words) for pair in names for words in pair)
        is_wide = _BESIDE + width + sum(_COLUMNS) + len(_COLUMNS) <= _WIDTH
        x, y, z = _COLUMNS if is_wide else _NARROW
        columns = (
            Column(5, right=True, gap=0),
            Column(width, gap=2),
            *(Column(wide, right=True) for wide in (x, y, z)),
            Column(gap=2),
        )
        for operation, rows in groupby(run, key=lambda one: one.operation.name):
            unit = self.figures.unit
            head = self.say(
                "steps head", operation=operation, x_unit=unit, y_unit=unit, depth=self.depth
            )
            yield Table("steps", head, tuple(self.row("steps row", one) for one in rows), columns)

    @property
    def depth(self) -> str:
        """What the column of depths is headed by."""
        return "down" if self.plan.shop.readout.axes == "xyz" else "quill"

    def row(self, slug: str, one: Step) -> Row:
        operation = one.operation
        turns = None if operation.turns is None else f"{operation.turns:.1f}"
        figures = {
            "x": self.shown(operation.x_mm, "x"),
            "y": self.shown(operation.y_mm, "y"),
            "z": self.shown(operation.z_mm, "z"),
        }
        told = told_of(self.plan, operation) | {"hole": operation.hole.name, **figures}
        number = self.plan.tool_numbers[operation.tool]
        cells = self.say(
            slug,
            step=one.number,
            hole=operation.hole.name,
            operation=operation.name,
            tool_number=number,
            turns=turns,
            **figures,
        )
        pecks = [str(self.figures.shown(z, "z")) for z in operation.pecks_mm]
        below = (self.say("pecks", pecks=pecks),) if pecks else ()
        if operation.boring is not None:
            below = (pass_line(operation, self.figures),)
        return Row(cells, below, told if pecks else {**told, "pecks": []})

    def shown(self, value_mm: float, axis: str) -> Shown:
        """As the readout shows it."""
        figures = self.figures
        return Shown(str(figures.shown(value_mm, axis)), figures.signed(value_mm, axis))

    # Hole by hole.

    def hole_blocks(self, setup_plan: SetupPlan, steps: Run) -> Iterator[Section]:
        """The tools, named once; then a section a hole."""
        tools: dict[Cutter, Operation] = {}
        for one in self.kept(steps):
            tools.setdefault(one.operation.tool, one.operation)
        named = [self.tool_section(first, (self.tool_field(first),)) for first in tools.values()]
        yield Section((*named, *self.fields([self.every_change(setup_plan.setup)])))
        for _, group in groupby(steps, key=lambda one: one.operation.hole.name):
            run = list(group)
            if self.kept(run):
                yield self.hole(setup_plan, run)

    def every_change(self, setup: Setup) -> Sentence:
        """How each tool is touched off."""
        return self.say("every-change", face=setup.face, set_to=0)

    def hole(self, setup_plan: SetupPlan, run: Run) -> Section:
        """What stands above the steps at a hole, and the steps."""
        first, square = run[0], _square(run)
        is_measured = first.number == 1 and self.keeps is None
        measures = self.measures(setup_plan, square[:1]) if is_measured else []
        above = (
            self.say("hole", hole=first.operation.hole.name),
            *self.go_to(self.kept(run)[0]),
            *moved_lines(self.plan.part, setup_plan, run, self.zero(setup_plan)),
            *(rim_line(one, self.plan.shop, self.figures) for one in square if is_set_by_rim(one)),
            *size_lines(square, self.figures),
            *scrap_lines(square, self.plan.part, setup_plan.setup, self.figures),
            lips_line(square),
            hand_line(square),
            *self.points(run),
            lock_line(square),
            boring_line([one for one in square if one.boring is not None]),
            *measure_lines(first.number, measures, self.units),
        )
        head = self.say("operations head", depth=self.depth)
        rows = tuple(self.row("operations row", one) for one in self.kept(run))
        table = Table("operations", head, rows, _OPERATIONS)
        return Section((Section(self.fields(above), key="holes"), table))

    def go_to(self, one: Step) -> Iterator[Sentence]:
        """How the place is reached."""
        x, y = self.shown(one.operation.x_mm, "x"), self.shown(one.operation.y_mm, "y")
        yield self.say("go-to", x=x, y=y)


def _square(run: Run) -> list[Operation]:
    return [one.square for one in run]
