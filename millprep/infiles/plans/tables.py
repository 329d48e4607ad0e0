"""A table of holes as it was typed or pasted from a plan: a line a hole, columns by name.

Columns stand between semicolons, tabs, commas or blanks. A table without names over its columns
is not guessed at: which of two figures is x no figure says.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from millprep.base.bounds import MOST_COLUMNS, MOST_ROWS
from millprep.base.findings import Finding, stopped
from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.infiles.csv_file import SEPARATORS, UNIT_WORDS, CsvRow, cells_of, row_of, said_lines
from millprep.infiles.file_bytes import unreadable
from millprep.infiles.plans.record import Near, Plan, refuse_little
from millprep.infiles.plans.table_cells import Cells, Read
from millprep.infiles.told import Told

_MOST_TITLES = 20
"""Lines that may stand over the names of the columns."""
_NAMES = {
    "x": ("x", "x pos", "x position", "x coordinate", "x coord", "x loc", "x location"),
    "y": ("y", "y pos", "y position", "y coordinate", "y coord", "y loc", "y location"),
    "drill": ("diameter", "dia", "dia.", "ø", "⌀", "d", "drill"),
    "size": ("size", "hole size"),
    "tap": ("thread", "tap"),
    "ream": ("ream", "reamed"),
    "clear": ("clear", "clearance"),
    "bore": ("bore",),
    "depth": ("depth", "deep"),
    "name": ("name", "hole", "hole no", "hole no.", "label", "mark", "tag", "id", "no", "no."),
    "unit": ("unit", "units"),
    "note": ("note", "notes", "remark", "remarks"),
}
_COLUMNS = {word: column for column, words in _NAMES.items() for word in words}
_UNIT_AFTER = re.compile(
    r"""(?P<name>.*?)\s*(?:[\s_,]|(?P<open>[\[(]))\s*
        (?P<unit>mm|millimet(?:re|er)s?|inch(?:es)?|in\.?|["″])\s*[\])]?$""",
    re.VERBOSE,
)
_NO_UNITS = "nothing says whether the figures are mm or inches"
_BARE_NUMBER = re.compile(r"[+-]?\d+")
_BARE_FRACTION = re.compile(r"\d+/\d+\S*")


@frozen
class _Header:
    """The line with the names: columns by ours, "" for one that is not understood.

    units : that a column names, by column
    """

    line: int
    separator: str
    columns: tuple[str, ...]
    units: dict[str, Units]
    strange: tuple[str, ...]


def read_table(text: str, path: str, units: Units | None, names: str | None = None) -> Plan:
    """The holes of a table. units : of figures without any; names : of columns, where it has none

    Raises MillprepError where the columns, the units, or most of the lines cannot be known.
    """
    lines = list(said_lines(text))
    if max(text.count("\n"), text.count("\r")) > MOST_ROWS:
        raise unreadable(path, "holds too many lines", f"at most {MOST_ROWS:,} in one file")
    if not lines:
        raise unreadable(path, "holds no lines", "its first line is x;y;diameter")
    faults = Told(path)
    header, below = _found_header(lines, path, names, faults)
    usual = _units(header, units, path)
    rows = [(line, _row(line, words, header, faults)) for line, words in below]
    cells = Cells(header.units, usual, [row for _, row in rows if row], header.separator, faults)
    read = [one for _, row in rows if row is not None and (one := cells.hole(row)) is not None]
    read = list(_once(read, faults))
    if cells.lacks_units:
        remedy = "say --units mm or --units inch, or name the column x mm"
        raise stopped("missing-key", _NO_UNITS, remedy, path, line=header.line or None)
    refuse_little(path, faults, len(read), len(below), "lines")
    chosen: Units = usual or _commonest(read)
    return Plan(
        path=path,
        units=chosen,
        holes=tuple(one.hole(chosen) for one in read),
        faults=faults,
        total=len(below),
        noun="lines",
        read=len(read),
        taken=tuple(cells.taken),
    )


def _commonest(read: Sequence[Read]) -> Units:
    inches = sum(one.units == "inch" for one in read)
    return "inch" if 2 * inches > len(read) else "mm"


def _found_header(
    lines: Sequence[tuple[int, str]], path: str, names: str | None, faults: Told
) -> tuple[_Header, Sequence[tuple[int, str]]]:
    """The names of the columns and the lines below them; what stands above is told."""
    if names is not None:
        header = _header(0, names, path)
        if header is None:
            what = f"--columns {shown(names)} names no x and y"
            raise stopped("unknown-word", what, "as: --columns name,x,y,diameter")
        first = lines[0][1]
        mark = next((mark for mark in SEPARATORS if mark in first), " ")
        blanks = "\t\t" if mark == " " and re.search(r"\S {2,}\S", first) else mark
        return _Header(0, blanks, header.columns, header.units, header.strange), lines
    for place, (line, words) in enumerate(lines[:_MOST_TITLES]):
        header = _header(line, words, path)
        if header is not None:
            for title_line, title in lines[:place]:
                _tell(faults, title_line, f"{shown(title.strip())} stands over the table")
            for column in header.strange:
                _tell(faults, line, f"the column {shown(column)} is not read", _KNOWN)
            return header, lines[place + 1 :]
    line, words = lines[0]
    what = f"no line names the columns x and y; the first is {shown(words.strip())}"
    remedy = "write their names over them, as: name;x;y;diameter;depth; or say them with "
    remedy += "--columns name,x,y,diameter,depth"
    raise stopped("missing-key", what, remedy, path, line=line)


_KNOWN = "read: " + ", ".join(
    "diameter" if name == "drill" else "thread" if name == "tap" else name for name in _NAMES
)


def _tell(faults: Told, line: int | None, message: str, remedy: str = "") -> None:
    faults.tell(Finding("warning", "not-understood", message, remedy, faults.path, line))


def _header(line: int, words: str, path: str) -> _Header | None:
    """The line as names of columns, or None where it has no x and y.

    Raises MillprepError for a column that is there twice.
    """
    separator = next((mark for mark in SEPARATORS if mark in words), " ")
    if words.count(separator) > MOST_COLUMNS:
        return None
    if separator == " " and re.search(r"\S {2,}\S", words):
        separator = "\t\t"  # two blanks or more
    cells = cells_of(_parted(words, separator), _mark(separator), line, Told(path))
    columns, units, strange = [], {}, []
    for cell in cells:
        name, unit = _column(cell)
        columns.append(name)
        if unit is not None:
            units[name] = unit
        if cell and not name:
            strange.append(cell)
    if not {"x", "y"} <= set(columns):
        return None
    twice = next((name for name in columns if name and columns.count(name) > 1), None)
    if twice is not None:
        given = ", ".join(cell for cell, name in zip(cells, columns, strict=True) if name == twice)
        what = f"two columns of one meaning: {given}"
        raise stopped("bad-row", what, "leave one", path, line=line)
    return _Header(line, separator, tuple(columns), units, tuple(strange))


def _column(cell: str) -> tuple[str, Units | None]:
    """Our name for a column, or "", and the unit that it names."""
    words = cell.casefold().strip()
    if words in _COLUMNS:
        return _COLUMNS[words], None
    found = _UNIT_AFTER.fullmatch(words)
    name = _COLUMNS.get(found["name"], "") if found is not None else ""
    if not name or found is None:
        return "", None
    return name, UNIT_WORDS[found["unit"].rstrip(".").replace("″", '"').replace("meter", "metre")]


def _mark(separator: str) -> str:
    """What stands between the cells once a line is parted."""
    return separator if separator in SEPARATORS else "\t"


def _parted(words: str, separator: str) -> str:
    """A line whose columns stand between blanks, with tabs between them."""
    if separator in SEPARATORS:
        return words
    return re.sub(r"\s{2,}" if separator == "\t\t" else r"\s+", "\t", words.strip())


def _row(line: int, words: str, header: _Header, faults: Told) -> CsvRow | None:
    """A line by its columns; None with what is wrong told."""
    own = Told(faults.path)
    names = tuple(
        name or f"column {index}" for index, name in enumerate(header.columns, 1)
    )  # what stands in one that is not read is told once, at the header
    text = _parted(words, header.separator)
    row = row_of(line, text, _mark(header.separator), names, own)
    if header.separator == " " and _is_torn(text.split("\t")):
        said = "a whole number and a fraction beside each other may be one figure"
        _tell(faults, line, said, "put semicolons between the columns")
        return None
    for one in own.findings:
        _tell(faults, line, one.message, one.remedy)
    return row


def _is_torn(cells: Sequence[str]) -> bool:
    """Whether 1 1/8 may stand in two cells."""
    return any(
        _BARE_NUMBER.fullmatch(cells[i]) and _BARE_FRACTION.fullmatch(cells[i + 1])
        for i in range(len(cells) - 1)
    )


def _units(header: _Header, given: Units | None, path: str) -> Units | None:
    """Of plain figures: those that the header names, if they agree, or those that were given.

    Raises MillprepError where they contradict each other.
    """
    named = set(header.units.values())
    if given is not None and named - {given}:
        other = next(iter(named - {given}))
        what = f"the header says {other}, and --units {given} is given"
        remedy = "leave --units out, or mend the header"
        raise stopped("contradiction", what, remedy, path, line=header.line or None)
    return given or (next(iter(named)) if len(named) == 1 else None)


def _once(read: Sequence[Read], faults: Told) -> Iterator[Read]:
    """Each place once: what stands at one that is taken is told."""
    there: Near[Read] = Near()
    for one in read:
        other = there.first(one.place)
        if other is None:
            there.add(one.place, one)
            yield one
        elif one.keys("mm") == other.keys("mm"):
            _tell(faults, one.row.line, f"the same hole as in line {other.row.line}: read once")
        else:
            said = f"line {other.row.line} has another hole at this place"
            remedy = "write one line: for a recess, see counterbore in the part file"
            _tell(faults, one.row.line, said, remedy)
