"""Zero found again: on faces, across the part, on jaw, stop, in a hole; discs; recovery; the head.

What must be read follows from where the finder's axis stands: half its diameter outside a face, or
half its diameter short of a jaw that it touches from the work's side (geometry).
"""

from __future__ import annotations

import itertools
import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import checked, plan_of, setups_of

from millprep.base.findings import Finding
from millprep.planning import Plan
from millprep.planning.head import (
    DRILLED_OFF_MM,
    FINISHED_OFF_MM,
    head_heights,
    length_mm,
    pair_off_mm,
    recovery_pair,
)
from millprep.sheets.listing import make_listing
from millprep.witness.listing import check_listing
from millprep.writers import written

BLOCK = "size = [60, 40, 20]"
HOLE = '[[hole]]\nname = "a"\ndrill = 4\nat = [20, 10]\ndepth = 5\n'
# A strap over an edge, in setup axes from a zero at LEFT and FRONT.
STRAP = '[[setup.obstacle]]\nname = "strap"\nfrom = [{0}]\nto = [{1}]\n'


def zero(
    holes: str,
    stock: str = BLOCK,
    *,
    number: int = 1,
    units: str = "mm",
    shop: str = "",
    **more: str,
) -> tuple[str, ...]:
    plan = plan_of(holes, stock, shop=shop, **more)
    assert witnessed(plan) == []
    said = setups_of(plan, units)[number - 1]["said"]  # type: ignore[arg-type]
    return (*said["PICK UP"], *said.get("CLOCK", ()), *said["TRY"])


def zero_on(holes: str, **more: str) -> str:
    (words,) = setups_of(plan_of(holes, BLOCK, **more))[0]["said"]["ZERO"]
    return str(words)


def witnessed(plan: Plan, text: str = "", form: str = "text") -> list[Finding]:
    """What the second witness says of a listing: of the plan's own in all forms, or of a text."""
    own = {
        one: written("listing", make_listing(plan, "mm"), one)
        for one in ("text", "csv", "json", "html")
    }
    return [
        finding
        for one, data in ({form: text} if text else own).items()
        for finding in check_listing(
            data.encode(),
            one,
            plan.part,
            plan.shop,
            file="sheet",
            skews={setup.setup.number: setup.skew_deg for setup in plan.setups},
        )  # type: ignore[arg-type]
    ]


def test_a_face_in_reach_is_touched() -> None:
    """And what lies opposite should read the size of the blank, 60 and 40, and half a finder."""
    assert zero_on(HOLE) == "X on LEFT, Y on FRONT, 10 mm edge finder:"
    assert zero(HOLE)[:2] == (
        "pick up LEFT, set X = -5.000; RIGHT should read +65.000",
        "pick up FRONT, set Y = -5.000; BACK should read +45.000",
    )


def test_what_a_reading_means_that_is_off() -> None:
    """On a centre the two touches say where it is; on a face, that the blank is not to size."""
    said = setups_of(plan_of(HOLE))[0]["said"]["OTHERWISE"]
    assert said == ["If RIGHT or BACK is off, measure the blank: leave the zero alone."]
    low = HOLE.replace("[20, 10]", "[-10, 10]")
    assert setups_of(plan_of(low, datum='x = "centre"\ny = "front"'))[0]["said"]["OTHERWISE"] == [
        "If RIGHT is off, stay there and set the mean of the two.",
        "If BACK is off, measure the blank: leave the zero alone.",
    ]


def test_what_the_mill_does_not_reach_is_not_to_be_read() -> None:
    """60 mm and a finder of 10 want 70 of travel."""
    for travel, is_told in ((70, True), (69, False)):
        shop = f"[mill]\ntravel = {{ x = [0, {travel}], y = [0, 145], z = [-280, 0] }}\n"
        assert ("RIGHT should read" in zero(HOLE, shop=shop)[0]) == is_told


def test_the_finders_speed_is_said_where_the_shop_file_says_it() -> None:
    shop = "[finder]\nspeed = 777\n"
    assert zero_on(HOLE, shop=shop).endswith(", 10 mm edge finder at 777 rev/min:")
    plan = plan_of(HOLE, BLOCK, shop=shop)
    text = written("listing", make_listing(plan, "mm"), "text")
    for other in (text.replace("777", "77"), text.replace(" at 777 rev/min", "")):
        assert "wrong-figure" in {one.kind for one in witnessed(plan, other)}
    assert "wrong-figure" in {
        one.kind for one in witnessed(plan, text.replace("10 mm edge", "6 mm edge"))
    }


