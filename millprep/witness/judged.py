"""What readings of a finished part say, by a comparison of the witness's own.

In and out are said only where what a reading may be off leaves no doubt; where the drawing gives no
limit nothing is out. Imports the part, the shop and what was measured.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator
from functools import cached_property

from millprep.base.records import frozen
from millprep.model.measured import Measured
from millprep.model.part import Hole
from millprep.model.readings import PAIR_KINDS, PLACE_KINDS, Reading, Readings
from millprep.witness import lengths
from millprep.witness.faces import AXIS

_WORST_FIRST = ("out", "beyond usual", "not decidable", "in", "not measured")
_NO_GO_TURNS = 2.0  # a thread's no-go gauge may go in so far (from memory of ISO 1502)
_FEEL_TURNS = 0.5  # that the hand does not tell at the bottom of a hole (common practice)
_SAME_MM = 1e-9
_PIN_SAME_MM = 1e-6


def worst(verdicts: Iterable[str]) -> str:
    """The worst of several; of none "not measured"."""
    told = {*verdicts}
    return next((one for one in _WORST_FIRST if one in told), "not measured")


def decided(value_mm: float, off_mm: float, least: float | None, greatest: float) -> str:
    """In, out, or not decidable."""
    over = [value_mm - greatest] + ([] if least is None else [least - value_mm])
    if max(over) > off_mm + _SAME_MM:
        return "out"
    return "not decidable" if max(over) > -off_mm + _SAME_MM else "in"


@frozen
class SizeRead:
    """A diameter as measured, its limits [mm], and what is to be said of it."""

    verdict: str
    size_mm: float | None = None
    limits: lengths.Span | None = None


@frozen
class Judge(lengths.Drawn):
    """A part, and what was measured of it."""

    given: Measured | Readings

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        return self.given.readings if isinstance(self.given, Readings) else ()

    def readings_here(self, holes: Container[str]) -> list[Reading]:
        return [one for one in self.readings if one.hole in holes]

    def key(self, kind: str, hole: str, to: str) -> tuple[str, frozenset[str]]:
        """What tells readings apart; which end is named first does not, nor what has one name."""
        if kind in PAIR_KINDS:
            return kind, frozenset({hole, to})
        own = [one for one in self.readings if (one.kind, one.hole) == (kind, hole)]
        return f"{kind} of {hole}", frozenset(
            {to.lower()} if len(own) > 1 or kind[:4] == "edge" else ()
        )

    def reading(self, kind: str, hole: str, to: str) -> Reading | None:
        wanted = self.key(kind, hole, to)
        alike = (one for one in self.readings if self.key(one.kind, one.hole, one.to) == wanted)
        return next(alike, None)

    def _of(self, hole: Hole) -> list[Reading]:
        return [one for one in self.readings if one.hole == hole.name]

    def is_touched(self, hole: Hole) -> bool:
        """Whether anything was read of where it is."""
        if isinstance(self.given, Measured):
            one = self.given.named(hole.name)
            return one is not None and (one.x_mm is not None or one.y_mm is not None)
        return any(
            hole.name == one.hole or (one.kind in lengths.ON_PINS and hole.name == one.to)
            for one in self.readings
            if one.kind in PLACE_KINDS
        )

    def is_usual(self, hole: Hole) -> bool:
        """Whether the drawing says nothing of where it may lie."""
        given = hole.position_mm, hole.tolerance_mm, self.part.general_tolerance_mm
        return all(one is None for one in given)

    def _length(self, reading: Reading, hole: Hole) -> lengths.Length:
        """What a reading is of, with the pins that the sheet names."""
        ends = [hole, self.holes[reading.to]] if reading.kind in lengths.ON_PINS else [hole]
        pins = tuple(max(self._pins_into(one), default=0.0) for one in ends)
        face = reading.to.lower() if reading.to.lower() in AXIS else hole.face
        return lengths.Length(reading.kind, hole.name, reading.to, pins, face)

    def _pins_into(self, hole: Hole) -> Iterator[float]:
        least, _ = lengths.least_and_expected_mm(hole)
        yield from (pin for pin in self.pins.values() if pin <= least + _PIN_SAME_MM)

    def _right(self, reading: Reading) -> lengths.Right | None:
        hole = self.holes[reading.hole]
        length = self._length(reading, hole)
        if length.is_place:
            return lengths.place_of(self, length, hole)
        found = lengths.size_of(self, length, hole)
        if found is None and not reading.to:  # a list need not name the one mouth that it has
            far = lengths.Length(length.kind, length.hole, "", (), "")
            found = lengths.size_of(self, far, hole)
        return found

    def limits(self, reading: Reading) -> lengths.Span | None:
        """Least and greatest of a length that was read [mm]."""
        right = self._right(reading)
        return None if right is None else (right[1], right[2])

    def over_mm(self, reading: Reading) -> tuple[float, float] | None:
        """By how much what was read is longer than drawn, with the pins that were used; how far
        that may be off. None for what says nothing of a place."""
        right = self._right(reading)
        length = self._length(reading, self.holes[reading.hole])
        if right is None or reading.value_mm is None or not length.is_place:
            return None
        more = sum(reading.pins_mm or length.pins) / 2 - sum(length.pins) / 2
        more = 0.0 if reading.kind.endswith("hole") else more
        more = -more if reading.kind == "between pins" else more
        return reading.value_mm - right[0] - more, self._off_mm(reading, right)

    def _off_mm(self, reading: Reading, right: lengths.Right) -> float:
        if reading.off_mm is not None:
            return reading.off_mm
        hole = self.holes[reading.hole]
        if not self._length(reading, hole).is_place:
            return self._size_off_mm(hole, reading.kind)
        name, is_mean = lengths.measured_by(self.shop, reading.kind, right)
        instrument = lengths.instrument_of(self.shop, name)
        own = 0.0 if instrument is None else instrument.uncertainty_mm
        return own + (0.0 if is_mean else right[3])

    def _size_off_mm(self, hole: Hole, kind: str) -> float:
        instrument = lengths.instrument_of(self.shop, lengths.sized_by(self.shop, kind, hole))
        return 0.0 if instrument is None else instrument.uncertainty_mm

    def _is_usual_reading(self, reading: Reading) -> bool:
        hole = self.holes[reading.hole]
        length = self._length(reading, hole)
        if length.is_place:
            ends = [hole, self.holes[reading.to]] if reading.kind in lengths.ON_PINS else [hole]
            return any(map(self.is_usual, ends))
        if reading.kind.startswith("thread"):
            return False
        return reading.kind not in ("size", "go", "no-go") or hole.limits_um is None

    def is_usual_length(self, reading: Reading) -> bool:
        """Whether it is a length that the drawing gives no tolerance for."""
        return reading.value_mm is not None and self._is_usual_reading(reading)

    def verdict(self, reading: Reading) -> str:
        """A reading against its own limits."""
        if reading.value_mm is None:
            found = "in" if self._passes(reading) else "out"
        else:
            right = self._right(reading)
            if right is None:
                return "not decidable"
            found = decided(reading.value_mm, self._off_mm(reading, right), right[1], right[2])
        return _of_basis(found, self._is_usual_reading(reading))

    def _passes(self, reading: Reading) -> bool:
        if reading.turns is None:
            return bool(reading.answer) != reading.kind.endswith("no-go")
        if reading.kind == "thread no-go":
            return reading.turns <= _NO_GO_TURNS
        hole = self.holes[reading.hole]
        assert hole.thread is not None  # its gauge was tried
        cut = [one.depth_mm for one in (hole.mouth.counterbore, hole.mouth.spotface) if one]
        widened = max([0.0, *cut, *(opened.depth_mm for opened in hole.opened)])
        return reading.turns >= (hole.depth_mm - widened) / hole.thread.pitch_mm - _FEEL_TURNS

    def size(self, hole: Hole) -> SizeRead:
        """The diameter measured, else what pins said."""
        low, high = lengths.diameter_of(self, hole)[1:]
        limits = None if hole.thread is not None else (low, high)
        if isinstance(self.given, Measured):
            read = self.given.named(hole.name)
            size_mm = None if read is None else read.diameter_mm
            if size_mm is None or limits is None:
                return SizeRead("not measured", size_mm, None)
            found = decided(size_mm, self._size_off_mm(hole, "size"), low, high)
            return SizeRead(_of_basis(found, hole.limits_um is None), size_mm, limits)
        tried = {
            one.kind: self.verdict(one) for one in self._of(hole) if one.kind in ("go", "no-go")
        }
        for one in self._of(hole):
            if one.kind == "size" and one.value_mm is not None:
                own = self.verdict(one)
                is_by_pins = own == "not decidable" and len(tried) == 2
                verdicts = [*tried.values(), *([] if is_by_pins else [own])]
                return SizeRead(worst(verdicts), one.value_mm, limits)
        if not tried:
            return SizeRead("not measured")
        by_pins = worst(tried.values())
        is_half = by_pins == "in" and len(tried) < 2 and hole.limits_um is not None
        return SizeRead("not decidable" if is_half else by_pins, None, limits)

    def thread(self, hole: Hole) -> str:
        """Both gauges together; a no-go gauge alone decides nothing."""
        tried = {o.kind: self.verdict(o) for o in self._of(hole) if o.kind.startswith("thread")}
        found = worst(tried.values())
        return "not decidable" if found == "in" and [*tried] == ["thread no-go"] else found

    def others(self, hole: Hole) -> list[str]:
        """Of its depth, its mouths and how it stands."""
        kinds = (
            "depth",
            "counterbore",
            "counterbore depth",
            "spotface",
            "countersink",
            "opened",
            "square",
        )
        return [self.verdict(one) for one in self._of(hole) if one.kind in kinds]

    def bonus_mm(self, hole: Hole, size_mm: float | None) -> float:
        """What a round zone gains from a hole above its least size, by the least it can be."""
        if size_mm is None or hole.thread is not None:
            return 0.0
        off_mm = self._size_off_mm(hole, "size")
        for one in self._of(hole):
            if one.kind == "size" and one.off_mm is not None:
                off_mm = one.off_mm
        least = hole.diameter_mm
        least += 0.0 if hole.limits_um is None else hole.limits_um[0] / 1000
        return max(0.0, size_mm - off_mm - least)


def _of_basis(found: str, is_usual: bool) -> str:
    """What is only usual puts nothing out, and leaves nothing open that is near it."""
    if not is_usual:
        return found
    return "beyond usual" if found == "out" else "in"
