"""A page of a sheet that says how a part is set up, beside its part and its shop.

Imports the part, the shop and `reading`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from itertools import groupby
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.model.part import Hole, SetupRequest
from millprep.model.shop import Shop
from millprep.reading.pages.printed import Figure, PrintedRow, UnreadableSheet
from millprep.reading.pages.sheet import ReadPage
from millprep.reading.pages.slots import Said, as_figure
from millprep.witness.asked import complaint
from millprep.witness.compared import Due, Question, is_so
from millprep.witness.faces import AXIS
from millprep.witness.printed import Printed, Upright

HALF_SIZE_DIGIT_MM = 0.0013  # sizes in sentences are told to 0.001 mm or 0.0001 in
FINEST_RULE = 64  # rules are divided to a 64th of an inch
SIDES = {(0, -1.0): "left hand", (0, 1.0): "right hand", (1, -1.0): "towards you", (1, 1.0): "away"}
_NAMED_SLACK = 1e-4
Run = Sequence[PrintedRow]


@frozen
class SetUp:
    """A page, what it is held against, and the page before it, where the sheet has that.

    is_folded : whether its form tells once what holds for all setups; is_alone : it is the only one
    pieces : how many are made in one go; has_ticks : whether the form has a box for each
    """

    printed: Printed
    page: ReadPage
    shop: Shop
    before: SetUp | None = None
    is_folded: bool = False
    is_alone: bool = False
    pieces: int = 1
    has_ticks: bool = True

    @property
    def earlier(self) -> Iterator[SetUp]:
        """The pages before it, the nearest first."""
        above = self.before
        while above is not None:
            yield above
            above = above.before

    def is_news(self, has: Callable[[SetUp], bool]) -> bool:
        """Whether what such pages have is told here: where a form tells it once, on the first."""
        return has(self) and not (self.is_folded and any(map(has, self.earlier)))

    def all(self, *slugs: str) -> tuple[Said, ...]:
        """The sentences of these templates."""
        return self.page.whole.all(*slugs)

    def only(self, *slugs: str) -> Said | None:
        """The first of them; that there are no more is asked elsewhere."""
        return next(iter(self.all(*slugs)), None)

    @property
    def in_jaws(self) -> Said | None:
        """What says how the part is held between jaws, where it is."""
        return self.only("hold-vice", "hold-bar")

    @property
    def at_stop(self) -> Said | None:
        """What says which face is against the stop, where one is."""
        return self.only("hold-vice", "hold-bar", "hold-blocks")

    @property
    def jaws_axis(self) -> int:
        """The axis that the jaws of the vice close along, 0 for X and 1 for Y."""
        return 1 if self.request.jaws == "y" else 0

    @property
    def is_bar_lying(self) -> bool:
        """Whether the jaws would close on the round of a bar or disc."""
        along = self.by_side["left hand" if self.jaws_axis == 1 else "away"]
        return self.printed.part.stock.axis == AXIS[along]

    def wrong(self, words: str, said: Said | None = None, kind: str = "wrong-figure") -> Finding:
        where = f"setup {self.printed.setup.number}: {words}"
        return replace(complaint(self.printed.file)(where, said or self.page.title), kind=kind)

    def count(self, wanted: Mapping[str, int]) -> Iterator[Finding]:
        """There are as many sentences of each template as there have to be."""
        told = Counter(one.slug for one in self.page.whole.said)
        for slug, number in wanted.items():
            if told[slug] != number:
                yield self.wrong(f"{told[slug]} sentences of {slug}, not {number}")

    def says(
        self, said: Said, right: Due, kind: str = "wrong-figure", about: str = ""
    ) -> Iterator[Finding]:
        """Each slot that says another thing than it should. about : words before it"""
        for name, one in right.items():
            if not is_so(said, name, one, HALF_SIZE_DIGIT_MM):
                words = f"{about or said.text}: {name} is {said.slots.get(name)}, not {one}"
                yield self.wrong(words, said, kind)

    def reads(self, axis: int, exact_mm: float, slack_mm: float = 0.0) -> Question:
        """Whether a slot is what the readout of an axis shows, rounded once."""
        units = self.printed.setup.units
        return Question(
            f"{exact_mm:.4f} mm",
            lambda told: self.shows(as_figure(told, units).mm, axis, exact_mm, slack_mm),
        )

    def named(self, said: Said, **right: Any) -> Iterator[Finding]:
        """What JSON has by name beside the words; other forms have none of it."""
        for name, value in right.items() if said.named is not None else ():
            told = None if said.named is None else said.named.get(name)
            if not is_same(told, value):
                yield self.wrong(f"{said.text}: {name} is {told} by name, not {value}", said)

    @cached_property
    def request(self) -> SetupRequest:
        """What the part file asks of this setup."""
        return self.printed.request

    @cached_property
    def by_side(self) -> dict[str, str]:
        """The faces that stand upright, by where they stand at the machine."""
        return {side(one): face for face, one in self.printed.upright.items()}

    def side_of(self, face: str) -> str:
        """Where a face stands; "" for one that does not stand upright."""
        upright = self.printed.upright.get(face)
        return "" if upright is None else side(upright)

    def along(self, axis: int) -> tuple[str, str]:
        """The faces at the low and the high end of X (0) or Y (1)."""
        low, high = (("left hand", "right hand"), ("towards you", "away"))[axis]
        return self.by_side[low], self.by_side[high]

    def size_along_mm(self, axis: int) -> float:
        low, high = self.along(axis)
        return self.printed.upright[high].at_mm - self.printed.upright[low].at_mm

    @property
    def height_mm(self) -> float:
        return self.printed.part.stock.size_mm[AXIS[self.printed.setup.face]]

    @property
    def sets(self) -> str:
        """What gives a depth."""
        return "Z" if self.shop.readout.axes == "xyz" else "quill"

    @property
    def zeros(self) -> tuple[str, str]:
        return self.printed.setup.zero_x, self.printed.setup.zero_y

    @property
    def is_disc_on_end(self) -> bool:
        return self.printed.part.stock.axis == AXIS[self.printed.setup.face]

    @property
    def is_by_hole(self) -> bool:
        return bool(self.all("hole"))

    @property
    def rows(self) -> Run:
        return self.printed.setup.rows

    def runs(self) -> list[Run]:
        """The rows tool by tool, tapping apart."""
        by_tool = groupby(self.rows, key=lambda row: (row.tool_number, row.operation == "tap"))
        return [list(run) for _, run in by_tool]

    def hole_here(self, name: str) -> Hole | None:
        """A hole that is worked from the face that is up."""
        expected = self.printed.expected.get(name)
        return None if expected is None else expected.hole

    def place(self, place: tuple[float, float], x: str = "x", y: str = "y") -> Due:
        """Two slots that show a place of the part as the readout does."""
        at_x, at_y = self.printed.on_machine(place)
        return {x: self.reads(0, at_x), y: self.reads(1, at_y)}

    def is_place(self, said: Said, place: tuple[float, float]) -> bool:
        return not any(self.says(said, self.place(place)))

    def shows(self, told_mm: float, axis: int, exact_mm: float, slack_mm: float = 0.0) -> bool:
        """Whether a figure is what the readout of an axis shows, rounded once."""
        printed = self.printed
        off = abs(told_mm * printed.signs[axis] - exact_mm)
        return bool(off <= printed.half_count_mm + slack_mm) and printed.is_whole_counts(told_mm)


def side(upright: Upright) -> str:
    return SIDES[upright.axis, upright.outward]


def ruled(text: str) -> Figure:
    """A distance as a rule shows it, with its unit: a decimal, or whole inches and a fraction."""
    number, _, unit = text.rpartition(" ")
    if unit != "in":
        return as_figure(text, "mm")
    try:
        inches = sum(Fraction(piece) for piece in number.split())
    except (ValueError, ZeroDivisionError):
        raise UnreadableSheet(f"{text} is on no rule") from None
    return Figure(float(inches) * 25.4, 25.4 / FINEST_RULE / 2)


def is_same(told: Any, right: Any) -> bool:
    """Whether a value of JSON is the right one; figures to what they are written to."""
    if isinstance(right, (list, tuple)):
        is_list = isinstance(told, list) and len(told) == len(right)
        return is_list and all(map(is_same, told, right))
    if isinstance(right, Mapping):
        return isinstance(told, Mapping) and all(is_same(told.get(k), v) for k, v in right.items())
    if isinstance(right, (int, float)) and not isinstance(right, bool):
        try:
            return abs(float(told) - right) <= _NAMED_SLACK
        except (TypeError, ValueError):
            return False
    return bool(told == right)
