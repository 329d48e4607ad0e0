"""A listener that only prints: every act of a program as one line of JSON.

`read_program(..., trace=JsonTrace(print))` shows how each line was understood: which code, in which
order, with which words, and what was in force after it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable

from millprep.base.records import as_dict, frozen
from millprep.reading.gcode.order import g_word
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.state import State

_DECIMALS = 6


@frozen
class Event:
    """One act.

    line  : of the file; text : the line as it stands there
    verb  : the act; code : what asked for it, as written ("G81", "F")
    words : letter -> value of the other words of the line
    modes : what is in force after it; place_mm the reading of the active work system
    """

    line: int
    text: str
    verb: str
    code: str
    words: dict[str, float]
    modes: dict[str, object]

    def as_json(self) -> str:
        """The event on one line."""
        return json.dumps(as_dict(self), ensure_ascii=False)


Trace = Callable[[Event], None]


class JsonTrace:
    """Writes each event, one line of JSON each."""

    def __init__(self, write: Callable[[str], object]) -> None:
        """write : takes a line without its end, such as `print`"""
        self._write = write

    def __call__(self, event: Event) -> None:
        self._write(event.as_json())


def event_of(state: State, line: Line, text: str, verb: str, code: str) -> Event:
    """The event of an act that has just been carried out."""
    words = {letter: word.value for letter, word in line.words.items()}
    return Event(state.line, text.strip(), verb, code, words, modes_of(state))


def modes_of(state: State) -> dict[str, object]:
    """What is in force, in words."""
    x, y, z = (round(value, _DECIMALS) + 0.0 for value in state.position)
    return {
        "motion": None if state.motion is None else g_word(state.motion),
        "plane": f"G{state.plane}",
        "units": state.units,
        "distance": "incremental" if state.is_incremental else "absolute",
        "work_system": state.system,
        "length_offset": state.offset,
        "tool": state.tool,
        "feed_mode": state.feed_mode,
        "feed": _number(state.feed_number),
        "rpm": _number(state.rpm),
        "spindle": state.spindle,
        "coolant": state.is_coolant_on,
        "return_level": state.returns_to,
        "place_mm": [x, y, z],
    }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value
