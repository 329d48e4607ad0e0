"""What a dial sheet says of its dials, its zero and its places, against the part and the shop.

Imports the part, the shop and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction

import numpy as np

from millprep.base.findings import Finding
from millprep.reading.pages.printed import Figure, figure
from millprep.reading.pages.slots import Said
from millprep.witness import from_part
from millprep.witness.compared import near
from millprep.witness.finding_zero import is_jaw_free, lies_on, tip_faults
from millprep.witness.printed import SLACK_MM, Printed, Upright
from millprep.witness.set_up import SetUp
from millprep.witness.told_places import check_recover_told, fit_to_recover
from millprep.witness.wheel import DialFigure, Wheel, settings_said

_HIGH = {"x": "right hand", "y": "away", "z": "up"}
_LOW = {"x": "left hand", "y": "towards you", "z": "down"}
_MET = {"finder": "face", "jaw": "fixed jaw", "stop": "stop"}
_SIZE_ROUNDED_MM = 0.0013  # sizes in sentences are told to 0.001 mm or 0.0001 in
_FINEST_RULE_MM = 25.4 / 64  # rules are divided to a 64th of an inch


def check_dial_words(body: SetUp, wheels: Sequence[Wheel]) -> Iterator[Finding]:
    """ZERO, DIALS, WHERE and RECOVER."""
    zeros = body.page.whole.all("zero-dial", "zero-dial-hole")
    if [one["axis"] for one in zeros] != ["X", "Y"]:
        yield body.wrong("ZERO does not tell of X and of Y")
    for said in zeros:
        if said.slug == "zero-dial":
            yield from body.named(said, side=body.side_of(said.face("on")))
        for words in _zero_faults(body, wheels["XY".index(said["axis"])], said):
            yield body.wrong(f"ZERO of {said['axis']} {words}", said)
    yield from _check_dials(body, wheels)
    yield from _check_numbering(body, wheels)
    yield from _check_places(body, wheels)
    yield from _check_recovery(body, wheels)


# Zero.


def _zero_faults(body: SetUp, wheel: Wheel, said: Said) -> Iterator[str]:
    """What is wrong with how an axis is zeroed, in words."""
    printed, axis = body.printed, "xy".index(wheel.axis)
    zero = said.face("zero")
    if said.face("over").removesuffix(" line") != zero:
        yield f"ends over {said['over']}"
    along = [face for face, one in printed.upright.items() if one.axis == axis]
    if said.has("blocked") and said.face("blocked") not in along:
        yield f"has {said['blocked']} out of reach"
    zeros = ("dial", "indicator", "again", "dial_then", "dial_again")
    if any(said.slots.get(one) not in (None, "0") for one in zeros):
        yield "sets another figure than 0"
    yield from _across_faults(printed, said, axis)
    if said.slug == "zero-dial-hole":
        yield from _hand_faults(wheel, said, wheel.way)
        if not any(_is_zero(wheel, said, at) for at in _made_places(printed, said["on"], axis)):
            yield f"does not come from {said['on']} to zero"
        return
    face, met = said.face("on"), _MET[said["with"]]
    upright = printed.upright.get(face)
    if upright is None or upright.axis != axis:
        yield f"touches {said['on']}"
        return
    yield from _finder_faults(body, said, met)
    outside = upright.outward if met == "face" else -upright.outward
    yield from _reach_faults(wheel, said, met, upright)
    yield from _hand_faults(wheel, said, -int(outside))
    at = upright.at_mm + outside * body.shop.finder.diameter_mm / 2
    if not _is_zero(wheel, said, at):
        yield f"does not come the {abs(at):.3f} mm from the touch to zero"


def _across_faults(printed: Printed, said: Said, axis: int) -> Iterator[str]:
    """A size across the part is the blank's, from its low face to its high one."""
    if not said.has("across"):
        return
    ends = sorted((one.at_mm, face) for face, one in printed.upright.items() if one.axis == axis)
    (low_mm, low), (high_mm, high) = ends
    faces = said.face("low"), said.face("high")
    if faces != (low, high) or abs(said.mm("across") - (high_mm - low_mm)) > printed.half_count_mm:
        yield f"reckons {said['low']} to {said['high']} as {said['across']}"


def _finder_faults(body: SetUp, said: Said, met: str) -> Iterator[str]:
    finder = body.shop.finder
    if abs(said.mm("finder") - finder.diameter_mm) > _SIZE_ROUNDED_MM:
        yield f"has a finder of {said['finder']}; it is {finder.diameter_mm:g} mm"
    speed = float(said["rpm"]) if said.has("rpm") else None
    if speed != finder.speed_rpm:
        yield "has a finder at another speed than the shop's"
    if met != "face" and not lies_on(body, met.removeprefix("fixed "), said.face("on")):
        yield f"meets the {met} at {said['on']}, and HOLD has another face there"
    is_before = met == "stop" or (met == "fixed jaw" and not is_jaw_free(body))
    if said.has("when") != is_before:
        yield "is not found with the part out where it is found so, or the other way about"
    yield from tip_faults(body, said, "xy".index(said.axis("axis")), met == "face")


