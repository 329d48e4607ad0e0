"""What a dry run's programs make: the holes, alike ones together where there are many, and what is
milled. Imports `layout` and, for their shapes, what `reading` makes.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from millprep.base.units import Units, format_length
from millprep.report.layout import Table

if TYPE_CHECKING:
    from millprep.reading.made import MadeHole, MadeOperation
    from millprep.reading.milled_rooms import MilledRoom

MOST_ROWS = 12  # more are told together: of one tool and depth
MOST_GROUPS = 40
_MOST_NUMBERS = 3  # stretches of them
_STEP = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}
_SAME_MM = 3  # decimals in which depths and sizes are one


def holes_table(holes: Sequence[MadeHole], units: Units) -> Table:
    """Where each hole is, how wide, how deep, by what; of more than a dozen a row for those of the
    same tools and depth."""
    if not holes:
        return Table("HOLES   none")
    if len(holes) > MOST_ROWS:
        return _groups_table(holes, units)
    rows = [
        (
            str(number),
            shown(hole.x_mm, units),
            shown(hole.y_mm, units),
            _size(hole.diameter_mm, units),
            shown(hole.bottom_mm, units),
            ", ".join(_steps(hole, units)),
        )
        for number, hole in enumerate(holes, 1)
    ]
    heads = ("no.", f"X {units}", f"Y {units}", "diameter", "tip at Z", "operations")
    return Table(f"HOLES   {len(holes)}", heads, tuple(rows))


def _groups_table(holes: Sequence[MadeHole], units: Units) -> Table:
    groups: dict[tuple[object, ...], list[tuple[int, MadeHole]]] = {}
    for number, hole in enumerate(holes, 1):
        groups.setdefault(_likeness(hole), []).append((number, hole))
    rows = tuple(_group_row(group, units) for group in groups.values())
    title = f"HOLES   {len(holes)}, of the same tools and depth together (--format json has each)"
    more = f"and {len(rows) - MOST_GROUPS} more kinds" if len(rows) > MOST_GROUPS else ""
    heads = ("holes", "diameter", "tip at Z", f"operations, and where [{units}]")
    return Table(title, heads, rows[:MOST_GROUPS], more)


def _likeness(hole: MadeHole) -> tuple[object, ...]:
    steps = tuple(
        (one.tool_number, one.name, one.diameter_mm, one.cone_mm and round(one.cone_mm, _SAME_MM))
        for one in hole.operations
    )
    return steps, round(hole.bottom_mm, _SAME_MM)


def _group_row(group: Sequence[tuple[int, MadeHole]], units: Units) -> tuple[str, ...]:
    numbers, holes = zip(*group, strict=True)
    first: MadeHole = holes[0]
    steps = [
        (f"T{one.tool_number} " if one.tool_number else "") + words
        for one, words in zip(first.operations, _steps(first, units), strict=True)
    ]
    places = ", ".join(
        f"{axis.upper()} {_span([getattr(hole, f'{axis}_mm') for hole in holes], units)}"
        for axis in "xy"
    )
    return (
        str(len(group)),
        _size(first.diameter_mm, units),
        shown(first.bottom_mm, units),
        f"{', '.join(steps)}: {places} (no. {_numbers(numbers)})",
    )


def _numbers(numbers: Sequence[int]) -> str:
    """ "1 to 4, 9"; of many stretches the first."""
    breaks = [n for n, (one, two) in enumerate(pairwise(numbers), 1) if two != one + 1]
    ends = [0, *breaks, len(numbers)]
    stretches = [numbers[a:b] for a, b in pairwise(ends)]
    told = [f"{one[0]} to {one[-1]}" if len(one) > 1 else str(one[0]) for one in stretches]
    return ", ".join(told[:_MOST_NUMBERS]) + (", ..." if len(told) > _MOST_NUMBERS else "")


def _steps(hole: MadeHole, units: Units) -> list[str]:
    """Each operation with its size; a cone's is that at the top."""
    steps = []
    for one in hole.operations:
        name = milled_name(one)
        size = one.diameter_mm if one.cone_mm is None else one.cone_mm
        steps.append(name if size is None else f"{name} {shown(size, units)}")
    return steps


def milled_name(operation: MadeOperation) -> str:
    """What it is called: what an end mill goes round in first is a bore."""
    if operation.milling != "circle":
        return operation.name
    return f"milled {'bore' if operation.name == 'drill' else operation.name}"


