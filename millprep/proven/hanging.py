"""What else hangs on a part file, before its drawing is changed."""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from millprep.base.bounds import LARGEST_FILE_BYTES
from millprep.base.findings import MillprepError
from millprep.base.marks import said_of, sheet_mark
from millprep.base.records import frozen
from millprep.infiles.text import read_document

MOST_LOOKED_AT = 1000
_STAMP = re.compile(
    rb"part[ _]mark(?:\W{1,6}|\W.{0,200}?[(>\n])([0-9a-f]{6})\b", re.IGNORECASE | re.DOTALL
)
"""In words, or in the next cell of a title block."""
_STREAM = re.compile(rb"stream\r?\n(.*?)\r?\nendstream", re.DOTALL)
_FORMS = (".txt", ".html", ".json", ".pdf", ".dxf", ".svg", ".png", ".nc", ".ngc", ".tap", ".xml")
_ON_PAPER = ("text", "html", "pdf")


@frozen
class Hanging:
    """One file that follows a part, or was made from it.

    words : as a person is told of it: "Right bracket follows it"
    stamp : of the part file that a sheet was made from, where it can be seen
    """

    kind: Literal["other hand", "pattern", "assembly", "sheet"]
    file: Path
    words: str
    stamp: str = ""


def what_hangs_on(path: Path, folder_files: Iterable[Path]) -> tuple[Hanging, ...]:
    """The files of a folder that follow this part file, directly or by others, and its sheets.

    folder_files : those looked at, sheets too; one that cannot be read hangs on nothing
    """
    there = list(folder_files)[:MOST_LOOKED_AT]
    tables = {one: _data_of(one) for one in there if one.suffix == ".toml"}
    found: dict[Path, Hanging] = {}
    followed = [path]
    for target in followed:
        for file, data in tables.items():
            hanging = _following(file, data, target, tables)
            if hanging is not None and file.resolve() not in {path.resolve(), *found}:
                found[file.resolve()] = hanging
                followed += [] if hanging.kind == "assembly" else [file]
    name = _name_of(path, tables.get(path) or _data_of(path), tables)
    return (*found.values(), *sheets_of(name, there))


def _data_of(file: Path) -> dict[str, Any]:
    try:
        return read_document(file).data
    except MillprepError:
        return {}


def _name_of(file: Path, data: dict[str, Any], tables: dict[Path, dict[str, Any]]) -> str:
    """The part's or the assembly's name; of an opposite hand that has none, as it is given one."""
    for key in ("part", "assembly"):
        if isinstance(named := data.get(key), str):
            return " ".join(named.split())
    original = data.get("opposite_hand_of")
    if isinstance(original, str):
        whole = _data_of(file.parent / original)
        return f"{_name_of(file.parent / original, whole, tables)}, opposite hand"
    return file.stem


def _following(
    file: Path, data: dict[str, Any], target: Path, tables: dict[Path, dict[str, Any]]
) -> Hanging | None:
    """How a file follows the target, if it does."""
    name, wanted = _name_of(file, data, tables), target.resolve()

    def is_it(named: object) -> bool:
        return isinstance(named, str) and (file.parent / named).resolve() == wanted

    if is_it(data.get("opposite_hand_of")):
        return Hanging("other hand", file, f"{name} follows it")
    for holes in _patterns_taken(data):
        named, _, pattern = holes.partition(":")
        if is_it(named.strip()):
            return Hanging("pattern", file, f'{name} takes the places of "{pattern.strip()}"')
    members = data.get("members")
    for member in members.values() if isinstance(members, dict) else ():
        if is_it(member.get("part") if isinstance(member, dict) else member):
            kind = "" if "assembly" in name.lower() else " assembly"
            return Hanging("assembly", file, f"{name}{kind} uses it")
    return None


def _patterns_taken(data: dict[str, Any]) -> Iterator[str]:
    holes = data.get("hole")
    for table in [data.get("defaults"), *(holes if isinstance(holes, list) else ())]:
        taken = table.get("pattern_from") if isinstance(table, dict) else None
        words = taken.get("holes") if isinstance(taken, dict) else taken
        if isinstance(words, str):
            yield words


def _stamp(content: bytes) -> str:
    """The stamp that a sheet shows; of a PDF it stands in what the pages draw."""
    found = _STAMP.search(content)
    if content.startswith(b"%PDF"):
        drawn = map(_unpacked, _STREAM.finditer(content))
        found = next(filter(None, map(_STAMP.search, drawn)), None)
    return found[1].decode().lower() if found else ""


def _unpacked(stream: re.Match[bytes]) -> bytes:
    try:
        return zlib.decompressobj().decompress(stream[1], LARGEST_FILE_BYTES)
    except zlib.error:
        return b""


def sheets_of(part: str, folder_files: Iterable[Path]) -> tuple[Hanging, ...]:
    """The sheets of a part by that name which nobody has edited since, by their marks."""
    named, found = sheet_mark("", "", part).lower().partition(", ")[2], []
    for file in folder_files:
        if file.suffix.lower() not in _FORMS:
            continue
        try:
            state = file.stat()
            seen = _sheet_in(file, state.st_mtime_ns, state.st_size)
        except OSError:
            continue
        if seen is not None and seen[1] == named:
            what, form = seen[0].rsplit(" ", 1)
            how = "printed" if form in _ON_PAPER else "kept"
            of_stamp = f" of stamp {seen[2]}" if seen[2] else ""
            words = f"{what} {how}{of_stamp}: {file.name}"
            found.append(Hanging("sheet", file, words, seen[2]))
    return tuple(found)


@lru_cache(MOST_LOOKED_AT)
def _sheet_in(file: Path, time_ns: int, size: int) -> tuple[str, str, str] | None:
    """What sheet a file is, of which part, of which stamp; read once for each state of it."""
    if size > LARGEST_FILE_BYTES:
        return None
    content = file.read_bytes()
    sheet, _, rest = (said_of(content) or "").partition(", ")
    return (sheet, rest.partition(", ")[0], _stamp(content)) if sheet else None
