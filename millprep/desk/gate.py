"""Who is let in, and what may be asked: looked at before any page. Imports starlette.

A browser that came by the printed address has a cookie; every other asker is turned away. A change
must besides come from a page of this desk: cookies do not know ports, so that a page on another
port of this machine sends ours along.

A page that is left while its change is on the way hears no answer; the next page sends the change
once more, under the number that the first had. It is answered as the first was.
"""

from __future__ import annotations

import asyncio
import hmac

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from millprep.base.bounds import MOST_ANSWERS
from millprep.desk.desk import Desk
from millprep.desk.running import Tickets

OUR_HEADER, OUR_WORD = "x-millprep", "desk"
CHANGES = ("POST", "PUT")
LOOKS = ("GET", "HEAD")
OPEN = ("/static/",)
"""What is given out to any asker of this machine: script and style, the same for everybody."""
WAY_IN = "/in/"
"""Before the secret, or a ticket."""
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; frame-src 'self'; frame-ancestors 'none'; form-action 'none'; "
        "base-uri 'none'"
    ),
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}


class Gate:
    """The ASGI application behind a gate."""

    def __init__(self, app: ASGIApp, desk: Desk) -> None:
        self.app, self.desk = app, desk
        self.tickets = Tickets(desk.secret)
        self.cookie = f"millprep_desk_{desk.port}"
        self.hosts = {f"127.0.0.1:{desk.port}", f"localhost:{desk.port}"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            raise RuntimeError("the desk speaks HTTP alone")
        request = Request(scope)
        answer = self.turned_away(request) or self.let_in(request) or self.app

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                given = [(k.lower().encode(), v.encode()) for k, v in HEADERS.items()]
                there = {key for key, _ in message["headers"]}
                message["headers"] += [pair for pair in given if pair[0] not in there]
            await send(message)

        await answer(scope, receive, with_headers)

    def turned_away(self, request: Request) -> Response | None:
        """The answer to one who is not let in; None for one who is."""
        host = request.headers.getlist("host")
        if len(host) != 1 or host[0] not in self.hosts:
            return self._refused(request, 421, "asked for by another name")
        if not request.scope["path"].isprintable():
            return self._refused(request, 400, "an address with signs that no page has")
        if request.method not in (*CHANGES, *LOOKS):
            return self._refused(request, 405, "neither looks nor changes")
        if request.method in CHANGES:
            if request.headers.getlist("origin") != [f"http://{host[0]}"]:
                return self._refused(request, 403, "a change asked for by another page")
            if request.headers.get(OUR_HEADER) != OUR_WORD:
                return self._refused(request, 403, "a change without the desk's own header")
        elif request.url.path.startswith(OPEN) or self._is_way_in(request):
            return None
        if self._same(request.cookies.get(self.cookie, "")):
            return None
        return self._not_here(request)

    def let_in(self, request: Request) -> Response | None:
        """The page that gives the cookie and moves on by itself to an address without secret.

        No redirect: a cookie that is set on the way from another site is not sent along with it.
        """
        if not self._is_way_in(request):
            return None
        word = request.url.path.removeprefix(WAY_IN)
        if not (self._same(word) or self.tickets.take(word)):
            return self._not_here(request)
        answer = HTMLResponse(self.desk.templates.get_template("come_in.html.j2").render())
        answer.set_cookie(self.cookie, self.desk.secret, httponly=True, samesite="strict")
        return answer

    def _is_way_in(self, request: Request) -> bool:
        return request.method == "GET" and request.url.path.startswith(WAY_IN)

    def _same(self, word: str) -> bool:
        return hmac.compare_digest(word.encode(), self.desk.secret.encode())

    def _refused(self, request: Request, status: int, why: str) -> Response:
        self._note(request, why)
        return PlainTextResponse(f"RefusedError: {why}.\n", status)

    def _not_here(self, request: Request) -> Response:
        """To a page of another run of the desk, or to a stranger: not by this way."""
        self._note(request, "no cookie of this desk")
        said = "this page belongs to a desk that was put away: open the desk again by its icon"
        if request.method in CHANGES or request.headers.get("hx-request"):
            return JSONResponse({"said": said, "put_away": True}, 410)
        page = self.desk.templates.get_template("not_here.html.j2").render()
        return HTMLResponse(page, 410)

    def _note(self, request: Request, why: str) -> None:
        path = request.url.path
        path = f"{WAY_IN}..." if path.startswith(WAY_IN) else path  # not what was tried as a secret
        self.desk.note(f"refused: {request.method} {path[:200]}: {why}")


NUMBER_HEADER = "x-sent"
_MOST_LETTERS = 64


class Once:
    """The application, with the answers to its last changes at hand."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self._answers: dict[str, asyncio.Future[list[Message]]] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        number = Headers(scope=scope).get(NUMBER_HEADER, "") if scope["type"] == "http" else ""
        if not number or len(number) > _MOST_LETTERS or scope["method"] not in ("POST", "PUT"):
            await self.app(scope, receive, send)
        elif number in self._answers:
            for message in await asyncio.shield(self._answers[number]):
                await send(message)
        else:
            await self._answered(number, scope, receive, send)

    async def _answered(self, number: str, scope: Scope, receive: Receive, send: Send) -> None:
        """The first time: what is said is noted, where something was done."""
        said: list[Message] = []
        answer = self._answers[number] = asyncio.get_running_loop().create_future()

        async def noting(message: Message) -> None:
            said.append(message)
            await send(message)

        try:
            await self.app(scope, receive, noting)
        finally:
            answer.set_result(said)
            if not said or said[0]["status"] >= 400:
                del self._answers[number]  # nothing was done: the next may be
            while len(self._answers) > MOST_ANSWERS:
                del self._answers[next(iter(self._answers))]
