"""The shape of an assembly file: its tables and keys, lengths in millimetres once read.

What a key means on its own is settled here; which holes it names, in `assembly_file`.
"""

from typing import Annotated, Any, ClassVar

from pydantic import Field, StrictBool

from millprep.base.bounds import MOST_MADE
from millprep.base.findings import WordError
from millprep.base.units import Units, shown
from millprep.infiles.fields import (
    HOLES,
    LENGTH,
    SIZE,
    Holds,
    Name,
    OneOf,
    ReadBy,
    Room,
    Size,
    Some,
    Table,
    Text,
    either,
    just,
    number_within,
    one_of,
    some,
    takes,
    whole,
    whole_within,
)
from millprep.infiles.part_schema import SetupTable
from millprep.infiles.part_words import FaceWord, Names
from millprep.model.assembled import Gap
from millprep.model.carrying import LEAVES, CarriedBy
from millprep.model.part import FACES, Hold
from millprep.model.shop import PositionMethod

_MOST_WASHERS = 10


@takes(either({"type": "boolean"}, whole(0, _MOST_WASHERS)))
def _washers(value: object) -> int:
    if isinstance(value, bool):
        return int(value)
    if not isinstance(value, int) or not 0 <= value <= _MOST_WASHERS:
        remedy = f"give true, or how many: 0 to {_MOST_WASHERS}"
        raise WordError(f"{shown(value)} is no number of washers", remedy)
    return value


_EDGES = {
    "type": "object",
    "propertyNames": one_of(*FACES),
    "additionalProperties": either(
        one_of(*FACES), {**just(2, LENGTH), "prefixItems": [one_of(*FACES)]}
    ),
}
_LEAVE = either(one_of(*LEAVES), {"type": "object", "additionalProperties": one_of(*LEAVES)})
HolesOf = Annotated[Any, Holds(HOLES)]
"""Holes of a member, by its name and theirs; or a loose piece, where one may lie between."""
Washers = Annotated[int, ReadBy(_washers)]
Quantity = Annotated[
    int,
    whole_within(1, MOST_MADE, "quantity", f"say how many of the whole are made: 1 to {MOST_MADE}"),
]
Swing = Annotated[float, number_within(0, 180, "swing in degrees", "give degrees, 0 to 180")]


class MemberTable(Table):
    """One member, where more is said of it than its file."""

    part: Annotated[Text, Field(description='write part = "cover.toml", the path from this file')]
    face: FaceWord | None = None
    on: Text | None = None
    edges: Annotated[Any, Holds(_EDGES)] = None
    made_by: OneOf[PositionMethod] | None = None
    allow: Names = ()


class CarriedTable(Table):
    """`carried` of a joint."""

    from_: Annotated[Name, Field(alias="from", description='write { from = "foot", by = "jig" }')]
    by: Annotated[OneOf[CarriedBy], Field(description='write { from = "foot", by = "jig" }')]


class JointTable(Table):
    """One [[joint]]."""

    name: Name | None = None
    screw: Text | None = None
    stud: Text | None = None
    pin: Annotated[Any, Holds(SIZE)] = None
    through: Some[Annotated[Any, Holds(either(HOLES, SIZE, some(HOLES, 1)))]] = ()
    into: Some[HolesOf] = ()
    nut: StrictBool = False
    washers: Washers = 0
    nut_washers: Washers = 0
    may_come_out: StrictBool = False
    press: Some[HolesOf] = ()
    slide: Some[HolesOf] = ()
    pivot: Some[HolesOf] = ()
    clear: Some[HolesOf] = ()
    measured: dict[str, Size] = Field(default_factory=dict)
    length: Size | None = None
    swing: Swing | None = None
    carried: CarriedTable | None = None
    after: Name | None = None
    leave: Annotated[Any, Holds(_LEAVE)] = None
    pilot: Size | None = None
    setup: SetupTable | None = None
    allow: Names = ()


class SharedTable(Table):
    """One [[shared]]."""

    name: Name | None = None
    holes: Annotated[tuple[HolesOf, ...], Field(description='write holes = ["a: port", "b: port"]')]
    within: Room | None = None
    allow: Names = ()


class StackTable(Table):
    """One [[reamed_together]]."""

    name: Name | None = None
    holes: Annotated[
        tuple[HolesOf, ...], Field(description='write holes = ["a: shaft", "b: shaft"]')
    ]
    stack: Name | None = None
    members: Names = ()
    gap: OneOf[Gap | None] = None
    hold: OneOf[Hold | None] = None
    leave: Annotated[Any, Holds(_LEAVE)] = None
    pilot: Size | None = None
    setup: SetupTable | None = None
    allow: Names = ()


class PairTable(Table):
    """One [[handed_pair]]."""

    members: Annotated[Names, Field(description='write members = ["left", "right"]')]
    differ: Names = ()
    allow: Names = ()


class AssemblyTable(Table):
    """The top of the file. The tables below it are validated one by one."""

    assembly: Annotated[Name, Field(description='write assembly = "Twin engine"')]
    units: OneOf[Units] = "mm"
    made_by: OneOf[PositionMethod] = "readout"
    quantity: Quantity = 1
    note: Text = ""
    members: Annotated[
        Any, Field(description='add [members] with a line for each: cover = "cover.toml"')
    ]
    joint: Any = None
    shared: Any = None
    reamed_together: Any = None
    handed_pair: Any = None

    tables: ClassVar[dict[str, type[Table]]] = {
        "members": MemberTable,
        "joint": JointTable,
        "shared": SharedTable,
        "reamed_together": StackTable,
        "handed_pair": PairTable,
    }
