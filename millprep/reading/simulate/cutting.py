"""Spindle, speed, feed and pecks of the moves that cut: masks over columns.

Imports `path`, `findings`, the shop and the reference table of materials.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Severity
from millprep.model.shop import Mill
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.path import Flags, Ints, Path
from millprep.reading.simulate.strokes import Strokes
from millprep.reference.materials import Material, drill_feed_mm_per_rev
from millprep.reference.shared_rules import (
    DEEP_FROM_DIAMETERS,
    DEEP_PECK_DIAMETERS,
    NEXT_PECK_DIAMETERS,
    PECK_SLACK,
    PECK_SLACK_MM,
    SMALL_BELOW_MM,
    SMALL_PECK_DIAMETERS,
    SOLID_SHARE,
)

Floats = NDArray[np.float64]
REAMER_FEED_SHARE = 3.0  # a reamer's feed is two to three times the drill's (common practice)
FEED_EXCESS = 2.0
SAME_SPEED_RPM = 0.5  # speeds are listed to whole turns
TAPPING, LEFT_TAPPING = 84, 74  # cycles
USUAL_FIRST_PECK = 3.0  # diameters, where no material is named


def harms_at(
    path: Path,
    bad: Flags,
    among: Flags,
    severity: Severity,
    kind: str,
    words: Callable[[int], tuple[str, str]],
) -> list[Harm]:
    """One harm for each run of `bad` moves that no good move `among` them breaks."""
    rows = np.flatnonzero(among)
    wrong = bad[rows]
    begins = wrong & ~np.concatenate([[False], wrong[:-1]])
    ends = wrong & ~np.concatenate([wrong[1:], [False]])
    counts = np.flatnonzero(ends) - np.flatnonzero(begins) + 1
    line = path.moves.line
    harms = []
    for first, last, count in zip(rows[begins], rows[ends], counts.tolist(), strict=True):
        message, remedy = words(int(first))
        last_line = int(line[last]) if line[last] != line[first] else None
        harms.append(
            Harm(
                int(first),
                severity,
                kind,
                int(line[first]),
                message,
                remedy,
                run=(kind, int(first)),
                last_line=last_line,
                count=count,
            )
        )
    return harms


def spindle_harms(path: Path, cuts: Flags, mill: Mill) -> list[Harm]:
    """Cutting with the spindle stopped, turning the wrong way, or at a speed it has not got."""
    moves = path.moves
    is_still = (moves.spindle == 0) | (moves.rpm <= 0)
    turns = tool_turns(path)
    is_backwards = ~is_still & (moves.spindle == -turns)
    is_tapping = np.isin(moves.cycle, (LEFT_TAPPING, TAPPING))
    is_outside = ~is_still & ((moves.rpm < mill.slowest_rpm) | (moves.rpm > mill.fastest_rpm))

    def stopped(row: int) -> tuple[str, str]:
        return f"the tool cuts at {where(path, row)} with the spindle stopped", "start it: S.. M3"

    def backwards(row: int) -> tuple[str, str]:
        way, tapping = ("M3, clockwise", "G84") if turns[row] > 0 else ("M4, anticlockwise", "G74")
        by_cycle = f", and its tapping cycle is {tapping}" if is_tapping[row] else ""
        return (
            f"the tool cuts at {where(path, row)} with the spindle turning the wrong way",
            f"this tool cuts with {way}{by_cycle}",
        )

    def speed(row: int) -> tuple[str, str]:
        return (
            f"S{moves.rpm[row]:g} is outside the spindle's speeds",
            f"give {mill.slowest_rpm:g} to {mill.fastest_rpm:g} rev/min",
        )

    return [
        *harms_at(path, is_still & cuts, cuts, "stop", "spindle-stopped", stopped),
        *harms_at(path, is_backwards & cuts, cuts, "stop", "spindle-backwards", backwards),
        *harms_at(path, is_outside & cuts, cuts, "stop", "speed-outside-spindle", speed),
        *_between_steps(path, cuts & ~is_still & ~is_outside, mill),
    ]


def _between_steps(path: Path, turns: Flags, mill: Mill) -> list[Harm]:
    """Speeds that a spindle with listed ones does not have, each once: the belt gives another."""
    steps = np.array(sorted(mill.speeds_rpm))
    rpm = path.moves.rpm
    if mill.speed_range_rpm or not steps.size:
        return []

    def between(row: int) -> tuple[str, str]:
        above = int(np.searchsorted(steps, rpm[row]))
        low, high = steps[above - 1], steps[above]
        return (
            f"S{rpm[row]:g} is none of the spindle's speeds; at {low:g} the feed a turn is "
            f"{rpm[row] / low:.2f} times, at {high:g} {rpm[row] / high:.2f} times the program's",
            "write one of them, with F by it: a tap keeps its thread only at its own S",
        )

    found = []
    for speed in np.unique(rpm[turns]):
        if np.abs(steps - speed).min() > SAME_SPEED_RPM:
            at_it = turns & (rpm == speed)
            found += harms_at(path, at_it, at_it, "note", "speed-between-steps", between)
    return found


def tool_turns(path: Path) -> Ints:
    """(N,) which way the tool in the spindle cuts: 1 clockwise, -1 anticlockwise.

    Of a tool that nothing describes only G74 says that it is a left-hand tap.
    """
    turns = np.array([form.turns for form in path.forms], dtype=np.int64)[path.form]
    return np.where(path.has_kind(None) & (path.moves.cycle == LEFT_TAPPING), -1, turns)


def where(path: Path, row: int) -> str:
    x, y, z = path.end[:, row]
    return f"X{x:.3f} Y{y:.3f} Z{z:.3f}"


def feed_harms(path: Path, cuts: Flags, mill: Mill, material: Material | None) -> list[Harm]:
    """Feeds that are none, over the mill's, or more than the tool bears; taps apart."""
    moves = path.moves
    fed = path.is_feed
    with np.errstate(invalid="ignore", divide="ignore"):
        is_none = fed & ~(moves.feed > 0)
        is_fast = fed & (moves.feed > mill.max_feed_mm_per_min + 1e-6)
        per_rev = moves.feed / moves.rpm
    is_tap = path.has_kind("tap")
    most = np.array([_most_per_rev(form, material) for form in path.forms])[path.form]
    drills = cuts & ~is_tap & (moves.rpm > 0)
    in_what = f" in {material.name}" if material is not None else ""
    with np.errstate(invalid="ignore"):
        is_coarse = drills & (per_rev > most * (1 + 1e-9))

    def none(row: int) -> tuple[str, str]:
        return f"a feed move to {where(path, row)} has no feed", "give F before it"

    def fast(row: int) -> tuple[str, str]:
        return (
            f"the feed of {moves.feed[row]:g} mm/min is over the mill's",
            f"give {mill.max_feed_mm_per_min:g} mm/min or less",
        )

    def coarse(row: int) -> tuple[str, str]:
        return (
            f"{per_rev[row]:.3f} mm a turn (F{moves.feed[row]:g} at S{moves.rpm[row]:g}) is more "
            f"than twice the highest feed for this tool{in_what}",
            f"give F{most[row] / FEED_EXCESS * moves.rpm[row]:.0f} mm/min or less",
        )

    return [
        *harms_at(path, is_none, fed, "stop", "no-feed", none),
        *harms_at(path, is_fast, fed, "stop", "feed-over-mill", fast),
        *harms_at(path, is_coarse, drills, "stop", "feed-over-tool", coarse),
    ]


