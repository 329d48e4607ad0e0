"""The distances that would show a slip at zeroing, worked out once more from the part.

Imports the part, the dials and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from millprep.base.findings import Finding
from millprep.reading.pages import Betrayal, Figure
from millprep.witness.printed import Printed

_REMEDY = "the sheet does not agree with the part file; please report it"
LEAST_APART_MM = 0.25  # between readings that mean different slips, after rounding
_TURN = "one turn of the handle out"
_UNIT = "readout in the other unit"


def check_betrayal(
    printed: Printed, betrayal: Betrayal, named: Mapping[str, list[str]], line: int | None
) -> Iterator[Finding]:
    """The right distance is the part's, each wrong one what the slip makes of it, all apart."""
    offers = [*_from_face(printed, betrayal, named), *_between(printed, betrayal, named)]
    if not any(_agrees(betrayal, right, slips) for right, slips in offers):
        what = ", ".join(f"{reading.mm:g}" for reading, _ in betrayal.readings)
        words = (
            f"IF IT READS has {betrayal.right.mm:g} mm for {betrayal.start} to {betrayal.end}, "
            f"and {what}"
        )
        yield printed.stop("wrong-figure", words, _REMEDY, line=line or printed.setup.line)
    values = [(betrayal.right.mm, ""), *((one.mm, slip) for one, slip in betrayal.readings)]
    for index, (value, slip) in enumerate(values):
        for other, another in values[:index]:
            if slip != another and abs(value - other) < LEAST_APART_MM:
                words = f"IF IT READS {value:g} mm: {slip}, or {another or 'right'}"
                yield printed.stop("wrong-figure", words, _REMEDY, line=line or printed.setup.line)


Slips = Mapping[str, Sequence[float]]


def _agrees(betrayal: Betrayal, right: float, slips: Slips) -> bool:
    return _is_near(betrayal.right, [right]) and all(
        _is_near(reading, slips[slip]) for reading, slip in betrayal.readings if slip in slips
    )


def _is_near(figure: Figure, exact: Sequence[float]) -> bool:
    return any(abs(figure.mm - one) <= figure.half_digit_mm + 1e-6 for one in exact)


def _from_face(
    printed: Printed, betrayal: Betrayal, named: Mapping[str, list[str]]
) -> Iterator[tuple[float, Slips]]:
    upright = printed.upright.get(betrayal.start.lower()) if betrayal.start.isupper() else None
    if upright is None:
        return
    axis = upright.axis
    beyond = _beyond(printed, axis) * -upright.outward
    across = 2 * abs(upright.at_mm - printed.middle[axis])
    for name in named.get(betrayal.end.replace(" ", ""), ()):
        at = printed.places[name][axis]
        right = (upright.at_mm - at) * upright.outward
        slips: dict[str, Sequence[float]] = {
            "finder's radius forgotten": [right + beyond],
            "finder's radius the wrong way": [right + 2 * beyond],
            "wrong edge or mirrored": [across - right],
            _UNIT: [(upright.at_mm - at * _stretch(printed)) * upright.outward],
        }
        if lead := _leads(printed)[axis]:
            slips[_TURN] = [right - lead, right + lead]
        yield right, slips


def _beyond(printed: Printed, axis: int) -> float:
    """From what the finder meets to its axis, signed, where it first touches for a zero; else 0."""
    for reading in printed.setup.finder_readings:
        face = printed.upright.get(reading.face)
        if face is not None and face.axis == axis:
            side = face.outward if reading.against == "face" else -face.outward
            return side * reading.finder.mm / 2
    return 0.0


def _between(
    printed: Printed, betrayal: Betrayal, named: Mapping[str, list[str]]
) -> Iterator[tuple[float, Slips]]:
    """Start and end may be cut in two places where a name holds " to "."""
    pieces = f"{betrayal.start} to {betrayal.end}".split(" to ")
    for split in range(1, len(pieces)):
        starts = named.get(" to ".join(pieces[:split]).replace(" ", ""), ())
        ends = named.get(" to ".join(pieces[split:]).replace(" ", ""), ())
        for start in starts:
            for end in ends:
                (x, y), (x2, y2) = printed.places[start], printed.places[end]
                right = math.hypot(x2 - x, y2 - y)
                slips: dict[str, Sequence[float]] = {_UNIT: [right * _stretch(printed)]}
                lead_x, lead_y = _leads(printed)
                if lead_x or lead_y:
                    slips[_TURN] = [
                        math.hypot(x2 - x + sign * along, y2 - y + sign * up)
                        for sign in (-1, 1)
                        for along, up in ((lead_x, 0.0), (0.0, lead_y))
                    ]
                yield right, slips


def _leads(printed: Printed) -> tuple[float, float]:
    x, y = (printed.dials.get(axis) for axis in "xy")
    return x.lead_mm if x else 0.0, y.lead_mm if y else 0.0


def _stretch(printed: Printed) -> float:
    """How far a readout in the other unit goes for one that is asked for."""
    return 25.4 if printed.setup.units == "mm" else 1 / 25.4
