"""Printed listings read back: the sheets are typed by hand, the figures worked out beside them.

1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from typing import Any

import pytest
from jobs import RICH, RICH_STOCK, part_of, plan_of

from millprep.reading.pages.forms import read_sheet
from millprep.reading.pages.printed import (
    PrintedSetup,
    PrintedTool,
    UnreadableSheet,
    called_tool,
    tool_of,
)
from millprep.reading.pages.slots import names_by_letters
from millprep.reading.pages.steps import setup_of
from millprep.sheets.listing import make_listing
from millprep.writers import written

RULE = "-" * 78
# Names that look like the sheet's own words; the part's and the drawing's look like headings.
BY_TOOL = f"""\
TRIAL SETUP 9 OF 9: LEFT UP                               setup 1 of 2: TOP up
mild steel, 60 x 40 x 20; drawing setup 8 of 8: BACK up; figures in inch;
    part mark 012
figures in mm; part mark 0123ab; positions +/- 0.1 unless
    stated
NOTE: cut dry.
note: figures in inch
{RULE}
SET UP  TOP up, FRONT towards you, LEFT to your left.
HOLD    in the vice, BACK against the fixed jaw, LEFT up against the stop, 8
        mm in the jaws, up on parallels 22 high at Y -20 to -16, Y 16 to 20.
ZERO    X on LEFT, Y on the centre, 10 mm edge finder:
        pick up LEFT, set X = -5.000
        pick up FRONT, set Y = -25.000; BACK should read +25.000
        X 0 Y 0 should be over the middle of the edge.  TOOL 3 at X 12.500
        Y 0.000; check with a rule: 12.5 mm from LEFT, 20.0 mm from FRONT.
PLACES  TOOL 3: a note: with a colon, and a comma
        12.000, position +/- 0.02
{RULE}
TOOL    1 of 3  spot drill 10, 90 deg           700 rev/min    2 holes
        spot to 4.3 dia (TOOL 3), 5.3 dia (12.000)
    step  hole               X mm      Y mm  quill to
[ ]    1  TOOL 3           12.500     0.000      -2.050
[ ]    2  12.000           30.000     4.000      -2.550
CHECK   2 spots; check with a rule: 18.0 mm, TOOL 3 to 12.000.
    measure           right  wrong way  one turn
    LEFT to TOOL 3     12.5          -     15.0/10.0
    TOOL 3 to 12.000   18.0       28.0             -
TOOL    2 of 3  drill 3.3                       1250 rev/min   2 holes
[ ]    3  12.000           30.000     4.000     -12.000  pilot drill
[ ]    4  TOOL 3           12.500     0.000     -12.490  drill
          pecks to -6.600 -9.900
                   -12.490
TOOL    3 of 3 (tool 7)  M4 second tap, by
        hand  2 holes
        15.4 turns to -10.800; back half a
        turn after each
[ ]    5  TOOL 3           12.500     0.000
[ ]    6  1 2 3 4.5  30.000  4.000
{RULE}
DONE    2 of 2 holes, 6 steps.
ASSUMED readout counts 0.005 mm.
REMARKS warning: DONE 1 of 1 holes

TRIAL SETUP 9 OF 9: LEFT UP                              setup 2 of 2: BACK up
SET UP  BACK up, BOTTOM towards you, RIGHT to your left.
HOLD    in the vice, TOP against the fixed jaw, RIGHT up against the stop, 8
        mm in the jaws, down on the floor of the vice.
ZERO    X on LEFT, Y on BOTTOM, 10 mm edge finder:
        pick up LEFT, set X = 5.000
        pick up BOTTOM, set Y = -5.000
        X 0 Y 0 should be over the corner.
{RULE}
TOOL    1  spot drill 10, 90 deg  700 rev/min
TOOL    4  reamer 1/4 in, 6.35 mm
        400 rev/min
        at every change touch off on BACK and set Z to 0
HOLE    side
        go to X -10.000  Y 8.000
        LOCK X and Y: side is reamed.  to size 6.350 to 6.365 (H7)
    step  operation           tool     quill to
[ ]    1  spot drill        tool 1        -3.225
[ ]    2  ream              tool 4       -22.000
{RULE}
DONE    1 of 1 hole, 2 steps.
{RULE}
TAKE CARE  Eyes: glasses on.

