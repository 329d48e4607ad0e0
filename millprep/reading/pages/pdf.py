"""The printed listing, read back from its finished PDF: what stands on the paper, and where.

Of the page's operators only those that place words, lines and boxes are known; any other is
refused. What stands on one base line is one line; its place across the page tells what it is:

    15       39     45                     195 mm
    LABEL    words in running text                  bold in the margin: a label
    [ ] step name          X      Y      Z          a box: a row, its figures under their heads
                    pecks to ...                    further in: belongs to the row above
    ______________________________________          a line from edge to edge: a new section

That makes the lines of a text listing, which `text` reads. Uses pypdf; imports layers 0 to 2.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Mapping
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.errors import PyPdfError
from pypdf.generic import ContentStream

from millprep.base.records import frozen
from millprep.base.units import shown
from millprep.reading.pages.printed import NUMBER, PrintedSetup, UnreadableSheet
from millprep.reading.pages.text import read_setup
from millprep.reading.pages.text_rows import LABEL_WIDTH, Lines

_MM = 25.4 / 72
_LEFT_MM, _BODY_MM, _TAIL_MM, _EDGE_MM = 15.0, 39.0, 45.0, 195.0
_INDENT_MM = 4.0
_FOOT_MM = 15.0  # from the lower edge of the page
_NEAR_MM = 0.5
_BOLD, _PLAIN = "/Helvetica-Bold", "/Helvetica"
_MINUS = "\N{EN DASH}"
_SIGNED = re.compile(rf"(?<![^ ]){_MINUS}(?=\d)")
_COUNTED = re.compile(r"page (\d+) of (\d+)", re.ASCII)
_FIGURE = re.compile(NUMBER, re.ASCII)
_AGAIN = ", continued"
_HEADS = re.compile("    (?:step|hole)  ")  # of rows, and of the table of places on a dial sheet
_PLACE_CELLS = 7
_QUIET = frozenset(("BT", "ET", "J", "w", "G"))  # begin, end, ends of lines, widths, greys


@frozen
class _Piece:
    """Words at a place [mm], from the left and from the lower edge; or a mark: box or rule."""

    x_mm: float
    y_mm: float
    words: str
    size_pt: float = 0.0
    is_bold: bool = False
    mark: str = ""


def read_pdf(data: bytes) -> tuple[PrintedSetup, ...]:
    """The setups of a listing. Raises UnreadableSheet; its lines are counted through all pages."""
    return tuple(read_setup(block) for block in pdf_setups(data))


def pdf_setups(data: bytes) -> list[Lines]:
    """The lines of each setup, as a text listing has them. Raises UnreadableSheet."""
    setups: list[Lines] = []
    pages = list(_pages(data))
    number = 0
    for count, pieces in enumerate(pages, 1):
        body = [piece for piece in pieces if piece.y_mm > _FOOT_MM]
        page = _Page(list(_base_lines(body)))
        if page.has_title:
            setups.append([])
        if not setups:
            raise UnreadableSheet("the first page has no title")
        for line in page.lines(setups[-1]):
            number += 1
            setups[-1].append((number, line))
        _check_foot([p for p in pieces if p.y_mm <= _FOOT_MM], count, len(pages), setups[-1])
    return setups


def _pages(data: bytes) -> Iterator[list[_Piece]]:
    try:
        reader = PdfReader(io.BytesIO(data), strict=True)
        for page in reader.pages:
            if page.annotations:
                raise UnreadableSheet("something is pinned to the page")
            operations = ContentStream(page.get_contents(), reader).operations
            yield list(_pieces(operations, _faces(page)))
    except (
        PyPdfError,
        LookupError,
        AttributeError,
        TypeError,
        ValueError,
        NotImplementedError,
    ) as fault:
        if isinstance(fault, UnreadableSheet):
            raise
        raise UnreadableSheet(f"not the PDF of a listing: {fault}") from None


def _faces(page: PageObject) -> dict[str, str]:
    """Typefaces by the page's names for them. Raises UnreadableSheet for any but the two."""
    faces = {}
    resources: Any = page["/Resources"]
    for name, one in resources["/Font"].items():
        font = one.get_object()
        faces[str(name)] = str(font["/BaseFont"])
        if font["/Encoding"] != "/WinAnsiEncoding" or faces[str(name)] not in (_BOLD, _PLAIN):
            raise UnreadableSheet(f"a typeface of another kind: {shown(faces[str(name)])}")
    return faces


