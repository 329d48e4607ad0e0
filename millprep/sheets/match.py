"""The as-drilled sheet: a match as it is shown, each figure rounded once. Imports layers 0 to 4."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from millprep.base.findings import Finding
from millprep.base.units import Units, in_units, round_to
from millprep.matching.match import Match, MatchedHole
from millprep.matching.slip_words import listed
from millprep.model.shop import Shop
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.document import Column, Document, Page, Row, Sayer, Section, Sentence, Table
from millprep.sheets.figures import Figures
from millprep.sheets.heading import burning, remarks_field

_ERROR_COUNT = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}
_EXACT_DECIMALS = 9
_TOLD_DEG = 0.0005  # a turn of less is none
_LONGEST = {"measured": 14, "drilled": 29}  # letters of a name with its figures beside it
_MEASURED = (*(Column(9, right=True, gap=0),) * 4, *(Column(8, right=True, gap=0),) * 3)
_PLACES = (Column(11, right=True, gap=0),) * 4
_CSV = ("hole", "x", "y", "unit", "note")
_AXES = ("x_axis", "y_axis", "mx_axis", "my_axis", "lx_axis", "ly_axis", "dx_axis", "dy_axis")

_say = Sayer("match")


def make_match_sheet(
    match: Match, shop: Shop, units: Units, findings: tuple[Finding, ...]
) -> Document:
    """A match, rounded to what the readout shows."""
    figures = Figures(units, shop.readout)
    part, setup = match.part, match.setup
    measured = [one for one in match.holes if one.measured_mm is not None]
    missing = sum(one.measured_mm is None for one in match.drilled)
    done = _say("done-measured", measured_count=len(measured), missing_count=missing)
    fit = (
        _say.field("FIT", *_fit(match, figures)),
        _say.field("LEFT OUT", *_left_out(match, figures)),
        _say.field("LOOKS", *(_say("looks", looks=words) for words in _looks(match))),
        _say.field("MATE", _mate(match, figures)),
    )
    closing = (
        _say.field("DONE", done),
        _say.field("ASSUMED", _assumed(match, figures)),
        *(field for field in [remarks_field(_say, findings)] if field is not None),
    )
    page = Page(
        _say("match-title", part=part.name, setup=setup.number, face=setup.face),
        (
            _say("marked", drawing=part.drawing or None, part_mark=part.mark, units=units),
            _say("match-file", measured=match.measured.path),
            *burning(_say, part),
        ),
        (
            Section(tuple(field for field in fit if field.sentences)),
            Section((_say.field("READ", _say("read")), _measured_table(measured, figures))),
            Section((_say.field("DRILL", *_drill(match)), _places_table(match, figures))),
            Section(closing),
            Section((_say.field("TAKE CARE", *(_say("caution", caution=c) for c in AT_THE_MILL)),)),
        ),
    )
    also = _also(match, str(_assumed(match, figures)))
    return Document("match", units, (page,), findings, also=also, csv=("coordinates", _CSV))


def _error(value_mm: float, figures: Figures) -> Decimal:
    return round_to(in_units(value_mm, figures.units), _ERROR_COUNT[figures.units])


def _length(value_mm: float, figures: Figures) -> str:
    return f"{_error(value_mm, figures)} {figures.unit}"


def _pair(names: str, place: tuple[float, float], figures: Figures) -> dict[str, Decimal]:
    """Readings, by the names of their slots."""
    x, y = names.split()
    return {x: figures.shown(place[0], "x"), y: figures.shown(place[1], "y")}


def _errors(names: str, place: tuple[float, float], figures: Figures) -> dict[str, Decimal]:
    """With the readout's signs, finer than it counts."""
    x, y = names.split()
    signed = figures.signed(place[0], "x"), figures.signed(place[1], "y")
    return {x: _error(signed[0], figures), y: _error(signed[1], figures)}


