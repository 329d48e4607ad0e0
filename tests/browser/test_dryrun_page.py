"""The page of a dry run in a real browser: lines and moves choose each other."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jobs import millprep
from playwright.sync_api import Browser, Locator, Page, sync_playwright
from test_bench_page import ARGUMENTS, chromium_path

PROGRAM = """\
G21 G17 G90 G94 G40 G49 G80 G54
(TOOL 1 DRILL 5.000 MM POINT 118)
T1 M6
G43 H1
S800 M3
G0 X10. Y10. Z25.
G98 G81 X10. Y10. Z-5. R2. F60.
X50. Y30.
G80
G0 X5. Y35. Z-1.
G0 Z25. M5
M30
"""
FIRST_HOLE, SECOND_HOLE, CRASH = 7, 8, 10


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    path = chromium_path()
    with sync_playwright() as running:
        browser = running.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def page(chromium: Browser, tmp_path: Path) -> Iterator[Page]:
    program, made = tmp_path / "plate.nc", tmp_path / "plate.html"
    program.write_text(PROGRAM)
    ran = millprep("dryrun", program, "--stock", "60,40,20", "--html", made)
    assert ran.status == 1, ran.err  # the crash
    complaints: list[str] = []
    asked_for: list[str] = []
    context = chromium.new_context(viewport={"width": 1300, "height": 900}, offline=True)
    page = context.new_page()
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda request: asked_for.append(request.url))
    page.goto(made.as_uri())
    yield page
    context.close()
    assert complaints == []
    assert asked_for == [made.as_uri()]


def line(page: Page, number: int) -> Locator:
    return page.locator(".program li").nth(number - 1)


def chosen_lines(page: Page) -> list[int]:
    rows: list[int] = page.evaluate(
        "[...document.querySelectorAll('.program li')]"
        ".flatMap((row, at) => row.classList.contains('chosen') ? [at + 1] : [])"
    )
    return rows


def highlighted(page: Page, view: str) -> list[tuple[float, float]]:
    """The corners of what is highlighted in a view, in its own millimetres, up counted up."""
    path = page.locator(f"svg[data-view={view}] .chosen").get_attribute("d") or ""
    return [(float(x), -float(y)) for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path)]


def touch(page: Page, view: str, across: float, up: float) -> None:
    at: dict[str, float] = page.evaluate(
        """([view, x, y]) => {
            const svg = document.querySelector(`svg[data-view=${view}]`);
            const point = new DOMPoint(x, -y).matrixTransform(svg.getScreenCTM());
            return { x: point.x, y: point.y };
        }""",
        [view, across, up],
    )
    page.mouse.click(at["x"], at["y"])


def test_a_line_highlights_its_moves_in_every_view(page: Page) -> None:
    line(page, SECOND_HOLE).click()
    assert chosen_lines(page) == [SECOND_HOLE]
    assert (50.0, 30.0) in highlighted(page, "above")
    assert (50.0, -5.0) in highlighted(page, "front")
    assert (30.0, -5.0) in highlighted(page, "right")
    line(page, 3).click()  # the tool change moves nothing
    assert chosen_lines(page) == [3]
    assert highlighted(page, "above") == []
    assert "no move" in page.locator("output").inner_text()


def isometric(x: float, y: float, z: float) -> tuple[float, float]:
    """Seen from the right (ISO 5456-3)."""
    return math.sqrt(0.75) * (x + y), 0.5 * (y - x) + z


def test_what_is_left_is_seen_aslant_with_the_moves_that_are_chosen(page: Page) -> None:
    line(page, SECOND_HOLE).click()
    seen = highlighted(page, "isometric")
    for place in ((10.0, 10.0, 25.0), (50.0, 30.0, -5.0)):
        across, up = isometric(*place)
        assert any(math.hypot(x - across, y - up) < 0.002 for x, y in seen)
    touch(page, "isometric", *isometric(30.0, 20.0, 25.0))  # half way between the holes
    assert chosen_lines(page) == [SECOND_HOLE]
    box = page.evaluate(
        """() => ["above", "isometric"].map((view) => {
            const shade = document.querySelector(`svg[data-view=${view}] .shade`);
            return ["x", "y", "width", "height"].map((one) => Number(shade.getAttribute(one)));
        })"""
    )
    low, high = isometric(60, 0, -20)[1], isometric(0, 40, 0)[1]
    for found, wanted in zip(
        box, ((0, -40, 60, 40), (0, -high, isometric(60, 40, 0)[0], high - low)), strict=True
    ):
        assert all(abs(one - other) < 0.5 for one, other in zip(found, wanted, strict=True))
    marks = [page.locator(f"svg[data-view={one}] .mark").count() for one in ("isometric", "above")]
    assert marks[0] == marks[1] > 0
    assert "Worked out in squares" in page.locator(".caution").first.inner_text()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_sections_stand_on_the_page_and_fit_a_phone(
    chromium: Browser, tmp_path: Path, scheme: str
) -> None:
    program, made = tmp_path / "plate.nc", tmp_path / "plate.html"
    program.write_text(PROGRAM)
    sections = ("--section", "X10 Y10", "--section", 2)
    millprep("dryrun", program, "--stock", "60,40,20", "--html", made, *sections)
    size = {"width": 390, "height": 844}
    page = chromium.new_page(viewport=size, color_scheme=scheme)  # type: ignore[arg-type]
    page.goto(made.as_uri())
    assert page.locator(".section svg").count() == 2
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    words = page.locator(".section").first.locator("text", has_text="drill 5")
    assert words.text_content() == "drill 5, 3.498 deep, tip 5"
    shown: dict[str, float] = words.evaluate(
        "(one) => { const box = one.getBoundingClientRect(); "
        "return { right: box.right, height: box.height }; }"
    )
    assert shown["right"] < 390
    assert shown["height"] >= 9
    colours = page.evaluate(
        """() => {
            const svg = document.querySelector(".section svg");
            return [getComputedStyle(svg).backgroundColor,
                getComputedStyle(svg.querySelector("line.edge")).stroke].map((colour) =>
                    colour.match(/\\d+/g).slice(0, 3).map(Number).reduce((a, b) => a + b));
        }"""
    )
    assert abs(colours[0] - colours[1]) > 400  # ink and paper change places
    assert (colours[0] > colours[1]) == (scheme == "light")
    page.close()


def test_a_move_chooses_its_line(page: Page) -> None:
    touch(page, "above", 30.0, 20.0)  # half way between the holes
    assert chosen_lines(page) == [SECOND_HOLE]
    assert highlighted(page, "above") == [(10.0, 10.0), (50.0, 30.0)]
    assert "rapid to X50.000 Y30.000" in page.locator("output").inner_text()
    touch(page, "front", 10.0, -3.0)  # down the first hole
    assert chosen_lines(page) == [FIRST_HOLE]
    touch(page, "above", 58.0, 1.0)  # nothing is there
    assert chosen_lines(page) == [FIRST_HOLE]


def test_steps_and_keys(page: Page) -> None:
    touch(page, "above", 30.0, 20.0)
    page.click("text=next move")
    assert highlighted(page, "front")[-1] == (50.0, 2.0)
    page.click("text=previous move")
    page.click("text=previous move")
    assert chosen_lines(page) == [FIRST_HOLE]
    line(page, FIRST_HOLE).click()
    page.locator(".program").focus()
    page.keyboard.press("ArrowDown")
    assert chosen_lines(page) == [SECOND_HOLE]
    page.keyboard.press("ArrowUp")
    assert chosen_lines(page) == [FIRST_HOLE]


def test_a_finding_shows_its_line_and_its_place(page: Page) -> None:
    crash = page.locator(".findings li", has_text="rapid").first
    assert crash.get_attribute("data-line") == str(CRASH)
    crash.click()
    assert chosen_lines(page) == [CRASH]
    assert highlighted(page, "front")[-1] == (5.0, -1.0)
    page.locator("svg[data-view=above] .mark .dot").first.click(force=True)
    assert chosen_lines(page) in ([FIRST_HOLE], [CRASH])


def test_rapids_and_feeds_differ_by_their_dashes_alone(page: Page) -> None:
    styles: list[dict[str, Any]] = page.evaluate(
        """['rapid', 'feed'].map((name) => {
            const style = getComputedStyle(document.querySelector(`svg[data-view] .${name}`));
            return { dash: style.strokeDasharray, colour: style.stroke };
        })"""
    )
    assert styles[0]["dash"] != "none"
    assert styles[1]["dash"] == "none"
    for one in styles:
        red, green, blue = map(int, re.findall(r"\d+", one["colour"])[:3])
        assert max(red, green, blue) - min(red, green, blue) < 12  # grey


# Views and buttons that are not wholly on the screen, and buttons too small for a finger.
OFF_SCREEN = """() => [
    ...document.querySelectorAll('svg[data-view], .stepper button')
].filter((one) => {
    const { top, bottom, left, right, height, width } = one.getBoundingClientRect();
    const isSmall = one.matches('button') && Math.min(height, width) < 48;
    return top < 0 || left < 0 || bottom > innerHeight || right > innerWidth || isSmall;
}).length"""


@pytest.mark.parametrize("size", [(390, 844), (844, 390), (1024, 768)])
def test_views_and_buttons_stay_on_the_screen(page: Page, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    for _ in range(6):
        page.click("text=next move")
        assert page.evaluate(OFF_SCREEN) == 0
        row, views, buttons = page.evaluate(
            """['.program .chosen', '.views', '.stepper'].map((name) => {
                const box = document.querySelector(name).getBoundingClientRect();
                return [box.top, box.bottom];
            })"""
        )
        if size[0] < size[1]:  # the line in hand is between them
            assert views[1] <= row[0] < row[1] <= buttons[0]
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]


def test_arrow_keys_go_from_move_to_move(page: Page) -> None:
    for key, way in (("ArrowRight", 1), ("ArrowRight", 1), ("ArrowLeft", -1)):
        before = page.locator("output").inner_text()
        page.keyboard.press(key)
        assert page.locator("output").inner_text() != before, way
    first = page.locator("output").inner_text()
    page.click("text=next move")
    page.click("text=previous move")
    assert page.locator("output").inner_text() == first


def test_notes_are_on_the_page(page: Page, tmp_path: Path) -> None:
    ran = millprep("dryrun", tmp_path / "plate.nc", "--stock", "60,40,20", "--format", "json")
    notes = [one["message"] for one in ran.json["findings"] if one["severity"] == "note"]
    assert notes
    words = page.inner_text(".texts")
    for note in notes:
        assert note in words
    page.locator(".findings .note[data-line]").first.click()
    assert chosen_lines(page)


def test_a_dark_form_and_a_line_type_for_each_fixture(page: Page, tmp_path: Path) -> None:
    program, made = tmp_path / "setup.nc", tmp_path / "setup.html"
    part = "parts/port-block.toml"
    assert millprep("program", part, "--setup", 5, "-o", program).status == 0
    ran = millprep("dryrun", program, "--part", part, "--setup", 5, "--html", made)
    assert ran.status == 0, ran.err
    context = page.context.browser.new_context(color_scheme="dark")
    dark = context.new_page()
    dark.goto(made.as_uri())
    look = """() => {
        const colour = (name) => getComputedStyle(document.querySelector(name)).backgroundColor;
        const lines = [...document.querySelectorAll('.key path')].map((one) => {
            const style = getComputedStyle(one);
            return `${style.strokeDasharray} ${style.strokeWidth}`;
        });
        return [colour('body'), colour('svg[data-view]'), lines];
    }"""
    paper, sheet, lines = dark.evaluate(look)
    context.close()
    for colour in (paper, sheet):
        assert max(map(int, re.findall(r"\d+", colour)[:3])) < 64
    assert len(set(lines)) == len(lines) >= 7


def test_what_it_says(page: Page) -> None:
    words = page.inner_text("body")
    assert "do not run it as it is" in words
    assert "air" in words
    assert "G98 G81 X10. Y10. Z-5. R2. F60." in words
    assert page.evaluate("document.documentElement.scrollWidth") <= 1300
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_words_of_a_program_stay_words(chromium: Browser, tmp_path: Path) -> None:
    program, made = tmp_path / "odd.nc", tmp_path / "odd.html"
    program.write_text(PROGRAM.replace("M30", "(</script><b>bold</b>)\nM30"))
    millprep("dryrun", program, "--html", made)
    context = chromium.new_context()
    page = context.new_page()
    page.goto(made.as_uri())
    assert page.locator(".program b").count() == 0
    assert "(</script><b>bold</b>)" in page.inner_text(".program")
    context.close()


def test_it_can_be_read_without_a_script(chromium: Browser, tmp_path: Path) -> None:
    program, made = tmp_path / "plate.nc", tmp_path / "plate.html"
    program.write_text(PROGRAM)
    millprep("dryrun", program, "--stock", "60,40,20", "--html", made)
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(made.as_uri())
    assert page.locator("svg[data-view=front] path.feed").get_attribute("d")
    assert page.locator(".stepper").is_hidden()
    context.close()
