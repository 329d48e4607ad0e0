"""A table that a person keeps as CSV: rows by the names in its header, each fault with its line.

Columns stand between commas, semicolons or tabs, whichever the header uses; figures may have a
decimal comma where the columns do not stand between commas. Blank lines and lines that begin with
# say nothing. Imports layer 0.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path

from millprep.base.bounds import MOST_COLUMNS, MOST_FAULTS, MOST_ROWS
from millprep.base.findings import Finding, MillprepError
from millprep.base.plain_text import cell_text
from millprep.base.records import frozen
from millprep.base.units import MM_PER_INCH, Units, read_length, shown
from millprep.infiles.file_bytes import Kind, read_bytes, text_of, unreadable
from millprep.infiles.wording import nearest

_CSV = Kind(
    ".csv",
    "it holds a line a hole; is it another?",
    "save the table as CSV in UTF-8",
    "save the table as CSV",
)
_SEPARATORS = {";": "semicolons", "\t": "tabs", ",": "commas"}
_LINE_END = re.compile(r"\r\n|\n|\r")
_FIGURE = re.compile(r"[+-]?(\d{1,40}\.?\d{0,40}|\.\d{1,40})([eE][+-]?\d{1,2})?")
_DECIMAL_COMMA = re.compile(r"^([+-]?\d*),(\d+)(?![\d.,])")
_DECIMAL = re.compile(r"[+-]?\d+[.,]\d+")


class CsvFaults:
    """The faults of one file, in the order found."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.findings: list[Finding] = []
        self._untold = 0

    def add(
        self, kind: str, line: int | None, message: str, remedy: str = "", hole: str | None = None
    ) -> None:
        if len(self.findings) == MOST_FAULTS:
            self._untold += 1
            return
        holes = (hole,) if hole else ()
        self.findings.append(
            Finding("stop", kind, message, remedy, file=self.path, line=line, holes=holes)
        )

    def raise_if_any(self) -> None:
        """Raises MillprepError with every fault so far, in the order of the lines."""
        if not self.findings:
            return
        told = sorted(self.findings, key=lambda finding: finding.line or 0)
        if self._untold:
            message = f"{self._untold} more faults of this file are not told"
            told.append(Finding("stop", "many-findings", message, "", file=self.path))
        raise MillprepError(*told)


@frozen
class CsvRow:
    """The cells of one line by column, trimmed; an empty one is ""."""

    line: int
    cells: dict[str, str]


@frozen
class CsvFile:
    """A table, read. `has_decimal_comma`: figures may be written so."""

    path: str
    header: tuple[str, ...]
    rows: tuple[CsvRow, ...]
    has_decimal_comma: bool = False

    def length_mm(self, words: str, units: Units) -> float:
        """A cell as a length. Raises WordError."""
        return float(figure_mm(words, units, self.has_decimal_comma))


def read_csv(
    path: str | Path, needed: Sequence[str], optional: Sequence[str], faults: CsvFaults
) -> CsvFile:
    """The rows of the file; those with the wrong number of columns are faults and left out.

    Raises MillprepError for what is no such table at all.
    """
    name = str(path)
    text = text_of(read_bytes(Path(path), name, _CSV), name, _CSV)
    count = max(text.count("\n"), text.count("\r"))
    if count > MOST_ROWS:
        raise unreadable(name, f"holds {count:,} lines", f"at most {MOST_ROWS:,} in one file")
    lines = list(_said(text))
    if not lines:
        raise unreadable(name, "holds no lines", f"its first line is {','.join(needed)}")
    (head_line, head), *below = lines
    separator = next((mark for mark in _SEPARATORS if mark in head), ",")
    columns = head.count(separator) + 1
    if columns > MOST_COLUMNS:
        raise unreadable(name, f"has {columns:,} columns", f"at most {MOST_COLUMNS:,}", head_line)
    header = _header(
        _cells(head, separator, head_line, faults), head_line, needed, optional, faults
    )
    if not set(needed) <= set(header):
        faults.raise_if_any()
    rows = [_row(line, text, separator, header, faults) for line, text in below]
    return CsvFile(name, header, tuple(row for row in rows if row is not None), separator != ",")


