"""What stands on the pages of a PDF, and where: words, boxes, rules; nothing else is let pass.

Of the page's operators only those that place words, lines and boxes are known; any other, another
typeface, a pale pen, or what is pinned to the page or turns it, is refused: what is read here is
what a person sees. What stands in a picture is not read, and nothing that is read may stand where
one does; in it only lines, curves, areas in black or white and words are known.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.errors import PyPdfError
from pypdf.generic import ContentStream

from millprep.base.records import frozen, replace
from millprep.base.units import shown
from millprep.reading.pages.printed import UnreadableSheet

MM = 25.4 / 72
LEFT_MM, TABLE_MM, NARROW_MM, EDGE_MM = 15.0, 22.0, 132.0, 195.0
_GUTTER_MM, _COLUMN_EDGE_MM = 92.0, 89.0  # of a page in two columns; where its left one ends
_RIGHT_MM = 80.0  # by how much the right one stands farther to the right
NEAR_MM = 0.5
_SHEET_MM = 210.0, 297.0  # A4: ISO 216
_BOLD, _PLAIN = "/Helvetica-Bold", "/Helvetica"
_FONT = {"/Type": "/Font", "/Subtype": "/Type1", "/Encoding": "/WinAnsiEncoding"}
_PAGE = frozenset(("/Type", "/Parent", "/Resources", "/Contents", "/MediaBox"))
_PALEST, _WIDEST_PT = 0.75, 1.5  # of a pen
_SMALLEST_PT = 4.0
_BOX_MM = 2.0, 5.0
_CAPITAL = 0.718  # height over the size: Adobe's metrics of Helvetica
# Source: the same, thousandths of the size, from the blank to the tilde; its figures and signs are
# as wide in bold.
_WIDTHS = (
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
)  # fmt: skip
_OTHER_WIDTH = 556  # the en dash among them


def width_pt(words: str, size_pt: float) -> float:
    """How long words come out in points; those in bold come out a little longer."""
    letters = (ord(one) - ord(" ") for one in words)
    wide = sum(_WIDTHS[n] if 0 <= n < len(_WIDTHS) else _OTHER_WIDTH for n in letters)
    return wide / 1000 * size_pt


@frozen
class Words:
    """Words that begin at a place [mm], from the left and from the lower edge."""

    x_mm: float
    y_mm: float
    words: str
    size_pt: float
    is_bold: bool

    @property
    def end_mm(self) -> float:
        """Where they end; those in bold may end a little farther on."""
        return self.x_mm + width_pt(self.words.rstrip(" "), self.size_pt) * MM


@frozen
class Mark:
    """A "box" to tick, a "rule" from edge to edge, the faint "end" of a row, or the "gutter" down
    between two columns from y_mm to low_mm; "columns" : what follows is set in two of them."""

    kind: str
    y_mm: float
    end_mm: float = EDGE_MM
    start_mm: float = LEFT_MM
    low_mm: float = 0.0


@frozen
class BaseLine:
    """What stands on one base line, from left to right."""

    y_mm: float
    words: tuple[Words, ...]
    has_box: bool = False


Ink = BaseLine | Mark


def _is_under(picture: Box, one: Words | Mark) -> bool:
    """Whether what is read stands where a picture is drawn."""
    if isinstance(one, Words):
        left, low, top = one.x_mm, one.y_mm, one.y_mm + _CAPITAL * one.size_pt * MM
    else:
        left, low, top = one.start_mm, one.low_mm or one.y_mm, one.y_mm
    is_across = left < picture.right_mm and picture.left_mm < one.end_mm
    return is_across and low < picture.top_mm and picture.low_mm < top


def pages_of(data: bytes) -> Iterator[list[Ink]]:
    """What each page shows, from the top down. Raises UnreadableSheet."""
    try:
        reader = PdfReader(io.BytesIO(data), strict=True)
        for page in reader.pages:
            _check_page(page)
            operations = ContentStream(page.get_contents(), reader).operations
            reading, pictures = apart(operations)
            drawn = list(_Pen(_faces(page)).drawn(reading))
            if any(_is_under(picture, one) for picture in pictures for one in drawn):
                raise UnreadableSheet("a picture stands where something is to be read")
            yield [one for region in _regions(drawn) for one in _from_the_top(region)]
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
        raise UnreadableSheet(f"not the PDF of a sheet: {fault}") from None


def _check_page(page: PageObject) -> None:
    """Nothing is pinned to the page, turns it or cuts it."""
    size = [float(one) * MM for one in page.mediabox]
    is_whole = all(abs(a - b) < NEAR_MM for a, b in zip(size, (0.0, 0.0, *_SHEET_MM), strict=True))
    if not is_whole or not _PAGE.issuperset(map(str, page)):
        raise UnreadableSheet("something is pinned to the page, or turns it or cuts it")


def _faces(page: PageObject) -> dict[str, bool]:
    """Whether they are bold, by the page's names for them."""
    faces = {}
    resources: Any = page["/Resources"]
    for name, one in resources["/Font"].items():
        font = {str(key): str(value) for key, value in one.get_object().items()}
        base = font.pop("/BaseFont")
        if font != _FONT or base not in (_BOLD, _PLAIN):
            raise UnreadableSheet(f"a typeface of another kind: {shown(base)}")
        faces[str(name)] = base == _BOLD
    return faces


