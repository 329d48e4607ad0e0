"""The listing as csv and as json, read back.

Both come down to cells of text as printed, so that one body reads a row of either. Imports layers
0 to 2.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import NoReturn

from millprep.base.plain_text import cell_text
from millprep.base.records import replace
from millprep.base.units import Units, shown
from millprep.reading.pages.printed import (
    FACE_WORDS,
    OPERATIONS,
    Look,
    PrintedRow,
    PrintedSetup,
    PrintedTool,
    Said,
    Setting,
    UnreadableSheet,
    length_mm,
    tool_of,
)
from millprep.reading.pages.setting import read_setting
from millprep.reading.pages.words import (
    read_lies,
    read_look,
    read_measured,
    read_places,
    read_stock,
    read_zero,
)

_FACES = tuple(FACE_WORDS.lower().split("|"))
_SETUP_COLUMNS = ("setup", "face", "towards_you", "zero_x", "zero_y", "units")
_EXACT = ("x_exact_mm", "y_exact_mm", "z_exact_mm")
_TOOL_TOLERANCE = 0.0005  # tool lines round where the columns do not

Cells = Mapping[str, str]


class _Number(str):
    """A number of a json text, as written there."""

    __slots__ = ()


def read_csv(text: str) -> tuple[PrintedSetup, ...]:
    """The setups of a listing in csv, one row a step. Raises UnreadableSheet with the line."""
    runs = groupby(csv_rows(text), lambda row: tuple(row[1][name] for name in _SETUP_COLUMNS))
    setups = tuple(_csv_setup(list(rows)) for _, rows in runs)
    if not setups:
        raise UnreadableSheet("the sheet has no rows", 1)
    return setups


def csv_rows(text: str, needed: tuple[str, ...] = _SETUP_COLUMNS) -> Iterator[tuple[int, Cells]]:
    """Every row with its line. Raises UnreadableSheet where a needed column is missing."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        columns = next(reader, [])
        if not {*needed} <= {*columns} or len({*columns}) != len(columns):
            raise UnreadableSheet(f"columns {shown(','.join(columns))}", 1)
        for cells in reader:
            if len(cells) != len(columns):
                what = f"{len(cells)} cells under {len(columns)} columns"
                raise UnreadableSheet(what, reader.line_num)
            yield reader.line_num, dict(zip(columns, map(cell_text, cells), strict=True))
    except csv.Error as fault:
        raise UnreadableSheet(f"not csv: {fault}", reader.line_num) from None


def _csv_setup(rows: list[tuple[int, Cells]]) -> PrintedSetup:
    line, cells = rows[0]
    read: list[PrintedRow] = []
    try:
        number, units = whole_of(cells, "setup"), units_cell(cells)
        lay = lay_of(*(cells[name] for name in ("face", "towards_you", "zero_x", "zero_y")))
        for row_line, row in rows:
            line = row_line
            read.append(_row(row, units, row_line))
    except UnreadableSheet as fault:
        raise UnreadableSheet(fault.message, line) from None
    setting = Setting(skew_deg=csv_skew(rows))
    return PrintedSetup(number, *lay, units, tuple(read), line=rows[0][0], setting=setting)


def csv_skew(rows: Sequence[tuple[int, Cells]]) -> float:
    """The angle by which a setup's rows say that the part lies askew. Raises UnreadableSheet."""
    skews = {real_of(row, "skew_deg") or 0.0 for _, row in rows}
    if len(skews) > 1:
        raise UnreadableSheet("the setup lies askew by more than one angle", rows[0][0])
    return skews.pop()


def read_json(text: str) -> tuple[PrintedSetup, ...]:
    """The setups of a listing in json. Raises UnreadableSheet, naming setup and step."""
    whole = json_object(text)
    units = units_cell(cells_of(whole))
    heading = cells_of(whole)
    setups = whole.get("setups")
    if not isinstance(setups, list) or not setups:
        raise UnreadableSheet("the sheet has no setups")
    return tuple(_json_setup(object_of(setup, "a setup"), heading, units) for setup in setups)