def _pieces(operations: list[tuple[Any, bytes]], faces: Mapping[str, str]) -> Iterator[_Piece]:
    """What a page shows, in the order drawn. Raises UnreadableSheet for an operator unknown."""
    face, size, at, start, end = "", 0.0, (0.0, 0.0), (0.0, 0.0), (0.0, 0.0)
    box: tuple[float, ...] = ()
    for operands, operator in operations:
        name = operator.decode("latin-1")
        if name == "Tf":
            face, size = faces[operands[0]], float(operands[1])
        elif name == "Td":
            at = float(operands[0]) * _MM, float(operands[1]) * _MM
        elif name == "Tj":
            words = operands[0].original_bytes.decode("cp1252")
            yield _Piece(*at, words, size, face == _BOLD)
        elif name in ("m", "l"):
            start, end = end, (float(operands[0]) * _MM, float(operands[1]) * _MM)
        elif name == "re":
            box = tuple(float(one) * _MM for one in operands)
        elif name == "S":
            if box:
                yield _Piece(box[0], min(box[1], box[1] + box[3]), "", mark="box")
            elif abs(start[0] - _LEFT_MM) < _NEAR_MM and abs(end[0] - _EDGE_MM) < _NEAR_MM:
                yield _Piece(start[0], start[1], "", mark="rule")
            box = ()
        elif name not in _QUIET:
            raise UnreadableSheet(f"the page is drawn with {shown(name)}")


def _base_lines(pieces: list[_Piece]) -> Iterator[list[_Piece]]:
    """From the top down, each from left to right; a box stands a little below its base line."""
    ordered = sorted(pieces, key=lambda piece: -piece.y_mm)
    line: list[_Piece] = []
    for piece in ordered:
        if line and line[0].y_mm - piece.y_mm > _NEAR_MM:
            yield sorted(line, key=lambda one: one.x_mm)
            line = []
        line.append(piece)
    if line:
        yield sorted(line, key=lambda one: one.x_mm)


class _Page:
    """The base lines of a page, made into lines of text."""

    def __init__(self, base_lines: list[list[_Piece]]) -> None:
        self.base_lines = base_lines
        first = base_lines[0][0] if base_lines else None
        self.has_title = first is not None and first.is_bold and _is_at(first, _LEFT_MM)
        self.has_title = self.has_title and self._is_title(base_lines)

    @staticmethod
    def _is_title(base_lines: list[list[_Piece]]) -> bool:
        """A title has a second line of its own, bold too, and no rule above it."""
        below = base_lines[1][0] if len(base_lines) > 1 else None
        return (
            len(base_lines[0]) == 1
            and below is not None
            and below.is_bold
            and _is_at(below, _LEFT_MM)
            and below.words.startswith("setup ")
        )

    def lines(self, above: Lines) -> Iterator[str]:
        """The page's lines; `above` are those of its setup on the pages before."""
        rest = self.base_lines
        heads: list[_Piece] = []
        is_heading, in_force = self.has_title, ""
        if self.has_title:
            yield f"{rest[0][0].words} {rest[1][0].words}"
            rest = rest[2:]
        elif rest and _label(rest[0]) and rest[0][-1].words.endswith(_AGAIN):
            _check_again(rest[0], above)
            rest = rest[1:]
            in_force = next((line for _, line in reversed(above) if _HEADS.match(line)), "")
        waiting = ""
        for pieces in rest:
            if pieces[0].mark == "rule":
                is_heading = False
                yield "-" * 78
            elif is_heading:
                yield _heading(pieces)
            elif label := _label(pieces):
                yield from _labelled(label, pieces)
            elif _is_head(pieces):
                heads = pieces[2:] if pieces[0].words == "step" else pieces[1:]
                head = "    " + "  ".join(piece.words for piece in pieces)
                if head != in_force:
                    yield head
                in_force = ""  # it is repeated once, below the heading that is
            elif pieces[0].mark == "box" or waiting:
                row = _row(pieces, heads, waiting)
                waiting = "" if waiting or len(pieces) > 3 else row
                if not waiting:
                    yield row
            elif len(pieces) == _PLACE_CELLS:
                yield _under(f"    {pieces[0].words}", pieces[1:], heads)
            else:
                yield _indented(pieces)
        if waiting:
            raise UnreadableSheet(f"the row {shown(waiting)} has no figures")


def _is_at(piece: _Piece, x_mm: float) -> bool:
    return abs(piece.x_mm - x_mm) < _NEAR_MM


def _is_head(pieces: list[_Piece]) -> bool:
    """Whether these head a table of steps, or that of places; a hole may be called as they are."""
    words = [piece.words for piece in pieces]
    if words[0] == "step":
        return _LEFT_MM + _NEAR_MM < pieces[0].x_mm < _BODY_MM - _NEAR_MM
    return words[0] == "hole" and words[1:2] in (["X mm"], ["X in"])


def _signed(words: str) -> str:
    return _SIGNED.sub("-", words)