def _most_per_rev(form: Form, material: Material | None) -> float:
    """Twice the highest feed of the tool [mm/rev]; inf where nothing is known of it."""
    if form.diameter_mm is None or form.kind in (None, "tap", "end mill", "boring head"):
        return float("inf")
    share = REAMER_FEED_SHARE if form.kind == "reamer" else 1.0
    factor = material.feed_factor if material is not None else 1.0
    return FEED_EXCESS * share * factor * drill_feed_mm_per_rev(form.diameter_mm)


def peck_harms(
    path: Path, cuts: Flags, before: Floats, strokes: Strokes, material: Material | None
) -> list[Harm]:
    """Pecks deeper than the schedule: the first by material, then 1 d, below 5 d half of one."""
    rows = np.flatnonzero(cuts & (path.stroke >= 0) & path.has_kind("drill") & (path.radius > 0))
    if not rows.size:
        return []
    stroke = path.stroke[rows]
    diameter = 2 * path.radius[rows]
    point = np.array([form.lead_mm for form in path.forms])[path.form[rows]]
    top = strokes.top[stroke]
    tip = path.end[2][rows]
    with np.errstate(invalid="ignore"):
        is_first = ~np.isfinite(before[rows]) | (before[rows] >= strokes.solid[stroke] - 1e-3)
        done = np.where(is_first, 0.0, top - before[rows] - point)
        start = np.where(is_first, strokes.solid[stroke], before[rows])
        bite = np.where(is_first, np.minimum(top - tip - point, start - tip), start - tip)
        first = material.first_peck_diameters if material is not None else USUAL_FIRST_PECK
        deep = done >= DEEP_FROM_DIAMETERS * diameter - 1e-3
        next_bite = np.where(deep, DEEP_PECK_DIAMETERS, NEXT_PECK_DIAMETERS)
        allowed = np.where(is_first, first, next_bite)
        is_small = diameter < SMALL_BELOW_MM
        allowed = np.where(is_small, SMALL_PECK_DIAMETERS, allowed) * diameter
        is_solid = strokes.pilot[stroke] < SOLID_SHARE * diameter
        is_deep = is_solid & (bite > allowed * PECK_SLACK + PECK_SLACK_MM)
    harms = []
    for at in np.flatnonzero(is_deep).tolist():
        row = int(rows[at])
        harms.append(
            Harm(
                row,
                "warning",
                "deep-peck",
                int(path.moves.line[row]),
                f"a bite of {bite[at]:.2f} mm with a {diameter[at]:.3f} mm drill at "
                f"{where(path, row)}; the schedule allows {allowed[at]:.2f} mm there",
                "peck: first by the material, then one diameter, below five diameters half of one",
                run=int(stroke[at]),
                neighbour=int(stroke[at]),
            )
        )
    return harms
