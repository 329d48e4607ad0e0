"""A card of the board: a piece or an assembly, how it stands, and its picture.

Imports `desk`, `judging`, `piece`, `own_shop`, `drawer`.
"""

from __future__ import annotations

import base64
import threading
from collections import Counter, OrderedDict
from collections.abc import Sequence
from pathlib import Path

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import frozen
from millprep.desk.desk import Desk
from millprep.desk.drawer import until_ticked
from millprep.desk.files import shown
from millprep.desk.judging import looked_at
from millprep.desk.own_shop import text_of_shop
from millprep.desk.piece import Piece
from millprep.proven.elevations import part_picture, pictures_side_by_side
from millprep.proven.hanging import sheets_of

_MOST = 600
_SEEN: OrderedDict[tuple[str, ...], Card] = OrderedDict()
_LOCK = threading.Lock()


@frozen
class Card:
    """What a card says, but of what lies beside it: pencil and sheets.

    picture : SVG; drawing : an assembly's, as the address of an image; is_read : False where its
    file does not read; mark : as its sheets bear it
    """

    name: str
    size: str = ""
    material: str = ""
    picture: str = ""
    drawing: str = ""
    stops: int = 0
    warnings: int = 0
    is_read: bool = True
    mark: str = ""
    follows: str = ""
    is_assembly: bool = False


@frozen
class Lying:
    """What lies beside a part: lines in pencil, sheets in the folder, those of an earlier issue."""

    pencil: int
    sheets: int
    earlier: int


def card_of(desk: Desk, path: Path, beside: Sequence[Path] = ()) -> Card:
    """beside : the other hands, in the order in which they stand. Raises Gone."""
    piece = Piece(desk.kept.of(path), path)
    key = (str(path), piece.state.mark, *map(str, beside), str(sorted(desk.numbers().items())))
    with _LOCK:
        if key in _SEEN:
            return _SEEN[key]
    card = _assembly(desk, piece) if "assembly" in piece.title else _part(desk, piece, beside)
    with _LOCK:
        _SEEN[key] = card
        while len(_SEEN) > _MOST:
            _SEEN.popitem(last=False)
    return card


def lying_by(desk: Desk, path: Path, card: Card) -> Lying:
    """Looked at anew each time: a sheet may be made by the command line."""
    pencil = Piece(desk.kept.of(path), path).pencil.lines
    sheets = sheets_of(card.name, desk.files.paths())
    earlier = [one for one in sheets if one.stamp and card.mark and one.stamp != card.mark]
    return Lying(pencil, len(sheets), len(earlier))


def lead_of(desk: Desk, piece: Piece) -> tuple[str, str] | None:
    """Id and name of the piece that this one follows; None where it is none, or lies outside."""
    if not piece.follows:
        return None
    try:
        path = (piece.path.parent / piece.follows).resolve()
        known = desk.files.of(path)
        return known, Piece(desk.kept.of(path), path).name
    except (MillprepError, OSError):
        return None


def _part(desk: Desk, piece: Piece, beside: Sequence[Path]) -> Card:
    sight = looked_at(desk, piece)
    part = None if sight.judged is None else sight.judged.part
    lead = lead_of(desk, piece)
    source = piece if lead is None else _piece(desk, desk.files.path_of(lead[0]))
    stops, warnings = _counts(desk, (*sight.findings, *sight.faults))
    picture = ""
    if part is not None:
        hands = [_piece(desk, one) for one in beside]
        parts = [None if (s := looked_at(desk, one).judged) is None else s.part for one in hands]
        found = [one for one in parts if one is not None]
        at = beside.index(piece.path) if piece.path in beside else 0
        is_pair = len(found) == len(beside) > 1
        picture = pictures_side_by_side(found)[at] if is_pair else part_picture(part)
    return Card(
        piece.name if part is None else part.name,
        _size(source),
        source.title.get("material", ""),
        picture,
        "",
        stops,
        warnings,
        part is not None,
        "" if part is None else part.mark,
        "" if lead is None else lead[1],
    )


def _assembly(desk: Desk, piece: Piece) -> Card:
    from millprep.proven.assembly import drawn, judged

    name = piece.title["assembly"]
    try:
        found = judged(piece.path, desk.shop)
    except MillprepError as error:
        return Card(name, stops=len(error.findings), is_read=False, is_assembly=True)
    stops, warnings = _counts(desk, found.findings)
    drawing = base64.b64encode(drawn(found, ".svg")).decode()
    members = len({key.split(".")[1] for key in piece.title if key.startswith("members.")})
    size = f"{members} members"
    picture = f"data:image/svg+xml;base64,{drawing}"
    return Card(name, size, "", "", picture, stops, warnings, is_assembly=True)


def _piece(desk: Desk, path: Path) -> Piece:
    return Piece(desk.kept.of(path), path)


def _counts(desk: Desk, findings: Sequence[Finding]) -> tuple[int, int]:
    """Stops and warnings; what the drawer lacks is none until it has been ticked."""
    found = Counter(one.severity for one in until_ticked(findings, text_of_shop(desk)))
    return found["stop"], found["warning"]


def _size(piece: Piece) -> str:
    """As it was typed: 2 1/2 x 1 1/4 x 1 1/2 in; dia 1 3/4 x 3/8 in."""
    title, unit = piece.title, "in" if piece.units == "inch" else "mm"
    if "stock.diameter" in title:
        bore = f", bore {title['stock.bore']}" if title.get("stock.bore") else ""
        figures = f"dia {title['stock.diameter']} x {title.get('stock.length') or '?'}{bore}"
    elif sides := [title.get(f"stock.size.{n}", "") for n in range(3)]:
        figures = " x ".join(side or "?" for side in sides) if any(sides) else ""
    return shown(f"{figures} {unit}") if figures else ""
