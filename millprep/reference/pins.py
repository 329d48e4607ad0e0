"""Pins that are bought, grub screws and taper pipe threads: what a drill is chosen by.

Imports the standard library, layer 0 and the tables of this room.
"""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.reference.drills import SAME_SIZE_MM, hole_mm
from millprep.reference.tables import Source, figure_mm, inches_to_mm, load_table, major_mm
from millprep.reference.threads import FORMS, Thread

TAPER_METRIC, TAPER_INCH = 1 / 50, 1 / 48
"""On diameter. Source: ISO 2339; ASME B18.8.2 (1/4 in a foot)."""
_PIPE_TAPER = 1 / 16  # on diameter; source: ISO 7-1, ASME B1.20.1


@frozen
class InchDowel:
    """A hardened dowel pin: least and greatest diameter [mm]."""

    size: str
    least_mm: float
    greatest_mm: float
    source: Source


@frozen
class TaperPin:
    """A taper pin of a length: both ends and the taper on diameter [mm].

    designation : "taper pin 4 x 30", "taper pin no. 2 x 1 1/4 in"
    """

    designation: str
    length_mm: float
    small_mm: float
    large_mm: float
    taper: float
    source: Source


@frozen
class SpringPin:
    """A slotted spring pin ("roll pin"): its hole, its diameter before fitting, its wall [mm]."""

    hole_mm: float
    free_least_mm: float
    free_greatest_mm: float
    wall_mm: float
    source: Source


@frozen
class Grub:
    """A hexagon socket set screw: its key and the greatest diameter of a flat point [mm]."""

    thread: Thread
    key_mm: float
    point_mm: float | None
    source: Source


@frozen
class PipeThread:
    """A taper pipe thread, which no parallel one seals in.

    large_mm, core_mm : major diameter at the gauge plane (BSPT) or of the pipe (NPT), and the core
    at the small end, by the standard's formulas
    """

    designation: str
    large_mm: float
    pitch_mm: float
    core_mm: float
    tap_drill: str
    tap_drill_mm: float
    angle_deg: float
    source: Source


def inch_dowels() -> tuple[InchDowel, ...]:
    """Every inch dowel, ascending. Source: ASME B18.8.2."""
    table = load_table("pins-dowel-inch")
    return tuple(
        InchDowel(row["size"], _mm(row, "least"), _mm(row, "greatest"), table.source)
        for row in table.rows
    )


def spring_pins() -> tuple[SpringPin, ...]:
    """Every slotted spring pin, ascending. Source: ISO 8752."""
    table = load_table("pins-spring")
    return tuple(
        SpringPin(
            hole_mm=_mm(row, "diameter"),
            free_least_mm=_mm(row, "free_least"),
            free_greatest_mm=_mm(row, "free_greatest"),
            wall_mm=_mm(row, "wall"),
            source=table.source,
        )
        for row in table.rows
    )


def taper_pin_sizes() -> tuple[float, ...]:
    """The sizes of metric taper pins: their small ends [mm]. Source: ISO 2339."""
    return tuple(float(row["diameter_mm"]) for row in load_table("pins-taper").rows)


def taper_pin_numbers() -> tuple[str, ...]:
    """The numbers of inch taper pins, ascending in size. Source: ASME B18.8.2."""
    return tuple(row["number"] for row in load_table("pins-taper-inch").rows)


def taper_pin(size_mm: float, length_mm: float) -> TaperPin | None:
    """The metric pin of a small end and a length [mm]; None where that size is not listed."""
    table = load_table("pins-taper")
    for row in table.rows:
        small_mm = float(row["diameter_mm"])
        if abs(small_mm - size_mm) < SAME_SIZE_MM:
            large_mm = small_mm + length_mm * TAPER_METRIC
            name = f"taper pin {small_mm:g} x {length_mm:g}"
            return TaperPin(name, length_mm, small_mm, large_mm, TAPER_METRIC, table.source)
    return None


def inch_taper_pin(number: str, length_mm: float) -> TaperPin | None:
    """The inch pin of a number and a length [mm]; None where there is no such number."""
    table = load_table("pins-taper-inch")
    for row in table.rows:
        if row["number"] == number:
            large_mm = _mm(row, "large")
            small_mm = large_mm - length_mm * TAPER_INCH
            name = f"taper pin no. {number} x {length_mm / 25.4:g} in"
            return TaperPin(name, length_mm, small_mm, large_mm, TAPER_INCH, table.source)
    return None


def grub_for(thread: Thread) -> Grub | None:
    """The grub screw of a thread, or None where no table has it. Source: ISO 4026, ASME B18.3."""
    name = {"metric coarse": "grubs-metric", "UNC": "grubs-inch", "UNF": "grubs-inch"}.get(
        thread.series
    )
    table = load_table(name) if name else None
    for row in table.rows if table else ():
        if abs(major_mm(row) - thread.major_mm) < SAME_SIZE_MM:
            assert table is not None
            return Grub(thread, _mm(row, "key"), figure_mm(row, "point"), table.source)
    return None


def pipe_threads() -> tuple[PipeThread, ...]:
    """NPT and BSPT, ascending in each.

    Source: ASME B1.20.1 (E0 = D - (0.05 D + 1.1) p, thread 0.8 p deep a side; p the pitch) and
    ISO 7-1 (the Whitworth form, the gauge plane a gauge length from the small end).
    """
    npt, bspt = load_table("pipes-npt"), load_table("pipes-bspt")
    found = []
    for row in npt.rows:
        pitch_mm, pipe_mm = inches_to_mm(1 / row["threads_per_inch"]), _mm(row, "outside")
        core_mm = pipe_mm - 0.05 * pipe_mm * pitch_mm / 25.4 - (1.1 + 0.8) * pitch_mm
        found.append((f"{row['size']} NPT", pipe_mm, pitch_mm, core_mm, 60.0, row, npt.source))
    for row in bspt.rows:
        pitch_mm, major = inches_to_mm(1 / row["threads_per_inch"]), float(row["major_mm"])
        core_mm = major - FORMS["BSW"].full_height * pitch_mm
        core_mm -= float(row["gauge_mm"]) * _PIPE_TAPER
        found.append((f"{row['size']} BSPT", major, pitch_mm, core_mm, 55.0, row, bspt.source))
    return tuple(
        PipeThread(name, large, pitch, core, row["tap_drill"], hole_mm(row["tap_drill"]), angle, by)
        for name, large, pitch, core, angle, row, by in found
    )


def _mm(row: dict[str, object], column: str) -> float:
    value_mm = figure_mm(row, column)
    assert value_mm is not None  # the tests hold every row of these columns
    return value_mm
