"""To the phone: a part's bench page is handed to phones at home."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import segno
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from millprep.base.bounds import MOST_MADE
from millprep.desk.desk import Desk
from millprep.desk.files import id_of, shown
from millprep.desk.piece_page import Given, doing, opened
from millprep.desk.refusals import RefusedError

_AWAY_SECONDS = 15
"""A page that is open asks every second; one in the background now and then."""


def page(request: Request) -> Response:
    """What is handed out, to whom, and how a phone comes in."""
    desk, known, path = opened(request)
    name = desk.files.name_of(known)
    lent = desk.phones.of(name)
    return desk.page(
        request, "phone.html.j2", id=known, called=shown(path.stem), lent=lent, most=MOST_MADE
    )


def state(request: Request) -> Response:
    """The part of the page that changes by itself."""
    desk, known, _ = opened(request)
    name = desk.files.name_of(known)
    phones, lent = desk.phones, desk.phones.of(name)
    address = f"{phones.address}/{lent.secret}/" if lent.is_on and phones.address else ""
    return desk.page(
        request,
        "phone_state.html.j2",
        id=known,
        lent=lent,
        address=address,
        code=_code(address) if address and lent.shows_code else "",
        here=[(one, _heard(phones.heard_ago(name, one))) for one in lent.phones],
        is_silent=phones.is_silent(name),
        others=phones.others,
        standing=phones.standing(name),
    )


def _code(address: str) -> str:
    """The address as a phone's camera reads it, an SVG element."""
    code = segno.make(address, error="m", micro=False)
    return code.svg_inline(omitsize=True, border=4, light="#fff", dark="#000")


def _heard(ago_s: float | None) -> str:
    if ago_s is None:
        return "not heard since the desk was started"
    if ago_s < _AWAY_SECONDS:
        return "here"
    minutes = int(ago_s // 60)
    return f"last heard {minutes} min ago" if minutes else "last heard less than a minute ago"


def standing(request: Request) -> Response:
    """Where the part stands, in a few words."""
    desk, known, _ = opened(request)
    return HTMLResponse(desk.phones.standing(desk.files.name_of(known)))


def came(request: Request) -> Response:
    """Phones that came since this was last seen, on every page."""
    desk: Desk = request.app.state.desk
    news = [(id_of(name), shown(name), phone, at) for name, phone, at in desk.phones.news]
    return desk.page(request, "phones_came.html.j2", news=news)


def seen(request: Request) -> Response:
    desk: Desk = request.app.state.desk
    desk.phones.news.clear()
    return JSONResponse({})


def _act(what: Callable[[Desk, str, Given], None]) -> Callable[[Request], Any]:
    def acted(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
        what(desk, desk.kept.folder.name_of(path), given)
        return {}

    return doing(acted)


def _on(desk: Desk, name: str, given: Given) -> None:
    try:
        pieces = int(str(given.get("pieces", 1)).strip() or 1)
    except ValueError:
        pieces = 0
    if not 1 <= pieces <= MOST_MADE:
        raise RefusedError(400, f"how many pieces: a whole number from 1 to {MOST_MADE}")
    newest = desk.phones.issues(name).newest(pieces)
    if newest is None or newest.issue is None:
        raise RefusedError(409, newest.why if newest is not None else "busy: try again")
    desk.phones.switch_on(name, pieces)


def _off(desk: Desk, name: str, _: Given) -> None:
    desk.phones.switch_off(name)


def _show_code(desk: Desk, name: str, _: Given) -> None:
    desk.phones.show_code(name)


def _away(desk: Desk, name: str, given: Given) -> None:
    wanted = str(given.get("phone", ""))
    if wanted not in [one.name for one in desk.phones.of(name).phones]:
        raise RefusedError(404, "no such phone came")
    desk.phones.send_away(name, wanted)


def _address(desk: Desk, _: str, given: Given) -> None:
    desk.phones.listen_at(str(given.get("address", "")))


ROUTES = [
    Route("/phones", came),
    Route("/phones/seen", seen, methods=["POST"]),
    Route("/sheet/{id}/standing", standing),
    Route("/sheet/{id}/phone", page),
    Route("/sheet/{id}/phone/state", state),
    Route("/sheet/{id}/phone/on", _act(_on), methods=["POST"]),
    Route("/sheet/{id}/phone/off", _act(_off), methods=["POST"]),
    Route("/sheet/{id}/phone/code", _act(_show_code), methods=["POST"]),
    Route("/sheet/{id}/phone/away", _act(_away), methods=["POST"]),
    Route("/sheet/{id}/phone/address", _act(_address), methods=["POST"]),
]
