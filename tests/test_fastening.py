"""Screws in their holes: every figure by hand, the cure by applying it, the tables by rules."""

from __future__ import annotations

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millprep.base.records import replace
from millprep.model.part import Countersink
from millprep.reference.heads import nut_for, washer_for
from millprep.reference.lengths import engagement_diameters, screw_lengths_mm, wanted_engagement_mm
from millprep.reference.materials import materials
from millprep.reference.tables import load_table
from millprep.reference.threads import threads
from millprep.sizes import read_thread
from millprep.sums.fastening import Nutted, Screw, Tapped, Through, fastened

M3, M4, M5, M6 = (read_thread(words) for words in ("M3", "M4", "M5", "M6"))
COVER = Through("cover", 6, 4.5, recess_mm=4.4, recess_diameter_mm=8)
BLOCK = Tapped("block", M4, full_thread_mm=12, drilled_mm=15, material="aluminium 6082")


def socket(thread, length_mm: float, washer_mm: float = 0.0) -> Screw:
    return Screw(thread, length_mm, "socket head", washer_mm)


def test_a_socket_head_in_a_counterbore_by_hand() -> None:
    """M4 x 10 under 6 mm with a counterbore of 4.4: 1.6 gripped, 8.4 in the thread."""
    found = fastened(socket(M4, 10), [COVER], BLOCK)
    assert found.grip_mm == pytest.approx(1.6)
    assert found.penetration_mm == found.engagement_mm == pytest.approx(8.4)
    assert found.engagement_diameters == pytest.approx(2.1)
    assert found.wanted_mm == pytest.approx(8)  # aluminium, 2 D: common practice
    assert found.most_mm == pytest.approx(11.3)  # 12 less a pitch of 0.7
    assert found.room_mm == pytest.approx(3.6)
    assert found.comes_out_mm is None
    assert found.head_mm == pytest.approx(-0.4)  # ISO 4762: the head is 4 high
    assert found.recess_play_mm == pytest.approx(1)  # and 7 wide
    assert found.play_mm == pytest.approx((0.5,))
    assert found.passes and found.is_engaged and found.same_thread
    assert not found.bottoms and not found.comes_out
    assert found.cure_mm == 10


@pytest.mark.parametrize(
    ("length_mm", "engaged", "bottoms", "cure_mm"),
    [
        (6, False, False, 10),  # 4.4 in
        (8, False, False, 10),  # 6.4 in
        (10, True, False, 10),
        (12, True, False, 12),  # 10.4 in, room 1.6
        (16, True, True, 12),  # 14.4 in, in 12 of thread
    ],
)
def test_too_short_and_too_long(length_mm, engaged, bottoms, cure_mm) -> None:
    found = fastened(socket(M4, length_mm), [COVER], BLOCK)
    assert (found.is_engaged, found.bottoms, found.cure_mm) == (engaged, bottoms, cure_mm)
    assert found.engagement_mm <= BLOCK.full_thread_mm


def test_room_of_just_one_pitch_is_enough() -> None:
    tight = replace(BLOCK, full_thread_mm=8.4 + 0.7)
    assert not fastened(socket(M4, 10), [COVER], tight).bottoms
    assert fastened(socket(M4, 10), [COVER], replace(tight, full_thread_mm=9.0)).bottoms


def test_a_washer_takes_from_the_thread_and_lifts_the_head() -> None:
    """ISO 7089: a washer for M4 is 0.8 thick and 9 across, which does not go into 8."""
    washer = washer_for(M4)
    assert washer is not None
    found = fastened(socket(M4, 10, washer.thickness_mm), [COVER], BLOCK)
    assert found.penetration_mm == pytest.approx(7.6)
    assert found.head_mm == pytest.approx(0.4)
    assert found.recess_play_mm == pytest.approx(-1)
    assert found.grip_mm == pytest.approx(1.6)


def test_a_screw_that_never_reaches_or_does_not_pass() -> None:
    found = fastened(socket(M4, 6), [Through("slab", 12, 4.0)], BLOCK)
    assert found.penetration_mm == pytest.approx(-6)
    assert found.engagement_mm == 0
    assert not found.passes and not found.is_engaged
    assert found.cure_mm == 20


def test_a_hole_that_is_open_at_its_mouth() -> None:
    """A clear length of 3 before the thread: 5.4 of the 8.4 engage."""
    found = fastened(socket(M4, 10), [COVER], replace(BLOCK, starts_mm=3))
    assert found.engagement_mm == pytest.approx(5.4)
    assert found.most_mm == pytest.approx(8.3)


