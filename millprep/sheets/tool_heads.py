"""What stands above the steps of a tool: how it is called there, and all that its steps share.

Imports layers 0 to 4.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from millprep.base.records import frozen
from millprep.base.units import MM_PER_INCH, Units
from millprep.model.tools import (
    PLUG_LEAD_THREADS,
    REAMER_LEAD_MM,
    SPOT_TIP_FLAT_MM,
    Countersink,
    Cutter,
    Drill,
    PointedTool,
    Reamer,
    SpotDrill,
    Tap,
)
from millprep.planning import Operation, Plan
from millprep.reference.materials import material_named
from millprep.reference.threads import thread_named
from millprep.setting.setups import Setup
from millprep.sheets.cutter_words import touch_facts
from millprep.sheets.document import Column, Sayer, Sentence, Shown
from millprep.sheets.figures import Figures
from millprep.sheets.steps import Run
from millprep.sheets.words import tool_line

_WIDTH = 78
_BESIDE = 9  # box, number and blanks before the name in a row
_COLUMNS = (11, 11, 11)  # X, Y and Z, a blank before each
_NARROW = (8, 8, 8)  # beside names so long that the row would leave the page

_FORMS = {PLUG_LEAD_THREADS: "second", 1.5: "plug (bottoming)"}
"""Of a tap, by the threads of its lead; a bottoming tap has 1 to 2."""


_USUAL = {
    "spot drill": "spot drill",
    "drill": "drill",
    "boring head": "bore",
    "counterbore": "counterbore",
    "countersink": "countersink",
    "reamer": "ream",
    "tap": "tap",
}
"""What a tool is for: no more is said of it where it does that."""


def called(tool: Cutter, units: Units) -> str:
    """A tool as the shop calls it: what is as usual is left out.

    Usual are the points of drills and the flats of spot drills that nobody has measured, the lead
    of a machine reamer, and all that the name of a thread says.
    """
    if isinstance(tool, Tap):
        return _tap(tool)
    size = f"{tool.diameter_mm:.3f}".rstrip("0").rstrip(".")
    is_plain = tool.words == f"{size} mm"
    words = [f"{tool.kind} {size if is_plain and units == 'mm' else tool.words}"]
    if not is_plain and units == "mm":
        words.append(f"{size} mm")
    elif not is_plain and not tool.words.endswith(" in"):
        words.append(f"{tool.diameter_mm / float(MM_PER_INCH):.4f}".rstrip("0").rstrip(".") + " in")
    words += [] if not isinstance(tool, PointedTool) else _end(tool)
    if isinstance(tool, Reamer):
        is_usual = tool.lead_mm == REAMER_LEAD_MM and not tool.is_hand
        words += [] if is_usual else [f"lead {tool.lead_mm:g} mm"]
        words += ["for the hand"] if tool.is_hand else []
    return ", ".join(words)


def _end(tool: PointedTool) -> Iterator[str]:
    point, flat = tool.told.get("point"), tool.told.get("flat")
    if point is not None and not (isinstance(tool, Drill) and point == Drill.usual_point_deg):
        yield f"{point:g} deg"
    usual = SPOT_TIP_FLAT_MM if isinstance(tool, SpotDrill) else None
    if (flat or 0.0) != (usual or 0.0):
        yield f"{'nose' if isinstance(tool, Countersink) else 'flat'} {flat or 0.0:g} mm"


def _tap(tool: Tap) -> str:
    """By its thread alone, where a table has that and the tap is like it."""
    thread = thread_named(tool.words)
    form = _FORMS.get(tool.lead_threads)
    if thread is None or form is None or tool.pitch_mm is None:
        return tool_line(tool)
    off = abs(thread.pitch_mm - tool.pitch_mm) + abs(thread.major_mm - tool.diameter_mm)
    if off > 1e-6 or thread.is_left_hand != tool.is_left_hand:
        return tool_line(tool)
    return f"{tool.words} {form} tap"


def listed_facts(plan: Plan, operation: Operation) -> dict[str, Any]:
    """What JSON has of a tool beside its sentence."""
    tool, by_hand = operation.tool, operation.by_hand
    feed, depth_mm = operation.feed_mm_per_min, -operation.z_mm
    timed = {} if by_hand else {"depth_mm": round(depth_mm, 6), "seconds": _seconds(feed, depth_mm)}
    return {
        "tool": plan.tool_numbers[tool],
        "name": tool_line(tool),
        "by_hand": by_hand,
        "in_drawer": operation.in_drawer,
        "rpm": None if by_hand else operation.rpm,
        "feed_mm_per_min": None if by_hand else round(feed, 6),
        **timed,
    }


def _seconds(feed_mm_per_min: float, depth_mm: float) -> float:
    return float(f"{60 * depth_mm / feed_mm_per_min:.1f}")


def tool_facts(plan: Plan, operation: Operation, setup: Setup) -> dict[str, Any]:
    """The same where each tool is told with its steps: how it is touched off, and its lubricant."""
    material = material_named(plan.part.material)
    oil = None if material is None else material.lubricant
    touched = touch_facts(operation, setup, plan.part, plan.shop)
    return {**listed_facts(plan, operation), **touched, **({"oil": oil} if oil else {})}


@frozen
class Shared:
    """What the steps of a tool have alike, and so stands in its head, not beside each of them.

    is_deep : depth, and the turns of a tap; has_pecks : pecks; does : the operation, None where
    they differ
    """

    is_deep: bool
    has_pecks: bool
    does: str | None

    def told(self, tool: Cutter) -> str | None:
        """The operation where it is not what the tool is for."""
        return None if self.does == _USUAL.get(tool.kind) else self.does


def shared_by(run: Run, figures: Figures) -> Shared:
    """The depth of a single step stands beside it; but not a tap's, which goes by its turns."""
    names = {one.operation.name for one in run}
    is_alike = len({_reach(one.operation, figures) for one in run}) == 1
    is_tap = run[0].operation.turns is not None
    is_deep = is_alike and (is_tap or len(run) > 1)
    return Shared(is_deep, is_alike, run[0].operation.name if len(names) == 1 else None)


