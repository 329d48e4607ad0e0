"""Heads of screws and what is cut for them. Imports the standard library and layer 0.

Socket heads stand in a flat counterbore; countersunk heads lie in a cone of their own angle;
button, pan, cheese and hexagon heads stand on the face.
"""

from __future__ import annotations

import math
from typing import Literal, get_args

from millprep.base.records import frozen
from millprep.reference.drills import SAME_SIZE_MM
from millprep.reference.tables import Row, Source, figure_mm, given_mm, load_table, major_mm
from millprep.reference.threads import Thread

HeadKind = Literal[
    "socket head",
    "button head",
    "countersunk",
    "slotted countersunk",
    "pan head",
    "cheese head",
    "hexagon head",
]
HEAD_KINDS: tuple[HeadKind, ...] = get_args(HeadKind)
_TABLES: dict[tuple[str, HeadKind], tuple[str, ...]] = {
    ("metric", "socket head"): ("heads-socket-metric",),
    ("metric", "button head"): ("heads-button-metric",),
    ("metric", "countersunk"): ("heads-countersunk-metric", "heads-countersunk-slotted"),
    ("metric", "slotted countersunk"): ("heads-countersunk-slotted",),
    ("metric", "pan head"): ("heads-pan-metric",),
    ("metric", "cheese head"): ("heads-cheese-metric",),
    ("metric", "hexagon head"): ("heads-hexagon-metric",),
    ("inch", "socket head"): ("heads-socket-inch",),
    ("inch", "button head"): ("heads-button-inch",),
    ("inch", "countersunk"): ("heads-countersunk-inch", "heads-countersunk-slotted-inch"),
    ("inch", "slotted countersunk"): ("heads-countersunk-slotted-inch",),
    ("inch", "pan head"): ("heads-pan-inch",),
    ("inch", "hexagon head"): ("heads-hexagon-inch",),
    ("BA", "countersunk"): ("heads-countersunk-ba",),
    ("BA", "cheese head"): ("heads-cheese-ba",),
    ("BA", "hexagon head"): ("heads-hexagon-ba",),
    ("Whitworth", "countersunk"): ("heads-countersunk-whitworth",),
}
_FAMILIES = {
    "metric coarse": "metric", "metric fine": "metric", "UNC": "inch", "UNF": "inch", "BA": "BA",
    "BSW": "Whitworth", "BSF": "Whitworth",
}  # fmt: skip
_NUTS = {
    "metric coarse": "nuts-metric", "metric fine": "nuts-metric", "UNC": "nuts-inch",
    "UNF": "nuts-inch", "BA": "nuts-ba", "BSW": "nuts-bsw", "BSF": "nuts-bsf",
}  # fmt: skip
_ACROSS_CORNERS = 2 / math.sqrt(3)  # of a hexagon with sharp corners, in widths across flats


@frozen
class Head:
    """One head.

    screw : the screw in words ("M5 socket head")
    head_diameter_mm, head_height_mm : of the plain head, maximum; of a countersunk head the
            theoretical diameter where its cone would end in a sharp edge; of a hexagon across
            sharp corners
    counterbore_diameter_mm, counterbore_depth_mm : of the recess for a socket head
    angle_deg : of the countersink
    across_flats_mm : of a hexagon
    key_mm : of a hexagon socket
    """

    screw: str
    kind: HeadKind
    head_diameter_mm: float
    head_height_mm: float
    counterbore_diameter_mm: float | None
    counterbore_depth_mm: float | None
    angle_deg: float | None
    source: Source
    across_flats_mm: float | None = None
    key_mm: float | None = None


@frozen
class Nut:
    """A hexagon nut: across flats and sharp corners, height where the table has one [mm]."""

    thread: Thread
    across_flats_mm: float
    across_corners_mm: float
    height_mm: float | None
    source: Source


@frozen
class Washer:
    """A plain washer: hole, outside and thickness [mm]."""

    thread: Thread
    hole_mm: float
    outside_mm: float
    thickness_mm: float
    source: Source


def head_for(thread: Thread, kind: HeadKind) -> Head | None:
    """The head of that kind on a screw of that thread, or None where no table has it.

    Source: ISO 4762 with DIN 974-1, ISO 7380-1, ISO 10642, ISO 7721, ISO 7045, ISO 1207, ISO 4014,
    ASME B18.3, B18.6.3, B18.2.1, BS 57; common practice for BA and Whitworth countersunk heads.
    """
    for name in _TABLES.get((_family(thread), kind), ()):
        row = _row(name, thread)
        if row is not None:
            return _head(f"{thread.name} {kind}", kind, row, load_table(name).source)
    return None


def nut_for(thread: Thread) -> Nut | None:
    """The usual hexagon nut of a thread, or None where no table has it.

    Source: ISO 4032, ASME B18.2.2, BS 57, BS 190, BS 1083.
    """
    name = _NUTS.get(thread.series)
    row = _row(name, thread) if name else None
    if name is None or row is None:
        return None
    flats_mm = given_mm(row, "across_flats")
    source = load_table(name).source
    return Nut(thread, flats_mm, flats_mm * _ACROSS_CORNERS, figure_mm(row, "height"), source)


def washer_for(thread: Thread) -> Washer | None:
    """The plain washer for a screw, or None where no table has it.

    Source: ISO 7089; ASME B18.21.1, type A, narrow.
    """
    name = {"metric": "washers-metric", "inch": "washers-inch"}.get(_family(thread))
    row = _row(name, thread) if name else None
    if name is None or row is None:
        return None
    hole_mm, outside_mm, thickness_mm = (
        given_mm(row, column) for column in ("hole", "outside", "thickness")
    )
    return Washer(thread, hole_mm, outside_mm, thickness_mm, load_table(name).source)


def _family(thread: Thread) -> str:
    return _FAMILIES.get(thread.series, "")


def _row(name: str, thread: Thread) -> Row | None:
    """The row of a table that is for that thread's size."""
    for row in load_table(name).rows:
        if "number" in row and f"{row['number']}BA" == thread.name:
            return row
        if "number" not in row and abs(major_mm(row) - thread.major_mm) < SAME_SIZE_MM:
            return row
    return None


def _head(screw: str, kind: HeadKind, row: Row, source: Source) -> Head:
    flats_mm = figure_mm(row, "across_flats")
    diameter_mm = given_mm(row, "head_diameter") if flats_mm is None else flats_mm * _ACROSS_CORNERS
    angle = row.get("angle_deg")
    return Head(
        screw=screw,
        kind=kind,
        head_diameter_mm=diameter_mm,
        head_height_mm=given_mm(row, "head_height"),
        counterbore_diameter_mm=figure_mm(row, "counterbore_diameter"),
        counterbore_depth_mm=figure_mm(row, "counterbore_depth"),
        angle_deg=None if angle is None else float(angle),
        source=source,
        across_flats_mm=flats_mm,
        key_mm=figure_mm(row, "key"),
    )