_ACROSS = tuple(
    (kind, left + more, ends)
    for more, ends in ((0.0, (EDGE_MM, NARROW_MM, _COLUMN_EDGE_MM)), (_RIGHT_MM, (EDGE_MM,)))
    for kind, left in (("rule", LEFT_MM), ("end", TABLE_MM))
)
"""Lines across a page or a column of one: where they begin, and where they may end."""


class _Pen:
    """Follows the operators of a page."""

    def __init__(self, faces: Mapping[str, bool]) -> None:
        self.faces = faces
        self.is_bold, self.size_pt = False, 0.0
        self.at: tuple[float, float] | None = None
        self.path: list[tuple[float, ...]] = []

    def drawn(self, operations: list[tuple[Any, bytes]]) -> Iterator[Words | Mark]:
        """What the page shows, in the order drawn."""
        for operands, operator in operations:
            name = operator.decode("latin-1")
            if name == "Tf":
                self.is_bold, self.size_pt = self.faces[operands[0]], float(operands[1])
            elif name in ("BT", "ET"):
                self.at = None
            elif name == "Tj":
                yield self._words(operands[0].original_bytes.decode("cp1252"))
            elif name == "S":
                yield self._mark()
                self.path = []
            elif name in ("w", "G"):
                if not 0 <= float(operands[0]) <= (_WIDEST_PT if name == "w" else _PALEST):
                    raise UnreadableSheet("a pen of another kind")
            elif name in ("Td", "m", "l", "re"):
                self._place(name, tuple(float(one) * MM for one in operands))
            elif name != "J":  # how lines end
                raise UnreadableSheet(f"the page is drawn with {shown(name)}")

    def _place(self, name: str, at: tuple[float, ...]) -> None:
        if name != "Td":
            self.path.append(at)
        elif self.at is None:
            self.at = at[0], at[1]
        else:
            raise UnreadableSheet("words are placed twice")

    def _words(self, words: str) -> Words:
        if self.at is None or self.size_pt < _SMALLEST_PT:
            raise UnreadableSheet(f"{shown(words)} stands nowhere, or too small")
        found = Words(*self.at, words, self.size_pt, self.is_bold)
        is_on_page = found.x_mm > LEFT_MM - NEAR_MM and found.end_mm < EDGE_MM + NEAR_MM
        if not is_on_page or not words.strip():
            raise UnreadableSheet(f"{shown(words)} stands beside the page")
        self.at = -1.0, -1.0  # the words move it on: it is not known where to
        return found

    def _mark(self) -> Mark:
        if len(self.path) == 1 and len(self.path[0]) == 4:
            x, y, wide, high = self.path[0]
            low, most = _BOX_MM
            is_at_left = any(abs(x - LEFT_MM - more) < NEAR_MM for more in (0.0, _RIGHT_MM))
            if is_at_left and low < wide < most and low < abs(high) < most:
                return Mark("box", min(y, y + high), x + wide, x)
        if len(self.path) == 2 and len(self.path[0]) == len(self.path[1]) == 2:
            (start, y), (end, other) = self.path
            if abs(start - end) < 0.01 and abs(start - _GUTTER_MM) < NEAR_MM and y > other:
                return Mark("gutter", y, start, start, other)
            for kind, left, ends in _ACROSS:
                is_whole = any(abs(end - one) < NEAR_MM for one in ends)
                if abs(start - left) < NEAR_MM and is_whole and abs(y - other) < 0.01:
                    return Mark(kind, y, end, start)
        raise UnreadableSheet("a line or a box that no sheet has")