millprep mark 0123456789abcdef
"""


NAMES = ("TOOL 3", "12.000", "1 2 3 4.5", "side")


def read_listing(data: bytes, form: Any) -> tuple[PrintedSetup, ...]:
    rich = part_of(RICH, RICH_STOCK).holes
    holes = [*NAMES, *(hole.name for hole in rich), *(hole.group for hole in rich)]
    names = names_by_letters(hole=holes, pattern=holes)
    sheet = read_sheet(data, "listing", form, names, table="steps", pages="setup")
    return tuple(setup_of(page, sheet.units) for page in sheet.pages)


def read(text: str) -> tuple[Any, ...]:
    return read_listing(text.encode(), "text")


def test_rows_by_tool_are_found_whatever_the_names() -> None:
    rows = read(BY_TOOL)[0].rows
    assert [(row.step, row.hole, row.operation, row.tool_number) for row in rows] == [
        (1, "TOOL 3", "spot drill", 1),
        (2, "12.000", "spot drill", 1),
        (3, "12.000", "pilot drill", 2),
        (4, "TOOL 3", "drill", 2),
        (5, "TOOL 3", "tap", 7),
        (6, "1 2 3 4.5", "tap", 7),
    ]
    assert [(row.x_mm, row.y_mm, row.z_mm) for row in rows[:2]] == [
        (12.5, 0.0, -2.05),
        (30.0, 4.0, -2.55),
    ]
    assert rows[3].pecks_mm == (-6.6, -9.9, -12.49)
    assert [row.turns for row in rows] == [None] * 4 + [15.4, 15.4]
    assert [row.line for row in rows] == [23, 24, 30, 31, 38, 39]


def test_rows_by_hole_take_place_and_name_from_the_heading() -> None:
    setup = read(BY_TOOL)[1]
    ream = setup.rows[1]
    assert (ream.hole, ream.operation, ream.tool_number) == ("side", "ream", 4)
    assert (ream.x_mm, ream.y_mm, ream.z_mm) == (-10.0, 8.0, -22.0)
    assert ream.tool == PrintedTool("reamer", 6.35, lead=1.0)
    assert (setup.face, setup.towards_you) == ("back", "bottom")


def test_heading_is_read_past_names_that_look_like_one() -> None:
    first, second = read(BY_TOOL)
    assert (first.number, first.of, first.face, first.units) == (1, 2, "top", "mm")
    assert (second.number, second.zero_x, second.zero_y) == (2, "left", "bottom")
    assert (first.zero_x, first.zero_y) == ("left", "centre")


def test_inches_become_millimetres_once() -> None:
    text = BY_TOOL.replace("figures in mm;", "figures in inch;")
    text = text.replace("X mm      Y mm", "X in      Y in").replace(
        "10 mm finder", "10 mm (0.3937 in) finder"
    )
    text = text.replace("18.0 mm by rule", "45/64 in by rule").replace(
        "12.500     0.000", " 0.3750     0.000"
    )
    text = text.replace("spot drill 10,", "spot drill 10 mm,").replace(
        "drill 3.3 ", "drill 3.3 mm "
    )
    row = read(text)[0].rows[0]
    assert row.x_mm == 9.525  # 3/8 in
    assert row.tool.diameter_mm == 10.0


@pytest.mark.parametrize(
    ("words", "tool"),
    [
        ("drill 3.3 mm, point 118 deg", PrintedTool("drill", 3.3, 118.0)),
        ("drill #7, 5.1054 mm, point 118 deg", PrintedTool("drill", 5.1054, 118.0)),
        ("drill 13/32 in, 10.3188 mm, point 135 deg", PrintedTool("drill", 10.3188, 135.0)),
        ("spot drill 10 mm, point 90 deg, flat 0.2 mm", PrintedTool("spot drill", 10.0, 90.0, 0.2)),
        (
            "tap M6 left hand, 6 mm, pitch 1 mm, lead 4 threads, left hand",
            PrintedTool(
                "tap", 6.0, pitch_mm=1.0, lead=4.0, is_left_hand=True, thread="M6 left hand"
            ),
        ),
        (
            "tap 1/4-20 UNC, 6.35 mm, pitch 1.27 mm, lead 1.5 threads",
            PrintedTool("tap", 6.35, pitch_mm=1.27, lead=1.5, thread="1/4-20 UNC"),
        ),
        ("boring head 22 mm", PrintedTool("boring head", 22.0)),
        ("end mill 12 mm", PrintedTool("end mill", 12.0)),
        ("countersink 12.4 mm, point 82 deg", PrintedTool("countersink", 12.4, 82.0)),
    ],
)
def test_tool_lines(words: str, tool: PrintedTool) -> None:
    assert tool_of(words) == tool


@pytest.mark.parametrize(
    ("words", "tool"),
    [
        ("drill 3.3", PrintedTool("drill", 3.3, 118.0)),
        ("drill #7, 5.105 mm, 135 deg", PrintedTool("drill", 5.105, 135.0)),
        ("spot drill 6, 90 deg", PrintedTool("spot drill", 6.0, 90.0, 0.2)),
        ("spot drill 6, 90 deg, flat 0 mm", PrintedTool("spot drill", 6.0, 90.0)),
        ("countersink 12.4, 82 deg, nose 2.8 mm", PrintedTool("countersink", 12.4, 82.0, 2.8)),
        ("reamer 5", PrintedTool("reamer", 5.0, lead=1.0)),
        ("reamer 5, lead 7.5 mm, for the hand", PrintedTool("reamer", 5.0, lead=7.5, is_hand=True)),
        ("boring head 22", PrintedTool("boring head", 22.0)),
        ("M4 second tap", PrintedTool("tap", 4.0, pitch_mm=0.7, lead=4.0, thread="M4")),
        (
            "1/4-20 UNC plug (bottoming) tap",
            PrintedTool("tap", 6.35, pitch_mm=1.27, lead=1.5, thread="1/4-20 UNC"),
        ),
        (
            "M6 left hand second tap",
            PrintedTool(
                "tap", 6.0, pitch_mm=1.0, lead=4.0, is_left_hand=True, thread="M6 left hand"
            ),
        ),
    ],
)
def test_tools_as_the_shop_calls_them(words: str, tool: PrintedTool) -> None:
    assert called_tool(words, "mm") == tool


@pytest.mark.parametrize(
    "words", ["punch 3", "drill #7", "drill 3.3, lead 4 mm", "M4 tap", "M4.3 second tap", "drill"]
)
def test_what_no_shop_calls_a_tool_is_refused(words: str) -> None:
    with pytest.raises(UnreadableSheet):
        called_tool(words, "mm")


def test_a_size_without_a_unit_is_no_size_in_inches() -> None:
    assert called_tool("drill 3.3 mm", "inch").diameter_mm == 3.3
    with pytest.raises(UnreadableSheet):
        called_tool("drill 3.3", "inch")


@pytest.mark.parametrize(
    "words",
    [
        "punch 3 mm",
        "drill #7, point 118 deg",
        "drill 3.3 mm, lead 4 threads",
        "tap M4, 4 mm",
        "reamer 6 mm, lead 4 threads",
        "drill",
        "drill 3.3 mm point 118 deg",
        "drill -3.3 mm",
        "",
    ],
)
def test_other_tool_lines_are_refused(words: str) -> None:
    with pytest.raises(UnreadableSheet):
        tool_of(words)


# What stands there, what stands there instead, how many lines above it the line is that is named;
# below it where what it does not agree with comes later.
SLIPS = [
    ("setup 1 of 2: TOP up", "setup 1 of 2: UPPER up", 0),
    ("setup 1 of 2: TOP up", "setup 1 of 2: LEFT up", -8),
    ("figures in mm; part mark 0123ab; positions", "figures in cm; part mark 0123ab; positions", 0),
    ("HOLD    in the vice", "HELD    in the vice", 0),
    ("set X = -5.000", "set X = -5.0.0", 1),
    ("TOOL 3: a note", "TOOL 33: a note", 0),
    ("1 of 3  spot drill", "1 of 3  spotting drill", 0),
    ("700 rev/min    2 holes", "at 700; 2 holes", 0),
    ("    step  hole ", "    step  holes ", 0),
    ("[ ]    1  TOOL 3           12.500     0.000      -2.050", "[ ]    1  TOOL 3", 0),
    ("[ ]    1  TOOL 3           12.500", "[ ]       TOOL 3           12.500", 0),
    ("     0.000      -2.050", "    -0.000      -2.050", 0),
    ("      -2.550", "      -2.55O", 0),
    ("      -2.550", "", 0),
    ("      -2.050\n", "      -2.050  shallow\n", 0),
    ("[ ]    2  12.000", "[x]    2  12.000", 0),
    ("CHECK   2 spots;", "CHECK   two spots;", 0),
    ("LEFT to TOOL 3     12.5", "LEFT to TOOL 9     12.5", 0),
    ("12.5          -     15.0/10.0", "12.5                15.0/10.0", 0),
    ("          pecks to", "          bites to", 0),
    ("        15.4 turns to -10.800", "        15.4 turn to -10.800", 2),
    ("        15.4 turns to -10.800; back half a\n        turn after each\n", "", 0),
    ("DONE    2 of 2 holes, 6", "DONE    two holes, 6", 0),
    ("ASSUMED readout", "PRESUMED readout", 0),
    ("HOLE    side\n", "SIDE\n", 0),
    ("        go to X -10.000", "        move to X -10.000", 1),
    ("tool 4       -22", "tool 7       -22", 0),
    ("ream              tool", "reaming           tool", 0),
    ("TOOL    4  reamer 1/4 in", "TOOL    1  reamer 1/4 in", -8),
    ("TAKE CARE", "TAKE HEED", 0),
]  # fmt: skip


@pytest.mark.parametrize(("good", "bad", "above"), SLIPS)
def test_what_is_not_understood_is_refused_with_its_line(good: str, bad: str, above: int) -> None:
    before, _, _ = BY_TOOL.partition(good)
    with pytest.raises(UnreadableSheet) as caught:
        read(BY_TOOL.replace(good, bad, 1))
    assert caught.value.line == before.count("\n") + 1 - above


@pytest.mark.parametrize("form", ["text", "csv", "json"])
@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"\n\n\n", b"{}", b"a,b\n1,2\n", b"[" * 20_000])
def test_what_is_no_sheet_is_refused(form: Any, data: bytes) -> None:
    with pytest.raises(UnreadableSheet):
        read_listing(data, form)


CELLS = {
    "setup": "1", "face": "top", "towards_you": "front", "zero_x": "left", "zero_y": "centre",
    "units": "inch", "step": "1", "hole": 'say "hi", 3', "operation": "drill",
    "tool": "drill 1/4 in, 6.35 mm, point 118 deg", "tool_number": "4", "diameter_mm": "6.35",
    "point_angle_deg": "118.0", "tip_flat_mm": "0.0", "pitch_mm": "", "lead": "", "cone_mm": "",
    "x": "0.3750", "y": "-0.5000", "z": "-1.0000", "pecks": "-0.5000 -1.0000", "turns": "",
    "skew_deg": "0.0",
}  # fmt: skip


def as_csv(*rows: dict[str, str]) -> bytes:
    file = io.StringIO()
    writer = csv.DictWriter(file, list(CELLS))
    writer.writeheader()
    writer.writerows(rows)
    return file.getvalue().encode()


def test_csv_rows() -> None:
    second = {**CELLS, "setup": "2", "face": "back", "towards_you": "bottom"}
    setups = read_listing(as_csv(CELLS, {**CELLS, "step": "2"}, second), "csv")
    assert [(setup.number, setup.face, len(setup.rows)) for setup in setups] == [
        (1, "top", 2),
        (2, "back", 1),
    ]
    row = setups[0].rows[0]
    assert row.hole == 'say "hi", 3'
    assert (row.x_mm, row.y_mm, row.z_mm) == (9.525, -12.7, -25.4)
    assert row.pecks_mm == (-12.7, -25.4)
    assert (row.tool, row.line) == (PrintedTool("drill", 6.35, 118.0), 2)


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("face", "upper"),
        ("zero_x", "middle"),
        ("units", "cm"),
        ("step", "one"),
        ("x", "1.2.3"),
        ("z", "-0.0000"),
        ("z", "nan"),
        ("operation", "punch"),
        ("diameter_mm", "6.3"),
        ("y", ""),
        ("point_angle_deg", "135"),
        ("pecks", "-0.5000;-1.0000"),
        ("turns", "some"),
    ],
)
def test_csv_cells_that_are_refused(column: str, cell: str) -> None:
    with pytest.raises(UnreadableSheet) as caught:
        read_listing(as_csv({**CELLS, column: cell}), "csv")
    assert caught.value.line == 2


def changed_json(change: Callable[[dict[str, Any]], Any]) -> bytes:
    """A listing in JSON, changed; the change is of its first setup."""
    plan = plan_of(RICH, RICH_STOCK)
    whole = json.loads(written("listing", make_listing(plan, "mm"), "json"))
    change(whole["setups"][0])
    return json.dumps(whole).encode()


def test_json_steps() -> None:
    rows = read_listing(changed_json(lambda setup: None), "json")[0].rows
    tap = next(row for row in rows if row.operation == "tap")
    assert (tap.hole[:6], tap.by_hand, tap.rpm) == ("screw ", True, None)
    assert tap.exact_mm is not None
    assert (tap.tool.kind, tap.tool.pitch_mm, tap.turns) == ("tap", 0.8, 14.0)


FIELDS = [
    ("step", "one"), ("x", None), ("y", "1.2.3"), ("z", -0.0), ("operation", "punch"),
    ("diameter_mm", 3.5), ("pitch_mm", 0.75), ("lead_mm", 9.0), ("tool", "punch 3 mm"),
    ("tool_number", 1.5), ("turns", "some"), ("pecks", ["-1.000", "deep"]),
]  # fmt: skip


@pytest.mark.parametrize(("field", "value"), FIELDS)
def test_json_fields_that_are_refused(field: str, value: Any) -> None:
    with pytest.raises(UnreadableSheet):
        read_listing(changed_json(lambda setup: setup["steps"][-1].update({field: value})), "json")


@pytest.mark.parametrize("field", ["towards_you", "left_hand", "zeroing", "hold"])
def test_names_that_are_not_what_the_words_say_are_refused(field: str) -> None:
    with pytest.raises(UnreadableSheet):
        read_listing(changed_json(lambda setup: setup.update({field: "right"})), "json")
