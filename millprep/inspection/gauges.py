"""Pins that go into holes, and instruments that are fine enough. Imports layers 0 to 3.

A pin is a gauge pin or the shank of a drill. It stands for the hole's centre as far as it fits: the
shake is what is expected to be left between them, on diameter.
"""

from __future__ import annotations

from typing import Literal

from millprep.base.records import frozen
from millprep.model.part import Hole
from millprep.model.shop import Instrument, Shop
from millprep.model.tools import Cutter
from millprep.reference.drills import oversize_mm
from millprep.reference.fits import hole_limits_um

InstrumentName = Literal["calliper", "micrometer", "bore gauge", "pins", "thread gauge", "square"]
COARSE_SHARE = 0.25
"""An instrument that takes more than this of the tolerance is too coarse for it (common practice:
the rule of ten to one where it can be had, of four to one at the least)."""
LARGEST_SHANK_MM = 13.0  # above it shanks are often turned down to fit a chuck (common practice)
_SAME_MM = 1e-6
LEAST_JAWS_MM = 5.0
"""The inner jaws of a calliper do not go into smaller holes, or read them too small for the flats
on their edges (common practice)."""
_PIN_STEP_MM = 0.5  # a shank more than this below its hole is no pin for it


@frozen
class Pin:
    """A pin as named; shake_mm is what is expected between it and its hole."""

    words: str
    diameter_mm: float
    shake_mm: float


def pins_of(shop: Shop) -> tuple[Cutter, ...]:
    """Every pin there is, ascending: gauge pins and straight drill shanks."""
    shanks = [tool for tool in shop.cabinet.drills if tool.diameter_mm <= LARGEST_SHANK_MM]
    return tuple(sorted([*shop.instruments.pins, *shanks], key=lambda tool: tool.diameter_mm))


def expected_hole_mm(hole: Hole) -> tuple[float, float]:
    """Least and expected diameter [mm] of the hole that a pin goes into.

    A tapped hole takes it between the crests of its thread. A drill cuts over its size by the mean
    of Machinery's Handbook; a reamer, where the drawing says nothing, to H7 (common practice).
    """
    if hole.thread is not None:
        drill_mm = hole.thread.tap_drill_mm
        return drill_mm, drill_mm + oversize_mm(drill_mm)
    if hole.limits_um is not None:
        lower, upper = hole.limits_um
        return hole.diameter_mm + lower / 1000, hole.diameter_mm + upper / 1000
    if hole.kind.is_true:
        return hole.diameter_mm, hole.diameter_mm + hole_limits_um(hole.diameter_mm, "H7")[1] / 1000
    return hole.diameter_mm, hole.diameter_mm + oversize_mm(hole.diameter_mm)


def pin_for(hole: Hole, pins: tuple[Cutter, ...]) -> Pin | None:
    """The largest pin that goes into a hole at its least size, or None."""
    least, expected = expected_hole_mm(hole)
    for tool in reversed(pins):
        diameter = tool.diameter_mm
        if diameter <= least + _SAME_MM:
            if least - diameter > _PIN_STEP_MM:
                return None
            return Pin(tool.words, diameter, expected - diameter)
    return None


def bare(hole: Hole) -> Pin:
    """The hole itself, where no pin goes into it; what its size leaves open counts as shake."""
    least, expected = expected_hole_mm(hole)
    middle = (least + expected) / 2
    return Pin("no pin", middle, expected - least)


def go_and_no_go(
    least_mm: float, greatest_mm: float, pins: tuple[Cutter, ...], within_mm: float
) -> tuple[Cutter | None, Cutter | None]:
    """The pin nearest below the least size and that nearest above the greatest, if near enough."""
    go = [t for t in pins if least_mm - within_mm <= t.diameter_mm <= least_mm + _SAME_MM]
    no_go = [t for t in pins if greatest_mm - _SAME_MM <= t.diameter_mm <= greatest_mm + within_mm]
    return (go[-1] if go else None), (no_go[0] if no_go else None)


@frozen
class Measuring:
    """With what a length is measured, and how far the reading may be off [mm]."""

    instrument: InstrumentName
    uncertainty_mm: float
    takes_mean: bool = False


def _reads(instrument: Instrument, length_mm: float) -> bool:
    return 0 < length_mm <= instrument.largest_mm + _SAME_MM


def outside(shop: Shop, length_mm: float, width_mm: float, shake_mm: float) -> Measuring | None:
    """How to read an outside length over pins: the calliper, or the micrometer if need be.

    Where the shake would take too much, the pins are pushed one way and then the other, and the
    mean counts: that takes the shake out. None where nothing reads that far.
    """
    tools = shop.instruments
    named: tuple[tuple[InstrumentName, Instrument], ...] = (
        ("calliper", tools.calliper),
        ("micrometer", tools.micrometer),
    )
    able = [(name, one.uncertainty_mm) for name, one in named if _reads(one, length_mm)]
    if not able:
        return None
    enough = COARSE_SHARE * width_mm + _SAME_MM
    for name, uncertainty in able:
        if uncertainty + shake_mm <= enough:
            return Measuring(name, uncertainty + shake_mm)
        if uncertainty <= enough:
            return Measuring(name, uncertainty, takes_mean=True)
    finest = min(able, key=lambda pair: pair[1])
    return Measuring(*finest, takes_mean=shake_mm > COARSE_SHARE * finest[1])


def inside(shop: Shop, length_mm: float) -> Measuring | None:
    """How to read between pins, or a depth: by the calliper's inner jaws, or its rod."""
    calliper = shop.instruments.calliper
    return Measuring("calliper", calliper.uncertainty_mm) if _reads(calliper, length_mm) else None


def bore(shop: Shop, diameter_mm: float, width_mm: float | None) -> Measuring | None:
    """How to read a hole's diameter: by the calliper, or by a gauge where its jaws are no good."""
    tools = shop.instruments
    calliper = Measuring("calliper", tools.calliper.uncertainty_mm)
    is_enough = width_mm is None or calliper.uncertainty_mm <= COARSE_SHARE * width_mm + _SAME_MM
    is_wide = diameter_mm >= LEAST_JAWS_MM - _SAME_MM
    if is_enough and is_wide and _reads(tools.calliper, diameter_mm):
        return calliper
    if _reads(tools.bore_gauge, diameter_mm):
        return Measuring("bore gauge", tools.bore_gauge.uncertainty_mm)
    return calliper if _reads(tools.calliper, diameter_mm) else None
