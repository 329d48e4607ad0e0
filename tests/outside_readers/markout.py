"""Marking-out lists of text read back by patterns of their own: a third opinion."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.reading.pages.printed import FACE_WORDS, NUMBER, UnreadableSheet, length_mm
from outside_readers.text import labelled, sections_of, setup_blocks
from outside_readers.text_rows import Lines

_FACE = f"(?:{FACE_WORDS})"
_TITLE = re.compile(r"(?P<part>.*[^ ]) +marking out, (?P<count>\d+) standings?", re.ASCII)
_MARK = re.compile(r".*\bpart mark (?P<mark>[0-9a-f]+); figures in (?P<units>mm|inch)", re.ASCII)
_INK = re.compile(rf"({_FACE}(?:, {_FACE})*); lines there only, and short\.", re.ASCII)
_GAUGE = re.compile(rf"reads ({NUMBER}) with the scriber on the plate: try it first\.", re.ASCII)
_STAND = re.compile(
    rf"of (?P<of>\d+): (?P<face>{_FACE}) on the plate, (?P<up>{_FACE}) up; lines on "
    rf"(?P<inked>{_FACE}(?:, {_FACE})*)(?P<words>.*)",
    re.ASCII,
)
_CENTRE = re.compile(rf"the centre line stands at ({NUMBER}),", re.ASCII)
_HEAD = re.compile(r" +gauge at +on +line +hole", re.ASCII)
_LINE = re.compile(
    rf"\[ \] +(?:(?P<gauge>{NUMBER}) +)?(?P<face>{_FACE}) +(?P<from>{_FACE}) "
    rf"(?P<start>{NUMBER}) to (?P<end>{NUMBER})(?: +(?P<hole>.*))?",
    re.ASCII,
)
_CROSS = re.compile(
    rf"\[ \]  (?P<face>{_FACE}) +(?P<a>{_FACE}) (?P<a_mm>{NUMBER})  "
    rf"(?P<b>{_FACE}) (?P<b_mm>{NUMBER})(?: +(?P<hole>.*))?",
    re.ASCII,
)
_COUNT = re.compile(rf"((?:{_FACE} \d+(?:, )?)+): (\d+) cross(?:es)?\.", re.ASCII)


@frozen
class PrintedLine:
    """A line to scribe: what the gauge shows, hole, face, and where along it.

    Lengths in mm, turned from the shown figure once; faces in small letters.
    """

    gauge_mm: float
    hole: str
    face: str
    from_face: str
    start_mm: float
    end_mm: float
    line: int | None = None


@frozen
class PrintedStanding:
    """The part on a face. up, inked : None in csv; centre_mm : of the gauge at a centre line."""

    number: int
    face: str
    lines: tuple[PrintedLine, ...]
    up: str | None = None
    inked: tuple[str, ...] | None = None
    centre_mm: float | None = None
    line: int | None = None


@frozen
class PrintedCross:
    """A cross to punch, and its distance from two faces."""

    hole: str
    face: str
    checks: tuple[tuple[str, float], tuple[str, float]]
    line: int | None = None


@frozen
class PrintedMarks:
    """A marking-out list; part_name, part_mark, crosses, counts, inked are None in csv."""

    units: Units
    offset_mm: float
    standings: tuple[PrintedStanding, ...]
    part_name: str | None = None
    part_mark: str | None = None
    standing_count: int | None = None
    inked: tuple[str, ...] | None = None
    crosses: tuple[PrintedCross, ...] | None = None
    counts: dict[str, int] | None = None
    cross_count: int | None = None


def read_markout(text: str) -> PrintedMarks:
    """A marking-out list of text. Raises UnreadableSheet for what it does not understand."""
    blocks = setup_blocks(text)
    if len(blocks) != 1:
        raise UnreadableSheet("the list is broken by an empty line", blocks[1][0][0])
    heading, gauge, *rest = sections_of(blocks[0])
    if len(rest) < 3:
        raise UnreadableSheet("the list ends after its heading", heading[0][0])
    title = _TITLE.fullmatch(heading[0][1])
    sentence = " ".join(line.strip(" ") for _, line in heading[1:])
    mark = re.match(_MARK, sentence)
    if title is None or mark is None:
        raise UnreadableSheet("the heading names no part, part mark and units", heading[0][0])
    units: Units = "mm" if mark["units"] == "mm" else "inch"
    labels = labelled(gauge, ("INK", "GAUGE"))
    ink, offset = _found(_INK, labels, "INK"), _found(_GAUGE, labels, "GAUGE")
    *stands, punch, closing = rest
    end = labelled(closing, ("COUNT", "HAND", "ASSUMED", "REMARKS"))
    count = _found(_COUNT, end, "COUNT")
    counts = {
        words.split(" ")[0].lower(): int(words.split(" ")[1]) for words in count[1].split(", ")
    }
    return PrintedMarks(
        units,
        length_mm(offset[1], units),
        tuple(_standing(one, units) for one in stands),
        title["part"],
        mark["mark"],
        int(title["count"]),
        _small(ink[1]),
        tuple(_crosses(punch, units)),
        counts,
        int(count[2]),
    )


def _found(
    pattern: re.Pattern[str], labels: Mapping[str, tuple[int, str]], label: str
) -> re.Match[str]:
    line, words = labels.get(label, (None, ""))
    match = pattern.fullmatch(words)
    if match is None:
        raise UnreadableSheet(f"{label} says {shown(words)}", line)
    return match


def _small(words: str) -> tuple[str, ...]:
    return tuple(word.lower() for word in words.split(", "))


def _standing(section: Lines, units: Units) -> PrintedStanding:
    number, first = section[0]
    head = next((i for i, (_, line) in enumerate(section) if _HEAD.fullmatch(line)), None)
    title = re.match(r"STAND (\d+) +", first)
    if title is None or head is None:
        raise UnreadableSheet(f"unknown line {shown(first)}", number)
    words = " ".join([first[title.end() :], *(line.strip(" ") for _, line in section[1:head])])
    stand = _STAND.fullmatch(words)
    if stand is None:
        raise UnreadableSheet(f"STAND says {shown(words)}", number)
    centre = _CENTRE.search(stand["words"])
    lines: list[PrintedLine] = []
    gauge_mm: float | None = None
    for line, match, hole in _rows(section[head + 1 :], _LINE):
        gauge_mm = length_mm(match["gauge"], units) if match["gauge"] else gauge_mm
        if gauge_mm is None:
            raise UnreadableSheet("a line without a height", line)
        lines.append(
            PrintedLine(
                gauge_mm,
                hole,
                match["face"].lower(),
                match["from"].lower(),
                length_mm(match["start"], units),
                length_mm(match["end"], units),
                line,
            )
        )
    return PrintedStanding(
        int(title[1]),
        stand["face"].lower(),
        tuple(lines),
        stand["up"].lower(),
        _small(stand["inked"]),
        length_mm(centre[1], units) if centre else None,
        line=number,
    )


def _rows(lines: Lines, pattern: re.Pattern[str]) -> Iterator[tuple[int, re.Match[str], str]]:
    """Rows with their names, which stand below where they are long."""
    rows: list[tuple[int, re.Match[str], str | None]] = []
    for number, line in lines:
        match = pattern.fullmatch(line)
        if match is not None:
            rows.append((number, match, match["hole"]))
        elif rows and rows[-1][2] is None and line.startswith(" " * 10):
            rows[-1] = (*rows[-1][:2], line.strip(" "))
        else:
            raise UnreadableSheet(f"unknown line {shown(line)}", number)
    for number, match, hole in rows:
        if hole is None:
            raise UnreadableSheet("a line without a hole", number)
        yield number, match, hole


def _crosses(section: Lines, units: Units) -> Iterator[PrintedCross]:
    if not section[0][1].startswith("PUNCH "):
        raise UnreadableSheet(f"unknown line {shown(section[0][1])}", section[0][0])
    for line, match, hole in _rows(section[1:], _CROSS):
        checks = (
            (match["a"].lower(), length_mm(match["a_mm"], units)),
            (match["b"].lower(), length_mm(match["b_mm"], units)),
        )
        yield PrintedCross(hole, match["face"].lower(), checks, line)
