"""The words of a sheet beside its figures: tools, places, what to touch, look at and lock.

How the part is set up is in `setting_words`. Names of faces are in CAPITALS, places at the machine
are other words. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

import numpy as np

from millprep.model.part import FACE_AXIS, Hole, Part
from millprep.model.shop import Shop
from millprep.model.tools import Tap, Tool
from millprep.planning import Operation
from millprep.reference.materials import material_named
from millprep.setting.holding import faces_along
from millprep.setting.setups import Setup
from millprep.sheets.figures import Figures


def tool_line(tool: Tool) -> str:
    """A tool in full: kind, size as named, size in mm, and what its end looks like."""
    size = f"{tool.diameter_mm:.3f}".rstrip("0").rstrip(".") if tool.diameter_mm else "?"
    parts = [f"{tool.kind} {tool.words}"]
    if tool.words != f"{size} mm":
        parts.append(f"{size} mm")
    units = {"point": "deg", "lead": "threads" if isinstance(tool, Tap) else "mm"}
    for word, value in tool.told.items():
        digits = f"{value:.4f}".rstrip("0").rstrip(".") if word == "pitch" else f"{value:g}"
        parts.append(f"{word} {digits} {units.get(word, 'mm')}")
    if isinstance(tool, Tap) and tool.is_left_hand:
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
        f"{_from_face(part, setup, operation, 1, figures)}{_closer(part, operation.hole, figures)}"
        for operation in firsts.values()
    )


def _closer(part: Part, hole: Hole, figures: Figures) -> str:
    """A tolerance of its own, and the file's note."""
    words = ""
    if hole.position_mm is not None:
        words += f"; within dia {figures.size(hole.position_mm)}"
    elif hole.tolerance_mm is not None and hole.tolerance_mm != part.general_tolerance_mm:
        words += f"; within +/- {figures.size(hole.tolerance_mm)}"
    return words + (f"; {hole.note}" if hole.note else "")


def _from_face(part: Part, setup: Setup, operation: Operation, axis: int, figures: Figures) -> str:
    at = (operation.x_mm, operation.y_mm)[axis]
    zero = (setup.zero_x, setup.zero_y)[axis]
    low_face, high_face = faces_along(setup, axis)
    if zero == "centre":
        if figures.shown(at) == 0:
            return f"on the centre between {low_face.upper()} and {high_face.upper()}"
        side = high_face if at > 0 else low_face
        return f"{figures.words(at)} from the centre towards {side.upper()}"
    return f"{figures.words(at)} from {zero.upper()}"


def touch_off(operation: Operation, setup: Setup, part: Part, shop: Shop) -> str:
    """How Z is set for this tool, by its kind."""
    kind, face = operation.tool.kind, setup.face.upper()
    part_of_tool = {
        "counterbore": "touch the cutting edges",
        "end mill": "touch the end",
        "reamer": "touch the end",
        "tap": "touch the end",
        "boring head": "turn the spindle by hand and touch the boring tool",
    }.get(kind, "touch the tip")
    what = "Z" if shop.readout.axes == "xyz" else "the quill depth to"
    # a rim falls away to both sides of its highest line
    is_rim = part.stock.axis not in (None, FACE_AXIS[setup.face])
    where = ", along the disc's axis" if is_rim else ""
    return f"{part_of_tool} on {face} beside the hole{where}, set {what} 0"


def advice_of(part: Part) -> str:
    """What to mind in this material; empty when there is nothing to say."""
    material = material_named(part.material)
    return material.advice if material is not None else ""


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
    names = list(dict.fromkeys(o.hole.name for o in operations if o.is_true))
    if not names:
        return ""
    verb = next(o.hole.kind.done for o in operations if o.is_true)
    if len(names) == 1:
        return f"LOCK X and Y: {names[0]} is {verb}."
    return f"LOCK X and Y at each place: {len(names)} holes are {verb}."


def look_line(operations: Sequence[Operation], setup: Setup, figures: Figures) -> str:
    """After spotting, or the first drilling: how many there are, and one distance by rule."""
    count = len(operations)
    what = "spot" if operations[0].name == "spot drill" else "hole"
    spots = f"LOOK: {count} {what}{'s' if count > 1 else ''}."
    first = operations[0]
    places = np.array([[o.x_mm, o.y_mm] for o in operations])
    apart = np.hypot(*(places - places[0]).T)
    far = int(np.argmax(apart))
    if apart[far] > 1e-6:
        distance = by_rule(float(apart[far]), figures)
        return f"{spots} {first.hole.name} to {operations[far].hole.name}: {distance} by rule."
    low_face, high_face = faces_along(setup, 0)
    from_low = first.x_mm - setup.low_mm[0]
    from_high = setup.high_mm[0] - first.x_mm
    face, distance_mm = min((low_face, from_low), (high_face, from_high), key=lambda pair: pair[1])
    return f"{spots} {first.hole.name} to {face.upper()}: {by_rule(distance_mm, figures)} by rule."


def rule_words(setup: Setup, operation: Operation, figures: Figures) -> str:
    """A hole's distances from the two faces that a rule finds nearest, one an axis."""
    words = []
    for axis, at_mm in enumerate((operation.x_mm, operation.y_mm)):
        low, high = faces_along(setup, axis)
        from_low, from_high = at_mm - setup.low_mm[axis], setup.high_mm[axis] - at_mm
        face, distance = (low, from_low) if from_low <= from_high else (high, from_high)
        words.append(f"{by_rule(distance, figures)} from {face.upper()}")
    return ", ".join(words)


def by_rule(distance_mm: float, figures: Figures) -> str:
    """As a rule shows it: tenths of a millimetre, or the nearest 1/64 in."""
    if figures.units == "inch":
        return f"{_sixty_fourths(distance_mm)} in"
    return f"{distance_mm:.1f} mm"


def _sixty_fourths(distance_mm: float) -> str:
    whole, part = divmod(round(distance_mm / 25.4 * 64), 64)
    if not part:
        return str(whole)
    fraction = Fraction(part, 64)
    return f"{whole} {fraction}" if whole else str(fraction)


def size_lines(operations: Sequence[Operation], figures: Figures) -> list[str]:
    """What the finished size must be: limits of a bore, width of a cone, meeting from both ends."""
    lines: dict[str, list[str]] = {}
    for operation in operations:
        for line in _size_words(operation, figures):
            lines.setdefault(line, []).append(operation.hole.name)
    return [
        f"{line} ({_patterns(names)})" if len(lines) > 1 else line for line, names in lines.items()
    ]


def _size_words(operation: Operation, figures: Figures) -> Iterator[str]:
    hole = operation.hole
    if operation.is_finish and hole.limits_um is not None:
        lower, upper = (hole.diameter_mm + limit / 1000 for limit in hole.limits_um)
        fit = f" ({hole.fit})" if hole.fit else ""
        yield f"to size {_micron(lower, figures)} to {_micron(upper, figures)}{fit}"
    if operation.cone_mm is not None:
        yield f"opens to {figures.size(round(operation.cone_mm, 2))} {figures.unit} across"
    if operation.name == "drill" and hole.from_both_ends:
        yield "half from each end: the two halves meet in the middle"


def _micron(value_mm: float, figures: Figures) -> str:
    return f"{value_mm / 25.4:.5f}" if figures.units == "inch" else f"{value_mm:.3f}"


def _patterns(names: Sequence[str]) -> str:
    unique = list(dict.fromkeys(names))
    return ", ".join(unique) if len(unique) <= 3 else f"{unique[0]} and {len(unique) - 1} more"
