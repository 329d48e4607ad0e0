"""[stock]: a block or a disc, by the drawing and as measured."""

from __future__ import annotations

from millprep.base.findings import WordError
from millprep.base.units import Units
from millprep.infiles.faults import Faults
from millprep.infiles.features import size_words
from millprep.infiles.part_schema import MeasuredTable, StockTable
from millprep.infiles.points import AXIS_LETTERS
from millprep.infiles.positions import Path
from millprep.model.part import Point, Stock

_PATH: Path = ("stock",)
_LARGEST_INCH_MM = 36 * 25.4  # beyond the table of a home mill: the figures are in mm
_LEAST_MM = 5.0  # a block all under this in a mm file: the figures are in inches
_CUT_FROM_NOMINAL_MM = 3.0  # a blank further off than this is another blank
_FORMS = "give size = [x, y, z] of a block, or diameter and length of a disc"


def read_stock(faults: Faults, data: object) -> Stock | None:
    """The blank, or None with its faults noted."""
    table = faults.validated(StockTable, data, _PATH)
    if table is None:
        return None
    with faults.noting(_PATH):
        stock = _block(faults, table) if table.size is not None else _disc(faults, table)
        _doubt_units(faults, stock)
        _doubt_measured(faults, stock)
        return stock
    return None


def _block(faults: Faults, table: StockTable) -> Stock:
    assert table.size is not None
    if table.diameter is not None:
        raise WordError("size and diameter are given", _FORMS)
    for key in table.given("length", "axis", "bore"):
        faults.add(
            "contradiction",
            (*_PATH, key),
            f"{key} belongs to a disc, and size is given",
            f"leave {key} out, or give diameter and length instead of size",
        )
    measured = table.measured or MeasuredTable()
    _refuse_measured(faults, measured, ("diameter", "length"), "x, y and z")
    found = (measured.x, measured.y, measured.z)
    x, y, z = (size if one is None else one for size, one in zip(table.size, found, strict=True))
    return Stock((x, y, z), table.size, is_guessed=table.guessed)


def _disc(faults: Faults, table: StockTable) -> Stock:
    if table.diameter is None:
        raise WordError("its size is missing", _FORMS, kind="missing-key")
    if table.length is None:
        raise WordError("length is missing", "give the length of the disc", kind="missing-key")
    measured = table.measured or MeasuredTable()
    _refuse_measured(faults, measured, ("x", "y", "z"), "diameter and length")
    diameter = table.diameter if measured.diameter is None else measured.diameter
    if table.bore is not None and table.bore >= diameter:
        remedy = "give a bore below the diameter"
        raise WordError("the bore is not smaller than the disc", remedy, ("bore",))
    length = table.length if measured.length is None else measured.length
    axis = AXIS_LETTERS.index(table.axis)
    nominal = _box(table.diameter, table.length, axis)
    return Stock(_box(diameter, length, axis), nominal, axis, table.bore, table.guessed)


def _box(diameter: float, length: float, axis: int) -> Point:
    x, y, z = (length if index == axis else diameter for index in range(3))
    return x, y, z


def _refuse_measured(
    faults: Faults, measured: MeasuredTable, keys: tuple[str, ...], wanted: str
) -> None:
    for key in measured.given(*keys):
        faults.add(
            "contradiction",
            (*_PATH, "measured", key),
            f"measured {key} is not of this blank",
            f"give {wanted}",
        )


def _doubt_units(faults: Faults, stock: Stock) -> None:
    units: Units = faults.units
    size = " x ".join(size_words(each, units) for each in stock.nominal_mm)
    doubt = None
    if units == "inch" and max(stock.nominal_mm) > _LARGEST_INCH_MM:
        doubt = 'are these millimetres? then write units = "mm", or "60 mm"'
    elif units == "mm" and max(stock.nominal_mm) < _LEAST_MM:
        doubt = 'are these inches? then write units = "inch", or "1/2 in"'
    if doubt:
        faults.add("units-suspect", _PATH, f"the blank is {size}", doubt, severity="warning")


def _doubt_measured(faults: Faults, stock: Stock) -> None:
    units: Units = faults.units
    for axis, (found, nominal) in enumerate(zip(stock.size_mm, stock.nominal_mm, strict=True)):
        if abs(found - nominal) > _CUT_FROM_NOMINAL_MM:
            faults.add(
                "units-suspect",
                (*_PATH, "measured"),
                f"measured {AXIS_LETTERS[axis]} is {size_words(found, units)}, "
                f"by the drawing it is {size_words(nominal, units)}",
                "check the figure and its unit",
                severity="warning",
            )
