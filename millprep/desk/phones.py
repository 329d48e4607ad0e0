"""The parts of a folder that phones have, and what they tick; kept over restarts."""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import os
import threading
import time
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from millprep.base.findings import MillprepError
from millprep.desk.files import id_of, shown
from millprep.desk.issues import Issue, Issues
from millprep.desk.network import own_addresses
from millprep.desk.phone_line import Line
from millprep.desk.places import own_file, read_privately, write_privately
from millprep.desk.refusals import RefusedError
from millprep.desk.taking_in import (
    Lent,
    Phone,
    asked_of,
    carried,
    newer_words,
    standing_words,
    take_in,
)
from millprep.desk.ticks import Record, Tick

if TYPE_CHECKING:
    from millprep.desk.desk import Desk

MOST_PHONES = 30
SILENT_SECONDS = 20
_LEAST_LETTERS = 16
_FIRST_PORT, _PORTS = 30_000, 10_000


class Phones:
    """Of one desk. news : phones that came, until that was seen: file name, phone, clock

    trouble : why no phone can come just now, "" where one can
    """

    def __init__(self, desk: Desk, home: Path | None = None) -> None:
        """Raises OSError where nothing can be kept."""
        self._desk, self._home = desk, home
        self._lock = threading.RLock()
        self._file = own_file(desk.folder, ".phones.json", home)
        known = read_privately(self._file)
        self._address, self._port = str(known.get("address", "")), known.get("port", 0)
        self._lent = {name: Lent.of(one) for name, one in known.get("parts", {}).items()}
        self._issues: dict[str, Issues] = {}
        self._records: dict[str, Record] = {}
        self._numbers: dict[str, int] = {}
        self._heard_at: dict[str, float] = {}
        self._since: dict[str, float] = {}
        self._line: Line | None = None
        self.news: list[tuple[str, str, str]] = []
        self.trouble = ""
        for lent in self._lent.values():
            self._finish(lent)

    # ---- what is kept

    def _save(self) -> None:
        kept = {name: one.kept() for name, one in self._lent.items()}
        write_privately(self._file, {"address": self._address, "port": self._port, "parts": kept})

    def _finish(self, lent: Lent) -> None:
        """Rows that a killed desk had on their way."""
        if not lent.writing:
            return
        with contextlib.suppress(MillprepError, TypeError, ValueError, IndexError):
            record = self.record(lent.name)
            there = {one.number for one in record.rows()}
            rows = [Tick.of_row(row) for row in lent.writing]
            record.add([one for one in rows if one.number not in there])
            lent.writing = []

    def of(self, name: str) -> Lent:
        """A part by its file's name in the folder."""
        return self._lent.get(name) or Lent(name)

    def issues(self, name: str) -> Issues:
        if name not in self._issues:
            self._issues[name] = Issues(self._desk, self._desk.folder / name, self._home)
        return self._issues[name]

    def record(self, name: str) -> Record:
        if name not in self._records:
            self._records[name] = Record(self._desk.folder / name)
        return self._records[name]

    def numbers(self) -> dict[str, int]:
        """How often something of the phones of a part changed, for pages that show it."""
        with self._lock:
            return dict(self._numbers)

    def _count(self, name: str) -> None:
        for one in ("phones", f"phone-{id_of(name)}"):
            self._numbers[one] = self._numbers.get(one, 0) + 1

    # ---- the line

    @property
    def address(self) -> str:
        """Scheme, host and port; "" while nothing listens."""
        return "" if self._line is None else self._line.address

    @property
    def is_lost(self) -> bool:
        """Whether this PC has another address by now than the one that phones come to."""
        return self._line is not None and self._line.host not in own_addresses()

    @property
    def others(self) -> list[str]:
        """Other addresses of this PC at home."""
        now = "" if self._line is None else self._line.host
        return [one for one in own_addresses() if one != now]

    def start(self) -> None:
        """Listen, if any part is handed out."""
        with self._lock:
            if self._line is None and any(one.is_on for one in self._lent.values()):
                self._listen()

    def _listen(self) -> None:
        own = own_addresses()
        self.trouble = ""
        if not own:
            self.trouble = "this PC is in no home network just now: join one, then come back here"
            return
        if self._address and self._address not in own:
            self._desk.told.append(
                f"This PC had the address {self._address} in the home network, and has"
                f" {own[0]} now. Phones have to come by the code once more."
            )
        host = self._address if self._address in own else own[0]
        digest = hashlib.sha256(os.fsencode(self._desk.folder)).hexdigest()
        port = self._port or _FIRST_PORT + int(digest, 16) % _PORTS
        try:
            self._line = Line(self, self._desk, host, port)
        except OSError as error:
            self.trouble = f"no phone can come to {host}: {error.strerror or error}"
            return
        if self._port and self._line.port != self._port:
            self._desk.told.append(
                "Another program answers where phones came to. Phones have to come by the code"
                " once more."
            )
        self._address, self._port = host, self._line.port
        for name in self._lent:
            self._since[name] = time.monotonic()
        self._save()

    def close(self) -> None:
        """Listen no more; what is handed out stays so."""
        with self._lock:
            line, self._line = self._line, None
        if line is not None:
            line.close()

    def listen_at(self, host: str) -> None:
        """At another address of this PC."""
        if host not in own_addresses():
            raise RefusedError(409, "this PC has no such address now")
        self.close()
        with self._lock:
            self._address = host
            self._listen()
            for name in self._lent:
                self._count(name)

    # ---- asked at the desk

    def switch_on(self, name: str, pieces: int) -> None:
        """Let phones come to a part, or take another number of pieces for it."""
        with self._lock:
            lent = self._lent.setdefault(name, Lent(name))
            lent.switch_on()
            lent.pieces = pieces
            self._since[name] = time.monotonic()
            self._heard_at.pop(name, None)
            self._save()
            self._count(name)
            self.start()

    def switch_off(self, name: str) -> None:
        with self._lock:
            lent = self.of(name)
            lent.switch_off()
            self.issues(name).drop()
            self._save()
            self._count(name)
            is_last = not any(one.is_on for one in self._lent.values())
        if is_last:
            self.close()

    def goes_on_as(self, name: str, new: str) -> None:
        """The part's file has another name: its ticks and its phones go along."""
        with self._lock:
            old, record = self.record(name), self.record(new)
            if old.path.is_file() and not record.path.exists():
                with contextlib.suppress(OSError):
                    old.path.rename(record.path)
            self.issues(name).goes_on_as(self.issues(new))
            if (lent := self._lent.pop(name, None)) is not None:
                lent.name = new
                self._lent[new] = lent
                self._save()

    def show_code(self, name: str) -> None:
        """Once more, for another phone."""
        with self._lock:
            lent = self.of(name)
            lent.lets_in = lent.shows_code = True
            self._since[name] = time.monotonic()
            self._save()
            self._count(name)
            self.start()

    def send_away(self, name: str, phone: str) -> None:
        """This phone comes in no more; nor does a new one, until the code is shown again."""
        with self._lock:
            lent = self.of(name)
            for one in lent.phones:
                one.is_away = one.is_away or one.name == phone
            lent.lets_in = lent.shows_code = False
            self._save()
            self._count(name)

    def is_silent(self, name: str) -> bool:
        """Whether nothing was heard for so long that something may stand in the way."""
        since = self._since.get(name)
        if since is None or self._heard_at.get(name, -1.0) >= since or self.of(name).here:
            return False
        return time.monotonic() - since >= SILENT_SECONDS

    def heard_ago(self, name: str, phone: Phone) -> float | None:
        """Seconds since a phone was last heard; None where it was not since the desk started."""
        at = self._heard_at.get(f"{name} {phone.token}")
        return None if at is None else time.monotonic() - at

    def standing(self, name: str) -> str:
        """Where a part stands, "" where nothing is ticked: 14 of 25 done, piece 2 of 3."""
        with contextlib.suppress(MillprepError):
            return standing_words(self.record(name), self.of(name).issues)
        return ""

    # ---- asked by a phone

    def heard(self, secret: str) -> Lent:
        """The part of that secret. Raises RefusedError where there is none."""
        for lent in self._lent.values():
            if lent.is_on and hmac.compare_digest(lent.secret.encode(), secret.encode()):
                self._heard_at[lent.name] = time.monotonic()
                return lent
        raise RefusedError(404, "there is nothing at this address")

    def page(self, secret: str, token: str) -> bytes:
        """The page that a phone is to see. Raises RefusedError."""
        with self._lock:
            lent = self.heard(secret)
            phone = self._known(lent, token)
            issues = self.issues(lent.name)
            if phone is not None and (issue := issues.of(phone.issue)) is not None:
                return issue.page
        newest = issues.newest(lent.pieces)
        if newest is None or newest.issue is None:
            why = newest.why if newest is not None else "the PC is busy: try again"
            raise RefusedError(409, f"there is no sheet of this part just now: {why}")
        with self._lock:
            self._give(lent, newest.issue)
            if phone is not None:
                phone.issue = newest.issue.id
            self._save()
        return newest.issue.page

    def _give(self, lent: Lent, issue: Issue) -> None:
        self.issues(lent.name).give(issue)
        lent.issues[issue.mark] = [issue.count, issue.pieces]

    def _known(self, lent: Lent, token: str) -> Phone | None:
        """The phone of that token, None for a new one. Raises RefusedError where it may not in."""
        phone = lent.phone(token)
        if phone is not None and phone.is_away:
            raise RefusedError(
                403, "this phone was sent away at the PC: its ticks stay here, and are not taken"
            )
        if phone is None and not (lent.lets_in and len(lent.here) < MOST_PHONES):
            raise RefusedError(
                403, "no new phone is let in just now: press Show the code again on the PC first"
            )
        return phone

    def answer(self, secret: str, token: str, given: Mapping[str, Any]) -> dict[str, Any]:
        """What a phone said, taken in, and what it is to know. Raises RefusedError, MillprepError.

        given : issue, ticks, take: the page that it wants instead
        """
        asked = asked_of(given)
        with self._lock:
            lent = self.heard(secret)
            issues, record = self.issues(lent.name), self.record(lent.name)
            issue = issues.of(asked.issue)
            if issue is None:
                raise RefusedError(409, "the PC does not know this page any more: load it again")
            phone = self._known(lent, token) or self._come(lent, token, issue)
            self._heard_at[f"{lent.name} {token}"] = time.monotonic()
            if take_in(lent, phone, asked.ticks, issues, record, self._save):
                self._count(lent.name)
        newest = issues.newest(lent.pieces, waits=asked.take != "") or issues.known
        with self._lock:
            taken = newest is not None and newest.issue if asked.take else None
            is_taken = bool(taken and taken.id == asked.take)
            if taken and is_taken:
                self._give(lent, taken)
                record.add(carried(issue, taken, record, phone.name))
                phone.issue = taken.id
                self._save()
                self._count(lent.name)
            last = record.last()
            return {
                "phone": phone.name,
                "heard": {
                    one.page: lent.heard.get(f"{phone.name} {one.page}", 0) for one in asked.ticks
                },
                "ticks": _by_piece(issue, last),
                "piece": _piece_in_hand(issue, record),
                "newer": None if newest is None else newer_words(issue, newest, last.values()),
                "taken": is_taken,
            }

    def _come(self, lent: Lent, token: str, issue: Issue) -> Phone:
        if len(token) < _LEAST_LETTERS:
            raise RefusedError(403, "this browser keeps no cookie: allow it to for this address")
        lent.count += 1
        phone = Phone(token, f"phone {lent.count}", f"{datetime.now():%H:%M}", issue.id)
        lent.phones.append(phone)
        lent.shows_code = False
        self.news.append((lent.name, phone.name, phone.came))
        self._save()
        self._count(lent.name)
        self._desk.note(f"{phone.name} came for {shown(lent.name)}")
        return phone


def _by_piece(issue: Issue, last: Mapping[Any, Tick]) -> dict[str, list[str]]:
    """Names of the cards that are ticked, by piece, in the order in which they were."""
    names = {key: name for name, key in issue.names.items()}
    found: dict[str, list[str]] = {str(piece): [] for piece in range(1, issue.pieces + 1)}
    for tick in sorted(_done(issue, last), key=lambda one: one.number):
        if tick.key in names and str(tick.piece) in found:
            found[str(tick.piece)].append(names[tick.key])
    return found


def _done(issue: Issue, last: Mapping[Any, Tick]) -> Iterator[Tick]:
    return (one for one in last.values() if one.done and one.part_mark == issue.mark)


def _piece_in_hand(issue: Issue, record: Record) -> int:
    """The piece of the last tick under this mark."""
    for tick in reversed(record.rows()):
        if tick.part_mark == issue.mark and tick.piece <= issue.pieces:
            return tick.piece
    return 1
