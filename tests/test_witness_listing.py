"""The second witness for listings: agrees with every sheet as written, catches every sheet changed.

The sheets come from the real writer; each test breaks one thing in the finished bytes and asks
whether it is found, and found as what it is. What must be right is the trade's: see the sources in
the witness's own modules.
"""

from __future__ import annotations

import csv
import io
import json
import random
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jobs import EXAMPLE_PARTS, part_text, read_text

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.infiles import read_part, read_shop
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.planning import make_plan
from millprep.sheets.listing import make_listing
from millprep.witness.listing import check_listing
from millprep.writers import written

EXAMPLES = EXAMPLE_PARTS

HOLES = """
[[hole]]
name = "TOOL 3"
tap = "M4"
depth = 8
circle = { centre = [20, 20], diameter = 18, count = 3, start = 10 }
[[hole]]
name = "12.000"
ream = "1/4 in"
fit = "H7"
at = [20, 20]
depth = "through"
[[hole]]
name = "sunk 1.5"
clear = "M4"
countersink = "M4 countersunk"
at = [50, 10]
depth = "through"
[[hole]]
name = "cap – ½ Ø"
clear = "M5"
counterbore = "M5 socket head"
at = [50, 30]
depth = "through"
[[hole]]
name = "side to side"
face = "front"
drill = 4.2
at = [30, 12]
depth = 9
[[hole]]
name = "left"
face = "right"
tap = "M6 left hand"
at = [14, 8]
depth = 11
"""
DISC = """
[[hole]]
name = "screw"
tap = "#10-32"
depth = "3/8 in"
circle = { centre = [0, 0], diameter = "1 1/4 in", count = 5, start = 90 }
[[hole]]
name = "bore"
bore = "5/8 in"
at = [0, 0]
depth = "through"
"""


@cache
def part(name: str) -> Part:
    if name == "disc":
        return read_text(
            part_text(
                DISC,
                'diameter = 2\nlength = 0.6\naxis = "z"',
                units="inch",
                datum='x = "centre"\ny = "centre"',
            )
        )
    return read_text(part_text(HOLES, "size = [60, 40, 20]"))


@cache
def shop(reversed_axes: tuple[str, ...] = ()) -> Shop:
    metric = read_shop("metric")
    return replace(metric, readout=replace(metric.readout, reversed_axes=reversed_axes))


@cache
def sheet(
    name: str,
    order: str,
    units: Any,
    form: str,
    reversed_axes: tuple[str, ...] = (),
    number: int | None = None,
) -> str:
    plan = make_plan(part(name), shop(reversed_axes), order)
    return written("listing", make_listing(plan, units, [], number), form)


def check(
    name: str, text: str, form: Any, reversed_axes: tuple[str, ...] = (), **more: Any
) -> list[Finding]:
    bench = shop(reversed_axes)
    return check_listing(text.encode(), form, part(name), bench, file="sheet", **more)


def kinds(findings: list[Finding]) -> set[str]:
    assert all(finding.severity == "stop" and finding.file == "sheet" for finding in findings)
    return {finding.kind for finding in findings}


WAYS = [
    (name, order, units, form)
    for name in ("block", "disc")
    for order in ("tool", "hole")
    for units in ("mm", "inch")
    for form in ("text", "csv", "json")
]


@pytest.mark.parametrize("reversed_axes", [(), ("y",), ("x", "y", "z")], ids="-".join)
@pytest.mark.parametrize(("name", "order", "units", "form"), WAYS)
def test_a_sheet_as_written_agrees(
    name: str, order: str, units: str, form: str, reversed_axes: tuple[str, ...]
) -> None:
    text = sheet(name, order, units, form, reversed_axes)
    assert check(name, text, form, reversed_axes) == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_sheets_of_the_example_parts_agree(path: Path) -> None:
    example = read_part(path)[0]
    for order, units, form in (
        ("tool", "mm", "text"),
        ("hole", "inch", "text"),
        ("tool", "inch", "json"),
    ):
        made = written("listing", make_listing(make_plan(example, shop(), order), units, []), form)
        assert check_listing(made.encode(), form, example, shop(), file="sheet") == []


