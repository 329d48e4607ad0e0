"""Walls, floors, crossings and heads: every hole in its blank and against its neighbours.

The rules are in `faults` and `heads`, the nearest changes that cure them in `cures`; this module
asks them of every hole and of every pair that could lack room. Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import islice

from millprep.base.bounds import MOST_PAIRS_A_HOLE, MOST_TOLD_OF_A_PART
from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.checks.faults import Fault
from millprep.checks.registry import Job, check
from millprep.checks.rules import meant_faults, pair_faults, single_faults


@check
def single_holes(job: Job) -> Iterator[Finding]:
    """Every hole lies inside the blank, with walls and a floor, and starts on a flat."""
    space = job.space
    yield from _some_told(
        job, (fault for placed in space.placed.values() for fault in single_faults(space, placed))
    )


@check
def pairs_of_holes(job: Job) -> Iterator[Finding]:
    """Holes keep a wall between them, unless they are meant to meet; heads find room."""
    space = job.space
    yield from _some_told(
        job, (fault for pair in space.pairs for fault in pair_faults(space, *pair))
    )
    if space.is_crowded:
        yield job.finding(
            "stop", "many-findings",
            f"more than {MOST_PAIRS_A_HOLE} holes close to each, on the average: the rest of them "
            "is not looked at", "check steps and counts of the patterns",
        )  # fmt: skip


@check
def meetings(job: Job) -> Iterator[Finding]:
    """Holes that are meant to meet do."""
    told: set[frozenset[str]] = set()
    for fault in meant_faults(job.space):
        patterns = frozenset(hole.group for hole in fault.holes)
        if fault.kind == "meeting" and patterns in told:
            continue
        told.add(patterns)
        yield _told(job, fault)


def _some_told(job: Job, faults: Iterator[Fault]) -> Iterator[Finding]:
    """The faults as findings; beyond what can be told with its cure the worst severity is."""
    for fault in islice(faults, MOST_TOLD_OF_A_PART):
        yield _told(job, fault)
    rest = Counter[str]("note" if fault.is_allowed else fault.severity for fault in faults)
    worst = next((severity for severity in ("stop", "warning") if rest[severity]), None)
    if worst is not None:
        yield job.finding(worst, "many-findings", f"{rest[worst]} more faults of its holes", "")


def _told(job: Job, fault: Fault) -> Finding:
    """The fault as a finding, with the nearest change that cures it."""
    found = job.finding(fault.severity, fault.kind, fault.message, fault.advice, *fault.holes)
    if fault.severity == "note" or fault.is_allowed:
        return found
    cure, words = job.healer.cure(fault)
    remedy = ", or ".join(filter(None, (words, fault.advice)))
    return replace(found, remedy=remedy, cure=cure)
