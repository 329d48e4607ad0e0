"""Dials: turns and figures against plain arithmetic, and the way past a place."""

import json
import math
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import RICH, RICH_STOCK, millprep, part_text, plan_of

from millprep.model.shop import Dial
from millprep.planning.dials import Handle, Setting, marked_otherwise
from millprep.sheets.dials import make_dial_sheet
from millprep.sheets.document import Document
from millprep.sheets.listing import make_listing
from millprep.writers import written

LEADS_MM = (1.25, 1.5, 2.0, 2.5, 2.54, 3.0, 3.175, 5.0, 5.08)
DIVISIONS = (40.0, 50.0, 60.0, 62.5, 80.0, 100.0, 125.0, 200.0, 250.0)


def dials_of(holes: str, stock: str, **more: str) -> Document:
    units = more.pop("units", "mm")
    return make_dial_sheet(plan_of(holes, stock, **more), units)  # type: ignore[arg-type]  # mm, inch


def told(document: Document) -> Any:
    """The sheet as its JSON."""
    return json.loads(written(document.sheet, document, "json"))


@settings(max_examples=400)
@given(
    st.floats(-400, 400),
    st.sampled_from(LEADS_MM),
    st.sampled_from(DIVISIONS),
    st.sampled_from(["+", "-"]),
    st.sampled_from(["clockwise", "anticlockwise"]),
    st.sampled_from([1, -1]),
)
def test_turns_and_divisions_lie_within_half_a_division(
    position: float, lead: float, divisions: float, clockwise: str, rise: str, way: int
) -> None:
    dial = Dial(lead, divisions, 0.1, clockwise, rise)  # type: ignore[arg-type]  # its words
    setting = Handle("x", dial, way).setting(position)
    away = setting.turns * lead + float(setting.division) * lead / divisions
    assert abs(away - abs(position)) <= lead / divisions / 2 + 1e-9
    assert 0 <= setting.division < divisions
    assert 0 <= setting.reading < divisions
    assert setting.reading in (setting.division, Decimal(repr(divisions)) - setting.division)
    signed = -away if setting.negative else away
    assert position - signed == pytest.approx(setting.left_over_mm, abs=1e-9)


@settings(max_examples=100)
@given(st.floats(-300, 300), st.sampled_from(LEADS_MM), st.floats(-500, 500))
def test_a_corrected_screw_is_counted_by_what_it_truly_moves(
    position: float, lead: float, ppm: float
) -> None:
    dial = Dial(lead, 100, correction_ppm=ppm)
    setting = Handle("x", dial, 1).setting(position)
    true_lead = lead * (1 + ppm / 1e6)
    away = setting.turns * true_lead + float(setting.division) * true_lead / 100
    assert abs(away - abs(position)) <= true_lead / 200 + 1e-9


def test_rounding_never_adds_up_along_a_row() -> None:
    """0.4 in pitch on a 2.5 mm screw of 100 divisions: 406.4 divisions a step (arithmetic).

    Chained, ten rounded steps of 406 would end 0.100 mm short; from zero none is 0.0125 out.
    """
    pitch = Fraction(254, 25)
    handle = Handle("x", Dial(2.5, 100), 1)
    for step in range(11):
        exact = float(step * pitch)
        setting = handle.setting(exact)
        counts = Fraction(step * pitch, Fraction(25, 1000))
        assert setting.turns * 100 + int(setting.division) == math.floor(counts + Fraction(1, 2))
        assert abs(setting.left_over_mm) <= 0.0125


@pytest.mark.parametrize(
    ("clockwise", "rise", "position", "reading"),
    [  # 10.05 mm is 4 turns and 2 divisions of 0.025 mm
        ("+", "clockwise", 10.05, 2),
        ("+", "clockwise", -10.05, 98),
        ("+", "anticlockwise", 10.05, 98),
        ("+", "anticlockwise", -10.05, 2),
        ("-", "clockwise", 10.05, 98),
        ("-", "anticlockwise", 10.05, 2),
        ("+", "clockwise", -10.0, 0),  # a whole number of turns shows 0 either way
    ],
)
def test_figure_under_the_line(clockwise: str, rise: str, position: float, reading: int) -> None:
    dial = Dial(2.5, 100, 0.1, clockwise, rise)  # type: ignore[arg-type]  # its words
    setting = Handle("x", dial, 1).setting(position)
    assert (setting.turns, setting.reading) == (4, reading)
    assert setting.negative is (position < 0)


def test_a_dial_of_62_and_a_half_divisions_is_counted_as_such() -> None:
    """1/16 in screw in thousandths: 63 divisions are a turn and a half division."""
    setting = Handle("x", Dial(25.4 / 16, 62.5), 1).setting(63 * 0.0254)
    assert (setting.turns, setting.division) == (1, Decimal("0.5"))


