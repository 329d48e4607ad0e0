"""What stands on a printed dial sheet, and the rows of its text form.

    [ ]    3  screw 5             8      45       4      20      -2.550     turns and figure, twice
              X first back past it to 7 turns, figure 94                    where the way leads back
    WHERE   rows of name, place, place by rule and what is left over, X and Y each

Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from millprep.base.records import frozen
from millprep.base.units import MM_PER_INCH, Units, shown
from millprep.reading.pages.printed import (
    NUMBER,
    OPERATIONS,
    Figure,
    PrintedRow,
    UnreadableSheet,
    figure,
    length_mm,
)
from outside_readers.records import FinderReading, ReadSetup, Reckoned
from outside_readers.text_rows import LABEL_WIDTH, Body, InForce, Lines

_DIVISIONS = r"\d{1,4}(?:\.\d{1,9})?"
SETTING = rf"(-?\d+) turns?, figure ({_DIVISIONS})"
_OPERATION = "|".join(OPERATIONS)
_HEAD_BY_TOOL = re.compile(
    rf"    step  ({_OPERATION}) at +X turns +figure +Y turns +figure +(?:quill|down) to Z", re.ASCII
)
_FIGURES = rf"(-?\d+) +({_DIVISIONS}) +(-?\d+) +({_DIVISIONS}) +({NUMBER})"
_ROW_BY_TOOL = re.compile(rf"\[ \] *(?P<step>\d+)  (?P<name>.*?[^ ]) +{_FIGURES}", re.ASCII)
_ROW_NAME = re.compile(r"\[ \] *(?P<step>\d+)  (?P<name>.*[^ ])", re.ASCII)
_FIGURES_ALONE = re.compile(_FIGURES, re.ASCII)
_ROW_BY_HOLE = re.compile(
    rf"\[ \] *(?P<step>\d+)  (?P<operation>{_OPERATION}) +tool (?P<tool>\d+) +(?P<z>{NUMBER})",
    re.ASCII,
)
_SET = re.compile(rf"set X {SETTING}; Y {SETTING}", re.ASCII)
_BACK = re.compile(rf"([XY]) first back past it to {SETTING}", re.ASCII)
_TAIL = re.compile(
    rf"(?:X first back past it to (?P<x>{SETTING}))? ?"
    rf"(?:Y first back past it to (?P<y>{SETTING}))? ?"
    r"(?:(?P<turns>\d+\.\d+) turns)? ?"
    rf"(?:pecks to (?P<pecks>{NUMBER}(?: {NUMBER})*))? ?"
    rf"(?:Z dial (?P<z>{SETTING}))? ?"
    rf"(?:pecks by dial (?P<by_dial>{SETTING}(?:; {SETTING})*))?"
    rf"(?: ?pass \d+ of \d+: from {NUMBER} to {NUMBER}, the dial on by {NUMBER})?",
    re.ASCII,
)
_OVER = rf"(.+), X {SETTING}; Y {SETTING}"
_RECOVER = re.compile(
    rf"a lost zero is found again over {_OVER}, and {_OVER}: ({NUMBER}) apart\.", re.ASCII
)
_ONE_SETTING = re.compile(SETTING, re.ASCII)
_PLACE = re.compile(
    rf" +(?P<x>{NUMBER}) +(?P<x_rule>\d+(?:\.\d+)?|(?:\d+ )?\d+/\d+) +(?P<x_left>[+-]\d+\.\d+)"
    rf" +(?P<y>{NUMBER}) +(?P<y_rule>\d+(?:\.\d+)?|(?:\d+ )?\d+/\d+) +(?P<y_left>[+-]\d+\.\d+)\Z",
    re.ASCII,
)
_PLACE_HEAD = re.compile(r"    hole +X (mm|in) +by rule +beyond +Y \1 +by rule +beyond")
_FINEST_RULE = 64


@frozen
class DialFigure:
    """A setting as printed: whole turns, whether on the far side of zero, figure at the index.

    division : away from zero, and left_over_mm, where the form prints them
    """

    turns: int
    is_negative: bool
    reading: Decimal
    division: Decimal | None = None
    left_over_mm: float | None = None


@frozen
class DialRow:
    """The dials of a step: settings, and those to go back past first (None: straight on)."""

    x: DialFigure
    y: DialFigure
    back_x: DialFigure | None = None
    back_y: DialFigure | None = None
    z: DialFigure | None = None
    pecks: tuple[DialFigure, ...] = ()


@frozen
class DialPlace:
    """A row of WHERE: place, place by rule, and what its setting leaves over, X and Y each."""

    hole: str
    at: tuple[Figure, Figure]
    by_rule: tuple[Figure, Figure]
    left_over: tuple[Figure, Figure]
    line: int


@frozen
class DialZero:
    """How an axis is zeroed by dial.

    hand : how the handle turns; touch : what the finder meets, or hole : the one it is set over
    by_indicator : turns beyond, and how the handle comes up to the same place again
    back : past zero first, or None; go_on : from the touch to zero
    over : the face, or "centre", that the spindle then stands over
    blocked : a face out of reach; across : a size of the part that goes into the way
    """

    axis: str
    zero: str
    hand: str
    touch: FinderReading | None
    hole: str | None
    by_indicator: tuple[float, str] | None
    back: DialFigure | None
    go_on: DialFigure
    over: str
    blocked: str | None = None
    across: Reckoned | None = None


@frozen
class DialWords:
    """What the sheet says of a dial; lengths mm. come_up is None for the depth's."""

    axis: str
    lead_mm: float
    divisions: float
    clockwise_to: str
    numbers_rise: str
    measures: Figure | None
    come_up: str | None


