"""Issues of a part's bench page: the newest, those that phones were given, and what lies between.

A phone keeps the issue that it was given until it asks for the new one: pages that were given are
kept in the user's own folder.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import threading
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError, WordError, refusal_of
from millprep.base.plain_text import clean
from millprep.base.records import field_names, frozen
from millprep.desk.papers import in_pencil_words, pencil_lines
from millprep.desk.places import own_folder, write_privately
from millprep.desk.saying import said
from millprep.desk.ticks import Key
from millprep.proven.bench_steps import BenchStep, served_bench
from millprep.proven.editing import read_text

if TYPE_CHECKING:
    from millprep.desk.desk import Desk


@frozen
class Issue:
    """A bench page as a phone is given it. id : of its whole text; mark : of the part"""

    id: str
    mark: str
    pieces: int
    steps: tuple[BenchStep, ...]
    page: bytes

    @property
    def names(self) -> dict[str, Key]:
        """A card's name on the page to what a tick of it is a tick of."""
        return {one.name: key_of(one) for one in self.steps}

    @property
    def count(self) -> int:
        """Of the steps, without what only prepares them."""
        return sum(1 for one in self.steps if one.step)


@frozen
class Newest:
    """The page that the part makes now, or why there is none."""

    issue: Issue | None
    why: str = ""


class Issues:
    """Of one part."""

    def __init__(self, desk: Desk, path: Path, home: Path | None) -> None:
        """Raises OSError where nothing can be kept."""
        self._desk, self._path = desk, path
        name = hashlib.sha256(os.fsencode(path)).hexdigest()[:24]
        self._folder = own_folder(home) / f"{name}.issues"
        self._known: dict[str, Issue] = {}
        self._newest: tuple[object, Newest] | None = None
        self._making = threading.Lock()

    @property
    def known(self) -> Newest | None:
        """The newest that was made, however old."""
        return None if self._newest is None else self._newest[1]

    def newest(self, pieces: int, waits: bool = True) -> Newest | None:
        """What the part makes now. waits : else None while another asker has it made."""
        made = self._newest
        if made is not None and made[0] == self._state(pieces):
            return made[1]
        if not self._making.acquire(blocking=waits):
            return None
        try:
            state = self._state(pieces)
            if self._newest is None or self._newest[0] != state:
                self._newest = state, self._made(pieces)
            return self._newest[1]
        finally:
            self._making.release()

    def _state(self, pieces: int) -> object:
        """What a page hangs on: all files that the desk looks at, and what is in pencil."""
        marks = {one: m for one, m in self._desk.looking.marks.items() if one.endswith(".toml")}
        try:
            data = self._path.read_bytes()
        except OSError:
            data = b""
        numbers = sorted(self._desk.numbers().items())
        return marks, numbers, hashlib.sha256(data).hexdigest(), self._desk.shop, pieces

    def _made(self, pieces: int) -> Newest:
        try:
            if words := in_pencil_words(pencil_lines(self._desk, self._path)):
                return Newest(None, words)
            data = self._desk.kept.of(self._path).now.data
            judged = read_text(data, self._path, self._desk.shop)
            if judged.prepared is None or judged.faults:
                first = judged.faults[0] if judged.faults else None
                return Newest(None, _in_words(first) if first else "the part cannot be read")
            bench = served_bench(judged.prepared, pieces)
        except (MillprepError, WordError) as error:
            return Newest(None, _in_words(refusal_of(error).findings[0]))
        if bench.page is None:
            findings = [one for one in bench.handed.findings if one.severity == "stop"]
            return Newest(None, _in_words(findings[0]) if findings else "there is nothing to make")
        return Newest(Issue(bench.issue, bench.mark, pieces, bench.steps, bench.page))

    def give(self, issue: Issue) -> None:
        """Keep a page as long as a phone may have it. Raises OSError."""
        if self.of(issue.id) is not None:
            return
        self._folder.mkdir(0o700, exist_ok=True)
        about = {
            "mark": issue.mark,
            "pieces": issue.pieces,
            "steps": [
                {one: getattr(step, one) for one in field_names(step)} for step in issue.steps
            ],
        }
        write_privately(self._folder / f"{issue.id}.html", issue.page)
        write_privately(self._folder / f"{issue.id}.json", about)
        self._known[issue.id] = issue

    def of(self, id: str) -> Issue | None:
        """One that was given."""
        if id not in self._known and id.isalnum():
            with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
                about = json.loads((self._folder / f"{id}.json").read_bytes())
                page = (self._folder / f"{id}.html").read_bytes()
                steps = tuple(_step(one) for one in about["steps"])
                self._known[id] = Issue(id, about["mark"], about["pieces"], steps, page)
        return self._known.get(id)

    def goes_on_as(self, other: Issues) -> None:
        """The part has another name: what was given to phones is theirs still."""
        with contextlib.suppress(OSError):
            self._folder.rename(other._folder)

    def drop(self) -> None:
        """No phone has any of them any more."""
        self._known.clear()
        for one in self._folder.glob("*"):
            one.unlink(missing_ok=True)
        with contextlib.suppress(OSError):
            self._folder.rmdir()


def _in_words(finding: Finding) -> str:
    told = said(finding)
    return f"{told.who} {told.sentence}".strip().rstrip(".")


def _step(given: Mapping[str, object]) -> BenchStep:
    place = given["place"]
    return BenchStep(**{**given, "place": tuple(place) if isinstance(place, list) else None})  # type: ignore[arg-type]


def key_of(step: BenchStep) -> Key:
    """As the record has it."""
    setup, number, hole, operation = (clean(word) for word in step.key)
    return setup, number, hole, operation


def same_step(old: BenchStep, new: Iterable[BenchStep]) -> BenchStep | None:
    """The step of another issue that does the same at the same place, however it is numbered."""
    what = old.face, old.hole, old.operation, old.place, old.tool
    for one in new:
        if what == (one.face, one.hole, one.operation, one.place, one.tool):
            return one
    return None


def spoiled(
    old: Issue, new: Issue, done: Iterable[tuple[int, Key]]
) -> Iterator[tuple[int, BenchStep, str]]:
    """Of steps that are done under the old issue those that the new one has otherwise: the piece,
    the step and in what. done : piece and key"""
    by_key = {key_of(one): one for one in old.steps if one.step}
    for piece, key in done:
        step = by_key.get(key)
        if step is not None and same_step(step, new.steps) is None:
            yield piece, step, _otherwise(step, new)


def _otherwise(step: BenchStep, new: Issue) -> str:
    alike = [
        one
        for one in new.steps
        if one.step and (one.hole, one.operation) == (step.hole, step.operation)
    ]
    if not alike:
        is_there = any(one.hole == step.hole for one in new.steps if one.step)
        return (
            f"there is no {step.operation} of it now" if is_there else "that hole is not there now"
        )
    now = alike[0]
    words = []
    if now.face != step.face:
        words.append(f"it is made with {now.face.upper()} up now")
    elif now.place is not None and step.place is not None:
        for axis, before, after in zip("XYZ", step.place, now.place, strict=True):
            if before != after:
                words.append(f"{axis} was {before}, is {after} mm")
    if now.tool != step.tool:
        words.append(f"the tool was {step.tool}, is {now.tool}")
    return ", ".join(words)
