"""Published tables: one TOML file each, figures as printed, the source beside them.

A file holds `columns`, the `key` columns that must rise from row to row, the `rows`, `[source]`,
and in `[notes]` what concerns single rows, by key ("1", "10 x 1.25"). An empty cell, "", is a
figure that the document does not give. Numbers are read as `Decimal`, so a printed figure stays
what was printed until the one conversion to millimetres. Imports the standard library and layer 0.
"""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from millprep.base.records import frozen
from millprep.base.units import MM_PER_INCH

DATA = Path(__file__).parent / "data"  # importlib.resources takes as long as all the rest
HOW = ("read", "recalled", "formula", "common practice")
Row = dict[str, Any]


@frozen
class Source:
    """Where a figure comes from.

    title, edition, table : of the document; note : what a user of the figures must know
    how     : "read" in the document, "recalled" from memory of it, "formula" or "common practice"
    checked : what else than their second typing the tests hold the figures against
    differs : where published tables disagree, and why this one has what it has
    """

    title: str
    edition: str
    table: str
    note: str
    how: str
    checked: str
    differs: str = ""

    @property
    def document(self) -> str:
        """Title and edition as documents are cited: "ISO 273:1979"."""
        if not self.edition:
            return self.title
        return f"{self.title}{':' if self.edition.isdigit() else ', '}{self.edition}"

    @property
    def cite(self) -> str:
        """The source in one phrase, fit to stand behind a figure."""
        if self.how == "recalled":
            return f"from memory of {self.document}"
        if self.how == "common practice":
            return f"common practice: {self.document}"
        return f"{self.document}, by formula" if self.how == "formula" else self.document


@frozen
class Table:
    """One table: rows in the order printed, each a dict by column; rising and unique in `key`.

    A row that something is said about has it under "note".
    """

    name: str
    source: Source
    columns: tuple[str, ...]
    key: tuple[str, ...]
    rows: tuple[Row, ...]


@cache
def load_table(name: str) -> Table:
    """The table in `data/<name>.toml`. ValueError if the file breaks the rules of tables."""
    return parse_table(name, (DATA / f"{name}.toml").read_text("utf-8"))


def parse_table(name: str, text: str) -> Table:
    """The table that a TOML text holds; ValueError names the table and the row at fault."""
    raw = tomllib.loads(text, parse_float=Decimal)
    source = Source(**raw["source"])
    if source.how not in HOW:
        raise ValueError(f"table {name}: how = {source.how!r} is none of {HOW}")
    columns, key = tuple(raw["columns"]), tuple(raw["key"])
    rows = []
    for number, cells in enumerate(raw["rows"], 1):
        if len(cells) != len(columns):
            raise ValueError(f"table {name}, row {number}: {len(cells)} cells, not {len(columns)}")
        rows.append(dict(zip(columns, cells, strict=True)))
    ranks = [tuple(_rank(row[column]) for column in key) for row in rows]
    for number in range(1, len(ranks)):
        if ranks[number - 1] >= ranks[number]:
            raise ValueError(f"table {name}, row {number + 1}: key does not rise")
    _annotate(name, rows, key, raw.get("notes", {}))
    return Table(name, source, columns, key, tuple(rows))


def _annotate(name: str, rows: list[Row], key: tuple[str, ...], notes: dict[str, str]) -> None:
    """Put each row's note beside its cells; ValueError for a note on no row."""
    by_key = {_key_words(row, key): row for row in rows} if notes else {}
    for words, note in notes.items():
        if words not in by_key:
            raise ValueError(f"table {name}: a note on {words!r}, which is no row")
        by_key[words]["note"] = note


def row_notes(table: Table) -> dict[str, str]:
    """What is said about single rows, by key in words ("1", "10 x 1.25")."""
    return {_key_words(row, table.key): row["note"] for row in table.rows if "note" in row}


def _key_words(row: Row, key: tuple[str, ...]) -> str:
    return " x ".join(str(row[column]) for column in key)


def table_names() -> tuple[str, ...]:
    """The name of every table in the package, in alphabetical order."""
    return tuple(sorted(path.stem for path in DATA.glob("*.toml")))


def _rank(cell: Any) -> Decimal | Fraction | str:
    """What a key cell sorts by: its number, its inch size ("#10", "1/4"), or its text."""
    if isinstance(cell, int | Decimal):
        return Decimal(cell)
    size = screw_inches(cell)
    return cell.casefold() if size is None else size


def screw_inches(size: str) -> Fraction | None:
    """Inches of a size word: "1/4", "1 3/16", "2"; "#10" by the number screw rule of ASME B1.1."""
    if match := re.fullmatch(r"#(\d+)", size):
        return Fraction(60 + 13 * int(match[1]), 1000)
    if match := re.fullmatch(r"(?:(\d+) )?(\d+)/([1-9]\d*)", size):
        return Fraction(int(match[1] or 0)) + Fraction(int(match[2]), int(match[3]))
    return Fraction(int(size)) if re.fullmatch(r"\d+", size) else None


def inches_to_mm(inches: Decimal | Fraction | int) -> float:
    """A printed inch figure in millimetres, converted exactly and rounded to a float once."""
    return float(Fraction(inches) * MM_PER_INCH)


def figure_mm(row: Row, column: str) -> float | None:
    """A figure printed in mm, or in inches as a decimal or a fraction; None if it is not given."""
    if f"{column}_mm" in row:
        cell = row[f"{column}_mm"]
        return None if cell == "" else float(cell)
    cell = row.get(f"{column}_in", "")
    if cell == "":
        return None
    return size_mm(cell) if isinstance(cell, str) else inches_to_mm(cell)


def given_mm(row: Row, column: str) -> float:
    """A figure that every row of its column has: the tests hold that."""
    value_mm = figure_mm(row, column)
    assert value_mm is not None
    return value_mm


def size_mm(size: str) -> float:
    """A size word of a table [mm]: the tests hold every such column."""
    inches = screw_inches(size)
    assert inches is not None
    return inches_to_mm(inches)


def major_mm(row: Row) -> float:
    """Major diameter [mm] of the screw that a row is for, printed in mm or as a size in inches."""
    return float(row["major_mm"]) if "major_mm" in row else size_mm(row["size"])
