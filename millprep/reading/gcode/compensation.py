"""Cutter compensation: the path is read as it is written, and how far off the tool may be is said.

Where G41 or G42 puts the tool follows from a radius that stands in the control alone: it may be the
tool's, nothing, or the little by which the tool is worn. Nobody who has only the program knows the
way; it lies to one side of what is written, by a tool's radius at most. While it is on, what NISTIR
6556 (appendix B.5) calls an error is refused. Imports `report` and `state`.
"""

from __future__ import annotations

from millprep.base.records import replace
from millprep.reading.gcode.modes import whole_number
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused
from millprep.reading.gcode.state import State
from millprep.reading.moves import Compensated

_NOT_WHILE_ON = {
    "set_origin": "G10",
    "go_home": "G28 or G30",
    "machine_move": "G53",
    "shift_to_reading": "G92",
    "end_shift": "G92",
    "restore_shift": "G92",
    "shift_for_now": "G52",
    "drill": "a cycle",
    "change_tool": "M6",
}
_KEPT = {"set_plane": "the plane", "set_units": "the units", "set_work_system": "the work system"}


def set_compensation(state: State, line: Line, value: str | int) -> None:
    """G41, G42 and G40."""
    side = str(value)
    if not side:
        end_compensation(state)
        return
    name = "G41" if side == "left" else "G42"
    if state.compensation:
        raise Refused(
            "bad-compensation",
            f"{name} while cutter compensation is on",
            "write G40 before it (NISTIR 6556, section 3.5.10)",
        )
    if state.plane != 17:
        raise Refused(
            "bad-compensation",
            f"{name} in plane G{state.plane}",
            "write G17 before it (NISTIR 6556, section 3.5.10)",
        )
    if state.unknown_axes:
        raise Refused(
            "position-unknown",
            f"{name} while nobody knows where the tool is",
            "state X, Y and Z first",
        )
    if "D" in line.words:
        whole_number(line.words["D"], "the number of an offset")
    state.compensation = side
    here = len(state.columns)
    state.compensated.append(Compensated(side, here, here, state.row_line, state.row_line))
    state.report.warn(
        "compensation-not-followed",
        f"{name}: up to G40 the tool goes to the {side} of what is written, by up to its radius: "
        "read as written",
        f"what is said of these moves is of the path as written: allow a tool's radius to its "
        f"{side}, and try it in the air",
        about=name,
    )


def end_compensation(state: State) -> None:
    """At G40, or where the program ends with it on."""
    if state.compensation:
        rows, line = len(state.columns), state.row_line
        state.compensated[-1] = replace(state.compensated[-1], behind=rows, last_line=line)
    state.compensation = ""


def judge_compensated(state: State, line: Line, verb: str, value: str | int) -> None:
    """Refuses an act that has no one meaning while compensation is on."""
    what = _NOT_WHILE_ON.get(verb, "")
    before = {"set_plane": state.plane, "set_units": state.units, "set_work_system": state.system}
    if verb in _KEPT and before[verb] != value:
        what = f"a change of {_KEPT[verb]}"
    if what:
        raise Refused(
            "bad-compensation",
            f"{what} while cutter compensation is on",
            "write G40 before it (NISTIR 6556, appendix B.5)",
        )
