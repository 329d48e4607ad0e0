"""Sideways moves, units and where the program ends: what needs no record of single holes.

Imports `path`, `solid`, `milled`, `contact`, `cutting`, `stroke`, `findings`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from millprep.base.findings import Severity
from millprep.model.scene import Disc, Scene
from millprep.reading.milled_rooms import SidewaysCuts
from millprep.reading.moves import ProgramRun
from millprep.reading.simulate.contact import corner_ways, dog_leg_harm, dog_legged
from millprep.reading.simulate.cutting import harms_at
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.milled import Milled
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, chords, in_blocks
from millprep.reading.simulate.solid import depth_inside, lowest_over, top_at
from millprep.reference.shared_rules import BELOW_UNDERSIDE_MM, TOUCH_MM

FAR_OUT = 3.0  # times the stock's farthest edge: no slip of a digit, but another unit
HOLE_TOOLS = ("drill", "reamer", "tap", "counterbore")


def sideways_below_top(path: Path, scene: Scene) -> tuple[Floats, Flags]:
    """(N,) lowest tip of each sideways move over the stock, and whether it is below the top."""
    top = scene.stock.high_mm[2] - TOUCH_MM
    low = np.full(len(path.moves), np.inf)
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero((path.stroke < 0) & (path.low[2] < top))
    rows = _without_level(path, scene, rows, low)
    for block in in_blocks(path, rows):
        owner, start, end = chords(path, block)
        lowest = lowest_over(scene.stock, start, end, path.radius[owner] - TOUCH_MM)
        over = ~np.isnan(lowest)
        np.minimum.at(low, owner[over], lowest[over])
    low[~np.isfinite(low)] = np.nan
    with np.errstate(invalid="ignore"):
        return low, low < np.minimum(top, _highest_on_the_way(path, scene) - TOUCH_MM)


def _highest_on_the_way(path: Path, scene: Scene) -> Floats:
    """(N,) the highest of the stock that comes under the tool: a lying disc falls away."""
    stock = scene.stock
    if not isinstance(stock, Disc) or stock.axis == 2:
        return np.full(len(path.moves), stock.high_mm[2])
    across = 1 if stock.axis == 0 else 0
    middle = (stock.low_mm[across] + stock.high_mm[across]) / 2
    nearest = np.clip(middle, path.low[across] - path.radius, path.high[across] + path.radius)
    return top_at(stock, np.stack([nearest, nearest]))


def _without_level(path: Path, scene: Scene, rows: Ints, low: Floats) -> Ints:
    """Level moves that end over the stock need no looking at their way: `low` is filled in."""
    is_level = path.low[2, rows] == path.high[2, rows]
    over = depth_inside(scene.stock, path.end[:2, rows]) > -path.radius[rows] + TOUCH_MM
    done = is_level & over
    low[rows[done]] = path.low[2, rows[done]]
    return np.asarray(rows[~done])


def milling(path: Path, below: Flags) -> Flags:
    """(N,) the sideways moves that cut as a milling cutter may."""
    return below & path.is_feed & ~path.has_kind(*HOLE_TOOLS)


def cuts_of(path: Path, mills: Flags) -> SidewaysCuts:
    """The moves that mill, as straight pieces."""
    pieces = [chords(path, block) for block in in_blocks(path, np.flatnonzero(mills))]
    owner = np.concatenate([one[0] for one in pieces] or [np.empty(0, dtype=np.int64)])
    start, end = (
        np.concatenate([one[n] for one in pieces] or [np.empty((3, 0))], axis=1) for n in (1, 2)
    )
    flat, slope = (
        np.array([getattr(form, name) for form in path.forms])[path.form[owner]]
        for name in ("flat_mm", "slope")
    )
    line, tool = path.moves.line[owner], path.moves.tool[owner]
    return SidewaysCuts(line, tool, start, end, path.radius[owner], flat, slope)


def sideways_harms(
    path: Path, scene: Scene, low: Floats, below: Flags, milled: Milled | None, clear: list[int]
) -> list[Harm]:
    """Sideways rapids below the top; drills, reamers or taps fed sideways there; cuts too deep.

    clear : rapids that stay in a hole
    """
    top = scene.stock.high_mm[2]
    rapids = below & path.is_rapid
    rapids[clear] = False
    if milled is not None:
        rapids[milled.clear_rapids()] = False
    with np.errstate(invalid="ignore"):
        dives = rapids & (path.start[2] >= top - TOUCH_MM)

    def through(what: str) -> Callable[[int], tuple[str, str]]:
        def words(row: int) -> tuple[str, str]:
            x, y, _ = path.end[:, row]
            return (
                f"{what} moves sideways to X{x:.3f} Y{y:.3f} through the stock, "
                f"{top - low[row]:.3f} mm below its top",
                "raise the tool clear of the stock before moving to the next place",
            )

        return words

    every = np.ones(len(path.moves), dtype=bool)
    harms = harms_at(path, dives, every, "stop", "rapid-into-stock", through("a rapid"))
    harms += harms_at(path, rapids & ~dives, every, "stop", "rapid-below-top", through("a rapid"))
    for kind in HOLE_TOOLS:
        fed = below & path.is_feed & path.has_kind(kind)
        harms += harms_at(path, fed, every, "stop", "sideways-in-stock", through(f"a {kind}"))
    harms += _too_deep(path, scene, low, milling(path, below))
    return harms + _dog_legs(path, scene, below)


def _too_deep(path: Path, scene: Scene, low: Floats, mills: Flags) -> list[Harm]:
    """Sideways cuts deeper than the flutes, or far below the underside."""
    top, underside = scene.stock.high_mm[2], scene.stock.low_mm[2]
    flute = np.array([form.flute_mm or np.inf for form in path.forms])[path.form]
    with np.errstate(invalid="ignore"):
        is_beyond = mills & (top - low > flute + TOUCH_MM)
        is_under = mills & (underside - low > BELOW_UNDERSIDE_MM + TOUCH_MM)

    def beyond(row: int) -> tuple[str, str]:
        return (
            f"the tool cuts {top - low[row]:.3f} mm below the top; its flutes are "
            f"{flute[row]:g} mm long",
            "use a longer tool",
        )

    def under(row: int) -> tuple[str, str]:
        return (
            f"the tool goes {underside - low[row]:.3f} mm below the underside, and nothing says "
            "what lies there",
            f"stop at Z{underside - BELOW_UNDERSIDE_MM:.3f} or above, or describe what lies below",
        )

    harms = harms_at(path, is_beyond, mills, "stop", "deeper-than-flutes", beyond)
    if not scene.underside_known:
        harms += harms_at(path, is_under, mills, "stop", "below-underside", under)
    return harms


def _dog_legs(path: Path, scene: Scene, below: Flags) -> list[Harm]:
    """Rapids that clear the stock only in a straight line: not every control drives one."""
    with np.errstate(invalid="ignore"):
        is_low = path.low[2] < scene.stock.high_mm[2] - TOUCH_MM
    rows = dog_legged(path, is_low & (path.stroke < 0) & ~below)
    touches = np.zeros(rows.size, dtype=bool)
    for start, end in corner_ways(path, rows):
        touches |= ~np.isnan(lowest_over(scene.stock, start, end, path.radius[rows]))
    return [dog_leg_harm(path, row, "the tool clears the stock") for row in rows[touches].tolist()]


def system_harms(path: Path) -> list[Harm]:
    """Work systems that change between one feed and the next."""
    rows = np.flatnonzero(path.is_feed & ~path.moves.machine_only)
    system = path.moves.system[rows]
    changed = np.flatnonzero(np.diff(system)) + 1
    return [
        Harm(
            row,
            "warning",
            "work-system-changed",
            int(path.moves.line[row]),
            "the program cuts in another work system than before",
            "is there a second piece of work at that place? this dry run has one stock",
        )
        for row in rows[changed].tolist()
    ]


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
                row + 1,
                "stop",
                "ends-turning",
                line,
                "the program ends with the spindle on",
                "stop it before the end: M5",
            )
        )
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
                row + 1,
                "stop",
                "ends-low",
                line,
                f"the program ends with the tool {where} the work at Z{height:.3f}",
                f"raise it to Z{scene.safe_height_mm:g} or higher first",
            )
        )
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
    step = np.hypot(*np.diff(places, axis=1))
    radius = path.radius[rows]
    widest = 2 * float(radius[radius > 0].max(initial=0.0))
    steps = step[step > TOUCH_MM]
    is_crowded = steps.size > 0 and float(np.median(steps)) < widest
    if fits and is_crowded and bool((depth_inside(stock, places * 25.4) > 0).all()):
        return [_units(path, rows, "25.4 times too small")]
    return []


def _units(path: Path, rows: Ints, how: str) -> Harm:
    row = int(rows[0])
    severity: Severity = "warning"
    return Harm(
        row,
        severity,
        "units-suspect",
        int(path.moves.line[row]),
        f"the holes look {how}: divided or multiplied by 25.4 they fit the stock",
        "check G20 and G21, and the unit that the coordinates were written in",
    )
