"""The codes that are read, as tables: code -> verb, modal group, words that it uses.

To read a further code, add a row here and a function of its verb's name to the module that acts on
it (`acting.VERBS` gathers them). The comment above a row says to the machinist what the codes
below it do: the table of docs/what-is-read.md is made of these. G codes are keyed by ten times
their number, so that G59.1 is 591. Groups and their order of execution follow NISTIR 6556, tables
4 and 8. Then what codes that are not read commonly mean, and what to write instead: for messages
only, nothing there decides a motion.
"""

from __future__ import annotations

from millprep.base.records import frozen

AXES = "XYZ"
ROTARY = "ABC"
LENGTH_LETTERS = frozenset("XYZIJKRQF")
"""Words that some controls count in least increments when they carry no decimal point."""


@frozen
class Code:
    """What a code does.

    verb      : name of the act, a key of `acting.VERBS`
    group     : modal group; two codes of one group do not share a line
    value     : handed to the verb ("mm", 17, "G54", the cycle's number)
    uses      : letters that the code takes from its line
    owns_axes : the axis words of the line belong to this code, not to the motion in force
    turn      : when it acts, a member of ORDER; empty: the group's own turn
    """

    verb: str
    group: str
    value: str | int = 0
    uses: str = ""
    owns_axes: bool = False
    turn: str = ""


ORDER = (
    "feed mode", "spindle mode", "feed", "speed", "select tool", "change tool", "spindle",
    "coolant", "overrides", "dwell", "plane", "units", "cutter compensation", "length offset",
    "rotation", "scaling", "polar", "work system", "path", "arc centres", "distance",
    "return level", "offsets", "motion", "stop",
)  # fmt: skip
"""Order of execution of a line, whatever order its words are written in (NISTIR 6556, table 8)."""

_ONCE = "non-modal"  # G4 G10 G28 G30 G53 G92: one of them a line

G_CODES: dict[int, Code] = {
    # rapid, feed; straight
    0: Code("rapid", "motion", 0, AXES),
    10: Code("feed", "motion", 10, AXES),
    # arc or helix clockwise, counterclockwise
    20: Code("arc", "motion", 20, AXES + "IJKR"),
    30: Code("arc", "motion", 30, AXES + "IJKR"),
    # dwell
    40: Code("dwell", _ONCE, 0, "P", turn="dwell"),
    # L2, L20: the origin of a work system; strict: L2 alone
    100: Code("set_origin", _ONCE, 0, AXES + "PLR", owns_axes=True, turn="offsets"),
    # polar coordinates off, which they always are
    150: Code("accept", "polar"),
    # plane of arcs; cycles only in G17
    170: Code("set_plane", "plane", 17),
    180: Code("set_plane", "plane", 18),
    190: Code("set_plane", "plane", 19),
    # inch, mm
    200: Code("set_units", "units", "inch"),
    210: Code("set_units", "units", "mm"),
    # home, second home
    280: Code("go_home", _ONCE, 280, AXES, owns_axes=True, turn="offsets"),
    300: Code("go_home", _ONCE, 300, AXES, owns_axes=True, turn="offsets"),
    # cutter compensation off; left, right: the programmed path is read, doubted
    400: Code("set_compensation", "cutter compensation", ""),
    410: Code("set_compensation", "cutter compensation", "left", "D"),
    420: Code("set_compensation", "cutter compensation", "right", "D"),
    # tool length offset on, off
    430: Code("apply_length_offset", "length offset", 0, "H"),
    490: Code("cancel_length_offset", "length offset"),
    # scaling off, which it always is
    500: Code("cancel_scaling", "scaling"),
    # temporary shift of all work systems
    520: Code("shift_for_now", _ONCE, 0, AXES, owns_axes=True, turn="offsets"),
    # one move in machine coordinates
    530: Code("machine_move", _ONCE, 0, AXES, turn="motion"),
    # work systems 1 to 9
    540: Code("set_work_system", "work system", "G54"),
    550: Code("set_work_system", "work system", "G55"),
    560: Code("set_work_system", "work system", "G56"),
    570: Code("set_work_system", "work system", "G57"),
    580: Code("set_work_system", "work system", "G58"),
    590: Code("set_work_system", "work system", "G59"),
    591: Code("set_work_system", "work system", "G59.1"),
    592: Code("set_work_system", "work system", "G59.2"),
    593: Code("set_work_system", "work system", "G59.3"),
    # exact path, exact stop, continuous; G64 noted, strict: without P
    610: Code("set_path", "path", "exact path"),
    611: Code("set_path", "path", "exact stop"),
    640: Code("set_path", "path", "continuous", "P"),
    # rotation off, which it always is
    690: Code("accept", "rotation"),
    # chip-breaking cycle
    730: Code("drill", "motion", 730, AXES + "RQL"),
    # left-hand tapping cycle, where the shop file's `cycles` lists it
    740: Code("drill", "motion", 740, AXES + "RL"),
    # end of a cycle
    800: Code("cancel_motion", "motion", 800),
    # drilling cycles: drill, drill with dwell, peck, tap, ream, bore, bore with dwell
    810: Code("drill", "motion", 810, AXES + "RL"),
    820: Code("drill", "motion", 820, AXES + "RPL"),
    830: Code("drill", "motion", 830, AXES + "RQL"),
    840: Code("drill", "motion", 840, AXES + "RL"),
    850: Code("drill", "motion", 850, AXES + "RL"),
    860: Code("drill", "motion", 860, AXES + "RPL"),
    890: Code("drill", "motion", 890, AXES + "RPL"),
    # absolute, incremental
    900: Code("set_distance", "distance", "absolute"),
    910: Code("set_distance", "distance", "incremental"),
    # arc centres absolute, incremental
    901: Code("set_arc_centres", "arc centres", "absolute"),
    911: Code("set_arc_centres", "arc centres", "incremental"),
    # shift to a reading; end for good, end for now, restore
    920: Code("shift_to_reading", _ONCE, 0, AXES, owns_axes=True, turn="offsets"),
    921: Code("end_shift", _ONCE, "for good", turn="offsets"),
    922: Code("end_shift", _ONCE, "for now", turn="offsets"),
    923: Code("restore_shift", _ONCE, turn="offsets"),
    # inverse time, per minute, per revolution
    930: Code("set_feed_mode", "feed mode", "inverse time"),
    940: Code("set_feed_mode", "feed mode", "per minute"),
    950: Code("set_feed_mode", "feed mode", "per revolution"),
    # spindle in turns per minute, which it always is
    970: Code("accept", "spindle mode"),
    # after a cycle back to the old level, to R
    980: Code("set_return_level", "return level", "initial"),
    990: Code("set_return_level", "return level", "retract plane"),
}