def test_a_face_behind_a_clamp_is_found_from_the_opposite_one() -> None:
    """RIGHT lies at 60, the finder's axis 5 beyond: 65."""
    strap = HOLE + '[[setup]]\nface = "top"\n' + STRAP.format("-20, -5, -10", "5, 45, 12")
    assert zero(strap)[0] == (
        "pick up RIGHT, set X = 65.000; LEFT is out of reach, behind strap; measure LEFT to RIGHT: "
        "taken as 60.000"
    )
    measured = zero(strap, BLOCK + "\nmeasured = { x = 59.87 }")[0]
    assert "set X = 64.870; " in measured
    assert measured.endswith("taken as 59.870")


def test_a_clamp_over_part_of_an_edge_leaves_room_for_the_finder() -> None:
    strap = HOLE + '[[setup]]\nface = "top"\n' + STRAP.format("-20, -5, -10", "5, 20, 12")
    assert zero(strap)[0] == "pick up LEFT, set X = -5.000; RIGHT should read +65.000"


def test_a_centre_line_with_one_edge_out_of_reach() -> None:
    strap = HOLE + '[[setup]]\nface = "top"\n' + STRAP.format("-50, -5, -10", "-25, 45, 12")
    words = zero(strap.replace("[20, 10]", "[5, 10]"), datum='x = "centre"\ny = "front"')[0]
    assert words == (
        "pick up RIGHT, set X = 35.000; LEFT is out of reach, behind strap; measure LEFT to RIGHT: "
        "taken as 60.000"
    )


FLUSH = '[[setup]]\nface = "top"\nvice = { grip = 20 }\n'


def test_a_face_below_the_jaws_is_found_on_the_fixed_jaw() -> None:
    """60 mm of part in jaws of 100: the finder goes down beside it. BACK lies on the fixed jaw at
    Y 40; the finder, on the work's side of it, has its axis at 35."""
    assert zero(HOLE + FLUSH)[1] == (
        "pick up the fixed jaw beside BACK, set Y = 35.000; FRONT is out of reach, below the jaws; "
        "measure FRONT to BACK: taken as 40.000"
    )
    back = zero(HOLE + FLUSH, datum='x = "left"\ny = "back"')[1]
    assert back == (
        "pick up the fixed jaw beside BACK, set Y = -5.000; BACK is out of reach, below the jaws"
    )


def test_the_ends_are_in_reach_between_the_jaws() -> None:
    assert zero(HOLE + FLUSH)[0].startswith("pick up LEFT, set X = -5.000")


def test_a_part_that_sticks_out_of_the_jaws_is_touched_there() -> None:
    assert zero(HOLE + FLUSH, "size = [130, 40, 20]")[1].startswith("pick up FRONT, set Y = -5.000")


def test_two_millimetres_above_the_jaws_are_enough() -> None:
    above = FLUSH.replace("20", "18")
    assert zero(HOLE + above)[1].startswith("pick up FRONT, set Y = -5.000")


THROUGH = (
    '[[hole]]\nname = "pivot"\nream = 6\nat = [30, 20]\ndepth = "through"\n'
    '[[hole]]\nname = "big"\ndrill = 9\nat = [45, 20]\ndepth = "through"\n'
    '[[hole]]\nname = "under"\nface = "bottom"\ndrill = 3\nat = [10, 10]\ndepth = 4\n'
)


def test_a_hole_made_before_checks_the_zero() -> None:
    """BOTTOM up, BACK towards you, zero on LEFT and FRONT: Y runs from BACK to FRONT, so a hole 20
    from FRONT reads -20. The reamed one is asked before the wider drilled one."""
    assert "X 30.000 Y -20.000 should be over pivot (already made)." in zero(THROUGH, number=2)
    assert not any("already made" in line for line in zero(THROUGH, number=1))


def test_a_hole_made_before_gives_a_zero_that_nothing_else_does() -> None:
    """Clamped down with a strap along each side: no face of Y is free."""
    strap = '[[setup.obstacle]]\nname = "{0}"\nfrom = [-20, {1}, -10]\nto = [80, {2}, 12]\n'
    straps = strap.format("near strap", -60, -40) + strap.format("far strap", 0, 20)
    setups = f'[[setup]]\nface = "top"\n[[setup]]\nface = "bottom"\nbacking = 6\n{straps}'
    words = zero(THROUGH + setups, number=2)[1]
    assert words == (
        "pick up pivot (already made), set Y = -20.000; FRONT is out of reach, behind far strap"
    )


