"""What the trade adds to a depth that the part gives, in figures of this side's own.

And which drill of a hole is the last one. Imports the part and `reading`.
"""

from __future__ import annotations

from collections.abc import Sequence

from millprep.reading.pages.printed import PrintedRow, PrintedTool
from millprep.witness.expected import Expected
from millprep.witness.leavings import DIAMETER_TOLERANCE_MM


def last_drill(expected: Expected, rows: Sequence[PrintedRow]) -> PrintedRow | None:
    """The drill that the finish follows, or the finish itself; None where there is none."""
    hole = expected.hole
    opened = [need.diameter_mm for need in expected.needs if need.name == "drill"]
    drills = [row for row in rows if row.tool.kind == "drill"]
    if hole.kind.is_as_drilled:
        drills = [row for row in drills if is_one_of(row.tool, [hole.diameter_mm])]
    else:
        drills = [row for row in drills if not is_one_of(row.tool, opened)]
    return max(drills, key=lambda row: row.tool.diameter_mm, default=None)


def is_one_of(tool: PrintedTool, diameters_mm: Sequence[float]) -> bool:
    """Whether the tool has one of these diameters."""
    return any(abs(tool.diameter_mm - one) <= DIAMETER_TOLERANCE_MM for one in diameters_mm)
