"""Pictures on the pages of a PDF: where each stands, between its marks; what it shows is not read.

Of a picture only lines, curves, areas in black or white and words are known; any other operator is
refused, and so is what leaves the page. Imports base.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from millprep.base.records import frozen
from millprep.base.units import shown
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.widths import width_pt

_MM = 25.4 / 72
_BEGINS, _ENDS, _NAME = "BMC", "EMC", "/Picture"
_PLACES = {"m": 1, "l": 1, "c": 3, "Td": 1}
_KNOWN = frozenset(("BT", "ET", "S", "f", "h", "w", "G", "g", "J", "j"))
_CAPITAL = 0.718  # height over the size: Adobe's metrics of Helvetica
_PAGE_MM = 210.0, 297.0  # A4: ISO 216
Operation = tuple[Any, bytes]
Matrix = tuple[float, float, float, float, float, float]
_PLAIN: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


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
    xs, ys = ([_MM * one for one in values] for values in zip(*places, strict=True))
    box = Box(min(xs), min(ys), max(xs), max(ys))
    if box.left_mm < 0 or box.low_mm < 0 or box.right_mm > _PAGE_MM[0] or box.top_mm > _PAGE_MM[1]:
        raise UnreadableSheet("a picture leaves the page")
    return box


def _places(operations: Sequence[Operation]) -> Iterator[tuple[float, float]]:
    """Every place that is drawn to, in points; handles of curves, around these, among them."""
    held: list[Matrix] = []
    matrix, size_pt, at = _PLAIN, 0.0, (0.0, 0.0)
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
