"""The tool is away: a way home without axis words, to a home that nobody has described.

All axes go, and nobody knows where to. Until the program states an axis again, in absolute
distance, its place is unknown; meanwhile only rapids are read. Imports `report` and `state`.
"""

from __future__ import annotations

from collections.abc import Collection

from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused
from millprep.reading.gcode.state import State
from millprep.reading.moves import RAPID, LostAxis

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
