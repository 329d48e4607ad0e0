"""Any sheet of JSON or CSV, read back to the same sections as a sheet of lines.

In JSON a sentence is read from its words under `said`; what stands by name beside is compared with
the words, and never used in their place.
"""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.base.plain_text import cell_text
from millprep.base.records import replace
from millprep.base.units import Units, shown
from millprep.base.wording import Group, wording
from millprep.reading.pages.lines import below_groups, text_of
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadPage, ReadRow, ReadSection, ReadSheet
from millprep.reading.pages.slots import Names, Said, as_figure, sentences_of

_SLACK_MM = 1e-6
_MOST_COUNT = 5  # a readout counts by 1, 2 or 5 of its last decimal place


class Number(str):
    """A number of a JSON text, as written there."""

    __slots__ = ()


def read_json(data: bytes, sheet: str, names: Names) -> ReadSheet:
    """A sheet of JSON; its pages are the entries of the list that the title's group names, or the
    whole. Raises UnreadableSheet."""
    whole = json_object(data)
    units: Units = "inch" if whole.get("units") == "inch" else "mm"
    reader = _JsonReader(sheet, names, units)
    key = wording(sheet)["title"].key
    entries = whole.get(key, []) if key else [whole]
    if not isinstance(entries, list) or not entries:
        raise UnreadableSheet("the sheet is empty")
    pages = [reader.page({**whole, "said": {}, **_object(entry)}) for entry in entries]
    foot = reader.sections(whole) if key else ()
    last = replace(pages[-1], sections=(*pages[-1].sections, *foot))
    return ReadSheet(units, (*pages[:-1], last), whole)


def json_object(data: bytes) -> Mapping[str, Any]:
    """The object that a JSON text holds, numbers as written there. Raises UnreadableSheet."""

    def refused(word: str) -> None:
        raise UnreadableSheet(f"{word} is no number")

    try:
        whole = json.loads(data, parse_float=Number, parse_int=Number, parse_constant=refused)
    except (ValueError, RecursionError) as fault:
        raise UnreadableSheet(f"not JSON: {fault}") from None
    return _object(whole)


def _object(value: Any) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise UnreadableSheet(f"{shown(str(value))} where an object belongs")
    return value


class _JsonReader:
    def __init__(self, sheet: str, names: Names, units: Units) -> None:
        self.sheet, self.names, self.units = sheet, names, units
        self.groups = wording(sheet)
        self.labels = {group.said_as: group for group in self.groups.values()}
        self.tables = {
            group.key or name.removeprefix("table "): name.removeprefix("table ")
            for name, group in self.groups.items()
            if name.startswith("table ")
        }
        sections = (
            group
            for name, group in self.groups.items()
            if group.is_section and name != "title" and not name.startswith("table ")
        )
        self.lists = list(dict.fromkeys(group.key for group in sections))
        self.below = below_groups(self.groups)

    def page(self, page: Mapping[str, Any]) -> ReadPage:
        template = self.groups["title"].templates[0]
        slots = {slot.name: _text(page.get(slot.name)) for slot in template.slots}
        title = Said(template.slug, "title", slots, "", self.units, named=page)
        return ReadPage(title, tuple(self.sections(page)))

    def sections(
        self, holder: Mapping[str, Any], *, is_within: bool = False
    ) -> Iterator[ReadSection]:
        """is_within : it is an entry of a list, and has no tables of the whole sheet"""
        said: list[Said] = []
        taken: Counter[str] = Counter()
        for label, sentences in _object(holder.get("said", {})).items():
            group = self.labels.get(label)
            if group is None or not isinstance(sentences, list):
                raise UnreadableSheet(f"nothing is said under {shown(label)}")
            said += self._group(group, sentences, holder, taken)
        for key, count in taken.items():
            if len(holder[key]) != count:
                raise UnreadableSheet(f"{shown(key)} has more entries than sentences")
        rows = [
            row
            for key, name in self.tables.items()
            if not (is_within and self.groups[f"table {name}"].is_section)
            for row in self._rows(name, holder.get(key, []))
        ]
        yield ReadSection(tuple(said), tuple(rows))
        for key in self.lists:
            for entry in holder.get(key, []):
                yield from self.sections(_object(entry), is_within=True)

    def _group(
        self, group: Group, sentences: Sequence[str], holder: Mapping[str, Any], taken: Counter[str]
    ) -> Iterator[Said]:
        """taken : how many entries of each list the sentences before had"""
        if group.label.slots:
            slots = {slot.name: _text(holder.get(slot.name)) for slot in group.label.slots}
            yield Said(group.label.slug, group.label.slug, slots, "", self.units)
        lines = [(None, " ".join(str(one).split(" "))) for one in sentences]
        for one in sentences_of(self.sheet, group.templates, lines, self.names, self.units):
            named = self._named(one, self.groups[one.group], holder, taken)
            _compare(one, named)
            yield replace(one, named=named)

    def _named(
        self, said: Said, group: Group, holder: Mapping[str, Any], taken: Counter[str]
    ) -> Mapping[str, Any]:
        """What stands by name for the slots of a sentence."""
        if not group.key or group.is_section:
            return holder
        entries = holder.get(group.key, holder)
        if not group.is_list:
            return _object(entries)
        start, parts = taken[group.key], said.slots.get(group.spread)
        taken[group.key] += len(parts) if parts else 1
        run = entries[start : taken[group.key]] if isinstance(entries, list) else []
        if len(run) != taken[group.key] - start:
            raise UnreadableSheet(f"{shown(said.text)}: {group.key} has fewer entries")
        first = _object(run[0])
        return {**first, group.spread: run} if parts else first

    def _rows(self, table: str, rows: Any) -> Iterator[ReadRow]:
        slug = self.groups[f"table {table}"].templates[-1].slug
        for row in rows:
            for flat in _flat(_object(row), table):
                slots = {name: _text(value) for name, value in flat.items()}
                below = tuple(self._below(flat))
                yield ReadRow(table, Said(slug, table, slots, "", self.units), below)

    def _below(self, row: Mapping[str, Any]) -> Iterator[Said]:
        """What hangs on a row: its sentences, and by name what they say."""
        among = [template for group in self.below for template in group.templates]
        lines = [(None, str(one)) for one in row.get("said", [])]
        taken: Counter[str] = Counter()
        for said in sentences_of(self.sheet, among, lines, self.names, self.units):
            named = self._named(said, self.groups[said.group], row, taken)
            _compare(said, named)
            yield replace(said, named=named)


