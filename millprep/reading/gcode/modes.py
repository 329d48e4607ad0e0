"""Acts that only set something: units, plane, distance, feed, speed, spindle, coolant, stops."""

from __future__ import annotations

from millprep.base.units import Units
from millprep.reading.gcode import stops
from millprep.reading.gcode.codes import AXES, G_CODES
from millprep.reading.gcode.recognise import Line, Word
from millprep.reading.gcode.report import Refused, bad_value, refused_word, unused_word
from millprep.reading.gcode.state import State

_LONG_DWELL_S = 30.0
_SHORT_DWELL_MS = 10.0  # less is meant in seconds


def whole_number(word: Word, what: str) -> int:
    """A word's value as a whole number not below 0, within 0.0001 (NISTIR 6556, 3.3.2.1)."""
    if word.value < 0 or abs(word.value - round(word.value)) > 0.0001:
        raise bad_value(f"{word}: {what} is a whole number, 0 or more")
    return round(word.value)


def accept(state: State, line: Line, value: str | int) -> None:
    """G40, M1 and the like: what they ask for is always so here, or moves nothing."""


def set_feed(state: State, line: Line, value: str | int) -> None:
    word = line.words["F"]
    if word.value < 0:
        raise bad_value(f"{word}: a feed is not negative")
    state.feed_number = word.value
    state.feed_units = state.units
    state.feed_line = state.line


def set_feed_mode(state: State, line: Line, value: str | int) -> None:
    """G93, G94, G95: an F counts in the mode that it was written in."""
    if value != state.feed_mode:
        state.feed_number = None
    state.feed_mode = str(value)


def set_speed(state: State, line: Line, value: str | int) -> None:
    word = line.words["S"]
    if word.value < 0:
        raise bad_value(f"{word}: a speed is not negative")
    stops.lacks_speed(state)
    state.rpm = word.value


def turn_spindle(state: State, line: Line, value: str | int) -> None:
    stops.lacks_switch(state, {1: "M3", -1: "M4", 0: "M5"}[int(value)])
    state.spindle = int(value)
    if value and state.rpm <= 0:
        state.starts_without_speed.append((len(state.columns), state.row_line))
    if value == 0:
        _warn_of_feed(state, line, "M5")


def set_coolant(state: State, line: Line, value: str | int) -> None:
    state.is_coolant_on = bool(value)
    if not value:
        _warn_of_feed(state, line, "M9")


def _warn_of_feed(state: State, line: Line, name: str) -> None:
    explicit = [code for code in line.g if code in G_CODES and G_CODES[code].group == "motion"]
    motion = explicit[0] if explicit else state.motion
    is_owned = any(code in G_CODES and G_CODES[code].owns_axes for code in line.g)
    if line.has(AXES) and not is_owned and motion not in (None, 0, 800):
        state.report.warn(
            "stop-with-feed",
            f"{name} on the line of a feed move: read as acting before the move",
            "some controls act after it: write it on a line of its own",
        )


def set_plane(state: State, line: Line, value: str | int) -> None:
    state.plane = int(value)
    state.stated.add("plane")


def set_units(state: State, line: Line, value: str | int) -> None:
    units: Units = "inch" if value == "inch" else "mm"
    if state.units is not None and units != state.units:
        state.sticky.clear()
        if len(state.columns):
            state.report.warn(
                "units-switched",
                f"the units change to {units} after the program has moved",
                "state the units once, at the start",
            )
    state.units = units
    state.stated.add("units")


def set_distance(state: State, line: Line, value: str | int) -> None:
    state.is_incremental = value == "incremental"
    state.stated.add("distance")


def set_arc_centres(state: State, line: Line, value: str | int) -> None:
    state.has_absolute_centres = value == "absolute"


def set_path(state: State, line: Line, value: str | int) -> None:
    state.path = str(value)
    if value == "continuous":
        if "P" in line.words and state.control.strict:
            raise unused_word("G64 P is not defined by NISTIR 6556", "take the P out")
        state.report.note(
            "path-may-round",
            "under G64 a control may round corners: read as going to each of them",
            "write G61 where corners count",
        )


def cancel_scaling(state: State, line: Line, value: str | int) -> None:
    if "S" in line.words:
        raise refused_word("G50 with S sets a highest speed on some controls", "take it out")


def change_pallet(state: State, line: Line, value: str | int) -> None:
    state.report.note(
        "pallet-change",
        "M60 changes the pallet on a machine that has one: the stock is taken to be the same",
    )


def set_return_level(state: State, line: Line, value: str | int) -> None:
    state.returns_to = str(value)


def dwell(state: State, line: Line, value: str | int) -> None:
    if line.has(AXES) and not state.control.strict:
        raise Refused(
            "bad-dwell",
            "axis words on the line of a G4: some controls read X as the time",
            "write G4 P on a line of its own, P in seconds",
        )
    word = line.needed("P", "G4", "write G4 P with the time in seconds")
    state.dwell(dwell_seconds(state, word))


def dwell_seconds(state: State, word: Word) -> float:
    """The time of a P word, in seconds or milliseconds by the shop file; one that looks like the
    other is doubted."""
    if word.value < 0:
        raise bad_value(f"{word}: a dwell is not negative")
    is_ms = state.control.dwell == "ms"
    seconds = word.value / 1000 if is_ms else word.value
    if seconds > _LONG_DWELL_S:
        state.report.warn(
            "long-dwell",
            f"{word} is read as {seconds:g} seconds",
            "the shop file's dwell says whether P counts seconds or milliseconds",
        )
    elif is_ms and 0 < word.value < _SHORT_DWELL_MS:
        state.report.warn(
            "short-dwell",
            f"{word} is read as {word.value:g} milliseconds, as good as nothing",
            'if P counts seconds on this control, write dwell = "s" in the shop file',
        )
    return seconds


def end_program(state: State, line: Line, value: str | int) -> None:
    """M2 and M30. Resets matter to nothing that is read after; but the spindle is not relied on.

    NISTIR 6556, section 3.6.1, stops spindle and coolant here; other controls need not.
    """
    state.is_ended = True
    if state.control.strict:
        state.spindle = 0
        state.is_coolant_on = False
