"""A table that a person keeps as CSV: rows by the names in its header, each fault with its line.

Columns stand between commas, semicolons or tabs, whichever the header uses; figures may have a
decimal comma where the columns do not stand between commas. Blank lines and lines that begin with #
say nothing, but for a number drill before other cells.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path

from millprep.base.bounds import MOST_COLUMNS, MOST_ROWS
from millprep.base.findings import WordError
from millprep.base.plain_text import cell_text, counted
from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH, Units, read_length, shown
from millprep.infiles.file_bytes import Kind, read_bytes, text_of, unreadable
from millprep.infiles.told import Told
from millprep.infiles.wording import folded, meant, nearest
from millprep.model.part import Part

CSV = Kind(
    ".csv",
    "it holds a line a hole; is it another?",
    "save the table as CSV in UTF-8",
    "save the table as CSV",
)
_MM: Units = "mm"
_INCH: Units = "inch"
UNIT_WORDS = {
    **dict.fromkeys(("mm", "millimetre", "millimetres"), _MM),
    **dict.fromkeys(("inch", "inches", "in", '"'), _INCH),
}
_MANY_NAMES = 8
SEPARATORS = {";": "semicolons", "\t": "tabs", ",": "commas"}
_LINE_END = re.compile(r"\r\n|\n|\r")
_FIGURE = re.compile(r"[+-]?(\d{1,40}\.?\d{0,40}|\.\d{1,40})([eE][+-]?\d{1,2})?")
DECIMAL_COMMA = re.compile(r"^([+-]?\d*),(\d+)(?![\d.,])")
_COMMENT = re.compile(
    r'[ \t"]*#(?!\d{1,3}\b(?:.*[;,\t]| +[-+.\d]))'
)  # "#7; 20; 20" is a drill's line


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


class PartRows:
    """Reads the cells of a table about a part; what is wrong is noted at its line.

    about : the hole that messages about a row are led by; may be empty
    """

    def __init__(self, part: Part, path: str | Path) -> None:
        self.part = part
        self.faults = Told(str(path))
        self._names = {folded(hole.name): hole.name for hole in part.holes}

    def add(self, kind: str, row: CsvRow, about: str, message: str, remedy: str = "") -> None:
        """One fault of a row."""
        text = f"{about}: {message}" if about else message
        self.faults.stop_at(kind, row.line, text, remedy, about)

    def known(self, given: str) -> str | None:
        """The part's hole of that name; capitals and blanks make no difference."""
        return self._names.get(folded(given))

    def hole(self, row: CsvRow, about: str, given: str) -> str | None:
        """The part's hole of that name, or None with the fault noted."""
        name = self.known(given)
        if not given:
            self.add("missing-key", row, about, "no hole is named", "write the hole's name")
        elif name is None:
            names = list(self._names.values())
            within = (one for one in names if folded(given) in folded(one))
            hint = meant(next(within, None) or nearest(given, names))
            listed = ", ".join(names[:_MANY_NAMES]) + (", ..." if len(names) > _MANY_NAMES else "")
            message = f"the part has no hole {shown(given)}"
            self.faults.stop_at("unknown-word", row.line, message, f"{hint}its holes: {listed}")
        return name

    def units(self, row: CsvRow, about: str) -> Units:
        """The unit of a row's plain figures; the part's where it names none."""
        given = row.cells.get("unit", "")
        units = UNIT_WORDS.get(given.lower())
        if given and units is None:
            message = f"unit: {shown(given)} is no unit"
            self.add("unknown-word", row, about, message, "accepted: mm, inch")
        return units or self.part.units

    def length_mm(
        self, row: CsvRow, about: str, column: str, table: CsvFile, units: Units
    ) -> float | None:
        """A cell as a length; None where it is empty, or no length, which is noted."""
        words = row.cells.get(column, "")
        if not words:
            return None
        try:
            return table.length_mm(words, units)
        except WordError as error:
            self.add("bad-value", row, about, f"{column}: {error.message}", error.remedy)
            return None


def read_csv(
    path: str | Path, needed: Sequence[str], optional: Sequence[str], faults: Told
) -> CsvFile:
    """The rows of the file; those with the wrong number of columns are faults and left out.

    Raises MillprepError for what is no such table at all.
    """
    name = str(path)
    text = text_of(read_bytes(Path(path), name, CSV), name, CSV)
    count = max(text.count("\n"), text.count("\r"))
    if count > MOST_ROWS:
        raise unreadable(name, f"holds {count:,} lines", f"at most {MOST_ROWS:,} in one file")
    lines = list(said_lines(text))
    if not lines:
        raise unreadable(name, "holds no lines", f"its first line is {','.join(needed)}")
    (head_line, head), *below = lines
    separator = next((mark for mark in SEPARATORS if mark in head), ",")
    columns = head.count(separator) + 1
    if columns > MOST_COLUMNS:
        raise unreadable(name, f"has {columns:,} columns", f"at most {MOST_COLUMNS:,}", head_line)
    cells = cells_of(head, separator, head_line, faults)
    header = _header(cells, separator, head_line, needed, optional, faults)
    if not set(needed) <= set(header):
        faults.raise_if_any()
    rows = [row_of(line, text, separator, header, faults) for line, text in below]
    return CsvFile(name, header, tuple(row for row in rows if row is not None), separator != ",")


