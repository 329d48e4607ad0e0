"""Any program tried dry: one that was dropped on a page, or one of the folder. Imports starlette.

A dropped program is kept in memory, a few of them, and never written.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from pathlib import Path, PurePath

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.base.findings import Finding, MillprepError, WordError, refusal_of
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.desk.desk import Desk
from millprep.desk.files import Filed
from millprep.desk.files import shown as shown_name
from millprep.desk.making import Source
from millprep.desk.refusals import RefusedError
from millprep.desk.saying import told_of_program
from millprep.desk.shown import Few, address_of
from millprep.proven.dryrun import DryRun, dry_run
from millprep.report.dry_run import verdict_words

MOST_BYTES = 40_000_000
_DROPPED = Few(12, 100_000_000)
SETUP = re.compile(r"-setup(\d{1,3})(?![0-9])")
_UNITS: dict[str, Units] = {"mm": "mm", "inch": "inch"}


def kept(name: str, data: bytes) -> str:
    """Its address from now on, until too many others have been tried."""
    known = hashlib.sha256(name.encode("utf-8", "replace") + b"\0" + data).hexdigest()[:16]
    _DROPPED.put(known, name, data)
    return f"/dry-run/{known}"


@frozen
class Program:
    """What is tried. address : of its page; file : a path of the folder, or name and bytes"""

    address: str
    name: str
    file: Path | tuple[str, bytes]


@frozen
class Ground:
    """What it is tried on, in the words of the address. part : id of a file"""

    part: str = ""
    setup: str = ""
    stock: str = ""
    zero: str = ""
    units: str = ""


async def drop(request: Request) -> Response:
    """A file dropped on a page: the address where it is tried."""
    desk: Desk = request.app.state.desk
    data = await desk.body_of(request, MOST_BYTES)
    given = request.query_params.get("name", "").replace("\\", "/")
    name = shown_name(PurePath(given).name)[:200] or "program.nc"
    if name.lower().endswith(".toml"):
        raise RefusedError(409, f"{name} is a part file, no program: put it into the folder")
    if b"\0" in data or not data.strip():
        raise RefusedError(
            409, f"{name} is no program: {'it is empty' if not data.strip() else 'it is not text'}"
        )
    return JSONResponse({"go": kept(name, data)})


def _program(request: Request) -> Program:
    desk: Desk = request.app.state.desk
    known = str(request.path_params["id"])
    if request.url.path.startswith("/program/"):
        path = desk.files.path_of(known)
        return Program(f"/program/{known}", shown_name(desk.files.name_of(known)), path)
    found = _DROPPED.of(known)
    if found is None:
        raise RefusedError(404, "this program was dropped long ago: drop it again")
    return Program(f"/dry-run/{known}", found[0], found)


def page(request: Request) -> Response:
    """The program, and what it is to be tried on."""
    desk: Desk = request.app.state.desk
    program = _program(request)
    parts = [one for one in desk.files.listing() if one.kind == "part"]
    ground = _ground(request, program, parts)
    asked = {name: getattr(ground, name) for name in ("part", "setup", "stock", "zero", "units")}
    return desk.page(
        request, "dry_run.html.j2", program=program, parts=parts, ground=ground, asked=asked
    )


def _ground(request: Request, program: Program, parts: list[Filed]) -> Ground:
    """What the address says; where it says nothing, the part that the program is named after."""
    query = request.query_params
    named = {key: query.get(key, "").strip() for key in ("part", "setup", "stock", "zero", "units")}
    if any(key in query for key in named):
        return Ground(**named)
    stem = PurePath(program.name).stem
    setup = SETUP.search(stem)
    own = stem[: setup.start()] if setup else stem
    for one in parts:
        if PurePath(one.name).stem == own:
            return Ground(one.id, setup[1] if setup else "1")
    return Ground()


def report(request: Request) -> Response:
    """What it would do: findings, worst first, and the page of its views beside its text."""
    desk: Desk = request.app.state.desk
    program = _program(request)
    ground = _ground(request, program, [])
    try:
        made = _tried(desk, program, ground)
    except (MillprepError, WordError) as error:
        return _told(desk, request, refusal_of(error).findings)
    frame = address_of(made.page(), "run")
    return _told(desk, request, made.findings, _verdict(made), frame)


def _told(
    desk: Desk, request: Request, findings: Sequence[Finding], verdict: str = "", frame: str = ""
) -> Response:
    told = told_of_program(findings)
    return desk.page(request, "dry_report.html.j2", told=told, verdict=verdict, frame=frame)


def _verdict(made: DryRun) -> str:
    """The verdict; the kinds and counts of what was found stand in the list below it."""
    return re.sub(r"(: [^:(]*)? \([^()]*\)$", "", verdict_words(made.report))


def _tried(desk: Desk, program: Program, ground: Ground) -> DryRun:
    if ground.setup and not (ground.setup.isascii() and ground.setup.isdigit()):
        raise WordError(f"“{ground.setup}” is no holding", "give its number, as 1")
    setup, units = int(ground.setup[:5] or 1), _UNITS.get(ground.units)
    file = program.file
    if isinstance(file, Path):
        file = Source(file, desk.shop, desk.folder).given
    if ground.part:
        source = Source(desk.files.path_of(ground.part), desk.shop, desk.folder)
        return dry_run([file], source.given, source.given_shop, setup=setup, units=units)
    return dry_run([file], None, desk.shop, ground.stock or None, ground.zero or None, units=units)


ROUTES = [
    Route("/dry-run", drop, methods=["PUT"]),
    Route("/dry-run/{id}", page),
    Route("/dry-run/{id}/report", report),
    Route("/program/{id}", page),
    Route("/program/{id}/report", report),
]
