"""The sentences of a listing that carry figures: lay, zero, places, widths, limits, the LOOK line.

Each reader takes the sentence with its line breaks undone. Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from millprep.reading.sheets.printed import (
    FACE_WORDS,
    NUMBER,
    SIZE_ROUNDED_MM,
    Figure,
    FinderReading,
    Look,
    Place,
    UnreadableSheet,
    figure,
)
from millprep.units import MM_PER_INCH, Units, shown

_FACE = f"(?:{FACE_WORDS})"
_SIDE = "|".join(map(re.escape, ("left hand", "right hand", "towards you", "away")))
_UNITS: dict[str, Units] = {"mm": "mm", "in": "inch"}

_LIES = re.compile(
    rf"({_FACE}) up; ({_FACE}) towards you, ({_FACE}) away; ({_FACE}) at your left hand\."
)
_AXIS = rf"""
    (?P<zero>the\ centre|{_FACE}):
    \ (?P<finder>{NUMBER})\ (?P<unit>mm|in)(?:\ \((?P<again>{NUMBER})\ (?P<again_unit>mm|in)\))?
    \ finder
    \ against\ (?P<face>{_FACE})\ \((?P<side>{_SIDE})\),\ set\ (?P<axis>[XY])\ to\ (?P<set>{NUMBER})
    (?:;\ against\ (?P<other>{_FACE})\ \((?P<other_side>{_SIDE})\)
       \ it\ must\ read\ (?P<read>{NUMBER}))?
    """
_ONE_AXIS = re.compile(_AXIS, re.VERBOSE | re.ASCII)
_ZERO = re.compile(
    rf"X on (?P<x>.+?) Y on (?P<y>.+?) raise the spindle, go to X (?P<go_x>{NUMBER}) "
    rf"Y (?P<go_y>{NUMBER}): it stands over [a-z ,]+\.",
    re.ASCII,
)
_DISTANCE = (
    rf"(?:{NUMBER} from {_FACE}|{NUMBER} from the centre towards {_FACE}"
    rf"|on the centre between {_FACE} and {_FACE})"
)
_PLACE = re.compile(rf"(?P<hole>.+?): (?P<a>{_DISTANCE}), (?P<b>{_DISTANCE})(?=[ ;]|$)", re.ASCII)
_ONE_DISTANCE = re.compile(
    rf"(?P<figure>{NUMBER}) from (?P<centre>the centre towards )?(?P<face>{_FACE})", re.ASCII
)
_LOOK = re.compile(
    rf"LOOK: (?P<count>\d+) (?:spot|hole)s?\. (?P<pair>.+): "
    rf"(?P<distance>{NUMBER}|(?:\d+ )?\d+/\d+) (?P<unit>mm|in) by rule\.",
    re.ASCII,
)
_OPENING = re.compile(rf"opens to ({NUMBER}) (mm|in) across", re.ASCII)
_LIMITS = re.compile(rf"to size ({NUMBER}) to ({NUMBER})", re.ASCII)
_FINEST_RULE = 64  # rules are divided to a 64th of an inch


@dataclass(frozen=True, slots=True)
class Lies:
    """How the part lies, faces in small letters."""

    face: str
    towards_you: str
    away: str
    left_hand: str


@dataclass(frozen=True, slots=True)
class Zero:
    """Where the readout's axes have their zero, and how it is found."""

    x: str
    y: str
    readings: tuple[FinderReading, ...]
    check_move: tuple[Figure, Figure]


def read_lies(text: str) -> Lies:
    """The LIES sentence. Raises UnreadableSheet."""
    match = _LIES.fullmatch(text)
    if match is None:
        raise UnreadableSheet(f"LIES says {shown(text)}")
    return Lies(*(word.lower() for word in match.groups()))


def read_zero(text: str, units: Units) -> Zero:
    """The ZERO sentences, joined by blanks. Raises UnreadableSheet."""
    match = _ZERO.fullmatch(text)
    if match is None:
        raise UnreadableSheet(f"ZERO says {shown(text)}")
    zero_x, x_readings = _read_axis(match["x"], "x", units)
    zero_y, y_readings = _read_axis(match["y"], "y", units)
    check_move = figure(match["go_x"], units), figure(match["go_y"], units)
    return Zero(zero_x, zero_y, (*x_readings, *y_readings), check_move)


def _read_axis(text: str, axis: str, units: Units) -> tuple[str, list[FinderReading]]:
    match = _ONE_AXIS.fullmatch(text)
    if match is None or match["axis"].lower() != axis:
        raise UnreadableSheet(f"ZERO says for {axis.upper()} {shown(text)}")
    finder = figure(match["finder"], _UNITS[match["unit"]])
    if match["again"] is not None:
        again = figure(match["again"], _UNITS[match["again_unit"]])
        if abs(again.mm - finder.mm) > again.half_digit_mm + SIZE_ROUNDED_MM:
            raise UnreadableSheet(f"ZERO has a finder of two sizes: {shown(text)}")
    touches = [(match["face"], match["side"], match["set"])]
    if match["other"] is not None:
        touches.append((match["other"], match["other_side"], match["read"]))
    readings = [
        FinderReading(axis, finder, face.lower(), side, figure(reading, units))
        for face, side, reading in touches
    ]
    return match["zero"].removeprefix("the ").lower(), readings


def read_places(text: str, units: Units) -> tuple[Place, ...]:
    """The PLACES entries, joined by blanks. Raises UnreadableSheet.

    An entry may end in a note after a semicolon; where one does, the words before the next entry's
    distances begin with it.
    """
    places = []
    position = 0
    for match in _PLACE.finditer(text):
        distances = _read_distance(match["a"], units), _read_distance(match["b"], units)
        places.append(Place(text[position : match.end("hole")].strip(" "), distances))
        position = match.end()
    if text[position:] and not text[position:].startswith(";"):
        raise UnreadableSheet(f"PLACES says {shown(text[position:])}")
    return tuple(places)


def _read_distance(text: str, units: Units) -> tuple[Figure, str, bool]:
    match = _ONE_DISTANCE.fullmatch(text)
    if match is None:
        return Figure(0.0, 0.0), text.rpartition(" ")[2].lower(), True
    return figure(match["figure"], units), match["face"].lower(), match["centre"] is not None


def read_look(text: str, units: Units, listed: int, line: int) -> Look:
    """The LOOK sentence. Raises UnreadableSheet."""
    match = _LOOK.fullmatch(text)
    if match is None or _UNITS[match["unit"]] != units:
        raise UnreadableSheet(f"unknown line {shown(text)}", line)
    if "/" in match["distance"]:
        inches = sum(Fraction(piece) for piece in match["distance"].split())
        distance = Figure(float(inches * MM_PER_INCH), float(MM_PER_INCH / _FINEST_RULE / 2))
    else:
        distance = figure(match["distance"], units)
    return Look(int(match["count"]), listed, match["pair"], distance, line)


def read_openings(text: str) -> tuple[Figure, ...]:
    """The widths that spots and countersinks are said to open to, in a tool's or hole's opening."""
    return tuple(figure(length, _UNITS[unit]) for length, unit in _OPENING.findall(text))


def read_limits(text: str, units: Units) -> tuple[tuple[Figure, Figure], ...]:
    """The least and greatest sizes that holes are said to be made to."""
    return tuple(
        (figure(least, units), figure(most, units)) for least, most in _LIMITS.findall(text)
    )
