"""The sentences of a listing that carry figures: lay, zero, places, widths, limits, the LOOK line.

Each reader takes the sentence with its line breaks undone. Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from millprep.base.records import frozen, replace
from millprep.base.units import Units, shown
from millprep.reading.pages.printed import FACE_WORDS, NUMBER, Figure, UnreadableSheet, figure
from outside_readers.records import (
    SIZE_ROUNDED_MM,
    Betrayal,
    FinderReading,
    Look,
    Over,
    Place,
    Reckoned,
    Setting,
)
from outside_readers.setting import read_betrayals, read_more_of_zero, ruled

_FACE = f"(?:{FACE_WORDS})"
_SIDE = "|".join(map(re.escape, ("left hand", "right hand", "towards you", "away")))
_UNITS: dict[str, Units] = {"mm": "mm", "in": "inch"}

_LIES = re.compile(
    rf"({_FACE}) up; ({_FACE}) towards you, ({_FACE}) away; ({_FACE}) at your left hand"
    r"(?: \([a-z ]+\))?\."
)
_AXIS = rf"""
    (?P<zero>the\ centre|{_FACE}):\ (?:
    (?P<empty>before\ the\ part\ goes\ in,\ )?
    (?P<finder>{NUMBER})\ (?P<unit>mm|in)(?:\ \((?P<again>{NUMBER})\ (?P<again_unit>mm|in)\))?
    \ finder(?:\ at\ (?P<rpm>{NUMBER})\ rev/min)?
    \ against\ (?P<jaw>the\ fixed\ jaw\ beside\ )?(?P<stop>the\ stop\ for\ )?
    (?P<face>{_FACE})\ \((?P<side>{_SIDE})\)
    |over\ (?P<hole>.+),\ made\ before)
    ,\ set\ (?P<axis>[XY])\ to\ (?P<set>{NUMBER})
    (?:;\ against\ (?P<other>{_FACE})\ \((?P<other_side>{_SIDE})\)
       \ it\ must\ read\ (?P<read>{NUMBER}))?
    (?:;\ {_FACE}\ is\ out\ of\ reach,\ .+?)?
    (?:;\ measure\ (?P<low>{_FACE})\ to\ (?P<high>{_FACE}):\ reckoned\ as\ (?P<across>{NUMBER}))?
    """
_ONE_AXIS = re.compile(_AXIS, re.VERBOSE | re.ASCII)
_ZERO = re.compile(
    rf"X on (?P<x>.+?) Y on (?P<y>.+?) raise the spindle, go to X (?P<go_x>{NUMBER}) "
    rf"Y (?P<go_y>{NUMBER}): it stands over [a-z ,]+\.(?: (?P<more>.+))?",
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
_MEASURE = re.compile(
    r"(?:^|.* )MEASURE after step (?P<step>\d+), before it goes deeper\. "
    r"(?P<slips>IF IT READS, .*)",
    re.ASCII,
)
_TOUCHED = re.compile(
    rf" on (?P<face>{_FACE}) beside the hole(?:, along the disc's axis)?, "
    r"set (?:Z|the quill depth to) (?P<at>[^ ]+)"
)
_STOCK = re.compile(
    rf".*, (?:dia )?(?P<a>{NUMBER}) x (?P<b>{NUMBER})(?: x (?P<c>{NUMBER}))?"
    rf"(?: with a bore of (?P<bore>{NUMBER}))? (?P<unit>mm|in)(?: \(as measured\))?",
    re.ASCII,
)
_LIMITS = re.compile(rf"to size ({NUMBER}) to ({NUMBER})", re.ASCII)


@frozen
class Lies:
    """How the part lies, faces in small letters."""

    face: str
    towards_you: str
    away: str
    left_hand: str


@frozen
class Zero:
    """Where the readout's axes have their zero, and how it is found."""

    x: str
    y: str
    readings: tuple[FinderReading, ...]
    check_move: tuple[Figure, Figure]
    setting: Setting


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
    x, y = _read_axis(match["x"], "x", units), _read_axis(match["y"], "y", units)
    check_move = figure(match["go_x"], units), figure(match["go_y"], units)
    more = read_more_of_zero(match["more"] or "", units)
    more = replace(more, reckoned=x.reckoned + y.reckoned, made=x.over + y.over + more.made)
    return Zero(x.zero, y.zero, (*x.readings, *y.readings), check_move, more)


