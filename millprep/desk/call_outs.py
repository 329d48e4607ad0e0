"""A call-out as the plan has it, laid out into boxes to be agreed to. Imports `piece_page`."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.desk.line_boxes import shown
from millprep.desk.piece_page import opened, piece_of
from millprep.proven.forms import FACES, read_call_out

_MOST_LETTERS = 400
_NAME_BEFORE = re.compile(
    r"\s*([A-Za-z][A-Za-z -]*?)[\s:,]+(?=\d|No\b|letter\b|drill|ream|tap|clear|M\d)"
)


def laid_out(request: Request) -> Response:
    """What was understood of the words, what was not, and the boxes that it would fill."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    words = request.query_params.get("call_out", "")[:_MOST_LETTERS]
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


ROUTES = [Route("/sheet/{id}/call-out", laid_out)]
