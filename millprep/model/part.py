"""The part: stock, datum faces and holes, as frozen records in millimetres and part axes.

Part axes run x left to right, y front to back, z bottom to top, from the left-front-bottom corner
of the block as measured (of the box around a disc). Everything that a part file may say in several
ways (inches, centre lines, patterns, words) is settled before it gets here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, get_args

from millprep.base.records import anew, frozen
from millprep.base.units import Units
from millprep.model.carrying import Carrying, Left
from millprep.model.kinds import HoleKind
from millprep.model.measured import AsMeasured
from millprep.reference.threads import Thread

Face = Literal["top", "bottom", "front", "back", "left", "right"]
FACES: tuple[Face, ...] = get_args(Face)  # default setup order
Point = tuple[float, float, float]

FACE_AXIS: dict[Face, int] = {"left": 0, "right": 0, "front": 1, "back": 1, "bottom": 2, "top": 2}
"""The part axis square to each face."""
HIGH_FACES: frozenset[Face] = frozenset({"right", "back", "top"})
"""Faces at the far end of their axis; the others lie at 0."""
OPPOSITE: dict[Face, Face] = {
    "left": "right",
    "right": "left",
    "front": "back",
    "back": "front",
    "bottom": "top",
    "top": "bottom",
}
AXIS_FACES: tuple[tuple[Face, Face], ...] = (
    ("left", "right"),
    ("front", "back"),
    ("bottom", "top"),
)
"""(low face, high face) of part axes x, y, z."""


Hold = Literal["vice", "vee jaws", "vee blocks", "chuck", "straps", "angle plate"]
"""What a part may be held in, or by."""
ENDS_OVERLAP_MM = 0.5
"""A hole drilled from both ends goes this much past the middle from each, so that they meet."""


def plane_axes(face: Face) -> tuple[int, int]:
    """The two part axes that lie in the face, in the order x, y, z."""
    first, second = (axis for axis in range(3) if axis != FACE_AXIS[face])
    return first, second


@frozen
class Stock:
    """The blank as it lies on the bench.

    size_mm    : x, y, z of the block or of the box around the disc, measured where measured
    nominal_mm : the same by the drawing
    axis       : None for a block, else the part axis (0, 1, 2) along which a disc is round
    bore_mm    : diameter of a bore along the disc's axis, or None
    is_guessed : put round the holes of a plan that gave no blank
    """

    size_mm: Point
    nominal_mm: Point
    axis: int | None = None
    bore_mm: float | None = None
    is_guessed: bool = False

    def face_at_mm(self, face: Face) -> float:
        """Where the face lies along its own axis [mm]."""
        return self.size_mm[FACE_AXIS[face]] if face in HIGH_FACES else 0.0


@frozen
class Datum:
    """The faces that the drawing measures from, an axis each; "centre" for a centre line."""

    x: Literal["left", "right", "centre"] = "left"
    y: Literal["front", "back", "centre"] = "front"
    z: Literal["bottom", "top", "centre"] = "bottom"

    def __getitem__(
        self, axis: int
    ) -> Literal["left", "right", "front", "back", "bottom", "top", "centre"]:
        return (self.x, self.y, self.z)[axis]


@frozen
class Recess:
    """A counterbore or spotface: flat-bottomed, concentric with the hole; depth from the face."""

    diameter_mm: float
    depth_mm: float
    words: str


@frozen
class Countersink:
    """A conical mouth: `diameter_mm` at the face."""

    diameter_mm: float
    angle_deg: float
    words: str


@frozen
class Opened:
    """The hole is larger from its face down to a depth (at full diameter)."""

    diameter_mm: float
    depth_mm: float
    words: str


@frozen
class Mouth:
    """What is cut round one end of a hole."""

    counterbore: Recess | None = None
    countersink: Countersink | None = None
    spotface: Recess | None = None


def widened_mm(mouth: Mouth, opened: Sequence[Opened]) -> float:
    """How far below that end a hole is wider than its own size: a thread begins only there."""
    wider = (mouth.counterbore, mouth.spotface, *opened)
    return max((one.depth_mm for one in wider if one is not None), default=0.0)


@frozen
class Hole:
    """One hole, at one place.

    name        : unique in the part, pattern members included ("cover screw 2")
    group       : the name as written, and `member` its number in the pattern (None: single)
    kind        : its row in the table of kinds
    words       : the size as a sheet names it ("M4", "1/4 in", "6.4")
    diameter_mm : of the finished hole; a tapped hole's is the thread's major diameter
    centre_mm   : (x, y, z) in part axes, on the plane of its face
    depth_mm    : of the finished feature from its face; for a through hole the thickness there
    goes_into   : name of the hole whose axis limits the depth (`depth = { into = ... }`)
    drill_depth_mm : the drill's own depth at full diameter where the drawing gives it
    limits_um   : (lower, upper) deviations from diameter_mm, from `fit` or `limits`
    tolerance_mm : +/- each way on the position; position_mm : diameter of the zone where given
    drills_words, peck_mm, breakthrough_mm, spot : how it is made, where the file says so;
                  peck_mm () means no pecks, None the schedule
    screw       : of a hole to clear a screw, the screw as written ("M5"); else empty
    key         : where it stands in the file ("hole[3]"), line its line; file where that is
                  neither the part's nor its original's: of an opposite hand's own holes
    placed_by   : the key that says where it is ("at", "circle", "row", ...)
    lines       : of the keys that say how it is made ("drills", "peck", "breakthrough")
    """

    name: str
    group: str
    member: int | None
    face: Face
    kind: HoleKind
    words: str
    diameter_mm: float
    centre_mm: Point
    depth_mm: float
    is_through: bool
    thread: Thread | None = None
    mouth: Mouth = Mouth()
    far: Mouth = Mouth()
    opened: tuple[Opened, ...] = ()
    goes_into: str | None = None
    from_both_ends: bool = False
    drill_depth_mm: float | None = None
    fit: str | None = None
    limits_um: tuple[float, float] | None = None
    tolerance_mm: float | None = None
    position_mm: float | None = None
    spot: bool = True
    drills_words: tuple[str, ...] | None = None
    peck_mm: tuple[float, ...] | None = None
    breakthrough_mm: float | None = None
    note: str = ""
    meets: tuple[str, ...] = ()
    allow: tuple[str, ...] = ()
    screw: str = ""
    layers: tuple[str, ...] = ()
    key: str = ""
    line: int | None = None
    file: str = ""
    placed_by: str = ""
    lines: dict[str, int] = anew(factory=dict, compare=False)

    @property
    def worked_from(self) -> tuple[Face, ...]:
        """The faces that it is worked from, its own first."""
        if self.from_both_ends or self.far != Mouth():
            return self.face, OPPOSITE[self.face]
        return (self.face,)

    @property
    def depth_from_face_mm(self) -> float:
        """How deep it is worked from its own face: half way and a little when from both ends."""
        return self.depth_mm / 2 + ENDS_OVERLAP_MM if self.from_both_ends else self.depth_mm


@frozen
class ObstacleRequest:
    """A box the tool must not meet, in setup axes from the zero [mm]; line : of its table."""

    name: str
    low_mm: Point
    high_mm: Point
    line: int | None = None


LaidFor = Literal["held", "zero", "datum", "long", "turns", "readings"]
"""Why a part lies otherwise than its face is drawn."""


@frozen
class SetupRequest:
    """What a part file says of one setup; None where it leaves the choice to millprep.

    holes        : of holes and patterns made in this visit to the face; () for all it has left
    laid_for     : why `towards_you` was chosen, None where it is the file's, or the plain view
    hold         : what holds the part
    straps_at_mm : X and Y, in setup axes from the zero, of the toe of each strap
    packing_mm   : how high the part stands over the table on packing, one piece under each strap
    lines : of the keys of holding ("vice", "hold", "straps", "parallels", "safe_height", ...)
    """

    face: Face
    towards_you: Face | None = None
    holes: tuple[str, ...] = ()
    zero_x: Face | Literal["centre"] | None = None
    zero_y: Face | Literal["centre"] | None = None
    work_offset: str = "G54"
    grip_mm: float | None = None
    jaws: Literal["x", "y"] = "y"
    hold: Hold | None = None
    straps_at_mm: tuple[tuple[float, float], ...] = ()
    packing_mm: float | None = None
    parallel_thickness_mm: float | None = None
    parallel_height_mm: float | None = None
    parallels_at_mm: tuple[float, ...] = ()
    backing_mm: float = 0.0
    safe_height_mm: float | None = None
    obstacles: tuple[ObstacleRequest, ...] = ()
    laid_for: LaidFor | None = None
    key: str = ""
    line: int | None = None
    lines: dict[str, int] = anew(factory=dict, compare=False)

    @property
    def is_in_setup_axes(self) -> bool:
        """Whether it says where things stand on the table, and so needs a lay that is known."""
        places = (self.zero_x, self.zero_y, *self.obstacles, *self.straps_at_mm)
        return any(place is not None for place in (*places, *self.parallels_at_mm))


@frozen
class StatedLength:
    """One length of a part file as it is written there, beside what it was read as.

    path      : where it stands: keys, and indices from 0; line : of that key
    text      : as written ("9.530", "1/2 in"); units : what it was read in
    says_unit : it names its unit itself, or is a fraction of an inch
    length_mm : what it was read as
    """

    path: tuple[str | int, ...]
    line: int | None
    text: str
    units: Units
    says_unit: bool
    length_mm: float


@frozen
class Dimension:
    """A dimension of the drawing between two things that the file has placed by others.

    between   : holes, faces or centre lines ("centre_x"); the name of a pattern is its middle
    along     : part axis (0, 1, 2), or None for the straight distance in the plane of the holes
    length_mm : as stated, 0 or more; text as written, its `tolerance_mm` where one is given
    placed_mm : what the places make it on the blank by the drawing, from the first to the second:
                signed along an axis
    """

    between: tuple[str, str]
    along: int | None
    length_mm: float
    placed_mm: float
    text: str
    tolerance_mm: float | None = None
    key: str = ""
    line: int | None = None


@frozen
class Layer:
    """One body of a stack along its bores, from how far to how far below the face that is up.

    name : the member's, or what fills a gap; is_scrap : a block that is fitted and drilled with it
    """

    name: str
    from_mm: float
    to_mm: float
    material: str
    is_scrap: bool = False


@frozen
class Proud:
    """A head, nut or end of a stack that stands proud of a face, as a box in part axes [mm]."""

    name: str
    low_mm: Point
    high_mm: Point


@frozen
class Part:
    """A part file, understood; or a stack of several, as one blank with gaps.

    layers : of a stack, what its bores pass, top first; `gaps_of` is what lies between
    proud  : of a stack, what stands out of it
    pieces : of a stack, all its members, top first; screwed : the screws that hold it together;
             pillars : where those go through the top member, and bars or distance pieces bear

    material : as written; `material_named` finds it in the table of materials
    path     : the file as the user gave it; mark : short hash of its bytes, the revision mark
    is_opposite_hand : made by mirroring another file, `original_path`, in which its lines are
    dimensions : what the drawing says beside the places; stated : every length as it is written
    left     : holes that an assembly leaves for later: this part's own sheets make them so far only
    as_measured : what readings of drilled holes have moved, where they were given
    carrying : of members whose holes are carried over: from which, and how
    """

    name: str
    drawing: str
    units: Units
    material: str
    stock: Stock
    datum: Datum
    holes: tuple[Hole, ...]
    setups: tuple[SetupRequest, ...] = ()
    general_tolerance_mm: float | None = None
    note: str = ""
    path: str = ""
    mark: str = ""
    is_opposite_hand: bool = False
    original_path: str = ""
    dimensions: tuple[Dimension, ...] = ()
    stated: tuple[StatedLength, ...] = ()
    layers: tuple[Layer, ...] = ()
    proud: tuple[Proud, ...] = ()
    pieces: tuple[str, ...] = ()
    screwed: tuple[str, ...] = ()
    pillars: tuple[Point, ...] = ()
    left: tuple[Left, ...] = ()
    as_measured: AsMeasured | None = None
    carrying: Carrying | None = None
