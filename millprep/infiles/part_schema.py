"""The shape of a part file: its tables and keys, lengths in millimetres once read.

What a key means on its own is settled here; what keys mean together, in `holes` and `part_file`.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, PrivateAttr, StrictBool, WrapValidator

from millprep.base.findings import WordError
from millprep.base.units import Units, shown
from millprep.infiles.fields import (
    Angle,
    CircleCount,
    ConeAngle,
    Count,
    Length,
    Name,
    Room,
    Size,
    StockSize,
    Table,
    Text,
    as_list,
    fault,
    one_of,
    word_fault,
)
from millprep.infiles.part_words import (
    AxisWord,
    BlockSize,
    Corner,
    DepthWord,
    Drills,
    DrillWord,
    Ends,
    FaceWord,
    Grade,
    Inset,
    Limits,
    Names,
    Pair,
    Pecks,
    PlaceWords,
    Point,
    Points,
    ThreadWord,
)
from millprep.model.part import FACES, Face
from millprep.reference.heads import Head
from millprep.sizes import read_screw

WORK_OFFSETS = ("G54", "G55", "G56", "G57", "G58", "G59")


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
    as_seen: Annotated[Literal["same", "facing"] | None, one_of("same", "facing")] = None
    turned: Angle = 0.0


def _pattern_from(value: object) -> object:
    """The short form names the pattern and nothing else."""
    return {"holes": value} if isinstance(value, str) else value


def _head(text: str, kind: str) -> Head:
    try:
        head = read_screw(text)
    except WordError as error:
        raise word_fault(error) from None
    if head.kind != kind:
        raise fault(f"{shown(text)} is a {head.kind} screw", f"name a {kind} screw")
    return head


class RecessTable(Table):
    """A counterbore or spotface."""

    diameter: Size
    depth: Size | None = None
    _words: str = PrivateAttr("")

    @property
    def words(self) -> str:
        """The screw it is for, where one is named."""
        return self._words


class CountersinkTable(Table):
    diameter: Size
    angle: ConeAngle = 90.0
    _words: str = PrivateAttr("")

    @property
    def words(self) -> str:
        return self._words


def _counterbore(value: object, handler: Any) -> RecessTable:
    if not isinstance(value, str):
        table: RecessTable = handler(value)
        if table.depth is None:
            raise fault(
                "its depth is missing", "write { diameter = 8, depth = 4.4 }", "missing-key"
            )
        return table
    head = _head(value, "socket head")
    if head.counterbore_diameter_mm is None or head.counterbore_depth_mm is None:
        raise fault(
            f"no counterbore is listed for {shown(value)}",
            "write { diameter = ..., depth = ... }",
            "unknown-word",
        )
    made = RecessTable.model_construct(
        diameter=head.counterbore_diameter_mm, depth=head.counterbore_depth_mm
    )
    made._words = head.screw
    return made


def _countersink(value: object, handler: Any) -> CountersinkTable:
    if not isinstance(value, str):
        table: CountersinkTable = handler(value)
        return table
    head = _head(value, "countersunk")
    made = CountersinkTable.model_construct(
        diameter=head.head_diameter_mm, angle=head.angle_deg or 90.0
    )
    made._words = head.screw
    return made


Counterbore = Annotated[RecessTable, WrapValidator(_counterbore)]
CountersinkWord = Annotated[CountersinkTable, WrapValidator(_countersink)]


class MouthTable(Table):
    counterbore: Counterbore | None = None
    countersink: CountersinkWord | None = None
    spotface: RecessTable | None = None


class OpenedTable(Table):
    clear: Any = None
    diameter: DrillWord | None = None
    depth: Size


class HoleTable(MouthTable):
    """One [[hole]], or the [defaults] of all."""

    name: Name | None = None
    face: FaceWord = "top"
    drill: DrillWord | None = None
    tap: ThreadWord | None = None
    ream: DrillWord | None = None
    clear: Any = None
    bore: DrillWord | None = None
    clearance: Grade = "normal"
    opened: Annotated[tuple[OpenedTable, ...], BeforeValidator(as_list)] = ()
    far: MouthTable | None = None
    from_both_ends: StrictBool = False
    fit: Name | None = None
    pin: Annotated[str | None, one_of("press", "slide", "pivot")] = None
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
    skip: Annotated[tuple[Count, ...], BeforeValidator(as_list)] = ()
    tolerance: Size | None = None
    position: Size | None = None
    spot: StrictBool = True
    drills: Drills | None = None
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


class DatumTable(Table):
    x: Annotated[Literal["left", "right", "centre"], one_of("left", "right", "centre")] = "left"
    y: Annotated[Literal["front", "back", "centre"], one_of("front", "back", "centre")] = "front"
    z: Annotated[Literal["bottom", "top", "centre"], one_of("bottom", "top", "centre")] = "bottom"


class DimensionTable(Table):
    """One [[dimension]]: what the drawing says of two things that are placed already."""

    between: Annotated[Ends, Field(description='write between = ["left", "pivot"], two names')]
    along: Annotated[
        Literal["x", "y", "z", "straight"] | None, one_of("x", "y", "z", "straight")
    ] = None
    is_: Annotated[Room | None, Field(alias="is")] = None
    tolerance: Size | None = None


ZeroWord = Annotated[Face | Literal["centre"] | None, one_of(*FACES, "centre")]


class ZeroTable(Table):
    x: ZeroWord = None
    y: ZeroWord = None


class ViceTable(Table):
    grip: Size | None = None
    jaws: Annotated[Literal["x", "y"], one_of("x", "y")] = "y"


class ParallelsTable(Table):
    thickness: Size
    height: Size
    at: tuple[Length, ...] = ()


class ObstacleTable(Table):
    name: Name = "obstacle"
    from_: Annotated[Corner, Field(alias="from")]
    to: Corner


class SetupTable(Table):
    face: FaceWord = "top"
    towards_you: FaceWord | None = None
    zero: ZeroTable = Field(default_factory=ZeroTable.model_construct)
    work_offset: Annotated[str, one_of(*WORK_OFFSETS)] = "G54"
    vice: ViceTable = Field(default_factory=ViceTable.model_construct)
    parallels: ParallelsTable | None = None
    backing: Room = 0.0
    safe_height: Size | None = None
    obstacle: tuple[ObstacleTable, ...] = ()


class PartTable(Table):
    """The top of the file. The tables below it are validated one by one, so that a
    fault in one does not hide those of the others."""

    part: Annotated[Name, Field(description='write part = "Port block"')]
    drawing: Text = ""
    units: Annotated[
        Units, one_of("mm", "inch"), Field(description='write units = "mm" or units = "inch"')
    ]
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
