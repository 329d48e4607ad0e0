"""Limits of the minor diameter of nuts: how wide a tapped hole's core may be and still be in class.

A tapping drill inside them makes a thread that a gauge passes; one above them makes a thread that
still holds, but is out of class. Imports the standard library and layer 0.
"""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.reference.drills import SAME_SIZE_MM
from millprep.reference.tables import Row, Source, load_table
from millprep.reference.threads import Thread


@frozen
class MinorLimits:
    """Least and greatest minor diameter [mm] of an internal thread of a class ("6H", "2B")."""

    class_name: str
    least_mm: float
    greatest_mm: float
    source: Source

    def holds(self, hole_mm: float) -> bool:
        """Whether a hole of that diameter lies inside."""
        return self.least_mm - SAME_SIZE_MM <= hole_mm <= self.greatest_mm + SAME_SIZE_MM


def minor_limits(thread: Thread) -> MinorLimits | None:
    """Limits of the usual class: 6H (5H for the finest), 2B, or ISO 228; None for other forms.

    Source: ISO 965-1, ASME B1.1, ISO 228-1.
    """
    if thread.series.startswith("metric"):
        return _metric(thread)
    if thread.series.startswith("UN"):
        return _unified(thread)
    return _pipe(thread) if thread.series == "G" else None


def _metric(thread: Thread) -> MinorLimits | None:
    """None for a pitch that the standard does not list."""
    table = load_table("limits-minor-metric")
    rows: list[Row] = [each for each in table.rows if float(each["pitch_mm"]) == thread.pitch_mm]
    if not rows:
        return None
    row = rows[0]
    grade = "6" if row["grade_6_um"] != "" else "5"
    least_mm = round(thread.basic_minor_mm, 3)
    greatest_mm = round(least_mm + float(row[f"grade_{grade}_um"]) / 1000, 3)
    return MinorLimits(f"{grade}H", least_mm, greatest_mm, table.source)


def _unified(thread: Thread) -> MinorLimits:
    """Class 2B, in inches: one formula below 1/4 in, held between two bounds, one from there on."""
    table = load_table("limits-minor-unified")
    c = {row["term"]: float(row["coefficient"]) for row in table.rows}
    pitch, major = thread.pitch_mm / 25.4, thread.major_mm / 25.4
    tolerance = least = c["pitch"] * pitch - c["pitch squared"] * pitch**2
    if major < 0.25:
        small = c["pitch to 2/3"] * pitch ** (2 / 3) + c["pitch over diameter"] * pitch / major
        tolerance = min(max(small - c["constant"], least), c["most, in pitches"] * pitch)
    least_mm = thread.basic_minor_mm
    return MinorLimits("2B", least_mm, least_mm + tolerance * 25.4, table.source)


def _pipe(thread: Thread) -> MinorLimits:
    table = load_table("limits-minor-g")
    row = next(each for each in table.rows if each["threads_per_inch"] == thread.threads_per_inch)
    least_mm = round(thread.basic_minor_mm, 3)
    greatest_mm = round(least_mm + float(row["tolerance_mm"]), 3)
    return MinorLimits("ISO 228", least_mm, greatest_mm, table.source)
