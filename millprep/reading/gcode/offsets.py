"""Acts on tools and their length offsets."""

from __future__ import annotations

from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.modes import whole_number
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import bad_value, missing_word
from millprep.reading.gcode.state import State
from millprep.reading.gcode.stops import hear, hear_hole, hear_load, is_touch_off, tool_put_in
from millprep.reading.gcode.toolbook import read_tool_line
from millprep.reading.moves import ChangedBy, FirstMove, Stop, ToolChange

MOVING = frozenset({"rapid", "feed", "arc", "drill", "go_home", "machine_move"})
"""Acts that move; a G0 without axis words does not, and has no axes to state."""


def apply_length_offset(state: State, line: Line, value: str | int) -> None:
    if not state.control.length_offset:
        state.report.lacks(
            "G43",
            "the control is described as having no length offsets",
            "take it out and touch each tool off after its change, or set length_offset = true in "
            "the shop file",
        )
    word = line.words.get("H")
    if word is None:
        number = _offset_of_spindle(state)
    else:
        number = whole_number(word, "a length offset")
        _check_offset(state, number)
    if state.control.strict and number and number not in state.tools:
        raise bad_value(f"H{number} is not in the tool table", "list the tool in the shop file")
    state.offset = number
    state.is_length_known = bool(number) or not state.tool
    state.is_length_cancelled = False


def _offset_of_spindle(state: State) -> int:
    if state.control.strict or not state.tool:
        raise missing_word("G43 without H", "write G43 H with the tool's number")
    state.report.warn(
        "assumed-length-offset",
        f"G43 without H: read as H{state.tool}, the tool in the spindle",
        "write the H: some controls take the last one",
    )
    return state.tool


def _check_offset(state: State, number: int) -> None:
    if not state.tool and number:
        state.report.warn(
            "unchecked-length-offset",
            f"H{number} while no tool has been loaded: it cannot be compared",
            "load the tool with T and M6 first",
        )
    elif number not in (0, state.tool):
        state.report.stop(
            "wrong-length-offset",
            f"H{number} with T{state.tool} in the spindle",
            f"write H{state.tool}",
            about=f"H{number} T{state.tool}",
        )


def cancel_length_offset(state: State, line: Line, value: str | int) -> None:
    if state.offset:
        state.is_length_cancelled = True
    state.offset = 0
    if state.tool:
        state.is_length_known = False


def select_tool(state: State, line: Line, value: str | int) -> None:
    number = whole_number(line.words["T"], "a tool")
    if not state.control.tool_numbers:
        state.report.lacks(
            f"T{number}",
            "the shop file says tool_numbers = false",
            f"take it out, and name the tool in the stop for it: M0 (FIT TOOL {number})",
        )
    if state.is_tool_pending and number != state.selected_tool:
        doubt_pending(state)
    state.selected_tool = number
    state.is_tool_pending = True
    state.selected_line = state.row_line
    if state.control.tool_change == "files" and state.selected_tool != state.tool:
        _load(state, "T")


def change_tool(state: State, line: Line, value: str | int) -> None:
    if state.control.tool_change != "M6":
        state.report.lacks(
            "M6",
            "the control is described as having no tool change",
            "the shop file says tool_change = "
            f'"{state.control.tool_change}": change tools at M0, or one file a tool',
        )
    if state.selected_tool is None:
        raise missing_word("M6 before any T", "write T with the tool's number")
    if state.control.tool_change == "files" and state.selected_tool == state.tool:
        return  # the T has put it in
    if not state.is_tool_pending:
        state.report.warn(
            "tool-not-named",
            f"M6 and no T since the last change: read as T{state.tool} again; the holes from here "
            "on are not confirmed",
            "write the T of the tool that comes in",
        )
    if state.control.spindle != "by hand":
        state.spindle = 0
    _load(state, "M6")
    if state.control.change_goes_up:
        state.say_height()
    else:
        state.report.note(
            "tool-change-position",
            "M6 is read as changing the tool where the spindle is",
            "where the machine goes for a tool change is not modelled: retract before it",
        )


