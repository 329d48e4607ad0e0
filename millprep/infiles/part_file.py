"""A part file: text to `Part`, or every fault of it at once.

Imports layers 0 to 2.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from millprep.errors import Finding, MillprepError, WordError
from millprep.infiles.drafts import Bench
from millprep.infiles.faults import Faults
from millprep.infiles.holes import read_holes
from millprep.infiles.mirror import mirrored
from millprep.infiles.part_schema import DatumTable, HoleTable, OppositeTable, PartTable
from millprep.infiles.setup_tables import read_setups
from millprep.infiles.stock_table import read_stock
from millprep.infiles.text import Document, mark_of, read_document
from millprep.part import Datum, Hole, Part
from millprep.sizes import read_material
from millprep.units import Units, shown


def read_part(path: str | Path) -> tuple[Part, tuple[Finding, ...]]:
    """The part that a file describes, with warnings and notes of what was assumed.

    Raises MillprepError with every fault of the file, in the order of its lines.
    """
    document = read_document(path)
    if "opposite_hand_of" in document.data:
        return _read_opposite(document)
    faults = Faults(document, PartTable)
    part = _part(document, faults)
    faults.raise_if_any()
    assert part is not None  # every way to None notes a fault
    return part, faults.in_file_order()


def _part(document: Document, faults: Faults) -> Part | None:
    data = document.data
    units = _units(data)
    context = {"units": units}
    table = faults.validated(PartTable, data, (), context)
    stock = read_stock(faults, data["stock"], units) if "stock" in data else None
    datum = _datum(data.get("datum"), faults)
    material = _material(data.get("material"), faults)
    defaults = _defaults(data.get("defaults"), faults, context)
    raw_holes = _array(data, "hole", faults)
    setups = read_setups(faults, _array(data, "setup", faults), units)
    holes: tuple[Hole, ...] = ()
    if stock is not None:
        holes = read_holes(Bench(faults, units, stock, datum), raw_holes, defaults)
    else:
        for index, each in enumerate(raw_holes):
            faults.validated(HoleTable, each, ("hole", index), context)
    if not raw_holes and not faults.are_stops:
        faults.add("missing-key", (), "the part has no holes", "add a [[hole]]", severity="warning")
    if table is None or stock is None or material is None:
        return None
    return Part(
        name=table.part, drawing=table.drawing, units=units, material=material, stock=stock,
        datum=datum, holes=holes, setups=setups, general_tolerance_mm=table.general_tolerance,
        note=table.note, path=document.path, mark=document.mark,
    )  # fmt: skip


def _units(data: dict[str, Any]) -> Units:
    """The file's units; mm where they are missing or wrong, which is a fault told elsewhere."""
    word = data.get("units")
    return "inch" if isinstance(word, str) and word.strip().lower() == "inch" else "mm"


def _array(data: dict[str, Any], key: str, faults: Faults) -> list[Any]:
    value = data.get(key, [])
    if isinstance(value, list):
        return value
    what = "in single brackets" if isinstance(value, dict) else shown(value)
    remedy = f"write [[{key}]], in double brackets, above each"
    faults.add("bad-value", (key,), f"{key} is given {what}", remedy)
    return []


def _defaults(value: Any, faults: Faults, context: dict[str, Any]) -> HoleTable | None:
    if value is None:
        return None
    if isinstance(value, dict) and "name" in value:
        faults.add(
            "contradiction", ("defaults", "name"), "all holes cannot have one name",
            "give each hole its own",
        )  # fmt: skip
    return faults.validated(HoleTable, value, ("defaults",), context)


def _datum(value: Any, faults: Faults) -> Datum:
    if value is None:
        faults.add(
            "assumed", (), "no [datum] is given: lengths count from left, front and bottom",
            'write [datum] with x = "left" and y = "front", or the faces of the drawing',
            severity="note",
        )  # fmt: skip
        return Datum()
    table = faults.validated(DatumTable, value, ("datum",), {})
    return Datum(table.x, table.y, table.z) if table is not None else Datum()


def _material(value: Any, faults: Faults) -> str | None:
    if not isinstance(value, str):
        return None
    try:
        read_material(value)
        return " ".join(value.split())
    except WordError as error:
        faults.add_word(("material",), error)
        return None


def _read_opposite(document: Document) -> tuple[Part, tuple[Finding, ...]]:
    faults = Faults(document, OppositeTable)
    table = faults.validated(OppositeTable, document.data, (), {"units": "mm"})
    faults.raise_if_any()
    assert table is not None
    original = Path(document.path).parent / table.opposite_hand_of
    try:
        base_document = read_document(original)
    except MillprepError as error:
        _add_of_original(faults, error)
        raise MillprepError(*faults.findings) from None
    if "opposite_hand_of" in base_document.data:
        faults.add(
            "contradiction", ("opposite_hand_of",),
            f"{shown(table.opposite_hand_of)} is itself the opposite hand of another",
            "name the original",
        )  # fmt: skip
        faults.raise_if_any()
    part, findings = read_part(original)
    given = {key: getattr(table, key) for key in table.given("drawing", "note")}
    made = replace(
        mirrored(part, table.mirror),
        name=table.part or f"{part.name}, opposite hand",
        path=document.path,
        mark=mark_of(f"{document.mark} {part.mark}".encode()),
        **given,
    )
    return made, findings


def _add_of_original(faults: Faults, error: MillprepError) -> None:
    """The original's own findings, and at which key of this file it is named."""
    faults.add(
        "unreadable-file", ("opposite_hand_of",), "the original of this part cannot be read",
        "give its path from this file's folder",
    )  # fmt: skip
    faults.findings.extend(error.findings)
