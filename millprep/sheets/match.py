"""The as-drilled sheet: a match as it is shown, each figure rounded once. Imports layers 0 to 4."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.base.units import Units, in_units, round_to
from millprep.matching.match import Match, MatchedHole
from millprep.matching.slip_words import listed
from millprep.model.shop import Shop
from millprep.sheets.figures import Figures
from millprep.sums.fitting import Fit

_ERROR_COUNT = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}
Pair = tuple[Decimal, Decimal]


@frozen
class MatchRow:
    """A hole as the sheet shows it; x and y with the readout's signs.

    nominal, measured, place : readings; residual and error : what the best fit leaves
    moved : place less nominal; is_drilled : whether it was measured
    is_left_out : whether the fit does without it
    """

    hole: str
    nominal: Pair
    measured: Pair | None
    residual: Pair | None
    error: Decimal | None
    place: Pair
    moved: Pair
    is_drilled: bool
    is_left_out: bool
    exact: MatchedHole


@frozen
class MatchSheet:
    """The whole sheet; `fit`, `looks_like`, `mate` and `coordinates` are sentences."""

    part: str
    drawing: str
    mark: str
    units: Units
    resolution: Decimal
    measured_file: str
    setup: int
    face: str
    zero: tuple[str, str]
    fit: tuple[str, ...]
    looks_like: tuple[str, ...]
    mate: str
    coordinates: tuple[str, ...]
    assumed: tuple[str, ...]
    rows: tuple[MatchRow, ...]
    match: Match
    findings: tuple[Finding, ...]

    @property
    def drilled(self) -> tuple[MatchRow, ...]:
        return tuple(row for row in self.rows if row.is_drilled)


def make_match_sheet(
    match: Match, shop: Shop, units: Units, findings: tuple[Finding, ...]
) -> MatchSheet:
    """A match, rounded to what the readout shows."""
    figures = Figures(units, shop.readout)
    part, setup = match.part, match.setup
    return MatchSheet(
        part=part.name,
        drawing=part.drawing,
        mark=part.mark,
        units=units,
        resolution=figures.step,
        measured_file=match.measured.path,
        setup=setup.number,
        face=setup.face,
        zero=(setup.zero_x, setup.zero_y),
        fit=tuple(_fit_words(match, figures)),
        looks_like=_looks_words(match),
        mate=_mate_words(match, figures),
        coordinates=tuple(_coordinate_words(match)),
        assumed=tuple(_assumed(match, figures)),
        rows=tuple(_row(one, match, figures) for one in match.holes),
        match=match,
        findings=findings,
    )


def _row(one: MatchedHole, match: Match, figures: Figures) -> MatchRow:
    moved = (one.coordinate_mm[0] - one.nominal_mm[0], one.coordinate_mm[1] - one.nominal_mm[1])
    error_mm = one.error_mm
    return MatchRow(
        one.hole.name,
        _readings(one.nominal_mm, figures),
        None if one.measured_mm is None else _readings(one.measured_mm, figures),
        None if one.residual_mm is None else _errors(one.residual_mm, figures),
        None if error_mm is None else _error(error_mm, figures),
        _readings(one.coordinate_mm, figures),
        _errors(moved, figures),
        one.measured_mm is not None,
        one.hole.name in match.left_out,
        one,
    )


def _readings(place: tuple[float, float], figures: Figures) -> Pair:
    return figures.shown(place[0], "x"), figures.shown(place[1], "y")


def _errors(place: tuple[float, float], figures: Figures) -> Pair:
    """With the readout's signs, finer than it counts."""
    x, y = figures.signed(place[0], "x"), figures.signed(place[1], "y")
    return _error(x, figures), _error(y, figures)


def _error(value_mm: float, figures: Figures) -> Decimal:
    return round_to(in_units(value_mm, figures.units), _ERROR_COUNT[figures.units])


def _length(value_mm: float, figures: Figures) -> str:
    return f"{_error(value_mm, figures)} {figures.unit}"


