"""Holes that a part leaves for later: finished in a stack, or carried over from a mate."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, get_args

from millprep.base.records import frozen

Leave = Literal["undrilled", "spotted", "pilot"]
LEAVES: tuple[Leave, ...] = get_args(Leave)
"""How far a part's own sheets make a hole that is finished later."""


@frozen
class Left:
    """One hole that is left for later.

    hole     : its name; made : how far the part's own sheets make it
    later    : the step that goes on with it, in words: 'reamed in stack "bearings"'
    file     : the assembly file that says so
    pilot_mm : of the drill, where it is left with a pilot
    stack    : in which it is finished, or "": it is carried over, and finished in the part's sheets
    is_spotted : carrying it over leaves a spot, not a mark
    is_there : it has been carried over: the sheet goes on with it
    """

    hole: str
    made: Leave
    later: str
    file: str
    pilot_mm: float | None = None
    stack: str = ""
    is_spotted: bool = False
    is_there: bool = False


if TYPE_CHECKING:
    from millprep.model.part import Face, Hole, Stock

CarriedBy = Literal["spotted through", "transfer punch", "transfer screw", "jig", "readings"]
DRILLED: frozenset[CarriedBy] = frozenset({"spotted through", "jig"})
"""Ways in which a drill goes through the hole that is there."""


@frozen
class Mate:
    """A hole that is there, and the one that comes from it.

    name    : of the hole that comes, as the sheet calls it; member : whose it is
    source  : the hole that is there, as its own part has it; hole : the one that comes, finished
    """

    name: str
    member: str
    source: Hole
    hole: Hole

    @property
    def passes_mm(self) -> float:
        """Diameter of what goes through the hole that is there: a tapped one's before the tap."""
        thread = self.source.thread
        return self.source.diameter_mm if thread is None else thread.tap_drill_mm


@frozen
class Beside:
    """Which edges of a member and of the first lie along each other, and how far inside [mm]:
    negative outside. Both None: one is round; middle : how far its middle lies from faces of the
    first, () where that is middle over middle."""

    member: str
    face: Face | None
    other_face: Face | None
    inside_mm: float = 0.0
    middle: tuple[tuple[Face, float], ...] = ()


@frozen
class Carrying:
    """One joint of an assembly whose holes are carried over, ready for its sheet.

    source   : the member whose holes are there; face : of it, that is up
    meets    : (member, face that lies against the source) of each of the others
    blanks   : of each member, the source first
    after    : the stack that is done before
    share    : of the cases in which all screws enter so, 0 to 1; None: not worked out
    better   : where those are too few, what would do
    finishes : (part file, hole or pattern) that is finished then in the part's own sheets
    punches_mm : transfer punches of the shop, ascending
    """

    joint: str
    by: CarriedBy
    source: str
    face: Face
    meets: tuple[tuple[str, Face], ...]
    mates: tuple[Mate, ...]
    besides: tuple[Beside, ...]
    blanks: tuple[tuple[str, Stock], ...]
    after: str | None = None
    share: float | None = None
    better: str | None = None
    finishes: tuple[tuple[str, str], ...] = ()
    punches_mm: tuple[float, ...] = ()
