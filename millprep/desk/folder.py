"""The folder's page: what lies on the board. Imports starlette."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.desk.desk import Desk

WORDS = {
    "assembly": "an assembly",
    "shop": "the shop of this folder",
    "program": "a drilling program",
    "other": "no part and no assembly",
    "link": "a link to elsewhere: not opened here",
    "unread": "cannot be read",
}


def board(request: Request) -> Response:
    """Every file of the folder, a card each."""
    desk: Desk = request.app.state.desk
    return desk.page(request, "folder.html.j2", files=desk.files.listing(), words=WORDS)


ROUTES = [Route("/", board)]
