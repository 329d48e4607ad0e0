"""Parallels, grip and backing: where strips stand, and what is said where they do not.

The rules are common practice: parallels on both sides, as far apart as they go, none under a hole
that comes through; a grip of a third of the height; the tip of a drill 2 mm clear of what is below.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jobs import checked, part_of, plan_of, setups_of, shop_of

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.model.part import SetupRequest
from millprep.planning import Plan
from millprep.setting.holding import Holding, holding_of
from millprep.setting.seating import Strips, free_spans, widest_apart
from millprep.setting.setups import setup_of
from millprep.sheets.figures import Figures
from millprep.sheets.holding_words import hold_lines
from millprep.sheets.listing import make_listing
from millprep.witness.listing import check_listing
from millprep.writers import written

BLOCK = "size = [60, 40, 20]"
BLIND = "[[hole]]\ndrill = 4\nat = [10, 10]\ndepth = 5\n"
THROUGH = '[[hole]]\nname = "edge"\ndrill = 6\nat = [[20, 4], [20, 36]]\ndepth = "through"\n'


def told(kind: str, holes: str, stock: str = BLOCK) -> list[Finding]:
    """What the checks say of that kind."""
    return [one for one in checked(plan_of(holes, stock)) if one.kind == kind]


def holding(holes: str, stock: str = BLOCK, *, setup: str = "", shop: str = "") -> Holding:
    return plan_of(holes + setup, stock, shop=shop).setups[0].holding


def test_strips_stand_at_both_jaws_where_nothing_comes_through() -> None:
    """Jaws of 30 mm and a grip of 8 leave 22; the part is 40 across the jaws."""
    assert holding(BLIND).strips == Strips(4, 22, (0, 36))


def test_strips_keep_clear_of_holes_that_come_through() -> None:
    """6 mm holes at 4 and 36: nothing from 0 to 8 nor from 32 to 40 with a millimetre beside."""
    strips = holding(THROUGH).strips
    assert strips == Strips(4, 22, (8, 28))


def test_a_tapped_hole_that_comes_through_counts_by_its_thread() -> None:
    tapped = '[[hole]]\ntap = "M8"\nat = [20, 4]\ndepth = "through"\n'
    assert holding(tapped).strips == Strips(4, 22, (9, 36))  # 4 + 8/2 + 1


def test_parallels_are_high_enough_for_what_comes_through() -> None:
    """A 10 mm drill through 20 mm with 8 mm beyond comes 11 mm out (point 0.3 d, handbook); with
    2 mm to spare it wants 13 mm below the part, whatever grip that leaves."""
    deep = '[[hole]]\ndrill = 10\nat = [30, 20]\ndepth = "through"\nbreakthrough = 8\n'
    shop = "[vice]\njaw = { height = 25 }\n"
    assert holding(deep, shop=shop).strips.height_mm == 16
    none = holding(deep, shop="[vice]\njaw = { height = 20 }\n")
    assert none.strips is None
    assert none.needs_backing


def test_no_room_is_told_and_backing_named() -> None:
    row = (
        '[[hole]]\nname = "row"\ndrill = 6\ndepth = "through"\n'
        "row = { start = [10, 5], step = [5, 6], count = 6 }\n"
    )
    plan = plan_of(row)
    (line,) = setups_of(plan)[0]["said"]["HOLD"]
    assert line.endswith("on flat backing under the whole part (no room for parallels).")
    (found,) = told("no-parallels", row)
    assert (found.severity, found.setup) == ("note", 1)
    assert found.message == ("setup 1: no pair of your parallels clears the through holes")
    backed = row + '[[setup]]\nface = "top"\nbacking = 6\n'
    assert not told("no-parallels", backed)


def asked(at: str) -> str:
    """Drilled through at Y 4 and 36, 6 mm wide, over parallels that the part file places."""
    parallels = f"parallels = {{ thickness = 4, height = 12, at = {at} }}"
    return f'{THROUGH}[[setup]]\nface = "top"\n{parallels}\n'


def test_a_hole_over_a_parallel_of_the_part_file_is_a_stop_and_its_remedy_a_cure() -> None:
    """The holes reach from 1 to 7 and from 33 to 39."""
    found = told("hole-over-parallel", asked("[5, 28]"))
    assert [(one.severity, one.setup, one.holes) for one in found] == [("stop", 1, ("edge 1",))]
    assert found[0].message == (
        'setup 1: hole "edge 1" comes through over the parallel at Y 5 to 9 mm'
    )
    places = re.search(r"at ([0-9.]+) and ([0-9.]+) mm", found[0].remedy)
    assert places is not None
    assert (places[1], places[2]) == ("8", "28")
    assert not told("hole-over-parallel", asked(f"[{places[1]}, {places[2]}]"))


def test_a_parallel_beside_a_hole_is_none_of_its_business() -> None:
    assert not told("hole-over-parallel", asked("[7, 29]"))
    assert len(told("hole-over-parallel", asked("[6.9, 29.1]"))) == 2
    blind = asked("[5, 28]").replace('depth = "through"', "depth = 9")
    assert not told("hole-over-parallel", blind)


def test_a_part_does_not_stand_on_one_side_of_its_middle() -> None:
    assert widest_apart([(0, 30)], 4, 15) == (0, 26)
    assert widest_apart([(0, 14)], 4, 15) is None  # both at one side: it would tip
    assert widest_apart([(12, 18)], 4, 15) is None  # room for one only
    assert widest_apart([(0, 3), (5, 9), (20, 26)], 4, 15) == (5, 22)


SPANS = st.lists(
    st.tuples(st.floats(-10, 110), st.floats(0.1, 20)).map(lambda one: (one[0], one[0] + one[1])),
    max_size=12,
)


@given(SPANS, st.floats(1, 12))
def test_no_strip_meets_a_hole_and_none_stands_farther_out(
    taken: list[tuple[float, float]], thickness: float
) -> None:
    """Against a search by steps of a tenth."""
    across = (0.0, 100.0)
    found = widest_apart(free_spans(across, taken), thickness, 50.0)
    starts = [step / 10 for step in range(int((100 - thickness) * 10) + 1)]
    clear = [
        start
        for start in starts
        if all(start + thickness <= low or start >= high for low, high in taken)
    ]
    if found is None:
        assert not clear or not (
            clear[0] + thickness <= clear[-1] and clear[0] < 50 < clear[-1] + thickness
        )
        return
    first, last = found
    for start in found:
        assert -1e-9 <= start <= 100 - thickness + 1e-9
        assert all(start + thickness <= low + 1e-9 or start >= high - 1e-9 for low, high in taken)
    assert first + thickness <= last + 1e-9
    assert not clear or (first <= clear[0] + 1e-9 and last >= clear[-1] - 1e-9)


def test_parallels_of_the_file_go_before_the_shops() -> None:
    setup = '[[setup]]\nface = "top"\nparallels = { thickness = 3, height = 15, at = [2, 30] }\n'
    assert holding(THROUGH, setup=setup).strips == Strips(3, 15, (2, 30))


def test_a_size_without_places_is_placed() -> None:
    setup = '[[setup]]\nface = "top"\nparallels = { thickness = 3, height = 15 }\n'
    assert holding(THROUGH, setup=setup).strips == Strips(3, 15, (8, 29))


def test_parallels_of_a_shop_file() -> None:
    shop = shop_of("[parallels]\nthickness = 3\nheights = [20, 10]\n")
    assert [(one.thickness_mm, one.height_mm) for one in shop.parallels] == [(3, 10), (3, 20)]
    assert holding(BLIND, shop="[parallels]\nthickness = 3\nheights = [20, 10]\n").strips == Strips(
        3, 20, (0, 37)
    )
    none = holding(BLIND, shop="[parallels]\nheights = []\n")
    assert (none.strips, none.needs_backing, none.grip_mm) == (None, False, 8)


def test_the_grip_is_what_the_parallels_leave() -> None:
    """Jaws of 30 mm less 22 of parallels; of an asked grip the file's figure."""
    assert holding(BLIND).grip_mm == 8
    assert holding(BLIND, setup='[[setup]]\nface = "top"\nvice = { grip = 6 }\n').grip_mm == 6
    assert holding(BLIND, "size = [60, 40, 60]").grip_mm == 20  # a third


