"""Starting a desk: on which folder, whether one runs there already, and in which browser."""

from __future__ import annotations

import os
import secrets
import signal
import sys
import threading
import time
import urllib.request
import webbrowser
from contextlib import chdir, suppress
from html import escape
from pathlib import Path
from types import FrameType

from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.plain_text import clean
from millprep.desk.network import bound
from millprep.desk.places import NEW_FOLDER, documents, is_too_wide, own_folder, remembered
from millprep.desk.running import Running, ticket
from millprep.desk.serving import HOST, Serving

_ANSWER_SECONDS = 5


def start(folder: Path | None, shop: str | None, port: int | None, opens: bool) -> int:
    """Serve a folder until it is put away; 0. Where a desk runs on it, bring that one up.

    folder : None for the current one; in the home folder, the one that was chosen in the page
    port   : None for that of last time; opens : a browser
    Raises MillprepError where the folder, the shop or the port is not to be had; where it was
    started from a picture on the desktop, the browser says so too.
    """
    try:
        return _started(folder, shop, port, opens)
    except MillprepError as error:
        if opens and not _has_terminal():
            _say_in_browser(error.findings[0])
        raise


def _started(folder: Path | None, shop: str | None, port: int | None, opens: bool) -> int:
    if shop is not None:
        from millprep.proven.files import shop_of

        shop_of(shop)
        shop = str(Path(shop).absolute()) if Path(shop).is_file() else shop
    chosen, is_to_be_asked = _folder(folder)
    secret = secrets.token_urlsafe(24)
    while True:
        running, is_mine = _running(chosen)
        if not is_mine:
            if shop is not None or port is not None:
                _say("It goes on as it was started: --shop and --port count for a new one.")
            return _brought_up(running, chosen, opens)
        try:
            serving = _serving(chosen, shop, port, secret, running)
            serving.desk.is_to_be_asked = is_to_be_asked
            running.note(serving.desk.port, secret)
            _say(f"The desk of {serving.desk.place}: {_shown(serving.desk.address, secret, opens)}")
            _say("Ctrl-C, or Put away in the page, ends it.")
            if opens:
                _open(serving.desk.address, secret)
            _run(serving)
        finally:
            running.done()
        if serving.desk.moves_to is None:
            _say("The desk is put away.")
            return 0
        # the page that is open finds the other folder at the same address, and its cookie is good
        chosen, is_to_be_asked, opens, port = serving.desk.moves_to, False, False, serving.desk.port


def _running(folder: Path) -> tuple[Running, bool]:
    """Which desk runs there, and whether it is this process from now on."""
    try:
        running = Running(folder)
        return running, running.is_mine()
    except OSError as error:
        said = f"what the desk remembers cannot be written: {error.strerror}"
        raise stopped("output-refused", said, "make room, or allow it", error.filename) from None


def _folder(given: Path | None) -> tuple[Path, bool]:
    """The folder to be served, and whether the page is to ask if it will do."""
    folder = given or Path.cwd()
    if given is None and is_too_wide(folder):
        if (known := remembered()) is not None:
            return known, False
        folder = documents() / NEW_FOLDER
        folder.mkdir(parents=True, exist_ok=True)
        return folder, True
    if not folder.is_dir():
        raise stopped("unreadable-file", "there is no such folder", "make it first", str(folder))
    if is_too_wide(folder):
        said = "holds everything of yours, the home folder as a whole"
        remedy = f'name a folder for the part files: millprep desk "{documents() / NEW_FOLDER}"'
        raise stopped("unreadable-file", said, remedy, file=str(folder))
    return folder, False


