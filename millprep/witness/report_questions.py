"""What is asked of tools lists, inspection sheets, match sheets and reports of assemblies.

As `questions`, whose table these are part of. Imports nothing.
"""

from __future__ import annotations

_NOT_COMPARED = "not compared: "
_BY_SUMS = "by the witness's own sums from the hole, the missing tool and the one of the drawer"
_INSTEAD = {
    "rank": "one after the other",
    "instead": "a tool of the drawer",
    "kind": "a tool of the drawer",
}

_PLAY = (
    _NOT_COMPARED + "which screw goes where follows from kinds of holes; the verdict is asked of "
    "what was found"
)

_DISTANCE = {
    "check": "numbered one by one",
    "hole": "a hole of the face",
    "expected": "the true distance of the part, with the pins",
    "least": "what the zones allow along the direction, rounded inwards",
    "greatest": "what the zones allow along the direction, rounded inwards",
    "instrument": "the first that reads so far and is fine enough",
    "mean": "whether the shake of the pins would take too much",
    "coarse": "whether the reading leaves more than a quarter of the tolerance open",
}

_OFF = (
    "measured less nominal by the witness's own frame; of readings over pins, with the true "
    "position and the verdict"
)

REPORTS: dict[str, dict[str, str]] = {
    # the tools list
    "tools-title": {"part": "the part's name", "part_mark": "the mark of the part file"},
    "tools row": {
        "tool_number": "one after the other",
        "tool": "in the drawer by name and each figure, or marked; of a size that its holes want",
    },
    "tool-missing": {"_drawer": "= NOT IN THE DRAWER"},
    "tool-alone": {"_near": "= nothing in the drawer"},
    "tool-use": {
        "operations": "each is wanted by a hole and done by such a tool; none is lacking",
        "_word": "setups where there are several",
        "setups": "those whose faces its holes are worked from",
        "deepest_mm": "between the depth that the holes want and what the trade adds",
        "holes": "each wants the tool; every hole has a tool for each of its operations",
    },
    "tap-percent": {
        "thread": "that of each tapped hole of the drill, once",
        "percent": _BY_SUMS,
        "_factor": "= 1.2269",
    },
    **{
        f"instead-{name}": {**_INSTEAD, **dict.fromkeys(slots.split(), _BY_SUMS), **sound}
        for name, slots, sound in (
            ("tap-drill", "percent cut_percent", {"_factor": "= 1.2269", "_when": "= after"}),
            ("ream-drill", "left verdict least most", {}),
            ("tight-drill", "room thread grade hole", {"verdict": "= tighter"}),
            ("loose-drill", "room thread grade hole", {"verdict": "= looser"}),
            ("clearance-drill", "room thread grade", {}),
            ("between-drill", "room thread grade hole wider_grade wider_hole", {}),
            ("plain-drill", "off way cut limits", {}),
            ("reamer", "off way limits", {}),
            ("bored", "", {}),
            ("drill-for-reamer", "off way", {"_round": "= not round enough"}),
            ("tap", "screw off way pitch wanted_pitch flanks wanted_flanks", {}),
            ("short-cone", "off", {}),
            ("same-cone", "angle", {}),
            ("other-cone", "angle wanted_angle where", {}),
            ("wide-recess", "off", {}),
            ("milled", "off", {}),
            ("started", "", {}),
        )
    },
    "tools-all": {"tool_count": "how many follow", "_all": "= all in the drawer"},
    "tools-missing": {
        "tool_count": "how many follow",
        "_where": "= not in the drawer",
        "missing_count": "how many of them are marked",
    },
    "belt": {"_least": "= half", "_most": "= 1.15"},
    "belt-step": {
        "setup": "in order; each tool once in each of its setups",
        "rpm": "a speed of the mill, from half to 1.15 of what is right for each tool",
        "_word": "tools where there are several",
        "tools": "those under power, each once a setup",
        "_outside": "=  (no step suits ",
        "outside": "tools whose speed the step is not right for, and no others",
    },
    "belt-sooner": {
        "changes": "counted along the steps",
        "changes_at_best": _NOT_COMPARED
        + "the best step of each tool is a choice; no fewer than changes",
        "_gain": "= save",
        "_longer": _NOT_COMPARED + "what a choice that was not taken would save",
    },
    "belt-same": {
        "changes": "counted along the steps",
        "changes_at_best": _NOT_COMPARED
        + "the best step of each tool is a choice; no fewer than changes",
        "_gain": "= save no time",
    },
    # the as-drilled sheet
    "match-title": {
        "part": "the part's name",
        "setup": "the setup whose face was measured",
        "face": "the face of that setup",
        "_where": "= up",
    },
    "match-file": {"measured": "the file that was read"},
    "fit-turned": {
        "turn": "the turn of the least squares, as the readout counts",
        "way": "which way that is",
        "_about": "= X0 Y0",
        "_hand": "the hand that was said; the fit is of it",
        "_x_axis": "= X",
        "x_way": "the sign of the shift, as the readout counts",
        "x_shift": "the shift of the least squares of nominal and measured places",
        "_y_axis": "= Y",
        "y_way": "the sign of the shift, as the readout counts",
        "y_shift": "the shift of the least squares",
        "unit": "the unit of the sheet",
    },
    "fit-straight": {
        "_turned": "= not turned",
        "_hand": "the hand that was said; the fit is of it",
        "_x_axis": "= X",
        "x_way": "the sign of the shift, as the readout counts",
        "x_shift": "the shift of the least squares of nominal and measured places",
        "_y_axis": "= Y",
        "y_way": "the sign of the shift, as the readout counts",
        "y_shift": "the shift of the least squares",
        "unit": "the unit of the sheet",
    },
    "fit-errors": {
        "fitted_count": "the measured holes that are not left out",
        "rms": "what the fit leaves, as the root of the mean square",
        "worst_hole": "the hole of which it leaves most",
        "worst": "how much that is",
    },
    "fit-least-worst": {"least_worst": "between the mean error and the worst of the fit"},
    "fit-left-out": {"hole": "a hole that is marked so", "off": "what the fit leaves of it"},
    "looks": {"looks": _NOT_COMPARED + "what errors look like is a guess from them"},
    "mate-fits": {
        "verdict": "= fits",
        "screw_count": "no more than holes were measured",
        "play": _PLAY,
    },
    "mate-lacks": {
        "verdict": "= does not fit",
        "tight_holes": _PLAY,
        "_lacks": _PLAY,
        "play": _PLAY,
    },
    "mate-open": {"verdict": "= not decidable", "play": _PLAY, "spare": _PLAY},
    "mate-unjudged": {"verdict": "= not judged", "_hole": "= no measured hole"},
    "measured head": {
        "_hole": "= hole",
        "x_axis": "= X",
        "y_axis": "= Y",
        "mx_axis": "= X",
        "my_axis": "= Y",
        "lx_axis": "= X",
        "ly_axis": "= Y",
    },
    "measured row": {
        "hole": "each measured hole of the face once",
        "nominal_x": "the hole's place by the witness's own frame",
        "nominal_y": "the hole's place by the witness's own frame",
        "measured_x": "the reading of the file",
        "measured_y": "the reading of the file",
        "left_x": "measured less shift and turn of nominal",
        "left_y": "measured less shift and turn of nominal",
        "off": "how far that is",
    },
    "drill-misread": {
        "_misread_box": "= [?]",
        "_verb": "are where there are several",
        "_when": "= before",
    },
    "drill-unmeasured": {"_box": "= [+]", "_measured": "= not measured"},
    "drill-as-drawn": {"_larger": "= no larger", "_box": "= [+]"},
    "drilled head": {
        "_hole": "= hole",
        "x_axis": "= X",
        "y_axis": "= Y",
        "dx_axis": "= X",
        "dy_axis": "= Y",
    },
    "drilled row": {
        "state": "measured where the file has it; left out where the fit does without it",
        "hole": "each hole of the face once",
        "x": "where it was measured, or where the fit puts it; with edges kept, that undone",
        "y": "where it was measured, or where the fit puts it; with edges kept, that undone",
        "moved_x": "that less the nominal place",
        "moved_y": "that less the nominal place",
    },
    "done-measured": {
        "measured_count": "the holes that are measured",
        "missing_count": "the holes that are not",
        "_measured": "= not measured",
    },
    "assumed-readings": {
        "noise": "as asked for, else 0.02 mm",
        "grade": "= normal",
        "readout_count": "what the readout counts",
    },
    # the inspection sheet
    "inspection-title": {"part": "the part's name"},
    "inspected": {"piece_count": "as asked for"},
    "first-deburr": {"_zero": "= zero"},
    "first-warm": {"_when": "= before"},
    "first-square": {"_way": "= long"},
    "instruments-used": {"with_instruments": "those of the readings, each once"},
    "instrument": {"name": "those of the readings", "off": "the shop's uncertainty of it"},
    "pins": {"pins": "those of the readings, by size"},
    "pins-largest": {
        "_which": "= largest",
        "_how": "= by hand",
        "_least": "= 0.01",
        "_most": "= 0.05 mm",
        "_side": "= under",
    },
    "pins-half": {"_share": "= half"},
    "pins-mean": {"_one": "= one way", "_two": "= two"},
    "{face:face} (setup {setup:count})": {
        "face": "the face of that setup",
        "setup": "the setup of that face",
    },
    "places pins-apart": {
        "what": "half of both pins more than the centres are apart, or less",
        "to": "another hole of the face",
        **_DISTANCE,
        "pin_words": "pins of the shop that go into the holes",
    },
    "places edge-to-pin": {
        "_far": "= far side",
        "to": "an upright face",
        **_DISTANCE,
        "pin_words": "pins of the shop that go into the holes",
    },
    "places edge-to-hole": {"_pin": "= no pin", "to": "an upright face", **_DISTANCE},
    "places rim-to-hole": {"_which": "= least", "_pin": "= no pin", **_DISTANCE},
    "places rim-to-pin": {
        "_nearest": "= nearest",
        "_far": "= far side",
        **_DISTANCE,
        "pin_words": "pins of the shop that go into the holes",
    },
    "tried width": {
        "what": "the length of the hole that the limits are of",
        "least": "the drawing's limit, what a drill leaves, or the usual; rounded inwards",
        "greatest": "the drawing's limit, what a drill leaves, or the usual; rounded inwards",
        "instrument": "jaws, rod, or a gauge where those are no good",
        "coarse": "whether it leaves more than a quarter of the tolerance open",
        "note": "how it is measured, with the hole's own figures",
    },
    "tried opened": {
        "what": "= opened",
        "opened": "a length of the hole that is opened",
        "least": "less the usual tolerance, rounded inwards",
        "greatest": "with the usual tolerance, rounded inwards",
        "instrument": "jaws, rod, or a gauge where those are no good",
        "coarse": "whether it leaves more than a quarter of the tolerance open",
        "note": "how it is measured",
    },
    "tried answer": {
        "what": "what is said of how to try it is of that kind",
        "note": "pin, thread, turns and screw are the hole's",
    },
    "tried each": {
        "check": "numbered one by one",
        "hole": "a hole of which that is true",
        "box": "a line for a length, a box for yes or no",
    },
    "or": {"_columns": "= hole,x,y,diameter"},
    "then": {
        "_option": "= -o sheet.csv",
        "_command": "= millprep inspect PART sheet.csv",
        "_measured": "= not measured",
    },
    "assumed-inspection": {
        "usual": "whether the drawing leaves the limits of a reading open",
        "disc": "whether holes of a disc are measured",
        "_beyond": "= beyond",
        "_standard": "= ISO 14253-1",
        "_side": "= above",
        "_share": "= 1/4",
    },
    # the verdicts on a piece
    "verdict-title": {
        "part": "the part's name",
        "piece": "as it was called",
        "date": "the day that was given",
    },
    "by-readings": {
        "reading_count": "the readings of the file",
        "file": "the file that was read",
        "empty_count": "the empty rows of the file",
        "material": "= maximum",
    },
    "by-places": {
        "readout_off": "the shop's uncertainty of the readout",
        "file": "the file that was read",
        "material": "= maximum",
    },
    "holes head": {"x_axis": "= X", "y_axis": "= Y"},
    **{
        f"holes {slug}": {
            "hole": "each hole of the setups once",
            **dict.fromkeys(known.split(), _OFF),
            **({"true_position": "twice the distance"} if slug == "placed" else {}),
            "zone": "whether the drawing gives a position",
            "allowed": "the zone by the drawing or the usual, with its bonus where that was asked",
            "verdict": "the worst of place, size, thread and the other readings, compared here; "
            "how sure readings over pins are of a place is not compared",
        }
        for slug, known in (
            ("placed", "dx dy"),
            ("along-x", "dx"),
            ("along-y", "dy"),
            ("unplaced", ""),
        )
    },
    "hole-size": {
        "size": "the diameter of the file",
        "size_least": "of the drawing, as a drill leaves it, or the usual",
        "size_greatest": "of the drawing, as a drill leaves it, or the usual",
        "size_verdict": "compared here, with what pins said",
        "bore": "told of a hole with a class",
    },
    "hole-width": {"size": "the diameter of the file, of a tapped hole"},
    "hole-pins": {
        "_by": "= by pins",
        "size_least": "of the drawing, as a drill leaves it, or the usual",
        "size_greatest": "of the drawing, as a drill leaves it, or the usual",
        "size_verdict": "from what the pins said",
    },
    "hole-thread": {"thread": "the thread of the hole", "thread_verdict": "from both gauges"},
    "READINGS that are {_which:not in/in}": {"_which": "= not in"},
    **{
        f"read-{slug}": {
            "check": _NOT_COMPARED + "which number the sheet gave it is a choice of that sheet",
            "what": "each reading of the file that is not in, once",
            "hole": "a reading of the file",
            **shown,
            "verdict": "compared here",
        }
        for slug, shown in (
            (
                "length",
                {
                    "to": "a reading of the file",
                    "reading": "that of the file",
                    "least": "by the zones along its direction, or of the size",
                    "greatest": "by the zones along its direction, or of the size",
                },
            ),
            ("turns", {"turns": "those of the file"}),
            (
                "answer",
                {
                    "to": _NOT_COMPARED + "no gauge is told apart by it",
                    "answer": "that of the file",
                },
            ),
        )
    },
    "totals": {
        "in_count": "counted along the rows",
        "hole_count": "the rows",
        "_in": "= in",
        "_out": "= out",
        "out_count": "counted along the rows",
        "beyond_count": "counted along the rows",
        "_beyond": "= beyond usual",
        "open_count": "counted along the rows",
        "_open": "= not decidable",
        "missing_count": "counted along the rows",
        "_missing": "= not measured",
        "_nothing": "= nothing",
        "_measured": "= not measured",
    },
    "bore": {
        "class": "that of the hole",
        "class_least": "the hole's limit",
        "class_greatest": "the hole's limit",
        "deviation": "the size less the nominal",
        "pin_fits": _NOT_COMPARED + "which pins usually go with a class is a choice",
    },
    "pin-fit": {
        "shaft": "of ISO 286, and so are the clearances that follow",
        "least_um": "the deviation less the shaft's greatest",
        "greatest_um": "the deviation less the shaft's least",
    },
}