def json_object(text: str) -> Mapping[str, object]:
    """The object that a json text holds, numbers as written there. Raises UnreadableSheet."""
    try:
        whole = json.loads(
            text, parse_float=_Number, parse_int=_Number, parse_constant=_refused_constant
        )
    except (ValueError, RecursionError) as fault:
        raise UnreadableSheet(f"not json: {fault}") from None
    return object_of(whole, "the sheet")


def _refused_constant(word: str) -> NoReturn:
    raise UnreadableSheet(f"{word} is not a figure")


def _json_setup(setup: Mapping[str, object], heading: Cells, units: Units) -> PrintedSetup:
    cells = cells_of(setup)
    number = whole_of(cells, "number")
    where = f"setup {number}"
    zero = cells_of(object_of(setup.get("zero"), f"{where}, zero"))
    lay = lay_of(
        *(
            text_of(*one)
            for one in ((cells, "face"), (cells, "towards_you"), (zero, "x"), (zero, "y"))
        )
    )
    if text_of(zero, "z") != lay[0]:
        raise UnreadableSheet(f"{where} has zero z on {shown(zero['z'])}, which is not up")
    lies = read_lies(text_of(cells, "lies"))
    finding = read_zero(" ".join(strings_of(setup, "zeroing")), units)
    if (lies.face, lies.towards_you, finding.x, finding.y) != lay:
        raise UnreadableSheet(f"{where} lies one way by its fields, another by its words")
    steps = setup.get("steps")
    if not isinstance(steps, list):
        raise UnreadableSheet(f"{where} has no steps")
    rows: list[PrintedRow] = []
    for index, step in enumerate(steps, start=1):
        try:
            rows.append(_row(cells_of(object_of(step, "a step")), units, None))
        except UnreadableSheet as fault:
            raise UnreadableSheet(f"{where}, step {index}: {fault.message}") from None
    return PrintedSetup(
        number,
        *lay,
        units,
        tuple(rows),
        away=lies.away,
        left_hand=lies.left_hand,
        finder_readings=finding.readings,
        check_move=finding.check_move,
        places=tuple(
            place for entry in strings_of(setup, "places") for place in read_places(entry, units)
        ),
        part_name=text_of(heading, "part"),
        part_mark=text_of(heading, "part_mark"),
        looks=tuple(json_looks(setup, units)),
        said=tuple(json_said(setup, units)),
        setting=_json_setting(setup, finding.setting, units),
        stock=read_stock(text_of(heading, "stock"), units),
    )


def _json_setting(setup: Mapping[str, object], zero: Setting, units: Units) -> Setting:
    cells = cells_of(setup)
    texts = {name: " ".join(strings_of(setup, name)) for name in ("hold", "head", "recover")}
    texts |= {name: text_of(cells, name) for name in ("turn", "skew", "hand")}
    setting = read_setting(texts, zero, units)
    check_json_skew(cells, setting)
    return setting


def check_json_skew(cells: Cells, setting: Setting) -> None:
    """The sentence and the field name one angle. Raises UnreadableSheet."""
    if (real_of(cells, "skew_deg") or 0.0) != setting.skew_deg:
        raise UnreadableSheet(
            f"skewed by {setting.skew_deg:g} in words, {cells['skew_deg']} by its field"
        )


def json_looks(setup: Mapping[str, object], units: Units) -> Iterator[Look]:
    """The LOOK sentences; a json listing does not say after which step they stand."""
    for sentence in strings_of(setup, "looks"):
        look = read_look(sentence, units, 0, 0)
        yield replace(look, listed=look.count)


def json_said(setup: Mapping[str, object], units: Units) -> Iterator[Said]:
    """What to measure at the first hole, in a listing by hole."""
    for sentence in strings_of(setup, "measure"):
        measured = read_measured(sentence, units)
        if measured is None:
            raise UnreadableSheet(f"unknown sentence {shown(sentence)}")
        yield Said((), (), None, (0, 0), 0, measured)


