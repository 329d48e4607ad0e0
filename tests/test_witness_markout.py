"""The second witness for marking-out lists: agrees as written, catches what is changed."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, part_of, shop_of

from millprep.base.findings import Finding
from millprep.infiles import read_part
from millprep.model.part import Part
from millprep.reading.pages.forms import SheetForm
from millprep.sheets.markout import make_mark_sheet
from millprep.witness.markout import check_markout
from millprep.writers import written

EXAMPLES = EXAMPLE_PARTS
FORMS: tuple[SheetForm, ...] = ("text", "csv", "json", "html")


@cache
def part() -> Part:
    return part_of(RICH, RICH_STOCK)


@cache
def sheet(units: Any, form: str, wanted: Any = (), offset_mm: float = 0.0) -> str:
    made = make_mark_sheet(part(), shop_of(), units, wanted=wanted, gauge_offset_mm=offset_mm)
    return str(written("markout", made, form))


def check(text: str, form: SheetForm, offset_mm: float = 0.0) -> list[Finding]:
    return check_markout(text.encode(), form, part(), gauge_offset_mm=offset_mm, file="list")


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("wanted", [(), ("right",), ("right", "back", "top")])
@pytest.mark.parametrize("offset_mm", [0.0, 12.5, -3.175])
def test_a_list_as_written_agrees(
    form: SheetForm, units: str, wanted: tuple[str, ...], offset_mm: float
) -> None:
    assert check(sheet(units, form, wanted, offset_mm), form, offset_mm) == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_lists_of_the_example_parts_agree(path: Path) -> None:
    example = read_part(path)[0]
    for form in FORMS:
        text = str(written("markout", make_mark_sheet(example, shop_of(), example.units), form))
        assert check_markout(text.encode(), form, example, file="list") == []


def kinds(findings: list[Finding]) -> set[str]:
    assert all(finding.severity == "stop" and finding.file == "list" for finding in findings)
    return {finding.kind for finding in findings}


CHANGES: dict[str, tuple[str, str, str]] = {
    "a height": (" 10.51  TOP     FRONT", " 10.54  TOP     FRONT", "hole-off"),
    "a height between counts": ("GAUGE   reads 0.00", "GAUGE   reads 0.004", "wrong-figure"),
    "from the other face": (
        "STAND 1 of 3: LEFT on the plate, RIGHT up",
        "STAND 1 of 3: RIGHT on the plate, LEFT up",
        "hole-off",
    ),
    "the extent": ("FRONT 2.0 to 10.0     tiny", "FRONT 2.0 to 11.0     tiny", "wrong-figure"),
    "a line left out": ("[ ]      40.00  BOTTOM  FRONT 2.0 to 10.0     tiny\n", "", "hole-missing"),
    "a name": ("FRONT 2.0 to 10.0     tiny", "FRONT 2.0 to 10.0     tinny", "hole-extra"),
    "a check dimension": ("RIGHT 40.51", "RIGHT 40.15", "wrong-figure"),
    "an unknown line": ("PUNCH ", "POP   ", "unreadable-sheet"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_changed_list_is_caught(what: str) -> None:
    old, new, kind = CHANGES[what]
    text = sheet("mm", "text")
    assert old in text, "the change finds nothing to change"
    changed = text.replace(old, new, 1)
    assert kind in kinds(check(changed, "text"))


def test_a_changed_json_height_is_caught() -> None:
    for field, step in (("gauge", 0.05), ("height_mm", 0.05)):
        data = json.loads(sheet("mm", "json"))
        data["standings"][0]["heights"][2][field] = round(
            data["standings"][0]["heights"][2][field] + step, 6
        )
        assert kinds(check(json.dumps(data), "json")), field


def test_an_offset_that_was_not_asked_for_is_caught() -> None:
    assert "wrong-figure" in kinds(check(sheet("mm", "text", (), 10.0), "text"))


def test_a_csv_with_rows_left_out_is_caught() -> None:
    head, *rows = sheet("mm", "csv").splitlines()
    assert "hole-missing" in kinds(check("\n".join([head, *rows[1:]]) + "\n", "csv"))
