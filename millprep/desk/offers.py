"""What completes a box while it is typed in: sizes of the tables and the drawer, names of holes.

Imports `piece_page`, starlette.
"""

from __future__ import annotations

from pathlib import Path

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.base.findings import MillprepError
from millprep.desk.desk import Desk
from millprep.desk.forms import boxes
from millprep.desk.piece import Piece
from millprep.desk.piece_page import opened, piece_of
from millprep.proven.forms import offered, sizes_like
from millprep.proven.public import read_shop

_MOST = 8
_KINDS = {"drill": "drill", "tap": "tap", "ream": "ream", "clear": "clear", "bore": "drill"}


def offers(request: Request) -> Response:
    """Words that begin as what is typed, the likeliest first."""
    desk, _, path = opened(request)
    asked = request.query_params
    of, typed = asked.get("of", ""), asked.get("typed", "")[:60]
    piece = piece_of(desk, path)
    kind = _KINDS.get(asked.get("kind", ""), "drill")
    if of in ("sizes", "threads", "screws"):
        kind = {"threads": "tap", "screws": "clear"}.get(of, kind)
        found = sizes_like(typed, piece.units, _shop(desk), kind)  # type: ignore[arg-type]  # a word of SizeKind
    else:
        found = _beginning(typed, _words(desk, piece, of))
    return JSONResponse({"offers": found[:_MOST]})


def _shop(desk: Desk):  # type: ignore[no-untyped-def]  # the room of shops is not this one's
    try:
        return read_shop(desk.shop)
    except MillprepError:
        return None


def _words(desk: Desk, piece: Piece, of: str) -> list[str]:
    if of == "holes":
        return [line.name for line in piece.lines() if line.name]
    if of == "pieces":
        return [Path(one.name).name for one in desk.files.listing() if one.kind == "part"]
    if of == "kinds":
        allow = next(box for box in boxes("hole") if box.key == "allow")
        return [value for value, _ in allow.choices]
    return list(offered(of))


def _beginning(typed: str, words: list[str]) -> list[str]:
    """Those that begin so before those that have it further on."""
    low = typed.rpartition(",")[2].strip().casefold()
    first = [one for one in words if one.casefold().startswith(low)]
    return [*first, *(one for one in words if low in one.casefold() and one not in first)]


ROUTES = [Route("/sheet/{id}/offers", offers)]
