"""A part file: text to `Part`, or every fault of it at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from millprep.base.findings import Finding, MillprepError, WordError
from millprep.base.records import replace
from millprep.base.units import Units, shown
from millprep.infiles.dimension_tables import read_dimensions
from millprep.infiles.drafts import Bench
from millprep.infiles.faults import Faults
from millprep.infiles.features import size_words
from millprep.infiles.holes import place_holes, read_holes, tell_unfinished
from millprep.infiles.opposite import differing, mirrored
from millprep.infiles.part_schema import (
    DatumTable,
    HoleTable,
    MeasuredTable,
    OppositeTable,
    PartTable,
    StockTable,
)
from millprep.infiles.placing import is_off_face
from millprep.infiles.points import AXIS_LETTERS
from millprep.infiles.setup_tables import read_setups, with_visits
from millprep.infiles.stated import stated_lengths
from millprep.infiles.taken import Others
from millprep.infiles.text import Document, Reader, mark_of, read_document
from millprep.infiles.wording import at_key
from millprep.model.part import Datum, Dimension, Hole, Part, Point, Stock
from millprep.sizes import read_material


def read_part(
    path: str | Path, read: Reader = read_document, trail: tuple[Path, ...] = ()
) -> tuple[Part, tuple[Finding, ...]]:
    """The part that a file describes, with warnings and notes of what was assumed.

    read  : how a file is read; trail : files that are being read and take a pattern from this one
    Raises MillprepError with every fault of the file, in the order of its lines.
    """
    document = read(path)
    if "opposite_hand_of" in document.data:
        return _read_opposite(document, read, trail)
    faults = Faults(document, PartTable)
    _refuse_assembly(document, faults)
    part = _part(faults, _others(document, read, trail))
    faults.raise_if_any()
    assert part is not None  # every way to None notes a fault
    return part, faults.in_file_order()


def _refuse_assembly(document: Document, faults: Faults) -> None:
    """An assembly handed over as a part gets one message, not one for each of its keys."""
    if "members" in document.data and "stock" not in document.data:
        message = "this is an assembly file, not a part"
        faults.add("contradiction", (), message, f"millprep assembly {document.path} judges it")
        faults.raise_if_any()


def _others(document: Document, read: Reader, trail: tuple[Path, ...] = ()) -> Others:
    """The part files beside this one, to take patterns from."""
    path = Path(document.path)
    whole = (*trail, path.resolve())
    return Others(path.parent, whole, lambda other: read_part(other, read, whole)[0])


def _part(faults: Faults, others: Others) -> Part | None:
    document, data = faults.document, faults.document.data
    table = faults.validated(PartTable, data, ())
    stock = read_stock(faults, data["stock"]) if "stock" in data else None
    datum = _datum(faults)
    material = _material(data.get("material"), faults)
    defaults = _defaults(faults)
    raw_holes = faults.array("hole")
    setups = read_setups(faults)
    holes: tuple[Hole, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    if stock is not None:
        bench = Bench(faults, stock, datum, others=others)
        holes = read_holes(bench, raw_holes, defaults)
        if len(setups) == len(faults.array("setup")):  # else a fault of theirs is told already
            setups = with_visits(bench, setups, holes)
        if data.get("dimension"):
            dimensions = read_dimensions(_as_drawn(bench, raw_holes, defaults))
    else:
        tell_unfinished(faults, raw_holes, defaults)
    if not raw_holes and not faults.are_stops:
        faults.add("missing-key", (), "the part has no holes", "add a [[hole]]", severity="warning")
    if table is None or stock is None or material is None:
        return None
    return Part(
        name=table.part,
        drawing=table.drawing,
        units=table.units,
        material=material,
        stock=stock,
        datum=datum,
        holes=holes,
        setups=setups,
        general_tolerance_mm=table.general_tolerance,
        note=table.note,
        path=document.path,
        mark=_mark(document, others),
        dimensions=dimensions,
        stated=stated_lengths(document),
    )


def _mark(document: Document, others: Others) -> str:
    """Of this file's bytes, and of those of the files that a pattern comes from."""
    marks = others.marks
    return mark_of(" ".join([document.mark, *marks]).encode()) if marks else document.mark


def _as_drawn(bench: Bench, raw_holes: list[Any], defaults: HoleTable | None) -> Bench:
    """The same holes on the blank by the drawing: its dimensions know nothing of the saw."""
    stock = bench.stock
    if stock.size_mm == stock.nominal_mm:
        return bench
    quiet = Faults(bench.faults.document, PartTable)  # the faults of the holes are told already
    nominal = replace(stock, size_mm=stock.nominal_mm)
    drawn = Bench(quiet, nominal, bench.datum, others=bench.others)
    place_holes(drawn, raw_holes, defaults)
    return replace(drawn, faults=bench.faults)


