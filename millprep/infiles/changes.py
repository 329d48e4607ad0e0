"""A change of one figure, tried without touching the file: "base: column screw: depth = 12".

Names a member or a file, then the hole or joint where one is meant, then the key and its new value
as TOML writes it.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from millprep.base.findings import WordError, stopped
from millprep.base.records import frozen, replace
from millprep.base.units import shown
from millprep.infiles.text import Document, Reader, mark_of, read_document
from millprep.infiles.wording import UnknownWordError, accepted

FORM = "write 'base: column screw: grid.step = [62.8, 25]': member or file, hole, key, new value"


@frozen
class Change:
    """words : as given; file : the one it is in; name : hole or joint, or ""; keys : down to it."""

    words: str
    file: Path
    name: str
    keys: tuple[str, ...]
    value: Any


def read_change(words: str, files: Mapping[str, Path]) -> Change:
    """The change that the words ask for. files : path of each member by its name. WordError."""
    left, equals, right = words.partition("=")
    parts = [" ".join(part.split()) for part in left.split(":")]
    if not equals or not 2 <= len(parts) <= 3 or not all(parts):
        raise WordError(f"{shown(words)} is not a change", FORM)
    try:
        value = tomllib.loads(f"value = {right.strip()}")["value"]
    except ValueError:
        raise WordError(
            f"{shown(right.strip())} is not a value",
            'write it as in the file: 25, "1/2 in", [8, 10]',
        ) from None
    name = parts[1] if len(parts) == 3 else ""
    return Change(words, _file(parts[0], files), name, tuple(parts[-1].split(".")), value)


def _file(word: str, files: Mapping[str, Path]) -> Path:
    for name, path in files.items():
        if word.casefold() in (name.casefold(), path.name.casefold()):
            return path
    known = [*files, *dict.fromkeys(path.name for path in files.values())]
    raise UnknownWordError(f"there is no member or file {shown(word)}", accepted(known, word))


def with_change(change: Change, read: Reader = read_document) -> Reader:
    """A way of reading files in which the change stands."""
    target = change.file.resolve()

    def read_changed(path: str | Path) -> Document:
        document = read(path)
        if Path(path).resolve() != target:
            return document
        data = copy.deepcopy(document.data)
        try:
            _set(data, change)
        except WordError as error:
            message, file = f"--change: {error.message}", document.path
            raise stopped("unknown-word", message, error.remedy, file=file) from None
        return replace(
            document, data=data, mark=mark_of(f"{document.mark} {change.words}".encode())
        )

    return read_changed


def _set(data: dict[str, Any], change: Change) -> None:
    if "opposite_hand_of" in data and change.keys[0] not in data:
        original = data["opposite_hand_of"]
        remedy = f"change {original}; this one follows"
        raise WordError(f"this part is the opposite hand of {original}", remedy)
    table = _named(data, change.name) if change.name else data
    *above, last = change.keys
    for key in above:
        if not isinstance(table.get(key), dict):
            raise _no_key(change, table, key)
        table = table[key]
    if above and last not in table:
        raise _no_key(change, table, last)
    table[last] = change.value


def _no_key(change: Change, table: dict[str, Any], key: str) -> WordError:
    known = [each for each, value in table.items() if not isinstance(value, list) or each != "hole"]
    return UnknownWordError(f"there is no {shown('.'.join(change.keys))}", accepted(known, key))


def _named(data: dict[str, Any], name: str) -> dict[str, Any]:
    """The hole or joint of that name."""
    arrays = [data.get(key) for key in ("hole", "joint", "shared", "reamed_together")]
    tables = [each for array in arrays if isinstance(array, list) for each in array]
    names = {
        str(each["name"]): each for each in tables if isinstance(each, dict) and "name" in each
    }
    for known, table in names.items():
        if known.casefold() == name.casefold():
            return table
    raise UnknownWordError(f"there is no {shown(name)} by that name", accepted(list(names), name))
