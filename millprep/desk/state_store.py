"""What the desk keeps of each file of a folder: its states, in a database of the user's own.

A change is written down as begun before the file is touched, and as done after: one killed in
between is found at the next start, with its bytes. A rollback journal and not a write-ahead log:
both outlast a kill, but the log needs memory shared between programs, which a home folder on a
network does not give, and leaves what was kept in two more files. Every commit waits for the disk.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import zlib
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from millprep.base.bounds import MOST_STATES
from millprep.base.records import frozen
from millprep.desk.held_folder import mark_of

By = Literal["desk", "elsewhere", "typing"]
_TABLES = """
CREATE TABLE IF NOT EXISTS file (name BLOB PRIMARY KEY, now INTEGER);
CREATE TABLE IF NOT EXISTS state (
    number INTEGER PRIMARY KEY AUTOINCREMENT, name BLOB NOT NULL, mark TEXT NOT NULL,
    pencil BLOB NOT NULL, said TEXT NOT NULL, at TEXT NOT NULL, by TEXT NOT NULL);
CREATE INDEX IF NOT EXISTS state_of_file ON state (name, number);
CREATE INDEX IF NOT EXISTS state_of_mark ON state (mark);
CREATE TABLE IF NOT EXISTS content (mark TEXT PRIMARY KEY, data BLOB NOT NULL);
CREATE TRIGGER IF NOT EXISTS content_of_no_state AFTER DELETE ON state
WHEN NOT EXISTS (SELECT 1 FROM state WHERE mark = old.mark)
BEGIN DELETE FROM content WHERE mark = old.mark; END;
CREATE TABLE IF NOT EXISTS begun (
    name BLOB PRIMARY KEY, number INTEGER NOT NULL, is_new INTEGER NOT NULL,
    old TEXT, waiting TEXT NOT NULL);