def test_the_fixed_jaw_is_touched_in_the_empty_vice_where_the_part_is_as_long_as_the_jaws() -> None:
    """BACK on the fixed jaw at Y 40; the finder of 10 mm stands at 35."""
    (words,) = zero(HOLE + FLUSH, "size = [100, 40, 20]")[1:2]
    assert words == (
        "before the part goes in, pick up the fixed jaw beside BACK, set Y = 35.000; FRONT is out "
        "of reach, below the jaws; measure FRONT to BACK: taken as 40.000"
    )


NARROW = "size = [60, 11, 20]"  # less than the finder and its room: it does not go down beside it


def test_a_zero_that_nothing_else_gives_is_found_on_the_stop() -> None:
    """Flush between the jaws and too narrow for the finder: the stop for LEFT stands at X 0, and
    the finder, on the work's side of it, has its axis at 5; for a zero in the middle at -25."""
    low = HOLE.replace("20, 10", "20, 5")
    assert zero(low + FLUSH, NARROW)[0] == (
        "before the part goes in, pick up the stop for LEFT, set X = 5.000; LEFT is out of reach, "
        "below the jaws"
    )
    right = zero(low + FLUSH, NARROW, datum='x = "right"\ny = "front"', units="inch")[0]
    assert right == (
        "before the part goes in, pick up the stop for RIGHT, set X = -0.1968; RIGHT is out of "
        "reach, below the jaws"
    )
    middle = zero(low.replace("20, 5", "5, 5") + FLUSH, NARROW, datum='x = "centre"\ny = "front"')
    assert middle[0].startswith(
        "before the part goes in, pick up the stop for LEFT, set X = -25.000; LEFT is out of reach"
    )
    assert middle[0].endswith("measure LEFT to RIGHT: taken as 60.000")


def test_a_zero_out_of_reach_is_told() -> None:
    strap = '[[setup.obstacle]]\nname = "{0}"\nfrom = [-20, {1}, -10]\nto = [80, {2}, 12]\n'
    straps = strap.format("near strap", -20, 0) + strap.format("far strap", 40, 60)
    plan = plan_of(f'{HOLE}[[setup]]\nface = "top"\nbacking = 6\n{straps}')
    (found,) = [one for one in checked(plan) if one.kind == "zero-out-of-reach"]
    assert found.message == (
        "setup 1: the finder cannot reach FRONT for the zero of Y: behind near strap"
    )
    assert (found.severity, found.setup) == ("warning", 1)
    assert witnessed(plan) == []


DISC = {"stock": "diameter = 40\nlength = 6", "datum": 'x = "centre"\ny = "centre"'}


def test_a_disc_is_touched_on_both_sides_or_clocked() -> None:
    lines = zero('[[hole]]\ndrill = 4\nat = [10, 0]\ndepth = "through"\n', **DISC)
    assert lines[:2] == (
        "pick up LEFT, set X = -25.000; RIGHT should read +25.000",
        "pick up FRONT, set Y = -25.000; BACK should read +25.000",
    )
    assert lines[2] == (
        "or truer, with a DTI in the spindle: clock the rim to 0.02 mm total reading, then set X "
        "= 0.000, Y = 0.000."
    )
    bored = zero(
        '[[hole]]\ndrill = 4\nat = [10, 0]\ndepth = "through"\n',
        DISC["stock"] + "\nbore = 8",
        datum=DISC["datum"],
        units="inch",
    )
    assert bored[2].startswith("or truer, with a DTI in the spindle: clock the bore to 0.0008 in ")


def test_a_disc_that_is_zeroed_on_its_rim_is_clocked_about_its_middle() -> None:
    lines = zero(HOLE.replace("20, 10", "20, 20"), DISC["stock"], datum='x = "left"\ny = "back"')
    assert lines[2].endswith("then set X = 20.000, Y = -20.000.")


def test_the_first_hole_is_tried_by_rule() -> None:
    assert zero(HOLE)[-1] == (
        "a at X 20.000 Y 10.000; check with a rule: 20.0 mm from LEFT, 10.0 mm from FRONT."
    )
    # A rule reads to a 64th: 20 mm are 0.7874 in, 50.4 64ths; 10 mm are 25.2 64ths.
    assert zero(HOLE, units="inch")[-1].endswith("rule: 25/32 in from LEFT, 25/64 in from FRONT.")


