"""Clearance holes for screws, in three grades. Imports the standard library and layer 0."""

from __future__ import annotations

from typing import Literal, get_args

from millprep.base.records import frozen
from millprep.reference.drills import hole_mm
from millprep.reference.tables import Row, Source, load_table
from millprep.reference.threads import Thread

Grade = Literal["close", "normal", "loose"]
GRADES: tuple[Grade, ...] = get_args(Grade)
_METRIC = ("clearance-metric", "clearance-metric-other")
_INCH = ("clearance-inch", "clearance-inch-other")
_WHITWORTH = ("clearance-whitworth",)
_TABLES: dict[str, tuple[str, ...]] = {
    "metric coarse": _METRIC, "metric fine": _METRIC,
    "UNC": _INCH, "UNF": _INCH, "UNEF": _INCH,
    "BA": ("clearance-ba",),
    "BSW": _WHITWORTH, "BSF": _WHITWORTH, "ME": _WHITWORTH, "BSC": _WHITWORTH,
}  # fmt: skip


@frozen
class Clearance:
    """The three clearance holes of a screw [mm], and the drills that make them, in that order."""

    thread: Thread
    close_mm: float
    normal_mm: float
    loose_mm: float
    drills: tuple[str, str, str]
    source: Source

    def hole(self, grade: Grade) -> tuple[str, float]:
        """Designation of the drill and diameter [mm] for a grade."""
        sizes_mm = (self.close_mm, self.normal_mm, self.loose_mm)
        place = GRADES.index(grade)
        return self.drills[place], sizes_mm[place]


def clearance_for(thread: Thread) -> Clearance | None:
    """The clearance holes of a thread; None where no table has it (pipe threads, odd sizes).

    Source: ISO 273, ASME B18.2.8; common practice for sizes they leave out, BA and Whitworth.
    """
    for name in _TABLES.get(thread.series, ()):
        table = load_table(name)
        for row in table.rows:
            if _is_for(row, thread):
                drills = (row["close"], row["normal"], row["loose"])
                close_mm, normal_mm, loose_mm = (hole_mm(words) for words in drills)
                return Clearance(thread, close_mm, normal_mm, loose_mm, drills, table.source)
    return None


def _is_for(row: Row, thread: Thread) -> bool:
    if "major_mm" in row:
        return float(row["major_mm"]) == thread.major_mm
    if "number" in row:
        return f"{row['number']}BA" == thread.name
    return thread.name.startswith((f"{row['size']}-", f"{row['size']} ", f"{row['size']}x"))
