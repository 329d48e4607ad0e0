"""A part that phones have: its secret, who came, and what each has said. Imports layer 0."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

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
