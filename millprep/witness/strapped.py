"""A part on the table: straps, packing, angle plate and lining up, against part, shop and rows.

Every strap is laid out anew from the two figures that the sheet gives it, and must be clear of each
row's tool, and its packing of each that comes through. Imports the part, the shop and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.base.findings import Finding
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.slots import Said, as_figure
from millprep.reference import shared_rules
from millprep.witness.compared import any_case, near
from millprep.witness.faces import FAR
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, SetUp

LEAST_STRAPS = 2
STEADY_STRAPS = 4
UNDER_TIP_MM = 2.0  # free under a drill that has come through (common practice)
_HAIR_MM = 1e-6


def check_table(one: SetUp) -> Iterator[Finding]:
    """What stands on the table is told once, as it is."""
    is_strapped, is_plated = bool(one.all("hold-straps")), bool(one.all("hold-plate"))
    yield from one.count(
        {
            "hold-straps": is_strapped,
            "hold-plate": is_plated,
            **({} if is_strapped else {"hold-corners": 0, "strap": 0}),
            "hold-slots": is_strapped and not one.request.straps_at_mm and bool(_pitch_mm(one)),
            "line-up": is_strapped and not one.is_disc_on_end,
            "tighten": is_strapped and one.is_disc_on_end,
            "line-up-plate": is_plated,
        }
    )
    for said in one.all("hold-straps", "hold-plate"):
        yield from _check_stand(one, said)
    for said in one.all("hold-straps"):
        yield from _check_straps(one, said)
    for said in one.all("hold-plate"):
        away, up = one.by_side["away"], one.printed.setup.face
        yield from one.says(said, {"against": any_case(away), "up": any_case(up)}, "bad-lay")
        yield from one.named(said, against_side="away")
        yield from _check_plate_top(one, said)
    for said in one.all("line-up", "line-up-plate"):
        yield from _check_lined_up(one, said)


def _check_stand(one: SetUp, said: Said) -> Iterator[Finding]:
    """The packing of the part file, or of the shop with room under it for what comes through."""
    under, request = FAR[one.printed.setup.face], one.request
    yield from one.says(said, {"down": any_case(under)}, "bad-lay")
    packing_mm = said.mm("packing_mm") if said.has("packing_mm") else 0.0
    needed_mm = max((_below_mm(one, row) + UNDER_TIP_MM for row in _through(one)), default=0.0)
    if request.packing_mm is not None:
        seat, least_mm, most_mm = "packing", request.packing_mm, request.packing_mm
    elif request.backing_mm or not needed_mm:
        seat, least_mm, most_mm = "backing" if request.backing_mm else "table", 0.0, 0.0
    else:
        high = [
            p for p in one.shop.holding.packing_mm if p >= needed_mm - one.printed.half_count_mm
        ]
        seat, least_mm = "packing", min(high, default=needed_mm)
        most_mm = least_mm if high else needed_mm + 1.0
    slack = HALF_SIZE_DIGIT_MM + (0.0 if least_mm == most_mm else one.printed.half_count_mm)
    if said["seat"] != seat or not least_mm - slack <= packing_mm <= most_mm + slack:
        yield one.wrong(f"it stands on {seat} of {least_mm:g} mm: {said.text}", said)
    if seat != "packing":
        yield from one.named(said, packing_mm=None)
    if said.slug == "hold-straps":
        high_mm = one.request.backing_mm if seat == "backing" else packing_mm
        yield from one.says(
            said, {"heel_mm": near(high_mm + one.height_mm, 2 * HALF_SIZE_DIGIT_MM)}
        )


def _check_plate_top(one: SetUp, said: Said) -> Iterator[Finding]:
    plate, packing_mm = one.shop.holding.angle_plate, one.request.backing_mm
    if said.has("packing_mm"):
        packing_mm = said.mm("packing_mm")
    high_mm = math.nan if plate is None else plate.height_mm  # without one no figure is right
    right = one.reads(2, high_mm - packing_mm - one.height_mm, HALF_SIZE_DIGIT_MM)
    yield from one.says(said, {"plate_top": right})


def _through(one: SetUp) -> list[PrintedRow]:
    return [row for row in one.rows if _below_mm(one, row) > one.printed.half_count_mm]


def _below_mm(one: SetUp, row: PrintedRow) -> float:
    return -one.printed.z_sign * row.z_mm - one.height_mm


def _check_straps(one: SetUp, said: Said) -> Iterator[Finding]:
    """Two at least, on two sides that face each other, or where the part file has them."""
    told, asked = one.all("strap"), one.request.straps_at_mm
    if said.count("straps_told") != len(told) or len(told) < LEAST_STRAPS:
        yield one.wrong(f"{len(told)} straps are told of {said['straps_told']}", said)
    yield from one.says(said, {"straps_top": one.reads(2, shared_rules.STRAP_HIGH_MM)})
    if [strap["name"] for strap in told] != [f"strap {n}" for n in range(1, len(told) + 1)]:
        yield one.wrong("straps are not numbered one by one", said)
    is_tipping = said.has("packing_mm") and len(told) < STEADY_STRAPS
    yield from one.count({"hold-corners": is_tipping})
    for more in one.all("hold-corners"):
        if not said.has("packing_mm") or more.mm("packing_too_mm") != said.mm("packing_mm"):
            yield one.wrong(f"the packing is {said['packing_mm']}: {more.text}", more)
    edges = {strap.face("edge") for strap in told}
    if asked and len(asked) != len(told):
        yield one.wrong(f"the part file asks for {len(asked)} straps", said)
    if not asked and len(told) > one.shop.holding.straps:
        yield one.wrong(f"the shop has {one.shop.holding.straps} straps", said)
    if not asked and not (len(edges) == 2 and FAR[min(edges)] in edges):
        yield one.wrong(f"straps over {', '.join(sorted(edges))} do not hold it", said)
    if not edges <= {*one.printed.upright}:
        yield one.wrong("a strap comes over no edge", said, "bad-lay")
        return
    yield from _check_slots(one, told)
    boxes = []
    for number, strap in enumerate(told):
        place = asked[number] if number < len(asked) else None
        yield from _check_strap(one, strap, place, has_packing=said["seat"] == "packing")
        boxes.append(_box(one, strap, place))
    named = None if said.named is None else said.named.get("straps")
    if said.named is not None and not _are_near(named, boxes, 2 * one.printed.half_count_mm):
        yield one.wrong(f"the straps are {named} by name", said)


def _check_strap(
    one: SetUp, strap: Said, asked: tuple[float, float] | None, *, has_packing: bool
) -> Iterator[Finding]:
    upright = one.printed.upright[strap.face("edge")]
    yield from one.named(strap, edge_side=one.side_of(strap.face("edge")))
    letter = "yx"[upright.axis]
    if strap.axis("axis") != letter:
        yield one.wrong(f"places on that edge run along {letter.upper()}: {strap.text}", strap)
        return
    inside, along, bolt_mm = _inside_mm(one, strap, asked), _along(one, strap), strap.mm("bolt_mm")
    if asked is not None and abs(asked[1 - upright.axis] - along) > one.printed.half_count_mm:
        yield one.wrong(f"the part file has it elsewhere: {strap.text}", strap)
    is_by_slot = upright.axis == 1 and asked is None and bool(_pitch_mm(one))
    most = shared_rules.MOST_BOLT_FROM_EDGE_MM if is_by_slot else shared_rules.BOLT_FROM_EDGE_MM
    if (
        not -HALF_SIZE_DIGIT_MM
        <= bolt_mm - shared_rules.BOLT_FROM_EDGE_MM
        <= most - shared_rules.BOLT_FROM_EDGE_MM + HALF_SIZE_DIGIT_MM
    ):
        yield one.wrong(f"the bolt stands {strap['bolt_mm']} outside the edge", strap)
    for row in one.rows:
        if _gap_mm(one, strap, row, inside) < row.tool.diameter_mm / 2:
            yield one.wrong(f"{row.hole}: the tool comes down on {strap['name']}", strap)
    under = max(inside, shared_rules.PACKING_UNDER_STRAP_MM)
    for row in _through(one) if has_packing else ():
        if _gap_mm(one, strap, row, under) < row.tool.diameter_mm / 2:
            yield one.wrong(f"{row.hole} comes through over packing of {strap['name']}", strap)


def _pitch_mm(one: SetUp) -> float:
    table = one.shop.table
    return (table.slot_pitch_mm or 0.0) if table is not None else 0.0


def _check_slots(one: SetUp, straps: Sequence[Said]) -> Iterator[Finding]:
    """A tee slot under every bolt and under nothing else, as far apart as the shop has them."""
    slack, pitch = 2 * one.printed.half_count_mm + HALF_SIZE_DIGIT_MM, _pitch_mm(one)
    for said in one.all("hold-slots"):
        signed = [as_figure(slot, said.units).mm for slot in said["slots"]]
        slots = [float(one.printed.signs[1]) * slot for slot in signed]
        bolts = [_bolt_y(one, strap) for strap in straps]
        is_so = all(any(abs(a - b) <= slack for b in bolts) for a in slots)
        is_so &= all(any(abs(a - b) <= slack for b in slots) for a in bolts)
        apart = [(slot - slots[0]) / pitch for slot in slots]
        if not is_so or any(abs(each - round(each)) * pitch > slack for each in apart):
            yield one.wrong(f"bolts stand at {bolts}: {said.text}", said)


def _bolt_y(one: SetUp, strap: Said) -> float:
    upright = one.printed.upright[strap.face("edge")]
    outside = upright.at_mm + upright.outward * strap.mm("bolt_mm")
    return outside if upright.axis == 1 else _along(one, strap)


def _along(one: SetUp, strap: Said) -> float:
    """Where its middle is along the edge, in setup axes."""
    axis = "xy".index(strap.axis("axis"))
    return float(one.printed.signs[axis]) * strap.mm("at")


def _inside_mm(one: SetUp, strap: Said, asked: tuple[float, float] | None) -> float:
    """How far the strap reaches over the work."""
    if asked is None:
        return shared_rules.STRAP_ON_WORK_MM + _rounding_mm(one, strap)
    upright = one.printed.upright[strap.face("edge")]
    toe_mm = (upright.at_mm - asked[upright.axis]) * upright.outward
    return toe_mm + shared_rules.STRAP_ON_WORK_MM - shared_rules.TOE_FROM_EDGE_MM


def _rounding_mm(one: SetUp, strap: Said) -> float:
    """How much farther it reaches over a rim, which falls back beside its middle."""
    if not one.is_disc_on_end:
        return 0.0
    axis = "xy".index(strap.axis("axis"))
    radius, beside = one.size_along_mm(axis) / 2, 0.0
    if abs(_along(one, strap) - one.printed.middle[axis]) > 1.0:
        beside = min(shared_rules.MOST_BESIDE_MIDDLE_MM, radius / 2)
    corner = min(beside + shared_rules.STRAP_WIDTH_MM / 2, radius)
    return radius - math.sqrt(radius**2 - corner**2)


def _gap_mm(one: SetUp, strap: Said, row: PrintedRow, inside_mm: float) -> float:
    """Between the axis of a row's tool and what reaches so far in from the edge."""
    upright, place = one.printed.upright[strap.face("edge")], one.printed.places.get(row.hole)
    if place is None:
        return math.inf
    deep = (upright.at_mm - place[upright.axis]) * upright.outward
    aside = abs(place[1 - upright.axis] - _along(one, strap)) - shared_rules.STRAP_WIDTH_MM / 2
    return math.hypot(max(deep - inside_mm, 0.0), max(aside, 0.0))


