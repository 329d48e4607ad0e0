"""The desk as it is used, in a real browser: by keyboard, over a kill, in two windows."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from asking import served
from playwright.sync_api import Browser, Page, expect
from test_bench_page import ARGUMENTS, chromium_path
from test_desk_page import chromium, entered, settled, soon

from millprep.desk.files import id_of

__all__ = ["chromium"]  # the fixture

ROOT = Path(__file__).parents[2]
PLATE = """part = "Plate"
units = "mm"
material = "mild steel"

[stock]
size = [60, 40, 10]

# The pivot.
[[hole]]
name = "pivot"
ream = 6
depth = "through"
at = [10, 10]

[[hole]]
name = "screw"
tap = "M4"
depth = 6
at = [40, 20]
"""


@pytest.fixture
def sheets(tmp_path: Path) -> Path:
    folder = tmp_path / "sheets"
    folder.mkdir()
    return folder


def opened(page: Page, name: str = "plate.toml") -> Page:
    address = page.url.split("/", 3)
    page.goto(f"{address[0]}//{address[2]}/sheet/{id_of(name)}")
    page.wait_for_selector("#board .hole")
    settled(page)
    return page


def put_down(page: Page) -> None:
    soon(page, lambda: page.evaluate("Object.keys(localStorage).length") == 0)


def tab_to(page: Page, css: str) -> None:
    """By keyboard alone; the focus is never lost on the way."""
    for _ in range(150):
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement !== document.body")
        if page.evaluate("(css) => document.activeElement.matches(css)", css):
            return
    raise AssertionError(css)


def keyed(page: Page, css: str, text: str) -> None:
    """Goes to a box, types, and is still in it."""
    tab_to(page, css)
    page.keyboard.type(text)
    page.wait_for_timeout(150)
    assert page.evaluate("(css) => document.activeElement.matches(css)", css), css


def test_the_cover_from_an_empty_folder_by_keyboard_at_200_percent(
    chromium: Browser, sheets: Path
) -> None:
    with served(sheets) as serving:
        page = entered(
            chromium.new_context(viewport={"width": 683, "height": 384}), serving.desk.way_in
        )
        tab_to(page, "a[href='/new/round']")
        page.keyboard.press("Enter")
        page.wait_for_url("**/new/round")
        keyed(page, "[name='part']", "Cover")
        tab_to(page, "[name='units']")
        page.keyboard.type("inch")
        for name, text in (("material", "brass"), ("diameter", "1 3/4"), ("length", "3/8")):
            page.focus(f"[name='{name}']")
            page.keyboard.type(text)
        page.keyboard.press("Enter")
        page.wait_for_url("**/sheet/*")
        settled(page)
        page.focus("#main")
        words = "4 holes No. 27 thro', c'bore 5/16 x 3/16 deep, on 1 1/4 P.C.D., at 45 deg"
        keyed(page, "#call-out", words)
        page.wait_for_selector("#called-out button")
        assert page.locator("#called-out .not-read").count() == 0
        tab_to(page, "#called-out button")
        page.keyboard.press("Enter")
        path = sheets / "cover.toml"
        soon(page, lambda: "[[hole]]" in path.read_text())
        page.wait_for_selector("#board .hole")
        assert page.evaluate("document.activeElement.matches('.line [data-key]')")
        command = [sys.executable, "-P", "-m", "millprep", "listing", str(path), "--format", "json"]
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        listed = subprocess.run(command, env=environment, capture_output=True, text=True)
        places = set(re.findall(r"-?0\.44\d*", listed.stdout))
        assert {"0.4420", "-0.4420"} <= places or {"0.442", "-0.442"} <= places, listed.stdout
        assert "mm" not in page.locator("#red-pencil").inner_text()
        page.context.close()


@contextmanager
def started(folder: Path, own: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A desk in a process of its own, to be killed; and the way in."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    environment["XDG_STATE_HOME"] = environment["XDG_CONFIG_HOME"] = str(own)
    command = [sys.executable, "-P", "-m", "millprep", "desk", str(folder), "--no-browser"]
    process = subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    )
    assert process.stdout is not None
    try:
        yield process, process.stdout.readline().split()[-1]
    finally:
        process.kill()
        process.communicate()


def test_half_a_hole_outlasts_a_killed_browser_and_a_killed_server(
    chromium: Browser, sheets: Path, tmp_path: Path
) -> None:
    path = sheets / "plate.toml"
    path.write_text(PLATE)
    with started(sheets, tmp_path / "own") as (process, way_in):
        path_of_browser, arguments = chromium_path(), ARGUMENTS
        killed = chromium.browser_type.launch(executable_path=path_of_browser, args=arguments)
        page = opened(entered(killed.new_context(), way_in))
        page.get_by_role("button", name="Another hole").click()
        page.wait_for_selector(".line.in-pencil")
        line = page.locator(".line.in-pencil")
        line.locator("[data-key=what]").select_option("tap")
        page.wait_for_timeout(300)
        line.locator("[data-key=size]").press_sequentially("2B", delay=30)
        put_down(page)
        told = killed.new_browser_cdp_session().send("SystemInfo.getProcessInfo")
        (number,) = (one["id"] for one in told["processInfo"] if one["type"] == "browser")
        os.kill(number, signal.SIGKILL)
        process.kill()
        process.wait()
    assert path.read_text() == PLATE
    with started(sheets, tmp_path / "own") as (_, way_in):
        page = opened(entered(chromium.new_context(), way_in))
        line = page.locator(".line.in-pencil")
        expect(line.locator("[data-key=size]")).to_have_value("2B")
        expect(line.locator("[data-key=what]")).to_have_value("tap")
        assert page.locator("#board .hole").count() >= 2
        expect(page.locator("#red-pencil")).to_contain_text("1 line in pencil")
        page.goto(f"{page.url}/paper/listing")
        expect(page.locator("main")).to_contain_text("in pencil")
        page.go_back()
        page.get_by_role("button", name="Step back").click()
        expect(page.locator(".line.in-pencil [data-key=size]")).to_have_value("")
        assert path.read_text() == PLATE
        page.context.close()


def test_two_windows_and_an_editor(chromium: Browser, sheets: Path) -> None:
    path = sheets / "plate.toml"
    path.write_text(PLATE)
    with served(sheets) as serving:
        context = chromium.new_context()
        one, two = (opened(entered(context, serving.desk.way_in)) for _ in range(2))
        one.locator("#h1-deep").fill("8")
        two.locator("#h2-size").fill("M5")
        one.locator("#h1-deep").press("Tab")
        two.locator("#h2-size").press("Tab")
        soon(two, lambda: 'tap = "M5"' in path.read_text() and "depth = 8" in path.read_text())
        two.locator("#h1-deep").fill("7")
        one.locator("#h1-deep").fill("9")
        one.locator("#h1-deep").press("Tab")
        soon(one, lambda: "depth = 9" in path.read_text())
        two.locator("#h1-deep").press("Tab")
        question = two.locator("#which")
        expect(question).to_be_visible()
        expect(question).to_contain_text("keep mine: 7")
        expect(question).to_contain_text("keep the file's: 9")
        question.get_by_role("button", name="keep mine: 7").click()
        soon(two, lambda: "depth = 7" in path.read_text())
        assert two.evaluate("document.activeElement.id") == "h1-deep"
        text = path.read_text()
        path.write_text("")  # as some editors do, for a moment
        one.wait_for_timeout(100)
        path.write_text(text.replace("# The pivot.", "# The pivot, hardened."))
        two.locator("#h2-size").fill("M6")
        two.locator("#h2-size").press("Tab")
        soon(two, lambda: 'tap = "M6"' in path.read_text())
        assert "# The pivot, hardened." in path.read_text()
        expect(one.locator("#h2-size")).to_have_value("M6")
        context.close()


def test_a_new_finding_is_read_once_and_not_on_each_letter(chromium: Browser, sheets: Path) -> None:
    (sheets / "plate.toml").write_text(PLATE)
    with served(sheets) as serving:
        page = opened(entered(chromium.new_context(), serving.desk.way_in))
        page.evaluate(
            """() => {
                window.read = [];
                const place = document.getElementById("heard");
                new MutationObserver(() => place.textContent && read.push(place.textContent))
                    .observe(place, { childList: true, characterData: true, subtree: true });
            }"""
        )
        box = page.locator("[id='h2-at#0']")
        box.fill("")
        box.press_sequentially("59", delay=60)
        page.wait_for_timeout(500)
        assert page.evaluate("read") == []
        page.keyboard.press("Enter")
        soon(page, lambda: page.evaluate("read.length") > 0)
        assert page.evaluate("document.activeElement.id") == "h2-at#0"
        page.locator("#h1-deep").fill("8")
        page.keyboard.press("Enter")
        page.wait_for_timeout(1500)
        read = page.evaluate("read")
        assert len(read) == 1 or len({*read}) == len(read)
        assert "breaks out through" in read[0]
        page.context.close()


def test_the_other_hand_follows(chromium: Browser, sheets: Path) -> None:
    for name in ("column-left.toml", "column-right.toml"):
        (sheets / name).write_bytes((ROOT / "parts" / name).read_bytes())
    with served(sheets) as serving:
        context = chromium.new_context()
        first = opened(entered(context, serving.desk.way_in), "column-left.toml")
        second = opened(entered(context, serving.desk.way_in), "column-right.toml")
        assert second.locator(".schedule .line [data-key]").count() == 0
        before = second.locator("#board").inner_html()
        first.locator("[id='h1-at#1']").fill("70")
        first.locator("[id='h1-at#1']").press("Tab")
        soon(second, lambda: second.locator("#board").inner_html() != before)
        context.close()
