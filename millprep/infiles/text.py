"""A TOML file as data with places, or one clear sentence on why it cannot be read.

Imports layer 0 only.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from millprep.base.bounds import MOST_FAULTS, MOST_LEVELS
from millprep.base.findings import Finding, stopped
from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.infiles.bounded import long_lists, refuse_large_text
from millprep.infiles.file_bytes import Kind, read_bytes, text_of, unreadable
from millprep.infiles.positions import Path as KeyPath
from millprep.infiles.positions import Positions
from millprep.infiles.told import Told
from millprep.infiles.wording import key_words

LARGEST_FIGURE = 2**63  # the TOML specification's range of an integer, v1.0.0 "Integer"
_MARK_LENGTH = 6
_TOML = Kind(
    ".toml",
    "a part file is a few kB; is it another?",
    "save it from a plain text editor as UTF-8",
    "name a TOML file",
)


class WrittenFloat(float):
    """A figure with a decimal point that keeps how it is written: 9.530 has three decimals."""

    __slots__ = ("text",)
    text: str

    def __new__(cls, text: str) -> WrittenFloat:
        made = super().__new__(cls, text)
        made.text = text
        return made


ARRAYS = ("hole", "dimension", "setup", "tool", "joint", "shared", "reamed_together", "handed_pair")
"""Tables of which there may be many, in double brackets."""


@frozen
class Document:
    """A TOML file, read: `path` as the user gave it, `mark` a short hash of its bytes."""

    path: str
    data: dict[str, Any]
    positions: Positions
    mark: str

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
    refuse_large_text(text, name)
    data = _parse(text, name)
    document = Document(name, data, Positions(text), mark_of(content))
    _refuse(document, _long_lists(data))
    _refuse(document, _wild_figures(data))
    return document


def mark_of(content: bytes) -> str:
    """The revision mark: a short hash of the file's bytes."""
    return hashlib.sha256(content).hexdigest()[:_MARK_LENGTH]


def _parse(text: str, name: str) -> dict[str, Any]:
    try:
        data = tomllib.loads(text, parse_float=WrittenFloat)
        if _is_too_deep(data):
            raise RecursionError
        return data
    except RecursionError:
        line = None
        message, remedy = "brackets are nested too deeply", "lists need two or three levels"
    except ValueError as error:  # TOMLDecodeError, and whole numbers of thousands of figures
        line, column = _place_in(str(error), text)
        message, remedy = _slip(str(error), text, line, column)
    raise stopped("bad-toml", message, remedy, file=name, line=line)


def _is_too_deep(data: dict[str, Any]) -> bool:
    """Brackets alone cannot get past the parser; keys of thousands of dots can."""
    level: list[Any] = [data]
    for _ in range(MOST_LEVELS):
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


def _place_in(message: str, text: str) -> tuple[int | None, int]:
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    if found is not None:
        return int(found[1]), int(found[2])
    return (text.rstrip().count("\n") + 1, 1) if "end of document" in message else (None, 1)


_VALUE = r"[=\[,]\s*"
_SLIPS: tuple[tuple[str, str, str], ...] = (
    (_VALUE + r"(?P<it>[+-]?\.\d+)", "{it} begins with its point", "write {fixed}"),
    (_VALUE + r"(?P<it>[+-]?\d+\.)(?!\d)", "{it} ends with its point", "write {it}0"),
    (_VALUE + r"(?P<it>[+-]?0\d+(\.\d+)?)\b", "{it} begins with a needless 0", "leave the 0 out"),
    (r"=\s*(?P<it>[+-]?\d+,\d+)\s*(#|$)", "{it} has a decimal comma", "write {fixed}"),
    (
        _VALUE + r"(?P<it>[+-]?(\d+[ -])?\d+/\d+(\s*(in|inch|mm)\b)?)",
        "{it} is a fraction without quotes",
        'write it in quotes: "{it}"',
    ),
    (
        _VALUE + r"(?P<it>[+-]?\d+(\.\d+)?\s*(in|inch|mm)\b)",
        "{it} has a unit and no quotes",
        'write it in quotes: "{it}"',
    ),
    (_VALUE + r"(?P<it>[“”„‘’].*)", "{it} has typographic quotes", 'write plain ones: "..."'),
    (
        r"=\s*(?P<it>\"[^\"]*\d\"\")",
        "{it}: the inch mark has ended the text",
        "write in for the mark, or use single quotes: '3/8\"'",
    ),
    (r"=\s*(?P<it>(?i:true|false|yes|no))\b", "{it} is no TOML word", "write true or false"),
    (r"=\s*(?P<it>[A-Za-z#][\w ./#-]*)$", "{it} stands without quotes", 'write "{it}"'),
    (r"^\s*(?P<it>[\w-]+)\s*:", "a colon after {it}", "write {it} = ..."),
    (r"^\s*(?P<it>[\w-]+(\s+[\w-]+)+)\s*=", "the key {it} has blanks in it", "write {fixed}"),
    (r"=\s*(?P<it>)(#.*)?$", "nothing stands after the =", "give a value, or delete the line"),
)
"""What people write, the complaint, the cure."""


