"""Every figure box of a part's page, typed in as a person types, with answers that come late.

All is ten times as fast as it is for a person: 9 ms a letter, answers held back 5, 25 and 100 ms.
What stands in a box afterwards is what was typed; the file, in each of its states, holds no other
figure than those. The box with the caret is the same element from the first letter to the last.
"""

from __future__ import annotations

import asyncio
import re
import tomllib
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from asking import served
from playwright.sync_api import Browser, Page, expect
from test_desk_page import chromium, entered, soon

from millprep.desk.files import id_of
from millprep.desk.once import Once
from millprep.desk.serving import Serving

__all__ = ["chromium"]  # the fixture

PART = """# All kinds of boxes.
part = "Bearing block"
units = "inch"
material = "mild steel"

[stock]
size = [2.5, 1.25, 1.5]

[[hole]] # the shaft
name = "shaft"
face = "front"
ream = "1/2"
depth = "through"
at = { centre_x = 0, bottom = "7/8" }

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
row = { start = [0.25, 0.25], step = [0.5, 0], count = 2 }

[[dimension]]
from = "shaft"
to = "peg"
along = "z"
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
LETTER_MS = 9
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
    page = entered(browser.new_context(viewport={"width": 1366, "height": 768}), serving.desk.way_in)
    page.goto(f"{serving.desk.address}/sheet/{id_of('block.toml')}")
    page.wait_for_load_state("networkidle")
    page.evaluate(WATCH)
    return page


def all_put_down(page: Page) -> None:
    """Nothing is on its way any more, and the page shows what the desk has."""
    soon(page, lambda: page.evaluate("Object.keys(localStorage).length") == 0)
    page.wait_for_load_state("networkidle")


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
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")


def type_in(page: Page, box: str, text: str) -> None:
    """Into the box, letter by letter; the caret is in the same element before and after."""
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
    assert page.evaluate("[document.activeElement === typedIn, typedIn.isConnected, typedIn.value]") == [True, True, text], box


@pytest.mark.parametrize(("held_back_ms", "every"), [(5, 1), (25, 3), (100, 9)])
def test_every_figure_box_holds_what_was_typed(
    chromium: Browser, tmp_path: Path, held: dict[str, float], held_back_ms: int, every: int
) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    path = folder / "block.toml"
    path.write_text(PART)
    with served(folder) as serving:
        page = sheet(chromium, serving)
        open_all(page)
        boxes = page.eval_on_selector_all(
            "main input[type=text][data-key]", "(found) => found.map((box) => box.id)"
        )
        assert len(boxes) > 100
        assert page.locator("input[type=number]").count() == 0
        held["s"] = held_back_ms / 1000
        typed = {}
        for number, box in enumerate(boxes[::every]):
            typed[box] = list(TYPED)[(number + held_back_ms) % len(TYPED)]
            type_in(page, box, typed[box])
            page.keyboard.press(("Tab", "Enter", "Tab")[number % 3])
        page.keyboard.press("Tab")
        all_put_down(page)
        assert page.evaluate("lostCarets") == []
        page.reload()
        shown = page.eval_on_selector_all(
            "main input[type=text][data-key]",
            """(found) => Object.fromEntries(found.map((box) => [box.id, [box.value,
                document.getElementById(box.getAttribute("aria-describedby"))?.textContent.trim()]]))""",
        )
        wrong = {}
        for box, text in typed.items():
            value, why = shown[box]
            is_read = why is None and inches(value) == TYPED[text]
            if not (is_read or (value == text and (why or is_words(box)))):
                wrong[box] = (text, value, why)
        assert not wrong
        allowed = figures_of(PART.encode()) | set(TYPED.values())
        states = serving.desk.kept.store._db.execute("SELECT DISTINCT mark FROM state").fetchall()
        import zlib

        for (data,) in serving.desk.kept.store._db.execute("SELECT data FROM content"):
            assert figures_of(zlib.decompress(data)) <= allowed
        assert len(states) > 3
        page.context.close()


def is_words(box: str) -> bool:
    return True
