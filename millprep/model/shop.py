"""The shop: mill, readout, dials, vice, finder, cabinet and control, in millimetres.

Described by what each can do, never by make.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal, get_args

from millprep.base.records import anew, frozen
from millprep.base.units import Units
from millprep.model.tools import (
    Counterbore,
    Countersink,
    Cutter,
    Drill,
    EndMill,
    Reamer,
    SpotDrill,
    Tap,
    Tool,
)
from millprep.model.workholding import Chuck, MachineTable, Parallels, Vice, Workholding

PositionMethod = Literal[
    "rule", "transfer punch", "height gauge", "dials", "readout", "program", "spotted through",
    "reamed together",
]  # fmt: skip
POSITION_METHODS: tuple[PositionMethod, ...] = get_args(PositionMethod)
"""How a hole's place is found, the least trouble first (common practice): marked out with a rule,
punched through the other part, marked out with a height gauge, by the dials, by the readout, by a
program, spotted through the other part, reamed with it in one go."""
FROM_THE_OTHER_PART: frozenset[PositionMethod] = frozenset(
    {"transfer punch", "spotted through", "reamed together"}
)
"""Methods that take the place from the mate's hole, wherever that is."""
Range = tuple[float, float]
Point = tuple[float, float, float]


@frozen
class Mill:
    """Travels in machine coordinates; either listed speeds or a range [rev/min]; feeds [mm/min].

    head_moves : whether the head keeps its place over the table when it is raised or lowered
    change_height_mm : how far over the highest thing described a tool goes up for a change; None:
                 as the lengths of the tools ask
    change_place_mm : (x, y) in setup axes where tools are changed; None: over the work
    acceleration_mm_per_s2 : of the axes; None: starting and stopping cost no time
    tool_change_s : what changing a tool takes, by hand or not
    """

    travel_mm: tuple[Range, Range, Range]
    speeds_rpm: tuple[float, ...] = ()
    speed_range_rpm: Range | None = None
    max_feed_mm_per_min: float = 1200.0
    rapid_mm_per_min: float = 2000.0
    quill_travel_mm: float | None = None
    head_moves: Literal["keeps", "loses"] = "keeps"
    acceleration_mm_per_s2: float | None = None
    tool_change_s: float = 0.0
    change_height_mm: float | None = None
    change_place_mm: tuple[float, float] | None = None

    @property
    def slowest_rpm(self) -> float:
        return self.speed_range_rpm[0] if self.speed_range_rpm else min(self.speeds_rpm)

    @property
    def fastest_rpm(self) -> float:
        return self.speed_range_rpm[1] if self.speed_range_rpm else max(self.speeds_rpm)


@frozen
class Readout:
    """Counts of the readout in either unit; axes "xy" or "xyz"; axes that count the other way.

    is_fitted : False for a mill that has none
    """

    resolution_mm: Decimal
    resolution_inch: Decimal
    axes: Literal["xy", "xyz"] = "xy"
    reversed_axes: tuple[str, ...] = ()
    is_fitted: bool = True


@frozen
class Dial:
    """A handwheel: travel of a turn [mm], divisions, backlash [mm], which way it winds.

    lead_mm        : as the screw is cut; divisions may hold a half (62.5)
    clockwise      : which way the axis goes when the handle turns clockwise
    correction_ppm : how much farther than that the axis truly goes, in parts per million
    """

    lead_mm: float
    divisions: float
    backlash_mm: float = 0.0
    clockwise: Literal["+", "-"] = "+"
    numbers_rise: Literal["clockwise", "anticlockwise"] = "clockwise"
    correction_ppm: float = 0.0


Projection = Literal["first", "third"]
"""Of the views of a drawing (ISO 128-30)."""
PaperWord = Literal["a4", "a3", "letter"]


@frozen
class Finder:
    """An edge finder: tip diameter [mm] and, where said, the speed it runs at [rev/min]."""

    diameter_mm: float
    speed_rpm: float | None = None


@frozen
class Instrument:
    """What measures: how far its reading may be off, either way, and the longest it reads [mm].

    largest_mm 0: the shop has none
    """

    uncertainty_mm: float
    largest_mm: float


