"""The checks before cutting: a registry, and what `allow` and `meets` do to a finding.

A check is a generator over one `Job`, entered with `@check`; importing `millprep.checks` enters all
of them. Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cached_property
from typing import TYPE_CHECKING

from millprep.base.findings import Cure, Finding, worst_first
from millprep.base.kinds import NEVER_MEANT
from millprep.base.records import frozen, replace
from millprep.base.units import in_units
from millprep.checks.space import Space
from millprep.model.part import FACE_AXIS, Hole
from millprep.planning.plan import Plan
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
    def healer(self) -> Healer:
        from millprep.checks.cures import Healer  # most parts need none

        return Healer(self.space)

    def finding(
        self, severity: str, kind: str, message: str, remedy: str, *holes: Hole,
        line: int | None = None,
    ) -> Finding:  # fmt: skip
        """A finding about holes, at the place of the first or at the line of a key."""
        assert severity in ("stop", "warning", "note")
        first, part = holes[0] if holes else None, self.plan.part
        has_line_elsewhere = first is not None and bool(part.original_path)
        return Finding(
            severity,  # type: ignore[arg-type]  # narrowed by the assertion above
            kind, message, remedy,
            file=(part.original_path if has_line_elsewhere else part.path) or None,
            line=line or (first.line if first else None),
            key=first.key if first else None,
            holes=tuple(hole.name for hole in holes),
        )  # fmt: skip

    def setup_finding(
        self, setup: Setup, severity: str, kind: str, words: str, remedy: str, *holes: Hole,
        line: int | None = None,
    ) -> Finding:  # fmt: skip
        """A finding that one setup's sheet shows; line : of the key of the file that causes it."""
        about = f"setup {setup.number}: {words}"
        found = self.finding(severity, kind, about, remedy, *holes, line=line)
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


_MOST_NAMED = 4
"""Holes named in a remedy that moves several."""

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
    holes: dict[tuple[object, ...], dict[str, None]] = {}
    for finding in findings:
        words = finding.message
        for name in finding.holes:
            words = words.replace(f'"{name}"', f'"{groups.get(name, name)}"')
        key: tuple[object, ...] = (finding.severity, finding.kind, words, finding.line)
        key = (*key, _move_of(finding))
        if key in kept and not _move_together(kept[key], holes[key], finding):
            key = (*key, finding.holes)
        first = kept.setdefault(key, finding)
        holes.setdefault(key, {}).update(dict.fromkeys(finding.holes))
        if first is not finding:
            cure = _together(first.cure, finding.cure)
            kept[key] = replace(first, count=first.count + 1, cure=cure)
    return [
        _moves_told(replace(finding, holes=tuple(holes[key])) if finding.count > 1 else finding)
        for key, finding in kept.items()
    ]


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
    if cure is None or other is None or cure.kind != "move":
        return cure
    moves = dict(zip(cure.holes + other.holes, cure.by_mm + other.by_mm, strict=True))
    return replace(cure, holes=tuple(moves), by_mm=tuple(moves.values()))


def _moves_told(finding: Finding) -> Finding:
    """With a move of several holes in the words of the remedy."""
    cure = finding.cure
    if cure is None or cure.kind != "move" or len(cure.holes) == 1:
        return finding
    *others, last = (f'"{name}"' for name in cure.holes[:_MOST_NAMED])
    who = f"{', '.join(others)} and {last} each"
    if len(cure.holes) > _MOST_NAMED:
        who = f"{', '.join((*others, last))} and {len(cure.holes) - _MOST_NAMED} more each"
    first = f'move "{cure.holes[0]}"'
    return replace(finding, remedy=finding.remedy.replace(first, f"move {who}", 1))


def _meant(finding: Finding, allowed: dict[str, tuple[str, ...]]) -> Finding:
    """A finding whose kind one of its holes allows is a note, marked as meant."""
    kind = finding.kind.replace("-", " ")
    if finding.severity == "stop" and finding.kind in NEVER_MEANT:
        return finding
    if finding.severity == "note" or not any(
        kind in (word.replace("-", " ") for word in allowed.get(name, ())) for name in finding.holes
    ):
        return finding
    return replace(finding, severity="note", message=f"{finding.message} (meant)", remedy="")
