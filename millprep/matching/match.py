"""A part that has to fit one that is drilled already: where its holes go, and whether they need to.

From holes as measured: the best fits, what the errors look like, whether the part as drawn still
goes together with what was drilled, and the places that make it fit. Nothing is rounded here.
Imports layers 0 to 3.
"""

from __future__ import annotations

from math import hypot
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding, stopped
from millprep.base.records import frozen, replace
from millprep.base.units import Units
from millprep.matching.measured_places import Place, placed_holes, setup_measured
from millprep.matching.slip_words import NOISE_MM, shop_figures
from millprep.matching.slips import Likeness, likeness
from millprep.model.measured import Measured
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.reference.clearance import clearance_for
from millprep.setting.setups import Setup
from millprep.sizes import read_thread
from millprep.sums.fitting import Fit, Floats, lacking_mm, least_worst_fit, rigid_fit, scaled_fit

Hand = Literal["as drawn", "mirrored"]
Verdict = Literal["fits", "does not fit", "not decidable", "not judged"]
_INCH_MM = 25.4
_NEAR_SCALE = 0.02
_WORTH = 5.0  # times less error, before a pattern is taken for one in the other unit
_FAR_OFF = 10.0  # times what the others leave: a hole that is off by more is left out of the fit
_OTHER_HAND = 10.0  # times less error, before the hand that a person says is doubted
_LEAST_FITTED = 2  # holes: fewer show no turn


@frozen
class MatchedHole:
    """A hole of the face, in setup axes [mm].

    measured_mm   : where it is on the part that is drilled; None: not drilled yet, or not measured
    residual_mm   : (x, y) what is left of that after the best fit
    coordinate_mm : where to drill it in this part
    play_mm       : how far its centre and its mate's may lie apart; None where nobody knows
    """

    hole: Hole
    nominal_mm: Place
    measured_mm: Place | None
    residual_mm: Place | None
    coordinate_mm: Place
    play_mm: float | None

    @property
    def error_mm(self) -> float | None:
        """How far it is from where the fit puts it."""
        return None if self.residual_mm is None else hypot(*self.residual_mm)


@frozen
class Mate:
    """Whether the part as drawn goes together with what was drilled, free to shift and turn.

    lacking_mm : by how much the worst screw lacks play, negative where it has some to spare
    fit        : how the parts lie then; holes : those judged; tight : those that lack play
    """

    verdict: Verdict
    lacking_mm: float
    holes: tuple[str, ...]
    tight: tuple[str, ...]
    not_judged: tuple[str, ...]
    fit: Fit | None


@frozen
class Match:
    """A part matched to measured holes.

    fit : least squares; least_worst : the least bad worst hole; both of the holes not left out
    left_out : measured holes that are so far off that they would drag the fit
    other_hand : the fit of the other hand, where it is far better than the one that was said
    keeps_edges : the fit is undone in the coordinates, so that this part's own edges stay true
    findings : of the readings; `match_findings` has the rest
    """

    part: Part
    setup: Setup
    measured: Measured
    holes: tuple[MatchedHole, ...]
    fit: Fit
    least_worst: Fit
    left_out: tuple[str, ...]
    other_hand: Fit | None
    likeness: Likeness
    mate: Mate
    keeps_edges: bool
    noise_mm: float
    findings: tuple[Finding, ...]

    @property
    def drilled(self) -> tuple[MatchedHole, ...]:
        """The holes that are drilled now: none that is left for later, but for what was to be
        carried over from the mate and was measured there instead."""
        left = {one.hole: one for one in self.part.left}
        return tuple(
            one
            for one in self.holes
            if (told := left.get(one.hole.name)) is None
            or (one.measured_mm is not None and not told.stack)
        )


@frozen
class Wishes:
    """What a person may say of a match.

    hand : None: what fits better; play_mm : None: by each hole's screw
    noise_mm : how far a reading may be wrong; keep_edges : undo the fit though nothing is mirrored
    """

    setup: int | None = None
    hand: Hand | None = None
    keep_edges: bool = False
    play_mm: float | None = None
    noise_mm: float = NOISE_MM
    units: Units = "mm"


def match_part(part: Part, shop: Shop, measured: Measured, wishes: Wishes) -> Match:
    """The part matched to the measured holes. Raises MillprepError for what cannot be judged."""
    setup = setup_measured(part, measured, wishes.setup)
    places, notes = placed_holes(part, measured, setup, shop.readout.reversed_axes)
    holes = [hole for hole in part.holes if hole.face == setup.face or hole.name in places]
    nominal = {hole.name: setup.place_of(hole) for hole in holes}
    names = [hole.name for hole in holes if hole.name in places]
    p = np.array([nominal[name] for name in names]).T
    q = np.array([places[name] for name in names]).T
    _refuse_other_unit(measured, p, q)
    mirrored = None if wishes.hand is None else wishes.hand == "mirrored"
    figures = replace(
        shop_figures(shop, wishes.units, wishes.noise_mm),
        reversed_axes=shop.readout.reversed_axes,
        read_in="inch" if measured.is_inch else "mm",
    )
    looks = likeness(p, q, names, figures, mirrored)
    other = None if mirrored is None else _other_hand(p, q, mirrored, wishes.noise_mm)
    is_fitted = np.ones(len(names), dtype=bool)
    if other is None:
        is_fitted = _fitted(p, q, names, looks, wishes.noise_mm)
    p_fitted, q_fitted = p[:, is_fitted], q[:, is_fitted]
    fit = rigid_fit(p_fitted, q_fitted, None, looks.mirrored)
    keeps_edges = wishes.keep_edges or fit.mirrored
    residuals = dict(zip(names, (q - fit.placed(p)).T.tolist(), strict=True))
    matched = tuple(
        _matched(hole, nominal, places, residuals, fit, keeps_edges, wishes) for hole in holes
    )
    return Match(
        part,
        setup,
        measured,
        matched,
        fit,
        least_worst_fit(p_fitted, q_fitted, None, fit.mirrored),
        tuple(name for name, is_in in zip(names, is_fitted, strict=True) if not is_in),
        other,
        looks,
        _mate(matched, fit.mirrored, wishes.noise_mm),
        keeps_edges,
        wishes.noise_mm,
        tuple(notes),
    )


