"""Tools of a shop file: single sizes, ranges of sizes and taps, as `Tool`.

Raises WordError for what contradicts itself. Imports layers 0 to 2.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction

from millprep.base.bounds import MOST_TOOLS
from millprep.base.findings import WordError
from millprep.base.units import MM_PER_INCH
from millprep.infiles.shop_schema import (
    CabinetTable,
    CutterTable,
    InstrumentsTable,
    Lead,
    TapTable,
    ToolTable,
)
from millprep.model.shop import SPOT_TIP_FLAT_MM, Cabinet, Cutter, Tool, ToolKind
from millprep.reference.drills import Drill, drills, jobber_flute_mm
from millprep.sizes import read_drill

DRILL_POINT_DEG = 118.0  # general-purpose twist drill, ASME B94.11M
SPOT_POINT_DEG = 90.0  # spot drills and metric countersinks, common practice
REAMER_LEAD_MM = 1.0  # 45 degree lead of a machine reamer, 0.5 to 1.5 mm, common practice
_HAND_SET_THREADS = (4.0, 2.0)  # a bare thread stands for a second (plug) and a bottoming tap
_SAME_MM = 1e-6

_POINTS_DEG: dict[ToolKind, float] = {
    "drill": DRILL_POINT_DEG,
    "spot drill": SPOT_POINT_DEG,
    "countersink": SPOT_POINT_DEG,
}

Report = Callable[[str, int, WordError], None]
"""Is told of a fault: list of the cabinet, index in it, what is wrong."""


def read_cabinet(table: CabinetTable, report: Report) -> Cabinet:
    """The drawer, each list ascending in diameter and without doubles."""

    def cutters(name: str, kind: ToolKind) -> tuple[Cutter, ...]:
        return _ascending(_tools(getattr(table, name), kind, name, report))

    return Cabinet(
        drills=cutters("drills", "drill"),
        reamers=cutters("reamers", "reamer"),
        taps=_ascending(tool for tap in table.taps for tool in _taps(tap)),
        spot_drills=cutters("spot_drills", "spot drill"),
        countersinks=cutters("countersinks", "countersink"),
        counterbores=cutters("counterbores", "counterbore"),
        end_mills=cutters("end_mills", "end mill"),
    )


def read_pins(table: InstrumentsTable, report: Report) -> tuple[Cutter, ...]:
    """The gauge pins, ascending and without doubles."""
    return _ascending(_tools(table.pins, "drill", "pins", report))


def _ascending(tools: Iterable[Cutter]) -> tuple[Cutter, ...]:
    unique = dict.fromkeys(tools)
    return tuple(sorted(unique, key=lambda tool: (tool.diameter_mm, -(tool.lead_threads or 0.0))))


def _tools(
    tables: tuple[CutterTable, ...], kind: ToolKind, name: str, report: Report
) -> Iterator[Cutter]:
    count = 0
    for index, table in enumerate(tables):
        try:
            sizes = _sizes(table)
        except WordError as error:
            report(name, index, error)
            continue
        count += len(sizes)
        if count > MOST_TOOLS:
            report(name, index, WordError("one too many", f"at most {MOST_TOOLS:,} in a list"))
            return
        for size in sizes:
            yield _tool(kind, size, table)


def _sizes(table: CutterTable) -> list[Drill]:
    """The one size of an entry, or all sizes of its range."""
    first, last = table.from_, table.to
    if table.diameter is not None and first is None and last is None and table.step is None:
        return [table.diameter]
    if table.diameter is not None or first is None or last is None:
        raise WordError(
            "neither one size nor a range",
            'write "5 mm", { diameter = 5, flute = 40 } or { from = 1, to = 10, step = 0.1 }',
        )
    if first.series == last.series and first.series in ("number", "letter") and not table.step:
        low, high = sorted((first.diameter_mm, last.diameter_mm))
        return [
            drill
            for drill in drills(first.series)
            if low - _SAME_MM <= drill.diameter_mm <= high + _SAME_MM
        ]
    if table.step is None:
        raise WordError("a range without a step", "write { from = 1, to = 10, step = 0.1 }")
    if first.diameter_mm > last.diameter_mm:
        raise WordError("a range that runs downwards", "give the smaller size as from")
    count = int((last.diameter_mm - first.diameter_mm) / table.step + _SAME_MM) + 1
    if count > MOST_TOOLS:
        raise WordError(f"a range of {count} sizes", f"give a step for at most {MOST_TOOLS}")
    is_inch = first.designation.endswith(" in")
    return [_stepped(first, table.step, number, is_inch) for number in range(count)]


def _stepped(first: Drill, step_mm: float, number: int, is_inch: bool) -> Drill:
    """A member of a range, named in the unit in which the range begins."""
    if is_inch:
        inches = _exact((first.diameter_mm + number * step_mm) / float(MM_PER_INCH))
        is_64th = (64 * inches).denominator == 1
        return read_drill(f"{inches} in" if is_64th else f"{float(inches):.4f} in", "inch")
    return read_drill(f"{float(_exact(first.diameter_mm + number * step_mm)):.4f} mm", "mm")


def _exact(value: float) -> Fraction:
    """The short decimal or 64th that a float stands for."""
    return Fraction(value).limit_denominator(10_000)


def _tool(kind: ToolKind, size: Drill, table: CutterTable) -> Cutter:
    lead = REAMER_LEAD_MM if kind == "reamer" else None
    flute = table.flute
    if flute is None and kind == "drill":
        flute = jobber_flute_mm(size.diameter_mm)
    return Cutter(
        kind=kind,
        words=size.designation,
        diameter_mm=size.diameter_mm,
        point_angle_deg=_POINTS_DEG.get(kind) if table.point_angle is None else table.point_angle,
        tip_flat_mm=_tip_flat_mm(kind, table.tip_flat),
        lead_mm=lead if table.lead is None else table.lead,
        flute_mm=flute,
        length_mm=table.length or 0.0,
        is_carbide=table.carbide,
    )


def _tip_flat_mm(kind: ToolKind, given_mm: float | None) -> float:
    """The same in the drawer and in the control's table: it is one tool that stands in both."""
    if given_mm is not None:
        return given_mm
    return SPOT_TIP_FLAT_MM if kind == "spot drill" else 0.0


