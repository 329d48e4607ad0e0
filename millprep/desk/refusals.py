"""What the desk does not do, in a sentence. Imports starlette."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response


class RefusedError(Exception):
    """A request that is not answered. status : of HTTP; said : to the person, with what to do"""

    def __init__(self, status: int, said: str) -> None:
        super().__init__(said)
        self.status, self.said = status, said


def refused(request: Request, error: Exception) -> Response:
    """The answer to a request that a page module refused; logged in one line."""
    assert isinstance(error, RefusedError)
    request.app.state.desk.note(f"refused: {request.method} {request.url.path}: {error.said}")
    return JSONResponse({"said": error.said}, error.status)
