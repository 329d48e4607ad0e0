"""The words of a stack: screwed up, filled, layer by layer, pinned, and taken apart again.

Each maker gives sentences of `base/templates/setting.txt`. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, pairwise

from millprep.model.carrying import DRILLED, Carrying
from millprep.model.part import OPPOSITE, Part
from millprep.planning.plan import Operation, SetupPlan
from millprep.setting.setups import Setup
from millprep.sheets.carry_words import carry_lines, then_lines, through_lines
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures

ALIKE_MM = 0.02  # of distance pieces that hold two members parallel (common practice)
_SAME_MM = 0.001

_say = Sayer("setting")


def stack_lines(part: Part, setup: Setup, figures: Figures) -> Iterator[Sentence]:
    """How a stack is put together, and what its bores pass; nothing of a part."""
    if part.carrying is not None and part.carrying.by in DRILLED:
        yield from spot_lines(part, setup, part.carrying, figures)
        return
    if not part.layers:
        return
    apart = len(part.pieces) > len({one.name for one in part.layers if not one.is_scrap})
    alike = _length(ALIKE_MM, figures) if apart else None
    yield _say("stack-first", members=list(part.pieces), alike_mm=alike)
    members = [one for one in part.layers if not one.is_scrap]
    faces = {
        "stood": setup.towards_you if setup.zero_y == "centre" else setup.zero_y,
        "squared": setup.left_hand if setup.zero_x == "centre" else setup.zero_x,
        "top_member": members[0].name,  # a member of the other hand has other names there
    }
    if part.screwed:
        yield _say("stack-screws", screws=list(part.screwed), **faces)
    else:
        yield _say("stack-clamps", **faces)
    filled = {one.from_mm for one in part.layers if one.is_scrap}
    for near, far in pairwise(members):
        if (gap := far.from_mm - near.to_mm) > _SAME_MM:
            slug = "stack-scrap" if near.to_mm in filled else "stack-open"
            yield _say(slug, gap_mm=_length(gap, figures), near=near.name, far=far.name)
    yield layers_line("stack-layers", part, setup, figures)
    over = max((one.high_mm[2] for one in setup.proud), default=0.0)
    under = max((setup.low_mm[2] - one.low_mm[2] for one in setup.proud), default=0.0)
    if over > _SAME_MM:
        yield _say("stack-heads", over_mm=_length(over, figures), face=setup.face)
    if under > _SAME_MM:
        seat = OPPOSITE[setup.face]
        yield _say("stack-heads-under", under_mm=_length(under, figures), seat=seat)


def layers_line(slug: str, part: Part, setup: Setup, figures: Figures) -> Sentence:
    """Where each body begins and ends, below the face that is up."""
    layers = [
        {
            "layer": one.name,
            "begins": Shown(figures.size(one.from_mm), one.from_mm),
            "ends": Shown(figures.size(one.to_mm), one.to_mm),
        }
        for one in part.layers
    ]
    return _say(slug, face=setup.face, top_member=part.layers[0].name, layers=layers)


def spot_lines(
    part: Part, setup: Setup, carrying: Carrying, figures: Figures
) -> Iterator[Sentence]:
    """Members clamped on one another, one spotted through the other."""
    yield from carry_lines(carrying, figures)
    yield layers_line("carry-layers", part, setup, figures)
    yield from through_lines(part, carrying, figures)


def apart_lines(part: Part, setup_plan: SetupPlan, figures: Figures) -> Iterator[Sentence]:
    """Bores pinned one by one, measured over the pins, and the stack taken apart."""
    if part.carrying is not None:
        yield from then_lines(part.carrying)
        return
    if not part.layers:
        return
    firsts: dict[str, Operation] = {}
    for one in setup_plan.square:
        firsts.setdefault(one.hole.name, one)
    yield _say("stack-pins", holes=list(firsts))
    first = next(iter(firsts.values()), None)
    for one, other in combinations(firsts.values(), 2):
        both = [name for name in one.hole.layers if name in other.hole.layers]
        if one is first and both:
            over = over_pins_mm(one, other)
            yield _say(
                "over-pins",
                hole=one.hole.name,
                other=other.hole.name,
                over=Shown(figures.limit(over), over),
                top_layer=both[0],
                low_layer=both[-1],
            )
    yield _say("stack-apart")


def over_pins_mm(one: Operation, other: Operation) -> float:
    """Over a pin in each: their distance and half of both."""
    apart = math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
    return apart + (one.hole.diameter_mm + other.hole.diameter_mm) / 2


def _length(value_mm: float, figures: Figures) -> Shown:
    return Shown(f"{figures.size(value_mm)} {figures.unit}", value_mm)
