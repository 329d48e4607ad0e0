"""Walls, floors, crossings and heads: every hole in its blank and against its neighbours.

The rules are in `faults` and `heads`; this module asks them of every hole and of every pair that
could lack room. Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import islice

from millprep.base.bounds import MOST_PAIRS_A_HOLE, MOST_TOLD_OF_A_PART
from millprep.base.findings import Finding, Severity, stop
from millprep.base.records import replace
from millprep.checks.registry import Job, check_of_part
from millprep.checks.rules import meant_faults, pair_faults, single_faults

_CROWDED = stop(
    "many-findings",
    "more than {most} holes close to each, on the average: the rest of them is not looked at",
    "check steps and counts of the patterns",
)
_MORE = stop("many-findings", "{count} more faults of its holes")


@check_of_part
def single_holes(job: Job) -> Iterator[Finding]:
    """Every hole lies inside the blank, with walls and a floor, and starts on a flat."""
    space = job.space
    yield from _some_told(
        job, (found for placed in space.placed.values() for found in single_faults(space, placed))
    )


@check_of_part
def pairs_of_holes(job: Job) -> Iterator[Finding]:
    """Holes keep a wall between them, unless they are meant to meet; heads find room."""
    space = job.space
    yield from _some_told(
        job, (found for pair in space.pairs for found in pair_faults(space, *pair))
    )
    if space.is_crowded:
        yield job.finding(_CROWDED, most=MOST_PAIRS_A_HOLE)


@check_of_part
def meetings(job: Job) -> Iterator[Finding]:
    """Holes that are meant to meet do."""
    told: set[frozenset[str]] = set()
    for finding in meant_faults(job.space):
        patterns = frozenset(job.space.placed[name].hole.group for name in finding.holes)
        if finding.kind == "meeting" and patterns in told:
            continue
        told.add(patterns)
        yield job.placed(finding)


def _some_told(job: Job, findings: Iterator[Finding]) -> Iterator[Finding]:
    """The findings; of those beyond what can be told the worst severity is."""
    for finding in islice(findings, MOST_TOLD_OF_A_PART):
        yield job.placed(finding)
    rest = Counter[Severity](
        "note" if job.space.allows(finding) else finding.severity for finding in findings
    )
    for severity in ("stop", "warning"):
        if rest[severity]:
            yield job.finding(replace(_MORE, severity=severity), count=rest[severity])
            return
