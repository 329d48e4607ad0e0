"""Finished pages and pictures that a page of the desk shows in a frame, as they will be printed.

They are kept in memory under the hash of their bytes, a few of them. What is shown has a policy of
its own: its style, and no script but the one of its template.
"""

from __future__ import annotations

import base64
import hashlib
import re
import threading
from collections import OrderedDict
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.desk.making import MEDIA
from millprep.desk.refusals import RefusedError


class Few:
    """The last things of a kind, each some words and some bytes: so many, and so large together."""

    def __init__(self, most: int, most_bytes: int) -> None:
        self._most, self._most_bytes = most, most_bytes
        self._there: OrderedDict[str, tuple[str, bytes]] = OrderedDict()
        self._lock = threading.Lock()

    def put(self, known: str, words: str, data: bytes) -> None:
        with self._lock:
            self._there[known] = words, data
            self._there.move_to_end(known)
            while len(self._there) > self._most or (
                len(self._there) > 1 and self._bytes() > self._most_bytes
            ):
                self._there.popitem(last=False)

    def _bytes(self) -> int:
        return sum(len(data) for _, data in self._there.values())

    def of(self, known: str) -> tuple[str, bytes] | None:
        """Words and bytes; None of what was forgotten."""
        with self._lock:
            return self._there.get(known)


_SHOWN = Few(40, 60_000_000)
_BARE = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; "
_CLOSED = "base-uri 'none'; form-action 'none'"


def address_of(data: bytes, form: str) -> str:
    """Where these bytes are shown from now on, until too many others have been."""
    known = f"{hashlib.sha256(data).hexdigest()}.{form}"
    _SHOWN.put(known, form, data)
    return f"/shown/{known}"


def shown(request: Request) -> Response:
    """A page or picture for a frame. A dry run's page goes through the program by its script."""
    found = _SHOWN.of(str(request.path_params["known"]))
    if found is None:
        raise RefusedError(404, "this was shown long ago: open its page again")
    form, data = found
    scripts = f"script-src {_hash_of_script(data)}; " if form == "run" else ""
    sandbox = "sandbox allow-scripts; " if scripts else "sandbox; "
    policy = f"{_BARE}{scripts}{sandbox}frame-ancestors 'self'; {_CLOSED}"
    media = MEDIA["html" if form == "run" else form]
    return Response(data, media_type=media, headers={"Content-Security-Policy": policy})


def alone(data: bytes) -> Response:
    """A page in a tab of its own, that keeps ticks by its own script and asks for nothing."""
    policy = f"{_BARE}script-src {_hash_of_script(data)}; frame-ancestors 'none'; {_CLOSED}"
    return Response(data, media_type=MEDIA["html"], headers={"Content-Security-Policy": policy})


def _hash_of_script(page: bytes) -> str:
    """What lets the page's last script run, which is the one of its template, and no other."""
    start = page.rfind(b"<script>") + len(b"<script>")
    script = page[start : page.find(b"</script>", start)]
    return f"'sha256-{base64.b64encode(hashlib.sha256(script).digest()).decode()}'"


def handed_out(data: bytes, name: str, form: str, how: str) -> Response:
    """The bytes of a file. how : "inline", shown by the browser; "attachment", saved"""
    plain = re.sub(r"[^\w.-]", "_", name, flags=re.ASCII)
    whole = quote(name, safe="", errors="replace")
    named = f"{how}; filename=\"{plain}\"; filename*=UTF-8''{whole}"
    policy = f"default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; {_CLOSED}"
    headers = {"Content-Disposition": named, "Content-Security-Policy": policy}
    return Response(data, media_type=MEDIA[form], headers=headers)


ROUTES = [Route("/shown/{known}", shown)]