def _fit(match: Match, figures: Figures) -> Iterator[Sentence]:
    """The turn as the readout counts: one reversed axis turns the other way round."""
    fit, count = match.fit, len(match.fit.errors_mm)
    turn_deg = -fit.turn_deg if len(figures.readout.reversed_axes) == 1 else fit.turn_deg
    slots: dict[str, Any] = {
        "unit": figures.unit,
        "_hand": "mirrored, then " if fit.mirrored else "",
    }
    for axis, value in zip("xy", fit.shift_mm, strict=True):
        shift = _error(figures.signed(float(value), axis), figures)
        slots |= {f"_{axis}_axis": axis, f"{axis}_way": "-" if shift < 0 else "+"}
        slots[f"{axis}_shift"] = abs(shift)
    if abs(turn_deg) < _TOLD_DEG:
        yield _say("fit-straight", **slots)
    else:
        way = "anticlockwise" if turn_deg > 0 else "clockwise"
        yield _say("fit-turned", turn=f"{abs(turn_deg):.3f}", way=way, **slots)
    if count > 1:
        fitted = [one for one in match.holes if one.error_mm is not None]
        fitted = [one for one in fitted if one.hole.name not in match.left_out]
        worst = max(fitted, key=lambda one: one.error_mm or 0.0)
        yield _say(
            "fit-errors",
            fitted_count=count,
            rms=_length(fit.rms_mm, figures),
            worst_hole=worst.hole.name,
            worst=_length(fit.worst_mm, figures),
        )
        yield _say("fit-least-worst", least_worst=_length(match.least_worst.worst_mm, figures))


def _left_out(match: Match, figures: Figures) -> Iterator[Sentence]:
    for one in match.holes:
        if one.error_mm is not None and one.hole.name in match.left_out:
            yield _say("fit-left-out", hole=one.hole.name, off=_length(one.error_mm, figures))


def _looks(match: Match) -> Sequence[str]:
    """Errors from the wrong hand look like nothing in particular."""
    if match.other_hand is not None:
        return ("of the other hand: the holes fit far better so",)
    return match.likeness.sentences


def _mate(match: Match, figures: Figures) -> Sentence:
    mate = match.mate
    if mate.verdict == "not judged":
        return _say("mate-unjudged")
    play = _length(abs(mate.lacking_mm), figures)
    if mate.verdict == "fits":
        return _say("mate-fits", screw_count=len(mate.holes), play=play)
    if mate.verdict == "does not fit":
        lacks = "lacks" if len(mate.tight) == 1 else "lack up to"
        return _say("mate-lacks", tight_holes=listed(mate.tight), _lacks=lacks, play=play)
    return _say("mate-open", play=play, spare="lacking" if mate.lacking_mm > 0 else "to spare")


def _measured_table(measured: Sequence[MatchedHole], figures: Figures) -> Table:
    """As drawn, as measured and what the fit leaves."""
    rows = []
    for one in measured:
        assert one.measured_mm is not None  # these are
        assert one.residual_mm is not None
        cells = _say(
            "measured row",
            hole=one.hole.name,
            **_pair("nominal_x nominal_y", one.nominal_mm, figures),
            **_pair("measured_x measured_y", one.measured_mm, figures),
            **_errors("left_x left_y", one.residual_mm, figures),
            off=_error(one.error_mm or 0.0, figures),
        )
        rows.append(Row(cells))
    return _table("measured", rows, _MEASURED, 3)


def _table(name: str, rows: Sequence[Row], columns: tuple[Column, ...], gap: int) -> Table:
    """A long name has a line of its own."""
    width = max((len(row.cells.cells[0]) for row in rows), default=0)
    folds = int(width > _LONGEST[name])
    named = {} if folds else {"_hole": "hole"}
    head = _say(f"{name} head", **named, **{axis: axis[-6] for axis in _AXES})
    if folds:
        columns = (Column(columns[0].width + 8, right=True, gap=0), *columns[1:])
    wide = Column(max(width, len("hole")), gap=1)
    return Table(name, head, tuple(rows), (wide, *columns), boxes=False, folds=folds)