def _taps(table: TapTable) -> Iterator[Cutter]:
    thread = table.thread
    for lead in _HAND_SET_THREADS if table.lead is None else (table.lead,):
        yield Cutter(
            kind="tap",
            words=thread.designation,
            diameter_mm=thread.major_mm,
            pitch_mm=thread.pitch_mm,
            lead_threads=lead,
            is_left_hand=thread.is_left_hand,
            flute_mm=table.flute,
            length_mm=table.length or 0.0,
            is_carbide=table.carbide,
        )


def table_tool(table: ToolTable) -> Tool:
    """A tool of the control's table. Raises WordError for a size that its kind cannot have."""
    kind, thread, size = table.kind, table.thread, table.diameter
    if kind == "tap" and (thread is None or size is not None):
        raise WordError("a tap has a thread and no diameter", 'give thread = "M6"')
    if kind != "tap" and thread is not None:
        raise WordError(f"a {kind} has no thread", "give its diameter")
    if kind not in ("tap", "boring head") and size is None:
        raise WordError("its diameter is missing", 'give diameter = "5 mm"')
    lead = table.lead or Lead()
    holder = table.holder
    return Tool(
        kind=kind,
        words=thread.designation if thread else size.designation if size else kind,
        diameter_mm=thread.major_mm if thread else size.diameter_mm if size else None,
        point_angle_deg=_POINTS_DEG.get(kind) if table.point_angle is None else table.point_angle,
        tip_flat_mm=_tip_flat_mm(kind, table.tip_flat),
        pitch_mm=thread.pitch_mm if thread else None,
        lead_threads=(lead.threads or _HAND_SET_THREADS[0]) if kind == "tap" else None,
        lead_mm=(lead.length_mm or REAMER_LEAD_MM) if kind == "reamer" else None,
        is_left_hand=thread is not None and thread.is_left_hand,
        flute_mm=table.flute,
        length_mm=table.length,
        reach_mm=table.reach,
        holder_diameter_mm=holder.diameter if holder else None,
        holder_length_mm=holder.length if holder else None,
        number=table.number,
        is_carbide=table.carbide,
    )
