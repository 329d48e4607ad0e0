"""Putting the desk away, from the page. Imports starlette."""

from __future__ import annotations

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.desk.desk import Desk


def put_away(request: Request) -> Response:
    """Ends the server as Ctrl-C does, once this is answered."""
    desk: Desk = request.app.state.desk
    return JSONResponse({"put_away": True}, background=BackgroundTask(desk.put_away))


ROUTES = [Route("/put-away", put_away, methods=["POST"])]
