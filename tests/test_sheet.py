"""The sheet: figures rounded once, the words around them, and the text within its columns."""

import csv
import io
import json
from decimal import Decimal

import pytest
from jobs import RICH, RICH_STOCK, checked, part_of, plan_of, shop_of
from setup_sheet import Sheet, filtered, make_sheet

from millprep.planning import make_plan
from millprep.sheets.listing import make_listing
from millprep.writers import written

BLOCK_25 = "size = [60, 25.4, 19.05]"
SCREWS = (
    '[[hole]]\nname = "cover screw"\ntap = "M4"\ndepth = 8\n'
    "circle = { centre = [30, { centre_y = 0 }], diameter = 18, count = 4, start = 45 }\n"
)
PIVOT = (
    '[[hole]]\nname = "pivot"\nface = "front"\nream = "1/4 in"\n'
    'at = { left = 48, top = "3/8 in" }\ndepth = "through"\n'
)


def sheet_of(
    holes: str,
    stock: str = BLOCK_25,
    *,
    units: str = "mm",
    shop: str = "",
    order: str = "tool",
    **more: str,
) -> Sheet:
    plan = plan_of(holes, stock, shop=shop, order=order, **more)
    return make_sheet(plan, units, checked(plan))  # type: ignore[arg-type]  # mm or inch


def text_of(
    holes: str,
    stock: str = BLOCK_25,
    form: str = "text",
    *,
    units: str = "mm",
    shop: str = "",
    order: str = "tool",
    **more: str,
) -> str:
    plan = plan_of(holes, stock, shop=shop, order=order, **more)
    document = make_listing(plan, units, checked(plan))  # type: ignore[arg-type]  # mm or inch
    return str(written("listing", document, form))


def test_circle_figures_are_rounded_once() -> None:
    """sin 45 = 0.70711 (handbook): 9 x 0.70711 = 6.36396 about 30 and 12.7; counts of 0.005."""
    steps = sheet_of(SCREWS).setups[0].steps
    places = {(step.x, step.y) for step in steps}
    assert places == {
        (Decimal(x), Decimal(y)) for x in ("23.635", "36.365") for y in ("6.335", "19.065")
    }
    for step in steps:
        assert abs(float(step.x) - step.x_exact_mm) <= 0.0025 + 1e-9
        assert abs(float(step.y) - step.y_exact_mm) <= 0.0025 + 1e-9


def test_rounding_never_adds_up() -> None:
    """Twenty steps of 3.333 mm: the last is 66.660 from the first, not twenty rounded steps."""
    row = (
        "[[hole]]\ndrill = 1\ndepth = 2\nrow = { start = [5, 5], step = [3.3333, 0], count = 21 }\n"
    )
    steps = [
        s for s in sheet_of(row, "size = [80, 20, 10]").setups[0].steps if s.operation == "drill"
    ]
    assert steps[-1].x == Decimal("71.665")  # 5 + 66.666 = 71.666


def test_inches_in_steps_of_the_inch_count() -> None:
    steps = sheet_of(PIVOT, units="inch").setups[0].steps
    assert {step.x for step in steps} == {Decimal("1.8898")}  # 48 / 25.4 = 1.88976
    assert {step.y for step in steps} == {Decimal("0.3750")}
    for step in steps:
        assert (step.z / Decimal("0.0002")) % 1 == 0


def test_no_minus_nought() -> None:
    on_zero = "[[hole]]\ndrill = 4\nat = [0.001, -0.001]\ndepth = 5\n"
    datum = 'x = "centre"\ny = "centre"'
    assert {str(step.y) for step in sheet_of(on_zero, datum=datum).setups[0].steps} == {"0.000"}
    assert "-0.000" not in text_of(on_zero, datum=datum)


def test_reversed_readout_reverses_the_figures() -> None:
    plain = sheet_of(SCREWS).setups[0].steps
    turned = sheet_of(SCREWS, shop='[readout]\nreversed = ["y"]').setups[0].steps
    assert [step.y for step in turned] == [-step.y for step in plain]
    assert [step.x for step in turned] == [step.x for step in plain]
    assert [step.y_exact_mm for step in turned] == [step.y_exact_mm for step in plain]


