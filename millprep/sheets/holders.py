"""What holds a part, as plain solids for its picture: no more of it than tells what it is.

Jaws are as long as the part and a little, and not as thick as they are: what holds is drawn for the
part's sake. Imports layers 0 to 2 and solids.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import numpy as np

from millprep.model.part import Part
from millprep.model.scene import Point
from millprep.model.shop import Shop
from millprep.setting.holding import Holding
from millprep.setting.round_bars import lip_mm
from millprep.setting.seating import Place, Strap
from millprep.setting.setups import Setup
from millprep.sheets.solids import Solid, block, rod, upright

_BEYOND = 0.08  # jaws over the end of the part, over its longest side
_THICK = 0.16  # of a jaw at most, likewise
_DEEP = 0.3  # below the part at most, likewise
_STOP = 0.07  # how thick the stop is, likewise
_STRAP_MM = 10.0  # how thick a strap is, below its nut
_HAIR = 1e-9
_CLEAR_MM = 1.0  # of a hole beside a clamp
_BOW = 0.3  # of a vee block's clamp, how thick it is, over half of the bar
_STUD_MM = 5.0  # half of what its nut is across
Span = tuple[float, float]


def holders_of(
    part: Part, shop: Shop, setup: Setup, holding: Holding, seen_from: Literal["left", "right"]
) -> tuple[tuple[Solid, ...], tuple[Solid, ...]]:
    """What stands behind and below the part, and what stands before and above it.

    The order within each counts where the boxes around two of them overlap.
    """
    behind: list[Solid] = []
    before = [
        block(one.name, one.low_mm, one.high_mm, says=one.name) for one in setup.request.obstacles
    ]
    longest = max(high - low for low, high in zip(setup.low_mm, setup.high_mm, strict=True))
    if holding.jaws_above_mm is not None:
        far, near = _jaws(shop, setup, holding, longest)
        behind += [*_under(setup, holding, longest), far]
        before.append(near)
    elif holding.way == "chuck":
        far_jaws, near_jaws = _chuck(setup, holding, seen_from)
        behind += far_jaws
        before += near_jaws
    elif holding.way == "vee blocks":
        behind += _vee_blocks(setup, holding)
        before += _vee_clamps(part, setup, holding, seen_from)
    elif holding.strapped is not None:
        behind += _on_table(shop, setup, holding)
        before += [piece for strap in holding.strapped.straps for piece in _strap(setup, strap)]
    if setup.request.backing_mm and holding.way != "chuck":
        behind.insert(0, _slab(setup, setup.request.backing_mm, "backing"))
    if holding.stop is not None:
        before.append(_stop(setup, holding, longest))
    return tuple(behind), tuple(before)


def _slab(setup: Setup, thick_mm: float, name: str) -> Solid:
    (x0, y0, z0), (x1, y1, _) = setup.low_mm, setup.high_mm
    return block(name, (x0, y0, z0 - thick_mm), (x1, y1, z0), says=name)


def _laid(axis: int, across: Span, along: Span, height: Span) -> tuple[Point, Point]:
    """Corners of a box, its way across along setup axis 0 or 1."""
    x, y = (across, along) if axis == 0 else (along, across)
    return (x[0], y[0], height[0]), (x[1], y[1], height[1])


def _along(shop: Shop, setup: Setup, holding: Holding, longest: float) -> Span:
    """How much of the jaws is drawn: they end with the part where the stop is."""
    other = 1 - holding.jaws_axis
    low, high = setup.low_mm[other], setup.high_mm[other]
    half, middle = shop.vice.jaw_width_mm / 2, (low + high) / 2
    ends = setup.left_hand if other == 0 else setup.towards_you
    is_low = holding.stop == ends
    beyond = _BEYOND * longest
    start = low if is_low else low - beyond
    end = high + beyond if is_low else high
    return max(start, middle - half), min(end, middle + half)


def _jaws(shop: Shop, setup: Setup, holding: Holding, longest: float) -> tuple[Solid, Solid]:
    """The jaw on the far side of the part, and the near one: at the right hand the far one too."""
    assert holding.jaws_above_mm is not None
    axis, vice = holding.jaws_axis, shop.vice
    low, high = setup.low_mm[axis], setup.high_mm[axis]
    top = setup.low_mm[2] + holding.jaws_above_mm
    bottom = max(top - vice.jaw_height_mm, setup.low_mm[2] - _DEEP * longest)
    along = _along(shop, setup, holding, longest)
    thick = min(vice.jaw_thickness_mm, _THICK * longest)
    is_high_fixed = axis == 0 or vice.fixed_jaw == "away"
    vee_mm = None
    if holding.way == "vee jaws" and vice.vee is not None and holding.flank_mm is not None:
        vee_mm = (low + high) / 2, lip_mm(vice.vee, high - low)
    jaws = []
    for is_high in (True, False):
        is_fixed = is_high == is_high_fixed
        face = high if is_high else low
        if vee_mm is not None and not is_fixed:
            face = vee_mm[0] + (-vee_mm[1] if is_high else vee_mm[1])
        across = (face, face + thick) if is_high else (face - thick, face)
        says = "fixed jaw" if is_fixed else "vee jaw" if vee_mm is not None else "moving jaw"
        jaws.append(block(says, *_laid(axis, across, along, (bottom, top)), says=says))
    far, near = jaws
    return far, near


def _under(setup: Setup, holding: Holding, longest: float) -> Iterator[Solid]:
    """Parallels, as long as the part, or packing under a bar that lies down."""
    z, axis = setup.low_mm[2], holding.jaws_axis
    other = 1 - axis
    along = (setup.low_mm[other], setup.high_mm[other])
    if holding.strips is not None:
        tall = min(holding.strips.height_mm or _DEEP * longest, _DEEP * longest)
        for at in sorted(holding.strips.at_mm, reverse=True):
            across = (at, at + holding.strips.thickness_mm)
            yield block("parallel", *_laid(axis, across, along, (z - tall, z)), says="parallel")
    elif holding.packing_mm:
        tall, wide = min(holding.packing_mm, _DEEP * longest), setup.height_mm / 4
        middle = (setup.low_mm[axis] + setup.high_mm[axis]) / 2
        across = (middle - wide, middle + wide)
        yield block("packing", *_laid(axis, across, along, (z - tall, z)), says="packing")


def _stop(setup: Setup, holding: Holding, longest: float) -> Solid:
    """A low block against the middle of its face."""
    assert holding.stop is not None
    is_along_x = holding.stop in (setup.left_hand, setup.right_hand)
    axis = 0 if is_along_x else 1
    is_low = holding.stop in (setup.left_hand, setup.towards_you)
    thick, other = _STOP * longest, 1 - axis
    face = setup.low_mm[axis] if is_low else setup.high_mm[axis]
    across = (face - thick, face) if is_low else (face, face + thick)
    low, high = setup.low_mm[other], setup.high_mm[other]
    middle, half = (low + high) / 2, min((high - low) / 6, 1.5 * thick)
    height = (setup.low_mm[2], setup.low_mm[2] + min(0.6 * setup.height_mm, 3.5 * thick))
    along = (middle - half, middle + half)
    return block("stop", *_laid(axis, across, along, height), says="stop")


def _chuck(
    setup: Setup, holding: Holding, seen_from: Literal["left", "right"]
) -> tuple[list[Solid], list[Solid]]:
    """Its body below the disc, and three jaws round it."""
    (x0, y0, z0), (x1, y1, _) = setup.low_mm, setup.high_mm
    x, y, radius = (x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2
    grip = min(max(setup.height_mm / 3, radius / 8), setup.height_mm * 0.8)
    under, deep = radius / 10, radius / 3
    body, jaw = 1.3 * radius, 0.14 * radius
    low, high = (x - body, y - body, z0 - under - deep), (x + body, y + body, z0 - under)
    behind = [rod("chuck", low, high, 2, says="chuck")]
    seat = "backing" if setup.request.backing_mm else ""
    behind.append(rod("seat", (x0, y0, z0 - under), (x1, y1, z0), 2, says=seat))
    before: list[Solid] = []
    sight = (-1.0 if seen_from == "left" else 1.0, -1.0)
    for turn_deg in (90.0, 210.0, 330.0):
        ways = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        plan = [
            (x + ways[0] * out - ways[1] * side, y + ways[1] * out + ways[0] * side)
            for out, side in (
                (radius, -jaw),
                (1.28 * radius, -jaw),
                (1.28 * radius, jaw),
                (radius, jaw),
            )
        ]
        solid = upright("jaw", plan, z0 - under, z0 + grip, says="jaw")
        is_near = ways[0] * sight[0] + ways[1] * sight[1] > 0
        (before if is_near else behind).append(solid)
    return behind, before


def _vee_blocks(setup: Setup, holding: Holding) -> Iterator[Solid]:
    """Two, near the ends of the bar, which rests in their vees."""
    axis = holding.jaws_axis
    other = 1 - axis
    low, high = setup.low_mm[axis], setup.high_mm[axis]
    middle, radius = (low + high) / 2, (high - low) / 2
    centre = setup.low_mm[2] + radius
    top, bottom = centre - radius * 0.15, setup.low_mm[2] - 0.9 * radius
    floor = centre - radius * math.sqrt(2)  # of a vee of 90 degrees: where its sides would meet
    half, mouth = 1.5 * radius, top - floor
    profile = [
        (-half, bottom),
        (half, bottom),
        (half, top),
        (mouth, top),
        (0.0, floor),
        (-mouth, top),
        (-half, top),
    ]
    for start, end in _blocks_along(setup, other, radius):
        corners = []
        for across, z in profile:
            x, y = (middle + across, start) if axis == 0 else (start, middle + across)
            corners.append((x, y, z))
        along = (0.0, end - start, 0.0) if axis == 0 else (end - start, 0.0, 0.0)
        yield Solid("vee block", tuple(corners), along, says="vee block")


def _blocks_along(setup: Setup, axis: int, radius: float) -> tuple[Span, Span]:
    """From where to where each block stands along the bar, the farther first."""
    start, end = setup.low_mm[axis], setup.high_mm[axis]
    thick = min(1.6 * radius, (end - start) / 4)
    return (end - 1.5 * thick, end - 0.5 * thick), (start + 0.5 * thick, start + 1.5 * thick)


def _vee_clamps(
    part: Part, setup: Setup, holding: Holding, seen_from: Literal["left", "right"]
) -> Iterator[Solid]:
    """Over each block a bow with a screw down onto the bar, where it hides no hole of this setup.

     ___|_|___
    |    |    |       from the block's top up, clear of the bar
    |  (   )  |
    """
    axis = holding.jaws_axis
    other = 1 - axis
    low, high, top = setup.low_mm[axis], setup.high_mm[axis], setup.high_mm[2]
    middle, radius = (low + high) / 2, (high - low) / 2
    foot, thick = top - 1.15 * radius, _BOW * radius
    inner = 1.1 * radius
    half = thick / 2
    behind = -1 if other == 0 and seen_from == "right" else 1  # the way from the eye
    for block_along in _blocks_along(setup, other, radius):
        at = _clear_of_holes(part, setup, other, block_along, (half, behind * 2 * thick))
        if at is None:
            continue
        along = at - half, at + half
        for side in (-1, 1):
            across = sorted((middle + side * inner, middle + side * (inner + thick)))
            leg = _laid(axis, (across[0], across[1]), along, (foot, top + 2 * thick))
            yield block("leg", *leg)
        bow = (middle - inner - thick, middle + inner + thick)
        low_mm, high_mm = _laid(axis, bow, along, (top + thick, top + 2 * thick))
        x, y = (middle, at) if axis == 0 else (at, middle)
        yield rod("screw", *_round((x, y), half / 2, (top, top + thick)), 2)
        yield block("clamp", low_mm, high_mm, says="clamp")
        yield rod("screw", *_round((x, y), half, (top + 2 * thick, top + 3.5 * thick)), 2)


def _clear_of_holes(part: Part, setup: Setup, axis: int, along: Span, bow: Span) -> float | None:
    """The place nearest to the middle of a block where a bow hides no hole from above.

    bow : half of what it is along the bar, and how far it hides what is behind it
    """
    half, hidden = bow
    middle = (along[0] + along[1]) / 2
    taken = []
    for hole in part.holes:
        if hole.face == setup.face:
            at = float(setup.from_part(np.array([hole.centre_mm]).T)[axis, 0])
            room = hole.diameter_mm / 2 + half + _CLEAR_MM
            taken.append((at - room - max(hidden, 0.0), at + room - min(hidden, 0.0)))
    places = (middle, *(end for span in taken for end in span))
    free = (
        one
        for one in places
        if along[0] + half <= one <= along[1] - half
        and not any(low + _HAIR < one < high - _HAIR for low, high in taken)
    )
    return min(free, key=lambda one: abs(one - middle), default=None)


def _on_table(shop: Shop, setup: Setup, holding: Holding) -> Iterator[Solid]:
    """Packing under the straps, or under what stands against an angle plate."""
    assert holding.strapped is not None
    strapped, z = holding.strapped, setup.low_mm[2]
    plate = shop.holding.angle_plate
    if holding.against is not None and plate is not None:
        (x0, _, _), (x1, y1, _) = setup.low_mm, setup.high_mm
        middle, half = (x0 + x1) / 2, plate.width_mm / 2
        table = z - strapped.packing_mm
        yield block(
            "angle plate",
            (middle - half, y1, table),
            (middle + half, y1 + 10.0, table + plate.height_mm),
            says="angle plate",
        )
        if strapped.packing_mm:
            yield _slab(setup, strapped.packing_mm, "packing")
    for strap in strapped.straps:
        if strap.packing is not None:
            yield block("packing", *strap.packing, says="packing")


def _strap(setup: Setup, strap: Strap) -> Iterator[Solid]:
    """The heel's packing, the strap, and its stud with a nut."""
    (x0, y0, z), (x1, y1, top) = strap.low_mm, strap.high_mm
    half = min(x1 - x0, y1 - y0) / 4
    table = setup.low_mm[2] - (0.0 if strap.packing is None else _packed_mm(strap))
    yield block("heel", *_round(strap.heel_mm, half, (table, z)))
    yield block(strap.name, (x0, y0, z), (x1, y1, z + _STRAP_MM), says=strap.name)
    yield rod("nut", *_round(strap.bolt_mm, _STUD_MM, (z + _STRAP_MM, top)), 2)


def _round(place: Place, half: float, height: Span) -> tuple[Point, Point]:
    """Corners of a box that stands about a place."""
    x, y = place
    return (x - half, y - half, height[0]), (x + half, y + half, height[1])


def _packed_mm(strap: Strap) -> float:
    assert strap.packing is not None
    return strap.packing[1][2] - strap.packing[0][2]