@frozen
class DialOver:
    """A hole, and the settings that put the spindle over it."""

    hole: str
    x: DialFigure
    y: DialFigure


@frozen
class PrintedDials:
    """A setup of a dial sheet. The rows of `setup` have X and Y 0: `dials` has their settings.

    recover : the two holes that give a lost zero back, and apart : how far they are from each other
    """

    setup: ReadSetup
    dials: tuple[DialRow, ...]
    zero: tuple[DialZero, ...] = ()
    words: tuple[DialWords, ...] = ()
    winds_with_figures: tuple[str, ...] | None = None
    places: tuple[DialPlace, ...] = ()
    recover: tuple[DialOver, ...] = ()
    apart: Figure | None = None


def setting_of(turns: str, reading: str) -> DialFigure:
    """-0 turns lie on the far side of zero too."""
    return DialFigure(abs(int(turns)), turns.startswith("-"), Decimal(reading))


def read_recover(text: str, units: Units) -> tuple[tuple[DialOver, ...], Figure | None]:
    """The two holes of RECOVER, and how far apart; none where it says nothing. UnreadableSheet."""
    if not text:
        return (), None
    match = _RECOVER.fullmatch(text)
    if match is None:
        raise UnreadableSheet(f"RECOVER says {shown(text)}")
    one, x1, x1_at, y1, y1_at, other, x2, x2_at, y2, y2_at, apart = match.groups()
    holes = (
        DialOver(one, setting_of(x1, x1_at), setting_of(y1, y1_at)),
        DialOver(other, setting_of(x2, x2_at), setting_of(y2, y2_at)),
    )
    return holes, figure(apart, units)


def settings_in(words: str | None) -> tuple[DialFigure, ...]:
    """Every setting that the words name, in order."""
    return tuple(setting_of(*pair) for pair in _ONE_SETTING.findall(words or ""))


