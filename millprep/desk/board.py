"""The drawing sheet of a part on its page, and its figures one by one beside the plan.

Imports `judging`, `piece_page`, starlette.
"""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.desk.judging import Sight, letters, looked_at, with_letters
from millprep.desk.piece import Piece
from millprep.desk.piece_page import opened, piece_of
from millprep.proven.elevations import elevations, figures_of, looks


def drawing(request: Request) -> Response:
    """The views, each where a plan has it; each hole marked with the line that it is of."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    sight = looked_at(desk, piece)
    part = None if sight.judged is None else sight.judged.part
    board = None
    if part is not None:
        prepared = sight.judged.prepared if sight.judged is not None else None
        projection = "first" if prepared is None else prepared.shop.projection
        board = elevations(part, projection, piece.text)
    ids = [] if piece.follows else [line.id for line in piece.lines()]
    return desk.page(request, "board.html.j2", board=board, id=known, ids=ids, piece=piece)


def look(request: Request) -> Response:
    """How the pens' classes look."""
    return Response(looks(), media_type="text/css")


def compare(request: Request) -> Response:
    """Every figure of the file in turn, to be agreed to with the plan beside it."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    return desk.page(
        request,
        "compare.html.j2",
        id=known,
        piece=piece,
        figures=_figures(piece, looked_at(desk, piece)),
    )


def _figures(piece: Piece, sight: Sight) -> list[dict[str, object]]:
    """Of each figure: what it is, as typed, and whether it was agreed to as it is."""
    part = None if sight.judged is None else sight.judged.part
    found, known = [], letters(piece, sight)
    for one in figures_of(part, piece.text) if part is not None else ():
        name = f"{one.table} {one.line} {one.key}"
        agreed = piece.pencil.agreed.get(name) == one.text
        at = "title-block" if one.line is None else f"lines-{one.table}"
        if one.line is not None and one.line < len(ids := piece.ids(one.table)):
            at = f"line-{ids[one.line]}"
        words = with_letters(one.words, known)
        found.append({"name": name, "figure": one, "agreed": agreed, "at": at, "words": words})
    return found


async def agree(request: Request) -> Response:
    """The person has found the figure on the plan as it stands here."""
    desk, _, path = opened(request)
    given = await desk.json_of(request)
    name, text = str(given.get("name", "")), str(given.get("text", ""))

    def put() -> None:
        piece = piece_of(desk, path)
        piece.pencil.agreed[name] = text
        piece.kept.pencil(piece.pencil.kept(), "figures compared with the plan")

    await run_in_threadpool(put)
    return JSONResponse({"agreed": name})


ROUTES = [
    Route("/sheet/{id}/board", drawing),
    Route("/sheet/{id}/compare", compare),
    Route("/sheet/{id}/agree", agree, methods=["POST"]),
    Route("/elevations.css", look),
]
