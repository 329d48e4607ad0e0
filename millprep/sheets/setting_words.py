"""The words of setting up: how the part lies, is turned, is held, is zeroed, is found again.

Names of faces are in CAPITALS, places at the machine are other words. Imports layers 0 to 4 and
`figures`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.base.units import Units, in_units
from millprep.model.part import OPPOSITE, Face, Part
from millprep.model.shop import Mill, Shop
from millprep.planning import Operation
from millprep.planning.blunders import Measure
from millprep.planning.head import HeadHeight, length_mm
from millprep.planning.recovery import recovery_pair
from millprep.setting.holding import Holding, faces_along, is_disc_on_end, size_along_mm
from millprep.setting.setups import Setup
from millprep.setting.skew import turned
from millprep.setting.turning import moves_between, turn_words
from millprep.setting.zeroing import AxisZero, made_holes, place_of
from millprep.sheets.figures import Figures

LEAST_PACKING_MM = 1.0  # less is no packing but the floor
MET = {
    "face": ("", ""),
    "fixed jaw": ("", "the fixed jaw beside "),
    "stop": ("before the part goes in, ", "the stop for "),
}  # what the finder meets: words before it, words before the face
_AT = {
    "left hand": "at your left hand",
    "right hand": "at your right hand",
    "towards you": "towards you",
    "away": "away from you",
}
CLOCKED_MM = 0.02  # by which an indicator may move round a rim or bore (common practice)


def lies_line(setup: Setup) -> str:
    return (
        f"{setup.face.upper()} up; {setup.towards_you.upper()} towards you, "
        f"{setup.away.upper()} away; {setup.left_hand.upper()} at your left hand."
    )


def turn_line(before: Setup, after: Setup, held_before: Holding, held: Holding) -> str:
    """How the part comes from the setup before into this one."""
    jaws = None if held.way != "vice" else after.request.jaws
    words = turn_words(moves_between(before, after), jaws)
    line = (
        f"deburr every hole and wipe the part first. From {before.face.upper()} up, "
        f"{before.towards_you.upper()} towards you: {words}."
    )
    if held.fixed is None or held.stop is None:
        return line
    was = (held_before.fixed, held_before.stop)
    jaw = "stays on" if held.fixed == was[0] else "comes to"
    stop = "stays at" if held.stop == was[1] else "comes to"
    return (
        f"{line} {held.fixed.upper()} {jaw} the fixed jaw, {held.stop.upper()} {stop} the stop"
        f"{_stop_moved(before, after, held_before.stop, held.stop)}."
    )


def _stop_moved(before: Setup, after: Setup, was: Face | None, stop: Face) -> str:
    """A stop left on the other hand would take the part by its wrong end."""
    side = side_of(after, stop)
    return "" if was is None or side_of(before, was) == side else f", moved to stand {_AT[side]}"


def side_of(setup: Setup, face: Face) -> str:
    """Where an upright face stands at the machine."""
    return {
        setup.towards_you: "towards you",
        setup.away: "away",
        setup.left_hand: "left hand",
        setup.right_hand: "right hand",
    }[face]


def hold_lines(
    part: Part, shop: Shop, setup: Setup, figures: Figures, holding: Holding
) -> tuple[str, ...]:
    """What holds it, which face is on the fixed jaw and which against the stop."""
    seat = OPPOSITE[setup.face].upper()
    if holding.way == "round":
        first = f"vice with vee jaws or three-jaw chuck, {seat} seated, {setup.face.upper()} level."
        is_turned = len({hole.face for hole in part.holes}) > 1
        lines = [first, *([_way_round(setup)] if is_turned else [])]
    elif holding.way == "clamped":
        lines = [
            f"clamped down, {seat} on the backing, {setup.left_hand.upper()} and "
            f"{setup.towards_you.upper()} square to the table; two clamps at least."
        ]
    else:
        lines = [_vice(shop, setup, holding, figures)]
    lines += [
        f"backing {figures.size(setup.request.backing_mm)} {figures.unit} thick under the part."
        for _ in range(bool(setup.request.backing_mm))
    ]
    lines += [
        f"keep clear of {obstacle.name}: up to Z {figures.shown(obstacle.high_mm[2])}."
        for obstacle in setup.request.obstacles
    ]
    return tuple(lines)


def _way_round(setup: Setup) -> str:
    """A disc with work on other faces too has a way round."""
    return f"ink {setup.towards_you.upper()} on the rim: it stands towards you."


def _vice(shop: Shop, setup: Setup, holding: Holding, figures: Figures) -> str:
    assert holding.fixed is not None
    assert holding.stop is not None
    return (
        f"vice, {_grip(setup, holding, figures)} grip, {holding.fixed.upper()} on the fixed jaw "
        f"({side_of(setup, holding.fixed)}), {holding.stop.upper()} to the stop, "
        f"{_seat(shop, setup, holding, figures)}."
    )


def _seat(shop: Shop, setup: Setup, holding: Holding, figures: Figures) -> str:
    """What the part stands on; places along the jaws as the readout shows them."""
    if holding.strips is None:
        if holding.needs_backing:
            return "no room for parallels: flat backing under the whole part"
        if setup.request.backing_mm:
            return "on the backing"
        is_low = holding.grip_mm > shop.vice.jaw_height_mm - LEAST_PACKING_MM
        return "on the floor of the vice" if is_low else "packed up from the floor of the vice"
    letter = "XY"[holding.jaws_axis]
    strips = []
    for at_mm in holding.strips.at_mm:
        ends = (at_mm, at_mm + holding.strips.thickness_mm)
        first, last = (figures.size(figures.signed(end, letter.lower())) for end in ends)
        strips.append(f"{letter} {first} to {last}")
    tall = holding.strips.height_mm
    height = f", {figures.size(tall)} {figures.unit} high" if tall is not None else ""
    return f"parallels along the jaws at {' and '.join(strips)}{height}"


def _grip(setup: Setup, holding: Holding, figures: Figures) -> str:
    """To the next whole millimetre or hundredth of an inch, unless it comes out even."""
    if setup.request.grip_mm is not None or holding.strips is not None:
        return f"{figures.size(holding.grip_mm)} {figures.unit}"
    if figures.units == "inch":
        return f"{math.ceil(holding.grip_mm / 0.254 - 1e-9) / 100:.2f} in"
    return f"{math.ceil(holding.grip_mm - 1e-9)} mm"


def zero_lines(
    part: Part,
    shop: Shop,
    setup: Setup,
    figures: Figures,
    zeros: Sequence[AxisZero],
    earlier: Sequence[Setup] = (),
    skew_deg: float = 0.0,
) -> tuple[str, ...]:
    """Signed presets for the finder on each axis, the move that checks them, other ways to zero.

    earlier : the setups that the part has been through; skew_deg : by which it lies askew in this
    """
    lines = [_axis_words(shop, setup, figures, zero, skew_deg) for zero in zeros]
    nought = f"{figures.shown(0.0)}"
    if "centre" in (setup.zero_x, setup.zero_y):
        over = "the centre" if setup.zero_x == setup.zero_y else "the centre line, on the edge"
    else:
        over = "the corner"
    lines.append(f"raise the spindle, go to X {nought} Y {nought}: it stands over {over}.")
    if is_disc_on_end(part, setup):
        lines.append(_clocking(part, setup, figures, skew_deg))
    for hole in made_holes(part, setup, earlier)[:1]:
        x, y = _shown_place(figures, *turned(*place_of(hole, setup), skew_deg))
        lines.append(f"over {hole.name}, made before, it must read X {x} Y {y}.")
    return tuple(lines)


def met_at_mm(setup: Setup, zero: AxisZero, skew_deg: float) -> float:
    """Where the spindle stands along the axis when what gives zero is met, in setup axes."""
    if zero.touch is not None:
        return zero.touch.at_mm
    assert zero.hole is not None
    return turned(*place_of(zero.hole, setup), skew_deg)[zero.axis]


def _axis_words(shop: Shop, setup: Setup, figures: Figures, zero: AxisZero, skew_deg: float) -> str:
    letter = "XY"[zero.axis]
    on = "the centre" if zero.zero == "centre" else zero.zero.upper()
    low, high = faces_along(setup, zero.axis)

    def reading(at_mm: float) -> str:
        return str(figures.shown(at_mm, letter.lower()))

    at = reading(met_at_mm(setup, zero, skew_deg))
    if zero.touch is None:
        assert zero.hole is not None
        words = f"over {zero.hole.name}, made before, set {letter} to {at}"
    else:
        before, met = MET[zero.touch.against]
        words = (
            f"{before}{_finder(shop, figures)} against {met}{zero.touch.face.upper()} "
            f"({side_of(setup, zero.touch.face)}), set {letter} to {at}"
        )
    if zero.again is not None:
        words += (
            f"; against {zero.again.face.upper()} ({side_of(setup, zero.again.face)}) "
            f"it must read {reading(zero.again.at_mm)}"
        )
    if zero.blocked is not None:
        words += f"; {zero.blocked[0].upper()} is out of reach, {zero.blocked[1]}"
    if zero.reckoned:
        across = figures.words(size_along_mm(setup, zero.axis))
        words += f"; measure {low.upper()} to {high.upper()}: reckoned as {across}"
    return f"{letter} on {on}: {words}"


def _clocking(part: Part, setup: Setup, figures: Figures, skew_deg: float) -> str:
    """A disc is truer clocked than touched."""
    middle = [(setup.low_mm[axis] + setup.high_mm[axis]) / 2 for axis in (0, 1)]
    x, y = _shown_place(figures, *turned(middle[0], middle[1], skew_deg))
    round_ = "bore" if part.stock.bore_mm is not None else "rim"
    within = in_units(CLOCKED_MM, figures.units)
    return (
        f"truer: an indicator in the spindle round the {round_}, to {within:.{_places(figures)}f} "
        f"{figures.unit} in a turn, then set X to {x} and Y to {y}."
    )


def _places(figures: Figures) -> int:
    return 2 if figures.units == "mm" else 4


def _shown_place(figures: Figures, x_mm: float, y_mm: float) -> tuple[str, str]:
    return str(figures.shown(x_mm, "x")), str(figures.shown(y_mm, "y"))


def finder_speed(shop: Shop) -> str:
    """At what speed the finder runs, where the shop file says it."""
    speed_rpm = shop.finder.speed_rpm
    return "" if speed_rpm is None else f" at {speed_rpm:g} rev/min"


def _finder(shop: Shop, figures: Figures) -> str:
    """By the size it is known by: a metric finder stays metric on an inch sheet."""
    diameter = shop.finder.diameter_mm
    inches = f"{diameter / 25.4:.4f}".rstrip("0").rstrip(".")
    is_metric = abs(diameter * 10 - round(diameter * 10)) < 1e-6
    if not is_metric:
        return f"{inches} in finder{finder_speed(shop)}"
    aside = f" ({inches} in)" if figures.units == "inch" else ""
    return f"{diameter:g} mm{aside} finder{finder_speed(shop)}"


def first_line(
    setup: Setup, first: Operation, figures: Figures, by_rule: str, skew_deg: float = 0.0
) -> str:
    """The first hole, tried with a rule before anything is cut. `by_rule` is its distances."""
    x, y = _shown_place(figures, *turned(first.x_mm, first.y_mm, skew_deg))
    return f"then go to X {x} Y {y}, over {first.hole.name}: by rule {by_rule}."


def skew_line(skew_deg: float) -> str:
    """Told where the part lies askew and X and Y have been turned with it."""
    way = "anticlockwise" if skew_deg > 0 else "clockwise"
    return (
        f"the part lies {abs(skew_deg):.4f} deg {way} as you look down; X and Y of the steps are "
        "turned with it. Touch close to the zero corner, and leave the part as it lies."
    )


def recovery_of(
    operations: Sequence[Operation], setup: Setup
) -> tuple[Operation, Operation] | None:
    """The two holes that give a lost zero back best, if there are two."""
    reach_mm = math.hypot(size_along_mm(setup, 0), size_along_mm(setup, 1)) / 2
    return recovery_pair(operations, reach_mm)


def recovery_lines(
    operations: Sequence[Operation], setup: Setup, figures: Figures, skew_deg: float = 0.0
) -> tuple[str, ...]:
    """Which two holes give a lost zero back; none where there are not two."""
    pair = recovery_of(operations, setup)
    if pair is None:
        return ()
    places = [_shown_place(figures, *turned(one.x_mm, one.y_mm, skew_deg)) for one in pair]
    apart = math.hypot(pair[0].x_mm - pair[1].x_mm, pair[0].y_mm - pair[1].y_mm)
    (x1, y1), (x2, y2) = places
    return (
        f"a lost zero is found again over {pair[0].hole.name}, X {x1} Y {y1}, and "
        f"{pair[1].hole.name}, X {x2} Y {y2}: {figures.words(apart)} apart.",
    )


def head_lines(
    heights: Sequence[HeadHeight], mill: Mill, figures: Figures, order: str = "tool"
) -> tuple[str, ...]:
    """What the quill does from each height of the head, and where the head has to move."""
    travel = mill.quill_travel_mm
    if not heights or travel is None:
        return ()
    if len(heights) == 1:
        first = "one height of the head does; lock it, and leave it for the whole setup."
    else:
        moves = len(heights) - 1
        often = "once" if moves == 1 else f"{moves} times"
        first = f"the head moves {often} and loses X and Y: find zero again there"
        first += "." if order == "hole" else "; the tools stand in the order that moves it least."
    return (first, *_heights(heights, travel, figures))


def _heights(heights: Sequence[HeadHeight], travel: float, figures: Figures) -> Iterator[str]:
    start = 1
    for height in heights:
        end = start + len(height.tools) - 1
        changes = f"change {start}" if start == end else f"changes {start} to {end}"
        if height.again is not None:
            found = "in the spot of" if height.again.name == "spot drill" else "over"
            changes += f", zero found again {found} {height.again.hole.name}"
        longest, shortest = length_mm(height.longest), length_mm(height.shortest)
        sizes = (longest, shortest, height.deepest_mm, height.needed_mm, travel)
        long, short, deep, needed, quill = (_tenths(size, figures) for size in sizes)
        yield (
            f"{changes}: longest {long}, shortest {short}, deepest {deep}: "
            f"{needed} of {quill} {figures.unit} of quill."
        )
        start = end + 1


def _tenths(value_mm: float, figures: Figures) -> str:
    value = in_units(value_mm, figures.units)
    return f"{value:.{1 if figures.units == 'mm' else 2}f}"


def blunder_lines(measures: Sequence[Measure], units: Units) -> list[str]:
    """The readings of a calliper on the first spots, and what each would mean."""
    return [_blunder_line(measure, units) for measure in measures]


def measure_lines(step: int, measures: Sequence[Measure], units: Units) -> tuple[str, ...]:
    """The same where a hole is finished before the next: after its first step."""
    if not measures:
        return ()
    when = f"MEASURE after step {step}, before it goes deeper."
    return (when, *blunder_lines(measures, units))


def _blunder_line(measure: Measure, units: Units) -> str:
    start = measure.face.upper() if measure.face is not None else measure.hole
    end = measure.hole if measure.face is not None else measure.other
    meanings: dict[str, list[str]] = {}
    for reading, slip in measure.readings:
        value = _by_calliper(reading, units)
        if value not in meanings.setdefault(slip, []):
            meanings[slip].append(value)
    told = "".join(f"; {' or '.join(values)}: {slip}" for slip, values in meanings.items())
    unit = "mm" if units == "mm" else "in"
    right = _by_calliper(measure.right_mm, units)
    return f"IF IT READS, {start} to {end}: {right} {unit} is right{told}."


def _by_calliper(value_mm: float, units: Units) -> str:
    """To what a calliper on a spot is good for."""
    return f"{in_units(value_mm, units):.{1 if units == 'mm' else 2}f}"
