"""The sheet: figures rounded once, the words around them, and the text within its columns."""

import csv
import io
import json
from decimal import Decimal
from typing import Any

import pytest
from jobs import RICH, RICH_STOCK, checked, part_of, plan_of, setups_of, shop_of

from millprep.base.findings import MillprepError
from millprep.base.units import Units
from millprep.planning import make_plan
from millprep.proven.excerpt import keeps_of
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


def setup_of(holes: str, stock: str = BLOCK_25, *, units: Units = "mm", **more: str) -> Any:
    """The first setup, as JSON has it."""
    return setups_of(plan_of(holes, stock, **more), units)[0]


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
    steps = setup_of(SCREWS)["steps"]
    places = {(step["x"], step["y"]) for step in steps}
    assert places == {(x, y) for x in (23.635, 36.365) for y in (6.335, 19.065)}
    for step in steps:
        assert abs(step["x"] - step["x_exact_mm"]) <= 0.0025 + 1e-9
        assert abs(step["y"] - step["y_exact_mm"]) <= 0.0025 + 1e-9


def test_rounding_never_adds_up() -> None:
    """Twenty steps of 3.333 mm: the last is 66.660 from the first, not twenty rounded steps."""
    row = (
        "[[hole]]\ndrill = 1\ndepth = 2\nrow = { start = [5, 5], step = [3.3333, 0], count = 21 }\n"
    )
    steps = [
        step
        for step in setup_of(row, "size = [80, 20, 10]")["steps"]
        if step["operation"] == "drill"
    ]
    assert steps[-1]["x"] == 71.665  # 5 + 66.666 = 71.666


def test_inches_in_steps_of_the_inch_count() -> None:
    steps = setup_of(PIVOT, units="inch")["steps"]
    assert {step["x"] for step in steps} == {1.8898}  # 48 / 25.4 = 1.88976
    assert {step["y"] for step in steps} == {0.375}
    for step in steps:
        assert (Decimal(str(step["z"])) / Decimal("0.0002")) % 1 == 0


def test_no_minus_nought() -> None:
    on_zero = "[[hole]]\ndrill = 4\nat = [0.001, -0.001]\ndepth = 5\n"
    datum = 'x = "centre"\ny = "centre"'
    assert {str(step["y"]) for step in setup_of(on_zero, datum=datum)["steps"]} == {"0.0"}
    assert "-0.000" not in text_of(on_zero, datum=datum)


def test_reversed_readout_reverses_the_figures() -> None:
    plain = setup_of(SCREWS)["steps"]
    turned = setup_of(SCREWS, shop='[readout]\nreversed = ["y"]')["steps"]
    assert [step["y"] for step in turned] == [-step["y"] for step in plain]
    for name in ("x", "y_exact_mm"):
        assert [step[name] for step in turned] == [step[name] for step in plain]


def test_json_has_where_the_first_of_each_pattern_lies() -> None:
    def told(setup: Any) -> list[Any]:
        (place,) = setup["places"]
        assert place["hole"] == "cover screw 1"
        return [(one["at"], one["from"], one["face"]) for one in place["distances"]]

    assert "PLACES" not in setup_of(SCREWS)["said"]
    assert told(setup_of(SCREWS)) == [(36.365, "face", "left"), (19.065, "face", "front")]
    # Angles are counted in the view, whatever the datum: 45 degrees is up and to the right.
    from_back = told(setup_of(SCREWS, datum='x = "left"\ny = "back"'))
    assert from_back == [(36.365, "face", "left"), (6.335, "face", "back")]


def test_places_say_how_true_a_pattern_has_to_be() -> None:
    held = SCREWS + 'tolerance = 0.02\nnote = "by the lid"\n'
    assert setup_of(held)["said"]["PLACES"] == ["cover screw, position +/- 0.02: by the lid"]
    zone = setup_of(PIVOT + "position = 0.05\n")
    assert zone["said"]["PLACES"] == ["pivot, position within dia 0.05"]


def test_from_the_centre_towards_a_face() -> None:
    holes = '[[hole]]\nname = "a"\ndrill = 4\nat = [-12, 0]\ndepth = 5\n'
    (place,) = setup_of(holes, datum='x = "centre"\ny = "centre"')["places"]
    assert [(one["at"], one["from"], one["face"], one["other"]) for one in place["distances"]] == [
        (12.0, "centre", "left", None),
        (None, "between", "front", "back"),
    ]


def test_look_line_after_spotting() -> None:
    # Across the bolt circle of 18 mm.
    look = "4 spots; check with a rule: 18.0 mm, cover screw 3 to cover screw 1."
    assert setup_of(SCREWS)["said"]["CHECK"] == [look]
    alone = "1 spot; check with a rule: 12.0 mm, pivot to RIGHT."
    assert setup_of(PIVOT)["said"]["CHECK"] == [alone]
    spotted, _, after = text_of(SCREWS).partition("CHECK   ")
    assert "1 of 3  spot drill" in spotted
    assert "2 of 3" not in spotted
    assert "2 of 3  drill" in after