@pytest.mark.parametrize("reversed_axes", [("x",), ("y",), ("z",)], ids="-".join)
@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_a_readout_that_counts_the_other_way_is_noticed(
    form: str, reversed_axes: tuple[str, ...]
) -> None:
    text = sheet("block", "tool", "mm", form)
    assert check("block", text, form, reversed_axes)


def test_another_part_is_noticed() -> None:
    other = read_text(part_text(HOLES.replace("[20, 20]", "[20.1, 20]"), "size = [60, 40, 20]"))
    text = sheet("block", "tool", "mm", "text")
    found = check_listing(text.encode(), "text", other, shop(), file="sheet")
    assert {"hole-off", "wrong-figure"} <= kinds(found)  # the holes, and the part mark


# Digits: each figure of each row, of the places, presets, pecks and counts.

_FIGURE_LINE = re.compile(
    r"\[ \]|ZERO|PLACES|DONE|        (?:go to|Y on|to -?\d|-?\d+\.\d+;|all to|\d.* turns)"
    r"|          ?pecks"
)
PECK_FREEDOM_MM = 3.0  # a bite may be shorter than the schedule's
ROOM_MM = 1.01  # below a tap or reamer, of which a thin floor may take some


def _is_let_pass(before: str, old: str, new: str, operation: str) -> bool:
    """What no reader of the sheet alone can call wrong: Z within its tolerance, pecks less deep."""
    changed = abs(float(old) - float(new)) * (25.4 if len(old.partition(".")[2]) == 4 else 1)
    is_depth_of_all = re.match(rf" +(?:all|.* turns,) to {re.escape(old)}(?![\d.])", before)
    if "pecks" in before and not is_depth_of_all:
        return changed <= PECK_FREEDOM_MM + 1e-9
    ending = re.sub(r"  (?:\d+\.\d turns|deeper|shallower|drill|pilot drill)", "", before)
    if not (is_depth_of_all or (before.startswith("[ ]") and ending.endswith(old))):
        return False
    return changed < (ROOM_MM if operation == "drill" else 0.03)


@pytest.mark.parametrize(("name", "order", "units"), [way[:3] for way in WAYS if way[3] == "text"])
def test_every_digit_counts(name: str, order: str, units: str) -> None:
    text = sheet(name, order, units, "text")
    lines = text.split("\n")
    chance = random.Random(f"{name} {order} {units}")
    tried = 0
    operation = ""
    for index, line in enumerate(lines):
        head = re.match(r"TOOL .*  (spot drill|drill|counterbore|\w+)\b.* \d+ holes?$", line)
        row = re.match(r"\[ \] +\d+  (.+?)  +tool ", line)
        operation = head[1] if head else row[1] if row else operation
        if not _FIGURE_LINE.match(line):
            continue
        start = 50 if order == "hole" and row else 10 + len("cap – ½ Ø")
        for figure in re.finditer(r"(?<![^ ])-?\d+\.\d{3,4}(?![^ ;])", line):
            if line.startswith("[ ]") and not row and figure.start() < start:
                continue  # part of a name
            places = [i for i in range(*figure.span()) if line[i].isdigit()]
            place = chance.choice(places)
            digit = str((int(line[place]) + chance.choice((1, 3, 5))) % 10)
            changed = line[:place] + digit + line[place + 1 :]
            new = changed[slice(*figure.span())]
            if _is_let_pass(line, figure[0], new, operation):
                continue
            tried += 1
            broken = "\n".join([*lines[:index], changed, *lines[index + 1 :]])
            assert check(name, broken, "text"), f"{line!r} -> {changed!r}"
    assert tried >= 20


