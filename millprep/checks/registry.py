"""The checks before cutting: a registry, what `allow` and `meets` do to a finding, how it is told.

A check is a generator over one `Job`, entered with `@check`; importing `millprep.checks` enters all
of them. What is alike is told once, and seen by the fields, before any sentence is made. Imports
layers 0 to 3 and planning's data.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from functools import cached_property, wraps
from typing import TYPE_CHECKING

from millprep.base.findings import Changes, Cure, Finding, Offer, Saying, Value, worst_first
from millprep.base.kinds import NEVER_MEANT
from millprep.base.records import frozen, replace
from millprep.base.units import in_units
from millprep.base.waiting import go_on
from millprep.checks.space import Space
from millprep.model.kinds import MARK
from millprep.model.part import FACE_AXIS, Hole, Part
from millprep.planning.face_order import Turn, turn_of
from millprep.planning.plan import Plan, SetupPlan
from millprep.setting.setups import Setup

if TYPE_CHECKING:
    from millprep.checks.cures import Healer


@frozen
class Job:
    """What a check may look at: the plan, with its part and shop, and the holes in space."""

    plan: Plan

    @cached_property
    def space(self) -> Space:
        return Space(self.plan)

    @cached_property
    def turn(self) -> Turn:
        """The number of the setup in which each hole is worked from each of its faces."""
        return turn_of([(one.setup.face, one.setup.names) for one in self.plan.setups])

    @cached_property
    def _holes(self) -> dict[str, Hole]:
        return {hole.name: hole for hole in self.plan.part.holes}

    def placed(self, finding: Finding, line: int | None = None) -> Finding:
        """The finding with its place in the file: that of its first hole, or the line of a key."""
        first = self._holes[finding.holes[0]] if finding.holes else None
        part = self.plan.part
        elsewhere = "" if first is None else first.file or part.original_path
        return replace(
            finding,
            file=elsewhere or part.path or None,
            line=line or (first.line if first else None),
            key=first.key if first else None,
            units=part.units,
        )

    def finding(
        self, saying: Saying, *holes: Hole, line: int | None = None, **values: Value
    ) -> Finding:
        """A finding about holes, at the place of the first or at the line of a key."""
        return self.placed(saying.of(*(hole.name for hole in holes), **values), line)

    def setup_finding(
        self, saying: Saying, setup: Setup, *holes: Hole, line: int | None = None, **values: Value
    ) -> Finding:
        """A finding that one setup's sheet shows; line : of the key of the file that causes it."""
        about = replace(saying, said="setup {setup}: " + saying.said)
        found = self.finding(about, *holes, line=line, setup=setup.number, **values)
        file = self.plan.part.original_path or found.file if line else found.file
        return replace(found, setup=setup.number, file=file)

    @property
    def unit(self) -> str:
        """The file's own: what the plain figures of a remedy are in."""
        return "in" if self.plan.part.units == "inch" else "mm"

    def at_least(self, length_mm: float) -> str:
        """A plain figure in the file's units, rounded up: what a remedy tells to write."""
        return self._figure(length_mm, up=True)

    def at_most(self, length_mm: float) -> str:
        """The same rounded down."""
        return self._figure(length_mm, up=False)

    def _figure(self, length_mm: float, *, up: bool) -> str:
        step = 0.002 if self.plan.part.units == "inch" else 0.05
        steps = in_units(length_mm, self.plan.part.units) / step
        return f"{(math.ceil(steps - 1e-6) if up else math.floor(steps + 1e-6)) * step:.5g}"

    def thickness_mm(self, hole: Hole) -> float:
        """Of the blank along the hole."""
        return self.plan.part.stock.size_mm[FACE_AXIS[hole.face]]


def at_hole(key: str, value: str | None, changes: Changes = "making") -> Offer:
    """A figure of the finding's first hole, as TOML writes it; None strikes it out."""
    return Offer("hole", ((key, value),), changes=changes)


def in_setup(*figures: tuple[str, str | None]) -> Offer:
    """Figures of the finding's own setup."""
    return Offer("setup", figures)


def first_up(face: str) -> Offer:
    """The setup of a face before the others."""
    return Offer("setup", first_face=face)


def offering(finding: Finding, *offers: Offer) -> Finding:
    """The finding with what its advice tells to write; the first that does is its cure."""
    return replace(finding, offers=offers)


Check = Callable[[Job], Iterator[Finding]]
REGISTRY: list[Check] = []
OF_PART: set[Check] = set()
AT_THE_BENCH: set[Check] = set()


def check(function: Check) -> Check:
    """Enter a check into the registry."""
    REGISTRY.append(function)
    return function


def check_of_setup(function: Callable[[Job, SetupPlan], Iterator[Finding]]) -> Check:
    """Enter a check that is asked of each setup in turn."""

    @check
    @wraps(function)
    def of_each(job: Job) -> Iterator[Finding]:
        for setup_plan in job.plan.setups:
            yield from function(job, setup_plan)

    return of_each


def check_of_part(function: Check) -> Check:
    """Enter a check of the part as it will be, whatever is left for later."""
    OF_PART.add(function)
    return check(function)


