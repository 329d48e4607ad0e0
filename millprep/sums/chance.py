"""Will it go together? The chance that every screw of a pattern enters, by simulation.

Each hole of each part misses its place by chance, alike along both axes and independent of every
other hole; a screw enters where the mismatch of its holes is within its free play. The parts are
free to shift and turn, the best lie being looked for in every trial, or are held in place by edges
or dowels. Not in it: holes that were drilled over size (they help), a pattern that is off as a
whole (free parts do not mind), leaning or bent holes, burrs.

Both answers come from the same trials, and the same trials serve every play and every method, so
that more play or a better method never comes out worse. Imports numpy; layers 0 to 2, `least_play`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.model.shop import FROM_THE_OTHER_PART, POSITION_METHODS, PositionMethod
from millprep.reference.clearance import GRADES, clearance_for
from millprep.reference.drills import SAME_SIZE_MM
from millprep.reference.threads import Thread
from millprep.sums.least_play import Floats, play_needed

TRIALS = 10_000
SEED = 1
WANTED_SHARE = 0.95
SIGMAS_IN_TYPICAL = 2  # nineteen holes in twenty lie within the typical error of an axis


Rows = tuple[tuple[float, ...], ...]


@frozen
class Chance:
    """The share of the trials in which every screw went in, from 0 to 1, and its standard error.

    share, standard_error : of parts free to shift and turn
    held_share, held_error : of parts held in place, in the same trials
    """

    share: float
    standard_error: float
    held_share: float
    held_error: float
    trials: int
    seed: int


@frozen
class Cure:
    """What reaches the share wanted: a method ("dials") or a clearance ("loose"), and its chance.

    hole_mm : of a clearance, the hole to drill
    """

    words: str
    chance: Chance
    hole_mm: float | None = None


def free_play_mm(screw_mm: float, *holes_mm: float) -> float:
    """How far two holes may miss each other: (H - F) / 2 for each that the screw is loose in.

    One hole: the screw is fixed in the other part (tapped, pressed). Two: it passes both.
    """
    return sum(hole_mm - screw_mm for hole_mm in holes_mm) / 2


def zone_of_square_mm(plus_or_minus_mm: float) -> float:
    """The zone round a place that is within +/- a along both axes: through its corners."""
    return 2 * math.hypot(plus_or_minus_mm, plus_or_minus_mm)


def spreads_mm(
    errors_mm: Mapping[PositionMethod, float], method: PositionMethod, mate: PositionMethod
) -> tuple[float, float]:
    """Standard deviation along an axis of a hole's own miss, and of its mate's that counts [mm].

    A method that takes the place from the other part (spotted through, ...) makes the mate's own
    miss of no account: it is followed. Raises WordError for a method that the shop does not have.
    """
    for each in (method, mate):
        if each not in errors_mm:
            raise WordError(f'the shop has no "{each}"', f"it has {', '.join(errors_mm)}")
    own, other = errors_mm[method] / SIGMAS_IN_TYPICAL, errors_mm[mate] / SIGMAS_IN_TYPICAL
    if method in FROM_THE_OTHER_PART:
        return own, 0.0
    return (other, 0.0) if mate in FROM_THE_OTHER_PART else (own, other)


def chance_of(
    places_mm: ArrayLike,
    plays_mm: ArrayLike,
    spread_mm: float,
    mate_spread_mm: float = 0.0,
    *,
    trials: int = TRIALS,
    seed: int = SEED,
) -> Chance:
    """The chance that all screws enter.

    places_mm : (2, N)  where the holes are meant to be
    plays_mm  : (N,) or (M, N)  free play of each screw in each of M loose parts on one mate; with
                0 or less somewhere, a screw that does not pass, the chance is 0
    spread_mm, mate_spread_mm : of the loose parts and of the mate, as `spreads_mm` has them
    """
    plays = np.atleast_2d(np.asarray(plays_mm, float))
    loosest_mm, is_shut = float(plays.max()), bool(plays.min() <= 0)
    shape = np.ones_like(plays) if is_shut else plays / loosest_mm
    if len(plays) == 1:  # only the miss of one hole against the other counts
        spread_mm, mate_spread_mm = math.hypot(spread_mm, mate_spread_mm), 0.0
    unit_mm = math.hypot(spread_mm, mate_spread_mm)
    share = (spread_mm / unit_mm, mate_spread_mm / unit_mm) if unit_mm else (0.0, 0.0)
    places = np.asarray(places_mm, float)
    free, held = _needed(_frozen(places), _frozen(shape), share, trials, seed)
    if is_shut:
        loosest_mm = -1.0 if plays.min() < 0 or unit_mm else 0.0
    return _chance(free * unit_mm, held * unit_mm, loosest_mm, seed)


def _frozen(figures: Floats) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(row) for row in figures.tolist())


@lru_cache(maxsize=32)
def _needed(
    places: Rows, plays: Rows, share: tuple[float, float], trials: int, seed: int
) -> tuple[Floats, Floats]:
    """Play that the loosest screw needs in each trial (T,), of free parts and of held ones.

    For a spread of 1 mm, with the plays in the proportions given: every other spread and every
    other size of clearance follows by a factor, from the same trials.
    """
    dice = np.random.default_rng(seed)
    size = (2, trials, len(places[0]))
    own = share[0] * dice.standard_normal((len(plays), *size))
    mate = share[1] * dice.standard_normal(size)
    free, held = np.zeros(trials), np.zeros(trials)
    for misses, each in zip(own - mate, np.array(plays), strict=True):
        free = np.maximum(free, play_needed(np.array(places), misses, each))
        held = np.maximum(held, (np.hypot(*misses) / each).max(axis=1))
    return free, held


def _chance(free_mm: Floats, held_mm: Floats, play_mm: float, seed: int) -> Chance:
    """The chance with that play of the loosest screw, from what each trial needs."""
    share, error = _share_of(free_mm <= play_mm)
    held_share, held_error = _share_of(held_mm <= play_mm)
    return Chance(share, error, held_share, held_error, len(free_mm), seed)


def _share_of(went: NDArray[np.bool_]) -> tuple[float, float]:
    """The share and its standard error, which is never nothing: one trial of each kind is added."""
    trials, count = len(went), int(went.sum())
    likely = (count + 1) / (trials + 2)
    return count / trials, math.sqrt(likely * (1 - likely) / trials)


def cheapest_method(
    places_mm: ArrayLike, plays_mm: ArrayLike, errors_mm: Mapping[PositionMethod, float]
) -> Cure | None:
    """The least trouble that reaches the share for free parts, both made by the one method; None
    where no method does. In the order of `shop.POSITION_METHODS`, of those that the shop has."""
    for method in POSITION_METHODS:
        if method not in errors_mm:
            continue
        chance = chance_of(places_mm, plays_mm, *spreads_mm(errors_mm, method, method))
        if chance.share >= WANTED_SHARE:
            return Cure(method, chance)
    return None


def next_clearance(
    places_mm: ArrayLike,
    thread: Thread,
    hole_mm: float,
    clear_holes: int,
    spread_mm: float,
    mate_spread_mm: float = 0.0,
) -> Cure | None:
    """The closest clearance hole above `hole_mm` that reaches the share; None where none does.

    clear_holes : 1 where the screw is fixed in the mate; 2 where both parts are clear and opened
    Source of the holes: ISO 273, ASME B18.2.8 and the other tables of clearance holes.
    """
    clearance = clearance_for(thread)
    for grade in GRADES if clearance is not None else ():
        assert clearance is not None
        drill, size_mm = clearance.hole(grade)
        if size_mm <= hole_mm + SAME_SIZE_MM:
            continue
        play_mm = free_play_mm(thread.major_mm, *[size_mm] * clear_holes)
        plays = np.full(np.asarray(places_mm).shape[1], play_mm)
        chance = chance_of(places_mm, plays, spread_mm, mate_spread_mm)
        if chance.share >= WANTED_SHARE:
            return Cure(f"{grade} ({drill})", chance, size_mm)
    return None