# what is milled


def milled_table(rooms: Sequence[tuple[str, MilledRoom]], units: Units) -> Table | None:
    """Pockets, slots and profiles: how far each goes, how deep, and how wide its narrowest cut is;
    of more than a dozen a row for those of one tool and depth. None where nothing is milled.

    rooms : (file, what is milled); the file is empty where there is only one
    """
    if not rooms:
        return None
    groups: dict[tuple[object, ...], list[tuple[str, MilledRoom]]] = {}
    for place, (file, room) in enumerate(rooms):
        alike = (file, room.tool, round(room.low_mm[2], _SAME_MM), round(room.width_mm, _SAME_MM))
        groups.setdefault(alike if len(rooms) > MOST_ROWS else (place,), []).append((file, room))
    rows = tuple(_milled_row(group, units) for group in groups.values())
    title = f"MILLED  {len(rooms)}"
    if len(rows) < len(rooms):
        title += ", of one tool and depth together (--format json has each)"
    more = f"and {len(rows) - MOST_GROUPS} more" if len(rows) > MOST_GROUPS else ""
    heads = ("down to Z", "least depth", "width", f"from where to where [{units}]")
    return Table(title, heads, rows[:MOST_GROUPS], more)


def _milled_row(group: Sequence[tuple[str, MilledRoom]], units: Units) -> tuple[str, ...]:
    rooms, file = [room for _, room in group], group[0][0]
    spans = []
    for axis, letter in enumerate("XY"):
        ends = [end[axis] for room in rooms for end in (room.low_mm, room.high_mm)]
        spans.append(f"{letter} {_span(ends, units)}")
    first, last = min(room.line for room in rooms), max(room.last_line for room in rooms)
    lines = f"line {first}" + (f" to {last}" if last != first else "")
    count = f"{len(group)} places, " if len(group) > 1 else ""
    tool, width = rooms[0].tool, min(room.width_mm for room in rooms)
    by = f"T{tool}" if tool else "tool not named"
    of_what = "" if width else ", of the tool's axis"
    return (
        shown(min(room.low_mm[2] for room in rooms), units),
        shown(max(room.shallowest_mm for room in rooms), units),
        shown(width, units) if width else "unknown",
        f"{count}{', '.join(spans)}{of_what}: {file + ' ' if file else ''}{lines}, {by}",
    )


def milled_json(rooms: Sequence[tuple[str, MilledRoom]]) -> list[dict[str, Any]]:
    """A row a room; what is not known is null."""
    return [
        {
            **{
                f"{axis}_mm": [figure(end) for end in ends]
                for axis, *ends in zip("xyz", room.low_mm, room.high_mm, strict=True)
            },
            "least_depth_z_mm": figure(room.shallowest_mm),
            "width_mm": figure(room.width_mm or None),
            "tool_number": room.tool,
            "line": room.line,
            "last_line": room.last_line,
            "file": file,
        }
        for file, room in rooms
    ]


def hole_json(hole: MadeHole) -> dict[str, Any]:
    """A hole with the operations that make it."""
    return {
        "x_mm": figure(hole.x_mm),
        "y_mm": figure(hole.y_mm),
        "diameter_mm": figure(hole.diameter_mm),
        "bottom_mm": figure(hole.bottom_mm),
        "operations": [operation.name for operation in hole.operations],
        "steps": [
            {
                "operation": operation.name,
                "diameter_mm": figure(operation.diameter_mm),
                "z_mm": figure(operation.tip_mm),
                "cone_mm": figure(operation.cone_mm),
                "milled": operation.milling == "circle",
                "tool_number": operation.tool_number,
                "line": operation.line,
                "file": operation.file,
            }
            for operation in hole.operations
        ],
    }


def figure(value: float | None) -> float | None:
    """Binary dust removed: 2.8 - 3 is -0.2; None for what is not known."""
    return None if value is None or value != value else round(value, 9) + 0.0


def shown(value_mm: float, units: Units) -> str:
    """A length as the report has it, without its unit."""
    return format_length(value_mm, _STEP[units], units)


def _size(diameter_mm: float | None, units: Units) -> str:
    return "unknown" if diameter_mm is None else shown(diameter_mm, units)


def _span(values_mm: Sequence[float], units: Units) -> str:
    low, high = (shown(end, units) for end in (min(values_mm), max(values_mm)))
    return low if low == high else f"{low} to {high}"
