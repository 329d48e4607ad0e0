"""Sheets and programs at the desk in a real browser: what a frame shows, keeps, and may not do."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from asking import served
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect, sync_playwright
from test_bench_page import ARGUMENTS, chromium_path

from millprep.proven.program import programs

PARTS = Path(__file__).parents[2] / "parts"


@pytest.fixture
def chromium() -> Iterator[Browser]:
    with sync_playwright() as running:
        browser = running.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        yield browser
        browser.close()


def test_a_sheet_is_seen_kept_and_saved_and_a_program_is_gone_through(
    chromium: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    folder = tmp_path / "sheets"
    folder.mkdir()
    shutil.copy(PARTS / "port-block.toml", folder)
    (made,) = programs(folder / "port-block.toml", setup=5).files
    (tmp_path / "mine.nc").write_bytes(made.data)
    with served(folder) as serving:
        page = chromium.new_page()
        page.on("pageerror", lambda error: pytest.fail(str(error)))
        page.goto(serving.desk.way_in)
        page.wait_for_url(f"{serving.desk.address}/")
        page.get_by_role("link", name="port-block").or_(
            page.get_by_role("link", name="Port block")
        ).first.click()
        page.get_by_role("link", name="At the mill, by the readout").click()
        page.get_by_label("Holding").select_option("5")
        page.get_by_role("button", name="Make it so").click()
        page.wait_for_url("**?setup=5")
        sheet = page.frame_locator("iframe")
        expect(sheet.get_by_text("setup 5 of 5")).to_be_visible()
        assert page.frames[1].evaluate("origin") == "null"  # nothing of the desk is in its reach
        page.get_by_role("button", name="Keep in the folder").click()
        name = "port-block-listing-setup5.pdf"
        expect(page.get_by_text(f"Kept in the folder: {name}.")).to_be_visible()
        with page.expect_download() as coming:
            page.get_by_role("link", name="Save a copy").click()
        kept = (folder / name).read_bytes()
        assert Path(coming.value.path()).read_bytes() == kept
        assert Axe().run(page).violations_count == 0
        page.set_input_files("#program-file", tmp_path / "mine.nc")
        page.get_by_label("Made for").select_option(label="port-block.toml")
        page.get_by_label("its holding").fill("5")
        page.get_by_role("button", name="Try it so").click()
        expect(page.get_by_text("Nothing found in what was checked.")).to_be_visible()
        run = page.frame_locator("iframe")
        before = run.locator("body").inner_text()
        run.get_by_role("button", name="next move").click()  # its own script runs
        assert run.locator("body").inner_text() != before
        assert Axe().run(page).violations_count == 0
        part = folder / "port-block.toml"
        page.goto(f"{serving.desk.address}/sheet/{serving.desk.files.of(part)}/paper/tools")
        part.write_text(f"{part.read_text()}# looked at\n")
        expect(page.get_by_text("it is of an earlier issue")).to_be_visible(timeout=10_000)
    assert {one.name for one in folder.iterdir()} == {part.name, name}
