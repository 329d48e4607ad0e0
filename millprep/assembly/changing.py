"""What a change of one figure changes elsewhere: holes of members, figures of joints, findings.

Layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.assembly import Judged
from millprep.assembly.figures import Figures, hole_figures, joints_json
from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Part

Findings = Sequence[Finding]


@frozen
class HolesChanged:
    """One pattern of one part file that changes: what of it, and how many holes.

    members : all that are made to the file
    """

    members: tuple[str, ...]
    file: str
    group: str
    count: int
    words: str


@frozen
class FigureChanged:
    """One figure of a joint: before and after."""

    joint: str
    what: str
    before: Any
    after: Any


@frozen
class Changed:
    """All that a change changes. holes : of each file once; gone, new : findings.

    checked : the part files that change, each checked by itself before and after
    """

    holes: tuple[HolesChanged, ...]
    figures: tuple[FigureChanged, ...]
    gone: tuple[Finding, ...]
    new: tuple[Finding, ...]
    checked: tuple[str, ...]


def changed_parts(before: Judged, after: Judged) -> dict[str, tuple[Part, Part]]:
    """The parts that a change changes, before and after it, by their files."""
    members = zip(before.assembly.members, after.assembly.members, strict=True)
    return {was.file: (was.part, now.part) for was, now in members if was.part != now.part}


def changed(
    before: Judged, after: Judged, checks: Mapping[str, tuple[Findings, Findings]]
) -> Changed:
    """Compares an assembly as it stands with one in which a figure is another.

    checks : of each file of `changed_parts`, what was found in the part by itself, before and after
    """
    say = Say(before.assembly)
    holes: list[HolesChanged] = []
    for file, (was, now) in changed_parts(before, after).items():
        members = tuple(each.name for each in before.assembly.members if each.file == file)
        holes += _holes(say, was, now, members, file)
    figures = tuple(_figures(joints_json(before), joints_json(after)))
    found = [before.findings, *(one for one, _ in checks.values())]
    finds = [after.findings, *(other for _, other in checks.values())]
    old, new = ({_key(f): f for each in told for f in each} for told in (found, finds))
    return Changed(
        tuple(holes),
        figures,
        tuple(f for key, f in old.items() if key not in new),
        tuple(f for key, f in new.items() if key not in old),
        tuple(checks),
    )


def _key(finding: Finding) -> tuple[str, str, str, str | None]:
    return finding.severity, finding.kind, finding.message, finding.file


def _holes(
    say: Say, was: Part, now: Part, member: tuple[str, ...], file: str
) -> Iterator[HolesChanged]:
    if was.stock.size_mm != now.stock.size_mm:
        words = " by ".join(say.length(each, 3) for each in now.stock.size_mm)
        yield HolesChanged(member, file, "the blank", 0, f"becomes {words}")
    old = {hole.name: hole for hole in was.holes}
    changes: dict[str, list[tuple[str, float]]] = {}
    for hole in now.holes:
        before = old.pop(hole.name, None)
        if before is None:
            changes.setdefault(hole.group, []).append(("added", 0.0))
            continue
        one, other = hole_figures(was, before), hole_figures(now, hole)
        words = ", ".join(_words(say, key, one, other) for key in one if one[key] != other[key])
        if words:
            moved = math.dist(one["place"], other["place"])
            changes.setdefault(hole.group, []).append((words, moved))
    for hole in old.values():
        changes.setdefault(hole.group, []).append(("taken away", 0.0))
    for group, each in changes.items():
        words = "; ".join(dict.fromkeys(words for words, _ in each))
        far = max(moved for _, moved in each)
        if far > 0:
            words = words.replace("place", f"place, by up to {say.length(far, 3)}")
        yield HolesChanged(member, file, group, len(each), words)


def _words(say: Say, key: str, one: Figures, other: Figures) -> str:
    if key == "depth":
        return f"depth {say.length(one[key], 3)} to {say.length(other[key], 3)}"
    if key == "size":
        return f"{one[key]} to {other[key]}"
    return key


def _figures(before: list[Figures], after: list[Figures]) -> Iterator[FigureChanged]:
    now = {row["name"]: row for row in after}
    for row in before:
        other = now.pop(row["name"], None)
        if other is None:
            yield FigureChanged(row["name"], "the joint", "there", None)
            continue
        was, become = dict(_flat(row)), dict(_flat(other))
        for what in {**was, **become}:
            if was.get(what) != become.get(what) and what != "line":
                yield FigureChanged(row["name"], what, was.get(what), become.get(what))
    for name in now:
        yield FigureChanged(name, "the joint", None, "there")


def _flat(row: Figures, before: str = "") -> Iterator[tuple[str, Any]]:
    """Every figure of a row with the way to it; what a chance is made of is left out."""
    for key, value in row.items():
        if isinstance(value, list) and value and isinstance(value[0], dict):
            for each in value:
                name = each.get("second") or each.get("holes") or ""
                yield from _flat(each, f"{before}{name}: ")
        elif key == "made_by":
            yield f"{before}{key}", " and ".join(dict.fromkeys(value))
        elif key not in ("trials", "seed", "pairs", "words", "standard_error"):
            yield f"{before}{key}", value
