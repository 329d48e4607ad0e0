"""Heads of screws and what is cut for them. Imports the standard library and layer 0.

Socket heads stand in a flat counterbore; countersunk heads lie in a cone of their own angle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from millprep.reference.tables import Row, Source, inches_to_mm, load_table, screw_inches
from millprep.reference.threads import Thread

HeadKind = Literal["socket head", "countersunk"]
HEAD_KINDS: tuple[HeadKind, ...] = ("socket head", "countersunk")
_TABLES: dict[tuple[str, HeadKind], tuple[str, ...]] = {
    ("metric", "socket head"): ("heads-socket-metric",),
    ("metric", "countersunk"): ("heads-countersunk-metric", "heads-countersunk-small"),
    ("inch", "socket head"): ("heads-socket-inch",),
    ("inch", "countersunk"): ("heads-countersunk-inch",),
    ("BA", "countersunk"): ("heads-countersunk-ba",),
    ("Whitworth", "countersunk"): ("heads-countersunk-whitworth",),
}
_FAMILIES = {
    "metric coarse": "metric",
    "metric fine": "metric",
    "UNC": "inch",
    "UNF": "inch",
    "BA": "BA",
    "BSW": "Whitworth",
    "BSF": "Whitworth",
}


@dataclass(frozen=True, slots=True)
class Head:
    """One head.

    screw : the screw in words ("M5 socket head")
    head_diameter_mm, head_height_mm : of the plain head, maximum; of a countersunk head the
            theoretical diameter where its cone would end in a sharp edge
    counterbore_diameter_mm, counterbore_depth_mm : of the recess for a socket head
    angle_deg : of the countersink
    """

    screw: str
    kind: HeadKind
    head_diameter_mm: float
    head_height_mm: float
    counterbore_diameter_mm: float | None
    counterbore_depth_mm: float | None
    angle_deg: float | None
    source: Source


def head_for(thread: Thread, kind: HeadKind) -> Head | None:
    """The head of that kind on a screw of that thread, or None where no table has it.

    Source: ISO 4762 with DIN 974-1, ISO 10642, ISO 7721, ASME B18.3; common practice for BA and
    Whitworth countersunk heads.
    """
    for name in _TABLES.get((_FAMILIES.get(thread.series, ""), kind), ()):
        table = load_table(name)
        for row in table.rows:
            if abs(_screw_mm(row) - thread.major_mm) < 1e-6:
                return _head(f"{thread.name} {kind}", kind, row, table.source)
    return None


def _screw_mm(row: Row) -> float:
    if "major_mm" in row:
        return float(row["major_mm"])
    return inches_to_mm(screw_inches(row["size"]) or 0)


def _head(screw: str, kind: HeadKind, row: Row, source: Source) -> Head:
    diameter_mm, height_mm = _mm(row, "head_diameter"), _mm(row, "head_height")
    assert diameter_mm is not None and height_mm is not None  # columns of every head table
    if kind == "countersunk":
        angle_deg = float(row["angle_deg"])
        return Head(screw, kind, diameter_mm, height_mm, None, None, angle_deg, source)
    bore_mm, depth_mm = _mm(row, "counterbore_diameter"), _mm(row, "counterbore_depth")
    return Head(screw, kind, diameter_mm, height_mm, bore_mm, depth_mm, None, source)


def _mm(row: Row, column: str) -> float | None:
    """The figure of a column that is printed in mm or in inches, there as decimal or fraction."""
    if f"{column}_mm" in row:
        return float(row[f"{column}_mm"])
    cell = row.get(f"{column}_in")
    if cell is None:
        return None
    return inches_to_mm(screw_inches(cell) or 0 if isinstance(cell, str) else cell)
