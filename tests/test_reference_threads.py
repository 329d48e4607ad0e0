"""Threads, tapping drills, clearance holes and heads."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from screw_thread_lib.data import ASME_M_6g6H_dict, ASME_UN_2A2B_dict

from millprep.reference.clearance import GRADES, clearance_for
from millprep.reference.drills import drill_named, hole_mm
from millprep.reference.heads import HEAD_KINDS, HeadKind, head_for, nut_for, washer_for
from millprep.reference.limits import minor_limits
from millprep.reference.tables import load_table, screw_inches
from millprep.reference.threads import (
    CONVENTIONS,
    THREAD_SERIES,
    Convention,
    Thread,
    ThreadSeries,
    thread_named,
    threads,
)

ALL = threads()
IDS = [thread.designation for thread in ALL]


def named(designation: str) -> Thread:
    thread = thread_named(designation)
    assert thread is not None, designation
    return thread


@pytest.mark.parametrize(
    ("designation", "pitch_mm", "drill_mm"),
    [  # from memory of ISO 261 and ISO 2306
        ("M1.6", 0.35, 1.25),
        ("M2", 0.4, 1.6),
        ("M2.5", 0.45, 2.05),
        ("M3", 0.5, 2.5),
        ("M4", 0.7, 3.3),
        ("M5", 0.8, 4.2),
        ("M6", 1.0, 5.0),
        ("M8", 1.25, 6.8),
        ("M10", 1.5, 8.5),
        ("M12", 1.75, 10.2),
        ("M14", 2.0, 12.0),
        ("M16", 2.0, 14.0),
        ("M20", 2.5, 17.5),
        ("M24", 3.0, 21.0),
        ("M6x0.75", 0.75, 5.2),
        ("M8x1", 1.0, 7.0),
        ("M10x1.25", 1.25, 8.8),
        ("M10x1", 1.0, 9.0),
        ("M12x1.5", 1.5, 10.5),
        ("M1", 0.25, 0.75),
        ("M1.4", 0.3, 1.1),
        ("M30", 3.5, 26.5),
        ("M36", 4.0, 32.0),
        ("M36x3", 3.0, 33.0),
    ],
)
def test_metric_threads(designation: str, pitch_mm: float, drill_mm: float) -> None:
    thread = named(designation)
    assert (thread.pitch_mm, thread.tap_drill_mm) == (pitch_mm, drill_mm)
    assert thread.standard == "ISO 261"


@pytest.mark.parametrize(
    ("designation", "drill"),
    [  # from memory of the American tapping-drill tables (Machinery's Handbook)
        ("#0-80 UNF", "3/64 in"),
        ("#2-56 UNC", "#50"),
        ("#4-40 UNC", "#43"),
        ("#6-32 UNC", "#36"),
        ("#8-32 UNC", "#29"),
        ("#10-24 UNC", "#25"),
        ("#10-32 UNF", "#21"),
        ("1/4-20 UNC", "#7"),
        ("1/4-28 UNF", "#3"),
        ("5/16-18 UNC", "letter F"),
        ("3/8-16 UNC", "5/16 in"),
        ("3/8-24 UNF", "letter Q"),
        ("1/2-13 UNC", "27/64 in"),
        ("1-8 UNC", "7/8 in"),
        ("1-12 UNF", "59/64 in"),
        ("1/4-32 UNEF", "7/32 in"),
        ("1/2-28 UNEF", "15/32 in"),
    ],
)
def test_unified_tapping_drills(designation: str, drill: str) -> None:
    assert named(designation).tap_drill == drill


LIMITS_IN = {
    size: row
    for size, row in {**ASME_UN_2A2B_dict, **ASME_M_6g6H_dict}.items()
    if row.get("series") != "UNS"  # 1-14 is no longer UNF
}


@pytest.mark.parametrize("size", sorted(LIMITS_IN))
def test_limits_of_the_minor_diameter_agree_with_screw_thread_lib(size: str) -> None:
    """Classes 2B and 6H of ASME B1.1-2019 and B1.13M, in inches, printed to a thousandth."""
    row = LIMITS_IN[size]
    (thread,) = (
        each
        for each in threads("metric coarse") + threads("UNC") + threads("UNF")
        if each.major_mm == pytest.approx(row["dbsc"] * 25.4, abs=1e-4)
        and each.threads_per_inch == pytest.approx(row["n"], abs=1e-4)
    )
    assert row["D1min"] <= thread.tap_drill_mm / 25.4 <= row["D1max"]
    limits = minor_limits(thread)
    assert limits is not None
    assert limits.class_name == ("2B" if "-" in thread.designation else "6H")
    printed = 0.0006 if limits.class_name == "2B" else 0.00001
    assert limits.least_mm / 25.4 == pytest.approx(row["D1min"], abs=printed)
    assert limits.greatest_mm / 25.4 == pytest.approx(row["D1max"], abs=printed)
    assert thread.pitch_diameter_mm / 25.4 == pytest.approx(row["D2min"], abs=0.0001)


OUTSIDE_2B = {"9/16-18 UNF", "5/8-18 UNF"}  # the American tables' drills, said in a row note


@pytest.mark.parametrize("thread", ALL, ids=IDS)
def test_tapping_drills_lie_inside_the_limits_or_say_why_not(thread: Thread) -> None:
    limits = minor_limits(thread)
    if limits is None:
        assert thread.series in ("BSW", "BSF", "BA", "ME", "BSC")
        return
    assert limits.holds(thread.tap_drill_mm) != (thread.designation in OUTSIDE_2B)
    if thread.designation in OUTSIDE_2B:
        assert "over the 2B limit" in thread.note
        inside = float(thread.note.split("have it; ")[1].split(" mm")[0])
        assert limits.holds(inside)


@pytest.mark.parametrize("row", load_table("limits-minor-metric").rows, ids=str)
def test_metric_tolerances_follow_the_formulas(row: dict[str, Any]) -> None:
    """ISO 965-1: grade 6 is 433 P - 190 P^1.22 to 0.8 and 230 P^0.7 from 1, grade 5 0.8 of it."""
    pitch = float(row["pitch_mm"])
    exact_um = 433 * pitch - 190 * pitch**1.22 if pitch < 1 else 230 * pitch**0.7
    if row["grade_6_um"] != "":
        assert float(row["grade_6_um"]) == pytest.approx(exact_um, rel=0.05)
    assert float(row["grade_5_um"]) == pytest.approx(0.8 * exact_um, rel=0.05)


@pytest.mark.parametrize(
    ("designation", "limits_in"),
    [  # from memory of ASME B1.1, class 2B; the first two are held by the bounds of the formula
        ("#0-80 UNF", (0.0465, 0.0514)),
        ("#1-64 UNC", (0.0561, 0.0623)),
        ("#4-40 UNC", (0.0849, 0.0939)),
        ("3/8-16 UNC", (0.307, 0.321)),
        ("1/4-28 UNF", (0.211, 0.220)),
        ("5/16-18 UNC", (0.252, 0.265)),
    ],
)
def test_unified_limits(designation: str, limits_in: tuple[float, float]) -> None:
    limits = minor_limits(named(designation))
    assert limits is not None
    assert (limits.least_mm / 25.4, limits.greatest_mm / 25.4) == pytest.approx(limits_in, abs=6e-4)


def test_the_finest_metric_threads_have_class_5h() -> None:
    """ISO 965-1: class 6 is not defined below a pitch of 0.3; M1 is 5H, core 0.729 to 0.785."""
    limits = minor_limits(named("M1"))
    assert limits is not None
    assert (limits.class_name, limits.least_mm, limits.greatest_mm) == ("5H", 0.729, 0.785)


@pytest.mark.parametrize(
    ("designation", "pitch_diameter_mm", "minor_mm"),
    [  # from memory of ISO 724, ISO 228-1, BS 84 (1/4 BSW 0.2180 and 0.1860 in) and BS 811
        ("M6", 5.350, 4.917),
        ("M10", 9.026, 8.376),
        ("M6x0.75", 5.513, 5.188),
        ("G1/4", 12.301, 11.445),
        ("1/4 BSW", 0.2180 * 25.4, 0.1860 * 25.4),
        ("0BA", 5.4, 4.8),
        ("1/4x26 BSC", 0.2295 * 25.4, 0.2090 * 25.4),
    ],
)
def test_basic_diameters(designation: str, pitch_diameter_mm: float, minor_mm: float) -> None:
    thread = named(designation)
    assert thread.pitch_diameter_mm == pytest.approx(pitch_diameter_mm, abs=0.002)
    assert thread.basic_minor_mm == pytest.approx(minor_mm, abs=0.002)


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_the_drill_for_a_percentage_is_the_inverse(convention: Convention) -> None:
    for designation in ("M6", "1/4-20 UNC", "2BA", "1/4 BSW"):
        thread = named(designation)
        drill_mm = thread.drill_mm_for(65, convention)
        assert thread.percent_thread(drill_mm, convention) == pytest.approx(65)


@pytest.mark.parametrize("number", range(13))
def test_ba_threads_follow_their_formulas(number: int) -> None:
    """BS 93: pitch 0.9^n mm and major 6 P^1.2 mm, both to two figures."""
    thread = named(f"{number}BA")
    assert thread.pitch_mm == float(f"{0.9**number:.2g}")
    assert thread.major_mm == float(f"{6 * thread.pitch_mm**1.2:.2g}")
    assert thread.major_mm - thread.basic_minor_mm == pytest.approx(1.2 * thread.pitch_mm)


@pytest.mark.parametrize(
    ("designation", "threads_per_inch"),
    [  # from memory of BS 84 and ISO 228-1; 3/16 BSF is 32, not 28
        ("1/8 BSW", 40),
        ("1/4 BSW", 20),
        ("3/8 BSW", 16),
        ("1/2 BSW", 12),
        ("3/16 BSF", 32),
        ("1/4 BSF", 26),
        ("3/8 BSF", 20),
        ("1/4x40 ME", 40),
        ("3/8x32 ME", 32),
        ("G1/8", 28),
        ("G1/4", 19),
        ("G1/2", 14),
        ("G1", 11),
        ("3/8x26 ME", 26),
    ],
)
def test_whitworth_forms(designation: str, threads_per_inch: int) -> None:
    thread = named(designation)
    assert thread.threads_per_inch == threads_per_inch
    assert thread.angle_deg == 55
    # Whitworth form: depth 0.640327 P a side
    core_mm = thread.major_mm - 2 * 0.640327 * 25.4 / threads_per_inch
    assert thread.basic_minor_mm == pytest.approx(core_mm, abs=1e-4)


def test_pipe_threads_are_larger_than_their_name() -> None:
    """ISO 228-1 (from memory): G1/4 has a major diameter of 13.157 mm."""
    assert named("G1/4").major_mm == 13.157


@pytest.mark.parametrize(
    ("major_mm", "pitch_mm", "drill_mm", "convention", "percent"),
    [  # worked by hand from (D - d) / (c P): M6 with a 5 mm drill by the three conventions
        (6, 1, 5.0, "1.299", 76.98),
        (6, 1, 5.0, "1.2269", 81.51),
        (6, 1, 5.0, "1.0825", 92.38),
        (6, 1, 5.2, "1.299", 61.59),
        (6, 1, 5.2, "1.2269", 65.21),
        (6, 1, 5.2, "1.0825", 73.90),
    ],
)
def test_percent_thread_by_each_convention(
    major_mm: float, pitch_mm: float, drill_mm: float, convention: Convention, percent: float
) -> None:
    thread = named(f"M{major_mm}")
    assert thread.pitch_mm == pitch_mm
    assert thread.percent_thread(drill_mm, convention) == pytest.approx(percent, abs=0.01)


def test_quarter_twenty_with_a_number_seven_is_75_percent() -> None:
    """Machinery's Handbook, tap drill table: 1/4-20 UNC, #7, 75 % (from memory)."""
    assert round(named("1/4-20 UNC").percent_thread(0.201 * 25.4, "1.299")) == 75


