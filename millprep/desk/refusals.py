"""What the desk does not do, in a sentence."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from millprep.base.findings import MillprepError, WordError, refusal_of
from millprep.desk.kept import Gone


class RefusedError(Exception):
    """A request that is not answered. status : of HTTP; said : to the person, with what to do"""

    def __init__(self, status: int, said: str) -> None:
        super().__init__(said)
        self.status, self.said = status, said


def refused(request: Request, error: Exception) -> Response:
    """The answer to a request that was refused, or that failed: a page, or for a script its JSON;
    logged in one line."""
    status, said = in_words(error)
    desk = request.app.state.desk
    desk.note(f"refused: {request.method} {request.url.path[:200]}: {said}")
    is_page = request.method == "GET" and "text/html" in request.headers.get("accept", "")
    gone = isinstance(error, Gone)
    if is_page and "hx-request" not in request.headers:
        if gone and "id" in request.path_params:
            known = request.path_params["id"]
            asked: Response = desk.page(
                request, "gone.html.j2", status, gone=error, id=known, stays=False
            )
            return asked
        page: Response = desk.page(request, "refused.html.j2", status, said=said)
        return page
    return JSONResponse({"said": said} | ({"is_gone": True} if gone else {}), status)


def in_words(error: Exception) -> tuple[int, str]:
    """Status, and what is said."""
    if isinstance(error, RefusedError):
        return error.status, error.said
    if isinstance(error, MillprepError | WordError):
        first = refusal_of(error).findings[0]
        return 409, "; ".join(filter(None, (first.message, first.remedy)))
    if isinstance(error, HTTPException):
        return error.status_code, "there is nothing at this address"
    return 500, "this went wrong in the desk itself; your files are as they were"


REFUSED = (RefusedError, MillprepError, WordError, HTTPException, Exception)
"""What `refused` answers."""
