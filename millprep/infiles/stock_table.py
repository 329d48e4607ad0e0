"""[stock]: a block or a disc, by the drawing and as measured. Imports layers 0 to 2."""

from __future__ import annotations

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


def read_stock(faults: Faults, data: object, units: Units) -> Stock | None:
    """The blank, or None with its faults noted."""
    table = faults.validated(StockTable, data, _PATH, {"units": units})
    if table is None:
        return None
    if (table.size is None) == (table.diameter is None):
        what = "size and diameter are given" if table.size else "its size is missing"
        faults.add(
            "contradiction" if table.size else "missing-key",
            _PATH,
            what,
            "give size = [x, y, z] of a block, or diameter and length of a disc",
        )
        return None
    stock = _block(faults, table) if table.size is not None else _disc(faults, table)
    if stock is not None:
        _doubt_units(faults, stock, units)
        _doubt_measured(faults, stock, units)
    return stock


def _block(faults: Faults, table: StockTable) -> Stock | None:
    assert table.size is not None
    for key in table.given("length", "axis", "bore"):
        faults.add(
            "contradiction",
            (*_PATH, key),
            f"{key} belongs to a disc, and size is given",
            f"leave {key} out, or give diameter and length instead of size",
        )
    nominal = (table.size[0], table.size[1], table.size[2])
    measured = table.measured or MeasuredTable()
    _refuse_measured(faults, measured, ("diameter", "length"), "x, y and z")
    x, y, z = (
        size if found is None else found
        for size, found in zip(nominal, (measured.x, measured.y, measured.z), strict=True)
    )
    return Stock((x, y, z), nominal)


def _disc(faults: Faults, table: StockTable) -> Stock | None:
    assert table.diameter is not None
    if table.length is None:
        faults.add("missing-key", _PATH, "length is missing", "give the length of the disc")
        return None
    measured = table.measured or MeasuredTable()
    _refuse_measured(faults, measured, ("x", "y", "z"), "diameter and length")
    diameter = table.diameter if measured.diameter is None else measured.diameter
    if table.bore is not None and table.bore >= diameter:
        faults.add(
            "contradiction",
            (*_PATH, "bore"),
            "the bore is not smaller than the disc",
            "give a bore below the diameter",
        )
        return None
    length = table.length if measured.length is None else measured.length
    axis = AXIS_LETTERS.index(table.axis)
    return Stock(
        _box(diameter, length, axis), _box(table.diameter, table.length, axis), axis, table.bore
    )


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


def _doubt_units(faults: Faults, stock: Stock, units: Units) -> None:
    size = " x ".join(size_words(each, units) for each in stock.nominal_mm)
    doubt = None
    if units == "inch" and max(stock.nominal_mm) > _LARGEST_INCH_MM:
        doubt = 'are these millimetres? then write units = "mm", or "60 mm"'
    elif units == "mm" and max(stock.nominal_mm) < _LEAST_MM:
        doubt = 'are these inches? then write units = "inch", or "1/2 in"'
    if doubt:
        faults.add("units-suspect", _PATH, f"the blank is {size}", doubt, severity="warning")


def _doubt_measured(faults: Faults, stock: Stock, units: Units) -> None:
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
