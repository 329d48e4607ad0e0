"""The second witness for dial sheets: agrees as written, catches what is changed."""

from __future__ import annotations

import csv
import io
import itertools
import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, millprep, part_of, part_text, shop_of

from millprep.base.findings import Finding
from millprep.infiles import read_part
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.planning import make_plan
from millprep.reading.pages.forms import SheetForm
from millprep.sheets.dials import make_dial_sheet
from millprep.sheets.document import Document
from millprep.witness.dials import check_dials
from millprep.writers import written

EXAMPLES = EXAMPLE_PARTS
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
def part(datum: str = "") -> Part:
    more = {"datum": datum} if datum else {}
    return part_of(RICH, RICH_STOCK, **more)


@cache
def sheet(text: str, order: str, units: Any, form: str, datum: str = "") -> str:
    plan = make_plan(part(datum), shop(text), order)
    return str(written("dials", make_dial_sheet(plan, units), form))


def check(text: str, shop_text: str, form: SheetForm, datum: str = "") -> list[Finding]:
    return check_dials(text.encode(), form, part(datum), shop(shop_text), file="sheet")


FAR = 'x = "right"\ny = "back"'
WRITTEN: tuple[tuple[SheetForm, str, str, str, str], ...] = (  # every two of these values once
    ("text", "tool", "mm", PLAIN, ""), ("text", "hole", "inch", ODD, FAR),
    ("text", "row", "mm", ODD, FAR), ("csv", "tool", "inch", ODD, FAR),
    ("csv", "hole", "mm", PLAIN, ""), ("csv", "row", "inch", PLAIN, FAR),
    ("json", "tool", "mm", PLAIN, FAR), ("json", "hole", "inch", PLAIN, FAR),
    ("json", "row", "inch", ODD, ""), ("html", "tool", "inch", ODD, ""),
    ("html", "hole", "mm", ODD, FAR), ("html", "row", "mm", PLAIN, ""),
)  # fmt: skip


@pytest.mark.parametrize(("form", "order", "units", "shop_text", "datum"), WRITTEN)
def test_a_sheet_as_written_agrees(
    form: SheetForm, order: str, units: str, shop_text: str, datum: str
) -> None:
    assert check(sheet(shop_text, order, units, form, datum), shop_text, form, datum) == []


def test_every_two_values_of_a_sheet_stand_together() -> None:
    for one, other in itertools.combinations(range(5), 2):
        values = [{row[place] for row in WRITTEN} for place in (one, other)]
        assert {(row[one], row[other]) for row in WRITTEN} == {*itertools.product(*values)}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_sheets_of_the_example_parts_agree(path: Path) -> None:
    example = read_part(path)[0]
    for shop_text, order, form in (
        (PLAIN, "tool", "text"),
        (ODD, "row", "json"),
        (ODD, "hole", "html"),
    ):
        plan = make_plan(example, shop(shop_text), order)
        text = str(written("dials", make_dial_sheet(plan, example.units), form))
        assert check_dials(text.encode(), form, example, shop(shop_text), file="sheet") == []  # type: ignore[arg-type]


def kinds(findings: list[Finding]) -> set[str]:
    assert all(finding.severity == "stop" and finding.file == "sheet" for finding in findings)
    return {finding.kind for finding in findings}


