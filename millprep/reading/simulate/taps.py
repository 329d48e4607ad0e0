"""A tap in its thread: which way it turns, how fast it is fed in and out, where its way begins.

A thread leads the tap: at every moment its way is turns times pitch, or it is torn. In and out the
spindle and the feed have to keep step, within what the holder gives way:

    floating        in by M3, out by M4, feed 94 to 100.5 % of pitch x speed
    rigid           the same within 1 %
    reversing head  in and out by M3: the head turns the tap back when it is drawn, faster than in

Left-hand taps the other way round. Imports `path`, `strokes`, `inside`, `cutting`, the shop.
"""

from __future__ import annotations

import math

import numpy as np

from millprep.base.records import frozen
from millprep.model.shop import Control
from millprep.reading.moves import DWELL
from millprep.reading.simulate.cutting import LEFT_TAPPING, TAPPING, harms_at, tool_turns
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.inside import (
    first_in_hole,
    goes,
    harms_by_hole,
    moves_inside,
    place,
    strokes_of,
)
from millprep.reading.simulate.path import Flags, Floats, Ints, Path
from millprep.reading.simulate.speeds import carbide_share
from millprep.reading.simulate.strokes import Strokes
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
    pitch  : [mm], nan where nobody gives it
    """

    path: Path
    control: Control
    inner: Flags
    cuts: Flags
    turns: Ints
    way: Ints
    pitch: Floats

    @property
    def has_head(self) -> bool:
        return self.control.tapping == "reversing head"

    @property
    def wanted(self) -> Ints:
        """Which way the spindle has to turn for each move."""
        return np.where(self.path.is_down | self.has_head, 1, -1)

    @property
    def drawn_mm(self) -> Floats:
        """(N,) how far the thread draws a tap that turns where it stands."""
        moves = self.path.moves
        return np.asarray(np.nan_to_num(self.pitch) * moves.rpm * moves.seconds / 60)

    def step(self, row: int) -> float:
        """The feed that keeps step [mm/min]."""
        return float(self.pitch[row] * self.path.moves.rpm[row])

    def out(self, row: int) -> str:
        """What to write for the way out."""
        fed = f" at F{self.step(row):g}" if self.step(row) > 0 else ""
        if self.has_head:
            return f"leave the spindle as it is and feed out{fed} or more: G85, or G1"
        back, cycle = ("M4", "G84") if self.turns[row] > 0 else ("M3", "G74")
        return f"turn the spindle back first ({back}) and feed out{fed}, or use {cycle}"

    def by_rapid(self, row: int) -> tuple[str, str]:
        return f"the tap is moved by rapid in its thread at {place(self.path, row)}", self.out(row)

    def not_reversed(self, row: int) -> tuple[str, str]:
        is_down = self.path.is_down[row]
        whither = "down" if is_down else "out of"
        turning = ("stopped", "turning the tap in", "turning the tap back")[int(self.way[row])]
        return (
            f"the tap is fed {whither} its thread at {place(self.path, row)}, spindle {turning}",
            "turn the spindle the way the tap cuts" if is_down else self.out(row),
        )

    def reversed(self, row: int) -> tuple[str, str]:
        return (
            f"the spindle is {'reversed' if self.way[row] else 'stopped'} with the tap in its "
            f"thread at {place(self.path, row)}; a reversing head turns the tap back by itself "
            "while the spindle runs on",
            self.out(row),
        )

    def standing(self, row: int) -> tuple[str, str]:
        return (
            f"the tap stands for {self.path.moves.seconds[row]:g} s in its thread at "
            f"{place(self.path, row)} while the spindle turns it {self.drawn_mm[row]:.1f} mm on",
            "take the dwell out, or stop the spindle before it (M5)",
        )


def tap_harms(
    path: Path,
    cuts: Flags,
    before: Floats,
    strokes: Strokes,
    control: Control,
    material: Material | None,
) -> list[Harm]:
    """What tears a thread or breaks a tap, each once a hole."""
    moves = path.moves
    is_tap = path.has_kind("tap")
    is_tap |= path.has_kind(None) & np.isin(moves.cycle, (TAPPING, LEFT_TAPPING))
    if not is_tap.any():
        return []
    turns = tool_turns(path)
    way = np.where(moves.rpm > 0, moves.spindle * turns, 0)
    with np.errstate(invalid="ignore"):  # into solid material: told as such
        dives = path.is_rapid & path.is_down & (path.end[2] < before - TOUCH_MM)
    cuts = cuts & is_tap & (path.stroke >= 0)
    inner = is_tap & moves_inside(path, cuts, strokes) & ~dives
    pitch = np.array([form.pitch_mm or np.nan for form in path.forms])[path.form]
    taps = _Taps(path, control, inner, cuts, turns, way, pitch)
    return [
        *_torn_harms(taps),
        *_feed_harms(taps),
        *_speed_harms(taps, material),
        *_start_harms(taps, strokes),
    ]


def _torn_harms(taps: _Taps) -> list[Harm]:
    """Moved by rapid, not turned the way it goes, turned where it stands: the first of them."""
    path, way = taps.path, taps.way
    is_wrong_hand = strokes_of(path, taps.cuts & (way != 1))  # told as such, at the cut
    rapid = taps.inner & path.is_rapid & goes(path)
    turned = taps.inner & path.is_feed & ~taps.cuts & ~is_wrong_hand & (way != taps.wanted)
    gives_mm = np.where(way > 0, FLOAT_MM, np.inf) if taps.control.tapping == "floating" else 0.0
    stands = taps.inner & (path.moves.kind == DWELL) & (way != 0) & (taps.drawn_mm > gives_mm)
    first = first_in_hole(path, rapid | turned | stands)
    kind, words = "tap-not-reversed", taps.not_reversed
    if taps.has_head:
        kind, words = "tap-reversed", taps.reversed
    return [
        *harms_by_hole(path, rapid & first, "stop", "tap-by-rapid", taps.by_rapid),
        *harms_by_hole(path, turned & first, "stop", kind, words),
        *harms_by_hole(path, stands & first, "stop", "tap-dwell", taps.standing),
    ]


def _feed_harms(taps: _Taps) -> list[Harm]:
    """Fed out of step, in or out."""
    path, moves = taps.path, taps.path.moves
    fed = taps.inner & path.is_feed & (taps.cuts | (taps.way == taps.wanted)) & (moves.rpm > 0)
    gives = taps.control.tapping in ("floating", "reversing head")
    low, high = FLOATING_SHARES if gives else RIGID_SHARES
    with np.errstate(invalid="ignore", divide="ignore"):
        share = moves.feed / (taps.pitch * moves.rpm)
        is_off = fed & ((share < low - _HAIR) | (share > high + _HAIR))
    fed_in = np.full(path.first.size, np.nan)
    fed_in[path.stroke[taps.cuts]] = moves.feed[taps.cuts]
    is_slow = np.zeros_like(is_off)
    if taps.has_head:
        is_out = fed & ~path.is_down
        with np.errstate(invalid="ignore"):
            is_slow = is_out & (moves.feed < fed_in[path.stroke] - _HAIR)
        is_off &= ~is_out

    def off(row: int) -> tuple[str, str]:
        exact = taps.step(row)
        return (
            f"the tap is fed {moves.feed[row]:g} mm/min; pitch {taps.pitch[row]:g} mm at "
            f"{moves.rpm[row]:g} rev/min is {exact:g}",
            f"give F{exact:g}, or change S with it",
        )

    def slow(row: int) -> tuple[str, str]:
        into = fed_in[path.stroke[row]]
        return (
            f"the tap is fed out at {moves.feed[row]:g} mm/min and in at {into:g}; a reversing "
            "head turns back no slower than it turns in",
            f"give F{into:g} or more on the way out",
        )

    return [
        *harms_by_hole(path, is_off, "stop", "tap-feed", off, is_one_slip=True),
        *harms_by_hole(path, is_slow, "stop", "tap-feed", slow, is_one_slip=True),
    ]


def _speed_harms(taps: _Taps, material: Material | None) -> list[Harm]:
    """Faster than the shop allows a tap, or than it bears."""
    path, rpm, most = taps.path, taps.path.moves.rpm, taps.control.tap_speed_rpm
    bearable = np.array([_most_rpm(form, material) for form in path.forms])[path.form]
    is_fast = taps.cuts & (taps.way != 0) & (rpm > np.minimum(most, bearable) + _HAIR)

    def fast(row: int) -> tuple[str, str]:
        limit = min(most, bearable[row])
        named = material.name if material is not None else ""
        why = f"one and a half times the table's speed for {named} is"
        if limit == most:
            why = "the shop file allows a tap"
        return (
            f"the tap turns at {rpm[row]:g} rev/min; {why} {math.floor(limit)}",
            f"give S{math.floor(limit)} or less",
        )

    return harms_at(path, is_fast, taps.cuts, "stop", "tap-too-fast", fast)


def _most_rpm(form: Form, material: Material | None) -> float:
    """The speed that a tap bears in a material; inf where nothing is known of the one or other."""
    if material is None or form.diameter_mm is None:
        return math.inf
    return material.most_tap_rpm(form.diameter_mm) * carbide_share(form, material)


def _start_harms(taps: _Taps, strokes: Strokes) -> list[Harm]:
    """With a floating holder a start so near that the tap is not yet in step when it cuts."""
    path = taps.path
    if taps.control.tapping != "floating":
        return []
    begins = path.start[2].copy()
    for row in np.flatnonzero(first_in_hole(path, taps.cuts)).tolist():
        begins[row] = _fed_from(path, row)
    above = begins - strokes.solid[np.maximum(path.stroke, 0)]
    with np.errstate(invalid="ignore"):
        is_near = np.isfinite(above) & (above > -TOUCH_MM)
        is_near &= above < FLOATING_START_PITCHES * taps.pitch - TOUCH_MM

    def near(row: int) -> tuple[str, str]:
        face, least = begins[row] - above[row], FLOATING_START_PITCHES * taps.pitch[row]
        return (
            f"the tap is fed in from {above[row]:.2f} mm above its hole at {place(path, row)}; a "
            f"floating holder wants three pitches, {least:.2f} mm",
            f"begin at Z{face + least:.2f} or above (R of the cycle)",
        )

    bad = first_in_hole(path, taps.cuts) & is_near
    return harms_by_hole(path, bad, "warning", "tap-r-too-near", near, is_one_slip=True)


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