def test_places_say_in_words_where_the_first_of_each_pattern_lies() -> None:
    assert sheet_of(SCREWS).setups[0].places == (
        "cover screw 1: 36.365 from LEFT, 19.065 from FRONT",
    )
    from_back = sheet_of(SCREWS, datum='x = "left"\ny = "back"').setups[0]
    # Angles are counted in the view, whatever the datum: 45 degrees is up and to the right.
    assert from_back.places == ("cover screw 1: 36.365 from LEFT, 6.335 from BACK",)


def test_from_the_centre_towards_a_face() -> None:
    holes = '[[hole]]\nname = "a"\ndrill = 4\nat = [-12, 0]\ndepth = 5\n'
    sheet = sheet_of(holes, datum='x = "centre"\ny = "centre"')
    assert sheet.setups[0].places == (
        "a: 12.000 from the centre towards LEFT, on the centre between FRONT and BACK",
    )


def test_look_line_after_spotting() -> None:
    block = sheet_of(SCREWS).setups[0].blocks[0]
    assert block.heading.startswith("spot drill")
    # Across the bolt circle of 18 mm.
    assert block.after[0] == "LOOK: 4 spots. cover screw 3 to cover screw 1: 18.0 mm by rule."
    alone = sheet_of(PIVOT).setups[0].blocks[0]
    assert alone.after[0] == "LOOK: 1 spot. pivot to RIGHT: 12.0 mm by rule."


def test_lock_line_at_reamed_holes() -> None:
    text = text_of(PIVOT)
    assert "LOCK X and Y: pivot is reamed." in text
    assert "LOCK" not in text_of(SCREWS)
    by_hole = sheet_of(PIVOT, order="hole").setups[0].blocks[0]
    assert "LOCK X and Y: pivot is reamed." in by_hole.before


def test_tap_is_by_hand_with_its_turns() -> None:
    taps = [step for step in sheet_of(SCREWS).setups[0].steps if step.operation == "tap"]
    assert all(step.by_hand and step.rpm is None and step.feed_mm_per_min is None for step in taps)
    # 8 mm of thread and a lead of four: 8 / 0.7 + 4 = 15.4.
    assert {step.turns for step in taps} == {15.4}
    assert "15.4 turns" in text_of(SCREWS)


def test_pecks_end_at_the_depth() -> None:
    for step in sheet_of(SCREWS).setups[0].steps:
        if step.pecks:
            assert step.pecks[-1] == step.z
            assert list(step.pecks) == sorted(step.pecks, reverse=True)


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("order", ["tool", "hole"])
def test_text_stays_within_80_columns(units: str, order: str) -> None:
    long = RICH.replace('"screw"', f'"{"s" * 40}"').replace('"pivot"', f'"{"pivot " * 6}hole"')
    text = text_of(long, RICH_STOCK, units=units, order=order)
    assert max(map(len, text.splitlines())) <= 80


def test_every_step_has_its_box_and_its_number() -> None:
    sheet = sheet_of(RICH, RICH_STOCK)
    text = text_of(RICH, RICH_STOCK)
    assert text.count("[ ]") == sum(len(setup.steps) for setup in sheet.setups)
    for setup in sheet.setups:
        assert [step.step for step in setup.steps] == list(range(1, len(setup.steps) + 1))


def test_done_count_and_what_was_assumed() -> None:
    text = text_of(SCREWS + PIVOT)
    assert "DONE    4 of 4 holes, 12 steps." in text
    assert "DONE    1 of 1 holes, 3 steps." in text
    assumed = text.split("ASSUMED")[1]
    for word in ("breakthrough 1.0 mm", "spot cone 0.3 mm", "drill points 118 deg", "0.005"):
        assert word in " ".join(assumed.split())


def test_cautions_are_on_the_sheet() -> None:
    text = " ".join(text_of(SCREWS).split())
    for words in (
        "glasses on",
        "No gloves",
        "Key out of the chuck",
        "never held",
        "qualified instruction come before this sheet",
    ):
        assert words in text


def test_depth_column_without_a_z_readout_is_the_quills() -> None:
    assert "quill to Z" in text_of(SCREWS)
    assert "down to Z" in text_of(SCREWS, shop='[readout]\naxes = "xyz"')


