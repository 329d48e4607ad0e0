"""The bench page and the listing to print, as files: read back, escaped, self-contained."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from jobs import RICH, RICH_STOCK, Ran, millprep, part_text, read_text, shop_of

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.printed import PrintedRow, UnreadableSheet
from millprep.reading.pages.sheet import ReadSheet
from millprep.reading.pages.slots import names_by_letters
from millprep.reading.pages.steps import setup_of
from millprep.witness.listing import check_listing

NASTY = (
    '[[hole]]\nname = "<b>&amp; \'12.000\' </script>"\ntap = "M4"\ndepth = 8\nat = [20, 20]\n'
    '[[hole]]\nname = "−5.000 -3"\ndrill = 4\ndepth = 8\nat = [30.5, 20]\n'
)
MINUS = "\N{MINUS SIGN}"


def made(folder: Path, text: str, command: str, *options: str) -> str:
    part, page = folder / "part.toml", folder / "page.html"
    part.write_text(text, encoding="utf-8")
    ran = millprep(command, part, "-o", page, "--force", *options)
    assert ran.status == 0, ran.err
    return page.read_text(encoding="utf-8")


@cache
def page_of(folder: Path, command: str, order: str) -> str:
    return made(folder, part_text(RICH, RICH_STOCK), command, "--order", order)


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bench")


def check(text: str, form: SheetForm, part: str = "") -> list[Finding]:
    whole = read_text(part or part_text(RICH, RICH_STOCK))
    return check_listing(text.encode(), form, whole, shop_of(), file="page")


def read(text: str, form: SheetForm, part: str = "") -> ReadSheet:
    whole = read_text(part or part_text(RICH, RICH_STOCK))
    names = names_by_letters(hole=[name for one in whole.holes for name in (one.name, one.group)])
    return read_sheet(text.encode(), "listing", form, names, table="steps", pages="setup")


def steps_of(sheet: ReadSheet) -> list[PrintedRow]:
    """The steps, but for where they stand in the file."""
    setups = [setup_of(page, sheet.units) for page in sheet.pages]
    return [replace(row, line=None) for setup in setups for row in setup.rows]


def said_in(sheet: ReadSheet) -> Counter[str]:
    """Every sentence, whatever its place on its page; the page says widths hole by hole."""
    whole = [one for page in sheet.pages for one in page.whole.said if one.slug != "caution"]
    return Counter(
        f"{one.slug} {dict(one.slots) | each}"
        for one in whole
        for each in [{"widths": width} for width in one.slots.get("widths") or ()] or [{}]
    )


@pytest.mark.parametrize("order", ["tool", "hole", "row"])
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_page_says_what_the_text_listing_says(
    folder: Path, tmp_path: Path, order: str, units: str
) -> None:
    whole = part_text(RICH, RICH_STOCK)
    asked = ("--order", order, "--units", units, "--format")
    text = made(tmp_path, whole, "listing", *asked, "text")
    named = made(tmp_path, whole, "listing", *asked, "json")  # what paper tells once it has of each
    page = page_of(folder, "bench", order)
    form: SheetForm = "bench mm" if units == "mm" else "bench inch"
    of_text, of_page = read(text, "text"), read(page, form)
    assert steps_of(of_page) == steps_of(of_text)
    assert said_in(of_page) == said_in(read(named, "json"))
    assert check(page, form) == []


def test_by_hole_the_first_spot_is_measured_before_it_goes_deeper(folder: Path) -> None:
    """A card of its own after the first step of each setup, read back in both units."""
    text = page_of(folder, "bench", "hole")
    for form in ("bench mm", "bench inch"):
        unit = form.removeprefix("bench ")
        slip = first(rf'(?s)(class="check" data-units="{unit}".*?>)\d', r"\g<1>9")
        assert check(slip(text), form) != []  # type: ignore[arg-type]
    cards = re.findall(r'class="card (\w+)', text)
    assert [one for one in cards if one != "zero"][:5] == ["hold", "tool", "tool", "step", "look"]


def first(pattern: str, new: str) -> Callable[[str], str]:
    def change(text: str) -> str:
        out, count = re.subn(pattern, new, text, count=1, flags=re.DOTALL)
        assert count == 1, pattern
        return out

    return change


FIELD = r'(data-field="{}"[^>]*>)'
SLIPS: dict[str, Callable[[str], str]] = {
    "a digit of X": first(FIELD.format("x") + r"([^<]*?)\d<", r"\g<1>\g<2>7<"),
    "a sign of Z": first(FIELD.format("z") + MINUS, r"\g<1>"),
    "another hole's name": first(FIELD.format("hole") + "[^<]+", r"\g<1>screw 2"),
    "another operation": first(FIELD.format("operation") + "[^<]+", r"\g<1>ream"),
    "a step left out": first(r'data-line="row"', ""),
    "the finder's sign": first(f"(set X = ){MINUS}", r"\g<1>"),
    "what the far face should read": first(r"(should read )\+", rf"\g<1>{MINUS}"),
    "the face": first(r"(: )TOP up<", r"\g<1>LEFT up<"),
    "a peck": first(FIELD.format("pecks") + r"(.*?)\d ", r"\g<1>\g<2>7 "),
    "turns of the tap": first(FIELD.format("turns") + "[^<]+", r"\g<1>2.0"),
    "the width of a spot": first(r"spot to \d", "spot to 9"),
    "the distance by rule": first(r"(check with a rule: )\d", r"\g<1>9"),
    "the tool": first(r"(said\">1 of \d+  spot drill) \d+", r"\g<1> 3"),
    "the tool, said again": first(r"(again\">1 of \d+  spot drill) \d+", r"\g<1> 3"),
    "the speed": first(r"(said\">1 of [^<]*  )\d+ rev/min", r"\g<1>9000 rev/min"),
    "the speed, said again": first(r"(again\">1 of [^<]*  )\d+ rev/min", r"\g<1>9000 rev/min"),
    "by hand": first(", by hand", ", under power"),
    "the part mark": first("part mark ...", "part mark 000"),
    "the count at the end": first(r"\d+ of \d+ holes,", "99 of 99 holes,"),
    "a caution left out": first(r"Key out of the chuck[^<]*", ""),
    "half the page": lambda text: text[: len(text) // 2],
}  # fmt: skip


@cache
def sound_page(folder: Path, form: SheetForm) -> str:
    text = page_of(folder, "bench", "tool")
    if form == "bench inch":  # so that the slip is among what is read in inches
        text = re.sub(
            r'<(span|p)[^>]*data-units="mm"[^>]*>([^<]|<span[^>]*>[^<]*</span>)*</\1>', "", text
        )
    assert check(text, form) == []
    return text


@pytest.mark.parametrize("form", ["bench mm", "bench inch"])
@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_on_a_page_is_found(folder: Path, form: SheetForm, slip: str) -> None:
    assert check(SLIPS[slip](sound_page(folder, form)), form) != []


def test_a_slip_in_inches_does_not_hide_behind_millimetres(folder: Path) -> None:
    text = page_of(folder, "bench", "tool")
    slip = r'(data-field="x" data-units="inch" data-cell>.*?)\d</span>'
    changed = first(slip, r"\g<1>9</span>")(text)
    assert check(changed, "bench mm") == []
    assert {finding.kind for finding in check(changed, "bench inch")} <= {
        "hole-off",
        "wrong-figure",
    }
    assert check(changed, "bench inch") != []


def test_names_are_text_and_nothing_else(tmp_path: Path) -> None:
    whole = part_text(NASTY).replace('part = "Trial"', 'part = "</title><script>alert(1)</script>"')
    assert "<script>alert" not in made(tmp_path, whole, "listing")
    text = made(tmp_path, whole, "bench")
    assert "<script>alert" not in text
    forms: tuple[SheetForm, ...] = ("bench mm", "bench inch")
    for form in forms:
        assert check(text, form, whole) == []
        names = {row.hole for row in steps_of(read(text, form, whole))}
        assert names == {"<b>&amp; '12.000' </script>", "−5.000 -3"}


@pytest.mark.parametrize("command", ["bench", "listing"])
def test_pages_ask_for_nothing_outside(folder: Path, command: str) -> None:
    text = page_of(folder, command, "tool")
    assert not re.findall(
        r"""(?:https?:|//\w|\bsrc=|@import|url\(|href="(?!data:,))""", strip_comments(text)
    )
    assert "default-src 'none'" in text