def placed_centres(document: Document) -> dict[int, list[Point]]:
    """Where each [[hole]] of a file, by its index from 0, has its members, those left out too.

    Empty where the file has faults; only what places ask of it is read.
    """
    data, faults = document.data, Faults(document, PartTable)
    stock, defaults = read_stock(faults, data["stock"]), _defaults(faults)
    if stock is None:
        return {}
    bench = Bench(faults, stock, _datum(faults), others=_others(document, read_document))
    drafts = place_holes(bench, data.get("hole", []), defaults)
    off = faults.are_stops or any(is_off_face(bench, draft) for draft in drafts)
    return {} if off else {draft.number - 1: draft.centres for draft in drafts}


def placed_distances(document: Document, must_lie_on: bool = False) -> tuple[float, ...]:
    """What the places of a file make each of its dimensions [mm]; empty where it has faults.

    Only what dimensions ask of a file is read, and a hole that lies off its face is a fault only
    where it `must_lie_on` it: this is for trying other figures in the file.
    """
    data, faults = document.data, Faults(document, PartTable)
    stock, defaults = read_stock(faults, data["stock"]), _defaults(faults)
    if stock is None:
        return ()
    drawn = Bench(
        faults,
        replace(stock, size_mm=stock.nominal_mm),
        _datum(faults),
        others=_others(document, read_document),
    )
    drafts = place_holes(drawn, data.get("hole", []), defaults)
    if must_lie_on and any(is_off_face(drawn, draft) for draft in drafts):
        return ()
    found = read_dimensions(drawn)
    return () if faults.are_stops else tuple(dimension.placed_mm for dimension in found)


def _defaults(faults: Faults) -> HoleTable | None:
    value = faults.document.data.get("defaults")
    if value is None:
        return None
    if isinstance(value, dict) and "name" in value:
        path, remedy = ("defaults", "name"), "give each hole its own"
        faults.add("contradiction", path, "all holes cannot have one name", remedy)
    return faults.validated(HoleTable, value, ("defaults",))


def _datum(faults: Faults) -> Datum:
    value = faults.document.data.get("datum")
    if value is None:
        message = "no [datum] is given: lengths count from left, front and bottom"
        remedy = 'write [datum] with x = "left" and y = "front", or the faces of the drawing'
        faults.add("assumed", (), message, remedy, severity="note")
        return Datum()
    table = faults.validated(DatumTable, value, ("datum",))
    return Datum() if table is None else Datum(**table.fields_of(Datum))


def _material(value: Any, faults: Faults) -> str | None:
    if not isinstance(value, str):
        return None
    with faults.noting((), "unknown-word"), at_key("material"):
        read_material(value)
        return " ".join(value.split())
    return None


def _read_opposite(
    document: Document, read: Reader, trail: tuple[Path, ...]
) -> tuple[Part, tuple[Finding, ...]]:
    faults = Faults(document, OppositeTable)
    table = faults.validated(OppositeTable, document.data, ())
    faults.raise_if_any()
    assert table is not None
    original = Path(document.path).parent / table.opposite_hand_of
    try:
        base_document = read(original)
    except MillprepError as error:
        faults.add(
            "unreadable-file",
            ("opposite_hand_of",),
            "the original of this part cannot be read",
            "give its path from this file's folder",
        )
        raise MillprepError(*faults.findings, *error.findings) from None
    if "opposite_hand_of" in base_document.data:
        message = f"{shown(table.opposite_hand_of)} is itself the opposite hand of another"
        faults.add("contradiction", ("opposite_hand_of",), message, "name the original")
    faults.raise_if_any()
    part, findings = read_part(original, read, (*trail, Path(document.path).resolve()))
    given = {key: getattr(table, key) for key in table.given("drawing", "note")}
    faults.units = part.units
    turned, others = mirrored(part, table.mirror), _others(document, read, trail)
    made = replace(
        differing(turned, faults, table.without, others),
        name=table.part or f"{part.name}, opposite hand",
        path=document.path,
        original_path=part.path,
        mark=mark_of(" ".join([document.mark, part.mark, *others.marks]).encode()),
        **given,
    )
    faults.raise_if_any()
    return made, (*findings, *faults.in_file_order())


_PATH = ("stock",)
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
        message = f"{key} belongs to a disc, and size is given"
        remedy = f"leave {key} out, or give diameter and length instead of size"
        faults.add("contradiction", (*_PATH, key), message, remedy)
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
        message = f"measured {key} is not of this blank"
        faults.add("contradiction", (*_PATH, "measured", key), message, f"give {wanted}")


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
            message = (
                f"measured {AXIS_LETTERS[axis]} is {size_words(found, units)}, "
                f"by the drawing it is {size_words(nominal, units)}"
            )
            remedy = "check the figure and its unit"
            faults.add("units-suspect", (*_PATH, "measured"), message, remedy, severity="warning")