@pytest.mark.parametrize("form", ["csv", "json"])
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_every_place_counts_in_the_other_forms(units: str, form: str) -> None:
    """X and Y one readout count off, Z 0.05 mm off or of the other sign, in every row."""
    count = 0.005 if units == "mm" else 0.0002
    deep = 0.05 if units == "mm" else 0.002
    rows = len(check_rows(form, units))
    changes: list[tuple[str, Callable[[float], float]]] = [
        ("x", lambda x: x + count),
        ("y", lambda y: y - count),
        ("x", lambda x: x + 1e-4),
        ("z", lambda z: -z),
        ("z", lambda z: z - deep),
        ("z", lambda z: 0.0),
    ]
    for number in range(rows):
        for column, change in changes:
            text = changed_cell(form, units, number, column, change)
            loose = column == "z" and form == "csv" and "drill" in check_rows(form, units)[number]
            assert loose or check("block", text, form), (number, column)


def check_rows(form: str, units: str) -> list[str]:
    """The operation of each row."""
    text = sheet("block", "tool", units, form)
    if form == "csv":
        return [row["operation"] for row in csv.DictReader(io.StringIO(text))]
    return [step["operation"] for setup in json.loads(text)["setups"] for step in setup["steps"]]


def changed_cell(
    form: str, units: str, number: int, column: str, change: Callable[[float], float]
) -> str:
    text = sheet("block", "tool", units, form)
    decimals = 4
    if form == "json":
        whole = json.loads(text)
        steps = [step for setup in whole["setups"] for step in setup["steps"]]
        steps[number][column] = round(change(steps[number][column]), decimals)
        return json.dumps(whole)
    table = list(csv.reader(io.StringIO(text)))
    at = table[0].index(column)
    table[number + 1][at] = f"{change(float(table[number + 1][at])):.{decimals}f}"
    file = io.StringIO()
    csv.writer(file).writerows(table)
    return file.getvalue()


# One slip each in the text by tool, and what it is found as.


def rows_of(text: str, words: str) -> list[int]:
    return [
        i for i, line in enumerate(text.split("\n")) if line.startswith("[ ]") and words in line
    ]


def substituted(pattern: str, new: str) -> Callable[[str], str]:
    def change(text: str) -> str:
        broken, times = re.subn(pattern, new, text, count=1, flags=re.MULTILINE)
        assert times == 1, pattern
        return broken

    return change


def with_lines(change: Callable[[list[str]], None]) -> Callable[[str], str]:
    def on_text(text: str) -> str:
        lines = text.split("\n")
        change(lines)
        return "\n".join(lines)

    return on_text


def without_row(lines: list[str]) -> None:
    del lines[rows_of("\n".join(lines), "12.000")[0]]


def row_twice(lines: list[str]) -> None:
    at = rows_of("\n".join(lines), "left")[0]
    lines.insert(at, lines[at])


def swapped_names(lines: list[str]) -> None:
    first, second = rows_of("\n".join(lines), "TOOL 3 ")[:2]
    for at in (first, second):
        lines[at] = lines[at].replace("TOOL 3 1", "TOOL 3 x").replace("TOOL 3 2", "TOOL 3 1")
        lines[at] = lines[at].replace("TOOL 3 3", "TOOL 3 2").replace("TOOL 3 x", "TOOL 3 3")


def swapped_rows(lines: list[str]) -> None:
    first, second = rows_of("\n".join(lines), "TOOL 3 ")[:2]
    lines[first], lines[second] = lines[second], lines[first]


def without_second_setup(lines: list[str]) -> None:
    starts = [
        i for i, line in enumerate(lines) if " setup 2 of 3: " in line or " setup 3 of 3: " in line
    ]
    del lines[starts[0] : starts[1]]


