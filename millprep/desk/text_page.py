"""The text of a file beside its form, for those who want it. Imports `changing`, `piece_page`."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.desk import changing
from millprep.desk.piece_page import answer_of, opened, piece_of
from millprep.proven.editing import faults_in


def page(request: Request) -> Response:
    """The text as it stands in the file, or as it was typed and does not read yet."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    text = piece.text if piece.pencil.text is None else piece.pencil.text
    return desk.page(
        request,
        "text.html.j2",
        piece=piece,
        id=known,
        text=text,
        faults=faults_in(text, path),
        based_on=piece.pencil.text_on or piece.state.mark,
    )


async def put(request: Request) -> Response:
    """The text put into the file; in pencil where it does not read."""
    desk, known, path = opened(request)
    given = await desk.json_of(request)
    text, based_on = str(given.get("text", "")), str(given.get("based_on", ""))
    if "\r\n" in piece_of(desk, path).text:  # a page has plain line ends
        text = text.replace("\r\n", "\n").replace("\n", "\r\n")
    kept = desk.kept.of(path)
    made = await run_in_threadpool(changing.put_text, kept, path, text, based_on)
    faults = [] if made.clash else faults_in(text, path)
    told = [{"line": one.line, "message": one.message, "remedy": one.remedy} for one in faults]
    answer = answer_of(desk, known, path, made)
    return JSONResponse(answer | {"faults": told, "mark": made.state.mark})


ROUTES = [Route("/sheet/{id}/text", page), Route("/sheet/{id}/text", put, methods=["PUT"])]
