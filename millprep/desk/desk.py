"""The desk of one folder: what every page of it asks for."""

from __future__ import annotations

import asyncio
import json
import sys
import threading
from collections.abc import Callable
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from millprep.base.bounds import LARGEST_BODY_BYTES
from millprep.base.findings import stopped
from millprep.base.plain_text import clean
from millprep.desk.files import SHOP_FILE, Files, id_of, shown
from millprep.desk.kept import Kept
from millprep.desk.looking import Looking
from millprep.desk.refusals import RefusedError

if TYPE_CHECKING:
    from millprep.desk.phones import Phones

_TEMPLATES = Path(__file__).parent / "templates"
BODY_SECONDS = 30.0


class Desk:
    """What the pages of one folder share; at `request.app.state.desk`.

    folder  : resolved; shop : name or file, as for the command line
    port    : on this machine; secret : what lets a browser in, in the printed address
    put_away: called once to end the server
    """

    def __init__(
        self, folder: Path, shop: str | None, port: int, secret: str, state_home: Path | None = None
    ) -> None:
        """Raises MillprepError where the folder, or what is kept of it, cannot be opened."""
        self.folder, self.port, self.secret = folder.resolve(), port, secret
        self._shop = shop
        self.kept = Kept(self.folder, state_home)
        self.files = Files(self.kept.folder)
        self._alone = threading.Lock()
        self._numbers: dict[str, int] = {}
        self.looking = Looking(self.kept.folder, self._found_changed)
        self.told = [*self.kept.told]
        """What is to be said to the person on the next page, until it is put away."""
        self.templates = _templates()
        self.put_away: Callable[[], None] = lambda: None
        self.is_to_be_asked = False
        """Whether the page asks if this folder will do."""
        self.phones = _phones(self, state_home)
        self.moves_to: Path | None = None
        """The folder that the desk is to stand on next."""

    @property
    def address(self) -> str:
        """Without the secret: scheme, host and port."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def way_in(self) -> str:
        """The address that lets a browser in."""
        return f"{self.address}/in/{self.secret}"

    @property
    def key(self) -> str:
        """What tells this folder from another, to a page that comes again."""
        return id_of(str(self.folder))

    @property
    def shop(self) -> str:
        """The shop of the folder, name or file as for the command line: the one that was named at
        the start, else shop.toml in the folder."""
        own = self.folder / SHOP_FILE
        return self._shop or (str(own) if own.is_file() and not own.is_symlink() else "metric")

    def goes_by_its_folder(self) -> None:
        """From now on by the shop in the folder, where a packaged one was named at the start."""
        if self._shop and not Path(self._shop).suffix:
            self._shop = None

    @property
    def name(self) -> str:
        """Of the folder."""
        return self.place.replace("\\", "/").rpartition("/")[2].strip()

    @property
    def place(self) -> str:
        """The folder as a person finds it: Documents / Mill sheets."""
        return self.place_of(self.folder)

    def place_of(self, folder: Path) -> str:
        """A folder as a person finds it."""
        home = Path.home().resolve()
        folder = folder.resolve()
        if folder == home:
            return "home folder"
        is_within = folder.is_relative_to(home)
        place = " / ".join(folder.relative_to(home).parts) if is_within else str(folder)
        return shown(place)

    def numbers(self) -> dict[str, int]:
        """How often each file has changed while the desk ran, by id; without those that have not.

        A page asks every second, and renews what shows a file whose number is another.
        """
        with self._alone:
            return dict(self._numbers)

    def count(self, id: str) -> None:
        """Something of this file changed that is not in the folder: its pencil, say."""
        with self._alone:
            self._numbers[id] = self._numbers.get(id, 0) + 1

    def _found_changed(self, names: frozenset[str]) -> None:
        for name in names:
            self.count(id_of(name))

    def close(self) -> None:
        """What is held open for this folder is let go of."""
        self.phones.close()
        self.looking.close()
        self.kept.close()

    def page(self, request: Request, name: str, status: int = 200, **context: Any) -> HTMLResponse:
        """A template filled; `desk` and `path` stand in all of them."""
        shown = self.templates.get_template(name).render(
            desk=self, path=request.url.path, **context
        )
        return HTMLResponse(shown, status)

    async def json_of(self, request: Request, most: int = LARGEST_BODY_BYTES) -> dict[str, Any]:
        """The JSON object in the body. Raises RefusedError for anything else, and for more."""
        if request.headers.get("content-type", "").split(";")[0].strip() != "application/json":
            raise RefusedError(415, "the page sent something that is no JSON")
        try:
            given = json.loads(await self.body_of(request, most), parse_constant=_no_number)
        except (ValueError, RecursionError):
            raise RefusedError(400, "the page sent something that cannot be read") from None
        if not isinstance(given, dict):
            raise RefusedError(400, "the page sent something that cannot be read")
        return given

    async def body_of(self, request: Request, most: int) -> bytes:
        """The body, a dropped file say. most : bytes. Raises RefusedError for more."""
        parts, size = [], 0
        try:
            async with asyncio.timeout(BODY_SECONDS):
                async for part in request.stream():
                    size += len(part)
                    if size > most:
                        raise RefusedError(413, f"that is larger than {most / 1e6:g} MB: not taken")
                    parts.append(part)
        except TimeoutError:
            raise RefusedError(408, "the page sent only half of it: try again") from None
        return b"".join(parts)

    def note(self, line: str) -> None:
        """One line for the one who started the desk, with its time."""
        with self._alone:
            print(clean(f"{datetime.now():%H:%M:%S} {line}"), file=sys.stderr, flush=True)


def _no_number(word: str) -> object:
    raise ValueError(word)


def _phones(desk: Desk, state_home: Path | None) -> Phones:
    from millprep.desk.phones import Phones  # what it shows of a part asks for a desk

    try:
        return Phones(desk, state_home)
    except OSError as error:
        said = f"what the desk remembers cannot be written: {error.strerror}"
        raise stopped("output-refused", said, "make room, or allow it", error.filename) from None


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
