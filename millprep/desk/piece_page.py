"""The page of a part, what changes on it, and the text of its file beside the form."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from millprep.desk import changing
from millprep.desk.changing import Changed
from millprep.desk.desk import Desk
from millprep.desk.folder import lead_of
from millprep.desk.line_form import line_form, title_groups
from millprep.desk.pencil import TABLES, TITLE
from millprep.desk.piece import Piece, ShownLine
from millprep.desk.refusals import RefusedError
from millprep.proven.editing import faults_in

Given = Mapping[str, Any]


def opened(request: Request) -> tuple[Desk, str, Path]:
    """The desk, and the id and path of the file that the address names."""
    desk: Desk = request.app.state.desk
    known = str(request.path_params["id"])
    return desk, known, desk.files.path_of(known)


def piece_of(desk: Desk, path: Path) -> Piece:
    return Piece(desk.kept.of(path))


def doing(do: Callable[[Desk, Path, Given], dict[str, Any]]) -> Callable[[Request], Any]:
    """A route of one change of a file by what the page sent, answered with what comes of it."""

    async def done(request: Request) -> Response:
        desk, _, path = opened(request)
        given = await desk.json_of(request)
        return JSONResponse(await run_in_threadpool(do, desk, path, given))

    return done


def page(request: Request) -> Response:
    """The whole sheet."""
    desk, known, path = opened(request)
    if (kind := desk.files.kind_of(known)) in ("assembly", "shop"):
        return RedirectResponse("/shop" if kind == "shop" else f"/assembly/{known}")
    piece = piece_of(desk, path)
    forms = {table: [line_form(piece, line) for line in piece.lines(table)] for table in TABLES}
    return desk.page(
        request,
        "piece.html.j2",
        piece=piece,
        id=known,
        forms=forms,
        title=title_groups(piece),
        kept=desk.kept.of(path),
        unsaid=_unsaid(piece),
        lead=lead_of(desk, piece),
    )


def lines(request: Request) -> Response:
    """The marks of the lines as they are now, and the lines themselves of the ids asked for."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    shown = {line.id: line for table in TABLES for line in piece.lines(table)}
    wanted = [one for one in request.query_params.get("ids", "").split(",") if one in shown]
    return JSONResponse(
        {
            "marks": {one: f"{line.mark}{_unsaid(piece)}" for one, line in shown.items()}
            if piece.is_followed
            else None,
            "lines": [_line(desk, piece, known, shown[one]) for one in wanted],
            "title": _title(desk, piece, known),
            "steps": _steps(desk, piece, known),
            "number": piece.state.number,
        }
    )


def _unsaid(piece: Piece) -> str:
    """What all lines show that no line says: another where that is."""
    said = {key: value for key, value in piece.title.items() if key.split(".")[0] in _FOR_ALL}
    return hashlib.sha256(repr(sorted(said.items())).encode()).hexdigest()[:6]


_FOR_ALL = ("defaults", "datum", "units")


def _line(desk: Desk, piece: Piece, known: str, line: ShownLine) -> str:
    others = piece.ids(line.table)
    place = others.index(line.id)
    template = desk.templates.get_template("piece_line.html.j2")
    made: str = template.render(
        form=line_form(piece, line),
        piece=piece,
        id=known,
        after=f"line-{others[place - 1]}" if place else "",
        mark=f"{line.mark}{_unsaid(piece)}",
    )
    return made.strip()