def test_obstacle_backing_and_grip_are_said() -> None:
    more = (
        '[[setup]]\nface = "top"\nvice = { grip = 11 }\nbacking = 6\n'
        '[[setup.obstacle]]\nname = "strap clamp"\nfrom = [-20, 0, -10]\nto = [0, 20, 15]\n'
    )
    text = " ".join(text_of(SCREWS + more).split())
    assert "vice, 11 mm grip" in text
    assert "backing 6 mm thick under the part" in text
    assert "keep clear of strap clamp: up to Z 15.000" in text


def test_csv_and_json_say_the_same_as_the_sheet() -> None:
    sheet = sheet_of(SCREWS + PIVOT)
    rows = list(csv.DictReader(io.StringIO(text_of(SCREWS + PIVOT, form="csv"))))
    steps = [step for setup in sheet.setups for step in setup.steps]
    data = json.loads(text_of(SCREWS + PIVOT, form="json"))
    objects = [step for setup in data["setups"] for step in setup["steps"]]
    assert len(rows) == len(steps) == len(objects)
    for row, step, item in zip(rows, steps, objects, strict=True):
        assert (row["hole"], row["operation"]) == (step.hole, step.operation)
        assert (item["hole"], item["operation"]) == (step.hole, step.operation)
        for letter in "xyz":
            figure = getattr(step, letter)
            assert Decimal(row[letter]) == figure
            assert Decimal(str(item[letter])) == figure
    assert data["setups"][1]["zero"] == {"x": "left", "y": "bottom", "z": "front"}
    assert [setup["number"] for setup in data["setups"]] == [1, 2]


def test_json_has_the_fields_of_the_contract() -> None:
    data = json.loads(text_of(SCREWS, form="json"))
    assert {"part", "units", "findings", "setups"} <= set(data)
    assert {"number", "face", "towards_you", "zero", "steps"} <= set(data["setups"][0])
    assert {
        "step",
        "hole",
        "operation",
        "tool",
        "tool_number",
        "diameter_mm",
        "x",
        "y",
        "z",
        "x_exact_mm",
        "y_exact_mm",
        "z_exact_mm",
        "rpm",
        "feed_mm_per_min",
        "pecks",
        "by_hand",
    } <= set(data["setups"][0]["steps"][0])
    tap = next(step for step in data["setups"][0]["steps"] if step["operation"] == "tap")
    assert (tap["rpm"], tap["feed_mm_per_min"], tap["pecks"]) == (None, None, [])
    spot = data["setups"][0]["steps"][0]
    assert spot["cone_mm"] == pytest.approx(4.3)
    assert spot["diameter_mm"] == 6


def test_only_and_from_step_keep_the_numbers() -> None:
    sheet = sheet_of(SCREWS + PIVOT)
    one = filtered(sheet, only="cover screw 2")
    assert [setup.number for setup in one.setups] == [1]
    assert {step.hole for step in one.setups[0].steps} == {"cover screw 2"}
    assert [step.step for step in one.setups[0].steps] == [
        step.step for step in sheet.setups[0].steps if step.hole == "cover screw 2"
    ]
    pattern = filtered(sheet, only="cover screw")
    assert pattern.setups[0].steps == sheet.setups[0].steps
    late = filtered(sheet, from_step=5)
    assert [step.step for step in late.setups[0].steps] == list(range(5, 13))
    assert filtered(sheet, only="no such hole").setups == ()


def test_one_setup_of_several() -> None:
    plan = make_plan(part_of(SCREWS + PIVOT, BLOCK_25), shop_of())
    sheet = make_sheet(plan, "mm", setup_number=2)
    assert [setup.number for setup in sheet.setups] == [2]
    document = make_listing(plan, "mm", setup_number=2)
    assert "setup 2 of 2: FRONT up" in str(written("listing", document, "text"))


def test_a_sheet_names_faces_in_capitals_and_places_in_other_words() -> None:
    sheet = sheet_of(RICH, RICH_STOCK)
    for setup in sheet.setups:
        said = " ".join([setup.lies, *setup.hold, *setup.zero, *setup.places])
        for face in ("top", "bottom", "front", "back", "right"):
            assert f" {face} " not in f" {said} ".replace("right hand", "")