def _regions(drawn: list[Words | Mark]) -> Iterator[list[Words | Mark]]:
    """What is read one after the other: of a page in columns what stands above them, each column as
    if it stood at the left, and the foot. What stands below a second rule of the left column comes
    behind the right one."""
    gutters = [one for one in drawn if isinstance(one, Mark) and one.kind == "gutter"]
    if not gutters:
        yield drawn
        return
    if len(gutters) > 1:
        raise UnreadableSheet("a page of more than two columns")
    (gutter,) = gutters
    others = [one for one in drawn if one is not gutter]
    below = [one for one in others if one.y_mm <= gutter.y_mm]
    inside = [one for one in below if one.y_mm > gutter.low_mm - NEAR_MM]
    left = [one for one in inside if _starts_mm(one) < _GUTTER_MM]
    right = [_shifted(one) for one in inside if _starts_mm(one) > _GUTTER_MM]
    if any(one.end_mm > _GUTTER_MM for one in left):
        raise UnreadableSheet("something stands across two columns")
    rules = sorted(one.y_mm for one in left if isinstance(one, Mark) and one.kind == "rule")
    end_mm = rules[-2] if len(rules) > 1 else -1.0
    yield [one for one in others if one.y_mm > gutter.y_mm]
    yield [Mark("columns", gutter.y_mm)]
    yield [one for one in left if one.y_mm > end_mm]
    yield right
    yield [one for one in left if one.y_mm <= end_mm]
    yield [one for one in below if one not in inside]


def _high_mm(line: BaseLine) -> float:
    """How high its capitals are."""
    return max(_CAPITAL * one.size_pt * MM for one in line.words)


def _starts_mm(one: Words | Mark) -> float:
    return one.x_mm if isinstance(one, Words) else one.start_mm


def _shifted(one: Words | Mark) -> Words | Mark:
    """As it would stand in the left column."""
    if isinstance(one, Words):
        return replace(one, x_mm=one.x_mm - _RIGHT_MM)
    return replace(one, start_mm=one.start_mm - _RIGHT_MM, end_mm=one.end_mm - _RIGHT_MM)


def _from_the_top(drawn: list[Words | Mark]) -> list[Ink]:
    """Base lines and marks. Raises UnreadableSheet where one thing lies on another."""
    found: list[Ink] = []
    line: list[Words | Mark] = []
    for one in sorted(drawn, key=lambda one: -one.y_mm):
        is_rule = isinstance(one, Mark) and one.kind != "box"
        if line and (is_rule or line[0].y_mm - one.y_mm > NEAR_MM):
            found.append(_base_line(line))
            line = []
        if isinstance(one, Mark) and is_rule:
            found.append(one)
        else:
            line.append(one)
    found += [_base_line(line)] if line else []
    for above, below in pairwise(found):
        room = _high_mm(below) if isinstance(below, BaseLine) else 0.0
        if above.y_mm - below.y_mm < room:
            raise UnreadableSheet("one line lies on another")
    return found


