"""Which folder the desk stands on: asked for once, chosen from what there is."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.base.bounds import MOST_FOLDERS
from millprep.base.records import frozen
from millprep.desk.desk import Desk
from millprep.desk.places import NEW_FOLDER, documents, is_too_wide, remember
from millprep.desk.refusals import RefusedError

_HOME_REFUSED = "that holds everything of yours: choose a folder in it, or let a new one be made"


@frozen
class Choice:
    """A folder on the way. path : whole; name : as shown"""

    path: str
    name: str


def folders(request: Request) -> Response:
    """The folders within one, to go into or to use; nothing is read before a person asks."""
    desk: Desk = request.app.state.desk
    at = _folder(request.query_params.get("in", str(desk.folder.parent)))
    return desk.page(
        request,
        "folders.html.j2",
        at=Choice(str(at), desk.place_of(at)),
        above=Choice(str(at.parent), desk.place_of(at.parent)) if at.parent != at else None,
        within=_within(at),
        may_be_used=not is_too_wide(at),
        new=Choice(str(documents() / NEW_FOLDER), desk.place_of(documents() / NEW_FOLDER)),
        new_name=NEW_FOLDER,
    )


async def choose(request: Request) -> Response:
    """Take a folder, made where it is not there; the desk moves there, the page after it."""
    desk: Desk = request.app.state.desk
    given = (await desk.json_of(request)).get("folder")
    if not isinstance(given, str):
        raise RefusedError(400, "no folder was named")
    folder = _made(given)
    if is_too_wide(folder):
        raise RefusedError(409, _HOME_REFUSED)
    remember(folder)
    desk.is_to_be_asked = False
    if folder.resolve() == desk.folder:
        return JSONResponse({"go": "/"})
    desk.moves_to = folder
    return JSONResponse({"moves": True}, background=BackgroundTask(desk.put_away))


def _made(name: str) -> Path:
    """The folder of this name, made in one that is there."""
    try:
        path = Path(name)
        if path.is_absolute():
            path.mkdir(exist_ok=True)
            if not os.access(path, os.R_OK | os.W_OK | os.X_OK):
                raise PermissionError(errno.EACCES, "it may not be written by you")
            return _folder(name)
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or "its name cannot be used"
        raise RefusedError(409, f"that folder cannot be had: {said}") from None
    raise RefusedError(400, "no folder was named")


def _folder(name: str) -> Path:
    try:
        path = Path(name)
        if path.is_absolute() and path.is_dir():
            return path.resolve()
    except (OSError, ValueError):
        pass
    raise RefusedError(404, "there is no such folder")


def _within(at: Path) -> list[Choice]:
    """The folders in a folder that a person made."""
    try:
        with os.scandir(at) as entries:
            names = sorted(
                (
                    one.name
                    for one in entries
                    if not one.name.startswith(".") and one.is_dir(follow_symlinks=False)
                ),
                key=str.casefold,
            )
    except OSError:
        return []
    return [Choice(str(at / name), name) for name in names[:MOST_FOLDERS]]


ROUTES = [Route("/folders", folders), Route("/folder", choose, methods=["PUT"])]
