"""What fit a pin has in a hole: by ISO 286 classes, by limits, or as both were measured.

Clearances are on diameter; below 0 they are interference. Pure sums, layers 0 to 2.
"""

from __future__ import annotations

from typing import Literal

from millprep.base.records import frozen
from millprep.reference.fits import hole_limits_um, recommended_fits, shaft_limits_um

FitWord = Literal["press", "transition", "slide", "run", "loose"]
Purpose = Literal["press", "slide", "pivot"]
SLIDES_TIGHT_MM = 0.002
"""Interference that a sliding pin may have at the very worst: m6 in F7, table fits-recommended."""
_ROUNDING_MM = 1e-9


@frozen
class Sizes:
    """Least and greatest diameter [mm] of a pin or hole, and what says so ("m6", "measured")."""

    nominal_mm: float
    least_mm: float
    greatest_mm: float
    words: str


@frozen
class PinFit:
    """Least and greatest clearance of a pin in a hole [mm], and the word for it.

    word : "press" never has clearance, "transition" may have either; with clearance always "slide",
           "run" or "loose" by the mean: nearer to G7/h6 than to F7/h6, between, above that of H9/d9
    """

    pin: Sizes
    hole: Sizes
    least_mm: float
    greatest_mm: float
    word: FitWord

    @property
    def mean_mm(self) -> float:
        return (self.least_mm + self.greatest_mm) / 2

    @property
    def words(self) -> str:
        """Both halves as fits are written, hole first: "H7/m6", "measured/m6"."""
        return f"{self.hole.words}/{self.pin.words}"


def pin_sizes(diameter_mm: float, shaft_class: str) -> Sizes:
    """A pin by its class ("m6", "h6", "f7"). Raises WordError for a class that is none."""
    return _sizes(diameter_mm, shaft_limits_um(diameter_mm, shaft_class), shaft_class)


def hole_sizes(diameter_mm: float, limits_um: tuple[float, float], words: str = "limits") -> Sizes:
    """A hole by its deviations: a part file's `limits_um`, from `fit`, `pin` or `limits`."""
    return _sizes(diameter_mm, limits_um, words)


def measured_sizes(
    measured_mm: float, uncertainty_mm: float = 0.0, nominal_mm: float | None = None
) -> Sizes:
    """A pin or hole as measured, give or take what the instrument leaves open."""
    return Sizes(
        measured_mm if nominal_mm is None else nominal_mm,
        measured_mm - uncertainty_mm,
        measured_mm + uncertainty_mm,
        "measured",
    )


def _sizes(diameter_mm: float, limits_um: tuple[float, float], words: str) -> Sizes:
    lower_um, upper_um = limits_um
    return Sizes(diameter_mm, diameter_mm + lower_um / 1000, diameter_mm + upper_um / 1000, words)


def fit_of(pin: Sizes, hole: Sizes) -> PinFit:
    """The fit of a pin in a hole."""
    least_mm = hole.least_mm - pin.greatest_mm
    greatest_mm = hole.greatest_mm - pin.least_mm
    return PinFit(pin, hole, least_mm, greatest_mm, _word(least_mm, greatest_mm, pin.nominal_mm))


def _word(least_mm: float, greatest_mm: float, nominal_mm: float) -> FitWord:
    if greatest_mm <= _ROUNDING_MM:
        return "press"
    if least_mm < -_ROUNDING_MM:
        return "transition"
    mean_mm = (least_mm + greatest_mm) / 2
    if mean_mm > mean_clearance_mm(nominal_mm, "H9", "d9") + _ROUNDING_MM:
        return "loose"
    slides_mm = mean_clearance_mm(nominal_mm, "G7", "h6")
    return (
        "run" if mean_mm > (slides_mm + mean_clearance_mm(nominal_mm, "F7", "h6")) / 2 else "slide"
    )


def mean_clearance_mm(diameter_mm: float, hole_class: str, shaft_class: str) -> float:
    """Half way between the least and the greatest clearance of a pair of classes."""
    holes, shafts = (
        hole_limits_um(diameter_mm, hole_class),
        shaft_limits_um(diameter_mm, shaft_class),
    )
    return (sum(holes) - sum(shafts)) / 2000


def suits(fit: PinFit, purpose: Purpose) -> bool:
    """Whether a fit is right for what the pin is there for.

    press : tight on the whole, a mean clearance of 0 or less, as m6 in H7 has; and never tighter
            than s6 in H7 can be
    slide : never tight (but for 2 um, as m6 in F7), and closer than a running fit
    pivot : never tight, as free as G7/h6 (which turns freely, ASME B4.2) and not loose
    """
    if purpose == "press":
        return fit.mean_mm <= _ROUNDING_MM and not too_tight_mm(fit)
    if purpose == "slide":
        tight = fit.least_mm < -SLIDES_TIGHT_MM - _ROUNDING_MM
        return not tight and fit.word in ("transition", "slide")
    freest_mm = mean_clearance_mm(fit.pin.nominal_mm, "G7", "h6")
    is_free = fit.least_mm >= -_ROUNDING_MM and fit.mean_mm >= freest_mm - _ROUNDING_MM
    return is_free and fit.word != "loose"


def too_tight_mm(fit: PinFit) -> float:
    """How much tighter a fit can be than the heaviest press of the table, H7/s6; 0 within it."""
    size_mm = fit.pin.nominal_mm
    heaviest_um = hole_limits_um(size_mm, "H7")[0] - shaft_limits_um(size_mm, "s6")[1]
    over_mm = heaviest_um / 1000 - fit.least_mm
    return over_mm if over_mm > _ROUNDING_MM else 0.0


def fits_for(purpose: Purpose) -> str:
    """Pairs of classes that do it, hole first: "H7/m6, H7/p6". Source: table fits-recommended."""
    return ", ".join(f"{each.hole}/{each.shaft}" for each in recommended_fits(purpose))
