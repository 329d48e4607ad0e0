"""How findings are told to a person: those that are alike once, the worst first.

What is alike is seen by the fields, before any sentence is made. Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterable

from millprep.base.findings import Cure, Finding, worst_first
from millprep.base.records import replace
from millprep.model.part import Part

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
