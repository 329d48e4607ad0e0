"""What the dry run finds wrong, in words: a finding each, but for its place and its figures.

{xy} and {xyz} are where a move ends; whoever tells a finding gives it the other figures. A figure
whose name ends in _mm is a length, shown in the report's units; with "/min" behind it, a feed.
"""

from __future__ import annotations

from millprep.base.findings import Finding

# fmt: off

# the spindle, and feeds

SPINDLE_STOPPED = Finding("stop", "spindle-stopped",
    "the tool cuts at {xyz} with the spindle stopped",
    "start it: S.. M3")
SPEED_UNSTATED = Finding("stop", "speed-unstated",
    "the spindle is started without S: the control takes the speed that it remembers, perhaps 0",
    "give S with it; where the speed is set at the machine, write spindle = \"switched\" under "
    "[control] in the shop file")
SPINDLE_BACKWARDS = Finding("stop", "spindle-backwards",
    "the tool cuts at {xyz} with the spindle turning the wrong way",
    "this tool cuts with {way}")
SPINDLE_BY_HAND = Finding("stop", "spindle-by-hand",
    "a tap is worked by hand at {xyz} with the spindle turning",
    "stop it before the stop for the tap: M5, or M0 (STOP SPINDLE)")
SPEED_OUTSIDE = Finding("stop", "speed-outside-spindle",
    "S{rpm:g} is outside the spindle's speeds",
    "give {least:g} to {most:g} rev/min")
SPEED_BETWEEN = Finding("note", "speed-between-steps",
    "S{rpm:g} is none of the spindle's speeds; at {low:g} the feed a turn is {low_times:.2f} "
    "times, at {high:g} {high_times:.2f} times the program's",
    "write one of them, with F by it: a tap keeps its thread only at its own S")
NO_FEED = Finding("stop", "no-feed",
    "a feed move to {xyz} has no feed",
    "give F before it")
FEED_OVER_MILL = Finding("stop", "feed-over-mill",
    "the feed of {feed_mm:exact}/min is over the mill's",
    "give {most_mm:exact}/min or less")
FEED_OVER_TOOL = Finding("stop", "feed-over-tool",
    "{per_rev_mm:3} a turn ({feed_mm:exact}/min at S{rpm:g}) is more than twice the highest feed "
    "for this tool{in_what}",
    "give {most_mm:0}/min or less")
FEED_UNDER_TOOL = Finding("warning", "feed-under-tool",
    "{per_rev_mm:2g} a turn ({feed_mm:2g}/min at S{rpm:g}): the tool rubs; the table's is "
    "{usual_mm:2g} a turn",
    "give about {wanted_mm:2g}/min: is the decimal point in its place?")
SPEED_OVER_TOOL = Finding("stop", "speed-over-tool",
    "{speed_m_per_min} where the {tool} cuts {widest_mm:2} wide (S{rpm:g}): over twice the "
    "table's {usual_m_per_min} for {metal} in {material}",
    "{advice}")
DEEP_PECK = Finding("warning", "deep-peck",
    "a bite of {bite_mm:2} with a {diameter_mm:3} drill at {xyz}; the "
    "schedule allows {allowed_mm:2} there",
    "peck: first by the material, then one diameter, below five diameters half of one")

# taps, reamers, boring tools

TAP_BY_RAPID = Finding("stop", "tap-by-rapid",
    "the tap is moved by rapid in its thread at {xy}",
    "{out}")
TAP_NOT_REVERSED = Finding("stop", "tap-not-reversed",
    "the tap is fed {whither} its thread at {xy}, spindle {turning}",
    "{advice}")
TAP_REVERSED = Finding("stop", "tap-reversed",
    "the spindle is {turning} with the tap in its thread at {xy}; a reversing head "
    "turns the tap back by itself while the spindle runs on",
    "{advice}")
TAP_DWELL = Finding("stop", "tap-dwell",
    "the tap dwells {seconds:g} s in its thread at {xy} while the spindle turns "
    "it {drawn_mm:1} on",
    "take the dwell out, or stop the spindle before it (M5)")
TAP_FEED = Finding("stop", "tap-feed",
    "the tap is fed {feed_mm:exact}/min; pitch {pitch_mm:exact} at {rpm:g} rev/min is "
    "{exact_mm:exact}/min",
    "feed at {exact_mm:exact}/min, or change S with it")
TAP_SLOW_OUT = Finding("stop", "tap-feed",
    "the tap is fed out at {feed_mm:exact}/min and in at {fed_in_mm:exact}/min; a reversing "
    "head turns back no slower than it turns in",
    "feed out at {fed_in_mm:exact}/min or more")
