"""A file of measured holes (CSV): text to `Measured`, or every fault of it at once.

hole,x,y,diameter,unit,setup
cover screw 1,12.03,8.98,3.4,mm,2
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from millprep.base.plain_text import some
from millprep.base.units import shown
from millprep.infiles.csv_file import CsvFile, CsvRow, PartRows, of_piece, read_csv
from millprep.infiles.told import Told
from millprep.model.measured import Measured, MeasuredHole
from millprep.model.part import Hole, Part

NEEDED = ("hole", "x", "y")
OPTIONAL = ("diameter", "unit", "setup", "note", "piece")
Nominal = Mapping[str, tuple[float, float]]
_AS_DRAWN_MM = 1.0  # nearer than this to its nominal, a reading is in the unit it says
_SLIP_MM = 0.1  # what is left of a slip once it is undone: errors of the hole, and of rounding
_SLIP_SHARE = 0.005
_DIAMETER_SHARE = 0.25  # the same of a diameter: a tapped hole is read at either of its two
_TOLD_APART_MM = 2.0  # a place nearer than this to its nominal is no slip of a unit
_INCH_MM = 25.4


def read_measured(
    path: str | Path,
    part: Part,
    nominal_mm: Nominal | None = None,
    in_setup: Mapping[int, Nominal] | None = None,
    piece: str | None = None,
) -> Measured:
    """The measured holes of a file, which may leave out holes of the part.

    nominal_mm : for each hole what the readout would show over it as drawn; with it, and with the
                 holes' diameters, figures that were read in the other unit are found
    in_setup   : the same for the holes that can be read in each setup, by its number
    piece      : of the file's rows those that name this piece
    Raises MillprepError with every fault of the file, in the order of its lines.
    """
    reader = PartRows(part, path)
    faults = reader.faults
    table = of_piece(read_csv(path, NEEDED, OPTIONAL, faults), piece)
    found: dict[str, MeasuredHole] = {}
    for row in table.rows:
        name = reader.hole(row, "", row.cells["hole"])
        one = _measured(reader, row, table, name or "", in_setup or {})
        if name is None or one is None:
            continue
        if name in found:
            message = f"{name} is there a second time; line {found[name].line} has it already"
            remedy = "give each hole one line: the mean, if it was measured twice"
            faults.stop_at("duplicate-name", row.line, message, remedy, name)
            continue
        found[name] = one
    if not found and not faults.findings:
        remedy = "below the header goes a line a hole"
        faults.stop_at("missing-key", None, "no hole is given", remedy)
    measured = Measured(str(path), tuple(found.values()))
    nominal = {**(nominal_mm or {})}
    for one in measured.holes:
        if one.setup is not None and in_setup is not None:
            nominal[one.hole] = in_setup[one.setup][one.hole]
    _find_slips(measured, table, {hole.name: hole for hole in part.holes}, nominal, faults)
    faults.raise_if_any()
    return measured


def _measured(
    reader: PartRows, row: CsvRow, table: CsvFile, name: str, in_setup: Mapping[int, Nominal]
) -> MeasuredHole | None:
    """The figures of a row, or None with its faults noted."""
    before = len(reader.faults.findings)
    setup = _setup(reader, row, name, in_setup)
    units = reader.units(row, name)
    x_mm, y_mm, diameter_mm = (
        reader.length_mm(row, name, column, table, units) for column in ("x", "y", "diameter")
    )
    if diameter_mm is not None and diameter_mm <= 0:
        message = f"diameter: {row.cells['diameter']} is not above 0"
        reader.add("bad-value", row, name, message, "give what the hole measures across")
    if len(reader.faults.findings) > before:
        return None
    return MeasuredHole(name, x_mm, y_mm, diameter_mm, row.line, units == "inch", setup)


def _setup(reader: PartRows, row: CsvRow, name: str, in_setup: Mapping[int, Nominal]) -> int | None:
    """The setup that a row was read in; None where it is left empty, or with the fault noted."""
    given = row.cells.get("setup", "")
    number = int(given) if given.isascii() and given.isdigit() and len(given) < 4 else None
    there = [str(each) for each, holes in in_setup.items() if name in holes]
    if given and (number not in in_setup or str(number) not in there):
        message = f"setup: {shown(given)} is no setup that it can be read in"
        reader.add("unknown-word", row, name, message, f"write one of: {some(there, 20)}")
    return number


def _find_slips(
    measured: Measured,
    table: CsvFile,
    by_name: Mapping[str, Hole],
    nominal_mm: Mapping[str, tuple[float, float]],
    faults: Told,
) -> None:
    """Figures that are 25.4 times too large or too small for their hole.

    A part measured from another zero has figures that mean nothing by themselves, so places are
    judged only where most holes lie either as drawn or as drawn in the other unit.
    """
    cells = {row.line: row.cells for row in table.rows}
    slips: list[tuple[MeasuredHole, list[str]]] = []
    placed = explained = 0
    for one in measured.holes:
        slipped = _slipped_axes(one, nominal_mm.get(one.hole))
        placed += slipped is not None and one.has_place
        explained += bool(slipped) or (slipped == [] and _is_as_drawn(one, nominal_mm[one.hole]))
        if slipped:
            slips.append((one, slipped))
    if 2 * explained < placed:
        slips = []
    # a hole near X0 Y0 betrays no unit, but was read in that of its fellows
    lines = "every line" if 1 < len(slips) > placed / 2 else "this line"
    for one, columns in slips:
        _add_slip(one, columns, cells[one.line], nominal_mm[one.hole], faults, lines)
    for one in measured.holes:
        diameter_mm = by_name[one.hole].diameter_mm
        if one.diameter_mm is not None and _is_other_unit(
            one.diameter_mm, diameter_mm, diameter_mm / 2, _DIAMETER_SHARE * diameter_mm
        ):
            _add_slip(one, ["diameter"], cells[one.line], (diameter_mm,), faults)


def _is_as_drawn(one: MeasuredHole, nominal: tuple[float, float]) -> bool:
    return all(
        value is not None and abs(value - wanted) < _AS_DRAWN_MM
        for value, wanted in zip((one.x_mm, one.y_mm), nominal, strict=True)
    )


def _slipped_axes(one: MeasuredHole, nominal: tuple[float, float] | None) -> list[str] | None:
    """The columns of a row that make sense only in the other unit; None where nobody can tell.

    A figure that is nearly nought as drawn does not show a unit by itself: 2.5 mm beside it may as
    well be the finder's radius.
    """
    if nominal is None or one.x_mm is None or one.y_mm is None:
        return None
    slipped: list[str] = []
    is_shown = False
    for column, value, wanted in zip("xy", (one.x_mm, one.y_mm), nominal, strict=True):
        left_mm = _SLIP_MM + _SLIP_SHARE * abs(wanted)
        if _is_other_unit(value, wanted, _TOLD_APART_MM, left_mm):
            slipped.append(column)
            is_shown = is_shown or abs(wanted) >= _AS_DRAWN_MM
        elif abs(value - wanted) >= _AS_DRAWN_MM:
            return []
    return slipped if is_shown else []


def _is_other_unit(value_mm: float, wanted_mm: float, apart_mm: float, left_mm: float) -> bool:
    """Whether a figure that is far from what is wanted comes near it in the other unit."""
    return abs(value_mm - wanted_mm) >= apart_mm and any(
        abs(value_mm * factor - wanted_mm) <= left_mm for factor in (_INCH_MM, 1 / _INCH_MM)
    )


def _add_slip(
    one: MeasuredHole,
    columns: list[str],
    cells: Mapping[str, str],
    nominal: tuple[float, ...],
    faults: Told,
    lines: str = "this line",
) -> None:
    values = {"x": one.x_mm, "y": one.y_mm, "diameter": one.diameter_mm}
    wants = dict(zip("xy", nominal, strict=True)) if len(nominal) > 1 else {"diameter": nominal[0]}
    first = max(columns, key=lambda column: round(abs(wants[column]), 3))  # shows it best
    value_mm, wanted_mm = values[first], wants[first]
    assert value_mm is not None  # it has slipped
    is_small = abs(value_mm) < abs(wanted_mm)
    how = "times 25.4" if is_small else "divided by 25.4"
    other_mm = value_mm * _INCH_MM if is_small else value_mm / _INCH_MM
    written = " and ".join(f"{column} {cells[column]}" for column in columns)
    message = (
        f"{one.hole}: {written}: {first} is read as {_both(value_mm)}, but {how} it is "
        f"{_both(other_mm)}, and {first} as drawn is {_both(wanted_mm)}"
    )
    remedy = f"write mm or inch into the column unit of {lines}, or behind each figure"
    if cells.get("unit"):
        remedy = f"this line says {cells['unit']}: write the other unit, or measure the hole again"
    faults.stop_at("units-suspect", one.line, message, remedy, one.hole)


def _both(value_mm: float) -> str:
    """A length in both units."""
    return f"{value_mm:.3f} mm ({value_mm / _INCH_MM:.4f} in)"
