"""The look-up box that is on every page."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.base.findings import MillprepError
from millprep.desk.desk import Desk
from millprep.proven.asked import asked

_MOST_LETTERS = 200


def look_up(request: Request) -> Response:
    """What the tables say of the words, with the drawer of this folder's shop."""
    desk: Desk = request.app.state.desk
    words = request.query_params.get("words", "")[:_MOST_LETTERS].strip()
    try:
        answer = asked(words, desk.shop) if words else ""
    except MillprepError as error:
        first = error.findings[0]
        answer = "\n".join(filter(None, (first.message, first.remedy)))
    head, _, rest = answer.partition("\n")
    return desk.page(request, "look_up.html.j2", head=head, rest=rest)


ROUTES = [Route("/look-up", look_up)]