def test_lock_line_at_reamed_holes() -> None:
    text = text_of(PIVOT)
    assert "LOCK X and Y: pivot is reamed." in text
    assert "LOCK" not in text_of(SCREWS)
    by_hole = setup_of(PIVOT, order="hole")["holes"][0]
    assert by_hole["said"]["LOCK"] == ["LOCK X and Y: pivot is reamed."]


def test_tap_is_by_hand_with_its_turns() -> None:
    taps = [step for step in setup_of(SCREWS)["steps"] if step["operation"] == "tap"]
    for step in taps:
        assert (step["by_hand"], step["rpm"], step["feed_mm_per_min"]) == (True, None, None)
    # 8 mm of thread and a lead of four: 8 / 0.7 + 4 = 15.4.
    assert {step["turns"] for step in taps} == {15.4}
    assert "15.4 turns" in text_of(SCREWS)


def test_pecks_end_at_the_depth() -> None:
    for step in setup_of(SCREWS)["steps"]:
        if pecks := step["pecks"]:
            assert pecks[-1] == step["z"]
            assert pecks == sorted(pecks, reverse=True)


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("order", ["tool", "hole"])
def test_text_stays_within_80_columns(units: str, order: str) -> None:
    long = RICH.replace('"screw"', f'"{"s" * 40}"').replace('"pivot"', f'"{"pivot " * 6}hole"')
    text = text_of(long, RICH_STOCK, units=units, order=order)
    assert max(map(len, text.splitlines())) <= 80


def test_every_step_has_its_box_and_its_number() -> None:
    plan = plan_of(RICH, RICH_STOCK)
    counts = [len(setup.operations) for setup in plan.setups]
    assert text_of(RICH, RICH_STOCK).count("[ ]") == sum(counts)
    for setup, count in zip(setups_of(plan), counts, strict=True):
        assert [step["step"] for step in setup["steps"]] == list(range(1, count + 1))


def test_done_count_and_what_was_assumed() -> None:
    text = text_of(SCREWS + PIVOT)
    assert "DONE    4 of 4 holes, 12 steps." in text
    assert "DONE    1 of 1 hole, 3 steps." in text
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
    assert "quill to" in text_of(SCREWS)
    assert "down to Z" in text_of(SCREWS, shop='[readout]\naxes = "xyz"')


def test_obstacle_backing_and_grip_are_said() -> None:
    more = (
        '[[setup]]\nface = "top"\nvice = { grip = 11 }\nbacking = 6\n'
        '[[setup.obstacle]]\nname = "strap clamp"\nfrom = [-20, 0, -10]\nto = [0, 20, 15]\n'
    )
    text = " ".join(text_of(SCREWS + more).split())
    assert "11 mm in the jaws" in text
    assert "backing 6 mm thick under the part" in text
    assert "Keep clear: strap clamp, up to Z 15.000" in text


def test_csv_and_json_say_the_same_as_the_sheet() -> None:
    setups = plan_of(SCREWS + PIVOT, BLOCK_25).setups
    rows = list(csv.DictReader(io.StringIO(text_of(SCREWS + PIVOT, form="csv"))))
    operations = [one for setup in setups for one in setup.operations]
    data = json.loads(text_of(SCREWS + PIVOT, form="json"))
    objects = [step for setup in data["setups"] for step in setup["steps"]]
    for row, operation, item in zip(rows, operations, objects, strict=True):
        assert (row["hole"], row["operation"]) == (operation.hole.name, operation.name)
        assert (item["hole"], item["operation"]) == (operation.hole.name, operation.name)
        for letter in "xyz":
            exact_mm = getattr(operation, f"{letter}_mm")
            assert abs(float(row[letter]) - exact_mm) <= 0.0025 + 1e-9
            assert Decimal(row[letter]) == Decimal(str(item[letter]))
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
    plan = plan_of(SCREWS + PIVOT, BLOCK_25)
    steps = setups_of(plan)[0]["steps"]

    def excerpt(only: str | None = None, from_step: int | None = None) -> Any:
        document = make_listing(plan, "mm", keeps=keeps_of(plan, None, only, from_step))
        (setup, *_) = json.loads(written("listing", document, "json"))["setups"]
        return setup["number"], setup["steps"]

    assert excerpt("cover screw 2") == (1, [s for s in steps if s["hole"] == "cover screw 2"])
    assert excerpt("cover screw") == (1, steps)
    assert excerpt("pivot")[0] == 2
    assert excerpt(from_step=5) == (1, steps[4:])
    with pytest.raises(MillprepError, match="no hole"):
        excerpt("no such hole")


def test_one_setup_of_several() -> None:
    plan = make_plan(part_of(SCREWS + PIVOT, BLOCK_25), shop_of())
    document = make_listing(plan, "mm", setup_number=2)
    assert [page.also["setup"] for page in document.pages] == [2]
    assert "setup 2 of 2: FRONT up" in str(written("listing", document, "text"))


def test_a_sheet_names_faces_in_capitals_and_places_in_other_words() -> None:
    for setup in setups_of(plan_of(RICH, RICH_STOCK)):
        labels = ("SET UP", "HOLD", "ZERO", "PICK UP", "TRY")
        said = " ".join(line for label in labels for line in setup["said"][label])
        for face in ("top", "bottom", "front", "back", "right"):
            assert f" {face} " not in f" {said} ".replace("right hand", "").replace(
                "your right", ""
            )
