"""The bench page in a real browser, as a phone and as a tablet show it.

Figures are held against the JSON listing, which another writer makes.
"""

from __future__ import annotations

import io
import os
import re
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import suppress
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from conftest import skip_without
from jobs import RICH, RICH_STOCK, millprep, part_text
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright
from playwright.sync_api import Error as PlaywrightError
from pypdf import PdfReader
from words import STACKED

PHONE = {"width": 390, "height": 844}
TABLET = {"width": 820, "height": 1180}
SIZES = pytest.mark.parametrize("size", [PHONE, TABLET], ids=["phone", "tablet"])
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
LONG = (
    '[[hole]]\nname = "screw of_the_steam_chest_cover_by_lug"\n'
    'tap = "M3"\ndepth = 6\nrow = { start = [10, 10], step = [8, 0], count = 4 }\n'
)


def chromium_path() -> str:
    skip_without("chromium", shutil.which("chromium") is not None)
    return str(shutil.which("chromium"))


@pytest.fixture(scope="module")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="module")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    browser = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
    yield browser
    browser.close()


# The page's clock, put on by a second before each *Done*: the page wants half a second between two.
DONE = """window.later = 0;
    const now = performance.now.bind(performance);
    performance.now = () => now() + later;
    window.done = () => { later += 1000; document.getElementById('done').click(); };"""


class Bench:
    """A part file, its page, and a browser that looks at it."""

    def __init__(self, browser: Browser, folder: Path, text: str, **context: Any) -> None:
        self.part, self.page_file = folder / "part.toml", folder / "bench.html"
        self.make(text)
        self.complaints: list[str] = []
        self.asked_for: list[str] = []
        self.context = browser.new_context(**({"viewport": PHONE} | context))
        self.context.add_init_script(DONE)
        self.page = self.context.new_page()
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked_for.append(request.url))
        self.page.goto(self.page_file.as_uri())

    def make(self, text: str, *options: str) -> None:
        self.part.write_text(text, encoding="utf-8")
        ran = millprep("bench", self.part, "-o", self.page_file, *options)
        assert ran.status == 0, ran.err

    def accept(self) -> None:
        self.page.click("#accept")

    def done(self, times: int = 1) -> None:
        for _ in range(times):
            self.wait()
            self.page.click("#done")

    def wait(self) -> None:
        self.page.evaluate("later += 1000")

    @property
    def shown(self) -> str:
        """The card in view."""
        return self.page.evaluate(
            "document.querySelector('.card.shown, #finish.shown, #care.shown').id"
        )

    @property
    def told(self) -> str:
        """What the page says of the last tick, for some seconds."""
        return self.page.text_content("#told") or ""

    @property
    def next(self) -> str:
        """What comes next, in the unit in view, whether a message covers it or not."""
        words = self.page.evaluate(
            """() => {
                const next = document.getElementById('next').cloneNode(true);
                const other = document.documentElement.dataset.units === 'mm' ? 'inch' : 'mm';
                for (const one of next.querySelectorAll(`[data-units=${other}]`)) one.remove();
                return next.textContent;
            }"""
        )
        return " ".join(words.split())

    def to_kind(self, kind: str) -> None:
        """Ticks until a card of that kind is in view."""
        while not self.page.query_selector(f".card.{kind}.shown"):
            assert self.shown != "finish", f"no card of the kind {kind}"
            self.done()

    def step(self) -> dict[str, Any]:
        """What a person reads on the step in view."""
        return self.page.evaluate(f"({READ})()")


# What can be read on the step in view.
READ = """() => {
    const card = document.querySelector('.card.shown');
    const inView = (name) => [...card.querySelectorAll(name)].filter((one) => one.offsetWidth);
    const see = (name) => inView(`[data-field="${name}"]`).map((one) => one.innerText).join(' ');
    const read = Object.fromEntries(['step', 'hole', 'operation', 'tool', 'tool_number', 'x', 'y',
        'z', 'pecks', 'turns'].map((name) => [name, see(name)]));
    read.digits = inView('.figures dd span').map((one) => one.getBoundingClientRect())
        .map((box) => [box.left, box.right]);
    read.pointed_at = document.querySelectorAll('.plan.shown .hole.now').length;
    return read;
}"""
# From the card in view to the last, by ticks: what each shows, and how wide the page is.
WALK = f"""() => {{
    const walked = [];
    while (!document.querySelector('#finish.shown')) {{
        const isStep = document.querySelector('.card.step.shown');
        walked.push({{ step: isStep && ({READ})(), width: document.documentElement.scrollWidth }});
        done();
    }}
    return walked;
}}"""


