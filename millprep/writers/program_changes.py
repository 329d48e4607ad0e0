"""What stands between two tools of a program.

    up, to the place of changing   M5   stop: fit it, touch it off   every mode anew
    straight up   spindle on   a dwell   and only then X and Y

Imports layers 0 to 4.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal

from millprep.base.units import Units
from millprep.model.kinds import FINISHING, HOLE_KINDS
from millprep.model.tools import BoringHead, Countersink, Cutter, Tap
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.head import PickUp
from millprep.planning.making import dial_on_mm
from millprep.planning.programs import (
    approach_mm,
    change_height_mm,
    is_file_a_tool,
    is_machine_top,
    is_tapped_by_hand,
)
from millprep.reference.materials import material_named
from millprep.setting.setups import Setup
from millprep.sheets.heading import DRY
from millprep.writers.program_form import Form, plain_words

Run = Sequence[Operation]
Card = tuple[tuple[str, str], ...]
"""Kind ("note", "tool", "stop") and words."""
_LONGEST_NAME = 30  # of a hole in a stop, which has more to say
_MOST_PECKS = 6


class Changes:
    """The lines of a program's changes of tool."""

    def __init__(self, plan: Plan, setup_plan: SetupPlan) -> None:
        setup = setup_plan.setup
        self.plan, self.setup_plan = plan, setup_plan
        self.setup: Setup = setup
        self.control = plan.shop.control
        self.units: Units = self.control.units or plan.part.units
        self.form = Form(self.control, self.units)
        self.scope = setup_plan.scope
        self.safe = f"G0 {self._z(setup.safe_height_mm)}"
        self.work_offset = setup.request.work_offset
        material = material_named(plan.part.material)
        is_dry = material is not None and material.lubricant == DRY
        self.is_cooled = self.control.coolant != "none" and not is_dry and self.scope.is_turning
        self.short_mm = approach_mm(plan)
        self.is_file_a_tool = is_file_a_tool(plan, setup_plan)
        self._in_vice = 0
        self.over: Operation | None = None  # of a restart, until it has been proved

    def _length(self, value_mm: float) -> str:
        return self.form.length(value_mm)

    def _z(self, value_mm: float, letter: str = "Z") -> str:
        """A height over the part, in a proving run so much higher."""
        return f"{letter}{self._length(value_mm + self.scope.raised_mm)}"

    def _comment(self, text: str) -> str:
        return self.form.comment(text)

    def _stop(self, text: str, before: str = "") -> Iterator[str]:
        return self.form.stop(text, before)

    def _modes(self) -> Iterator[str]:
        """Every mode, so that nothing is left over from before."""
        units = "G20" if self.units == "inch" else "G21"
        words = ["G17", units, "G40", "G49", "G80", "G90", "G94"]
        if not self.control.cycles and self.control.codes is not None:
            words.remove("G80")
        yield " ".join(word for word in words if word == "G80" or self.control.has(word))
        if self.control.has(self.work_offset):
            yield self.work_offset

    @property
    def _home(self) -> str | None:
        """Z to the machine's home, where that is what a change goes up to."""
        if not is_machine_top(self.plan, self.setup_plan):
            return None
        return f"G53 G0 Z{self._length(self.control.home_mm[2])}"

    def _load(self, one: Operation) -> Iterator[str]:
        """Where pieces are put in one after another, a stop for the one of this operation."""
        if not self.setup_plan.loaded or one.piece == self._in_vice:
            return
        self._in_vice = one.piece
        count = self.setup_plan.loaded
        yield from self._stop(f"load piece {one.piece} of {count}, wipe the stop{self._on}")

    def _away(self, run: Sequence[Operation]) -> Iterator[str]:
        """From the last hole of a tool to where it is changed, with the spindle stopped there."""
        up = change_height_mm(self.plan, self.setup_plan, run)
        yield self._home or f"G0 Z{self._length(up)}"
        if (place := self.plan.shop.mill.change_place_mm) is not None:
            yield f"G0 X{self._length(place[0])} Y{self._length(place[1])}"
        yield from self._still()

    def _up_to(self, x_mm: float, y_mm: float, move: str = "G0") -> Iterator[str]:
        """Short of a place, on the minus side of it, where backlash would tell."""
        if any(self.short_mm):
            x, y = x_mm - self.short_mm[0], y_mm - self.short_mm[1]
            yield f"{move} X{self._length(x)} Y{self._length(y)}"

    def _still(self) -> Iterator[str]:
        """Coolant off, spindle stopped."""
        if self.is_cooled:
            yield "M9"
        if self.control.spindle == "by hand":
            yield from self._stop(f"stop spindle{self._on}")
        else:
            yield "M5"

    def _change(self, tool: Cutter, rpm: float, again: PickUp | None) -> Iterator[str]:
        """Another tool comes in, and the spindle runs at the clear height."""
        control, number = self.control, self.plan.tool_numbers[tool]
        named, is_set = f"tool {number} {tool.kind} {tool.words}", self.is_set_before
        belt = self._belt_words(rpm)
        is_automatic = control.tool_change == "M6" and not is_set
        if again is not None and not self.is_file_a_tool:
            yield from self._stop(self.picked_up(again))
        if is_set:  # on one line, so that it is taken as in where no comment says so
            seen = f"see that {named} is in{belt}, {self._zero(tool, 'set')}"
            yield from self._stop(seen, f"T{number}" if control.tool_numbers else "")
        elif control.tool_numbers:
            yield f"T{number} M6" if is_automatic else f"T{number}"
        fitted = f"with {named} in{belt}" if is_automatic else f"fit {named}{belt}"
        if not control.length_offset and not is_set:
            yield from self._stop(f"{fitted}, {self._zero(tool, 'to set')}")
        elif control.length_offset and (belt or not is_automatic):
            yield from self._stop(fitted)
        if again is not None or belt or not (is_automatic and control.length_offset):
            yield from self._modes()  # at a stop the hand may have given orders of its own

    def _running(self, tool: Cutter, rpm: float) -> Iterator[str]:
        """The tool at the clear height and at speed."""
        if self.control.length_offset:
            yield f"G43 H{self.plan.tool_numbers[tool]}"
        yield self.safe
        yield from self._turning(rpm)

    def _turning(self, rpm: float) -> Iterator[str]:
        """The spindle at speed, and coolant; in a proving run it stays off."""
        if not self.scope.is_turning:
            if self.control.spindle == "by hand":
                yield from self._stop(f"the spindle stays off, {rpm:g} when it cuts{self._on}")
            return
        if self.control.spindle == "by hand":
            yield from self._stop(f"start spindle {rpm:g}{self._on}")
        else:
            yield f"S{rpm:g} M3" if self.control.spindle == "driven" else "M3"
        if self.control.spindle != "by hand":
            yield self._dwell(self.control.spindle_up_s)
        if self.is_cooled:
            yield self.control.coolant

    def _looks(self, first: Operation) -> Iterator[tuple[Operation, str]]:
        """Of a restart: over which holes it stops before anything turns, and what for.

        first : that is done with the tool that is in
        """
        over, self.over = self.over, None
        if over is None:
            return
        done = _DONE.get(over.name, "drilled")
        name = plain_words(over.where)[:_LONGEST_NAME].strip()
        yield over, f"restart: over {name}, {done}: see that the tool stands over it{self._on}"
        is_begun_by_power = first is not self.scope.carrier and first.name in ("tap", "ream")
        if is_begun_by_power and not is_tapped_by_hand(first, self.plan):
            name = plain_words(first.where)[:_LONGEST_NAME].strip()
            never = f"go on only if no {first.tool.kind} has been in it"
            yield first, f"restart: over {name}: {never}{self._on}"

    def _dwell(self, seconds: float) -> str:
        """Nothing where the control cannot wait."""
        return f"G4 {self.form.time(seconds)}" if seconds and self.control.has("G4") else ""

    def _belt_words(self, rpm: float) -> str:
        """What a stop says of the speed of a spindle that the control does not set."""
        if self.control.spindle == "driven":
            return ""
        return f", {'belt' if self.plan.shop.mill.speeds_rpm else 'speed'} {rpm:g}"

    @property
    def _on(self) -> str:
        """How a stop ends after which the table moves while the quill is worked by hand."""
        return ", quill up, then start" if self.control.axes == "xy" else ""

    @property
    def _proving(self) -> str:
        """How a stop begins at which nothing is done yet."""
        return "proving, cut nothing: " if self.scope.is_proving else ""

    @property
    def _end(self) -> str:
        return "M30" if self.control.has("M30") else "M2"

    def _named(self, run: Run) -> str:
        """What a tool does, and how often."""
        names = ", ".join(dict.fromkeys(operation.name for operation in run))
        if any(operation.helix is not None for operation in run):
            kind = run[0].tool.kind
            names = f"{names}, round" if kind == names else f"{names} by {kind}"
        return f"{names} {run[0].tool.words}, {len(run)} step{'' if len(run) == 1 else 's'}"

    def _nose(self, tool: Cutter) -> Iterator[str]:
        """How a countersink is zeroed whose nose is not known."""
        if isinstance(tool, Countersink) and not tool.is_nose_known:
            share = 0.5 / math.tan(math.radians(tool.angle_deg / 2))
            yield self.form.aside(
                "its nose is not known: deburr a hole, spindle stopped, let the cone"
            )
            yield self.form.aside(
                f"touch its rim and set Z to minus {share:.3g} of that hole's diameter"
            )

    def _setting(self, operation: Operation) -> Iterator[str]:
        """The stop before a pass of the boring head."""
        one, head = operation.boring, operation.tool
        assert one is not None and isinstance(head, BoringHead)
        units, name = ("in" if self.units == "inch" else "mm"), operation.where
        bore, wider = (self.form.size(value) for value in (one.from_mm, one.to_mm))
        dial = self.form.size(dial_on_mm(head, one))
        yield self.form.aside(
            f"pass {one.number} of {one.count}: bore from {bore} to {wider} {units}, {name}"
        )
        yield from self._stop(
            f"{self._proving}measure the bore, {bore} by now, dial on by {dial} on the "
            f"{head.dial}, lock it{self._on}"
        )

    def _hole_words(self, one: Operation, then: str) -> str:
        """What a stop over a hole asks of the hand: hole, tool, depth and pecks."""
        tool, depth = one.tool, self.form.quill(-one.z_mm)
        words = [
            *([f"piece {one.piece}"] if one.piece else []),
            plain_words(one.hole.name)[:_LONGEST_NAME].strip(),
            f"tool {self.plan.tool_numbers[tool]} {tool.kind} {tool.words}",
        ]
        if isinstance(tool, Tap) and one.hole.thread is not None:
            turns = -one.z_mm / one.hole.thread.pitch_mm
            words += ["by hand under the centre", f"{turns:.1f} turns", f"end at {depth}"]
        else:
            words.append(f"depth stop {depth}")
        pecks = [self.form.quill(-z) for z in one.pecks_mm]
        if 1 < len(pecks) <= _MOST_PECKS:
            words.append(f"pecks {' '.join(pecks)}")
        elif pecks[1:]:
            bites = [a - b for a, b in pairwise((0.0, *one.pecks_mm[:-1]))]
            words.append(f"pecks of {self.form.quill(min(bites))}")
        return self._proving + ", ".join([*words, then])

    def _zero(self, tool: Cutter, how: Literal["to set", "set"]) -> str:
        """How Z gets its zero, or has got it."""
        if isinstance(tool, Countersink) and not tool.is_nose_known:
            where, z = "by the rim of a hole, as said above", f"Z of {self.work_offset}"
            return f"{z} set {where}" if how == "set" else f"set {z} {where}"
        where, z = f"on {self.setup.face}", f"Z0 of {self.work_offset}"
        return f"{z} set {where}" if how == "set" else f"touch off {where}, set {z}"

    @property
    def is_set_before(self) -> bool:
        """Whether the tool of the file is put in and touched off before the file is started."""
        is_zeroed = self.control.axes == "xyz" and not self.control.length_offset
        return self.is_file_a_tool and is_zeroed

    def picked_up(self, again: PickUp) -> str:
        """What to do where the head has moved: X and Y are lost, and Z too where lengths count."""
        what = f"pick up {_and(_edges(self.setup_plan))}"
        if again.by == "rim":
            what = f"clock the {'rim' if self.plan.part.stock.bore_mm is None else 'bore'}"
        elif (made := again.made) is not None:
            done = _DONE.get(made.name, "drilled")
            place = f"X{self._length(made.x_mm)} Y{self._length(made.y_mm)}"
            what = f"pick up the {done} hole at {place}"
        axes = "X, Y and Z" if self.control.length_offset else "X and Y"
        return f"the head moves: {what} again, set {axes} of {self.work_offset}"


_DONE = {
    **{word: HOLE_KINDS[word].done for word in FINISHING}, "spot drill": "spotted",
    "counterbore": "counterbored", "spotface": "spotfaced", "countersink": "countersunk",
}  # fmt: skip


def _edges(setup_plan: SetupPlan) -> list[str]:
    """What the finder touches for X and for Y."""
    touches = [touch for zero in setup_plan.zeros for touch in (zero.touch, zero.again) if touch]
    return [touch.face if touch.against == "face" else f"the {touch.against}" for touch in touches]


def _and(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))
