"""Which files hang on which: the other hand of a part, patterns taken from it, its assemblies."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

from millprep.base.records import frozen
from millprep.infiles.editing.layout import BOM

How = Literal["opposite hand", "pattern", "assembly"]


@frozen
class Follower:
    """A file that changes with another. on : the one that it names, which may be a follower too"""

    path: Path
    how: How
    on: Path


def named_in(data: Mapping[str, Any]) -> Iterator[tuple[str, How]]:
    """The files that a part or assembly names, as seen from its folder, and what as."""
    original = data.get("opposite_hand_of")
    if isinstance(original, str):
        yield original, "opposite hand"
    holes = data.get("hole")
    for table in [data.get("defaults"), *(holes if isinstance(holes, list) else [])]:
        wanted = table.get("pattern_from") if isinstance(table, dict) else None
        words = wanted.get("holes") if isinstance(wanted, dict) else wanted
        if isinstance(words, str) and ":" in words:
            yield words.rpartition(":")[0].strip(), "pattern"
    members = data.get("members")
    for member in members.values() if isinstance(members, dict) else ():
        file = member.get("part") if isinstance(member, dict) else member
        if isinstance(file, str):
            yield file, "assembly"


def followers(path: Path, texts: Mapping[Path, bytes]) -> tuple[Follower, ...]:
    """The files that change when this one does, the nearest first. texts : those to look through

    A file that cannot be read follows none.
    """
    links = [link for other, data in texts.items() for link in _links(other, data)]
    found: dict[Path, Follower] = {}
    waiting = [path.resolve()]
    while waiting:
        on = waiting.pop(0)
        for other, how, named in links:
            own = other.resolve()
            if named == on and own not in found and own != path.resolve():
                found[own] = Follower(other, how, on)
                waiting.append(own)
    return tuple(found.values())


def _links(path: Path, data: bytes) -> list[tuple[Path, How, Path]]:
    try:
        read = tomllib.loads(data.decode("utf-8").removeprefix(BOM))
        return [(path, how, (path.parent / file).resolve()) for file, how in named_in(read)]
    except (ValueError, RecursionError, OSError):
        return []
