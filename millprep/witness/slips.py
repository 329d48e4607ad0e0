"""The distances that would show a slip at zeroing, worked out once more from the part.

Imports the part, the dials and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence

from millprep.base.findings import Finding
from millprep.reading.pages.printed import Figure, UnreadableSheet
from millprep.reading.pages.sheet import ReadRow
from millprep.reading.pages.slots import Said, as_figure
from millprep.witness.set_up import Run, SetUp

LEAST_APART_MM = 0.25  # between readings that mean different slips, after rounding
TOLD_APART_MM = 0.3  # what a calliper on a spot tells apart (common practice)
_MOST_SPOTS = 8  # a person measures two or three; no more are looked at
_ROUNDED_MM = 1e-6
SLIPS = ("radius-left-out", "radius-wrong-way", "wrong-edge", "one-turn", "other-unit")
Slips = Mapping[str, tuple[float, ...]]
"""What a right distance becomes after each slip, by the slip."""


def from_face(one: SetUp, face: str, name: str, *, with_turns: bool = False) -> tuple[float, Slips]:
    """The distance of a hole from an upright face, and after each slip [mm].

    with_turns : of a handle too, where a readout counts them
    """
    upright = one.printed.upright[face]
    axis, outward = upright.axis, upright.outward
    at = one.printed.places[name][axis]
    right = (upright.at_mm - at) * outward
    beyond = _beyond_mm(one, axis) * -outward
    lead = _leads(one, with_turns=with_turns)[axis]
    return right, {
        "radius-left-out": (right + beyond,),
        "radius-wrong-way": (right + 2 * beyond,),
        "wrong-edge": (one.size_along_mm(axis) - right,),
        "one-turn": (right - lead, right + lead) if lead else (),
        "other-unit": ((upright.at_mm - at * _stretch(one)) * outward,),
    }


def between(one: SetUp, name: str, other: str, *, with_turns: bool = False) -> tuple[float, Slips]:
    """The distance of two holes, and after each slip [mm]."""
    (x, y), (x2, y2) = one.printed.places[name], one.printed.places[other]
    right = math.hypot(x2 - x, y2 - y)
    lead_x, lead_y = _leads(one, with_turns=with_turns)
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
        if upright is not None and upright.axis == axis:
            way = 1 if touch["with"] == "finder" else -1
            return way * upright.outward * one.shop.finder.diameter_mm / 2
    return 0.0


def _leads(one: SetUp, *, with_turns: bool) -> tuple[float, float]:
    """What a turn of each handle moves; 0 on a sheet for a readout, which counts turns itself, but
    for its JSON."""
    is_asked = with_turns or one.all("dial")
    x, y = (one.shop.dials.get(axis) if is_asked else None for axis in "xy")
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


def check_reads(one: SetUp, row: ReadRow, here: Collection[str]) -> Iterator[Finding]:
    """The right distance is the part's, each wrong one what the slip makes of it, all apart."""
    said, offer = row.said, _offer(one, row.said, here)
    told = _readings(said)
    right = said.figure("right")
    if offer is None:
        yield one.wrong(f"{_words(said)}: nothing here can be measured so", said)
        return
    exact, slips = offer
    readings = [(as_figure(value, said.units), slip) for slip in told for value in told[slip]]
    is_so = _is_near(right, (exact,)) and all(
        _is_near(one, slips.get(slip, ())) for one, slip in readings
    )
    if not is_so or not readings:
        yield one.wrong(f"{_words(said)}: it is {exact:.3f} mm", said)
    values = [(right.mm, ""), *((one.mm, slip) for one, slip in readings)]
    for index, (value, slip) in enumerate(values):
        for other, another in values[:index]:
            if slip != another and abs(value - other) < LEAST_APART_MM:
                words = f"CHECK {value:g} mm: {slip}, or {another or 'right'}"
                yield one.wrong(words, said)
    exact_mm = said.slots.get("right_exact_mm")
    if exact_mm is not None and abs(float(exact_mm) - exact) > _ROUNDED_MM:
        yield one.wrong(f"{_words(said)}: {exact_mm} by name", said)


def _words(said: Said) -> str:
    return f"{said['from']} to {said['to']} {said['right']}"


def _readings(said: Said) -> dict[str, Sequence[str]]:
    """By the slip, in the columns or by name. Raises UnreadableSheet where names differ."""
    if "slips" not in said.slots:
        cells = {slip: said.slots.get(slip.replace("-", "_")) for slip in SLIPS}
        return {slip: cell.split("/") for slip, cell in cells.items() if cell not in (None, "-")}
    told = {part["slip"]: part["values"] for part in said.slots["readings"] or ()}
    named = {slip: one if isinstance(one, list) else [one] for slip, one in said["slips"].items()}
    if told != named or len(told) != len(said["readings"]):
        raise UnreadableSheet(f"{_words(said)}: {named} by slip, {told} by reading")
    return told


def is_from_face(said: Said) -> bool:
    """Whether it is measured from a face; JSON has the axis in place of capitals."""
    axis = said.slots.get("axis")
    return axis is not None if "slips" in said.slots else said.slug == "check face"


def _offer(one: SetUp, said: Said, here: Collection[str]) -> tuple[float, Slips] | None:
    """What the distance is, and after each slip; None where it is none of these rows."""
    name = said["to"]
    if name not in one.printed.places or name not in here:
        return None
    with_turns = "slips" in said.slots
    if is_from_face(said):
        face = said.face("from")
        is_upright = face in one.printed.upright
        return from_face(one, face, name, with_turns=with_turns) if is_upright else None
    other = said["from"]
    return (
        between(one, other, name, with_turns=with_turns)
        if other in one.printed.places and other in here
        else None
    )


def _is_near(figure: Figure, exact: tuple[float, ...]) -> bool:
    return any(abs(figure.mm - each) <= figure.half_digit_mm + _ROUNDED_MM for each in exact)
