"""Files edited as texts, and a text read, planned and checked as if it stood in its file.

What edits is `infiles/editing`, offered here. Nothing is written.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import frozen
from millprep.infiles.editing import Figure as Figure
from millprep.infiles.editing import Line as Line
from millprep.infiles.editing import Written as Written
from millprep.infiles.editing import as_written as as_written
from millprep.infiles.editing import line_added as line_added
from millprep.infiles.editing import line_moved as line_moved
from millprep.infiles.editing import line_removed as line_removed
from millprep.infiles.editing import put_down as put_down

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop
    from millprep.planning import Plan
    from millprep.proven.preparation import Prepared

_HEADER = re.compile(r"[ \t]*(\[\[?)[ \t]*([A-Za-z][\w-]*)([^\],\n]*)\]\]?[ \t]*(?:#.*)?\r?$")
_KEY_OF_LINE = re.compile(r"(\w+)\[(\d+)\]")

Texts = Mapping[Path, bytes]


@frozen
class Judged:
    """A text as its sheets would see it. findings : worst first, none where it cannot be read

    part, prepared : None where there are faults, which is why it cannot be read, or planned
    """

    text: str
    path: Path
    part: Part | None
    prepared: Prepared | None
    findings: tuple[Finding, ...]
    faults: tuple[Finding, ...]

    @property
    def plan(self) -> Plan | None:
        return None if self.prepared is None else self.prepared.plan

    def where(self, finding: Finding) -> tuple[str, int] | None:
        """The line that a finding is about: its table, and its index there; None for the whole.

        A finding of another file is about none of this one's.
        """
        if finding.file is not None and Path(finding.file) != self.path:
            return None
        if finding.line is not None:
            return line_at(self.text, finding.line)
        if finding.key is not None and (found := _KEY_OF_LINE.match(finding.key)):
            return found[1], int(found[2]) - 1
        return self._line_of_hole(finding.holes[0]) if finding.holes else None

    def _line_of_hole(self, name: str) -> tuple[str, int] | None:
        part = self.part
        for hole in () if part is None else part.holes:
            if part is not None and name in (hole.name, hole.group):
                own = Path(hole.file or part.original_path or self.path) == self.path
                found = _KEY_OF_LINE.match(hole.key) if own else None
                return None if found is None else (found[1], int(found[2]) - 1)
        return None


def read_text(
    text: str | bytes,
    path: Path | str,
    shop: Shop | Path | str = "metric",
    *,
    beside: Texts | None = None,
    cures: bool = False,
) -> Judged:
    """A part's text read, planned and checked as if it stood at that path.

    Other files are read from the disk, those that `beside` has from there.
    cures : whether the nearest change that cures a fault is looked for, which takes the longest
    """
    from millprep.infiles import read_part
    from millprep.infiles.file_bytes import as_if_written
    from millprep.proven.preparation import prepare

    path = Path(path)
    data = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    words = data.decode("utf-8", "replace")
    part: Part | None = None
    with as_if_written({**(beside or {}), path: data}):
        try:
            prepared = prepare(path, shop, cures=cures)
            return Judged(words, path, prepared.whole.part, prepared, prepared.findings, ())
        except MillprepError as error:
            faults = error.findings
        with suppress(MillprepError):
            part = read_part(path)[0]
    return Judged(words, path, part, None, (), faults)


def line_at(text: str, line: int) -> tuple[str, int] | None:
    """Which line of which table stands at a line of a text, from 1; None for the rest of it."""
    counts: dict[str, int] = {}
    table = ""
    for words in text.split("\n")[:line]:
        if header := _HEADER.match(words):
            brackets, table, more = header.groups()
            if brackets == "[[" and not more.strip():
                counts[table] = counts.get(table, -1) + 1
    return (table, counts[table]) if table in counts else None
