"""What a tool must not meet in a setup: jaws, parallels, vice bed or table, and obstacles.

              jaw |   part   | jaw
              ____|          |____  top of the jaws: grip above the underside
             |    |__________|    |
             |    |  |    |  |    | parallels, on
             |____|__|____|__|____| the bed of the vice

What a listing says of the holding is made into boxes, in setup axes. How far along the jaws the
part is held nobody says, so the jaws stand about its middle. Backing may be drilled into, and what
it lies on may not. Imports `setups`, `holding`, the scene and layers 0 to 2.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.records import replace
from millprep.model.part import Part
from millprep.model.scene import Box, Scene
from millprep.model.shop import Shop
from millprep.setting.holding import Holding
from millprep.setting.round_bars import lip_mm
from millprep.setting.seating import Strapped, Strips
from millprep.setting.setups import Setup, scene_of

UNDER_STRAP = "the packing under "  # and the strap's name
TABLE_MARGIN_MM = 100.0  # how far around the part the table is drawn and looked at
TABLE_THICKNESS_MM = 10.0
Span = tuple[float, float]


def clamped_scene(part: Part, shop: Shop, setup: Setup, holding: Holding) -> Scene:
    """The scene of a setup with what holds the part."""
    return replace(
        scene_of(part, setup),
        fixtures=fixtures_of(shop, setup, holding),
        backing=_backing(setup),
        underside_known=is_underside_known(setup, holding),
    )


def fixtures_of(shop: Shop, setup: Setup, holding: Holding) -> tuple[Box, ...]:
    """What the part file describes, then what holds the part, in setup axes."""
    described = (Box(one.low_mm, one.high_mm, one.name) for one in setup.obstacles)
    return (*described, *_held(shop, setup, holding))


def is_underside_known(setup: Setup, holding: Holding) -> bool:
    """Whether the file says what lies below the part, and how far down."""
    if holding.strapped is not None:
        return True
    has_strips = holding.strips is not None and setup.request.parallel_height_mm is not None
    return bool(setup.request.backing_mm) or has_strips


def _held(shop: Shop, setup: Setup, holding: Holding) -> Iterator[Box]:
    underside = setup.low_mm[2]
    backing_mm = setup.request.backing_mm
    is_in_jaws = holding.jaws_above_mm is not None
    if is_in_jaws:
        yield from _jaws(shop, setup, holding)
    if holding.strapped is not None:
        yield from _on_table(setup, holding.strapped)
    elif backing_mm:
        yield _slab(setup, underside - backing_mm, "the vice bed" if is_in_jaws else "the table")
    elif holding.strips is not None:
        yield from _strips(shop, setup, holding, holding.strips)
    elif holding.flank_mm is not None and holding.jaws_above_mm is not None:
        bed = underside + holding.jaws_above_mm - shop.vice.jaw_height_mm
        yield _slab(setup, bed, "the vice bed")


def _on_table(setup: Setup, strapped: Strapped) -> Iterator[Box]:
    """Packing and table; straps and angle plate are obstacles of the setup."""
    top = setup.low_mm[2] - strapped.packing_mm
    for strap in strapped.straps:
        if strap.packing is not None:
            yield Box(*strap.packing, f"{UNDER_STRAP}{strap.name}")
    yield _slab(setup, top, "the table")


def _strips(shop: Shop, setup: Setup, holding: Holding, strips: Strips) -> Iterator[Box]:
    """Parallels, those in a chuck as far along as the part, and what they stand on."""
    underside, tall = setup.low_mm[2], strips.under_part_mm
    is_in_jaws = holding.jaws_above_mm is not None
    deep = TABLE_THICKNESS_MM if tall is None else tall
    along = _jaw_span(shop, setup, holding) if is_in_jaws else (setup.low_mm[0], setup.high_mm[0])
    for at_mm in strips.at_mm:
        across = (at_mm, at_mm + strips.thickness_mm)
        yield _box(holding, along, across, (underside - deep, underside), "a parallel")
    if tall is not None:
        yield _slab(setup, underside - tall, "the vice bed" if is_in_jaws else "the chuck")


def _jaws(shop: Shop, setup: Setup, holding: Holding) -> Iterator[Box]:
    """The fixed jaw and the moving one, which is above and below its groove where it has one."""
    assert holding.jaws_above_mm is not None
    axis, vice = holding.jaws_axis, shop.vice
    top = setup.low_mm[2] + holding.jaws_above_mm
    bottom = top - vice.jaw_height_mm
    low, high = setup.low_mm[axis], setup.high_mm[axis]
    is_high_fixed = axis == 0 or vice.fixed_jaw == "away"
    along = _jaw_span(shop, setup, holding)
    fixed, moving = (high, low) if is_high_fixed else (low, high)
    outward = 1.0 if is_high_fixed else -1.0

    def jaw(face: float, outward: float, height: Span, name: str) -> Box:
        across = sorted((face, face + outward * vice.jaw_thickness_mm))
        return _box(holding, along, (across[0], across[1]), height, name)

    yield jaw(fixed, outward, (bottom, top), "the fixed jaw")
    if holding.way != "vee jaws" or vice.vee is None:
        yield jaw(moving, -outward, (bottom, top), "the moving jaw")
    elif holding.flank_mm is not None:
        face = (low + high) / 2 + outward * lip_mm(vice.vee, high - low)
        centre, half = top - vice.vee.below_mm, vice.vee.width_mm / 2
        yield jaw(face, -outward, (centre + half, top), "the vee jaw")
        yield jaw(face, -outward, (bottom, centre - half), "the vee jaw")


def _jaw_span(shop: Shop, setup: Setup, holding: Holding) -> Span:
    other = 1 - holding.jaws_axis
    middle = (setup.low_mm[other] + setup.high_mm[other]) / 2
    half = shop.vice.jaw_width_mm / 2
    return middle - half, middle + half


def _box(holding: Holding, along: Span, across: Span, height: Span, name: str) -> Box:
    x, y = (across, along) if holding.jaws_axis == 0 else (along, across)
    return Box((x[0], y[0], height[0]), (x[1], y[1], height[1]), name)


def _slab(setup: Setup, top_mm: float, name: str) -> Box:
    """What the whole stands on."""
    (x0, y0, _), (x1, y1, _) = setup.low_mm, setup.high_mm
    return Box(
        (x0 - TABLE_MARGIN_MM, y0 - TABLE_MARGIN_MM, top_mm - TABLE_THICKNESS_MM),
        (x1 + TABLE_MARGIN_MM, y1 + TABLE_MARGIN_MM, top_mm),
        name,
    )


def _backing(setup: Setup) -> tuple[Box, ...]:
    thickness = setup.request.backing_mm
    if not thickness:
        return ()
    (x0, y0, underside), (x1, y1, _) = setup.low_mm, setup.high_mm
    return (Box((x0, y0, underside - thickness), (x1, y1, underside), "backing"),)
