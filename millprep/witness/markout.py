"""The second witness for marking-out lists: heights of the finished list against the part.

A line is at its hole when its height above the face that is down is the hole's distance from that
face, by the blank as measured. Imports the part and `reading`; never what wrote the list.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.reading.pages.markout import (
    MarkForm,
    PrintedCross,
    PrintedLine,
    PrintedMarks,
    PrintedStanding,
    read_markout,
)
from millprep.reading.pages.printed import UnreadableSheet
from millprep.witness.hand import what_is_wrong_with

_REMEDY = "the list does not agree with the part file; please report it"
_ENDS = {
    "left": (0, 0), "right": (0, 1), "front": (1, 0), "back": (1, 1), "bottom": (2, 0),
    "top": (2, 1),
}  # fmt: skip
_FAR = {"left": "right", "front": "back", "bottom": "top"}
_FAR |= {high: low for low, high in _FAR.items()}
_MERGED_MM = 0.01  # heights that differ by 0.02 are scribed half way between
_HALF_LINE_MM = 4.0
_SLACK_MM = 1e-6
_OFF_COUNT = 1e-3
_GAUGE_COUNT_MM = {"mm": 0.01, "inch": 0.0005 * 25.4}  # of a height gauge (common practice)
_RULE_COUNT_MM = {"mm": 0.1, "inch": 0.01 * 25.4}


@frozen
class _Marks:
    """The list beside its part."""

    printed: PrintedMarks
    part: Part
    file: str

    def holes(self) -> dict[str, Hole]:
        return {hole.name: hole for hole in self.part.holes}

    def stop(self, words: str, line: int | None = None, hole: str | None = None) -> Finding:
        return Finding(
            "stop",
            "wrong-figure",
            words,
            _REMEDY,
            self.file,
            line,
            holes=() if hole is None else (hole,),
        )

    def shows(self, told_mm: float, exact_mm: float, *, by_rule: bool = False) -> bool:
        """Whether a figure is the exact one, rounded once to what gauge or rule can show."""
        count = (_RULE_COUNT_MM if by_rule else _GAUGE_COUNT_MM)[self.printed.units]
        is_whole = abs(told_mm / count - round(told_mm / count)) < _OFF_COUNT
        return is_whole and abs(told_mm - exact_mm) <= count / 2 + _SLACK_MM

    def away_mm(self, hole: Hole, face: str) -> float:
        """How far a hole's centre lies from a face of the blank."""
        axis, end = _ENDS[face]
        size = self.part.stock.size_mm[axis]
        return size - hole.centre_mm[axis] if end else hole.centre_mm[axis]


def check_markout(
    data: bytes, form: MarkForm, part: Part, *, gauge_offset_mm: float = 0.0, file: str
) -> list[Finding]:
    """How a finished marking-out list differs from its part; empty when they agree.

    gauge_offset_mm : what the gauge reads with the scriber on the plate, as it was asked for
    """
    try:
        printed = read_markout(data, form)
    except UnreadableSheet as fault:
        return [
            Finding(
                "stop",
                "unreadable-sheet",
                f"the list cannot be read back: {fault.message}",
                "it is not handed over; please report it",
                file=file,
                line=fault.line,
            )
        ]
    marks = _Marks(printed, part, file)
    findings = [*_check_heading(marks, gauge_offset_mm), *_check_standings(marks)]
    for standing in printed.standings:
        findings += _check_standing(marks, standing, gauge_offset_mm)
    findings += _check_all_lines(marks)
    if printed.crosses is not None:
        findings += _check_crosses(marks, printed.crosses)
    for hand in printed.hands:
        if words := what_is_wrong_with(hand, part):
            findings.append(marks.stop(words))
    return findings


def _faces_of(hole: Hole) -> set[str]:
    """Where a hole is marked."""
    return {hole.face, _FAR[hole.face]} if hole.from_both_ends else {hole.face}


def _check_heading(marks: _Marks, offset_mm: float) -> Iterator[Finding]:
    printed, part = marks.printed, marks.part
    if printed.part_name not in (None, part.name, part.name.upper()):
        yield marks.stop(f'the part is called "{printed.part_name}", not "{part.name}"')
    if printed.part_mark not in (None, part.mark):
        yield marks.stop(f"the part mark is {printed.part_mark}, not {part.mark}")
    if not marks.shows(printed.offset_mm, offset_mm):
        yield marks.stop(f"the gauge reads {printed.offset_mm:g} mm, not {offset_mm:g}")
    wanted = {face for hole in part.holes for face in _faces_of(hole)}
    if printed.inked is not None and {*printed.inked} != wanted:
        yield marks.stop(f"INK names {', '.join(printed.inked)}")


def _check_standings(marks: _Marks) -> Iterator[Finding]:
    """Each axis that has lines has one standing, numbered in order."""
    standings = marks.printed.standings
    numbers = [one.number for one in standings]
    if numbers != list(range(1, len(numbers) + 1)) or marks.printed.standing_count not in (
        None,
        len(numbers),
    ):
        yield Finding(
            "stop",
            "wrong-numbering",
            f"standings are numbered {numbers}",
            "count from 1 without a gap",
            marks.file,
        )
    axes = [_ENDS[one.face][0] for one in standings]
    if len(set(axes)) != len(axes):
        yield marks.stop("two standings show the same heights")


