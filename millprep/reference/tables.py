"""Published tables: one TOML file each, figures as printed, the source beside them.

A file holds `columns`, the `key` columns that must rise from row to row, the `rows`, and
`[source]`. Numbers are read as `Decimal`, so a printed figure stays what was printed until the one
conversion to millimetres. Imports the standard library and layer 0.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

from millprep.units import MM_PER_INCH

HOW = ("read", "recalled", "formula", "common practice")
Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from.

    title, edition, table : of the document; note : what a user of the figures must know
    how     : "read" in the document, "recalled" from memory of it, "formula" or "common practice"
    checked : what the figures were held against
    """

    title: str
    edition: str
    table: str
    note: str
    how: str
    checked: str

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


@dataclass(frozen=True, slots=True)
class Table:
    """One table: rows in the order printed, each a dict by column; rising and unique in `key`."""

    name: str
    source: Source
    columns: tuple[str, ...]
    key: tuple[str, ...]
    rows: tuple[Row, ...]


@cache
def load_table(name: str) -> Table:
    """The table in `data/<name>.toml`. ValueError if the file breaks the rules of tables."""
    text = resources.files(__package__).joinpath("data", f"{name}.toml").read_text("utf-8")
    return parse_table(name, text)


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
    return Table(name, source, columns, key, tuple(rows))


def table_names() -> tuple[str, ...]:
    """The name of every table in the package, in alphabetical order."""
    entries = resources.files(__package__).joinpath("data").iterdir()
    names = [entry.name for entry in entries if entry.name.endswith(".toml")]
    return tuple(sorted(name.removesuffix(".toml") for name in names))


def _rank(cell: Any) -> Fraction | str:
    """What a key cell sorts by: its number, its inch size ("#10", "1/4"), or its text."""
    if isinstance(cell, int | Decimal):
        return Fraction(cell)
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


def sources_markdown() -> str:
    """docs/sources.md: every table with its document, how it was come by and what checks it."""
    lines = [
        "# Where the figures come from",
        "",
        "Every table is a file in `millprep/reference/data/`, figures as printed, in the printed",
        'unit. "Recalled" means taken from memory of the document: compare with the document',
        "before something depends on it. This page is made from the tables.",
        "",
        "| table | document | part of it | how | checked against | note |",
        "|---|---|---|---|---|---|",
    ]
    for name in table_names():
        source = load_table(name).source
        cells = (name, source.document, source.table, source.how, source.checked, source.note)
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"