def figure_mm(words: str, units: Units, has_decimal_comma: bool = False) -> Fraction:
    """A length in a cell, exactly: as a drawing writes it, or as a computer does (1.2e-05).

    Raises WordError.
    """
    plain = _DECIMAL_COMMA.sub(r"\1.\2", words) if has_decimal_comma else words
    plain = plain.replace("−", "-")
    if _FIGURE.fullmatch(plain) is None:
        return read_length(plain, units)
    figure = Fraction(plain.rstrip("."))
    read_length(float(figure), units)  # refuses what is beyond any workshop
    return figure * MM_PER_INCH if units == "inch" else figure


def _said(text: str) -> Iterator[tuple[int, str]]:
    """(line, text) of the lines that say something: separators alone do not."""
    for line, words in enumerate(_LINE_END.split(text), 1):
        if words.strip(" \t;,") and not words.lstrip(' \t"').startswith("#"):
            yield line, words


def _cells(text: str, separator: str, line: int, faults: CsvFaults) -> list[str]:
    """The cells of one line; a quotation mark that is not closed is a fault, not a long cell."""
    if (count := text.count(separator)) > MOST_COLUMNS:
        faults.add("bad-row", line, f"{count + 1:,} columns", f"at most {MOST_COLUMNS:,}")
        return []
    try:
        (cells,) = csv.reader([text], delimiter=separator, strict=True, skipinitialspace=True)
    except (csv.Error, ValueError):
        faults.add(
            "bad-row",
            line,
            "the quotation marks of this line do not close",
            'write each cell in quotes to its end, and a mark within as "": "3/8"""',
        )
        return []
    return [cell_text(" ".join(cell.split())) for cell in cells]


def _header(
    cells: list[str], line: int, needed: Sequence[str], optional: Sequence[str], faults: CsvFaults
) -> tuple[str, ...]:
    """The names of the columns; "" for one without."""
    known = (*needed, *optional)
    header = tuple(cell.lower() for cell in cells)
    remedy = f"the first line is {','.join(needed)}, and where wanted {', '.join(optional)}"
    for name in header:
        if name and name not in known:
            likely = nearest(name, known)
            hint = f'did you mean "{likely}"? ' if likely else ""
            faults.add("unknown-key", line, f"no column is called {shown(name)}", hint + remedy)
    for name in dict.fromkeys(header):
        if name and header.count(name) > 1:
            faults.add("bad-row", line, f'the column "{name}" stands twice', "leave one of them")
    missing = [name for name in needed if name not in header]
    if missing:
        words = " and ".join(f'"{name}"' for name in missing)
        noun = "columns" if len(missing) > 1 else "column"
        faults.add("missing-key", line, f"the header lacks the {noun} {words}", remedy)
    return header


def _row(
    line: int, text: str, separator: str, header: tuple[str, ...], faults: CsvFaults
) -> CsvRow | None:
    cells = _cells(text, separator, line, faults)
    if not cells:
        return None
    if len(cells) != len(header):
        message = f"{_columns(len(cells))}, and the header names {len(header)}"
        faults.add("bad-row", line, message, _why_uneven(cells, separator, len(header)))
        return None
    named = zip(header, cells, strict=True)
    stray = next((cell for name, cell in named if cell and not name), None)
    if stray is not None:
        message = f"{shown(stray)} stands in a column without a name"
        faults.add("bad-row", line, message, "name the column, or leave it empty")
        return None
    return CsvRow(line, dict(zip(header, cells, strict=True)))


def _columns(count: int) -> str:
    return f"{count} column{'' if count == 1 else 's'}"


def _why_uneven(cells: list[str], separator: str, wanted: int) -> str:
    others = [mark for mark in _SEPARATORS if mark != separator and any(mark in c for c in cells)]
    if len(cells) < wanted and others:
        return f"this table has its columns between {_SEPARATORS[separator]}: keep to one mark"
    if len(cells) > wanted and separator == "," and _DECIMAL_COMMA.match(",".join(cells[-2:])):
        return "write decimals with a point, or put semicolons between the columns of all lines"
    return "leave a cell empty where nothing is known, and put names with a comma in quotes"
