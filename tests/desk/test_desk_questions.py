"""The three questions, and what they make of the shop's file."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from millprep.desk.own_shop import answered, questions, shop_text
from millprep.infiles import read_shop

# what a shop is after each answer: measured at the model that the file is read into
READOUTS = {
    "readout-xy": (True, "xy", False),
    "readout-xyz": (True, "xyz", False),
    "dials": (False, "xy", True),
    "both": (True, "xy", True),
}


def test_the_questions_are_asked_in_the_order_of_the_sheets() -> None:
    assert [one.name for one in questions()] == ["units", "measures", "paper"]
    assert {one.name for one in questions()[1].answers} == set(READOUTS)
    for question in questions():
        assert question.asks.endswith("?") and question.sentence.endswith(".")


@pytest.mark.parametrize(
    ("units", "measures", "paper"), [*product(("mm", "inch"), READOUTS, ("a4", "letter"))]
)
def test_a_shop_comes_of_the_answers(tmp_path: Path, units: str, measures: str, paper: str) -> None:
    given = {"units": units, "measures": measures, "paper": paper}
    text = shop_text(given)
    file = tmp_path / "shop.toml"
    file.write_text(text, encoding="utf-8")
    shop = read_shop(str(file))
    has_readout, axes, has_dials = READOUTS[measures]
    assert shop.readout.is_fitted is has_readout
    assert not has_readout or shop.readout.axes == axes
    assert bool(shop.dials) is has_dials
    assert shop.paper == paper
    packaged = read_shop("inch" if units == "inch" else "metric")
    assert shop.cabinet == packaged.cabinet
    assert answered(text) == given


def test_another_answer_takes_the_place_of_the_first() -> None:
    first = shop_text({"units": "inch", "measures": "readout-xyz"})
    assert answered(first) == {"units": "inch", "measures": "readout-xyz"}
    second = shop_text({"measures": "dials"}, first)
    assert answered(second) == {"units": "inch", "measures": "dials"}
    assert answered("") == {}


def test_what_is_not_asked_stays_to_the_letter() -> None:
    remarks = '# mine\nunits = "mm"   # as ever\r\n\n[vice] # 4 in\nopening=100\n'
    text = shop_text({"paper": "a4"}, remarks)
    assert text.startswith(remarks.rstrip("\n"))
    with pytest.raises(KeyError):
        shop_text({"paper": "foolscap"})
