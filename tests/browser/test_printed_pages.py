"""Listing and inspection as a browser prints them on A4: nothing stands on or runs off anything."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from jobs import millprep, part_text
from playwright.sync_api import Browser, Page, sync_playwright
from pypdf import PdfReader
from test_bench_page import ARGUMENTS, chromium_path
from words import STACKED

WIDTH = 702  # CSS pixels between the margins of 12 mm: 186 mm at 96 to the inch
EXAMPLES = [path for path in sorted(Path("parts").glob("*.toml")) if "assembly" not in path.name]
SHEETS = pytest.mark.parametrize("sheet", ["listing", "inspect"])
MANY = (
    '[[hole]]\nname = "screw_of_the_steam_chest"\ntap = "M3"\ndepth = "through"\n'
    "grid = { start = [10, 10], step = [10, 10], columns = 10, rows = 8 }\n"
)
# Headings, each with what must stand under it: of a tool the first row of its table.
HEADED = """() => [...document.querySelectorAll('h2, h3')].map((heading) => {
    const home = heading.parentElement;
    const row = heading.matches('h3') && home.querySelector('tbody tr');
    const first = [...home.querySelectorAll('tbody tr, dd, .tries p, li')].find((one) =>
        heading.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING);
    return [heading.innerText, (row || first).innerText];
})"""
# Points of the letters of the smallest figure that is read; those of a picture say which step.
SMALLEST = """() => {
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), sizes = [];
    while (texts.nextNode())
        if (/[0-9]/.test(texts.currentNode.data) && !texts.currentNode.parentElement.closest('svg'))
        sizes.push(parseFloat(getComputedStyle(texts.currentNode.parentElement).fontSize) * 0.75);
    return Math.min(...sizes);
}"""
# Words of hole names that stand on two lines.
TORN = """() => [...document.querySelectorAll('[data-field="hole"]')].flatMap((cell) => {
    const text = cell.firstChild, torn = [];
    for (const word of text.data.matchAll(/\\S+/g)) {
        const range = document.createRange();
        range.setStart(text, word.index);
        range.setEnd(text, word.index + word[0].length);
        if (new Set([...range.getClientRects()].map((box) => Math.round(box.top))).size > 1)
            torn.push(word[0]);
    }
    return torn;
})"""


@pytest.fixture(scope="module")
def paper() -> Iterator[Page]:
    """One page as wide as A4 between its margins, as it is printed."""
    with sync_playwright() as running:
        browser: Browser = running.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        page = browser.new_page(viewport={"width": WIDTH, "height": 1000})
        page.emulate_media(media="print")
        yield page
        browser.close()


def show(paper: Page, sheet: str, part: Path, folder: Path, *options: str) -> None:
    made = folder / "sheet.html"
    ran = millprep(sheet, part, "-o", made, *options)
    assert ran.status == 0, ran.err
    paper.goto(made.as_uri())


def printed(paper: Page) -> list[str]:
    """The words of each printed page, without blanks."""
    pages = PdfReader(io.BytesIO(paper.pdf(prefer_css_page_size=True))).pages
    return ["".join(page.extract_text().split()) for page in pages]


def assert_headings_stay(paper: Page) -> None:
    pages = printed(paper)
    text, ends = "".join(pages), [sum(map(len, pages[: n + 1])) for n in range(len(pages))]
    cursor = 0
    for heading, row in paper.evaluate(HEADED):
        at = text.index("".join(heading.split()), cursor)
        first = text.index("".join(row.split()), at)
        sheets = [sum(end <= place for end in ends) for place in (at, first)]
        assert sheets[0] == sheets[1], f"{heading!r} is parted from {row!r}"
        cursor = at + 1


def assert_fits(paper: Page) -> None:
    assert paper.evaluate(f"({STACKED})([document.body])") == []
    assert paper.evaluate("document.documentElement.scrollWidth") <= WIDTH
    assert round(paper.evaluate(SMALLEST), 2) >= 8  # as in the PDF


@SHEETS
@pytest.mark.parametrize("part", EXAMPLES, ids=lambda path: path.stem)
def test_a_sheet_of_an_example_part(paper: Page, sheet: str, part: Path, tmp_path: Path) -> None:
    show(paper, sheet, part, tmp_path)
    assert_fits(paper)


@pytest.mark.parametrize("stem", ["base-plate", "column-left"])
@SHEETS
def test_headings_of_an_example_part(paper: Page, sheet: str, stem: str, tmp_path: Path) -> None:
    show(paper, sheet, Path(f"parts/{stem}.toml"), tmp_path)
    assert_headings_stay(paper)


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("part", EXAMPLES, ids=lambda path: path.stem)
def test_a_setup_is_one_printed_page(paper: Page, part: Path, units: str, tmp_path: Path) -> None:
    """Its picture beside the steps, the first of them in the first third: up to twelve holes."""
    show(paper, "listing", part, tmp_path, "--units", units)
    assert len(printed(paper)) == paper.locator("article").count()
    for setup in paper.locator("article").all():
        top = setup.bounding_box()
        first = setup.locator("tbody .box").first.bounding_box()
        assert setup.locator("figure svg").first.is_visible()
        assert top and first
        assert first["y"] - top["y"] < WIDTH * 297 / 186 / 3


@SHEETS
def test_tables_longer_than_a_page(paper: Page, sheet: str, tmp_path: Path) -> None:
    part = tmp_path / "part.toml"
    part.write_text(part_text(MANY, "size = [120, 100, 10]"))
    show(paper, sheet, part, tmp_path)
    assert_headings_stay(paper)
    assert_fits(paper)
    show(paper, sheet, part, tmp_path, "--units", "inch")
    assert_fits(paper)


@pytest.mark.parametrize("sheet", ["listing", "dials"])
@pytest.mark.parametrize("stem", ["column-left", "crank-disc", "tie-bar", "many"])
def test_names_on_a_narrow_screen_are_not_torn(
    paper: Page, sheet: str, stem: str, tmp_path: Path
) -> None:
    """A name is broken between its words; a single long one anywhere, so that the sheet fits."""
    part = Path(f"parts/{stem}.toml")
    if stem == "many":
        part = tmp_path / "part.toml"
        part.write_text(part_text(MANY, "size = [120, 100, 10]"))
    show(paper, sheet, part, tmp_path)
    phone = {"width": 360, "height": 740}
    paper.set_viewport_size(phone)
    paper.emulate_media(media="screen")
    try:
        torn = paper.evaluate(TORN) if stem != "many" else []
        width = paper.evaluate("document.documentElement.scrollWidth")
    finally:
        paper.set_viewport_size({"width": WIDTH, "height": 1000})
        paper.emulate_media(media="print")
    assert torn == []
    assert width <= phone["width"]


# Of each row of an inspection sheet on a phone: what is measured, its figures, the box.
IN_ORDER = """() => [
    ...document.querySelectorAll('.wide tbody tr[data-line=row]')
].filter((row) => {
    const box = (one) => one.getBoundingClientRect();
    const [, words] = row.querySelectorAll('td:not(.tick, .figure)');
    const figures = [...row.querySelectorAll('.figure')].map(box);
    const tick = box(row.querySelector('.tick'));
    const isOneRow = new Set(figures.map((one) => Math.round(one.top))).size === 1;
    const isWide = box(words).width > 0.7 * innerWidth;
    return !(isWide && isOneRow && box(words).bottom <= figures[0].top + 1 &&
        Math.max(...figures.map((one) => one.bottom)) <= tick.top + 1);
}).length"""


@pytest.mark.parametrize("stem", ["port-block", "column-left"])
def test_an_inspection_sheet_on_a_phone(paper: Page, stem: str, tmp_path: Path) -> None:
    show(paper, "inspect", Path(f"parts/{stem}.toml"), tmp_path)
    paper.set_viewport_size({"width": 390, "height": 844})
    paper.emulate_media(media="screen")
    try:
        assert paper.locator(".wide tbody tr[data-line=row]").count() > 5
        assert paper.evaluate(IN_ORDER) == 0
        assert paper.evaluate("document.documentElement.scrollWidth") <= 390
        assert paper.evaluate(f"({STACKED})([document.body])") == []
    finally:
        paper.set_viewport_size({"width": WIDTH, "height": 1000})
        paper.emulate_media(media="print")
