"""What is asked of the slots of `base/templates/setting.txt` that stand at a tool."""

from __future__ import annotations

_XY = {"_x": "= X", "_y": "= Y"}
_MOVED = {
    "_move": "= move",
    "_when": "= before",
    "moved_step": "the first from a new height of the head",
    "_x": "= X",
    "_y": "= Y",
    "_lost": "= lost",
}
_NAMED = {
    "holes": "the holes of these steps that it is true of",
    "hole": "the same, one by name",
    "more": "and how many more there are",
}

_SLIPS = dict.fromkeys(
    ("radius_left_out", "radius_wrong_way", "wrong_edge", "one_turn", "other_unit"),
    "the distance after that slip, or a dash",
)

AT_A_TOOL: dict[str, dict[str, str]] = {
    "each-tool": {
        "touch_face": "the face that is up",
        "along": "whether that is the rim of a disc",
        "sets": "Z where the readout has it, else the quill",
    },
    "each-tool-up": {
        "_up": "= up",
        "along": "whether that is the rim of a disc",
        "sets": "Z where the readout has it, else the quill",
    },
    "touch-off": {"_by": "= by hand", "touch": "the boring tool"},
    "boring": {
        "pass_count": "the passes of these rows",
        "cut_minutes": "their depths by the feed",
        "_before": "= before the first and after each",
        "head_dial": "what the dial of the shop's boring head counts on",
        "_side": "= one side",
        "_alike": "= The last two cuts are alike: set the last by what the one before it took",
    },
    "pass": {
        "pass_number": "which pass of the hole the row is",
        "pass_count": "how many the hole has",
        "bored_from": "the drill's size, or the bore that the pass before leaves",
        "bored_to": "the bore after it: no cut over a millimetre, the last two alike",
        "dial_on": "what comes off, half of it where the dial counts on the radius",
    },
    "point-wanted": {
        "wanted_least": "what the table of points has for this material",
        "wanted_most": "the same",
        "point_tool": "a drill here with another point",
        "grind_deg": "the angle of that table to grind",
        "point_step": "the first step with it",
        "sets": "Z where the readout has it, else the quill",
        "grind_at": "the depth of that step by the other point, its full diameter as deep",
        "point_at": "the depth of that step",
        "point_off": "the difference of the two points",
        "point_way": "less where the new point is the blunter",
        "_each": "= every",
    },
    "touch-off-nose": {"nose_mm": "across the nose of this countersink", "_whose": "= yours"},
    "touch-off-rim": {
        "rim_hole": "the first hole of these steps",
        "_stop": "= stop",
        "sets": "Z where the readout has it, else the quill",
        "rim_at": "where the cone's point would be when its flanks meet that rim",
        "_sign": "= minus",
        "rim_share": "half of the diameter by the tangent of half the angle",
        "rim_mm": "how wide the hole is by then",
        "_can": "= cannot",
        "_size": "= smaller",
    },
    "size-limits": {
        "least": "the least size of a hole here",
        "most": "its greatest size",
        "fit": "its fit",
        **_NAMED,
    },
    "size-opens": {"cut": "spot, of spots", "widths": "of every cone of these rows"},
    "width": {
        "opens_mm": "the width of the cones of these rows",
        "of": "the patterns, or the holes, of these steps that it is true of",
        "first": "the same, one by name",
        "others": "and how many more there are",
    },
    "size-half": {"_half": "= half", "_two": "= two", "_halves": "= halves", **_NAMED},
    "lips-dulled": {"_dull": "= dull", "_when": "= first", "_hook": "= no"},
    "hand-reamed": {"_with": "= wrench", "_spindle": "= stands still"},
    "turn-back": {"_back": "= half a turn", "_when": "= after", "_turn": "= turn"},
    "withdraw": {"_withdraw": "= forwards, never backwards"},
    "thin-side": {
        "thin_face": "a side that the part file lets a hole here come so near",
        "thin_round": "of a disc, its rim or its bore, likewise",
        "thin_mm": "the wall, by the widest of the hole",
        "thin_holes": "all holes here that come so near it",
        "thin_pecks": "short where a drill works here",
        "_feed": "= light",
    },
    "lock-at": {**_XY, "lock_hole": "the hole finished here", "lock_done": "reamed or bored"},
    "lock-each": {**_XY, "lock_count": "the holes finished here", "lock_done": "reamed or bored"},
    "look-face": {
        "count": "the rows above it",
        "what": "whether they are spots",
        "hole": "a hole of these rows",
        "face": "an upright face",
        "apart": "how far the hole is from it",
    },
    "look-apart": {
        "count": "the rows above it",
        "what": "whether they are spots",
        "hole": "a hole of these rows",
        "other": "another of them",
        "apart": "how far apart they are",
    },
    "check head": {
        "radius_left_out": "not compared: both of its words say the same",
        "radius_wrong_way": "= wrong way",
        "wrong_edge": "= wrong edge",
        "one_turn": "= one turn",
        "other_unit": "= other unit",
    },
    "check face": {
        "from": "an upright face",
        "to": "one of the first holes",
        "right": "how far it is from there",
        **_SLIPS,
    },
    "check holes": {
        "from": "one of the first holes",
        "to": "another of them",
        "right": "how far apart they are",
        **_SLIPS,
    },
    "measure": {
        "_when": "= after",
        "measure_step": "the step of the hole that is measured",
        "_then": "= before",
    },
}