@dataclass(slots=True)
class DialBody(Body):
    """The steps of one setup by dial, read section by section."""

    dials: list[DialRow] = field(default_factory=list)
    at_hole: DialRow | None = None

    def _in_force(self, opening: Lines, head: str, is_by_hole: bool) -> InForce:
        if is_by_hole:
            return self._at_hole(opening)
        match = _HEAD_BY_TOOL.fullmatch(head)
        numbers = [line.split()[1] for _, line in opening if line.startswith("TOOL ")]
        if match is None or len(numbers) != 1:
            raise UnreadableSheet(f"unknown line {shown(head)}")
        return InForce(operation=match[1], tool_number=int(numbers[0]))

    def _at_hole(self, opening: Lines) -> InForce:
        match = _SET.fullmatch(opening[1][1].strip(" ")) if len(opening) > 1 else None
        if match is None:
            raise UnreadableSheet("the hole has no line that says what to set", opening[0][0])
        backs = {
            found[1]: setting_of(found[2], found[3])
            for _, line in opening[2:]
            if (found := _BACK.fullmatch(line.strip(" ")))
        }
        x, y = setting_of(match[1], match[2]), setting_of(match[3], match[4])
        self.at_hole = DialRow(x, y, backs.get("X"), backs.get("Y"))
        return InForce(hole=opening[0][1][LABEL_WIDTH:])

    def _row(self, number: int, line: str, tail: list[str], in_force: InForce) -> PrintedRow:
        by_hole = in_force.operation is None
        figures, name, step = None, in_force.hole, _ROW_BY_HOLE.fullmatch(line)
        if not by_hole:
            step = _ROW_BY_TOOL.fullmatch(line)
            figures = step
            if tail and _FIGURES_ALONE.fullmatch(tail[0]):
                figures, step = _FIGURES_ALONE.fullmatch(tail[0]), _ROW_NAME.fullmatch(line)
                tail = tail[1:]
            name = step["name"] if step is not None else ""
        below = _TAIL.fullmatch(" ".join(tail))
        if step is None or below is None or (not by_hole and figures is None):
            raise UnreadableSheet(f"unknown row {shown(line)}")
        z = step["z"] if figures is None else figures.groups()[-1]
        tool_number = int(step["tool"]) if by_hole else in_force.tool_number
        if tool_number not in self.tools:
            raise UnreadableSheet(f"tool {tool_number} is not listed")
        self.dials.append(self._dials(figures, below))
        return PrintedRow(
            int(step["step"]),
            name,
            in_force.operation or step["operation"],
            self.tools[tool_number],
            tool_number,
            0.0,
            0.0,
            length_mm(z, self.units),
            tuple(length_mm(peck, self.units) for peck in (below["pecks"] or "").split()),
            turns=float(below["turns"]) if below["turns"] else None,
            line=number,
        )

    def _dials(self, figures: re.Match[str] | None, below: re.Match[str]) -> DialRow:
        z, pecks = (*settings_in(below["z"]), None)[0], settings_in(below["by_dial"])
        if figures is None:
            here = self.at_hole
            if here is None:
                raise UnreadableSheet("a row at no hole")
            self.at_hole = DialRow(here.x, here.y)  # what follows there needs no going back
            return DialRow(here.x, here.y, here.back_x, here.back_y, z, pecks)
        found = figures.groups()[-5:]
        x, y = setting_of(found[0], found[1]), setting_of(found[2], found[3])
        back_x, back_y = ((*settings_in(below[axis]), None)[0] for axis in "xy")
        return DialRow(x, y, back_x, back_y, z, pecks)


def read_where(section: Lines, units: Units) -> tuple[DialPlace, ...]:
    """The rows of WHERE. Raises UnreadableSheet with the line."""
    head = next((i for i, (_, line) in enumerate(section) if _PLACE_HEAD.fullmatch(line)), None)
    if head is None or not section[0][1].startswith("WHERE "):
        raise UnreadableSheet("the sheet does not tell where the holes lie", section[0][0])
    places: list[DialPlace] = []
    name = ""
    for number, line in section[head + 1 :]:
        match = _PLACE.search(line)
        if match is None:
            name = line.strip(" ")
            continue
        own = line[: match.start()].strip(" ")
        try:
            places.append(_place(own or name, match, units, number))
        except UnreadableSheet as fault:
            raise UnreadableSheet(fault.message, number) from None
    return tuple(places)


def _place(name: str, match: re.Match[str], units: Units, line: int) -> DialPlace:
    def pair(key: str) -> tuple[Figure, Figure]:
        return length_of(match["x" + key], units), length_of(match["y" + key], units)

    return DialPlace(name, pair(""), pair("_rule"), pair("_left"), line)


def length_of(text: str, units: Units) -> Figure:
    """A decimal with or without its sign, or inches and a fraction. Raises UnreadableSheet."""
    if "/" in text:
        inches = sum(Fraction(piece) for piece in text.split())
        return Figure(float(inches * MM_PER_INCH), float(MM_PER_INCH / _FINEST_RULE / 2))
    plain = text.removeprefix("+")
    if plain.startswith("-") and not float(plain):
        plain = plain[1:]  # what is left over may be a hair on either side
    return figure(plain, units)