@pytest.mark.parametrize("thread", ALL, ids=IDS)
def test_the_tapping_drill_leaves_a_thread_that_holds_and_does_not_break_taps(
    thread: Thread,
) -> None:
    assert thread.basic_minor_mm < thread.tap_drill_mm < thread.major_mm
    assert 60 <= thread.percent_thread(thread.tap_drill_mm, "1.299") <= 85
    assert thread.percent_thread(thread.tap_drill_mm, "full form") < 100


@pytest.mark.parametrize("thread", threads("metric coarse") + threads("metric fine"), ids=str)
def test_a_metric_tapping_drill_is_the_thread_less_its_pitch(thread: Thread) -> None:
    """ISO 2306: D - P, rounded to a drill."""
    assert thread.tap_drill_mm == pytest.approx(thread.major_mm - thread.pitch_mm, abs=0.06)


@pytest.mark.parametrize("series", ["BSW", "BSF", "ME", "BSC"])
def test_whitworth_drills_leave_70_to_85_percent(series: ThreadSeries) -> None:
    for thread in threads(series):
        percent = thread.percent_thread(thread.tap_drill_mm, "full form")
        assert 70 <= round(percent) <= 85, thread.designation


def test_designations_are_unique_and_find_themselves() -> None:
    assert len(set(IDS)) == len(IDS)
    for thread in ALL:
        assert thread_named(thread.designation) == thread
        assert thread.series in THREAD_SERIES


