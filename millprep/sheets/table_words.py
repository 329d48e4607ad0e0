"""The words of holding a part on the table: straps, packing, angle plate, lining up.

Each maker gives sentences of `base/templates/setting.txt`. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from millprep.base.units import in_units
from millprep.model.part import OPPOSITE, Face, Part
from millprep.reference.shared_rules import LINED_UP_MM
from millprep.setting.holding import Holding, size_along_mm
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.seating import Strap, Strapped
from millprep.setting.setups import Setup, side_of
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures

STEADY_STRAPS = 4  # with packing under each the part tips no more (common practice)

_say = Sayer("setting")


def table_lines(
    part: Part, setup: Setup, figures: Figures, holding: Holding, also: Mapping[str, Any]
) -> Iterator[Sentence]:
    """What it stands on and is held by, where each strap stands, how it is lined up."""
    strapped = holding.strapped
    assert strapped is not None
    seat, packing_mm = _seat(setup, strapped), strapped.packing_mm
    on: dict[str, Any] = {"down": OPPOSITE[setup.face], "seat": seat}
    if seat == "packing":
        on["packing_mm"] = _size(packing_mm, figures)
        also = {name: value for name, value in also.items() if name != "packing_mm"}
    if holding.against is not None:
        yield from _plate_lines(setup, figures, holding.against, on, also)
        return
    straps = strapped.straps
    also = {**also, "straps": [_box(strap) for strap in straps]}
    top_mm = max(strap.high_mm[2] for strap in straps)
    yield _say(
        "hold-straps",
        straps_told=len(straps),
        heel_mm=_size(packing_mm + setup.height_mm, figures),
        straps_top=_figure(figures, top_mm, "z"),
        **on,
        also={name: value for name, value in also.items() if name != "down"},
    )
    if seat == "packing" and len(straps) < STEADY_STRAPS:
        yield _say("hold-corners", packing_too_mm=_size(packing_mm, figures))
    if strapped.slots_mm:
        yield _say(
            "hold-slots", slots=[_figure(figures, at_mm, "y") for at_mm in strapped.slots_mm]
        )
    for strap in straps:
        yield _strap(setup, figures, strap)
    if is_disc_on_end(part, setup):
        yield _say("tighten")
    else:
        edge, along = lined_up_by(setup)
        also = {"edge_side": side_of(setup, edge)}
        yield _say("line-up", edge=edge, along=along, within_mm=_within(figures), also=also)


def _plate_lines(
    setup: Setup, figures: Figures, against: Face, on: dict[str, Any], also: Mapping[str, Any]
) -> Iterator[Sentence]:
    """Against an angle plate; on : what it stands on."""
    yield _say(
        "hold-plate",
        against=against,
        up=setup.face,
        plate_top=_figure(figures, max(one.high_mm[2] for one in setup.clamps), "z"),
        **on,
        also={**also, "against_side": side_of(setup, against)},
    )
    yield _say("line-up-plate", along="x", within_mm=_within(figures))


def lined_up_by(setup: Setup) -> tuple[Face, str]:
    """The edge that is clocked, and the axis along which it runs: zero's, along the longer way."""
    if size_along_mm(setup, 0) >= size_along_mm(setup, 1):
        return (setup.towards_you if setup.zero_y == "centre" else setup.zero_y), "x"
    return (setup.left_hand if setup.zero_x == "centre" else setup.zero_x), "y"


def _strap(setup: Setup, figures: Figures, strap: Strap) -> Sentence:
    axis = 1 if strap.side in (setup.left_hand, setup.right_hand) else 0
    edge = strap.toe_mm[1 - axis]
    ends = [setup.low_mm[1 - axis], setup.high_mm[1 - axis]]
    edge = min(ends, key=lambda end: abs(end - edge))
    return _say(
        "strap",
        name=strap.name,
        edge=strap.side,
        axis="xy"[axis],
        at=_figure(figures, strap.toe_mm[axis], "xy"[axis]),
        bolt_mm=_size(abs(strap.bolt_mm[1 - axis] - edge), figures),
        also={"edge_side": side_of(setup, strap.side)},
    )


def _box(strap: Strap) -> Mapping[str, Any]:
    return {"name": strap.name, "from": list(strap.low_mm), "to": list(strap.high_mm)}


def _seat(setup: Setup, strapped: Strapped) -> str:
    if setup.request.backing_mm:
        return "backing"
    return "packing" if strapped.packing_mm > 0 else "table"


def _size(size_mm: float, figures: Figures) -> Shown:
    return Shown(f"{figures.size(size_mm)} {figures.unit}", size_mm)


def _figure(figures: Figures, at_mm: float, axis: str) -> Shown:
    return Shown(str(figures.shown(at_mm, axis)), figures.signed(at_mm, axis))


def _within(figures: Figures) -> Shown:
    places = 2 if figures.units == "mm" else 4
    within = in_units(LINED_UP_MM, figures.units)
    return Shown(f"{within:.{places}f} {figures.unit}", LINED_UP_MM)