def _check_standing(
    marks: _Marks, standing: PrintedStanding, offset_mm: float
) -> Iterator[Finding]:
    axis, _ = _ENDS[standing.face]
    where = f"standing {standing.number}, {standing.face.upper()} on the plate"
    if standing.up is not None and standing.up != _FAR[standing.face]:
        yield marks.stop(f"{where}: {standing.up.upper()} cannot be up", standing.line)
    if standing.inked is not None and {*standing.inked} != {one.face for one in standing.lines}:
        yield marks.stop(
            f"{where}: the faces to scribe on are not those of its lines", standing.line
        )
    is_centre = marks.part.datum[axis] == "centre"
    half = marks.part.stock.size_mm[axis] / 2 + offset_mm
    is_told = standing.centre_mm is not None
    if standing.inked is not None and is_told != is_centre:
        yield marks.stop(f"{where}: the centre line", standing.line)
    if standing.centre_mm is not None and not marks.shows(standing.centre_mm, half):
        yield marks.stop(f"{where}: the centre line stands at {half:.4f} mm", standing.line)
    heights = [one.gauge_mm for one in standing.lines]
    if heights != sorted(heights):
        yield marks.stop(f"{where}: the heights do not rise", standing.line)
    for index, line in enumerate(standing.lines):
        yield from _check_line(marks, standing, line, where, offset_mm)
        if standing.exact_mm:
            told = standing.exact_mm[index] + offset_mm
            if not marks.shows(line.gauge_mm, told):
                yield marks.stop(f"{where}: the gauge shows {line.gauge_mm:g} for {told:.4f} mm")


def _check_line(
    marks: _Marks, standing: PrintedStanding, line: PrintedLine, where: str, offset_mm: float
) -> Iterator[Finding]:
    """Height, face and extent of a line."""
    hole = marks.holes().get(line.hole)
    if hole is None:
        yield Finding(
            "stop",
            "hole-extra",
            f'{where}: the part has no hole "{line.hole}"',
            "names are copied letter by letter; please report it",
            marks.file,
            line.line,
        )
        return
    axes = {_ENDS[face][0] for face in (standing.face, line.from_face, line.face)}
    if line.face not in _faces_of(hole) or axes != {0, 1, 2}:
        words = f"{where}: {line.hole} is not marked on {line.face.upper()} from there"
        yield marks.stop(words, line.line, line.hole)
        return
    exact = marks.away_mm(hole, standing.face) + offset_mm
    tolerance = _GAUGE_COUNT_MM[marks.printed.units] / 2 + _MERGED_MM + _SLACK_MM
    if abs(line.gauge_mm - exact) > tolerance:
        yield Finding(
            "stop",
            "hole-off",
            f"{where}: {line.hole} is scribed at {line.gauge_mm:.4f} mm; it lies at {exact:.4f}",
            "check the height against the part file and the measured size",
            marks.file,
            line.line,
            holes=(line.hole,),
        )
    across = marks.away_mm(hole, line.from_face)
    most = marks.part.stock.size_mm[_ENDS[line.from_face][0]]
    ends = max(across - _HALF_LINE_MM, 0.0), min(across + _HALF_LINE_MM, most)
    if not (
        marks.shows(line.start_mm, ends[0], by_rule=True)
        and marks.shows(line.end_mm, ends[1], by_rule=True)
    ):
        words = f"{where}: the line of {line.hole} runs from {ends[0]:.3f} to {ends[1]:.3f} mm"
        yield marks.stop(words, line.line, line.hole)


def _check_all_lines(marks: _Marks) -> Iterator[Finding]:
    """Every hole gets its two lines on each face where it is marked, once."""
    found = Counter(
        (line.hole, line.face, _ENDS[standing.face][0])
        for standing in marks.printed.standings
        for line in standing.lines
    )
    for hole in marks.part.holes:
        for face in _faces_of(hole):
            for axis in {0, 1, 2} - {_ENDS[face][0]}:
                times = found[hole.name, face, axis]
                if times != 1:
                    yield Finding(
                        "stop",
                        "hole-missing",
                        f"{hole.name} has {times} lines along {'xyz'[axis]} on {face.upper()}",
                        "each hole is crossed once; please report it",
                        marks.file,
                        holes=(hole.name,),
                    )


def _check_crosses(marks: _Marks, crosses: tuple[PrintedCross, ...]) -> Iterator[Finding]:
    """The crosses to punch are those marked, their distances from the far faces the part's."""
    holes = marks.holes()
    wanted = Counter((hole.name, face) for hole in marks.part.holes for face in _faces_of(hole))
    if Counter((cross.hole, cross.face) for cross in crosses) != wanted:
        yield marks.stop("PUNCH does not name every cross once")
    counts = Counter(face for _, face in wanted.elements())
    if marks.printed.counts not in (None, dict(counts)):
        yield marks.stop(f"COUNT says {marks.printed.counts}; the part has {dict(counts)}")
    if marks.printed.cross_count not in (None, len(crosses)):
        yield marks.stop(f"COUNT says {marks.printed.cross_count} crosses of {len(crosses)}")
    stood_on = {standing.face for standing in marks.printed.standings}
    for cross in crosses:
        hole = holes.get(cross.hole)
        for face, told in cross.checks if hole is not None else ():
            exact = marks.away_mm(hole, face) if hole is not None else 0.0
            if face in stood_on or not marks.shows(told, exact):
                words = f"PUNCH has {cross.hole} {told:g} mm from {face.upper()}; it is {exact:.4f}"
                yield marks.stop(words, cross.line, cross.hole)