def _base_line(line: list[Words | Mark]) -> BaseLine:
    words = sorted((one for one in line if isinstance(one, Words)), key=lambda one: one.x_mm)
    boxes = len(line) - len(words)
    if boxes > 1 or not words:
        raise UnreadableSheet("a box to tick that nothing belongs to")
    for one, other in pairwise(words):
        if one.end_mm > other.x_mm:
            raise UnreadableSheet(f"{shown(other.words)} lies on {shown(one.words)}")
    return BaseLine(words[0].y_mm, tuple(words), bool(boxes))


# pictures

_BEGINS, _ENDS, _NAME = "BMC", "EMC", "/Picture"
_PLACES = {"m": 1, "l": 1, "c": 3, "Td": 1}
_KNOWN = frozenset(("BT", "ET", "S", "f", "h", "w", "G", "g", "J", "j"))
Operation = tuple[Any, bytes]
Matrix = tuple[float, float, float, float, float, float]
_UNTURNED: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@frozen
class Box:
    """The box around all that a picture draws [mm], from the left and from the lower edge."""

    left_mm: float
    low_mm: float
    right_mm: float
    top_mm: float


def apart(operations: Sequence[Operation]) -> tuple[list[Operation], list[Box]]:
    """What stands outside pictures, and where these are. Raises UnreadableSheet."""
    outside: list[Operation] = []
    boxes: list[Box] = []
    inside: list[Operation] | None = None
    for operands, operator in operations:
        name = operator.decode("latin-1")
        if name == _BEGINS and inside is None and [str(one) for one in operands] == [_NAME]:
            inside = []
        elif name == _ENDS and inside is not None:
            boxes.append(_box_of(inside))
            inside = None
        else:
            (outside if inside is None else inside).append((operands, operator))
    if inside is not None:
        raise UnreadableSheet("a picture that does not end")
    return outside, boxes


def _box_of(operations: Sequence[Operation]) -> Box:
    places = [*_places(operations)]
    if not places:
        raise UnreadableSheet("a picture of nothing")
    xs, ys = ([MM * one for one in values] for values in zip(*places, strict=True))
    box = Box(min(xs), min(ys), max(xs), max(ys))
    wide, high = _SHEET_MM
    if box.left_mm < 0 or box.low_mm < 0 or box.right_mm > wide or box.top_mm > high:
        raise UnreadableSheet("a picture leaves the page")
    return box


def _places(operations: Sequence[Operation]) -> Iterator[tuple[float, float]]:
    """Every place that is drawn to, in points; handles of curves, around these, among them."""
    held: list[Matrix] = []
    matrix, size_pt, at = _UNTURNED, 0.0, (0.0, 0.0)
    for operands, operator in operations:
        name = operator.decode("latin-1")
        numbers: list[float] = []
        if name == "q":
            held.append(matrix)
        elif name == "Q" and held:
            matrix = held.pop()
        elif name == "cm":
            matrix = _after(tuple(map(float, operands)), matrix)  # type: ignore[arg-type]  # six
        elif name == "Tf":
            size_pt = float(operands[1])
        elif name == "Tj":
            words = operands[0].original_bytes.decode("cp1252")
            end, top = at[0] + width_pt(words, size_pt), at[1] + _CAPITAL * size_pt
            numbers = [*at, end, at[1], at[0], top, end, top]
        elif name in _PLACES:
            numbers = [float(one) for one in operands][: 2 * _PLACES[name]]
            at = (numbers[0], numbers[1]) if name == "Td" else at
        elif name not in _KNOWN:
            raise UnreadableSheet(f"a picture is drawn with {shown(name)}")
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            a, b, c, d, e, f = matrix
            yield a * x + c * y + e, b * x + d * y + f


def _after(inner: Matrix, outer: Matrix) -> Matrix:
    """What first does the inner, then the outer."""
    a, b, c, d, e, f = inner
    p, q, r, s, t, u = outer
    return (
        a * p + b * r,
        a * q + b * s,
        c * p + d * r,
        c * q + d * s,
        e * p + f * r + t,
        e * q + f * s + u,
    )
