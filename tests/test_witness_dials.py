"""The second witness for dial sheets: agrees as written, catches what is changed."""

from __future__ import annotations

import csv
import io
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jobs import RICH, RICH_STOCK, part_of, shop_of

from millprep.cli.dials import rendered
from millprep.errors import Finding
from millprep.infiles import read_part
from millprep.planning import make_plan
from millprep.reading.sheets.dials import DialForm
from millprep.sheet import make_sheet
from millprep.sheet_dials import make_dial_sheet
from millprep.shop import Shop
from millprep.witness.dials import check_dials

EXAMPLES = sorted((Path(__file__).parent.parent / "parts").glob("*.toml"))
FORMS: tuple[DialForm, ...] = ("text", "csv", "json")
PLAIN = ""
ODD = """
[dials]
x = { lead = 2, divisions = 62.5, backlash = 0.9, clockwise = "-" }
y = { lead = "0.1 in", divisions = 100, numbers_rise = "anticlockwise", correction_ppm = 67 }
z = { lead = 3, divisions = 60, clockwise = "-" }
[readout]
reversed = ["y"]
"""


@cache
def shop(text: str) -> Shop:
    return shop_of(text)


@cache
def sheet(text: str, order: str, units: Any, form: str, datum: str = "") -> str:
    more = {"datum": datum} if datum else {}
    plan = make_plan(part_of(RICH, RICH_STOCK, **more), shop(text), order)
    return rendered(make_dial_sheet(plan, make_sheet(plan, units)), form)


def check(text: str, shop_text: str, form: DialForm, datum: str = "") -> list[Finding]:
    more = {"datum": datum} if datum else {}
    part = part_of(RICH, RICH_STOCK, **more)
    return check_dials(text.encode(), form, part, shop(shop_text), file="sheet")


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("order", ["tool", "hole", "row"])
@pytest.mark.parametrize("shop_text", [PLAIN, ODD], ids=["plain", "odd"])
def test_a_sheet_as_written_agrees(shop_text: str, order: str, units: str, form: DialForm) -> None:
    for datum in ("", 'x = "right"\ny = "back"'):
        assert check(sheet(shop_text, order, units, form, datum), shop_text, form, datum) == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_sheets_of_the_example_parts_agree(path: Path) -> None:
    part = read_part(path)[0]
    for shop_text, order, form in ((PLAIN, "tool", "text"), (ODD, "row", "json")):
        plan = make_plan(part, shop(shop_text), order)
        text = rendered(make_dial_sheet(plan, make_sheet(plan, part.units)), form)
        assert check_dials(text.encode(), form, part, shop(shop_text), file="sheet") == []  # type: ignore[arg-type]


def kinds(findings: list[Finding]) -> set[str]:
    assert all(finding.severity == "stop" and finding.file == "sheet" for finding in findings)
    return {finding.kind for finding in findings}


