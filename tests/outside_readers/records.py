"""What older readers of text sheets find beside the steps: setting up, places and distances."""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.reading.pages.printed import Figure, PrintedSetup

SIZE_ROUNDED_MM = 0.0013  # sizes in sentences are told to 0.001 mm or 0.0001 in


@frozen
class FinderReading:
    """What an axis must read with an edge finder against a face.

    axis : "x" or "y"; side : where the face is ("left hand", "right hand", "towards you", "away")
    against : "face", or "fixed jaw" or "stop" that it lies on, touched from the work's side
    rpm : at which the finder is said to run
    """

    axis: str
    finder: Figure
    face: str
    side: str
    reading: Figure
    against: str = "face"
    rpm: float | None = None


@frozen
class Reckoned:
    """A size across the part that goes into a preset: from face to face."""

    low: str
    high: str
    size: Figure


@frozen
class Over:
    """A hole and what an axis, or both, must read over it; None for the other axis."""

    hole: str
    x: Figure | None
    y: Figure | None


@frozen
class ByRule:
    """Distances of a hole from two faces, as a rule shows them."""

    hole: str
    distances: tuple[tuple[Figure, str], tuple[Figure, str]]


@frozen
class Setting:
    """What ZERO says beside presets: sizes reckoned with, and holes to stand over.

    made, first : holes made before, the first
    middle : what X and Y must read over the middle of a disc
    """

    reckoned: tuple[Reckoned, ...] = ()
    made: tuple[Over, ...] = ()
    first: Over | None = None
    by_rule: ByRule | None = None
    middle: tuple[Figure, Figure] | None = None


@frozen
class Betrayal:
    """A distance on the first spots, and what it would be after each slip that is named.

    start : a face in capitals or a hole's name; end : a hole's name
    """

    start: str
    end: str
    right: Figure
    readings: tuple[tuple[Figure, str], ...]


@frozen
class Place:
    """Where a hole lies in words, an axis of its face each.

    hole      : its name; a note on the place before may stand in front of it, after a semicolon
    distances : (figure, face, whether counted from the centre towards it) twice;
                figure 0 for "on the centre"
    """

    hole: str
    distances: tuple[tuple[Figure, str, bool], tuple[Figure, str, bool]]


@frozen
class Look:
    """The count and the one distance to try by rule after spotting.

    listed : rows that stand above it; pair : the two names as printed, " to " between them
    betrayals : the distances that would show a slip
    """

    count: int
    listed: int
    pair: str
    distance: Figure
    line: int
    betrayals: tuple[Betrayal, ...] = ()


@frozen
class Said:
    """What a tool's or a hole's opening says of the rows below it.

    openings : widths at the face of spots and countersinks; limits : least and greatest sizes
    count    : of holes, where the opening is a tool's
    rows     : (first, one after the last) of the setup's rows
    measured : (step, distances) that show a slip after it, where the opening is a hole's
    touched  : (face, height) on which the tool is touched off, and what is set there, as printed
    """

    openings: tuple[Figure, ...]
    limits: tuple[tuple[Figure, Figure], ...]
    count: int | None
    rows: tuple[int, int]
    line: int
    measured: tuple[int, tuple[Betrayal, ...]] | None = None
    touched: tuple[str, str] | None = None


@frozen
class ReadSetup(PrintedSetup):
    """One setup with all that is said about its steps.

    looks, said, done : in text only; done : (holes, holes in all, steps) of the closing line
    stock : its sizes as the heading has them; of a disc the diameter, the length, and any bore
    check_move : what X and Y must read over the zero
    part_name, part_mark : as printed
    """

    away: str | None = None
    left_hand: str | None = None
    finder_readings: tuple[FinderReading, ...] = ()
    check_move: tuple[Figure, Figure] | None = None
    places: tuple[Place, ...] = ()
    looks: tuple[Look, ...] = ()
    said: tuple[Said, ...] = ()
    done: tuple[int, int, int] | None = None
    part_name: str | None = None
    part_mark: str | None = None
    stock: tuple[Figure, ...] = ()
