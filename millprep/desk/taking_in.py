"""A part that phones have, and their ticks taken into the record: each once."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, fields
from typing import Any

from millprep.base.findings import MillprepError
from millprep.base.records import frozen
from millprep.desk.issues import Issue, Issues, Newest, key_of, same_step, spoiled
from millprep.desk.refusals import RefusedError
from millprep.desk.ticks import Record, Tick, now

MOST_TICKS = 500
_LONGEST_NAME = 40


@frozen
class Said:
    """A tick as a phone says it. page : which page it had open; n : counted there, from 1

    name : of the card on that issue's page
    """

    issue: str
    page: str
    n: int
    piece: int
    name: str
    done: bool


@frozen
class Asked:
    """A message of a phone. issue : the page that is open; take : the one that it wants instead"""

    issue: str
    ticks: tuple[Said, ...]
    take: str = ""


def asked_of(given: Mapping[str, Any]) -> Asked:
    """Raises RefusedError for anything else than the page sends."""
    try:
        ticks = tuple(_said(one) for one in given["ticks"])
        asked = Asked(str(given["issue"]), ticks, str(given.get("take", "")))
    except (KeyError, TypeError, ValueError, AttributeError):
        raise RefusedError(400, "the page sent something that cannot be read") from None
    if len(ticks) > MOST_TICKS:
        raise RefusedError(413, f"more than {MOST_TICKS} ticks at once")
    return asked


def _said(one: Mapping[str, Any]) -> Said:
    issue, page, name = (str(one[key]) for key in ("issue", "page", "name"))
    if max(map(len, (issue, page, name))) > _LONGEST_NAME:
        raise ValueError(page)
    return Said(issue, page, int(one["n"]), int(one["piece"]), name, bool(one["done"]))


def take_in(
    lent: Lent,
    phone: Phone,
    ticks: Iterable[Said],
    issues: Issues,
    record: Record,
    save: Callable[[], None],
) -> bool:
    """Whether rows were added. What was heard is kept first, with the rows, so that a desk that is
    killed in between adds them when it starts again. Raises MillprepError, OSError: nothing is
    heard then.
    """
    last, before = dict(record.last()), dict(lent.heard)
    number, rows = record.next_number(), list[Tick]()
    for one in ticks:
        if not lent.hear(f"{phone.name} {one.page}", one.n):
            continue
        issue = issues.of(one.issue)
        key = None if issue is None else issue.names.get(one.name)
        if issue is None or key is None or not 1 <= one.piece <= issue.pieces:
            continue
        tick = Tick(number, now(), phone.name, issue.mark, one.piece, key, one.done)
        was = last.get(tick.of)
        if tick.done == (was is not None and was.done):
            continue
        rows.append(tick)
        last[tick.of] = tick
        number += 1
    if lent.heard == before:
        return False
    lent.writing = [one.row for one in rows]
    try:
        save()
        record.add(rows)
    except (MillprepError, OSError):
        lent.heard, lent.writing = before, []
        with suppress(OSError):
            save()
        raise
    lent.writing = []  # kept with the next that is heard; what is there already is not added again
    return bool(rows)


def carried(old: Issue, new: Issue, record: Record, device: str) -> list[Tick]:
    """What taking a new issue does to the ticks of the old one.

    A step that is the same there is ticked under its mark; where it was ticked there before,
    whether taken back or not, that stands. One that is otherwise there, in a part of the same
    mark, is taken back.
    """
    last, number = record.last(), record.next_number()
    steps = {key_of(one): one for one in old.steps if one.step}
    keys = set(new.names.values())
    found = list[Tick]()
    for tick in sorted(last.values(), key=lambda one: one.number):
        step = steps.get(tick.key) if tick.done and tick.part_mark == old.mark else None
        if step is None or tick.piece > new.pieces:
            continue
        same = same_step(step, new.steps)
        key = tick.key if same is None else key_of(same)
        moved = Tick(number, now(), device, new.mark, tick.piece, key, same is not None)
        is_spoiled = same is None and old.mark == new.mark and key in keys
        if is_spoiled or (same is not None and moved.of not in last):
            found.append(moved)
            number += 1
    return found


_LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"  # none is taken for another
_LETTERS_OF_SECRET = 14  # of 32 letters: 70 bits
MOST_PAGES = 1000


@dataclass
class Phone:
    """One that came. token : what its browser shows; came : as a clock shows it

    issue : the page that it has; is_away : sent away
    """

    token: str
    name: str
    came: str
    issue: str
    is_away: bool = False


@dataclass
class Lent:
    """One part file. name : in the folder; secret : of its address, "" where it is switched off

    lets_in    : whether a new phone may come in; shows_code : on the PC's page
    pieces     : how many are made; count : of phones that ever came
    heard      : of each page that a phone had open, the number of its last tick
    writing    : rows that are on their way into the record
    issues     : of each part mark the steps of a piece and the pieces
    """

    name: str
    secret: str = ""
    pieces: int = 1
    lets_in: bool = True
    shows_code: bool = True
    count: int = 0
    phones: list[Phone] = field(default_factory=list)
    heard: dict[str, int] = field(default_factory=dict)
    writing: list[list[Any]] = field(default_factory=list)
    issues: dict[str, list[int]] = field(default_factory=dict)

    @classmethod
    def of(cls, given: Mapping[str, Any]) -> Lent:
        """What `kept` gave. Raises TypeError."""
        known = {one.name for one in fields(cls)}
        own = {name: value for name, value in given.items() if name in known}
        return cls(**{**own, "phones": [Phone(**one) for one in own.get("phones", [])]})

    def kept(self) -> dict[str, Any]:
        return {**vars(self), "phones": [dict(vars(one)) for one in self.phones]}

    @property
    def is_on(self) -> bool:
        return self.secret != ""

    @property
    def here(self) -> list[Phone]:
        """Phones that were not sent away."""
        return [one for one in self.phones if not one.is_away]

    def switch_on(self) -> None:
        if not self.is_on:
            self.secret = "".join(secrets.choice(_LETTERS) for _ in range(_LETTERS_OF_SECRET))
            self.lets_in = self.shows_code = True

    def switch_off(self) -> None:
        """No phone has it any more; the next address is another."""
        self.secret = ""
        self.phones, self.heard = [], {}

    def phone(self, token: str) -> Phone | None:
        return next((one for one in self.phones if one.token == token), None)

    def hear(self, page: str, number: int) -> bool:
        """Whether this tick was not heard before."""
        if number <= self.heard.get(page, 0):
            return False
        self.heard.pop(page, None)
        self.heard[page] = number
        while len(self.heard) > MOST_PAGES:
            del self.heard[next(iter(self.heard))]
        return True


def standing_words(record: Record, issues: Mapping[str, Sequence[int]]) -> str:
    """14 of 25 done, piece 2 of 3; "" where nothing was ticked.

    issues : of each part mark the steps of a piece and the pieces
    """
    rows = record.rows()
    if not rows:
        return ""
    mark, piece = rows[-1].part_mark, rows[-1].piece
    done = sum(
        one.done and one.key[1] != "" and (one.part_mark, one.piece) == (mark, piece)
        for one in record.last().values()
    )
    steps, pieces = issues.get(mark, (0, 0))
    words = f"{done} of {steps} done" if steps else f"{done} done"
    if pieces > 1:
        return f"{words}, piece {piece} of {pieces}"
    return words if pieces or piece == 1 else f"{words}, piece {piece}"


def newer_words(issue: Issue, newest: Newest, ticks: Iterable[Tick]) -> dict[str, Any] | None:
    """What a phone with that issue is told of the newest; None where it has it.

    issue : "" where there is none to take; spoils : steps that are done and otherwise there
    """
    new = newest.issue
    if new is None:
        said = f"The part is being changed on the PC, and has no sheet just now: {newest.why}."
        return {"issue": "", "said": f"{said} These figures stay as they are.", "spoils": []}
    if new.id == issue.id:
        return None
    done = [(one.piece, one.key) for one in ticks if one.done and one.part_mark == issue.mark]
    is_batch = issue.pieces > 1
    spoils = [
        f"{f'piece {piece}, ' * is_batch}step {step.step} of setup {step.setup},"
        f" {step.hole} ({step.operation}): {why}"
        for piece, step, why in spoiled(issue, new, done)
    ]
    return {"issue": new.id, "said": _newer_said(issue, new, len(spoils)), "spoils": spoils}


def _newer_said(issue: Issue, new: Issue, spoils: int) -> str:
    said = f"The new sheet has the stamp {new.mark}."
    if new.mark == issue.mark:
        said = "The part is the same; the way to make it was changed"
        said += f", for {new.pieces} pieces." if new.pieces != issue.pieces else "."
    if spoils:
        return f"{said} Done already, and otherwise there:"
    return f"{said} Of what is done nothing is otherwise there."
