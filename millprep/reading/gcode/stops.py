"""What the words of a stop say counts as done while the program waits there.

    BELT 1250   SPEED 1250      the speed of the spindle
    START SPINDLE 1250          it turns, at that speed
    STOP SPINDLE                it stands
    LOAD PIECE 2 OF 3           each is as the first was, and lies where that lay
    FIT TOOL 3   DRILL 5        another tool is in

A program in which no stop says when the spindle is started is taken to be one whose reader knows;
and a speed that nobody says is not known (nan).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable

from millprep.model.tools import Tool, ToolKind
from millprep.reading.gcode.columns import Point
from millprep.reading.gcode.state import State
from millprep.reading.moves import BY_HAND, FEED, RAPID, HoleStop


def _plain(comment: str) -> str:
    return " ".join(comment.upper().split())


# the spindle of a mill whose control does not set its speed, or does not start it

_SPEED = re.compile(
    r"\b(?:(?:BELT|SPEED|SPINDLE)(?: (?:TO|AT|ON))?|START SPINDLE)\s*:?\s*(\d+(?:\.\d+)?)\b"
)
_START = re.compile(r"\b(?:START (?:THE )?SPINDLE|SPINDLE ON)\b")
_STOP = re.compile(r"\b(?:STOP (?:THE )?SPINDLE|SPINDLE (?:OFF|STOPPED))\b")
_START_ANYWHERE = re.compile(rb"\b(?:START (?:THE )?SPINDLE|SPINDLE ON)\b", re.IGNORECASE)


def begin(state: State, data: bytes) -> None:
    """How the spindle is taken to be before the first line."""
    if state.control.spindle == "driven":
        return
    state.rpm = math.nan
    stops = () if state.card is None else state.card.stops
    said = data + " ".join(stops).encode()
    if state.control.spindle == "by hand" and not _START_ANYWHERE.search(said):
        state.is_spindle_assumed, state.spindle = True, 1


def hear(state: State, comments: Iterable[str]) -> None:
    """What a stop says of the spindle is done."""
    if state.control.spindle == "driven":
        return
    for comment in comments:
        text = _plain(comment)
        if (speed := _SPEED.search(text)) is not None:
            state.rpm = float(speed[1])
        if state.control.spindle == "by hand" and not state.is_spindle_assumed:
            if _START.search(text):
                state.spindle = 1
            elif _STOP.search(text):
                state.spindle = 0


def lacks_speed(state: State) -> None:
    """S where the belt sets the speed."""
    if state.control.spindle != "driven":
        state.report.lacks(
            "S",
            f'the shop file says spindle = "{state.control.spindle}"',
            "take it out, and write the speed into the stop for the tool: BELT 1250",
        )


def lacks_switch(state: State, name: str) -> None:
    """M3, M4, M5 where the hand starts and stops the spindle."""
    if state.control.spindle == "by hand":
        state.report.lacks(
            name,
            'the shop file says spindle = "by hand"',
            "write a stop in its place: M0 (START SPINDLE 1250), M0 (STOP SPINDLE)",
        )


# pieces, in stock axes so far beside each other that none is in another's way

_LOAD = re.compile(r"\bLOAD PIECE (\d{1,4})\b")


def hear_load(state: State, comments: Iterable[str]) -> bool:
    """The piece that a stop asks for is in; False where it asks for none."""
    for comment in comments:
        if (match := _LOAD.search(_plain(comment))) is not None:
            state.piece = int(match[1])
            state.refresh()
            return True
    return False


# Holes that the hand makes: the quill by hand, or a tap under a centre. The moves that this comes
# to are marked `BY_HAND`; lengths are in the units in force.
#
#   RING 1, TOOL 1 SPOT DRILL 6 MM, DEPTH STOP 2.05, QUILL UP, THEN START
#   RING 1, TOOL 2 DRILL 3.3 MM, DEPTH STOP 11.99, PECKS 6.60 9.90 11.99, QUILL UP, THEN START
#   RING 1, TOOL 5 TAP M4, BY HAND UNDER THE CENTRE, 15.0 TURNS, END AT 10.50, QUILL UP, THEN START
#   PROVING, CUT NOTHING: RING 1, TOOL 2 DRILL 3.3 MM, DEPTH STOP 11.99, QUILL UP, THEN START

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
_MOST_BITES = 1000
_UP = re.compile(r"\bQUILL (?:IS )?UP\b")


def hear_hole(state: State, comments: Iterable[str]) -> bool:
    """Makes the hole that a stop asks for; False where it asks for none."""
    control = state.control
    if control.axes == "xyz" and control.tapping != "by hand at the hole":
        return False
    for comment in comments:
        text = _plain(comment)
        is_up, is_proving = _UP.search(text) is not None, _PROVING.match(text) is not None
        asked = None if is_proving else _HOLE.fullmatch(text)
        if asked is not None:
            _make(state, asked)
        if is_proving or asked is not None:
            state.is_quill_up = is_up and not control.quill_stop
            return True
        state.is_quill_up = state.is_quill_up or is_up
    return False


def _make(state: State, asked: re.Match[str]) -> None:
    """The hole, as the moves that it takes; tool and place are as before afterwards."""
    hole, number = (asked["hole"] or "").strip(" ,"), int(asked["number"])
    is_tap = asked["tool"].split()[:1] == ["TAP"]
    if not is_tap and number != state.tool:
        state.report.stop(
            "quill-tool",
            f"the stop over {hole or 'a hole'} asks for tool {number}, and "
            f"{f'T{state.tool}' if state.tool else 'none'} is in",
            "write the stop for the change before it, or the tool that is in",
        )
    before, place = (state.tool, state.offset), state.position
    if is_tap:  # turned by hand under a centre, whatever the spindle holds, and however long it is
        state.tools.use(number)
        _stand_with(state, (number, number), place)
    state.hole_stops.append(HoleStop(state.line, len(state.columns), hole))
    is_fed_out = is_tap or asked["tool"].startswith(_FED_OUT)
    _stroke(state, float(asked["depth"]), _PECKS.search(asked["rest"]), is_fed_out=is_fed_out)
    _stand_with(state, before, place)


def _stand_with(state: State, tool_and_offset: tuple[int, int], place: Point) -> None:
    state.tool, state.offset = tool_and_offset
    state.refresh()
    state.position = place


def _stroke(state: State, depth: float, pecks: re.Match[str] | None, *, is_fed_out: bool) -> None:
    """depth, and in pecks : lengths as written"""
    x, y, up = state.position
    near = min(NEAR_FACE_MM, up)

    def go(kind: int, z: float) -> None:
        state.move(kind, (x, y, z), cycle=BY_HAND)

    go(RAPID, near)
    for peck in _before_last(pecks, depth):
        z = -state.mm(peck)
        go(FEED, z)
        go(RAPID, near)
        go(RAPID, min(z + BACK_OFF_MM, near))
    go(FEED, -state.mm(depth))
    go(FEED if is_fed_out else RAPID, near)
    go(RAPID, up)


def _before_last(pecks: re.Match[str] | None, depth: float) -> list[float]:
    """Depth of each peck before the last: as listed, or of one bite after another."""
    figures = [float(each) for each in pecks["figures"].split()] if pecks is not None else []
    if pecks is not None and pecks["of"] is not None:
        bite = figures[0]
        count = int(depth / bite - 1e-6) if bite else 0
        figures = [n * bite for n in range(1, min(count, _MOST_BITES) + 1)]
    return [peck for peck in figures if peck < depth]


# Changes of tool. Read generously, for people write them in many ways ("CHANGE TO T3", "DRILL 5,
# TOUCH OFF"), but a comment that only speaks of a tool ("CHECK DEPTH OF DRILL 5 MM", "T1 STILL IN")
# changes none.

UNNAMED = 0
"""A tool that is put in and whose number nobody gives."""

_WORDS: dict[ToolKind, str] = {
    "spot drill": "SPOT DRILL|SPOTTING DRILL|CENTRE DRILL|CENTER DRILL",
    "end mill": "SLOT DRILL|END MILL|ENDMILL|MILLING CUTTER",
    "drill": "DRILL",
    "reamer": "REAMER",
    "tap": "TAP",
    "countersink": "COUNTERSINK|CSK",
    "counterbore": "COUNTERBORE",
    "boring head": "BORING HEAD|BORING BAR",
}
_KINDS = {word: kind for kind, words in _WORDS.items() for word in words.split("|")}
_KIND = rf"(?P<kind>{'|'.join(_KINDS)})"
_SIZE = r"(?:DIA\.?\s*|M)?(?P<size>\d+/\d+|\d+\.?\d*|\.\d+)\s*(?:MM|IN|INCH)?"
_END = r"(?=\s*(?:$|[,;:.]|-\s|AND\b|THEN\b))"
_NUMBER = re.compile(
    r"(?<!BEFORE )(?<!AFTER )\b(?:TOOL\s*(?:NO\.?|NUMBER|#)?\s*|T)0*(\d{1,4})\b"
    r"(?!\.\d|/|\s*(?:MM|INCH)\b|\s*\")"
)
_VERB = r"(?:FIT|CHANGE|INSERT|LOAD|SWAP|MOUNT|PUT IN|USE)"
_ELSE = r"(?:OF|FOR|CLEAR|FROM|WITH|BEFORE|AFTER|CLAMPS?|GUARD|PART|STOP|JAWS?|BELT|SPEED)\b"
_PUT_IN = re.compile(
    rf"\b{_VERB}\s+(?:(?!{_ELSE})[^,;:\s]+\s+){{0,5}}(?:TOOL|{_KIND})\b|\bTOOL\s*CHANGE\b"
)
_BARE = (re.compile(rf"{_SIZE}\s*{_KIND}{_END}"), re.compile(rf"{_KIND}\s+{_SIZE}{_END}"))
_SIZED = (re.compile(rf"\b{_SIZE}\s*{_KIND}\b"), re.compile(rf"\b{_KIND}\s+{_SIZE}"))
_REFUSED = re.compile(
    rf"^RESTART: (?:SEE|OVER)\b|\b(?:NO|NOT|DON'?T|WITHOUT)\s+(?:TO\s+)?(?:{_VERB}|TOOL)"
    r"|\b(?:STILL|STAYS)\b"
)
_TOUCH_OFF = re.compile(
    r"\bTOUCH(?:ING)?\s*-?(?:\s*\w+){0,3}?\s*OFF\b"
    r"|\b(?:RE-?)?ZERO\s+(?:Z|ON|AT|IT|THE\s+TOOL)\b|\bSET\s+Z\b"
)

Find = Callable[[ToolKind, float], int | None]


def is_touch_off(comments: Iterable[str]) -> bool:
    """Whether the comments ask for the tool to be touched off."""
    return any(_TOUCH_OFF.search(comment.upper()) for comment in comments)


def tool_put_in(comments: Iterable[str], number: int, tool: Tool | None, find: Find) -> int | None:
    """The number of another tool that the comments put in, `UNNAMED`, or None where they do not.

    number, tool : of the tool that is in; 0 and None where nobody has said
    find         : the number of the tool of a kind and diameter [mm] that the program describes
    """
    for comment in comments:
        text = " ".join(re.sub(r"^\s*MSG\s*,", "", comment.upper()).split())
        if _REFUSED.search(text):
            continue
        numbers = [int(found) for found in _NUMBER.findall(text)]
        others = [each for each in numbers if each not in (0, number)]
        if others:
            return others[0]
        is_named = _PUT_IN.search(text) is not None or any(one.match(text) for one in _BARE)
        if not numbers and is_named:
            kind, diameter_mm = _sized(text)
            if tool is not None and (kind, diameter_mm) == (tool.kind, tool.diameter_mm):
                continue
            known = find(kind, diameter_mm) if kind and diameter_mm else None
            return UNNAMED if known is None else known
    return None


def _sized(text: str) -> tuple[ToolKind | None, float | None]:
    """Kind and diameter in mm that a comment names, as far as it does."""
    for form in _SIZED:
        found = form.search(text)
        if found is not None:
            is_mm = "/" not in found["size"] and not re.search(r"\d\s*IN", found[0])
            return _KINDS[found["kind"]], float(found["size"]) if is_mm else None
    return None, None