def strip_comments(text: str) -> str:
    """Without the comments of the script, whose slashes look like an address."""
    return re.sub(r"^\s*//.*$", "", text, flags=re.MULTILINE)


def test_the_page_is_the_same_each_time_and_replaces_its_own(tmp_path: Path) -> None:
    part, page = tmp_path / "part.toml", tmp_path / "bench.html"
    part.write_text(
        part_text('[[hole]]\nname = "pivot"\ndrill = 5\ndepth = "through"\nat = [20, 15]')
    )
    assert "written" in millprep("bench", part, "-o", page).out
    before = page.read_bytes()
    assert "unchanged" in millprep("bench", part, "-o", page).out
    assert millprep("bench", part, "-o", page, "--units", "inch").status == 0
    assert page.read_bytes() != before
    page.write_text(page.read_text() + "<!-- mine -->")
    assert millprep("bench", part, "-o", page).status == 2


def test_pieces_are_counted_or_refused(tmp_path: Path) -> None:
    text = made(tmp_path, part_text(RICH, RICH_STOCK), "bench", "--pieces", "6")
    assert 'data-pieces="6"' in text
    part, page = tmp_path / "part.toml", tmp_path / "other.html"
    for count in ("0", "-1", "101"):
        refused(millprep("bench", part, "-o", page, "--pieces", count), page, "1 to 100", 2)


