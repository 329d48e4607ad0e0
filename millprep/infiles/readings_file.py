"""A file of readings (CSV): an inspection sheet that was filled in, or a short list of one's own.

    what,hole,to,pin,to_pin,unit,reading        from,to,how,reading
    over pins,cover screw 1,...,35.21           cover screw 1,cover screw 3,over,35.21

A row without a reading says nothing. Every fault has its line. Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from millprep.base.findings import WordError
from millprep.base.units import Units, shown
from millprep.infiles.csv_file import CsvFaults, CsvFile, CsvRow, read_csv
from millprep.infiles.wording import nearest
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
    "check", "setup", "face", "pin", "to_pin", "expected", "least", "greatest", "unit",
    "instrument", "may_be_off", "mean", "part_mark", "note",
)  # fmt: skip
LIST_NEEDED = ("from", "to", "reading")
LIST_OPTIONAL = ("how", "pin", "to_pin", "unit", "may_be_off", "note")
_HOW: dict[str, CheckKind] = {
    "over": "over pins", "between": "between pins", "edge": "edge to pin", "rim": "rim to pin",
    "edge wall": "edge to hole", "rim wall": "rim to hole",
}  # fmt: skip
_YES = ("yes", "y", "goes", "ok", "true")
_NO = ("no", "n", "stops", "false")
_UNITS: dict[str, Units] = {"mm": "mm", "inch": "inch", "in": "inch"}
_TURNS = re.compile(r"(\d{1,3}([.,]\d{1,3})?)\s*(turns?)?")
_TELLING = frozenset({"reading", "what", "how", "from"})  # no other file has these columns
_MANY_NAMES = 8


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
    said = (
        line
        for line in start.splitlines()
        if line.strip(" \t;,") and not line.lstrip(' \t"').startswith("#")
    )
    cells = re.split(r"[,;\t]", next(said, "").lower().replace('"', ""))
    return frozenset(" ".join(cell.split()) for cell in cells)


def read_readings(path: str | Path, part: Part) -> Readings:
    """The readings of a file. Raises MillprepError with every fault of it, line by line."""
    reader = _Reader(part, CsvFaults(str(path)))
    table = reader.table(path)
    readings = [one for row in table.rows if (one := reader.reading(row, table)) is not None]
    reader.faults.raise_if_any()
    marks = dict.fromkeys(row.cells.get("part_mark", "") for row in table.rows)
    return Readings(str(path), tuple(readings), reader.empty, tuple(mark for mark in marks if mark))


@dataclass
class _Reader:
    part: Part
    faults: CsvFaults
    empty: int = 0
    seen: dict[object, int] = field(default_factory=dict)

    def table(self, path: str | Path) -> CsvFile:
        is_list = bool(_columns(path) & {"from", "how"})
        needed, optional = (
            (LIST_NEEDED, LIST_OPTIONAL) if is_list else (SHEET_NEEDED, SHEET_OPTIONAL)
        )
        return read_csv(path, needed, optional, self.faults)

    def _add(self, kind: str, row: CsvRow, message: str, remedy: str = "") -> None:
        about = row.cells.get("hole") or row.cells.get("from") or ""
        text = f"{about}: {message}" if about else message
        self.faults.add(kind, row.line, text, remedy, about or None)

    def reading(self, row: CsvRow, table: CsvFile) -> Reading | None:
        """A row's reading, or None where it has none or has faults, which are noted."""
        if not row.cells["reading"]:
            self.empty += 1
            return None
        before = len(self.faults.findings)
        kind = self._kind(row)
        one, other = self._ends(row, kind)
        hole = self._hole(row, one)
        to = self._to(row, kind, other) if kind is not None else ""
        units = self._units(row)
        pins = self._pins(row, table, kind, units)
        off = tuple(self._lengths(row, table, ("may_be_off",), units))
        value, answer, turns = self._value(row, table, kind, units)
        if len(self.faults.findings) > before or kind is None or hole is None or to is None:
            return None
        self._once(row, kind, hole, to)
        return Reading(
            row.line, kind, hole, to, value, answer, turns, pins, off[0] if off else None
        )

    def _kind(self, row: CsvRow) -> CheckKind | None:
        known: dict[str, CheckKind] = {each: each for each in CHECK_KINDS}
        column = "what"
        if column not in row.cells:
            known, column = _HOW, "how"
        given = row.cells.get(column, "").lower() or ("over" if known is _HOW else "")
        kind = known.get(given)
        if kind is None:
            likely = nearest(given, known)
            hint = f'did you mean "{likely}"? ' if likely else ""
            self._add(
                "unknown-word",
                row,
                f"{column}: {shown(given)} is no kind of reading",
                f"{hint}accepted: {', '.join(known)}",
            )
        return kind

    def _ends(self, row: CsvRow, kind: CheckKind | None) -> tuple[str, str]:
        """The hole and what it is measured to; from an edge to a hole is the same reading."""
        one, other = row.cells.get("hole", row.cells.get("from", "")), row.cells["to"]
        is_edge_first = one.lower() in FACES and other.lower() not in FACES
        if kind in EDGE_KINDS and is_edge_first and self._known(other) is not None:
            return other, one
        return one, other

    def _known(self, given: str) -> str | None:
        names = [hole.name for hole in self.part.holes]
        plain = {name.casefold(): name for name in names}
        return given if given in names else plain.get(given.casefold())

    def _hole(self, row: CsvRow, given: str) -> str | None:
        name = self._known(given)
        if name is not None:
            return name
        names = [hole.name for hole in self.part.holes]
        if not given:
            self._add("missing-key", row, "no hole is named", "write the hole's name")
            return None
        likely = nearest(given, names)
        hint = f'did you mean "{likely}"? ' if likely else ""
        listed = ", ".join(names[:_MANY_NAMES]) + (", ..." if len(names) > _MANY_NAMES else "")
        message = f"the part has no hole {shown(given)}"
        self.faults.add("unknown-word", row.line, message, f"{hint}its holes: {listed}")
        return None

    def _to(self, row: CsvRow, kind: CheckKind, given: str) -> str | None:
        """The other hole, the face in small letters, or whatever else tells readings apart."""
        if kind in PAIR_KINDS:
            return self._hole(row, given)
        if kind in RIM_KINDS:
            return ""
        if kind not in EDGE_KINDS:
            return given
        face = given.lower()
        if face in FACES:
            return face
        self._add(
            "unknown-word", row, f"to: {shown(given)} is no face", f"accepted: {', '.join(FACES)}"
        )
        return None

    def _units(self, row: CsvRow) -> Units:
        given = row.cells.get("unit", "").lower()
        if given and given not in _UNITS:
            self._add("unknown-word", row, f"unit: {shown(given)} is no unit", "accepted: mm, inch")
        return _UNITS.get(given, self.part.units)

    def _pins(
        self, row: CsvRow, table: CsvFile, kind: CheckKind | None, units: Units
    ) -> tuple[float, ...]:
        """All that stand in the reading, or none; half of them would be no help."""
        pins = tuple(self._lengths(row, table, ("pin", "to_pin"), units))
        wanted = 2 if kind in PAIR_KINDS else 1
        if kind not in PLACE_KINDS or len(pins) in (0, wanted):
            return pins if len(pins) == wanted else ()
        if wanted == 1:
            self._add("bad-value", row, "to_pin: this reading has one pin", "leave it empty")
        elif row.cells.get("pin", "") == "" or row.cells.get("to_pin", "") == "":
            self._add(
                "bad-value", row, "one pin of two is given", "give pin and to_pin, or neither"
            )
        return ()

    def _lengths(
        self, row: CsvRow, table: CsvFile, columns: tuple[str, ...], units: Units
    ) -> Iterator[float]:
        for column in columns:
            words = row.cells.get(column, "")
            if not words:
                continue
            try:
                length = table.length_mm(words, units)
            except WordError as error:
                self._add("bad-value", row, f"{column}: {error.message}", error.remedy)
                continue
            if length < 0:
                self._add("bad-value", row, f"{column}: {words} is below 0", "give a length")
                continue
            yield length

    def _value(
        self, row: CsvRow, table: CsvFile, kind: CheckKind | None, units: Units
    ) -> tuple[float | None, bool | None, float | None]:
        """The reading as a length, as yes or no, or as turns."""
        words = row.cells["reading"]
        if kind in TRIED_KINDS:
            if words.lower() in _YES or words.lower() in _NO:
                return None, words.lower() in _YES, None
            turns = _TURNS.fullmatch(words.lower())
            if turns is not None and kind in ("thread go", "thread no-go"):
                return None, None, float(turns[1].replace(",", "."))
            accepted = "yes or no"
            if kind in ("thread go", "thread no-go"):
                accepted = "yes, no or the turns that it goes"
            self._add(
                "bad-value", row, f"reading: {shown(words)} is no answer", f"write {accepted}"
            )
            return None, None, None
        lengths = list(self._lengths(row, table, ("reading",), units))
        return (lengths[0] if lengths else None), None, None

    def _once(self, row: CsvRow, kind: CheckKind, hole: str, to: str) -> None:
        """The same two ends read twice are one reading too many: nobody knows which holds."""
        ends = frozenset({hole, to}) if kind in PAIR_KINDS else (hole, to)
        key = (kind, ends)
        if key in self.seen:
            self._add(
                "duplicate-name",
                row,
                f"{kind} stands a second time; line {self.seen[key]} has it",
                "give each reading one line: the mean, if it was read twice",
            )
        self.seen.setdefault(key, row.line)
