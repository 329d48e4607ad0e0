"""`lookup WORDS...`: what the tables hold, as text, JSON or CSV.

The readings come from `millprep.lookup`, already plain figures; the pages from `lookup_pages`. A
shop is read only when one is named, so that a bare question loads no schemas.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from millprep.base.plain_text import csv_text, json_text
from millprep.cli.common import FORMATS, chosen_format, chosen_units, emit
from millprep.cli.lookup_pages import table_text, text_of
from millprep.lookup import Reading, lookup, whole_tables
from millprep.proven.files import drills_of

__all__ = ["csv_of", "json_of", "run", "text_of"]


def run(
    words: list[str],
    data_format: str | None,
    output: Path | None,
    force: bool,
    shop: str | None = None,
    whole: bool = False,
    units: str | None = None,
) -> int:
    """Look the words up and print what was found; 0. Raises WordError with the nearest entries.

    shop  : tapping drills, and drills near a size, come from its cabinet
    whole : the words name tables, which are printed whole
    units : of bare numbers, "mm" or "inch"
    """
    wanted = chosen_format(data_format, output, FORMATS)
    question = " ".join(words)
    if whole:
        tables = whole_tables(question)
        makers = {"json": _tables_json, "csv": _tables_csv, "text": _tables_text}
        emit(makers[wanted](tables), output, force=force)
        return 0
    bare = chosen_units(units) or "mm"
    readings = lookup(question, None if shop is None else drills_of(shop), bare)
    pages = {"json": _readings_json, "csv": csv_of, "text": text_of}
    emit(pages[wanted](readings), output, force=force)
    return 0


def json_of(readings: list[Reading]) -> Reading:
    """One reading as it is, several under "readings"."""
    return readings[0] if len(readings) == 1 else {"readings": readings}


def _readings_json(readings: list[Reading]) -> str:
    return json_text(json_of(readings))


def csv_of(readings: list[Reading]) -> str:
    """One row a figure: reading number, field ("clearance_mm.close"), value."""
    rows: list[Sequence[object]] = [["reading", "field", "value"]]
    for number, reading in enumerate(readings, 1):
        rows += [[number, field, value] for field, value in _flat(reading)]
    return csv_text(rows)


def _flat(value: Any, name: str = "") -> Iterator[tuple[str, object]]:
    """Every figure under a dotted name; members of a list of tables are counted from 1."""
    if isinstance(value, dict):
        for field, below in value.items():
            yield from _flat(below, f"{name}.{field}" if name else field)
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for number, below in enumerate(value, 1):
            yield from _flat(below, f"{name}.{number}")
    else:
        yield name, _cell(value)


def _cell(value: object) -> object:
    if isinstance(value, list):
        return "; ".join(map(str, value))
    return "" if value is None else value


# --- whole tables ---------------------------------------------------------------------------------


def _tables_text(tables: list[dict[str, Any]]) -> str:
    return "\n".join(table_text(table) for table in tables)


def _tables_json(tables: list[dict[str, Any]]) -> str:
    return json_text(tables[0] if len(tables) == 1 else {"tables": tables})


def _tables_csv(tables: list[dict[str, Any]]) -> str:
    """A row each under the columns that any of the tables has, the table's name first."""
    columns = list(dict.fromkeys(column for table in tables for column in table["columns"]))
    rows: list[Sequence[object]] = [["table", *columns]]
    for table in tables:
        for row in table["rows"]:
            cells = dict(zip(table["columns"], row, strict=True))
            rows.append([table["name"], *(_cell(cells.get(column)) for column in columns)])
    return csv_text(rows)
