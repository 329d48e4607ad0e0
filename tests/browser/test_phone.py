"""The phone at the mill in a real browser, at this machine's own address in its network.

A page from there is no secure one, as on a phone; what such a page does not have throws here.
"""

from __future__ import annotations

import csv
import http.client
import re
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from asking import served
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from test_bench_page import ARGUMENTS, DONE, PHONE, chromium_path
from test_desk_page import entered, soon

from millprep.desk import app
from millprep.desk.files import id_of
from millprep.desk.network import own_addresses
from millprep.desk.serving import Serving

BRACKET = """part = "Bracket"
units = "mm"
material = "mild steel"
[stock]
size = [80, 50, 20]
[datum]
x = "left"
y = "front"
z = "top"
[[hole]]
name = "A"
drill = 5
depth = 10
row = { start = [10, 10], step = [12, 0], count = 6 }
[[hole]]
name = "B"
drill = 6
depth = 10
at = [40, 40]
"""
MISSING = """window.asked = [];
    const trap = (of, name) => Object.defineProperty(of, name, {
      configurable: true,
      get() { asked.push(name); throw new Error(`no ${name} over plain http`); },
    });
    for (const name of ["wakeLock", "serviceWorker", "storage", "clipboard", "locks"]) {
      trap(Navigator.prototype, name);
    }
    for (const name of ["randomUUID", "subtle"]) trap(Crypto.prototype, name);
    trap(window, "caches");"""
CANNOT = 77
NETWORK = f"""ip link set lo up && ip link add mill0 type veth peer name mill1 &&
    ip addr add 192.0.2.8/24 dev mill0 && ip link set mill0 up && ip link set mill1 up ||
    exit {CANNOT}
    exec "$@\""""
# in one breath: between a look and a press the other phone's tick may come, and be taken back
UNLESS_TICKED = "document.getElementById('done').classList.contains('ticked') || done()"
LATER = "const real = Date.now; Date.now = () => real() + 3 * 3600 * 1000;"


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    if not own_addresses():
        pytest.skip("this machine is in no network: see the last test")
    with sync_playwright() as running:
        browser = running.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        yield browser
        browser.close()


class Mill:
    """A desk with parts, and phones that come."""

    def __init__(self, browser: Browser, folder: Path) -> None:
        self.browser, self.folder = browser, folder
        for name in ("bracket", "cover"):
            (folder / f"{name}.toml").write_text(BRACKET.replace("Bracket", name.title()))

    def hand_over(
        self, page: Page, serving: Serving, name: str = "bracket", pieces: int = 1
    ) -> str:
        """The address, as the page of the part shows it."""
        page.goto(f"{serving.desk.address}/sheet/{id_of(name + '.toml')}/phone")
        page.get_by_label("How many pieces").fill(str(pieces))
        page.click("#hand-it")
        expect(page.locator(".code svg")).to_be_visible(timeout=15_000)
        return str(page.locator(".address").text_content())

    def rows(self) -> list[dict[str, str]]:
        file = self.folder / "bracket.ticks.csv"
        if not file.exists():
            return []
        with file.open(newline="") as lines:
            return list(csv.DictReader(lines))


class Phone:
    """A phone that has come to an address."""

    def __init__(self, browser: Browser, address: str, *scripts: str) -> None:
        self.context = browser.new_context(viewport=PHONE)
        for script in (DONE, MISSING, *scripts):
            self.context.add_init_script(script)
        self.page, self.errors = self.context.new_page(), list[str]()
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.goto(address)
        self.page.click("#accept")

    def tick(self, times: int = 1) -> None:
        for _ in range(times):
            self.page.evaluate("done()")

    def go(self, name: str) -> None:
        self.page.evaluate(f"document.querySelector('[data-go={name}]').click()")

    @property
    def ticked(self) -> set[str]:
        found: list[str] = self.page.evaluate(
            "[...document.querySelectorAll('[data-go].ticked')].map((one) => one.dataset.go)"
        )
        return set(found)

    @property
    def figures(self) -> list[str]:
        found: list[str] = self.page.evaluate(
            "[...document.querySelectorAll('.card.shown .figures dd')].map((one) => one.innerText)"
        )
        return found

    def end(self) -> None:
        """Nothing went wrong, and nothing was asked for that such a page does not have."""
        assert self.page.evaluate("isSecureContext") is False
        assert self.page.evaluate("asked") == []
        assert self.errors == []
        self.context.close()