TAP_TOO_FAST = Finding("stop", "tap-too-fast",
    "the tap turns at {rpm:g} rev/min; {why} {limit}",
    "give S{limit} or less")
TAP_TOO_NEAR = Finding("warning", "tap-r-too-near",
    "the tap is fed in from {above_mm:2} above its hole at {xy}; a floating holder "
    "wants three pitches, {least_mm:2}",
    "begin at Z{start_mm:2} or above (R of the cycle)")
REAMER_PECKED = Finding("warning", "reamer-pecked",
    "a reamer is pecked at {xy}",
    "feed it down in one go, and feed it out: G85")
REAMER_BY_RAPID = Finding("warning", "reamer-by-rapid",
    "a reamer is drawn out of its hole by rapid at {xy}",
    "feed it out, still turning: G85")
REAMER_BACKWARDS = Finding("stop", "reamer-backwards",
    "a reamer is turned backwards in its hole at {xy}",
    "let it turn on as it cuts: G85")
BORE_SCORED = Finding("warning", "bore-scored",
    "a boring tool is drawn out by rapid with the spindle turning at {xy}",
    "feed it out (G85), or stop the spindle first (G86)")

# strokes into the stock

RAPID_INTO_STOCK = Finding("stop", "rapid-into-stock",
    "a rapid goes down to Z{z_mm:3bare} at {xy}, {depth_mm:3} into solid material (free "
    "down to Z{free_mm:3bare})",
    "rapid to Z{free_mm:3} or above, and feed from there")
OUTSIDE_STOCK = Finding("stop", "outside-stock",
    "the tool feeds down at {xy}, where there is no stock, to {depth_mm:3} below "
    "its top",
    "check the sign, the unit and the zero of these coordinates against the stock")
BREAKS_EDGE = Finding("warning", "breaks-edge",
    "a {size} at {xy} breaks out of the side of the stock, {inside_mm:3} from "
    "it",
    "move the hole in, or back that side with scrap of the same metal")
DEEPER_THAN_FLUTES = Finding("stop", "deeper-than-flutes",
    "the {size} needs {depth_mm:3} of flute at {xy}; it has {flute_mm:exact}",
    "use a longer tool, or drill from both ends")
BELOW_UNDERSIDE = Finding("stop", "below-underside",
    "the tool goes {beyond_mm:3} below the underside at {xy}, and nothing says what "
    "is there",
    "stop at Z{least_mm:3} or above, or describe parallels and backing in the part file")
NO_SPOT = Finding("warning", "no-spot",
    "a {size} starts at {xy} without a spot",
    "spot drill it first, or let the drill be a short stiff one that needs no spot")
THIN_FLOOR = Finding("warning", "thin-floor",
    "floor {left_mm:3} under the tip at {xy}",
    "leave {least_mm:1}, or drill through")
THIN_WALL = Finding("warning", "thin-wall",
    "wall {left_mm:3} between the hole at {xy} and the side of the stock",
    "leave {least_mm:exact}, or back that side with scrap of the same metal")
NOTHING_TO_FOLLOW = Finding("stop", "nothing-to-follow",
    "no hole there for the {tool} at {xy}",
    "drill the hole first; see that the program runs the drill before it")
HOLE_WRONG = Finding("warning", "hole-wrong-for-tool",
    "the {tool} enters a hole of {hole_mm:3} at {xy}",
    "drill it between {least_mm:2bare} and {most_mm:2} first")
NO_HOLE = Finding("stop", "hole-wrong-for-tool",
    "no hole there for the {tool} at {xy}: what is there is {hole_mm:3} wide",
    HOLE_WRONG.advice)
HOLE_TOO_SHALLOW = Finding("stop", "hole-too-shallow-for-tool",
    "the {tool} goes down to Z{low_mm:3bare}; the hole has its full size to Z{reach_mm:3bare} at "
    "{xy}",
    "drill deeper, or stop the {tool} above the drill's full diameter")

# where the moves go

THROUGH_STOCK = Finding("stop", "rapid-into-stock",
    "{what} moves sideways to {xy} through the stock, {depth_mm:3} below its top",
    "raise the tool clear of the stock before moving to the next place")
MILLED_DEEPER_THAN_FLUTES = Finding("stop", "deeper-than-flutes",
    "the tool cuts {depth_mm:3} below the top; it has {flute_mm:exact} of flute",
    "use a longer tool")
MILLED_BELOW_UNDERSIDE = Finding("stop", "below-underside",
    "the tool goes {beyond_mm:3} below the underside, and nothing says what is there",
    "stop at Z{least_mm:3} or above, or describe what is below")
DOG_LEG = Finding("warning", "dog-leg",
    "{what} on this rapid in a straight line; a control that drives each axis at its own speed "
    "goes through it",
    "raise the tool clear of everything first, or split the move")
