"""Acts on work systems and shifts: what changes where readings count from, without a motion.

machine = reading + origin of the work system + shift of G92 + shift of G52 + tool length (Z)
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import Point
from millprep.reading.gcode.modal import ORIGIN, minus, plus
from millprep.reading.gcode.modes import whole_number
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import bad_offset, missing_word
from millprep.reading.gcode.state import State
from millprep.reading.moves import WORK_SYSTEMS, Carried


def set_work_system(state: State, line: Line, value: str | int) -> None:
    state.system = str(value)
    state.stated.add("work system")
    state.note_unlisted_system()


# G10


def set_origin(state: State, line: Line, value: str | int) -> None:
    """G10 L2: the origin of a work system; G10 L20: the origin that gives the present reading."""
    form, system = _form_and_system(state, line)
    if "R" in line.words:
        raise bad_offset("G10 with R, a rotation, is not read", "take the R out")
    if state.is_incremental:
        raise bad_offset(
            "G10 in incremental distance: some controls add the figures to the old origin",
            "write G90 before it",
        )
    before = state.origin_mm(system)
    if form == 2:
        origin = state.axes_mm(line, before)
    else:
        _is_height_said(state, line, _lasting(state, before))
        reading = plus(state.position, minus(state.to_machine, _lasting(state, before)))
        values = state.axes_mm(line, reading)
        origin = plus(before, minus(reading, values))
    _tell_of_origin(state, system, origin)
    state.origins[system] = origin


def _is_height_said(state: State, line: Line, counted_from: Point) -> bool:
    """Z set right after a tool was touched off says how high its tip stands; nothing else does.

    counted_from : what the Z of the line counts from; it stays where it is
    """
    z = state.axis_mm(line, 2)
    if z is None or "Z" not in state.unstated_axes:
        return False
    state.position = (*state.position[:2], z + counted_from[2] - state.to_machine[2])
    state.is_height_said = True
    return True


def _lasting(state: State, origin: Point) -> Point:
    """What a reading in a system of that origin counts from, tool length included."""
    x, y, z = plus(plus(origin, state.shift), state.temporary_shift)
    return x, y, z + state.tools.length_mm(state.offset)


def _form_and_system(state: State, line: Line) -> tuple[int, str]:
    of_form, of_system = (line.needed(one, "G10", "write G10 L2 P1 X0. Y0. Z0.") for one in "LP")
    form = whole_number(of_form, "the form of a G10")
    if form not in ((2,) if state.control.strict else (2, 20)):
        known = "L2" if state.control.strict else "L2 and L20"
        raise bad_offset(
            f"G10 {of_form} is not read",
            f"forms read: {known}; tool lengths stand in the shop file",
        )
    number = whole_number(of_system, "a work system")
    lowest = 1 if state.control.strict else 0
    if not lowest <= number <= len(WORK_SYSTEMS):
        raise bad_offset(
            f"G10 {of_system}: no such work system",
            f"P{lowest} to P{len(WORK_SYSTEMS)}: P1 is G54, P9 is G59.3"
            + ("" if state.control.strict else ", P0 the one in force"),
        )
    return form, WORK_SYSTEMS[number - 1] if number else state.system


def _tell_of_origin(state: State, system: str, origin: Point) -> None:
    """A program that sets its origin: at its start for stock that nobody placed, or midway."""
    has_moved = state.has_moved or len(state.columns)
    if not has_moved and system not in state.control.offsets_mm:
        if system == state.stock_system:
            state.stock_origin = origin
            state.report.note(
                "work-offset-set",
                f"the origin of {system} is the program's own: the stock is there",
                "is the work clamped where the program says?",
            )
    elif origin not in (state.origin_mm(system), state.control.offsets_mm.get(system)):
        state.report.warn(
            "work-offset-changed",
            f"G10 moves the origin of {system}; the stock stays where it was",
            "is that meant? work systems are best set before a program runs",
            about=system,
        )


# G92 and G52


def shift_to_reading(state: State, line: Line, value: str | int) -> None:
    """G92: shifts all work systems so that the present point reads as the axis words say."""
    if "S" in line.words and not state.control.strict:
        raise bad_offset("G92 with S sets a highest speed on some controls", "take the S out")
    if not line.has(AXES):
        raise missing_word("G92 without axis words", "give X, Y or Z")
    is_touched_off = _is_height_said(state, line, state.to_machine)
    values = state.axes_mm(line, state.position)
    state.shift = state.stored_shift = plus(minus(state.position, values), state.shift)
    if is_touched_off and not line.has("XY"):
        state.report.note(
            "work-shift",
            "G92 Z after a touch-off is read as how high the tool is over the work's zero",
            "G92 may outlive the program: end it with G92.1",
            about="touch off",
        )
        return
    state.report.warn(
        "work-shift",
        "G92 moves all work systems by where the tool happens to stand, and may outlive the "
        "program",
        "a work system of its own, G55 to G59, says the same for good",
    )


def end_shift(state: State, line: Line, value: str | int) -> None:
    """G92.1 and G92.2; the second keeps the shift in parameters 5211 to 5213."""
    state.shift = ORIGIN
    if value == "for good":
        state.stored_shift = ORIGIN


def restore_shift(state: State, line: Line, value: str | int) -> None:
    """G92.3. What a program that is not given has left in the parameters, nobody knows."""
    state.shift = state.stored_shift
    if not state.report.has("work-shift") and state.stored_shift == ORIGIN:
        state.report.warn(
            "work-shift",
            "G92.3 before any G92 takes up what an earlier program has left: read as no shift",
            "write the G92 that is meant",
        )


def shift_for_now(state: State, line: Line, value: str | int) -> None:
    """G52: shifts all work systems until G52 with zeros or the end of the program."""
    if not line.has(AXES):
        raise missing_word("G52 without axis words", "give X, Y or Z")
    state.temporary_shift = state.axes_mm(line, state.temporary_shift)
    state.report.note(
        "temporary-shift",
        "G52 is read as a shift of every work system, until G52 X0 Y0 Z0 or the end",
    )


# What a control keeps when one program has ended and the next begins. G10 sets an origin for good;
# whether G52 and G92 last as well differs from control to control (the shop file's `keeps`). The
# tool stays in the spindle, and its length offset in force: NISTIR 6556, section 3.6.1, does not
# count it among what M2 and M30 reset. Speed, feed and modes have to be said anew.


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
