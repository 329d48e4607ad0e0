"""A shop file over a packaged shop: text to `Shop`, or every fault of it at once.

Each file is read in its own units before one is laid over the other, so that an inch file may stand
on the metric shop.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from millprep.base.findings import MillprepError, WordError
from millprep.base.records import replace
from millprep.infiles import shop_schema as schema
from millprep.infiles.cabinet import read_cabinet, read_pins, table_tool
from millprep.infiles.control_rules import find_contradictions
from millprep.infiles.control_schema import ControlTable, with_quill
from millprep.infiles.faults import Faults
from millprep.infiles.fields import Table
from millprep.infiles.file_bytes import MISSING
from millprep.infiles.text import Document, read_document
from millprep.infiles.tool_schema import HolderTable
from millprep.infiles.wording import nearest
from millprep.model import shop as model
from millprep.model.tools import Tool
from millprep.model.workholding import (
    AnglePlate,
    Chuck,
    MachineTable,
    Parallels,
    VeeBlock,
    VeeGroove,
    Vice,
    Workholding,
)

PACKAGED = ("metric", "inch")
SHOPS = Path(__file__).parent / "shops"
_AnyTable = TypeVar("_AnyTable", bound=Table)
_Value = TypeVar("_Value")


def read_shop(name_or_path: str = "metric") -> model.Shop:
    """The shop of that name (metric, inch) or in that file, laid over the packaged one it names.

    Raises MillprepError with every fault of the file.
    """
    if name_or_path in PACKAGED:
        return _packaged_shop(name_or_path)
    document = _document(name_or_path)
    faults, own = _table(document)
    table = overlaid(_packaged(own.base)[1], own)
    return _shop(faults, table, own.name or Path(name_or_path).stem, document.path)


@cache  # the desk asks for it at every change of a part
def _packaged_shop(name: str) -> model.Shop:
    return _shop(*_packaged(name), name, name)


def _document(name_or_path: str) -> Document:
    try:
        return read_document(name_or_path)
    except MillprepError as error:
        finding = error.findings[0]
        if finding.message != MISSING:
            raise
        likely = nearest(name_or_path, PACKAGED)
        hint = f'; did you mean "{likely}"?' if likely else ""
        remedy = f'packaged shops: "metric" and "inch"{hint}'
        raise MillprepError(replace(finding, advice=remedy)) from None


@cache
def _packaged(name: str) -> tuple[Faults, schema.ShopTable]:
    return _table(read_document(SHOPS / f"{name}.toml"))


def _table(document: Document) -> tuple[Faults, schema.ShopTable]:
    faults = Faults(document, schema.ShopTable)
    if {"cabinet", "drawer"} <= document.data.keys():
        remedy = "put all tools under [drawer]: [cabinet] is its older name"
        faults.add("contradiction", ("cabinet",), "[drawer] is given too", remedy)
        faults.raise_if_any()
    document = document.renamed("cabinet", "drawer")
    faults = Faults(document, schema.ShopTable)
    for name, what in (("tool", "tool"), ("dividing", "dividing head")):
        if isinstance(document.data.get(name), dict):
            remedy = f"write [[{name}]], in double brackets, above each"
            faults.add("bad-value", (name,), f"one {what} in single brackets", remedy)
            faults.raise_if_any()
    table = faults.validated(schema.ShopTable, document.data, ())
    faults.raise_if_any()
    assert table is not None  # every way to None notes a fault
    return faults, table


def overlaid(base: _AnyTable, over: _AnyTable) -> _AnyTable:
    """The keys that `over` gives, on top of those of `base`; a list replaces the list."""
    changed: dict[str, Any] = {}
    for name in over.model_fields_set:
        below, above = getattr(base, name), getattr(over, name)
        if isinstance(above, schema.SpindleTable | HolderTable):
            changed[name] = above  # listed speeds and a range are one statement, not two
        elif isinstance(above, Table) and isinstance(below, Table):
            changed[name] = overlaid(below, above)
        elif isinstance(above, dict) and isinstance(below, dict):
            changed[name] = below | above
        else:
            changed[name] = above
    return base.model_copy(update=changed)


def known(value: _Value | None) -> _Value:
    """What every packaged shop gives, and so every shop."""
    assert value is not None
    return value


def _shop(faults: Faults, table: schema.ShopTable, name: str, path: str) -> model.Shop:
    """Raises MillprepError with every fault that was noted by then."""
    readout, strips = table.readout, table.parallels
    control = with_quill(table.control)
    find_contradictions(faults, control)
    shop = model.Shop(
        name=name,
        mill=_mill(faults, table.mill),
        readout=model.Readout(
            **readout.fields_of(model.Readout),
            reversed_axes=readout.reversed,
            is_fitted=readout.fitted,
        ),
        dials=_dials(faults, table.dials),
        vice=_vice(table.vice),
        finder=model.Finder(**table.finder.fields_of(model.Finder)),
        cabinet=read_cabinet(faults, table.drawer),
        control=_control(control),
        tools=_tools(faults, table),
        path=path,
        parallels=tuple(Parallels(known(strips.thickness), height) for height in strips.heights),
        table=_machine_table(table.table),
        holding=_workholding(faults, table.holding),
        position_errors_mm=_position_errors(table.position_error),
        projection=table.drawing.projection,
        paper=table.drawing.paper,
        instruments=_instruments(faults, table.instruments),
        dividing=tuple(
            model.Dividing(**one.fields_of(model.Dividing), chuck=_chuck(one.chuck))
            for one in table.dividing
        ),
    )
    faults.raise_if_any()
    return shop


def _chuck(table: schema.ChuckTable | None) -> Chuck | None:
    return None if table is None else Chuck(**table.fields_of(Chuck))


def _vice(table: schema.ViceTable) -> Vice:
    vee = VeeGroove(**table.vee.fields_of(VeeGroove)) if "vee" in table.jaws else None
    return Vice(**table.fields_of(Vice), **table.jaw.fields_of(Vice, "jaw_"), vee=vee)


def _control(table: ControlTable) -> model.Control:
    given = table.fields_of(model.Control)
    if table.units == "none":
        given["units"] = None
    is_home_known = table.home not in (None, "none")
    if not is_home_known:
        given.pop("home_mm", None)
    if table.spindle == "by hand" and table.taps_by_power:
        given["tapping"] = "none"
    return model.Control(
        **given,
        is_home_known=is_home_known,
        has_home=table.home != "none",
        backlash_mm=(table.backlash.x, table.backlash.y, table.backlash.z),
        decimals_mm=table.decimals.mm,
        decimals_inch=table.decimals.inch,
    )


def _instruments(faults: Faults, table: schema.InstrumentsTable) -> model.Instruments:
    return model.Instruments(
        model.Instrument(**table.calliper.fields_of(model.Instrument)),
        model.Instrument(**table.micrometer.fields_of(model.Instrument)),
        model.Instrument(**table.bore_gauge.fields_of(model.Instrument)),
        known(table.readout.uncertainty),
        read_pins(faults, table),
    )


def _position_errors(table: schema.PositionErrorTable) -> dict[model.PositionMethod, float]:
    errors = {method: getattr(table, method.replace(" ", "_")) for method in model.POSITION_METHODS}
    return {method: error for method, error in errors.items() if error is not None}


def _machine_table(table: schema.MachineTableTable) -> MachineTable | None:
    if table.size is None:
        return None
    slots = table.slots.fields_of(MachineTable, "slot_")
    return MachineTable(**table.fields_of(MachineTable), **slots)


def _workholding(faults: Faults, table: schema.HoldingTable) -> Workholding:
    for index, block in enumerate(table.vee_blocks):
        if block.from_ >= block.to:
            message = "vee_blocks: from is not below to"
            remedy = "give the thinnest bar that the blocks take as from, the thickest as to"
            faults.add("bad-value", ("holding", "vee_blocks", index), message, remedy)
    plate = table.angle_plate
    return Workholding(
        straps=table.straps,
        angle_plate=None if plate is None else AnglePlate(plate.width, plate.height),
        vee_blocks=tuple(VeeBlock(block.from_, block.to) for block in table.vee_blocks),
        chuck=_chuck(table.chuck),
        packing_mm=table.packing,
    )


def _mill(faults: Faults, table: schema.MillTable) -> model.Mill:
    travel, limits = table.travel, None
    with faults.noting(("mill", "spindle")):
        limits = _speed_range(table.spindle)
    return model.Mill(
        **table.fields_of(model.Mill),
        travel_mm=(known(travel.x), known(travel.y), known(travel.z)),
        speeds_rpm=table.spindle.speeds or (),
        speed_range_rpm=limits,
        tool_change_s=known(table.tool_change_time),
    )


def _speed_range(spindle: schema.SpindleTable) -> tuple[float, float] | None:
    """Least and most, or None where the speeds are listed."""
    if spindle.speeds is not None and spindle.min is None and spindle.max is None:
        return None
    if spindle.speeds is not None or spindle.min is None or spindle.max is None:
        raise WordError(
            "spindle has either listed speeds or a range",
            "give speeds = [120, 220, 400], or min and max",
        )
    if spindle.min >= spindle.max:
        raise WordError("spindle: min is not below max", "give the lower speed as min")
    return spindle.min, spindle.max


def _dials(faults: Faults, table: schema.DialsTable) -> dict[str, model.Dial]:
    dials: dict[str, model.Dial] = {}
    for axis in "xyz" if table.fitted else "":
        dial: schema.DialTable | None = getattr(table, axis)
        if dial is not None and (dial.lead is None or dial.divisions is None):
            message = f"{axis}: lead and divisions are both needed"
            remedy = "measure the travel of one turn, and count the divisions"
            faults.add("missing-key", ("dials", axis), message, remedy)
        elif dial is not None:
            dials[axis] = model.Dial(**dial.fields_of(model.Dial))
    return dials


def _tools(faults: Faults, table: schema.ShopTable) -> tuple[Tool, ...]:
    tools: dict[int, Tool] = {}
    taken: set[int] = set()
    for index, each in enumerate(table.tool):
        if each.number in taken:
            message = f"tool number {each.number} is taken"
            remedy = "give each tool its own number"
            faults.add("duplicate-name", ("tool", index, "number"), message, remedy)
            continue
        taken.add(each.number)
        with faults.noting(("tool", index)):
            tools[each.number] = table_tool(each)
    return tuple(tools[number] for number in sorted(tools))
