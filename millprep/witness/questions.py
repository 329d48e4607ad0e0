"""What is asked of every slot of every sheet, or why it is not: the coverage of the witness.

Template to slot to question. One that begins with "= " is asked here and now: the slot says that
word and no other. One that begins with "not compared" gives the reason. `tests/test_slots_asked.py`
wants every slot to be here, and changes each in turn to see that the witness stops it;
docs/developers/how-it-is-checked.md prints it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Questions = dict[str, dict[str, str]]
_NOT_COMPARED = "not compared: "

_ROWS = {
    "locked": "the axis that is set and stands",
    "worked": "the other axis",
    "_ways": "= one",
    "settings": "how often that axis changes from step to step",
    "set": "the axis that is locked",
}

_MADE = {
    "x": "the hole's place, to half a count",
    "y": "the hole's place, to half a count",
    "z": "the depth that the part and the rules of the trade ask for",
    "turns": "of a tap: depth by pitch",
}

_BESIDE = {
    "operation": "what the part asks for at the hole, where the tool does several things",
    "odd": "how it differs from more than half of the steps",
}

_TOOL = {
    "called": "kind and sizes fit the operations at the holes, to their depths",
    "number": "one number for one tool, on the whole sheet; where it is not its change",
    "listed": "one number for one tool, on the whole sheet",
    "operation": "what the part asks for at its holes, where that is not what the tool is for",
    "hole_count": "the holes of its steps",
    "change": "one after the other",
    "change_count": "how many changes of tool there are",
}

_LISTING: Questions = {
    # the head and the foot of every sheet
    "stock-block": {
        "by": "dial on the dial sheet, and there only",
        "material": "the part's material",
        "sizes": "the blank as measured, along x, y, z",
        "measured": "whether the part file gives a measured size",
        "drawing": "the part's drawing",
    },
    "stock-disc": {
        "by": "dial on the dial sheet, and there only",
        "material": "the part's material",
        "shape": "= dia",
        "sizes": "the blank as measured, across and along",
        "bore": "the blank's bore, if it has one",
        "measured": "whether the part file gives a measured size",
        "drawing": "the part's drawing",
    },
    "marked": {
        "drawing": "the part's drawing",
        "part_mark": "the mark of the part file",
        "units": "the unit asked for",
    },
    "marked-part": {
        "part_mark": "the mark of the part file",
        "units": "the unit asked for",
        "positions": "the drawing's general tolerance, on the first page",
    },
    "mind": {"advice": "the advice of the table of materials"},
    "mind-dry": {
        "oil": "the lubricant of the table of materials",
        "advice": "the advice of the table of materials",
    },
    "mind-oil": {
        "oil": "the lubricant of the table of materials",
        "advice": "the advice of the table of materials",
    },
    "note": {"note": "the part's note"},
    "remark": {"severity": "every finding is told", "message": "in its own words"},
    "caution": {"caution": "the cautions, typed again"},
    # what is moved to fit holes that are drilled and measured
    "shifted-hole": {
        "hole": "each hole that the readings move, once",
        "_x": "= X",
        "x": "by the witness's own fit, to half a count",
        "_y": "= Y",
        "y": "by the witness's own fit, to half a count",
        "_from": "= from the drawing",
    },
    "shifted-drilled": {
        "_taken": "= taken as drilled, not entered again",
        "_how": "= go by its spot, its steps by",
        "_spotted": "= one only spotted yet",
        "_alone": "= without",
        "holes": "those that the file of readings names",
        "by": "that file",
    },
    "shifted-turn": {
        "degrees": "by the witness's own fit",
        "_corrected": "= not corrected",
        "why": "whether it was read in another setup",
    },
    # what an assembly leaves for later
    "left": {
        "holes": "every hole that the assembly leaves, once, with those left alike",
        "made": "as far as the assembly says",
        "pilot_mm": "the assembly's pilot",
        "later": "the step that goes on with it, by the assembly",
        "by": "the assembly file",
    },
    "left-on": {
        "holes": "what the sheet goes on with",
        "later": "how it was carried over, by the assembly",
        "start": "a spot, or the mark of a punch or screw",
        "_pick": "= pick it up: the readings only come near",
        "by": "the assembly file",
    },
    "left-measure": {
        "holes": "every hole that the assembly leaves, once, with those left alike",
        "_when": "= after",
        "later": "the step that goes on with it, by the assembly",
        "by": "the assembly file",
    },
    # what tells a part from its opposite hand
    "hand-from-above": {
        "_above": "= above",
        "holes": "holes of the face that is up",
        "turns": "which way they run, seen from outside",
        "sizes": _NOT_COMPARED + "whether places alone would tell is a matter of the eye",
        "drawing": _NOT_COMPARED + "whether other three holes look alike is a matter of the eye",
    },
    "hand-by-holes": {
        "face": "the holes named are of that face",
        "holes": "holes of the face",
        "turns": "which way they run, seen from outside",
        "sizes": _NOT_COMPARED + "whether places alone would tell is a matter of the eye",
        "drawing": _NOT_COMPARED + "whether other three holes look alike is a matter of the eye",
    },
    "hand-by-names": {"face": "a face that has holes", "shows": "= cannot"},
    "hand-by-faces": {
        "faces": "as many holes as each face has",
        "turns": "which way the faces run round their corner",
    },
    "counted-face": {"face": "a face of the corner", "count": "its holes"},
    # the marking-out list
    "markout-title": {"part": "the part's name", "standing_count": "how many standings follow"},
    "ink": {"ink": "the faces that have crosses"},
    "gauge": {"gauge_offset": "as asked for", "when": "= first"},
    "STAND {number:count}": {"number": "one after the other"},
    "stand": {
        "of": "how many standings there are",
        "face": "the heights of its lines are from that face",
        "up": "the face opposite",
        "where": "= up",
        "ink": "the faces of its lines",
    },
    "stand-datum": {"face": "the face that is down, and the drawing's datum"},
    "stand-centre": {
        "centre": "half the measured size, and the gauge's offset",
        "share": "= half",
        "face": "the face that is down",
        "up": "the face opposite",
        "lines": "= two",
        "agree": "= one",
    },
    "stand-far": {"up": "the face opposite, the drawing's datum", "where": "= up"},
    "stand-rim": {"face": "the face that is down, on the rim of a disc", "point": "= lowest"},
    "lines row": {
        "gauge": "the hole's distance from the face that is down",
        "face": "a face on which the hole is marked",
        "from_face": "a face across",
        "start": "half a line before the hole, or the edge",
        "end": "half a line behind the hole, or the edge",
        "hole": "each hole is crossed once on each of its faces",
    },
    "punch": {"order": "= first"},
    "punch row": {
        "face": "a face on which the hole is marked",
        "near_face": "a face that was not measured from",
        "near": "the hole's distance from it",
        "far_face": "the other such face",
        "far": "the hole's distance from it",
        "hole": "every cross once",
    },
    "count": {"counts": "the crosses of each face", "cross_count": "all crosses"},
    "face-count": {"face": "a face with crosses", "count": "its crosses"},
    "assumed-gauge": {"gauge_count": "what such a gauge counts", "half_line": "half a line"},
    # the readout listing
    "listing-title": {
        "part": "the part's name",
        "number": "one after the other",
        "of": "as many setups as the plan has",
        "face": "a face that has work, each once",
        "_up": "= up",
    },
    "tool": {**_TOOL, "rpm": "between half of the table's speed and the belt's next step over it"},
    "tool-by-hand": {**_TOOL, "_hand": "= by hand"},
    "all-to": {"z": "the depth of every step", "pecks": "the pecks of every step"},
    "all-pecks": {"pecks": "the pecks of its step"},
    "all-turns": {
        "turns": "of every step",
        "z": "the depth of every step",
        "_back": "= half a turn",
        "_when": "= after",
    },
    "tool-long": {"long_mm": "a drill of that size in the drawer whose flutes reach the steps"},
    "drawer": {"_drawer": "= NOT"},
    "rows-one-way": {**_ROWS, "_returns": "= no"},
    "rows-back": {
        **_ROWS,
        "returns": "how often the other axis goes back",
        "goes_back": "the axis that is worked",
        "_when": "= before",
        "return_steps": "the steps to which it goes back",
        "_comes": "= up",
    },
    "every-change": {
        "_changes": "= every",
        "face": "the face that is up",
        "_z": "= Z",
        "set_to": "0",
    },
    "hole": {"hole": "the hole of the steps below, in their order"},
    "go-to": {
        "_x": "= X",
        "x": "the hole's place, to half a count",
        "_y": "= Y",
        "y": "the hole's place, to half a count",
    },
    "steps head": {
        "_x": "= X",
        "x_unit": "the unit of the sheet",
        "_y": "= Y",
        "y_unit": "the unit of the sheet",
        "depth": "down where the readout has Z, else by the quill",
    },
    "steps row": {
        "step": "one after the other",
        "hole": "every hole of the face, with all that the part asks for",
        **_MADE,
        **_BESIDE,
    },
    "operations head": {"depth": "down where the readout has Z, else by the quill"},
    "operations row": {
        "step": "one after the other",
        "operation": "what the part asks for at the hole",
        "tool_number": "one of the tools told above",
        "z": "the depth that the part and the rules of the trade ask for",
        "turns": "of a tap: depth by pitch",
    },
    "cards row": {
        "step": "one after the other",
        "hole": "every hole of the face, with all that the part asks for",
        "operation": "what the part asks for at the hole",
        "tool_number": "one of the tools told above",
        **_MADE,
    },
    "pecks": {"pecks": "down to Z in bites no deeper than the schedule"},
    "done": {
        "done_count": "the holes of the rows that are not left begun",
        "hole_count": "the holes of the rows",
        "begun_count": "those that the assembly leaves spotted or piloted",
        "_begun": "= begun",
        "step_count": "the rows",
    },
    "done-excerpt": {
        "shown_count": _NOT_COMPARED + "an excerpt has rows of a listing that was compared",
        "step_count": _NOT_COMPARED + "an excerpt has rows of a listing that was compared",
        "_done": _NOT_COMPARED + "an excerpt has rows of a listing that was compared",
    },
    "assumed": {
        "breakthrough": "told where a hole goes through and gives none of its own",
        "_share": "= tenth",
        "cone_over": "told where holes are spotted",
        "points": "the points of the drills",
        "readout_count": "the shop's readout counts so",
    },
    "drill-point": {"point": "one of a drill on the sheet"},
}


def _tables() -> Iterator[Questions]:
    """One after the other, each fetched when it is asked for: a listing needs the first two."""
    yield _LISTING
    from millprep.witness.setting_questions import SETTING

    yield SETTING
    from millprep.witness.dial_questions import DIALS

    yield DIALS
    from millprep.witness.report_questions import REPORTS

    yield REPORTS
    from millprep.witness.assembly_questions import ASSEMBLY

    yield ASSEMBLY
    from millprep.witness.route_questions import ROUTE

    yield ROUTE
    from millprep.witness.carry_questions import CARRY

    yield CARRY


def questions_of(slug: str) -> dict[str, str]:
    """What is asked of each slot of a template."""
    return next((table[slug] for table in _tables() if slug in table), {})


def __getattr__(name: str) -> Any:
    """QUESTIONS: all of them, which docs and tests want."""
    if name != "QUESTIONS":
        raise AttributeError(name)
    return {slug: asked for table in _tables() for slug, asked in table.items()}