def test_a_high_block_on_a_small_grip_is_told() -> None:
    tall = "size = [60, 40, 92]"
    setup = '[[setup]]\nface = "top"\nvice = { grip = 20 }\n'
    (found,) = told("high-block", BLIND + setup, tall)
    assert found.message == "setup 1: only 20.0 of 92 mm is in the jaws"
    assert not told("high-block", BLIND, "size = [60, 40, 60]")


def test_a_long_part_across_the_jaws_is_told_with_the_lay_that_holds_better() -> None:
    long = "size = [20, 70, 20]"
    (found,) = told("long-across-jaws", BLIND, long)
    assert found.message == "setup 1: the part is 70 mm across the jaws and 20 mm along them"
    assert found.remedy.startswith('towards_you = "left" or "right" for top')
    turned = BLIND + '[[setup]]\nface = "top"\ntowards_you = "right"\n'
    assert not told("long-across-jaws", turned, long)


def test_backing_and_clamps_need_no_parallels() -> None:
    held = holding(THROUGH, setup='[[setup]]\nface = "top"\nbacking = 6\n')
    assert (held.way, held.strips, held.needs_backing) == ("straps", None, False)


def test_places_of_strips_are_as_the_readout_shows_them() -> None:
    part = part_of(BLIND)
    for reversed_axes, words in (((), "Y 0 to 4, Y 36 to 40"), (("y",), "Y 0 to -4, Y -36 to -40")):
        shop = shop_of()
        readout = replace(shop.readout, reversed_axes=reversed_axes)
        setup = setup_of(part, SetupRequest("top"), 1)
        (line,) = hold_lines(
            part, shop, setup, Figures("mm", readout), holding_of(part, shop, setup)
        )
        assert f"up on parallels 22 high at {words}" in str(line)


def test_jaws_along_x_turn_the_strips() -> None:
    held = holding(BLIND, setup='[[setup]]\nface = "top"\nvice = { jaws = "x" }\n')
    assert (held.jaws_axis, held.strips) == (0, Strips(4, 22, (0, 56)))


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("Y 8 to 12", "Y 6 to 10"),  # under a hole that comes through
        ("Y 8 to 12", "X 8 to 12"),
        ("Y 28 to 32", "Y 42 to 46"),  # beside the part
        ("BACK against the fixed jaw", "FRONT against the fixed jaw"),
        ("LEFT up against the stop", "BACK up against the stop"),
        ("8 mm in the jaws", "80 mm in the jaws"),
        ("up on parallels", "on parallels across the jaws"),
    ],
)
def test_the_witness_notices_a_wrong_strip(good: str, bad: str) -> None:
    plan = plan_of(THROUGH)
    for form in ("text", "json", "html"):
        text = written("listing", make_listing(plan, "mm"), form)
        assert witnessed(text, form, plan) == []
        broken, count = re.subn(good.replace(" ", r"\s+"), bad, text, count=1)  # lines may break
        assert count == 1
        assert witnessed(broken, form, plan)


def witnessed(text: str, form: str, plan: Plan) -> list[Finding]:
    return check_listing(text.encode(), form, plan.part, plan.shop, file="sheet")  # type: ignore[arg-type]