SLIPS: dict[str, tuple[Callable[[str], str], str]] = {
    "row left out": (with_lines(without_row), "operation-missing"),
    "row twice": (with_lines(row_twice), "operation-extra"),
    "rows exchanged": (with_lines(swapped_rows), "wrong-numbering"),
    "names exchanged": (with_lines(swapped_names), "hole-off"),
    "setup left out": (with_lines(without_second_setup), "setup-missing"),
    "letter of a name": (substituted(r"^(\[ \] .*)side to side", r"\1side to site"), "hole-extra"),
    "blank in a name": (substituted(r"^(\[ \] .*)sunk 1\.5 ", r"\1sunk1.5  "), "hole-extra"),
    "capital in a name": (substituted(r"^(\[ \] .*)cap", r"\1Cap"), "hole-extra"),
    "sign of X": (substituted(r"^(\[ \] +\d+  12\.000 +)", r"\1-"), "hole-off"),
    "drill for pilot": (
        substituted(r"(drill 4\.5 .*rev/min)", r"\1  pilot drill 1 hole"), "wrong-tool",
    ),
    "ream for drill": (substituted(r"(reamer .*rev/min)", r"\1  drill 1 hole"), "wrong-tool"),
    "spotface for counterbore": (
        substituted(r"(counterbore 10 .*rev/min)", r"\1  spotface 1 hole"), "operation-extra",
    ),
    "drill size": (substituted(r"drill 3\.3 ", "drill 3.8 "), "wrong-diameter"),
    "drill point": (substituted(r"drill 4\.5 ", "drill 4.5, 90 deg "), "too-shallow"),
    "reamer size": (substituted(r"6\.35 mm", "6.3 mm"), "wrong-diameter"),
    "reamer lead": (substituted(r"6\.35 mm", "6.35 mm, lead 2 mm"), "too-shallow"),
    "tap lead": (
        substituted("M4 second tap", "tap M4, 4 mm, pitch 0.7 mm, lead 6 threads"), "too-shallow",
    ),
    "tap pitch": (substituted("M4 second tap", "M4x0.5 second tap"), "wrong-tool"),
    "hand of a tap": (substituted("M6 left hand second", "M6 second"), "wrong-tool"),
    "countersink angle": (substituted(r"(countersink 12\.4,) 90", r"\1 82"), "wrong-angle"),
    "spot's flat": (substituted("spot drill 10, 90 deg", r"\g<0>, flat 2 mm"), "too-deep"),
    "turns": (substituted(r"15\.4 turns", "15.6 turns"), "wrong-turns"),
    "turns left out": (substituted(r"15\.4 turns to ([-\d.]+).*$", r"all to \1"), "wrong-turns"),
    "depth of all": (substituted(r"all to -12\.490", "all to -12.990"), "wrong-pecks"),
    "depth of no step": (substituted(r"^( +)all to -12\.490.*\n", ""), "unreadable-sheet"),
    "peck upwards": (substituted(r"pecks (-\S+) (-\S+)", r"pecks \2 \1"), "wrong-pecks"),
    "last peck left out": (substituted(r"(pecks .*) -\S+$", r"\1"), "wrong-pecks"),
    "up for down": (substituted(r"(?<=  )-(\d+\.\d+)$", r"\1"), "too-shallow"),
    "face": (substituted(r"TOP up(?s:(.*?))TOP up,", r"BOTTOM up\1BOTTOM up,"), "setup-missing"),
    "towards you": (
        substituted(r"FRONT towards you, LEFT", "BACK towards you, RIGHT"),
        "hole-off",
    ),
    "sign of a preset": (substituted(r"set Y = -5\.000", "set Y = 5.000"), "wrong-figure"),
    "limits of a ream": (substituted(r"to size 6\.350", "to size 6.340"), "wrong-figure"),
    "size of the stock": (substituted("60 x 40 x 20", "60 x 40 x 25"), "wrong-figure"),
    "cut short": (lambda text: text[: text.index("DONE")], "setup-missing"),
}  # fmt: skip


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_is_found_as_what_it_is(slip: str) -> None:
    change, kind = SLIPS[slip]
    text = sheet("block", "tool", "mm", "text")
    assert kind in kinds(check("block", change(text), "text"))