def test_a_left_hand_thread_is_the_same_but_for_its_hand() -> None:
    left = named("M6 left hand")
    assert left.is_left_hand
    assert (left.name, left.pitch_mm, left.tap_drill) == ("M6", 1.0, "5 mm")
    assert thread_named("M99 left hand") is None
    assert left.left_handed() == left


# --- clearance holes ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("designation", "holes"),
    [  # from memory of ISO 273: fine, medium, coarse; half millimetres at M12 to M16
        ("M2", (2.2, 2.4, 2.6)),
        ("M3", (3.2, 3.4, 3.6)),
        ("M4", (4.3, 4.5, 4.8)),
        ("M5", (5.3, 5.5, 5.8)),
        ("M6", (6.4, 6.6, 7.0)),
        ("M8", (8.4, 9.0, 10.0)),
        ("M10", (10.5, 11.0, 12.0)),
        ("M12", (13.0, 13.5, 14.5)),
        ("M14", (15.0, 15.5, 16.5)),
        ("M16", (17.0, 17.5, 18.5)),
        ("M6x0.75", (6.4, 6.6, 7.0)),
        ("M1", (1.1, 1.2, 1.3)),
        ("M30", (31.0, 33.0, 35.0)),
        ("M36", (37.0, 39.0, 42.0)),
        ("M2.2", (2.4, 2.6, 2.8)),
    ],
)
def test_metric_clearance_holes(designation: str, holes: tuple[float, ...]) -> None:
    clearance = clearance_for(named(designation))
    assert clearance is not None
    assert (clearance.close_mm, clearance.normal_mm, clearance.loose_mm) == holes