BACK = "first back past it: X 7 turns, figure 94"
CHANGES: dict[str, tuple[str, str, str]] = {
    "one division out": ("28     80        4", "28     81        4", "hole-off"),
    "on the other side of zero": ("28     80        4", "-28     80        4", "hole-off"),
    "between divisions": ("28     80        4", "28   80.5        4", "wrong-figure"),
    "past the ring": ("28     80        4", "27    180        4", "wrong-figure"),
    "not past a place": (f"          {BACK}\n", "", "wrong-figure"),
    "too little past a place": (
        BACK,
        BACK.replace("7 turns, figure 94", "8 turns, figure 44"),
        "wrong-figure",
    ),
    "past it on the wrong side": (BACK, BACK.replace("7", "8"), "wrong-figure"),
    "another lead": ("X: 2.5 mm a turn", "X: 2.54 mm a turn", "wrong-figure"),
    "ten turns": ("measure 25.000 mm", "measure 25.400 mm", "wrong-figure"),
    "winding": (
        "From this zero the figures always count up.",
        "With zero on RIGHT and FRONT the figures would always count up.",
        "wrong-figure",
    ),
    "left over": ("-0.007    10.511", "+0.007    10.511", "wrong-figure"),
    "by rule": ("35.607      35.6", "35.607      35.1", "wrong-figure"),
    "depth": ("-13.260", "-3.260", "too-shallow"),
    "its figure": ("X 26 turns, figure 80; Y 10", "X 26 turns, figure 81; Y 10", "wrong-figure"),
    "how far apart": ("42.000 apart", "43.000 apart", "wrong-figure"),
    "parallels": ("high at Y 0 to 4", "high at Y 9 to 13", "wrong-figure"),
    "not held": ("HOLD    in the vice", "        in the vice", "unreadable-sheet"),
    "not turned": ("TURN ", "SPIN ", "unreadable-sheet"),
    "a box to tick": ("[ ]   2  ", "      2  ", "unreadable-sheet"),
    "an unknown line": ("DIALS   ", "WHEELS  ", "unreadable-sheet"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_changed_text_is_caught(what: str) -> None:
    old, new, kind = CHANGES[what]
    text = sheet(PLAIN, "row", "mm", "text")
    assert old in text, "the change finds nothing to change"
    changed = text.replace(old, new, 1)
    assert kind in kinds(check(changed, PLAIN, "text"))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("CHECK after step 1,", "CHECK after step 4,"),  # the pivot's own second is as good
        (r"(LEFT to pivot +)25\.0", r"\g<1>26.0"),
        (r"LEFT to pivot( +25)", r"LEFT to bored\1"),
        (r"(LEFT to pivot +25\.0 +)20\.0", r"\g<1>21.0"),
    ],
)
def test_what_to_measure_at_the_first_hole_is_witnessed(old: str, new: str) -> None:
    text = sheet(PLAIN, "hole", "mm", "text")
    assert check(text, PLAIN, "text") == []
    changed, count = re.subn(old, new, text, count=1)
    assert count == 1
    assert "wrong-figure" in kinds(check(changed, PLAIN, "text"))


PAGE_CHANGES: dict[str, tuple[str, str]] = {
    "turns": (r"(<td class=\"figure\" data-cell>)4<", r"\g<1>5<"),
    "depth": (r"(<td class=\"figure\" data-cell>−)(\d+\.)", r"\g<1>9\2"),
    "way past a place": (r"first back past it: X \d+", "first back past it: X 1"),
    "no way past it": (r"<tr>(?:(?!<tr>).)*first back past it.*?</tr>", ""),
    "a row": (r'<tbody>\s*<tr data-line="row">.*?</tbody>', ""),
    "a place": (r'(<tr data-line="bare">.*?data-cell>)(?=\d)', r"\g<1>1"),
    "left over": (r"(data-cell>\+0.0)", r"\g<1>9"),
    "a dial": (r"X: 2\.5.mm a turn", "X: 2.54 mm a turn"),
    "turns of a tap": (r"(\d+\.\d).turns to", r"1\g<1> turns to"),
    "a peck": (r"pecks −8", "pecks −18"),
    "words unknown": (r"(\d+\.\d).turns to", r"about \g<1> turns to"),
}


@pytest.mark.parametrize("what", PAGE_CHANGES)
def test_a_changed_page_is_caught(what: str) -> None:
    text = sheet(PLAIN, "tool", "mm", "html")
    changed = re.sub(*PAGE_CHANGES[what], text, count=1, flags=re.DOTALL)
    assert changed != text, "the change finds nothing to change"
    assert kinds(check(changed, PLAIN, "html"))


SENTENCES = {
    "TURN": ("towards you", "away from you"),
    "HOLD": ("LEFT up against", "RIGHT up against"),
    "RECOVER": ("from pivot", "from bored"),
    "CHECK": ("rule: 49.3 mm", "rule: 50.3 mm"),
}


@pytest.mark.parametrize("label", SENTENCES)
def test_a_changed_json_sentence_is_caught(label: str) -> None:
    text = sheet(PLAIN, "tool", "mm", "json")
    data = json.loads(text)
    for setup in data["setups"]:
        for said in (setup["said"], *(section["said"] for section in setup["tools"])):
            if label in said:
                said[label] = [one.replace(*SENTENCES[label]) for one in said[label]]
    assert data != json.loads(text)
    found = check(json.dumps(data), PLAIN, "json")
    assert kinds(found) & {"wrong-figure", "bad-lay", "unreadable-sheet"}


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("field", ["turns", "division", "reading", "negative", "left_over_mm"])
def test_a_changed_json_figure_is_caught(axis: str, field: str) -> None:
    data = json.loads(sheet(ODD, "tool", "mm", "json"))
    figures = data["setups"][0]["steps"][3][axis]
    figures[field] = not figures[field] if field == "negative" else figures[field] + 1
    assert kinds(check(json.dumps(data), ODD, "json"))


