"""Ticks of a part, in a CSV beside it that is added to and never rewritten.

The last row of a step counts, by number; no clock does.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path

from millprep.base.findings import stopped
from millprep.base.plain_text import cell_text
from millprep.base.record import add_rows
from millprep.base.records import frozen

COLUMNS = (
    "number",
    "time",
    "device",
    "part_mark",
    "piece",
    "setup",
    "step",
    "hole",
    "operation",
    "done",
)
MOST_BYTES = 20_000_000
Key = tuple[str, str, str, str]
"""Setup, step, hole, operation."""


@frozen
class Tick:
    """A row. number : by arrival; device : who ticked; piece : from 1; key : what was ticked"""

    number: int
    time: str
    device: str
    part_mark: str
    piece: int
    key: Key
    done: bool

    @classmethod
    def of_row(cls, row: Sequence[object]) -> Tick:
        """As `row` gives it. Raises ValueError, IndexError."""
        number, time, device, mark, piece, *key, done = (str(cell) for cell in row)
        setup, step, hole, operation = key
        return cls(
            int(number), time, device, mark, int(piece), (setup, step, hole, operation), done == "1"
        )

    @property
    def row(self) -> list[object]:
        return [
            self.number,
            self.time,
            self.device,
            self.part_mark,
            self.piece,
            *self.key,
            +self.done,
        ]

    @property
    def of(self) -> tuple[str, int, Key]:
        """What it is a tick of: part mark, piece, key."""
        return self.part_mark, self.piece, self.key


class Record:
    """The rows of one part, as they stand in its file."""

    def __init__(self, part: Path) -> None:
        self.path = part.with_suffix(".ticks.csv")
        self._seen: tuple[int, int] | None = None
        self._rows: list[Tick] = []

    def rows(self) -> Sequence[Tick]:
        """By number. Raises MillprepError where the file cannot be read."""
        try:
            self._refuse_link()
            state = self.path.stat()
            if state.st_size > MOST_BYTES:
                raise stopped("unreadable-file", "is too large", "put it away", str(self.path))
            if self._seen != (state.st_mtime_ns, state.st_size):
                text = self.path.read_bytes().decode("utf-8-sig", "replace")
                self._rows = sorted(_read(text), key=lambda one: one.number)
                self._seen = state.st_mtime_ns, state.st_size
        except FileNotFoundError:
            self._rows, self._seen = [], None
        except OSError as error:
            why = f"cannot be read: {error.strerror}"
            raise stopped("unreadable-file", why, "allow it", str(self.path)) from None
        return self._rows

    def last(self) -> dict[tuple[str, int, Key], Tick]:
        """The row that counts of each step that was ever ticked."""
        return {one.of: one for one in self.rows()}

    def next_number(self) -> int:
        rows = self.rows()
        return rows[-1].number + 1 if rows else 1

    def add(self, ticks: Iterable[Tick]) -> None:
        """Raises MillprepError where nothing was added."""
        self._refuse_link()
        if rows := [one.row for one in ticks]:
            add_rows(self.path, COLUMNS, rows)

    def _refuse_link(self) -> None:
        if self.path.is_symlink():
            why = "is a link to elsewhere, and no ticks are written there"
            raise stopped("output-refused", why, "put a plain file there", str(self.path))


def _read(text: str) -> Iterable[Tick]:
    """Rows that can be read; what somebody has written between them is passed over."""
    for row in csv.DictReader(io.StringIO(text)):
        cells = {name: cell_text(row.get(name) or "") for name in COLUMNS}
        try:
            number, piece = int(cells["number"]), int(cells["piece"])
        except ValueError:
            continue
        key = cells["setup"], cells["step"], cells["hole"], cells["operation"]
        is_done = cells["done"] == "1"
        who, mark = cells["device"], cells["part_mark"]
        yield Tick(number, cells["time"], who, mark, piece, key, is_done)


def now() -> str:
    """The PC's own time, for who reads the file; nothing is decided by it."""
    return datetime.now().astimezone().isoformat(timespec="seconds")