def _other_hand(p: Floats, q: Floats, mirrored: bool, noise_mm: float) -> Fit | None:
    """The fit of the hand that was not said, where it is far better."""
    said, other = (rigid_fit(p, q, None, hand) for hand in (mirrored, not mirrored))
    is_better = said.rms_mm > max(_OTHER_HAND * other.rms_mm, noise_mm)
    return other if is_better else None


def _fitted(
    p: Floats, q: Floats, names: list[str], looks: Likeness, noise_mm: float
) -> NDArray[np.bool_]:
    """(N,) which holes are fitted: all, but for those misread by so much that they drag the rest.

    Where they are in, least squares share their error out among the others.
    """
    everything = np.ones(len(names), dtype=bool)
    rest = np.array([name not in looks.holes for name in names])
    if looks.kind not in ("one hole", "exchanged") or rest.sum() < _LEAST_FITTED:
        return everything
    fit = rigid_fit(p[:, rest], q[:, rest], None, looks.mirrored)
    off_mm = np.hypot(*(q - fit.placed(p)))[~rest]
    left_mm = max(fit.rms_mm, looks.left_mm, noise_mm)  # two holes fit almost always
    return rest if off_mm.min() > _FAR_OFF * left_mm else everything


def _refuse_other_unit(measured: Measured, p: Floats, q: Floats) -> None:
    """Readings in the other unit from another zero: the pattern alone shows it."""
    for mirrored in (False, True) if p.shape[1] > 1 else ():
        fit = scaled_fit(p, q, mirrored)
        factor = _INCH_MM if fit.scale < 1 else 1 / _INCH_MM
        if abs(fit.scale * factor - 1) > _NEAR_SCALE:
            continue
        if fit.rms_mm * _WORTH < rigid_fit(p, q, None, mirrored).rms_mm:
            apart = "25.4 times too near together" if fit.scale < 1 else "25.4 times too far apart"
            raise stopped(
                "units-suspect",
                f"the holes lie {apart}: their readings are in the other unit",
                "write mm or inch into the column unit of each line",
                file=measured.path,
            )


def _matched(
    hole: Hole,
    nominal: dict[str, Place],
    places: dict[str, Place],
    residuals: dict[str, list[float]],
    fit: Fit,
    keeps_edges: bool,
    wishes: Wishes,
) -> MatchedHole:
    here, there = nominal[hole.name], places.get(hole.name)
    residual = None
    if there is None:
        coordinate = here if keeps_edges else _one(fit.placed(_column(here)))
    else:
        x_mm, y_mm = residuals[hole.name]
        residual = x_mm, y_mm
        coordinate = _one(fit.undone(_column(there))) if keeps_edges else there
    play_mm = wishes.play_mm if wishes.play_mm is not None else play_of(hole)
    return MatchedHole(hole, here, there, residual, coordinate, play_mm)


def _column(place: Place) -> Floats:
    return np.array(place)[:, None]


def _one(places_mm: Floats) -> Place:
    return float(places_mm[0, 0]), float(places_mm[1, 0])


def play_of(hole: Hole) -> float | None:
    """How far the centres of a screw's two holes may lie apart [mm]; None for a hole for no screw.

    A hole to clear a screw: half of what it is larger. A tapped hole: the same of a hole of the
    normal grade in the mate. Where both parts clear the screw there is as much play again.
    Source: ISO 273 by way of the clearance tables.
    """
    if hole.screw:
        return max(0.0, (hole.diameter_mm - read_thread(hole.screw).major_mm) / 2)
    if hole.thread is not None:
        clearance = clearance_for(hole.thread)
        if clearance is not None:
            return max(0.0, (clearance.normal_mm - hole.thread.major_mm) / 2)
    return None


def _mate(holes: tuple[MatchedHole, ...], mirrored: bool, noise_mm: float) -> Mate:
    drilled = [one for one in holes if one.measured_mm is not None]
    judged = [one for one in drilled if one.play_mm is not None]
    left = tuple(one.hole.name for one in drilled if one.play_mm is None)
    if not judged:
        return Mate("not judged", 0.0, (), (), left, None)
    p = np.array([one.nominal_mm for one in judged]).T
    q = np.array([one.measured_mm for one in judged]).T
    plays = np.array([one.play_mm for one in judged])
    fit = least_worst_fit(p, q, plays, mirrored)
    lacking = lacking_mm(fit, plays)
    verdict: Verdict = "fits" if lacking < 0 else "does not fit"
    if abs(lacking) < noise_mm:
        verdict = "not decidable"
    tight = [
        one.hole.name
        for one, spare in zip(judged, plays - fit.errors_mm, strict=True)
        if spare < noise_mm
    ]
    names = tuple(one.hole.name for one in judged)
    return Mate(verdict, lacking, names, tuple(tight), left, fit)