RAPID_ON_FACE = Finding("warning", "rapid-on-face",
    "a rapid goes {way} the face of the stock at {xyz}: the tip rubs, and "
    "anything out of true is cut",
    "keep rapids clear above the face")
HEIGHT_UNKNOWN = Finding("stop", "height-unknown",
    "the program moves sideways to {xy} and nothing says how high the tool "
    "is: it may be in or on the work",
    "raise it first: G0 Z25., in inches Z1., with G43 H.. if the control uses lengths; if its M6 "
    "goes up by itself, say change_goes_up = true in the shop file")
HITS_FIXTURE = Finding("stop", "hits-fixture",
    "{body} meets {name} at {xy}, {depth_mm:3} below its top",
    "go round it or over it, stop above it, or move the clamping")
HOLDER_HITS = Finding("stop", "holder-hits", HITS_FIXTURE.said,
    "hold the tool farther out, use a longer one, or move the clamping")
SPINDLE_NEAR = Finding("warning", "spindle-near",
    "a spindle nose {nose_mm:exact} across, where the holder ends, meets {name} at {xy}, "
    "{depth_mm:3} below its top",
    "see that the spindle clears it, hold the tool farther out, or move it")
HOME_OTHER_AXES = Finding("note", "home-other-axes",
    "only the axes named go home here; on a control that sends all of them home {met}",
    "name one axis alone only if your control moves it alone")
HOME_OUT_OF_WORK = Finding("stop", "rapid-below-top",
    "every axis is sent home from {depth_mm:3} below the top of the stock: sideways too",
    "go up first, as in G91 G28 Z0., then name the others")
BEYOND_TRAVEL = Finding("stop", "outside-travel",
    "{axis} goes to machine {place_mm:3bare}, {beyond_mm:3} beyond the end of its travel at "
    "{end_mm:exactbare}",
    "the mill's {axis} goes from {least_mm:exactbare} to {most_mm:exact}: clamp the work "
    "elsewhere, or change the program")
TRAVEL_TOO_SHORT = Finding("stop", "outside-travel",
    "the program needs {needed_mm:3} of {axis}; the mill has {length_mm:exact}",
    "divide the work, or list the work offset in the shop file to see where")
WORK_SYSTEM_CHANGED = Finding("warning", "work-system-changed",
    "the program cuts in another work system than before",
    "is there a second piece of work at that place? this dry run has one stock")
UNITS_SUSPECT = Finding("warning", "units-suspect",
    "what is cut looks 25.4 times too {how} for the stock: read in the other unit it fits",
    "check G20 and G21, and the unit that the coordinates were written in")
ENDS_TURNING = Finding("stop", "ends-turning",
    "the program ends with the spindle on",
    "stop it before the end: M5")
ENDS_LOW = Finding("stop", "ends-low",
    "the program ends with the tool {where} the work at Z{z_mm:3bare}",
    "raise it to Z{safe_mm:exact} or higher first")

# changes of tool

SECOND_TOOL = Finding("stop", "second-tool-on-first-zero",
    "{tool} is put in and cannot be zeroed here: it would run on the zero of the tool before it",
    "split the file at line {asked}: one tool a file, each with the modes at its head, and zeroed "
    "before it is run")
CHANGED_IN_WORK = Finding("stop", "change-in-work",
    "the tool is changed {depth_mm:3} below the top of {below}",
    "raise it clear of everything before the change")
NEW_TOOL_IN_WORK = Finding("stop", "change-in-work",
    "{tool} put in here, {body} would be {depth_mm:3} below the top of {name}",
    "go at least {higher_mm:3} higher before the change")
NEW_TOOL_IN_HOLE = Finding("warning", "change-room",
    f"{NEW_TOOL_IN_WORK.said}, in the hole that is drilled there", NEW_TOOL_IN_WORK.advice)
LITTLE_ROOM = Finding("warning", "change-room",
    "the tool is changed {room_mm:3} over {below}, and nobody knows how long {tool} is",
    "go up to {least_mm:exact} or more over it before the change")
STEP_FROM_NOWHERE = Finding("stop", "after-touch-off",
    "a move in G91 after {where}: it counts from nobody knows where",
    "write G90, go up to a stated Z, then to X and Y")
SIDEWAYS_FIRST = Finding("warning", "after-touch-off",
    "the first move after {where} goes sideways: the tool may still touch the part",
    "go up to a stated Z first")
DOWN_FIRST = Finding("stop", "after-touch-off",
    "Z goes down to {low_mm:3bare} before X and Y have been stated, after {where}",
    "go up to a stated Z, then to X and Y, and only then down")
