"""What is written of a part and does not read yet: in pencil beside the file, line by line.

Each line of the file (a hole, a setup, a dimension) has a name of its own for as long as the desk
knows it, whatever is put in before it; the title block is the line "".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Any

TABLES = ("hole", "setup", "dimension")
TITLE = ""


_LIKE = 0.6  # of what a line says, the share that tells a changed line from another


def sign_of(name: str, values: Mapping[str, str]) -> str:
    """What tells a line from others of its table: its name, then what it says."""
    return f"{name}\n{sorted(values.items())!r}"


def _says_the_same(old: str, new: str) -> bool:
    return old == new


def _has_the_name(old: str, new: str) -> bool:
    name = new.partition("\n")[0]
    return bool(name) and old.partition("\n")[0] == name


def _is_like(old: str, new: str) -> bool:
    return SequenceMatcher(None, old, new, autojunk=False).ratio() > _LIKE


@dataclass(slots=True)
class Pencil:
    """State beside the file, as JSON keeps it.

    order   : of each table its lines in the file: (id, what tells it from others)
    waiting : ids of lines that are not in the file yet, as (id, table)
    typed   : of a line, box -> text; of the title block "stock.size.0" and the like
    letters : the same of boxes that are being typed in, which nobody has tried to read yet
    why     : of a line, what keeps it in pencil
    agreed  : figures compared with the plan: "id key" -> figure as agreed
    text    : the whole file as typed, where it does not read
    """

    order: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    waiting: list[tuple[str, str]] = field(default_factory=list)
    typed: dict[str, dict[str, str]] = field(default_factory=dict)
    letters: dict[str, dict[str, str]] = field(default_factory=dict)
    why: dict[str, list[str]] = field(default_factory=dict)
    agreed: dict[str, str] = field(default_factory=dict)
    text: str | None = None
    text_on: str = ""
    last: int = 0

    @classmethod
    def of(cls, kept: Mapping[str, Any]) -> Pencil:
        """As it was kept."""
        known = {name: kept[name] for name in cls.__dataclass_fields__ if name in kept}
        pencil = cls(**known)
        pencil.order = {t: [(a, b) for a, b in lines] for t, lines in pencil.order.items()}
        pencil.waiting = [(a, b) for a, b in pencil.waiting]
        return pencil

    def kept(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in self.__dataclass_fields__}

    @property
    def lines(self) -> int:
        """How many lines are in pencil, a text that does not read counted as one."""
        names = {*self.typed, *self.letters, *(name for name, _ in self.waiting)}
        return len(names) + (self.text is not None)

    def new_id(self, table: str) -> str:
        self.last += 1
        return f"{table[0]}{self.last}"

    def follow(self, table: str, signs: Iterable[str]) -> list[str]:
        """The ids of the lines that the file has now. signs : of each its name and what it says

        A line that says the same keeps its id, in its place or wherever it stands now; then one of
        the same name; then one that stands in the place of another and says nearly the same. What
        is none of these is a line of its own: nothing that is typed for another may come to it.
        """
        now, before = list(signs), self.order.get(table, [])
        free = dict(enumerate(before))
        ids: list[str | None] = [None] * len(now)

        def take(at: int, place: int | None) -> None:
            if place is not None and ids[at] is None:
                ids[at] = free.pop(place)[0]

        for at, sign in enumerate(now):
            take(at, at if at in free and free[at][1] == sign else None)
        for is_same in (_says_the_same, _has_the_name):
            for at, sign in enumerate(now):
                if ids[at] is None:
                    take(at, next((p for p, (_, old) in free.items() if is_same(old, sign)), None))
        if len(now) == len(before):
            for at, sign in enumerate(now):
                is_like = at in free and _is_like(free[at][1], sign)
                take(at, at if is_like else None)
        found = [one or self.new_id(table) for one in ids]
        self.order[table] = list(zip(found, now, strict=True))
        for gone in {name for name, _ in before} - {*found}:
            self.rub_out(gone)
        return found

    def knows(self, table: str, signs: Iterable[str]) -> None:
        """What the lines say after a change of the desk's own, which keeps their order."""
        ids = [one for one, _ in self.order.get(table, [])]
        self.order[table] = list(zip(ids, signs, strict=True))

    def on(self, line: str) -> dict[str, str]:
        """What stands in pencil on a line."""
        return self.typed.get(line, {}) | self.letters.get(line, {})

    def put_letters(self, line: str, key: str, text: str | None) -> None:
        """What is being typed in a box; None: it is not typed in any more."""
        here = self.letters.setdefault(line, {})
        here.pop(key, None)
        if text is not None:
            here[key] = text
        if not here:
            del self.letters[line]

    def rub_out(self, line: str) -> None:
        """Nothing of the line is in pencil any more."""
        self.typed.pop(line, None)
        self.letters.pop(line, None)
        self.why.pop(line, None)
        self.waiting = [one for one in self.waiting if one[0] != line]

    def write(self, line: str, typed: Mapping[str, str], why: Iterable[str]) -> None:
        self.typed[line] = dict(typed)
        self.why[line] = list(why)