def more(request: Request) -> Response:
    """The boxes of a line that are shown when they are asked for."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    line = piece.line(str(request.path_params["line"]))
    if line is None:
        raise RefusedError(404, "that line is not in the list any more")
    form = line_form(piece, line)
    return desk.page(request, "piece_more.html.j2", form=form, id=known)


def _title(desk: Desk, piece: Piece, known: str) -> str:
    template = desk.templates.get_template("piece_title.html.j2")
    return template.render(title=title_groups(piece), piece=piece, id=known).strip()


def _steps(desk: Desk, piece: Piece, known: str) -> str:
    template = desk.templates.get_template("piece_steps.html.j2")
    return template.render(kept=piece.kept, piece=piece, id=known).strip()


Change = Callable[[Desk, Path, Given], Changed]


def _change(what: Change, *, is_shown_anew: bool = False) -> Callable[[Request], Any]:
    """A route of one change, that answers with what is to be renewed, or with the whole page."""

    def changed(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
        try:
            made = what(desk, path, given)
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            why = f"the page asked for something that is not there: {error}"
            raise RefusedError(400, why) from None
        return answer_of(desk, path, made) | (moved_to(desk, path) if is_shown_anew else {})

    return doing(changed)


def moved_to(desk: Desk, path: Path) -> dict[str, Any]:
    """The sheet shown anew."""
    return {"moved_to": f"/sheet/{desk.files.of(path)}"}


def answer_of(desk: Desk, path: Path, made: Changed) -> dict[str, Any]:
    """What became of a change, and what of the page is to be renewed."""
    known = desk.files.of(path)
    if (clash := made.clash) is not None:
        told = {
            "mine": clash.mine,
            "theirs": clash.theirs,
            "before": {clash.key: clash.theirs},
            "words": f"{clash.called} was changed elsewhere meanwhile.",
        }
        return {"clash": told}
    piece = piece_of(desk, path)
    desk.count(known)  # pencil is in no file that is looked at
    answer: dict[str, Any] = {
        "kept": piece.state.clock,
        "number": piece.state.number,
        "steps": _steps(desk, piece, known),
        "say": made.why[0] if made.why else "",
        "lines": [],
    }
    if made.told:
        answer["told"] = made.told
    if made.line == TITLE:
        answer |= {"title": _title(desk, piece, known), "stands": piece.settled_title}
    elif (line := piece.line(made.line)) is None:
        answer["gone"] = [made.line] if piece.is_followed else []
    else:
        answer |= {"lines": [_line(desk, piece, known, line)], "stands": line.settled}
        if made.is_new:
            answer["focus"] = f"#line-{made.line} [data-key]"
    return answer


def _texts(given: Given, name: str) -> dict[str, str]:
    found = given.get(name, {})
    if not isinstance(found, dict):
        raise TypeError(name)
    return {str(key): str(value) for key, value in found.items()}


def _figure(desk: Desk, path: Path, given: Given) -> Changed:
    typed, before = _texts(given, "typed"), _texts(given, "before")
    return changing.put_figures(desk.kept.of(path), str(given["line"]), typed, before)


def _add(desk: Desk, path: Path, given: Given) -> Changed:
    table = str(given.get("table", "hole"))
    if table not in TABLES:
        raise KeyError(table)
    lead = lead_of(desk, piece_of(desk, path))
    if lead is not None:
        raise RefusedError(409, f"this piece follows {lead[1]}: alter it there")
    return changing.add_line(desk.kept.of(path), table, _texts(given, "typed"))


def _remove(desk: Desk, path: Path, given: Given) -> Changed:
    return changing.remove_line(desk.kept.of(path), str(given["line"]))


def _another_place(desk: Desk, path: Path, given: Given) -> Changed:
    return changing.another_place(desk.kept.of(path), str(given["line"]))


def _move(desk: Desk, path: Path, given: Given) -> Changed:
    return changing.move_line(desk.kept.of(path), str(given["line"]), int(given["by"]))


def _strike(desk: Desk, path: Path, given: Given) -> Changed:
    return changing.strike_out(desk.kept.of(path), str(given["line"]))


async def _step(request: Request) -> Response:
    """Back or forward from the state that the page shows; then it is shown anew."""
    desk, known, path = opened(request)
    given, way = await desk.json_of(request), str(request.path_params["way"])
    kept = desk.kept.of(path)
    step = kept.step_back if way == "back" else kept.step_forward
    await run_in_threadpool(step, int(given["seen"]) if "seen" in given else None)
    desk.count(known)
    return JSONResponse({"moved_to": f"/sheet/{known}"})


def _letters(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """What is being typed in a box, kept until its box is left."""
    line, key, value = str(given.get("line", "")), str(given.get("key", "")), given.get("value")
    text = None if value is None else str(value)
    changing.put_letters(desk.kept.of(path), line, key, text)
    return {}


def text_of(request: Request) -> Response:
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


def put_text(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """The text put into the file; in pencil where it does not read."""
    text, based_on = str(given.get("text", "")), str(given.get("based_on", ""))
    if "\r\n" in piece_of(desk, path).text:  # a page has plain line ends
        text = text.replace("\r\n", "\n").replace("\n", "\r\n")
    made = changing.put_text(desk.kept.of(path), text, based_on)
    faults = [] if made.clash else faults_in(text, path)
    told = [{"line": one.line, "message": one.message, "remedy": one.remedy} for one in faults]
    return answer_of(desk, path, made) | {"faults": told, "mark": made.state.mark}


ROUTES = [
    Route("/sheet/{id}", page),
    Route("/sheet/{id}/lines", lines),
    Route("/sheet/{id}/more/{line}", more),
    Route("/sheet/{id}/figure", _change(_figure), methods=["POST"]),
    Route("/sheet/{id}/add", _change(_add), methods=["POST"]),
    Route("/sheet/{id}/another-place", _change(_another_place), methods=["POST"]),
    Route("/sheet/{id}/remove", _change(_remove), methods=["POST"]),
    Route("/sheet/{id}/move", _change(_move, is_shown_anew=True), methods=["POST"]),
    Route("/sheet/{id}/strike-out", _change(_strike), methods=["POST"]),
    Route("/sheet/{id}/step/{way:str}", _step, methods=["POST"]),
    Route("/sheet/{id}/letters", doing(_letters), methods=["PUT"]),
    Route("/sheet/{id}/text", text_of),
    Route("/sheet/{id}/text", doing(put_text), methods=["PUT"]),
]
