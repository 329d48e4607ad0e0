"""The shape of a part file: its tables and keys, lengths in millimetres once read.

What a key means on its own is settled here; what keys mean together, in `holes` and `part_file`.
"""

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, PrivateAttr, StrictBool, WrapValidator

from millprep.base.findings import WordError
from millprep.base.units import Units, shown
from millprep.infiles.fields import (
    TEXT,
    Angle,
    CircleCount,
    ConeAngle,
    Count,
    Holds,
    Length,
    Name,
    OneOf,
    Room,
    Size,
    Some,
    StockSize,
    Table,
    Text,
    takes,
)
from millprep.infiles.part_words import (
    AxisWord,
    BlockSize,
    Corner,
    DepthWord,
    DrillWord,
    Ends,
    FaceWord,
    GradeWord,
    Inset,
    Limits,
    Names,
    Pair,
    Pecks,
    PlaceWords,
    Point,
    Points,
    ThreadWord,
    WorkOffset,
)
from millprep.infiles.wording import UnknownWordError
from millprep.model.part import Face, Hold
from millprep.reference.heads import Head
from millprep.sizes import read_screw


class Circle(Table):
    centre: Point | None = None
    diameter: Size | None = None
    radius: Size | None = None
    chord: Size | None = None
    count: CircleCount
    start: Angle = 0.0
    clockwise: StrictBool = False


class Arc(Table):
    centre: Point | None = None
    diameter: Size | None = None
    radius: Size | None = None
    count: CircleCount
    start: Angle
    end: Angle


class Row(Table):
    start: Point
    step: Pair | None = None
    end: Point | None = None
    count: CircleCount


class Grid(Table):
    start: Point
    step: Pair
    columns: Count
    rows: Count


class Corners(Table):
    inset: Inset


class Polar(Table):
    radius: Size
    angle: Angle


class PatternFrom(Table):
    """Places taken from a pattern of another part file."""

    holes: Annotated[Text, Field(description='write holes = "cover.toml: cover screw"')]
    middle: Point | None = None
    as_seen: OneOf[Literal["same", "facing"] | None] = None
    turned: Angle = 0.0


@takes(TEXT, also=True)
def _pattern_from(value: object) -> object:
    """The short form names the pattern and nothing else."""
    return {"holes": value} if isinstance(value, str) else value


class CutTable(Table):
    """What is cut round a mouth; `words` name the screw that it is for, where one is named."""

    diameter: Size
    _words: str = PrivateAttr("")

    @property
    def words(self) -> str:
        return self._words


class RecessTable(CutTable):
    """A counterbore or spotface."""

    depth: Size | None = None


class CountersinkTable(CutTable):
    angle: ConeAngle = 90.0


def _head(text: str, kind: str) -> Head:
    try:
        head = read_screw(text)
    except WordError as error:
        raise UnknownWordError(error.message, error.remedy) from None
    if head.kind != kind:
        raise WordError(f"{shown(text)} is a {head.kind} screw", f"name a {kind} screw")
    return head


@takes(TEXT, also=True)
def _counterbore(value: object, handler: Any) -> RecessTable:
    if not isinstance(value, str):
        table: RecessTable = handler(value)
        if table.depth is None:
            remedy = "write { diameter = 8, depth = 4.4 }"
            raise WordError("its depth is missing", remedy, kind="missing-key")
        return table
    head = _head(value, "socket head")
    size_mm, depth_mm = head.counterbore_diameter_mm, head.counterbore_depth_mm
    if size_mm is None or depth_mm is None:
        remedy = "write { diameter = ..., depth = ... }"
        raise UnknownWordError(f"no counterbore is listed for {shown(value)}", remedy)
    made = RecessTable.model_construct(diameter=size_mm, depth=depth_mm)
    made._words = head.screw
    return made


@takes(TEXT, also=True)
def _countersink(value: object, handler: Any) -> CountersinkTable:
    if not isinstance(value, str):
        table: CountersinkTable = handler(value)
        return table
    head = _head(value, "countersunk")
    angle_deg = head.angle_deg or 90.0
    made = CountersinkTable.model_construct(diameter=head.head_diameter_mm, angle=angle_deg)
    made._words = head.screw
    return made


Counterbore = Annotated[RecessTable, WrapValidator(_counterbore)]
CountersinkWord = Annotated[CountersinkTable, WrapValidator(_countersink)]


class MouthTable(Table):
    counterbore: Counterbore | None = None
    countersink: CountersinkWord | None = None
    spotface: RecessTable | None = None


ScrewWord = Annotated[Any, Holds(TEXT)]
"""A screw, whose hole depends on the grade of clearance that stands beside it."""


class OpenedTable(Table):
    clear: ScrewWord = None
    diameter: DrillWord | None = None
    depth: Size


