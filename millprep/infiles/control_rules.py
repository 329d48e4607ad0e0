"""What the keys of [control] cannot say together: a table of pairs.

Only what no mill can be is refused here; what a mill may well be, and no program can be written
for, `check` says of the part.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from millprep.infiles.control_schema import ControlTable
from millprep.infiles.faults import Faults


class _Pair(NamedTuple):
    """Two keys, when what they say excludes each other, why, and what to write instead."""

    key: str
    other: str
    is_so: Callable[[ControlTable], bool]
    why: str
    remedy: str


_PAIRS = (
    _Pair(
        "program_number", "strict",
        lambda c: c.strict and c.program_number is not None,
        "NISTIR 6556 has no number of a program",
        "leave program_number out, or give strict = false",
    ),
    _Pair(
        "dwell", "strict",
        lambda c: c.strict and c.dwell == "ms",
        "NISTIR 6556 counts a dwell in seconds",
        'give dwell = "s", or strict = false',
    ),
    _Pair(
        "comments", "strict",
        lambda c: c.strict and c.comments == ";",
        "NISTIR 6556 has comments in ( ) alone",
        'give comments = "( )", or strict = false',
    ),
    _Pair(
        "stop_message", "comments",
        lambda c: c.stop_message == "(MSG, )" and c.comments != "( )",
        "a message (MSG, ) is a comment in ( )",
        'give comments = "( )", or another stop_message',
    ),
    _Pair(
        "stop_message", "comments",
        lambda c: c.stop_message == "line before" and c.comments == "none",
        "without comments no line before a stop says anything",
        "leave stop_message out: what stops ask for stands on a card beside the program",
    ),
    _Pair(
        "tapping", "spindle",
        lambda c: c.spindle == "by hand" and "tapping" in c.model_fields_set and c.taps_by_power,
        "a spindle that the hand starts and stops is not turned back out of a thread in time",
        'give tapping = "none", or leave it out',
    ),
    _Pair(
        "tapping", "spindle",
        lambda c: c.spindle == "switched" and c.tapping == "rigid",
        "a spindle whose speed the control does not set is not in step with the feed",
        'give tapping = "floating", or "none"',
    ),
    _Pair(
        "spindle", "strict",
        lambda c: c.strict and c.spindle != "driven",
        "NISTIR 6556 has a spindle that S and M3 drive",
        'give spindle = "driven", or strict = false',
    ),
    _Pair(
        "tool_numbers", "tool_change",
        lambda c: not c.tool_numbers and c.tool_change == "M6",
        "M6 changes to the tool that T names",
        'give tool_change = "stop" or "files", or tool_numbers = true',
    ),
    _Pair(
        "tool_numbers", "length_offset",
        lambda c: not c.tool_numbers and c.length_offset,
        "a length is called by the number of its tool",
        "give length_offset = false, or tool_numbers = true",
    ),
    _Pair(
        "axes", "cycles",
        lambda c: c.axes == "xy" and "cycles" in c.model_fields_set and c.cycles != frozenset(),
        "a cycle drives the quill",
        "leave cycles out, or give cycles = false",
    ),
    _Pair(
        "axes", "length_offset",
        lambda c: c.axes == "xy" and "length_offset" in c.model_fields_set and c.length_offset,
        "a length is an offset of Z",
        "leave length_offset out, or give length_offset = false",
    ),
    _Pair(
        "axes", "tapping",
        lambda c: c.axes == "xy" and "tapping" in c.model_fields_set and c.taps_by_power,
        "the control does not move the quill",
        'leave tapping out, or give "by hand at the hole" or "none"',
    ),
    _Pair(
        "axes", "tool_change",
        lambda c: c.axes == "xy" and "tool_change" in c.model_fields_set and c.tool_change == "M6",
        "the hand changes the tool in its quill",
        'leave tool_change out, or give "stop" or "files"',
    ),
    _Pair(
        "axes", "codes",
        lambda c: c.axes == "xy" and _lacks(c, "M0"),
        "the hand makes each hole at a stop M0",
        "list M0",
    ),
    _Pair(
        "quill_stop", "axes",
        lambda c: c.axes == "xyz" and c.quill_stop,
        "the control moves the quill",
        'give axes = "xy", or leave quill_stop out',
    ),
    _Pair(
        "tapping", "codes",
        lambda c: c.tapping == "by hand at the hole" and _lacks(c, "M0"),
        "each hole is tapped at a stop M0",
        'list M0, or give tapping = "none"',
    ),
    _Pair(
        "units", "codes",
        lambda c: c.units == "none" and _lacks(c, "G20", "G21"),
        "a program cannot say its units",
        'give units = "mm" or "inch"',
    ),
    _Pair(
        "length_offset", "codes",
        lambda c: "length_offset" in c.model_fields_set and c.length_offset and _lacks(c, "G43"),
        "a length is called by G43",
        "list G43, or give length_offset = false",
    ),
    _Pair(
        "tool_change", "codes",
        lambda c: "tool_change" in c.model_fields_set and c.tool_change == "M6" and _lacks(c, "M6"),
        "M6 is not listed",
        'list M6, or give tool_change = "stop" or "files"',
    ),
    _Pair(
        "tool_change", "codes",
        lambda c: c.tool_change == "stop" and _lacks(c, "M0"),
        "the stop for a tool is M0",
        'list M0, or give tool_change = "M6" or "files"',
    ),
    _Pair(
        "coolant", "codes",
        lambda c: c.coolant != "none" and (_lacks(c, c.coolant) or _lacks(c, "M9")),
        "what turns it on and off is not listed",
        'list it and M9, or give coolant = "none"',
    ),
    _Pair(
        "spindle", "codes",
        lambda c: "spindle" in c.model_fields_set and c.spindle != "by hand" and _lacks(c, "M3"),
        "M3 starts it",
        'list M3 and M5, or give spindle = "by hand"',
    ),
    _Pair(
        "spindle", "codes",
        lambda c: c.spindle != "driven" and _lacks(c, "M0"),
        "what the hand does is asked for at an M0",
        'list M0, or give spindle = "driven"',
    ),
)  # fmt: skip


def _lacks(control: ControlTable, *codes: str) -> bool:
    """Whether `codes` lists none of them."""
    return control.codes is not None and not control.codes & {*codes}


def find_contradictions(faults: Faults, control: ControlTable) -> None:
    """Each pair that excludes each other as a fault, both keys named."""
    for pair in _PAIRS:
        if pair.is_so(control):
            key = pair.key if pair.key in control.model_fields_set else pair.other
            message = (
                f"{_said(control, pair.key)} and {_said(control, pair.other)} exclude each other: "
                f"{pair.why}"
            )
            faults.add("contradiction", ("control", key), message, pair.remedy)


def _said(control: ControlTable, key: str) -> str:
    """A key with its value as the file has it."""
    value = getattr(control, key)
    if isinstance(value, frozenset):
        words = ", ".join(f'"{each}"' for each in sorted(value))
        return f"{key} = [{words}]" if value else f"{key} = false"
    if value is None or isinstance(value, bool):
        return f"{key} = {str(bool(value)).lower()}"
    return f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value}"