def test_findings_name_step_hole_and_line() -> None:
    text = sheet("block", "tool", "mm", "text")
    row = rows_of(text, "side to side")[0]
    broken = text.replace("30.000      12.000", "31.000      12.000", 1)
    (finding,) = check("block", broken, "text")
    assert (finding.kind, finding.line, finding.holes) == ("hole-off", row + 1, ("side to side",))
    assert str(finding) == (
        f"sheet:{row + 1}: stop: setup 2 step 1, side to side: at X31.0000 Y12.0000 mm; it belongs "
        "at X30.0000 Y12.0000\n"
        "    check the coordinate against the part file, and that zero is on the faces named"
    )


def test_depth_in_inches_read_as_millimetres_is_found() -> None:
    text = sheet("block", "tool", "inch", "csv").replace(",inch,", ",mm,")
    assert {"hole-off", "too-shallow"} <= kinds(check("block", text, "csv"))


@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_one_setup_of_several(form: str) -> None:
    text = sheet("block", "tool", "mm", form, (), 2)
    assert check("block", text, form, faces=["front"], setup_numbers_expected=3) == []
    assert kinds(check("block", text, form, faces=["front", "top"])) == {"setup-missing"}
    assert "setup-extra" in kinds(check("block", text, form, faces=["top"]))
    assert kinds(check("block", text, form)) >= {"setup-missing", "wrong-numbering"}


def test_exact_figures_of_json_are_held_against_the_part() -> None:
    whole = json.loads(sheet("block", "tool", "inch", "json"))
    whole["setups"][0]["steps"][0]["x_exact_mm"] += 1e-4
    assert kinds(check("block", json.dumps(whole), "json")) == {"wrong-figure"}
    whole["setups"][0]["steps"][0]["x_exact_mm"] -= 1e-4
    whole["setups"][0]["steps"][0]["cone_mm"] += 0.1
    assert kinds(check("block", json.dumps(whole), "json")) == {"wrong-figure"}


def test_the_lay_is_the_one_that_the_part_file_asks_for() -> None:
    asked = (
        part_text(HOLES, "size = [60, 40, 20]", lay="chosen")
        + '[[setup]]\nface = "top"\nzero = { x = "right" }\n'
    )
    other = read_text(asked)
    found = check_listing(
        sheet("block", "tool", "mm", "text").encode(), "text", other, shop(), file="sheet"
    )
    assert "bad-lay" in kinds(found)


ODD_NAMES = [
    "a hole name of forty letters 12 345.5 -6", "[ ] 4 x 1.5 2.5 -3.5 Ø½", "ööö – 漢字 hole",
    "HOLE x", "-1.000", "a to b: c", "cross-hole, side-to-side; part-way-up", "(opens to", "1 2 3",
]  # fmt: skip


@pytest.mark.parametrize("order", ["tool", "hole"])
@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_names_may_look_like_anything(form: Any, order: str) -> None:
    holes = "".join(
        f'[[hole]]\nname = {json.dumps(name)}\ntap = "M3"\ndepth = 6\nat = [{6 * number}, 9]\n'
        f'note = "[ ] {number} TOOL 2: 3.000 from LEFT"\n'
        for number, name in enumerate(ODD_NAMES, start=1)
    )
    more = (
        'drawing = "setup 9 of 9: LEFT up; figures in inch"\nnote = "DONE 1 of 1 holes, 1 steps."'
    )
    odd = read_text(part_text(holes, "size = [60, 40, 20]", more=more))
    made = written("listing", make_listing(make_plan(odd, shop(), order), "mm", []), form)
    assert check_listing(made.encode(), form, odd, shop(), file="sheet") == []
    broken = made.replace("x 1.5 2.5 -3.5 Ø½", "x 1.5 2.5 -3.6 Ø½")
    assert check_listing(broken.encode(), form, odd, shop(), file="sheet")
