"""A call-out as the plan has it, laid out into boxes to be agreed to. Imports `piece_page`."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.desk.line_boxes import shown
from millprep.desk.piece_page import opened, piece_of
from millprep.proven.call_outs import read_call_out

_MOST_LETTERS = 400


def laid_out(request: Request) -> Response:
    """What was understood of the words, what was not, and the boxes that it would fill."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    words = request.query_params.get("call_out", "")[:_MOST_LETTERS]
    read = read_call_out(words, piece.units)
    boxes = shown(read.values)
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


def _pieces(words: str, left: tuple[tuple[int, int], ...]) -> list[tuple[str, bool]]:
    """The words in pieces, with whether each was not understood."""
    pieces, at = [], 0
    for start, end in sorted(left):
        pieces += [(words[at:start], False), (words[start:end], True)]
        at = end
    return [one for one in [*pieces, (words[at:], False)] if one[0]]


ROUTES = [Route("/sheet/{id}/call-out", laid_out)]