def check_at_the_bench(function: Check) -> Check:
    """Enter a check that is asked of what is marked by hand too, where no tool comes down."""
    AT_THE_BENCH.add(function)
    return check(function)


def run_checks(plan: Plan, whole: Plan | None = None) -> list[Finding]:
    """What every check and the planning have to say, each of its own holes and without a cure.

    whole : of the part as it will be, where the plan leaves holes for later
    What is meant is a note. `with_cures` and `told_once` make of it what a person is shown.
    """
    job = Job(plan)
    finished = job if whole is None or whole is plan else Job(whole)
    is_marked = bool(plan.part.holes) and all(hole.kind is MARK for hole in plan.part.holes)
    checks = [one for one in REGISTRY if one in AT_THE_BENCH or not is_marked]
    if plan.part.carrying is not None:  # each member is judged as a part by itself
        checks = [one for one in checks if one not in OF_PART]
    found = dict.fromkeys(
        finding for one in checks for finding in _asked(one, finished if one in OF_PART else job)
    )
    return [_meant(finished, finding) for finding in (*found, *plan.findings)]


def _asked(one: Check, job: Job) -> Iterator[Finding]:
    go_on()
    return one(job)


def with_cures(plan: Plan, findings: Iterable[Finding]) -> list[Finding]:
    """The findings of `run_checks`, each with the nearest change to the part that cures it.

    The search takes by far the longest of all that is done with a part that has faults.
    """
    return [one for alike in cured(plan, [[*findings]]) for one in alike]


def cured(plan: Plan, findings: Iterable[list[Finding]]) -> Iterator[list[Finding]]:
    """The same, one list of findings after the other."""
    healer: Healer | None = None
    for alike in findings:
        if not any(map(_may_be_cured, alike)):
            yield alike
            continue
        if healer is None:
            from millprep.checks.cures import Healer

            healer = Healer(Space(plan))
        yield [
            replace(finding, cure=healer.cure(finding)) if _may_be_cured(finding) else finding
            for finding in alike
        ]


def _may_be_cured(finding: Finding) -> bool:
    return bool(finding.about) and finding.severity != "note"


def _meant(job: Job, finding: Finding) -> Finding:
    """A finding whose kind one of its holes allows is a note, marked as meant."""
    if finding.severity == "note" or not job.space.allows(finding):
        return finding
    if finding.severity == "stop" and finding.kind in NEVER_MEANT:
        return finding
    return replace(finding, severity="note", is_meant=True, advice="", offers=())


_Key = tuple[object, ...]


def alike(part: Part, findings: Iterable[Finding]) -> list[list[Finding]]:
    """What is said alike of several members of a pattern, together: the worst first."""
    groups = {hole.name: hole.group for hole in part.holes}
    sets: dict[_Key, list[Finding]] = {}
    for finding in worst_first(findings):
        sets.setdefault(_said(finding, groups), []).append(finding)
    return list(sets.values())


def _said(finding: Finding, groups: dict[str, str]) -> _Key:
    said = finding.alike(tuple(groups.get(name, name) for name in finding.holes))
    return finding.severity, finding.kind, said, finding.line


def told_once(part: Part, findings: Iterable[Finding]) -> list[Finding]:
    """What is said alike of several members of a pattern is said once, with the count."""
    groups = {hole.name: hole.group for hole in part.holes}
    kept: dict[_Key, Finding] = {}
    holes: dict[_Key, dict[str, None]] = {}
    for finding in findings:
        key: _Key = (*_said(finding, groups), _move_of(finding))
        if key in kept and not _move_together(kept[key], holes[key], finding):
            key = (*key, finding.holes)
        first = kept.setdefault(key, finding)
        holes.setdefault(key, {}).update(dict.fromkeys(finding.holes))
        if first is not finding:
            cure = _together(first.cure, finding.cure)
            kept[key] = replace(first, count=first.count + 1, cure=cure)
    return worst_first(
        replace(finding, holes=tuple(holes[key])) if finding.count > 1 else finding
        for key, finding in kept.items()
    )


def _move_of(finding: Finding) -> object:
    """What move of one hole cures it, if any does: which of its holes, and how."""
    cure = finding.cure
    if cure is None or cure.kind != "move":
        return None
    return finding.holes.index(cure.holes[0]), cure.by_mm


def _move_together(one: Finding, holes: dict[str, None], other: Finding) -> bool:
    """Whether the moves that cure two findings leave each other's holes alone.

    holes : of the first and of all that were said with it
    """
    if _move_of(other) is None:
        return True
    moved, others = (set(each.cure.holes if each.cure else ()) for each in (one, other))
    return not moved & set(other.holes) and not others & holes.keys()


def _together(cure: Cure | None, other: Cure | None) -> Cure | None:
    """The same move at the holes of both; other cures are of whole patterns as they are."""
    if cure is None or other is None:
        return cure
    if cure.kind != "move":
        return replace(cure, no_edits=cure.no_edits or other.no_edits)
    moves = dict(zip(cure.holes + other.holes, cure.by_mm + other.by_mm, strict=True))
    told = _together(cure.told, other.told)
    return replace(cure, holes=tuple(moves), by_mm=tuple(moves.values()), told=told)
