"""A TOML file as data with places, or one clear sentence on why it cannot be read."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Callable, Iterator
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any

from millprep.base import bounds
from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.records import frozen, replace
from millprep.base.units import Units
from millprep.infiles.file_bytes import Kind, read_bytes, text_of, unreadable
from millprep.infiles.positions import Layout
from millprep.infiles.positions import Path as KeyPath
from millprep.infiles.told import Told
from millprep.infiles.toml_slips import slips_in
from millprep.infiles.wording import key_words

LARGEST_FIGURE = 2**63  # the TOML specification's range of an integer, v1.0.0 "Integer"
_MARK_LENGTH = 6
_TOML = Kind(
    ".toml",
    "a part file is a few kB; is it another?",
    "save it from a plain text editor as UTF-8",
    "name a TOML file",
)
_HEADER = re.compile(r"^[ \t]*\[\[?[ \t]*[A-Za-z_\"'][^\[\],\n]*\]", re.MULTILINE)
_MOST: dict[str | int, int] = {
    **dict.fromkeys(("at", "chain", "skip"), bounds.MOST_HOLES),
    **dict.fromkeys(("joint", "shared", "reamed_together", "handed_pair"), bounds.MOST_JOINTS),
    "hole": bounds.MOST_TABLES,
    "dimension": bounds.MOST_DIMENSIONS,
    "setup": bounds.MOST_SETUPS,
    "obstacle": bounds.MOST_OBSTACLES,
    "tool": bounds.MOST_TOOLS,
    "members": bounds.MOST_MEMBERS,
}


class WrittenFloat(float):
    """A figure with a decimal point that keeps how it is written: 9.530 has three decimals."""

    __slots__ = ("text",)
    text: str

    def __new__(cls, text: str) -> WrittenFloat:
        made = super().__new__(cls, text)
        made.text = text
        return made


@frozen
class Document:
    """A TOML file, read: `path` as the user gave it, `mark` a short hash of its bytes."""

    path: str
    data: dict[str, Any]
    positions: Layout
    mark: str

    def renamed(self, old: str, new: str) -> Document:
        """With the table at the top that has an older name under its new one."""
        if old not in self.data:
            return self
        data = {new if key == old else key: value for key, value in self.data.items()}
        return replace(self, data=data, positions=self.positions.renamed(old, new))

    @property
    def units(self) -> Units:
        """The file's units; mm where they are missing or wrong, which is a fault told elsewhere."""
        word = self.data.get("units")
        return "inch" if isinstance(word, str) and word.strip().lower() == "inch" else "mm"


Reader = Callable[[str | Path], Document]
"""How a file is read: `read_document`, or one that hands it over with a change in it."""


def read_document(path: str | Path) -> Document:
    """The file as data. Raises MillprepError for what is no file, no text or no TOML."""
    name = str(path)
    content = read_bytes(Path(path), name, _TOML)
    text = text_of(content, name, _TOML)
    text = text.replace("\r\n", "\n")
    if not text.strip():
        raise unreadable(name, "is empty", "write a starter with the command `new`")
    _refuse_large(text, name)
    data = _parse(text, name)
    document = Document(name, data, Layout(text, data), mark_of(content))
    _refuse(document, _long_lists(data))
    _refuse(document, _wild_figures(data))
    return document


def text_at(path: str | Path) -> str:
    """The text of such a file, for what stands in it. Raises MillprepError."""
    return text_of(read_bytes(Path(path), str(path), _TOML), str(path), _TOML)


def mark_of(content: bytes) -> str:
    """The revision mark: a short hash of the file's bytes."""
    return hashlib.sha256(content).hexdigest()[:_MARK_LENGTH]


def _parse(text: str, name: str) -> dict[str, Any]:
    """What the text says. Raises MillprepError with every slip in it, line by line."""
    parse = partial(tomllib.loads, parse_float=WrittenFloat)
    try:
        data: dict[str, Any] = parse(text)
        if _is_too_deep(data):
            raise RecursionError
        return data
    except RecursionError:
        message, remedy = "brackets are nested too deeply", "lists need two or three levels"
        raise stopped("bad-toml", message, remedy, file=name) from None
    except ValueError:  # TOMLDecodeError, and whole numbers of thousands of figures
        raise MillprepError(
            *(
                Finding("stop", "bad-toml", slip.message, slip.remedy, name, slip.line)
                for slip in slips_in(text, parse)
            )
        ) from None


def _is_too_deep(data: dict[str, Any]) -> bool:
    """Brackets alone cannot get past the parser; keys of thousands of dots can."""
    level: list[Any] = [data]
    for _ in range(bounds.MOST_LEVELS):
        inner = [
            value
            for each in level
            for value in (each.values() if isinstance(each, dict) else each)
            if isinstance(value, (dict, list))
        ]
        if not inner:
            return False
        level = inner
    return True


def _refuse_large(text: str, name: str) -> None:
    """Raises MillprepError for a text of more tables or values than a file may hold."""
    tables = sum(1 for _ in _HEADER.finditer(text))
    values = text.count(",") + text.count("=")
    counts = {"tables": (tables, bounds.MOST_TABLES), "values": (values, bounds.MOST_VALUES)}
    for what, (count, most) in counts.items():
        if count > most:
            raise unreadable(name, f"holds {count:,} {what}", f"at most {most:,} in one file")


def _refuse(document: Document, faults: Iterator[tuple[KeyPath, str, str]]) -> None:
    """Raises MillprepError with the faults: where, what, remedy."""
    told = Told(document.path)
    for path, message, remedy in islice(faults, bounds.MOST_FAULTS):
        line, key = document.positions.line(path), key_words(path) or None
        told.tell(Finding("stop", "bad-value", message, remedy, told.path, line, key))
    told.raise_if_any()


def _long_lists(value: Any, path: KeyPath = ()) -> Iterator[tuple[KeyPath, str, str]]:
    """Lists and tables with more in them than they may hold."""
    most = _MOST.get(path[-1] if path else "", bounds.MOST_IN_LIST)
    if len(value) > most:
        message = f"{key_words(path) or 'the file'} holds {len(value):,} entries"
        yield path, message, f"at most {most:,}"
        return
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
        if isinstance(inner, (dict, list)):
            yield from _long_lists(inner, (*path, key))


def _wild_figures(value: Any, path: KeyPath = ()) -> Iterator[tuple[KeyPath, str, str]]:
    """nan, inf and whole numbers beyond the specification's range have no place in a workshop."""
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
        if isinstance(inner, (dict, list)):
            yield from _wild_figures(inner, (*path, key))
        elif isinstance(inner, (float, int)) and not abs(inner) < LARGEST_FIGURE:  # nan is caught
            said = inner if isinstance(inner, float) else "a whole number of over 19 figures"
            yield (*path, key), f"{said} is not a figure that can be used", "give a plain number"
