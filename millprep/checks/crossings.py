"""Work of several setups on one place: what is done too early. Layers 0 to 3, planning."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, warning
from millprep.checks.registry import Job, check, first_up, offering
from millprep.model.part import FACE_AXIS
from millprep.planning.face_order import (
    finished_in,
    is_finished_early,
    is_recessed_early,
    meetings,
    slope_met_deg,
)

_REAMED_TOO_EARLY = warning(
    "reamed-too-early",
    "hole {0} is finished in setup {finished}, {1} is drilled into it in setup {drilled}",
    "put the setups the other way round in the part file, or make {0} in a visit of its own after "
    'the others: [[setup]] with face = "{face}" and holes = [{0}]',
)
_INTO_A_SIDE = warning(
    "drilled-on-slope",
    "hole {0} is drilled into {1} {off_mm} off its axis, where its wall slopes {slope} degrees",
    "number the setups so that {0} is drilled first, or plug {1} before it",
)
_RECESS_FIRST = warning(
    "recess-before-hole",
    "hole {0}: its far end is recessed in setup {far}, before it is drilled in setup {near}",
    'put [[setup]] with face = "{face}" first',
)


@check
def reamed_before_crossed(job: Job) -> Iterator[Finding]:
    """A bore that is finished before another hole is drilled into it wants its reamer once more."""
    for bore, other in meetings(job.plan.part.holes):
        if is_finished_early(bore, other, job.turn):
            found = job.finding(
                _REAMED_TOO_EARLY,
                bore,
                other,
                finished=finished_in(bore, job.turn),
                drilled=finished_in(other, job.turn),
                face=bore.face,
            )
            yield offering(found, first_up(other.face))


@check
def drilled_into_a_side(job: Job) -> Iterator[Finding]:
    """A drill that breaks into an earlier hole far beside its axis is pushed towards the void.

    Drilled in the other order, the narrower hole first, or with the first one plugged, it runs true
    (common practice, as for cotters).
    """
    for bore, other in dict.fromkeys(meetings(job.plan.part.holes)):
        slope = slope_met_deg(bore, other, job.turn)
        if slope is not None:
            (aside,) = {0, 1, 2} - {FACE_AXIS[bore.face], FACE_AXIS[other.face]}
            off_mm = abs(bore.centre_mm[aside] - other.centre_mm[aside])
            yield job.finding(_INTO_A_SIDE, other, bore, off_mm=off_mm, slope=f"{slope:.0f}")


@check
def mouths_before_holes(job: Job) -> Iterator[Finding]:
    """A recess at the far end wants its hole drilled first: its cutter is led by the hole."""
    for hole in job.plan.part.holes:
        if is_recessed_early(hole, job.turn):
            near, far = (job.turn[hole.name, face] for face in hole.worked_from)
            found = job.finding(_RECESS_FIRST, hole, far=far, near=near, face=hole.face)
            yield offering(found, first_up(hole.face))
