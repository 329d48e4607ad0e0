"""Drilling cycles, written out as the motions they stand for (NISTIR 6556, section 3.5.16).

            old Z  ----.           .----   G98 comes back here
                       |           |
            R      ----+-- - - - --+----   G99 comes back here
                       :           |
            Z      ----'-----------'

Down from R is feed (:); a peck goes to R - k Q, counted from R and not from the work.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from millprep.base.bounds import MOST_PECKS, MOST_REPEATS
from millprep.base.findings import words
from millprep.reading.gcode.modal import Hole, Leg
from millprep.reading.gcode.modes import dwell_seconds
from millprep.reading.gcode.motion import set_motion
from millprep.reading.gcode.order import g_word
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused, bad_cycle, bad_value, missing_word
from millprep.reading.gcode.state import State
from millprep.reading.moves import DWELL, FEED, RAPID

BACK_OFF_MM = 0.25  # above the last bottom, after a retract; 0.01 in is common practice
CHIP_BREAK_MM = 0.125  # about 0.005 in, common practice
SAME_DEPTH_MM = 1e-6  # a last peck shorter than this is rounding
_DWELLING = (820, 860, 890)
_TAPPING = {740: -1, 840: 1}  # which way the spindle turns on the way in


def drill(state: State, line: Line, value: str | int) -> None:
    """Any cycle word, or a line with axis words while one is in force."""
    motion = int(value)
    name = g_word(motion)
    is_first = motion != state.motion
    _check_cycle(state, line, name)
    set_motion(state, motion)
    state.begin_motion()
    state.needed_feed()
    if motion in _TAPPING:
        _check_tapping(state, name, _TAPPING[motion])
    if motion == 860 and state.spindle == 0:
        raise bad_cycle(
            "G86 with the spindle stopped", "start it with S and M3 (NISTIR 6556, section 3.5.16.7)"
        )
    hole = _read_hole(state, line, motion, is_first)
    legs = _BODIES[hole.cycle](hole)
    repeats = _repeats(state, line)
    state.need_room(repeats * len(legs))
    if not line.has("XY"):
        state.report.note("cycle-at-place", f"{name} without X or Y works where the tool is")
    target = state.target(line)
    x, y, z = state.position
    step_x, step_y = target[0] - x, target[1] - y
    if z < hole.retract_mm:
        state.move(RAPID, (x, y, hole.retract_mm), cycle=hole.cycle)
    for repeat in range(repeats):
        if repeat == 0 or state.is_incremental:
            x, y = x + step_x, y + step_y
        _work(state, x, y, hole, legs)
    state.hole_made = hole, legs


def _work(state: State, x: float, y: float, hole: Hole, legs: list[Leg]) -> None:
    """One hole, from wherever the tool is."""
    state.move(RAPID, (x, y, state.position[2]), cycle=hole.cycle)
    state.move(RAPID, (x, y, hole.retract_mm), cycle=hole.cycle)
    for leg in legs:
        turning = state.spindle
        if leg.spindle != 1:
            state.turn_spindle_for_now(leg.spindle)
        if leg.kind == DWELL:
            state.dwell(leg.seconds, cycle=hole.cycle)
        else:
            state.move(leg.kind, (x, y, leg.z_mm), cycle=hole.cycle)
        if leg.spindle != 1:
            state.spindle = turning
            state.refresh()


def _check_tapping(state: State, name: str, spindle: int) -> None:
    is_able = state.control.tapping in _HOLDER_WORDS
    if not is_able:
        state.report.lacks(
            name,
            "the control is described as unable to tap",
            "tap by hand, or set tapping in the shop file",
            kind="unknown-cycle",
        )
    if state.spindle != spindle:
        way, word = ("clockwise", "M3") if spindle > 0 else ("anticlockwise", "M4")
        raise bad_cycle(
            f"{name} while the spindle does not turn {way}",
            f"start it with S and {word} (NISTIR 6556, section 3.5.16.5)",
        )
    if is_able:
        state.report.note(
            "tapping-holder",
            f"{name} needs a spindle in step with the feed, or a floating tap holder: read as "
            + _HOLDER_WORDS[state.control.tapping],
        )


_HOLDER_WORDS = {
    "rigid": "in step",
    "floating": "with a floating holder",
    "reversing head": "with a reversing head, which it does not suit",
}


def _check_cycle(state: State, line: Line, name: str) -> None:
    if name not in state.control.cycles:
        known = ", ".join(sorted(state.control.cycles)) or "none"
        state.report.lacks(
            name,
            "the control is described without it",
            f"cycles it knows: {known}; write the hole in G0 and G1",
            kind="unknown-cycle",
        )
    if state.control.axes == "xy":
        raise Refused("unknown-cycle", f"{name}: the control drives X and Y only")
    if not line.has("XYZ"):
        raise missing_word(f"{name} without X, Y or Z", "give the hole's position")
    if state.feed_mode == "inverse time":
        raise bad_cycle(f"{name} in G93", "write G94 and F (NISTIR 6556, section 3.5.19)")
    if state.plane != 17:
        raise bad_cycle(f"{name} in plane G{state.plane} is not read", "write G17 before it")


def _read_hole(state: State, line: Line, motion: int, is_first: bool) -> Hole:
    _check_sticky(state, line, is_first)
    name = g_word(motion)
    for letter in "RZPQ":
        if letter in line.words:
            state.sticky[letter] = line.words[letter].value
    r, z = (state.mm(_needed(state, letter, name)) for letter in "RZ")
    old_z = state.position[2]
    retract, bottom = (old_z + r, old_z + r + z) if state.is_incremental else (r, z)
    if bottom > retract:
        said = words(
            f"{name}: R {{retract_mm:exact}} is below Z {{bottom_mm:exact}}",
            retract_mm=retract,
            bottom_mm=bottom,
        )
        raise bad_cycle(said, "R is above Z")
    peck = dwell = 0.0
    if motion in (730, 830):
        peck = state.mm(_needed(state, "Q", name))
        if peck <= 0:
            raise bad_value(f"{name}: Q is above 0", "Q is the depth of one peck")
        _check_pecks(state, peck, retract - bottom)
    if motion in _DWELLING:
        dwell = _dwell(state, line, motion)
    clear = _clear_level(state, retract, old_z)
    is_clear = state.control.strict or state.control.peck_retract == "clear"
    between = clear if is_clear else retract
    return Hole(motion // 10, retract, bottom, clear, between, peck, dwell)


def _dwell(state: State, line: Line, motion: int) -> float:
    """The time at the bottom; without P none for a G86, which NISTIR 6556 would not allow."""
    if motion == 860 and not state.control.strict and "P" not in state.sticky:
        return 0.0
    number = _needed(state, "P", g_word(motion))
    if "P" in line.words:
        return dwell_seconds(state, line.words["P"])
    return number / 1000 if state.control.dwell == "ms" else number


def _check_sticky(state: State, line: Line, is_first: bool) -> None:
    """What an incremental line inherits, controls do not agree on: some keep the level, not R."""
    is_inherited = not is_first and not ("R" in line.words and "Z" in line.words)
    if state.is_incremental and is_inherited and not state.control.strict:
        raise bad_cycle(
            "an incremental line of a cycle without both R and Z: controls differ on what R and Z "
            "then mean",
            "write R and Z on the line, or use G90",
        )


def _needed(state: State, letter: str, name: str) -> float:
    if letter not in state.sticky:
        raise missing_word(
            f"{name} without {letter}", f"give {letter} on the first line of each cycle"
        )
    return state.sticky[letter]


def _check_pecks(state: State, peck_mm: float, depth_mm: float) -> None:
    if depth_mm / peck_mm > MOST_PECKS:
        raise bad_cycle(
            words(
                f"Q {{peck_mm:exact}} makes over {MOST_PECKS:,} pecks of {{depth_mm:exact}}",
                peck_mm=peck_mm,
                depth_mm=depth_mm,
            ),
            "is a point or a zero wrong?",
        )
    if peck_mm > depth_mm:
        said = words("Q {peck_mm:exact} is more than R - Z: a single peck", peck_mm=peck_mm)
        state.report.note("single-peck", said)


def _repeats(state: State, line: Line) -> int:
    word = line.words.get("L")
    if word is None:
        return 1
    if abs(word.value - round(word.value)) > 0.0001 or not 1 <= round(word.value) <= MOST_REPEATS:
        raise bad_value(f"{word}: repeats are a whole number, 1 to {MOST_REPEATS:,}")
    if word.value > 1.5 and not state.is_incremental:
        state.report.warn(
            "same-hole-again", f"{word} in absolute distance makes the same hole again", "use G91"
        )
    return round(word.value)


def _clear_level(state: State, retract_mm: float, old_z_mm: float) -> float:
    """The height after the hole (NISTIR 6556, section 3.5.20), doubtful readings said."""
    if state.returns_to is None:
        state.returns_to = "initial"
        state.report.warn(
            "unstated-return-level",
            "a cycle before G98 or G99: read as G98, back to the level before the cycle",
            "write G98 or G99: what a control wakes up with differs",
        )
    if state.returns_to == "retract plane":
        state.has_returned_to_plane = True
        return retract_mm
    if state.has_returned_to_plane:
        state.report.warn(
            "return-level-doubtful",
            "G98 after G99 within one run of a cycle: read as staying at R, the lower level",
            "some controls return to the level where the run began: retract with G0 Z",
        )
    return max(retract_mm, old_z_mm)


# bodies: from R at the hole, down, and up to the clear level


def _down_and_up(hole: Hole) -> list[Leg]:
    """G81, G82: feed down, dwell, rapid up."""
    down = [Leg(FEED, hole.bottom_mm)]
    if hole.dwell_s:
        down.append(Leg(DWELL, hole.bottom_mm, hole.dwell_s))
    return [*down, Leg(RAPID, hole.clear_mm)]


def _feed_out(hole: Hole) -> list[Leg]:
    """G85, G89: feed down, dwell, feed up."""
    return [*_down_and_up(hole)[:-1], Leg(FEED, hole.clear_mm)]


def _stop_and_up(hole: Hole) -> list[Leg]:
    """G86: feed down, dwell, up with the spindle stopped."""
    return [*_down_and_up(hole)[:-1], Leg(RAPID, hole.clear_mm, spindle=0)]


def _tap(hole: Hole) -> list[Leg]:
    """G84: feed down clockwise, reverse, feed up, clockwise again; G74 the other way round."""
    return [Leg(FEED, hole.bottom_mm), Leg(FEED, hole.clear_mm, spindle=-1)]


def _peck_depths(hole: Hole) -> list[float]:
    """Depths of the pecks before the last, R - k Q, so that no rounding adds up."""
    whole = (hole.retract_mm - hole.bottom_mm - SAME_DEPTH_MM) / hole.peck_mm
    return [hole.retract_mm - k * hole.peck_mm for k in range(1, math.ceil(whole))]


def _peck(hole: Hole) -> list[Leg]:
    """G83: out of the hole after every peck, back to just above where it stopped."""
    legs = []
    for depth_mm in _peck_depths(hole):
        back_mm = min(depth_mm + BACK_OFF_MM, hole.retract_mm)
        legs += [Leg(FEED, depth_mm), Leg(RAPID, hole.between_mm), Leg(RAPID, back_mm)]
    return legs + _down_and_up(hole)


def _chip_break(hole: Hole) -> list[Leg]:
    """G73: a short way up after every peck."""
    legs = []
    for depth_mm in _peck_depths(hole):
        up_mm = min(depth_mm + CHIP_BREAK_MM, hole.retract_mm)
        legs += [Leg(FEED, depth_mm), Leg(RAPID, up_mm)]
    return legs + _down_and_up(hole)


_BODIES: dict[int, Callable[[Hole], list[Leg]]] = {
    73: _chip_break,
    74: _tap,
    81: _down_and_up,
    82: _down_and_up,
    83: _peck,
    84: _tap,
    85: _feed_out,
    86: _stop_and_up,
    89: _feed_out,
}
