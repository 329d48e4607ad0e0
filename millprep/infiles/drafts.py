"""Holes on their way from the file to the part, and the register of their names."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, field

from millprep.base.findings import WordError
from millprep.base.records import anew, frozen
from millprep.base.units import Units, shown
from millprep.infiles.faults import Faults
from millprep.infiles.features import What
from millprep.infiles.part_schema import HoleTable
from millprep.infiles.positions import Path
from millprep.infiles.taken import Others
from millprep.infiles.wording import UnknownWordError, accepted, folded
from millprep.model.part import Datum, Point, Stock


@dataclass
class Draft:
    """One [[hole]]: what is known of it so far.

    path    : where it stands in the file; table : its keys over the defaults
    name    : as written or made up; where_key : the key that says where it is
    centres : of every member of the pattern; middle : their mean, once it was asked for
    members : name, number and centre of those not skipped
    """

    path: Path
    table: HoleTable
    name: str = ""
    what: What | None = None
    where_key: str = ""
    centres: list[Point] = field(default_factory=list)
    members: list[tuple[str, int | None, Point]] = field(default_factory=list)
    middle: Point | None = None
    is_placed: bool = False
    is_waiting: bool = False

    @property
    def number(self) -> int:
        """The hole's number in the file, from 1."""
        index = self.path[1]
        assert isinstance(index, int)
        return index + 1

    @property
    def diameter_mm(self) -> float:
        """Of the finished hole; 0 while it is not known."""
        return self.what.diameter_mm if self.what is not None else 0.0

    @property
    def is_pattern(self) -> bool:
        """Whether its members are numbered: a single point and a polar are not."""
        if self.where_key == "at":
            return self.table.at is not None and self.table.at.is_list
        return self.where_key not in ("", "polar")


class Names:
    """Who has which name; capitals and blanks make no difference."""

    def __init__(self) -> None:
        self._drafts: dict[str, Draft] = {}
        self._faulty: set[str] = set()

    def claim(self, name: str, draft: Draft) -> Draft | None:
        """Takes the name for a hole; the hole that has it already, if one has."""
        other = self._drafts.setdefault(folded(name), draft)
        return None if other is draft else other

    def is_taken(self, name: str) -> bool:
        return folded(name) in self._drafts or folded(name) in self._faulty

    def note_faulty(self, name: str) -> None:
        """A hole whose table cannot be read: to name it is no second fault."""
        self._faulty.add(folded(name))

    def find(self, name: str) -> tuple[Draft, int | None]:
        """The [[hole]] of that name and the number of the member, None when the name has none.

        Raises WordError when no hole has the name.
        """
        word = folded(name)
        draft = self._drafts.get(word)
        if draft is not None and not word.startswith(folded(draft.name) + " "):
            return draft, None
        group, _, number = word.rpartition(" ")
        draft = self._drafts.get(group)
        if draft is not None and number.isascii() and number.isdigit() and len(number) < 7:
            return draft, int(number)
        if word in self._faulty or group in self._faulty:
            raise UnknownWordError(f"{shown(name)} has a fault of its own", "mend that hole first")
        known = list(itertools.islice((draft.name for draft in self._drafts.values()), 200))
        unique = list(dict.fromkeys(known))
        raise UnknownWordError(f"there is no hole {shown(name)}", _offer(unique, name))

    def find_one(self, name: str) -> tuple[Draft, int]:
        """As `find`, for one hole: its index in `centres`. Raises WordError for a whole pattern."""
        draft, number = self.find(name)
        if not draft.centres:
            raise WordError(f"{shown(name)} has a fault of its own", "mend that hole first")
        if not draft.is_pattern and number is None:
            return draft, 0
        count = len(draft.centres)
        if number is None or not draft.is_pattern or not 1 <= number <= count:
            remedy = f'name a member, "{draft.name} 1" to "{draft.name} {count}"'
            raise WordError(
                f"{shown(name)} is not one hole",
                remedy if draft.is_pattern else f'"{draft.name}" is',
            )
        if number in draft.table.skip:
            raise WordError(f"{shown(name)} is skipped", "name a member that is there")
        return draft, number - 1


def _offer(known: list[str], name: str) -> str:
    if not known:
        return "no hole has a name"
    words = accepted(known[:12], name)
    return words + (", ..." if len(known) > 12 else "")


def letters() -> Iterator[str]:
    """A, B, ... Z, AA, AB, ..."""
    for length in itertools.count(1):
        for each in itertools.product("ABCDEFGHIJKLMNOPQRSTUVWXYZ", repeat=length):
            yield "".join(each)


@frozen
class Bench:
    """What the reading of holes works with: the stock and its datum, the names, the faults.

    others : part files to take patterns from
    """

    faults: Faults
    stock: Stock
    datum: Datum
    names: Names = anew(factory=Names)
    others: Others | None = None

    @property
    def units(self) -> Units:
        return self.faults.units

    def claim(self, draft: Draft, name: str) -> None:
        """Takes a name for a hole, or notes whose it is."""
        other = self.names.claim(name, draft)
        if other is None:
            return
        line = self.faults.line(other.path)
        place = f", line {line}" if line else ""
        whose = f"hole {other.number}{place}"
        remedy = "give each hole its own name; capitals make no difference"
        if other.path[0] != "hole":
            whose = "a hole of the other hand"
            remedy = f"give it its own name, or write without = [{shown(other.name)}]"
        message = f"the name {shown(name)} is taken by {whose}"
        self.faults.add(
            "duplicate-name", (*draft.path, "name"), message, remedy, hole=draft.table.name
        )

    def noting(
        self, draft: Draft, *key: str, kind: str = "contradiction"
    ) -> AbstractContextManager[None]:
        """Within it what is wrong is noted of a hole, at the key it hangs on."""
        return self.faults.noting((*draft.path, *key), kind, draft.table.name)
