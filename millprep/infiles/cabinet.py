"""Tools of a shop file: single sizes, ranges of sizes and taps, as `Tool`.

What contradicts itself is noted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Any

from millprep.base.bounds import MOST_TOOLS
from millprep.base.findings import WordError
from millprep.base.units import MM_PER_INCH
from millprep.infiles.faults import Faults
from millprep.infiles.positions import Path
from millprep.infiles.shop_schema import InstrumentsTable
from millprep.infiles.tool_schema import (
    BoringHeadTable,
    CutterTable,
    DrawerTable,
    Lead,
    TapTable,
    ToolTable,
)
from millprep.model import tools
from millprep.model.shop import BoringRange, Cabinet
from millprep.reference.cutters import usual_nose_mm
from millprep.reference.drills import Drill as Size
from millprep.reference.drills import drill_length_mm, drills
from millprep.reference.threads import Thread
from millprep.sizes import read_drill

_HAND_SET_THREADS = (4.0, 2.0)  # a bare thread stands for a second (plug) and a bottoming tap
_SAME_MM = 1e-6

_LISTS: dict[str, type[tools.Cutter]] = {
    "drills": tools.Drill,
    "reamers": tools.Reamer,
    "spot_drills": tools.SpotDrill,
    "countersinks": tools.Countersink,
    "counterbores": tools.Counterbore,
    "end_mills": tools.EndMill,
    "transfer_punches": tools.Drill,
}


def read_cabinet(faults: Faults, table: DrawerTable) -> Cabinet:
    """The drawer, each list ascending in diameter and without doubles."""
    lists: dict[str, Any] = {
        name: _ascending(_tools(faults, getattr(table, name), kind, ("drawer", name)))
        for name, kind in _LISTS.items()
    }
    taps = sorted(dict.fromkeys(tap for each in table.taps for tap in _taps(each)), key=_by_size)
    if table.pilot_from is not None:
        lists["pilot_from_mm"] = table.pilot_from
    return Cabinet(taps=tuple(taps), boring_head=_boring_head(faults, table.boring_head), **lists)


def _boring_head(faults: Faults, table: BoringHeadTable | None) -> BoringRange | None:
    """None where the drawer has none."""
    if table is None:
        return None
    low, high = table.from_, table.to
    if low is None or high is None or low >= high:
        faults.add(
            "missing-key" if None in (low, high) else "contradiction",
            ("drawer", "boring_head"),
            "boring_head: from and to are the least and the largest bore that it reaches",
            'write boring_head = { from = 10, to = 60, dial = "diameter" }, or "none"',
        )
        return None
    return BoringRange(low, high, table.dial, table.stops)


def _by_size(tap: tools.Tap) -> tuple[float, float]:
    """Of one size the longest lead first."""
    return tap.diameter_mm, -tap.lead_threads


def read_pins(faults: Faults, table: InstrumentsTable) -> tuple[tools.Cutter, ...]:
    """The gauge pins, ascending and without doubles."""
    return _ascending(_tools(faults, table.pins, tools.Drill, ("instruments", "pins")))


def _ascending(found: Iterable[tools.Cutter]) -> tuple[tools.Cutter, ...]:
    return tuple(sorted(dict.fromkeys(found), key=lambda tool: tool.diameter_mm))


def _tools(
    faults: Faults, tables: tuple[CutterTable, ...], kind: type[tools.Cutter], path: Path
) -> Iterator[tools.Cutter]:
    count = 0
    for index, table in enumerate(tables):
        try:
            _refuse_another_end(kind, table)
            sizes = _sizes(table)
            count += len(sizes)
            if count > MOST_TOOLS:
                raise WordError("one too many", f"at most {MOST_TOOLS:,} in a list")
        except WordError as error:
            message = f"{path[-1]}: entry {index + 1} is {error.message}"
            faults.add("contradiction", (*path, index), message, error.remedy)
            if count > MOST_TOOLS:
                return
            continue
        for size in sizes:
            yield _tool(kind, size, table)


def _sizes(table: CutterTable) -> list[Size]:
    """The one size of an entry, or all sizes of its range."""
    first, last, one = table.from_, table.to, table.diameter or table.size
    if one is not None and first is None and last is None and table.step is None:
        return [one]
    if one is not None or first is None or last is None:
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


@lru_cache(maxsize=4096)  # a drawer's ranges are read again with every sheet of the desk
def _stepped(first: Size, step_mm: float, number: int, is_inch: bool) -> Size:
    """A member of a range, named in the unit in which the range begins."""
    if is_inch:
        inches = _exact((first.diameter_mm + number * step_mm) / float(MM_PER_INCH))
        is_64th = (64 * inches).denominator == 1
        return read_drill(f"{inches} in" if is_64th else f"{float(inches):.4f} in", "inch")
    return read_drill(f"{float(_exact(first.diameter_mm + number * step_mm)):.4f} mm", "mm")


def _exact(value: float) -> Fraction:
    """The short decimal or 64th that a float stands for."""
    return Fraction(value).limit_denominator(10_000)


def _tool(kind: type[tools.Cutter], size: Size, table: CutterTable) -> tools.Cutter:
    made = table.fields_of(kind)
    if kind is tools.Drill:
        made.setdefault("flute_mm", drill_length_mm("jobber", "flute", size.diameter_mm))
    if table.type == "hand":
        return tools.Reamer(**{**made, **_hand_reamer(size, table)}, is_carbide=table.carbide)
    if table.centre_cutting is not None:
        made["is_centre_cutting"] = table.centre_cutting
    made |= _end(kind, size.diameter_mm, table.point_angle, table.tip_flat, table.lead)
    made |= {"words": size.designation, "diameter_mm": size.diameter_mm}
    return kind(**made, is_carbide=table.carbide)


def _hand_reamer(size: Size, table: CutterTable) -> dict[str, Any]:
    """Its taper in front as usual where it is not given."""
    usual_mm = tools.HAND_LEAD_DIAMETERS * size.diameter_mm
    if table.flute is not None:
        usual_mm = tools.HAND_LEAD_FLUTE_SHARE * table.flute
    return {
        "words": size.designation,
        "diameter_mm": size.diameter_mm,
        "lead_mm": table.lead or usual_mm,
        "is_hand": True,
    }


def _end(
    kind: type[tools.Cutter],
    diameter_mm: float,
    point_deg: float | None,
    flat_mm: float | None,
    lead_mm: float | None,
) -> dict[str, Any]:
    """Point, flat or lead of a kind that has it, as usual where they are not given.

    The same in the drawer and in the control's table: it is one tool that stands in both.
    """
    if issubclass(kind, tools.PointedTool):
        angle_deg = kind.usual_point_deg if point_deg is None else point_deg
        usual_mm = tools.SPOT_TIP_FLAT_MM if kind is tools.SpotDrill else None
        if kind is tools.Countersink:
            usual_mm = usual_nose_mm(diameter_mm, angle_deg)
        flat_mm = usual_mm if flat_mm is None else flat_mm
        nose = {"is_nose_known": flat_mm is not None} if kind is tools.Countersink else {}
        return {"point_angle_deg": angle_deg, "tip_flat_mm": flat_mm or 0.0, **nose}
    return {"lead_mm": lead_mm or tools.REAMER_LEAD_MM} if issubclass(kind, tools.Reamer) else {}


def _refuse_another_end(kind: type[tools.Tool], table: CutterTable | ToolTable) -> None:
    """Raises WordError for what such a tool does not have: a point, a flat, a lead, teeth."""
    has = {"point_angle", "tip_flat"} if issubclass(kind, tools.PointedTool) else set()
    if issubclass(kind, tools.Reamer | tools.Tap):
        has = {"lead", "type"}
    if kind is tools.EndMill:
        has = {"teeth", "centre_cutting"}
    for name in ("point_angle", "tip_flat", "lead", "type", "teeth", "centre_cutting"):
        if getattr(table, name, None) is not None and name not in has:
            article = "an" if kind.kind[0] in "aeiou" else "a"
            raise WordError(
                f"{article} {kind.kind} with a {name}", f"it has none: leave {name} out"
            )


def _taps(table: TapTable) -> Iterator[tools.Tap]:
    for lead in _HAND_SET_THREADS if table.lead is None else (table.lead,):
        yield _tap(table.thread, lead, table)


def _tap(thread: Thread, lead: float, table: TapTable | ToolTable, **mount: Any) -> tools.Tap:
    return tools.Tap(
        **table.fields_of(tools.Tool),
        words=thread.designation,
        diameter_mm=thread.major_mm,
        pitch_mm=thread.pitch_mm,
        lead_threads=lead,
        is_left_hand=thread.is_left_hand,
        is_carbide=table.carbide,
        **mount,
    )


def table_tool(table: ToolTable) -> tools.Tool:
    """A tool of the control's table. Raises WordError for a size that its kind cannot have."""
    kind, thread, size = tools.TOOLS[table.kind], table.thread, table.diameter
    if kind is tools.Tap and (thread is None or size is not None):
        raise WordError("a tap has a thread and no diameter", 'give thread = "M6"')
    if kind is not tools.Tap and thread is not None:
        raise WordError(f"a {kind.kind} has no thread", "give its diameter")
    if kind not in (tools.Tap, tools.BoringHead) and size is None:
        raise WordError("its diameter is missing", 'give diameter = "5 mm"')
    _refuse_another_end(kind, table)
    lead = table.lead or Lead()
    mount = table.holder.fields_of(tools.Tool, "holder_") if table.holder is not None else {}
    if thread is not None:
        return _tap(thread, lead.threads or _HAND_SET_THREADS[0], table, **mount)
    mount |= {**table.fields_of(tools.Tool), "is_carbide": table.carbide}
    if size is None:
        return tools.UnsetBoringHead(**{**mount, "words": kind.kind, "diameter_mm": None})
    mount |= {"words": size.designation, "diameter_mm": size.diameter_mm}
    end = _end(kind, size.diameter_mm, table.point_angle, table.tip_flat, lead.length_mm)
    return kind(**mount, **end)
