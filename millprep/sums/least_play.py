"""How much free play rigid parts need so that all their screws enter, over many trials at once.

In a trial the holes of one part miss those of the other by e_i. The part may shift by d and turn by
a small angle; where it lies best, the worst hole misses by as little as it can:

        the least, over shift and turn, of the greatest |e_i + d + turn x p_i| / play_i

That is a second-order cone program in three unknowns. It is solved for all trials together by a
primal-dual interior-point method, which goes on until a lower bound proves each answer, from the
multipliers. The turn is taken as small, which it is beside any pattern whose screws enter: 0.2 mm
of play on 40 mm turn by 0.6 degrees and misjudge by 0.001 mm. Imports numpy only.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen

Floats = NDArray[np.float64]
CLOSE_ENOUGH = 1e-8  # of the square of the answer, between it and what proves it
MOST_ROUNDS = 40
_IN_ONE_GO = 100_000  # holes times trials, so that memory stays small
_STEP_SHARE = 0.99  # of the way to the wall
_LEAST_CENTRING = 0.05  # of the gap, aimed at in each round
_NO_ROOM = 1e-16  # of the top: where rounding ends
_TINY = 1e-30  # in place of a divisor that is nothing
_NOTHING = 1e-15  # of the greatest miss squared


def play_needed(places_mm: Floats, misses_mm: Floats, plays_mm: Floats) -> Floats:
    """By what all plays would have to be multiplied for every screw to enter: (T,), one a trial.

    places_mm : (2, N)     where the holes are meant to be
    misses_mm : (2, T, N)  how far the holes of the two parts miss each other in each trial
    plays_mm  : (N,)       free play of each screw, above 0
    """
    trials = misses_mm.shape[1]
    if places_mm.shape[1] == 1:
        return np.zeros(trials)  # one screw: the part goes where it must
    lever = _levers(places_mm, plays_mm)
    scale = float(np.abs(misses_mm).max(initial=0.0)) / float(plays_mm.min())
    if scale == 0:
        return np.zeros(trials)
    off = misses_mm / plays_mm / scale
    step = max(_IN_ONE_GO // places_mm.shape[1], 1)
    squares = [_least_worst(lever, off[:, at : at + step]) for at in range(0, trials, step)]
    needed: Floats = np.sqrt(np.concatenate(squares)) * scale
    return needed


def _levers(places_mm: Floats, plays_mm: Floats) -> Floats:
    """(2, 3, N): how each hole moves with a shift in x, in y and a turn, in its own plays."""
    x, y = places_mm - places_mm.mean(axis=1, keepdims=True)
    reach = float(np.hypot(x, y).max()) or 1.0
    one, none = np.ones_like(x), np.zeros_like(x)
    ways = np.array([[one, none, -y / reach], [none, one, x / reach]])
    lever: Floats = ways * (plays_mm.min() / plays_mm)
    return lever


@frozen
class _Trials:
    """Where the search stands, a row a trial.

    x (T, 3) : shift and turn;  top (T,) : above every square;  weights (T, N) : the multipliers
    length (T,) : how much of the last step was taken
    """

    x: Floats
    top: Floats
    weights: Floats
    length: Floats

    def __getitem__(self, kept: NDArray[np.bool_]) -> _Trials:
        return _Trials(self.x[kept], self.top[kept], self.weights[kept], self.length[kept])


def _least_worst(lever: Floats, off: Floats) -> Floats:
    """(T,): the least, over x, of the greatest |off + lever x|^2."""
    _, trials, count = off.shape
    weights = np.full((trials, count), 1 / count)
    x = _least_squares(lever, off, weights)
    worst: Floats = _squares(lever, off, x).max(axis=1)
    at = _Trials(x, 1.1 * worst + _NOTHING, weights, np.ones(trials))
    unsolved = np.arange(trials)  # `off` and `at` are of these alone
    for _ in range(MOST_ROUNDS):
        at = _one_step(lever, off, at)
        found = _squares(lever, off, at.x).max(axis=1)
        worst[unsolved] = np.minimum(worst[unsolved], found)
        goes_on = found - _proven(lever, off, at.weights) > CLOSE_ENOUGH * found + _NOTHING
        if not goes_on.any():
            break
        off, at, unsolved = off[:, goes_on], at[goes_on], unsolved[goes_on]
    return worst


def _squares(lever: Floats, off: Floats, x: Floats) -> Floats:
    """(T, N): |off + lever x|^2 of each hole; x is (T, 3)."""
    miss = off + x @ lever
    squares: Floats = np.einsum("ctn,ctn->tn", miss, miss)
    return squares


def _curve(lever: Floats, weights: Floats) -> Floats:
    """(T, 3, 3): half the second derivative of the weighted sum of squares."""
    each = np.einsum("can,cbn->nab", lever, lever)
    curve: Floats = (weights @ each.reshape(-1, 9)).reshape(-1, 3, 3)
    return curve


def _least_squares(lever: Floats, off: Floats, weights: Floats) -> Floats:
    """(T, 3): the shift and turn that make the weighted sum of squares least."""
    slope = ((off * weights) @ lever.transpose(0, 2, 1)).sum(axis=0)
    return _solved(_curve(lever, weights), -slope)


def _solved(matrix: Floats, right: Floats) -> Floats:
    """One small system a trial; a trace of the identity keeps holes at one place solvable."""
    size = matrix.shape[1]
    trace = np.trace(matrix, axis1=1, axis2=2)[:, None, None]
    firm = matrix + 1e-14 * trace * np.eye(size)
    found: Floats = np.linalg.solve(firm, right[:, :, None])[:, :, 0]
    return found


def _proven(lever: Floats, off: Floats, weights: Floats) -> Floats:
    """A bound from below: no x makes the worst square less than the least weighted mean of all."""
    share = weights / weights.sum(axis=1, keepdims=True)
    squares = _squares(lever, off, _least_squares(lever, off, share))
    bound: Floats = np.einsum("tn,tn->t", share, squares)
    return bound


def _one_step(lever: Floats, off: Floats, at: _Trials) -> _Trials:
    """A Newton step towards the centre, as far as all squares stay below `top`."""
    miss = off + at.x @ lever
    room = at.top[:, None] - np.einsum("ctn,ctn->tn", miss, miss)
    room = np.maximum(room, _NO_ROOM * at.top[:, None])
    centring = np.maximum(_LEAST_CENTRING, (1 - at.length) ** 2)  # more after a step cut short
    gap = np.einsum("tn,tn->t", at.weights, room) / room.shape[1]
    aim = (centring * gap)[:, None] / room
    away = np.ones((len(room), 4, room.shape[1]))  # how the room changes with x and top
    away[:, :3] = -2 * np.einsum("can,ctn->tan", lever, miss)
    stiff = at.weights / room
    matrix = (away * stiff[:, None]) @ away.transpose(0, 2, 1)
    matrix[:, :3, :3] += 2 * _curve(lever, at.weights)
    right = np.einsum("tan,tn->ta", away, aim)
    right[:, 3] -= 1
    step = _solved(matrix, right)
    gain = np.einsum("tan,ta->tn", away, step)
    bend = _squares(lever, np.zeros_like(off), step[:, :3])
    change = aim - at.weights - stiff * gain
    wall = np.minimum(_to_the_wall(room, gain, bend), _to_nothing(at.weights, change))
    length = np.minimum(_STEP_SHARE * wall, 1.0)
    far = length[:, None]
    return _Trials(
        at.x + far * step[:, :3], at.top + length * step[:, 3], at.weights + far * change, length
    )


def _to_the_wall(room: Floats, gain: Floats, bend: Floats) -> Floats:
    """(T,): the step a at which the first room + gain a - bend a^2 is used up."""
    root = np.sqrt(gain**2 + 4 * bend * room)
    # one root in two forms, of which either has no difference of like numbers for its sign of gain
    falling = 2 * room / np.maximum(root - gain, _TINY)
    rising = (root + gain) / np.maximum(2 * bend, _TINY)
    wall: Floats = np.where(gain < 0, falling, rising).min(axis=1)
    return wall


def _to_nothing(weights: Floats, change: Floats) -> Floats:
    """(T,): the step at which the first weight is used up."""
    steps: Floats = (weights / np.maximum(-change, _TINY)).min(axis=1)
    return steps
