"""The shape of a shop file: its tables and keys, lengths in millimetres once read.

Every key may be left out: a file is laid over a packaged shop, key by key.
"""

from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Literal, get_args

from pydantic import BeforeValidator, Field, StrictBool

from millprep.base.findings import WordError
from millprep.base.units import MM_PER_INCH, Units, read_length, shown
from millprep.infiles.control_schema import ControlTable
from millprep.infiles.fields import (
    ABOVE_NOTHING,
    LENGTH,
    ROOM,
    SIZE,
    AnyCount,
    Name,
    OneOf,
    PositiveNumber,
    ReadBy,
    Room,
    Seconds,
    Size,
    Some,
    Table,
    either,
    is_number,
    is_whole,
    just,
    length_mm,
    lengths_mm,
    number_within,
    one_of,
    some,
    takes,
    whole,
    word_of,
)
from millprep.infiles.tool_schema import Cutters, DrawerTable, ToolTable
from millprep.model.shop import PaperWord, Projection
from millprep.model.workholding import JawKind

_MOST_REVOLUTIONS = 200_000
_MOST_PPM = 5000
_MOST_ERROR_MM = 5.0
_MOST_HOLES_ON_PLATE = 500


@takes(just(2, LENGTH))
def _range(value: object, units: Units) -> tuple[float, float]:
    remedy = "give the two ends in brackets: [0, 400]"
    low, high = lengths_mm(value, 2, units, "is not a range", remedy)
    if low >= high:
        raise WordError(f"{shown(value)} has no room", "give the lower end first")
    return low, high


@takes(SIZE)
def _count_of_readout(value: object, units: Units) -> Decimal:
    """A readout's count in millimetres, exactly."""
    exact = read_length(value, units)
    if not 0 < exact <= 1:
        raise WordError(f"{shown(value)} is no readout's count", 'give 0.005 or "0.0002 in"')
    return _decimal(exact)


@takes(SIZE)
def _count_in_inches(value: object, units: Units) -> Decimal:
    return _decimal(Fraction(_count_of_readout(value, units)) / MM_PER_INCH)


def _decimal(exact: Fraction) -> Decimal:
    return (Decimal(exact.numerator) / Decimal(exact.denominator)).normalize()


@takes(some(ABOVE_NOTHING, 1))
def _speeds(value: object) -> tuple[float, ...]:
    figures = value if isinstance(value, list) else []
    if not figures or not all(map(is_number, figures)):
        raise WordError(f"{shown(value)} is no list of speeds", "give rev/min: [120, 220, 400]")
    speeds = tuple(float(each) for each in figures)
    if min(speeds) <= 0 or max(speeds) > _MOST_REVOLUTIONS:
        raise WordError(f"{shown(value)} holds a speed out of range", "give rev/min above 0")
    return tuple(sorted(set(speeds)))


@takes(either(one_of("over the work"), just(2, LENGTH)))
def _change_place(value: object, units: Units) -> tuple[float, float] | None:
    if word_of(value) == "over the work":
        return None
    remedy = 'give x and y from the zero: [0, 120], or "over the work"'
    x, y = lengths_mm(value, 2, units, "is no position for a change", remedy)
    return x, y


Range = Annotated[tuple[float, float] | None, ReadBy(_range)]
CorrectionPpm = Annotated[
    float,
    number_within(
        -_MOST_PPM,
        _MOST_PPM,
        "correction of a screw",
        f"give parts per million, at most {_MOST_PPM} either way; 0.02 mm too far in 300 is 67",
    ),
]
"""Screws are out by tens of parts in a million; thousands are another lead."""


class TravelTable(Table):
    x: Range = None
    y: Range = None
    z: Range = None


class SpindleTable(Table):
    speeds: Annotated[tuple[float, ...] | None, ReadBy(_speeds)] = None
    min: PositiveNumber | None = None
    max: PositiveNumber | None = None


class MillTable(Table):
    travel: TravelTable = TravelTable.model_construct()
    spindle: SpindleTable = SpindleTable.model_construct()
    max_feed: Size | None = None
    rapid: Size | None = None
    quill_travel: Size | None = None
    acceleration: Size | None = None
    tool_change_time: Seconds | None = None
    head_moves: OneOf[Literal["keeps", "loses"]] = "keeps"
    change_height: Size | None = None
    change_place: Annotated[tuple[float, float] | None, ReadBy(_change_place)] = None


