"""Walls, floors, crossings and heads: every hole in its blank and against its neighbours.

The rules are in `faults` and those beside it; here they are asked of a hole, of a pair, of all that
a change touches, and of a whole part. Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import islice, permutations

from millprep.base.bounds import MOST_PAIRS_A_HOLE, MOST_TOLD_OF_A_PART
from millprep.base.findings import Finding, Severity, stop
from millprep.base.records import replace
from millprep.checks import discs, faults, heads, meeting
from millprep.checks.faults import key_of
from millprep.checks.registry import Job, check_of_part
from millprep.checks.solids import Placed
from millprep.checks.space import Space, near_pairs

_SINGLE = (
    faults.edges,
    faults.floor,
    faults.engagement,
    discs.bore_of_disc,
    discs.slope_of_rim,
    heads.head_on_face,
)


def single_faults(space: Space, placed: Placed) -> Iterator[Finding]:
    """What is wrong with a hole in its blank."""
    for rule in _SINGLE:
        yield from rule(space.part, placed)


def pair_faults(space: Space, one: Placed, other: Placed) -> Iterator[Finding]:
    """What is wrong between two holes; where they are meant to meet, how the later starts."""
    if other.hole.name in space.meant.get(one.hole.name, ()):
        yield from meeting.slopes(one, other)
        return
    yield from faults.walls(one, other)
    yield from heads.heads(one, other)


def meant_faults(space: Space) -> Iterator[Finding]:
    """Of all pairs that are meant to meet: that they do, or that they do not.

    Of two patterns it is enough that each member meets one of the other pattern.
    """
    found = [
        finding
        for name, others in space.meant.items()
        for other in sorted(others, key=space.order)
        if space.order(name) < space.order(other)
        for finding in meeting.meetings(space.placed[name], space.placed[other])
    ]
    met = {
        pair
        for finding in found
        if finding.kind == "meeting"
        for pair in _each_with_pattern(space, finding)
    }
    for finding in found:
        if finding.kind == "meeting" or not _each_with_pattern(space, finding) <= met:
            yield finding


def _each_with_pattern(space: Space, finding: Finding) -> set[tuple[str, str]]:
    """(name of a hole, pattern of the other) of a pair, both ways round."""
    return {(one, space.placed[other].hole.group) for one, other in permutations(finding.holes, 2)}


def lacking_mm(space: Space, finding: Finding, changed: Mapping[str, Placed]) -> float | None:
    """How much room the same finding lacks after a change; None when it is gone."""
    placed = [changed.get(name, space.placed[name]) for name in finding.holes]
    found = single_faults(space, placed[0]) if len(placed) == 1 else _of_pair(space, *placed)
    key = key_of(finding)
    same = (each.lacking_mm for each in found if key_of(each) == key and is_serious(space, each))
    return max(same, default=None)


def is_serious(space: Space, finding: Finding) -> bool:
    """A stop or a warning, and not meant."""
    return finding.severity != "note" and not space.allows(finding)


def _of_pair(space: Space, one: Placed, other: Placed) -> Iterator[Finding]:
    yield from pair_faults(space, one, other)
    if other.hole.name in space.meant.get(one.hole.name, ()):
        yield from meeting.meetings(one, other)


def serious_round(space: Space, changed: Mapping[str, Placed]) -> Iterator[Finding]:
    """The stops and warnings at holes that have changed, with their blank and their neighbours."""
    return (found for found in _faults_round(space, changed) if is_serious(space, found))


def _faults_round(space: Space, changed: Mapping[str, Placed]) -> Iterator[Finding]:
    for name, placed in changed.items():
        yield from single_faults(space, placed)
        for other in space.near(placed):
            if other.hole.name not in changed:
                yield from pair_faults(space, placed, other)
        for other_name in space.meant.get(name, ()):
            other = changed.get(other_name, space.placed[other_name])
            yield from meeting.meetings(placed, other)
    for one, other in near_pairs(changed.values()):
        yield from pair_faults(space, one, other)


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


@check_of_part
def dimensions(job: Job) -> Iterator[Finding]:
    """Every [[dimension]] agrees with the places and with the other dimensions."""
    if job.plan.part.dimensions:
        from millprep.checks.plan_dimensions import what_dimensions_say  # few parts hold any

        yield from what_dimensions_say(job.plan.part)
