"""Holes that the hand makes while the program waits: the quill by hand, or a tap under a centre.

What a stop over a hole asks for is taken as done:

    RING 1, TOOL 1 SPOT DRILL 6 MM, DEPTH STOP 2.05, QUILL UP, THEN START
    RING 1, TOOL 2 DRILL 3.3 MM, DEPTH STOP 11.99, PECKS 6.60 9.90 11.99, QUILL UP, THEN START
    RING 1, TOOL 5 TAP M4, BY HAND UNDER THE CENTRE, 15.0 TURNS, END AT 10.50, QUILL UP, THEN START
    PROVING, CUT NOTHING: RING 1, TOOL 2 DRILL 3.3 MM, DEPTH STOP 11.99, QUILL UP, THEN START

The last asks for nothing yet: it is of a proving run.
The moves that this comes to are marked `BY_HAND`. Lengths are in the units in force. Imports
`state` and its neighbours.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from millprep.base.records import frozen
from millprep.reading.gcode.columns import Point
from millprep.reading.gcode.state import State
from millprep.reading.moves import BY_HAND, FEED, RAPID, HoleStop

NEAR_FACE_MM = 2.0  # how far over it the quill is brought down before it is fed
BACK_OFF_MM = 0.5  # over the last bottom when it goes back in
_PROVING = re.compile(r"(?:MSG\s*,\s*)?PROVING\b")  # over a hole at which nothing is done yet
_FIGURE = r"(?:\d+\.?\d*|\.\d+)"
_HOLE = re.compile(
    rf"(?:MSG\s*,\s*)?(?P<hole>[^,].*?)?,?\s*\b(?:TOOL|T)\s*0*(?P<number>\d+)\s+(?P<tool>[^,]+),"
    rf"(?:.*,)?\s*(?:DEPTH STOP|END AT)\s+(?P<depth>{_FIGURE})\b(?P<rest>.*)"
)
_PECKS = re.compile(rf"\bPECKS (?P<of>OF )?(?P<figures>{_FIGURE}(?: {_FIGURE})*)")
_FED_OUT = ("REAMER", "BORING")
_UP = re.compile(r"\bQUILL (?:IS )?UP\b")


@frozen
class _Asked:
    """hole, tool : as the stop names them; pecks : depths, as written; bite : of equal ones"""

    hole: str
    number: int
    tool: str
    depth: float
    pecks: tuple[float, ...] = ()
    bite: float = 0.0


def hear_hole(state: State, comments: Iterable[str]) -> bool:
    """Makes the hole that a stop asks for; False where it asks for none."""
    control = state.control
    if control.axes == "xyz" and control.tapping != "by hand at the hole":
        return False
    for comment in comments:
        text = " ".join(comment.upper().split())
        if _PROVING.match(text):
            state.is_quill_up = bool(_UP.search(text)) and not control.quill_stop
            return True
        if (asked := _asked(text)) is not None:
            _make(state, asked)
            state.is_quill_up = bool(_UP.search(text)) and not control.quill_stop
            return True
        if _UP.search(text):
            state.is_quill_up = True
    return False


def _asked(text: str) -> _Asked | None:
    match = _HOLE.fullmatch(text)
    if match is None:
        return None
    found = _PECKS.search(match["rest"])
    figures = tuple(float(each) for each in found["figures"].split()) if found else ()
    is_bite = found is not None and found["of"] is not None
    return _Asked(
        (match["hole"] or "").strip(" ,"),
        int(match["number"]),
        match["tool"].strip(),
        float(match["depth"]),
        () if is_bite else figures,
        figures[0] if is_bite else 0.0,
    )


def _make(state: State, asked: _Asked) -> None:
    """The hole, as the moves that it takes; tool and place are as before afterwards."""
    is_tap = asked.tool.split()[:1] == ["TAP"]
    if not is_tap and asked.number != state.tool:
        state.report.stop(
            "quill-tool",
            f"the stop over {asked.hole or 'a hole'} asks for tool {asked.number}, and "
            f"{f'T{state.tool}' if state.tool else 'none'} is in",
            "write the stop for the change before it, or the tool that is in",
        )
    before, place = (state.tool, state.offset), state.position
    if is_tap:  # turned by hand under a centre, whatever the spindle holds, and however long it is
        state.tools.use(asked.number)
        _stand_with(state, (asked.number, asked.number), place)
    state.hole_stops.append(HoleStop(state.line, len(state.columns), asked.hole))
    _stroke(state, asked, is_fed_out=is_tap or asked.tool.startswith(_FED_OUT))
    _stand_with(state, before, place)


def _stand_with(state: State, tool_and_offset: tuple[int, int], place: Point) -> None:
    state.tool, state.offset = tool_and_offset
    state.refresh()
    state.position = place


def _stroke(state: State, asked: _Asked, *, is_fed_out: bool) -> None:
    x, y, up = state.position
    near = min(NEAR_FACE_MM, up)
    bottom = -state.mm(asked.depth)

    def go(kind: int, z: float) -> None:
        state.move(kind, (x, y, z), cycle=BY_HAND)

    go(RAPID, near)
    for peck in _pecks(state, asked):
        go(FEED, peck)
        go(RAPID, near)
        go(RAPID, min(peck + BACK_OFF_MM, near))
    go(FEED, bottom)
    go(FEED if is_fed_out else RAPID, near)
    go(RAPID, up)


def _pecks(state: State, asked: _Asked) -> list[float]:
    """Z of each peck before the last."""
    if asked.bite:
        count = int(asked.depth / asked.bite - 1e-6)
        return [-state.mm(n * asked.bite) for n in range(1, min(count, 1000) + 1)]
    return [-state.mm(peck) for peck in asked.pecks if peck < asked.depth]