def object_of(value: object, what: str) -> Mapping[str, object]:
    if not isinstance(value, dict):
        raise UnreadableSheet(f"{what} is no object")
    return value


def cells_of(item: Mapping[str, object]) -> dict[str, str]:
    """The fields as a csv row would show them; what has no such form is left out."""
    cells: dict[str, str] = {}
    for name, value in item.items():
        if isinstance(value, str):
            cells[name] = value
        elif value is None:
            cells[name] = ""
        elif isinstance(value, list) and all(isinstance(one, _Number) for one in value):
            cells[name] = " ".join(value)
    return cells


def strings_of(item: Mapping[str, object], name: str) -> list[str]:
    value = item.get(name)
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise UnreadableSheet(f'"{name}" is no list of sentences')
    return value


def text_of(cells: Cells, name: str) -> str:
    if name not in cells:
        raise UnreadableSheet(f'no "{name}"')
    return cells[name]


def _row(cells: Cells, units: Units, line: int | None) -> PrintedRow:
    operation = text_of(cells, "operation")
    if operation not in OPERATIONS:
        raise UnreadableSheet(f"{shown(operation)} is no operation")
    tool = tool_of(text_of(cells, "tool"))
    _compare_tool(tool, cells)
    x_mm, y_mm, z_mm = (length_mm(text_of(cells, axis), units) for axis in "xyz")
    return PrintedRow(
        whole_of(cells, "step"),
        text_of(cells, "hole"),
        operation,
        tool,
        whole_of(cells, "tool_number"),
        x_mm,
        y_mm,
        z_mm,
        pecks_mm=tuple(length_mm(peck, units) for peck in text_of(cells, "pecks").split()),
        turns=real_of(cells, "turns"),
        cone_mm=real_of(cells, "cone_mm"),
        exact_mm=_exact(cells),
        line=line,
    )


def _exact(cells: Cells) -> tuple[float, float, float] | None:
    if not any(name in cells for name in _EXACT):
        return None
    x, y, z = (real_of(cells, name) for name in _EXACT)
    if x is None or y is None or z is None:
        raise UnreadableSheet("an exact figure is missing")
    return x, y, z


def _compare_tool(tool: PrintedTool, cells: Cells) -> None:
    """The columns must say what the tool line says."""
    for name in ("diameter_mm", "point_angle_deg", "tip_flat_mm", "pitch_mm", "lead"):
        said, column = getattr(tool, name) or 0.0, real_of(cells, name) or 0.0
        if abs(said - column) > _TOOL_TOLERANCE:
            raise UnreadableSheet(
                f'"{name}" is {column:g}, the tool {shown(cells["tool"])} has {said:g}'
            )


def real_of(cells: Cells, name: str) -> float | None:
    text = text_of(cells, name)
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        raise UnreadableSheet(f'"{name}" is {shown(text)}, no figure') from None


def whole_of(cells: Cells, name: str) -> int:
    text = text_of(cells, name)
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise UnreadableSheet(f'"{name}" is {shown(text)}, no whole number')
    return int(text)


def units_cell(cells: Cells) -> Units:
    text = text_of(cells, "units")
    if text not in ("mm", "inch"):
        raise UnreadableSheet(f'"units" is {shown(text)}')
    return "mm" if text == "mm" else "inch"


def lay_of(face: str, towards_you: str, zero_x: str, zero_y: str) -> tuple[str, str, str, str]:
    for word in (face, towards_you):
        if word not in _FACES:
            raise UnreadableSheet(f"{shown(word)} is no face")
    for word in (zero_x, zero_y):
        if word not in (*_FACES, "centre"):
            raise UnreadableSheet(f"{shown(word)} is no place for a zero")
    return face, towards_you, zero_x, zero_y
