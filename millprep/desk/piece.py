"""A part as the desk shows it: its file as kept, what is in pencil, and what is said of both."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import field
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError, WordError, refusal_of
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.desk.line_boxes import plain_boxes, shown
from millprep.desk.pencil import TABLES, TITLE, Pencil, sign_of
from millprep.proven.editing import Line, Written, as_written
from millprep.proven.elevations import letter_of_line

if TYPE_CHECKING:
    from millprep.desk.kept import KeptFile, State


_SHOWN: dict[str, tuple[str, dict[str, list[tuple[str, str]]], int]] = {}
"""Of a file: the pencil as kept, and the lines as they were shown with it."""


@frozen
class ShownLine:
    """A line of a schedule.

    id     : its name on the page; index : in the file, None where it is in pencil alone
    boxes  : text of each box, pencil over ink; pencilled : the boxes in pencil
    under  : of boxes that are being typed in, what stood in them before
    why    : what keeps it in pencil
    letter : as in the balloons of the drawing
    """

    id: str
    table: str
    index: int | None
    boxes: dict[str, str]
    pencilled: frozenset[str]
    why: tuple[str, ...]
    letter: str = ""
    under: dict[str, str] = field(default_factory=dict)

    @property
    def settled(self) -> dict[str, str]:
        """The boxes without what is still being typed."""
        return self.boxes | self.under

    @property
    def name(self) -> str:
        return self.boxes.get("name", "")

    @property
    def mark(self) -> str:
        """Another where anything of the line is shown otherwise."""
        said = repr((sorted(self.boxes.items()), sorted(self.pencilled), self.why, self.letter))
        return hashlib.sha256(said.encode("utf-8", "surrogateescape")).hexdigest()[:12]

    @property
    def is_pencil(self) -> bool:
        return bool(self.pencilled) or self.index is None


class Piece:
    """One part file at one moment."""

    def __init__(self, kept: KeptFile) -> None:
        self.kept, self.path = kept, kept.path
        self.state: State = kept.now
        self.pencil = Pencil.of(self.state.pencil)
        self.text = self.state.data.decode("utf-8", "surrogateescape")
        self.faults: tuple[Finding, ...] = ()
        """Why the file cannot be shown as a form: it is no TOML."""
        try:
            self.written: Written | None = _written(self.text)
        except (MillprepError, WordError) as error:
            self.written, self.faults = None, refusal_of(error).findings
        self._follow()

    def _follow(self) -> None:
        """The lines known again, as they were last shown: nothing was kept by showing them."""
        kept = json.dumps(self.state.pencil, sort_keys=True)
        known = _SHOWN.get(str(self.path))
        if known is not None and known[0] == kept:
            self.pencil.order = {table: list(lines) for table, lines in known[1].items()}
            self.pencil.last = known[2]
        if not self.is_followed:
            return
        for table in TABLES:
            self.pencil.follow(table, signs_in(self.of_table(table)))
        order = {table: list(lines) for table, lines in self.pencil.order.items()}
        _SHOWN[str(self.path)] = (kept, order, self.pencil.last)

    @property
    def is_followed(self) -> bool:
        """Whether the file says which lines there are: not while it is no TOML, nor while it is
        empty, as some editors leave it for a moment."""
        return self.written is not None and (bool(self.text.strip()) or not self.pencil.order)

    @property
    def follows(self) -> str:
        """The file that this one is the opposite hand of, "" for a part of its own."""
        return "" if self.written is None else self.written.values.get("opposite_hand_of", "")

    @property
    def name(self) -> str:
        return self.title.get("part") or self.path.stem

    @property
    def units(self) -> Units:
        return "inch" if self.title.get("units", "").strip().lower() == "inch" else "mm"

    @cached_property
    def title(self) -> dict[str, str]:
        """The boxes of the title block, pencil over ink."""
        return self.settled_title | self.pencil.letters.get(TITLE, {})

    @property
    def settled_title(self) -> dict[str, str]:
        """The same without what is still being typed."""
        ink = {} if self.written is None else plain_boxes(self.written.values)
        return ink | self.pencil.typed.get(TITLE, {})

    def of_table(self, table: str) -> list[Line]:
        """The file's own lines."""
        return [] if self.written is None else [x for x in self.written.lines if x.table == table]

    @cached_property
    def _inked(self) -> dict[str, Line]:
        """The lines of the file by id."""
        order = self.pencil.order
        return {
            known: line
            for table in TABLES
            for (known, _), line in zip(order.get(table, []), self.of_table(table), strict=False)
        }

    def ink(self, line: str) -> Line | None:
        """The line of the file with this id; None for one that is in pencil alone."""
        return self._inked.get(line)

    def ids(self, table: str = "hole") -> list[str]:
        """Of a table's lines, those of the file first."""
        waiting = [one for one, of in self.pencil.waiting if of == table]
        known = self.pencil.order.get(table, []) if self.is_followed else []
        return [*(one for one, _ in known), *waiting]

    def lines(self, table: str = "hole") -> list[ShownLine]:
        """The lines of a table, those of the file first."""
        ids = self.ids(table)
        return [self._shown(line, table, place) for place, line in enumerate(ids)]

    def line(self, line: str) -> ShownLine | None:
        """One line; None where there is none of this id."""
        for table in TABLES:
            ids = self.ids(table)
            if line in ids:
                return self._shown(line, table, ids.index(line))
        return None

    def _shown(self, line: str, table: str, place: int) -> ShownLine:
        ink, typed = self.ink(line), self.pencil.on(line)
        values = ink.values if ink is not None else {}
        boxes = shown(values) if table == "hole" else plain_boxes(values)
        pencil = self.pencil.typed.get(line, {})
        under = {key: (boxes | pencil).get(key, "") for key in self.pencil.letters.get(line, {})}
        boxes |= typed
        if "where" in typed:  # boxes of the places that it had before are not shown
            boxes = {k: v for k, v in boxes.items() if "#" not in k or _top(k) == typed["where"]}
        if not boxes.get("where") and any(key.startswith("at#") for key in typed):
            boxes["where"] = "at"
        why = tuple(self.pencil.why.get(line, []))
        if not why and self.pencil.letters.get(line):
            why = ("typed and not put down yet: press Enter in its box, or rub it out",)
        index = None if ink is None else ink.index
        letter = letter_of_line(place)
        return ShownLine(line, table, index, boxes, frozenset(typed), why, letter, under)


@lru_cache(maxsize=4)
def _written(text: str) -> Written:
    """One change asks for the same text several times over."""
    return as_written(text)


def _top(box: str) -> str:
    return box.partition("#")[0].partition(".")[0]


def signs_in(lines: Sequence[Line]) -> list[str]:
    """What tells each line from the others of its table."""
    return [sign_of(line.name, line.values) for line in lines]


def figures_between(old: Mapping[str, str], new: Mapping[str, str]) -> Sequence[tuple[str, str]]:
    """The keys to be struck out, then those to be put down, with "" for what is struck out."""
    put = {key for key in new if old.get(key) != new[key]}
    gone = [
        (key, "")
        for key in old
        if key not in new and not any(key.startswith(f"{one}.") for one in put)
    ]
    return [*gone, *((key, value) for key, value in new.items() if old.get(key) != value)]