@pytest.fixture
def bench(chromium: Browser, tmp_path: Path) -> Iterator[Any]:
    opened: list[Bench] = []

    def open_bench(text: str, **context: Any) -> Bench:
        opened.append(Bench(chromium, tmp_path, text, **context))
        return opened[-1]

    yield open_bench
    for one in opened:
        one.context.close()
        assert one.complaints == []
        assert {url.split("?")[0] for url in one.asked_for} <= {one.page_file.as_uri(), "data:,"}


def rich() -> str:
    return part_text(RICH, RICH_STOCK)


def numbers(text: str) -> list[Decimal]:
    return [Decimal(word.replace("\N{MINUS SIGN}", "-")) for word in text.split()]


def listed(part: Path, units: str) -> list[dict[str, Any]]:
    """The steps of the JSON listing, setup after setup, each with what its tool is called."""
    ran = millprep("listing", part, "--format", "json", "--units", units)
    called = {
        (setup["number"], tool["tool"]): tool["called"]
        for setup in ran.json["setups"]
        for tool in setup["tools"]
    }
    return [
        {**step, "called": called[setup["number"], step["tool_number"]]}
        for setup in ran.json["setups"]
        for step in setup["steps"]
    ]


def compare(seen: dict[str, Any], step: dict[str, Any]) -> None:
    for name in ("hole", "operation"):
        assert seen[name] == step[name]
    assert f"  {step['called']}" in seen["tool"]
    for name in ("step", "tool_number"):
        assert int(seen[name]) == step[name]
    for name in ("x", "y", "z"):
        assert numbers(seen[name]) == [Decimal(repr(step[name]))], (step["step"], name)
    assert numbers(seen["pecks"]) == [Decimal(repr(peck)) for peck in step["pecks"]]
    assert numbers(seen["turns"]) == (
        [] if step["turns"] is None else [Decimal(repr(step["turns"]))]
    )


@SIZES
@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("name", ["rich", "port-block"])
def test_every_step_is_reached_and_says_what_the_listing_says(
    bench: Any, size: Any, units: str, name: str
) -> None:
    text = rich() if name == "rich" else Path(f"parts/{name}.toml").read_text()
    mill = bench(text, viewport=size)
    mill.accept()
    if units == "inch":
        mill.page.click("#units")
    walked = mill.page.evaluate(WALK)
    steps = [one["step"] for one in walked if one["step"]]
    expected = listed(mill.part, units)
    assert len(steps) == len(expected)
    for seen, step in zip(steps, expected, strict=True):
        compare(seen, step)
        assert seen["pointed_at"] == 1
        assert all(0 <= left < right <= size["width"] for left, right in seen["digits"])
        assert len(seen["digits"]) == 3
    assert max(one["width"] for one in walked) <= size["width"]
    assert mill.shown == "finish"
    assert mill.page.inner_text("#tally") == f"{len(steps)} of {len(steps)} steps"


