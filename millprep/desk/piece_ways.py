"""What is done with a sheet as a whole: its other hand, a copy, another name, off the board."""

from __future__ import annotations

import re
from contextlib import suppress
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.base.findings import MillprepError, WordError
from millprep.desk import changing
from millprep.desk.desk import Desk
from millprep.desk.folder import lead_of
from millprep.desk.forms import boxes
from millprep.desk.held_folder import new_name
from millprep.desk.kept import Gone
from millprep.desk.new_piece import first_said, free_name, typed_in
from millprep.desk.piece import Piece
from millprep.desk.piece_page import Given, doing, opened, piece_of
from millprep.desk.refusals import RefusedError
from millprep.proven.editing import copied, other_hand
from millprep.proven.hanging import Hanging, what_hangs_on

_HANDS = (("left", "right"), ("Left", "Right"), ("LEFT", "RIGHT"), ("L.H.", "R.H."), ("LH", "RH"))
_STILL_WANTED = "still wanted"


def page(request: Request) -> Response:
    """The ways, each with what it asks, and what hangs on the piece."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    mirror = next(box for box in boxes("opposite") if box.key == "mirror")
    return desk.page(
        request,
        "ways.html.j2",
        id=known,
        piece=piece,
        lead=lead_of(desk, piece),
        other_name=other_name(piece.name),
        copy_name=free_name(f"{piece.name} copy", path.parent)[0],
        mirror=mirror,
        hanging=hanging_on(desk, path),
    )


def hanging_on(desk: Desk, path: Path) -> tuple[Hanging, ...]:
    return what_hangs_on(path, desk.files.paths())


def other_name(name: str) -> str:
    """Bracket right of Bracket left; else the name with "other hand" after it."""
    for one, other in (*_HANDS, *((b, a) for a, b in _HANDS)):
        found, count = re.subn(rf"(?<!\w){re.escape(one)}(?!\w)", other, name)
        if count:
            return found
    return f"{name}, other hand"


def _named(desk: Desk, path: Path, given: Given) -> tuple[str, Path, dict[str, Any]]:
    """The name typed, the file that it makes beside this one, or why it makes none."""
    name = typed_in(given).get("part", "")
    if not name:
        return name, path, {"why": {"part": _STILL_WANTED}}
    try:
        return name, new_name(path.parent, name), {}
    except MillprepError as error:
        return name, path, {"why": {"part": first_said(error)}}


def make_other_hand(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """A file of its own that follows this one."""
    piece = piece_of(desk, path)
    if piece.follows:
        raise RefusedError(409, f"this is the other hand of {piece.follows} already")
    name, new, refused = _named(desk, path, given)
    if refused:
        return refused
    values = {"part": name, "mirror": typed_in(given).get("mirror") or "x"}
    desk.kept.make(new, other_hand(path.name, values).encode(), f"other hand of {piece.name}")
    return {"go": f"/sheet/{desk.files.of(new)}"}


def make_copy(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """A copy under another name; or, of two figures for one box, or two texts, mine in a copy."""
    if "text" in given:
        return {
            "moved_to": f"/sheet/{desk.files.of(_text_of_mine(desk, path, str(given['text'])))}"
        }
    if "line" in given:
        return {"moved_to": f"/sheet/{desk.files.of(_with_mine(desk, path, given))}"}
    piece = piece_of(desk, path)
    name, new, refused = _named(desk, path, given)
    if refused:
        return refused
    _copied(desk, piece, name, new)
    return {"go": f"/sheet/{desk.files.of(new)}"}


def _with_mine(desk: Desk, path: Path, given: Given) -> Path:
    """The file as it is now, in a copy, and there what was typed here."""
    piece, typed = piece_of(desk, path), given.get("typed")
    if not isinstance(typed, dict):
        raise RefusedError(400, "the page sent something that cannot be read")
    name, new = free_name(f"{piece.name}, mine", path.parent)
    _copied(desk, piece, name, new)
    mine = {str(key): str(value) for key, value in typed.items()}
    line = str(given["line"])
    changing.put_figures(desk.kept.of(new), line, mine, {})
    for key in mine:  # what is mine is there now, and no pencil of this one
        changing.put_letters(desk.kept.of(path), line, key, None)
    return new


def _text_of_mine(desk: Desk, path: Path, text: str) -> Path:
    """What was typed as the text of a file, in a copy; it need not read."""
    name, new = free_name(f"{piece_of(desk, path).name}, mine", path.parent)
    with suppress(MillprepError, WordError):
        text = copied(text, name)
    desk.kept.make(new, text.encode("utf-8", "surrogateescape"), f"copied from {path.name}")
    return new


def _copied(desk: Desk, piece: Piece, name: str, new: Path) -> None:
    """With its pencil, so that lines are called on the copy what they are called here."""
    text = copied(piece.text, name)
    said = f"copied from {piece.name}"
    desk.kept.make(new, text.encode("utf-8", "surrogateescape"), said)
    desk.kept.of(new).pencil(piece.pencil.kept(), said)


def rename(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """The piece and its file under another name; files that name it name it anew.

    The new file is there before the old one is taken away, so that a kill leaves both.
    """
    name, new, refused = _named(desk, path, given)
    if refused:
        return refused
    kept, followers = desk.kept.of(path), hanging_on(desk, path)
    said = f"renamed {name}"
    made = changing.put_edits(kept, lambda text: copied(text, name), said)
    if made.why:
        return {"why": {"part": made.why[0]}}
    desk.kept.make(new, made.state.data, said)
    for one in followers:
        if one.kind != "sheet":
            _name_anew(desk, one.file, path, new)
    kept.take_away(made.state.mark)
    kept.goes_on_as(new)
    desk.phones.goes_on_as(*(one.relative_to(desk.folder).as_posix() for one in (path, new)))
    return {"go": f"/sheet/{desk.files.of(new)}"}


def _name_anew(desk: Desk, file: Path, old: Path, new: Path) -> None:
    """Where a file names the old one in quotes, the new one; said where that cannot be done."""
    named = re.compile(rf"""(?<=["'])([^"'\n:]*?){re.escape(old.name)}(?=["']|\s*:)""")

    def anew(found: re.Match[str]) -> str:
        is_it = (file.parent / found[0]).resolve() == old
        return f"{found[1]}{new.name}" if is_it else found[0]

    said = f"names {new.name} in place of {old.name}"
    try:
        why = changing.put_edits(desk.kept.of(file), lambda t: named.sub(anew, t), said).why
    except (MillprepError, WordError) as error:
        why = (first_said(error),)
    if why:
        desk.told.append(f"{file.name} still names {old.name}: {why[0]}")


def take_off(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """Out of the folder, and kept by the desk. mark : of the state that was asked about"""
    desk.kept.of(path).take_away(str(given.get("mark", "")))
    return {"go": "/"}


def gone(request: Request) -> Response:
    """What became of a file that is not there any more: for a page on which it is open."""
    desk, known, path = opened(request)
    try:
        piece_of(desk, path)
    except Gone as error:
        return desk.page(request, "gone_asked.html.j2", id=known, gone=error, stays=True)
    return Response(status_code=204)


def go_on(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """With the file that has the text now. stays : the page is open, and moves by itself"""
    other = desk.files.path_of(str(given.get("as", "")))
    desk.kept.of(path).goes_on_as(other)
    return _went(desk, other, given)


def make_again(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """A file that is gone once more, as it was last."""
    desk.kept.of(path).make_again()
    return _went(desk, path, given)


def _went(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    return {"goes_on_at" if given.get("stays") is True else "go": f"/sheet/{desk.files.of(path)}"}


ROUTES = [
    Route("/sheet/{id}/ways", page),
    Route("/sheet/{id}/other-hand", doing(make_other_hand), methods=["POST"]),
    Route("/sheet/{id}/copy", doing(make_copy), methods=["POST"]),
    Route("/sheet/{id}/rename", doing(rename), methods=["POST"]),
    Route("/sheet/{id}/take-off", doing(take_off), methods=["POST"]),
    Route("/sheet/{id}/gone", gone),
    Route("/sheet/{id}/go-on", doing(go_on), methods=["POST"]),
    Route("/sheet/{id}/make-again", doing(make_again), methods=["POST"]),
]