def pieces_in(path: str | Path) -> list[str]:
    """The names in the column `piece` of a table, each once; none where it has no such column.

    Raises MillprepError for what is no table at all.
    """
    name, faults = str(path), Told(str(path))
    lines = [*said_lines(text_of(read_bytes(Path(path), name, CSV), name, CSV))]
    if not lines:
        return []
    separator = next((mark for mark in SEPARATORS if mark in lines[0][1]), ",")
    (_, head), *rows = [(line, cells_of(text, separator, line, faults)) for line, text in lines]
    at = [one.lower() for one in head].index("piece") if "piece" in map(str.lower, head) else None
    return [] if at is None else [*dict.fromkeys(row[at] for _, row in rows if len(row) > at)]


def of_piece(table: CsvFile, piece: str | None) -> CsvFile:
    """The rows of one piece; all where none is named."""
    rows = tuple(row for row in table.rows if piece in (None, row.cells.get("piece", "")))
    return replace(table, rows=rows)


def figure_mm(words: str, units: Units, has_decimal_comma: bool = False) -> Fraction:
    """A length in a cell, exactly: as a drawing writes it, or as a computer does (1.2e-05).

    Raises WordError.
    """
    plain = DECIMAL_COMMA.sub(r"\1.\2", words) if has_decimal_comma else words
    plain = plain.replace("−", "-")
    if _FIGURE.fullmatch(plain) is None:
        return read_length(plain, units)
    figure = Fraction(plain.rstrip("."))
    read_length(float(figure), units)  # refuses what is beyond any workshop
    return figure * MM_PER_INCH if units == "inch" else figure


def said_lines(text: str) -> Iterator[tuple[int, str]]:
    """(line, text) of the lines that say something: separators alone do not."""
    for line, words in enumerate(_LINE_END.split(text), 1):
        if says_something(words):
            yield line, words


def says_something(line: str) -> bool:
    """Whether a line is neither a comment nor blank but for separators."""
    return bool(line.strip(" \t;,")) and _COMMENT.match(line) is None


def cells_of(text: str, separator: str, line: int, faults: Told) -> list[str]:
    """The cells of one line; a quotation mark that is not closed is a fault, not a long cell."""
    if (count := text.count(separator)) > MOST_COLUMNS:
        faults.stop_at("bad-row", line, f"{count + 1:,} columns", f"at most {MOST_COLUMNS:,}")
        return []
    try:
        (cells,) = csv.reader([text], delimiter=separator, strict=True, skipinitialspace=True)
    except (csv.Error, ValueError):
        remedy = 'write each cell in quotes to its end, and a mark within as "": "3/8"""'
        faults.stop_at("bad-row", line, "the quotation marks of this line do not close", remedy)
        return []
    return [cell_text(" ".join(cell.split())) for cell in cells]


def _header(
    cells: list[str],
    separator: str,
    line: int,
    needed: Sequence[str],
    optional: Sequence[str],
    faults: Told,
) -> tuple[str, ...]:
    """The names of the columns; "" for one without."""
    known = (*needed, *optional)
    header = tuple(cell.lower() for cell in cells)
    remedy = f"write {','.join(needed)}, and where wanted {', '.join(optional)}"
    if not set(needed) <= set(header) and not set(header) <= {*known, ""}:
        found = shown(separator.join(cells)).strip('"')
        message = f"the first line should be {separator.join(needed)}; found {found}"
        odd = [name for name in header if name not in known]
        likely = next(filter(None, (nearest(name, needed) for name in odd)), None)
        faults.stop_at("missing-key", line, message, meant(likely) + remedy)
        return header
    for name in header:
        if name and name not in known:
            hint = meant(nearest(name, known))
            faults.stop_at("unknown-key", line, f"no column is called {shown(name)}", hint + remedy)
    for name in dict.fromkeys(header):
        if name and header.count(name) > 1:
            faults.stop_at(
                "bad-row", line, f'the column "{name}" is there twice', "leave one of them"
            )
    missing = [name for name in needed if name not in header]
    if missing:
        words = " and ".join(f'"{name}"' for name in missing)
        noun = "columns" if len(missing) > 1 else "column"
        faults.stop_at("missing-key", line, f"the header lacks the {noun} {words}", remedy)
    return header


def row_of(
    line: int, text: str, separator: str, header: tuple[str, ...], faults: Told
) -> CsvRow | None:
    """A line by the columns of its header, or None with its fault noted."""
    cells = cells_of(text, separator, line, faults)
    if not cells:
        return None
    if len(cells) != len(header):
        message = f"{counted(len(cells), 'column')}, and the header names {len(header)}"
        faults.stop_at("bad-row", line, message, _why_uneven(cells, separator, len(header)))
        return None
    named = zip(header, cells, strict=True)
    stray = next((cell for name, cell in named if cell and not name), None)
    if stray is not None:
        message = f"{shown(stray)} is in a column without a name"
        faults.stop_at("bad-row", line, message, "name the column, or leave it empty")
        return None
    return CsvRow(line, dict(zip(header, cells, strict=True)))


def _why_uneven(cells: list[str], separator: str, wanted: int) -> str:
    others = [mark for mark in SEPARATORS if mark != separator and any(mark in c for c in cells)]
    if len(cells) < wanted and others:
        return f"this table has its columns between {SEPARATORS[separator]}: keep to one mark"
    if len(cells) > wanted and separator == "," and DECIMAL_COMMA.match(",".join(cells[-2:])):
        return "write decimals with a point, or put semicolons between the columns of all lines"
    return "leave a cell empty where nothing is known, and put names with a comma in quotes"
