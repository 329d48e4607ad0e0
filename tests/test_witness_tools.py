"""The second witness for tools lists: agrees as written, catches whatever is changed."""

from __future__ import annotations

from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest
from jobs import part_of, part_text, shop_of
from slot_faults import sentences_of, slots_let_through, without
from test_slots_asked import is_stopped

from millprep.proven.preparation import prepare
from millprep.proven.sheets import SHEETS, Asked
from millprep.reading.pages.printed import PrintedTool
from millprep.sheets.document import Document
from millprep.witness.expected import expected_holes
from millprep.witness.pulled import Pulled, is_of_size, is_wanted, reach_mm

BLOCK = "size = [80, 50, 25]"
SUNK = 'clear = "M4"\ncountersink = { diameter = 9, angle = 90 }\ndepth = "through"'
CASES = {
    "instead-tap-drill": ('tap = "M6"\ndepth = 10\ndrills = ["4.95 mm"]', "drills = [4.5, 5.2]"),
    "instead-clearance-drill": ('clear = "M5"\ndepth = "through"', "drills = [5.3]"),
    "instead-between-drill": ('clear = "M5"\ndepth = "through"', "drills = [5.6]"),
    "instead-tight-drill": ('clear = "M5"\ndepth = "through"', "drills = [5.2]"),
    "instead-loose-drill": ('clear = "M5"\ndepth = "through"', "drills = [5.9]"),
    "instead-ream-drill": (
        'ream = 6\nfit = "H7"\ndepth = "through"\ndrills = ["5.85 mm"]',
        "drills = [5.3, 5.7]",
    ),
    "instead-plain-drill": ("drill = 6.15\nlimits = [0, 0.1]\ndepth = 10", "drills = [5.9, 6.1]"),
    "instead-reamer": (
        'ream = "1/4 in"\nfit = "H7"\ndepth = "through"',
        'drills = [5.8, 6]\nreamers = ["6.4 mm"]',
    ),
    "instead-drill-for-reamer": (
        'ream = "1/4 in"\nfit = "H7"\ndepth = "through"',
        "drills = [5.8, 6, 6.3]\nreamers = []",
    ),
    "instead-bored": (
        'ream = 10\nfit = "H7"\ndepth = "through"',
        "drills = [6, 9.7]\nreamers = []",
    ),
    "instead-tap": ('tap = "#10-32"\ndepth = 8', 'drills = [4.1]\ntaps = ["M5"]'),
    "instead-short-cone": (
        'clear = "M4"\ncountersink = { diameter = 9, angle = 90 }\ndepth = "through"',
        "drills = [4.5]\ncountersinks = [{ diameter = 8 }]",
    ),
    "instead-other-cone": (
        'clear = "M4"\ncountersink = { diameter = 9, angle = 82 }\ndepth = "through"',
        "drills = [4.5]\ncountersinks = [{ diameter = 12.4 }]",
    ),
    "instead-wide-recess": (
        'clear = "M4"\ncounterbore = { diameter = 9, depth = 4 }\ndepth = "through"',
        "drills = [4.5]\ncounterbores = [10]\nend_mills = []",
    ),
    "instead-milled": (
        'clear = "M4"\ncounterbore = { diameter = 9, depth = 4 }\ndepth = "through"',
        "drills = [4.5]\nend_mills = [6]",
    ),
    "instead-started": (
        "drill = 5\ndepth = 8",
        "drills = [5]\nspot_drills = []\ncountersinks = [{ diameter = 8 }]",
    ),
    "tool-alone": ("drill = 5\ndepth = 8", "drills = [3]"),
}


@cache
def laid_out(slug: str) -> tuple[Any, Document]:
    hole, drawer = CASES[slug]
    part = part_of(f"[[hole]]\nname = 'a'\nat = [20, 20]\n{hole}\n", BLOCK)
    wanted = SHEETS["tools"](prepare(part, shop_of(f"[drawer]\n{drawer}\n")), Asked())
    document, _ = wanted.lay_out()
    return wanted, document


@pytest.mark.parametrize("form", ["text", "json", "html"])
@pytest.mark.parametrize("slug", CASES)
def test_what_is_said_of_a_stand_in_is_asked(slug: str, form: str) -> None:
    wanted, document = laid_out(slug)
    assert slug in {one.slug for one in sentences_of(document)}
    assert not is_stopped(wanted, document, form)
    stopped = partial(is_stopped, wanted, form=form)
    assert slots_let_through(document, stopped) == []
    assert is_stopped(wanted, without(document, "tool-missing"), form)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("1,", "4,"),
        ("drill 6.15 mm", "drill 6.1 mm"),
        (",no,", ",yes,"),
        (",drill,", ",tap,"),
        (",1,a,", ",2,a,"),
        (",a,", ",b,"),
    ],
)
def test_a_changed_cell_is_caught(old: str, new: str) -> None:
    from millprep.writers import written

    wanted, document = laid_out("instead-plain-drill")
    text = str(written("tools", document, "csv"))
    assert wanted.disagreements(text.encode(), "csv", "list") == []
    assert old in text
    assert wanted.disagreements(text.replace(old, new, 1).encode(), "csv", "list")