# Recovery: which two holes give a lost zero back.


def drilled(places: list[tuple[float, float]], words: str = "drill = 4") -> str:
    return "".join(
        f'[[hole]]\nname = "{words[:1]}{n}"\n{words}\nat = [{x}, {y}]\ndepth = "through"\n'
        for n, (x, y) in enumerate(places, 1)
    )


def test_recovery_takes_the_two_that_lie_farthest_apart() -> None:
    said = setups_of(plan_of(drilled([(10, 10), (50, 12), (30, 30)])))[0]["said"]
    # sqrt(40^2 + 2^2) = 40.04997
    assert said["RECOVER"] == [
        "If you lose zero, pick up again from d1 (X 10.000 Y 10.000) and d2 (X 50.000 Y 12.000), "
        "40.050 apart."
    ]


def test_reamed_holes_nearly_as_far_apart_are_truer() -> None:
    reamed = drilled([(12, 12), (48, 30)], "ream = 6")
    (line,) = setups_of(plan_of(drilled([(6, 6), (54, 34)]) + reamed))[0]["said"]["RECOVER"]
    assert "from r1 (" in line
    assert "and r2 (" in line


def test_what_no_pin_goes_into_gives_no_zero_back() -> None:
    small_or_tapped = drilled([(10, 10)], "drill = 2") + drilled([(50, 10), (30, 30)], 'tap = "M6"')
    assert "RECOVER" not in setups_of(plan_of(small_or_tapped))[0]["said"]


@settings(max_examples=25)
@given(
    st.lists(
        st.tuples(st.integers(6, 194), st.integers(6, 94), st.booleans()),
        min_size=2,
        max_size=12,
        unique_by=lambda one: one[:2],
    )
)
def test_no_other_pair_is_noticeably_better(places: list[tuple[int, int, bool]]) -> None:
    """Against every pair. Off the mark: e of each in root sum of squares, halved for the zero, and
    turned by sqrt(e1^2 + e2^2) / L at the reach of the work (geometry)."""
    holes = "".join(
        f'[[hole]]\nname = "h{n}"\n{"ream = 6" if is_reamed else "drill = 4"}\nat = [{x}, {y}]\n'
        'depth = "through"\nallow = ["holes overlap", "thin wall"]\n'
        for n, (x, y, is_reamed) in enumerate(places)
    )
    operations = plan_of(holes, "size = [200, 100, 10]").setups[0].operations
    pair = recovery_pair(operations, 112.0)
    off = {True: FINISHED_OFF_MM, False: DRILLED_OFF_MM}

    def cost(one: tuple[int, int, bool], other: tuple[int, int, bool]) -> float:
        apart = math.dist(one[:2], other[:2])
        together = math.hypot(off[one[2]], off[other[2]])
        return together / 2 + together / apart * 112.0 if apart >= 3 else math.inf

    best = min(cost(*two) for two in itertools.combinations(places, 2))
    assert (pair is None) == math.isinf(best)  # holes too close to each other turn the work
    if pair is not None:
        chosen = cost(*(places[int(one.hole.name[1:])] for one in pair))
        assert chosen <= best * 1.05
        assert pair_off_mm(*pair, 112.0) == pytest.approx(chosen)


# The head of a round column.

LOSES = '[mill]\nhead_moves = "loses"\nquill_travel = {0}\n'


def test_a_head_that_keeps_its_place_is_not_spoken_of() -> None:
    assert not {"HEAD", "HEIGHTS"} & {*setups_of(plan_of(HOLE))[0]["said"]}


def test_the_sum_of_the_quill() -> None:
    """Jobber drills of 4 and 10 mm are 75 and 133 long, a 10 mm stub 89 (ISO 235, from memory):
    133 - 75 + 23 (10 mm through 20: point 0.3 d, 1 beyond, so 24.0) + 5."""
    holes = HOLE + '[[hole]]\nname = "b"\ndrill = 10\nat = [40, 20]\ndepth = "through"\n'
    plan = plan_of(holes, shop=LOSES.format(120))
    (height,) = head_heights(plan.setups[0].operations, plan.shop)
    lengths = {tool.words: length_mm(tool) for tool in height.tools if tool.kind == "drill"}
    assert (lengths["4.0 mm" if "4.0 mm" in lengths else "4 mm"], length_mm(height.longest)) == (
        75,
        133,
    )
    assert height.needed_mm == pytest.approx(133 - length_mm(height.shortest) + 24.0 + 5, abs=0.01)
    assert witnessed(plan) == []