@frozen
class Instruments:
    """What there is to measure with.

    calliper    : outside, inside and depth
    micrometer  : outside only
    bore_gauge  : a small-hole or telescopic gauge, read by the micrometer
    readout_mm  : how far off a place may be that finder and readout tell, along an axis
    pins        : gauge pins, ascending; drill shanks of the cabinet serve beside them
    """

    calliper: Instrument = Instrument(0.02, 150.0)
    micrometer: Instrument = Instrument(0.004, 25.0)
    bore_gauge: Instrument = Instrument(0.01, 25.0)
    readout_mm: float = 0.01
    pins: tuple[Cutter, ...] = ()


@frozen
class BoringRange:
    """The bores that the drawer's boring head reaches [mm], and what is said of `BoringHead`."""

    least_mm: float
    most_mm: float
    dial: Literal["diameter", "radius"] = "diameter"
    stops: bool = True

    def reaches(self, bore_mm: float) -> bool:
        return self.least_mm <= bore_mm <= self.most_mm


@frozen
class Cabinet:
    """The drawer: what there is to use, each list ascending in diameter; one boring head.

    pilot_from_mm : the drill from which on a pilot goes first; light mills want one from 6 to 8 mm
                    (common practice)
    transfer_punches : by the diameter of their bodies
    """

    drills: tuple[Drill, ...] = ()
    reamers: tuple[Reamer, ...] = ()
    taps: tuple[Tap, ...] = ()
    spot_drills: tuple[SpotDrill, ...] = ()
    countersinks: tuple[Countersink, ...] = ()
    counterbores: tuple[Counterbore, ...] = ()
    end_mills: tuple[EndMill, ...] = ()
    transfer_punches: tuple[Cutter, ...] = ()
    pilot_from_mm: float = 8.0
    boring_head: BoringRange | None = None


SWITCHING = {50: "coolant", 51: "coolant", 88: "coolant", 89: "coolant"}
"""M codes beside M7, M8 and M9 that move nothing: a third and a fourth coolant (from memory of ISO
6983-1), coolant through the spindle on and off (common practice). Lights and air have no number in
common."""


LEAST_BACKLASH_MM = 0.02
"""Less is not felt beside what else puts a hole off (common practice)."""


