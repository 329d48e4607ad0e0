"""The dial sheet: the steps of a listing as turns and divisions of the handwheels.

`planning.dials` rounds each exact place once, to a division. Imports layers 0 to 4.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.base.units import Units, in_units, round_to
from millprep.model.shop import Dial, Shop
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.dials import Handle, marked_otherwise
from millprep.planning.numbering import ways_of
from millprep.setting.setups import Setup
from millprep.setting.skew import turned
from millprep.sheets.dial_data import Dialled, csv_of, handle_json, settings_of, signed
from millprep.sheets.dial_words import (
    CHECK_TURNS,
    dial_lines,
    setting_slots,
    unsigned_slots,
    zero_line,
)
from millprep.sheets.document import (
    Column,
    Document,
    Page,
    Row,
    Section,
    Sentence,
    Shown,
    Table,
    plain,
)
from millprep.sheets.heading import heading_of
from millprep.sheets.listing import Keeps, Listing
from millprep.sheets.steps import Run, Step, assumptions_of, steps_of
from millprep.sheets.tool_heads import shared_by, tail_of
from millprep.sheets.words import by_rule
from millprep.sheets.zero_words import met_at_mm, recovery_of

_WIDTH = 78
_BESIDE, _STEP_COLUMNS = 9, (9, 7, 9, 7, 10)  # X turns and figure, Y turns and figure, Z
_PLACE_START, _PLACE_COLUMNS = 4, (10, 10, 9, 10, 10, 9)  # X, by rule, left over; the same for Y
_AXIS_COLUMNS = (
    "turns",
    "division",
    "negative",
    "reading",
    "left_over_mm",
    "back_turns",
    "back_negative",
    "back_reading",
)
_CSV = (
    "setup", "face", "towards_you", "zero_x", "zero_y", "units", "step", "hole", "operation",
    "tool", "tool_number", *(f"x_{name}" for name in _AXIS_COLUMNS),
    *(f"y_{name}" for name in _AXIS_COLUMNS), "z", "z_turns", "z_reading", "pecks", "turns",
    "pass", "bored_from", "bored_to", "dial_on",
    "skew_deg", "cone_mm", "rpm", "feed_mm_per_min", "by_hand",
)  # fmt: skip


def make_dial_sheet(
    plan: Plan,
    units: Units,
    findings: Sequence[Finding] = (),
    setup_number: int | None = None,
    keeps: Keeps | None = None,
) -> Document:
    """The dial sheet of a plan in a unit; the arguments are those of `make_listing`.

    The shop has dials for X and Y.
    """
    return DialSheet(plan, units, findings, keeps).document(setup_number)


class DialSheet(Listing):
    """A listing whose places are turns and figures."""

    sheet, steps = "dials", "dialled"
    csv = _CSV

    def page(self, setup_plan: SetupPlan, *, is_first: bool) -> Page | None:
        setup, shop = setup_plan.setup, self.plan.shop
        ways = {**dict(zip("xy", ways_of(setup), strict=True)), "z": -1}
        self.handles = tuple(
            Handle(axis, shop.dials[axis], ways[axis], axis in shop.readout.reversed_axes)
            for axis in "xyz"
            if axis in shop.dials
        )
        whole = self.dialled(setup_plan.operations)
        shown = [
            index
            for index, operation in enumerate(setup_plan.operations)
            if self.keeps is None or self.keeps(index + 1, operation)
        ]
        alone = self.dialled([setup_plan.operations[index] for index in shown])
        # places are gone back past where they are on the whole sheet, and where they must be here
        self.dialled_steps = {
            index + 1: replace(
                whole[index],
                x=whole[index].x if whole[index].x.back_off else here.x,
                y=whole[index].y if whole[index].y.back_off else here.y,
            )
            for index, here in zip(shown, alone, strict=True)
        }
        return super().page(setup_plan, is_first=is_first)

    def dialled(self, operations: Sequence[Operation]) -> list[Dialled]:
        """The settings of steps one after the other."""
        x, y, *z = self.handles
        return [
            Dialled(
                at_x,
                at_y,
                z[0].setting(one.z_mm) if z else None,
                tuple(z[0].setting(peck) for peck in self._pecks_mm(one)) if z else (),
            )
            for one, at_x, at_y in zip(
                operations,
                x.wind([one.x_mm for one in operations]),
                y.wind([one.y_mm for one in operations]),
                strict=True,
            )
        ]

    def _pecks_mm(self, operation: Operation) -> list[float]:
        """Pecks as the sheet shows them, in mm and setup axes; the last is the exact depth."""
        figures = self.figures
        sign = -1 if "z" in figures.readout.reversed_axes else 1
        per_unit = 25.4 if figures.units == "inch" else 1.0
        shown = [sign * float(figures.shown(z, "z")) * per_unit for z in operation.pecks_mm[:-1]]
        return [*shown, operation.z_mm] if operation.pecks_mm else []

    def heading(self) -> tuple[Sentence, ...]:
        return heading_of(self.say, self.plan.part, self.figures, "dial", at_the_mill=True)

    def handwheels(self, setup_plan: SetupPlan) -> Iterator[Sentence]:
        return dial_lines(setup_plan.setup, self.handles, self.figures)

    def places(self, setup_plan: SetupPlan, shown: Run) -> Iterator[Sentence | None]:
        """WHERE has the places."""
        yield from ()

    @property
    def dials(self) -> Mapping[str, Dial]:
        return self.plan.shop.dials

    def place_facts(self, setup_plan: SetupPlan, shown: Run) -> dict[str, Any]:
        """WHERE has the places."""
        return {}

    def zero(self, setup_plan: SetupPlan) -> Iterator[Sentence]:
        """An axis at a time: its own face met on the usual way, or what the listing goes by."""
        shop, setup = self.plan.shop, setup_plan.setup
        for handle, zero in zip(self.handles, setup_plan.zeros, strict=False):
            at_mm = met_at_mm(setup, zero, setup_plan.skew_deg)
            yield zero_line(shop, setup, handle, zero, at_mm, self.figures)

    def further(self, setup_plan: SetupPlan, shown: Run) -> Iterator[Section]:
        """Where the holes lie whose setting leaves something over."""
        unit = self.figures.unit
        places = [one for one in self._places(shown) if _leaves(one)]
        if not places:
            return
        where = self.say.field(
            "WHERE", self.say("where", along="askew" * bool(setup_plan.skew_deg))
        )
        head = self.say("where head", x_unit=unit, y_unit=unit)
        width = _name_width([one.slots["hole"] for one in places], _PLACE_START, _PLACE_COLUMNS)
        columns = (Column(width), *(Column(wide, right=True, gap=0) for wide in _PLACE_COLUMNS))
        rows = tuple(map(Row, places))
        yield Section((where, Table("where", head, rows, columns, boxes=False)))

    def _places(self, shown: Run) -> Iterator[Sentence]:
        """Every hole once, in the order of the steps; a rule is held along the part."""
        decimals = 3 if self.units == "mm" else 4
        firsts = {one.operation.hole.name: one for one in reversed(shown)}
        seen = dict.fromkeys(one.operation.hole.name for one in shown)
        for name in seen:
            one = firsts[name]
            slots: dict[str, Any] = {}
            places = (one.operation.x_mm, one.square.x_mm), (one.operation.y_mm, one.square.y_mm)
            wound = self.dialled_steps[one.number].x, self.dialled_steps[one.number].y
            for axis, (at_mm, square_mm), at in zip("xy", places, wound, strict=True):
                left_over = in_units(at.setting.left_over_mm, self.units)
                signed_mm = self.figures.signed(at_mm, axis)
                exact = round_to(in_units(signed_mm, self.units), Decimal(1).scaleb(-decimals))
                rule = by_rule(abs(square_mm), self.figures)
                slots |= {
                    axis: Shown(str(exact), signed_mm),
                    f"{axis}_by_rule": rule.removesuffix(f" {self.figures.unit}"),
                    f"{axis}_beyond": signed(left_over, decimals),
                }
            yield self.say("where row", hole=name, **slots)

    def recovery(self, setup_plan: SetupPlan) -> Sequence[Sentence]:
        """Which two holes give a lost zero back; none where there are not two."""
        pair = recovery_of(setup_plan.square, setup_plan.setup)
        if pair is None:
            return ()
        x, y, *_ = self.handles
        slots: dict[str, Any] = {}
        for name, hole in zip(("", "other_"), pair, strict=True):
            x_mm, y_mm = turned(hole.x_mm, hole.y_mm, setup_plan.skew_deg)
            slots |= {
                f"{name}x": setting_slots(x.setting(x_mm)),
                f"{name}y": setting_slots(y.setting(y_mm)),
                "other" if name else "hole": hole.hole.name,
            }
        apart = math.hypot(pair[0].x_mm - pair[1].x_mm, pair[0].y_mm - pair[1].y_mm)
        apart_mm = Shown(self.figures.words(apart), apart)
        return (self.say("recover-dial", apart_mm=apart_mm, **slots),)

    def assumed(self) -> Sentence:
        depths = "dial" if "z" in self.plan.shop.dials else "quill"
        return self.say("assumed-dials", depths=depths, **assumptions_of(self.plan, self.units))

    def head(self) -> Sentence:
        return self.say("dialled head", depth=self.depth)

    def columns(self, steps: Run, runs: Sequence[Run]) -> tuple[Column, ...]:
        names = [one.operation.hole.name for one in steps]
        width = _name_width(names, _BESIDE + tail_of(runs, self.figures), _STEP_COLUMNS)
        return (
            Column(4, right=True, gap=0),
            Column(width, gap=2),
            *(Column(wide, right=True, gap=0) for wide in _STEP_COLUMNS),
            *(Column(gap=2) for _ in range(3)),
        )

    def shared(self, run: Run) -> Iterator[Sentence]:
        yield from super().shared(run)
        dialled = self.dialled_steps[self.kept(run)[0].number]
        if dialled.z is not None and shared_by(run, self.figures).is_deep:
            pecks = [unsigned_slots(one) for one in dialled.pecks] or None
            yield self.say("all-dial", z_set=unsigned_slots(dialled.z), pecks_set=pecks)

    def row(self, slug: str, one: Step, beside: dict[str, Any], *, has_pecks: bool) -> Row:
        listed, dialled = (
            super().row(slug, one, beside, has_pecks=has_pecks),
            self.dialled_steps[one.number],
        )
        by_hole = slug.startswith("operations")
        is_alone = by_hole or "z" in beside
        below = (
            *([] if by_hole else self.back_offs("back-off", dialled)),
            *listed.below,
            *(self.depths(dialled) if is_alone else []),
        )
        slots = {
            f"{axis}_{name}": value
            for axis, at in (("x", dialled.x), ("y", dialled.y))
            for name, value in setting_slots(at.setting).items()
        }
        cells = self.say(slug, **listed.cells.slots, **slots)
        also = {**listed.also, **settings_of(dialled, one.operation)}
        return replace(listed, cells=cells, below=below, also=also, csv=csv_of(dialled))

    def go_to(self, one: Step) -> Iterator[Sentence]:
        dialled = self.dialled_steps[one.number]
        x, y = setting_slots(dialled.x.setting), setting_slots(dialled.y.setting)
        yield self.say("go-to-dial", x_dial=x, y_dial=y)
        yield from self.back_offs("back-off-hole", dialled)

    def back_offs(self, slug: str, dialled: Dialled) -> Iterator[Sentence]:
        """Where to go back past the place first."""
        x, y = (
            {} if at.back_off is None else {f"{axis}_back": setting_slots(at.back_off)}
            for axis, at in (("x", dialled.x), ("y", dialled.y))
        )
        if x or y:
            ending = "-both" if x and y else "-y" if y else ""
            yield self.say(f"{slug}{ending}", **x, **y)

    def depths(self, dialled: Dialled) -> Iterator[Sentence]:
        """What the Z dial shows."""
        if dialled.z is not None:
            yield self.say("z-dial", z_set=unsigned_slots(dialled.z))
        if dialled.pecks:
            yield self.say("pecks-dial", pecks_set=[unsigned_slots(one) for one in dialled.pecks])

    def every_change(self, setup: Setup) -> Sentence:
        return self.say("every-change-dial")

    def also(self, setup_plan: SetupPlan) -> dict[str, Any]:
        where = [
            plain(one, self.units)
            for one in self._places(self.kept(steps_of(self.plan, setup_plan)))
        ]
        return {
            **super().also(setup_plan),
            "where": where,
            "along": "askew" if setup_plan.skew_deg else None,
            "dials": {handle.axis: handle_json(handle) for handle in self.handles},
        }


def traps(shop: Shop) -> Iterator[Finding]:
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


def _name_width(names: Sequence[str], start: int, columns: Sequence[int]) -> int:
    """Of the widest name, or what the figures leave."""
    return min(max(map(len, names)), _WIDTH - start - sum(columns))


def _leaves(place: Sentence) -> bool:
    return any(float(place.slots[f"{axis}_beyond"]) for axis in "xy")