@pytest.mark.parametrize(
    ("designation", "inches"),
    [  # from memory of ASME B18.2.8, hole diameters to three decimals
        ("#4-40 UNC", (0.120, 0.128, 0.144)),
        ("#6-32 UNC", (0.154, 0.170, 0.185)),
        ("#8-32 UNC", (0.180, 0.196, 0.213)),
        ("#10-32 UNF", (0.206, 0.221, 0.238)),
        ("1/4-20 UNC", (0.266, 0.281, 0.297)),
        ("3/8-16 UNC", (0.391, 0.406, 0.422)),
        ("1/2-13 UNC", (0.531, 0.562, 0.609)),
        # left out by the standard: its steps on either side
        ("#12-24 UNC", (0.234, 0.246, 0.266)),
        ("9/16-12 UNC", (0.594, 0.625, 0.672)),
    ],
)
def test_inch_clearance_holes(designation: str, inches: tuple[float, ...]) -> None:
    clearance = clearance_for(named(designation))
    assert clearance is not None
    holes_mm = (clearance.close_mm, clearance.normal_mm, clearance.loose_mm)
    assert [mm / 25.4 for mm in holes_mm] == pytest.approx(inches, abs=0.00055)


@pytest.mark.parametrize("thread", ALL, ids=IDS)
def test_clearance_holes_widen_from_close_to_loose(thread: Thread) -> None:
    clearance = clearance_for(thread)
    if clearance is None:
        return
    sizes_mm = [clearance.hole(grade)[1] for grade in GRADES]
    assert thread.major_mm < sizes_mm[0] < sizes_mm[1] < sizes_mm[2]
    assert sizes_mm[2] < 1.25 * thread.major_mm + 0.6


def test_a_pipe_thread_has_no_clearance_hole() -> None:
    assert clearance_for(named("G1/4")) is None