def test_through_tapped_holes_come_out() -> None:
    plate = Tapped("plate", M4, full_thread_mm=8, drilled_mm=None, material="mild steel")
    found = fastened(socket(M4, 12), [COVER], plate)
    assert found.engagement_mm == pytest.approx(8) and found.room_mm is None
    assert found.comes_out_mm == pytest.approx(2.4) and found.comes_out
    assert found.cure_mm == 12
    assert fastened(socket(M4, 12), [COVER], plate, may_come_out=False).cure_mm == 8
    thin = replace(plate, full_thread_mm=3)
    assert fastened(socket(M4, 12), [COVER], thin).cure_mm is None  # 3 of the 4 wanted at most
    assert fastened(socket(M4, 12), [COVER], thin).most_mm == pytest.approx(3)


def test_a_nut_is_filled_and_passed_by_a_pitch() -> None:
    """ISO 4032: an M4 nut is 3.2 high."""
    nut = nut_for(M4)
    assert nut is not None and nut.height_mm is not None
    plates = [Through("strap", 4, 4.5), Through("plate", 5, 4.5)]
    into = Nutted(M4, nut.height_mm, washer_mm=0.8)
    found = fastened(socket(M4, 12), plates, into)
    assert found.engagement_mm == pytest.approx(12 - 9 - 0.8)
    assert not found.is_engaged and found.cure_mm == 16
    longer = fastened(socket(M4, 16), plates, into)
    assert longer.comes_out_mm == pytest.approx(3) and longer.is_engaged
    assert not longer.comes_out  # of a nut it must
    level = fastened(socket(M4, 13.5), plates, into)  # 0.5 beyond: less than the pitch
    assert level.engagement_mm == pytest.approx(3.2) and not level.is_engaged


COUNTERSUNK = Screw(M5, 16, "countersunk")


@pytest.mark.parametrize(
    ("wide_mm", "angle_deg", "head_mm"),
    [
        # ISO 10642: M5 has a theoretical head of 11.20 at 90 degrees, so half of the width too much
        (11.2, 90, 0.0),
        (11.6, 90, -0.2),
        (10.2, 90, 0.5),
        # a sharper cone of 82 degrees holds the head's rim: 0.4 / 2 / tan 41 = 0.230
        (11.6, 82, -0.2301),
        (10.2, 82, 0.5),
        # a blunter one of 100 degrees lets it down to where the cone ends, 5.5 wide:
        # (11.2 - 5.5) / 2 / tan 50 = 2.3914 deep, where the head is (11.2 - 5.5) / 2 = 2.85 below
        (11.2, 100, 0.4586),
    ],
)
def test_a_countersunk_head_by_its_cones(wide_mm, angle_deg, head_mm) -> None:
    plate = Through("plate", 8, 5.5, countersink=Countersink(wide_mm, angle_deg, ""))
    found = fastened(COUNTERSUNK, [plate], replace(BLOCK, thread=M5))
    assert found.head_mm == pytest.approx(head_mm, abs=1e-4)
    assert found.grip_mm == pytest.approx(8 + head_mm, abs=1e-4)
    assert found.penetration_mm == pytest.approx(8 - head_mm, abs=1e-4)
    assert found.angle_off_deg == pytest.approx(angle_deg - 90)


def test_a_countersunk_head_on_a_plain_hole_stands_on_its_edge() -> None:
    """(11.2 - 5.5) / 2 proud at 90 degrees."""
    found = fastened(COUNTERSUNK, [Through("plate", 8, 5.5)], replace(BLOCK, thread=M5))
    assert found.head_mm == pytest.approx(2.85)
    assert found.angle_off_deg is None


def test_a_head_in_no_table_is_left_open() -> None:
    found = fastened(Screw(read_thread("4BA"), 9.525, "socket head"), [COVER], BLOCK)
    assert found.head_mm is None and found.recess_play_mm is None
    assert not found.same_thread


@pytest.mark.parametrize(
    ("material", "diameters"),
    [  # common practice
        ("mild steel", 1),
        ("silver steel", 1),
        ("stainless 303", 1),
        ("cast iron", 1.5),
        ("brass", 1.5),
        ("phosphor bronze", 1.5),
        ("aluminium 6082-T6", 2),
        ("acetal", 2),
        ("zinc die casting", 2),
        ("", 2),
    ],
)
def test_engagement_by_material(material: str, diameters: float) -> None:
    assert engagement_diameters(material) == diameters


