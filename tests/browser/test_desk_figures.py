"""Every figure box of a part's page, typed in as a person types, with answers that come late.

All is twenty times as fast as it is for a person: 4.5 ms a letter, for answers held back by 50, 250
and 1,000 ms.
What stands in a box afterwards is what was typed; the file, in each of its states, holds no other
figure than those. The box with the caret is the same element from the first letter to the last.
"""

from __future__ import annotations

import asyncio
import re
import tomllib
import zlib
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from asking import served
from playwright.sync_api import Browser, Page, expect
from test_desk_page import chromium, entered, settled, soon

from millprep.desk.files import id_of
from millprep.desk.gate import Once
from millprep.desk.serving import Serving

__all__ = ["chromium"]  # the fixture

PART = """# All kinds of boxes.
part = "Bearing block"
units = "inch"
material = "mild steel"

[stock]
size = [2.5, 1.25, 1.5]

[[hole]]
name = "cover"
clear = "2BA"
depth = "3/8"
counterbore = { diameter = "5/16", depth = "1/8" }
circle = { centre = [1.25, 0.625], diameter = "3/4", count = 2, start = 0 }

[[hole]]
name = "peg"
drill = "1/16"
depth = "1/8"
at = { left = "1/4", centre_y = 0 }

[[dimension]]
from = "cover"
to = "peg"
along = "x"
is = "7/8"

[[setup]]
face = "top"
"""
TYPED = {
    "1 1/4 in": Fraction(5, 4),
    "0,375": Fraction(3, 8),
    ".375": Fraction(3, 8),
    "9.53mm": Fraction(953, 2540),
    '½"': Fraction(1, 2),
    "15/64": Fraction(15, 64),
}
"""As typed, and what it is in inches."""
FASTER = 20
LETTER_MS = 90 / FASTER
OTHER_WORD_FOR = {"title-defaults.depth.into", "title-defaults.pattern_from"}
"""Boxes in which a figure takes the place of that in another box: depth, and the holes of it."""
WATCH = """() => {
    window.lostCarets = [];
    let caret = null;
    addEventListener("focusin", (event) => { caret = event.target; });
    addEventListener("focusout", () => { caret = null; });
    new MutationObserver((changes) => {
        for (const change of changes) for (const node of change.removedNodes)
            if (caret && node.contains(caret)) window.lostCarets.push(caret.id);
    }).observe(document, { childList: true, subtree: true });
}"""


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> dict[str, float]:
    """How long each answer is held back on its way [s]."""
    wait = {"s": 0.0}
    asked = Once.__call__

    async def late(self: Once, scope: Any, receive: Any, send: Any) -> None:
        async def sent(message: Any) -> None:
            if message["type"] == "http.response.start" and scope["path"].startswith("/sheet"):
                await asyncio.sleep(wait["s"])
            await send(message)

        await asked(self, scope, receive, sent)

    monkeypatch.setattr(Once, "__call__", late)
    return wait


def sheet(browser: Browser, serving: Serving) -> Page:
    page = entered(
        browser.new_context(viewport={"width": 1366, "height": 768}), serving.desk.way_in
    )
    page.goto(f"{serving.desk.address}/sheet/{id_of('block.toml')}")
    settled(page)
    page.evaluate(WATCH)
    return page


def all_put_down(page: Page) -> None:
    """Nothing is on its way any more, and the page shows what the desk has."""
    soon(page, lambda: page.evaluate("Object.keys(localStorage).length") == 0)
    settled(page)


def inches(text: str) -> Fraction | None:
    """What a figure says, by this test's own reading; None for words."""
    words = text.strip().replace(",", ".").replace("½", "1/2").replace('"', " in")
    found = re.fullmatch(r"(?:(\d+) )?(\d*\.?\d+)(?:/(\d+))? ?(in|mm)?", words)
    if found is None:
        return None
    whole, over, under, unit = found.groups()
    value = Fraction(whole or 0) + Fraction(over) / Fraction(under or 1)
    return value * Fraction(10, 254) if unit == "mm" else value


def leaves(value: Any) -> Iterator[str]:
    """Every value of a file, a figure of its own each."""
    if isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            yield from leaves(one)
    else:
        yield str(value)


def figures_of(data: bytes) -> set[Fraction]:
    return {found for one in leaves(tomllib.loads(data.decode())) if (found := inches(one))}


