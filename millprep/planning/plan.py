"""The plan: every operation at every hole, with its tool, its depth and its speed, in order.

Data only; `operations.py` fills it, `ordering.py` sorts it. Imports layers 0 to 3.
"""

from __future__ import annotations

from typing import Literal

from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.model.tools import Cutter
from millprep.planning.making import BoringPass, making_of
from millprep.setting.holding import Holding
from millprep.setting.setups import Setup
from millprep.setting.skew import turned
from millprep.setting.zeroing import AxisZero

Place = tuple[float, float]


@frozen
class Helix:
    """How an end mill goes round a hole, down to its floor and out to its size; or a countersink
    round its mouth, at one height [mm].

    wide_mm  : of the tool where it cuts: of a countersink, at the face
    from_mm  : diameter of the hole that is there, 0 in the solid
    rough_mm : diameters to which it is opened before, one after the other
    to_mm    : its size, by a whole turn at depth
    turn_mm  : how far each helix goes down a turn; of a countersink nothing
    """

    wide_mm: float
    from_mm: float
    rough_mm: tuple[float, ...]
    to_mm: float
    turn_mm: tuple[float, ...] = ()


@frozen
class Operation:
    """One operation at one hole, in setup axes.

    x_mm, y_mm : where; z_mm : where the tool's end goes (negative is down from the face)
    full_mm    : depth to which the finished diameter of this operation reaches, positive
    cone_mm    : diameter at the face of a spot or countersink
    pecks_mm   : Z of the tool's end after each peck, ending in z_mm; empty for one go
    rpm, feed_mm_per_min : under power (a tap's are for a control that taps)
    dulled_lips : the drill opens out a smaller hole, into which it would draw itself with its hook
    by_hand    : the hand does it on a manual mill; turns : of a tap,
                 from where the hole is no wider than its thread
    rim_mm     : of a countersink, how wide the hole is that it sinks into
    boring     : of a boring head, which pass it is
    helix      : of an end mill that goes round, its turns; the feed is that of its edge
    piece      : at which of several pieces on the table, from 1; 0 where there is one
    """

    hole: Hole
    name: str
    tool: Cutter
    in_drawer: bool
    x_mm: float
    y_mm: float
    z_mm: float
    full_mm: float
    rpm: float
    feed_mm_per_min: float
    cone_mm: float | None = None
    pecks_mm: tuple[float, ...] = ()
    by_hand: bool = False
    turns: float | None = None
    dulled_lips: bool = False
    rim_mm: float | None = None
    boring: BoringPass | None = None
    helix: Helix | None = None
    piece: int = 0

    @property
    def where(self) -> str:
        """The hole by its name, and the piece it is in where there are several."""
        return f"piece {self.piece} {self.hole.name}" if self.piece else self.hole.name

    @property
    def beside_mm(self) -> float:
        """How far from the hole's axis that of the tool goes."""
        return 0.0 if self.helix is None else (self.helix.to_mm - self.helix.wide_mm) / 2

    @property
    def is_true(self) -> bool:
        """Whether it leaves the hole round and to size."""
        return self.hole.kind.is_true and self.is_finish

    @property
    def is_finish(self) -> bool:
        """Whether it is what gives the hole its size."""
        is_last = self.boring is None or self.boring.is_last
        return is_last and self.name == making_of(self.hole).operation


def at_angle(operation: Operation, angle_deg: float) -> Operation:
    """The operation with its place turned about the zero."""
    x_mm, y_mm = turned(operation.x_mm, operation.y_mm, angle_deg)
    return replace(operation, x_mm=x_mm, y_mm=y_mm)


@frozen
class Scope:
    """Which of a setup's operations a program makes, and how: all of them, cutting, where nothing
    is said.

    kind       : of a restart it makes the rest; of "tool" and "spots" others make the rest later
    tool       : number of the one that is alone, or that a restart begins with
    raised_mm  : a proving run, so far above the part
    is_turning : whether the spindle runs
    whole      : the operations of the setup, whoever makes them; before : those taken as made
    left_out   : names of holes that nothing enters
    over       : of a restart, what was made last, to prove the zero over
    carrier    : what the tool before has done, where the first tool is a centre in its place
    """

    kind: Literal["whole", "restart", "tool", "spots"] = "whole"
    tool: int = 0
    raised_mm: float = 0.0
    is_turning: bool = True
    whole: tuple[Operation, ...] = ()
    before: tuple[Operation, ...] = ()
    left_out: tuple[str, ...] = ()
    over: Operation | None = None
    carrier: Operation | None = None

    @property
    def is_proving(self) -> bool:
        return self.raised_mm > 0

    @property
    def is_all(self) -> bool:
        """Whether nothing else than the whole program is wanted."""
        return self.kind == "whole" and not self.is_proving and not self.left_out


@frozen
class SetupPlan:
    """The operations of one setup, in the order in which they are done.

    holding  : what holds the part
    zeros    : how X and Y get their zero
    skew_deg : by which the part lies askew, anticlockwise; X and Y of the operations allow for it
    places_mm : of several pieces on one table the zero of each, from the first's; () for one
    loaded    : how many pieces are put in one after another while its program runs; 0 for none
    kept      : how many of the first operations are made at a piece before it is taken out
    scope    : which of a setup's operations these are, for a program
    """

    setup: Setup
    operations: tuple[Operation, ...]
    holding: Holding
    zeros: tuple[AxisZero, AxisZero]
    skew_deg: float = 0.0
    places_mm: tuple[Place, ...] = ()
    loaded: int = 0
    kept: int = 0
    scope: Scope = Scope()

    @property
    def whole(self) -> tuple[Operation, ...]:
        """The operations of the whole setup."""
        return self.scope.whole or self.operations

    @property
    def below_mm(self) -> float:
        """How far the deepest tool comes out of the underside; 0 where none does."""
        deepest_mm = max((-one.z_mm for one in self.operations), default=0.0)
        return max(deepest_mm - self.setup.height_mm, 0.0)

    @property
    def square(self) -> tuple[Operation, ...]:
        """The operations where they are on the part: as if it lay square."""
        if not self.skew_deg:
            return self.operations
        return tuple(at_angle(one, -self.skew_deg) for one in self.operations)


@frozen
class Assumed:
    """Defaults that were used, None or () where nothing asks for them.

    breakthrough_mm : the least, of holes that go through; cone_over_mm : of a spot, over the size
    """

    breakthrough_mm: float | None = None
    cone_over_mm: float | None = None
    point_angles_deg: tuple[float, ...] = ()

    @property
    def words(self) -> tuple[str, ...]:
        beyond, cone = self.breakthrough_mm, self.cone_over_mm
        return (
            *([] if beyond is None else [f"breakthrough {beyond:.1f} mm or a tenth of the drill"]),
            *([] if cone is None else [f"spot cone {cone} mm over size"]),
            *(f"drill points {angle:g} deg" for angle in self.point_angles_deg),
        )


@frozen
class Plan:
    """What will be done, setup by setup.

    tool_numbers : number of every tool used, one number for the whole part
    findings     : what planning itself had to say (tools not in the drawer, choices made)
    assumed      : defaults that were used
    order        : "tool", "hole" or "row"
    pieces       : how many of the part are made in one go
    """

    part: Part
    shop: Shop
    setups: tuple[SetupPlan, ...]
    tool_numbers: dict[Cutter, int]
    findings: tuple[Finding, ...]
    assumed: Assumed
    order: str = "tool"
    pieces: int = 1