def pause(state: State, line: Line, value: str | int) -> None:
    """M0. Where the hand changes tools, the tool that T or the comment names is put in here."""
    control = state.control
    comments = line.comments or _comments_above(state) or _on_the_card(state)
    state.stops_met += 1
    state.stops.append(Stop(state.line, len(state.columns), state.spindle))
    hear(state, comments)
    if hear_load(state, comments) or hear_hole(state, comments):
        return
    if control.tool_change != "stop" and control.length_offset and control.tool_numbers:
        return
    is_pending = state.selected_tool is not None and state.selected_tool != state.tool
    if is_pending and (control.tool_change == "stop" or "T" in line.words):
        _load(state, "M0")
        return
    number = tool_put_in(comments, state.tool, state.tools.get(state.tool), state.tools.find)
    if number is not None:
        state.selected_tool, state.selected_line = number, state.row_line
        _load(state, "M0")
    elif not control.length_offset and is_touch_off(comments):
        _note_change(state, state.tool, "touch off")


def doubt_pending(state: State) -> None:
    """A tool is named and no change puts it in: what cuts is not what the program means."""
    if state.selected_tool == state.tool:
        return
    state.report.warn(
        "tool-not-named",
        f"T{state.selected_tool} is named and never put in: the holes after it are not confirmed",
        f"write {'M0' if state.control.tool_change == 'stop' else 'M6'} after the T",
        about=f"T{state.selected_tool}",
    )


def _on_the_card(state: State) -> tuple[str, ...]:
    """What the card says of this stop."""
    stops = () if state.card is None else state.card.stops
    return stops[state.stops_met : state.stops_met + 1]


def _comments_above(state: State) -> tuple[str, ...]:
    """Comments on a line of their own right above; a tool line describes and asks for nothing."""
    if state.comment_line != state.line - 1:
        return ()
    return tuple(comment for comment in state.comments if read_tool_line(comment) is None)


def _load(state: State, by: ChangedBy) -> None:
    number = state.selected_tool or 0
    if by == "M0" and state.spindle and state.rpm and not state.is_spindle_assumed:
        state.report.stop(
            "spindle-on-at-change",
            f"{f'T{number}' if number else 'another tool'} is put in by hand at an M0, and the "
            f"spindle still turns at {state.rpm:g} rev/min: not every control stops it there",
            "write M5 before the M0",
        )
    before = state.tool
    _note_change(state, before, by)
    state.is_tool_pending = False
    state.tool = number
    state.tools.use(number)
    state.tool_changes.append((state.row_line, number))
    state.is_length_known &= number == before  # the tool that is in is not called for anew


def _note_change(state: State, before: int, by: ChangedBy) -> None:
    number = state.tool if by == "touch off" else state.selected_tool or 0
    row, asked_line = len(state.columns), state.selected_line or state.row_line
    state.changes.append(ToolChange(state.row_line, row, before, number, by, asked_line))
    control = state.control
    is_touched_off = control.axes == "xyz" and not control.length_offset and by != "T"
    state.unstated_axes = set(AXES) if is_touched_off else set()
    state.is_height_said = False


def note_first_move(state: State, line: Line, verb: str, row: int) -> None:
    """Keeps a line that moves while nobody knows where the tool stands. `row`: its first move."""
    axes = "".join(axis for axis in AXES if axis in line.words)
    is_home = verb == "go_home"
    is_up_from_there = axes == "Z" and state.is_height_said
    is_incremental = state.is_incremental and not is_home and not is_up_from_there
    state.changes[-1].first_moves.append(
        FirstMove(
            state.row_line,
            row,
            len(state.columns),
            axes,
            is_incremental,
            is_home or verb == "machine_move",
        )
    )
    # After a step from nowhere nothing more can be judged.
    state.unstated_axes = set() if is_incremental else state.unstated_axes - set(axes)


def read_comment(state: State, comment: str) -> None:
    """Takes up a tool line; where each file is for one tool, that tool is in the spindle."""
    tool = state.tools.read_comment(comment, state.report)
    if tool is not None and state.control.tool_change == "files" and not state.tool_changes:
        state.selected_tool = tool.number
        _load(state, "T")
        state.refresh()
