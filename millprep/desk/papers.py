"""The sheets of a part or an assembly: shown as they will be printed, printed, kept, saved.

Each goes through `making`, and is made when it is opened.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.base.findings import Finding, MillprepError, WordError
from millprep.base.inputs import inputs_noted
from millprep.base.outfile import write_files
from millprep.base.records import frozen
from millprep.desk import dry
from millprep.desk.desk import Desk
from millprep.desk.files import shown as shown_name
from millprep.desk.judging import looked_at
from millprep.desk.making import PAPERS, Made, Paper, Source, Wanted, command_of, file_name, made
from millprep.desk.own_shop import text_of_shop
from millprep.desk.piece import Piece
from millprep.desk.piece_page import opened, piece_of
from millprep.desk.refusals import RefusedError
from millprep.desk.saying import told
from millprep.desk.shown import address_of, alone, handed_out
from millprep.proven.editing import as_written
from millprep.proven.files import shop_of
from millprep.proven.hanging import what_hangs_on

_WITH_TICKS = ("bench", "route")
"""Sheets that are pages to work with: opened in a tab of their own."""
PAPER_SIZES = ("a4", "a3", "letter")


@frozen
class Opened:
    """What an address of a sheet asks for. id : of the file; name : of the kind of sheet"""

    desk: Desk
    id: str
    name: str
    paper: Paper
    source: Source
    wanted: Wanted

    def address(self, rest: str = "", **more: str) -> str:
        """Of this sheet, or of what is done with it."""
        options = urlencode({**self.wanted.words(self.paper), **more})
        return f"/sheet/{self.id}/paper/{self.name}{rest}" + (f"?{options}" if options else "")


def _opened(request: Request) -> Opened:
    desk, known, path = opened(request)
    name = str(request.path_params["sheet"])
    if name not in PAPERS:
        raise RefusedError(404, "there is no such sheet")
    source, wanted = Source(path, desk.shop, desk.folder), Wanted.of(request.query_params)
    return Opened(desk, known, name, PAPERS[name], source, wanted)


def pencil_lines(desk: Desk, path: Path) -> int:
    """How many lines are in pencil of a part and the one that it follows; of an assembly, those of
    its members."""
    lines = 0
    for one in dict.fromkeys([path, *_made_from(path)]):
        with suppress(MillprepError):  # a mate elsewhere is read alone; one that is gone is told
            lines += Piece(desk.kept.of(one)).pencil.lines
    return lines


def _data_of(path: Path) -> dict[str, Any]:
    """What stands in a file; nothing of one that does not read."""
    with suppress(OSError, ValueError):
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    return {}


def _made_from(path: Path) -> Iterator[Path]:
    data = _data_of(path)
    members = data.get("members")
    named = [*members.values()] if isinstance(members, dict) else []
    for one in [data.get("opposite_hand_of"), *named]:
        name = one.get("part") if isinstance(one, dict) else one
        if isinstance(name, str):
            yield path.parent / name


def in_pencil_words(lines: int) -> str:
    """Why no sheet is handed over; "" where nothing is in pencil."""
    if not lines:
        return ""
    many = lines > 1
    what = f"{lines} line{'s' * many} in pencil"
    return f"{what}: finish {'them' if many else 'it'} or strike {'them' if many else 'it'} out"


def _proven(one: Opened, form: str) -> Made:
    """The sheet, or why there is none. Raises RefusedError for a form that it has not."""
    if form not in one.paper.forms:
        raise RefusedError(404, "this sheet has no such form")
    if words := in_pencil_words(pencil_lines(one.desk, one.source.path)):
        return Made({}, (Finding("stop", "bad-value", words),))
    return made(one.source, one.name, form, one.wanted)


def _ready(one: Opened, form: str) -> Made:
    """The sheet. Raises RefusedError with the worst that keeps it back."""
    found = _proven(one, form)
    if found.is_kept_back:
        first = next(iter(told(found.findings, one.source.path)), None)
        words = (first.where, first.sentence, first.do) if first else ("there is nothing on it",)
        raise RefusedError(409, "; ".join(filter(None, words)))
    return found


def links(request: Request) -> Response:
    """The sheets as links, and which of those kept in the folder are of an earlier issue."""
    desk, known, path = opened(request)
    stack = request.query_params.get("stack", "")
    lines = in_pencil_words(pencil_lines(desk, path))
    is_part = desk.files.kind_of(known) != "assembly"
    papers = [(name, PAPERS[name].called) for name in ("assembly", "route")]
    if stack or is_part:
        papers = _in_order(desk)
    mark = _mark(desk, path) if is_part else ""
    return desk.page(
        request,
        "papers.html.j2",
        id=known,
        papers=papers,
        query=f"?{urlencode({'stack': stack})}" if stack else "",
        in_pencil=lines,
        to_phone=is_part and not stack,
        mark=mark,
        kept=[] if stack else _kept(desk, path, mark),
    )


def _is_turn_guessed(desk: Desk, sheet: str) -> bool:
    """Whether a dial sheet counts by a turn of the handle that nobody has measured."""
    if sheet != "dials":
        return False
    with suppress(MillprepError, WordError):
        values = as_written(text_of_shop(desk)).values
        return not {"dials.x.lead", "dials.y.lead"} <= values.keys()
    return True


def _in_order(desk: Desk) -> list[tuple[str, str]]:
    """Every sheet of a part, first the one that this mill is worked by."""
    names = [name for name, paper in PAPERS.items() if paper.whose == "part"]
    with suppress(MillprepError, WordError):
        if not shop_of(desk.shop).readout.is_fitted:
            names.sort(key=lambda name: name != "dials")
    return [(name, PAPERS[name].called) for name in names]


def _mark(desk: Desk, path: Path) -> str:
    """The stamp that sheets made now have; "" of what does not read."""
    with suppress(MillprepError):
        judged = looked_at(desk, piece_of(desk, path)).judged
        return "" if judged is None or judged.part is None else judged.part.mark
    return ""


def _kept(desk: Desk, path: Path, mark: str) -> list[tuple[str, str]]:
    """Sheets kept in the folder, each with what is to be known of it."""
    return [
        (shown_name(one.words), "of an earlier issue" if is_earlier(one.stamp, mark) else "")
        for one in what_hangs_on(path, desk.files.paths())
        if one.kind == "sheet"
    ]


def is_earlier(stamp: str, now: str) -> bool:
    """Whether a sheet with this stamp was made of another state of the file."""
    return bool(stamp and now) and stamp != now.lower()


def sheet(request: Request) -> Response:
    """A sheet as it will be printed, or the stops in its place."""
    one = _opened(request)
    form = one.paper.forms[0]
    in_pencil = in_pencil_words(pencil_lines(one.desk, one.source.path))
    found = Made({}, ()) if in_pencil else _proven(one, form)
    files = [_file(one, name, data) for name, data in found.files.items()]
    return one.desk.page(
        request,
        "paper.html.j2",
        one=one,
        title=one.wanted.stack or _name_of(one),
        form=form,
        files=files,
        told=[] if in_pencil else told(_stops(found), one.source.path),
        in_pencil=in_pencil,
        other_forms=[form for form in one.paper.forms if form != _kept_form(one.paper)],
        watched=watched(one.desk, one.source.path),
        setups=_setups(one),
        is_turn_guessed=_is_turn_guessed(one.desk, one.name),
        sizes=PAPER_SIZES,
        command=shown_name(command_of(one.source, one.name, _kept_form(one.paper), one.wanted)),
        kept_form=_kept_form(one.paper),
        kept_as=_kept_as(one, request.query_params.get("kept", ""), found),
        has_ticks=one.name in _WITH_TICKS,
        others=_in_order(one.desk) if one.paper.whose == "part" else [],
        is_of_assembly=one.desk.files.kind_of(one.id) == "assembly",
    )


def _stops(found: Made) -> Sequence[Finding]:
    """Of a sheet that is kept back its stops; else nothing, for it says what was found itself."""
    stops = [one for one in found.findings if one.severity == "stop"]
    return (stops or found.findings) if found.is_kept_back else []


def _file(one: Opened, name: str, data: bytes) -> dict[str, Any]:
    """A file of a sheet, for its page: where it is shown, or its words and where it is tried."""
    form = name.rpartition(".")[2]
    tried = ""
    if form == "nc" and not one.wanted.stack:
        found = dry.SETUP.search(name)
        ground = {"part": one.id, "setup": found[1] if found else one.wanted.setup}
        tried = f"{dry.kept(name, data)}?{urlencode(ground)}"
    words = data.decode("utf-8", "replace") if form not in ("html", "svg", "pdf") else ""
    return {
        "name": shown_name(name),
        "form": form,
        "address": address_of(data, form) if form in ("html", "svg") else "",
        "words": words,
        "tried": tried,
    }


def _kept_form(paper: Paper) -> str:
    """The form that is printed, and kept in the folder."""
    return "pdf" if "pdf" in paper.forms else paper.forms[0]


def watched(desk: Desk, path: Path) -> str:
    """The ids of the files whose change makes a sheet one of an earlier issue."""
    ids = []
    for one in (path, *_made_from(path)):
        with suppress(MillprepError):
            ids.append(desk.files.of(one))
    return " ".join(ids)


def _kept_as(one: Opened, form: str, found: Made) -> str:
    """The names of what was just kept, as they stand in the folder."""
    if form not in one.paper.forms:
        return ""
    names = [file_name(one.source, one.paper, form, one.wanted)]
    if form == one.paper.forms[0]:
        names = [*found.files]
    there = (name for name in names if one.source.path.with_name(name).is_file())
    return ", ".join(map(shown_name, there))


def _name_of(one: Opened) -> str:
    if isinstance(named := _data_of(one.source.path).get("assembly"), str):
        return named
    with suppress(MillprepError):
        return piece_of(one.desk, one.source.path).name
    return one.source.path.stem


def _setups(one: Opened) -> tuple[int, ...]:
    """The numbers to choose from; none of a stack, where the number is typed."""
    if one.paper.whose == "assembly" or "setup" not in one.paper.takes or one.wanted.stack:
        return ()
    with suppress(MillprepError):
        judged = looked_at(one.desk, piece_of(one.desk, one.source.path)).judged
        if judged is not None and judged.prepared is not None:
            return judged.prepared.setup_numbers
    return ()


def printed(request: Request) -> Response:
    """The PDF that the command line makes, in a tab of its own."""
    one = _opened(request)
    name, data = next(iter(_ready(one, "pdf").files.items()))
    return handed_out(data, name, "pdf", "inline")


def copy(request: Request) -> Response:
    """The same bytes, saved where the browser saves."""
    one = _opened(request)
    form = request.query_params.get("form", _kept_form(one.paper))
    files = _ready(one, form).files
    asked = request.query_params.get("file", "" if len(files) > 1 else "0")
    if not asked:
        raise RefusedError(409, "those are several files: choose one holding first")
    if asked not in map(str, range(len(files))):
        raise RefusedError(404, "this sheet has no such file any more")
    name, data = [*files.items()][int(asked)]
    return handed_out(data, name, form, "attachment")


def page(request: Request) -> Response:
    """A page to work with, whose ticks the browser keeps."""
    one = _opened(request)
    if one.name not in _WITH_TICKS:
        raise RefusedError(404, "this sheet is no page to work with")
    return alone(next(iter(_ready(one, "html").files.values())))


async def keep(request: Request) -> Response:
    """The sheet put into the folder, by the rules of the command line."""
    one = _opened(request)
    given = await one.desk.json_of(request)
    form = str(given.get("form", _kept_form(one.paper)))
    await run_in_threadpool(_keep, one, form)
    return JSONResponse({"go": one.address(kept=form)})


def _keep(one: Opened, form: str) -> None:
    with inputs_noted():
        files = _ready(one, form).files
        places = {one.source.path.with_name(name): data for name, data in files.items()}
        for place in places:
            if place.is_symlink() or not place.resolve().is_relative_to(one.desk.folder):
                name = shown_name(place.name)
                raise RefusedError(409, f"{name} is a link to elsewhere, and was left alone")
        try:
            write_files(places)
        except MillprepError as error:
            raise RefusedError(409, _left_alone(error)) from None


def _left_alone(error: MillprepError) -> str:
    """Why a sheet was not kept, and what to do at the desk."""
    told = [f"{shown_name(Path(f.file or '').name)} {f.message}" for f in error.findings]
    return f"{'; '.join(told)}: nothing was written. Save a copy, or give that file another name"


ROUTES = [
    Route("/sheet/{id}/papers", links),
    Route("/sheet/{id}/paper/{sheet}", sheet),
    Route("/sheet/{id}/paper/{sheet}/print", printed),
    Route("/sheet/{id}/paper/{sheet}/copy", copy),
    Route("/sheet/{id}/paper/{sheet}/page", page),
    Route("/sheet/{id}/paper/{sheet}/keep", keep, methods=["POST"]),
]