def _box(one: SetUp, strap: Said, asked: tuple[float, float] | None) -> Mapping[str, Any]:
    """The box of strap, nut and heel, from the edge, the place along it and the bolt."""
    upright = one.printed.upright[strap.face("edge")]
    inside, bolt_mm = _inside_mm(one, strap, asked), strap.mm("bolt_mm")
    toe_mm = inside - shared_rules.STRAP_ON_WORK_MM + shared_rules.TOE_FROM_EDGE_MM
    out = bolt_mm + shared_rules.HEEL_TIMES * (bolt_mm + toe_mm) + shared_rules.STRAP_END_MM
    square = sorted(upright.at_mm + upright.outward * each for each in (-inside, out))
    along = _along(one, strap)
    beside = [along - shared_rules.STRAP_WIDTH_MM / 2, along + shared_rules.STRAP_WIDTH_MM / 2]
    x, y = (square, beside) if upright.axis == 0 else (beside, square)
    low, high = [x[0], y[0], 0.0], [x[1], y[1], shared_rules.STRAP_HIGH_MM]
    return {"name": strap["name"], "from": low, "to": high}


def _are_near(told: Any, right: Sequence[Mapping[str, Any]], slack_mm: float) -> bool:
    if not isinstance(told, list) or len(told) != len(right):
        return False
    slack_mm += (1 + shared_rules.HEEL_TIMES) * HALF_SIZE_DIGIT_MM
    return all(
        mine.get("name") == ours["name"]
        and all(
            abs(float(a) - b) <= slack_mm
            for name in ("from", "to")
            for a, b in zip(mine[name], ours[name], strict=True)
        )
        for mine, ours in zip(told, right, strict=True)
    )


def _check_lined_up(one: SetUp, said: Said) -> Iterator[Finding]:
    """An edge of zero along the longer way, and by no more than anyone can clock."""
    axis = 0
    if said.slug == "line-up":
        axis = 0 if one.size_along_mm(0) >= one.size_along_mm(1) else 1
        zero = one.zeros[1 - axis]
        edge = one.along(1 - axis)[0] if zero == "centre" else zero
        yield from one.says(said, {"edge": any_case(edge)})
        yield from one.named(said, edge_side=one.side_of(edge))
    yield from one.says(
        said, {"within_mm": shared_rules.LINED_UP_MM, "along": any_case("xy"[axis])}
    )
