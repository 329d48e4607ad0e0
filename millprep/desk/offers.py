"""What completes a box while it is typed in, and a call-out of the plan laid out into boxes."""

from __future__ import annotations

import re
from pathlib import Path

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.base.findings import MillprepError
from millprep.desk.desk import Desk
from millprep.desk.forms import boxes
from millprep.desk.line_boxes import shown
from millprep.desk.piece import Piece
from millprep.desk.piece_page import opened, piece_of
from millprep.proven.forms import FACES, offered, read_call_out, sizes_like
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


_LONGEST_CALL_OUT = 400
_NAME_BEFORE = re.compile(
    r"\s*([A-Za-z][A-Za-z -]*?)[\s:,]+(?=\d|No\b|letter\b|drill|ream|tap|clear|M\d)"
)


def laid_out(request: Request) -> Response:
    """What was understood of the words, what was not, and the boxes that it would fill."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    words = request.query_params.get("call_out", "")[:_LONGEST_CALL_OUT]
    asked = request.query_params.get("face", "top")
    face = next((one for one in FACES if one == asked), FACES[0])
    name, rest = _named(words) if words else ("", "")
    read = read_call_out(words, piece.units, face)
    if name and read.left and read.left[0][0] == 0:
        again = read_call_out(rest, piece.units, face)
        if len(again.left) < len(read.left):
            words, read = rest, again
    else:
        name = ""
    boxes = shown(read.values) | ({"name": name} if name else {})
    if face != "top":
        boxes["face"] = face
    if (
        "circle.count" in boxes
        and "circle.centre#0" not in boxes
        and "stock.diameter" in piece.title
    ):
        boxes |= {"circle.centre#0": "0", "circle.centre#0e": "centre_x"}
        boxes |= {"circle.centre#1": "0", "circle.centre#1e": "centre_y"}
    return desk.page(
        request,
        "call_out.html.j2",
        id=known,
        pieces=_pieces(words, read.left),
        said=read.said,
        why=read.why,
        typed={key: value for key, value in boxes.items() if value},
    )


def _named(words: str) -> tuple[str, str]:
    """The name that stands before a call-out, and the call-out: "spring peg 1/16 x 1/8 deep"."""
    found = _NAME_BEFORE.match(words)
    return (found[1], words[found.end() :]) if found else ("", words)


def _pieces(words: str, left: tuple[tuple[int, int], ...]) -> list[tuple[str, bool]]:
    """The words in pieces, with whether each was not understood."""
    pieces, at = [], 0
    for start, end in sorted(left):
        pieces += [(words[at:start], False), (words[start:end], True)]
        at = end
    return [one for one in [*pieces, (words[at:], False)] if one[0]]


ROUTES = [Route("/sheet/{id}/offers", offers), Route("/sheet/{id}/call-out", laid_out)]
