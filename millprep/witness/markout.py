"""The second witness for marking-out lists: heights of the finished list against the part.

A line is at its hole when its height above the face that is down is the hole's distance from that
face, by the blank as measured. Imports the part and `reading`; never what wrote the list.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence

from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.model.part import Hole, Part
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadRow, ReadSection, ReadSheet
from millprep.reading.pages.slots import Said, as_figure
from millprep.witness.asked import check_sound_words, complaint, unreadable
from millprep.witness.compared import Question, Report, any_case, names_of, near, once
from millprep.witness.faces import AXIS, FAR, from_face_mm
from millprep.witness.hand import check_hands
from millprep.witness.left import check_left

_MERGED_MM = 0.01  # heights that differ by 0.02 are scribed half way between
_HALF_LINE_MM = 4.0
_SLACK_MM = 1e-6
_ABOUT_MM = 0.1  # of two figures in inches
_OFF_COUNT = 1e-3
_GAUGE_COUNT_MM = {"mm": 0.01, "inch": 0.0005 * 25.4}  # of a height gauge (common practice)
_RULE_COUNT_MM = {"mm": 0.1, "inch": 0.01 * 25.4}


@frozen
class _Marks(Report):
    """The list beside its part. is_whole : the form has sentences too."""

    sheet: ReadSheet
    part: Part
    file: str
    offset_mm: float
    is_whole: bool

    @property
    def holes(self) -> dict[str, Hole]:
        return {hole.name: hole for hole in self.part.holes}

    def stop(self, words: str, said: Said, kind: str = "wrong-figure") -> Finding:
        found = complaint(self.file)(words, said)
        holes = (said["hole"],) if "hole" in said.slots else ()
        return replace(found, kind=kind, holes=holes)

    def shows(self, told_mm: float, exact_mm: float, *, by_rule: bool = False) -> bool:
        """Whether a figure is the exact one, rounded once to what gauge or rule can show."""
        count = (_RULE_COUNT_MM if by_rule else _GAUGE_COUNT_MM)[self.sheet.units]
        is_whole = abs(told_mm / count - round(told_mm / count)) < _OFF_COUNT
        return is_whole and abs(told_mm - exact_mm) <= count / 2 + _SLACK_MM

    def reads(self, exact_mm: float) -> Question:
        """Whether a slot shows that on the gauge."""
        return Question(
            f"{exact_mm:.4f} mm",
            lambda told: self.shows(as_figure(told, self.sheet.units).mm, exact_mm),
        )

    def away_mm(self, hole: Hole, face: str) -> float:
        """How far a hole's centre lies from a face of the blank."""
        return from_face_mm(hole.centre_mm, face, self.part.stock.size_mm)


@frozen
class _Standing:
    """The part on a face, with the lines to scribe; the gauge stands where it was last set."""

    face: str
    rows: tuple[tuple[float, ReadRow], ...]
    said: Said
    section: ReadSection


def check_markout(
    data: bytes,
    form: SheetForm,
    part: Part,
    *,
    gauge_offset_mm: float = 0.0,
    remarks: Sequence[Finding] | None = None,
    file: str,
) -> list[Finding]:
    """How a finished marking-out list differs from its part; empty when they agree.

    gauge_offset_mm : what the gauge reads with the scriber on the plate, as it was asked for
    remarks : what was found, told below the list; None to leave that
    """
    try:
        names = names_of(part)
        sheet = read_sheet(data, "markout", form, names, table="lines", pages="standing")
        marks = _Marks(sheet, part, file, gauge_offset_mm, form != "csv")
        standings = list(_standings(marks))
    except UnreadableSheet as fault:
        return [unreadable("the list", fault, file)]
    findings = [*_check_numbers(marks, standings)]
    for standing in standings:
        findings += _check_standing(marks, standing)
    findings += _check_all_lines(marks, standings)
    if marks.is_whole:
        findings += _check_whole(marks, standings, remarks)
    return findings


def _standings(marks: _Marks) -> Iterator[_Standing]:
    """Raises UnreadableSheet."""
    for page in marks.sheet.pages:
        for section in page.sections:
            stand = section.one("stand")
            rows = [row for row in section.rows if row.table == "lines"]
            if stand is None and not rows:
                continue
            if stand is None and marks.is_whole:
                raise UnreadableSheet("a standing that does not say how it stands", rows[0].line)
            said = stand or rows[0].said
            yield _Standing(
                said.face("face" if stand else "face_down"), tuple(_set(rows)), said, section
            )


