"""How long a listing is, and how wide; what is said once; the odd one; the form for the second
piece."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jobs import millprep, part_of, shop_of
from slot_faults import sentences_of, with_slot_changed, without

from millprep.base.marks import sealed
from millprep.proven.preparation import Prepared, prepare
from millprep.proven.sheets import Asked, Dials, Listing, prove
from millprep.sheets.brief import brief_of

PARTS = [one for one in sorted(Path("parts").glob("*.toml")) if "assembly" not in one.stem]
SIEVE = """
part = "Sieve plate"
units = "mm"
material = "brass"
[stock]
size = [115, 90, 10]
[datum]
x = "left"
y = "front"
[[hole]]
name = "sieve"
drill = 3
depth = "through"
grid = { start = [8, 8], step = [5.5, 5.5], columns = 19, rows = 10 }
[[hole]]
name = "dowel"
ream = 4
depth = "through"
row = { start = [8, 66], end = [107, 66], count = 2 }
[[hole]]
name = "tapped"
tap = "M4"
depth = "through"
row = { start = [25, 70], step = [20, 0], count = 4 }
[[hole]]
name = "corner screw"
clear = "M5"
depth = "through"
grid = { start = [8, 74], step = [99, 8], columns = 2, rows = 2 }
"""


@cache
def prepared_of(part: str, shop: str = "metric") -> Prepared:
    """An example part, made ready once for all sheets of it."""
    return prepare(Path(f"parts/{part}.toml"), shop)


def lines_of(text: str) -> list[str]:
    return text.rstrip("\n").split("\n")


@cache
def listing(part: Path, shop: str = "metric") -> str:
    data = prove("listing", prepare(part, shop), "text").data
    assert data is not None
    return data.decode()


@pytest.mark.parametrize(
    ("part", "most"), [("port-block", 170), ("base-plate", 155), ("column-left", 230)]
)
def test_a_listing_has_no_more_lines_than_that(part: str, most: int) -> None:
    assert len(lines_of(listing(Path(f"parts/{part}.toml")))) <= most


def test_a_plate_of_two_hundred_holes_takes_a_line_a_step_and_few_more(tmp_path: Path) -> None:
    part = tmp_path / "sieve.toml"
    part.write_text(SIEVE)
    lines = lines_of(listing(part))
    steps = [line for line in lines if line.startswith("[ ]")]
    assert len(steps) == 190 * 2 + 2 * 3 + 4 * 3 + 4 * 2
    assert len(lines) <= 470


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.stem)
@pytest.mark.parametrize("shop", ["metric", "inch"])
def test_no_sheet_of_text_is_wider_than_80_columns(part: Path, shop: str) -> None:
    prepared = prepared_of(part.stem, shop)
    for sheet in ("listing", "dials", "tools", "markout"):
        data = prove(sheet, prepared, "text").data
        for line in (data or b"").decode().split("\n"):
            assert len(line) <= 80, f"{sheet}: {line}"
            assert not re.match(r"\[ \] +\d+ *$", line)  # a step is one line


def of(holes: str, **more: str) -> Prepared:
    return prepare(part_of(holes, **more), shop_of(""), cures=False)


ROW = '[[hole]]\nname = "{0}"\ndrill = 4\ndepth = {1}\nat = [{2}, 10]\n'
ODD = "".join(
    ROW.format(name, depth, 8 + 10 * number)
    for number, (name, depth) in enumerate([("a", 8), ("b", 8), ("c", 6), ("d", 8), ("e", 9)])
)


def steps_in(text: str, kind: str) -> list[str]:
    tool = text.split(f"  {kind} ")[1].split("TOOL ")[0]
    return [line for line in tool.split("\n") if line.startswith("[ ]")]


def text_of(prepared: Prepared, sheet: str = "listing") -> str:
    data = prove(sheet, prepared, "text").data
    assert data is not None
    return data.decode()


def test_what_all_steps_share_is_said_once_above_them() -> None:
    text = text_of(of(ODD.replace("depth = 6", "depth = 8").replace("depth = 9", "depth = 8")))
    assert text.count("-9.200") == 1
    assert "  drill 4" in text and "5 holes  all to -9.200\n" in text
    assert all(line.endswith("  10.000") for line in steps_in(text, "drill"))


def test_where_one_differs_all_have_it_beside_them_and_the_odd_ones_are_marked() -> None:
    text = text_of(of(ODD))
    steps = {line.split()[3]: line for line in steps_in(text, "drill")}
    assert "all to" not in text.split("  drill ")[1]
    assert steps["a"].endswith("-9.200")
    assert steps["c"].endswith("-7.200  shallower")
    assert steps["e"].endswith("-10.200  deeper")


def test_where_no_more_than_half_are_alike_none_is_odd() -> None:
    text = text_of(of(ODD.replace("depth = 9", "depth = 6").replace("depth = 8", "depth = 7", 1)))
    assert "deeper" not in text and "shallower" not in text


def stops(prepared: Prepared, change: Callable[[Any], Any], sheet: type[Listing] = Listing) -> bool:
    wanted = sheet(prepared, Asked())
    document = wanted.lay_out()[0]
    assert wanted.disagreements(sealed(wanted.written(document, "text"), ""), "text", "x") == []
    changed = sealed(wanted.written(change(document), "text"), "")
    return bool(wanted.disagreements(changed, "text", "x"))


@pytest.mark.parametrize("sheet", [Listing, Dials])
def test_a_wrong_figure_in_a_tools_head_or_beside_a_step_is_refused(sheet: type[Listing]) -> None:
    alike = of(ODD.replace("depth = 6", "depth = 8").replace("depth = 9", "depth = 8"))
    row = f"{'steps' if sheet is Listing else 'dialled'} row"
    assert stops(alike, lambda one: with_slot_changed(one, "all-to", "z"), sheet)
    assert stops(alike, lambda one: without(one, "all-to"), sheet)
    odd = of(ODD)
    wanted = sheet(odd, Asked()).lay_out()[0]
    rows = [one for one in sentences_of(wanted) if one.slug == row and "z" in one.slots]
    for which in range(len(rows)):
        change = lambda one, which=which: with_slot_changed(one, row, "z", which)  # noqa: E731 by number
        assert stops(odd, change, sheet), which
    for which in range(2):
        change = lambda one, which=which: with_slot_changed(one, row, "odd", which)  # noqa: E731 by number
        assert stops(odd, change, sheet), which


def test_wrong_pecks_or_turns_of_all_steps_are_refused() -> None:
    deep = of(
        '[[hole]]\nname = "a"\ntap = "M4"\ndepth = "through"\n'
        "row = { start = [10, 10], step = [10, 0], count = 3 }\n"
    )
    assert stops(deep, lambda one: with_slot_changed(one, "all-to", "pecks"))
    assert stops(deep, lambda one: with_slot_changed(one, "all-turns", "turns"))
    assert stops(deep, lambda one: with_slot_changed(one, "all-turns", "z"))


AGAIN = {
    "mark": ("figures in mm; part mark ", 1),
    "deburring": ("TURN    deburr every hole", 1),
    "hand": ("HAND    ", 1),
    "touch-off": ("face that is up, zero the quill", 1),
    "running back": ("back half a turn after each", 1),
    "one hole": ("  1 hole\n", 0),
}


@cache
def column() -> tuple[Listing, str]:
    """A listing of five setups, whole."""
    wanted = Listing(prepare(Path("parts/column-left.toml")), Asked())
    return wanted, str(wanted.written(wanted.lay_out()[0], "text"))


@pytest.mark.parametrize("what", AGAIN)
def test_what_all_setups_share_is_told_once_a_sheet(what: str) -> None:
    words, times = AGAIN[what]
    wanted, text = column()
    assert text.count(words) == times
    assert wanted.disagreements(sealed(text, ""), "text", "x") == []


TOLD_OTHERWISE = [
    ("TURN    From", "TURN    deburr every hole and wipe the part first. From"),
    ("TURN    deburr every hole and wipe the part first. From", "TURN    From"),
    ("; back half a turn after each", ""),
    ("; back half a turn after each", "; back a whole turn after each"),
    ("  18.3 turns to -24.800", "\n        18.3 turns to -24.800; back half a turn after each"),
    ("face that is up, zero", "face that is down, zero"),
    ("FRONT to your left.\n", "FRONT to your left (best held this way).\n"),
    (" (best held this way)", ""),
    ("counterbore 8  220 rev/min", "counterbore 8  220 rev/min  2 holes"),
    (" anticlockwise.\n", " clockwise.\n"),
]


@pytest.mark.parametrize(("good", "bad"), TOLD_OTHERWISE)
def test_what_is_told_otherwise_than_once_is_stopped(good: str, bad: str) -> None:
    wanted, text = column()
    assert good in text
    broken = sealed(text.replace(good, bad, 1), "")
    assert wanted.disagreements(broken, "text", "x") != []


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.stem)
def test_a_figure_and_its_unit_or_axis_stay_on_one_line(part: Path) -> None:
    for shop in ("metric", "inch"):
        text = listing(part, shop)
        assert not re.search(r"\d\n +(mm|in|deg|rev/min|dia|turns?|holes?)\b", text)
        assert not re.search(r"\b[XY]\n +-?\d", text)


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.stem)
def test_the_first_step_of_a_setup_stands_in_its_line_30_or_before(part: Path) -> None:
    for page in listing(part).split("\n\n"):
        first = [one.startswith("[ ]") for one in page.split("\n")]
        assert not any(first) or first.index(True) < 30


SHORT_FORMS = ("text", "html", "pdf")


@pytest.mark.parametrize("sheet", ["listing", "dials"])
@pytest.mark.parametrize("form", SHORT_FORMS)
def test_the_short_form_is_the_whole_without_what_explains(sheet: str, form: str) -> None:
    prepared = prepared_of("port-block")
    brief = prove(sheet, prepared, form, Asked(short=True))
    assert brief.data is not None
    if form == "text":
        whole = lines_of(text_of(prepared, sheet))
        kept = lines_of(brief.data.decode())
        assert len(kept) < len(whole)
        assert [one for one in kept if one.startswith("[ ]")] == [
            one for one in whole if one.startswith("[ ]")
        ]
        text = brief.data.decode()
        for label in ("ZERO ", "HOLD ", "SET UP ", "TOOL ", "DONE ", "TAKE CARE", "LOCK X and Y"):
            assert label in text, label
        for label in ("TURN ", "HAND ", "ASSUMED ", "NOTE:"):
            assert f"\n{label}" not in text, label


@pytest.mark.parametrize("form", SHORT_FORMS)
@pytest.mark.parametrize("slug", ["all-to", "steps row", "lock-at", "done", "caution", "hold"])
def test_a_short_form_that_leaves_out_more_or_says_another_thing_is_kept_back(
    form: str, slug: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = Listing(prepared_of("port-block"), Asked(short=True))
    document = wanted.lay_out()[0]
    known = {one.slug for one in sentences_of(document)}
    slug = next(one for one in sorted(known) if one.startswith(slug))
    whole = sealed(wanted.written(document, form), "")
    brief = brief_of(document)
    good = sealed(wanted.written(brief, form), "")
    assert wanted.unlike(good, whole, form, "x") == []
    broken = sealed(wanted.written(without(brief, slug), form), "")
    assert wanted.unlike(broken, whole, form, "x")
    monkeypatch.setattr(Listing, "brief", lambda self, one: without(brief_of(one), slug))
    handed = prove("listing", wanted.prepared, form, Asked(short=True))
    assert handed.data is None


def test_json_has_it_whole(in_folder: Path) -> None:
    part = Path(__file__).parent.parent / "parts" / "port-block.toml"
    short = millprep("listing", part, "--short", "--format", "json")
    whole = millprep("listing", part, "--format", "json")
    assert short.out == whole.out
    assert len(millprep("listing", part, "--short").out) < len(millprep("listing", part).out)


@pytest.mark.parametrize("sheet", ["listing", "dials", "markout"])
@pytest.mark.parametrize("part", ["flywheel-hub", "tie-bar"])
def test_a_sheet_in_inches_speaks_of_inches(part: str, sheet: str) -> None:
    """Tools of number, letter and fraction by their name; only what is metric has its mm."""
    data = prove(sheet, prepared_of(part, "inch"), "text").data
    assert data is not None
    assert re.findall(r".*\d ?mm\b.*", data.decode()) == []
