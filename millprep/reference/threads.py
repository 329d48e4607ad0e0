"""Screw threads and the drill before the tap.

Canonical designations: "M6", "M6x0.75", "1/4-20 UNC", "#10-32 UNF", "1/4 BSW", "1/4 BSF", "2BA",
"1/4x40 ME", "1/4x26 BSC", "G1/4"; a left-hand one ends in " left hand". Imports the standard
library and layer 0.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import cache, cached_property
from typing import Literal, get_args

from millprep.base.records import anew, frozen, replace
from millprep.reference.drills import hole_mm, metric_words
from millprep.reference.tables import Row, Source, inches_to_mm, load_table, major_mm

ThreadSeries = Literal[
    "metric coarse", "metric fine", "UNC", "UNF", "UNEF", "BSW", "BSF", "BA", "ME", "BSC", "G"
]
THREAD_SERIES: tuple[ThreadSeries, ...] = get_args(ThreadSeries)
Convention = Literal["1.2269", "1.299", "1.0825", "full form"]
CONVENTIONS: dict[Convention, str] = {
    "1.2269": "height 1.2269 P on diameter, the external thread's depth, British model texts",
    "1.299": "height 1.299 P, the American tapping-drill tables",
    "1.0825": "height 1.0825 P, five eighths of the sharp triangle, the basic internal thread",
    "full form": "height of the thread's own form: 1.0825 P at 60, 1.2807 P at 55, 1.2 P for BA",
}


@frozen
class Form:
    """A thread form: flank angle, and in pitches on diameter the depth of nut and of flank line.

    full_height   : major diameter less core
    pitch_height  : major diameter less pitch diameter
    """

    words: str
    angle_deg: float
    full_height: float
    pitch_height: float


# Source: ISO 68-1 and ASME B1.1 (5/8 and 3/4 of the sharp triangle's height 0.866025 P), BS 84
# (0.640327 P a side), BS 93 (0.6 P a side), BS 811 (0.5327 P a side).
_SIXTY = Form("60 degrees, flat crests", 60.0, 1.082532, 0.649519)
_WHITWORTH = Form("55 degrees, rounded", 55.0, 1.280654, 0.640327)
FORMS: dict[ThreadSeries, Form] = {
    "BSW": _WHITWORTH,
    "BSF": _WHITWORTH,
    "ME": _WHITWORTH,
    "G": _WHITWORTH,
    "BA": Form("47.5 degrees, rounded", 47.5, 1.2, 0.6),
    "BSC": Form("60 degrees, rounded", 60.0, 1.0654, 0.5327),
}
LEFT_HAND = " left hand"
_BY_FORMULA = Source(
    "ISO 68-1",
    "1998",
    "the basic profile",
    "in no table of threads: the drill is D - P to one decimal",
    "formula",
    "",
)


@frozen
class Thread:
    """One thread.

    standard     : document that defines it; series : table it stands in
    tap_drill    : designation of the drill before the tap
    angle_deg    : of the thread form: 60, 55 (Whitworth) or 47.5 (BA)
    note         : what concerns this thread alone; may be empty
    is_classed   : a class was asked for with it (6H, 2B), which wants more than a home thread
    """

    designation: str
    standard: str
    series: ThreadSeries
    major_mm: float
    pitch_mm: float
    angle_deg: float
    tap_drill: str
    source: Source
    is_left_hand: bool = False
    note: str = ""
    is_classed: bool = anew(factory=bool, compare=False)

    @cached_property
    def tap_drill_mm(self) -> float:
        """Its diameter [mm]; a question that asks for none opens no table of drills."""
        return hole_mm(self.tap_drill)

    @property
    def form(self) -> Form:
        """The thread form, with its heights in pitches."""
        return FORMS.get(self.series, _SIXTY)

    @property
    def basic_minor_mm(self) -> float:
        """Core diameter of the full form [mm]: a hole of this size leaves 100 % thread."""
        return self.major_mm - self.form.full_height * self.pitch_mm

    @property
    def pitch_diameter_mm(self) -> float:
        """Basic pitch (effective) diameter [mm]: where thread and gap are equally wide."""
        return self.major_mm - self.form.pitch_height * self.pitch_mm

    @property
    def threads_per_inch(self) -> float:
        return round(25.4 / self.pitch_mm, 6)

    @property
    def name(self) -> str:
        """The designation without the hand."""
        return self.designation.removesuffix(LEFT_HAND)

    def percent_thread(self, drill_mm: float, convention: Convention = "1.2269") -> float:
        """How much of a full thread a hole of that diameter leaves [%], by a named convention.

        Source: Machinery's Handbook, tap drill formula; the conventions differ, see CONVENTIONS.
        """
        return 100 * (self.major_mm - drill_mm) / (self._height(convention) * self.pitch_mm)

    def drill_mm_for(self, percent: float, convention: Convention = "1.2269") -> float:
        """Diameter [mm] of the hole that leaves that much of a full thread: the inverse."""
        return self.major_mm - percent / 100 * self._height(convention) * self.pitch_mm

    def _height(self, convention: Convention) -> float:
        return self.form.full_height if convention == "full form" else float(convention)

    def left_handed(self) -> Thread:
        """The same thread, left hand."""
        return replace(self, designation=self.name + LEFT_HAND, is_left_hand=True)


@cache
def _series(series: ThreadSeries) -> tuple[Thread, ...]:
    table = load_table("threads-" + series.lower().replace(" ", "-"))
    return tuple(_thread(series, row, table.source) for row in table.rows)


def _thread(series: ThreadSeries, row: Row, source: Source) -> Thread:
    words = {
        "metric coarse": "M{major_mm}",
        "metric fine": "M{major_mm}x{pitch_mm}",
        "UNC": "{size}-{threads_per_inch} UNC",
        "UNF": "{size}-{threads_per_inch} UNF",
        "UNEF": "{size}-{threads_per_inch} UNEF",
        "BSW": "{size} BSW",
        "BSF": "{size} BSF",
        "BA": "{number}BA",
        "ME": "{size}x{threads_per_inch} ME",
        "BSC": "{size}x{threads_per_inch} BSC",
        "G": "G{size}",
    }[series].format_map(row)
    return Thread(
        designation=words,
        standard="common practice" if series == "ME" else source.title,
        series=series,
        major_mm=major_mm(row),
        pitch_mm=_pitch_mm(row),
        angle_deg=FORMS.get(series, _SIXTY).angle_deg,
        tap_drill=row["tap_drill"],
        source=source,
        note=row.get("note", ""),
    )


def thread_by_formula(major_mm: float, pitch_mm: float) -> Thread:
    """A metric thread that no table has: ISO 68-1 gives all of it but the drill, which is D - P."""
    drill_mm = float(round(Decimal(repr(major_mm)) - Decimal(repr(pitch_mm)), 1))
    return Thread(
        designation=f"M{major_mm:g}x{pitch_mm:g}",
        standard="ISO 68-1",
        series="metric fine",
        major_mm=major_mm,
        pitch_mm=pitch_mm,
        angle_deg=_SIXTY.angle_deg,
        tap_drill=metric_words(drill_mm),
        source=_BY_FORMULA,
    )


def _pitch_mm(row: Row) -> float:
    if "pitch_mm" in row:
        return float(Decimal(row["pitch_mm"]))
    return inches_to_mm(Fraction(1, row["threads_per_inch"]))


def threads(series: ThreadSeries | None = None) -> tuple[Thread, ...]:
    """The threads of a series in the order of its table, or of all series."""
    if series is not None:
        return _series(series)
    return tuple(thread for each in THREAD_SERIES for thread in _series(each))


def _series_of(name: str) -> tuple[ThreadSeries, ...]:
    """Where a designation of that style can stand; other tables need not be loaded."""
    if name.startswith("M"):
        return ("metric fine",) if "x" in name else ("metric coarse",)
    if name.startswith("G"):
        return ("G",)
    return tuple(series for series in THREAD_SERIES if name.endswith(series))


def thread_named(designation: str) -> Thread | None:
    """The thread of that canonical designation, " left hand" included, or None."""
    name = designation.removesuffix(LEFT_HAND)
    for series in _series_of(name):
        for thread in _series(series):
            if thread.designation == name:
                return thread if name == designation else thread.left_handed()
    return None


def is_other_form(designation: str, thread: Thread) -> bool:
    """Whether a tap of that designation cuts other flanks; not where it is no thread's name.

    1/4 BSW and 1/4-20 UNC have one diameter and one pitch, and do not go into each other.
    """
    named = thread_named(designation)
    return named is not None and named.form != thread.form