def open_all(page: Page) -> None:
    """All that stands under "more", come."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    come = "[...document.querySelectorAll('[data-more]')].every((one) => one.childElementCount)"
    soon(page, lambda: page.evaluate(come))


def type_in(page: Page, box: str, text: str) -> None:
    """Into the box, letter by letter; the caret is in the same element before and after."""
    page.wait_for_selector(f"[id='{box}']", state="attached", timeout=3000)
    page.evaluate(
        """(id) => {
            const box = document.getElementById(id);
            for (let one = box.parentElement; one; one = one.parentElement)
                if (one.tagName === "DETAILS") one.open = true;
            box.focus(); box.select(); window.typedIn = box;
        }""",
        box,
    )
    page.keyboard.type(text, delay=LETTER_MS)
    same = "[document.activeElement === typedIn, typedIn.isConnected, typedIn.value]"
    assert page.evaluate(same) == [True, True, text], box


def boxes_of(page: Page, every: int) -> list[str]:
    """All text boxes but for those that only repeat what others are, or one in so many."""
    found: list[str] = page.eval_on_selector_all(
        "main input[type=text][data-key]", "(found) => found.map((box) => box.id)"
    )
    assert len(found) > 120
    return [box for box in found[::every] if box not in OTHER_WORD_FOR]


def wrong(page: Page, typed: dict[str, str]) -> dict[str, Any]:
    """Boxes that hold neither the figure that was typed nor its letters, these with a sentence."""
    shown = page.eval_on_selector_all(
        "main input[type=text][data-key]",
        """(found) => Object.fromEntries(found.map((box) => [box.id, [box.value,
            box.getAttribute("aria-invalid") && document.getElementById(
                box.getAttribute("aria-describedby")).textContent.trim()]]))""",
    )
    return {
        box: (text, shown[box])
        for box, text in typed.items()
        if not (inches(shown[box][0]) == TYPED[text] if shown[box][1] is None else all(shown[box]))
        or (shown[box][1] is not None and shown[box][0] != text)
    }


@pytest.mark.parametrize(("held_back_ms", "every"), [(50, 1), (250, 7), (1_000, 19)])
def test_every_figure_box_holds_what_was_typed(
    chromium: Browser, tmp_path: Path, held: dict[str, float], held_back_ms: int, every: int
) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    (folder / "block.toml").write_text(PART)
    with served(folder) as serving:
        page = sheet(chromium, serving)
        open_all(page)
        settled(page)
        assert page.locator("input[type=number]").count() == 0
        boxes = boxes_of(page, every)
        held["s"] = held_back_ms / 1000 / FASTER
        typed = {}
        for number, box in enumerate(boxes):
            typed[box] = list(TYPED)[(number + held_back_ms) % len(TYPED)]
            type_in(page, box, typed[box])
            page.keyboard.press(("Tab", "Enter", "Tab")[number % 3])
        page.keyboard.press("Tab")
        all_put_down(page)
        assert page.evaluate("lostCarets") == []
        page.reload()
        open_all(page)
        settled(page)
        assert not wrong(page, typed)
        kept = serving.desk.kept.store._db.execute("SELECT data FROM content").fetchall()
        allowed = figures_of(PART.encode()) | set(TYPED.values())
        assert len(kept) > len(boxes) / 10
        for (data,) in kept:
            assert figures_of(zlib.decompress(data)) <= allowed
        page.context.close()


def test_wheel_arrows_and_escape_alter_nothing(
    chromium: Browser, tmp_path: Path, held: dict[str, float]
) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    path = folder / "block.toml"
    path.write_text(PART)
    held["s"] = 0.01
    with served(folder) as serving:
        page = sheet(chromium, serving)
        for box in boxes_of_first(page):
            page.focus(f"[id='{box}']")
            before = page.input_value(f"[id='{box}']")
            page.locator(f"[id='{box}']").hover()
            page.mouse.wheel(0, 40)
            page.mouse.wheel(0, -80)
            for key in ("ArrowUp", "ArrowDown", "PageUp"):
                page.keyboard.press(key)
            assert page.input_value(f"[id='{box}']") == before
            type_in(page, box, "9.9")
            page.keyboard.press("Escape")
            assert page.input_value(f"[id='{box}']") == before
            page.keyboard.press("Tab")
        all_put_down(page)
        assert path.read_text() == PART
        expect(page.locator("main")).not_to_contain_text("in pencil")
        page.reload()
        expect(page.locator("main")).not_to_contain_text("in pencil")
        page.context.close()


def boxes_of_first(page: Page) -> list[str]:
    """The boxes that are shown at once of one line and of the title block."""
    found: list[str] = page.eval_on_selector_all(
        ".line:nth-of-type(2) input[type=text], .title-block input[type=text]",
        "(found) => found.filter((box) => box.checkVisibility()).map((box) => box.id)",
    )
    assert len(found) > 10
    return found
