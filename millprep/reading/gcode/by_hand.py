"""The spindle of a mill whose control does not set its speed, or does not start it.

What the words of a stop say of it counts as done while the program waits there:

    BELT 1250   SPEED 1250      the speed
    START SPINDLE 1250          it turns, at that speed
    STOP SPINDLE                it stands

A program in which no stop says when it is started is taken to be one whose reader knows; and a
speed that nobody says is not known (nan). Imports `state`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from millprep.reading.gcode.state import State

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
        text = " ".join(comment.upper().split())
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
