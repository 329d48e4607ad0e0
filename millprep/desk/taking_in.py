"""Ticks of a phone taken into the record: each once, whatever became of its messages.

Imports `issues`, `lent`, `ticks`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from typing import Any

from millprep.base.findings import MillprepError
from millprep.base.records import frozen
from millprep.desk.issues import Issue, Issues, key_of, same_step
from millprep.desk.lent import Lent, Phone
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
