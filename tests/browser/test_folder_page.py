"""From an empty folder to a piece in a real browser, and what becomes of one that is renamed."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from asking import served
from playwright.sync_api import Browser, expect, sync_playwright
from test_bench_page import ARGUMENTS, chromium_path
from test_desk_page import entered, soon

PARTS = Path(__file__).parents[2] / "parts"


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with sync_playwright() as running:
        browser = running.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def sheets(tmp_path: Path) -> Path:
    folder = tmp_path / "sheets"
    folder.mkdir()
    return folder


def test_a_block_is_begun_in_an_empty_folder_by_keyboard(chromium: Browser, sheets: Path) -> None:
    with served(sheets) as serving:
        page = entered(chromium.new_context(), serving.desk.way_in)
        expect(page.get_by_role("heading", level=1)).to_have_text(
            "There is nothing on the board yet"
        )
        for answer in ("inches", "dials only", "A4"):
            page.get_by_label(answer, exact=True).check()
        page.get_by_role("button", name="That is how it is here").press("Enter")
        soon(page, lambda: (sheets / "shop.toml").exists())
        expect(page.locator(".asked")).to_have_count(0)

        page.get_by_role("link", name="Start a block or plate").press("Enter")
        box, left = page.locator('[name="size.0"]'), page.locator("[data-left]")
        expect(left).to_have_text("")
        box.press_sequentially("2 1/2", delay=40)
        expect(page.locator("[data-picture]")).to_contain_text("2 1/2")
        assert page.evaluate("document.activeElement.name") == "size.0"
        page.reload()
        expect(box).to_have_value("2 1/2")
        expect(left).to_have_text("As you left it: not on the board yet.")
        expect(page.locator("[data-picture]")).to_contain_text("2 1/2")
        page.get_by_label("Name of the piece").fill("Bearing block")
        page.locator('[name="size.1"]').fill("1 1/")
        page.get_by_label("Material").fill("mild steel")
        page.get_by_label("Material").press("Enter")
        expect(page.locator("#why-size\\.1")).to_contain_text("does not read yet")
        expect(page.locator("#why-size\\.2")).to_have_text("still wanted")
        assert page.evaluate("document.activeElement.name") == "size.1"
        assert [one.name for one in sheets.iterdir()] == ["shop.toml"]
        page.locator('[name="size.1"]').fill("1 1/4")
        page.locator('[name="size.2"]').fill("1 1/2")
        page.locator('[name="size.2"]').press("Enter")
        page.wait_for_url("**/sheet/*")
        data = tomllib.loads((sheets / "bearing-block.toml").read_text())
        assert data["stock"]["size"] == ["2 1/2", "1 1/4", "1 1/2"] and data["units"] == "inch"

        page.goto(f"{serving.desk.address}/shop")
        page.locator("#drawer-taps summary").press("Enter")
        page.locator('#drawer-taps input[value="2BA"]').press("Space")
        soon(page, lambda: "2BA" in (sheets / "shop.toml").read_text())
        expect(page.locator("#kept")).to_contain_text("Kept")


def test_a_sheet_renamed_under_its_page_is_asked_about(chromium: Browser, sheets: Path) -> None:
    """What was typed goes to the file that has the text now; no save brings the old name back."""
    for name in ("column-left.toml", "column-right.toml"):
        shutil.copy(PARTS / name, sheets)
    with served(sheets) as serving:
        page = entered(chromium.new_context(), serving.desk.way_in)
        expect(page.locator(".stand.hands .card svg")).to_have_count(2)
        (sheets / "a-third.toml").write_text((PARTS / "tie-bar.toml").read_text())
        expect(page.locator(".card svg")).to_have_count(3)
        (sheets / "a-third.toml").write_text("# Bracket.\npart = \n")
        page.get_by_role("link", name="a-third").click()
        page.wait_for_url("**/text#line-2")
        chosen = (
            "[text.value.slice(text.selectionStart, text.selectionEnd), document.activeElement.id]"
        )
        assert page.evaluate(chosen) == ["part = ", "text"]
        page.go_back()
        (sheets / "a-third.toml").unlink()
        expect(page.locator(".card svg")).to_have_count(2)
        page.get_by_role("link", name="Column, left").click()
        page.wait_for_load_state()
        (sheets / "column-left.toml").rename(sheets / "pillar.toml")
        page.get_by_label("Name of the piece").fill("Pillar")
        page.get_by_label("Name of the piece").press("Tab")
        page.get_by_role("button", name="Go on with pillar.toml").click()
        page.wait_for_url(f"**/sheet/{serving.desk.files.of(sheets / 'pillar.toml')}")
        text = (sheets / "pillar.toml").read_text()
        was = (PARTS / "column-left.toml").read_text()
        assert text == was.replace('"Column, left"', '"Pillar"')
        assert not (sheets / "column-left.toml").exists()
