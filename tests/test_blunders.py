"""The blunder table: what a calliper shows on the first spots after each likely slip.

Each slip is made here once more, on the machine: the readout is set wrong, the spindle goes where
the listing says, and the distance that a calliper would find is measured on the part.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import plan_of

from millprep.base.findings import Finding
from millprep.planning import Plan
from millprep.planning.blunders import LEAST_APART_MM, Measure, measures_of
from millprep.sheets.dials import make_dial_sheet
from millprep.sheets.document import Section, Table
from millprep.sheets.listing import make_listing
from millprep.witness.listing import check_listing
from millprep.writers import written

BLOCK = "size = [60, 40, 20]"
FINDER_MM, LEAD_MM = 10.0, 2.5  # of the packaged shop
ONE = '[[hole]]\nname = "a"\ndrill = 4\nat = [22, 17]\ndepth = 5\n'
TWO = ONE + '[[hole]]\nname = "b"\ndrill = 4\nat = [50, 17]\ndepth = 5\n'


def measures(plan: Plan, units: str = "mm") -> list[Measure]:
    setup = plan.setups[0]
    spots = [one for one in setup.operations if one.name == "spot drill"]
    beyond = setup.zeros[0].beyond_mm, setup.zeros[1].beyond_mm
    return measures_of(setup.setup, spots, beyond, plan.shop.dials, units)  # type: ignore[arg-type]


def of(measure: Measure) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for reading, slip in measure.readings:
        found.setdefault(slip, []).append(round(reading, 6))
    return found


def test_the_figures_of_one_spot() -> None:
    """22 from LEFT of 60. Forgotten: the readout says 0 where it should say -5, so all comes 5 too
    near; the wrong way: 10; one turn of 2.5 either way; the wrong edge: 60 - 22."""
    x, y = measures(plan_of(ONE))
    assert (x.hole, x.face, x.right_mm) == ("a", "left", 22)
    assert of(x) == {
        "finder's radius forgotten": [17],
        "finder's radius the wrong way": [12],
        "wrong edge or mirrored": [38],
        "one turn of the handle out": [19.5, 24.5],
    }
    assert (y.face, y.right_mm) == ("front", 17)
    assert of(y)["wrong edge or mirrored"] == [23]


def test_from_spot_to_spot() -> None:
    """28 along X: a lost turn makes 25.5 or 30.5; one of Y the hypotenuse of 28 and 2.5, 28.11,
    which no calliper on a spot tells from 28."""
    apart = measures(plan_of(TWO))[2]
    assert (apart.hole, apart.other, apart.right_mm) == ("a", "b", 28)
    assert of(apart) == {"one turn of the handle out": [25.5, 30.5]}
    assert (apart.face, apart.axis, apart.right_mm) == (None, 2, 28)


def test_an_inch_sheet_on_a_readout_in_mm_comes_a_25th_as_far() -> None:
    x, _, apart = measures(plan_of(TWO), "inch")
    assert of(x)["readout in the other unit"] == [pytest.approx(22 / 25.4, abs=1e-6)]
    assert of(apart)["readout in the other unit"] == [pytest.approx(28 / 25.4, abs=1e-6)]


def test_what_lands_beside_the_part_is_not_measured() -> None:
    """4 from LEFT: a forgotten radius of 5 puts it 1 mm outside; nobody spots that."""
    near = ONE.replace("[22, 17]", "[4, 17]")
    assert "finder's radius forgotten" not in of(measures(plan_of(near))[0])


def test_no_two_slips_read_alike() -> None:
    """With a lead of 5 mm a lost turn reads like a forgotten radius of 5: it is not told twice."""
    plan = plan_of(ONE, shop="[dials]\nx = { lead = 5, divisions = 100 }\n")
    told = of(measures(plan)[0])
    assert told["finder's radius forgotten"] == [17]
    assert told["one turn of the handle out"] == [27]


def test_the_spot_is_chosen_whose_readings_lie_apart() -> None:
    """A spot on the middle reads the same from the wrong edge; the other one betrays it."""
    holes = ONE.replace("[22, 17]", "[30, 17]") + (
        '[[hole]]\nname = "off"\ndrill = 4\nat = [44, 17]\ndepth = 5\n'
    )
    x = measures(plan_of(holes))[0]
    assert x.hole == "off"
    assert of(x)["wrong edge or mirrored"] == [16]


def test_zero_on_the_far_face_counts_from_there() -> None:
    x = measures(plan_of(ONE, datum='x = "right"\ny = "front"'))[0]
    assert (x.face, x.right_mm) == ("right", 22)
    assert of(x)["finder's radius forgotten"] == [17]


def test_zero_on_a_centre_line_is_measured_from_its_low_edge() -> None:
    holes = ONE.replace("[22, 17]", "[-8, 17]")
    x = measures(plan_of(holes, datum='x = "centre"\ny = "front"'))[0]
    assert (x.face, x.right_mm) == ("left", 22)


STRAP = (
    '[[setup]]\nface = "top"\n[[setup.obstacle]]\nname = "strap"\n'
    "from = [-20, -5, -10]\nto = [5, 45, 12]\n"
)
FLUSH = '[[setup]]\nface = "top"\nvice = { grip = 20 }\n'


def test_zero_found_on_the_far_side_is_out_the_other_way() -> None:
    """From RIGHT the readout is set to 65; who forgets the radius sets 60 there, and every place
    comes 5 farther from LEFT. On the inside of the jaw beside BACK likewise: 35 should be 40."""
    assert of(measures(plan_of(ONE + STRAP))[0])["finder's radius forgotten"] == [27]
    assert of(measures(plan_of(ONE + STRAP))[0])["finder's radius the wrong way"] == [32]
    on_jaw = measures(plan_of(ONE + FLUSH))[1]
    assert of(on_jaw)["finder's radius forgotten"] == [12]


@pytest.mark.parametrize("holes", [ONE + STRAP, ONE + FLUSH])
def test_the_witness_knows_which_way(holes: str) -> None:
    plan = plan_of(holes)
    text = written("listing", make_listing(plan, "mm"), "text")
    assert witnessed(plan, text, "text") == []
    check = text.index("CHECK ")
    for right, wrong in ((" 27.0 ", " 17.0 "), (" 12.0 ", " 22.0 ")):
        if right in text[check:]:
            broken = text[:check] + text[check:].replace(right, wrong, 1)
            assert witnessed(plan, broken, "text")


Spots = st.lists(
    st.tuples(st.integers(3, 57), st.integers(3, 37)), min_size=1, max_size=6, unique=True
)
# What the spindle stands over, from the low edge, when the readout shows the figure of a hole.
SLIPS: dict[str, Callable[[float], list[float]]] = {
    "finder's radius forgotten": lambda at: [at + -FINDER_MM / 2],
    "finder's radius the wrong way": lambda at: [at + -FINDER_MM / 2 - FINDER_MM / 2],
    "one turn of the handle out": lambda at: [at - LEAD_MM, at + LEAD_MM],
    "readout in the other unit": lambda at: [at * 25.4],
}


@settings(max_examples=40)
@given(Spots)
def test_every_reading_is_what_the_slip_would_make(places: list[tuple[int, int]]) -> None:
    holes = "".join(
        f'[[hole]]\nname = "h{n}"\ndrill = 1\nat = [{x}, {y}]\ndepth = 3\n'
        for n, (x, y) in enumerate(places)
    )
    plan = plan_of(holes, "size = [60, 40, 20]")
    by_name = {f"h{n}": place for n, place in enumerate(places)}
    for measure in measures(plan):
        assert measure.least_apart_mm >= LEAST_APART_MM
        if measure.face is None:
            apart = math.dist(by_name[measure.hole], by_name[measure.other])
            assert measure.right_mm == pytest.approx(apart)
            continue
        at, across = by_name[measure.hole][measure.axis], (60, 40)[measure.axis]
        assert measure.right_mm == at
        for reading, slip in measure.readings:
            made = SLIPS.get(slip, lambda at, across=across: [across - at])(at)  # type: ignore[misc]
            assert any(abs(reading - one) < 1e-9 for one in made)


def table(holes: str, units: str = "mm", make: Any = make_listing) -> list[tuple[str, ...]]:
    (found,) = tables_of(make(plan_of(holes), units).pages[0].sections)
    return [found.heads, *(found.cells(row.cells) for row in found.rows)]


def tables_of(items: Any) -> list[Table]:
    found: list[Table] = []
    for item in items:
        if isinstance(item, Section):
            found += tables_of(item.items)
        elif isinstance(item, Table) and item.name == "check":
            found.append(item)
    return found


def test_the_figures_stand_in_a_table_below_the_first_spots() -> None:
    """A column only where a row has a figure for it; a turn of the handle by dials alone."""
    assert table(TWO) == [
        ("measure", "right", "finder left out", "wrong way", "wrong edge"),
        ("LEFT to a", "22.0", "17.0", "12.0", "38.0"),
        ("FRONT to a", "17.0", "12.0", "7.0", "23.0"),
    ]
    assert table(TWO, make=make_dial_sheet) == [
        ("measure", "right", "no finder", "wrong way", "wrong edge", "one turn"),
        ("LEFT to a", "22.0", "17.0", "12.0", "38.0", "19.5/24.5"),
        ("FRONT to a", "17.0", "12.0", "7.0", "23.0", "14.5/19.5"),
        ("a to b", "28.0", "-", "-", "-", "25.5/30.5"),
    ]
    head, x, _ = table(ONE, "inch")
    assert head[-1] == "other unit"
    assert x == ("LEFT to a", "0.87", "0.67", "0.47", "1.50", "0.03")


def witnessed(plan: Plan, text: str, form: str) -> list[Finding]:
    return check_listing(text.encode(), form, plan.part, plan.shop, file="sheet")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("form", "good", "bad"),
    [
        ("text", "22.0 ", "22.2 "),
        ("text", "17.0   ", "17.4   "),
        ("text", " 38.0", " 32.0"),
        ("text", "LEFT to a", "RIGHT to a"),
        ("text", "wrong edge", "right edge"),
        ("text", "   7.0        23.0", "  23.0         7.0"),
        ("text", "LEFT to a     22.0", "LEFT to a"),
        ("html", ">22.0<", ">22.2<"),
        ("html", ">LEFT to a<", ">RIGHT to a<"),
        ("html", ">wrong way<", ">right way<"),
        ("json", '"right": 22.0', '"right": 22.2'),
        ("json", '"wrong-edge": 38.0', '"wrong-edge": 32.0'),
        ("json", '"to": "a"', '"to": "b"'),
        ("json", '"axis": "x",\n          "readings"', '"axis": "y",\n          "readings"'),
    ],
)
def test_the_witness_works_them_out_once_more(form: str, good: str, bad: str) -> None:
    plan = plan_of(TWO)
    text = written("listing", make_listing(plan, "mm"), form)
    assert witnessed(plan, text, form) == []
    before, found, after = text.rpartition(good) if form == "text" else text.partition(good)
    assert found
    assert witnessed(plan, before + bad + after, form)


def test_two_slips_that_read_alike_are_noticed() -> None:
    plan = plan_of(ONE)
    text = written("listing", make_listing(plan, "mm"), "text")
    alike = re.sub(r"17\.0( +)12\.0( +)38", r"12.0\g<1>12.0\g<2>38", text)
    assert alike != text
    assert witnessed(plan, alike, "text")


def test_json_of_a_listing_has_the_turns_that_a_readout_counts() -> None:
    """Of screws of 2.5 mm: a turn more or less; a sheet for the readout does not print them."""
    plan = plan_of(TWO)
    text = str(written("listing", make_listing(plan, "mm"), "json"))
    (setup,) = json.loads(text)["setups"]
    by_axis = {one["axis"]: one for one in setup["figures"]}
    right = by_axis["x"]["right"]
    assert by_axis["x"]["slips"]["one-turn"] == [right - 2.5, right + 2.5]
    assert witnessed(plan, text, "json") == []
    assert witnessed(plan, text.replace(f"{right + 2.5}", f"{right + 2.7}"), "json")
    assert "one turn" not in str(written("listing", make_listing(plan, "mm"), "text"))
