"""A tap in its thread: which way it turns, how fast it is fed in and out, where its way begins.

A thread leads the tap: at every moment its way is turns times pitch, or it is torn. In and out the
spindle and the feed have to keep step, within what the holder gives way:

    floating        in by M3, out by M4, feed 94 to 100.5 % of pitch x speed
    rigid           the same within 1 %
    reversing head  in and out by M3: the head turns the tap back when it is drawn, faster than in

Left-hand taps the other way round.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from millprep.base.findings import Words, words
from millprep.base.records import frozen
from millprep.reading.moves import BY_HAND, DWELL
from millprep.reading.simulate import slips
from millprep.reading.simulate.cutting import LEFT_TAPPING, TAPPING, carbide_share, tool_turns
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, first_in_hole, holes_of, runs_of
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.path import Flags, Floats, Ints, Path
from millprep.reference.materials import Material
from millprep.reference.shared_rules import FLOATING_START_PITCHES, TOUCH_MM

RIGID_SHARES = (0.99, 1.01)
FLOATING_SHARES = (0.94, 1.005)  # a floating holder is fed a little less than the pitch
FLOAT_MM = 5.0  # that a small floating holder is drawn out at most (from memory)
_HAIR = 1e-9


@frozen
class _Taps:
    """Columns (N,) of the moves that a tap makes in its thread.

    inner  : made in the thread, first cuts included; cuts : what cuts new thread
    turns  : which way the tap cuts; way : 1 turning in, -1 turning out, 0 standing
    wanted : which way the spindle has to turn; has_head : a reversing head turns the tap back
    pitch  : [mm], nan where nobody gives it; step : the feed that keeps step [mm/min]
    """

    path: Path
    has_head: bool
    inner: Flags
    cuts: Flags
    turns: Ints
    way: Ints
    wanted: Ints
    pitch: Floats
    step: Floats

    def out(self, row: int) -> Words:
        """What to write for the way out."""
        step_mm = float(self.step[row])
        fed = " at {step_mm:exact}/min" if step_mm > 0 else ""
        back, cycle = ("M4", "G84") if self.turns[row] > 0 else ("M3", "G74")
        what = f"turn the spindle back first ({back}) and feed out{fed}, or use {cycle}"
        if self.has_head:
            what = f"leave the spindle as it is and feed out{fed} or more: G85, or G1"
        return words(what, step_mm=step_mm)


def tap_faults(dry: DryRun) -> Iterator[Found]:
    """What tears a thread or breaks a tap, each once a hole."""
    path, moves = dry.path, dry.path.moves
    is_tap = path.uses(lambda use: use.is_threading)
    is_tap |= path.is_unknown & np.isin(moves.cycle, (TAPPING, LEFT_TAPPING))
    is_tap &= moves.cycle != BY_HAND
    if not is_tap.any():
        return
    turns, pitch = tool_turns(path), path.each(lambda form: form.pitch_mm)
    way = np.where(~(moves.rpm <= 0), moves.spindle * turns, 0)
    has_head = dry.control.tapping == "reversing head"
    wanted = np.where(path.is_down | has_head, 1, -1)
    dives = path.is_rapid & path.is_down & (path.end[2] < dry.before - TOUCH_MM)  # told as such
    cuts = dry.cuts & is_tap & (path.stroke >= 0)
    inner = is_tap & dry.inside(cuts) & ~dives
    taps = _Taps(path, has_head, inner, cuts, turns, way, wanted, pitch, pitch * moves.rpm)
    for check in (_torn, _out_of_step, _too_fast, _too_near):
        yield from check(dry, taps)


def _torn(dry: DryRun, taps: _Taps) -> Iterator[Found]:
    """Moved by rapid, not turned the way it goes, turned where it stands: the first of them."""
    path, way, moves = taps.path, taps.way, taps.path.moves
    is_wrong_hand = path.with_strokes(taps.cuts & (way != 1))  # told as such, at the cut
    rapid = taps.inner & path.is_rapid & path.changes_height
    turned = taps.inner & path.is_feed & ~taps.cuts & ~is_wrong_hand & (way != taps.wanted)
    gives_mm = np.where(way > 0, FLOAT_MM, np.inf) if dry.control.tapping == "floating" else 0.0
    drawn = np.nan_to_num(taps.pitch) * moves.rpm * moves.seconds / 60
    stands = taps.inner & (moves.kind == DWELL) & (way != 0) & (drawn > gives_mm)
    first = first_in_hole(path, rapid | turned | stands)
    yield from holes_of(path, slips.TAP_BY_RAPID, rapid & first, out=taps.out)
    if taps.has_head:
        yield from holes_of(
            path,
            slips.TAP_REVERSED,
            turned & first,
            turning=lambda row: "reversed" if way[row] else "stopped",
            advice=taps.out,
        )
    else:
        is_down, in_words = path.is_down, "turn the spindle the way the tap cuts"
        yield from holes_of(
            path,
            slips.TAP_NOT_REVERSED,
            turned & first,
            whither=lambda row: "down" if is_down[row] else "out of",
            turning=lambda row: ("stopped", "turning the tap in", "turning the tap back")[way[row]],
            advice=lambda row: in_words if is_down[row] else taps.out(row),
        )
    stood = stands & first
    yield from holes_of(path, slips.TAP_DWELL, stood, seconds=moves.seconds, drawn_mm=drawn)


def _out_of_step(dry: DryRun, taps: _Taps) -> Iterator[Found]:
    """Fed out of step, in or out."""
    path, moves = taps.path, taps.path.moves
    fed = taps.inner & path.is_feed & (taps.cuts | (taps.way == taps.wanted)) & (moves.rpm > 0)
    gives = dry.control.tapping in ("floating", "reversing head")
    low, high = FLOATING_SHARES if gives else RIGID_SHARES
    share = moves.feed / taps.step
    is_off = fed & ((share < low - _HAIR) | (share > high + _HAIR))
    into = np.full(path.first.size, np.nan)
    into[path.stroke[taps.cuts]] = moves.feed[taps.cuts]
    fed_in = path.of_stroke(into)
    is_out = fed & ~path.is_down & taps.has_head
    is_slow = is_out & (moves.feed < fed_in - _HAIR)
    step = {"feed_mm": moves.feed, "pitch_mm": taps.pitch, "rpm": moves.rpm}
    step["exact_mm"] = taps.step
    slow = {"feed_mm": moves.feed, "fed_in_mm": fed_in}
    yield from holes_of(path, slips.TAP_FEED, is_off & ~is_out, True, **step)
    yield from holes_of(path, slips.TAP_SLOW_OUT, is_slow, True, **slow)


def _too_fast(dry: DryRun, taps: _Taps) -> Iterator[Found]:
    """Faster than the shop allows a tap, or than it bears."""
    path, rpm, most, material = (
        taps.path,
        taps.path.moves.rpm,
        dry.control.tap_speed_rpm,
        dry.material,
    )
    limit = np.fmin(most, path.each(lambda form: _most_rpm(form, material)))
    is_fast = taps.cuts & (taps.way != 0) & (rpm > limit + _HAIR)
    named = material.name if material is not None else ""
    by_table = f"one and a half times the table's speed for {named} is"
    yield from runs_of(
        path,
        slips.TAP_TOO_FAST,
        is_fast,
        taps.cuts,
        rpm=rpm,
        why=lambda row: "the shop file allows a tap" if limit[row] == most else by_table,
        limit=lambda row: math.floor(limit[row]),
    )


def _most_rpm(form: Form, material: Material | None) -> float | None:
    """The speed that a tap bears in a material; None where nothing is known of one of them."""
    if material is None or form.tool.diameter_mm is None:
        return None
    return material.most_tap_rpm(form.tool.diameter_mm) * carbide_share(form, material)


def _too_near(dry: DryRun, taps: _Taps) -> Iterator[Found]:
    """With a floating holder a start so near that the tap is not yet in step when it cuts."""
    path, first = taps.path, first_in_hole(taps.path, taps.cuts)
    if dry.control.tapping != "floating":
        return
    begins = path.start[2].copy()
    for row in np.flatnonzero(first).tolist():
        begins[row] = _fed_from(path, row)
    solid, least = path.of_stroke(dry.strokes.solid), FLOATING_START_PITCHES * taps.pitch
    above = begins - solid
    is_near = np.isfinite(above) & (above > -TOUCH_MM) & (above < least - TOUCH_MM)
    figures = {"above_mm": above, "least_mm": least, "start_mm": begins - above + least}
    yield from holes_of(path, slips.TAP_TOO_NEAR, first & is_near, True, **figures)


def _fed_from(path: Path, row: int) -> float:
    """Height from which a tap is fed down at one feed, in however many moves [mm]."""
    feed = path.moves.feed
    while (
        row > path.first[path.stroke[row]]
        and path.is_feed[row - 1]
        and path.is_down[row - 1]
        and feed[row - 1] == feed[row]
    ):
        row -= 1
    return float(path.start[2, row])


def finishing_faults(dry: DryRun) -> Iterator[Found]:
    """What spoils a reamed or bored hole, each once a hole."""
    path, before = dry.path, dry.before
    is_reamer = path.uses(lambda use: use.is_reaming)
    is_borer = path.uses(lambda use: use.is_boring)
    if not (is_reamer | is_borer).any():
        return
    cuts = dry.cuts & (path.stroke >= 0)
    inner = dry.inside(cuts)
    way = np.where(~(path.moves.rpm <= 0), path.moves.spindle * tool_turns(path), 0)
    is_out = inner & path.is_rapid & path.changes_height & ~path.is_down
    # cuts on from below the mouth, and comes from higher up
    again = cuts & (before < path.of_stroke(dry.strokes.solid) - TOUCH_MM)
    pecked = is_reamer & again & (path.start[2] > before + TOUCH_MM)
    backwards = is_reamer & inner & (way < 0)
    told = path.with_strokes(backwards & cuts)  # as cutting the wrong way round
    by_rapid = is_reamer & is_out & ~path.with_strokes(pecked)
    yield from holes_of(path, slips.REAMER_PECKED, pecked, True)
    yield from holes_of(path, slips.REAMER_BY_RAPID, by_rapid, True)
    yield from holes_of(path, slips.REAMER_BACKWARDS, backwards & ~told)
    yield from holes_of(path, slips.BORE_SCORED, is_borer & is_out & (way != 0), True)