def test_the_hand_turns_as_the_shop_file_says() -> None:
    assert Handle("x", Dial(2.5, 100), 1).hand(1) == "clockwise"
    assert Handle("x", Dial(2.5, 100, clockwise="-"), 1).hand(1) == "anticlockwise"
    assert Handle("y", Dial(2.5, 100, clockwise="-"), 1).hand(-1) == "clockwise"


def test_a_readout_that_counts_the_other_way_changes_the_sign_alone() -> None:
    plain, turned = (
        Handle("y", Dial(2.5, 100), 1, it_is).setting(10.06) for it_is in (False, True)
    )
    assert (plain.turns, plain.reading) == (turned.turns, turned.reading)
    assert (plain.negative, turned.negative) == (False, True)
    assert plain.left_over_mm == pytest.approx(-turned.left_over_mm)


@settings(max_examples=150)
@given(
    st.lists(st.floats(-100, 100), min_size=1, max_size=12),
    st.sampled_from([1, -1]),
    st.floats(0, 2),
)
def test_every_place_is_come_up_to_from_the_same_side(
    positions: list[float], way: int, backlash: float
) -> None:
    handle = Handle("x", Dial(2.5, 100, backlash), way)
    before = 0.0
    for position, wound in zip(positions, handle.wind(positions), strict=True):
        back, here = wound.back_off, stands_mm(wound.setting)
        if back is None:
            assert (here - before) * way >= -1e-9  # the handle itself never turns back unsaid
        else:
            past = (position - stands_mm(back)) * way
            # half a turn or three times the backlash (common practice), and one division at most
            least = max(1.25, 3 * backlash)
            assert least - 1e-9 <= past <= least + 0.025 + 1e-9
        before = here


def stands_mm(setting: Setting) -> float:
    """Where a setting of a dial of 2.5 mm and 100 divisions puts the axis."""
    return (setting.turns * 100 + float(setting.division)) * (-0.025 if setting.negative else 0.025)


@pytest.mark.parametrize("divisions", [-0.5, -0.4, -0.6, -1.5, -100.5, 0.5, 1.5])
@pytest.mark.parametrize("way", [1, -1])
def test_a_place_half_a_division_off_zero_is_come_up_to_by_whole_divisions(
    divisions: float, way: int
) -> None:
    (wound,) = Handle("y", Dial(2.5, 100), way).wind([divisions * 0.025])
    assert (wound.back_off is not None) == (stands_mm(wound.setting) * way < -1e-9)
    assert abs(stands_mm(wound.setting) - divisions * 0.025) <= 0.0125 + 1e-9


@pytest.mark.parametrize(
    ("lead", "divisions", "trap"),
    [
        (2.5, 100, "0.001 in, as on a screw of 0.1 in"),  # the known one: 1.6 % in every move
        (2.54, 125, "0.02 mm, as on a screw of 2.5 mm"),
        (2.54, 100, ""),
        (2.5, 125, ""),
        (2.0, 100, ""),
        (5.0, 200, "0.001 in, as on a screw of 0.2 in"),
        # by hand: 1.25 mm are 0.0492 in, 3.2 mm 0.126 in; 1.27 mm are 0.05 in, 5.08 mm 0.2 in
        (1.25, 50, "0.001 in, as on a screw of 0.05 in"),
        (3.2, 125, "0.001 in, as on a screw of 0.125 in"),
        (1.27, 125, "0.01 mm, as on a screw of 1.25 mm"),
        (5.08, 250, "0.02 mm, as on a screw of 5 mm"),
        (5.08, 100, "0.05 mm, as on a screw of 5 mm"),
        (2.54, 250, "0.01 mm, as on a screw of 2.5 mm"),
        (2.5, 101, ""),
        # under 0.2 % off it is that screw, over 2.5 % it is another
        (2.54 * 0.999, 100, ""),
        (2.54 * 0.997, 100, "0.001 in, as on a screw of 0.1 in"),
        (2.54 * 0.976, 100, "0.001 in, as on a screw of 0.1 in"),
        (2.54 * 0.974, 100, ""),
    ],
)
def test_rings_that_may_be_marked_in_the_other_unit(
    lead: float, divisions: float, trap: str
) -> None:
    assert marked_otherwise(Dial(lead, divisions)) == trap


def test_sheet_has_the_fields_of_the_contract() -> None:
    sheet = told(dials_of(RICH, RICH_STOCK))
    step = sheet["setups"][0]["steps"][0]
    for axis in "xy":
        assert {"turns", "division", "negative", "reading", "left_over_mm"} <= set(step[axis])
    assert step["z_dial"] is None


