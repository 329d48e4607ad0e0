"""How the vice holds the part: grip, jaws and parallels. Layers 0 to 3, planning."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from millprep.base.findings import Finding, Offer, Words, note, stop, warning, words
from millprep.base.records import replace
from millprep.base.units import in_units
from millprep.checks.candidates import TOLD_MM
from millprep.checks.registry import Job, check_of_setup, in_setup, offering
from millprep.model.part import Hole
from millprep.planning.plan import SetupPlan
from millprep.setting.holding import Holding, faces_along, size_along_mm
from millprep.setting.seating import (
    CLEAR_OF_HOLE_MM,
    comes_through,
    exits_along,
    free_spans,
    needed_below_mm,
    strips_in_vice,
    widest_apart,
)
from millprep.setting.setups import Setup

SMALL_GRIP_SHARE = 1 / 3  # of the height that the jaws should hold at least (common practice)
LEAST_GRIP_MM = 3.0  # next to nothing: the part lifts out (common practice)
LEAST_GRIP_SHARE = 0.1
LONG_ACROSS_TIMES = 3.0  # across the jaws, of the length along them
LEFT_ABOVE_JAWS_MM = 2.0  # what the finder needs of the part above the jaws (common practice)
_NONE_MM = 1e-6


_GRIP_OVER = "a grip of {grip_mm:exact} on {height_mm:exact}: the jaws would "
_LEVEL = stop("jaws-too-high", _GRIP_OVER + "be level with {up}", "{advice}")
_ABOVE = replace(_LEVEL, said=_GRIP_OVER + "stand {above_mm} above {up}")
_NO_ROOM = replace(
    _LEVEL, said="a grip of {grip_mm:exact}{under}: the jaws are {jaws_mm:exact} high"
)
_NOTHING_HELD = stop(
    "jaws-too-high",
    "parallels {tall_mm:exact} high in jaws of {jaws_mm:exact}: nothing is held",
    "{advice}",
)
_JAWS_ABOVE = warning(
    "jaws-too-high",
    "over parallels {tall_mm:exact} high the jaws, {jaws_mm:exact} high, stand {above_mm} above "
    "{up}",
    "give parallels {least} {unit} high or more",
)
_NO_GRIP = warning(
    "small-grip",
    "only {grip_mm:exact bare} of {height_mm:exact} is in the jaws, next to nothing",
    "{advice}: less than {least_mm:exact}, or than a tenth of the height, lets the part lift",
)
_HIGH = note(
    "high-block",
    "only {grip_mm:1 bare} of {height_mm:exact} is in the jaws",
    "hold {least_mm:1} or more, or clamp it to an angle plate; else take light cuts",
)
_LONG = note(
    "long-across-jaws",
    "the part is {across_mm:exact} across the jaws and {along_mm:exact} along them",
    'towards_you = "{left}" or "{right}" for {face} puts its long side along the jaws',
)
_NO_PARALLELS = note(
    "no-parallels",
    "no pair of your parallels clears the through holes",
    "put flat backing under the whole part, or give parallels or backing in [[setup]]",
)
_BESIDE = stop(
    "parallel-beside-part",
    "the parallel at {span} {where}: the part is from {low_mm:exact bare} to {high_mm:exact bare}",
    "{advice}",
)
_OVER = stop("hole-over-parallel", "hole {0} comes through over the parallel at {span}", "{advice}")
_NEAR = warning(
    "near-parallel", "hole {0} comes through {gap_mm} beside the parallel at {span}", "{advice}"
)


@check_of_setup
def grip_that_cannot_be(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """The jaws hold no more than the part is high, nor than they are, less what it stands on."""
    jaw_mm = job.plan.shop.vice.jaw_height_mm
    setup, holding, request = setup_plan.setup, setup_plan.holding, setup_plan.setup.request
    grip_mm = request.grip_mm
    if holding.way != "vice" or grip_mm is None:
        return
    under_mm, under = _packing(setup, holding)
    room_mm, above_mm = jaw_mm - under_mm, grip_mm - setup.height_mm
    if above_mm > -_NONE_MM:
        saying = _LEVEL if above_mm <= _NONE_MM else _ABOVE
    elif grip_mm > room_mm + _NONE_MM:
        saying = _NO_ROOM
    else:
        return
    left_mm = max(setup.height_mm - LEFT_ABOVE_JAWS_MM, setup.height_mm / 2)
    most_mm = min(room_mm, left_mm)
    advice = "put less under the part, or a vice with higher jaws into the shop file"
    offers: list[Offer] = []
    if most_mm > LEAST_GRIP_MM or not under_mm:
        most = job.at_most(most_mm)
        advice = f"give a grip of {most} {job.unit} or less"
        offers.append(in_setup(("vice.grip", most)))
    found = job.setup_finding(
        saying,
        setup,
        line=request.lines.get("vice", request.line),
        grip_mm=grip_mm,
        height_mm=setup.height_mm,
        up=setup.face.upper(),
        above_mm=above_mm,
        under=under,
        jaws_mm=jaw_mm,
        advice=advice,
    )
    yield offering(found, *offers)


def _packing(setup: Setup, holding: Holding) -> tuple[float, str | Words]:
    """How far the file lets the part stand above the bed of the vice, and in words."""
    backing_mm, height_mm = setup.request.backing_mm, setup.request.parallel_height_mm
    if backing_mm:
        return backing_mm, words(" over backing of {thick_mm:exact}", thick_mm=backing_mm)
    if holding.strips is None or height_mm is None:
        return 0.0, ""
    return height_mm, words(" over parallels {height_mm:exact} high", height_mm=height_mm)


@check_of_setup
def parallels_of_a_wrong_height(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Parallels of the file leave the jaws something to hold, and lift the part above them."""
    jaw_mm = job.plan.shop.vice.jaw_height_mm
    setup, request = setup_plan.setup, setup_plan.setup.request
    tall_mm = request.parallel_height_mm
    if setup_plan.holding.way != "vice" or tall_mm is None or not request.parallels_at_mm:
        return
    room_mm = jaw_mm - tall_mm
    if _NONE_MM < room_mm <= setup.height_mm + _NONE_MM:
        return
    below_mm = needed_below_mm(setup_plan.below_mm)
    yield job.setup_finding(
        _NOTHING_HELD if room_mm <= _NONE_MM else _JAWS_ABOVE,
        setup,
        line=request.lines.get("parallels", request.line),
        tall_mm=tall_mm,
        jaws_mm=jaw_mm,
        above_mm=room_mm - setup.height_mm,
        up=setup.face.upper(),
        advice=_lower(job, setup, below_mm),
        least=job.at_least(max(jaw_mm - setup.height_mm, below_mm)),
        unit=job.unit,
    )


