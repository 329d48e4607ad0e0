"""What the page asks beside its work: whether anything changed, and to be put away."""

from __future__ import annotations

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.desk.desk import Desk


def now(request: Request) -> Response:
    """How often each file has changed, by id. folder : its key, another after a move"""
    desk: Desk = request.app.state.desk
    return JSONResponse({"folder": desk.key, "numbers": desk.numbers() | desk.phones.numbers()})


def put_away(request: Request) -> Response:
    """Ends the server as Ctrl-C does, once this is answered."""
    desk: Desk = request.app.state.desk
    return JSONResponse({"put_away": True}, background=BackgroundTask(desk.put_away))


def seen(request: Request) -> Response:
    """What the desk had to tell was read."""
    desk: Desk = request.app.state.desk
    desk.told.clear()
    return JSONResponse({})


ROUTES = [
    Route("/now", now),
    Route("/seen", seen, methods=["POST"]),
    Route("/put-away", put_away, methods=["POST"]),
]
