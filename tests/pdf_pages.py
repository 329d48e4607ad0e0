"""Pages to print taken apart: changed on purpose, measured, put into another order.

By pypdf, and by pdftotext (poppler) where places of words count.
"""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

from pypdf import PdfReader, PdfWriter
from pypdf.generic import ByteStringObject, ContentStream, FloatObject, NameObject

A4_PT = (595.28, 841.89)  # 210 x 297 mm: ISO 216

Operations = list[tuple[list[Any], bytes]]
Change = Callable[[Operations], bool]
"""Changes the operators of a page in place; False where it finds nothing to change."""


def changed(data: bytes, change: Change) -> bytes:
    """The file with one change on the first page that takes it."""
    reader = PdfReader(io.BytesIO(data))
    writer = PdfWriter(clone_from=reader)
    for page in writer.pages:
        stream = ContentStream(page.get_contents(), writer)
        operations: Operations = [([*operands], name) for operands, name in stream.operations]
        if change(operations):
            stream.operations = operations
            page[NameObject("/Contents")] = writer._add_object(stream)
            break
    else:
        raise AssertionError("the change finds nothing to change")
    return _bytes_of(writer)


def _bytes_of(writer: PdfWriter) -> bytes:
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def words_of(operation: tuple[list[Any], bytes]) -> str:
    operands, name = operation
    return operands[0].original_bytes.decode("cp1252") if name == b"Tj" else ""


def swap(old: str, new: str) -> Change:
    """Another text where the pattern is found."""

    def change(operations: Operations) -> bool:
        for index, operation in enumerate(operations):
            words = words_of(operation)
            if re.search(old, words):
                text = re.sub(old, new, words, count=1).encode("cp1252")
                operations[index] = ([ByteStringObject(text)], b"Tj")
                return True
        return False

    return change


def without(words: str) -> Change:
    """Takes everything off the base line on which the words stand."""

    def change(operations: Operations) -> bool:
        place: Any = None
        for index, operation in enumerate(operations):
            if words_of(operation) == words:
                place = operations[index - 1][0][1]
        if place is None:
            return False
        for index in reversed(range(len(operations))):
            operands, name = operations[index]
            if name == b"Td" and operands[1] == place:
                del operations[index - 1 : index + 3]
            elif name == b"re" and abs(operands[1] + operands[3] - place) < 3:
                del operations[index : index + 2]
        return True

    return change


def exchanged(one: str, other: str) -> Change:
    """Two words change places."""

    def change(operations: Operations) -> bool:
        found = {words_of(each): index for index, each in enumerate(operations)}
        if one not in found or other not in found:
            return False
        a, b = found[one], found[other]
        operations[a], operations[b] = operations[b], operations[a]
        return True

    return change


def moved(words: str, across_pt: float, up_pt: float = 0.0) -> Change:
    """Words stand elsewhere."""

    def change(operations: Operations) -> bool:
        for index, operation in enumerate(operations):
            if re.search(words, words_of(operation)):
                x, y = (float(one) for one in operations[index - 1][0])
                operations[index - 1] = (
                    [FloatObject(x + across_pt), FloatObject(y + up_pt)],
                    b"Td",
                )
                return True
        return False

    return change


def rearranged(data: bytes, order: Callable[[int], list[int]]) -> bytes:
    """The pages in another order; it is given how many there are."""
    reader, writer = PdfReader(io.BytesIO(data)), PdfWriter()
    for index in order(len(reader.pages)):
        writer.add_page(reader.pages[index])
    return _bytes_of(writer)


Word = tuple[str, float, float, float, float]
"""A word and its box [pt]: left, top, right, bottom."""


def words_in(data: bytes, folder: Path) -> list[list[Word]]:
    """Words of each page, as pdftotext sees them."""
    path = folder / "sheet.pdf"
    path.write_bytes(data)
    out = subprocess.run(
        ["pdftotext", "-bbox", str(path), "-"], capture_output=True, text=True, check=True
    ).stdout
    word = re.compile(
        r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>'
    )
    return [
        [(one[4], *map(float, one[:4])) for one in word.findall(page)]
        for page in out.split("<page ")[1:]
    ]


def overlapping(words: list[Word]) -> list[tuple[str, str]]:
    """Pairs that lie on each other; letters leave a quarter of their height free."""
    rows = sorted(words, key=lambda word: word[2])
    found = []
    for index, one in enumerate(rows):
        free = (one[4] - one[2]) / 4
        for other in rows[index + 1 :]:
            if other[2] >= one[4] - free:
                break
            is_beside = min(one[3], other[3]) - max(one[1], other[1]) <= 0.5
            if not is_beside and min(one[4], other[4]) - other[2] > free:
                found.append((one[0], other[0]))
    return found


def assert_clear(data: bytes, folder: Path) -> None:
    """No word lies on another, or nearer to an edge of the page than 10 mm, 7 mm below."""
    for words in words_in(data, folder):
        assert words
        assert overlapping(words) == []
        assert min(word[1] for word in words) > 28
        assert max(word[3] for word in words) < A4_PT[0] - 28
        assert max(word[4] for word in words) < A4_PT[1] - 20