def _reach_faults(wheel: Wheel, said: Said, met: str, upright: Upright) -> Iterator[str]:
    """What is met first on the way to zero is touched, unless it is out of reach.

    A size across the part is told wherever the touch is not at the zero's own face.
    """
    is_first = met == "face" and upright.outward == -wheel.way
    if not said.has("blocked") and not is_first:
        yield f"touches {said['on']}, which is not met on the way to zero"
    is_across = said.has("blocked") and said.face("on") != said.face("zero")
    if is_across != said.has("across"):
        yield f"tells a size across for {said['on']}, or leaves it out"


def _hand_faults(wheel: Wheel, said: Said, met_way: int) -> Iterator[str]:
    """The handle turns as it must, and what is met from the far side is come up to once more."""
    if said["hand"] != wheel.hand(met_way):
        yield f"has the handle {said['hand']}"
    if said.has("past_turns") != (met_way != wheel.way):
        yield f"is met from the {'usual' if said.has('past_turns') else 'far'} side"
    elif said.has("past_turns"):
        turns = float(said["past_turns"])
        beyond = turns * wheel.dial.lead_mm - wheel.least_past_mm
        tenth = 0.1 * wheel.dial.lead_mm + SLACK_MM
        if said["come_up"] != wheel.hand() or not -SLACK_MM <= beyond <= tenth:
            yield f"goes on {turns:g} turns and comes up {said['come_up']}"


def _is_zero(wheel: Wheel, said: Said, at_mm: float) -> bool:
    """Whether the way from a place leads to zero, come up to from the usual side."""
    back = settings_said(said, "back")
    (go_on,) = settings_said(said, "to" if back else "on_to")
    side = -wheel.way if back else wheel.way
    goes = wheel.count(go_on, side) * wheel.division_mm
    if wheel.fault(go_on, side) or abs(goes + at_mm) > wheel.division_mm / 2 + SLACK_MM:
        return False
    if not back:
        return True
    past = (goes - wheel.count(back[0], side) * wheel.division_mm) * wheel.way
    return not wheel.fault(back[0], side) and wheel.is_past_enough(past)


def _made_places(printed: Printed, name: str, axis: int) -> list[float]:
    """Where the holes of that name that go through the part stand on the machine."""
    named = [hole for hole in printed.part.holes if hole.is_through and hole.name == name]
    placed = [
        from_part(printed.lay, printed.part, np.array([hole.centre_mm]).T).ravel().tolist()
        for hole in named
    ]
    return [printed.on_machine((x, y))[axis] for x, y, _ in placed]


# The dials.


def _check_dials(body: SetUp, wheels: Sequence[Wheel]) -> Iterator[Finding]:
    """Lead, divisions and directions of each dial are the shop's."""
    dials, whole = body.shop.dials, body.page.whole
    if [one["axis"].lower() for one in whole.all("dial")] != [
        axis for axis in "xyz" if axis in dials
    ]:
        yield body.wrong("DIALS does not tell of every dial of the shop once")
        return
    for said in whole.all("dial"):
        axis = said["axis"].lower()
        dial = dials[axis]
        unit = " mm" if body.printed.setup.units == "mm" else " in"
        ten = 10 * dial.lead_mm * (1 + dial.correction_ppm / 1e6)
        due = {
            "lead": near(dial.lead_mm, 1e-5 * dial.lead_mm),
            "divisions": near(dial.divisions, 1e-5 * dial.divisions, is_plain=True),
            "goes": (_HIGH if dial.clockwise == "+" else _LOW)[axis],
            "rise": dial.numbers_rise,
            "check_turns": "10",
            "measures": near(ten, said.figure("measures").half_digit_mm + SLACK_MM),
        }
        yield from body.says(said, due)
        if not said["measures"].endswith(unit):
            yield body.wrong(f"{said.text}: not in{unit}", said)
    come_up = whole.all("come-up", "come-up-half")
    if [one["axis"] for one in come_up] != ["X", "Y"]:
        yield body.wrong("DIALS does not tell how X and Y are come up to")
    for said, wheel in zip(come_up, wheels, strict=False):
        turns = f"{wheel.least_past_mm / wheel.dial.lead_mm:.2g}"
        yield from body.named(said, past_turns=float(turns))
        yield from body.says(said, {"come_up": wheel.hand()})
        if turns != said.slots.get("past_turns", "0.5"):
            yield body.wrong(f"{said.text}: {turns} turns past the place", said)


def _is(told: Figure, exact_mm: float) -> bool:
    return abs(told.mm - exact_mm) <= told.half_digit_mm + SLACK_MM


def _check_numbering(body: SetUp, wheels: Sequence[Wheel]) -> Iterator[Finding]:
    """All moves wind with the figures when zero is on the side from which they grow."""
    setup, whole = body.printed.setup, body.page.whole
    is_so = all(wheel.way == wheel.grows for wheel in wheels)
    is_so = is_so and "centre" not in (setup.zero_x, setup.zero_y)
    told = len(whole.all("numbering-so")), len(whole.all("numbering-other"))
    if told != (int(is_so), int(not is_so)):
        yield body.wrong("whether moves wind with the figures is not told as it is")
    for said in whole.all("numbering-other"):
        for index, (name, wheel) in enumerate(zip(("x_face", "y_face"), wheels, strict=True)):
            upright = body.printed.upright.get(said.face(name))
            if upright is None or (upright.axis, upright.outward) != (index, -wheel.grows):
                yield body.wrong(f"zero on {said[name]} is not where moves wind so", said)