@pytest.mark.parametrize("form", SHEETS["tools"].forms)
def test_a_tool_of_several_operations_agrees(in_folder: Path, form: str) -> None:
    """A drill that is a pilot drill too."""
    holes = "".join(
        f"[[hole]]\ndrill = {size}\nat = [{10 * size}, 20]\ndepth = 8\n" for size in (3, 10)
    )
    path = in_folder / "a.toml"
    path.write_text(part_text(holes, "size = [120, 50, 25]"), encoding="utf-8")
    wanted = SHEETS["tools"](prepare(path), Asked())
    document, _ = wanted.lay_out()
    assert any("drill, pilot drill" in str(one) for one in sentences_of(document))
    assert not is_stopped(wanted, document, form)


@pytest.mark.parametrize(
    ("words", "operation", "tool", "least", "most"),
    [
        # point of 118 degrees under 8 mm: 4 / tan 59 = 2.4034; a millimetre at least comes through
        ('drill = 8\ndepth = "through"', "drill", PrintedTool("drill", 8.0), 25.0, 28.4034),
        ('drill = 8\ndepth = "through"', "pilot drill", PrintedTool("drill", 4.0), 24.5, 28.4034),
        ("drill = 8\ndepth = 10", "drill", PrintedTool("drill", 8.0), 10.0, 13.4034),
        # a tenth of 15 mm; 7.5 / tan 59 = 4.5065
        ('drill = 15\ndepth = "through"', "drill", PrintedTool("drill", 15.0), 25.0, 31.0065),
        # eight pitches of 1.25 mm below the thread
        ('tap = "M8"\ndepth = 10', "drill", PrintedTool("drill", 6.8), 10.0, 23.4034),
        # half way from either end; 3 mm through as the part has it
        ('drill = 8\ndepth = "through"\nfrom_both_ends = true', "drill",
         PrintedTool("drill", 8.0), 12.5, 28.4034),
        ('drill = 8\ndepth = "through"\nbreakthrough = 3', "drill",
         PrintedTool("drill", 8.0), 25.0, 30.4034),
        # 2 mm for chips under a blind reamer
        ('ream = 8\nfit = "H7"\ndepth = 10', "drill", PrintedTool("drill", 7.8), 10.0, 15.4034),
        # the lead, a millimetre beyond, and two of room
        ('ream = 8\nfit = "H7"\ndepth = 10', "ream",
         PrintedTool("reamer", 8.0, lead=1.5), 10.0, 14.5),
        ('tap = "M8"\ndepth = 10', "tap",
         PrintedTool("tap", 8.0, pitch_mm=1.25, lead=4.0), 10.0, 18.25),
        # half a millimetre is left on the floor; 10 / tan 59 = 6.0086
        ("bore = 20\ndepth = 10", "drill", PrintedTool("drill", 19.0), 9.5, 20.0086),
        ("bore = 20\ndepth = 10", "bore", PrintedTool("boring head", 20.0), 10.0, 13.0),
        ('clear = "M4"\ncounterbore = { diameter = 9, depth = 4 }\ndepth = "through"',
         "counterbore", PrintedTool("counterbore", 9.0), 4.0, 4.0),
        # a nose of 1 mm at 90 degrees: (9 - 1) / 2, and the whole cone (16 - 1) / 2
        (SUNK, "countersink", PrintedTool("countersink", 16.0, 90.0, 1.0), 0.0, 4.0),
        (SUNK, "spot drill", PrintedTool("spot drill", 16.0, 90.0, 1.0), 0.0, 7.5),
    ],
)  # fmt: skip
def test_how_deep_a_tool_goes_is_between_what_is_asked_for_and_what_the_trade_adds(
    words: str, operation: str, tool: PrintedTool, least: float, most: float
) -> None:
    part = part_of(f"[[hole]]\n{words}\nat = [30, 20]\n", BLOCK)
    (expected,) = expected_holes(part, "top")
    row: Any = None
    one = Pulled(row, 1, tool, "", False, (operation,), (1,), ("a",), 0.0, 0.05)
    assert reach_mm(one, operation, expected, [one]) == pytest.approx((least, most), abs=1e-4)


