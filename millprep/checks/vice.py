"""How the vice holds the part: grip, jaws and parallels. Layers 0 to 3, planning."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from millprep.base.findings import Finding, Words, words
from millprep.base.units import Length
from millprep.checks.candidates import TOLD_MM
from millprep.checks.registry import Job, check
from millprep.model.part import Hole
from millprep.setting.holding import (
    CLEAR_OF_HOLE_MM,
    Holding,
    comes_through,
    exits_along,
    faces_along,
    free_spans,
    size_along_mm,
    widest_apart,
)
from millprep.setting.setups import Setup

SMALL_GRIP_SHARE = 1 / 3  # of the height that the jaws should hold at least (common practice)
LEAST_GRIP_MM = 3.0  # next to nothing: the part lifts out (common practice)
LEAST_GRIP_SHARE = 0.1
LONG_ACROSS_TIMES = 3.0  # across the jaws, of the length along them
LEFT_ABOVE_JAWS_MM = 2.0  # what the finder needs of the part above the jaws (common practice)
_NONE_MM = 1e-6


@check
def grip_that_cannot_be(job: Job) -> Iterator[Finding]:
    """The jaws hold no more than the part is high, nor than they are, less what it stands on."""
    jaw_mm = job.plan.shop.vice.jaw_height_mm
    for setup_plan in job.plan.setups:
        setup, holding = setup_plan.setup, setup_plan.holding
        request, up = setup.request, setup.face.upper()
        grip_mm = request.grip_mm
        if holding.way != "vice" or grip_mm is None:
            continue
        under_mm, under = _packing(setup, holding)
        room_mm = jaw_mm - under_mm
        if grip_mm > setup.height_mm - _NONE_MM:
            above = grip_mm - setup.height_mm
            level = "be level with" if above <= _NONE_MM else "stand {above} above"
            said = "a grip of {grip} on {height}: the jaws would " + level + " {up}"
        elif grip_mm > room_mm + _NONE_MM:
            above = 0.0
            said = "a grip of {grip}{under}: the jaws are {jaws} high"
        else:
            continue
        about = words(
            said,
            grip=Length(grip_mm, None),
            height=Length(setup.height_mm, None),
            up=up,
            above=Length(above),
            under=under,
            jaws=Length(jaw_mm, None),
        )
        left_mm = max(setup.height_mm - LEFT_ABOVE_JAWS_MM, setup.height_mm / 2)
        most_mm = min(room_mm, left_mm)
        if most_mm > LEAST_GRIP_MM or not under_mm:
            remedy = f"give a grip of {job.at_most(most_mm)} {job.unit} or less"
        else:
            remedy = "put less under the part, or a vice with higher jaws into the shop file"
        line = request.lines.get("vice", request.line)
        yield job.setup_finding(setup, "stop", "jaws-too-high", about, remedy, line=line)


def _packing(setup: Setup, holding: Holding) -> tuple[float, str | Words]:
    """How far the file lets the part stand above the bed of the vice, and in words."""
    backing_mm, height_mm = setup.request.backing_mm, setup.request.parallel_height_mm
    if backing_mm:
        return backing_mm, words(" over backing of {thick}", thick=Length(backing_mm, None))
    if holding.strips is None or height_mm is None:
        return 0.0, ""
    return height_mm, words(" over parallels {height} high", height=Length(height_mm, None))


@check
def parallels_of_a_wrong_height(job: Job) -> Iterator[Finding]:
    """Parallels of the file leave the jaws something to hold, and lift the part above them."""
    jaw_mm = job.plan.shop.vice.jaw_height_mm
    for setup_plan in job.plan.setups:
        setup, holding = setup_plan.setup, setup_plan.holding
        tall_mm = setup.request.parallel_height_mm
        if holding.way != "vice" or tall_mm is None or not setup.request.parallels_at_mm:
            continue
        room_mm, line = jaw_mm - tall_mm, setup.request.lines.get("parallels", setup.request.line)
        if room_mm <= _NONE_MM:
            yield job.setup_finding(
                setup,
                "stop",
                "jaws-too-high",
                words(
                    "parallels {tall} high in jaws of {jaws}: nothing is held",
                    tall=Length(tall_mm, None),
                    jaws=Length(jaw_mm, None),
                ),
                f"give parallels {job.at_most(jaw_mm - setup.grip_mm)} {job.unit} high or less",
                line=line,
            )
        elif room_mm > setup.height_mm + _NONE_MM:
            least = job.at_least(jaw_mm - setup.height_mm)
            yield job.setup_finding(
                setup,
                "warning",
                "jaws-too-high",
                words(
                    "over parallels {tall} high the jaws, {jaws} high, stand {above} above {up}",
                    tall=Length(tall_mm, None),
                    jaws=Length(jaw_mm, None),
                    above=Length(room_mm - setup.height_mm),
                    up=setup.face.upper(),
                ),
                f"give parallels {least} {job.unit} high or more",
                line=line,
            )


@check
def next_to_no_grip(job: Job) -> Iterator[Finding]:
    """A grip that the file makes so small that the part lifts out; a thin plate has no more."""
    for setup_plan in job.plan.setups:
        setup, holding = setup_plan.setup, setup_plan.holding
        request, height = setup.request, setup.height_mm
        is_of_file = request.grip_mm is not None or bool(request.parallels_at_mm)
        least_mm = max(min(LEAST_GRIP_MM, height / 2), height * LEAST_GRIP_SHARE)
        if holding.way == "vice" and is_of_file and holding.grip_mm < least_mm - _NONE_MM:
            key = "vice" if request.grip_mm is not None else "parallels"
            yield job.setup_finding(
                setup,
                "warning",
                "small-grip",
                words(
                    "the jaws hold {grip} of {height}, next to nothing",
                    grip=Length(holding.grip_mm, None),
                    height=Length(height, None),
                ),
                words(
                    "hold {enough} {unit} or more: less than {least}, or than a tenth of the "
                    "height, lets the part lift out",
                    enough=job.at_least(least_mm),
                    unit=job.unit,
                    least=Length(LEAST_GRIP_MM, None),
                ),
                line=request.lines.get(key, request.line),
            )


@check
def high_on_a_small_grip(job: Job) -> Iterator[Finding]:
    """A part that stands high above the jaws rocks and lifts."""
    for setup_plan in job.plan.setups:
        setup, holding = setup_plan.setup, setup_plan.holding
        height = setup.height_mm
        if holding.way == "vice" and holding.grip_mm < height * SMALL_GRIP_SHARE - _NONE_MM:
            yield job.setup_finding(
                setup,
                "note",
                "high-block",
                words(
                    "the jaws hold {grip} of {height}",
                    grip=Length(holding.grip_mm, 1),
                    height=Length(height, None),
                ),
                words(
                    "hold {least} or more, or clamp it to an angle plate; light cuts otherwise",
                    least=Length(height * SMALL_GRIP_SHARE, 1),
                ),
            )


@check
def long_across_jaws(job: Job) -> Iterator[Finding]:
    """A long part gripped by its ends on a narrow face swings between the jaws."""
    for setup_plan in job.plan.setups:
        setup, holding = setup_plan.setup, setup_plan.holding
        across = size_along_mm(setup, holding.jaws_axis)
        along = size_along_mm(setup, 1 - holding.jaws_axis)
        if holding.way == "vice" and across > LONG_ACROSS_TIMES * along + _NONE_MM:
            yield job.setup_finding(
                setup,
                "note",
                "long-across-jaws",
                words(
                    "the part is {across} across the jaws and {along} along them",
                    across=Length(across, None),
                    along=Length(along, None),
                ),
                f'towards_you = "{faces_along(setup, 0)[0]}" or "{faces_along(setup, 0)[1]}" for '
                f"{setup.face} lays its long way along the jaws",
            )


@check
def no_room_for_parallels(job: Job) -> Iterator[Finding]:
    """Drills come through and every parallel of the shop would be in the way of one."""
    for setup_plan in job.plan.setups:
        if setup_plan.holding.needs_backing:
            yield job.setup_finding(
                setup_plan.setup,
                "note",
                "no-parallels",
                "no two parallels of the shop stand clear of the holes that come through",
                "put flat backing under the whole part, or give parallels or backing in [[setup]]",
            )


@check
def parallel_in_the_way(job: Job) -> Iterator[Finding]:
    """Parallels of the part file stand under the part, clear of the holes that come through."""
    for setup_plan in job.plan.setups:
        setup, holding = setup_plan.setup, setup_plan.holding
        thickness_mm, edges = (setup.request.parallel_thickness_mm, setup.request.parallels_at_mm)
        if thickness_mm is None or not edges:
            continue
        axis = 1 if setup.request.jaws == "y" else 0
        if holding.way == "vice":
            yield from _beside_part(job, setup, axis, thickness_mm)
        for hole in (one for one in job.plan.part.holes if comes_through(one, setup)):
            yield from _near_hole(job, setup, axis, thickness_mm, hole)


def _beside_part(job: Job, setup: Setup, axis: int, thickness_mm: float) -> Iterator[Finding]:
    low, high = setup.low_mm[axis], setup.high_mm[axis]
    line = setup.request.lines.get("parallels", setup.request.line)
    for edge in setup.request.parallels_at_mm:
        if low - _NONE_MM <= edge and edge + thickness_mm <= high + _NONE_MM:
            continue
        is_beside = edge >= high or edge + thickness_mm <= low
        where = "is not under the part" if is_beside else "stands out from under the part, in a jaw"
        yield job.setup_finding(
            setup,
            "stop",
            "parallel-beside-part",
            words(
                "the parallel at {span} {where}: the part lies from {low} to {high}",
                span=_span(axis, edge, thickness_mm),
                where=where,
                low=Length(low, None, is_bare=True),
                high=Length(high, None, is_bare=True),
            ),
            _clear_places(job, setup, axis, thickness_mm),
            line=line,
        )


def _near_hole(
    job: Job, setup: Setup, axis: int, thickness_mm: float, hole: Hole
) -> Iterator[Finding]:
    at = float(setup.from_part(np.array([hole.centre_mm]).T)[axis, 0])
    low, high = at - hole.diameter_mm / 2, at + hole.diameter_mm / 2
    gaps = {
        edge: max(edge - high, low - edge - thickness_mm) for edge in setup.request.parallels_at_mm
    }
    edge = min(gaps, key=lambda one: gaps[one])
    gap_mm, span = gaps[edge], _span(axis, edge, thickness_mm)
    if gap_mm < 0:
        yield job.setup_finding(
            setup,
            "stop",
            "hole-over-parallel",
            words("hole {0} comes through over the parallel at {span}", span=span),
            _clear_places(job, setup, axis, thickness_mm),
            hole,
        )
    elif gap_mm < CLEAR_OF_HOLE_MM - _NONE_MM:
        yield job.setup_finding(
            setup,
            "warning",
            "near-parallel",
            words(
                "hole {0} comes through {gap} beside the parallel at {span}",
                gap=Length(gap_mm),
                span=span,
            ),
            _clear_places(job, setup, axis, thickness_mm),
            hole,
            line=setup.request.lines.get("parallels"),
        )


def _span(axis: int, edge_mm: float, thickness_mm: float) -> Words:
    return words(
        "{axis} {low} to {high}",
        axis="XY"[axis],
        low=Length(edge_mm, None, is_bare=True),
        high=Length(edge_mm + thickness_mm, None),
    )


def _clear_places(job: Job, setup: Setup, axis: int, thickness_mm: float) -> str | Words:
    """Where parallels of that thickness would stand clear, as a remedy."""
    across = (setup.low_mm[axis], setup.high_mm[axis])
    clear = widest_apart(
        free_spans(across, exits_along(job.plan.part, setup, axis)), thickness_mm, sum(across) / 2
    )
    if clear is None:
        return "no two of that thickness stand clear: give thinner ones, or backing instead"
    step_mm = TOLD_MM[job.plan.part.units]
    first = math.ceil(clear[0] / step_mm - 1e-6) * step_mm
    last = math.floor(clear[1] / step_mm + 1e-6) * step_mm
    return words(
        "stand them at {first} and {last}, or leave at out: they are placed clear then",
        first=Length(first, None, is_bare=True),
        last=Length(last, None),
    )
