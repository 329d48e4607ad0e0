"""Sideways moves, fixtures and where the program ends: what needs no record of single holes.

Imports `path`, `solid`, `milled`, `findings`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millprep.errors import Severity
from millprep.reading.moves import ProgramRun
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.milled import Milled
from millprep.reading.simulate.path import Flags, Ints, Path, chords
from millprep.reading.simulate.solid import (
    TOUCH_MM,
    depth_inside,
    lowest_over,
    lowest_over_box,
    top_at,
)
from millprep.scene import Scene

Floats = NDArray[np.float64]
FAR_OUT = 3.0  # times the stock's farthest edge: no slip of a digit, but another unit
HOLE_TOOLS = ("drill", "reamer", "tap", "counterbore")


def _lowest_by_move(path: Path, rows: Ints, lowest: Floats, owner: Ints) -> Floats:
    """(N,) the lowest of each move's pieces; nan for moves that are never over."""
    low = np.full(len(path.moves), np.inf)
    over = ~np.isnan(lowest)
    np.minimum.at(low, owner[over], lowest[over])
    return np.where(np.isfinite(low), low, np.nan)


def sideways_below_top(path: Path, scene: Scene) -> tuple[Floats, Flags]:
    """(N,) lowest tip of each sideways move over the stock, and whether it is below the top."""
    rows = np.flatnonzero(path.stroke < 0)
    owner, start, end = chords(path, rows)
    lowest = lowest_over(scene.stock, start, end, path.radius[owner])
    low = _lowest_by_move(path, rows, lowest, owner)
    with np.errstate(invalid="ignore"):
        return low, low < scene.stock.high_mm[2] - TOUCH_MM


def milling(path: Path, below: Flags) -> Flags:
    """(N,) the sideways moves that cut as a milling cutter may."""
    return below & path.is_feed & ~path.has_kind(*HOLE_TOOLS)


def sideways_harms(
    path: Path, scene: Scene, low: Floats, below: Flags, milled: Milled | None
) -> list[Harm]:
    """Sideways rapids below the top, and drills, reamers or taps that are fed sideways there."""
    top = scene.stock.high_mm[2]
    harms = []
    for row in np.flatnonzero(below & path.is_rapid).tolist():
        if milled is not None:
            milled.cut_until(row)
            start, end = path.start[:, row], path.end[:, row]
            if milled.is_clear(start, end, float(path.radius[row])):
                continue
        with np.errstate(invalid="ignore"):
            dives = bool(path.start[2, row] >= top - TOUCH_MM)
        kind = "rapid-into-stock" if dives else "rapid-below-top"
        harms.append(_below(path, row, kind, "a rapid", top - low[row]))
    for row in np.flatnonzero(below & path.is_feed & path.has_kind(*HOLE_TOOLS)).tolist():
        tool = f"a {path.forms[int(path.form[row])].kind}"
        harms.append(_below(path, row, "sideways-in-stock", tool, top - low[row]))
    return harms + _dog_legs(path, scene, below)


def _below(path: Path, row: int, kind: str, what: str, depth_mm: float) -> Harm:
    x, y, _ = path.end[:, row]
    return Harm(
        row, "stop", kind, int(path.moves.line[row]),
        f"{what} moves sideways to X{x:.3f} Y{y:.3f} through the stock, {depth_mm:.3f} mm below "
        "its top",
        "raise the tool clear of the stock before moving to the next place",
    )  # fmt: skip


def _dog_legs(path: Path, scene: Scene, below: Flags) -> list[Harm]:
    """Rapids that clear the stock only in a straight line: not every control drives one."""
    top = scene.stock.high_mm[2]
    with np.errstate(invalid="ignore"):
        deepest = np.minimum(path.start[2], path.end[2])
        rows = np.flatnonzero(
            path.is_rapid & (path.stroke < 0) & ~below & (deepest < top - TOUCH_MM)
        )
    if not rows.size:
        return []
    start, end = path.start[:, rows].copy(), path.end[:, rows].copy()
    start[2] = end[2] = deepest[rows]
    touches = np.zeros(rows.size, dtype=bool)
    for first in (0, 1):
        corner = start.copy()
        corner[first] = end[first]
        for one, two in ((start, corner), (corner, end)):
            touches |= ~np.isnan(lowest_over(scene.stock, one, two, path.radius[rows]))
    return [
        Harm(
            row, "warning", "dog-leg", int(path.moves.line[row]),
            "this rapid clears the stock in a straight line; a control that drives each axis at "
            "its own speed goes through it",
            "raise the tool above the stock first, or split the move",
        )
        for row in rows[touches].tolist()
    ]  # fmt: skip