@pytest.mark.parametrize("field", ["hole", "x", "x_by_rule", "x_beyond", "y", "y_beyond", ""])
def test_a_changed_place_of_json_is_caught(field: str) -> None:
    """JSON has the places of all holes, also of those whose setting leaves nothing over."""
    data = json.loads(sheet(PLAIN, "tool", "mm", "json"))
    where = data["setups"][0]["where"]
    (place,) = (one for one in where if one["hole"] == "cap 1")
    if field:
        place[field] = {"hole": "cap 2", "x_by_rule": "9.9"}.get(field, "+7.007")
    else:
        where.remove(place)
    assert kinds(check(json.dumps(data), PLAIN, "json"))


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
    named = part_of(
        RICH.replace('"faced"', f'"{name}"').replace('"tiny"', f'"{name} b"'), RICH_STOCK
    )
    for order, form in (("tool", "text"), ("hole", "text"), ("tool", "html")):
        plan = make_plan(named, shop(PLAIN), order)
        text = str(written("dials", make_dial_sheet(plan, "mm"), form))
        found = check_dials(text.encode(), form, named, shop(PLAIN), file="sheet")  # type: ignore[arg-type]
        assert found == []


def test_a_sheet_for_another_dial_is_caught() -> None:
    """A sheet for 2.5 mm screws beside a mill with 0.1 in ones: 1.6 % out, the known trap."""
    inch = '[dials]\nx = { lead = "0.1 in", divisions = 100 }'
    found = check(sheet(PLAIN, "tool", "mm", "csv"), inch, "csv")
    assert "hole-off" in kinds(found)


@pytest.mark.parametrize(
    ("order", "form"),
    [("tool", "text"), ("hole", "text"), ("row", "csv"), ("tool", "json"), ("row", "html")],
)
def test_an_excerpt_has_the_settings_of_its_sheet(form: str, order: str, tmp_path: Path) -> None:
    path = tmp_path / "trial.toml"
    path.write_text(part_text(RICH, RICH_STOCK), encoding="utf-8")
    for chosen in (("--only", "cap"), ("--from-step", 3), ("--only", "screw 2")):
        ran = millprep("dials", path, "--order", order, *chosen, "--format", form)
        assert ran.status == 0, ran.err
        if form == "text":
            assert "; the setup is not done with these." in " ".join(ran.out.split())
    ran = millprep("dials", path, "--only", "cop")
    assert ran.status == 2
    assert 'no hole "cop"' in ran.err


def test_an_excerpt_goes_back_past_places_that_its_own_way_leads_back_to() -> None:
    """On the whole sheet X comes up from 10 to 20; in the excerpt it comes back from 50."""
    holes = "".join(
        f'[[hole]]\nname = "{name}"\n{what}\nat = [{x}, 20]\ndepth = 8\n'
        for name, what, x in (
            ("a", "drill = 5", 10),
            ("b", 'tap = "M4"', 20),
            ("c", "drill = 5", 50),
        )
    )
    plan = make_plan(part_of(holes), shop(PLAIN), "tool")
    whole = steps_of(make_dial_sheet(plan, "mm"))
    for name in ("a", "b", "c"):
        before = 0.0
        for step in steps_of(
            make_dial_sheet(plan, "mm", keeps=lambda _, one, name=name: one.hole.name == name)
        ):
            goes_back = step["x_exact_mm"] < before
            assert step["x"]["back_off"] is not None or not goes_back
            before = step["x_exact_mm"]
    kept = steps_of(make_dial_sheet(plan, "mm", keeps=lambda number, _: number >= 2))
    for step in kept:
        back = whole[step["step"] - 1]["x"]["back_off"]
        assert back is None or step["x"]["back_off"] == back


def steps_of(document: Document) -> list[Any]:
    sheet = json.loads(written("dials", document, "json"))
    return [step for setup in sheet["setups"] for step in setup["steps"]]
