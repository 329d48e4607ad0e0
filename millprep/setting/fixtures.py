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
from millprep.setting.setups import Setup, scene_of
from millprep.setting.strapped import Strapped

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
    if holding.way == "vice":
        yield from _jaws(shop, setup, holding, underside)
    if holding.strapped is not None:
        yield from _on_table(setup, holding.strapped)
    elif backing_mm:
        name = "the vice bed" if holding.way == "vice" else "the table"
        yield _slab(setup, underside - backing_mm, name)
    elif holding.strips is not None:
        strips = holding.strips
        height = strips.height_mm
        deep = TABLE_THICKNESS_MM if height is None else height
        for at_mm in strips.at_mm:
            across = (at_mm, at_mm + strips.thickness_mm)
            along = _jaw_span(shop, setup, holding)
            yield _box(holding, along, across, (underside - deep, underside), "a parallel")
        if height is not None:
            yield _slab(setup, underside - height, "the vice bed")


def _on_table(setup: Setup, strapped: Strapped) -> Iterator[Box]:
    """Packing and table; straps and angle plate are obstacles of the setup."""
    top = setup.low_mm[2] - strapped.packing_mm
    for strap in strapped.straps:
        if strap.packing is not None:
            yield Box(*strap.packing, f"{UNDER_STRAP}{strap.name}")
    yield _slab(setup, top, "the table")


def _jaws(shop: Shop, setup: Setup, holding: Holding, underside: float) -> Iterator[Box]:
    axis, thickness = holding.jaws_axis, shop.vice.jaw_thickness_mm
    top = underside + holding.grip_mm
    height = (top - shop.vice.jaw_height_mm, top)
    low, high = setup.low_mm[axis], setup.high_mm[axis]
    is_high_fixed = axis == 0 or shop.vice.fixed_jaw == "away"
    names = ("the moving jaw", "the fixed jaw")
    along = _jaw_span(shop, setup, holding)
    low_name, high_name = names if is_high_fixed else names[::-1]
    yield _box(holding, along, (low - thickness, low), height, low_name)
    yield _box(holding, along, (high, high + thickness), height, high_name)


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
