"""Sheets as pages to print: read back from their bytes, broken on purpose, looked at for room.

The pages are taken apart by pypdf, and by pdftotext (poppler) where places of words count.
"""

from __future__ import annotations

import io
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jobs import RICH, RICH_STOCK, millprep, part_of, part_text, shop_of
from pdf_pages import Change, Operations, assert_clear, changed, exchanged, swap, without
from pypdf import PdfReader

from millprep.base.findings import Finding, MillprepError
from millprep.base.marks import is_own_unedited
from millprep.cli.common import form_of
from millprep.infiles import read_part
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.planning import Plan, make_plan
from millprep.reading.pages.forms import read_sheet
from millprep.reading.pages.pdf_lines import pdf_lines
from millprep.reading.pages.slots import names_by_letters
from millprep.sheets.dials import make_dial_sheet
from millprep.sheets.listing import make_listing
from millprep.witness.dials import check_dials
from millprep.witness.listing import check_listing
from millprep.writers import written

EXAMPLES = [
    path
    for path in sorted((Path(__file__).parent.parent / "parts").glob("*.toml"))
    if re.search("^part *=", path.read_text(encoding="utf-8"), re.MULTILINE)
]
REVERSED = '[readout]\nreversed = ["x", "y", "z"]'
MANY = """
[[hole]]
name = "screw"
tap = "M3"
depth = 6
grid = { start = [5, 5], step = [7, 7], columns = 8, rows = 6 }
"""


@cache
def part(holes: str) -> Part:
    return part_of(holes, RICH_STOCK)


@cache
def shop_with(keys: str) -> Shop:
    return shop_of(keys)


@cache
def plan_of(order: str, shop: str, holes: str) -> Plan:
    return make_plan(part(holes), shop_with(shop), order)


@cache
def sheet(order: str = "tool", units: Any = "mm", shop: str = "", holes: str = RICH) -> bytes:
    plan = plan_of(order, shop, holes)
    return bytes(written("listing", make_listing(plan, units), "pdf"))  # type: ignore[arg-type]


def check(data: bytes, shop: str = "", holes: str = RICH) -> list[Finding]:
    return check_listing(data, "pdf", part(holes), shop_with(shop), file="sheet")


@pytest.mark.parametrize(
    ("order", "units", "shop"),
    [  # every two of these values once
        ("tool", "mm", ""),
        ("hole", "inch", ""),
        ("row", "mm", ""),
        ("tool", "inch", REVERSED),
        ("hole", "mm", REVERSED),
        ("row", "inch", REVERSED),
    ],
)
def test_pages_as_written_agree(order: str, units: str, shop: str) -> None:
    assert check(sheet(order, units, shop), shop) == []


@pytest.mark.parametrize("order", ["tool", "hole"])
def test_the_pages_say_what_the_text_says(order: str) -> None:
    """Two readings of two formats, line numbers apart."""
    document = make_listing(plan_of(order, "", RICH), "mm")
    holes = part(RICH).holes
    names = names_by_letters(hole=[name for one in holes for name in (one.name, one.group)])

    def said(form: Any, data: bytes) -> list[Any]:
        sheet = read_sheet(data, "listing", form, names, table="steps", pages="setup")
        return [
            (one.slug, one.slots)
            for page in sheet.pages
            for one in (page.title, *page.whole.said, *(row.said for row in page.whole.rows))
            if one.slug != "caution"  # each line of text may be one
        ]

    text = str(written("listing", document, "text")).encode()
    of_text = [
        (slug, {**slots} | ({"part": "Trial"} if "part" in slots else {}))
        for slug, slots in said("text", text)
    ]
    assert said("pdf", sheet(order)) == of_text


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_command_writes_every_example_part(path: Path, in_folder: Path) -> None:
    ran = millprep("listing", path, "-o", "sheet.pdf")
    assert ran.status == 0, ran.err
    data = Path("sheet.pdf").read_bytes()
    assert is_own_unedited(data)


def test_a_file_is_known_again(in_folder: Path) -> None:
    path = EXAMPLES[0]
    assert millprep("listing", path, "-o", "sheet.pdf").status == 0
    data = Path("sheet.pdf").read_bytes()
    assert not is_own_unedited(data.replace(b"/Length", b"/Lenght", 1))
    again = millprep("listing", path, "-o", "sheet.pdf")
    assert "unchanged" in again.err  # no clock in the bytes


# What is broken on purpose: a change of the operators of the page on which it finds something.


def unticked(operations: Operations) -> bool:
    for index, (_, name) in enumerate(operations):
        if name == b"re":
            del operations[index : index + 2]
            return True
    return False


def struck(operations: Operations) -> bool:
    operations.append(([], b"f"))
    return True


