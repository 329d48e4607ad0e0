"""The page of an assembly: what was found, its parts, what is to be bought, how it is made."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.base.findings import Finding, MillprepError
from millprep.desk.desk import Desk
from millprep.desk.files import shown as shown_name
from millprep.desk.making import Source
from millprep.desk.papers import in_pencil_words, pencil_lines, watched
from millprep.desk.piece_page import opened
from millprep.desk.saying import told
from millprep.desk.shown import address_of
from millprep.proven.assembly import drawn, judged

_Judged = Any
"""What `judged` gives: its record stands in a room below."""


def page(request: Request) -> Response:
    """Findings, members, what is to be bought, the picture; the sheets by links."""
    desk, known, path = opened(request)
    source = Source(path, desk.shop, desk.folder)
    of: _Judged = None
    found: tuple[Finding, ...]
    try:
        of = judged(source.given, source.given_shop)
        found = of.findings
    except MillprepError as error:
        found = error.findings
    return desk.page(
        request,
        "assembly.html.j2",
        id=known,
        called=shown_name(desk.files.name_of(known)) if of is None else of.assembly.name,
        told=told(found, path),
        in_pencil=in_pencil_words(pencil_lines(desk, path)),
        watched=watched(desk, path),
        picture=_picture(of),
        members=[] if of is None else _members(desk, path, of),
        to_buy=[] if of is None else _to_buy(of),
        stacks=[] if of is None else [one.name for one in of.assembly.stacks],
    )


def _picture(of: _Judged | None) -> str:
    """Where it is shown put together; "" where it cannot be."""
    with suppress(MillprepError):
        return "" if of is None else address_of(drawn(of, ".svg"), "svg")
    return ""


def _members(desk: Desk, path: Path, of: _Judged) -> list[dict[str, Any]]:
    """Each with the id of its file, "" for one that lies outside the folder."""
    rows = []
    for member in of.assembly.members:
        known = ""
        with suppress(MillprepError):
            known = desk.files.of(path.parent / member.file)
        rows.append(
            {
                "name": member.name,
                "id": known,
                "file": shown_name(member.file),
                "made_by": member.made_by,
            }
        )
    return rows


def _to_buy(of: _Judged) -> list[tuple[int, str]]:
    """How many of what."""
    is_inch = of.assembly.units == "inch"
    rows = []
    for one in of.bought:
        long = one.long_mm
        figure = "" if long is None else f"{long / 25.4:.3f} in" if is_inch else f"{long:g} mm"
        rows.append((one.count, f"{one.what}, {figure} long" if figure else one.what))
    return rows


ROUTES = [Route("/assembly/{id}", page)]