def turns_of(operation: Operation) -> str | None:
    """Of a tap, as shown."""
    return None if operation.turns is None else f"{operation.turns:.1f}"


def _reach(operation: Operation, figures: Figures) -> tuple[Decimal, tuple[Decimal, ...], Any]:
    pecks = tuple(figures.shown(z_mm, "z") for z_mm in operation.pecks_mm)
    return figures.shown(operation.z_mm, "z"), pecks, turns_of(operation)


def shared_line(say: Sayer, run: Run, figures: Figures) -> Sentence | None:
    """The depth, pecks and turns of all steps; None where nothing stands in the head."""
    shared, first = shared_by(run, figures), run[0].operation
    z, pecks, turns = _reach(first, figures)
    told = [str(one) for one in pecks] or None
    depth = Shown(str(z), figures.signed(first.z_mm, "z"))
    if shared.is_deep:
        if turns is not None:
            return say("all-turns", turns=turns, z=depth)
        return say("all-to", z=depth, pecks=told)
    return say("all-pecks", pecks=told) if shared.has_pecks and told else None


def beside_steps(run: Run, figures: Figures) -> dict[int, dict[str, Any]]:
    """By the number of a step, the slots of its row that do not stand in the head."""
    shared, odd = shared_by(run, figures), _odd_ones(run, figures)
    beside: dict[int, dict[str, Any]] = {}
    for number, one in ((each.number, each.operation) for each in run):
        depth = Shown(str(figures.shown(one.z_mm, "z")), figures.signed(one.z_mm, "z"))
        told = {
            "z": None if shared.is_deep else depth,
            "turns": None if shared.is_deep else turns_of(one),
            "operation": None if shared.does else one.name,
            "odd": odd.get(number),
        }
        beside[number] = {name: value for name, value in told.items() if value is not None}
    return beside


def tail_of(runs: Iterable[Run], figures: Figures) -> int:
    """How many letters the longest row has beyond its figures."""
    rows = (beside for run in runs for beside in beside_steps(run, figures).values())
    return max(
        sum(
            len(f"  {beside[name]}") + len(" turns") * (name == "turns")
            for name in ("turns", "operation", "odd")
            if name in beside
        )
        for beside in rows
    )


def _odd_ones(run: Run, figures: Figures) -> dict[int, str]:
    """How the few differ from the most, by the number of their step; none where no more than half
    are alike."""
    reaches = {one.number: _reach(one.operation, figures) for one in run}
    (usual, count), *_ = Counter(reaches.values()).most_common()
    if 2 * count <= len(run):
        return {}
    deep_mm = next(one.operation.z_mm for one in run if reaches[one.number] == usual)
    return {
        one.number: _odd(reaches[one.number], usual, is_deeper=one.operation.z_mm < deep_mm)
        for one in run
        if reaches[one.number] != usual
    }


def _odd(reach: tuple[Any, ...], usual: tuple[Any, ...], *, is_deeper: bool) -> str:
    if reach[0] != usual[0]:
        return "deeper" if is_deeper else "shallower"
    return "other pecks" if reach[1] != usual[1] else "other turns"


def columns_of(steps: Run, runs: Sequence[Run], figures: Figures) -> tuple[Column, ...]:
    """Of a setup's steps: step, hole, X, Y and depth, and what stands behind them."""
    room = _WIDTH - _BESIDE - tail_of(runs, figures)
    width = max(len(one.operation.hole.name) for one in steps)
    is_wide = width + sum(_COLUMNS) + len(_COLUMNS) <= room
    places = _COLUMNS if is_wide else _NARROW
    width = min(width, room - sum(places) - len(places))
    return (
        Column(4, right=True, gap=0),
        Column(width, gap=2),
        *(Column(wide, right=True) for wide in places),
        *(Column(gap=2) for _ in range(3)),
    )