def _serving(
    folder: Path, shop: str | None, port: int | None, secret: str, running: Running
) -> Serving:
    """The desk, listening. Raises MillprepError where a port that was named cannot be had."""
    try:
        if port is not None:
            return Serving(folder, shop, bound(HOST, port), secret)
        with suppress(OSError):
            return Serving(folder, shop, bound(HOST, running.port()), secret)
        return Serving(folder, shop, bound(HOST, 0), secret)
    except (OSError, OverflowError) as error:
        why = getattr(error, "strerror", None) or "there is no such port"
        remedy = "name another, such as --port 8123, or leave --port out"
        raise stopped("output-refused", f"port {port} cannot be had: {why}", remedy) from None


def _run(serving: Serving) -> None:
    """Answer until put away, by the page, Ctrl-C, or the system."""

    def end(_: int, __: FrameType | None) -> None:
        serving.end()

    names = [signal.SIGINT, signal.SIGTERM]
    if hasattr(signal, "SIGHUP"):  # the window of the terminal was closed
        names.append(signal.SIGHUP)
    before = {name: signal.signal(name, end) for name in names}
    try:
        with chdir(serving.desk.folder):  # sheets name files as the command line does there
            serving.run()
    finally:
        for name, handler in before.items():
            signal.signal(name, handler)


def _brought_up(running: Running, folder: Path, opens: bool) -> int:
    """Show the desk that runs on the folder already. Raises MillprepError where it is stuck."""
    known: dict[str, object] = {}
    until = time.monotonic() + _ANSWER_SECONDS
    while time.monotonic() < until:
        known = running.known()
        address = f"http://{HOST}:{known.get('port')}"
        if "secret" in known and _answers(address):
            secret = str(known["secret"])
            _say(f"A desk runs on this folder already: {_shown(address, secret, opens)}")
            if opens:
                _open(address, secret, waits=True)
            return 0
        time.sleep(0.2)
    remedy = f"end the process {known.get('process', '')} and start again".replace("  ", " ")
    said = "a desk that runs on this folder does not answer"
    raise stopped("output-refused", said, remedy, file=str(folder))


def _shown(address: str, secret: str, opens: bool) -> str:
    """The address as it is printed: without the secret where nobody reads it but a log."""
    return f"{address}/in/{secret}" if _has_terminal() or not opens else address


def _answers(address: str) -> bool:
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with opener.open(f"{address}/static/desk.css", timeout=_ANSWER_SECONDS) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False


def _open(address: str, secret: str, waits: bool = False) -> None:
    """Open the desk in the browser; beside the serving, for some browsers take their time."""

    def opened() -> None:
        with suppress(Exception):  # whatever a browser of this system can do wrong
            if _has_screen() and webbrowser.open(f"{address}/in/{ticket(secret)}"):
                return
        _say("No browser opened by itself: copy the address above into one on this machine.")

    thread = threading.Thread(target=opened, daemon=True)
    thread.start()
    if waits:
        thread.join(_ANSWER_SECONDS)


def _has_screen() -> bool:
    """Whether a browser has somewhere to show: one for the terminal would stand in the way."""
    if sys.platform in ("win32", "darwin"):
        return True
    return any(os.environ.get(name) for name in ("BROWSER", "DISPLAY", "WAYLAND_DISPLAY"))


def _has_terminal() -> bool:
    return any(one is not None and one.isatty() for one in (sys.stdin, sys.stdout, sys.stderr))


def _say_in_browser(finding: Finding) -> None:
    """What keeps the desk from starting, to a person who has nothing but a browser."""
    with suppress(Exception):  # it is said on stderr anyway
        lines = [finding.file, finding.message, finding.remedy]
        said = "".join(f"<p>{escape(clean(line))}</p>" for line in lines if line)
        page = own_folder() / "not-started.html"
        page.write_text(
            "<!doctype html><html lang='en-GB' translate='no'><meta charset='utf-8'>"
            f"<title>The desk does not start</title><h1>The desk does not start</h1>{said}</html>",
            encoding="utf-8",
        )
        if _has_screen():
            webbrowser.open(page.as_uri())


def _say(words: str) -> None:
    with suppress(OSError, ValueError):  # nobody may be there to read it
        print(clean(words), flush=True)