@takes(some(one_of("x", "y", "z")))
def _axes_reversed(value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or any(each not in ("x", "y", "z") for each in value):
        raise WordError(f"{shown(value)} is no list of axes", 'give ["y"], ["x", "y"] or []')
    return tuple(sorted(set(value)))


class ReadoutTable(Table):
    fitted: StrictBool = True
    resolution: Annotated[Decimal | None, ReadBy(_count_of_readout)] = None
    resolution_inch: Annotated[Decimal | None, ReadBy(_count_in_inches)] = None
    axes: OneOf[Literal["xy", "xyz"]] = "xy"
    reversed: Annotated[tuple[str, ...], ReadBy(_axes_reversed)] = ()


class DialTable(Table):
    lead: Size | None = None
    divisions: PositiveNumber | None = None
    backlash: Room = 0.0
    clockwise: OneOf[Literal["+", "-"]] = "+"
    numbers_rise: OneOf[Literal["clockwise", "anticlockwise"]] = "clockwise"
    correction_ppm: CorrectionPpm = 0.0


class DialsTable(Table):
    fitted: StrictBool = True
    x: DialTable | None = None
    y: DialTable | None = None
    z: DialTable | None = None


class JawTable(Table):
    width: Size | None = None
    height: Size | None = None
    thickness: Size | None = None


class VeeTable(Table):
    width: Size | None = None
    below: Size | None = None


@takes(some(one_of(*get_args(JawKind)), 1))
def _jaw_kinds(value: object) -> frozenset[JawKind]:
    kinds = [kind for kind in get_args(JawKind) if isinstance(value, list) and kind in value]
    if not isinstance(value, list) or len(kinds) != len(value) or "flat" not in kinds:
        remedy = 'give ["flat"], and "vee" or "soft" with it where the shop has them'
        raise WordError(f"{shown(value)} is no list of the jaws of a vice", remedy)
    return frozenset(kinds)


class ViceTable(Table):
    jaw: JawTable = JawTable.model_construct()
    opening: Size | None = None
    jaws: Annotated[frozenset[JawKind], BeforeValidator(_jaw_kinds)] = frozenset({"flat"})
    vee: VeeTable = VeeTable.model_construct()
    fixed_jaw: OneOf[Literal["away", "towards you"]] = "away"
    reseating: Size | None = None


@takes(some(SIZE))
def _heights(value: object, units: Units) -> tuple[float, ...]:
    if not isinstance(value, list):
        remedy = "give a height a pair: [10, 16, 22]"
        raise WordError(f"{shown(value)} is no list of heights", remedy)
    heights = {length_mm(each, units) for each in value}
    if heights and min(heights) <= 0:
        raise WordError(f"{shown(value)} holds a height that is none", "give lengths above 0")
    return tuple(sorted(heights))


class ParallelsTable(Table):
    thickness: Size | None = None
    heights: Annotated[tuple[float, ...], ReadBy(_heights)] = ()


@takes(just(2, SIZE))
def _table_size(value: object, units: Units) -> tuple[float, float]:
    remedy = "give what it measures along X and along Y: [500, 180]"
    along_x, along_y = lengths_mm(value, 2, units, "is no size of a table", remedy)
    if min(along_x, along_y) <= 0:
        raise WordError(f"{shown(value)} holds a length that is none", "give lengths above 0")
    return along_x, along_y


class SlotsTable(Table):
    width: Size | None = None
    pitch: Size | None = None


class MachineTableTable(Table):
    size: Annotated[tuple[float, float] | None, ReadBy(_table_size)] = None
    slots: SlotsTable = SlotsTable.model_construct()


class AnglePlateTable(Table):
    width: Size
    height: Size


class VeeBlockTable(Table):
    from_: Annotated[Size, Field(alias="from")]
    to: Size


class ChuckTable(Table):
    diameter: Size
    through: Room = 0.0


class HoldingTable(Table):
    straps: AnyCount = 0
    angle_plate: AnglePlateTable | None = None
    vee_blocks: Some[VeeBlockTable] = ()
    chuck: ChuckTable | None = None
    packing: Annotated[tuple[float, ...], ReadBy(_heights)] = ()


@takes(some(some(whole(2, _MOST_HOLES_ON_PLATE))))
def _plates(value: object) -> tuple[tuple[int, ...], ...]:
    plates = []
    for plate in value if isinstance(value, list) else [None]:
        circles = plate if isinstance(plate, list) else [None]
        if not all(is_whole(each, 2, _MOST_HOLES_ON_PLATE) for each in circles):
            remedy = "give the hole circles of each: [[15, 16, 17], [18, 19, 20]]"
            raise WordError(f"{shown(value)} is no list of plates", remedy)
        plates.append(tuple(sorted(set(circles))))
    return tuple(plates)


class DividingTable(Table):
    name: Name
    ratio: PositiveNumber
    plates: Annotated[tuple[tuple[int, ...], ...], BeforeValidator(_plates)] = ()
    kind: OneOf[Literal["rotary table", "dividing head"]] = "rotary table"
    centre_height: Size | None = None
    backlash: Annotated[
        float, number_within(0, 5, "backlash of a worm", "give degrees at the work, as 0.05")
    ] = 0.0
    chuck: ChuckTable | None = None


class FinderTable(Table):
    diameter: Size | None = None
    speed: PositiveNumber | None = None


@takes(ROOM)
def _typical_error(value: object, units: Units) -> float | None:
    """A length, nothing included; "none" strikes out a method that the shop does not have."""
    if word_of(value) == "none":
        return None
    error_mm = length_mm(value, units)
    if not 0 <= error_mm <= _MOST_ERROR_MM:
        raise WordError(
            f"{shown(value)} is no typical error of a hole's place",
            f'give what is usual either way, 0 to {_MOST_ERROR_MM:g} mm, or "none"',
        )
    return error_mm


TypicalError = Annotated[float | None, ReadBy(_typical_error)]


class PositionErrorTable(Table):
    """Typical error of a hole's place along an axis, either way, by method."""

    rule: TypicalError = None
    transfer_punch: TypicalError = None
    height_gauge: TypicalError = None
    dials: TypicalError = None
    readout: TypicalError = None
    program: TypicalError = None
    spotted_through: TypicalError = None
    reamed_together: TypicalError = None


class ReadoutReadingTable(Table):
    """How far a reading may be off, either way."""

    uncertainty: Size | None = None


class InstrumentTable(ReadoutReadingTable):
    """And the longest it reads."""

    largest: Room | None = None


class InstrumentsTable(Table):
    calliper: InstrumentTable = InstrumentTable.model_construct()
    micrometer: InstrumentTable = InstrumentTable.model_construct()
    bore_gauge: InstrumentTable = InstrumentTable.model_construct()
    readout: ReadoutReadingTable = ReadoutReadingTable.model_construct()
    pins: Cutters = ()


class DrawingTable(Table):
    """How drawings arrange their views, and the paper in the printer."""

    projection: OneOf[Projection] = "first"
    paper: OneOf[PaperWord | None] = None


class ShopTable(Table):
    name: Name | None = None
    units: OneOf[Units] = "mm"
    base: OneOf[Literal["metric", "inch"]] = "metric"
    mill: MillTable = MillTable.model_construct()
    readout: ReadoutTable = ReadoutTable.model_construct()
    dials: DialsTable = DialsTable.model_construct()
    vice: ViceTable = ViceTable.model_construct()
    parallels: ParallelsTable = ParallelsTable.model_construct()
    table: MachineTableTable = MachineTableTable.model_construct()
    holding: HoldingTable = HoldingTable.model_construct()
    finder: FinderTable = FinderTable.model_construct()
    position_error: PositionErrorTable = PositionErrorTable.model_construct()
    instruments: InstrumentsTable = InstrumentsTable.model_construct()
    drawing: DrawingTable = DrawingTable.model_construct()
    drawer: DrawerTable = DrawerTable.model_construct()
    control: ControlTable = ControlTable.model_construct()
    tool: tuple[ToolTable, ...] = ()
    dividing: tuple[DividingTable, ...] = ()
