"""A browser without a window: asks the desk's application in this process. No tests here."""

from __future__ import annotations

import asyncio
import json
import re
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from millprep.desk.app import make_app
from millprep.desk.desk import Desk
from millprep.desk.serving import Serving

PORT = 8123
SECRET = "a-secret-of-this-test"
HOST = f"127.0.0.1:{PORT}"
ORIGIN = f"http://{HOST}"


@dataclass
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    @property
    def json(self) -> Any:
        return json.loads(self.body)


class Asking:
    """One that has come in by the secret, to be closed; `notes` are what the desk said."""

    def __init__(self, folder: Path, shop: str | None = None) -> None:
        kept = folder.parent / "kept by the desk"
        self.desk = Desk(folder, shop, PORT, SECRET, kept)
        self.notes: list[str] = []
        self.desk.note = self.notes.append  # type: ignore[method-assign]
        self.app = make_app(self.desk)
        self.cookie = f"millprep_desk_{PORT}={SECRET}"

    def __enter__(self) -> Asking:
        return self

    def __exit__(self, *_: object) -> None:
        self.desk.close()

    def get(self, path: str, **headers: str | None) -> Answer:
        return self.ask("GET", path, headers)

    def change(self, method: str, path: str, given: Any = None, **headers: str | None) -> Answer:
        """As the page's own script asks; a header that is None is left out."""
        ours: dict[str, str | None] = {
            "origin": ORIGIN,
            "x-millprep": "desk",
            "content-type": "application/json",
        }
        body = given if isinstance(given, bytes) else json.dumps(given or {}).encode()
        return self.ask(method, path, {**ours, **headers}, body)

    def post(self, path: str, given: Any = None, **headers: str | None) -> Answer:
        return self.change("POST", path, given, **headers)

    def put(self, path: str, given: Any = None, **headers: str | None) -> Answer:
        return self.change("PUT", path, given, **headers)

    def ask(
        self, method: str, path: str, headers: dict[str, str | None], body: bytes = b""
    ) -> Answer:
        """Any request; a header's name with _ stands for -."""
        given = {"host": HOST, "cookie": self.cookie} | {
            name.replace("_", "-"): value for name, value in headers.items()
        }
        raw, _, query = path.partition("?")
        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": re.sub("%([0-9a-fA-F]{2})", lambda found: chr(int(found[1], 16)), raw),
            "raw_path": raw.encode(),
            "query_string": query.encode(),
            "root_path": "",
            "headers": [(k.encode(), v.encode()) for k, v in given.items() if v is not None],
            "client": ("127.0.0.1", 50_000),
            "server": ("127.0.0.1", PORT),
        }
        return asyncio.run(_answered(self.app, scope, body))


async def _answered(app: Any, scope: dict[str, Any], body: bytes) -> Answer:
    said: list[dict[str, Any]] = []
    given = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> dict[str, Any]:
        return given.pop() if given else {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        said.append(message)

    await app(scope, receive, send)
    headers = {key.decode(): value.decode() for key, value in said[0]["headers"]}
    return Answer(said[0]["status"], headers, b"".join(one.get("body", b"") for one in said))


@contextmanager
def served(
    folder: Path, shop: str | None = None, port: int = 0, secret: str | None = None
) -> Iterator[Serving]:
    """A desk that answers on a port of this machine, for a browser."""
    from millprep.desk.network import bound

    serving = Serving(
        folder, shop, bound("127.0.0.1", port), secret, folder.parent / "kept by the desk"
    )
    thread = threading.Thread(target=serving.run)
    thread.start()
    try:
        while not serving.server.started:
            time.sleep(0.01)
        yield serving
    finally:
        serving.end()
        thread.join(10)
        assert not thread.is_alive()