# --- heads ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("designation", "head_mm", "height_mm", "bore_mm", "depth_mm"),
    [  # from memory of ISO 4762 (plain head) and DIN 974-1, row 1
        ("M3", 5.5, 3, 6.5, 3.4),
        ("M4", 7, 4, 8, 4.4),
        ("M5", 8.5, 5, 10, 5.4),
        ("M6", 10, 6, 11, 6.4),
        ("M8", 13, 8, 15, 8.6),
        ("M10", 16, 10, 18, 10.6),
    ],
)
def test_metric_socket_heads(
    designation: str, head_mm: float, height_mm: float, bore_mm: float, depth_mm: float
) -> None:
    head = head_for(named(designation), "socket head")
    assert head is not None
    assert (head.head_diameter_mm, head.head_height_mm) == (head_mm, height_mm)
    assert (head.counterbore_diameter_mm, head.counterbore_depth_mm) == (bore_mm, depth_mm)


@pytest.mark.parametrize(
    ("designation", "head_in", "height_in", "bore_in"),
    [  # from memory of ASME B18.3
        ("#4-40 UNC", 0.183, 0.112, 7 / 32),
        ("#8-32 UNC", 0.270, 0.164, 5 / 16),
        ("#10-32 UNF", 0.312, 0.190, 3 / 8),
        ("1/4-20 UNC", 0.375, 0.250, 7 / 16),
    ],
)
def test_inch_socket_heads(
    designation: str, head_in: float, height_in: float, bore_in: float
) -> None:
    head = head_for(named(designation), "socket head")
    assert head is not None
    assert head.head_diameter_mm == pytest.approx(head_in * 25.4)
    assert head.head_height_mm == pytest.approx(height_in * 25.4)
    assert head.counterbore_diameter_mm == pytest.approx(bore_in * 25.4)


@pytest.mark.parametrize(
    ("designation", "head_mm", "angle_deg"),
    [  # from memory of ISO 10642, theoretical heads (not the smaller ones of DIN 7991)
        ("M3", 6.72, 90),
        ("M4", 8.96, 90),
        ("M5", 11.2, 90),
        ("M6", 13.44, 90),
        ("#8-32 UNC", 0.359 * 25.4, 82),
        ("1/4-20 UNC", 0.531 * 25.4, 82),  # ASME B18.3
    ],
)
def test_countersunk_heads(designation: str, head_mm: float, angle_deg: float) -> None:
    head = head_for(named(designation), "countersunk")
    assert head is not None
    assert head.head_diameter_mm == pytest.approx(head_mm)
    assert head.angle_deg == angle_deg


@pytest.mark.parametrize(
    ("designation", "kind", "head_mm", "height_mm"),
    [  # from memory of ISO 7045, ISO 1207, ISO 2009 and ASME B18.6.3
        ("M3", "pan head", 5.6, 2.4),
        ("M5", "pan head", 9.5, 3.7),
        ("M4", "cheese head", 7, 2.6),
        ("M5", "slotted countersunk", 10.4, 2.7),
        ("M3.5", "countersunk", 8.2, 2.35),
        ("#10-32 UNF", "slotted countersunk", 0.385 * 25.4, 0.116 * 25.4),
        ("#8-32 UNC", "pan head", 0.322 * 25.4, 0.115 * 25.4),
    ],
)
def test_other_heads(designation: str, kind: HeadKind, head_mm: float, height_mm: float) -> None:
    head = head_for(named(designation), kind)
    assert head is not None
    assert head.head_diameter_mm == pytest.approx(head_mm)
    assert head.head_height_mm == pytest.approx(height_mm)


@pytest.mark.parametrize(
    ("designation", "flats_mm", "head_mm", "nut_mm"),
    [  # from memory of ISO 4014 and ISO 4032; ASME B18.2.1 and B18.2.2
        ("M5", 8, 3.5, 4.7),
        ("M6", 10, 4, 5.2),
        ("M8", 13, 5.3, 6.8),
        ("M10", 16, 6.4, 8.4),
        ("M12", 18, 7.5, 10.8),
        ("1/4-20 UNC", 11.1125, 5 / 32 * 25.4, 7 / 32 * 25.4),
    ],
)
def test_hexagons(designation: str, flats_mm: float, head_mm: float, nut_mm: float) -> None:
    head, nut = head_for(named(designation), "hexagon head"), nut_for(named(designation))
    assert head is not None and nut is not None
    assert head.across_flats_mm == nut.across_flats_mm == flats_mm
    assert (head.head_height_mm, nut.height_mm) == pytest.approx((head_mm, nut_mm))
    corners_mm = flats_mm / math.cos(math.pi / 6)
    assert head.head_diameter_mm == nut.across_corners_mm == pytest.approx(corners_mm)


