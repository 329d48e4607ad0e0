"""The distances that would show a slip at zeroing, worked out once more from the part.

Imports the part, the dials and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping

from millprep.base.findings import Finding
from millprep.reading.pages.printed import Figure
from millprep.reading.pages.slots import Said, as_figure
from millprep.witness.set_up import Run, SetUp

LEAST_APART_MM = 0.25  # between readings that mean different slips, after rounding
TOLD_APART_MM = 0.3  # what a calliper on a spot tells apart (common practice)
_MOST_SPOTS = 8  # a person measures two or three; no more are looked at
_ROUNDED_MM = 1e-6
Slips = Mapping[str, tuple[float, ...]]
"""What a right distance becomes after each slip, by the slip."""


def from_face(one: SetUp, face: str, name: str) -> tuple[float, Slips]:
    """The distance of a hole from an upright face, and after each slip [mm]."""
    upright = one.printed.upright[face]
    axis, outward = upright.axis, upright.outward
    at = one.printed.places[name][axis]
    right = (upright.at_mm - at) * outward
    beyond = _beyond_mm(one, axis) * -outward
    lead = _leads(one)[axis]
    return right, {
        "radius-left-out": (right + beyond,),
        "radius-wrong-way": (right + 2 * beyond,),
        "wrong-edge": (one.size_along_mm(axis) - right,),
        "one-turn": (right - lead, right + lead) if lead else (),
        "other-unit": ((upright.at_mm - at * _stretch(one)) * outward,),
    }


def between(one: SetUp, name: str, other: str) -> tuple[float, Slips]:
    """The distance of two holes, and after each slip [mm]."""
    (x, y), (x2, y2) = one.printed.places[name], one.printed.places[other]
    right = math.hypot(x2 - x, y2 - y)
    lead_x, lead_y = _leads(one)
    turns = [
        math.hypot(x2 - x + sign * along, y2 - y + sign * up)
        for sign in (-1, 1)
        for along, up in ((lead_x, 0.0), (0.0, lead_y))
        if along or up
    ]
    return right, {"one-turn": tuple(turns), "other-unit": (right * _stretch(one),)}


def _beyond_mm(one: SetUp, axis: int) -> float:
    """From what the finder meets to its axis, signed, where it first touches for a zero; else 0."""
    for said in one.all("zero-touch", "zero-dial"):
        touch = said.parts("touches")[0] if said.slug == "zero-touch" else said
        upright = one.printed.upright.get(touch.face("on"))
        if said.axis("axis") == "xy"[axis] and upright is not None:
            way = 1 if touch["with"] == "finder" else -1
            return way * upright.outward * one.shop.finder.diameter_mm / 2
    return 0.0


def _leads(one: SetUp) -> tuple[float, float]:
    x, y = (one.shop.dials.get(axis) for axis in "xy")
    return x.lead_mm if x else 0.0, y.lead_mm if y else 0.0


def _stretch(one: SetUp) -> float:
    """How far a readout in the other unit goes for one that is asked for."""
    return 25.4 if one.printed.setup.units == "mm" else 1 / 25.4


def reads_due(one: SetUp, rows: Run) -> dict[str, bool]:
    """Along which axis, and whether from spot to spot, a calliper would show a slip."""
    names = [row.hole for row in rows[:_MOST_SPOTS] if row.hole in one.printed.places]
    due = {}
    for axis in (0, 1):
        low, _ = one.along(axis)
        face = low if one.zeros[axis] == "centre" else one.zeros[axis]
        across = one.size_along_mm(axis)
        due["xy"[axis]] = any(_shows_one(*from_face(one, face, name), across) for name in names)
    most = math.hypot(one.size_along_mm(0), one.size_along_mm(1))
    others = [between(one, names[0], other) for other in names[1:]]
    due["both"] = any(_shows_one(right, slips, most) for right, slips in others)
    return due


def _shows_one(right: float, slips: Slips, most: float) -> bool:
    values = [value for each in slips.values() for value in each]
    return any(0 < value < most and abs(value - right) >= TOLD_APART_MM for value in values)


def check_reads(one: SetUp, said: Said, here: Collection[str]) -> Iterator[Finding]:
    """The right distance is the part's, each wrong one what the slip makes of it, all apart."""
    unit = "mm" if one.printed.setup.units == "mm" else "in"
    readings = [
        (as_figure(value, said.units), part["slip"])
        for part in said.parts("readings")
        for value in part["values"]
    ]
    offer = _offer(one, said, here)
    right = said.figure("right")
    if offer is None or not said["right"].endswith(f" {unit}"):
        yield one.wrong(f"{said.text}: nothing here can be measured so", said)
        return
    exact, slips = offer
    is_so = _is_near(right, (exact,)) and all(
        _is_near(one, slips.get(slip, ())) for one, slip in readings
    )
    if not is_so or len({part["slip"] for part in said.parts("readings")}) != len(
        said.parts("readings")
    ):
        yield one.wrong(f"{said.text}: it is {exact:.3f} mm", said)
    values = [(right.mm, ""), *((one.mm, slip) for one, slip in readings)]
    for index, (value, slip) in enumerate(values):
        for other, another in values[:index]:
            if slip != another and abs(value - other) < LEAST_APART_MM:
                words = f"IF IT READS {value:g} mm: {slip}, or {another or 'right'}"
                yield one.wrong(words, said)
    told: dict[str, list[float]] = {}
    for part in said.parts("readings"):
        told[part["slip"]] = [float(value) for value in part["values"]]
    named = {slip: one[0] if len(one) == 1 else one for slip, one in told.items()}
    yield from one.named(said, slips=named)


def _offer(one: SetUp, said: Said, here: Collection[str]) -> tuple[float, Slips] | None:
    """What the distance is, and after each slip; None where it is none of these rows."""
    name = said["to"]
    if name not in one.printed.places or name not in here:
        return None
    if said.slug == "reads-face":
        face = said.face("from")
        return from_face(one, face, name) if face in one.printed.upright else None
    other = said["from"]
    return between(one, other, name) if other in one.printed.places and other in here else None


def _is_near(figure: Figure, exact: tuple[float, ...]) -> bool:
    return any(abs(figure.mm - each) <= figure.half_digit_mm + _ROUNDED_MM for each in exact)
