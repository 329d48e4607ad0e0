"""Every page of the desk as it is heard, and seen in a narrow window: names, contrast, widths."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from asking import served
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page
from test_desk_page import chromium, entered, settled

from millprep.desk.files import id_of

__all__ = ["chromium"]  # the fixture

PARTS = Path(__file__).parents[2] / "parts"
WIDTHS = {1366: 768, 1024: 768, 683: 384, 390: 844, 320: 568}
FILES = ("column-left.toml", "column-right.toml", "cylinder-cover.toml", "broken.toml")
PAGES = (
    "/", "/new/block", "/new/round", "/shop", "/folders",
    "/sheet/column-right.toml", "/sheet/broken.toml",
    "/sheet/cylinder-cover.toml/compare", "/sheet/cylinder-cover.toml/text",
    "/sheet/cylinder-cover.toml/paper/listing", "/sheet/cylinder-cover.toml/phone",
)  # fmt: skip


@pytest.fixture
def sheets(tmp_path: Path) -> Path:
    """Sound parts, and one with stops and with notes."""
    folder = tmp_path / "sheets"
    folder.mkdir()
    for name in FILES[:-1]:
        shutil.copy(PARTS / name, folder)
    text = (PARTS / "cylinder-cover.toml").read_text()
    (folder / "broken.toml").write_text(text.replace("M4", "M12"))
    return folder


def looked_at(page: Page, scheme: str, width: int) -> list[str]:
    """What is wrong with the page at this width."""
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    page.set_viewport_size({"width": width, "height": WIDTHS[width]})
    found = Axe().run(page)
    told = [found.generate_report()] if found.violations_count else []
    if not page.evaluate("document.documentElement.scrollWidth <= innerWidth"):
        told.append(f"wider than its window of {width}")
    return told


def test_every_page_can_be_heard_and_seen(chromium: Browser, sheets: Path) -> None:
    wrong: dict[str, list[str]] = {}
    with served(sheets) as serving:
        page = entered(chromium.new_context(), serving.desk.way_in)
        for number, address in enumerate(PAGES):
            for name in FILES:
                address = address.replace(name, id_of(name))
            answer = page.goto(f"{serving.desk.address}{address}")
            assert answer is not None and answer.ok, PAGES[number]
            page.evaluate(
                "document.querySelectorAll('details').forEach((one) => { one.open = true; })"
            )
            settled(page)
            narrow = list(WIDTHS)[2 + number % 3]
            told = looked_at(page, "light", 1366) + looked_at(page, "dark", narrow)
            if told:
                wrong[PAGES[number]] = told
        page.context.close()
    assert not wrong, "\n".join(f"{page}: {''.join(told)}" for page, told in wrong.items())
