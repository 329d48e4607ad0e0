"""The assembly: members and what holds them together, as frozen records in millimetres.

What the file says in words is settled before it gets here: every hole named is at hand. Where the
members lie is not: that follows from their holes.
"""

from __future__ import annotations

from typing import Literal, get_args

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.carrying import CarriedBy, Leave
from millprep.model.part import Face, Hole, Part, SetupRequest
from millprep.model.shop import PositionMethod
from millprep.reference.heads import HeadKind
from millprep.reference.threads import Thread

HowPinned = Literal["press", "slide", "pivot", "clear"]
HOW_PINNED: tuple[HowPinned, ...] = get_args(HowPinned)
Gap = Literal["scrap block", "open"]
"""What stands under the bores of a stack where members are apart."""


@frozen
class Edge:
    """One face of a member lies parallel to a face of another, so far from it [mm]."""

    face: Face
    other_face: Face
    distance_mm: float
    line: int | None = None


@frozen
class Member:
    """One part in the assembly; a part that is there twice is two members.

    file    : path as the assembly file gives it
    face, on, on_face : which of its faces lies on which face of which other member, where said
    edges   : to faces of that other member
    made_by : how its holes' places are found
    """

    name: str
    file: str
    part: Part
    made_by: PositionMethod
    face: Face | None = None
    on: str | None = None
    on_face: Face | None = None
    edges: tuple[Edge, ...] = ()
    line: int | None = None
    allow: tuple[str, ...] = ()


@frozen
class Place:
    """Holes of one member, named in a joint: a hole, a pattern, or some holes of a pattern.

    words   : as written ("cover: cover screw")
    face    : the face that the screw enters by, where said; else it is worked out
    loose_mm : no holes but a loose piece so thick: distance piece, gasket
    pin_class : of the pin in these holes, where it is another than the rest of it has
    """

    words: str
    member: str = ""
    holes: tuple[Hole, ...] = ()
    face: Face | None = None
    loose_mm: float | None = None
    pin_class: str | None = None

    @property
    def is_loose(self) -> bool:
        return self.loose_mm is not None


@frozen
class Carried:
    """How the holes of one member of a joint come into the others.

    source : the member whose holes are made first; by : how they are carried over
    after  : the stack that is waited for
    leave  : (member, how far its own sheets make its holes) of each of the others
    pilot_mm : of the drill where one of them is left with a pilot
    setup  : what the file says of the setting, its face not being asked; None where nothing
    """

    source: str
    by: CarriedBy
    after: str | None = None
    leave: tuple[tuple[str, Leave], ...] = ()
    pilot_mm: float | None = None
    setup: SetupRequest | None = None


@frozen
class ScrewJoint:
    """Screws, each through a hole of every place of `through`, into a thread or a nut.

    through   : from the head on; empty where the hole is opened and tapped in one member
    into      : the tapped holes, or None for a nut
    thread    : of the screw; kind None is a stud, with a nut on both ends
    washers, nut_washers : how many under the head (the first nut of a stud), under the nut
    table     : name of the file's [[joint]], which is several of these where its holes are those of
                several members, hole by hole
    """

    name: str
    through: tuple[Place, ...]
    into: Place | None
    thread: Thread
    length_mm: float
    kind: HeadKind | None
    washers: int = 0
    nut_washers: int = 0
    may_come_out: bool = False
    allow: tuple[str, ...] = ()
    words: str = ""
    line: int | None = None
    table: str = ""
    carried: Carried | None = None

    @property
    def places(self) -> tuple[Place, ...]:
        return self.through if self.into is None else (*self.through, self.into)


@frozen
class PinJoint:
    """Pins: how each is meant to sit in the holes of each member.

    pin_class   : ISO 286 class of the pin, or None where `measured_mm` is given
    measured_mm : the pin, and then of the holes by their places' words, as measured
    length_mm   : None: as long as its holes
    swing_deg   : what runs on it swings so far each way from how it lies; None: right round
    """

    name: str
    diameter_mm: float
    pin_class: str | None
    measured_mm: float | None
    held: tuple[tuple[HowPinned, Place], ...]
    measured_holes_mm: tuple[float | None, ...] = ()
    allow: tuple[str, ...] = ()
    words: str = ""
    line: int | None = None
    length_mm: float | None = None
    swing_deg: float | None = None
    carried: Carried | None = None

    @property
    def places(self) -> tuple[Place, ...]:
        return tuple(place for _, place in self.held)


@frozen
class Shared:
    """Patterns that must lie over each other, with nothing through them, to within a distance."""

    name: str
    places: tuple[Place, ...]
    within_mm: float
    allow: tuple[str, ...] = ()
    line: int | None = None


@frozen
class Stack:
    """Holes reamed in one go through all the members, clamped together; the first is on top.

    stack    : the clamping, one for all the tables that have its name; else the table's own name
    members  : of the clamping, where the file says them
    gap      : what fills the gaps under the bores; None where the file does not say
    leave    : (member, how far its own sheets make its holes) of each member that has them
    pilot_mm : of the drill where one of them is left with a pilot
    setup    : what the file says of the setting, its face not being asked; None where nothing
    """

    name: str
    places: tuple[Place, ...]
    allow: tuple[str, ...] = ()
    line: int | None = None
    stack: str = ""
    members: tuple[str, ...] = ()
    gap: Gap | None = None
    leave: tuple[tuple[str, Leave], ...] = ()
    pilot_mm: float | None = None
    setup: SetupRequest | None = None
    key: str = ""


@frozen
class Pair:
    """Two members that are each other's opposite hand, but for holes of those names."""

    members: tuple[str, str]
    allow: tuple[str, ...] = ()
    line: int | None = None
    differ: tuple[str, ...] = ()


@frozen
class Assembly:
    """An assembly file, understood."""

    name: str
    units: Units
    members: tuple[Member, ...]
    joints: tuple[ScrewJoint | PinJoint, ...] = ()
    shared: tuple[Shared, ...] = ()
    stacks: tuple[Stack, ...] = ()
    pairs: tuple[Pair, ...] = ()
    note: str = ""
    path: str = ""
    mark: str = ""
    quantity: int = 1

    def member(self, name: str) -> Member:
        return next(member for member in self.members if member.name == name)