def test_steps_are_those_of_the_listing() -> None:
    plan = plan_of(RICH, RICH_STOCK)
    same = ("step", "hole", "operation", "tool", "z", "pecks", "turns", "rpm", "by_hand")
    sheets = [told(make(plan, "mm"))["setups"] for make in (make_dial_sheet, make_listing)]
    by_dial, by_readout = (
        [[step[name] for name in same] for setup in setups for step in setup["steps"]]
        for setups in sheets
    )
    assert by_dial == by_readout


def test_depth_by_dial_where_the_shop_has_one() -> None:
    """A knee of 3 mm a turn and 60 divisions: 12.4 mm is 4 turns and 8 divisions of 0.05 mm."""
    shop = '[dials]\nz = { lead = 3, divisions = 60, clockwise = "-" }'
    hole = "[[hole]]\ndrill = 4\nat = [10, 10]\ndepth = 8\nspot = false\n"
    (step,) = told(dials_of(hole, "size = [60, 40, 20]", shop=shop))["setups"][0]["steps"]
    exact = 8 + 4 / 2 / math.tan(math.radians(59))
    counts = round(exact / 0.05)
    dial = step["z_dial"]
    assert (dial["turns"], dial["division"]) == divmod(counts, 60)
    assert dial["reading"] == dial["division"]  # down is clockwise, and the figures grow with it


def test_zero_of_a_centre_line_is_reached_from_one_side() -> None:
    """60 mm wide, finder of 10: from the touch 35 mm to the middle, 14 turns of 2.5 mm."""
    hole = "[[hole]]\ndrill = 4\nat = [0, 0]\ndepth = 8\n"
    dials = dials_of(hole, "size = [60, 40, 20]", datum='x = "centre"\ny = "centre"')
    zero = told(dials)["setups"][0]["said"]["ZERO"][0]
    assert "go on 14 turns, figure 0, set the dial to 0 again" in zero
    assert "over the centre line" in zero


def test_the_corner_from_which_the_figures_always_count_up() -> None:
    hole = "[[hole]]\ndrill = 4\nat = [10, 10]\ndepth = 8\n"
    (plain,) = told(dials_of(hole, "size = [60, 40, 20]"))["setups"]
    assert plain["said"]["DIALS"][-1] == "From this zero the figures always count up."
    shop = '[dials]\ny = { lead = 2.5, divisions = 100, clockwise = "-" }'
    (other,) = told(dials_of(hole, "size = [60, 40, 20]", shop=shop))["setups"]
    words = "With zero on LEFT and BACK the figures would always count up."
    assert other["said"]["DIALS"][-1] == words


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("order", ["tool", "hole", "row"])
def test_text_stays_within_80_columns(units: str, order: str) -> None:
    long = RICH.replace('"screw"', f'"{"s" * 40}"').replace('"pivot"', f'"{"pivot " * 6}hole"')
    text = str(written("dials", dials_of(long, RICH_STOCK, units=units, order=order), "text"))
    assert max(map(len, text.splitlines())) <= 80


def test_command_hands_over_a_sheet_that_was_read_back() -> None:
    ran = millprep("dials", "parts/tie-bar.toml", "--order", "row", "--format", "json")
    assert ran.status == 0
    assert {"part", "units", "findings", "setups"} <= set(ran.json)
    text = millprep("dials", "parts/tie-bar.toml")
    assert text.status == 0
    assert "X turns" in text.out


@pytest.mark.parametrize("y", ["-0.0005", "-0.0004", "-0.0006", "-0.0015", "0.0005"])
def test_a_hole_half_a_division_off_the_zero_has_a_sheet(in_folder: Path, y: str) -> None:
    """Dials of 0.001 in, zero on the centre: writer and reader agree on the tie."""
    hole = f'[[hole]]\nname = "a"\ndrill = "1/8"\ndepth = 0.3\nat = [1, {y}]\n'
    stock, datum = "size = [2, 1.5, 0.75]", 'x = "left"\ny = "centre"'
    text = part_text(hole, stock, units="inch", material="brass", datum=datum)
    Path("tie.toml").write_text(text)
    ran = millprep("dials", "tie.toml", "--shop", "inch", "--format", "json")
    assert ran.status == 0, ran.err
    for step in ran.json["setups"][0]["steps"]:
        at = step["y"]
        thou = (at["turns"] * 100 + float(at["division"])) * (-1 if at["negative"] else 1)
        assert abs(thou - 1000 * float(y)) <= 0.5 + 1e-6
        assert 1000 * float(y) - thou == pytest.approx(at["left_over_mm"] / 0.0254, abs=1e-4)


def test_command_refuses_an_unknown_order() -> None:
    ran = millprep("dials", "parts/tie-bar.toml", "--order", "sideways")
    assert ran.status == 2
    assert "accepted: tool, hole, row" in ran.err
