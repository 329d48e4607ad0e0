"""Whether a transfer punch of the shop fits; what a vice would hold. Layers 0 to 3, planning."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, warning
from millprep.checks.registry import Job, check_at_the_bench, check_of_setup
from millprep.model.carrying import DRILLED
from millprep.planning.plan import SetupPlan
from millprep.planning.punches import LOOSE_MM, punch_for

_LOOSE = warning(
    "punch-loose",
    "{0}: the {punch_mm:2} transfer punch is {slack_mm:2} loose in its hole of {hole_mm:2}",
    "turn a punch to size, or spot it through: it strikes off by half of that",
)
_NONE = warning(
    "punch-loose",
    "{0}: no transfer punch of the shop goes into a hole of {hole_mm:2}",
    "write those that there are into the drawer: transfer_punches = [3, 3.5, 4]",
)


_BELOW = warning(
    "held-below",
    "the vice would hold {member}, whose edges are not those of {source} above it",
    'say under setup of the joint how they are held: hold = "straps", over what bears them',
)
_LEVEL_MM = 0.5


@check_of_setup
def edges_in_the_vice(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """What lies below has the outline of what is zeroed on, where jaws and stop hold it."""
    of, by = job.plan.part.carrying, setup_plan.holding.way
    if of is None or of.by not in DRILLED or by not in ("vice", "vee jaws"):
        return
    off = next((o for o in of.besides if o.middle or abs(o.inside_mm) > _LEVEL_MM), None)
    if off is not None:
        setup = setup_plan.setup
        yield job.setup_finding(_BELOW, setup, member=off.member, source=of.source)


@check_at_the_bench
def punches(job: Job) -> Iterator[Finding]:
    """A transfer punch fills its hole."""
    of = job.plan.part.carrying
    if of is None or of.by != "transfer punch":
        return
    holes = {hole.name: hole for hole in job.plan.part.holes}
    for hole_mm in dict.fromkeys(one.passes_mm for one in of.mates):
        first = next(one for one in of.mates if one.passes_mm == hole_mm)
        punch_mm = punch_for(hole_mm, of.punches_mm)
        if punch_mm is None:
            yield job.finding(_NONE, holes[first.name], hole_mm=hole_mm)
        elif hole_mm - punch_mm > LOOSE_MM:
            slack = hole_mm - punch_mm
            yield job.finding(
                _LOOSE, holes[first.name], punch_mm=punch_mm, slack_mm=slack, hole_mm=hole_mm
            )