def fixture_harms(path: Path, scene: Scene) -> list[Harm]:
    """Tools and holders, as upright cylinders, that meet a fixture; holders that meet the stock."""
    if not len(path.moves):
        return []
    owner, start, end = chords(path, np.arange(len(path.moves)))
    harms = []
    for box in scene.fixtures:
        lowest = lowest_over_box(box.low_mm, box.high_mm, start, end, path.radius[owner])
        harms += _hits(path, owner, lowest, box.high_mm[2], "hits-fixture", "the tool", box.name)
    holder = np.array([form.holder_radius_mm or np.nan for form in path.forms])[path.form[owner]]
    reach = np.array([form.reach_mm or np.nan for form in path.forms])[path.form[owner]]
    if np.isnan(holder + reach).all():
        return harms
    up = np.array([[0.0], [0.0], [1.0]]) * reach
    for box in scene.fixtures:
        lowest = lowest_over_box(box.low_mm, box.high_mm, start + up, end + up, holder)
        harms += _hits(path, owner, lowest, box.high_mm[2], "holder-hits", "the holder", box.name)
    lowest = lowest_over(scene.stock, start + up, end + up, holder)
    top = scene.stock.high_mm[2]
    return harms + _hits(path, owner, lowest, top, "holder-hits", "the holder", "the stock")


def _hits(
    path: Path, owner: Ints, lowest: Floats, top_mm: float, kind: str, what: str, name: str
) -> list[Harm]:
    with np.errstate(invalid="ignore"):
        pieces = np.flatnonzero(lowest < top_mm - TOUCH_MM)
    harms = []
    for piece in pieces[np.unique(owner[pieces], return_index=True)[1]].tolist():
        row = int(owner[piece])
        x, y, _ = path.end[:, row]
        harms.append(
            Harm(
                row, "stop", kind, int(path.moves.line[row]),
                f"{what} meets {name} on the way to X{x:.3f} Y{y:.3f}, "
                f"{top_mm - lowest[piece]:.3f} mm below its top",
                "go round it or over it, or move the clamping",
                run=(kind, name, int(path.stroke[row])),
            )
        )  # fmt: skip
    return harms


def end_harms(path: Path, run: ProgramRun, scene: Scene | None) -> list[Harm]:
    """A program that ends in or over the work below the safe height, or with the spindle on."""
    if not run.is_complete or not len(path.moves):
        return []
    row = len(path.moves) - 1
    line = int(path.moves.line[row])
    harms = []
    if run.spindle_at_end:
        harms.append(
            Harm(
                row + 1, "stop", "ends-turning", line,
                "the program ends with the spindle on",
                "stop it before the end: M5",
            )
        )  # fmt: skip
    if scene is None or np.isnan(path.end[:, row]).any():
        return harms
    end = path.end[:, row : row + 1]
    is_over = float(depth_inside(scene.stock, end[:2])[0]) > -float(path.radius[row])
    height = float(end[2, 0])
    if is_over and height < scene.safe_height_mm - TOUCH_MM:
        top = float(top_at(scene.stock, end[:2])[0])
        where = "in" if height < top - TOUCH_MM else "over"
        harms.append(
            Harm(
                row + 1, "stop", "ends-low", line,
                f"the program ends with the tool {where} the work at Z{height:.3f}",
                f"raise it to Z{scene.safe_height_mm:g} or higher first",
            )
        )  # fmt: skip
    return harms


def units_harms(path: Path, rows: Ints, scene: Scene) -> list[Harm]:
    """Holes that fit the stock only when read in the other unit. `rows`: feeds that go down."""
    places = path.end[:2, rows]
    places = places[:, ~np.isnan(places).any(axis=0)]
    if not places.size:
        return []
    stock = scene.stock
    fits = bool((depth_inside(stock, places) > 0).all())
    reach = max(abs(end) for end in (*stock.low_mm[:2], *stock.high_mm[:2]))
    is_far = float(np.abs(places).max()) > FAR_OUT * reach
    if is_far and bool((depth_inside(stock, places / 25.4) > 0).all()):
        return [_units(path, rows, "25.4 times too large")]
    spread = float(np.ptp(places, axis=1).max())
    radii = path.radius[rows]
    overlap = 0 < spread < 2 * float(radii[radii > 0].min(initial=np.inf))
    if fits and overlap and bool((depth_inside(stock, places * 25.4) > 0).all()):
        return [_units(path, rows, "25.4 times too small")]
    return []


def _units(path: Path, rows: Ints, how: str) -> Harm:
    row = int(rows[0])
    severity: Severity = "warning"
    return Harm(
        row, severity, "units-suspect", int(path.moves.line[row]),
        f"the holes look {how}: divided or multiplied by 25.4 they fit the stock",
        "check G20 and G21, and the unit that the coordinates were written in",
    )  # fmt: skip
