"""Files edited as texts, and a text read, planned and checked as if it stood in its file.

What edits is `infiles/editing`, offered here. Nothing is written.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError, WordError
from millprep.base.records import frozen, replace
from millprep.infiles.editing.lines import copied as copied
from millprep.infiles.editing.lines import line_added as line_added
from millprep.infiles.editing.lines import line_moved as line_moved
from millprep.infiles.editing.lines import line_removed as line_removed
from millprep.infiles.editing.lines import lines_set_aside as lines_set_aside
from millprep.infiles.editing.lines import new_part as new_part
from millprep.infiles.editing.lines import other_hand as other_hand
from millprep.infiles.editing.putting import Figure as Figure
from millprep.infiles.editing.putting import put_down as put_down
from millprep.infiles.editing.written import Line as Line
from millprep.infiles.editing.written import Written as Written
from millprep.infiles.editing.written import as_written as as_written
from millprep.infiles.editing.written import same_lines as same_lines

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop
    from millprep.planning import Plan
    from millprep.proven.preparation import Prepared

_HEADER = re.compile(r"[ \t]*(\[\[?)[ \t]*([A-Za-z][\w-]*)([^\],\n]*)\]\]?[ \t]*(?:#.*)?\r?$")
_KEY_OF_LINE = re.compile(r"(\w+)\[(\d+)\]")

_MOST_ROUNDS = 4  # a hole that counts from one left out is left out in the next
Texts = Mapping[Path, bytes]
TableLine = tuple[str, int]
"""A line of a file: its table and its index there."""


@frozen
class Judged:
    """A text as its sheets would see it. findings : worst first, none where it cannot be planned

    part, prepared : None where there are faults, which is why it cannot be read, or planned
    aside : lines, (table, index), that were left out for their faults, and the rest read
    """

    text: str
    path: Path
    part: Part | None = None
    prepared: Prepared | None = None
    findings: tuple[Finding, ...] = ()
    faults: tuple[Finding, ...] = ()
    aside: tuple[TableLine, ...] = ()

    @property
    def plan(self) -> Plan | None:
        return None if self.prepared is None else self.prepared.plan

    def where(self, finding: Finding) -> TableLine | None:
        """The line that a finding is about: its table, and its index there; None for the whole.

        A finding of another file is about none of this one's.
        """
        if finding.file is not None and Path(finding.file) != self.path:
            return None
        if finding.line is not None:
            return line_at(self.text, finding.line)
        return self._named(finding.key) or next(
            filter(None, map(self.hole_line, finding.holes)), None
        )

    def hole_line(self, name: str) -> TableLine | None:
        """The line that makes the hole or pattern of that name; None where another file does."""
        part = self.part
        for hole in () if part is None else part.holes:
            if part is not None and name in (hole.name, hole.group):
                own = Path(hole.file or part.original_path or self.path) == self.path
                return self._named(hole.key) if own else None
        return None

    def _named(self, key: str | None) -> TableLine | None:
        """The line of a key "hole[3].depth", whose number is of those that were not left out."""
        found = _KEY_OF_LINE.match(key or "")
        if found is None:
            return None
        table, index = found[1], int(found[2]) - 1
        for one in sorted(index for other, index in self.aside if other == table):
            index += one <= index
        return table, index


def read_text(
    text: str | bytes,
    path: Path | str,
    shop: Shop | Path | str = "metric",
    *,
    beside: Texts | None = None,
    cures: bool = False,
    sets_aside: bool = False,
) -> Judged:
    """A part's text read, planned and checked as if it stood at that path.

    Other files are read from the disk, those that `beside` has from there.
    cures : whether the nearest change that cures a fault is looked for, which takes the longest
    sets_aside : whether lines with faults, and those that count from them, are left out, so that
                 the rest is seen; assemblies are not asked then, which name what is left out
    """
    data = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    judged = _read(data, Path(path), shop, beside or {}, cures=cures)
    words, faults, aside = judged.text, judged.faults, set[TableLine]()
    for _ in range(_MOST_ROUNDS if sets_aside else 0):
        lines = {line for fault in judged.faults if (line := line_in(words, fault, judged.path))}
        if judged.plan is not None or not lines - aside:
            break
        aside |= lines
        try:
            rest = lines_set_aside(words, aside)
        except WordError:
            break
        judged = _read(rest.encode(), Path(path), shop, beside or {}, cures=cures, is_whole=False)
    if judged.part is None:
        return Judged(words, judged.path, faults=faults)
    return replace(judged, text=words, faults=faults, aside=tuple(sorted(aside)))


def _read(
    data: bytes,
    path: Path,
    shop: Shop | Path | str,
    beside: Texts,
    *,
    cures: bool,
    is_whole: bool = True,
) -> Judged:
    from millprep.infiles import read_part
    from millprep.infiles.file_bytes import as_if_written
    from millprep.proven.leaving import NONE
    from millprep.proven.preparation import prepare

    words = data.decode("utf-8", "replace")
    part: Part | None = None
    with as_if_written({**beside, path: data}):
        try:
            assembly = None if is_whole else NONE
            prepared = prepare(path, shop, cures=cures, assembly=assembly)
            return Judged(words, path, prepared.whole.part, prepared, prepared.findings)
        except MillprepError as error:
            faults = error.findings
        with suppress(MillprepError):
            part = read_part(path)[0]
    return Judged(words, path, part, faults=faults)


def faults_in(
    text: str | bytes, path: Path | str, beside: Texts | None = None
) -> tuple[Finding, ...]:
    """Why the text of a part, an assembly or a shop cannot be read; none where it can."""
    from millprep.infiles import read_part, read_shop
    from millprep.infiles.assembly_file import read_assembly
    from millprep.infiles.editing.taking import kind_of
    from millprep.infiles.file_bytes import as_if_written
    from millprep.infiles.text import read_document

    path = Path(path)
    data = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    with as_if_written({**(beside or {}), path: data}):
        try:
            kind = kind_of(read_document(path).data)
            if kind == "shop":
                read_shop(str(path))
            elif kind == "assembly":
                read_assembly(path)
            else:
                read_part(path)
        except MillprepError as error:
            return error.findings
    return ()


def line_in(text: str, finding: Finding, path: Path) -> TableLine | None:
    """The line of a table that a fault of the reading stands in."""
    if finding.line is None or (finding.file is not None and Path(finding.file) != path):
        return None
    return line_at(text, finding.line)


def line_at(text: str, line: int) -> TableLine | None:
    """Which line of which table stands at a line of a text, from 1; None for the rest of it."""
    counts: dict[str, int] = {}
    table = ""
    for words in text.split("\n")[:line]:
        if header := _HEADER.match(words):
            brackets, table, more = header.groups()
            if brackets == "[[" and not more.strip():
                counts[table] = counts.get(table, -1) + 1
    return (table, counts[table]) if table in counts else None
