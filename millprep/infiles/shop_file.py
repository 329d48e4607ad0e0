"""A shop file over a packaged shop: text to `Shop`, or every fault of it at once.

Each file is read in its own units before one is laid over the other, so that an inch file may stand
on the metric shop. Imports layers 0 to 2.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeVar

from millprep.base.findings import MillprepError, WordError
from millprep.base.records import replace
from millprep.infiles.cabinet import read_cabinet, read_pins, table_tool
from millprep.infiles.control_schema import ControlTable
from millprep.infiles.faults import Faults
from millprep.infiles.fields import Table
from millprep.infiles.file_bytes import MISSING
from millprep.infiles.shop_schema import (
    DialTable,
    HolderTable,
    InstrumentsTable,
    InstrumentTable,
    MillTable,
    PositionErrorTable,
    ShopTable,
    SpindleTable,
)
from millprep.infiles.text import Document, read_document
from millprep.infiles.wording import nearest
from millprep.model.shop import (
    POSITION_METHODS,
    Control,
    Dial,
    Finder,
    Instrument,
    Instruments,
    Mill,
    Parallels,
    PositionMethod,
    Readout,
    Shop,
    Vice,
)
from millprep.model.tools import Tool

PACKAGED = ("metric", "inch")
SHOPS = Path(__file__).parent / "shops"
_AnyTable = TypeVar("_AnyTable", bound=Table)
_ORIGIN = (0.0, 0.0, 0.0)


def read_shop(name_or_path: str = "metric") -> Shop:
    """The shop of that name (metric, inch) or in that file, laid over the packaged one it names.

    Raises MillprepError with every fault of the file.
    """
    if name_or_path in PACKAGED:
        faults, table = _packaged(name_or_path)
        name, path = name_or_path, name_or_path
    else:
        document = _document(name_or_path)
        faults, own = _table(document)
        _, base = _packaged(own.base)
        table = overlaid(base, own)
        name, path = own.name or Path(name_or_path).stem, document.path
    shop = _shop(faults, table, name, path)
    faults.raise_if_any()
    return shop


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


def _packaged(name: str) -> tuple[Faults, ShopTable]:
    return _table(read_document(SHOPS / f"{name}.toml"))


def _table(document: Document) -> tuple[Faults, ShopTable]:
    data = document.data
    faults = Faults(document, ShopTable)
    word = data.get("units")
    units = "inch" if isinstance(word, str) and word.strip().lower() == "inch" else "mm"
    if isinstance(data.get("tool"), dict):
        faults.add(
            "bad-value",
            ("tool",),
            "one tool in single brackets",
            "write [[tool]], in double brackets, above each",
        )
        faults.raise_if_any()
    table = faults.validated(ShopTable, data, (), {"units": units})
    faults.raise_if_any()
    assert table is not None  # every way to None notes a fault
    return faults, table


def overlaid(base: _AnyTable, over: _AnyTable) -> _AnyTable:
    """The keys that `over` gives, on top of those of `base`; a list replaces the list."""
    changed: dict[str, Any] = {}
    for name in over.model_fields_set:
        below, above = getattr(base, name), getattr(over, name)
        if isinstance(above, SpindleTable | HolderTable):
            changed[name] = above  # listed speeds and a range are one statement, not two
        elif isinstance(above, Table) and isinstance(below, Table):
            changed[name] = overlaid(below, above)
        elif isinstance(above, dict) and isinstance(below, dict):
            changed[name] = below | above
        else:
            changed[name] = above
    return base.model_copy(update=changed)


def _shop(faults: Faults, table: ShopTable, name: str, path: str) -> Shop:
    def report(key: str, index: int, error: WordError) -> None:
        message = f"{key}: entry {index + 1} is {error.message}"
        faults.add("contradiction", ("cabinet", key, index), message, error.remedy)

    jaw, readout, finder = table.vice.jaw, table.readout, table.finder
    assert readout.resolution is not None and readout.resolution_inch is not None
    return Shop(
        name=name,
        mill=_mill(faults, table.mill),
        readout=Readout(
            readout.resolution, readout.resolution_inch, readout.axes, readout.reversed
        ),
        dials=_dials(faults, table),
        vice=Vice(jaw.width or 0.0, jaw.height or 0.0, jaw.thickness or 0.0, table.vice.fixed_jaw),
        finder=Finder(finder.diameter or 0.0, finder.speed),
        cabinet=read_cabinet(table.cabinet, report),
        control=_control(table.control),
        tools=_tools(faults, table),
        path=path,
        parallels=_parallels(faults, table),
        position_errors_mm=_position_errors(table.position_error),
        instruments=_instruments(faults, table.instruments),
    )


def _instruments(faults: Faults, table: InstrumentsTable) -> Instruments:
    def report(key: str, index: int, error: WordError) -> None:
        message = f"{key}: entry {index + 1} is {error.message}"
        faults.add("contradiction", ("instruments", key, index), message, error.remedy)

    def instrument(one: InstrumentTable) -> Instrument:
        return Instrument(one.uncertainty or 0.0, one.largest or 0.0)

    return Instruments(
        instrument(table.calliper),
        instrument(table.micrometer),
        instrument(table.bore_gauge),
        table.readout.uncertainty or 0.0,
        read_pins(table, report),
    )


def _position_errors(table: PositionErrorTable) -> dict[PositionMethod, float]:
    errors = {method: getattr(table, method.replace(" ", "_")) for method in POSITION_METHODS}
    return {method: error for method, error in errors.items() if error is not None}


def _parallels(faults: Faults, table: ShopTable) -> tuple[Parallels, ...]:
    thickness, heights = table.parallels.thickness, table.parallels.heights
    if heights and thickness is None:
        faults.add(
            "missing-key",
            ("parallels",),
            "parallels: heights are given and no thickness",
            "give thickness = 4, or what one strip measures across",
        )
    return tuple(Parallels(thickness or 0.0, height) for height in heights)


def _mill(faults: Faults, table: MillTable) -> Mill:
    spindle, travel = table.spindle, table.travel
    has_range = spindle.min is not None and spindle.max is not None
    if (spindle.speeds is None) == (not has_range) or (spindle.min is None) != (
        spindle.max is None
    ):
        faults.add(
            "contradiction",
            ("mill", "spindle"),
            "spindle has either listed speeds or a range",
            "give speeds = [120, 220, 400], or min and max",
        )
    limits = None
    if spindle.min is not None and spindle.max is not None:
        limits = (spindle.min, spindle.max)
        if spindle.min >= spindle.max:
            faults.add(
                "contradiction",
                ("mill", "spindle"),
                "spindle: min is not below max",
                "give the lower speed as min",
            )
    assert travel.x is not None and travel.y is not None and travel.z is not None
    return Mill(
        travel_mm=(travel.x, travel.y, travel.z),
        speeds_rpm=spindle.speeds or (),
        speed_range_rpm=limits,
        max_feed_mm_per_min=table.max_feed or 0.0,
        rapid_mm_per_min=table.rapid or 0.0,
        quill_travel_mm=table.quill_travel,
        acceleration_mm_per_s2=table.acceleration,
        tool_change_s=table.tool_change_time or 0.0,
        head_moves=table.head_moves,
    )


def _dials(faults: Faults, table: ShopTable) -> dict[str, Dial]:
    dials: dict[str, Dial] = {}
    for axis in "xyz":
        dial: DialTable | None = getattr(table.dials, axis)
        if dial is None:
            continue
        if dial.lead is None or dial.divisions is None:
            faults.add(
                "missing-key",
                ("dials", axis),
                f"{axis}: lead and divisions are both needed",
                "measure the travel of one turn, and count the divisions",
            )
            continue
        dials[axis] = Dial(
            dial.lead,
            dial.divisions,
            dial.backlash,
            dial.clockwise,
            dial.numbers_rise,
            dial.correction_ppm,
        )
    return dials


def _control(table: ControlTable) -> Control:
    cycles = table.cycles
    if isinstance(cycles, bool):
        cycles = Control().cycles if cycles else frozenset()
    return Control(
        start_mm=table.start or _ORIGIN,
        home_mm=table.home or _ORIGIN,
        home_2_mm=table.home_2,
        offsets_mm=dict(table.offsets or {}),
        units=table.units,
        strict=table.strict,
        block_delete=table.block_delete,
        keeps=table.keeps,
        cycles=cycles,
        comments=table.comments,
        tool_change=table.tool_change,
        change_goes_up=table.change_goes_up,
        zero_in_stop=table.zero_in_stop,
        length_offset=table.length_offset,
        tapping=table.tapping,
        tap_speed_rpm=table.tap_speed,
        axes=table.axes,
    )


def _tools(faults: Faults, table: ShopTable) -> tuple[Tool, ...]:
    tools: dict[int, Tool] = {}
    taken: set[int] = set()
    for index, each in enumerate(table.tool):
        path = ("tool", index)
        if each.number in taken:
            faults.add(
                "duplicate-name",
                (*path, "number"),
                f"tool number {each.number} is taken",
                "give each tool its own number",
            )
            continue
        taken.add(each.number)
        try:
            tools[each.number] = table_tool(each)
        except WordError as error:
            faults.add("contradiction", path, error.message, error.remedy)
    return tuple(tools[number] for number in sorted(tools))