BACK = "X first back past it to 7 turns, figure 94"
CHANGES: dict[str, tuple[str, str, str]] = {
    "one turn out": ("24       0       4       0", "25       0       4       0", "hole-off"),
    "one division out": ("28      80       4", "28      81       4", "hole-off"),
    "on the other side of zero": ("28      80       4", "-28      80       4", "hole-off"),
    "between divisions": ("28      80       4", "28    80.5       4", "wrong-figure"),
    "past the ring": ("28      80       4", "27     180       4", "wrong-figure"),
    "not past a place": (
        f"          {BACK}\n",
        "",
        "wrong-figure",
    ),
    "too little past a place": (
        BACK,
        BACK.replace("7 turns, figure 94", "8 turns, figure 44"),
        "wrong-figure",
    ),
    "past it on the wrong side": (
        BACK,
        BACK.replace("7", "8"),
        "wrong-figure",
    ),
    "zero a turn out": ("go on 2 turns, figure 0", "go on 3 turns, figure 0", "wrong-figure"),
    "zero wound the other way": ("handle clockwise", "handle anticlockwise", "wrong-figure"),
    "another lead": ("X: 2.5 mm a turn", "X: 2.54 mm a turn", "wrong-figure"),
    "clockwise said the other way": (
        "figures grow clockwise",
        "figures grow anticlockwise",
        "wrong-figure",
    ),
    "ten turns": ("measure 25.000 mm", "measure 25.400 mm", "wrong-figure"),
    "winding": (
        "From this zero all moves wind with the figures.",
        "With zero on RIGHT and FRONT all moves would wind with the figures.",
        "wrong-figure",
    ),
    "left over": ("-0.007    10.510", "+0.007    10.510", "wrong-figure"),
    "by rule": ("60.000      60.0", "60.000      60.5", "wrong-figure"),
    "a hole's name": ("3  screw 5  ", "3  screw 9  ", "hole-extra"),
    "depth": ("-13.260", "-3.260", "too-shallow"),
    "a step number": ("[ ]    2  ", "[ ]    9  ", "wrong-numbering"),
    "an unknown line": ("DIALS   ", "WHEELS  ", "unreadable-sheet"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_changed_text_is_caught(what: str) -> None:
    old, new, kind = CHANGES[what]
    text = sheet(PLAIN, "row", "mm", "text")
    assert old in text, "the change finds nothing to change"
    changed = text.replace(old, new, 1)
    assert kind in kinds(check(changed, PLAIN, "text"))


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("field", ["turns", "division", "reading", "negative", "left_over_mm"])
def test_a_changed_json_figure_is_caught(axis: str, field: str) -> None:
    data = json.loads(sheet(ODD, "tool", "mm", "json"))
    figures = data["setups"][0]["steps"][3][axis]
    figures[field] = not figures[field] if field == "negative" else figures[field] + 1
    assert kinds(check(json.dumps(data), ODD, "json"))


@pytest.mark.parametrize("field", ["turns", "reading"])
def test_a_changed_depth_dial_is_caught(field: str) -> None:
    data = json.loads(sheet(ODD, "tool", "mm", "json"))
    data["setups"][0]["steps"][3]["z_dial"][field] += 1
    assert kinds(check(json.dumps(data), ODD, "json"))
    data = json.loads(sheet(ODD, "tool", "mm", "json"))
    step = next(s for s in data["setups"][0]["steps"] if s["pecks_dial"])
    step["pecks_dial"][0][field] += 1
    assert kinds(check(json.dumps(data), ODD, "json"))


def test_every_changed_csv_setting_is_caught() -> None:
    text = sheet(PLAIN, "tool", "mm", "csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    for name in ("x_turns", "x_division", "x_reading", "y_turns", "y_reading"):
        changed = [dict(row) for row in rows]
        changed[5][name] = str(int(changed[5][name]) + 1)
        stream = io.StringIO()
        writer = csv.DictWriter(stream, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(changed)
        assert kinds(check(stream.getvalue(), PLAIN, "csv")), name


@pytest.mark.parametrize(
    "name", ["TOOL 3", "1 2 3 4 5", "-3 4.5 -2 1.0 -9.9", "[ ] a", "hole X mm"]
)
def test_names_that_look_like_figures_do_not_mislead(name: str) -> None:
    part = part_of(
        RICH.replace('"faced"', f'"{name}"').replace('"tiny"', f'"{name} b"'), RICH_STOCK
    )
    for order in ("tool", "hole"):
        plan = make_plan(part, shop(PLAIN), order)
        text = rendered(make_dial_sheet(plan, make_sheet(plan, "mm")), "text")
        assert check_dials(text.encode(), "text", part, shop(PLAIN), file="sheet") == []


def test_a_sheet_for_another_dial_is_caught() -> None:
    """A sheet for 2.5 mm screws beside a mill with 0.1 in ones: 1.6 % out, the known trap."""
    inch = '[dials]\nx = { lead = "0.1 in", divisions = 100 }'
    found = check(sheet(PLAIN, "tool", "mm", "csv"), inch, "csv")
    assert "hole-off" in kinds(found)