def test_tools_are_grouped_so_that_the_head_moves_seldom() -> None:
    holes = HOLE + '[[hole]]\nname = "b"\ndrill = 10\nat = [40, 20]\ndepth = "through"\n'
    plan = plan_of(holes, shop=LOSES.format(60))
    heights = head_heights(plan.setups[0].operations, plan.shop)
    assert len(heights) > 1
    assert all(one.needed_mm <= 60 or len(one.tools) == 1 for one in heights)
    for one, other in itertools.pairwise(heights):  # none of the next would have gone in as well
        sizes = [length_mm(tool) for tool in (*one.tools, other.tools[0])]
        assert max(sizes) - min(sizes) + 5 + one.deepest_mm > 60 - 24.0
    assert setups_of(plan)[0]["said"]["HEAD"] == [
        "the head moves once and loses X and Y: pick them up again there; the order of tools "
        "moves it least."
    ]
    assert {one.kind for one in checked(plan)} >= {"head-has-to-move"}
    assert witnessed(plan) == []


def test_a_length_of_the_shop_file_goes_before_the_table() -> None:
    shop = LOSES.format(120) + "[drawer]\ndrills = [{ diameter = 4, length = 55 }]\n"
    plan = plan_of(HOLE, shop=shop)
    (height,) = head_heights(plan.setups[0].operations, plan.shop)
    assert 55 in [length_mm(tool) for tool in height.tools]


# Notes on the lay.


def told(kind: str, holes: str, **more: str) -> list[Finding]:
    return [one for one in checked(plan_of(holes, BLOCK, **more)) if one.kind == kind]


def test_locating_bores_want_to_come_first() -> None:
    side = '[[hole]]\nname = "dowel"\nface = "front"\nream = 4\nat = [30, 10]\ndepth = 8\n'
    (found,) = told("locating-late", HOLE + side)
    assert found.message == 'setup 2: "dowel" is finished here, after other holes'
    assert told("locating-late", HOLE + side + '[[setup]]\nface = "front"\n') == []
    # One that a hole drilled later runs into is rightly reamed last.
    crossed = HOLE.replace("depth = 5", 'depth = { into = "dowel" }').replace("[20, 10]", "[30, 4]")
    assert told("locating-late", crossed + side) == []


def test_a_face_that_is_cut_away_is_told_where_it_is_needed() -> None:
    """A bore of 36 mm takes 1018 of the 1600 square millimetres of TOP; BOTTOM up stands on it."""
    holes = (
        '[[hole]]\nname = "well"\nbore = 36\nat = [20, 20]\ndepth = 10\n'
        '[[hole]]\nname = "under"\nface = "bottom"\ndrill = 3\nat = [5, 5]\ndepth = 4\n'
    )
    found = [
        one for one in checked(plan_of(holes, "size = [40, 40, 20]")) if one.kind == "face-cut-away"
    ]
    assert [one.message for one in found] == [
        "setup 2: TOP is to sit on, and earlier setups have cut away 64% of it"
    ]
    assert found[0].remedy == 'put [[setup]] with face = "bottom" before them'


def test_no_order_of_setups_saves_the_faces_of_a_hole_from_both_ends() -> None:
    """13 mm in a bar of 15 mm square: 133 of 225 square millimetres of either face."""
    holes = '[[hole]]\ndrill = 13\nat = [7.5, 7.5]\ndepth = "through"\nfrom_both_ends = true\n'
    found = [
        one for one in checked(plan_of(holes, "size = [15, 15, 40]")) if one.kind == "face-cut-away"
    ]
    assert [one.remedy for one in found] == [
        "let it bear on what is left, with strips or a ring under that, clear of the holes"
    ]


# Broken on purpose: every new figure is read back.


