"""The drilling program of one setup, for a control described by what it can do.

Takes the plan, not the sheet: figures have the control's decimals, not the readout's. Every cycle
can also be written out as plain motion. Imports layers 0 to 4.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby, pairwise

from millprep.base.outfile import BLANK_MARK
from millprep.base.records import frozen
from millprep.base.units import Units, format_length
from millprep.model.tools import Countersink, Cutter, Tap
from millprep.planning import Operation, Plan, SetupPlan
from millprep.reference.materials import material_named
from millprep.reference.shared_rules import FLOATING_START_PITCHES
from millprep.reference.threads import thread_named
from millprep.setting.setups import Setup
from millprep.sheets.cautions import BEFORE_THE_PROGRAM

RETRACT_PLANE_MM = 2.0  # above the face (1 to 2 mm, common practice)
CHANGE_HEIGHT_MM = 20.0  # least height for a tool of unknown length (common practice)
PECK_CLEARANCE_MM = 0.5  # above the last bottom when going back in (0.3 to 0.5, common practice)
CHIP_BREAK_BELOW_DIAMETERS = 3.0  # chips are only broken in the hole down to three diameters
DWELL_S = 0.5  # half a second at the bottom of spots and recesses (common practice)

_CYCLE = {
    "spot drill": "G82", "pilot drill": "G81", "drill": "G81", "bore": "G85", "spotface": "G82",
    "counterbore": "G82", "countersink": "G82", "ream": "G85", "tap": "G84",
}  # fmt: skip
_COMMENT_LENGTH = 100
# What controls take for an order where it begins a comment, blanks left out: MSG is NIST
# RS274/NGC 3.3.4; the others are common practice.
_ACTED_ON = re.compile(
    r"MSG|MESSAGE|PRINT|DEBUG|LOG(OPEN|APPEND|CLOSE)?|PROBE(OPEN|CLOSE)?|AXIS|PY|EXEC|SYSTEM|ABORT"
)


@frozen
class Program:
    """One file to run: `tool_number` when each tool has one; `by_hand` what the hand does."""

    setup_number: int
    tool_number: int | None
    text: str
    by_hand: frozenset[str]
    left_to_hand: tuple[Operation, ...]


def programs_of(plan: Plan, setup_plan: SetupPlan) -> list[Program]:
    """The program of a setup, or one for each tool where the control changes tools by file."""
    control = plan.shop.control
    powered = [o for o in setup_plan.operations if why_by_hand(o, plan) is None]
    hand = [o for o in setup_plan.operations if why_by_hand(o, plan) is not None]
    left = frozenset(operation.name for operation in hand)
    if control.tool_change != "files":
        text = _Writer(plan, setup_plan).program(powered, hand)
        return [Program(setup_plan.setup.number, None, text, left, tuple(hand))]
    out: list[Program] = []
    for tool, run in groupby(powered, key=lambda operation: operation.tool):
        group = list(run)
        text = _Writer(plan, setup_plan).program(group, hand if not out else [])
        number = plan.tool_numbers[tool]
        out.append(Program(setup_plan.setup.number, number, text, left, tuple(hand)))
    return out


def why_by_hand(operation: Operation, plan: Plan) -> str | None:
    """Why the control leaves this operation to the hand; None when it does it."""
    control, material = plan.shop.control, material_named(plan.part.material)
    if operation.name != "tap":
        return None
    if control.tapping == "none":
        return "the control does not tap"
    if operation.hole.thread is not None and operation.hole.thread.is_left_hand:
        return "left hand thread"
    if control.tapping != "reversing head" and "G84" not in control.cycles:
        return "the control has no tapping cycle G84"
    most = control.tap_speed_rpm
    if material is not None:
        most = min(most, material.most_tap_rpm(operation.tool.diameter_mm))
    if operation.feed_mm_per_min > plan.shop.mill.max_feed_mm_per_min:
        return "the mill does not feed so fast"
    return "the spindle does not turn slowly enough" if operation.rpm > most else None


class _Writer:
    """Lines of one program."""

    def __init__(self, plan: Plan, setup_plan: SetupPlan) -> None:
        setup = setup_plan.setup
        self.plan = plan
        self.setup: Setup = setup
        self.skew_deg = setup_plan.skew_deg
        self.control = plan.shop.control
        self.units: Units = self.control.units or plan.part.units
        self.safe = f"G0 Z{self._length(setup.safe_height_mm)}"
        self.retract = min(RETRACT_PLANE_MM, setup.safe_height_mm)

    def _length(self, value_mm: float) -> str:
        """A length with the control's decimals: 0.001 mm or 0.00001 in, always with a point."""
        step = Decimal("0.00001") if self.units == "inch" else Decimal("0.001")
        text = format_length(value_mm, step, self.units).rstrip("0")
        return text if not text.endswith(".") else text + "0"

    def _feed(self, feed_mm_per_min: float) -> str:
        value = feed_mm_per_min / 25.4 if self.units == "inch" else feed_mm_per_min
        text = f"{value:.4f}".rstrip("0")
        return text if not text.endswith(".") else text + "0"

    def _comment(self, text: str) -> str:
        """A comment in the control's form, plain capitals, or nothing where it takes none."""
        plain = text.upper().encode("ascii", "replace").decode().replace("?", " ")
        plain = re.sub(r"[();%\s]+", " ", plain).strip()
        plain = f"NAMED {plain}" if _is_acted_on(plain) else plain
        plain = plain[:_COMMENT_LENGTH].strip()
        if self.control.comments == "none" or not plain:
            return ""
        return f"; {plain}" if self.control.comments == ";" else f"({plain})"

    def program(self, powered: Sequence[Operation], hand: Sequence[Operation]) -> str:
        lines = [*self._head(powered, hand)]
        if self._home is not None:
            lines.append(self._home)
        groups = [
            (tool, list(run))
            for tool, run in groupby(powered, key=lambda operation: operation.tool)
        ]
        for index, (tool, operations) in enumerate(groups):
            following = groups[index + 1][0] if index + 1 < len(groups) else None
            lines += [*self._tool(tool, operations), self._retract(tool, following), "M5"]
        lines += ["M30"]
        return "\n".join(line for line in lines if line) + "\n"

    @property
    def _home(self) -> str | None:
        """Z to the machine's home: only where the shop file says where the work lies under it."""
        if self.setup.request.work_offset not in self.control.offsets_mm:
            return None
        return f"G53 G0 Z{self._length(self.control.home_mm[2])}"

    def _retract(self, tool: Cutter, following: Cutter | None) -> str:
        """Up before a tool change or the end: home, else high enough for a longer tool to come."""
        if self._home is not None:
            return self._home
        lengths = {entry.number: entry.length_mm for entry in self.plan.shop.tools}
        here = lengths.get(self.plan.tool_numbers[tool], 0.0)
        there = here
        if following is not None:
            there = lengths.get(self.plan.tool_numbers[following], 0.0)
        height = self.setup.safe_height_mm + max(there - here, 0.0)
        if following is not None and not self.control.length_offset and not (here and there):
            height = max(height, CHANGE_HEIGHT_MM)
        return f"G0 Z{self._length(height)}"

    def _head(self, powered: Sequence[Operation], hand: Sequence[Operation]) -> Iterator[str]:
        part, setup = self.plan.part, self.setup
        count = len(self.plan.setups)
        yield self._comment(f"{part.name}, setup {setup.number} of {count}")
        yield self._comment(
            f"{setup.face} up, {setup.towards_you} towards you, {setup.left_hand} at left hand"
        )
        yield self._comment(
            f"zero X on {setup.zero_x}, Y on {setup.zero_y}, Z on {setup.face}, "
            f"{setup.request.work_offset}"
        )
        if self.skew_deg:
            way = "anticlockwise" if self.skew_deg > 0 else "clockwise"
            yield self._comment(
                f"part lies {abs(self.skew_deg):.4f} deg {way}, X and Y turned with it"
            )
        yield self._comment(f"part mark {part.mark}")
        yield self._comment(BLANK_MARK)
        for line in BEFORE_THE_PROGRAM:
            yield self._comment(line)
        for tool in dict.fromkeys(operation.tool for operation in powered):
            yield self._comment(_tool_words(self.plan.tool_numbers[tool], tool))
        for operation in hand:
            why = why_by_hand(operation, self.plan)
            yield self._comment(
                f"BY HAND: {operation.hole.name} {operation.name} {operation.tool.words}, {why}"
            )
        units = "G20" if self.units == "inch" else "G21"
        yield f"G17 {units} G40 G49 G80 G90 G94"
        yield setup.request.work_offset

    def _tool(self, tool: Cutter, operations: list[Operation]) -> Iterator[str]:
        number = self.plan.tool_numbers[tool]
        names = ", ".join(dict.fromkeys(operation.name for operation in operations))
        yield self._comment(f"{names} {tool.words}, {_count(operations)}")
        if isinstance(tool, Countersink) and not tool.is_nose_known:
            share = 0.5 / math.tan(math.radians(tool.angle_deg / 2))
            yield self._comment(
                "its nose is not known: deburr a hole, spindle stopped, let the cone"
            )
            yield self._comment(
                f"touch its rim and set Z to minus {share:.3g} of that hole's diameter"
            )
        yield from self._change(number, tool)
        first = operations[0]
        yield f"S{first.rpm:g} M3"
        for key, run in groupby(operations, key=self._cycle_key):
            yield from self._group(key, list(run))

    def _change(self, number: int, tool: Cutter) -> Iterator[str]:
        control = self.control
        if control.tool_change == "M6":
            yield f"T{number} M6"
        else:
            yield "M5"
            yield f"T{number}"
            yield f"M0 {self._comment(f'fit tool {number} {tool.kind} {tool.words}')}".strip()
        if control.tool_change == "M6" and not control.length_offset:
            yield f"M0 {self._comment('touch the tool off')}".strip()
        if control.length_offset:
            yield f"G43 H{number}"
        yield self.safe

    def _cycle_key(self, operation: Operation) -> tuple[object, ...]:
        """Operations in a row that one cycle line can serve."""
        return (
            self._cycle(operation),
            self._length(operation.z_mm),
            operation.feed_mm_per_min,
            self._peck(operation),
            operation.rpm,
        )

    def _word(self, operation: Operation) -> str:
        """The cycle that the operation asks for, whether the control has it or not."""
        if operation.name == "tap" and self.control.tapping == "reversing head":
            return "G85"  # the head turns the tap back by itself when it is drawn out
        return _CYCLE[operation.name]

    def _cycle(self, operation: Operation) -> str:
        word = self._word(operation)
        if word == "G82" and self._no_dwell:
            word = "G81"
        if word == "G81" and operation.pecks_mm:
            word = "G83" if self._full_retract(operation) else "G73"
        return word if word in self.control.cycles else "motion"

    @property
    def _no_dwell(self) -> bool:
        material = material_named(self.plan.part.material)
        return material is not None and material.work_hardens

    def _full_retract(self, operation: Operation) -> bool:
        material = material_named(self.plan.part.material)
        deep = -operation.z_mm > CHIP_BREAK_BELOW_DIAMETERS * operation.tool.diameter_mm
        return deep or material is None or material.long_chips or "G73" not in self.control.cycles

    def _peck(self, operation: Operation) -> str:
        """Q, counted from the retract plane, so that no bite is deeper than the schedule's.

        Of two pecks the first ends where the schedule has it; of more, all are the smallest but
        the last.
        """
        depths = [0.0, *(-z for z in operation.pecks_mm)]
        bites = [after - before for before, after in pairwise(depths)]
        if len(bites) < 2:
            return ""
        bite = bites[0] + self.retract if len(bites) == 2 else min(bites[:-1])
        return self._length(bite)

    def _group(self, key: tuple[object, ...], operations: list[Operation]) -> Iterator[str]:
        cycle = str(key[0])
        if cycle == "motion":
            for operation in operations:
                yield from self._motion(operation)
            return
        first, *others = operations
        words = [
            "G98",
            cycle,
            *self._place(first),
            f"Z{self._length(first.z_mm)}",
            f"R{self._length(self._retract_plane(first))}",
        ]
        if cycle in ("G73", "G83"):
            words.append(f"Q{self._peck(first)}")
        if cycle == "G82":
            words.append(f"P{DWELL_S}")
        words += [f"F{self._feed(first.feed_mm_per_min)}", self._hole_comment(first)]
        yield " ".join(word for word in words if word)
        for operation in others:
            yield " ".join(
                word for word in (*self._place(operation), self._hole_comment(operation)) if word
            )
        yield "G80"

    def _retract_plane(self, operation: Operation) -> float:
        """R; with a floating holder high enough that the tap turns at speed before it cuts."""
        thread, is_floating = operation.hole.thread, self.control.tapping == "floating"
        if operation.name != "tap" or thread is None or not is_floating:
            return self.retract
        start_mm = FLOATING_START_PITCHES * thread.pitch_mm
        return min(max(self.retract, start_mm), self.setup.safe_height_mm)

    def _place(self, operation: Operation) -> tuple[str, str]:
        return f"X{self._length(operation.x_mm)}", f"Y{self._length(operation.y_mm)}"

    def _hole_comment(self, operation: Operation) -> str:
        return self._comment(f"{operation.hole.name}, {operation.name}")

    def _motion(self, operation: Operation) -> Iterator[str]:
        """The same as the cycle, written out: for a control that does not know it."""
        clear = f"G0 Z{self._length(self.retract)}"
        feed = f"F{self._feed(operation.feed_mm_per_min)}"
        yield " ".join(["G0", *self._place(operation), self._hole_comment(operation)]).strip()
        yield clear
        depth_before: float | None = None
        for z_mm in operation.pecks_mm or (operation.z_mm,):
            if depth_before is not None:
                yield clear
                yield f"G0 Z{self._length(min(depth_before + PECK_CLEARANCE_MM, self.retract))}"
            yield f"G1 Z{self._length(z_mm)} {feed}"
            depth_before = z_mm
        word = self._word(operation)
        if word == "G82" and not self._no_dwell:
            yield f"G4 P{DWELL_S}"
        if word == "G85":
            yield f"G1 Z{self._length(self.retract)} {feed}"
        yield self.safe