@pytest.mark.parametrize("number", range(11))
def test_ba_hexagons_are_one_and_three_quarters_of_the_thread(number: int) -> None:
    """BS 57 (from memory): across flats 1.75 D, in inches to a thousandth; a head 0.75 D high."""
    thread = named(f"{number}BA")
    nut = nut_for(thread)
    assert nut is not None and nut.height_mm is None
    assert nut.across_flats_mm / 25.4 == pytest.approx(1.75 * thread.major_mm / 25.4, abs=0.0011)
    head = head_for(thread, "hexagon head")
    assert head is not None and head.across_flats_mm == nut.across_flats_mm
    assert head.head_height_mm == pytest.approx(0.75 * thread.major_mm, abs=1e-6)


@pytest.mark.parametrize("number", range(11))
def test_ba_cheese_heads_are_one_and_a_half_threads_wide(number: int) -> None:
    """BS 57 (from memory): 1.5 D across, 0.7 D high."""
    thread = named(f"{number}BA")
    head = head_for(thread, "cheese head")
    assert head is not None and head.key_mm is None
    assert head.head_diameter_mm == pytest.approx(1.5 * thread.major_mm)
    assert head.head_height_mm == pytest.approx(0.7 * thread.major_mm)


ISO_2936 = (0.7, 0.9, 1.3, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 14, 17, 19, 22, 24, 27, 30, 32, 36)
KEYS: dict[HeadKind, tuple[float, float, float]] = {  # least and most of the thread; key of M6
    "socket head": (0.7, 0.95, 5),
    "button head": (0.5, 0.75, 4),
    "countersunk": (0.5, 0.75, 4),
}


@pytest.mark.parametrize("kind", KEYS)
def test_keys_of_socket_screws(kind: HeadKind) -> None:
    """ISO 2936 (from memory) lists the keys that there are in millimetres."""
    least, most, six_mm = KEYS[kind]
    listed = [(each, head_for(each, kind)) for each in threads()]
    keys = {each: head.key_mm for each, head in listed if head is not None and head.key_mm}
    assert keys[named("M6")] == six_mm and keys[named("1/4-20 UNC")]
    for thread, key_mm in keys.items():
        assert least <= key_mm / thread.major_mm <= most, thread.designation
        assert key_mm in ISO_2936 or not thread.series.startswith("metric")


def test_a_bsf_nut_is_the_bsw_nut_of_the_size_below() -> None:
    """BS 190 and BS 1083 (from memory): 5/16 BSF and 1/4 BSW are both 0.525 in across flats."""
    fine, coarse = nut_for(named("5/16 BSF")), nut_for(named("1/4 BSW"))
    assert fine is not None and coarse is not None
    assert fine.across_flats_mm == coarse.across_flats_mm == pytest.approx(0.525 * 25.4)


@pytest.mark.parametrize("thread", threads("metric coarse"), ids=str)
def test_washers_go_over_the_screw_and_under_its_head(thread: Thread) -> None:
    """ISO 7089: the hole is the fine clearance hole of ISO 273, the outside wider than the nut."""
    washer, nut, clearance = washer_for(thread), nut_for(thread), clearance_for(thread)
    if washer is None:
        return
    assert nut is not None and clearance is not None
    if washer.source.title == "ISO 7089":
        assert washer.hole_mm == clearance.close_mm
    else:  # a thirty-second over the screw, to a sixty-fourth, as ASME B18.21.1 has it
        assert abs(washer.hole_mm - thread.major_mm - 25.4 / 32) < 25.4 / 64
    assert washer.outside_mm > 0.95 * nut.across_flats_mm
    assert 0.1 * thread.major_mm <= washer.thickness_mm <= 0.3 * thread.major_mm


@pytest.mark.parametrize("thread", ALL, ids=IDS)
def test_nuts_are_larger_than_their_threads(thread: Thread) -> None:
    nut = nut_for(thread)
    if nut is not None:
        assert 1.4 * thread.major_mm < nut.across_flats_mm < 2.75 * thread.major_mm
        assert nut.height_mm is None or 0.6 * thread.major_mm < nut.height_mm <= thread.major_mm


