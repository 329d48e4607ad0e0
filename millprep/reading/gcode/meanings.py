"""What codes that are not read commonly mean, and what to write instead: for messages only.

Nothing here decides a motion. G codes are keyed by ten times their number. Imports nothing.
"""

from __future__ import annotations

G_MEANINGS: dict[int, str] = {
    50: "high-precision contouring, or something else by control",
    70: "circle or radius mode, by control",
    90: "exact stop, by control",
    160: "polar coordinates",
    181: "plane by control",
    281: "a home position by control",
    382: "probing",
    411: "cutter compensation by a radius in the line",
    412: "cutter compensation in space, by control",
    421: "cutter compensation by a radius in the line",
    422: "cutter compensation in space, by control",
    431: "length offset given in the line",
    440: "negative length offset",
    510: "scaling",
    650: "macro call",
    660: "modal macro call",
    680: "rotation of coordinates",
    760: "fine boring cycle, or a threading cycle by control",
    870: "back boring cycle",
    880: "boring cycle, out by hand",
    960: "constant surface speed",
}

G_REMEDIES: dict[int, str] = {
    160: "write the holes in X and Y",
    382: "where a probe stops is not known beforehand: take it out of the dry run",
    411: "write the path of the tool's centre",
    412: "write the path of the tool's centre",
    421: "write the path of the tool's centre",
    422: "write the path of the tool's centre",
    431: "write G43 H with the tool's number",
    440: "write G43 H, with the length positive in the tool table",
    510: "write the scaled figures",
    650: "write the moves out, or call a subprogram with M98 P",
    660: "write the moves out, or call a subprogram with M98 P",
    680: "write the rotated figures",
    760: "write G85, or the moves in G0 and G1",
    870: "bore from the other side, or by hand",
    880: "write G85 or G89, or bore by hand",
    960: "write the speed with G97 S",
}

M_MEANINGS: dict[int, str] = {
    13: "spindle clockwise with coolant, by control",
    14: "spindle counterclockwise with coolant, by control",
    19: "oriented spindle stop",
    29: "rigid tapping",
    96: "conditional subprogram call, by control",
    198: "subprogram in another file",
}

LETTER_MEANINGS: dict[str, str] = {
    "A": "rotary axis",
    "B": "rotary axis",
    "C": "rotary axis",
    "U": "further axis",
    "V": "further axis",
    "W": "further axis",
    "E": "no fixed meaning",
}

FLOW_WORDS = ("WHILE", "REPEAT", "RETURN", "GOTO", "CALL", "THEN", "ELSE", "END", "IF", "DO")
"""Words by which programs jump and decide on some controls; the longer first."""