def _flat(row: Mapping[str, Any], table: str) -> Iterator[Mapping[str, Any]]:
    """A row, or each row of the list of that name within it with what they share."""
    inner = row.get(table)
    if not isinstance(inner, list):
        yield row
        return
    shared = {key: one for key, one in row.items() if key != table}
    for one in inner:
        yield {**shared, **_object(one)}


def _text(value: Any) -> Any:
    """A value as a sheet shows it."""
    if isinstance(value, list):
        return [_text(one) for one in value]
    if isinstance(value, dict):
        return {name: _text(one) for name, one in value.items()}
    if isinstance(value, bool):
        return "yes" if value else "no"
    return None if value is None else str(value)


def _compare(said: Said, named: Mapping[str, Any]) -> None:
    """What stands by name is what the words say. Raises UnreadableSheet."""
    for name, text in said.slots.items():
        if name.startswith("_"):
            continue
        if name not in named:
            raise UnreadableSheet(f"{shown(said.text)}: nothing is called {name}")
        if not _agree(said.units, name, text, named):
            raise UnreadableSheet(
                f"{shown(said.text)}: {name} is {shown(str(named[name]))} by name"
            )


def _agree(units: Units, name: str, text: Any, named: Mapping[str, Any]) -> bool:
    value = named[name]
    if not text or value in (None, "", []):
        return not text and value in (None, "", [])
    if isinstance(text, list):
        if not isinstance(value, list) or len(text) != len(value):
            return False
        return all(_agree_one(units, name, *pair) for pair in zip(text, value, strict=True))
    exact = named.get(f"{name}_exact_mm")
    if exact is not None and not _is_rounded(as_figure(text, units), float(exact)):
        return False
    return _agree_one(units, name, text, value)


def _agree_one(units: Units, name: str, text: Any, value: Any) -> bool:
    if isinstance(text, Mapping):
        return isinstance(value, dict) and all(
            inner.startswith("_") or (inner in value and _agree(units, inner, one, value))
            for inner, one in text.items()
        )
    if isinstance(value, list):
        return str(text).lower() == ", ".join(value)
    if isinstance(value, Number):
        if name.endswith(("_mm", "_mm_per_min")):
            return _is_rounded(as_figure(text, units), float(value))
        return float(text.split(" ")[0]) == float(value)
    is_so: bool = value in (text, _face(text))
    return is_so


def _face(text: Any) -> str:
    """A face, or "centre", as JSON names it."""
    return str(text).lower().removeprefix("the ").removesuffix(" line")


def _is_rounded(told: Any, exact_mm: float) -> bool:
    return bool(abs(told.mm - exact_mm) <= _MOST_COUNT * told.half_digit_mm + _SLACK_MM)


def read_csv(data: bytes, sheet: str, table: str, pages: str = "") -> ReadSheet:
    """A sheet of CSV: rows of one table, a page for each run of the column `pages`.

    Raises UnreadableSheet with the line.
    """
    rows = list(_csv_rows(data))
    if not rows:
        raise UnreadableSheet("the sheet has no rows", 1)
    first = rows[0][1]
    if pages and pages not in first:
        raise UnreadableSheet(f"no column {shown(pages)}", 1)
    units: Units = "inch" if "inch" in (first.get("units"), first.get("unit")) else "mm"
    found: dict[str, list[ReadRow]] = {}
    for line, cells in rows:
        said = Said(f"{table} row", table, cells, "", units, line)
        found.setdefault(cells[pages] if pages else "", []).append(ReadRow(table, said))
    return ReadSheet(
        units,
        tuple(
            ReadPage(
                Said("title", "title", run[0].said.slots, "", units, run[0].line),
                (ReadSection((), tuple(run)),),
            )
            for run in found.values()
        ),
    )


def _csv_rows(data: bytes) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Every row with its line; an empty cell is None. Raises UnreadableSheet."""
    try:
        reader = csv.reader(io.StringIO(text_of(data), newline=""), strict=True)
        columns = next(reader, [])
        for cells in reader:
            if len(cells) != len(columns):
                what = f"{len(cells)} cells under {len(columns)} columns"
                raise UnreadableSheet(what, reader.line_num)
            texts = [cell_text(cell) or None for cell in cells]
            yield reader.line_num, dict(zip(columns, texts, strict=True))
    except csv.Error as fault:
        raise UnreadableSheet(f"not CSV: {fault}") from None
