"""What is asked of the order of a job. As `questions`, whose table this is part of.

Imports nothing.
"""

from __future__ import annotations

ROUTE: dict[str, dict[str, str]] = {
    "route-title": {
        "assembly": "the name of the assembly",
        "step_count": "the rows",
        "mark": "the mark of its file",
    },
    "route-counts": {
        "hole_count": "of all members",
        "piece_count": "the members",
        "_once": "= once",
    },
    "steps part-visit": {
        "n": "one after the other",
        "members": "all members of one file",
        "what": "what stands below is due to it; each hole of each file is finished once",
    },
    "steps stack-visit": {
        "n": "one after the other",
        "stack": "a stack of the file",
        "what": "each hole is finished once; its command",
    },
    "steps last-visit": {
        "n": "one after the other",
        "_all": "= all parts",
        "_together": "= put together",
    },
    "visit-all": {"hole_count": "the holes of the part"},
    "visit-holes": {"made": "each hole of each file is finished in one step"},
    "visit-faced": {
        "pieces": "the members of the file",
        "length_mm": "a size of the blank",
        "within_mm": "the witness's own figure",
    },
    "visit-placed": {"_moved": "= moved", "mate": "the part whose readings the command takes"},
    "visit-matched": {
        "fitted": "the holes of that step",
        "_at": "= at",
        "step": "the match of that part",
    },
    "visit-written": {
        "readings": "the file of the part, as a table of readings",
        "_columns": "= hole,x,y",
    },
    "visit-carried": {"source": "as the joint says", "by": "as the joint says"},
    "visit-lacks": {
        "_drawer": "= NOT IN THE DRAWER",
        "lacking": "not compared: the tools list of the part is asked of that",
    },
    "visit-after": {
        "_not": "= not before",
        "after": "steps before it, and by way of them all that the assembly makes it wait for",
    },
    "visit-sheet": {"command": "as the witness makes it of the file and the step"},
    "visit-left": {
        "_leave": "= LEAVE",
        "kept": "all that the step does not finish",
        "leave": "as the assembly says",
        "later": "the step that finishes them",
    },
}