class HoleTable(MouthTable):
    """One [[hole]], or the [defaults] of all."""

    name: Name | None = None
    face: FaceWord = "top"
    drill: DrillWord | None = None
    tap: ThreadWord | None = None
    ream: DrillWord | None = None
    clear: ScrewWord = None
    bore: DrillWord | None = None
    diameter: Size | None = None
    pitch: Size | None = None
    clearance: GradeWord = "normal"
    opened: Some[OpenedTable] = ()
    far: MouthTable | None = None
    from_both_ends: StrictBool = False
    fit: Name | None = None
    pin: OneOf[Literal["press", "slide", "pivot"] | None] = None
    limits: Limits = None
    depth: DepthWord | None = None
    drill_depth: Size | None = None
    at: PlaceWords = None
    circle: Circle | None = None
    arc: Arc | None = None
    row: Row | None = None
    grid: Grid | None = None
    corners: Corners | None = None
    chain: Points | None = None
    polar: Polar | None = None
    pattern_from: Annotated[PatternFrom | None, BeforeValidator(_pattern_from)] = None
    from_: Annotated[Name | None, Field(alias="from")] = None
    skip: Some[Count] = ()
    tolerance: Size | None = None
    position: Size | None = None
    spot: StrictBool = True
    drills: Some[DrillWord] | None = None
    peck: Pecks = None
    breakthrough: Room | None = None
    note: Text = ""
    meets: Names = ()
    allow: Names = ()


class MeasuredTable(Table):
    x: StockSize | None = None
    y: StockSize | None = None
    z: StockSize | None = None
    diameter: StockSize | None = None
    length: StockSize | None = None


class StockTable(Table):
    size: BlockSize = None
    diameter: StockSize | None = None
    length: StockSize | None = None
    axis: AxisWord = "z"
    bore: Size | None = None
    measured: MeasuredTable | None = None
    guessed: StrictBool = False


class DatumTable(Table):
    x: OneOf[Literal["left", "right", "centre"]] = "left"
    y: OneOf[Literal["front", "back", "centre"]] = "front"
    z: OneOf[Literal["bottom", "top", "centre"]] = "bottom"


class DimensionTable(Table):
    """One [[dimension]]: what the drawing says of two things that are placed already."""

    between: Annotated[Ends, Field(description='write between = ["left", "pivot"], two names')]
    along: OneOf[Literal["x", "y", "z", "straight"] | None] = None
    is_: Annotated[Room | None, Field(alias="is")] = None
    tolerance: Size | None = None


ZeroWord = OneOf[Face | Literal["centre"] | None]


class ZeroTable(Table):
    x: ZeroWord = None
    y: ZeroWord = None


class ViceTable(Table):
    grip: Size | None = None
    jaws: OneOf[Literal["x", "y"]] = "y"


class ParallelsTable(Table):
    thickness: Size
    height: Size
    at: tuple[Length, ...] = ()


class StrapTable(Table):
    """Where the toe of a strap presses on the part, from the zero."""

    at: Pair


class ObstacleTable(Table):
    name: Name = "obstacle"
    from_: Annotated[Corner, Field(alias="from")]
    to: Corner


class SetupTable(Table):
    face: FaceWord = "top"
    towards_you: FaceWord | None = None
    holes: Names = ()
    zero: ZeroTable = ZeroTable.model_construct()
    work_offset: OneOf[WorkOffset] = "G54"
    hold: OneOf[Hold | None] = None
    vice: ViceTable = ViceTable.model_construct()
    straps: Some[StrapTable] = ()
    packing: Size | None = None
    parallels: ParallelsTable | None = None
    backing: Room = 0.0
    safe_height: Size | None = None
    obstacle: tuple[ObstacleTable, ...] = ()


class PartTable(Table):
    """The top of the file. The tables below it are validated one by one, so that a
    fault in one does not hide those of the others."""

    part: Annotated[Name, Field(description='write part = "Port block"')]
    drawing: Text = ""
    units: Annotated[OneOf[Units], Field(description='write units = "mm" or units = "inch"')]
    material: Annotated[Text, Field(description='write material = "mild steel", or what it is')]
    general_tolerance: Size | None = None
    note: Text = ""
    stock: Annotated[
        Any, Field(description="add [stock] with size = [x, y, z], or diameter and length")
    ]
    datum: Any = None
    defaults: Any = None
    hole: Any = None
    dimension: Any = None
    setup: Any = None

    tables: ClassVar[dict[str, type[Table]]] = {
        "stock": StockTable,
        "datum": DatumTable,
        "defaults": HoleTable,
        "hole": HoleTable,
        "dimension": DimensionTable,
        "setup": SetupTable,
    }


class OppositeTable(Table):
    """A file that makes the opposite hand of another."""

    opposite_hand_of: Text
    mirror: AxisWord = "x"
    part: Name | None = None
    drawing: Text | None = None
    note: Text | None = None
    without: Names = ()
    hole: Any = None

    tables: ClassVar[dict[str, type[Table]]] = {"hole": HoleTable}
