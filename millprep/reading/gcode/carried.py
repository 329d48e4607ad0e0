"""What a control keeps when one program has ended and the next begins.

G10 sets the origin of a work system for good; whether G52 and G92 last as well differs from control
to control (the shop file's `keeps`). The tool stays in the spindle, and its length offset stays in
force: NISTIR 6556, section 3.6.1, does not count it among what M2 and M30 reset. Speed, feed and
modes have to be said anew. Imports `state`.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.reading.gcode.columns import Point
from millprep.reading.gcode.modal import ORIGIN
from millprep.reading.gcode.state import State
from millprep.reading.moves import WORK_SYSTEMS, Carried


def left_by(state: State) -> Carried:
    """What the program that has just been read leaves in the control."""
    control = state.control
    stays_in = control.tool_change != "files"  # there the tool is changed from file to file
    return Carried(
        file=state.report.file,
        origins_mm=state.origins if "G10" in control.keeps else dict(control.offsets_mm),
        stock_origins_mm={**state.stock_origins, state.stock_system: state.stock_origin},
        shift_mm=state.shift if "G92" in control.keeps else ORIGIN,
        stored_shift_mm=state.stored_shift if "G92" in control.keeps else ORIGIN,
        temporary_shift_mm=state.temporary_shift if "G52" in control.keeps else ORIGIN,
        tool=state.tool if stays_in else 0,
        offset=state.offset if stays_in else 0,
        tools=state.tools.described,
        has_moved=state.has_moved or len(state.columns) > 0,
    )


def take_up(state: State, carried: Carried) -> None:
    """Begins a program where the one before it has left the control; notes what differs."""
    state.origins = dict(carried.origins_mm)
    state.stock_origins = dict(carried.stock_origins_mm)
    state.stock_origin = state.stock_origins.get(state.stock_system, state.stock_origin)
    state.shift, state.stored_shift = carried.shift_mm, carried.stored_shift_mm
    state.temporary_shift = carried.temporary_shift_mm
    state.has_moved = carried.has_moved
    state.tools.inherit(carried.tools)
    state.tool, state.offset = carried.tool, carried.offset
    state.is_length_known = not carried.tool or carried.offset == carried.tool
    state.stand_at_start()
    for words in _shifted(state):
        _note(state, carried, words)


def note_tool(state: State, carried: Carried) -> None:
    """After reading: a program that moved with the tool it found in the spindle says so."""
    if carried.tool and state.columns.first_tool == carried.tool:
        state.report.line = None
        state.tools.use(carried.tool)
        _note(state, carried, f"T{carried.tool} is in the spindle when the program begins")


def _note(state: State, carried: Carried, words: str) -> None:
    state.report.note(
        "carried-over",
        f"{words}, as {carried.file} left it",
        "keeps in the shop file says which shifts a control keeps from program to program",
        about=words,
    )


def _shifted(state: State) -> Iterator[str]:
    """Where readings count from otherwise than the shop file says, in words."""
    for system in WORK_SYSTEMS:
        origin = state.origins.get(system)
        if origin is not None and origin != state.control.offsets_mm.get(system):
            yield f"the origin of {system} is at machine {_place(origin)} (G10)"
    for shift, code in ((state.shift, "G92"), (state.temporary_shift, "G52")):
        if shift != ORIGIN:
            yield f"all work systems are shifted by {_place(shift)} ({code})"


def _place(point: Point) -> str:
    return " ".join(f"{letter}{value:.3f}" for letter, value in zip("XYZ", point, strict=True))
