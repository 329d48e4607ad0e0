"""Dial sheets of text read back by patterns of their own: a third opinion."""

from __future__ import annotations

import re
from collections.abc import Iterable

from millprep.base.units import shown
from millprep.reading.pages.printed import FACE_WORDS, NUMBER, UnreadableSheet, figure, length_mm
from outside_readers.dial_rows import (
    DialBody,
    DialWords,
    DialZero,
    PrintedDials,
    read_recover,
    read_where,
)
from outside_readers.dial_zero import read_zero
from outside_readers.records import FinderReading, ReadSetup
from outside_readers.text import (
    at_label,
    labelled,
    read_body,
    read_heading,
    sections_of,
    setup_blocks,
)
from outside_readers.text_rows import Lines
from outside_readers.words import read_lies

_FACE = f"(?:{FACE_WORDS})"
_HAND = "clockwise|anticlockwise"
_DIAL = re.compile(
    rf"(?P<axis>[XYZ]): (?P<lead>{NUMBER}) mm a turn, (?P<divisions>{NUMBER}) divisions; clockwise "
    rf"takes the cutter (?:to the )?(?P<to>[a-z ]+); figures grow (?P<rise>{_HAND}); "
    rf"10 turns measure (?P<measure>{NUMBER}) mm\."
    rf"(?: Come up to every (?P<again>[XY]) (?P<come_up>{_HAND}); "
    rf"where the way leads back, first past it by {NUMBER} turns or more\.)?",
    re.ASCII,
)
_CORNER = re.compile(
    rf"With zero on ({_FACE}) and ({_FACE}) all moves would wind with the figures\.", re.ASCII
)
_ALREADY = "From this zero all moves wind with the figures."
_LABELS = ("VICE", "TURN", "WAY ROUND", "LIES", "HOLD", "ZERO", "SKEW", "DIALS", "HEAD", "HAND")


def read_dials(data: bytes) -> tuple[PrintedDials, ...]:
    """The setups of a dial sheet of text. Raises UnreadableSheet."""
    return tuple(_read_setup(block) for block in setup_blocks(data.decode("utf-8")))


def _read_setup(block: Lines) -> PrintedDials:
    heading, *rest = sections_of(block)
    title, mark, units, stock = read_heading(heading)
    number = heading[0][0]
    if len(rest) < 2:
        raise UnreadableSheet("the setup ends after its heading", block[-1][0])
    labels = labelled(rest[0], _LABELS)
    lies = at_label(labels, "LIES", read_lies, number)
    if lies.face != title["face"].lower():
        raise UnreadableSheet(f"the title says {title['face']} up, LIES {lies.face}", number)
    at_label(labels, "HOLD", str, number)
    zero = at_label(labels, "ZERO", lambda words: read_zero(words, units), number)
    words, corner = at_label(labels, "DIALS", read_words, number)
    places = read_where(rest[1], units)
    body = DialBody(units)
    done, closing = read_body(rest[2:], body, number)
    recover, apart = read_recover(closing["RECOVER"][1] if "RECOVER" in closing else "", units)
    setup = ReadSetup(
        int(title["number"]),
        lies.face,
        lies.towards_you,
        zero[0].zero,
        zero[1].zero,
        units,
        tuple(body.rows),
        of=int(title["of"]),
        away=lies.away,
        left_hand=lies.left_hand,
        finder_readings=touches(zero),
        looks=tuple(body.looks),
        said=tuple(body.said),
        done=done,
        part_name=title["part"],
        part_mark=mark,
        line=number,
        stock=stock,
    )
    return PrintedDials(setup, tuple(body.dials), zero, words, corner, places, recover, apart)


def touches(zero: Iterable[DialZero]) -> tuple[FinderReading, ...]:
    """What the finder touches."""
    return tuple(one.touch for one in zero if one.touch is not None)


def read_words(text: str) -> tuple[tuple[DialWords, ...], tuple[str, ...]]:
    """DIALS: each dial, and the faces of the zero from which all moves wind with the figures."""
    matches = list(_DIAL.finditer(text))
    rest = text
    for match in matches:
        rest = rest.replace(match[0], "", 1)
    rest = rest.strip(" ")
    corner = _CORNER.fullmatch(rest)
    if len(matches) < 2 or (corner is None and rest != _ALREADY):
        raise UnreadableSheet(f"DIALS says {shown(rest or text)}")
    words = tuple(
        DialWords(
            match["axis"].lower(),
            length_mm(match["lead"], "mm"),
            length_mm(match["divisions"], "mm"),
            match["to"],
            match["rise"],
            figure(match["measure"], "mm"),
            match["come_up"],
        )
        for match in matches
    )
    return words, tuple(face.lower() for face in corner.groups()) if corner else ()
