"""Any document as JSON and as CSV. Imports base and sheets.document."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from millprep.base.findings import findings_json
from millprep.base.marks import BLANK_MARK
from millprep.base.plain_text import csv_text, json_text
from millprep.base.wording import Group, wording
from millprep.sheets.document import Document, Field, Row, Section, Shown, Table, plain


def document_json(document: Document) -> str:
    """One object: every slot by its name, the sentences under `said`, `mark` for `outfile`."""
    whole: dict[str, Any] = {"units": document.units, "findings": findings_json(document.findings)}
    for page in document.pages:
        into = _entry(whole, page.key)
        _merge(into, plain(page.title, document.units))
        _say(into, "heading", [str(one) for one in page.heading])
        for sentence in page.heading:
            _merge(into, plain(sentence, document.units))
        for section in page.sections:
            _add(document, whole, into, section)
        into |= page.also
    for section in document.foot:
        _add(document, whole, whole, section)
    whole |= document.also
    whole.setdefault("mark", BLANK_MARK)  # of a report that of its file
    return json_text(whole)


def _entry(into: dict[str, Any], key: str) -> dict[str, Any]:
    if not key:
        return into
    made: dict[str, Any] = {}
    into.setdefault(key, []).append(made)
    return made


def _merge(into: dict[str, Any], slots: Mapping[str, Any]) -> None:
    """Raises ValueError where one name would stand for two values."""
    for name, value in slots.items():
        if into.setdefault(name, value) != value:
            raise ValueError(f"{name} is {into[name]!r} and {value!r}: name one of them otherwise")


def _say(into: dict[str, Any], label: str, sentences: list[str]) -> None:
    into.setdefault("said", {}).setdefault(label, []).extend(sentences)


def _add(
    document: Document, whole: dict[str, Any], outer: dict[str, Any], section: Section
) -> None:
    into = _entry(outer, section.key)
    for item in section.items:
        if isinstance(item, Section):
            _add(document, whole, into, item)
        elif isinstance(item, Field):
            _add_field(document, into, item)
        else:
            group = _group(document, item)
            holder = whole if group.is_section else into
            holder.setdefault(group.key or item.name, []).extend(_rows(document, item))
    into |= section.also


def _group(document: Document, table: Table) -> Group:
    return wording(document.sheet)[f"table {table.name}"]


def _add_field(document: Document, into: dict[str, Any], field: Field) -> None:
    groups = wording(document.sheet)
    _say(into, groups[field.label.slug].said_as, [str(one) for one in field.sentences])
    _merge(into, plain(field.label, document.units))
    for sentence in field.sentences:
        slots, group = plain(sentence, document.units), groups[sentence.template.group]
        if group.is_list:
            into.setdefault(group.key, []).extend(_entries(slots, group.spread))
        else:
            is_own = group.key and not group.is_section
            _merge(into.setdefault(group.key, {}) if is_own else into, slots)


def _entries(slots: dict[str, Any], spread: str) -> list[dict[str, Any]]:
    """One, or one for each filled template of the slot that is spread."""
    if spread not in slots:
        return [slots]
    shared = {name: value for name, value in slots.items() if name != spread}
    return [{**shared, **one} for one in slots[spread]]


def _rows(document: Document, table: Table) -> list[dict[str, Any]]:
    rows = [_row(document, row) for row in table.rows]
    if table.nested is None:
        return rows
    name, shared = table.nested
    return [
        _nest(dict(zip(shared, values, strict=True)), name, list(run))
        for values, run in groupby(rows, key=lambda row: tuple(row.get(one) for one in shared))
    ]


def _nest(shared: dict[str, Any], name: str, rows: list[dict[str, Any]]) -> dict[str, Any]:
    holes = list(dict.fromkeys(row["hole"] for row in rows))
    inner = [{key: one for key, one in row.items() if key not in shared} for row in rows]
    return {**shared, "holes": holes, name: inner}


def _row(document: Document, row: Row) -> dict[str, Any]:
    found = plain(row.cells, document.units)
    for sentence in row.below:
        group = wording(document.sheet)[sentence.template.group]
        slots = plain(sentence, document.units)
        if group.is_list:
            found.setdefault(group.key, []).extend(_entries(slots, group.spread))
        else:
            found |= slots
    if row.below:
        found["said"] = [str(one) for one in row.below]
    return {**found, **{name: _number(value) for name, value in row.also.items()}}


def _number(value: Any) -> Any:
    """What was shown, as a number."""
    if isinstance(value, list):
        return [_number(one) for one in value]
    return float(str(value)) if isinstance(value, Shown) else value


def document_csv(document: Document) -> str:
    """One row a row of the sheet's main table, header first; figures as shown."""
    assert document.csv is not None
    key, columns = document.csv
    rows: list[Sequence[object]] = [columns]
    for page in document.pages:
        around = {"units": document.units, **document.also, **_shown(page.title), **page.also}
        for section in page.sections:
            rows += [
                [_cell(cells.get(one, "")) for one in columns]
                for cells in _in(document, section, key, around)
            ]
    return csv_text(rows)


def _shown(sentence: Any) -> dict[str, Any]:
    return {slot.name: sentence.slots.get(slot.name) for slot in sentence.template.slots}


def _cell(value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return " ".join(map(str, value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value


def _in(
    document: Document, section: Section, key: str, around: Mapping[str, Any]
) -> Iterator[Mapping[str, Any]]:
    """The rows of the tables of that key, each with what the sections around it say."""
    here = {**around, **section.also}
    for item in section.items:
        if isinstance(item, Field):
            here |= _shown(item.label)
            for sentence in item.sentences:
                here |= _shown(sentence)
        elif isinstance(item, Section):
            yield from _in(document, item, key, here)
        elif (_group(document, item).key or item.name) == key:
            for row in item.rows:
                below = {k: v for one in row.below for k, v in _shown(one).items()}
                yield {**here, **_shown(row.cells), **below, **row.also, **row.csv}