def _drill(match: Match) -> Iterator[Sentence]:
    yield _say("drill-kept" if match.keeps_edges else "drill-edges")
    if match.left_out:
        yield _say("drill-misread", _verb="is" if len(match.left_out) == 1 else "are")
    if any(one.measured_mm is None for one in match.drilled):
        yield _say("drill-unmeasured")
        if match.likeness.kind == "within noise":
            yield _say("drill-as-drawn")
    yield _say("drill-columns")


def _places_table(match: Match, figures: Figures) -> Table:
    """Where to drill, with a box to tick."""
    rows = []
    for one in match.drilled:
        (x_mm, y_mm), (drawn_x_mm, drawn_y_mm) = one.coordinate_mm, one.nominal_mm
        state = "by the fit" if one.measured_mm is None else "measured"
        state = "likely misread" if one.hole.name in match.left_out else state
        cells = _say(
            "drilled row",
            state=state,
            hole=one.hole.name,
            **_pair("x y", one.coordinate_mm, figures),
            **_errors("moved_x moved_y", (x_mm - drawn_x_mm, y_mm - drawn_y_mm), figures),
        )
        also = {
            "x_mm": _exact(x_mm),
            "y_mm": _exact(y_mm),
            "is_measured": one.measured_mm is not None,
        }
        rows.append(Row(cells, also=also, csv={"unit": figures.units, "note": state}))
    return _table("drilled", rows, _PLACES, 1)


def _assumed(match: Match, figures: Figures) -> Sentence:
    is_tapped = any(one.hole.thread and one.hole.name in match.mate.holes for one in match.holes)
    return _say(
        "assumed-readings",
        noise=_length(match.noise_mm, figures),
        grade="normal" if is_tapped else None,
        readout_count=figures.step,
    )


def _exact(value: float) -> float:
    return round(value, _EXACT_DECIMALS) + 0.0  # never -0.0


def _exact_pair(values: tuple[float, float] | None) -> list[float] | None:
    return None if values is None else [_exact(value) for value in values]


def _also(match: Match, assumed: str) -> dict[str, Any]:
    """What JSON has beside the words: exact, in setup axes."""
    fit, mate, setup, likeness = match.fit, match.mate, match.setup, match.likeness
    return {
        "drawing": match.part.drawing,
        "zero": {"x": setup.zero_x, "y": setup.zero_y, "z": setup.face},
        "shift_mm": [_exact(float(value)) for value in fit.shift_mm],
        "turn_deg": _exact(fit.turn_deg),
        "mirrored": fit.mirrored,
        "left_out": list(match.left_out),
        "residuals_mm": {
            one.hole.name: _exact(one.error_mm) for one in match.holes if one.error_mm is not None
        },
        "rms_mm": _exact(fit.rms_mm),
        "worst_mm": _exact(fit.worst_mm),
        "least_worst_mm": _exact(match.least_worst.worst_mm),
        "looks_like": {
            "kind": likeness.kind,
            "sentences": list(likeness.sentences),
            "holes": list(likeness.holes),
            "before_mm": _exact(likeness.before_mm),
            "left_mm": _exact(likeness.left_mm),
        },
        "mate": {
            "verdict": mate.verdict,
            "lacking_mm": None if mate.fit is None else _exact(mate.lacking_mm),
            "holes": list(mate.holes),
            "tight": list(mate.tight),
            "not_judged": list(mate.not_judged),
        },
        "keeps_edges": match.keeps_edges,
        "holes": [
            {
                "hole": one.hole.name,
                "nominal_mm": _exact_pair(one.nominal_mm),
                "measured_mm": _exact_pair(one.measured_mm),
                "residual_mm": _exact_pair(one.residual_mm),
                "play_mm": None if one.play_mm is None else _exact(one.play_mm),
            }
            for one in match.holes
        ],
        "assumed": assumed.removesuffix(".").split("; "),
    }
