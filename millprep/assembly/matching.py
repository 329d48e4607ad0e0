"""Which hole lies over which: patterns laid over each other without being told how.

Works on places in the plane of the faces that meet, the second member's as seen through it. Holes
come in sets, one a joint: a hole of a set may lie over any hole of the other member's same set.
Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.sums.fitting import Fit, rigid_fit

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Sets = Sequence[tuple[Floats, Floats]]

SAME_PLACE_MM = 0.02
"""Places closer than this are one: four counts of a readout of 5 um."""

_MOST_SEARCHED = 200  # holes of a set; more are taken in the order written
_MOST_THOROUGH = 12  # holes of which every two are tried where the farthest lead to nothing
_MOST_PAIRS = 600
_NEAR_SHARE, _NEAR_MM = 0.1, 1.0  # by how much two distances may differ that could be one


@frozen
class Match:
    """One way of laying the second member's holes over the first's.

    order : for each set (N,), which hole of the first member lies under each of the second's
    fit   : of the second's places to the first's; errors_mm : for each set (N,)
    """

    order: tuple[Whole, ...]
    fit: Fit
    errors_mm: tuple[Floats, ...]

    @property
    def rank(self) -> tuple[int, float, int, float]:
        """Better is less: holes that do not coincide, then how badly, then the numbers kept."""
        off = sum(int((errors > SAME_PLACE_MM).sum()) for errors in self.errors_mm)
        square = float(sum((errors**2).sum() for errors in self.errors_mm))
        kept = sum(int((order == np.arange(len(order))).sum()) for order in self.order)
        return off, round(square, 6), -kept, round(abs(self.fit.turn_deg), 6)

    @property
    def coincides(self) -> bool:
        return self.rank[0] == 0


def best_match(sets: Sets, mirrored: bool = False) -> Match:
    """The way in which most holes coincide; of several the one that keeps most hole numbers."""
    best: Match | None = None
    for is_thorough in (False, True):
        tried = [
            _as_fitted(sets, start, mirrored) for start in _starts(sets, mirrored, is_thorough)
        ]
        best = min([*tried, *([best] if best else [])], key=lambda match: match.rank)
        if best.coincides or sum(first.shape[1] for first, _ in sets) > _MOST_THOROUGH:
            break
    assert best is not None  # there is always one way to begin
    return best


def match_at(sets: Sets, fit: Fit) -> Match:
    """The holes as they lie in a given fit, each set in its best order."""
    orders, errors = [], []
    for first, second in sets:
        placed = fit.placed(second)
        order = _order(first, placed)
        orders.append(order)
        errors.append(np.hypot(*(first[:, order] - placed)))
    return Match(tuple(orders), fit, tuple(errors))


def _as_fitted(sets: Sets, start: Fit, mirrored: bool) -> Match:
    """From a first guess: holes put in order, then fitted on the sets that lie well."""
    match = match_at(sets, start)
    least = min(float(errors.max()) for errors in match.errors_mm)
    good = [errors.max() <= max(3 * least, SAME_PLACE_MM) for errors in match.errors_mm]
    matches = [match]
    for chosen in {(True,) * len(good), tuple(bool(each) for each in good)}:
        pairs = [pair for pair, is_in in zip(_in_order(sets, match), chosen, strict=True) if is_in]
        first = np.hstack([one for one, _ in pairs])
        second = np.hstack([other for _, other in pairs])
        if first.shape[1] > 1:
            matches.append(match_at(sets, rigid_fit(second, first, mirrored=mirrored)))
    return min(matches, key=lambda each: each.rank)


def _in_order(sets: Sets, match: Match) -> list[tuple[Floats, Floats]]:
    return [
        (first[:, order], second) for (first, second), order in zip(sets, match.order, strict=True)
    ]


def _starts(sets: Sets, mirrored: bool, is_thorough: bool) -> Iterator[Fit]:
    """First guesses: as numbered, and two far holes of the second laid on each likely two.

    is_thorough : not two far holes alone, but every two
    """
    first = np.hstack([one for one, _ in sets])
    second = np.hstack([other for _, other in sets])
    yield rigid_fit(second, first, mirrored=mirrored)
    labels = np.repeat(np.arange(len(sets)), [one.shape[1] for one, _ in sets])
    if first.shape[1] < 2 or first.shape[1] > _MOST_SEARCHED:
        return
    every = list(combinations(range(second.shape[1]), 2))
    for a, b in every if is_thorough else _far_pairs(second, labels):
        wide = float(np.hypot(*(second[:, a] - second[:, b])))
        for i, j in _likely(first, labels, (labels[a], labels[b]), wide):
            yield rigid_fit(second[:, [a, b]], first[:, [i, j]], mirrored=mirrored)


def _far_pairs(places: Floats, labels: Whole) -> list[tuple[int, int]]:
    """The two holes farthest apart, of all and of each set."""
    pairs = [_farthest(places, np.arange(places.shape[1]))]
    for label in np.unique(labels):
        members = np.flatnonzero(labels == label)
        if len(members) > 1:
            pairs.append(_farthest(places, members))
    return list(dict.fromkeys(pairs))


def _farthest(places: Floats, among: Whole) -> tuple[int, int]:
    x, y = places[:, among]
    apart = np.hypot(x[:, None] - x, y[:, None] - y)
    a, b = np.unravel_index(int(np.argmax(apart)), apart.shape)
    return int(among[a]), int(among[b])


def _likely(
    places: Floats, labels: Whole, wanted: tuple[int, int], wide: float
) -> list[tuple[int, int]]:
    """Pairs of holes of those sets about so far apart, the closest to it first."""
    one, other = np.flatnonzero(labels == wanted[0]), np.flatnonzero(labels == wanted[1])
    apart = np.hypot(*(places[:, one][:, :, None] - places[:, other][:, None, :]))
    off = np.abs(apart - wide)
    rows, columns = np.nonzero((off <= max(_NEAR_MM, _NEAR_SHARE * wide)) & (apart > 0))
    best = np.argsort(off[rows, columns], kind="stable")[:_MOST_PAIRS]
    return [(int(one[rows[k]]), int(other[columns[k]])) for k in best]


def _order(first: Floats, placed: Floats) -> Whole:
    """For each placed hole the one of the first that it lies over, each taken once."""
    count = first.shape[1]
    if count > _MOST_SEARCHED:
        return np.arange(count)
    x, y = first[:, None, :] - placed[:, :, None]
    apart = np.hypot(x, y)
    nearest = np.argmin(apart, axis=1)
    if len(np.unique(nearest)) == count:
        return np.asarray(nearest, dtype=np.int64)
    order = np.full(count, -1, dtype=np.int64)
    for flat in np.argsort(apart, axis=None, kind="stable"):
        row, column = divmod(int(flat), count)
        if order[row] < 0 and column not in order:
            order[row] = column
    return order