def _is_acted_on(comment: str) -> bool:
    """Whether the first word of a comment, or its letters up to the first sign, are an order."""
    word, sign = re.match(r"[A-Z]*", comment), re.match(r"[A-Z ]*", comment)
    assert word is not None and sign is not None
    return any(_ACTED_ON.fullmatch(each.replace(" ", "")) for each in (word[0], sign[0]))


def _count(operations: Sequence[Operation]) -> str:
    return f"{len(operations)} step{'' if len(operations) == 1 else 's'}"


def _tool_words(number: int, tool: Cutter) -> str:
    """The tool line that a dry run reads: TOOL 3 DRILL 5.000 MM POINT 118."""
    words = [f"TOOL {number} {tool.kind.upper()} {tool.diameter_mm:.3f} MM"]
    thread = thread_named(tool.words) if isinstance(tool, Tap) else None
    for word, value in tool.told.items():
        digits = f"{value:.5f}".rstrip("0").rstrip(".") if word == "pitch" else f"{value:g}"
        if word == "lead" and thread is not None and thread.angle_deg != 60.0:
            words.append(f"FLANKS {thread.angle_deg:g}")  # the usual one goes without saying
        words.append(f"{word.upper()} {digits}")
    if isinstance(tool, Tap) and tool.is_left_hand:
        words.append("LEFT HAND")
    if tool.is_carbide:
        words.append("CARBIDE")
    return " ".join(words)
