"""The second witness for verdicts: what was read, against the part, by a comparison of its own.

Readings off the readout are held against the part by this side's frames. Where holes are by
readings over pins is a sum that is not done again here: the verdict is held against the places that
are told. Imports the part, the shop, what was measured, the tables and `reading`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.measured import Measured
from millprep.model.part import Hole, Part
from millprep.model.readings import PAIR_KINDS, Reading, Readings
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.lines import ReadRow, ReadSheet
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.reference.fits import shaft_limits_um
from millprep.witness import Lay, from_part
from millprep.witness.asked import (
    check_heading_of,
    check_sound_words,
    complaint,
    same_words,
    unreadable,
)
from millprep.witness.judged import Judge, decided, worst
from millprep.witness.lengths import AXIS

_DIGIT_MM = {"mm": 0.001, "inch": 0.0001 * 25.4}
_SLACK_MM = 2e-6
_UM = 0.51
DISAGREES = 2.0  # a residual of more uncertainties is told as a slip
Fault = tuple[str, Said]


@frozen
class Asked:
    """What was asked for. lays : how the part lies, by setup"""

    lays: Mapping[int, Lay]
    piece: str
    date: str
    at_mmc: bool


@frozen
class _Case(Judge):
    """The sheet beside its part and what was measured. doubted : setups with a reading that is
    told to disagree with others"""

    sheet: ReadSheet
    asked: Asked
    doubted: frozenset[int | None]

    @cached_property
    def setup_of(self) -> Mapping[str, int]:
        """The setup of each hole that is due."""
        faces = {lay.face: number for number, lay in self.asked.lays.items()}
        return {h.name: faces[h.face] for h in self.part.holes if h.face in faces}

    @cached_property
    def off_mm(self) -> Mapping[str, tuple[float | None, float | None]]:
        """How far each hole is off its place, as it was read on the readout."""
        if isinstance(self.given, Readings):
            return {}
        signs = [-1.0 if axis in self.shop.readout.reversed_axes else 1.0 for axis in "xy"]
        found: dict[str, tuple[float | None, float | None]] = {}
        for one in self.given.holes:
            if one.hole not in self.setup_of:
                continue
            drawn = self.drawn_at(one.hole)
            pairs = zip((one.x_mm, one.y_mm), (drawn.real, drawn.imag), signs, strict=True)
            dx, dy = (None if read is None else read * sign - at for read, at, sign in pairs)
            found[one.hole] = dx, dy
        return found

    def has_depth(self, name: str) -> bool:
        """Whether the depth of a hole is measured, which never has a tolerance."""
        hole, calliper = self.holes[name], self.shop.instruments.calliper
        is_open = not hole.is_through and hole.thread is None and hole.goes_into is None
        return is_open and hole.depth_mm <= calliper.largest_mm

    def drawn_at(self, hole: str) -> complex:
        """Where a hole is drawn, in the axes of its setup."""
        return self.seen(hole, self.holes[hole].centre_mm)

    def seen(self, hole: str, at: Sequence[float]) -> complex:
        """A place of the part in the axes of the setup of a hole."""
        lay = self.asked.lays[self.setup_of[hole]]
        x, y, _ = from_part(lay, self.part, np.array(at).reshape(3, 1))
        return complex(x[0], y[0])

    @property
    def half_mm(self) -> float:
        """Half of the last digit."""
        return _DIGIT_MM[self.sheet.units] * 0.5 + _SLACK_MM

    def is_shown(self, said: Said, name: str, right_mm: float | None) -> bool:
        """Whether a figure, and in JSON the length beside it, is so."""
        if (said.slots.get(name) is None) != (right_mm is None):
            return False
        if right_mm is None:
            return True
        exact = said.slots.get(f"{name}_mm") if name != "allowed" else None
        is_exact = exact is None or abs(float(exact) - right_mm) <= _SLACK_MM
        return is_exact and abs(said.mm(name) - right_mm) <= self.half_mm


def check_verdict(
    data: bytes,
    form: SheetForm,
    part: Part,
    shop: Shop,
    given: Measured | Readings,
    asked: Asked,
    remarks: Sequence[Finding],
    *,
    file: str,
) -> list[Finding]:
    """How finished verdicts differ from the part and what was measured.

    remarks : what was found, told below the sheet
    """
    complain = complaint(file)
    try:
        names = names_by_letters(hole=[hole.name for hole in part.holes])
        sheet = read_sheet(data, "verdict", form, names, table="holes")
    except UnreadableSheet as fault:
        return [unreadable("the sheet", fault, file)]
    doubted = frozenset(one.setup for one in remarks if one.kind == "readings-disagree")
    case, whole = _Case(part, shop, given, sheet, asked, doubted), sheet.pages[0].whole
    faults = [*_rows(case, whole.rows), *_residuals(case, whole.rows)]
    if form == "csv":
        return [complain(words, said) for words, said in faults]
    faults += [*_title(case), *_readings(case), *_all_readings(case), *_totals(case)]
    found = [complain(words, said) for words, said in faults]
    found += check_heading_of(sheet, sheet.pages[0], part, complain, remarks=remarks, stock=False)
    return [*found, *check_sound_words(whole, complain)]


def _title(case: _Case) -> Iterator[Fault]:
    title, whole = case.sheet.pages[0].title, case.sheet.pages[0].whole
    if not same_words(title["piece"], case.asked.piece) or title["date"] != case.asked.date:
        yield f"piece {title['piece']}, {title['date']}", title
    due = "by-readings" if isinstance(case.given, Readings) else "by-places"
    told = whole.all("by-readings", "by-places")
    if [one.slug for one in told] != [due]:
        yield "the sheet does not say once how it was measured", title
    for said in told:
        if not same_words(said["file"], case.given.path):
            yield f"{said.text}: the file is {case.given.path}", said
        if said["material"] != ("maximum" if case.asked.at_mmc else None):
            yield f"{said.text}: zones of position", said
        if isinstance(case.given, Readings) and said.slug == due:
            counts = said.count("reading_count"), int(said["empty_count"] or 0)
            if counts != (len(case.given.readings), case.given.empty):
                yield f"{said.text}: {len(case.given.readings)}, {case.given.empty} empty", said
        elif said.slug == due:
            off = case.shop.instruments.readout_mm
            if abs(said.mm("readout_off") - off) > _SLACK_MM:
                yield f"{said.text}: it may be {off:g} mm off", said
    if len(whole.all("assumed-inspection")) != 1:
        yield "ASSUMED is not told once", title
    holes = case.part.holes
    is_disc = any(AXIS[hole.face] == case.part.stock.axis for hole in holes)
    for said in whole.all("assumed-inspection"):
        if bool(said["disc"]) != is_disc:
            yield f"{said.text}: of a disc", said
        read = map(case.is_usual_length, case.readings_here(case.setup_of))
        if not said["usual"] and (any(map(case.has_depth, case.setup_of)) or any(read)):
            yield f"{said.text}: not everything has a tolerance", said


def _rows(case: _Case, rows: Sequence[ReadRow]) -> Iterator[Fault]:
    names = [row.said["hole"] for row in rows]
    if sorted(names) != sorted(case.setup_of):
        yield "the sheet does not have every hole once", case.sheet.pages[0].title
    for row in rows:
        if row.said["hole"] in case.setup_of:
            for words in _row(case, row, case.holes[row.said["hole"]]):
                yield f"{row.said['hole']}: {words}", row.said


def _row(case: _Case, row: ReadRow, hole: Hole) -> Iterator[str]:
    said, size = row.said, case.size(hole)
    dx, dy = (said.mm(n) if said.slots.get(n) is not None else None for n in ("dx", "dy"))
    if isinstance(case.given, Measured):
        right = case.off_mm.get(hole.name, (None, None))
        for name, off in zip(("dx", "dy"), right, strict=True):
            if not case.is_shown(said, name, off):
                yield f"{name} is {off}"
        dx, dy = right
    distance = None if dx is None or dy is None else 2 * math.hypot(dx, dy)
    shown = None if said.slots.get("true_position") is None else said.mm("true_position")
    slack = case.half_mm * (1 if isinstance(case.given, Measured) else 4)
    if (shown is None) != (distance is None) or abs((shown or 0) - (distance or 0)) > slack:
        yield f"true position is {distance}"
    half, is_round = case.zone(hole)
    bonus = case.bonus_mm(hole, size.size_mm) if case.asked.at_mmc and is_round else 0.0
    allowed = 2 * half + bonus if is_round else half
    if said["zone"] != ("diameter" if is_round else "plus and minus"):
        yield f"its zone is {said['zone']}"
    if not case.is_shown(said, "allowed", allowed):
        yield f"it may be {allowed} off"
    places = _places(case, hole, dx, dy, bonus)
    thread, others = case.thread(hole), case.others(hole)
    verdicts = {worst([place, size.verdict, thread, *others]) for place in places}
    if said["verdict"] not in verdicts:
        yield f"it is {' or '.join(sorted(verdicts))}, not {said['verdict']}"
    if "place_verdict" in said.slots:
        told = said["place_verdict"], said["size_verdict"], said["thread_verdict"]
        if told[0] not in places or told[1:] != (size.verdict, thread):
            yield f"its verdicts are {', '.join(told)}"
        if (int(said["setup"]), said["face"]) != (case.setup_of[hole.name], hole.face):
            yield f"it is not on {said['face']} of setup {said['setup']}"
    yield from _below(case, row, hole)


def _residuals(case: _Case, rows: Sequence[ReadRow]) -> Iterator[Fault]:
    """Every reading from the datum and over pins is what the places that are told make of it."""
    told = {row.said["hole"]: row.said for row in rows if row.said["hole"] in case.setup_of}
    for one in case.readings_here(told):
        over = case.over_mm(one)
        if over is None or case.setup_of[one.hole] in case.doubted:
            continue
        found = _longer(case, told, one)
        room = DISAGREES * over[1] + 3 * case.half_mm
        if found is not None and abs(found - over[0]) > room:
            words = f"{one.hole}: line {one.line} is {over[0]:.4f} mm over, the place {found:.4f}"
            yield words, told[one.hole]


def _longer(case: _Case, told: Mapping[str, Said], one: Reading) -> float | None:
    """By how much the places that are told make a reading longer; None where they do not say."""
    if one.kind in PAIR_KINDS:
        if one.to not in told:
            return None
        ends = [_off(told[name], 1 + 1j) for name in (one.hole, one.to)]
        if ends[0] is None or ends[1] is None:
            return None
        apart = case.drawn_at(one.hole) - case.drawn_at(one.to)
        return abs(apart + ends[0] - ends[1]) - abs(apart)
    face = one.to.lower()
    if face not in AXIS or case.part.datum[AXIS[face]] != face:
        return None
    hole = case.holes[one.hole]
    inwards = [0.0, 0.0, 0.0]
    inwards[AXIS[face]] = -1.0 if face in ("right", "back", "top") else 1.0
    moved = [a + b for a, b in zip(hole.centre_mm, inwards, strict=True)]
    way = case.seen(one.hole, moved) - case.drawn_at(one.hole)
    off = _off(told[one.hole], way)
    return None if off is None else (off * way.conjugate()).real


def _off(said: Said, way: complex) -> complex | None:
    """How far a hole is told to be off; None where an axis that matters is not told."""
    parts = []
    for name, share in (("dx", way.real), ("dy", way.imag)):
        is_told = said.slots.get(name) is not None
        if not is_told and abs(share) > _SLACK_MM:
            return None
        parts.append(said.mm(name) if is_told else 0.0)
    return complex(*parts)


def _places(
    case: _Case, hole: Hole, dx: float | None, dy: float | None, bonus: float
) -> frozenset[str]:
    """What may be said of the place: by readings, how sure they are is not asked."""
    touched = case.is_touched(hole)
    if not touched or (dx is None and dy is None):
        return frozenset({"not decidable" if touched else "not measured"})
    half, is_round = case.zone(hole)
    off = case.shop.instruments.readout_mm if isinstance(case.given, Measured) else None
    if is_round and dx is not None and dy is not None:
        value, most, times = 2 * math.hypot(dx, dy), 2 * half + bonus, 2
    else:
        value, most, times = max(abs(dx or 0.0), abs(dy or 0.0)), half + bonus / 2, 1
    if off is not None:
        found = {decided(value, off * times, None, most)}
    else:  # known as it is shown
        found = {"not decidable"}
        if case.setup_of[hole.name] not in case.doubted:
            found |= {"in"} if value < most + case.half_mm * 2 else set()
            found |= {"out"} if value > most - case.half_mm * 2 else set()
    if dx is None or dy is None:
        found = {"not decidable" if one == "in" else one for one in found}
    if case.is_usual(hole):
        found = {"not decidable" if one == "out" else one for one in found}
    return frozenset(found)


def _below(case: _Case, row: ReadRow, hole: Hole) -> Iterator[str]:
    """The size and the thread that hang on the row."""
    if "part_mark" in row.said.slots:  # of CSV, with nothing below
        if not case.is_shown(row.said, "size", case.size(hole).size_mm):
            yield f"its size is {case.size(hole).size_mm}"
        return
    size, thread = case.size(hole), case.thread(hole)
    measured = "hole-width" if size.limits is None else "hole-size"
    due = [measured] if size.size_mm is not None else []
    due += ["hole-pins"] if size.size_mm is None and size.verdict != "not measured" else []
    due += ["hole-thread"] if thread != "not measured" else []
    if [one.slug for one in row.below] != due:
        yield f"what is told below it is not {', '.join(due) or 'nothing'}"
    for said in row.below:
        if said.slug == "hole-thread":
            if said["thread_verdict"] != thread or said["thread"] != hole.words:
                yield f"{said.text}: it is {thread}"
            continue
        least, greatest = size.limits or (None, None)
        figures = {"size_least": least, "size_greatest": greatest}
        figures |= {} if said.slug == "hole-pins" else {"size": size.size_mm}
        for name, right in figures.items():
            if not case.is_shown(said, name, right):
                yield f"{said.text}: {name} is {right}"
        if said.slots.get("size_verdict", "not measured") != size.verdict:
            yield f"{said.text}: it is {size.verdict}"
        if said.slug == "hole-size":
            yield from _bore(said, hole, size.size_mm or 0.0)


def _bore(said: Said, hole: Hole, size_mm: float) -> Iterator[str]:
    """How a bore stands to its class, and pins in it."""
    is_due = hole.fit is not None and hole.limits_um is not None
    if len(said.parts("bore")) != is_due:
        yield f"{said.text}: of a class"
    for bore in said.parts("bore"):
        over = (size_mm - hole.diameter_mm) * 1000
        right = (*(hole.limits_um or (0.0, 0.0)), over)
        told = [float(bore[name]) for name in ("class_least", "class_greatest", "deviation")]
        if bore["class"] != hole.fit or not _are(told, right):
            yield f"{said.text}: {hole.fit} is {right}"
        for pin in bore.parts("pin_fits"):
            low, high = shaft_limits_um(hole.diameter_mm, pin["shaft"])
            if not _are(
                [float(pin["least_um"]), float(pin["greatest_um"])], (over - high, over - low)
            ):
                yield f"{said.text}: {pin['shaft']} pin"


def _are(told: Iterable[float], right: Iterable[float]) -> bool:
    return all(abs(a - b) <= _UM for a, b in zip(told, right, strict=True))


def _readings(case: _Case) -> Iterator[Fault]:
    """Those that are not in: each by its own limits."""
    title, whole = case.sheet.pages[0].title, case.sheet.pages[0].whole
    told = whole.all("read-length", "read-turns", "read-answer")
    due = [one for one in case.readings_here(case.setup_of) if case.verdict(one) != "in"]
    keys = Counter(case.key(one.kind, one.hole, one.to) for one in due)
    if Counter(case.key(s["what"], s["hole"], s.slots.get("to") or "") for s in told) != keys:
        yield "the readings that are not in are not all told, each once", title
    for said in told:
        one = case.reading(said["what"], said["hole"], said.slots.get("to") or "")
        if one is None:
            yield f"{said.text}: no such reading", said
        elif said["verdict"] != case.verdict(one):
            yield f"{said.text}: it is {case.verdict(one)}", said
        elif not _is_value(case, said, one):
            yield f"{said.text}: line {one.line} has another reading or limit", said


def _is_value(case: _Case, said: Said, one: Reading) -> bool:
    if said.slug == "read-turns":
        return one.turns is not None and float(said["turns"]) == float(f"{one.turns:g}")
    if said.slug == "read-answer":
        return one.turns is None and (said["answer"] == "yes") == one.answer
    limits = case.limits(one)
    if limits is None or one.value_mm is None:
        return False
    figures = {"reading": one.value_mm, "least": limits[0], "greatest": limits[1]}
    return all(case.is_shown(said, name, right) for name, right in figures.items())


def _all_readings(case: _Case) -> Iterator[Fault]:
    """What JSON has of every reading."""
    title = case.sheet.pages[0].title
    if not case.sheet.whole:
        return
    due = {str(one.line): one for one in case.readings_here(case.setup_of)}
    told = case.sheet.whole.get("readings", [])
    if sorted(str(one["line"]) for one in told) != sorted(due):
        yield "readings has not every line of the file once", title
        return
    for entry in told:
        one = due[str(entry["line"])]
        limits = case.limits(one) if one.value_mm is not None else None
        right = (one.value_mm, *(limits or (None, None)))
        shown = [entry[name] for name in ("reading_mm", "least_mm", "greatest_mm")]
        are = [
            a is None if b is None else a is not None and abs(float(a) - b) <= _SLACK_MM
            for a, b in zip(shown, right, strict=True)
        ]
        if not all(are) or entry["verdict"] != case.verdict(one) or entry["what"] != one.kind:
            yield f"readings, line {one.line}: it is {right}, {case.verdict(one)}", title


def _totals(case: _Case) -> Iterator[Fault]:
    whole = case.sheet.pages[0].whole
    counts = Counter(row.said["verdict"] for row in whole.rows)
    told = whole.all("totals")
    if len(told) != 1:
        yield f"{len(told)} sentences of totals", case.sheet.pages[0].title
    names = {
        "in_count": "in", "out_count": "out", "open_count": "not decidable",
        "missing_count": "not measured",
    }  # fmt: skip
    for said in told:
        found = {word: int(said[name] or 0) for name, word in names.items()}
        if any(counts[word] != count for word, count in found.items()) or said.count(
            "hole_count"
        ) != len(whole.rows):
            yield f"{said.text}: {dict(counts)}", said
