"""The second witness for inspection sheets: agrees as written, catches whatever is changed."""

from __future__ import annotations

from functools import cache, partial
from typing import Any

import pytest
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, part_of, shop_of
from slot_faults import bytes_of, slots_let_through, without

from millprep.infiles import read_part
from millprep.inspection import inspection_of
from millprep.model.part import Part
from millprep.sheets.document import Document
from millprep.sheets.inspection import make_inspection_sheet
from millprep.witness.inspection import check_inspection
from millprep.writers import written

SHOP = shop_of()
HELD = {**{path.stem: path for path in EXAMPLE_PARTS}, "rich": None}
CHANGED = ("rich", "base-plate", "crank-disc", "flywheel")
FORMS = ("text", "json", "html", "csv", "pdf")


@cache
def case(name: str, units: Any = "mm") -> tuple[Part, Document, Any]:
    path = HELD[name]
    more = "general_tolerance = 0.1"
    part = read_part(path)[0] if path is not None else part_of(RICH, RICH_STOCK, more=more)
    inspection = inspection_of(part, SHOP)
    faces = {view.setup.number: view.setup.face for view in inspection.views}
    return part, make_inspection_sheet(inspection, units, ()), faces


def is_stopped(name: str, document: Document, form: Any, units: Any = "mm") -> bool:
    part, _, faces = case(name, units)
    data = bytes_of(document, form)
    return data is None or bool(
        check_inspection(data, form, part, SHOP, faces, None, (), file="sheet")
    )


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("name", HELD)
def test_a_sheet_as_written_agrees(name: str, form: str, units: str) -> None:
    assert not is_stopped(name, case(name, units)[1], form, units)


@pytest.mark.parametrize("form", ["text", "json", "html"])
@pytest.mark.parametrize("name", CHANGED)
def test_a_changed_slot_is_stopped(name: str, form: str) -> None:
    def is_absent(slug: str, slot: str) -> bool:
        """In JSON a reading is named, not said."""
        is_said = slug.startswith(("tried ", "places ")) and slot[0] == "_"
        is_said |= slug.startswith("tried ") and slug != "tried each"
        return form == "json" and (is_said or slot in IN_JSON_BY_ANOTHER_NAME)

    stopped = partial(is_stopped, name, form=form)
    assert slots_let_through(case(name)[1], stopped, is_absent) == []


IN_JSON_BY_ANOTHER_NAME = ("box", "pin_words", "mean", "coarse")


@pytest.mark.parametrize("form", ["text", "json", "html"])
@pytest.mark.parametrize(
    "slug",
    ["inspected", "first-warm", "instruments-used", "pins", "pins-mean", "then", "or",
     "assumed-inspection", "stock-block", "marked-part"],
)  # fmt: skip
def test_a_sentence_left_out_is_missed(slug: str, form: str) -> None:
    assert is_stopped("rich", without(case("rich")[1], slug), form)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("expected_mm", 3.0),
        ("least_mm", 3.0),
        ("greatest_mm", 300.0),
        ("expected", 3.0),
        ("least", 3.0),
        ("what", "between pins"),
        ("hole", "tiny"),
        ("to", "FRONT"),
        ("is_coarse", True),
        ("instrument", "bore gauge"),
        ("face", "top"),
        ("setup", 2),
        ("pins", []),
    ],
)
def test_a_changed_field_of_json_is_caught(field: str, value: Any) -> None:
    import json

    part, document, faces = case("base-plate")
    data = json.loads(str(written("inspection", document, "json")))
    check = next(one for one in data["checks"] if one["what"] == "over pins")
    assert check[field] != value
    check[field] = value
    text = json.dumps(data).encode()
    assert check_inspection(text, "json", part, SHOP, faces, None, (), file="sheet")


@pytest.mark.parametrize(
    ("old", "new"),
    [("36.15", "36.25"), ("over pins", "between pins"), (",5.5,", ",4.5,"), ("LEFT", "RIGHT"),
     (",calliper,", ",bore gauge,"), ("column screw 1", "column screw 9"), ("\n2,", "\n3,")],
)  # fmt: skip
def test_a_changed_cell_is_caught(old: str, new: str) -> None:
    part, document, faces = case("base-plate")
    text = str(written("inspection", document, "csv"))
    assert old in text
    changed = text.replace(old, new, 1).encode()
    assert check_inspection(changed, "csv", part, SHOP, faces, None, (), file="sheet")