@frozen
class _Axis:
    """One axis of the ZERO sentences."""

    zero: str
    readings: tuple[FinderReading, ...]
    reckoned: tuple[Reckoned, ...]
    over: tuple[Over, ...]


def _read_axis(text: str, axis: str, units: Units) -> _Axis:
    match = _ONE_AXIS.fullmatch(text)
    if match is None or match["axis"].lower() != axis:
        raise UnreadableSheet(f"ZERO says for {axis.upper()} {shown(text)}")
    reckoned: tuple[Reckoned, ...] = ()
    if match["across"] is not None:
        across = figure(match["across"], units)
        reckoned = (Reckoned(match["low"].lower(), match["high"].lower(), across),)
    zero = match["zero"].removeprefix("the ").lower()
    if match["hole"] is not None:
        at = figure(match["set"], units)
        over = Over(match["hole"], at if axis == "x" else None, at if axis == "y" else None)
        return _Axis(zero, (), reckoned, (over,))
    return _Axis(zero, tuple(_finder_readings(match, axis, units)), reckoned, ())


def _finder_readings(match: re.Match[str], axis: str, units: Units) -> Iterator[FinderReading]:
    finder = figure(match["finder"], _UNITS[match["unit"]])
    if match["again"] is not None:
        again = figure(match["again"], _UNITS[match["again_unit"]])
        if abs(again.mm - finder.mm) > again.half_digit_mm + SIZE_ROUNDED_MM:
            raise UnreadableSheet(f"ZERO has a finder of two sizes: {shown(match[0])}")
    lies_on = match["jaw"] or match["stop"]
    if (match["empty"] and not lies_on) or (match["stop"] and not match["empty"]):
        raise UnreadableSheet(f"ZERO says {shown(match[0])}")
    against = "fixed jaw" if match["jaw"] else "stop" if match["stop"] else "face"
    rpm = float(match["rpm"]) if match["rpm"] else None
    at = figure(match["set"], units)
    yield FinderReading(axis, finder, match["face"].lower(), match["side"], at, against, rpm)
    if match["other"] is not None:
        reading = figure(match["read"], units)
        yield FinderReading(
            axis, finder, match["other"].lower(), match["other_side"], reading, rpm=rpm
        )


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
    """The LOOK sentence and what follows it. Raises UnreadableSheet."""
    sentence, by_rule, betraying = text.partition(" by rule. IF IT READS, ")
    if by_rule:
        sentence, betraying = f"{sentence} by rule.", f"IF IT READS, {betraying}"
    match = _LOOK.fullmatch(sentence)
    if match is None or _UNITS[match["unit"]] != units:
        raise UnreadableSheet(f"unknown line {shown(sentence)}", line)
    return Look(
        int(match["count"]),
        listed,
        match["pair"],
        ruled(match["distance"], units),
        line,
        read_betrayals(betraying, units),
    )


def read_openings(text: str) -> tuple[Figure, ...]:
    """The widths that spots and countersinks are said to open to, in a tool's or hole's opening."""
    return tuple(figure(length, _UNITS[unit]) for length, unit in _OPENING.findall(text))


def read_limits(text: str, units: Units) -> tuple[tuple[Figure, Figure], ...]:
    """The least and greatest sizes that holes are said to be made to."""
    return tuple(
        (figure(least, units), figure(most, units)) for least, most in _LIMITS.findall(text)
    )


def read_measured(text: str, units: Units) -> tuple[int, tuple[Betrayal, ...]] | None:
    """What to measure after a hole's first step, if its opening says so. Raises UnreadableSheet."""
    match = _MEASURE.fullmatch(text)
    if match is None:
        return None
    return int(match["step"]), read_betrayals(match["slips"], units)


def read_touched(text: str) -> tuple[str, str] | None:
    """The face on which a tool is touched off, and what is set there, if its opening says so."""
    match = _TOUCHED.search(text)
    return None if match is None else (match["face"].lower(), match["at"])


def read_stock(text: str, units: Units) -> tuple[Figure, ...]:
    """The sizes at the end of the heading's sentence on the stock. Raises UnreadableSheet."""
    match = _STOCK.fullmatch(text)
    if match is None or _UNITS[match["unit"]] != units:
        raise UnreadableSheet(f"the heading says of the stock {shown(text)}")
    return tuple(figure(size, units) for size in match.group("a", "b", "c", "bore") if size)
