"""Pins in an assembly: the fit in each member, and whether it is what the pin is there for.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import HowPinned, PinJoint, Place
from millprep.model.part import Hole
from millprep.sums import pins
from millprep.sums.pins import PinFit, Sizes


@frozen
class Pinned:
    """A pin in the holes of one member. is_assumed : the hole's limits are what is usual."""

    joint: PinJoint
    how: HowPinned
    place: Place
    fit: PinFit
    is_assumed: bool


def pinned(joint: PinJoint) -> list[Pinned]:
    """The fit of the pin in each member."""
    rows = []
    for (how, place), measured in zip(joint.held, joint.measured_holes_mm, strict=True):
        hole = place.holes[0]
        sizes, is_assumed = _hole(hole, measured)
        rows.append(Pinned(joint, how, place, pins.fit_of(_pin(joint, place), sizes), is_assumed))
    return rows


def _pin(joint: PinJoint, place: Place) -> Sizes:
    if joint.measured_mm is not None:
        return pins.measured_sizes(joint.measured_mm)
    shaft = place.pin_class or joint.pin_class
    assert shaft is not None  # the file was refused without one
    return pins.pin_sizes(joint.diameter_mm, shaft)


def _hole(hole: Hole, measured_mm: float | None) -> tuple[Sizes, bool]:
    if measured_mm is not None:
        return pins.measured_sizes(measured_mm), False
    if hole.limits_um is not None:
        return pins.hole_sizes(hole.diameter_mm, hole.limits_um, hole.fit or "limits"), False
    return pins.hole_sizes(hole.diameter_mm, hole.kind.over_um, f"{hole.kind}ed"), True


def pin_findings(say: Say, row: Pinned) -> Iterator[Finding]:
    """What is wrong with a pin in one member."""
    joint, fit, place = row.joint, row.fit, row.place
    name = place.holes[0].name
    if row.how == "clear":
        if fit.least_mm <= 0:
            yield say.finding(
                "stop",
                "wrong-fit",
                joint,
                f"the pin should clear {place.words}, and has "
                f"{say.length(fit.least_mm, 3)} worst case",
                f"open that hole to more than {say.length(fit.pin.greatest_mm, 3)}",
                name,
            )
        return
    if row.is_assumed:
        yield say.finding(
            "note",
            "assumed",
            joint,
            f"{place.words} has no limits: taken as {_range(say, fit.hole)}",
            "give that hole a fit, pin or limits",
            name,
        )
    if row.how == "press" and pins.too_tight_mm(fit) > 0:
        yield say.finding(
            "stop" if fit.greatest_mm <= fit.least_mm + pins.too_tight_mm(fit) else "warning",
            "wrong-fit",
            joint,
            f"in {place.words} the pin is {clearance_words(fit)}: more than the "
            "heaviest press fit, H7/s6, ever is",
            f"it would split or scrape; for press: {pins.fits_for(row.how)}",
            name,
        )
    elif not pins.suits(fit, row.how):
        yield say.finding(
            "stop" if _is_contrary(row) else "warning",
            "wrong-fit",
            joint,
            f"in {place.words} the pin is meant to {_MEANT[row.how]}, and it is a "
            f"{fit.word} fit: {clearance_words(fit)}",
            f"for {row.how}: {pins.fits_for(row.how)}",
            name,
        )


_MEANT = {"press": "be pressed in", "slide": "slide", "pivot": "run"}


def _is_contrary(row: Pinned) -> bool:
    """Loose where it is to hold, tight where it is to move: not merely a grade too wide."""
    return row.fit.least_mm > 0 if row.how == "press" else row.fit.greatest_mm <= 0


def clearance_words(fit: PinFit) -> str:
    """ "4 to 20 um clearance", "12 um interference to 8 um clearance" """
    low, high = round(fit.least_mm * 1000), round(fit.greatest_mm * 1000)
    if low >= 0:
        return f"{low} to {high} um clearance"
    if high <= 0:
        return f"{-high} to {-low} um interference"
    return f"{-low} um interference to {high} um clearance"


def _range(say: Say, sizes: Sizes) -> str:
    return f"{say.length(sizes.least_mm, 3)} to {say.length(sizes.greatest_mm, 3)}"