@pytest.mark.parametrize(("units", "told"), [("mm", "15.5 mm"), ("inch", "0.61 in")])
def test_the_flute_needed_is_told_in_the_units_of_the_part(units: str, told: str) -> None:
    """6.1 mm through 12.7 mm: 1 mm beyond, and a point of 6.1 / 2 / tan 59 deg = 1.83 mm."""
    hole = "[[hole]]\nname = 'a'\nream = '1/4 in'\nat = ['1 in', '1 in']\ndepth = 'through'\n"
    part = part_of(hole, "size = ['3 in', '2 in', '1/2 in']", units=units)
    wanted = SHEETS["tools"](prepare(part), Asked())
    document, _ = wanted.lay_out()
    said = [str(one) for one in sentences_of(document)]
    assert any(one.startswith(f"drill; setup 1; needs {told} of flute") for one in said)
    assert all(not is_stopped(wanted, document, form) for form in wanted.forms)


SINK = 'clear = "M4"\ncountersink = { diameter = 9, angle = 90 }\ndepth = "through"'
RECESS = 'clear = "M4"\ncounterbore = { diameter = 9, depth = 4 }\ndepth = "through"'
M8 = 'tap = "M8"\ndepth = 10'


def tap(**more: Any) -> PrintedTool:
    return PrintedTool("tap", **{"diameter_mm": 8.0, "pitch_mm": 1.25, **more})


@pytest.mark.parametrize(
    ("words", "operation", "tools"),
    [
        (
            "drill = 8\ndepth = 10",
            "drill",
            {PrintedTool("drill", size): is_of for size, is_of in
             ((8.0, True), (8.0025, True), (8.0035, False), (7.0, True))},
        ),
        (
            "drill = 8\ndepth = 10",
            "pilot drill",
            {PrintedTool("drill", 7.99): True, PrintedTool("drill", 8.0): False},
        ),
        ("drill = 8\ndepth = 10", "spot drill", {PrintedTool("spot drill", 20.0): True}),
        (
            M8,
            "tap",
            {
                tap(): True,
                tap(diameter_mm=8.0025): True,
                tap(diameter_mm=8.0035): False,
                tap(diameter_mm=7.9965): False,
                tap(pitch_mm=1.2505): True,
                tap(pitch_mm=1.2515): False,
                tap(pitch_mm=None): False,
                tap(is_left_hand=True): False,
            },
        ),
        # less 0.4 P of a coarse M8 is 7.5 mm
        (M8, "drill", {PrintedTool("drill", 7.5): True, PrintedTool("drill", 7.6): False}),
        (
            SINK,
            "countersink",
            {PrintedTool("countersink", 9.0, 90.0): True, PrintedTool("countersink", 16.0): True},
        ),
        (
            RECESS,
            "counterbore",
            {PrintedTool("counterbore", size): is_of for size, is_of in
             ((9.0, True), (9.0025, True), (8.9975, True), (9.0035, False), (8.9965, False))},
        ),
        (
            'ream = 8\nfit = "H7"\ndepth = 10',
            "drill",
            # 0.02 mm are for the reamer
            {PrintedTool("drill", 7.98): True, PrintedTool("drill", 7.99): False},
        ),
        (
            "bore = 20\ndepth = 10",
            "bore",
            {PrintedTool("boring head", 20.0): True, PrintedTool("boring head", 20.1): False},
        ),
    ],
)  # fmt: skip
def test_which_tool_is_of_a_holes_size(
    words: str, operation: str, tools: dict[PrintedTool, bool]
) -> None:
    (expected,) = expected_holes(part_of(f"[[hole]]\n{words}\nat = [30, 20]\n", BLOCK), "top")
    row: Any = None
    told = {
        tool: is_of_size(
            Pulled(row, 1, tool, "", False, (operation,), (1,), ("a",), 0.0, 0.05),
            operation,
            expected,
        )
        for tool in tools
    }
    assert told == tools


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("drill = 8\ndepth = 10", {"spot drill", "pilot drill", "drill"}),
        (M8, {"spot drill", "pilot drill", "drill", "tap"}),
        (SINK, {"spot drill", "pilot drill", "drill", "countersink"}),
        (RECESS, {"spot drill", "pilot drill", "drill", "counterbore", "spotface"}),
    ],
)
def test_which_operations_a_hole_wants(words: str, wanted: set[str]) -> None:
    (expected,) = expected_holes(part_of(f"[[hole]]\n{words}\nat = [30, 20]\n", BLOCK), "top")
    every = ("spot drill", "pilot drill", "drill", "tap", "ream", "bore", "countersink")
    told = {one for one in (*every, "counterbore", "spotface") if is_wanted(one, expected)}
    assert told == wanted