M_CODES: dict[int, Code] = {
    # pause, optional pause, pallet change (noted)
    0: Code("pause", "stop", 0),
    1: Code("accept", "stop"),
    60: Code("change_pallet", "stop"),
    # end
    2: Code("end_program", "stop", 2),
    30: Code("end_program", "stop", 30),
    # spindle clockwise, counterclockwise, stopped
    3: Code("turn_spindle", "spindle", 1),
    4: Code("turn_spindle", "spindle", -1),
    5: Code("turn_spindle", "spindle", 0),
    # change to the tool that T has named
    6: Code("change_tool", "change tool"),
    # coolant on, on, off
    7: Code("set_coolant", "coolant", 1),
    8: Code("set_coolant", "coolant", 1),
    9: Code("set_coolant", "coolant", 0),
    # overrides on, off
    48: Code("accept", "overrides"),
    49: Code("accept", "overrides"),
    # lines from a number on as a subprogram; subprogram, and back
    97: Code("call_lines", "stop", 0, "PL"),
    98: Code("call_subprogram", "stop", 0, "PL"),
    99: Code("return_from_subprogram", "stop", 0, "P"),
}

LETTERS: dict[str, Code] = {
    # feed, speed, tool
    "F": Code("set_feed", "feed"),
    "S": Code("set_speed", "speed"),
    "T": Code("select_tool", "select tool"),
}
"""Words that act by themselves."""

BY_HABIT: dict[str, Code] = {
    "doubt": Code("doubt", "feed mode"),
    "offset not in use": Code("doubt", "length offset"),
    "rapid beside home": Code("rapid_beside_home", "motion"),
    "rise after cycle": Code("rise_after_cycle", "motion", 0, "Z"),
    "listed M": Code("pass_over", "coolant"),
    "not listed": Code("lack", "feed mode"),
}
"""What a line asks for by no code of its own: see `habits`."""

STRICT_REFUSES_G = frozenset({150, 410, 420, 500, 520, 690, 730, 740, 901, 911, 950, 970})
STRICT_REFUSES_M = frozenset({97, 98, 99})
"""Codes in common use that NISTIR 6556 does not define."""


_CENTRE = "write the path of the tool's centre"
_MOVES = "write the moves out, or call a subprogram with M98 P"
G_MEANINGS: dict[int, tuple[str, str]] = {
    50: ("high-precision contouring, or something else by control", ""),
    70: ("circle or radius mode, by control", ""),
    90: ("exact stop, by control", ""),
    160: ("polar coordinates", "write the holes in X and Y"),
    181: ("plane by control", ""),
    281: ("a home position by control", ""),
    382: ("probing", "where a probe stops is not known beforehand: take it out of the dry run"),
    411: ("cutter compensation by a radius in the line", _CENTRE),
    412: ("cutter compensation in space, by control", _CENTRE),
    421: ("cutter compensation by a radius in the line", _CENTRE),
    422: ("cutter compensation in space, by control", _CENTRE),
    431: ("length offset given in the line", "write G43 H with the tool's number"),
    440: ("negative length offset", "write G43 H, with the length positive in the tool table"),
    510: ("scaling", "write the scaled figures"),
    650: ("macro call", _MOVES),
    660: ("modal macro call", _MOVES),
    680: ("rotation of coordinates", "write the rotated figures"),
    760: (
        "fine boring cycle, or a threading cycle by control",
        "write G85, or the moves in G0 and G1",
    ),
    870: ("back boring cycle", "bore from the other side, or by hand"),
    880: ("boring cycle, out by hand", "write G85 or G89, or bore by hand"),
    960: ("constant surface speed", "write the speed with G97 S"),
}
"""What a code commonly means, and what to write instead; empty where there is nothing to say."""

M_MEANINGS: dict[int, str] = {
    13: "spindle clockwise with coolant, by control",
    14: "spindle counterclockwise with coolant, by control",
    19: "oriented spindle stop",
    29: "rigid tapping",
    96: "conditional subprogram call, by control",
    198: "subprogram in another file",
}

LETTER_MEANINGS = dict.fromkeys("ABC", "rotary axis") | dict.fromkeys("UVW", "further axis")
LETTER_MEANINGS["E"] = "no fixed meaning"

FLOW_WORDS = ("WHILE", "REPEAT", "RETURN", "GOTO", "CALL", "THEN", "ELSE", "END", "IF", "DO")
"""Words by which programs jump and decide on some controls; the longer first."""