"""
_COLUMNS = "number, content.data, pencil, said, at, by, state.mark"
_STATE = f"SELECT {_COLUMNS} FROM state JOIN content ON content.mark = state.mark WHERE "


@frozen
class State:
    """A file as it stood after one change.

    number : grows with every change to any file of the folder
    pencil : what is not in the file yet, as JSON
    said   : what the change was, "pivot: 3/8 from left, was 5/8"
    at     : local time with its offset, ISO 8601
    by     : "desk"; "elsewhere" for a change that the desk found; "typing" for letters in a box,
             which give way to the next change of the file or of its pencil
    mark   : SHA-256 of the bytes, hexadecimal
    """

    number: int
    data: bytes
    pencil: dict[str, Any]
    said: str
    at: str
    by: By
    mark: str

    @property
    def clock(self) -> str:
        """The local time, "10:42"."""
        return self.at[11:16]


@frozen
class Begun:
    """A change that was begun. state : that it leads to, made for it where `is_new`;
    old : mark of the bytes before, None for a new file; waiting : where the bytes waited
    """

    name: str
    state: State
    is_new: bool
    old: str | None
    waiting: str


class StateStore:
    """The database. Every method raises sqlite3.Error; the caller sees to it that one at a time
    is called.
    """

    def __init__(self, path: Path) -> None:
        self._db = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        try:
            # the journal is emptied, not removed: the commit is on the disk without its folder
            self._db.execute("PRAGMA journal_mode = TRUNCATE")
            self._db.execute("PRAGMA synchronous = FULL")
            self._db.executescript(_TABLES)
        except BaseException:
            self._db.close()
            raise

    def close(self) -> None:
        self._db.close()

    @contextlib.contextmanager
    def _together(self) -> Iterator[None]:
        """What is changed in here is kept together, or not at all."""
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._db.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                self._db.execute("ROLLBACK")
            raise

    def now(self, name: str) -> State | None:
        """The state in which the desk knows a file; None for one that it has not seen."""
        return self._one("number = (SELECT now FROM file WHERE name = ?)", _key(name))

    def names(self) -> list[str]:
        """The files of which a state is known, there or not."""
        return [os.fsdecode(name) for (name,) in self._db.execute("SELECT name FROM file")]

    def before(self, name: str, number: int) -> State | None:
        """The state that a step back leads to."""
        which = "name = ? AND number < ? ORDER BY number DESC LIMIT 1"
        return self._one(which, _key(name), number)

    def after(self, name: str, number: int) -> State | None:
        """The state that a step forward leads to."""
        which = "name = ? AND number > ? ORDER BY number LIMIT 1"
        return self._one(which, _key(name), number)

    def _one(self, which: str, *values: object) -> State | None:
        row = self._db.execute(_STATE + which, values).fetchone()
        if row is None:
            return None
        number, data, pencil, *rest = row
        return State(number, zlib.decompress(data), json.loads(zlib.decompress(pencil)), *rest)

    def add(self, name: str, data: bytes, pencil: dict[str, Any], said: str, by: By) -> State:
        """A state in which the file stands already; those that were ahead of it are given up."""
        with self._together():
            state = self._added(name, data, pencil, said, by)
            self._stands_at(name, state.number, is_new=True)
        return state

    def begin(
        self,
        name: str,
        old: str | None,
        waiting: str,
        data: bytes,
        pencil: dict[str, Any],
        said: str,
    ) -> Begun:
        """A change of the file that is about to be made."""
        with self._together():
            state = self._added(name, data, pencil, said, "desk")
            return self._noted(Begun(name, state, True, old, waiting))

    def begin_step(self, name: str, old: str, waiting: str, to: State) -> Begun:
        """A step to a state that is there, about to be made."""
        with self._together():
            return self._noted(Begun(name, to, False, old, waiting))

    def _noted(self, begun: Begun) -> Begun:
        name, number = _key(begun.name), begun.state.number
        self._db.execute(
            "INSERT OR REPLACE INTO begun VALUES (?, ?, ?, ?, ?)",
            (name, number, begun.is_new, begun.old, begun.waiting),
        )
        return begun

    def step(self, name: str, to: State) -> None:
        """A step that leaves the bytes of the file as they are."""
        with self._together():
            self._stands_at(name, to.number, is_new=False)

    def begun(self) -> list[Begun]:
        """The changes that were begun, and neither done nor given up."""
        rows = self._db.execute("SELECT name, number, is_new, old, waiting FROM begun").fetchall()
        found = ((self._one("number = ?", row[1]), row) for row in rows)
        return [
            Begun(os.fsdecode(name), state, bool(is_new), old, waiting)
            for state, (name, _, is_new, old, waiting) in found
            if state is not None
        ]

    def done(self, begun: Begun) -> None:
        """The change is in the file."""
        with self._together():
            self._stands_at(begun.name, begun.state.number, begun.is_new)
            self._db.execute("DELETE FROM begun WHERE name = ?", (_key(begun.name),))

    def given_up(self, begun: Begun, stays_ahead: bool = False) -> None:
        """The change is not in the file. stays_ahead : a step forward leads to it"""
        with self._together():
            if begun.is_new and not stays_ahead:
                self._db.execute("DELETE FROM state WHERE number = ?", (begun.state.number,))
            self._db.execute("DELETE FROM begun WHERE name = ?", (_key(begun.name),))

    def renamed(self, name: str, to: str) -> None:
        """The states of a file go on under another name; what was kept under that one is not."""
        with self._together():
            for table in ("state", "file"):
                self._db.execute(f"DELETE FROM {table} WHERE name = ?", (_key(to),))
                self._db.execute(
                    f"UPDATE {table} SET name = ? WHERE name = ?", (_key(to), _key(name))
                )

    def _added(self, name: str, data: bytes, pencil: dict[str, Any], said: str, by: By) -> State:
        mark, at = mark_of(data), datetime.now().astimezone().isoformat(timespec="seconds")
        if self._db.execute("SELECT 1 FROM content WHERE mark = ?", (mark,)).fetchone() is None:
            self._db.execute("INSERT INTO content VALUES (?, ?)", (mark, zlib.compress(data)))
        told = json.dumps(pencil)
        number = self._db.execute(
            "INSERT INTO state (name, mark, pencil, said, at, by) VALUES (?, ?, ?, ?, ?, ?)",
            (_key(name), mark, zlib.compress(told.encode()), said, at, by),
        ).lastrowid
        assert number is not None
        return State(number, data, json.loads(told), said, at, by, mark)

    def _stands_at(self, name: str, number: int, is_new: bool) -> None:
        """The file stands in this state; for a new one letters that were being typed, those ahead
        and the oldest are given up."""
        key = _key(name)
        if is_new:
            self._db.execute(
                "DELETE FROM state WHERE name = ? AND number < ? AND by = 'typing'", (key, number)
            )
            self._db.execute(
                "DELETE FROM state WHERE name = ? AND number < ?"
                " AND number > (SELECT now FROM file WHERE name = ?)",
                (key, number, key),
            )
            self._db.execute(
                "DELETE FROM state WHERE name = ? AND number <= (SELECT number FROM state"
                " WHERE name = ? ORDER BY number DESC LIMIT 1 OFFSET ?)",
                (key, key, MOST_STATES),
            )
        self._db.execute("INSERT OR REPLACE INTO file VALUES (?, ?)", (key, number))


def _key(name: str) -> bytes:
    """A file name as bytes: it need not be text."""
    return os.fsencode(name)
