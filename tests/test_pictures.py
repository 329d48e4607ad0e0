"""The pictures of docs/ show what the commands make now, and every page of a sheet has one."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from conftest import skip_without
from desk_pictures import NAMES as DESK_PICTURES
from figures import FIGURES
from pictures import PICTURES, images_of, print_of, shown_print, write
from playwright.sync_api import Browser, sync_playwright

ROOT = Path(__file__).parent.parent
FOLDER = ROOT / "docs" / "pictures"
MOST_BYTES, MOST_BYTES_OF_A_FIGURE = 150_000, 16_000
UPDATE = os.environ.get("MILLPREP_UPDATE_DOCS") == "1"
PAGES = {
    "tools": "tools.md", "listing": "listing.md", "dials": "dials.md", "markout": "marking-out.md",
    "drawing": "drawing.md", "bench": "bench-page.md", "program": "program.md",
    "dryrun": "dry-run.md", "inspection": "inspection.md", "as-drilled": "as-drilled.md",
}  # fmt: skip


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser | None]:
    """Chromium where pictures are to be made; to look whether they are stale none is needed."""
    if not UPDATE:
        yield None
        return
    path = shutil.which("chromium")
    skip_without("chromium", path is not None)
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(
            executable_path=path, args=["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
        )
        yield running
        running.close()


@pytest.mark.parametrize("name", PICTURES)
def test_picture_is_of_the_sheet_as_it_is_now(
    name: str, in_folder: Path, browser: Browser | None
) -> None:
    shutil.copytree(ROOT / "parts", in_folder / "parts")
    sheets, path = PICTURES[name].sheets(), FOLDER / f"{name}.png"
    stale = not path.exists() or shown_print(path) != print_of(sheets)
    if stale and browser is not None:
        write(PICTURES[name], path, sheets, browser)
    assert shown_print(path) == print_of(sheets), (
        f"{path.name} is stale: run with MILLPREP_UPDATE_DOCS=1"
    )
    assert path.stat().st_size <= MOST_BYTES


@pytest.mark.parametrize("name", FIGURES)
def test_figure_is_kept_as_it_is_drawn_now(name: str) -> None:
    path, drawn = FOLDER / f"{name}.svg", FIGURES[name]().document()
    if UPDATE:
        path.write_text(drawn, encoding="utf-8")
    assert path.read_text(encoding="utf-8") == drawn, "run with MILLPREP_UPDATE_DOCS=1"
    assert len(drawn) <= MOST_BYTES_OF_A_FIGURE


def test_every_sheet_has_a_page_with_its_picture() -> None:
    for name, page in PAGES.items():
        assert f"pictures/{name}.png" in images_of((ROOT / "docs" / page).read_text()), page


def test_every_picture_is_on_a_page_and_none_is_missing() -> None:
    shown = {
        (page.parent / target).resolve()
        for page in [ROOT / "README.md", *(ROOT / "docs").rglob("*.md")]
        for target in images_of(page.read_text())
    }
    assert shown == {path.resolve() for path in FOLDER.iterdir()}
    made = {f"{name}.png" for name in (*PICTURES, *DESK_PICTURES)} | {
        f"{name}.svg" for name in FIGURES
    }
    assert {path.name for path in FOLDER.iterdir()} == made