def _lower(job: Job, setup: Setup, below_mm: float) -> str:
    """Parallels that leave the jaws their usual grip, or as much as the tools below them leave."""
    jaw_mm = job.plan.shop.vice.jaw_height_mm
    if setup.request.backing_mm:
        return "put less under the part"
    least_grip_mm = _least_grip_mm(setup)
    usual_mm = jaw_mm - max(setup.grip_mm, least_grip_mm)
    most_mm = usual_mm if usual_mm >= below_mm + _NONE_MM else jaw_mm - least_grip_mm
    if most_mm < below_mm + _NONE_MM:
        return "hold it so that nothing comes out below it, or a vice with higher jaws holds it"
    return f"give parallels {job.at_most(most_mm)} {job.unit} high or less"


def _least_grip_mm(setup: Setup) -> float:
    """Less, and the part lifts out."""
    height_mm = setup.height_mm
    return max(min(LEAST_GRIP_MM, height_mm / 2), height_mm * LEAST_GRIP_SHARE)


@check_of_setup
def next_to_no_grip(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A grip that the file makes so small that the part lifts out; a thin plate has no more."""
    setup, holding, request = setup_plan.setup, setup_plan.holding, setup_plan.setup.request
    height = setup.height_mm
    is_of_file = request.grip_mm is not None or bool(request.parallels_at_mm)
    least_mm = _least_grip_mm(setup)
    if holding.way == "vice" and is_of_file and holding.grip_mm < least_mm - _NONE_MM:
        key = "vice" if request.grip_mm is not None else "parallels"
        least = job.at_least(least_mm)
        advice = f"hold {least} {job.unit} or more"
        offers = [in_setup(("vice.grip", least))]
        if least_mm > job.plan.shop.vice.jaw_height_mm - _packing(setup, holding)[0] + _NONE_MM:
            lower = _lower(job, setup, needed_below_mm(setup_plan.below_mm))
            advice = f"{lower}, and {advice}" if request.grip_mm is not None else lower
            offers = []  # it hangs on parallels that one has
        found = job.setup_finding(
            _NO_GRIP,
            setup,
            line=request.lines.get(key, request.line),
            grip_mm=holding.grip_mm,
            height_mm=height,
            advice=advice,
            least_mm=LEAST_GRIP_MM,
        )
        yield offering(found, *offers)


@check_of_setup
def high_on_a_small_grip(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A part that stands high above the jaws rocks and lifts."""
    setup, grip_mm = setup_plan.setup, setup_plan.holding.grip_mm
    least_mm = setup.height_mm * SMALL_GRIP_SHARE
    if setup_plan.holding.way == "vice" and grip_mm < least_mm - _NONE_MM:
        height_mm = setup.height_mm
        yield job.setup_finding(
            _HIGH, setup, grip_mm=grip_mm, height_mm=height_mm, least_mm=least_mm
        )


@check_of_setup
def long_across_jaws(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A long part gripped by its ends on a narrow face swings between the jaws."""
    setup, holding = setup_plan.setup, setup_plan.holding
    across = size_along_mm(setup, holding.jaws_axis)
    along = size_along_mm(setup, 1 - holding.jaws_axis)
    if holding.way == "vice" and across > LONG_ACROSS_TIMES * along + _NONE_MM:
        left, right = faces_along(setup, 0)
        yield job.setup_finding(
            _LONG, setup, across_mm=across, along_mm=along, left=left, right=right, face=setup.face
        )


@check_of_setup
def no_room_for_parallels(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Drills come through and every parallel of the shop would be in the way of one."""
    if setup_plan.holding.needs_backing:
        yield job.setup_finding(_NO_PARALLELS, setup_plan.setup)


@check_of_setup
def parallel_in_the_way(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Parallels of the part file stand under the part, clear of the holes that come through."""
    setup, request = setup_plan.setup, setup_plan.setup.request
    thickness_mm = request.parallel_thickness_mm
    if thickness_mm is None or not request.parallels_at_mm:
        return
    axis = setup.jaws_axis
    advice, *offers = _clear_places(job, setup_plan, axis, thickness_mm)
    if setup_plan.holding.way == "vice":
        for found in _beside_part(job, setup, axis, thickness_mm, advice):
            yield offering(found, *offers)
    for hole in job.plan.part.holes:
        if comes_through(hole, setup):
            for found in _near_hole(job, setup, hole, advice):
                yield offering(found, *offers)


def _beside_part(
    job: Job, setup: Setup, axis: int, thickness_mm: float, advice: str | Words
) -> Iterator[Finding]:
    low, high = setup.low_mm[axis], setup.high_mm[axis]
    line = setup.request.lines.get("parallels", setup.request.line)
    for edge in setup.request.parallels_at_mm:
        if low - _NONE_MM <= edge and edge + thickness_mm <= high + _NONE_MM:
            continue
        is_beside = edge >= high or edge + thickness_mm <= low
        where = "is not under the part" if is_beside else "stands out from under the part, in a jaw"
        yield job.setup_finding(
            _BESIDE,
            setup,
            line=line,
            span=_span(axis, edge, thickness_mm),
            where=where,
            low_mm=low,
            high_mm=high,
            advice=advice,
        )


def _near_hole(job: Job, setup: Setup, hole: Hole, advice: str | Words) -> Iterator[Finding]:
    axis = setup.jaws_axis
    thickness_mm = setup.request.parallel_thickness_mm or 0.0
    at = float(setup.from_part(np.array([hole.centre_mm]).T)[axis, 0])
    low, high = at - hole.diameter_mm / 2, at + hole.diameter_mm / 2
    gaps = {
        edge: max(edge - high, low - edge - thickness_mm) for edge in setup.request.parallels_at_mm
    }
    edge = min(gaps, key=lambda one: gaps[one])
    gap_mm, line = gaps[edge], setup.request.lines.get("parallels")
    if gap_mm < CLEAR_OF_HOLE_MM - _NONE_MM:
        yield job.setup_finding(
            _OVER if gap_mm < 0 else _NEAR,
            setup,
            hole,
            line=None if gap_mm < 0 else line,
            span=_span(axis, edge, thickness_mm),
            gap_mm=gap_mm,
            advice=advice,
        )


def _span(axis: int, edge_mm: float, thickness_mm: float) -> Words:
    high_mm = edge_mm + thickness_mm
    span = "{axis} {low_mm:exact bare} to {high_mm:exact}"
    return words(span, axis="XY"[axis], low_mm=edge_mm, high_mm=high_mm)


def _clear_places(
    job: Job, setup_plan: SetupPlan, axis: int, thickness_mm: float
) -> tuple[str] | tuple[Words, Offer]:
    """Where parallels of that thickness would stand clear, as a remedy."""
    setup, part = setup_plan.setup, job.plan.part
    across = (setup.low_mm[axis], setup.high_mm[axis])
    clear = widest_apart(
        free_spans(across, exits_along(part, setup, axis)), thickness_mm, sum(across) / 2
    )
    if clear is None:
        none = "no pair of that thickness clears the holes: give thinner ones, or backing instead"
        return (none,)
    step_mm = TOLD_MM[part.units]
    first = math.ceil(clear[0] / step_mm - 1e-6) * step_mm
    last = math.floor(clear[1] / step_mm + 1e-6) * step_mm
    places = "stand them at {first_mm:exact bare} and {last_mm:exact}"
    unplaced = replace(setup, request=replace(setup.request, parallels_at_mm=()))
    if strips_in_vice(part, job.plan.shop, unplaced, axis, setup_plan.below_mm) is not None:
        places += ", or leave at out: they are placed clear then"
    at = ", ".join(f"{in_units(each, part.units):.5g}" for each in (first, last))
    offer = in_setup(("parallels.at", f"[{at}]"))
    return words(places, first_mm=first, last_mm=last), offer
