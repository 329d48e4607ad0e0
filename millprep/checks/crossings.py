"""Work of several setups on one place: what is done too early. Layers 0 to 3, planning."""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding, warning
from millprep.checks.discs import STEEPEST_BREAK_DEG
from millprep.checks.registry import Job, check
from millprep.model.part import FACE_AXIS, OPPOSITE, Hole, Mouth

_REAMED_TOO_EARLY = warning(
    "reamed-too-early",
    "hole {0} is finished in setup {finished}, {1} is drilled into it in setup {drilled}",
    "number the setups the other way round in the part file, or run the reamer through {0} by hand "
    "once more after setup {drilled}",
)
_INTO_A_SIDE = warning(
    "drilled-on-slope",
    "hole {0} is drilled into {1} {off_mm} beside its axis, where its wall slopes {slope} degrees",
    "number the setups so that {0} is drilled first, or plug {1} before it",
)
_RECESS_FIRST = warning(
    "recess-before-hole",
    "hole {0}: its far end is recessed in setup {far}, before it is drilled in setup {near}",
    'write [[setup]] with face = "{face}" first',
)


@check
def reamed_before_crossed(job: Job) -> Iterator[Finding]:
    """A bore that is finished before another hole is drilled into it wants its reamer once more.

    Inside one setup all drilling comes before any reaming; across setups the order is the setups'.
    """
    finished_in: dict[str, int] = {}
    drilled_in: dict[str, int] = {}
    for setup_plan in job.plan.setups:
        for operation in setup_plan.operations:
            name, number = operation.hole.name, setup_plan.setup.number
            if operation.is_true:
                finished_in[name] = number
            if operation.name == "drill":
                drilled_in[name] = number
    for bore, other in _meetings(job.plan.part.holes):
        finished, drilled = finished_in.get(bore.name), drilled_in.get(other.name)
        if finished is None or drilled is None or finished >= drilled:
            continue
        yield job.finding(_REAMED_TOO_EARLY, bore, other, finished=finished, drilled=drilled)


@check
def drilled_into_a_side(job: Job) -> Iterator[Finding]:
    """A drill that breaks into an earlier hole far beside its axis is pushed towards the void.

    Drilled in the other order, the narrower hole first, or with the first one plugged, it runs true
    (common practice, as for cotters).
    """
    drilled_in = {
        operation.hole.name: setup_plan.setup.number
        for setup_plan in job.plan.setups
        for operation in setup_plan.operations
        if operation.name == "drill" and setup_plan.setup.face == operation.hole.face
    }
    for bore, other in dict.fromkeys(_meetings(job.plan.part.holes)):
        first, then = drilled_in.get(bore.name), drilled_in.get(other.name)
        axes = {FACE_AXIS[bore.face], FACE_AXIS[other.face]}
        if first is None or then is None or first >= then or len(axes) == 1:
            continue
        aside = 3 - sum(axes)
        off, radius = abs(bore.centre_mm[aside] - other.centre_mm[aside]), bore.diameter_mm / 2
        slope = math.degrees(math.asin(min(off / radius, 1.0)))
        is_in_reach = off < radius + other.diameter_mm / 2
        if slope <= STEEPEST_BREAK_DEG or not is_in_reach or other.diameter_mm > bore.diameter_mm:
            continue
        yield job.finding(_INTO_A_SIDE, other, bore, off_mm=off, slope=f"{slope:.0f}")


@check
def mouths_before_holes(job: Job) -> Iterator[Finding]:
    """A recess at the far end wants its hole drilled first: its cutter is led by the hole."""
    numbers = {setup_plan.setup.face: setup_plan.setup.number for setup_plan in job.plan.setups}
    for hole in job.plan.part.holes:
        near, far = numbers.get(hole.face), numbers.get(OPPOSITE[hole.face])
        if hole.far == Mouth() or near is None or far is None or far > near:
            continue
        yield job.finding(_RECESS_FIRST, hole, far=far, near=near, face=hole.face)


def _meetings(holes: tuple[Hole, ...]) -> Iterator[tuple[Hole, Hole]]:
    """Pairs of which one names the other, both ways round."""
    by_name: dict[str, list[Hole]] = {}
    for hole in holes:
        by_name.setdefault(hole.name, []).append(hole)
        if hole.group != hole.name:
            by_name.setdefault(hole.group, []).append(hole)
    for hole in holes:
        named = (*hole.meets, *((hole.goes_into,) if hole.goes_into else ()))
        for other in (found for name in dict.fromkeys(named) for found in by_name.get(name, ())):
            yield hole, other
            yield other, hole