def _set(rows: Sequence[ReadRow]) -> Iterator[tuple[float, ReadRow]]:
    gauge_mm: float | None = None
    for row in rows:
        gauge_mm = row.said.mm("gauge") if row.said.has("gauge") else gauge_mm
        if gauge_mm is None:
            raise UnreadableSheet("a line without a height", row.line)
        yield gauge_mm, row


def _faces_of(hole: Hole) -> set[str]:
    """Where a hole is marked."""
    return {hole.face, FAR[hole.face]} if hole.from_both_ends else {hole.face}


def _check_numbers(marks: _Marks, standings: Sequence[_Standing]) -> Iterator[Finding]:
    """Each axis that has lines has one standing, numbered in order."""
    count, title = len(standings), marks.sheet.pages[0].title
    for number, one in enumerate(standings, 1):
        labels = [said for said in one.section.said if "number" in said.slots] or [one.said]
        told = labels[0].count("number" if marks.is_whole else "standing")
        if told != number or (marks.is_whole and one.said.count("of") != count):
            words = f"standing {number} of {count} is numbered {told}"
            yield marks.stop(words, one.said, "wrong-numbering")
    if marks.is_whole and title.count("standing_count") != count:
        yield marks.stop(f"the title counts {title['standing_count']} standings", title)
    axes = [AXIS[one.face] for one in standings]
    if len(set(axes)) != len(axes):
        yield marks.stop("two standings show the same heights", title)


def _check_standing(marks: _Marks, standing: _Standing) -> Iterator[Finding]:
    where = f"{standing.face.upper()} on the plate"
    if marks.is_whole:
        for words, said in _standing_words(marks, standing):
            yield marks.stop(f"{where}: {words}", said)
    heights = [gauge_mm for gauge_mm, _ in standing.rows]
    if heights != sorted(heights):
        yield marks.stop(f"{where}: the heights do not rise", standing.said)
    for gauge_mm, row in standing.rows:
        yield from _check_line(marks, standing, gauge_mm, row, where)


def _standing_words(marks: _Marks, standing: _Standing) -> Iterator[tuple[str, Said]]:
    """What the sentences of a standing say otherwise than the part."""
    face, stand, part = standing.face, standing.said, marks.part
    down, up, datum = any_case(face), any_case(FAR[face]), part.datum[AXIS[face]]
    scribed = {row.said.face("face") for _, row in standing.rows}
    yield from marks.unlike(stand, {"up": up, "ink": _faces(stand, "ink", scribed)})
    centre = marks.reads(part.stock.size_mm[AXIS[face]] / 2 + marks.offset_mm)
    due = {
        "stand-datum": once(datum == face, face=down),
        "stand-centre": once(datum == "centre", face=down, up=up, centre=centre),
        "stand-far": once(datum == FAR[face], up=up),
        "stand-rim": once(part.stock.axis not in (None, AXIS[face]), face=down),
    }
    yield from marks.sentences(due, standing.section)


def _faces(said: Said, name: str, right: Collection[str]) -> Question:
    """Whether a slot names these faces, in any order."""
    return Question(", ".join(right), lambda told: {*said.faces(name)} == {*right})


def _check_line(
    marks: _Marks, standing: _Standing, gauge_mm: float, row: ReadRow, where: str
) -> Iterator[Finding]:
    """Height, face and extent of a line."""
    line = row.said
    hole = marks.holes.get(line["hole"])
    if hole is None:
        words = f'{where}: the part has no hole "{line["hole"]}"'
        yield marks.stop(words, line, "hole-extra")
        return
    face, from_face = line.face("face"), line.face("from_face")
    axes = {AXIS[one] for one in (standing.face, from_face, face)}
    if face not in _faces_of(hole) or axes != {0, 1, 2}:
        words = f"{where}: {hole.name} is not marked on {face.upper()} from there"
        yield marks.stop(words, line)
        return
    exact = marks.away_mm(hole, standing.face) + marks.offset_mm
    tolerance = _GAUGE_COUNT_MM[marks.sheet.units] / 2 + _MERGED_MM + _SLACK_MM
    if abs(gauge_mm - exact) > tolerance:
        words = f"{where}: {hole.name} is scribed at {gauge_mm:.4f} mm; it lies at {exact:.4f}"
        yield marks.stop(words, line, "hole-off")
    if line.slots.get("height_mm") is not None:
        told = float(line["height_mm"]) + marks.offset_mm
        if not marks.shows(gauge_mm, told):
            yield marks.stop(f"{where}: the gauge shows {gauge_mm:g} for {told:.4f} mm", line)
    across = marks.away_mm(hole, from_face)
    most = marks.part.stock.size_mm[AXIS[from_face]]
    ends = max(across - _HALF_LINE_MM, 0.0), min(across + _HALF_LINE_MM, most)
    shown = line.mm("start"), line.mm("end")
    if not all(marks.shows(*pair, by_rule=True) for pair in zip(shown, ends, strict=True)):
        words = f"{where}: the line of {hole.name} runs from {ends[0]:.3f} to {ends[1]:.3f} mm"
        yield marks.stop(words, line)


