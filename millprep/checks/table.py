"""What is held on the table without the vice, and what the table's travel reaches.

Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, stop, warning, words
from millprep.base.records import replace
from millprep.checks.registry import Job, check_of_setup, in_setup, offering
from millprep.model.part import Part
from millprep.planning import coming_down
from millprep.planning.plan import SetupPlan
from millprep.reference.shared_rules import TOE_FROM_EDGE_MM
from millprep.setting.holding import LEAST_STRAPS, fitness_of
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.seating import BELOW_TIP_MM, Strap
from millprep.setting.setups import Setup
from millprep.setting.straps import strapped_of

PLATE_SHARE = 2 / 3  # of a face, each way, to lie against an angle plate (common practice)
_HAIR_MM = 1e-6

_ON_SCRAP = (
    "write backing = {backing} into [[setup]], and no hold: screwed or clamped down on flat scrap"
)
_TOO_FEW = stop(
    "too-few-straps", "a part needs {least} straps at least, and {whose} {told}", "{advice}"
)
_NO_ROOM = stop(
    "no-room-for-straps",
    "no two straps that face each other find room: {why}",
    f"{_ON_SCRAP}, or give straps = [...] where they can stand",
)
_BESIDE = stop(
    "strap-beside-part",
    "{strap}, at X {x_mm:exact bare} Y {y_mm:exact}, does not press on the part",
    "set its toe {toe_mm:exact} inside an edge, or leave straps out: they are placed then",
)
_NO_PACKING = warning(
    "no-packing",
    "tools come out {below_mm:1} below the part, and the shop has no packing of {high_mm:exact} to "
    "put under it",
    "get pieces of one thickness, and write packing = {high} or more into [[setup]]",
)
_NO_PLATE = stop(
    "beyond-angle-plate",
    "the shop has no angle plate",
    "leave hold out, or measure one and write angle_plate into [holding] of the shop file",
)
_BEYOND_PLATE = stop(
    "beyond-angle-plate",
    "{face} is {size_mm:exact} {way}, and the angle plate {plate_mm:exact}: less than two thirds "
    "of it would be against the plate",
    "leave hold out, or lay the part with a smaller face against the plate",
)
_BEYOND_TRAVEL = stop(
    "outside-travel",
    "the holes are {needed_mm:1 bare} apart along {axis}, and the mill travels {travel_mm:exact}: "
    "{over_mm:1} too far",
    "{advice}",
)
_TOUCH_BEYOND_TRAVEL = warning(
    "outside-travel",
    "from where {axis} is picked up to the farthest hole is {needed_mm:1 bare}, and the "
    "mill travels {travel_mm:exact}: {over_mm:1} too far",
    "mark out the first hole and pick that up for zero, or write [[setup]] twice, with holes = "
    "[...] and a zero beside them in each",
)


@check_of_setup
def straps_that_hold(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Two at least, with room for each; those of the part file press on the part."""
    setup, strapped = setup_plan.setup, setup_plan.holding.strapped
    if setup_plan.holding.way != "straps" or strapped is None:
        return
    asked = setup.request.straps_at_mm
    owned = job.plan.shop.holding.straps
    if owned < LEAST_STRAPS or 0 < len(asked) < LEAST_STRAPS:
        yield _too_few(job, setup, owned, len(asked))
    elif not strapped.straps:
        yield _no_room(job, setup_plan)
    for strap in strapped.straps if asked else ():
        if not _is_on_part(job.plan.part, setup, strap):
            x_mm, y_mm = strap.toe_mm
            found = job.setup_finding(
                _BESIDE,
                setup,
                line=strap.line,
                strap=strap.name,
                x_mm=x_mm,
                y_mm=y_mm,
                toe_mm=TOE_FROM_EDGE_MM,
            )
            yield offering(found, in_setup(("straps", None)))


def _too_few(job: Job, setup: Setup, owned: int, asked: int) -> Finding:
    """Of the part file, or of the shop, with what would hold the part instead."""
    request = setup.request
    advice = "give two or more, or leave straps out: they are placed then"
    offers = [in_setup(("straps", None))]
    whose, told = "the part file gives", f"{asked}"
    if owned < LEAST_STRAPS:
        whose, told = "the shop has", f"{owned}" if owned else "none"
        fits = fitness_of(job.plan.part, job.plan.shop, _anew(setup)).goes_in
        offers = [in_setup(("straps", None), ("hold", None))] if fits else []
        instead = "leave hold out: the vice holds it" if fits else "write backing = 10, and no hold"
        advice = f"{instead}, or get straps and write straps = 4 into [holding] of the shop file"
    found = job.setup_finding(
        _TOO_FEW,
        setup,
        line=request.lines.get("straps", request.lines.get("hold", request.line)),
        least="two",
        whose=whose,
        told=told,
        advice=advice,
    )
    return offering(found, *offers)


def _anew(setup: Setup) -> Setup:
    """The setup as if nothing were said of holding."""
    request = replace(setup.request, hold=None, straps_at_mm=(), packing_mm=None)
    return replace(setup, request=request, clamps=())


