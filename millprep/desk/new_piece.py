"""A new part from a form: a block or plate, a round piece, or a copy of a finished one."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.base.findings import Finding, MillprepError, WordError, refusal_of
from millprep.base.units import Units, read_length
from millprep.desk.desk import Desk
from millprep.desk.forms import Box, boxes, label_of
from millprep.desk.held_folder import new_name
from millprep.desk.own_shop import units_of
from millprep.desk.refusals import RefusedError
from millprep.desk.saying import said
from millprep.proven.editing import copied, faults_in, new_part
from millprep.proven.elevations import blank_picture
from millprep.proven.files import starter
from millprep.proven.forms import offered

SIZES = {"block": ("size.0", "size.1", "size.2"), "round": ("diameter", "length", "bore")}
MAY_BE_EMPTY = ("bore", "drawing")
EDGES = ("x", "y")
_TITLES = {"block": "A block or plate", "round": "A round piece"}
_STILL_WANTED = "still wanted"


def form(request: Request) -> Response:
    """One form: name, size, units, material, and the edges that the plan measures from."""
    desk: Desk = request.app.state.desk
    kind = _kind(request)
    stock, top = _by_key("stock"), _by_key("part")
    return desk.page(
        request,
        "new.html.j2",
        kind=kind,
        title=_TITLES[kind],
        top=top,
        units_here=units_of(desk),
        sizes=[stock[key] for key in SIZES[kind]],
        edges=[_by_key("datum")[key] for key in EDGES] if kind == "block" else [],
        materials=offered("materials"),
        picture=blank_picture({}, "mm", is_round=kind == "round"),
    )


def _by_key(table: str) -> dict[str, Box]:
    return {box.key: box for box in boxes(table)}


def picture(request: Request) -> Response:
    """The blank as typed so far, the name that its file will have, and what does not read."""
    desk: Desk = request.app.state.desk
    kind, typed = _kind(request), dict(request.query_params)
    stock = {key: typed.get(key, "").strip() for key in SIZES[kind]}
    why = _lengths(typed, kind)
    name = typed.get("part", "").strip()
    file = ""
    if name:
        try:
            file = new_name(desk.folder, name).name
        except MillprepError as error:
            why["part"] = first_said(error)
    drawn = blank_picture(stock, _units(typed), is_round=kind == "round")
    return JSONResponse({"picture": drawn, "file": file and f"in the file {file}", "why": why})


async def make(request: Request) -> Response:
    """The file made, and its sheet to go to; or why it is not, box by box."""
    desk: Desk = request.app.state.desk
    kind, typed = _kind(request), typed_in(await desk.json_of(request))
    return JSONResponse(await run_in_threadpool(_made, desk, kind, typed))


def _made(desk: Desk, kind: str, typed: Mapping[str, str]) -> dict[str, Any]:
    asked = [key for key in ("part", "material", *SIZES[kind]) if key not in MAY_BE_EMPTY]
    why = _lengths(typed, kind)
    why |= {key: _STILL_WANTED for key in asked if not typed.get(key, "").strip()}
    if why:
        return {"why": why}
    top = {key: typed[key] for key in ("part", "drawing", "units", "material") if typed.get(key)}
    stock = {key: typed[key] for key in SIZES[kind] if typed.get(key)}
    datum = {key: typed[key] for key in EDGES if kind == "block" and typed.get(key)}
    try:
        path = new_name(desk.folder, top["part"])
        text = new_part(top, stock, datum or None)
    except (MillprepError, WordError) as error:
        return {"why": {"part": first_said(error)}}
    if faults := faults_in(text, path):
        return {"why": _at_boxes([said(one) for one in faults], SIZES[kind])}
    desk.kept.make(path, text.encode(), f"{top['part']} begun")
    return {"go": f"/sheet/{desk.files.of(path)}"}


async def example(request: Request) -> Response:
    """A finished piece to look at and to alter: the one that `millprep new` begins with."""
    desk: Desk = request.app.state.desk

    def made() -> str:
        name, path = free_name("Example bracket", desk.folder)
        text = copied(starter("part", units_of(desk)), name)
        desk.kept.make(path, text.encode(), "an example copied")
        return f"/sheet/{desk.files.of(path)}"

    return JSONResponse({"go": await run_in_threadpool(made)})


def free_name(name: str, folder: Path) -> tuple[str, Path]:
    """The name, or with the first number after it that no file has; and the file's path."""
    for number in range(1, 1000):
        wanted = name if number == 1 else f"{name} {number}"
        try:
            return wanted, new_name(folder, wanted)
        except MillprepError:
            if number == 999:
                raise
    raise AssertionError


def typed_in(given: Mapping[str, Any]) -> dict[str, str]:
    """The boxes of a form by their names, as the page sends them."""
    typed = given.get("typed", {})
    if not isinstance(typed, dict):
        raise RefusedError(400, "the page sent something that cannot be read")
    return {str(key): str(value).strip() for key, value in typed.items()}


def _kind(request: Request) -> str:
    kind = str(request.path_params["kind"])
    if kind not in SIZES:
        raise RefusedError(404, "there is nothing at this address")
    return kind


def _units(typed: Mapping[str, str]) -> Units:
    return "inch" if typed.get("units") == "inch" else "mm"


def _lengths(typed: Mapping[str, str], kind: str) -> dict[str, str]:
    """Of each size that does not read: why."""
    why = {}
    for key in SIZES[kind]:
        words = typed.get(key, "").strip()
        try:
            if words and read_length(words, _units(typed)) <= 0:
                why[key] = "nothing is left of it: write how long it is"
        except WordError as error:
            found = Finding("stop", "bad-value", error.message, error.remedy, key=f"stock.{key}")
            told = said(found)
            sentence = told.sentence.removeprefix(f"{label_of('stock', key)}: ")
            why[key] = ": ".join(filter(None, (sentence, told.do)))
    return why


def first_said(error: MillprepError | WordError) -> str:
    """The first thing that is wrong, and what to do."""
    one = refusal_of(error).findings[0]
    return ": ".join(filter(None, (one.message, one.remedy)))


def _at_boxes(found: list[Any], sizes: tuple[str, ...]) -> dict[str, str]:
    """What was found, at the box that it is about; else over the button."""
    why: dict[str, str] = {}
    for one in found:
        here = one.key if one.table != "stock" or one.key in sizes else sizes[0]
        at = here if here in (*sizes, *EDGES) or label_of("part", here) else ""
        why.setdefault(at, ": ".join(filter(None, (one.sentence, one.do))))
    return why


ROUTES = [
    Route("/new/example", example, methods=["POST"]),
    Route("/new/{kind}", form),
    Route("/new/{kind}/picture", picture),
    Route("/new/{kind}", make, methods=["POST"]),
]