CHANGES: dict[str, tuple[Change, str]] = {
    "one figure": (swap("^35.605", "35.610"), "hole-off"),
    "a sign lost": (swap("^–8.500$", "8.500"), "too-shallow"),
    "a depth": (swap("all to –4.400", "all to –1.400"), "too-shallow"),
    "a row missing": (without("cap 2"), "unreadable-sheet"),
    "two figures exchanged": (exchanged("67.000", "25.000"), "hole-off"),
    "a name": (swap("screw 5", "screw 9"), "hole-extra"),
    "a step number": (swap("^12$", "13"), "wrong-numbering"),
    "a peck": (swap("pecks to  –", "pecks to  –9"), "wrong-pecks"),
    "turns of a tap": (swap(r"^(\d+.\d) turns", r"1\1 turns"), "wrong-turns"),
    "a preset's sign": (swap("set X = –5.000", "set X = 5.000"), "wrong-figure"),
    "the page's number": (swap("page 2 of", "page 3 of"), "unreadable-sheet"),
    "no box to tick": (unticked, "unreadable-sheet"),
    "another operator": (struck, "unreadable-sheet"),
    "an unknown label": (swap("HOLD", "HELD"), "unreadable-sheet"),
    "a tool": (swap("M5 second tap", "M6 second tap"), "wrong-diameter"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_changed_pages_are_caught(what: str) -> None:
    change, kind = CHANGES[what]
    found = check(changed(sheet(), change))
    assert kind in {finding.kind for finding in found}, found
    assert all(finding.severity == "stop" and finding.file == "sheet" for finding in found)


NAMES = (
    "W" * 40, "TOOL 3", "HOLE 12.000, continued", "[ ]  1 2 3 4.5", "½ Ø – €", "hole", "step",
)  # fmt: skip
PATTERNS = ("screw", "cap")
SINGLES = ("pivot", "sunk", "faced", "left", "bored", "cross", "pinch")


def named(names: tuple[str, ...]) -> str:
    """RICH with its holes called otherwise, patterns by the first two."""
    holes = RICH
    for old, name in zip(PATTERNS, names, strict=False):
        holes = holes.replace(f'name = "{old}"', f'name = "{name[:38]} b"')
    for old, name in zip(SINGLES, names, strict=False):
        holes = holes.replace(f'name = "{old}"', f'name = "{name}"')
    return holes


def found_on_pages(holes: str) -> list[Finding]:
    return [
        *check(sheet("tool", holes=holes), holes=holes),
        *check(sheet("hole", holes=holes), holes=holes),
        *check_by_dial(dial_sheet("tool", holes=holes), holes=holes),
    ]


@pytest.mark.parametrize("names", [NAMES, NAMES[::-1]], ids=["as given", "the other way round"])
def test_names_that_look_like_figures_do_not_mislead(names: tuple[str, ...]) -> None:
    assert found_on_pages(named(names)) == []


def test_an_en_dash_before_a_figure_is_taken_for_a_minus() -> None:
    """Kept back, never misread."""
    found = found_on_pages(named(("-3 –4.5 -2 1.0",)))
    assert {one.kind for one in found} <= {
        "wrong-figure", "hole-extra", "hole-missing", "unreadable-sheet",
    }  # fmt: skip


@pytest.mark.needs("pdftotext")
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_no_word_lies_on_another_or_off_the_page(path: Path, tmp_path: Path) -> None:
    example = read_part(path)[0]
    other = (("hole", "listing"), ("tool", "dials"))[EXAMPLES.index(path) % 2]
    for order, kind in (("tool", "listing"), other):
        plan = make_plan(example, shop_with(""), order)
        units = example.units
        if kind == "listing":
            data = bytes(written("listing", make_listing(plan, units), "pdf"))  # type: ignore[arg-type]
        else:
            data = bytes(written("dials", make_dial_sheet(plan, units), "pdf"))  # type: ignore[arg-type]
        assert_clear(data, tmp_path)


@pytest.mark.needs("pdftotext")
@pytest.mark.parametrize("name", ["W" * 40, "a name of many short words, one hole"])
def test_long_names_keep_off_the_figures(name: str, tmp_path: Path) -> None:
    holes = RICH.replace('"screw"', f'"{name}"').replace('"cap"', f'"{name[:-1]}"')
    for order in ("tool", "hole"):
        assert_clear(sheet(order, holes=holes), tmp_path)


def trial(folder: Path, holes: str) -> Path:
    path = folder / "trial.toml"
    path.write_text(part_text(holes, RICH_STOCK), encoding="utf-8")
    return path


def test_letters_that_a_pdf_has_not_are_told(in_folder: Path) -> None:
    path = trial(in_folder, '[[hole]]\nname = "втулка"\ndrill = 5\nat = [20, 20]\ndepth = 8\n')
    ran = millprep("listing", path, "-o", "sheet.pdf")
    assert ran.status == 0
    assert 'note: PDF has no в т у л к а: each is shown there as "?"' in ran.err
    assert "write .html and print that to keep them" in ran.err
    assert any("?????? " in line for _, line in pdf_lines(Path("sheet.pdf").read_bytes()))


def test_two_holes_that_would_read_the_same_are_refused(in_folder: Path) -> None:
    holes = "".join(
        f'[[hole]]\nname = "{name}"\ndrill = 5\nat = [{at}, 20]\ndepth = 8\n'
        for name, at in (("ось", 20), ("паз", 40))
    )
    ran = millprep("listing", trial(in_folder, holes), "-o", "sheet.pdf")
    assert ran.status == 1
    assert "stop: ось and паз read the same in the letters that PDF has" in ran.err
    assert not Path("sheet.pdf").exists()


@pytest.mark.parametrize("form", ["pdf", "html"])
def test_an_excerpt_has_the_rows_of_its_listing(form: str, in_folder: Path) -> None:
    path = trial(in_folder, RICH)
    assert millprep("listing", path, "--only", "cap", "-o", f"one.{form}").status == 0
    if form == "pdf":
        lines = [line for _, line in pdf_lines(Path("one.pdf").read_bytes())]
        rows = [line for line in lines if line.startswith("[ ]")]
        assert rows
        assert all("cap " in row for row in rows)


# The dial sheet, set on the same pages.

ODD = """
[dials]
x = { lead = 2, divisions = 62.5, backlash = 0.9, clockwise = "-" }
y = { lead = "0.1 in", divisions = 100, numbers_rise = "anticlockwise", correction_ppm = 67 }
z = { lead = 3, divisions = 60, clockwise = "-" }
[readout]
reversed = ["y"]
"""


@cache
def dial_sheet(order: str = "tool", units: Any = "mm", shop: str = "", holes: str = RICH) -> bytes:
    plan = plan_of(order, shop, holes)
    return bytes(written("dials", make_dial_sheet(plan, units), "pdf"))  # type: ignore[arg-type]


def check_by_dial(data: bytes, shop: str = "", holes: str = RICH) -> list[Finding]:
    return check_dials(data, "pdf", part(holes), shop_with(shop), file="sheet")


@pytest.mark.parametrize(
    ("order", "units", "shop"),
    [("tool", "mm", ""), ("hole", "mm", ODD), ("hole", "inch", ""), ("row", "inch", ODD)],
)
def test_dial_pages_as_written_agree(order: str, units: str, shop: str) -> None:
    assert check_by_dial(dial_sheet(order, units, shop), shop) == []


DIAL_CHANGES: dict[str, Change] = {
    "turns": swap("^15$", "16"),
    "a figure": swap("^80$", "81"),
    "the other side of zero": swap("^15$", "–15"),
    "a depth": swap("–13.260", "–3.260"),
    "two figures exchanged": exchanged("28", "24"),
    "a row": without("cap 2"),
    "a place": swap(r"^35\.607", "36.607"),
    "left over": swap(r"^\+0\.011", "–0.011"),
    "not past a place": swap("first back past it: X [1-9]", "first back past it: X 0"),
    "a dial": swap(r"X: 2\.5 mm", "X: 2.54 mm"),
    "a row of places": without("faced"),
}


@pytest.mark.parametrize("what", DIAL_CHANGES)
def test_changed_dial_pages_are_caught(what: str) -> None:
    assert check_by_dial(changed(dial_sheet(), DIAL_CHANGES[what])) != []


def test_a_table_of_places_longer_than_a_page_goes_on_under_its_heads() -> None:
    data = dial_sheet(holes=MANY, shop=ODD)
    assert check_by_dial(data, ODD, holes=MANY) == []
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]
    assert any(page.startswith("WHERE from zero") and "continued" in page for page in pages)


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_pdf_does_not_go_to_the_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout", Screen())
    with pytest.raises(MillprepError, match="a PDF is not for the screen"):
        form_of("pdf", None, ("text", "pdf"))
    assert form_of("pdf", Path("sheet.pdf"), ("text", "pdf")) == "pdf"
    assert form_of("text", None, ("text", "pdf")) == "text"


def test_dial_pages_of_one_hole(in_folder: Path) -> None:
    ran = millprep("dials", trial(in_folder, RICH), "--only", "cap", "-o", "one.pdf")
    assert ran.status == 0, ran.err
    lines = [line for _, line in pdf_lines(Path("one.pdf").read_bytes())]
    rows = [line for line in lines if line.startswith("[ ]")]
    assert rows
    assert all("  cap " in row for row in rows)