# The cards one after another, as each stands when it comes: words that stand on others, what has to
# be seen of a step and is not, buttons too small, and how far the page is wider than the screen.
WALK_SEEN = f"""() => {{
    const faults = new Set();
    const footer = document.querySelector('footer');
    const seen = (one) => one.offsetHeight > 0;
    const look = (card) => {{
        const title = card.querySelector('h2').textContent.trim();
        const fault = (...words) => faults.add(`${{title}}: ${{words.join(' ')}}`);
        const foot = footer.getBoundingClientRect().top;
        const held = [[card, document.querySelector('.plan.shown')], [footer],
            [document.querySelector('header')]];
        for (const some of held)
            for (const pair of ({STACKED})(some))
                fault('stacked', ...pair);
        const rows = card.querySelectorAll('h2, .figures > div, .turns, .pecks, .peck');
        if (card.matches('.big')) for (const one of [...rows].filter(seen)) {{
            const words = document.createRange();
            words.selectNodeContents(one);
            const right = Math.max(...[...words.getClientRects()].map((box) => box.right));
            const {{ top, bottom }} = one.getBoundingClientRect();
            if (top < 0 || bottom > foot + 1 || right > innerWidth)
                fault('hidden', one.className || one.tagName, top, bottom, foot, right);
        }}
        const pecks = [...card.querySelectorAll('.pecks.several, .peck')];
        if (pecks.length && pecks.filter(seen).length !== 1) fault('pecks are not seen once');
        const tool = card.querySelector('.do');
        const isBelow = tool && tool.getBoundingClientRect().bottom > foot + 2;
        const isCut = document.documentElement.scrollHeight > innerHeight + 8;
        const more = getComputedStyle(document.getElementById('more')).visibility;
        if ((isBelow || isCut) && more !== 'visible') fault('more below, and nothing says so');
        if (isBelow && !document.documentElement.matches('.last')) fault('the tool is hidden');
        for (const one of [...document.querySelectorAll('button')].filter(seen)) {{
            const box = one.getBoundingClientRect();
            if (box.width < 48 || box.height < 48) fault('small', one.id, box.width, box.height);
        }}
        const wide = document.documentElement.scrollWidth;
        if (wide > innerWidth) fault('wide', wide);
    }};
    document.querySelector('[data-go=c1]').click();
    while (!document.querySelector('#finish.shown')) {{
        look(document.querySelector('.card.shown'));
        document.getElementById('ahead').click();
    }}
    return [...faults];
}}"""
EXAMPLES = [path for path in sorted(Path("parts").glob("*.toml")) if "assembly" not in path.name]
SAMPLE = (
    "port-block",
    "crank-disc",
)  # twelve pecks; round, and all of them with MILLPREP_ALL_PARTS
SEEN = [
    path for path in EXAMPLES if path.stem in SAMPLE or os.environ.get("MILLPREP_ALL_PARTS") == "1"
]
SCREENS = [(360, 640), (390, 844), (844, 390), (768, 1024), (1024, 768), (1366, 768)]


@pytest.mark.parametrize("root_px", [16, 32], ids=["", "text at 200 %"])
@pytest.mark.parametrize("part", SEEN, ids=lambda path: path.stem)
def test_every_figure_is_seen_on_every_screen(
    bench: Any, part: Path, root_px: int, tmp_path: Path
) -> None:
    """Without scrolling, nothing on anything else, and what is below the foot is said to be there.

    Text at 200 %: WCAG 2.2, 1.4.4; targets of 48 css pixels: 9 mm at 150 to the inch.
    """
    shutil.copytree("parts", tmp_path, dirs_exist_ok=True)  # some name others beside them
    mill = bench(part.read_text())
    mill.page.add_style_tag(content=f"html {{ font-size: {root_px}px }}")
    mill.accept()
    for units in ("mm", "inch"):
        for width, height in SCREENS:
            mill.page.set_viewport_size({"width": width, "height": height})
            assert mill.page.evaluate(WALK_SEEN) == [], (width, height, units)
        mill.page.click("#units")


def test_digits_are_read_at_two_metres(bench: Any) -> None:
    """16 minutes of arc at 2 m are 9.3 mm (from memory of ISO 9241-303, least height of figures).

    A phone of 390 css pixels is some 65 mm wide.
    """
    mill = bench(Path("parts/port-block.toml").read_text())
    mill.accept()
    mill.to_kind("step")
    height = mill.page.evaluate(
        """() => {
            const style = getComputedStyle(document.querySelector('.card.shown .figures dd'));
            const ink = document.createElement('canvas').getContext('2d');
            ink.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
            return ink.measureText('0').actualBoundingBoxAscent;
        }"""
    )
    assert height * 65 / 390 >= 9.3, height


@SIZES
def test_targets_are_large_enough_for_a_finger(bench: Any, size: Any) -> None:
    """44 by 44 css pixels: WCAG 2.2, success criterion 2.5.5; here 48."""
    mill = bench(rich(), viewport=size)

    def smallest() -> float:
        return mill.page.evaluate(
            """Math.min(...[...document.querySelectorAll('button')]
                .filter((one) => one.offsetWidth).map((one) => one.getBoundingClientRect())
                .flatMap((box) => [box.width, box.height]))"""
        )

    assert smallest() >= 48
    mill.accept()
    mill.to_kind("step")
    assert smallest() >= 48
    mill.page.click("#all")
    assert smallest() >= 48