def _signed(value_mm: float, figures: Figures, axis: str) -> str:
    value = _error(figures.signed(value_mm, axis), figures)
    return f"{axis.upper()} {value:+}"


def _fit_words(match: Match, figures: Figures) -> Iterator[str]:
    fit, count = match.fit, len(match.fit.errors_mm)
    hand = "mirrored, then " if fit.mirrored else ""
    shift = ", ".join(
        _signed(float(value), figures, axis) for axis, value in zip("xy", fit.shift_mm, strict=True)
    )
    yield f"{hand}{_turn_words(fit, figures)}, then shifted by {shift} {figures.unit}"
    drilled = [one for one in match.holes if one.error_mm is not None]
    if count > 1:
        fitted = [one for one in drilled if one.hole.name not in match.left_out]
        worst = max(fitted, key=lambda one: one.error_mm or 0.0)
        yield (
            f"{count} holes; off by {_length(fit.rms_mm, figures)} (root of the mean square), "
            f"worst {worst.hole.name}, {_length(fit.worst_mm, figures)}"
        )
        least = _length(match.least_worst.worst_mm, figures)
        yield f"fitted for the least worst hole instead: {least}"
    for one in drilled:
        if one.hole.name in match.left_out:
            off = _length(one.error_mm or 0.0, figures)
            yield f"left out of the fit: {one.hole.name}, off by {off}"


def _looks_words(match: Match) -> tuple[str, ...]:
    """Errors from the wrong hand look like nothing in particular."""
    if match.other_hand is not None:
        return ("of the other hand: the holes fit far better so",)
    return match.likeness.sentences


def _turn_words(fit: Fit, figures: Figures) -> str:
    """The turn as the readout counts: one reversed axis turns the other way round."""
    turn_deg = fit.turn_deg
    if len(figures.readout.reversed_axes) == 1:
        turn_deg = -turn_deg
    if abs(turn_deg) < 0.0005:
        return "not turned"
    way = "anticlockwise" if turn_deg > 0 else "clockwise"
    return f"turned {abs(turn_deg):.3f} deg {way} about X0 Y0"


def _mate_words(match: Match, figures: Figures) -> str:
    mate = match.mate
    if mate.verdict == "not judged":
        return "not judged: no measured hole is for a screw; say --play to judge all of them"
    judged = f"{len(mate.holes)} screw{'' if len(mate.holes) == 1 else 's'}"
    by = _length(abs(mate.lacking_mm), figures)
    if mate.verdict == "fits":
        return f"the part as drawn fits: {judged}, with {by} of play to spare at the worst"
    if mate.verdict == "does not fit":
        lack = "lacks" if len(mate.tight) == 1 else "lack up to"
        return f"the part as drawn does not fit: at best {listed(mate.tight)} {lack} {by} of play"
    spare = "lacking" if mate.lacking_mm > 0 else "to spare"
    return f"not decidable: {by} of play {spare}, and a reading may be wrong by as much"


def _coordinate_words(match: Match) -> Iterator[str]:
    if match.keeps_edges:
        yield (
            "zero this part as its listing says; the shift and turn of the fit are undone, the "
            "errors of the holes are kept"
        )
    else:
        yield (
            "zero this part as its listing says: its edges then come to lie on those of the part "
            "that was measured"
        )
    if match.left_out:
        is_one = len(match.left_out) == 1
        yield f"[?] {'is' if is_one else 'are'} likely misread: measure again before drilling"
    if any(one.measured_mm is None for one in match.holes):
        yield "[+] is not measured: it goes where the fit puts it"
        if match.likeness.kind == "within noise":
            yield "the errors are no larger than the readings': [+] may as well go as drawn"


def _assumed(match: Match, figures: Figures) -> Iterator[str]:
    yield f"a reading may be wrong by {_length(match.noise_mm, figures)}"
    if any(one.hole.thread and one.hole.name in match.mate.holes for one in match.holes):
        yield "the mate of a tapped hole is a clearance hole of the normal grade"
    yield f"readout counts {figures.step}"
