"""What is marked on a sheet in red pencil: findings, worst first, and what would cure them.

Imports `judging`, `piece_page`, starlette.
"""

from __future__ import annotations

import hashlib
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.desk import changing
from millprep.desk.altered import figures_altered
from millprep.desk.drawer import NOT_TICKED, until_ticked
from millprep.desk.judging import Sight, cured, letters, looked_at, with_letters
from millprep.desk.own_shop import text_of_shop
from millprep.desk.piece import Piece
from millprep.desk.piece_page import answer_of, opened, piece_of
from millprep.desk.refusals import RefusedError
from millprep.desk.saying import Said, said
from millprep.proven.curing import with_cure
from millprep.proven.hanging import what_hangs_on


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
    piece, finding = _asked(request, request.query_params.get("finding", ""))
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


async def apply(request: Request) -> Response:
    """A cure put into the file; one that alters the drawing must have been agreed to."""
    desk, known, path = opened(request)
    given = await desk.json_of(request)
    _, finding = _asked(request, str(given.get("finding", "")))
    cure = finding.cure
    if cure is None or (cure.changes == "drawing" and given.get("agreed") is not True):
        raise RefusedError(400, "that alters the drawing: it has to be agreed to")
    kept = desk.kept.of(path)
    what = f"cured: {finding.message}"
    made = changing.put_edits(kept, path, lambda text: with_cure(text, cure), what)
    return JSONResponse(answer_of(desk, known, path, made) | {"moved_to": f"/sheet/{known}"})


def _asked(request: Request, slug: str) -> tuple[Piece, Finding]:
    desk, _, path = opened(request)
    piece = piece_of(desk, path)
    for one in cured(piece, looked_at(desk, piece)) or ():
        if slug_of(one) == slug and one.cure is not None:
            return piece, one
    raise RefusedError(409, "that is not so any more: the part was changed meanwhile")


ROUTES: list[Any] = [
    Route("/sheet/{id}/red-pencil", margin),
    Route("/sheet/{id}/red-pencil/cures", cures),
    Route("/sheet/{id}/cure", confirm),
    Route("/sheet/{id}/cure", apply, methods=["POST"]),
]