def _no_room(job: Job, setup_plan: SetupPlan) -> Finding:
    setup, shop = setup_plan.setup, job.plan.shop
    tools = coming_down(shop, setup_plan.square)
    below_mm = max(-float(tools.z.min()) - setup.height_mm, 0.0)
    boundless = strapped_of(job.plan.part, replace(shop, table=None), setup, below_mm, tools)
    sizes = [setup.high_mm[axis] - setup.low_mm[axis] for axis in (0, 1)]
    why = words("all along the edges a tool, or what comes through, is in the way")
    if boundless.straps and shop.table is not None:
        why = words(
            "the part is {x_mm:exact bare} x {y_mm:exact bare}, the table "
            "{along_mm:exact bare} x {across_mm:exact}, and bolts and heels stand on it too",
            x_mm=sizes[0],
            y_mm=sizes[1],
            along_mm=shop.table.size_mm[0],
            across_mm=shop.table.size_mm[1],
        )
    line = setup.request.lines.get("hold", setup.request.line)
    backing = job.at_least(below_mm + BELOW_TIP_MM)
    return job.setup_finding(_NO_ROOM, setup, line=line, why=why, backing=backing)


def _is_on_part(part: Part, setup: Setup, strap: Strap) -> bool:
    at = [
        (low + _HAIR_MM < place < high - _HAIR_MM)
        for place, low, high in zip(strap.toe_mm, setup.low_mm, setup.high_mm, strict=False)
    ]
    if not all(at) or not is_disc_on_end(part, setup):
        return all(at)
    middle = [(a + b) / 2 for a, b in zip(setup.low_mm, setup.high_mm, strict=True)]
    radius = (setup.high_mm[0] - setup.low_mm[0]) / 2
    x, y = (place - mid for place, mid in zip(strap.toe_mm, middle, strict=False))
    return bool(x * x + y * y < radius * radius)


@check_of_setup
def packing_for_what_comes_through(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """The shop's packing leaves room for the points of drills."""
    strapped, setup = setup_plan.holding.strapped, setup_plan.setup
    if strapped is not None and strapped.is_packing_low:
        deepest_mm = max(-one.z_mm for one in setup_plan.operations)
        yield job.setup_finding(
            _NO_PACKING,
            setup,
            below_mm=deepest_mm - setup.height_mm,
            high_mm=strapped.packing_mm,
            high=job.at_least(strapped.packing_mm),
        )


@check_of_setup
def against_an_angle_plate(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """There is one, and most of the face lies against it."""
    setup, against = setup_plan.setup, setup_plan.holding.against
    if against is None:
        return
    plate, line = job.plan.shop.holding.angle_plate, setup.request.lines.get("hold")
    if plate is None:
        yield job.setup_finding(_NO_PLATE, setup, line=line)
        return
    across_mm = setup.high_mm[0] - setup.low_mm[0]
    sizes = ((across_mm, plate.width_mm, "wide"), (setup.height_mm, plate.height_mm, "high"))
    for size_mm, plate_mm, way in sizes:
        if size_mm * PLATE_SHARE > plate_mm + _HAIR_MM:
            yield job.setup_finding(
                _BEYOND_PLATE,
                setup,
                line=line,
                face=against.upper(),
                size_mm=size_mm,
                plate_mm=plate_mm,
                way=way,
            )


@check_of_setup
def beyond_travel(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """X and Y reach every hole from where zero is picked up, however the work stands."""
    if not setup_plan.operations:
        return
    travels = [high - low for low, high in job.plan.shop.mill.travel_mm[:2]]
    spans = [_span(setup_plan, axis) for axis in (0, 1)]
    needed = [high - low for low, high in spans]
    for axis, (low, high) in enumerate(spans):
        touched = [
            touch.at_mm
            for zero in setup_plan.zeros
            for touch in (zero.touch, zero.again)
            if zero.axis == axis and touch is not None
        ]
        with_touch_mm = max([high, *touched]) - min([low, *touched])
        saying, needed_mm = _BEYOND_TRAVEL, needed[axis]
        if needed_mm <= travels[axis] + _HAIR_MM:
            saying, needed_mm = _TOUCH_BEYOND_TRAVEL, with_touch_mm
        if needed_mm > travels[axis] + _HAIR_MM:
            is_cured = needed[0] <= travels[1] and needed[1] <= travels[0]
            left = setup_plan.setup.left_hand
            turned = f'write towards_you = "{left}" for {setup_plan.setup.face}: it goes that way'
            advice = (
                f"write [[setup]] for {setup_plan.setup.face} twice, with holes = [...] that lie "
                "within reach of each other and a zero beside them in each"
            )
            yield job.setup_finding(
                saying,
                setup_plan.setup,
                axis="XY"[axis],
                needed_mm=needed_mm,
                travel_mm=travels[axis],
                over_mm=needed_mm - travels[axis],
                advice=turned if is_cured else advice,
            )


def _span(setup_plan: SetupPlan, axis: int) -> tuple[float, float]:
    places = [(one.x_mm, one.y_mm)[axis] for one in setup_plan.operations]
    return min(places), max(places)
