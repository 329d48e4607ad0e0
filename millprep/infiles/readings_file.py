"""A file of readings (CSV): an inspection sheet that was filled in, or a short list of one's own.

    what,hole,to,pin,to_pin,unit,reading        from,to,how,reading
    over pins,cover screw 1,...,35.21           cover screw 1,cover screw 3,over,35.21

A row without a reading says nothing. Every fault has its line.
"""

from __future__ import annotations

import re
from pathlib import Path

from millprep.base.units import Units, shown
from millprep.infiles.csv_file import CsvRow, PartRows, of_piece, read_csv, says_something
from millprep.infiles.wording import accepted
from millprep.model.part import FACES, Part
from millprep.model.readings import (
    CHECK_KINDS,
    EDGE_KINDS,
    PAIR_KINDS,
    PLACE_KINDS,
    RIM_KINDS,
    TRIED_KINDS,
    CheckKind,
    Reading,
    Readings,
)

SHEET_NEEDED = ("what", "hole", "to", "reading")
SHEET_OPTIONAL = (
    *("check", "setup", "face", "pin", "to_pin", "expected", "least", "greatest", "unit"),
    *("instrument", "may_be_off", "mean", "part_mark", "note", "piece"),
)
LIST_NEEDED = ("from", "to", "reading")
LIST_OPTIONAL = ("how", "pin", "to_pin", "unit", "may_be_off", "note", "piece")
_HOW: dict[str, CheckKind] = {
    "over": "over pins",
    "between": "between pins",
    "edge": "edge to pin",
    "rim": "rim to pin",
    "edge wall": "edge to hole",
    "rim wall": "rim to hole",
}
_YES = ("yes", "y", "goes", "ok", "true")
_NO = ("no", "n", "stops", "false")
_TURNS = re.compile(r"(\d{1,3}([.,]\d{1,3})?)\s*(turns?)?")
_TELLING = frozenset({"reading", "what", "how", "from"})  # no other file has these columns


def is_readings_file(path: str | Path) -> bool:
    """Whether the first line of a file names columns of readings; False for what is unreadable."""
    names = _columns(path)
    return bool(names & _TELLING) and not {"x", "y"} <= names


def _columns(path: str | Path) -> frozenset[str]:
    """The names in the first line that says something; none of what is unreadable."""
    try:
        if not Path(path).is_file():  # opening a pipe would wait for ever
            return frozenset()
        with Path(path).open("rb") as stream:
            start = stream.read(4096).decode("utf-8-sig", errors="replace")
    except (OSError, ValueError):
        return frozenset()
    said = filter(says_something, start.splitlines())
    cells = re.split(r"[,;\t]", next(said, "").lower().replace('"', ""))
    return frozenset(" ".join(cell.split()) for cell in cells)


def read_readings(path: str | Path, part: Part, piece: str | None = None) -> Readings:
    """The readings of a file, or those of one of the pieces that it names.

    Raises MillprepError with every fault of it, line by line.
    """
    reader = _Reader(part, path)
    reader.table = of_piece(reader.table, piece)
    readings = [one for row in reader.table.rows if (one := reader.reading(row)) is not None]
    reader.faults.raise_if_any()
    marks = dict.fromkeys(row.cells.get("part_mark", "") for row in reader.table.rows)
    return Readings(str(path), tuple(readings), reader.empty, tuple(mark for mark in marks if mark))


