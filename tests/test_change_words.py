"""Which comments at a stop put in another tool, and which only speak of one."""

import pytest

from millprep.model.tools import Drill
from millprep.reading.gcode.stops import UNNAMED, is_touch_off, tool_put_in

DRILL = Drill("5 mm", 5.0, number=1)
KNOWN = {("drill", 5.0): 1, ("reamer", 6.0): 4}


def put_in(comment: str) -> int | None:
    return tool_put_in([comment], 1, DRILL, lambda kind, size: KNOWN.get((kind, size)))


@pytest.mark.parametrize(
    ("comment", "number"),
    [
        ("FIT TOOL 3 DRILL 5 MM", 3),
        ("CHANGE TO T3", 3),
        ("change to t03", 3),
        ("MSG, FIT TOOL 3", 3),
        ("TOOL NO. 4", 4),
        ("TOOL 2 OF 4: DRILL 5", 2),
        ("T1 OUT, T2 IN", 2),
        ("CHANGE T1 FOR T2", 2),
        ("FIT T2, DON'T FORGET TO TOUCH OFF", 2),
        ("FIT 6 MM REAMER", 4),
        ("REAMER 6.0 MM", 4),
        ("DRILL 6.8, TOUCH OFF ON TOP", UNNAMED),
        ("CHANGE TO TOOL 5.5 MM DRILL", UNNAMED),
        ("M6 TAP", UNNAMED),
        ("1/4 REAMER", UNNAMED),
        ("INSERT END MILL 8 MM", UNNAMED),
        ("TOOL CHANGE", UNNAMED),
        ("CHANGE THE TOOL", UNNAMED),
    ],
)
def test_comments_that_put_in_another_tool(comment: str, number: int) -> None:
    assert put_in(comment) == number


@pytest.mark.parametrize(
    "comment",
    [
        "check depth",
        "CHECK DEPTH OF DRILL 5.5 MM",
        "CHECK DEPTH BEFORE TOOL 3",
        "CHECK FIT OF REAMER",
        "T1 STILL IN",
        "T1 STILL IN, T2 NEXT",
        "DO NOT FIT T3 YET",
        "FIT DRILL 5 MM",
        "5 MM DRILL",
        "6 MM REAMER DEPTH RIGHT?",
        "NO TOOL CHANGE HERE",
        "USE OIL FOR TAP",
        "FIT CLAMP CLEAR OF TOOL",
        "CHANGE BELT FOR REAMER",
        "SWAP CLAMPS, THEN GO ON",
        "TURN PART OVER, SAME TOOL",
        "TOUCH THE TOOL OFF",
        "",
    ],
)
def test_comments_that_do_not(comment: str) -> None:
    assert put_in(comment) is None


def test_touching_off_in_words() -> None:
    assert is_touch_off(["TOUCH THE TOOL OFF"])
    assert is_touch_off(["clear", "Zero Z on top"])
    assert not is_touch_off(["DO NOT TOUCH", "CHECK ZERO", "SWITCH OFF"])
