"""The codes that are read, as tables: code -> verb, modal group, words that it uses.

To read a further code, add a row here and its verb to the module that acts on it (`dispatch.py`
lists them). G codes are keyed by ten times their number, so that G59.1 is 591. Groups and their
order of execution follow NISTIR 6556, tables 4 and 8. Imports nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

AXES = "XYZ"
LENGTH_LETTERS = frozenset("XYZIJKRQF")
"""Words that some controls count in least increments when they carry no decimal point."""


@dataclass(frozen=True, slots=True)
class Code:
    """What a code does.

    verb      : name of the act, a key of `dispatch.VERBS`
    group     : modal group, a member of ORDER; two codes of one group do not share a line
    value     : handed to the verb ("mm", 17, "G54", the cycle's number)
    uses      : letters that the code takes from its line
    owns_axes : the axis words of the line belong to this code, not to the motion in force
    """

    verb: str
    group: str
    value: str | int = 0
    uses: str = ""
    owns_axes: bool = False


ORDER = (
    "feed mode", "feed", "speed", "select tool", "change tool", "spindle", "coolant", "dwell",
    "plane", "units", "cutter compensation", "length offset", "work system", "distance",
    "return level", "home", "motion", "stop",
)  # fmt: skip
"""Order of execution of a line, whatever order its words are written in (NISTIR 6556, table 8)."""

G_CODES: dict[int, Code] = {
    0: Code("rapid", "motion", 0, AXES),
    10: Code("feed", "motion", 10, AXES),
    20: Code("arc", "motion", 20, AXES + "IJKR"),
    30: Code("arc", "motion", 30, AXES + "IJKR"),
    40: Code("dwell", "dwell", 0, "P"),
    170: Code("set_plane", "plane", 17),
    180: Code("set_plane", "plane", 18),
    190: Code("set_plane", "plane", 19),
    200: Code("set_units", "units", "inch"),
    210: Code("set_units", "units", "mm"),
    280: Code("go_home", "home", 0, AXES, owns_axes=True),
    400: Code("accept", "cutter compensation"),
    430: Code("apply_length_offset", "length offset", 0, "H"),
    490: Code("cancel_length_offset", "length offset"),
    530: Code("machine_move", "machine coordinates", 0, AXES),
    **{540 + 10 * i: Code("set_work_system", "work system", f"G{54 + i}") for i in range(6)},
    730: Code("drill", "motion", 730, AXES + "RQL"),
    800: Code("cancel_motion", "motion", 800),
    810: Code("drill", "motion", 810, AXES + "RL"),
    820: Code("drill", "motion", 820, AXES + "RPL"),
    830: Code("drill", "motion", 830, AXES + "RQL"),
    840: Code("drill", "motion", 840, AXES + "RL"),
    850: Code("drill", "motion", 850, AXES + "RL"),
    900: Code("set_distance", "distance", "absolute"),
    910: Code("set_distance", "distance", "incremental"),
    940: Code("accept", "feed mode"),
    980: Code("set_return_level", "return level", "initial"),
    990: Code("set_return_level", "return level", "retract plane"),
}

M_CODES: dict[int, Code] = {
    0: Code("pause", "stop", 0),
    1: Code("accept", "stop"),
    2: Code("end_program", "stop", 2),
    30: Code("end_program", "stop", 30),
    3: Code("turn_spindle", "spindle", 1),
    4: Code("turn_spindle", "spindle", -1),
    5: Code("turn_spindle", "spindle", 0),
    6: Code("change_tool", "change tool"),
    7: Code("set_coolant", "coolant", 1),
    8: Code("set_coolant", "coolant", 1),
    9: Code("set_coolant", "coolant", 0),
}

LETTERS: dict[str, Code] = {
    "F": Code("set_feed", "feed"),
    "S": Code("set_speed", "speed"),
    "T": Code("select_tool", "select tool"),
}
"""Words that act by themselves."""

STRICT_REFUSES: dict[int, str] = {
    730: "G73, which NISTIR 6556 does not define",
}
"""G codes in common use that a control of the plain NIST kind does not know."""

G_MEANINGS: dict[int, str] = {
    50: "high-precision contouring, or something else by control",
    70: "circle or radius mode, by control",
    90: "exact stop, by control",
    100: "data setting",
    150: "polar coordinates off",
    160: "polar coordinates",
    181: "plane by control",
    300: "second home position",
    382: "probing",
    410: "cutter compensation left",
    420: "cutter compensation right",
    431: "length offset given in the line",
    440: "negative length offset",
    500: "scaling off",
    510: "scaling",
    520: "temporary shift of the work systems",
    591: "seventh work system",
    592: "eighth work system",
    593: "ninth work system",
    610: "exact path",
    611: "exact stop",
    640: "continuous path",
    650: "macro call",
    680: "rotation of coordinates",
    690: "rotation off",
    740: "left-hand tapping cycle",
    760: "fine boring cycle, or a threading cycle by control",
    860: "boring cycle, spindle stopped",
    870: "back boring cycle",
    880: "boring cycle, out by hand",
    890: "boring cycle with dwell",
    901: "absolute arc centres",
    911: "incremental arc centres",
    920: "shift of all work systems",
    921: "shift off",
    922: "shift suspended",
    923: "shift restored",
    930: "inverse time feed",
    950: "feed per revolution",
    960: "constant surface speed",
    970: "constant spindle speed",
}
"""What a code that is not read commonly means: for the message, never for the motion."""

M_MEANINGS: dict[int, str] = {
    19: "oriented spindle stop",
    29: "rigid tapping",
    48: "overrides on",
    49: "overrides off",
    60: "pallet change",
    97: "local subprogram call",
    98: "subprogram call",
    99: "subprogram return, or endless repeat",
}

LETTER_MEANINGS: dict[str, str] = {
    "A": "rotary axis", "B": "rotary axis", "C": "rotary axis",
    "U": "further axis", "V": "further axis", "W": "further axis",
    "D": "cutter compensation", "E": "no fixed meaning",
}  # fmt: skip
