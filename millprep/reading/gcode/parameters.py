"""Parameters: numbers that a program keeps, and those that a control keeps (NISTIR 6556, 3.2.1).

    5161 to 5166  home of G28             5220  work system in force, 1 to 9
    5181 to 5186  home of G30             5221 to 5226  origin of the first work system,
    5211 to 5216  shift of G92                          then every 20 further on
    5061 to 5066  where a probe touched

A parameter that a program has not set is 0 here; a control keeps it from one program to the next.
"""

from __future__ import annotations

from millprep.reading.gcode.columns import Point
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused
from millprep.reading.gcode.state import MM_PER_INCH, ORIGIN, State
from millprep.reading.moves import WORK_SYSTEMS

_PROBE, _HOME, _SECOND_HOME, _SHIFT, _ACTIVE, _FIRST_ORIGIN = 5061, 5161, 5181, 5211, 5220, 5221
_A_SYSTEM = 20
_AXES = 6
_FIRST_OF_OTHERS = 1000  # from here up, many controls keep values of their own: common practice


def is_reserved(index: int) -> bool:
    """Whether the control itself keeps something there."""
    if any(first <= index < first + _AXES for first in (_PROBE, _HOME, _SECOND_HOME, _SHIFT)):
        return True
    system, axis = divmod(index - _FIRST_ORIGIN, _A_SYSTEM)
    return index == _ACTIVE or (0 <= system < len(WORK_SYSTEMS) and axis < _AXES)


def look_up(state: State, index: int) -> float:
    """The value of a parameter; a length in the units in force."""
    if not is_reserved(index):
        return state.parameters.get(index, 0.0)
    if index == _ACTIVE:
        return float(WORK_SYSTEMS.index(state.system) + 1)
    if _PROBE <= index < _PROBE + _AXES:
        raise Refused(
            "bad-parameter", f"#{index} is where a probe touched: nothing has probed here"
        )
    place, axis = _kept(state, index)
    if axis >= len(place):
        return 0.0
    return place[axis] / MM_PER_INCH if state.units == "inch" else place[axis]


def _kept(state: State, index: int) -> tuple[Point, int]:
    """The place that a reserved parameter belongs to [mm], and which of its axes."""
    if index < _HOME + _AXES:
        return state.control.home_mm, index - _HOME
    if index < _SECOND_HOME + _AXES:
        return state.control.home_2_mm or ORIGIN, index - _SECOND_HOME
    if index < _SHIFT + _AXES:
        return state.stored_shift, index - _SHIFT
    system, axis = divmod(index - _FIRST_ORIGIN, _A_SYSTEM)
    return state.origin_mm(WORK_SYSTEMS[system]), axis


def judge(state: State, line: Line) -> None:
    """Says which parameters of the line another control may keep or mean otherwise.

    Settings count from the next line on (NISTIR 6556, section 3.3.3); those that would move origins
    unseen are refused.
    """
    for index, _ in line.settings:
        if is_reserved(index):
            raise Refused(
                "bad-parameter",
                f"#{index} is the control's own: setting it moves origins unseen",
                "write G10 L2 P, G92 or the shop file instead",
            )
    for index in line.parameters:
        if is_reserved(index):
            state.report.warn(
                "parameter-doubtful",
                f"#{index} is the control's own: read from the shop file, in {state.units}",
                "write the figure itself",
                about="reserved",
            )
        elif index not in state.parameters:
            state.report.warn(
                "parameter-doubtful",
                f"#{index} is used before it is set: read as 0, here and in others like it",
                "set it in the program: a control keeps it from the program before",
                about="unset",
            )
    if not state.control.strict and any(index >= _FIRST_OF_OTHERS for index, _ in line.settings):
        state.report.warn(
            "parameter-doubtful",
            f"a parameter of {_FIRST_OF_OTHERS} or more is set: many controls keep values of their "
            "own there",
            f"use a number below {_FIRST_OF_OTHERS}",
            about="set",
        )
    if line.has_signed:
        state.report.note(
            "signed-expression", "a sign before # or [ is read as changing the value's sign"
        )
