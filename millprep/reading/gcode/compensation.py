"""Where nobody knows the way of the tool: under cutter compensation, and away from home.

Where G41 or G42 puts the tool follows from a radius that stands in the control alone: it may be the
tool's, nothing, or the little by which the tool is worn. The way lies to one side of what is
written, by a tool's radius at most: the path is read as it is written, and that is said. While it
is on, what NISTIR 6556 (appendix B.5) calls an error is refused.

A way home without axis words, to a home that nobody has described, takes all axes nobody knows
where. Until the program states an axis again, in absolute distance, its place is unknown; meanwhile
only rapids are read.
"""

from __future__ import annotations

from collections.abc import Collection

from millprep.base.records import replace
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.modes import whole_number
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused, bad_compensation
from millprep.reading.gcode.state import State
from millprep.reading.moves import RAPID, Compensated, LostAxis

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
        raise bad_compensation(
            f"{name} while cutter compensation is on",
            "write G40 before it (NISTIR 6556, section 3.5.10)",
        )
    if state.plane != 17:
        raise bad_compensation(
            f"{name} in plane G{state.plane}", "write G17 before it (NISTIR 6556, section 3.5.10)"
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
        raise bad_compensation(
            f"{what} while cutter compensation is on",
            "write G40 before it (NISTIR 6556, appendix B.5)",
        )


_RAPIDS = frozenset({"rapid", "machine_move", "go_home"})
_MOVING = _RAPIDS | {"feed", "arc", "drill", "rise_after_cycle"}
_SETTING = frozenset({"set_origin", "shift_to_reading"})


def go_away(state: State, name: str) -> None:
    """Every axis goes where nobody knows; a row stands for it that leads nowhere."""
    state.report.warn(
        "home-without-axes",
        f"{name} without axis words, and nobody says where that is: read as all axes going there",
        f"name the axes, as in G91 {name} Z0., or say where it is in the shop file under "
        f"[control]: home{'_2' if name == 'G30' else ''}. Some controls move none",
        about=name,
    )
    for axis in AXES:
        state.unknown_axes.setdefault(axis, len(state.columns))
    state.emit(RAPID, state.position, is_machine_only=True)


def judge_unknown(state: State, line: Line, verb: str, value: str | int) -> set[str]:
    """Refuses an act that hangs on a place nobody knows; gives the axes that it states again."""
    named = {axis for axis in AXES if axis in line.words}
    unknown = named & state.unknown_axes.keys()
    is_by_place = verb in _SETTING and ("L" not in line.words or line.words["L"].value > 2)
    if is_by_place and unknown:
        raise _unknown(state, "an origin set from the place of the tool")
    if verb not in _MOVING or (verb == "go_home" and not named):
        return set()
    if verb not in _RAPIDS or (verb == "machine_move" and value != 0):
        raise _unknown(state, "a move that is no rapid")
    is_step = state.is_incremental and any(line.words[axis].value for axis in unknown)
    if is_step or (verb == "go_home" and unknown and not state.is_incremental):
        raise _unknown(state, "a step")
    is_placed = verb == "rapid" or state.system in state.control.offsets_mm
    return unknown if is_placed and verb != "go_home" else set()


def know_again(state: State, axes: Collection[str], row: int) -> None:
    """These axes have been stated by the move in that row."""
    for axis in sorted(axes):
        state.lost.append(LostAxis(AXES.index(axis), state.unknown_axes.pop(axis), row))


def end_lost(state: State) -> None:
    """At the end of the program: what is still unknown stays so."""
    know_again(state, set(state.unknown_axes), len(state.columns))


def _unknown(state: State, what: str) -> Refused:
    axes = " and ".join(state.unknown_axes)
    return Refused(
        "position-unknown",
        f"{what}, from where nobody knows {axes} to be since the way home",
        f"state {axes} with G90 G0 before it, or say where home is in the shop file",
    )
