"""The folder's page: what lies on the board, a card each. Imports `cards`, `stands`, starlette."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.desk.cards import card_of, lying_by
from millprep.desk.desk import Desk
from millprep.desk.file_names import is_conflicted_copy
from millprep.desk.forms import severity_label
from millprep.desk.kept import Gone
from millprep.desk.own_shop import SHOP_ID, answers_of
from millprep.desk.questions import questions
from millprep.desk.stands import boards

WORDS = {
    "assembly": "an assembly",
    "shop": "the shop of this folder",
    "program": "a drilling program",
    "other": "no part and no assembly",
    "link": "a link to elsewhere: not opened here",
    "unread": "cannot be read",
}


def board(request: Request) -> Response:
    """Every file of the folder, a card each; what each card says comes when it is looked at."""
    desk: Desk = request.app.state.desk
    found = boards(desk)
    return desk.page(
        request,
        "folder.html.j2",
        boards=found,
        is_empty=not any(one.stands for one in found),
        words=WORDS,
        is_conflicted=is_conflicted_copy,
        questions=questions(),
        answers=answers_of(desk),
        shop_id=SHOP_ID,
        taken_away=[(desk.files.of(one.path), one.path.name) for one in desk.kept.taken_away()],
    )


def card(request: Request) -> Response:
    """What a card says. In the query, `beside`: the ids of all hands, as they stand."""
    desk: Desk = request.app.state.desk
    known = str(request.path_params["id"])
    path = desk.files.path_of(known)
    ids = [one for one in request.query_params.get("beside", "").split(",") if one]
    try:
        found = card_of(desk, path, [desk.files.path_of(one) for one in ids])
    except Gone:  # the page lays its cards anew
        return Response(status_code=204)
    return desk.page(
        request,
        "card.html.j2",
        card=found,
        id=known,
        lying=lying_by(desk, path, found),
        label=severity_label,
        file=path.name,
    )


ROUTES = [Route("/", board), Route("/card/{id}", card)]
