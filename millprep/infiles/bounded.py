"""How much a TOML file may hold: counted in its text before it is parsed, in its lists after."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from millprep.base.bounds import (
    MOST_DIMENSIONS,
    MOST_HOLES,
    MOST_IN_LIST,
    MOST_JOINTS,
    MOST_MEMBERS,
    MOST_OBSTACLES,
    MOST_SETUPS,
    MOST_TABLES,
    MOST_TOOLS,
    MOST_VALUES,
)
from millprep.infiles.file_bytes import unreadable
from millprep.infiles.positions import Path

_HEADER = re.compile(r"^[ \t]*\[\[?[ \t]*[A-Za-z_\"'][^\[\],\n]*\]", re.MULTILINE)
_MOST: dict[str | int, int] = {
    **dict.fromkeys(("at", "chain", "skip"), MOST_HOLES),
    **dict.fromkeys(("joint", "shared", "reamed_together", "handed_pair"), MOST_JOINTS),
    "hole": MOST_TABLES,
    "dimension": MOST_DIMENSIONS,
    "setup": MOST_SETUPS,
    "obstacle": MOST_OBSTACLES,
    "tool": MOST_TOOLS,
    "members": MOST_MEMBERS,
}


def refuse_large_text(text: str, name: str) -> None:
    """Raises MillprepError for a text of more tables or values than a file may hold."""
    tables = sum(1 for _ in _HEADER.finditer(text))
    values = text.count(",") + text.count("=")
    for what, count, most in (("tables", tables, MOST_TABLES), ("values", values, MOST_VALUES)):
        if count > most:
            raise unreadable(name, f"holds {count:,} {what}", f"at most {most:,} in one file")


def long_lists(value: Any, path: Path = ()) -> Iterator[tuple[Path, int, int]]:
    """(where, how many entries it holds, how many it may) of each list and table too long."""
    most = _MOST.get(path[-1], MOST_IN_LIST) if path else MOST_IN_LIST
    if len(value) > most:
        yield path, len(value), most
        return
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
        if isinstance(inner, (dict, list)):
            yield from long_lists(inner, (*path, key))
