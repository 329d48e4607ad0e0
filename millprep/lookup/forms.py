"""What `lookup` answers in a form: a page of text, one JSON object, or CSV."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from millprep.base.plain_text import csv_text, json_text
from millprep.lookup.pages import table_text, text_of
from millprep.lookup.readings import Reading


def answer(readings: list[Reading], form: str, **how: bool) -> str:
    """The readings as "text", "json" or "csv"; how : of the text, as `text_of` has it."""
    if form == "json":
        return json_text(json_of(readings))
    return csv_of(readings) if form == "csv" else text_of(readings, **how)


def answer_whole(tables: list[dict[str, Any]], form: str) -> str:
    """Whole tables as "text", "json" or "csv"."""
    if form == "json":
        return json_text(tables[0] if len(tables) == 1 else {"tables": tables})
    return _tables_csv(tables) if form == "csv" else "\n".join(map(table_text, tables))


def json_of(readings: list[Reading]) -> Reading:
    """One reading as it is, several under "readings"."""
    return readings[0] if len(readings) == 1 else {"readings": readings}


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


def _tables_csv(tables: list[dict[str, Any]]) -> str:
    """A row each under the columns that any of the tables has, the table's name first."""
    columns = list(dict.fromkeys(column for table in tables for column in table["columns"]))
    rows: list[Sequence[object]] = [["table", *columns]]
    for table in tables:
        for row in table["rows"]:
            cells = dict(zip(table["columns"], row, strict=True))
            rows.append([table["name"], *(_cell(cells.get(column)) for column in columns)])
    return csv_text(rows)