def slips() -> list[tuple[str, str, str]]:
    """(what stands in the listing, how it is broken, part): each once in its text."""
    return [
        ("over front to back", "over end for end, as a page is turned", "through"),
        ("From TOP up, FRONT", "From TOP up, BACK", "through"),
        ("X 30.000 Y -20.000 should", "X 30.010 Y -20.000 should", "through"),
        ("under at X 10.000 Y -10.000", "under at X 10.000 Y 10.000", "through"),
        ("rule: 10.0 mm from LEFT", "rule: 10.2 mm from LEFT", "through"),
        ("RIGHT should read +65.000", "RIGHT should read +60.000", "through"),
        ("RIGHT or BACK is off", "LEFT or BACK is off", "head"),
        ("pivot (X 30.000 Y 20.000", "pivot (X 30.000 Y 20.005", "through"),
        ("15.000 apart", "15.010 apart", "through"),
        ("taken as 40.000", "taken as 40.010", "flush"),
        ("set Y = 35.000", "set Y = 45.000", "flush"),
        ("pick up the stop for LEFT", "pick up LEFT", "stop"),
        ("the stop for LEFT", "the fixed jaw beside LEFT", "stop"),
        ("before the part goes in, ", "", "stop"),
        ("LEFT up against the stop", "RIGHT up against the stop", "stop"),
        ("set X = 5.000", "set X = -5.000", "stop"),
        ("then set X = 0.000,", "then set X = 0.005,", "disc"),
        ("deepest 6.2", "deepest 6.9", "head"),
        ("pick up LEFT and FRONT again", "pick up LEFT and BACK again", "moves"),
        ("pick up LEFT and FRONT again", "pick up FRONT and LEFT again", "moves"),
        ("pick up LEFT and FRONT again", "pick up LEFT again", "moves"),
        ("the head before step 5", "the head before step 4", "moves"),
        ("of the quill", "of quills", "head"),
    ]


PARTS = {
    "through": lambda: plan_of(THROUGH),
    "flush": lambda: plan_of(HOLE + FLUSH),
    "stop": lambda: plan_of(HOLE.replace("20, 10", "20, 5") + FLUSH, NARROW),
    "disc": lambda: plan_of('[[hole]]\ndrill = 4\nat = [10, 0]\ndepth = "through"\n', **DISC),
    "head": lambda: plan_of(HOLE, shop=LOSES.format(60)),
    "moves": lambda: plan_of(
        HOLE + '[[hole]]\nname = "b"\ndrill = 10\nat = [40, 20]\ndepth = "through"\n',
        shop=LOSES.format(60),
    ),
}


@pytest.mark.parametrize(("good", "bad", "name"), slips())
def test_the_witness_notices(good: str, bad: str, name: str) -> None:
    plan = PARTS[name]()
    for form in ("text", "json"):
        text = written("listing", make_listing(plan, "mm"), form)
        broken, count = re.subn(re.escape(good).replace(r"\ ", r"\s+"), bad, text, count=1)
        assert count == 1, text
        assert witnessed(plan, broken, form), (form, good)


FAR = "        Far side off, zero on a face: measure the blank, leave the zero alone.\n"


@pytest.mark.parametrize(
    "bad",
    [
        "",
        FAR + FAR,
        FAR.replace("alone", "to suit"),
        "        Far side off, zero on the centre: stay there, set the mean of the two.\n",
        "        If RIGHT or BACK is off, measure the blank: leave the zero alone.\n",
    ],
)
def test_what_is_told_once_for_all_setups_is_told_so_and_once(bad: str) -> None:
    plan = PARTS["through"]()
    text = str(written("listing", make_listing(plan, "mm"), "text"))
    assert text.count(FAR) == 1
    assert witnessed(plan, text.replace(FAR, bad))


def test_a_turn_that_is_left_out_is_missed() -> None:
    plan = plan_of(THROUGH)
    text = written("listing", make_listing(plan, "mm"), "text")
    start, end = text.index("TURN "), text.index("SET UP ", text.index("TURN "))
    found = witnessed(plan, text[:start] + text[end:])
    assert "0 sentences of turn, not 1" in found[0].message


def test_names_that_look_like_the_sheets_own_words_are_read() -> None:
    names = ["LEFT to RIGHT", "a, made before, it must read X 1 Y 2.", "b: by rule 3 mm", "c; 5: x"]
    holes = "".join(
        f'[[hole]]\nname = "{name}"\ndrill = 5\nat = [{10 + 12 * n}, {8 + 6 * n}]\n'
        'depth = "through"\n'
        for n, name in enumerate(names)
    )
    under = '[[hole]]\nname = "u"\nface = "bottom"\ndrill = 3\nat = [30, 5]\ndepth = 4\n'
    assert witnessed(plan_of(holes + under)) == []
