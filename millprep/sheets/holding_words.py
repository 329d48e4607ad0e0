"""The words of holding: what holds the part, what it stands on, which way round it comes.

Each maker gives sentences of `base/templates/setting.txt`. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.base.units import in_units
from millprep.model.part import AXIS_FACES, FACE_AXIS, OPPOSITE, Face, Part
from millprep.model.shop import Shop
from millprep.planning.plan import SetupPlan
from millprep.setting.holding import Holding
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.setups import Setup, side_of
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures
from millprep.sheets.table_words import table_lines

JAW_CLOCKED_MM = 0.02  # over the width of the fixed jaw (common practice)
LEAST_PACKING_MM = 1.0  # less is no packing but the floor
_say = Sayer("setting")


def vice_line(
    setup_plan: SetupPlan, setups: Sequence[SetupPlan], figures: Figures
) -> Sentence | None:
    """The vice is clocked where it is first used, and where it is turned."""
    for one in setups:
        if one is setup_plan:
            break
        if is_clocked_in(one) and one.setup.request.jaws == setup_plan.setup.request.jaws:
            return None
    if not is_clocked_in(setup_plan):
        return None
    along = "x" if setup_plan.setup.request.jaws == "y" else "y"
    within = in_units(JAW_CLOCKED_MM, figures.units)
    places = 2 if figures.units == "mm" else 4
    told = Shown(f"{within:.{places}f} {figures.unit}", JAW_CLOCKED_MM)
    return _say("clock-vice", along=along, within_mm=told)


def is_clocked_in(setup_plan: SetupPlan) -> bool:
    """Whether the part lies as true as the fixed jaw does."""
    return setup_plan.holding.way in ("vice", "vee jaws", "vee blocks")


def hold_lines(
    part: Part, shop: Shop, setup: Setup, figures: Figures, holding: Holding, below_mm: float = 0.0
) -> tuple[Sentence, ...]:
    """What holds it, which face is on the fixed jaw and which against the stop.

    below_mm : how far the deepest tool comes out of the underside
    """
    clear = "holes" if below_mm > 0 else ""
    down, backing_mm = OPPOSITE[setup.face], setup.request.backing_mm
    also: dict[str, Any] = {"down": down, "packing_mm": None, "parallels": [], "straps": []}
    if not backing_mm:
        also["backing_mm"] = 0.0
    if holding.way == "chuck":
        lines = [_chuck(holding, figures, also)]
    elif holding.strapped is not None:
        lines = [*table_lines(part, setup, figures, holding, also)]
    elif holding.way == "straps":
        square = {"square": setup.left_hand, "square_too": setup.towards_you}
        lines = [_say("hold-clamped", down=down, **square, also=also)]
    elif holding.way == "vee blocks":
        lines = [_blocks(setup, holding, clear, also)]
    elif holding.flank_mm is not None:
        lines = [_bar(shop, setup, holding, figures, clear, also)]
    else:
        lines = [_vice(part, shop, setup, holding, figures, also)]
    if is_disc_on_end(part, setup) and len({hole.face for hole in part.holes}) > 1:
        side = side_of(setup, setup.towards_you)  # with work on its rim it has a way round
        lines.append(_say("hold-way-round", inked=setup.towards_you, inked_side=side))
    if backing_mm:
        thick = Shown(f"{figures.size(backing_mm)} {figures.unit}", backing_mm)
        lines.append(_say("hold-backing", backing_mm=thick))
    lines += [
        _say(
            "keep-clear",
            name=obstacle.name,
            top=_height(obstacle.high_mm[2], figures),
            also={"from": list(obstacle.low_mm), "to": list(obstacle.high_mm)},
        )
        for obstacle in setup.request.obstacles
    ]
    return (*lines, *_way_round(part, setup, holding, figures))


def _height(z_mm: float, figures: Figures) -> Shown:
    """As the readout counts it, like the depths of the steps."""
    return Shown(str(figures.shown(z_mm, "z")), figures.signed(z_mm, "z"))


def _chuck(holding: Holding, figures: Figures, also: Mapping[str, Any]) -> Sentence:
    """A disc on its end, off the steps of the jaws where drills come through."""
    seat = "parallels" if holding.strips else "flat backing" if holding.needs_backing else "steps"
    ring = holding.ring
    rings: dict[str, Shown] = {}
    if ring is not None:
        seat, sizes = "ring", (ring.inside_mm, ring.outside_mm, ring.high_mm)
        names = ("ring_inside", "ring_outside", "ring_high")
        rings = {name: figures.length(one) for name, one in zip(names, sizes, strict=True)}
    elif also.get("backing_mm", 1.0):
        seat = "backing"
    slots, named = _strip_slots(holding, figures)
    slots.pop("strips_packing")
    return _say(
        "hold-chuck", down=also["down"], seat=seat, **slots, **rings, also={**also, **named}
    )


def _blocks(setup: Setup, holding: Holding, clear: str, also: Mapping[str, Any]) -> Sentence:
    assert holding.stop is not None
    also = {**also, "stop_side": side_of(setup, holding.stop)}
    return _say("hold-blocks", stop=holding.stop, clear=clear, also=also)


def _way_round(part: Part, setup: Setup, holding: Holding, figures: Figures) -> Iterator[Sentence]:
    """What sets a bar or disc at the right angle to what was made before."""
    turn, axis = holding.way_round, part.stock.axis
    if turn is None or axis is None:
        return
    names = [hole.name for hole in turn.holes]
    if turn.how == "picked up":
        places = zip("xy", setup.place_of(turn.holes[0]), strict=True)
        shown = {a: Shown(str(figures.shown(at, a)), figures.signed(at, a)) for a, at in places}
        yield _say("round-by-hole", holes=names[0], **shown)
    elif turn.how == "mark":
        radius_mm = part.stock.size_mm[(axis + 1) % 3] / 2
        degrees = math.degrees(math.asin(min(1.0, turn.off_mm / radius_mm)))
        end = AXIS_FACES[axis][1]
        off = figures.length(turn.off_mm)
        yield _say("round-by-mark", face=end, off_mm=off, off_deg=f"{degrees:.1f}")
    else:
        direction = setup.rotation[:, FACE_AXIS[turn.holes[0].face]]
        along = "xy"[int(abs(direction[1]) > 0.5)] if turn.how == "square" else None
        yield _say("round-by-pin", holes=names, how=turn.how, along=along)


def _bar(
    shop: Shop,
    setup: Setup,
    holding: Holding,
    figures: Figures,
    clear: str,
    also: Mapping[str, Any],
) -> Sentence:
    """A bar lying down between jaws."""
    assert holding.fixed is not None
    assert holding.stop is not None
    assert holding.flank_mm is not None
    assert holding.jaws_above_mm is not None
    seat = "vee" if holding.way == "vee jaws" else _seat(shop, setup, holding)
    packing_mm = shop.vice.jaw_height_mm - holding.jaws_above_mm if seat == "packing" else None
    is_over = seat == "packing" and packing_mm
    below_mm = holding.jaws_above_mm - (setup.height_mm - holding.flank_mm)
    _, named = _strip_slots(holding, figures)
    return _say(
        "hold-bar",
        by=holding.way,
        fixed_jaw=holding.fixed,
        stop=holding.stop,
        seat=seat,
        packing_high=figures.optional_length(packing_mm),
        clear=clear if is_over else "",
        centre_below=figures.length(below_mm),
        also={
            **also,
            **_sides(setup, holding.fixed, holding.stop),
            **named,
            "packing_mm": packing_mm,
            "grip_mm": holding.grip_mm,
        },
    )


def _sides(setup: Setup, fixed: Face, stop: Face) -> dict[str, str]:
    """Where jaw and stop stand at the machine."""
    return {"fixed_jaw_side": side_of(setup, fixed), "stop_side": side_of(setup, stop)}


def _vice(
    part: Part,
    shop: Shop,
    setup: Setup,
    holding: Holding,
    figures: Figures,
    also: Mapping[str, Any],
) -> Sentence:
    assert holding.fixed is not None
    assert holding.stop is not None
    seat = _seat(shop, setup, holding)
    packing_mm = shop.vice.jaw_height_mm - holding.grip_mm if seat == "packing" else None
    slots, named = _strip_slots(holding, figures)
    if holding.strips is not None:
        packing_mm = holding.strips.packing_mm or None
    return _say(
        "hold-vice",
        by=holding.way,
        soft="soft" if holding.way == "vice" and is_disc_on_end(part, setup) else "",
        grip_mm=_grip(setup, holding, figures),
        fixed_jaw=holding.fixed,
        stop=holding.stop,
        seat=seat,
        **slots,
        also={
            **also,
            **_sides(setup, holding.fixed, holding.stop),
            "packing_mm": packing_mm,
            **named,
        },
    )


def _strip_slots(holding: Holding, figures: Figures) -> tuple[dict[str, Any], dict[str, Any]]:
    """Where parallels stand and how high, in words and by name."""
    strips = holding.strips
    if strips is None:
        return {"strips": None, "strips_high": None, "strips_packing": None}, {"parallels": []}
    slots = {
        "strips": [_strip(holding, at_mm, figures) for at_mm in strips.at_mm],
        "strips_high": None if strips.height_mm is None else _plain(strips.height_mm, figures),
        "strips_packing": figures.optional_length(strips.packing_mm or None),
    }
    return slots, {"parallels": [_parallel(holding, at_mm) for at_mm in strips.at_mm]}


def _plain(size_mm: float, figures: Figures) -> Shown:
    return Shown(figures.size(size_mm), size_mm)


def _seat(shop: Shop, setup: Setup, holding: Holding) -> str:
    """What the part stands on."""
    if holding.strips is not None:
        return "parallels"
    if holding.needs_backing:
        return "flat backing"
    if setup.request.backing_mm:
        return "backing"
    is_low = holding.grip_mm > shop.vice.jaw_height_mm - LEAST_PACKING_MM
    return "floor" if is_low else "packing"


def _strip(holding: Holding, at_mm: float, figures: Figures) -> Mapping[str, Any]:
    """A parallel, at places along the axis that the jaws close along, as the readout shows them."""
    axis = "xy"[holding.jaws_axis]
    assert holding.strips is not None
    ends = (at_mm, at_mm + holding.strips.thickness_mm)
    first, last = (figures.size(figures.signed(end, axis)) for end in ends)
    return {"axis": axis, "start": first, "end": last}


def _parallel(holding: Holding, at_mm: float) -> Mapping[str, Any]:
    assert holding.strips is not None
    return {
        "along": "xy"[holding.jaws_axis],
        "from_mm": at_mm,
        "to_mm": at_mm + holding.strips.thickness_mm,
        "height_mm": holding.strips.height_mm,
    }


def _grip(setup: Setup, holding: Holding, figures: Figures) -> str:
    """To the next whole millimetre or hundredth of an inch, unless it comes out even."""
    if setup.request.grip_mm is not None or holding.strips is not None:
        return f"{figures.size(holding.grip_mm)} {figures.unit}"
    if figures.units == "inch":
        return f"{math.ceil(holding.grip_mm / 0.254 - 1e-9) / 100:.2f} in"
    return f"{math.ceil(holding.grip_mm - 1e-9)} mm"
