"""The checks before cutting: a registry, and what `allow` and `meets` do to a finding.

A check is a generator over one `Job`, entered with `@check`; importing `millprep.checks` enters all
of them. Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from millprep.errors import Finding, worst_first
from millprep.part import FACE_AXIS, Hole
from millprep.planning.plan import Plan


@dataclass(frozen=True, slots=True)
class Job:
    """What a check may look at: the plan, with its part and shop."""

    plan: Plan

    def finding(self, severity: str, kind: str, message: str, remedy: str, *holes: Hole) -> Finding:
        """A finding about holes, at the place of the first."""
        assert severity in ("stop", "warning", "note")
        first = holes[0] if holes else None
        return Finding(
            severity,  # type: ignore[arg-type]  # narrowed by the assertion above
            kind, message, remedy,
            file=self.plan.part.path or None,
            line=first.line if first else None,
            key=first.key if first else None,
            holes=tuple(hole.name for hole in holes),
        )  # fmt: skip

    def thickness_mm(self, hole: Hole) -> float:
        """Of the blank along the hole."""
        return self.plan.part.stock.size_mm[FACE_AXIS[hole.face]]


Check = Callable[[Job], Iterator[Finding]]
REGISTRY: list[Check] = []


def check(function: Check) -> Check:
    """Enter a check into the registry."""
    REGISTRY.append(function)
    return function


def run_checks(plan: Plan) -> list[Finding]:
    """What every check and the planning have to say, worst first; what is meant becomes a note."""
    job = Job(plan)
    allowed = {hole.name: hole.allow for hole in plan.part.holes if hole.allow}
    found = dict.fromkeys(finding for one in REGISTRY for finding in one(job))
    judged = [_meant(finding, allowed) for finding in (*found, *plan.findings)]
    return worst_first(_told_once(judged, {hole.name: hole.group for hole in plan.part.holes}))


def _told_once(findings: list[Finding], groups: dict[str, str]) -> list[Finding]:
    """What is said alike of several members of a pattern is said once, with the count."""
    kept: dict[tuple[object, ...], Finding] = {}
    for finding in findings:
        words = finding.message
        for name in finding.holes:
            words = words.replace(f'"{name}"', f'"{groups.get(name, name)}"')
        key = (finding.severity, finding.kind, words, finding.line)
        first = kept.setdefault(key, finding)
        if first is not finding:
            holes = tuple(dict.fromkeys((*first.holes, *finding.holes)))
            kept[key] = replace(first, count=first.count + 1, holes=holes)
    return list(kept.values())


def _meant(finding: Finding, allowed: dict[str, tuple[str, ...]]) -> Finding:
    """A finding whose kind one of its holes allows is a note, marked as meant."""
    kind = finding.kind.replace("-", " ")
    if finding.severity == "note" or not any(
        kind in (word.replace("-", " ") for word in allowed.get(name, ())) for name in finding.holes
    ):
        return finding
    return replace(finding, severity="note", message=f"{finding.message} (meant)", remedy="")
