"""What the errors of measured holes look like: the slip at the machine that leaves such errors.

Each way in which a pattern goes wrong as a whole (shifted, turned, stretched), alone or together
with holes that went wrong by themselves (one misread, two exchanged, some off along one axis by the
same figure), is fitted to the readings. One that explains more has more to fit with, so it has to
earn that: the sum of squares must fall by more than chance makes it fall. Then the figures of the
best one are compared with those of the shop: radius of the finder, lead and backlash of the dials.
Imports layers 0 to 2 and `fitting`, `slip_words`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations
from math import log

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen, replace
from millprep.matching.slip_words import ShopFigures, group_words, hole_words, pattern_words
from millprep.sums.fitting import Fit, Floats, rigid_fit, scaled_fit

_MIRRORED = 2 * log(10)  # cost: it takes odds of ten to one to say that a pattern is mirrored
_LOOKED_AT = 8  # of the holes that are farthest off, those that may have gone wrong alone
_LOOKED_AT_IN_PAIRS = 4
_MOST_IN_GROUPS = 400
_ROUNDS = 12
_LEAST_NOISE_MM = 0.001
_LEAST_STRETCH_MM = 0.05
_LEAST_SCALE = 0.01  # less is no pattern that shrank: its holes lie in one place
_LEAST_GAP_MM = 0.001  # between lots of holes
_FAR_BETTER = 10.0
_FALLS_BY = 2.5  # the errors, where a pattern as a whole went wrong
_STANDS_OUT = 4  # times what is left: a hole that is off by more is no play of chance


@frozen
class Likeness:
    """What errors look like.

    kind      : "within noise", "scatter", "shift", "turn", "mirrored", "scale", "one hole",
                "exchanged" or "group"
    sentences : what it looks like, a sentence each, the pattern first
    holes     : those that went wrong by themselves
    before_mm, left_mm : root of the mean square of the errors, as they are and once explained
    mirrored  : whether the pattern is seen from its other side
    """

    kind: str
    sentences: tuple[str, ...]
    holes: tuple[str, ...]
    before_mm: float
    left_mm: float
    mirrored: bool = False


@frozen
class _Model:
    """A way to explain the readings, fitted.

    pattern  : Fit of the whole; stretch (2,) its scale along each axis where they differ
    freedoms : how many figures were chosen to fit; prior : cost of having had others to choose from
    wrong    : the holes that went wrong by themselves; off_mm (2,) by how much
    """

    name: str
    pattern: Fit
    residuals_mm: Floats
    freedoms: int
    prior: float = 0.0
    how: str = ""
    wrong: tuple[int, ...] = ()
    off_mm: tuple[float, float] = (0.0, 0.0)
    stretch: tuple[float, float] | None = None

    def cost(self, noise_mm: float) -> float:
        """Lower is likelier: the corrected information criterion, noise being the least error.

        Source: Hurvich and Tsai, Biometrika 76 (1989), from memory.
        """
        figures = self.residuals_mm.size
        squares = float((self.residuals_mm**2).sum()) / figures
        k, spare = self.freedoms, max(figures - self.freedoms - 1, 0.5)
        penalty = k * max(log(figures), 2.0) + 2.0 * k * (k + 1) / spare
        prior = self.prior + (_MIRRORED if self.pattern.mirrored else 0.0)
        floor = max(noise_mm / 2, _LEAST_NOISE_MM) ** 2
        return figures * log(squares + floor) + penalty + prior


Base = Callable[[Floats, Floats], _Model]


def likeness(
    nominal_mm: Floats,
    measured_mm: Floats,
    names: Sequence[str],
    shop: ShopFigures,
    mirrored: bool | None = None,
) -> Likeness:
    """What the errors of holes look like, at their places as drawn and as measured (2, N).

    mirrored : whether the pattern is seen from its other side; None: what explains it better
    """
    plain = measured_mm - nominal_mm
    before_mm = _rms(plain)
    if not mirrored and np.hypot(*plain).max() <= 2**0.5 * shop.noise_mm:
        words = f"no error is larger than a reading may be wrong ({shop.figure(shop.noise_mm)})"
        return Likeness("within noise", (f"{words}: leave it",), (), before_mm, before_mm)
    if plain.shape[1] == 1:
        shift = _shifted(nominal_mm, measured_mm).pattern
        sentences = tuple(pattern_words("shift", shift, None, shop))
        return Likeness("shift", sentences, (), before_mm, 0.0, bool(mirrored))
    if mirrored is None:
        mirrored = _plain_hand(nominal_mm, measured_mm)
    hands = (False, True) if mirrored is None else (mirrored,)
    models = [one for hand in hands for one in _models(nominal_mm, measured_mm, hand)]
    best = min(models, key=lambda model: model.cost(shop.noise_mm))
    is_mirrored = best.pattern.mirrored
    if not is_mirrored and not _tells(best, before_mm, shop.noise_mm):
        words = "two holes are too few to show what went wrong"
        if plain.shape[1] > 2:
            words = f"no single slip explains the errors: they scatter by {shop.figure(before_mm)}"
        return Likeness("scatter", (words,), (), before_mm, before_mm)
    return Likeness(
        best.how or ("mirrored" if is_mirrored else best.name),
        tuple(_sentences(best, measured_mm, names, shop)),
        tuple(names[i] for i in best.wrong),
        before_mm,
        _rms(best.residuals_mm),
        is_mirrored,
    )


def _plain_hand(nominal_mm: Floats, measured_mm: Floats) -> bool | None:
    """Whether the pattern is mirrored, where one hand fits far better; else None.

    A mirrored square is also one with two readings exchanged: where the whole fits, it is mirrored.
    """
    plain, other = (rigid_fit(nominal_mm, measured_mm, None, hand).rms_mm for hand in (False, True))
    if min(plain, other) * _FAR_BETTER > max(plain, other):
        return None
    return other < plain


def _rms(errors_mm: Floats) -> float:
    return float(np.sqrt((errors_mm**2).sum(axis=0).mean()))


def _tells(model: _Model, before_mm: float, noise_mm: float) -> bool:
    """Whether what a model explains is worth a sentence, and no play of chance."""
    left_mm = _rms(model.residuals_mm)
    if model.name == "drawn" and not model.how:
        return False
    if model.how in ("one hole", "group"):
        return max(map(abs, model.off_mm)) >= _STANDS_OUT * max(left_mm, noise_mm / 2)
    return left_mm <= before_mm / _FALLS_BY


def _sentences(
    model: _Model, measured_mm: Floats, names: Sequence[str], shop: ShopFigures
) -> Iterator[str]:
    if model.name != "drawn":
        yield from pattern_words(model.name, model.pattern, model.stretch, shop)
    if model.how == "one hole":
        (hole,) = model.wrong
        at = model.residuals_mm[:, hole] + model.off_mm
        expected = measured_mm[:, hole] - at
        others = measured_mm - model.residuals_mm
        others = np.delete(others, hole, axis=1)
        yield hole_words(names[hole], expected, measured_mm[:, hole], others, shop)
    elif model.how == "exchanged":
        one, other = (names[i] for i in model.wrong)
        yield f"the readings of {one} and {other} are swapped"
    elif model.how == "group":
        yield group_words([names[i] for i in model.wrong], model.off_mm, shop)


def _models(nominal_mm: Floats, measured_mm: Floats, mirrored: bool) -> Iterator[_Model]:
    count = nominal_mm.shape[1]
    for base, freedoms in _bases(mirrored):
        if 2 * count - freedoms < (0 if count == 1 else 1):
            continue
        plain = base(nominal_mm, measured_mm)
        if plain.name == "scale" and not _shows(plain, nominal_mm):
            continue
        yield plain
        if 2 * count - freedoms - 2 >= 1:
            yield from _one_wrong(base, nominal_mm, measured_mm)
            yield from _exchanged(base, nominal_mm, measured_mm)
        if 2 * count - freedoms - 1 >= 1 and 2 < count <= _MOST_IN_GROUPS:
            yield from _groups(base, nominal_mm, measured_mm)


def _shows(model: _Model, nominal_mm: Floats) -> bool:
    """Whether a stretch moves the outermost hole by more than a drill wanders.

    One that mirrors the pattern, or draws it together in one place, is none.
    """
    half = np.ptp(nominal_mm, axis=1) / 2
    scales = np.array(model.stretch or (model.pattern.scale,) * 2)
    return bool((abs(scales - 1) * half).max() > _LEAST_STRETCH_MM and scales.min() > _LEAST_SCALE)


def _bases(mirrored: bool) -> Iterator[tuple[Base, int]]:
    """The ways in which a whole pattern lies otherwise than drawn, and their freedoms."""
    if not mirrored:
        yield _as_drawn, 0
        yield _shifted, 2
    yield lambda p, q: _turned(p, q, mirrored), 3
    yield lambda p, q: _scaled(p, q, mirrored), 4
    if not mirrored:
        yield _stretched, 4


def _as_drawn(nominal_mm: Floats, measured_mm: Floats) -> _Model:
    errors = measured_mm - nominal_mm
    return _Model("drawn", Fit(np.zeros(2), 0.0, False, errors), errors, 0)


def _shifted(nominal_mm: Floats, measured_mm: Floats) -> _Model:
    errors = measured_mm - nominal_mm
    shift = errors.mean(axis=1)
    left = errors - shift[:, None]
    return _Model("shift", Fit(shift, 0.0, False, left), left, 2)


def _turned(nominal_mm: Floats, measured_mm: Floats, mirrored: bool) -> _Model:
    fit = rigid_fit(nominal_mm, measured_mm, None, mirrored)
    return _Model("turn", fit, fit.residuals_mm, 3)


def _scaled(nominal_mm: Floats, measured_mm: Floats, mirrored: bool) -> _Model:
    fit = scaled_fit(nominal_mm, measured_mm, mirrored)
    return _Model("scale", fit, fit.residuals_mm, 4)


def _stretched(nominal_mm: Floats, measured_mm: Floats) -> _Model:
    """Each axis with a scale of its own, as from one wrong dial."""
    p = nominal_mm - nominal_mm.mean(axis=1, keepdims=True)
    q = measured_mm - measured_mm.mean(axis=1, keepdims=True)
    spread = (p * p).sum(axis=1)
    scales = np.where(spread > 0, (p * q).sum(axis=1) / np.where(spread > 0, spread, 1.0), 1.0)
    shift = measured_mm.mean(axis=1) - scales * nominal_mm.mean(axis=1)
    left = measured_mm - scales[:, None] * nominal_mm - shift[:, None]
    fit = Fit(shift, 0.0, False, left)
    return _Model("scale", fit, left, 4, stretch=(float(scales[0]), float(scales[1])))


def _farthest_off(base: Base, nominal_mm: Floats, measured_mm: Floats) -> list[int]:
    errors = np.hypot(*base(nominal_mm, measured_mm).residuals_mm)
    return [int(i) for i in np.argsort(-errors, kind="stable")[:_LOOKED_AT]]


def _one_wrong(base: Base, nominal_mm: Floats, measured_mm: Floats) -> Iterator[_Model]:
    count = nominal_mm.shape[1]
    for hole in _farthest_off(base, nominal_mm, measured_mm):
        rest = np.arange(count) != hole
        model = base(nominal_mm[:, rest], measured_mm[:, rest])
        left = np.zeros_like(measured_mm)
        left[:, rest] = model.residuals_mm
        expected = _put(model, nominal_mm[:, [hole]])[:, 0]
        off = measured_mm[:, hole] - expected
        yield replace(
            model,
            residuals_mm=left,
            freedoms=model.freedoms + 2,
            prior=2 * log(count),
            how="one hole",
            wrong=(hole,),
            off_mm=(float(off[0]), float(off[1])),
        )


def _put(model: _Model, nominal_mm: Floats) -> Floats:
    """Where a model of the whole pattern puts places of it."""
    if model.stretch is not None:
        return np.array(model.stretch)[:, None] * nominal_mm + model.pattern.shift_mm[:, None]
    return model.pattern.placed(nominal_mm)


def _exchanged(base: Base, nominal_mm: Floats, measured_mm: Floats) -> Iterator[_Model]:
    count = nominal_mm.shape[1]
    prior = 2 * log(count * (count - 1) / 2) if count > 2 else 2 * log(2)
    likely = _farthest_off(base, nominal_mm, measured_mm)[:_LOOKED_AT_IN_PAIRS]
    for one, other in combinations(sorted(likely), 2):
        swapped = measured_mm.copy()
        swapped[:, [one, other]] = measured_mm[:, [other, one]]
        model = base(nominal_mm, swapped)
        yield replace(model, prior=prior, how="exchanged", wrong=(one, other))


def _groups(base: Base, nominal_mm: Floats, measured_mm: Floats) -> Iterator[_Model]:
    """Some holes off along one axis, all by one figure."""
    count = nominal_mm.shape[1]
    for axis in (0, 1):
        model = _grouped(base, nominal_mm, measured_mm, axis)
        if model is not None:
            chosen = len(model.wrong)
            prior = 2 * (log(2) + _log_choices(count, chosen) + log(count))
            how = "one hole" if chosen == 1 else "group"
            yield replace(model, freedoms=model.freedoms + 1, prior=prior, how=how)


def _log_choices(count: int, chosen: int) -> float:
    """Logarithm of the number of ways to choose some of them."""
    return float(sum(log((count - i) / (i + 1)) for i in range(chosen)))


def _grouped(base: Base, nominal_mm: Floats, measured_mm: Floats, axis: int) -> _Model | None:
    """Holes in two lots along an axis: parted at the widest gap, then fitted and parted in turn."""
    along = base(nominal_mm, measured_mm).residuals_mm[axis]
    ranks = np.sort(along)
    gap = int(np.argmax(np.diff(ranks)))
    if ranks[gap + 1] - ranks[gap] < _LEAST_GAP_MM:
        return None
    is_wrong = _fewer(along, (ranks[gap] + ranks[gap + 1]) / 2)
    model, off = _corrected(base, nominal_mm, measured_mm, axis, is_wrong, along)
    for _ in range(_ROUNDS):
        left = model.residuals_mm[axis] + off * is_wrong
        parted = _fewer(left, (left[is_wrong].mean() + left[~is_wrong].mean()) / 2)
        if not parted.any():
            return None
        is_settled = bool((parted == is_wrong).all())
        is_wrong = parted
        model, off = _corrected(base, nominal_mm, measured_mm, axis, is_wrong, left)
        if is_settled:
            break
    wrong = tuple(int(i) for i in np.flatnonzero(is_wrong))
    return replace(model, wrong=wrong, off_mm=(off, 0.0) if axis == 0 else (0.0, off))


def _fewer(along: Floats, parting_mm: float) -> NDArray[np.bool_]:
    """The lot of fewer holes; of two as large the one farther from nought."""
    is_high = np.asarray(along > parting_mm)
    high, low = int(is_high.sum()), int((~is_high).sum())
    if high == low:
        is_high_wrong = abs(along[is_high].mean()) >= abs(along[~is_high].mean())
        return is_high if is_high_wrong else ~is_high
    return is_high if high < low else ~is_high


def _corrected(
    base: Base,
    nominal_mm: Floats,
    measured_mm: Floats,
    axis: int,
    is_wrong: NDArray[np.bool_],
    along: Floats,
) -> tuple[_Model, float]:
    """The pattern fitted with one lot put back by what it differs from the other."""
    off = float(along[is_wrong].mean() - along[~is_wrong].mean())
    corrected = measured_mm.copy()
    corrected[axis] -= off * is_wrong
    return base(nominal_mm, corrected), off
