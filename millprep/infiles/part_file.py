"""A part file: text to `Part`, or every fault of it at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import replace
from millprep.base.units import shown
from millprep.infiles.dimension_tables import read_dimensions
from millprep.infiles.drafts import Bench
from millprep.infiles.faults import Faults
from millprep.infiles.holes import place_holes, read_holes, tell_unfinished
from millprep.infiles.mirror import mirrored
from millprep.infiles.opposite import differing
from millprep.infiles.part_schema import DatumTable, HoleTable, OppositeTable, PartTable
from millprep.infiles.placing import is_off_face
from millprep.infiles.setup_tables import read_setups, with_visits
from millprep.infiles.stated import stated_lengths
from millprep.infiles.stock_table import read_stock
from millprep.infiles.taken import Others
from millprep.infiles.text import Document, Reader, mark_of, read_document
from millprep.infiles.wording import at_key
from millprep.model.part import Datum, Dimension, Hole, Part, Point
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
        faults.add(
            "contradiction",
            (),
            "this is an assembly file, not a part",
            f"millprep assembly {document.path} judges it",
        )
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
        faults.add(
            "assumed",
            (),
            "no [datum] is given: lengths count from left, front and bottom",
            'write [datum] with x = "left" and y = "front", or the faces of the drawing',
            severity="note",
        )
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
