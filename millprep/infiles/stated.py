"""Every length of a part file as it is written there: place, text, unit, and what it was read as.

Which keys hold lengths is asked of the file's shape, so that a new key needs no entry here.
"""

from __future__ import annotations

import tomllib
import typing
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

from millprep.base.findings import WordError
from millprep.base.units import MM_PER_INCH, Units, read_length
from millprep.infiles.fields import ReadBy, Table
from millprep.infiles.part_schema import PartTable
from millprep.infiles.positions import Path
from millprep.infiles.text import Document, WrittenFloat
from millprep.model.part import StatedLength

_MM_PER_INCH = float(MM_PER_INCH)


def stated_lengths(document: Document) -> tuple[StatedLength, ...]:
    """The lengths of a part file in the order of its tables; what is no length is left out."""
    found: list[StatedLength] = []
    for path, value in _in_table(document.data, PartTable, ()):
        line = document.positions.line(path)
        finer = document.positions.line if document.positions.are_several(path) else None
        _collect(found, path, value, line, document.units, finer)
    return tuple(found)


def written(value: object) -> str:
    """A figure as the file writes it."""
    return value.text if isinstance(value, WrittenFloat) else str(value).strip()


def stated_leaves(text: str) -> tuple[tuple[Path, str], ...]:
    """Every single value of a part file that reads, lengths or not: where it stands, as written."""
    data = tomllib.loads(text.replace("\r\n", "\n"), parse_float=WrittenFloat)
    return tuple(_leaves((), data))


def _leaves(path: Path, value: object) -> Iterator[tuple[Path, str]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves((*path, key), inner)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _leaves((*path, index), inner)
    elif not isinstance(value, bool):
        yield path, written(value)


def _in_table(data: object, shape: type[Table], path: Path) -> Iterator[tuple[Path, Any]]:
    """The keys that hold lengths, with all that stands there: a line may hold many."""
    if isinstance(data, list):
        for index, each in enumerate(data):
            yield from _in_table(each, shape, (*path, index))
    elif isinstance(data, dict):
        kinds = _kinds(shape)
        for key, value in data.items():
            kind = kinds.get(key)
            if kind == "length":
                yield (*path, key), value
            elif isinstance(kind, type):
                yield from _in_table(value, kind, (*path, key))


@lru_cache(maxsize=64)
def _kinds(shape: type[Table]) -> dict[str, Any]:
    """For each key "length", or the shape of the table that it holds."""
    kinds: dict[str, Any] = dict(shape.tables_below())
    for key, field in shape.by_key().items():
        asked = _inside((field.annotation, *field.metadata))
        if any(isinstance(each, ReadBy) and each.reads_lengths for each in asked):
            kinds[key] = "length"
    return kinds


def _inside(annotations: tuple[Any, ...]) -> Iterator[Any]:
    """Everything that annotations are made of, marks included."""
    for each in annotations:
        yield each
        yield from _inside((*typing.get_args(each), *getattr(each, "__metadata__", ())))


def _collect(
    found: list[StatedLength],
    path: Path,
    value: object,
    line: int | None,
    units: Units,
    finer: Callable[[Path], int | None] | None,
) -> None:
    """The lengths of one key into a list: a file may have tens of thousands.

    finer : the line of each, where they do not all stand on one
    """
    if isinstance(value, dict):
        for key, inner in value.items():
            _collect(found, (*path, key), inner, line, units, finer)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            _collect(found, (*path, index), inner, line, units, finer)
    elif isinstance(value, str):
        line = finer(path) if finer is not None else line
        stated = _in_words(path, value, line, units)
        if stated is not None:
            found.append(stated)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        line = finer(path) if finer is not None else line
        # as read_length has it, some ulps aside, and at once
        length_mm = float(value) * _MM_PER_INCH if units == "inch" else float(value)
        found.append(StatedLength(path, line, written(value), units, False, length_mm))


def _in_words(path: Path, text: str, line: int | None, units: Units) -> StatedLength | None:
    try:
        length_mm = float(read_length(text, units))
    except WordError:
        return None  # "through", "#7"
    text = text.strip()
    if text.replace(".", "").lstrip("+-").isdigit():
        return StatedLength(path, line, text, units, False, length_mm)
    own: Units = "mm" if text.lower().endswith("mm") else "inch"
    return StatedLength(path, line, text, own, True, length_mm)
