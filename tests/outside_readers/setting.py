"""What is to be tried after ZERO, and what the first spots must measure.

Each reader takes the sentences with their line breaks undone. Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from millprep.base.units import MM_PER_INCH, Units, shown
from millprep.reading.pages.printed import FACE_WORDS, NUMBER, Figure, UnreadableSheet, figure
from outside_readers.records import Betrayal, ByRule, Over, Setting

_FACE = f"(?:{FACE_WORDS})"
_SLIPS = (
    "finder's radius forgotten",
    "finder's radius the wrong way",
    "wrong edge or mirrored",
    "one turn of the handle out",
    "readout in the other unit",
)
_RULE = rf"(?:{NUMBER}|(?:\d+ )?\d+/\d+)"

_MORE_OF_ZERO = re.compile(
    rf"(?:truer: an indicator in the spindle round the (?:bore|rim), to {NUMBER} (?:mm|in) in a "
    rf"turn, then set X to (?P<middle_x>{NUMBER}) and Y to (?P<middle_y>{NUMBER})\. ?)?"
    rf"(?:over (?P<made>.+), made before, it must read X (?P<made_x>{NUMBER}) "
    rf"Y (?P<made_y>{NUMBER})\. ?)?"
    rf"(?:then go to X (?P<x>{NUMBER}) Y (?P<y>{NUMBER}), over (?P<first>.+): by rule "
    rf"(?P<a>{_RULE}) (?P<unit>mm|in) from (?P<a_face>{_FACE}), "
    rf"(?P<b>{_RULE}) (?:mm|in) from (?P<b_face>{_FACE})\.)?",
    re.ASCII,
)
FINEST_RULE = 64  # rules are divided to a 64th of an inch
_MEANT = rf"{NUMBER}(?: or {NUMBER})*: (?:{'|'.join(map(re.escape, _SLIPS))})"
_BETRAYAL = re.compile(
    rf"IF IT READS, (?P<start>.+?) to (?P<end>.+?): (?P<right>{NUMBER}) (?P<unit>mm|in) is right"
    rf"(?P<meanings>(?:; {_MEANT})+)\.(?= IF IT READS, |$)",
    re.ASCII,
)


def read_more_of_zero(text: str, units: Units) -> Setting:
    """What follows the check move: clocking, a hole made before, the first hole by rule."""
    match = _MORE_OF_ZERO.fullmatch(text)
    if match is None:
        raise UnreadableSheet(f"ZERO says {shown(text)}")

    def pair(x: str, y: str) -> tuple[Figure, Figure]:
        return figure(match[x], units), figure(match[y], units)

    made = (Over(match["made"], *pair("made_x", "made_y")),) if match["made"] else ()
    middle = pair("middle_x", "middle_y") if match["middle_x"] else None
    if not match["first"]:
        return Setting(made=made, middle=middle)
    distances = tuple(
        (ruled(match[name], units), match[f"{name}_face"].lower()) for name in ("a", "b")
    )
    by_rule = ByRule(match["first"], (distances[0], distances[1]))
    return Setting(
        made=made, middle=middle, first=Over(match["first"], *pair("x", "y")), by_rule=by_rule
    )


def ruled(text: str, units: Units) -> Figure:
    """A distance as a rule shows it: a decimal, or whole inches and a fraction."""
    if units == "mm":
        return figure(text, units)
    inches = sum(Fraction(piece) for piece in text.split())
    return Figure(float(inches * MM_PER_INCH), float(MM_PER_INCH / FINEST_RULE / 2))


def read_betrayals(text: str, units: Units) -> tuple[Betrayal, ...]:
    """The sentences IF IT READS. Raises UnreadableSheet."""
    found = []
    position = 0
    for match in _BETRAYAL.finditer(text):
        if text[position : match.start()].strip(" ") or match["unit"] != (
            "in" if units == "inch" else "mm"
        ):
            break
        found.append(
            Betrayal(
                match["start"],
                match["end"],
                figure(match["right"], units),
                tuple(_meanings(match["meanings"], units)),
            )
        )
        position = match.end()
    if text[position:].strip(" "):
        raise UnreadableSheet(f"unknown line {shown(text[position:])}")
    return tuple(found)


def _meanings(text: str, units: Units) -> Iterator[tuple[Figure, str]]:
    for one in text.removeprefix("; ").split("; "):
        values, _, slip = one.partition(": ")
        for value in values.split(" or "):
            yield figure(value, units), slip
