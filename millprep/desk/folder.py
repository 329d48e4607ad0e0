"""The folder's page: what lies on the board, a card each, hands side by side."""

from __future__ import annotations

import base64
import re
import threading
from collections import Counter, OrderedDict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path, PurePosixPath

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import frozen
from millprep.desk.desk import Desk
from millprep.desk.drawer import until_ticked
from millprep.desk.files import Filed, shown
from millprep.desk.forms import severity_label
from millprep.desk.held_folder import is_conflicted_copy
from millprep.desk.judging import looked_at
from millprep.desk.kept import Gone
from millprep.desk.own_shop import SHOP_ID, answers_of, questions, text_of_shop
from millprep.desk.piece import Piece
from millprep.desk.refusals import RefusedError
from millprep.proven.elevations import part_picture, pictures_side_by_side
from millprep.proven.hanging import sheets_of

WORDS = {
    "assembly": "an assembly",
    "shop": "the shop of this folder",
    "program": "a drilling program",
    "other": "no part and no assembly",
    "link": "a link to elsewhere: not opened here",
    "unread": "cannot be read",
}


def board(request: Request) -> Response:
    """Every file of the folder, a card each; what each card says comes when it is looked at."""
    desk: Desk = request.app.state.desk
    found = boards(desk)
    return desk.page(
        request,
        "folder.html.j2",
        boards=found,
        is_empty=not any(one.stands for one in found),
        words=WORDS,
        is_conflicted=is_conflicted_copy,
        questions=questions(),
        answers=answers_of(desk),
        shop_id=SHOP_ID,
        taken_away=[(desk.files.of(one.path), one.path.name) for one in desk.kept.taken_away()],
    )


def card(request: Request) -> Response:
    """What a card says. In the query, `beside`: the ids of all hands, as they stand."""
    desk: Desk = request.app.state.desk
    known = str(request.path_params["id"])
    path = desk.files.path_of(known)
    ids = [one for one in request.query_params.get("beside", "").split(",") if one]
    try:
        found = card_of(desk, path, [desk.files.path_of(one) for one in ids])
    except Gone:  # the page lays its cards anew
        return Response(status_code=204)
    return desk.page(
        request,
        "card.html.j2",
        card=found,
        id=known,
        lying=lying_by(desk, path, found),
        label=severity_label,
        file=path.name,
    )


_MOST = 600
_SEEN: OrderedDict[tuple[str, ...], Card] = OrderedDict()
_LOCK = threading.Lock()


@frozen
class Card:
    """What a card says, but of what lies beside it: pencil and sheets.

    picture : SVG; drawing : an assembly's, as the address of an image; is_read : False where its
    file does not read; line : of its text, at which it first does not, 0 where none is to blame
    mark : as its sheets bear it
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
    line: int = 0


@frozen
class Lying:
    """What lies beside a part: lines in pencil, sheets in the folder, those of an earlier issue."""

    pencil: int
    sheets: int
    earlier: int


def card_of(desk: Desk, path: Path, beside: Sequence[Path] = ()) -> Card:
    """beside : the other hands, in the order in which they stand. Raises Gone."""
    piece = Piece(desk.kept.of(path))
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
    pencil = Piece(desk.kept.of(path)).pencil.lines
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
        return known, Piece(desk.kept.of(path)).name
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
        line=next((one.line for one in sight.faults if one.line), 0),
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
    return Piece(desk.kept.of(path))


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


_FOLLOWS = re.compile(rb"""^\s*opposite_hand_of\s*=\s*["']([^"'\n]+)["']""", re.MULTILINE)
ON_THE_BOARD = ("part", "assembly")


@frozen
class Board:
    """What lies in the folder or in one below it. within : its name, "" for the folder itself

    stands : a piece with its other hands, as they stand side by side; then the assemblies
    others : files that are neither part nor assembly
    """

    within: str
    stands: tuple[tuple[Filed, ...], ...]
    others: tuple[Filed, ...]


def boards(desk: Desk) -> list[Board]:
    """The folder, then those below it."""
    files = desk.files.listing()
    by_name = {one.name: one for one in files if one.kind == "part"}
    leads = {name: lead for name, lead in _leads(desk, by_name.values()) if lead in by_name}
    places = dict.fromkeys(str(PurePosixPath(one.name).parent) for one in files)
    return [_board(place, files, leads) for place in places]


def _board(place: str, files: Iterable[Filed], leads: Mapping[str, str]) -> Board:
    here = [one for one in files if str(PurePosixPath(one.name).parent) == place]
    hands: dict[str, list[Filed]] = {}
    for one in here:
        if one.kind == "part":
            hands.setdefault(_first_hand(one.name, leads), []).append(one)
    stands = [tuple(sorted(each, key=_from_left)) for each in hands.values()]
    stands += [(one,) for one in here if one.kind == "assembly"]
    others = tuple(one for one in here if one.kind not in ON_THE_BOARD)
    return Board("" if place == "." else shown(place), tuple(stands), others)


def _leads(desk: Desk, parts: Iterable[Filed]) -> Iterator[tuple[str, str]]:
    """Of each piece that is another hand: its file, and that of the piece which it follows."""
    for one in parts:
        try:
            found = _FOLLOWS.search(desk.files.read(one.id))
        except RefusedError:
            continue
        if found is not None:
            lead = PurePosixPath(one.name).parent / found[1].decode("utf-8", "replace")
            yield one.name, str(lead)


def _first_hand(name: str, leads: Mapping[str, str]) -> str:
    """The piece that a hand follows in the end; a ring of them is broken anywhere."""
    seen = {name}
    while name in leads and leads[name] not in seen:
        name = leads[name]
        seen.add(name)
    return name


def _from_left(one: Filed) -> tuple[bool, str]:
    """What its name calls the right hand stands to the right."""
    return bool(re.search(r"right|\br\.?h\b", one.name, re.IGNORECASE)), one.name


ROUTES = [Route("/", board), Route("/card/{id}", card)]