@pytest.mark.parametrize("width", [320, 360, 390])
def test_no_word_on_a_button_is_broken(bench: Any, width: int) -> None:
    mill = bench(rich(), viewport={"width": width, "height": 640})
    mill.accept()
    broken = mill.page.evaluate(
        """[...document.querySelectorAll('footer button, header button')].filter((one) => {
            const words = document.createRange();
            words.selectNodeContents(one);
            const boxes = [...words.getClientRects()].filter((box) => box.height > 12);
            const lowest = Math.max(...boxes.map((box) => box.top));
            return lowest > Math.min(...boxes.map((box) => box.bottom));
        }).map((one) => one.id)"""
    )
    assert broken == []
    assert mill.page.evaluate("document.documentElement.scrollWidth") <= width


def test_cautions_come_first_and_keys_do_not_pass_them(bench: Any) -> None:
    mill = bench(rich())
    assert "glasses" in mill.page.inner_text("#care")
    for key in ("d", "ArrowRight", "u"):
        mill.page.keyboard.press(key)
        assert mill.shown == "care"
    mill.accept()
    assert mill.shown == "c1"
    mill.page.click("#all")
    mill.page.click("#cautions")
    assert mill.shown == "care"


def test_ticks_and_unit_outlast_a_reload(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    mill.page.click("#units")
    mill.to_kind("look")
    at, tally = mill.shown, mill.page.inner_text("#tally")
    assert not mill.page.is_visible("#resumed")
    mill.page.reload()
    assert (mill.shown, mill.page.inner_text("#tally")) == (at, tally)
    assert mill.page.get_attribute("html", "data-units") == "inch"
    mill.page.click("#resumed summary")
    assert "find zero" in " ".join(mill.page.inner_text("#resumed").split())
    mill.page.click("#resumed button")
    assert not mill.page.is_visible("#resumed")


@pytest.mark.parametrize("wait_s", [0.0, 0.1, 1.0])
def test_ticks_outlast_a_power_cut(playwright: Playwright, tmp_path: Path, wait_s: float) -> None:
    """The browser is killed outright right after the last tick, not left to write at leisure."""
    part, page_file, profile = tmp_path / "part.toml", tmp_path / "bench.html", tmp_path / "profile"
    part.write_text(rich())
    assert millprep("bench", part, "-o", page_file).status == 0

    def start() -> tuple[BrowserContext, Page]:
        context = playwright.chromium.launch_persistent_context(
            str(profile), executable_path=chromium_path(), args=ARGUMENTS, viewport=PHONE
        )  # type: ignore[arg-type]  # a mapping of sizes
        context.add_init_script(DONE)
        page = context.new_page()
        page.goto(page_file.as_uri())
        return context, page

    context, page = start()
    page.click("#accept")
    for _ in range(6):
        page.evaluate("done()")
    tally = page.inner_text("#tally")
    time.sleep(wait_s)
    found = subprocess.run(
        ["pgrep", "-f", str(profile)], capture_output=True, text=True, check=True
    )
    for process in map(int, found.stdout.split()):
        try:
            os.kill(process, signal.SIGKILL)
        except ProcessLookupError:
            continue
    with suppress(PlaywrightError):
        context.close()
    context, page = start()
    page.wait_for_selector("#resumed:not([hidden])")
    assert page.inner_text("#tally") == tally
    context.close()


def test_undo_takes_ticks_back_one_by_one(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    assert mill.page.is_disabled("#undo")
    mill.done(5)
    for name in ("c5", "c4", "c3"):
        mill.wait()
        mill.page.click("#undo")
        assert mill.shown == name
    mill.done()
    mill.page.click("#back")
    assert mill.page.inner_text("#done").strip() == "Take tick back"
    mill.done()  # on a card that is ticked: takes its tick back and stays
    assert (mill.shown, mill.page.inner_text("#done").strip()) == ("c3", "Done")
    assert mill.told.startswith("tick taken back: ")


def ticks(mill: Bench) -> int:
    return int(mill.page.evaluate("document.querySelectorAll('dialog .ticked').length"))


@pytest.mark.parametrize("apart_ms", [60, 150, 300])
@pytest.mark.parametrize("to", ["look", "step"])
def test_two_touches_tick_once(bench: Any, apart_ms: int, to: str) -> None:
    """Wet glass and gloves press twice; the second would tick a hole that nobody drilled."""
    mill = bench(rich(), has_touch=True)
    mill.accept()
    mill.to_kind(to)
    box = mill.page.query_selector("#done").bounding_box()
    at = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    before, title = ticks(mill), mill.page.inner_text(".card.shown h2")
    mill.wait()
    mill.page.evaluate("at = performance.now() - later; performance.now = () => at + later;")
    for _ in range(3):
        mill.page.touchscreen.tap(*at)
        mill.page.evaluate(f"later += {apart_ms} / 2")
    assert ticks(mill) == before + 1
    assert mill.told.startswith(f"ticked: {title}")
    mill.wait()
    mill.page.touchscreen.tap(*at)
    assert ticks(mill) == before + 2


def test_a_touch_on_its_way_to_another_card_ticks_nothing(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    mill.page.click("#done")
    assert ticks(mill) == 0
    mill.page.click("#all")
    mill.page.click("#close")
    mill.page.click("#done")
    assert ticks(mill) == 0
    mill.done()
    assert ticks(mill) == 1


@pytest.mark.parametrize("key", ["Enter", " "])
@pytest.mark.parametrize("at", ["#done", "body"])
def test_a_key_held_down_ticks_once_and_on_its_button_only(bench: Any, key: str, at: str) -> None:
    mill = bench(rich())
    mill.accept()
    mill.to_kind("step")
    before = ticks(mill)
    if at == "#done":
        mill.page.focus(at)
    else:
        mill.page.evaluate("document.activeElement.blur()")
    for _ in range(8):
        mill.wait()
        mill.page.keyboard.down(key)  # again while it is down: as a key that is held repeats
    mill.page.keyboard.up(key)
    assert ticks(mill) == before + (at == "#done")


def test_a_setup_is_done_when_its_steps_are_and_not_before(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    while not mill.page.query_selector(".card.done.shown"):
        mill.page.click("#ahead")
    steps = mill.page.query_selector_all("#setup1 .step")
    told = mill.page.inner_text(".card.shown .missing p")
    assert told.startswith(f"{len(steps)} steps of this setup have no tick: ")
    assert not mill.page.is_visible(".card.shown .complete")
    assert mill.page.is_disabled("#done")
    mill.page.click(".card.shown .missing button")
    assert mill.shown == steps[0].get_attribute("id")
    while not mill.page.query_selector(".card.done.shown"):
        mill.done()
    assert mill.page.is_visible(".card.shown .complete")
    assert not mill.page.is_visible(".card.shown .missing")
    end = mill.shown
    mill.done()
    mill.page.click("#all")
    mill.page.click(f"[data-go={steps[-1].get_attribute('id')}]")
    mill.done()  # takes the tick of the last step back, and that of the end with it
    while mill.shown != end:
        mill.page.click("#ahead")
    assert mill.page.inner_text(".card.shown .missing p").startswith("1 step of this setup has no")
    assert mill.page.inner_text("#done").strip() == "Done"


def test_the_end_of_the_part_says_what_is_left(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    while mill.shown != "finish":
        mill.page.click("#ahead")
    assert mill.page.is_visible("#finish .missing")
    assert not mill.page.is_visible("#finish .complete")
    mill.page.click("#finish .missing button")
    assert mill.page.query_selector(".card.step.shown")


def test_jump_and_what_was_left_out_comes_last(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    mill.page.click("#all")
    assert mill.page.get_attribute("[data-go=c1]", "aria-current") == "step"
    mill.page.click("[data-go=c9]")
    assert mill.shown == "c9"
    while mill.shown != "c1":
        if mill.page.is_disabled("#done"):  # the end of a setup with steps left: not to be ticked
            mill.page.click("#ahead")
        else:
            mill.done()
    mill.done(8)
    assert mill.page.query_selector("#setup1 .card.done.shown")
    mill.done()
    assert mill.shown == "finish"
    assert mill.page.is_visible("#finish .complete")


def test_next_is_what_done_leads_to(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    mill.to_kind("step")
    for _ in range(12):
        words = mill.next
        mill.done()
        title = mill.page.inner_text(".card.shown h2")
        assert words.startswith(f"Next: {title}")
        if mill.page.query_selector(".card.step.shown"):
            step = mill.step()
            assert [step[axis] for axis in "xyz"] == re.findall(
                "(?:\N{MINUS SIGN})?[0-9]+[.][0-9]+", words
            )[-3:]


def test_keys_do_what_the_buttons_do(bench: Any) -> None:
    mill = bench(rich())
    press = mill.page.keyboard.press
    mill.accept()
    mill.page.focus("#done")
    for key, name in [
        ("Enter", "c2"),
        (" ", "c3"),
        ("ArrowRight", "c4"),
        ("ArrowLeft", "c3"),
        ("u", "c2"),
        ("U", "c1"),
    ]:
        mill.wait()
        press(key)
        assert mill.shown == name, key
    press("m")
    assert mill.page.get_attribute("html", "data-units") == "inch"
    press("j")
    assert mill.page.is_visible("#list")
    press("Escape")
    assert not mill.page.is_visible("#list")


def test_a_changed_part_file_is_said_and_the_old_ticks_stay_with_the_old_page(bench: Any) -> None:
    mill = bench(rich())
    old_mark = mill.page.get_attribute("html", "data-mark")
    old_page = mill.page_file.read_bytes()
    mill.accept()
    mill.done(6)
    tally = mill.page.inner_text("#tally")
    mill.make(rich().replace("diameter = 30", "diameter = 30.5"))
    mill.page.reload()
    notice = mill.page.inner_text("#changed")
    assert "changed" in notice
    assert old_mark in notice
    assert mill.page.get_attribute("html", "data-mark") in notice
    mill.page.click("#changed button")
    mill.accept()
    assert mill.page.inner_text("#tally").startswith("0 of")
    mill.page.reload()
    assert not mill.page.is_visible("#changed")
    mill.page_file.write_bytes(old_page)
    mill.page.reload()
    assert mill.page.inner_text("#tally") == tally


def test_another_page_of_the_same_part_file_is_said_too(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    mill.done(6)
    mill.make(rich(), "--order", "hole")
    mill.page.reload()
    assert mill.page.is_visible("#remade")
    assert not mill.page.is_visible("#changed")


def without(*stores: str) -> str:
    """A script that takes these stores away from the page."""
    return "".join(
        f"Object.defineProperty(window, '{store}', {{ get() {{ throw new Error('none'); }} }});"
        for store in stores
    )


def test_a_browser_that_keeps_nothing_is_said(bench: Any) -> None:
    mill = bench(rich())
    mill.page.add_init_script(without("localStorage", "indexedDB"))
    mill.page.reload()
    assert mill.page.is_visible("#forgetful")
    mill.page.click("#forgetful button")
    mill.accept()
    mill.done(3)
    assert mill.shown == "c4"


@pytest.mark.parametrize("store", ["localStorage", "indexedDB"])
def test_one_store_is_enough(bench: Any, store: str) -> None:
    mill = bench(rich())
    mill.page.add_init_script(without(store))
    mill.page.reload()
    mill.page.wait_for_selector("#forgetful", state="hidden")
    mill.accept()
    mill.done(3)
    mill.page.reload()
    mill.page.wait_for_selector("#resumed:not([hidden])")
    assert mill.shown == "c4"
    assert not mill.page.is_visible("#forgetful")


@pytest.mark.parametrize("store", ["localStorage", "indexedDB"])
def test_a_tick_and_a_reload_in_one_breath(bench: Any, store: str) -> None:
    """The page is gone before the store has answered: the tick is kept all the same."""
    mill = bench(rich())
    mill.page.add_init_script(without(store))
    mill.page.reload()
    mill.page.wait_for_selector("#forgetful", state="hidden")
    mill.accept()
    for ticks in range(1, 6):
        mill.page.evaluate("done(); location.reload()")
        mill.page.wait_for_selector(f"#c{ticks + 1}.shown")


def test_the_later_of_the_two_stores_counts(bench: Any) -> None:
    """The plain store as it was before the last ticks, as after a power cut; then the other way."""
    mill = bench(rich())
    mill.accept()
    mill.done(2)
    older = mill.page.evaluate("JSON.stringify({ ...localStorage })")
    mill.done(3)
    put = """(older) => {
        for (const [name, value] of Object.entries(JSON.parse(older))) localStorage[name] = value;
    }"""
    mill.page.evaluate(put, older)
    mill.page.reload()
    mill.page.wait_for_selector("#c6.shown")
    kept = mill.page.evaluate("JSON.stringify({ ...localStorage })")
    newer = kept.replace(r"at\":\"c6", r"at\":\"c8").replace(r"writes\":", r"writes\":9")
    assert newer != kept
    mill.page.evaluate(put, newer)
    mill.page.reload()
    mill.page.wait_for_timeout(300)
    assert mill.shown == "c8"


def test_without_a_script_the_page_is_one_long_sheet(bench: Any) -> None:
    mill = bench(rich(), java_script_enabled=False)
    expected = listed(mill.part, "mm")
    cards = mill.page.query_selector_all(".card.step")
    assert len(cards) == len(expected)
    for card, step in zip(cards, expected, strict=True):
        assert card.is_visible()
        assert f"\n{step['hole']}\n" in card.inner_text()
    assert mill.page.is_visible("#care")
    assert not mill.page.is_visible("#done")


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2 from `rgb(r, g, b)`."""
    parts = [int(value) / 255 for value in re.findall(r"\d+", colour)[:3]]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_light_and_dark_follow_the_system(bench: Any, scheme: str) -> None:
    """Contrast of 7 for the figures, 4.5 for all other words: WCAG 2.2, 1.4.6 and 1.4.3."""
    mill = bench(rich(), color_scheme=scheme)
    mill.accept()
    mill.to_kind("step")

    def colours(selector: str) -> tuple[float, float]:
        ink, paper = mill.page.evaluate(
            """(selector) => {
                const one = document.querySelector(selector);
                const clear = 'rgba(0, 0, 0, 0)';
                let behind = one;
                while (getComputedStyle(behind).backgroundColor === clear)
                    behind = behind.parentElement;
                return [getComputedStyle(one).color, getComputedStyle(behind).backgroundColor];
            }""",
            selector,
        )
        return luminance(ink), luminance(paper)

    def contrast(pair: tuple[float, float]) -> float:
        return (max(pair) + 0.05) / (min(pair) + 0.05)

    _, paper = colours("body")
    assert (paper < 0.1) == (scheme == "dark")
    assert contrast(colours(".card.shown .figures dd")) >= 7
    for selector in (".card.shown .small", "#next", "#done", "#undo", ".card.shown dt", "#where"):
        assert contrast(colours(selector)) >= 4.5, selector
    if mill.page.query_selector(".card.shown .warning"):
        assert contrast(colours(".card.shown .warning")) >= 4.5
    # borders of what is pressed, and of the card, against what is on either side: WCAG 2.2, 1.4.11
    for selector in ("#undo", "#all", "#more", ".card.shown"):
        border, inside = mill.page.evaluate(
            """(selector) => {
                const style = getComputedStyle(document.querySelector(selector));
                return [style.borderLeftColor, style.backgroundColor];
            }""",
            selector,
        )
        for side in (luminance(inside), paper):
            assert contrast((luminance(border), side)) >= 3, selector


def test_a_screen_reader_hears_the_sign(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    mill.to_kind("step")
    step, said = mill.step(), mill.page.inner_text("#spoken")
    assert step["hole"] in said
    assert f"Z{'quill' if 'quill' in said else ''}, minus {step['z'][1:]}" in said
    assert mill.page.get_attribute("#spoken", "aria-live") == "polite"
    assert step["hole"] in mill.page.get_attribute(".plan.shown svg", "aria-label")
    for name in mill.page.query_selector_all("button"):
        if name.is_visible():
            assert name.inner_text().strip() or name.get_attribute("aria-label")


def test_a_reamed_hole_says_lock_on_its_step(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    while not (mill.shown != "finish" and mill.step()["operation"] == "ream"):
        mill.done()
    assert "LOCK X and Y" in mill.page.inner_text(".card.shown .warning")


def test_every_piece_has_ticks_of_its_own(bench: Any) -> None:
    mill = bench(rich())
    mill.make(rich(), "--pieces", 3)
    mill.page.reload()
    mill.accept()
    assert mill.page.inner_text("#piece") == "piece 1 of 3"
    while mill.page.inner_text("#piece") == "piece 1 of 3":
        tally = mill.page.inner_text("#tally")
        mill.done()
    assert "Wipe the stop, put in piece 2." in mill.told
    assert mill.page.inner_text("#tally").startswith("0 of")
    mill.wait()
    mill.page.click("#undo")
    assert mill.page.inner_text("#piece") == "piece 1 of 3"
    assert mill.next.startswith("Next: wipe the stop, put in piece 2:")
    assert mill.page.inner_text("#tally") == tally
    mill.done(3)
    mill.page.reload()
    assert mill.page.inner_text("#piece") == "piece 2 of 3"
    assert mill.page.is_visible("#resumed")
    assert "piece 2 of 3" in mill.page.inner_text("#kept")
    mill.page.click("#all")
    mill.page.click("[data-piece='1']")
    assert mill.page.inner_text("#piece") == "piece 1 of 3"


def test_done_alone_leads_through_the_clampings(bench: Any) -> None:
    """In the order that the listing's JSON has, each step once at each piece."""
    holes = (
        '[[hole]]\nname = "pivot"\nream = 6\nat = [30, 20]\ndepth = "through"\n'
        '[[hole]]\nname = "screw"\ntap = "M5"\nat = [[12, 12], [48, 28]]\ndepth = 8\n'
        '[[hole]]\nname = "under"\nface = "bottom"\ndrill = 3\nat = [10, 10]\ndepth = 4\n'
    )
    mill = bench(part_text(holes, "size = [60, 40, 20]"))
    mill.make(mill.part.read_text(), "--pieces", 3)
    mill.page.reload()
    mill.accept()
    walked = mill.page.evaluate(
        """() => {
            const walked = [];
            while (!document.querySelector('#finish.shown')) {
                const card = document.querySelector('.card.shown');
                const step = card.querySelector('[data-field=step]');
                const piece = document.getElementById('piece').textContent.split(' ')[1];
                const setup = card.closest('.setup').id.replace('setup', '');
                if (step) walked.push([setup, piece, step.textContent].map(Number));
                done();
                if (walked.length > 200) break;
            }
            return walked;
        }"""
    )
    ran = millprep("listing", mill.part, "--pieces", "3", "--format", "json")
    told = [
        [setup["number"], visit["piece"], step]
        for setup in ran.json["setups"]
        for visit in setup["visits"]
        for step in visit["steps"]
    ]
    assert walked == told
    assert not mill.page.is_visible("#finish .missing")
    assert mill.page.is_visible("#another")


def test_another_piece_begins_at_the_end_of_one(bench: Any) -> None:
    mill = bench(rich())
    mill.accept()
    mill.page.evaluate(WALK)
    assert mill.page.inner_text("#piece") == ""
    mill.page.click("#another")
    assert mill.shown == "c1"
    assert ticks(mill) == 0


def test_on_paper_a_step_is_two_lines(bench: Any, tmp_path: Path) -> None:
    """All steps, in the unit that the screen shows, on no more than two sheets a setup."""
    shutil.copytree("parts", tmp_path, dirs_exist_ok=True)
    mill = bench(Path("parts/port-block.toml").read_text())
    mill.accept()
    mill.page.click("#units")
    margins = dict.fromkeys(("top", "bottom", "left", "right"), "12mm")
    paper = PdfReader(io.BytesIO(mill.page.pdf(format="A4", margin=margins)))
    words = " ".join(page.extract_text() for page in paper.pages)
    steps = listed(mill.part, "inch")
    assert len(paper.pages) <= 2 * 5
    for step in steps:
        assert step["hole"] in words
        for axis in "xyz":
            assert f"{abs(step[axis]):.4f}" in words


@SIZES
def test_long_names_and_inches_stay_on_the_page(bench: Any, size: Any) -> None:
    mill = bench(part_text(LONG), viewport=size)
    mill.accept()
    mill.page.click("#units")
    mill.to_kind("step")
    assert mill.page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    assert all(0 <= left < right <= size["width"] for left, right in mill.step()["digits"])
    mill.page.click("#all")
    assert mill.page.evaluate("document.querySelector('dialog').scrollWidth") <= size["width"]