def test_the_page_carries_what_json_has_of_the_listing(folder: Path, tmp_path: Path) -> None:
    found = re.findall(
        r'<script type="application/json"[^>]*>(.*?)</script>', page_of(folder, "bench", "tool")
    )
    (data,) = map(json.loads, found)
    part = tmp_path / "part.toml"
    part.write_text(part_text(RICH, RICH_STOCK))
    expected = millprep("listing", part, "--format", "json").json
    del expected["mark"]
    for finding in expected["findings"]:
        finding["file"] = "part.toml"
        for edit in finding.get("cure", {}).get("edits", ()):
            edit["file"] = "part.toml"
    for whole in (data, expected):
        for tool in (tool for setup in whole["setups"] for tool in setup["tools"]):
            tool["said"].pop("SIZES", None)  # the page says widths hole by hole
    assert data == expected


SLIPS_OF_DATA: dict[str, Callable[[str], str]] = {
    "a digit of X": first(r'("x":-?\d+\.)\d', r"\g<1>7"),
    "left and right": first(r'"left_hand":"left"', '"left_hand":"right"'),
    "the preset": first(r'("set_to":)-?', r"\g<1>9"),
    "a peck": first(r'("pecks":\[-\d+\.)\d', r"\g<1>9"),
}


@pytest.mark.parametrize("slip", SLIPS_OF_DATA)
def test_a_slip_in_the_data_is_found(folder: Path, slip: str) -> None:
    text = page_of(folder, "bench", "tool")
    assert check(text, "bench data") == []
    assert check(SLIPS_OF_DATA[slip](text), "bench data") != []


def test_a_large_preset_is_what_its_card_says(folder: Path) -> None:
    text = page_of(folder, "bench", "tool")
    part = r'(data-line="part">.*?data-units="mm" data-cell>)'
    slips = (
        first(part + r"[^<]*", r"\g<1>4.000"),
        first(r"(data-line=.part.><dt><span data-cell>)X", r"\g<1>Y"),
    )
    for slip in slips:
        assert "is not said" in str(check(slip(text), "bench mm"))


def test_one_setup_and_one_order(tmp_path: Path) -> None:
    text = made(tmp_path, part_text(RICH, RICH_STOCK), "bench", "--setup", "2")
    (page,) = read(text, "bench mm").pages
    assert page.title["number"] == "2"
    assert page.title.count("of") > 2  # a page says of how many


def refused(ran: Ran, page: Path, words: str, status: int) -> None:
    assert (ran.status, page.exists()) == (status, False)
    assert words in ran.err


def test_what_cannot_be_judged_writes_nothing(tmp_path: Path) -> None:
    part, page = tmp_path / "part.toml", tmp_path / "bench.html"
    part.write_text(part_text(RICH, RICH_STOCK))
    pdf = tmp_path / "bench.pdf"
    refused(millprep("bench", part, "-o", pdf), pdf, 'not written as ".pdf"', 2)
    refused(millprep("bench", part, "-o", page, "--order", "size"), page, "accepted: tool, hole", 2)
    refused(millprep("bench", part, "-o", page, "--setup", "9"), page, "there is no setup 9", 2)
    part.write_text(part_text("[[hole]]\ndrill = 4\ndepth = 30\nat = [10, 10]\n"))
    refused(millprep("bench", part, "-o", page), page, "no bench page", 1)


def test_a_page_that_does_not_agree_is_not_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer broken on purpose: one figure of one step."""
    from millprep.writers import bench

    whole = bench.rendered
    monkeypatch.setattr(bench, "rendered", lambda *a, **k: SLIPS["a digit of X"](whole(*a, **k)))
    part, page = tmp_path / "part.toml", tmp_path / "bench.html"
    part.write_text(part_text(RICH, RICH_STOCK))
    ran = millprep("bench", part, "-o", page)
    refused(ran, page, "no bench page", 1)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "<html>",
        '<html data-units="mm"><p data-line="page"></b>',
        "<p></p>" * 3,
        '<html data-units="mm"><div data-line="page"><p data-line="label"><b data-cell>',
    ],
)
def test_what_is_no_page_of_ours_is_refused(text: str) -> None:
    with pytest.raises(UnreadableSheet):
        read(text, "bench mm")
