"""ZERO of a dial sheet, both axes: what is met, how, and the way on from there.

    X on LEFT: 10 mm finder, handle clockwise, against LEFT (left hand), set the dial to 0; raise
    it, go on 2 turns, figure 0, set the dial to 0 again: it stands over LEFT.

Imports layers 0 to 2.
"""

from __future__ import annotations

import re

from millprep.base.units import Units, shown
from millprep.reading.pages.printed import FACE_WORDS, NUMBER, Figure, UnreadableSheet, figure
from outside_readers.dial_rows import DialZero, settings_in
from outside_readers.records import FinderReading, Reckoned

_FACE = f"(?:{FACE_WORDS})"
_HAND = "clockwise|anticlockwise"
_TO = r"\d+ turns?, figure \d{1,4}(?:\.\d{1,9})?"
_UNITS: dict[str, Units] = {"mm": "mm", "in": "inch"}
_BEGINS = rf"[XY] on (?:the centre|{_FACE}): "
_TOUCHED = (
    rf"(?P<empty>before the part goes in, )?pick up (?:(?P<jaw>the fixed jaw beside )|"
    rf"(?P<stop>the stop for ))?(?P<face>{_FACE}) with the (?P<finder>{NUMBER}) (?P<unit>mm|in) "
    rf"edge finder(?: at (?P<rpm>{NUMBER}) rev/min)?, handle (?P<hand>{_HAND})"
)
_ROUND = rf"clock (?P<hole>.+?) \(already made\), handle (?P<round>{_HAND})"
_AGAIN = (
    r", set an indicator at the table to 0; raise it, go on (?P<beyond>\d+(?:\.\d)?) turns, come "
    rf"up (?P<then>{_HAND}) until the indicator is at 0 again, set the dial to 0;"
)
_BLOCKED = rf"(?:; (?P<blocked>{_FACE}) is out of reach, .+?)?"
_RECKONED = rf"(?:; measure (?P<low>{_FACE}) to (?P<high>{_FACE}): taken as (?P<across>{NUMBER}))?"
_ZERO = re.compile(
    rf"(?P<axis>[XY]) on (?P<zero>the centre|{_FACE}): (?:{_TOUCHED}|{_ROUND})"
    rf"(?:{_AGAIN}|, set the dial to 0; raise it,) "
    rf"(?:go on (?P<on>{_TO})|go back to (?P<back>{_TO}), come up to (?P<up>{_TO})), "
    rf"set the dial to 0 again: you should be over (?P<over>the centre line|{_FACE})"
    rf"{_BLOCKED}{_RECKONED}\.(?=\Z| {_BEGINS})",
    re.ASCII,
)


def read_zero(text: str, units: Units) -> tuple[DialZero, DialZero]:
    """ZERO, both axes. Raises UnreadableSheet."""
    matches = list(_ZERO.finditer(text))
    found = [_zero_of(match, units) for match in matches]
    whole = " ".join(match[0] for match in matches)
    if whole != text or [one.axis for one in found] != ["x", "y"]:
        raise UnreadableSheet(f"ZERO says {shown(text)}")
    return found[0], found[1]


def _zero_of(match: re.Match[str], units: Units) -> DialZero:
    by_indicator = None
    if match["then"] is not None:
        by_indicator = (float(match["beyond"]), match["then"])
    blocked, across = match["blocked"], None
    if match["across"] is not None:
        low, high = match["low"].lower(), match["high"].lower()
        across = Reckoned(low, high, figure(match["across"], units))
    return DialZero(
        match["axis"].lower(),
        match["zero"].removeprefix("the ").lower(),
        match["hand"] or match["round"],
        _touch(match),
        match["hole"],
        by_indicator,
        settings_in(match["back"])[0] if match["back"] else None,
        settings_in(match["on"] or match["up"])[0],
        "centre" if match["over"] == "the centre line" else match["over"].lower(),
        blocked and blocked.lower(),
        across,
    )


def _touch(match: re.Match[str]) -> FinderReading | None:
    """What the finder touches; the dial is set to 0 there."""
    if match["face"] is None:
        return None
    if (match["stop"] and not match["empty"]) or (
        match["empty"] and not (match["stop"] or match["jaw"])
    ):
        raise UnreadableSheet(f"ZERO says {shown(match[0])}")
    against = "fixed jaw" if match["jaw"] else "stop" if match["stop"] else "face"
    finder = figure(match["finder"], _UNITS[match["unit"]])
    return FinderReading(
        match["axis"].lower(),
        finder,
        match["face"].lower(),
        "",
        Figure(0.0, 0.0),
        against,
        float(match["rpm"]) if match["rpm"] else None,
    )
