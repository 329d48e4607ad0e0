"""The words of a sheet: how the part lies, is held, is zeroed; what to touch, look at and lock.

Names of faces are in CAPITALS, places at the machine are other words. Imports layers 0 to 4 and
`figures`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from millprep.figures import Figures
from millprep.part import OPPOSITE, Face, Part
from millprep.planning import Operation
from millprep.reference.materials import material_named
from millprep.setups import Setup
from millprep.shop import Shop, Tool

_RULE_STEP = 2  # decimals of a distance that a rule or calliper is to show


def tool_line(tool: Tool) -> str:
    """A tool in full: kind, size as named, size in mm, and what its end looks like."""
    size = f"{tool.diameter_mm:.3f}".rstrip("0").rstrip(".") if tool.diameter_mm else "?"
    parts = [f"{tool.kind} {tool.words}"]
    if tool.words != f"{size} mm":
        parts.append(f"{size} mm")
    if tool.point_angle_deg is not None:
        parts.append(f"point {tool.point_angle_deg:g} deg")
    if tool.tip_flat_mm:
        parts.append(f"flat {tool.tip_flat_mm:g} mm")
    if tool.pitch_mm is not None:
        parts.append(f"pitch {tool.pitch_mm:.4f}".rstrip("0").rstrip(".") + " mm")
    if tool.kind == "tap" and tool.lead_threads is not None:
        parts.append(f"lead {tool.lead_threads:g} threads")
    if tool.kind == "reamer" and tool.lead_mm is not None:
        parts.append(f"lead {tool.lead_mm:g} mm")
    if tool.is_left_hand:
        parts.append("left hand")
    return ", ".join(parts)


def stock_words(part: Part, figures: Figures) -> str:
    """Material and size as they lie on the bench."""
    stock = part.stock
    sizes = [figures.size(size) for size in stock.size_mm]
    if stock.axis is None:
        words = " x ".join(sizes)
    else:
        across = 1 if stock.axis == 0 else 0
        words = f"dia {sizes[across]} x {sizes[stock.axis]}"
        if stock.bore_mm is not None:
            words += f" with a bore of {figures.size(stock.bore_mm)}"
    measured = " (as measured)" if stock.size_mm != stock.nominal_mm else ""
    return f"{part.material}, {words} {figures.unit}{measured}"


def lies_line(setup: Setup) -> str:
    return (
        f"{setup.face.upper()} up; {setup.towards_you.upper()} towards you, "
        f"{setup.away.upper()} away; {setup.left_hand.upper()} at your left hand."
    )


def _side(setup: Setup, face: Face) -> str:
    return {
        setup.towards_you: "towards you",
        setup.away: "away",
        setup.left_hand: "left hand",
        setup.right_hand: "right hand",
    }[face]


def hold_lines(part: Part, shop: Shop, setup: Setup, figures: Figures) -> tuple[str, ...]:
    """What holds it, which face is on the fixed jaw and which against the stop."""
    if part.stock.axis is not None and np.abs(setup.rotation[2, part.stock.axis]) > 0.5:
        return (
            f"vice with vee jaws or three-jaw chuck, {OPPOSITE[setup.face].upper()} seated, "
            f"{setup.face.upper()} level.",
            *_backing(setup, figures),
        )
    if setup.request.jaws == "y":
        fixed = setup.away if shop.vice.fixed_jaw == "away" else setup.towards_you
    else:
        fixed = setup.right_hand
    stop = setup.zero_x if setup.zero_x != "centre" else setup.left_hand
    if setup.request.jaws == "x":
        stop = setup.zero_y if setup.zero_y != "centre" else setup.away
    lines = [
        f"vice, {_grip(setup, figures)} grip, {fixed.upper()} on the fixed "
        f"jaw ({_side(setup, fixed)}), {stop.upper()} to the stop, parallels clear of the holes.",
        *_backing(setup, figures),
    ]
    lines += [
        f"keep clear of {obstacle.name}: up to Z {figures.shown(obstacle.high_mm[2])}."
        for obstacle in setup.request.obstacles
    ]
    return tuple(lines)


def _grip(setup: Setup, figures: Figures) -> str:
    """To the next whole millimetre or hundredth of an inch, unless the file says otherwise."""
    if setup.request.grip_mm is not None:
        return f"{figures.size(setup.grip_mm)} {figures.unit}"
    if figures.units == "inch":
        return f"{math.ceil(setup.grip_mm / 0.254 - 1e-9) / 100:.2f} in"
    return f"{math.ceil(setup.grip_mm - 1e-9)} mm"


def _backing(setup: Setup, figures: Figures) -> list[str]:
    if not setup.request.backing_mm:
        return []
    return [
        f"backing {figures.size(setup.request.backing_mm)} {figures.unit} thick under the part."
    ]


def zero_lines(part: Part, shop: Shop, setup: Setup, figures: Figures) -> tuple[str, ...]:
    """Signed presets for the finder on each axis, and the move that checks them."""
    lines = [
        *_axis_zero(part, shop, setup, figures, 0),
        *_axis_zero(part, shop, setup, figures, 1),
    ]
    corner = f"{figures.shown(0.0)}"
    if "centre" in (setup.zero_x, setup.zero_y):
        over = "the centre" if setup.zero_x == setup.zero_y else "the centre line, on the edge"
    else:
        over = "the corner"
    lines.append(f"raise the spindle, go to X {corner} Y {corner}: it stands over {over}.")
    return tuple(lines)


def _axis_zero(part: Part, shop: Shop, setup: Setup, figures: Figures, axis: int) -> list[str]:
    """The finder touches from outside: its axis is a radius short of the face, or beyond it."""
    letter = "XY"[axis]
    zero = (setup.zero_x, setup.zero_y)[axis]
    low_face, high_face = _faces_along(setup, axis)
    radius = shop.finder.diameter_mm / 2
    finder = f"{figures.size(shop.finder.diameter_mm)} {figures.unit} finder"
    low, high = setup.low_mm[axis], setup.high_mm[axis]

    def preset(face: Face) -> str:
        at = low - radius if face == low_face else high + radius
        return str(figures.shown(at, letter.lower()))

    if zero != "centre":
        return [
            f"{letter} on {zero.upper()}: {finder} against {zero.upper()} "
            f"({_side(setup, zero)}), set {letter} to {preset(zero)}"
        ]
    return [
        f"{letter} on the centre: {finder} against {low_face.upper()} ({_side(setup, low_face)}), "
        f"set {letter} to {preset(low_face)}; against {high_face.upper()} "
        f"({_side(setup, high_face)}) it must read {preset(high_face)}"
    ]


def _faces_along(setup: Setup, axis: int) -> tuple[Face, Face]:
    """The faces at the low and the high end of setup X or Y."""
    if axis == 0:
        return setup.left_hand, setup.right_hand
    return setup.towards_you, setup.away


def places_of(
    part: Part, setup: Setup, operations: Sequence[Operation], figures: Figures
) -> tuple[str, ...]:
    """Where the first member of each pattern lies, in words from named faces."""
    firsts: dict[str, Operation] = {}
    for operation in operations:
        known = firsts.get(operation.hole.group)
        if known is None or (operation.hole.member or 0) < (known.hole.member or 0):
            firsts[operation.hole.group] = operation
    return tuple(
        f"{operation.hole.name}: {_from_face(part, setup, operation, 0, figures)}, "
        f"{_from_face(part, setup, operation, 1, figures)}"
        for operation in firsts.values()
    )


def _from_face(part: Part, setup: Setup, operation: Operation, axis: int, figures: Figures) -> str:
    at = (operation.x_mm, operation.y_mm)[axis]
    zero = (setup.zero_x, setup.zero_y)[axis]
    low_face, high_face = _faces_along(setup, axis)
    if zero == "centre":
        if figures.shown(at) == 0:
            return f"on the centre between {low_face.upper()} and {high_face.upper()}"
        side = high_face if at > 0 else low_face
        return f"{figures.words(at)} from the centre towards {side.upper()}"
    return f"{figures.words(at)} from {zero.upper()}"


def touch_off(operation: Operation, setup: Setup, shop: Shop) -> str:
    """How Z is set for this tool, by its kind."""
    kind, face = operation.tool.kind, setup.face.upper()
    part_of_tool = {
        "counterbore": "touch the cutting edges",
        "end mill": "touch the end",
        "reamer": "touch the end",
        "tap": "touch the end",
        "boring head": "turn the spindle by hand and touch the boring tool",
    }.get(kind, "touch the tip")
    if shop.readout.axes == "xyz":
        return f"{part_of_tool} on {face} beside the hole, set Z 0"
    return f"{part_of_tool} on {face} beside the hole, set the quill depth to 0"


def oil_words(part: Part, operation: Operation) -> list[str]:
    material = material_named(part.material)
    if material is None or not material.lubricant:
        return []
    if operation.name == "tap":
        return [f"oil: {material.lubricant}; turn back half a turn after each turn"]
    if operation.name == "ream":
        return [f"oil: {material.lubricant}; withdraw turning forwards, never backwards"]
    return [f"oil: {material.lubricant}"]


def lock_line(operations: Sequence[Operation]) -> str:
    """Reamed and bored holes want a table that cannot creep."""
    names = list(dict.fromkeys(o.hole.name for o in operations if o.name in ("ream", "bore")))
    if not names:
        return ""
    done = {"ream": "reamed", "bore": "bored"}
    verb = done[next(o.name for o in operations if o.name in done)]
    if len(names) == 1:
        return f"LOCK X and Y: {names[0]} is {verb}."
    return f"LOCK X and Y at each place: {len(names)} holes are {verb}."


def look_line(operations: Sequence[Operation], setup: Setup, figures: Figures) -> str:
    """After spotting: how many spots there are, and one distance that a rule can check."""
    count = len(operations)
    spots = f"LOOK: {count} spot{'s' if count > 1 else ''}."
    first = operations[0]
    places = np.array([[o.x_mm, o.y_mm] for o in operations])
    apart = np.hypot(*(places - places[0]).T)
    far = int(np.argmax(apart))
    if apart[far] > 1e-6:
        distance = _by_rule(float(apart[far]), figures)
        return f"{spots} {first.hole.name} to {operations[far].hole.name}: {distance} by rule."
    low_face, high_face = _faces_along(setup, 0)
    from_low = first.x_mm - setup.low_mm[0]
    from_high = setup.high_mm[0] - first.x_mm
    face, distance_mm = min((low_face, from_low), (high_face, from_high), key=lambda pair: pair[1])
    return f"{spots} {first.hole.name} to {face.upper()}: {_by_rule(distance_mm, figures)} by rule."


def _by_rule(distance_mm: float, figures: Figures) -> str:
    if figures.units == "inch":
        return f"{distance_mm / 25.4:.{_RULE_STEP}f} in"
    return f"{distance_mm:.{_RULE_STEP - 1}f} mm"
