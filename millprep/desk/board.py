"""The drawing sheet of a part: figures beside the plan, findings in red pencil, cures."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.desk import changing
from millprep.desk.altered import figures_altered
from millprep.desk.desk import Desk
from millprep.desk.drawer import NOT_TICKED, until_ticked
from millprep.desk.judging import Sight, cured, letters, looked_at, with_letters
from millprep.desk.own_shop import text_of_shop
from millprep.desk.piece import Piece
from millprep.desk.piece_page import Given, answer_of, doing, moved_to, opened, piece_of
from millprep.desk.refusals import RefusedError
from millprep.desk.saying import Said, said
from millprep.proven.curing import with_cure
from millprep.proven.elevations import elevations, figures_of, looks
from millprep.proven.hanging import what_hangs_on


def drawing(request: Request) -> Response:
    """The views, each where a plan has it; each hole marked with the line that it is of."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    sight = looked_at(desk, piece)
    part = None if sight.judged is None else sight.judged.part
    board = None
    if part is not None:
        prepared = sight.judged.prepared if sight.judged is not None else None
        projection = "first" if prepared is None else prepared.shop.projection
        board = elevations(part, projection, piece.text)
    ids = [] if piece.follows else [line.id for line in piece.lines()]
    return desk.page(request, "board.html.j2", board=board, id=known, ids=ids, piece=piece)


def look(request: Request) -> Response:
    """How the pens' classes look."""
    return Response(looks(), media_type="text/css")


def compare(request: Request) -> Response:
    """Every figure of the file in turn, to be agreed to with the plan beside it."""
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    return desk.page(
        request,
        "compare.html.j2",
        id=known,
        piece=piece,
        figures=_figures(piece, looked_at(desk, piece)),
    )


def _figures(piece: Piece, sight: Sight) -> list[dict[str, object]]:
    """Of each figure: what it is, as typed, and whether it was agreed to as it is."""
    part = None if sight.judged is None else sight.judged.part
    found, known = [], letters(piece, sight)
    for one in figures_of(part, piece.text) if part is not None else ():
        name = f"{one.table} {one.line} {one.key}"
        agreed = piece.pencil.agreed.get(name) == one.text
        at = "title-block" if one.line is None else f"lines-{one.table}"
        if one.line is not None and one.line < len(ids := piece.ids(one.table)):
            at = f"line-{ids[one.line]}"
        words = with_letters(one.words, known)
        found.append({"name": name, "figure": one, "agreed": agreed, "at": at, "words": words})
    return found


def agree(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """The person has found the figure on the plan as it stands here."""
    piece, name = piece_of(desk, path), str(given.get("name", ""))
    piece.pencil.agreed[name] = str(given.get("text", ""))
    piece.kept.pencil(piece.pencil.kept(), "figures compared with the plan")
    return {"agreed": name}


@frozen
class Mark:
    """A finding as it stands in the margin.

    slug  : the same for the same words; lines : ids and letters of the lines that it is about
    cure  : what a button does, "" where nothing is to be done by one
    alters: whether that alters the drawing, which is to be confirmed
    """

    slug: str
    finding: Finding
    said: Said
    lines: tuple[tuple[str, str], ...] = ()
    cure: str = ""
    alters: bool = False


def margin(request: Request) -> Response:
    """The findings, without cures; the page asks for those next."""
    return _margin(request, with_cures=False)


def cures(request: Request) -> Response:
    return _margin(request, with_cures=True)


def _margin(request: Request, *, with_cures: bool) -> Response:
    desk, known, path = opened(request)
    piece = piece_of(desk, path)
    sight = looked_at(desk, piece)
    findings = cured(piece, sight) if with_cures else sight.findings
    if findings is None:  # the part was changed while they were looked for
        return Response(status_code=204)
    told, marks = until_ticked(findings, text_of_shop(desk)), _Marks(piece, sight)
    return desk.page(
        request,
        "red_pencil.html.j2",
        piece=piece,
        id=known,
        marks=[marks.of(one) for one in told if one.message != NOT_TICKED],
        is_to_be_ticked=any(one.message == NOT_TICKED for one in told),
        are_cures_to_come=not with_cures and sight.is_read,
        faults=sight.faults,
    )


class _Marks:
    """What turns findings into marks of one sheet."""

    def __init__(self, piece: Piece, sight: Sight) -> None:
        self.names = [line.name for line in piece.of_table("hole")]
        self.letters = letters(piece, sight)
        lines = piece.lines()
        self.line_of = {line.name: (line.id, line.letter) for line in lines if line.name}
        by_letter = {line.letter: (line.id, line.letter) for line in lines}
        self.line_of |= {
            name: by_letter[letter.partition(" ")[0]] for name, letter in self.letters.items()
        }

    def of(self, finding: Finding) -> Mark:
        there = {
            hole if hole in self.line_of else hole.rpartition(" ")[0] for hole in finding.holes
        }
        lines = tuple(sorted({self.line_of[one] for one in there if one in self.line_of}))
        told = said(finding, self.names)
        told = replace(
            told,
            sentence=with_letters(told.sentence, self.letters),
            do=with_letters(told.do, self.letters),
        )
        is_cure = finding.cure is not None and bool(finding.cure.edits)
        alters = finding.cure is not None and finding.cure.changes == "drawing"
        return Mark(slug_of(finding), finding, told, lines, told.do if is_cure else "", alters)


def slug_of(finding: Finding) -> str:
    said = f"{finding.kind} {finding.holes} {finding.message}"
    return hashlib.sha256(said.encode()).hexdigest()[:12]


def confirm(request: Request) -> Response:
    """What a cure that alters the drawing changes, old and new, and what hangs on it."""
    desk, known, path = opened(request)
    piece, finding = _asked(desk, path, request.query_params.get("finding", ""))
    assert finding.cure is not None  # so it was asked for
    old, new = piece.text, with_cure(piece.text, finding.cure)
    return desk.page(
        request,
        "cure.html.j2",
        id=known,
        finding=finding,
        slug=slug_of(finding),
        figures=figures_altered(old, new),
        said=said(finding, [line.name for line in piece.of_table("hole")]),
        hanging=what_hangs_on(path, desk.files.paths()),
    )


def apply(desk: Desk, path: Path, given: Given) -> dict[str, Any]:
    """A cure put into the file; one that alters the drawing must have been agreed to."""
    _, finding = _asked(desk, path, str(given.get("finding", "")))
    cure = finding.cure
    if cure is None or (cure.changes == "drawing" and given.get("agreed") is not True):
        raise RefusedError(400, "that alters the drawing: it has to be agreed to")
    what = f"cured: {finding.message}"
    made = changing.put_edits(desk.kept.of(path), lambda text: with_cure(text, cure), what)
    return answer_of(desk, path, made) | moved_to(desk, path)


def _asked(desk: Desk, path: Path, slug: str) -> tuple[Piece, Finding]:
    piece = piece_of(desk, path)
    for one in cured(piece, looked_at(desk, piece)) or ():
        if slug_of(one) == slug and one.cure is not None:
            return piece, one
    raise RefusedError(409, "that is not so any more: the part was changed meanwhile")


ROUTES = [
    Route("/sheet/{id}/board", drawing),
    Route("/sheet/{id}/compare", compare),
    Route("/sheet/{id}/agree", doing(agree), methods=["POST"]),
    Route("/elevations.css", look),
    Route("/sheet/{id}/red-pencil", margin),
    Route("/sheet/{id}/red-pencil/cures", cures),
    Route("/sheet/{id}/cure", confirm),
    Route("/sheet/{id}/cure", doing(apply), methods=["POST"]),
]