def test_engagement_is_never_below_three_pitches() -> None:
    for thread in threads():
        assert wanted_engagement_mm(thread, "mild steel") >= 3 * thread.pitch_mm - 1e-9
    assert wanted_engagement_mm(M6, "brass") == 9
    coarse = read_thread("M1.6")  # 1 D is 1.6, three pitches of 0.35 are less
    assert wanted_engagement_mm(coarse, "mild steel") == pytest.approx(1.6)
    assert wanted_engagement_mm(read_thread("1/4x26 BSC"), "mild steel") == pytest.approx(6.35)


def test_every_group_of_materials_has_its_engagement() -> None:
    groups = {row["group"] for row in load_table("engagement").rows}
    assert {each.group for each in materials()} <= groups


def test_steel_nuts_hold_with_less_than_a_diameter() -> None:
    """What the table's figure for steel is checked against: ISO 4032."""
    for thread in threads("metric coarse"):
        nut = nut_for(thread)
        if nut is not None and nut.height_mm is not None and thread.major_mm >= 5:
            assert 0.8 <= nut.height_mm / thread.major_mm <= 0.94 + 1e-9


def test_lengths_of_metric_screws() -> None:
    """From memory of ISO 4762, table 1: M3 5 to 30, M6 10 to 60."""
    assert screw_lengths_mm(M3) == (5, 6, 8, 10, 12, 16, 20, 25, 30)
    assert screw_lengths_mm(M6)[:3] == (10, 12, 16) and screw_lengths_mm(M6)[-1] == 60
    lengths = [float(row["length_mm"]) for row in load_table("screws-lengths-metric").rows]
    assert all(b / a <= 1.34 for a, b in pairwise(lengths))
    for row in load_table("screws-lengths-range").rows:
        assert {float(row["shortest_mm"]), float(row["longest_mm"])} <= set(lengths)
        if row["major_mm"] <= 16:
            assert row["longest_mm"] == 10 * row["major_mm"]


def test_lengths_of_inch_screws() -> None:
    """From memory of ASME B18.3: eighths to 1 in, quarters to 3 1/2 in."""
    inches = [each / 25.4 for each in screw_lengths_mm(read_thread("1/4-20 UNC"))]
    assert inches[:6] == pytest.approx([0.125, 0.1875, 0.25, 0.375, 0.5, 0.625])
    assert inches[8:12] == pytest.approx([1.0, 1.25, 1.5, 1.75])
    assert inches[-1] == pytest.approx(7)
    assert screw_lengths_mm(read_thread("2BA")) == screw_lengths_mm(read_thread("1/4-20 UNC"))


@settings(max_examples=60)
@given(
    thread=st.sampled_from([M3, M4, M5, M6, read_thread("1/4-20 UNC"), read_thread("2BA")]),
    length_mm=st.floats(2, 60),
    grip_mm=st.floats(0.5, 30),
    full_mm=st.floats(1, 40),
    is_blind=st.booleans(),
    may_come_out=st.booleans(),
    material=st.sampled_from(["mild steel", "brass", "aluminium"]),
)
def test_the_cure_applied_is_right_and_none_is_nearer(
    thread, length_mm, grip_mm, full_mm, is_blind, may_come_out, material
) -> None:
    """Every length that is sold is tried: the nearest that has nothing wrong must be the cure."""
    member = Through("cover", grip_mm, thread.major_mm + 0.5)
    into = Tapped("block", thread, full_mm, full_mm + 3 if is_blind else None, material)

    def is_right(length: float) -> bool:
        found = fastened(socket(thread, length), [member], into)
        room = full_mm - (length - grip_mm)
        assert found.bottoms == (is_blind and room < thread.pitch_mm - 1e-6)
        assert found.is_engaged == (found.engagement_mm >= found.wanted_mm - 1e-6)
        return found.is_engaged and not found.bottoms and (may_come_out or not found.comes_out)

    found = fastened(socket(thread, length_mm), [member], into, may_come_out=may_come_out)
    if is_right(length_mm):
        assert found.cure_mm == length_mm
        return
    right = [each for each in screw_lengths_mm(thread) if is_right(each)]
    assert (found.cure_mm is None) == (not right)
    if found.cure_mm is not None:
        assert found.cure_mm in right
        assert abs(found.cure_mm - length_mm) == min(abs(each - length_mm) for each in right)


def test_longer_screws_never_engage_less_nor_leave_more_room() -> None:
    for thread, grip in product((M3, M5), (2.0, 7.5)):
        found = [
            fastened(socket(thread, each), [Through("c", grip, 6)], replace(BLOCK, thread=thread))
            for each in screw_lengths_mm(thread)
        ]
        for a, b in pairwise(found):
            assert a.engagement_mm <= b.engagement_mm
            assert a.room_mm is not None and b.room_mm is not None and a.room_mm > b.room_mm