def _slip(message: str, text: str, line: int | None, column: int) -> tuple[str, str]:
    """The parser's complaint in workshop words, where it is a slip that people make."""
    plain = re.sub(r"\s*\(at .*\)$", "", message)
    lines = text.split("\n")
    source = lines[line - 1] if line is not None and line <= len(lines) else ""
    odd = source[column - 1 : column]
    if odd not in ("", " ", "\t") and not odd.isprintable():
        return (
            f"a character that cannot be seen, U+{ord(odd):04X}, stands in {shown(source.strip())}",
            "type the line anew without it",
        )
    if "overwrite" in plain or "twice" in plain or "mutate" in plain:
        return _said_twice(source)
    for number in (line, line - 1) if line is not None and line > 1 else (line,):
        if number is not None and _has_open_brace(lines[number - 1]):
            return (
                "a table in braces is broken over lines",
                "write it on one line, from { to }, or make it a [table] of its own",
            )
    if len(source) <= 1000:
        for pattern, sentence, remedy in _SLIPS:
            found = re.search(pattern, source)
            if found is not None:
                it = found["it"].strip()
                fixed = _mended(it)
                return sentence.format(it=it), remedy.format(it=it, fixed=fixed)
    if "Exceeds the limit" in plain:
        return "a whole number has thousands of figures", "write the length in mm or inches"
    quoted = f": {shown(source.strip())}" if source.strip() else ""
    return f"not TOML{quoted} ({plain[:1].lower()}{plain[1:]}, column {column})", (
        "a line is  key = value ; text stands in quotes, a list in [ ], a table in { }"
    )


def _mended(it: str) -> str:
    if re.fullmatch(r"[+-]?\.\d+", it):
        return it.replace(".", "0.", 1)
    return it.replace(",", ".") if "," in it else re.sub(r"\s+", "_", it)


def _said_twice(source: str) -> tuple[str, str]:
    header = re.match(r"\s*\[([^\[\]]+)\]", source)
    if header is not None and header[1].strip() in ARRAYS:
        name = header[1].strip()
        return (
            f"[{name}] stands here a second time",
            f"write [[{name}]], in double brackets, each time",
        )
    return f"{shown(source.strip())} is given a second time", "keep one of the two"


def _has_open_brace(source: str) -> bool:
    bare = re.sub(r'"[^"]*"|\'[^\']*\'|#.*', "", source)
    return len(source) <= 1000 and bare.count("{") > bare.count("}")


def _refuse(document: Document, faults: Iterator[tuple[KeyPath, str, str]]) -> None:
    """Raises MillprepError with the faults: where, what, remedy."""
    told = Told(document.path)
    for path, message, remedy in islice(faults, MOST_FAULTS):
        line, key = document.positions.line(path), key_words(path) or None
        told.tell(Finding("stop", "bad-value", message, remedy, told.path, line, key))
    told.raise_if_any()


def _long_lists(data: dict[str, Any]) -> Iterator[tuple[KeyPath, str, str]]:
    for path, count, most in long_lists(data):
        yield path, f"{key_words(path) or 'the file'} holds {count:,} entries", f"at most {most:,}"


def _wild_figures(data: dict[str, Any]) -> Iterator[tuple[KeyPath, str, str]]:
    """nan, inf and whole numbers beyond the specification's range have no place in a workshop."""
    for path, value in _figures(data, ()):
        yield path, f"{_figure(value)} is not a figure that can be used", "give a plain number"


def _figure(value: float) -> str:
    return str(value) if isinstance(value, float) else "a whole number of over 19 figures"


def _figures(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, float]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if isinstance(inner, (dict, list, float, int)):
                yield from _figures(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            if isinstance(inner, (dict, list, float, int)):
                yield from _figures(inner, (*path, index))
    elif not abs(value) < LARGEST_FIGURE:  # so asked, nan is caught too
        yield path, value
