"""The cells of a table of holes: lengths, sizes and threads, as a part file writes them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from millprep.base.bounds import LONGEST_NAME, LONGEST_TEXT
from millprep.base.findings import Finding, WordError
from millprep.base.records import anew, frozen
from millprep.base.units import Units, shown
from millprep.infiles.csv_file import DECIMAL_COMMA, UNIT_WORDS, CsvRow, figure_mm
from millprep.infiles.plans.record import Place, PlanHole, exact_figure, quoted
from millprep.infiles.told import Told
from millprep.sizes import read_clear, read_drill, read_thread

KIND_COLUMNS = ("drill", "size", "tap", "ream", "clear", "bore")
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?")
_SIGN_OF_DIAMETER = re.compile(r"^(?:ø|⌀|dia(?:meter|\.)?)\s*(?=[\d.,])|\s*(?:ø|⌀|dia\.?)$", re.I)
_SIZE_AND_DEPTH = re.compile(
    r"""(?P<size>.+?)\s+
        (?: (?:thro(?:ugh)?|thru)(?:\s+all)?
          | [x×]\s*(?P<depth>[\d.,/ ]+?\s*(?:mm|in|["″])?)\s*(?:deep|dp\.?))""",
    re.VERBOSE | re.IGNORECASE,
)
_THROUGH = ("through", "thro", "thru", "thro'", "through all", "thru all")
_KIND_BESIDE = re.compile(r"\b(clear|ream)(?:ance|ed|er)?\b", re.I)
_AGREES_MM = 0.01


@frozen
class Value:
    """A length of the table: what it is [mm], as it was written, and the unit of a plain figure.

    units : None where the words have a unit of their own, or nothing says it
    """

    mm: Fraction
    words: str
    units: Units | None = None
    is_plain: bool = True

    def toml(self, units: Units) -> str:
        """As the file has it: a plain figure in the file's units, else words with their unit."""
        if not self.is_plain:
            return quoted(self.words)
        if self.units in (None, units):
            return exact_figure(self.mm, units)
        return quoted(f"{self.words} {_short(self.units)}")


@frozen
class Read:
    """A line that was understood, until the file's units are known."""

    row: CsvRow
    units: Units | None
    x: Value
    y: Value
    kind: tuple[str, Value | str] | None = None
    depth: Value | str | None = None
    diameter_mm: float = 0.0
    name: str = ""
    note: str = ""
    asks: tuple[str, ...] = anew(factory=tuple)

    @property
    def place(self) -> Place:
        return float(self.x.mm), float(self.y.mm)

    def keys(self, units: Units) -> tuple[tuple[str, str], ...]:
        """What the hole is, as TOML."""
        return tuple(self._keys(units))

    def _keys(self, units: Units) -> Iterator[tuple[str, str]]:
        for key, value in (self.kind or ("", ""), ("depth", self.depth or "")):
            if value:
                yield key, quoted(value) if isinstance(value, str) else value.toml(units)
        if self.note:
            yield "note", quoted(self.note)

    def hole(self, units: Units) -> PlanHole:
        x, y = self.place
        return PlanHole(
            x,
            y,
            f"line {self.row.line}",
            self.keys(units),
            self.asks,
            self.name,
            (self.x.toml(units), self.y.toml(units)),
            self.diameter_mm,
            self.diameter_mm,
        )


class Cells:
    """Reads the rows of one table; what cannot be read of a row is told, and the row left out.

    named : units that columns name; usual : of plain figures
    lacks_units : a plain figure was met whose unit nothing says
    """

    def __init__(
        self,
        named: Mapping[str, Units],
        usual: Units | None,
        rows: Sequence[CsvRow],
        separator: str,
        faults: Told,
    ) -> None:
        self.named, self.usual, self.faults = named, usual, faults
        self.lacks_units = False
        self.taken: list[str] = []
        self._has_size = any(column in rows[0].cells for column in KIND_COLUMNS) if rows else True
        self._commas = separator != ","
        figures = [row.cells[axis] for row in rows for axis in ("x", "y")]
        has_points = any(re.search(r"\d\.\d", figure) for figure in figures)
        self._is_mixed = has_points and any(re.search(r"\d,\d", figure) for figure in figures)

    def hole(self, row: CsvRow) -> Read | None:
        """The hole of a row, or None with the reason told."""
        try:
            return self._hole(_with_depth(row))
        except WordError as error:
            self.faults.tell(
                Finding(
                    "warning",
                    "not-understood",
                    error.message,
                    error.remedy,
                    self.faults.path,
                    row.line,
                )
            )
            return None

    def _hole(self, row: CsvRow) -> Read:
        units = self._units_of(row)
        x, y = (self._length(row, axis, units) for axis in ("x", "y"))
        if x is None or y is None:
            raise WordError("its place is not given", "write x and y")
        kind, diameter_mm = self._kind(row, units)
        asks = [] if kind is not None else ["drill =         # FILL IN: the plan gives no size"]
        depth = self._depth(row, units)
        name = row.cells.get("name", "")
        if len(name) > LONGEST_NAME:
            raise WordError(
                f"the name {shown(name)} is too long", f"at most {LONGEST_NAME} letters"
            )
        note = row.cells.get("note", "")
        if len(note) > LONGEST_TEXT:
            raise WordError(f"the note {shown(note)} is long", f"at most {LONGEST_TEXT} letters")
        return Read(row, units, x, y, kind, depth, diameter_mm, name, note, tuple(asks))

    def _units_of(self, row: CsvRow) -> Units | None:
        """Of a row's plain figures, where the row says so."""
        given = row.cells.get("unit", "")
        if not given:
            return self.usual
        units = UNIT_WORDS.get(given.lower())
        if units is None:
            raise WordError(f"{shown(given)} is no unit", "accepted: mm, inch")
        if set(self.named.values()) - {units}:
            raise WordError(f"its unit is {units}, and the header says another", "mend one of them")
        return units

    def _length(self, row: CsvRow, column: str, units: Units | None) -> Value | None:
        words = row.cells.get(column, "")
        if not words:
            return None
        if self._is_mixed and re.search(r"\d,\d", words):
            raise WordError(
                f"{column}: {shown(words)} has a comma, and other figures a decimal point",
                "write all of them with a point",
            )
        units = self.named.get(column) or units
        try:
            mm = figure_mm(words, units or "mm", self._commas)
        except WordError as error:
            raise WordError(f"{column}: {error.message}", error.remedy) from None
        plain = DECIMAL_COMMA.sub(r"\1.\2", words) if self._commas else words
        is_plain = _PLAIN.fullmatch(plain.replace("−", "-")) is not None
        if units is None and figure_mm(words, "inch", self._commas) != mm:
            self.lacks_units = True
        if is_plain or _says_unit(plain):
            return Value(mm, plain, units, is_plain)
        return Value(mm, f"{plain} {_short(units)}", is_plain=False)

    def _kind(
        self, row: CsvRow, units: Units | None
    ) -> tuple[tuple[str, Value | str] | None, float]:
        """What the hole is: its key and value, and its diameter [mm]."""
        given = {key: row.cells[key] for key in KIND_COLUMNS if row.cells.get(key)}
        if not given:
            return None, 0.0
        if "size" in given:
            words = given.pop("size")
            given.setdefault("tap" if _is_thread(words) else "drill", words)
        if set(given) == {"drill", "tap"}:
            return self._tapped(row, given, units)
        if len(given) > 1:
            raise WordError(f"{' and '.join(given)} are given", "give one of them")
        ((key, words),) = given.items()
        if key == "tap":
            return self._tapped(row, given, units)
        if key == "clear":
            return (key, words), read_clear(words, units or "mm")[1]
        value, diameter_mm = self._size(row, key, words, units)
        return (key, value), diameter_mm

    def _tapped(
        self, row: CsvRow, given: Mapping[str, str], units: Units | None
    ) -> tuple[tuple[str, Value | str], float]:
        """A thread, and a diameter beside it that is the thread's own or its drill's."""
        thread = read_thread(given["tap"])
        if "drill" in given:
            _, diameter_mm = self._size(row, "drill", given["drill"], units)
            known = (thread.major_mm, thread.tap_drill_mm)
            if min(abs(diameter_mm - one) for one in known) > _AGREES_MM:
                raise WordError(
                    f"{shown(given['tap'])} and a diameter of {shown(given['drill'])}",
                    f"{thread.designation} is {thread.major_mm:g} mm across, drilled "
                    f"{thread.tap_drill}: leave one of them out",
                )
        return ("tap", given["tap"]), thread.major_mm

    def _size(
        self, row: CsvRow, key: str, words: str, units: Units | None
    ) -> tuple[Value | str, float]:
        """A drill's size, with or without the sign of a diameter."""
        column = key if row.cells.get(key) else "size"
        bare = _SIGN_OF_DIAMETER.sub("", words)
        if (kind := _KIND_BESIDE.search(words)) is not None:
            remedy = f'put the size alone into a column "{kind[1].lower()}"'
            raise WordError(
                f"{shown(words)} is more than a size, and stands under {column}", remedy
            )
        if re.match(r"[+-]?[\d.]", bare):
            value = self._length(CsvRow(row.line, {column: bare}), column, units)
            assert value is not None
            if value.mm <= 0:
                raise WordError(f"{shown(words)} is no diameter: it is not above 0", "")
            read_drill(f"{float(value.mm):.6f} mm", "mm")  # refuses what no drill is
            return value, float(value.mm)
        if not row.cells.get("size") and _is_thread(words):
            remedy = 'put it into a column "thread", or "clear" for the hole of a screw'
            raise WordError(f"{shown(words)} is a thread, and stands under {column}", remedy)
        return words, read_drill(words, units or "mm").diameter_mm

    def _depth(self, row: CsvRow, units: Units | None) -> Value | str | None:
        words = row.cells.get("depth", "")
        if words.lower() in _THROUGH:
            return "through"
        depth = self._length(row, "depth", units)
        if depth is not None and depth.mm <= 0:
            raise WordError(f"depth: {shown(words)} is not above 0", "depths count into the part")
        return depth


def _with_depth(row: CsvRow) -> CsvRow:
    """The row with the depth that stands behind its size, "#7 thru", "M4 x 8 deep", by itself."""
    for key in KIND_COLUMNS:
        found = _SIZE_AND_DEPTH.fullmatch(row.cells.get(key, ""))
        if found is not None:
            if row.cells.get("depth"):
                raise WordError("its depth stands in two cells", "leave one of them")
            depth = found["depth"] or "through"
            return CsvRow(row.line, {**row.cells, key: found["size"], "depth": depth})
    return row


def _short(units: Units | None) -> str:
    return "in" if units == "inch" else "mm"


def _says_unit(words: str) -> bool:
    return re.search(r"[a-z\"″']\.?$", words, re.I) is not None


def _is_thread(words: str) -> bool:
    try:
        read_drill(words, "inch")
    except WordError:
        try:
            read_thread(words)
        except WordError:
            return False
        return True
    return False
