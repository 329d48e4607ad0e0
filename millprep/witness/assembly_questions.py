"""What is asked of reports of assemblies. As `questions`, whose table this is part of.

Imports nothing.
"""

from __future__ import annotations

_OWN = "by the witness's own sum from the holes, the screw and the tables"
_PLACES = {"member": "the member of one hole of the pair", "other": "the member of the other"}
_PIN = {"how": "as the file means it", "holes": "the holes that the file names"}
_FIT = {"fit": "the classes of hole and pin", "word": "by the mean clearance of the two"}
_UM = "the limits of hole and pin, or as measured, less each other"
_GAP = "the blanks along the pin, where the members lie"
_FLOAT = {
    "between": "the members of the pin that lie between the two",
    "outer": "members next to each other on the pin that screws hold together",
    "gap_mm": _GAP,
}
_OFF = "what was found says so; in JSON, by the places of the holes where the members lie"

ASSEMBLY: dict[str, dict[str, str]] = {
    "assembly-title": {"assembly": "the name of the assembly", "mark": "the mark of its file"},
    "assembly-note": {"note": "the note of its file"},
    "members row": {
        "name": "each member once, in order",
        "file": "the member's file",
        "mark": "the mark of that part file",
        "made_by": "as the assembly's file says",
        "on": "a member that is joined to it; one of each heap lies on nothing",
    },
    "{both:text}: {verdict:each other's opposite hand/NO handed pair}": {
        "both": "both members of each pair, in order",
        "verdict": "whether it was found to be none",
    },
    "{called:text}: {what:text}": {
        "called": "each joint, shared pattern and stack once, in order",
        "what": "how many screws or pins, and which, or what kind it is",
    },
    "joint-places": {"places": "the places that the file names, in order"},
    "screw-holds": {
        "play_mm": "the narrowest of each hole that is passed, less the screw",
        "grip_mm": _OWN,
        "engagement_mm": _OWN,
        "engagement_diameters": "the thread that holds, by the diameter",
        "wanted_mm": "by the table of the part's material, or the height of the nut",
        "spare_mm": _OWN,
        "deeper_mm": _OWN,
        "end_mm": _OWN,
        "end_way": _OWN,
        "head_off_mm": _OWN,
        "head_way": _OWN,
        "head_face": "the face that is cut for the head, or that the file names",
    },
    "stud-holds": {
        "play_mm": "the narrowest of each hole that is passed, less the stud",
        "grip_mm": _OWN,
        "_stud_way": _OWN,
        "stud_end_mm": _OWN,
        "where": _OWN,
        "_nuts": "= each",
    },
    "stack-holds": {
        "height_mm": "the bored members, and between them the bars and loose pieces that screws "
        "along the bores pass from one to the next; in JSON, by where the members are said to lie",
        "members": "those whose holes are named are there; all of them, where the file says which",
        "gaps_mm": "the height less the members that are bored",
    },
    "pin-clears": {**_PIN, "clears_mm": _UM},
    "pin-sits": {**_PIN, **_FIT, "least_um": _UM, "greatest_um": _UM, "as": _UM},
    "pin-may": {
        **_PIN,
        **_FIT,
        "tight_um": _UM,
        "_tight": "= interference",
        "play_um": _UM,
        "_play": "= clearance",
    },
    "end-float": {**_FLOAT, "free_mm": _GAP},
    "end-long": {**_FLOAT, "over_mm": _GAP},
    "buy row": {
        "what": "every screw, stud, nut, washer and pin of the file once",
        "count": "counted anew in all joints",
        "long_mm": "from the outermost mouth of its holes to the other, where the members lie",
        "long": "whether the file gives a length",
    },
    "over-lies": {**_PLACES, "_lie": "= line up"},
    "over-in-line": {**_PLACES, "_line": "= in line"},
    "over-askew": {**_PLACES, "_run": "= are not"},
    "over-out": {**_PLACES, "off_mm": _OFF, "_out": "= out of line"},
    "over-off": {**_PLACES, "off_mm": _OFF, "_off": "= off", "words": "what was found says so"},
    "enter": {
        "_all": "= all",
        "share": "of trials, with its error; below 95 % what was found says so. What the trials "
        "come to is not compared: they are of chance",
        "error": "the standard error of such a share of the trials",
        "made_by": "how the places of both members are found",
        "held": "two pins, or edges along both axes",
        "zones_mm": "what the drawings give both holes",
        "zones": "whether that is within what is left",
        "left_mm": "the holes that are passed less the screw",
    },
    "chances": {
        "trials": "= 10000",
        "seed": "= 1",
        "_nothing": "= nothing",
        "_errors": "= one standard error",
    },
    "verdict": {
        "stops": "how many were found",
        "warnings": "how many were found",
        "notes": "how many were found",
    },
    "unlooked": {
        "_nothing": "= Nothing",
        "_promise": "= is no proof",
        "_when": "= before",
        "_cut": "= the last cut",
    },
}
