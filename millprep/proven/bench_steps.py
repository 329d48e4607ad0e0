"""The bench page that a PC serves, with its cards as data: what a tick on it is a tick of."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

from millprep.base.findings import stopped
from millprep.base.records import frozen, replace
from millprep.proven.handed import Handed
from millprep.proven.preparation import Prepared
from millprep.proven.sheets import Asked, Bench, prove

if TYPE_CHECKING:
    from millprep.writers.bench.card import Card

_MARK = re.compile(r'id="page-mark" content="([^"]+)"')


@frozen
class BenchStep:
    """A card of the bench page. name : on the page, "c5"; step : its number in the setup, "" where
    there is nothing to cut; hole, operation : what is done; for other cards, what they are called

    place : X, Y and Z in mm, as the readout shows them; tool : in words
    """

    name: str
    setup: str
    step: str
    hole: str
    operation: str
    place: tuple[str, str, str] | None = None
    tool: str = ""
    face: str = ""

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What tells it from the others of its page."""
        return self.setup, self.step, self.hole, self.operation


@frozen
class ServedBench:
    """A bench page to be served. issue : a number of its own, of its whole text; mark : the part's

    page : None where a finding keeps it back
    """

    page: bytes | None
    issue: str
    mark: str
    handed: Handed
    steps: tuple[BenchStep, ...]


def served_bench(prepared: Prepared, pieces: int = 1) -> ServedBench:
    """The page, proven, and its cards. Raises MillprepError or WordError."""
    from millprep.proven.stacks import is_by_hand
    from millprep.writers.bench.cards import cards_of

    if prepared.part.carrying is not None and is_by_hand(prepared.part):
        said = "is carried over by hand: there is nothing to read off at the mill"
        raise stopped("output-refused", said, "print its sheet", file=str(prepared.part.path))
    asked = Asked(pieces=pieces)
    handed = prove("bench", prepared, "served", asked)
    if handed.data is None:
        return ServedBench(None, "", prepared.part.mark, handed, ())
    found = _MARK.search(handed.data.decode())
    assert found is not None  # every page has one
    bench = Bench(prepared, asked)
    setups = cards_of(bench._laid(units="mm"), bench._laid(units="inch"))
    steps = [_step(card, str(one.number), one.face) for one in setups for card in one.cards]
    issue = found[1].split()[-1]
    return ServedBench(handed.data, issue, prepared.part.mark, handed, _told_apart(steps))


def _step(card: Card, setup: str, face: str) -> BenchStep:
    if card.pair is None:
        return BenchStep(card.name, setup, "", "", card.title, face=face)
    step, also = card.step, card.pair[0].also
    place = str(also["x"]), str(also["y"]), str(also["z"])
    tool = str(also["tool"])
    hole, operation = card.title, str(step["operation"])
    return BenchStep(card.name, setup, str(step["step"]), hole, operation, place, tool, face)


def _told_apart(steps: list[BenchStep]) -> tuple[BenchStep, ...]:
    """Cards of the same key get a number each; those with something to cut never have the same."""
    seen: Counter[tuple[str, ...]] = Counter()
    apart = []
    for one in steps:
        seen[one.key] += 1
        again = f" ({seen[one.key]})" if seen[one.key] > 1 else ""
        apart.append(replace(one, operation=one.operation + again))
    return tuple(apart)