@frozen
class Control:
    """What the CNC control does and knows (see docs/shop-file.md, [control]).

    offsets_mm : origin of each listed work system in machine coordinates ("G54": (x, y, z))
    units      : assumed before G20/G21 and written by `program`; None: a program must say
    cycles     : the cycle words it knows ("G81", ...), empty for none
    change_goes_up : M6 itself goes up before anything else
    zero_in_stop   : whether a tool can be jogged and zeroed during M0; None: nobody has said
    is_home_known : whether the shop file says where home is
    spindle_up_s : what the spindle takes to reach its speed; 3 (common practice)
    codes      : the codes it has ("G0", "M3", ...), cycles aside; None: all that are read
    m_codes    : further M codes that move nothing -> what they switch
    keeps      : of G10, G52 and G92, what stays changed when the next program starts
    flow       : the style of flow words (jumps, loops, calls) that it reads
    missing_arguments : what a call by O words makes of those it does not give; None: nobody knows
    tap_speed_rpm : the most for a tap; 400, since a light spindle must stop and turn back in time
                 (common practice)
    has_home   : False: no switches find machine zero, it is where the control was switched on
    spindle    : by S and M3; by M3 alone, its speed by the belt; or neither
    tool_numbers : False: it has no T; its tools are known by the words of stops
    backlash_mm : of each driven axis; backlash_compensated : whether the control takes it up
    axes       : "xy": the quill is worked by hand; then its moves are at `xy_feed_mm_per_min`, slow
                 enough to stop by hand (common practice), and `quill_stop` asks for a second stop
                 at each hole
    peck_retract : where a G83 goes up to between pecks: R, or the clear height
    dwell      : what a P of a dwell counts
    program_number : of the first file written, None for none; line_numbers : N on every line
    stop_message : where the words of a stop stand: behind M0, or in the line before it
    coolant    : what turns it on, "none" where there is none
    arcs       : by I and J from the arc's start, by I and J from zero, or by R alone
    decimals_mm, decimals_inch : figures after the point of a length in a program
    """

    start_mm: Point = (0.0, 0.0, 0.0)
    home_mm: Point = (0.0, 0.0, 0.0)
    home_2_mm: Point | None = None
    offsets_mm: dict[str, Point] = anew(factory=dict)
    units: Units | None = "mm"
    strict: bool = False
    block_delete: bool = False
    cycles: frozenset[str] = frozenset({"G73", "G81", "G82", "G83", "G84", "G85", "G86", "G89"})
    comments: Literal["( )", ";", "none"] = "( )"
    tool_change: Literal["M6", "stop", "files"] = "M6"
    change_goes_up: bool = False
    zero_in_stop: bool | None = None
    length_offset: bool = True
    tapping: Literal["floating", "rigid", "reversing head", "by hand at the hole", "none"] = (
        "floating"
    )
    tap_speed_rpm: float = 400.0
    axes: Literal["xyz", "xy"] = "xyz"
    xy_feed_mm_per_min: float = 300.0
    quill_stop: bool = False
    is_home_known: bool = False
    spindle_up_s: float = 3.0
    codes: frozenset[str] | None = None
    m_codes: dict[int, str] = anew(factory=lambda: dict(SWITCHING))
    keeps: frozenset[str] = frozenset({"G10"})
    flow: Literal["either", "O words", "letters", "none"] = "either"
    missing_arguments: Literal["as before", "zero"] | None = None
    has_home: bool = True
    spindle: Literal["driven", "switched", "by hand"] = "driven"
    tool_numbers: bool = True
    backlash_mm: Point = (0.0, 0.0, 0.0)
    backlash_compensated: bool = False
    peck_retract: Literal["r", "clear"] = "r"
    dwell: Literal["s", "ms"] = "s"
    line_numbers: bool = False
    program_number: int | None = None
    stop_message: Literal["same line", "line before", "(MSG, )"] = "same line"
    coolant: Literal["none", "M7", "M8"] = "none"
    arcs: Literal["centre", "absolute centre", "radius"] = "centre"
    decimals_mm: int = 3
    decimals_inch: int = 5
    line_end: Literal["lf", "crlf"] = "lf"

    def has(self, code: str) -> bool:
        """Whether it has a code; cycles aside."""
        return self.codes is None or code in self.codes

    @property
    def loose_mm(self) -> tuple[float, float]:
        """Backlash in X and in Y that is felt: where the control does not take it up [mm]."""
        x, y = (
            0.0 if self.backlash_compensated or each < LEAST_BACKLASH_MM else each
            for each in self.backlash_mm[:2]
        )
        return x, y

    def step_mm(self, units: Units) -> float:
        """The last digit of a length in a program of these units [mm]."""
        in_mm = 25.4 if units == "inch" else 1.0
        digits = self.decimals_inch if units == "inch" else self.decimals_mm
        return in_mm * 10.0**-digits


@frozen
class Dividing:
    """A dividing head or rotary table.

    ratio    : turns of the crank for one of the spindle
    plates   : the hole circles of each plate; none where the crank has a dial only
    backlash_deg : of the worm, at the work; centre_height_mm : of the spindle when it lies
    """

    name: str
    ratio: float
    plates: tuple[tuple[int, ...], ...] = ()
    kind: Literal["rotary table", "dividing head"] = "rotary table"
    centre_height_mm: float | None = None
    backlash_deg: float = 0.0
    chuck: Chuck | None = None

    @property
    def circles(self) -> list[int]:
        """Every hole circle of its plates, ascending."""
        return sorted({circle for plate in self.plates for circle in plate})


@frozen
class Shop:
    """A shop file merged over its base, understood.

    tools : the control's tool table, ascending in number; path : as the user gave it
    parallels : the pairs there are; table : None where nobody says how large it is
    position_errors_mm : typical error of a hole's place along an axis, +/-, of each method there is
    projection : how drawings arrange their views; paper : they are printed on, None where either
                 A4 or Letter has to do
    """

    name: str
    mill: Mill
    readout: Readout
    dials: dict[str, Dial]
    vice: Vice
    finder: Finder
    cabinet: Cabinet
    control: Control
    tools: tuple[Tool, ...] = ()
    path: str = ""
    parallels: tuple[Parallels, ...] = ()
    table: MachineTable | None = None
    holding: Workholding = Workholding()
    position_errors_mm: dict[PositionMethod, float] = anew(factory=dict)
    instruments: Instruments = Instruments()
    projection: Projection = "first"
    paper: PaperWord | None = None
    dividing: tuple[Dividing, ...] = ()
