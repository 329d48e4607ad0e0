"""Which steps of a job a change alters, and whether metal that is cut already can be saved.

Layers 0 to 3 and planning.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from typing import Any, Literal

from millprep.assembly.figures import hole_figures
from millprep.assembly.job import Key, Visit
from millprep.assembly.job_order import Route
from millprep.base.records import frozen, replace
from millprep.model.part import Hole, Part
from millprep.planning.plan import Plan

Fate = Literal[
    "to be made", "to go on with", "to open out", "one too many", "lost", "to look at", ""
]
"""What a change makes of a hole that is there: nothing, where only its readings change."""
_SAME_MM = 0.0005
_USUAL_MM = 0.05
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
        is_blank = visit.what in (*_MAKES, "other") and any(
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
            readings: list[Any] = [(), ()]
            if visit.file:
                files = (plans[0], visit.file), (plans[1], other.file)
                readings = [_readings(plan[file], name) for plan, file in files]
            change = _change(name, *old[name], *new[name], is_read=readings[0] != readings[1])
            if change is not None:
                yield change if visit.what in _MAKES else replace(change, fate="")
    yield from _begun(before, after, visit, other)
    yield from _sources(before, after, visit)


def _owned(route: Route, visit: Visit) -> dict[str, tuple[Part, Hole]]:
    """The holes of a visit and their parts, by name."""
    owned = {}
    for member in visit.members[: 1 if visit.file else None]:
        part = _part(route, member)
        for hole in part.holes:
            owned[hole.name if visit.file else f"{member}: {hole.name}"] = part, hole
    return {name: owned[name] for name in visit.holes}


def _begun(before: Route, after: Route, visit: Visit, other: Visit) -> Iterator[HoleChange]:
    """Spots and pilots of holes that are finished later: what comes after follows them."""
    for name, (key, leave) in visit.left.items():
        if leave == "undrilled" or name not in other.left:
            continue
        one, two = ((r, _hole(r, visit.members[0], name)) for r in (before, after))
        was, now = (hole_figures(_part(r, visit.members[0]), hole) for r, hole in (one, two))
        pilots = [_pilot_mm(r, k) for r, k in ((before, key), (after, other.left[name][0]))]
        if was["place"] != now["place"] or pilots[0] != pilots[1] or leave != other.left[name][1]:
            moved_mm = math.dist(was["place"], now["place"])
            yield HoleChange(name, f"how it is begun ({leave})", moved_mm, "to look at")


def _hole(route: Route, member: str, name: str) -> Hole:
    return next(hole for hole in _part(route, member).holes if hole.name == name)


def _pilot_mm(route: Route, finished: Key) -> set[float | None]:
    return {one.pilot_mm for one in route.job.laters if one.finished == finished}


def _sources(before: Route, after: Route, visit: Visit) -> Iterator[HoleChange]:
    """Where holes come from others, those others."""
    for name, old in _source_holes(before, visit).items():
        new = _source_holes(after, visit).get(name)
        if new is None:
            continue
        was, now = (hole_figures(*one)["place"] for one in (old, new))
        if was != now:
            moved_mm = math.dist(was, now)
            is_far = visit.what == "finish" and moved_mm > _allowed_mm(*old)
            words = "place of the hole it comes from"
            yield HoleChange(name, words, moved_mm, "lost" if is_far else "to look at")


def _source_holes(route: Route, visit: Visit) -> dict[str, tuple[Part, Hole]]:
    """Of a visit that carries holes over, or finishes such, the holes that they come from."""
    found = {}
    for later in route.job.laters:
        if visit.key in (later.made_in, later.finished):
            for member, name in later.sources:
                hole = _hole(route, member, name)
                found[f"{member}: {name}"] = _part(route, member), hole
    return found


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
    is_near = moved_mm <= _allowed_mm(was, old)
    fate = _fate(old, new, kinds, moved_mm, is_near=is_near)
    return HoleChange(name, ", ".join(kinds), moved_mm, fate)


def _allowed_mm(part: Part, hole: Hole) -> float:
    """How far off its place a hole may be as it is; 0.05 mm where nothing says."""
    if hole.position_mm is not None:
        return hole.position_mm / 2
    return hole.tolerance_mm or part.general_tolerance_mm or _USUAL_MM


def _fate(old: Hole, new: Hole, kinds: list[str], moved_mm: float, *, is_near: bool) -> Fate:
    """A hole swallows the old one where it is wider by twice what it moves."""
    wider_mm = new.diameter_mm - old.diameter_mm
    is_same = abs(wider_mm) <= _SAME_MM and old.kind == new.kind and old.thread == new.thread
    if moved_mm > _SAME_MM or ("size" in kinds and not is_same):
        if is_same and is_near:
            return "to look at"
        if wider_mm < 2 * moved_mm - _SAME_MM or abs(wider_mm) <= _SAME_MM:
            return "lost"
        return "to open out"
    if "limits" in kinds and (fate := _fate_of_limits(old, new)) != "":
        return fate
    if "depth" in kinds:
        return "to go on with" if new.depth_mm > old.depth_mm else "to look at"
    return "to look at" if {*kinds} - {"position", "size", "limits"} else ""


def _fate_of_limits(old: Hole, new: Hole) -> Fate:
    """A bore within its old limits: within the new ones too, perhaps, or never."""
    if old.limits_um is None or new.limits_um is None:
        return "to look at"
    (low, high), (least, greatest) = old.limits_um, new.limits_um
    if least <= low and high <= greatest:
        return ""
    return "lost" if low > greatest else "to open out" if high < least else "to look at"