@pytest.fixture
def mill(chromium: Browser, tmp_path: Path) -> Mill:
    folder = tmp_path / "sheets"
    folder.mkdir()
    return Mill(chromium, folder)


def desk_paths() -> set[str]:
    routes = [route.path for module in app.PAGES for route in module.ROUTES]
    known = {re.sub(r"\{id[^}]*\}", id_of("bracket.toml"), path) for path in routes}
    return {re.sub(r"\{[^}]*\}", "listing", path) for path in known} | {"/static/desk.js"}


def test_a_phone_ticks_through_a_lost_network_and_a_desk_started_anew(mill: Mill) -> None:
    context = mill.browser.new_context()
    with served(mill.folder) as serving:
        port, secret = serving.desk.port, serving.desk.secret
        desk = entered(context, serving.desk.way_in)
        address = mill.hand_over(desk, serving)
        found = Axe().run(desk)
        assert found.violations_count == 0, found.generate_report()
        host, line, _ = re.fullmatch(r"http://([\d.]+):(\d+)/(\w+)/", address).groups()
        assert host in own_addresses()
        with pytest.raises(ConnectionRefusedError):  # the desk's own port is of this machine alone
            socket.create_connection((host, port), 5).close()
        with pytest.raises(ConnectionRefusedError):  # and the phone's of that address alone
            socket.create_connection(("127.0.0.1", int(line)), 5).close()
        for path in desk_paths():
            asking = http.client.HTTPConnection(host, int(line), timeout=10)
            asking.request("GET", path, headers={"Cookie": f"millprep_desk_{port}={secret}"})
            assert asking.getresponse().status == 404, path
            asking.close()
        phone = Phone(mill.browser, address)
        assert "keep its screen on" in (phone.page.text_content("#care") or "")
        assert "could be read by others" in (phone.page.text_content("#care") or "")
        phone.tick(3)
        soon(desk, lambda: len(mill.rows()) == 3)
        expect(desk.locator("#phone-state")).to_contain_text("phone 1, came at")
        expect(desk.locator("#phone-state")).to_contain_text("The code is covered")
        expect(desk.locator("#phones-came")).to_contain_text("phone 1 came in for bracket.toml")
        phone.context.set_offline(True)
        phone.tick(4)
        expect(phone.page.locator("#waiting-words")).to_have_text("4 ticks are not with the PC yet")
        phone.page.click("#waiting summary")
        assert len(phone.page.input_value("#waiting-list").splitlines()) == 4
        shown = phone.ticked
        assert len(shown) == 7
    with served(mill.folder, port=port, secret=secret) as serving:
        phone.context.set_offline(False)
        soon(phone.page, lambda: len(mill.rows()) == 7)
        expect(phone.page.locator("#waiting")).to_be_hidden()
        assert phone.ticked == shown
        rows = [(row["setup"], row["step"], row["operation"], row["done"]) for row in mill.rows()]
        assert len(set(rows)) == 7
        phone.page.reload()
        soon(phone.page, lambda: phone.ticked == shown)
        desk.goto(f"{serving.desk.address}/")
        expect(desk.locator(".card").first).to_contain_text(re.compile(r"\d+ of 14 done"))
    phone.end()
    context.close()


