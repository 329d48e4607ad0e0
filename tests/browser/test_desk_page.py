"""The desk in a real browser: who gets in, what a page keeps, who is told, and the end."""

from __future__ import annotations

import asyncio
import html
import http.server
import io
import os
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Literal

import pytest
from asking import served
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from pypdf import PdfReader
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route
from test_bench_page import ARGUMENTS, chromium_path

from millprep.desk import app
from millprep.desk.files import id_of

PLATE = 'part = "Plate"\n[stock]\nsize = [60, 40, 20]\n'
SIZES: tuple[tuple[Literal["light", "dark"], int, int], ...] = (
    ("light", 1366, 768),
    ("dark", 683, 384),
    ("light", 390, 844),
)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with sync_playwright() as running:
        path = chromium_path()
        browser = running.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def sheets(tmp_path: Path) -> Path:
    folder = tmp_path / "sheets"
    folder.mkdir()
    (folder / "plate.toml").write_text(PLATE)
    (folder / 'a#b?%2e "x".toml').write_text(PLATE)
    (folder / "<img src=x onerror=alert(1)>.toml").write_text(PLATE)
    return folder


@pytest.fixture
def taken(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What came in at a page of the test's own; it answers as one that keeps a part does."""
    came: list[dict[str, Any]] = []

    async def take(request: Request) -> Response:
        came.append(await request.app.state.desk.json_of(request))
        await asyncio.sleep(came[-1].get("takes_s", 0))
        return JSONResponse({"kept": "10:42"})

    async def fragment(request: Request) -> Response:
        return HTMLResponse(f'<b id="shown">{request.app.state.desk.files.listing()[0].id}</b>')

    routes = [Route("/taken", take, methods=["PUT"]), Route("/fragment", fragment)]
    monkeypatch.setattr(app, "PAGES", (*app.PAGES, SimpleNamespace(ROUTES=routes)))
    return came


def entered(context: BrowserContext, way_in: str) -> Page:
    """A page of the desk, come in by the secret; whatever it complains of fails the test."""
    page = context.new_page()
    page.on("pageerror", lambda error: pytest.fail(str(error)))
    page.goto(way_in)
    page.wait_for_url(way_in.partition("/in/")[0] + "/")
    page.wait_for_load_state()
    return page


def soon(page: Page, told: Callable[[], object]) -> None:
    for _ in range(200):
        if told():
            return
        page.wait_for_timeout(50)
    raise AssertionError(told)


def settled(page: Page) -> None:
    """What the page asks for by itself has come: nothing was on its way three times in a row."""
    quiet = 0
    for _ in range(250):
        on_its_way = page.evaluate("document.querySelectorAll('.htmx-request').length")
        quiet = 0 if on_its_way else quiet + 1
        if quiet == 3:
            return
        page.wait_for_timeout(40)
    raise AssertionError(page.url)


def other_site(folder: Path, pages: dict[str, str]) -> http.server.ThreadingHTTPServer:
    """Pages of something else on this machine."""
    folder.mkdir()
    for name, text in pages.items():
        (folder / name).write_text(text)

    class Quiet(http.server.SimpleHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            """Says nothing."""

    server = http.server.ThreadingHTTPServer(
        ("127.0.0.1", 0), partial(Quiet, directory=str(folder))
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


def test_pages_of_others_do_nothing_and_two_desks_live_side_by_side(
    chromium: Browser, sheets: Path, tmp_path: Path
) -> None:
    """What got past SameSite: another port, a sandboxed frame, a link from another site."""
    (tmp_path / "second").mkdir()
    with served(sheets) as one, served(tmp_path / "second") as two:
        notes: list[str] = []
        one.desk.note = notes.append  # type: ignore[method-assign]
        form = (
            f'<form method="post" enctype="text/plain" action="{one.desk.address}/put-away">'
            "<input name='{{\"a\":\"' value='b\"}}'></form>"
        )
        sent = f"{form}<script>document.forms[0].submit()</script>"
        ask = f'fetch("{one.desk.address}/put-away", {{method: "POST", credentials: "include"'
        other = other_site(
            tmp_path / "other",
            {
                "form.html": sent,
                "null.html": "<iframe sandbox='allow-scripts allow-forms'"
                f' srcdoc="{html.escape(sent)}"></iframe>',
                "script.html": f'<script>{ask}, mode: "no-cors"}});'
                f'{ask}, headers: {{"X-Millprep": "desk"}}}}).catch(() => 0)</script>',
                "link.html": f'<a href="{one.desk.way_in}">in</a>',
                "frame.html": f'<iframe src="{one.desk.address}/"></iframe>',
            },
        )
        port = other.server_address[1]
        context = chromium.new_context()
        page = entered(context, one.desk.way_in)
        second = entered(context, two.desk.way_in)
        stranger = context.new_page()
        for name in ("form.html", "null.html", "script.html"):
            before = len(notes)
            stranger.goto(f"http://127.0.0.1:{port}/{name}")
            soon(stranger, lambda before=before: len(notes) > before)
        stranger.wait_for_timeout(200)
        posts = [note for note in notes if "/favicon.ico" not in note]
        assert len(posts) >= 3
        assert all(note.startswith(("refused: POST /put", "refused: OPTIONS /")) for note in posts)
        stranger.goto(f"http://127.0.0.1:{port}/frame.html")
        stranger.wait_for_timeout(200)
        assert stranger.frames[1].url != f"{one.desk.address}/"
        for one_page, desk in ((page, one.desk), (second, two.desk)):
            one_page.goto(f"{desk.address}/")
            expect(one_page.locator("h1").first).to_contain_text("on the board", ignore_case=True)
        # from another site, in a browser that knows nothing of the desk
        fresh = chromium.new_context()
        away = fresh.new_page()
        away.goto(f"http://localhost:{port}/link.html")
        away.click("a")
        away.wait_for_url(f"{one.desk.address}/")
        expect(away.locator("h1")).to_have_text("On the board")
        away.go_back()
        assert one.desk.secret not in away.url  # the way in has left the history
        assert not one.server.should_exit
        context.close()
        fresh.close()
        other.shutdown()
        other.server_close()


def test_what_is_not_put_down_yet_is_kept_and_sent_again(
    chromium: Browser, sheets: Path, taken: list[dict[str, Any]]
) -> None:
    """The server killed and started again on its port; a page that is gone; each change once."""
    context = chromium.new_context()
    with served(sheets) as serving:
        port, secret = serving.desk.port, serving.desk.secret
        page = entered(context, serving.desk.way_in)
        page.evaluate("desk.send('PUT', '/taken', {figure: 1})")
        expect(page.locator("#kept")).to_have_text("Kept 10:42 on this PC")
        closing = entered(context, serving.desk.way_in)
    page.evaluate("void desk.send('PUT', '/taken', {figure: 2})")
    page.evaluate("void desk.send('PUT', '/taken', {figure: 3})")
    closing.evaluate("void desk.send('PUT', '/taken', {figure: 4})")
    expect(page.locator("#said")).to_contain_text("What you type is kept here")
    closing.close()
    assert [one["figure"] for one in taken] == [1]
    with served(sheets, port=port, secret=secret) as serving:
        soon(page, lambda: len(taken) == 3)
        expect(page.locator("#said")).to_be_hidden()
        entered(context, serving.desk.way_in)
        soon(page, lambda: len(taken) == 4)
    assert [one["figure"] for one in taken] == [1, 2, 3, 4]
    assert len({one["sent"] for one in taken}) == 4
    # another secret: the page of a desk that was put away, until this browser comes in again
    with served(sheets, port=port) as serving:
        serving.desk.note = lambda line: None  # type: ignore[method-assign]
        page.evaluate("void desk.send('PUT', '/taken', {figure: 5})")
        expect(page.locator("#said")).to_contain_text("a desk that was put away")
        assert len(taken) == 4
        entered(context, serving.desk.way_in)
        soon(page, lambda: len(taken) == 5)
        expect(page.locator("#said")).to_be_hidden()
        soon(page, lambda: page.evaluate("localStorage.length") == 0)
        # left while the answer is on its way: the next page sends it again, under its number
        page.evaluate("void desk.send('PUT', '/taken', {figure: 6, takes_s: 0.5})")
        soon(page, lambda: len(taken) == 6)
        page.goto(f"{serving.desk.address}/")
        soon(page, lambda: page.evaluate("localStorage.length") == 0)
        assert len(taken) == 6
    context.close()


def test_a_fragment_renews_itself_when_its_file_is_saved(
    chromium: Browser, sheets: Path, taken: list[dict[str, Any]]
) -> None:
    """htmx under our policy: no script or style of its own, nothing evaluated."""
    del taken
    context = chromium.new_context()
    with served(sheets) as serving:
        page = entered(context, serving.desk.way_in)
        complaints: list[str] = []
        page.on("console", lambda message: complaints.append(message.text))
        plate = id_of("plate.toml")
        page.evaluate(
            """(id) => {
                const part = document.createElement("div");
                part.innerHTML = `<p id="here" hx-get="/fragment"
                    hx-trigger="changed-${id} from:body">old</p>`;
                document.querySelector("main").append(part);
                htmx.process(part);
            }""",
            plate,
        )
        page.wait_for_timeout(1200)
        expect(page.locator("#here")).to_have_text("old")
        (sheets / "plate.toml").write_text(PLATE + "# saved\n")
        expect(page.locator("#shown")).to_have_text(serving.desk.files.listing()[0].id)
        assert complaints == []
    context.close()


def test_looked_at_and_put_away(chromium: Browser, sheets: Path) -> None:
    """By keyboard, in a narrow window, light and dark; then the end, in all windows."""
    with served(sheets) as serving:
        for scheme, width, height in SIZES:
            context = chromium.new_context(
                color_scheme=scheme, viewport={"width": width, "height": height}
            )
            page = entered(context, serving.desk.way_in)
            found = Axe().run(page)
            assert found.violations_count == 0, found.generate_report()
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), width
            context.close()
        context = chromium.new_context()
        page, other = (entered(context, serving.desk.way_in) for _ in range(2))
        printed = " ".join(one.extract_text() for one in PdfReader(io.BytesIO(page.pdf())).pages)
        assert serving.desk.place in printed  # a foot of its own
        assert str(serving.desk.port) not in printed
        for _ in range(20):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.textContent") == "Put away":
                break
        page.keyboard.press("Enter")
        for one in (page, other):
            expect(one.locator("h1")).to_have_text("The desk is put away")
            expect(one.locator("main")).to_contain_text("This page may be closed.")
        soon(page, lambda: serving.server.should_exit)
        context.close()


def test_asked_for_a_folder_and_moved_to_another(chromium: Browser, tmp_path: Path) -> None:
    """From the home folder, as the picture on the desktop starts it: asked once, and remembered."""
    home = tmp_path / "home"
    (home / "Documents" / "Old plans").mkdir(parents=True)
    (home / "Documents" / "Old plans" / "plate.toml").write_text(PLATE)
    root = Path(__file__).parent.parent.parent
    environment = {**os.environ, "HOME": str(home), "PYTHONPATH": str(root)}
    environment["XDG_STATE_HOME"] = environment["XDG_CONFIG_HOME"] = str(tmp_path / "own")
    command = [sys.executable, "-P", "-m", "millprep", "desk", "--no-browser"]

    def started() -> subprocess.Popen[str]:
        return subprocess.Popen(
            command, cwd=home, env=environment, stdout=subprocess.PIPE, text=True
        )

    def way_in(process: subprocess.Popen[str]) -> str:
        assert process.stdout is not None
        return process.stdout.readline().split()[-1]

    running = started()
    try:
        context = chromium.new_context()
        page = entered(context, way_in(running))
        expect(page.locator(".slip").first).to_contain_text("Documents / Mill sheets")
        page.locator(".slip").first.get_by_role("link", name="Another folder").click()
        expect(page.locator("h2")).to_have_text("Documents")
        page.get_by_role("link", name="back to home folder").click()
        expect(page.get_by_role("button", name="Use this folder")).to_have_count(0)
        page.get_by_role("link", name="Documents", exact=True).click()
        page.get_by_role("link", name="Old plans").click()
        expect(page.locator("h2")).to_have_text("Documents / Old plans")
        page.wait_for_load_state()
        page.get_by_role("button", name="Use this folder").click()
        expect(page.locator(".card h3")).to_have_text(
            re.compile("plate", re.I)
        )  # at the same address, moved there
        expect(page.get_by_text("Your sheets are kept in")).to_have_count(0)
        page.get_by_role("button", name="Put away").click()
        expect(page.locator("h1")).to_have_text("The desk is put away")
        assert running.wait(2) == 0
        running.communicate()
        running = started()
        page = entered(context, way_in(running))
        expect(page.locator(".card h3")).to_have_text(re.compile("plate", re.I))
        expect(page.get_by_text("Your sheets are kept in")).to_have_count(0)
        context.close()
    finally:
        running.send_signal(signal.SIGINT)
        running.communicate(timeout=10)
