"""What a program says of itself in its first lines, held against what it is run as."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from millprep.base.findings import Finding

if TYPE_CHECKING:
    from millprep.model.part import Part

_FIRST_BYTES = 2000
_SETUP = re.compile(rb"^[(;].*\bSETUP (\d{1,4}) OF \d", re.MULTILINE)
# a comment of nothing else: a part may be called "part mark abcdef"
_MOVED = re.compile(rb"^(?:\(|; )HOLES MOVED TO FIT ([^)\r\n]+)", re.MULTILINE)
_MARK = re.compile(rb"^(?:\(|; )PART MARK ([0-9A-F]{6})\)?\r?$", re.MULTILINE)


def heading_doubts(file: str, data: bytes, part: Part, setup: int) -> Iterator[Finding]:
    """A program of millprep's own that was written for another setup, or another part file."""
    heading = data[:_FIRST_BYTES]
    found = _SETUP.search(heading)
    if found is not None and int(found[1]) != setup:
        number = int(found[1])
        message = f"the program says that it is for setup {number}; it is judged as setup {setup}"
        remedy, line = f"dry-run it by itself, with --setup {number}", _line(heading, found)
        yield Finding("warning", "other-setup", message, remedy, file, line)
    found = _MOVED.search(heading)
    if found is not None and part.as_measured is None:
        name = found[1].decode(errors="replace").strip()
        message = f"the program says that its holes are moved to fit {name}; judged without that"
        remedy = "name that file: --as-measured"
        yield Finding("warning", "other-revision", message, remedy, file, _line(heading, found))
    found = _MARK.search(heading)
    if found is not None and found[1].decode().lower() != part.mark.lower():
        message = (
            f"the program was written for part mark {found[1].decode().lower()}; "
            f"{part.path or 'the part'} has {part.mark} now"
        )
        remedy = "write the program again, or give the part file that it was written from"
        yield Finding("warning", "other-revision", message, remedy, file, _line(heading, found))


def says_lay(data: bytes) -> bool:
    """Whether a program says in its heading how the part lies, as millprep's own do."""
    return b"TOWARDS YOU" in data[:_FIRST_BYTES].upper()


def _line(data: bytes, found: re.Match[bytes]) -> int:
    return data.count(b"\n", 0, found.start()) + 1
