"""What is asked of every slot of every sheet, or why it is not: the coverage of the witness.

Template to slot to question. One that begins with "= " is asked here and now: the slot says that
word and no other. One that begins with "not compared" gives the reason. `tests/test_slots_asked.py`
wants every slot to be here, and changes each in turn to see that the witness stops it;
docs/how-it-is-checked.md prints it. Imports nothing.
"""

from __future__ import annotations

_NOT_COMPARED = "not compared: "

QUESTIONS: dict[str, dict[str, str]] = {
    # the head and the foot of every sheet
    "stock-block": {
        "material": "the part's material",
        "sizes": "the blank as measured, along x, y, z",
        "unit": "the unit of the sheet",
        "measured": "whether the part file gives a measured size",
    },
    "stock-disc": {
        "material": "the part's material",
        "shape": "= dia",
        "sizes": "the blank as measured, across and along",
        "bore": "the blank's bore, if it has one",
        "unit": "the unit of the sheet",
        "measured": "whether the part file gives a measured size",
    },
    "marked": {
        "drawing": "the part's drawing",
        "part_mark": "the mark of the part file",
        "units": "the unit asked for",
    },
    "mind": {"advice": "the advice of the table of materials"},
    "note": {"note": "the part's note"},
    "remark": {"severity": "every finding is told", "message": "in its own words"},
    "caution": {"caution": "the cautions, typed again"},
    # what tells a part from its opposite hand
    "hand-by-holes": {
        "face": "the holes named are of that face",
        "holes": "holes of the face",
        "turns": "which way they go round, seen from outside",
        "other": "the other way",
        "sizes": _NOT_COMPARED + "whether places alone would tell is a matter of the eye",
        "drawing": _NOT_COMPARED + "whether other three holes look alike is a matter of the eye",
    },
    "hand-its-own-mirror": {"hands": "= no"},
    "hand-by-names": {"face": "a face that has holes", "shows": "= cannot"},
    "hand-by-faces": {
        "faces": "as many holes as each face has",
        "turns": "which way the faces go round their corner",
        "other": "the other way",
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
}
