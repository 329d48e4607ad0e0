"""Straight motion: rapid, feed, moves in machine coordinates, and the way home."""

from __future__ import annotations

from millprep.base.findings import words
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import Point
from millprep.reading.gcode.compensation import go_away, know_again
from millprep.reading.gcode.order import g_word
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused, missing_word, refused_word
from millprep.reading.gcode.state import State
from millprep.reading.moves import FEED, RAPID, WayHome

_SET_ORIGIN = 100
_HOMES = (280, 300)


def set_motion(state: State, motion: int) -> None:
    """A motion comes into force; any other ends the cycle that was."""
    if motion != state.motion:
        state.sticky.clear()
        state.has_returned_to_plane = False
    state.motion = motion


def rapid(state: State, line: Line, value: str | int) -> None:
    set_motion(state, int(value))
    if _goes_somewhere(state, line):
        state.begin_motion()
        state.emit(RAPID, state.target(line))


def feed(state: State, line: Line, value: str | int) -> None:
    set_motion(state, int(value))
    if _goes_somewhere(state, line):
        target = state.target(line)
        state.needed_feed()
        state.begin_motion()
        state.emit(FEED, target)


def _goes_somewhere(state: State, line: Line) -> bool:
    """Whether the line moves under the motion that it names."""
    if line.has(AXES):
        return True
    if state.control.strict:
        raise missing_word(
            f"{g_word(state.motion or 0)} without axis words",
            "give X, Y or Z (NISTIR 6556, section 3.5.1)",
        )
    state.report.note(
        "bare-motion", f"{g_word(state.motion or 0)} without axis words only sets the motion"
    )
    return False


def cancel_motion(state: State, line: Line, value: str | int) -> None:
    set_motion(state, int(value))


def says_height(line: Line) -> bool:
    """Whether a line says, of its own, how high the tool is to stand: any Z but that of G10."""
    if "Z" in line.words:
        return _SET_ORIGIN not in line.g
    return not line.has(AXES) and any(code in line.g for code in _HOMES)


def machine_move(state: State, line: Line, value: str | int) -> None:
    """G53: the gauge point goes to machine coordinates, on this line only."""
    if value not in (0, 10):
        raise Refused(
            "bad-machine-move", "G53 needs G0 or G1 in force", "write G53 G0 with the axis words"
        )
    if state.is_incremental:
        raise Refused(
            "bad-machine-move",
            "G53 in incremental distance: controls differ on what it means",
            "write G90 before it",
        )
    doubt_home(state, "G53")
    set_motion(state, int(value))
    if value == 10:
        state.needed_feed()
    state.need_stated(("units",))
    end = list(state.position)
    for axis in range(3):
        length = state.axis_mm(line, axis)
        if length is not None:
            end[axis] = length - state.to_machine[axis]
    state.emit(RAPID if value == 0 else FEED, (end[0], end[1], end[2]), is_machine_only=True)
    state.is_length_cancelled = False


def doubt_home(state: State, name: str) -> None:
    """Where nothing finds machine zero, it is wherever the control was switched on."""
    if not state.control.has_home:
        state.report.warn(
            "home-unknown",
            f"{name} counts from machine zero, and this mill has no home: it goes to where the "
            "control was switched on, or nowhere near",
            "write G0 Z with a height over the work, in work coordinates",
            about=name,
        )
    elif not state.control.is_home_known:
        state.report.note(
            "home-unknown",
            f"{name} counts from machine zero, and nobody has said where that is: taken as 0, 0, 0",
            'give home in the shop file under [control], or "none" where no switches find it',
            about=name,
        )


def go_home(state: State, line: Line, value: str | int) -> None:
    """G28, G30: by the via point to the stored place, with the axes named on the line."""
    name = g_word(int(value))
    control = state.control
    home = control.home_mm if value == 280 else control.home_2_mm
    is_known = home is not None if value == 300 else control.is_home_known
    if not line.has(AXES) and not control.strict and not is_known:
        go_away(state, name)
        return
    if home is None:
        raise refused_word(
            f"{name}: nobody says where the second home is",
            "give home_2 in the shop file under [control]",
        )
    named = [axis for axis in range(3) if AXES[axis] in line.words]
    doubt_home(state, name)
    if not named:
        if not control.strict:
            state.report.warn(
                "home-without-axes",
                f"{name} without axis words: read as sending every axis home; some controls move "
                "none",
                f"name the axes: G91 {name} Z0, then X0 Y0",
                about=name,
            )
        know_again(state, set(state.unknown_axes), len(state.columns))
        _home_axes(state, home, range(3))
        return
    state.need_stated(("units", "distance"))
    via = state.target(line)
    if via[2] < state.position[2] and not state.is_incremental:
        raise Refused(
            "home-through-work",
            words(
                f"{name} in absolute distance goes down to Z{{z_mm:exactbare}} first, then home",
                z_mm=via[2],
            ),
            f"write G91 {name} Z0, then G90",
        )
    state.is_length_cancelled = False
    state.move(RAPID, via)
    if control.strict:
        named = [0, 1, 2]
    row = len(state.columns)
    if is_known:
        know_again(state, {AXES[axis] for axis in named} & state.unknown_axes.keys(), row)
    _home_axes(state, home, named)
    if len(named) < 3 and len(state.columns) > row:
        state.ways_home.append(WayHome(row, home))


def _home_axes(state: State, home_mm: Point, axes: list[int] | range) -> None:
    end = list(state.position)
    for axis in axes:
        end[axis] = home_mm[axis] - state.to_machine[axis]
    target: Point = (end[0], end[1], end[2])
    if target != state.position:
        state.emit(RAPID, target, is_machine_only=True)
