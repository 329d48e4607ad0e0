"""The second listener: one part's bench page and its ticks, at its secret, and nothing else.

It listens at one address of the home network.
"""

from __future__ import annotations

import secrets
import threading
import time
from html import escape
from typing import TYPE_CHECKING

import uvicorn
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from millprep.desk.network import listening_at
from millprep.desk.refusals import REFUSED, in_words

if TYPE_CHECKING:
    from millprep.desk.desk import Desk
    from millprep.desk.phones import Phones

COOKIE = "millprep_phone"
MOST_BYTES = 200_000
MOST_CONNECTIONS = 200
_YEAR_SECONDS = 365 * 24 * 3600
_START_SECONDS = 10
_HEADERS = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; "
        "connect-src 'self'; frame-ancestors 'none'; form-action 'none'; base-uri 'none'"
    ),
}


class Line:
    """Answers phones until closed. host : of the home network; port : the one given, if free"""

    def __init__(self, phones: Phones, desk: Desk, host: str, port: int) -> None:
        """Raises OSError where it cannot listen there."""
        from millprep.desk.serving import settings

        try:
            self._socket = listening_at(host, port)
        except OSError:
            self._socket = listening_at(host, 0)
        self.host, self.port = host, int(self._socket.getsockname()[1])
        config = settings(make_app(phones, desk, f"{host}:{self.port}"))
        config.limit_concurrency = MOST_CONNECTIONS
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(
            target=self._server.run, args=([self._socket],), name="phones", daemon=True
        )
        self._thread.start()
        until = time.monotonic() + _START_SECONDS
        while not self._server.started and time.monotonic() < until:
            time.sleep(0.01)

    @property
    def address(self) -> str:
        return f"http://{self.host}:{self.port}"

    def close(self) -> None:
        self._server.should_exit = True
        self._thread.join(_START_SECONDS)
        self._socket.close()


def make_app(phones: Phones, desk: Desk, at: str) -> ASGIApp:
    """The application. at : host and port as a phone asks for them"""

    def page(request: Request) -> Response:
        """The bench page of the phone that asks, which is known by its cookie from then on."""
        secret = str(request.path_params["secret"])
        token = request.cookies.get(COOKIE) or secrets.token_urlsafe(18)
        answer = HTMLResponse(phones.page(secret, token))
        answer.set_cookie(
            COOKIE, token, _YEAR_SECONDS, path=f"/{secret}/", httponly=True, samesite="strict"
        )
        return answer

    async def ticks(request: Request) -> Response:
        secret, token = str(request.path_params["secret"]), request.cookies.get(COOKIE, "")
        phones.heard(secret)
        given = await desk.json_of(request, MOST_BYTES)
        return JSONResponse(await run_in_threadpool(phones.answer, secret, token, given))

    def refused(request: Request, error: Exception) -> Response:
        status, said = in_words(error)
        desk.note(f"phone: {request.method}: {status} {said}")  # not the path, which has a secret
        if request.method == "POST":
            return JSONResponse({"said": said}, status)
        return _page(said, status)

    routes = [Route("/{secret}/", page), Route("/{secret}/ticks", ticks, methods=["POST"])]
    app = Starlette(routes=routes, exception_handlers=dict.fromkeys((*REFUSED, OSError), refused))
    app.router.redirect_slashes = False
    return _Door(app, at)


class _Door:
    """Who asks by another name, or changes something from another page, is turned away."""

    def __init__(self, app: ASGIApp, at: str) -> None:
        self.app, self.at = app, at

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            raise RuntimeError("phones are spoken to in HTTP alone")
        request, app = Request(scope), self.app
        if request.headers.getlist("host") != [self.at]:
            app = _page("asked for by another name", 421)
        elif request.method == "POST" and request.headers.getlist("origin") != [
            f"http://{self.at}"
        ]:
            app = _page("asked for by another page", 403)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] += [
                    (k.lower().encode(), v.encode()) for k, v in _HEADERS.items()
                ]
            await send(message)

        await app(scope, receive, with_headers)


def _page(said: str, status: int) -> Response:
    """One sentence, to be read on a phone."""
    words = escape(said[:1].upper() + said[1:])
    return HTMLResponse(
        "<!doctype html><html lang='en-GB'><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width'><link rel='icon' href='data:,'>"
        f"<title>Not here</title><p>{words}.</p></html>",
        status,
    )