def _label(pieces: list[_Piece]) -> str:
    """The label in the margin, if there is one."""
    first = pieces[0]
    is_label = first.is_bold and _is_at(first, _LEFT_MM) and len(pieces) <= 2
    return first.words if is_label else ""


def _labelled(label: str, pieces: list[_Piece]) -> Iterator[str]:
    """A label that fills its column has a line of its own."""
    words = _signed(_indented(pieces[1:])).strip(" ") if len(pieces) > 1 else ""
    if len(label) < LABEL_WIDTH:
        yield f"{label:<{LABEL_WIDTH}}{words}".rstrip(" ")
        return
    yield label
    if words:
        yield " " * LABEL_WIDTH + words


def _heading(pieces: list[_Piece]) -> str:
    first = pieces[0]
    if len(pieces) == 1 and _is_at(first, _LEFT_MM):
        return first.words
    if len(pieces) == 1 and _is_at(first, _LEFT_MM + _INDENT_MM):
        return "    " + first.words
    raise UnreadableSheet(f"{shown(first.words)} stands at no place of a heading")


def _indented(pieces: list[_Piece]) -> str:
    """Running text, or what belongs to the row above it."""
    first = pieces[0]
    if len(pieces) == 1 and _is_at(first, _BODY_MM):
        return " " * LABEL_WIDTH + _signed(first.words)
    if len(pieces) == 1 and _is_at(first, _TAIL_MM):
        return " " * (LABEL_WIDTH + 2) + " ".join(_signed(first.words).split())
    raise UnreadableSheet(f"{shown(first.words)} stands at no place of its page")


def _row(pieces: list[_Piece], heads: list[_Piece], waiting: str) -> str:
    """Box, step, name and figures, each figure under its head; a long name goes before them."""
    if not waiting:
        if len(pieces) < 3 or pieces[2].mark or not _is_at(pieces[2], _BODY_MM):
            raise UnreadableSheet("a box to tick that no step belongs to")
        waiting = f"[ ]{pieces[1].words:>5}  {pieces[2].words}"
        pieces = pieces[3:]
        if not pieces:
            return waiting
    return _under(waiting, pieces, heads)


def _under(words: str, pieces: list[_Piece], heads: list[_Piece]) -> str:
    """The words and the figures, each of which must stand under its head."""
    nearest = [
        min(heads, key=lambda head: abs(head.x_mm - piece.x_mm), default=None) for piece in pieces
    ]
    if nearest != heads or any(piece.mark for piece in pieces):
        raise UnreadableSheet(f"the figures of {shown(words)} do not stand under their heads")
    return " ".join([words, *(piece.words.replace(_MINUS, "-") for piece in pieces)])


def _check_again(pieces: list[_Piece], above: Lines) -> None:
    """A heading that is repeated is the one in force."""
    label, words = pieces[0].words, pieces[-1].words.removesuffix(_AGAIN)
    starts = [i for i, (_, line) in enumerate(above) if re.match(r"(?:TOOL|HOLE|WHERE) ", line)]
    told = ""
    if starts:
        lines = [line for _, line in above[starts[-1] :]]
        told = " ".join(line.strip(" ") for line in lines[: 1 + _further(lines)])
        told = " ".join(told.split())
    if told != f"{label} {words}":
        raise UnreadableSheet(f"the page goes on with {shown(f'{label} {words}')}")


def _further(lines: list[str]) -> int:
    """How many lines a tool goes on for: until its speed is told."""
    if not lines[0].startswith("TOOL "):
        return 0
    speeds = [i for i, line in enumerate(lines) if re.search(r"^ +(?:\d.* rev/min|by hand)", line)]
    return speeds[0] - 1 if speeds else 0


def _check_foot(pieces: list[_Piece], number: int, of: int, setup: Lines) -> None:
    """Every page is there, and says which setup of which part it belongs to."""
    words = [piece.words for piece in sorted(pieces, key=lambda piece: piece.x_mm)]
    counted = _COUNTED.fullmatch(words[-1]) if words else None
    if len(words) != 2 or counted is None or counted.groups() != (str(number), str(of)):
        raise UnreadableSheet(f"page {number} of {of} says at its foot {shown(' '.join(words))}")
    heading = [line for _, line in setup[:20]]
    title = re.search(r"(.*) (setup \d+ of \d+: [A-Z]+ up)$", heading[0])
    mark = re.search(r"part mark [0-9a-f]+", " ".join(line.strip(" ") for line in heading))
    if title is None or mark is None or words[0] != f"{title[1]}, {title[2]}; {mark[0]}":
        raise UnreadableSheet(f"page {number} says at its foot that it is {shown(words[0])}")
