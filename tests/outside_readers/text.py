"""The text listing, read back line by line.

A setup is a run of lines without an empty one, in sections between rules:

    heading / VICE TURN LIES HOLD ZERO SKEW HEAD HAND PLACES / TOOL or HOLE sections with rows
            / DONE RECOVER ASSUMED REMARKS

Names are free text and may look like anything; so a row is what begins with `[ ]` in the first
column, its figures are the last ones on it, and words in running text always stand indented.
Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import TypeVar

from millprep.base.units import Units, shown
from millprep.reading.pages.printed import FACE_WORDS, Figure, UnreadableSheet
from outside_readers.records import ReadSetup
from outside_readers.text_rows import LABEL_WIDTH, Body, Lines
from outside_readers.words import read_lies, read_places, read_stock, read_zero

_Read = TypeVar("_Read")

_RULE = re.compile("-{20,}")
_MARK = re.compile(r"millprep .*\bmark ([0-9a-f]{16}|\.{16})", re.ASCII)
_TITLE = re.compile(
    rf"(?P<part>.*[^ ]) +setup (?P<number>\d+) of (?P<of>\d+): (?P<face>{FACE_WORDS}) up", re.ASCII
)
_DRAWING = re.compile(r".*\bpart mark (?P<mark>[0-9a-f]+); figures in (?P<units>mm|inch)", re.ASCII)
_LABELS = ("VICE", "TURN", "WAY ROUND", "LIES", "HOLD", "ZERO", "SKEW", "HEAD", "HAND", "PLACES")
_CLOSING = ("DONE", "RECOVER", "ASSUMED", "REMARKS")
_DONE = re.compile(r"(\d+) of (\d+) holes?, (\d+) steps?\..*", re.ASCII)


def read_text(text: str) -> tuple[ReadSetup, ...]:
    """The setups of a text listing. Raises UnreadableSheet with the line."""
    return tuple(read_setup(block) for block in setup_blocks(text))


def setup_blocks(text: str) -> list[Lines]:
    """The lines of each setup of a text sheet. Raises UnreadableSheet where there is none."""
    blocks = list(_blocks(text))
    if blocks and len(blocks[-1]) == 1 and _MARK.fullmatch(blocks[-1][0][1]):
        blocks.pop()
    if not blocks:
        raise UnreadableSheet("the sheet is empty", 1)
    return blocks


def _blocks(text: str) -> Iterator[Lines]:
    """Runs of lines between empty ones."""
    block: Lines = []
    for number, line in enumerate(text.split("\n"), start=1):
        if line:
            block.append((number, line.rstrip(" ")))
        elif block:
            yield block
            block = []
    if block:
        yield block


def sections_of(block: Lines) -> list[Lines]:
    sections: list[Lines] = [[]]
    for number, line in block:
        if _RULE.fullmatch(line):
            sections.append([])
        elif line:
            sections[-1].append((number, line))
    return sections


def read_setup(block: Lines) -> ReadSetup:
    """The setup that the lines of one tell. Raises UnreadableSheet with the line."""
    heading, *rest = sections_of(block)
    title, mark, units, stock = read_heading(heading)
    number = heading[0][0]
    if not rest:
        raise UnreadableSheet("the setup ends after its heading", block[-1][0])
    labels = labelled(rest[0], _LABELS)
    lies = at_label(labels, "LIES", read_lies, number)
    if lies.face != title["face"].lower():
        raise UnreadableSheet(
            f"the title says {title['face']} up, LIES {lies.face.upper()}", number
        )
    at_label(labels, "HOLD", str, number)
    zero = at_label(labels, "ZERO", lambda words: read_zero(words, units), number)
    places = at_label(labels, "PLACES", lambda words: read_places(words, units), number)
    body = Body(units)
    done, _ = read_body(rest[1:], body, number)
    return ReadSetup(
        int(title["number"]),
        lies.face,
        lies.towards_you,
        zero.x,
        zero.y,
        units,
        tuple(body.rows),
        of=int(title["of"]),
        away=lies.away,
        left_hand=lies.left_hand,
        finder_readings=zero.readings,
        check_move=zero.check_move,
        places=places,
        looks=tuple(body.looks),
        said=tuple(body.said),
        done=done,
        part_name=title["part"],
        part_mark=mark,
        line=number,
        stock=stock,
    )


def read_heading(heading: Lines) -> tuple[re.Match[str], str, Units, tuple[Figure, ...]]:
    """Title, part mark and units, and sizes of the stock: the heading's first three sentences."""
    if not heading:
        raise UnreadableSheet("the setup has no heading")
    number, line = heading[0]
    title = _TITLE.fullmatch(line)
    if title is None:
        raise UnreadableSheet(f"{shown(line)} is not the title of a setup", number)
    sentences: list[str] = []
    for _, words in heading:
        if words.startswith("    ") and sentences:
            sentences[-1] += " " + words.strip(" ")
        else:
            sentences.append(words)
    drawing = _DRAWING.fullmatch(sentences[2]) if len(sentences) > 2 else None
    if drawing is None:
        raise UnreadableSheet("the heading names no part mark and units", number)
    units: Units = "mm" if drawing["units"] == "mm" else "inch"
    try:
        stock = read_stock(sentences[1], units)
    except UnreadableSheet as fault:
        raise UnreadableSheet(fault.message, number + 1) from None
    return title, drawing["mark"], units, stock


def labelled(section: Lines, known: tuple[str, ...]) -> dict[str, tuple[int, str]]:
    """Label to (line, its text with the line breaks undone)."""
    found: dict[str, tuple[int, str]] = {}
    label = ""
    for number, line in section:
        own, words = line[:LABEL_WIDTH].rstrip(" "), line[LABEL_WIDTH:]
        if own:
            label = own
            if own not in known or own in found:
                raise UnreadableSheet(f"unknown line {shown(line)}", number)
            found[own] = number, words
        elif label:
            found[label] = found[label][0], f"{found[label][1]} {words}"
        else:
            raise UnreadableSheet(f"unknown line {shown(line)}", number)
    return found


def at_label(
    labels: dict[str, tuple[int, str]], label: str, read: Callable[[str], _Read], setup_line: int
) -> _Read:
    """What stands behind a label, as read; its line goes with the refusal."""
    if label not in labels:
        raise UnreadableSheet(f"the setup has no {label} line", setup_line)
    line, words = labels[label]
    try:
        return read(words)
    except UnreadableSheet as fault:
        raise UnreadableSheet(fault.message, line) from None


def read_body(
    sections: list[Lines], body: Body, setup_line: int
) -> tuple[tuple[int, int, int], dict[str, tuple[int, str]]]:
    """Fills the body with the steps; gives the figures of the closing line, and what closes."""
    done: tuple[int, int, int] | None = None
    closing: dict[str, tuple[int, str]] = {}
    for section in sections:
        line, first = section[0] if section else (setup_line, "")
        if done is None and first.startswith("DONE "):
            closing = labelled(section, _CLOSING)
            done = at_label(closing, "DONE", read_done, setup_line)
        elif done is None:
            body.read(section)
        elif first != "TAKE CARE":
            raise UnreadableSheet(f"unknown line {shown(first)}", line)
    if done is None:
        raise UnreadableSheet("the setup has no DONE line", setup_line)
    return done, closing


def read_done(words: str) -> tuple[int, int, int]:
    match = _DONE.fullmatch(words)
    if match is None:
        raise UnreadableSheet(f"DONE says {shown(words)}")
    return int(match[1]), int(match[2]), int(match[3])