@pytest.mark.parametrize("thread", ALL, ids=IDS)
def test_heads_are_larger_than_their_threads_and_fit_what_is_cut_for_them(thread: Thread) -> None:
    for kind in HEAD_KINDS:
        head = head_for(thread, kind)
        if head is None:
            continue
        assert head.head_diameter_mm > 1.2 * thread.major_mm
        assert 0.25 * thread.major_mm < head.head_height_mm <= 1.01 * thread.major_mm
        assert (head.across_flats_mm is not None) == (kind == "hexagon head")
        if head.counterbore_diameter_mm is not None and head.counterbore_depth_mm is not None:
            clearance = clearance_for(thread)
            assert clearance is not None and kind == "socket head"
            assert head.counterbore_diameter_mm > head.head_diameter_mm
            assert head.counterbore_diameter_mm > clearance.loose_mm
            assert head.counterbore_depth_mm >= head.head_height_mm
        assert (head.angle_deg is not None) == ("countersunk" in kind)
        if head.angle_deg is not None:
            cone_mm = (head.head_diameter_mm - thread.major_mm) / 2
            height_mm = cone_mm / math.tan(math.radians(head.angle_deg / 2))
            slack_mm = 0.17 if head.source.title == "ASME B18.6.3" else 0.05
            slack_mm = max(slack_mm, 0.04 * height_mm)
            assert head.head_height_mm == pytest.approx(height_mm, abs=slack_mm)


# --- what the tables say they were checked against ------------------------------------------------


def inches(cell: str | Decimal) -> Fraction:
    size = screw_inches(cell) if isinstance(cell, str) else Fraction(cell)
    assert size is not None
    return size


@pytest.mark.parametrize(
    ("other", "standard"),
    [("clearance-metric-other", "clearance-metric"), ("clearance-inch-other", "clearance-inch")],
)
def test_sizes_that_a_standard_leaves_out_lie_between_its_own(other: str, standard: str) -> None:
    def sizes(row: dict[str, Any]) -> list[float]:
        size = row.get("major_mm") or inches(row["size"])
        return [float(size), *(hole_mm(row[grade]) for grade in GRADES)]

    listed = [sizes(row) for row in load_table(standard).rows]
    for row in load_table(other).rows:
        own = sizes(row)
        below = [each for each in listed if each[0] < own[0]][-1]
        above = next(each for each in listed if each[0] > own[0])
        assert all(a <= b <= c for a, b, c in zip(below, own, above, strict=True)), row


def test_every_metric_tapping_drill_is_a_listed_drill() -> None:
    names: tuple[ThreadSeries, ...] = ("metric coarse", "metric fine", "BA", "BSW", "BSF", "BSC")
    for series in names:
        for thread in threads(series):
            drill = drill_named(thread.tap_drill)
            assert drill is not None, thread.designation


def test_inch_hexagons_are_about_one_and_a_half_threads_wide() -> None:
    """ASME B18.2.1 and B18.2.2: across flats 1.5 D from 1/2 in, a little more below."""
    for name in ("heads-hexagon-inch", "nuts-inch"):
        for row in load_table(name).rows:
            share = inches(row["across_flats_in"]) / inches(row["size"])
            assert 1.42 <= share <= 2.62
            if inches(row["size"]) >= Fraction(5, 8):
                assert share == Fraction(3, 2)
    for row in load_table("heads-hexagon-inch").rows:
        assert inches(row["head_height_in"]) / inches(row["size"]) == pytest.approx(0.63, abs=0.03)


def test_whitworth_hexagons_are_a_size_larger_than_bsf() -> None:
    coarse = {row["size"]: row["across_flats_in"] for row in load_table("nuts-bsw").rows}
    fine = {row["size"]: row["across_flats_in"] for row in load_table("nuts-bsf").rows}
    assert all(coarse[size] > fine[size] for size in fine)
    steps = ["3/16", "1/4", "5/16", "3/8", "7/16", "1/2", "9/16", "5/8"]
    assert all(fine[size] == coarse[below] for below, size in pairwise(steps))


def test_machine_screw_heads_are_smaller_than_socket_screw_heads() -> None:
    """ASME B18.6.3 against B18.3 (both from memory)."""
    rows = load_table("heads-countersunk-inch").rows
    socket = {row["size"]: row["head_diameter_in"] for row in rows}
    for row in load_table("heads-countersunk-slotted-inch").rows:
        if row["size"] in socket:
            assert row["head_diameter_in"] < socket[row["size"]]