def test_a_changed_part_is_not_swapped_under_the_hand(mill: Mill) -> None:
    context = mill.browser.new_context()
    with served(mill.folder) as serving:
        desk = entered(context, serving.desk.way_in)
        phone = Phone(mill.browser, mill.hand_over(desk, serving))
        while "step 9 of" not in phone.page.inner_text(".card.shown"):
            phone.tick()
        before, done = phone.figures, len(phone.ticked)
        soon(desk, lambda: len(mill.rows()) == done)
        stamp = mill.rows()[0]["part_mark"]
        part = mill.folder / "bracket.toml"
        part.write_text(BRACKET.replace("at = [40, 40]", "at = [40, 38]"))
        expect(phone.page.locator("#newer summary")).to_have_text(
            f"Changed on the PC. The figures here are of stamp {stamp}.", timeout=20_000
        )
        expect(phone.page.locator("#newer")).to_be_visible(timeout=20_000)
        assert phone.figures == before
        phone.tick()
        soon(desk, lambda: len(mill.rows()) == done + 1)
        assert {row["part_mark"] for row in mill.rows()} == {stamp}
        phone.page.click("#newer summary")
        expect(phone.page.locator("#newer-list li")).to_have_text(
            re.compile(r"step \d+ of setup 1, B \(spot drill\): Y was -?40.000, is -?38.000 mm")
        )
        page_mark = phone.page.get_attribute("#page-mark", "content")
        phone.page.click("#newer-take")
        soon(phone.page, lambda: phone.page.get_attribute("#page-mark", "content") != page_mark)
        phone.page.click("#accept")
        soon(phone.page, lambda: "8 of 14" in phone.page.inner_text("#tally"))  # but for B's spot
        expect(phone.page.locator("#newer")).to_be_hidden()
        phone.end()
    context.close()


def test_two_phones_agree_and_one_is_sent_away(mill: Mill) -> None:
    context = mill.browser.new_context()
    with served(mill.folder) as serving:
        desk = entered(context, serving.desk.way_in)
        other = mill.hand_over(desk, serving, "cover")
        address = mill.hand_over(desk, serving)
        one, two = Phone(mill.browser, address), Phone(mill.browser, address, LATER)
        one.tick(3)
        two.go("c6")
        two.tick(2)
        two.go("c2")
        two.page.evaluate(UNLESS_TICKED)

        def alike(names: set[str]) -> Callable[[], bool]:
            return lambda: one.ticked == two.ticked == names

        soon(desk, alike({"c1", "c2", "c3", "c6", "c7"}))
        once = [row for row in mill.rows() if row["done"] == "1"]
        assert len(once) == len({tuple(row.values())[4:9] for row in once}) == len(mill.rows())
        two.go("c1")
        two.tick()  # takes back what the other has ticked
        soon(desk, alike({"c2", "c3", "c6", "c7"}))
        assert mill.rows()[-1]["done"] == "0"
        state = desk.locator("#phone-state")
        expect(state).to_contain_text("phone 1")
        expect(state).to_contain_text("phone 2")
        expect(state).to_contain_text("2 of 14 done")
        rows = len(mill.rows())
        state.get_by_role("button", name="Send away").nth(1).click()
        expect(state).to_contain_text("sent away")
        two.go("c9")
        two.tick()
        expect(two.page.locator("#waiting-words")).to_have_text(
            "1 tick is not with the PC yet", timeout=20_000
        )
        two.page.click("#waiting summary")
        expect(two.page.locator("#waiting-why")).to_contain_text("sent away at the PC")
        assert "c9" in two.ticked
        one.tick()
        soon(desk, lambda: len(mill.rows()) == rows + 1)
        assert "c9" not in one.ticked
        assert not (mill.folder / "cover.ticks.csv").exists()
        guest = guest_of(mill.browser)
        for wanted in (address, address.replace(address.split("/")[3], other.split("/")[3][::-1])):
            answer: Any = guest.request.get(wanted)
            assert answer.status in (403, 404)  # new ones are not let in, a wrong secret is nothing
        guest.close()
        one.end()
        two.end()
    context.close()


def test_where_there_is_no_network_one_is_made_for_this() -> None:
    """All of the above once more, in a network that begins and ends with it."""
    if own_addresses():
        return
    command = [sys.executable, "-m", "pytest", "-q", "-n0", "-p", "no:cacheprovider", __file__]
    ran = subprocess.run(
        ["unshare", "-rn", "sh", "-c", NETWORK, "sh", *command], capture_output=True, text=True
    )
    if ran.returncode == CANNOT:
        pytest.skip("no network can be made here")
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "4 passed" in ran.stdout


def guest_of(browser: Browser) -> BrowserContext:
    return browser.new_context()