class _Reader(PartRows):
    def __init__(self, part: Part, path: str | Path) -> None:
        super().__init__(part, path)
        is_list = bool(_columns(path) & {"from", "how"})
        needed = LIST_NEEDED if is_list else SHEET_NEEDED
        optional = LIST_OPTIONAL if is_list else SHEET_OPTIONAL
        self.table = read_csv(path, needed, optional, self.faults)
        self.empty = 0
        self.seen: dict[object, int] = {}

    def _add(self, kind: str, row: CsvRow, message: str, remedy: str = "") -> None:
        self.add(kind, row, _about(row), message, remedy)

    def reading(self, row: CsvRow) -> Reading | None:
        """A row's reading, or None where it has none or has faults, which are noted."""
        if not row.cells["reading"]:
            self.empty += 1
            return None
        before = len(self.faults.findings)
        kind = self._kind(row)
        one, other = self._ends(row, kind)
        hole = self.hole(row, _about(row), one)
        to = self._to(row, kind, other) if kind is not None else ""
        units = self.units(row, _about(row))
        pins = self._pins(row, kind, units)
        off_mm = self._length(row, "may_be_off", units)
        value, answer, turns = self._value(row, kind, units)
        if len(self.faults.findings) > before or kind is None or hole is None or to is None:
            return None
        self._once(row, kind, hole, to)
        return Reading(row.line, kind, hole, to, value, answer, turns, pins, off_mm)

    def _kind(self, row: CsvRow) -> CheckKind | None:
        known: dict[str, CheckKind] = {each: each for each in CHECK_KINDS}
        column = "what"
        if column not in row.cells:
            known, column = _HOW, "how"
        given = row.cells.get(column, "").lower() or ("over" if known is _HOW else "")
        kind = known.get(given)
        if kind is None:
            message = f"{column}: {shown(given)} is no kind of reading"
            self._add("unknown-word", row, message, accepted(list(known), given))
        return kind

    def _ends(self, row: CsvRow, kind: CheckKind | None) -> tuple[str, str]:
        """The hole and what it is measured to; from an edge to a hole is the same reading."""
        one, other = row.cells.get("hole", row.cells.get("from", "")), row.cells["to"]
        is_edge_first = one.lower() in FACES and other.lower() not in FACES
        if kind in EDGE_KINDS and is_edge_first and self.known(other) is not None:
            return other, one
        return one, other

    def _to(self, row: CsvRow, kind: CheckKind, given: str) -> str | None:
        """The other hole, the face in small letters, or whatever else tells readings apart."""
        if kind in PAIR_KINDS:
            return self.hole(row, _about(row), given)
        if kind in RIM_KINDS:
            return ""
        if kind not in EDGE_KINDS:
            return given
        face = given.lower()
        if face in FACES:
            return face
        self._add("unknown-word", row, f"to: {shown(given)} is no face", accepted(FACES))
        return None

    def _pins(self, row: CsvRow, kind: CheckKind | None, units: Units) -> tuple[float, ...]:
        """All that stand in the reading, or none; half of them would be no help."""
        given = [self._length(row, column, units) for column in ("pin", "to_pin")]
        pins = tuple(pin for pin in given if pin is not None)
        wanted = 2 if kind in PAIR_KINDS else 1
        if kind not in PLACE_KINDS or len(pins) in (0, wanted):
            return pins if len(pins) == wanted else ()
        if wanted == 1:
            self._add("bad-value", row, "to_pin: this reading has one pin", "leave it empty")
        elif row.cells.get("pin", "") == "" or row.cells.get("to_pin", "") == "":
            remedy = "give pin and to_pin, or neither"
            self._add("bad-value", row, "one pin of two is given", remedy)
        return ()

    def _length(self, row: CsvRow, column: str, units: Units) -> float | None:
        length = self.length_mm(row, _about(row), column, self.table, units)
        if length is not None and length < 0:
            message = f"{column}: {row.cells[column]} is below 0"
            self._add("bad-value", row, message, "give a length")
            return None
        return length

    def _value(
        self, row: CsvRow, kind: CheckKind | None, units: Units
    ) -> tuple[float | None, bool | None, float | None]:
        """The reading as a length, as yes or no, or as turns."""
        if kind not in TRIED_KINDS:
            return self._length(row, "reading", units), None, None
        words, has_turns = row.cells["reading"].lower(), kind in ("thread go", "thread no-go")
        if words in _YES or words in _NO:
            return None, words in _YES, None
        turns = _TURNS.fullmatch(words)
        if turns is not None and has_turns:
            return None, None, float(turns[1].replace(",", "."))
        wanted = "yes, no or the turns that it goes" if has_turns else "yes or no"
        message = f"reading: {shown(row.cells['reading'])} is no answer"
        self._add("bad-value", row, message, f"write {wanted}")
        return None, None, None

    def _once(self, row: CsvRow, kind: CheckKind, hole: str, to: str) -> None:
        """The same two ends read twice are one reading too many: nobody knows which holds."""
        ends = frozenset({hole, to}) if kind in PAIR_KINDS else (hole, to)
        line = self.seen.setdefault((kind, ends), row.line)
        if line != row.line:
            message = f"{kind} is there a second time; line {line} has it"
            remedy = "give each reading one line: the mean, if it was read twice"
            self._add("duplicate-name", row, message, remedy)


def _about(row: CsvRow) -> str:
    return row.cells.get("hole") or row.cells.get("from") or ""
