"""Tools, a class a kind: what every tool has, and what only its kind has.

A tool is in the cabinet, in the control's table, in a program's tool line or in a plan. What nobody
has said of it is None.
"""

from __future__ import annotations

from typing import ClassVar, Literal

from millprep.base.records import frozen

ToolKind = Literal[
    "spot drill", "drill", "reamer", "tap", "countersink", "counterbore", "end mill", "boring head"
]
SPOT_TIP_FLAT_MM = 0.2
"""Flat at a spot drill's tip where nobody has measured it: 0.1 to 0.3 mm (common practice)."""
PLUG_LEAD_THREADS = 4.0
"""Of a second tap, 3 to 5 threads (Machinery's Handbook, tap chamfers)."""
REAMER_LEAD_MM = 1.0
"""Of a machine reamer, 45 degree chamfer of 0.5 to 1.5 mm (common practice)."""
HAND_LEAD_FLUTE_SHARE, HAND_LEAD_DIAMETERS = 0.25, 1.5
"""Of a hand reamer, taper in front: a quarter of the flutes, else 1 to 1.5 d (common practice)."""

USUAL_TEETH = 4
"""Of an end mill where nobody has counted them (common practice)."""


@frozen
class Tool:
    """What every tool has.

    words       : how a sheet names it ("5.0 mm", "#7", "M6", "1/4 in")
    diameter_mm : cutting diameter; a tap's is the thread's major diameter; None unknown
    flute_mm, length_mm, reach_mm : flutes, offset applied by G43, tip to holder's face
    number      : in the control's table; None in the cabinet
    is_carbide  : solid carbide; high speed steel else
    """

    kind: ClassVar[ToolKind]
    words: str
    diameter_mm: float | None
    flute_mm: float | None = None
    length_mm: float = 0.0
    reach_mm: float | None = None
    holder_diameter_mm: float | None = None
    holder_length_mm: float | None = None
    number: int | None = None
    is_carbide: bool = False

    @property
    def told(self) -> dict[str, float]:
        """Of its end, by the words of a tool line: point [deg]; flat, pitch [mm]; lead, of a tap
        in threads, of a reamer in mm. What nobody has said is left out."""
        return {}

    @property
    def likeness(self) -> tuple[object, ...]:
        """What tells tools apart that are alike in kind and size."""
        return ()


def _said(**told: float | None) -> dict[str, float]:
    return {word: value for word, value in told.items() if value is not None}


@frozen
class UnknownTool(Tool):
    """Of which nothing is said: taken to be a drill, and asked for nothing."""

    kind = "drill"


@frozen
class UnsetBoringHead(Tool):
    """A boring head in the control's table, set to no size yet."""

    kind = "boring head"


@frozen
class Cutter(Tool):
    """A tool whose size is known; a drill's shank and a gauge pin are measured with too."""

    diameter_mm: float


@frozen
class PointedTool(Cutter):
    """point_angle_deg : None where it is as usual; tip_flat_mm : the flat at its tip."""

    usual_point_deg: ClassVar[float] = 90.0  # spot drills, metric countersinks (common practice)
    point_angle_deg: float | None = None
    tip_flat_mm: float = 0.0

    @property
    def angle_deg(self) -> float:
        """As said, or as usual."""
        return self.point_angle_deg or self.usual_point_deg

    @property
    def told(self) -> dict[str, float]:
        return _said(point=self.point_angle_deg, flat=self.tip_flat_mm or None)

    @property
    def likeness(self) -> tuple[object, ...]:
        return (self.point_angle_deg,)


@frozen
class Drill(PointedTool):
    """A twist drill."""

    kind = "drill"
    usual_point_deg = 118.0  # general-purpose twist drill, ASME B94.11M


@frozen
class SpotDrill(PointedTool):
    """A spot drill."""

    kind = "spot drill"


@frozen
class Countersink(PointedTool):
    """tip_flat_mm : across its nose, which cuts nothing; is_nose_known : by measuring it, or as is
    usual for its size; else 0, and depths count from the point that the cone would end in."""

    kind = "countersink"
    is_nose_known: bool = False


@frozen
class Tap(Cutter):
    """pitch_mm : None where a program's tool line leaves it out; lead_threads : of its chamfer, a
    second tap's where nobody has said."""

    kind = "tap"
    pitch_mm: float | None = None
    lead_threads: float = PLUG_LEAD_THREADS
    is_left_hand: bool = False

    @property
    def lead_mm(self) -> float | None:
        """Length of its chamfer; None where the pitch is not known."""
        return None if self.pitch_mm is None else self.lead_threads * self.pitch_mm

    @property
    def told(self) -> dict[str, float]:
        return _said(pitch=self.pitch_mm, lead=self.lead_threads)

    @property
    def likeness(self) -> tuple[object, ...]:
        return self.pitch_mm, self.lead_threads, self.is_left_hand, self.words


@frozen
class Reamer(Cutter):
    """lead_mm : length of its chamfer or taper, as usual where nobody has said.

    is_hand : turned by hand, with a long taper in front; never under power
    """

    kind = "reamer"
    lead_mm: float = REAMER_LEAD_MM
    is_hand: bool = False

    @property
    def told(self) -> dict[str, float]:
        return _said(lead=self.lead_mm)

    @property
    def likeness(self) -> tuple[object, ...]:
        return (self.is_hand,)


@frozen
class Counterbore(Cutter):
    """A counterbore."""

    kind = "counterbore"


@frozen
class EndMill(Cutter):
    """teeth : how many it has; is_centre_cutting : its teeth meet in the middle of its end, so that
    it leaves nothing standing under itself."""

    kind = "end mill"
    teeth: int = USUAL_TEETH
    is_centre_cutting: bool = False


@frozen
class BoringHead(Cutter):
    """A boring head, set to a size.

    dial  : what its dial counts on; stops : whether it can be stopped and enter its bore again
    """

    kind = "boring head"
    dial: Literal["diameter", "radius"] = "diameter"
    stops: bool = True


TOOLS: dict[ToolKind, type[Cutter]] = {
    one.kind: one
    for one in (SpotDrill, Drill, Reamer, Tap, Countersink, Counterbore, EndMill, BoringHead)
}
"""By the word for its kind, in the order that messages name them."""