def _check_all_lines(marks: _Marks, standings: Sequence[_Standing]) -> Iterator[Finding]:
    """Every hole gets its two lines on each face where it is marked, once."""
    found = Counter(
        (row.said["hole"], row.said.face("face"), AXIS[standing.face])
        for standing in standings
        for _, row in standing.rows
    )
    for hole in marks.part.holes:
        for face in _faces_of(hole):
            for axis in {0, 1, 2} - {AXIS[face]}:
                times = found[hole.name, face, axis]
                if times != 1:
                    words = f"{hole.name} has {times} lines along {'xyz'[axis]} on {face.upper()}"
                    title = marks.sheet.pages[0].title
                    found_so = marks.stop(words, title, "hole-missing")
                    yield replace(found_so, holes=(hole.name,))


def _check_whole(
    marks: _Marks, standings: Sequence[_Standing], remarks: Sequence[Finding] | None
) -> Iterator[Finding]:
    """What stands around the lines."""
    page, part = marks.sheet.pages[0], marks.part
    whole, complain = page.whole, complaint(marks.file)
    for words, said in marks.heading(part, remarks, stock=True):
        yield complain(words, said)
    crosses = Counter((hole.name, face) for hole in part.holes for face in _faces_of(hole))
    faces = Counter(face for _, face in crosses)
    count = near(_GAUGE_COUNT_MM[marks.sheet.units], _SLACK_MM)
    due = {
        "ink": [{"ink": _faces(said, "ink", faces)} for said in whole.all("ink")[:1]] or [{}],
        "gauge": once(True, gauge_offset=marks.reads(marks.offset_mm)),
        "punch": once(True),
        "count": once(True, cross_count=faces.total()),
        "assumed-gauge": once(True, gauge_count=count, half_line=near(_HALF_LINE_MM, _ABOUT_MM)),
    }
    for words, said in marks.sentences(due):
        yield complain(words, said)
    for said in whole.all("count"):
        told = {one.face("face"): one.count("count") for one in said.parts("counts")}
        if told != dict(faces):
            yield complain(f"COUNT says {said.text}; the part has {dict(faces)}", said)
    yield from check_left([whole], part, complain, page.title)
    yield from check_sound_words(whole, complain)
    yield from check_hands(whole, part, faces, complain)
    has_none = not any(said.group == "HAND" for said in whole.said)
    if marks.sheet.whole and has_none and marks.sheet.whole.get("hands") != [{"hands": "no"}]:
        yield complain(f"the hands are {marks.sheet.whole.get('hands')} by name", page.title)
    rows = [row.said for row in whole.rows if row.table == "punch"]
    if Counter((row["hole"], row.face("face")) for row in rows) != crosses:
        yield complain("PUNCH does not name every cross once", page.title)
    yield from _check_crosses(marks, rows, {standing.face for standing in standings})


def _check_crosses(
    marks: _Marks, rows: Sequence[Said], stood_on: Collection[str]
) -> Iterator[Finding]:
    """The distances of the crosses to punch from the far faces are the part's."""
    for row in rows:
        hole = marks.holes.get(row["hole"])
        faces = row.face("near_face"), row.face("far_face")
        for face, name in zip(faces, ("near", "far"), strict=True) if hole is not None else ():
            assert hole is not None
            exact, told = marks.away_mm(hole, face), row.mm(name)
            axes = {AXIS[one] for one in (*faces, row.face("face"))}
            if face in stood_on or axes != {0, 1, 2} or not marks.shows(told, exact):
                words = f"PUNCH has {hole.name} {told:g} mm from {face.upper()}; it is {exact:.4f}"
                yield marks.stop(words, row)