# Places.


def _check_places(body: SetUp, wheels: Sequence[Wheel]) -> Iterator[Finding]:
    """WHERE: the exact place, a rule's, and what the nearest division leaves over: of every hole
    that it does leave some of; JSON has all of them."""
    printed, whole = body.printed, body.page.whole
    rows = [row for row in whole.rows if row.table == "where"]
    where, names = whole.all("where"), sorted(row.said["hole"] for row in rows)
    over = sorted(name for name in printed.places if _is_left_over(printed, wheels, name))
    if len(where) != bool(over) or (where and where[0].has("along") != bool(printed.skew_deg)):
        yield body.wrong("WHERE does not tell how its table is read")
    unit = "mm" if printed.setup.units == "mm" else "in"
    for row in rows[:1]:
        units = [row.head.slots.get(f"{axis}_unit") for axis in "xy"] if row.head else []
        if any(one != unit for one in units):
            yield body.wrong(f"WHERE is headed {units}", row.said)
    if names != (sorted(printed.places) if body.page.title.named is not None else over):
        yield body.wrong("WHERE does not name every hole once that is not quite at its setting")
        return
    for row in rows:
        for index, wheel in enumerate(wheels):
            if words := _place_fault(printed, wheel, row.said, index):
                yield body.wrong(words, row.said)


def _is_left_over(printed: Printed, wheels: Sequence[Wheel], name: str) -> bool:
    """Whether half of the last digit or more is left in X or in Y."""
    half_mm = 0.0005 if printed.setup.units == "mm" else 0.00005 * 25.4
    places = printed.on_machine(printed.places[name])
    pairs = zip(places, wheels, strict=True)
    return any(abs(_left_mm(wheel, at_mm)) >= half_mm - SLACK_MM for at_mm, wheel in pairs)


def _left_mm(wheel: Wheel, exact_mm: float) -> float:
    return wheel.sign * (exact_mm - round(exact_mm / wheel.division_mm) * wheel.division_mm)


def _place_fault(printed: Printed, wheel: Wheel, said: Said, index: int) -> str:
    axis = wheel.axis
    on_part = printed.places[said["hole"]]
    exact = printed.on_machine(on_part)[index]
    left = _left_mm(wheel, exact)
    units = printed.setup.units
    told = figure(said[f"{axis}_beyond"].removeprefix("+").replace("-0.0000", "0.0000"), units)
    is_tie = abs(abs(left) - wheel.division_mm / 2) < SLACK_MM
    if (
        _is(said.figure(axis), wheel.sign * exact)
        and _is(_by_rule(said[f"{axis}_by_rule"], units), abs(on_part[index]))
        and (_is(told, left) or (is_tie and _is(told, -left)))
    ):
        return ""
    where = f"WHERE has {said['hole']} at {said[axis]} in {axis.upper()}"
    return f"{where}, {said[f'{axis}_beyond']} left over; it lies at {exact:.4f} mm"


def _by_rule(text: str, units: str) -> Figure:
    if units == "mm":
        return figure(text, "mm")
    inches = sum(Fraction(piece) for piece in text.split())
    return Figure(float(inches) * 25.4, _FINEST_RULE_MM / 2)


def _check_recovery(body: SetUp, wheels: Sequence[Wheel]) -> Iterator[Finding]:
    """Over the holes that give a lost zero back the dials stand as for the holes themselves."""
    printed = body.printed
    told, fit = body.page.whole.all("recover-dial"), fit_to_recover(body)
    yield from check_recover_told(body, told)
    for said in told:
        names = said["hole"], said["other"]
        places = [printed.places.get(name) if name in fit else None for name in names]
        if None in places or names[0] == names[1]:
            yield body.wrong(f"RECOVER names {' and '.join(names)}", said)
            continue
        for name, prefix, place in zip(names, ("", "other_"), places, strict=True):
            assert place is not None
            at = [settings_said(said, f"{prefix}{axis}")[0] for axis in "xy"]
            if not _stands_over(printed, wheels, at, place):
                yield body.wrong(f"RECOVER has not the settings of {name}", said)
        apart = math.dist(*(place for place in places if place is not None))
        if abs(apart - said.mm("apart_mm")) > printed.half_count_mm:
            yield body.wrong(f"the holes for a lost zero are {apart:.4f} mm apart", said)


def _stands_over(
    printed: Printed, wheels: Sequence[Wheel], at: Sequence[DialFigure], place: tuple[float, float]
) -> bool:
    return all(
        not wheel.fault(one, wheel.side(one))
        and abs(exact - wheel.place_mm(one)) <= wheel.division_mm / 2 + SLACK_MM
        for exact, one, wheel in zip(printed.on_machine(place), at, wheels, strict=True)
    )
