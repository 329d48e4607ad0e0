"""Which steps of a job a change alters, and whether metal that is cut already can be saved.

Layers 0 to 3 and planning.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from typing import Any, Literal

from millprep.assembly.figures import hole_figures
from millprep.assembly.job import Visit
from millprep.assembly.job_order import Route
from millprep.base.records import frozen, replace
from millprep.model.part import Hole, Part
from millprep.planning.plan import Plan

Fate = Literal[
    "to be made", "to go on with", "to open out", "one too many", "lost", "to look at", ""
]
"""What a change makes of a hole that is there: nothing, where only its readings change."""
_SAME_MM = 0.0005
_MAKES = ("drill", "stack", "finish")


@frozen
class HoleChange:
    """One hole of a step: what of it changes, and its fate if the step is done.

    moved_mm : of its place on the part
    """

    hole: str
    words: str
    moved_mm: float
    fate: Fate


@frozen
class StepChange:
    """A step that changes, by its number before and after; None where it is not there.

    blank : what the blank of its part becomes, in words; is_lost : a done step that cannot be saved
    """

    visit: Visit
    before: int | None
    after: int | None
    is_done: bool
    holes: tuple[HoleChange, ...] = ()
    is_blank: bool = False

    @property
    def is_lost(self) -> bool:
        return self.is_done and any(one.fate in ("lost", "one too many") for one in self.holes)

    @property
    def is_in_doubt(self) -> bool:
        return self.is_done and (self.is_blank or any(o.fate == "to look at" for o in self.holes))


Plans = Mapping[str, Plan]


def step_changes(
    before: Route, after: Route, plans: tuple[Plans, Plans], done: Collection[int]
) -> list[StepChange]:
    """The steps whose sheets change, in the order before, then those that come new.

    plans : of each part file, before and after; done : numbers of the steps before
    """
    was, now = before.numbers, after.numbers
    changes = []
    for key, n in was.items():
        visit, is_done = before.visits[n - 1], n in done
        if key not in now:
            changes.append(StepChange(visit, n, None, is_done))
            continue
        other = after.visits[now[key] - 1]
        holes = tuple(_holes(before, after, visit, other, plans))
        is_blank = visit.what in _MAKES and any(
            _part(before, one).stock != _part(after, one).stock for one in visit.members
        )
        if holes or is_blank:
            changes.append(StepChange(visit, n, now[key], is_done, holes, is_blank))
    new = [key for key in now if key not in was]
    return changes + [StepChange(after.visits[now[key] - 1], None, now[key], False) for key in new]


def _part(route: Route, member: str) -> Part:
    return route.job.assembly.member(member).part


def _holes(
    before: Route, after: Route, visit: Visit, other: Visit, plans: tuple[Plans, Plans]
) -> Iterator[HoleChange]:
    old, new = _owned(before, visit), _owned(after, other)
    for name in {**old, **new}:
        if name not in new:
            yield HoleChange(name, "taken away", 0.0, "one too many")
        elif name not in old:
            yield HoleChange(name, "added", 0.0, "to be made")
        else:
            readings = (
                [_readings(plan, name) for plan in (plans[0][visit.file], plans[1][other.file])]
                if visit.file
                else [(), ()]
            )
            change = _change(name, *old[name], *new[name], is_read=readings[0] != readings[1])
            if change is not None:
                yield change if visit.what in _MAKES else replace(change, fate="")


def _owned(route: Route, visit: Visit) -> dict[str, tuple[Part, Hole]]:
    """The holes of a visit and their parts, by name."""
    owned = {}
    for member in visit.members[: 1 if visit.file else None]:
        part = _part(route, member)
        for hole in part.holes:
            owned[hole.name if visit.file else f"{member}: {hole.name}"] = part, hole
    return {name: owned[name] for name in visit.holes}


def _readings(plan: Plan, name: str) -> list[tuple[Any, ...]]:
    """All that a sheet says of a hole."""
    return [
        (one.setup.face, o.name, o.tool, o.x_mm, o.y_mm, o.z_mm, o.pecks_mm)
        for one in plan.setups
        for o in one.operations
        if o.hole.name == name
    ]


def _change(
    name: str, was: Part, old: Hole, now: Part, new: Hole, *, is_read: bool
) -> HoleChange | None:
    one, other = hole_figures(was, old), hole_figures(now, new)
    kinds = [kind for kind in one if one[kind] != other[kind]]
    if not kinds:
        return HoleChange(name, "readings", 0.0, "") if is_read else None
    moved_mm = math.dist(one["place"], other["place"]) if "place" in kinds else 0.0
    return HoleChange(name, ", ".join(kinds), moved_mm, _fate(old, new, kinds, moved_mm))


def _fate(old: Hole, new: Hole, kinds: list[str], moved_mm: float) -> Fate:
    """A hole swallows the old one where it is wider by twice what it moves."""
    wider_mm = new.diameter_mm - old.diameter_mm
    if moved_mm > _SAME_MM or "size" in kinds:
        if wider_mm < 2 * moved_mm - _SAME_MM or (wider_mm <= _SAME_MM and "size" in kinds):
            return "lost"
        return "to open out"
    if "depth" in kinds:
        return "to go on with" if new.depth_mm > old.depth_mm else "to look at"
    return "to look at" if kinds != ["position"] else ""
