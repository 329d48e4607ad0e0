"""PLACES and RECOVER against the part: where holes lie in words from faces, which give zero back.

Imports the part and `reading`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

from millprep.base.findings import Finding
from millprep.model.part import Hole
from millprep.reading.pages.slots import Said
from millprep.witness.compared import Due, near
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import SetUp

LEAST_HOLE_MM = 3.0  # wide enough for a pin or an indicator (common practice)
LEAST_APART_MM = 3.0


def check_places(one: SetUp) -> Iterator[Finding]:
    """Each pattern that has a tolerance or a note of its own; JSON has where all of them lie."""
    firsts: dict[str, Hole] = {}
    for row in one.rows:
        if (hole := one.hole_here(row.hole)) is not None:
            known = firsts.setdefault(hole.group, hole)
            if (hole.member or 0) < (known.member or 0):
                firsts[hole.group] = hole
    due = {name: hole for name, hole in firsts.items() if any(_held_to(one, hole).values())}
    told = Counter(said["pattern"] for said in one.all("place"))
    if told != Counter(due.keys()):
        yield one.wrong(f"PLACES speaks of {', '.join(told)}, not of {', '.join(due)}")
    for said in one.all("place"):
        if (hole := due.get(said["pattern"])) is not None:
            yield from _check_held_to(one, said, hole)
    if one.page.title.named is not None:
        yield from _check_named(one, [*firsts.values()], one.page.title.named.get("places"))


def _held_to(one: SetUp, hole: Hole) -> Due:
    general = one.printed.part.general_tolerance_mm
    is_own = hole.position_mm is None and hole.tolerance_mm != general
    return {
        "zone": hole.position_mm,
        "tolerance": hole.tolerance_mm if is_own else None,
        "note": hole.note or None,
    }


def _check_held_to(one: SetUp, said: Said, hole: Hole) -> Iterator[Finding]:
    yield from one.says(said, _held_to(one, hole))


def _check_named(one: SetUp, holes: Sequence[Hole], told: Any) -> Iterator[Finding]:
    """Where the first hole of each pattern is from the faces of zero, and how true it has to be."""
    entries = {entry.get("hole"): entry for entry in told or ()}
    if [*entries] != [hole.name for hole in holes] or len(told) != len(holes):
        yield one.wrong(f"places has {', '.join(map(str, entries))} by name")
        return
    for hole in holes:
        said = Said("place", "PLACES", entries[hole.name], hole.name, one.printed.setup.units)
        yield from _check_held_to(one, said, hole)
        distances, place = said.parts("distances"), one.printed.places[hole.name]
        if len(distances) != 2 or not all(
            _is_at(one, part, axis, place[axis]) for axis, part in enumerate(distances)
        ):
            yield one.wrong(f"{hole.name} is not {entries[hole.name]['distances']}")


def _is_at(one: SetUp, part: Said, axis: int, at_mm: float) -> bool:
    """From the face of zero; from its centre towards a face, or on it."""
    zero, (low, high) = one.zeros[axis], one.along(axis)
    beside = at_mm - one.printed.middle[axis]
    face, way = part.face("face"), part["from"]
    if part.has("other") != (way == "between") or part.has("at") == (way == "between"):
        return False
    if way == "between":
        is_there = abs(beside) <= one.printed.half_count_mm
        return zero == "centre" and is_there and (face, part.face("other")) == (low, high)
    if way == "centre":
        is_there = zero == "centre" and face == (high if beside > 0 else low)
        distance = abs(beside)
    else:
        is_there = face == zero
        distance = abs(at_mm - one.printed.upright[face].at_mm) if is_there else 0.0
    told, exact_mm = part.mm("at"), float(part.slots.get("at_exact_mm", "nan"))
    is_near = abs(told - distance) <= one.printed.half_count_mm
    return is_there and is_near and abs(exact_mm - distance) < SLACK_MM


def fit_to_recover(one: SetUp) -> set[str]:
    """The holes that are wide enough for an indicator."""
    return {row.hole for row in one.rows if _is_fit(one.hole_here(row.hole))}


def check_recover_told(one: SetUp, told: Sequence[Said]) -> Iterator[Finding]:
    """Two holes are named where there are two that lie far enough apart."""
    pairs = combinations([one.printed.places[name] for name in fit_to_recover(one)], 2)
    most = max((math.dist(a, b) for a, b in pairs), default=0.0)
    if len(told) > 1 or (not told and most >= LEAST_APART_MM + 0.01) or (told and most < 2.99):
        yield one.wrong(f"RECOVER has {len(told)} sentences")


def check_recover(one: SetUp) -> Iterator[Finding]:
    """Two holes wide enough for an indicator, where they lie, and how far apart they are."""
    told, fit = one.all("recover"), fit_to_recover(one)
    yield from check_recover_told(one, told)
    for said in told:
        names = said["hole"], said["other"]
        yield from one.named(said, holes=list(names))
        if not fit.issuperset(names):
            yield one.wrong(f"RECOVER has holes where there are none: {said.text}", said)
            continue
        first, second = (one.printed.places[name] for name in names)
        apart = near(math.dist(first, second), one.printed.half_count_mm)
        due = {**one.place(first), **one.place(second, "other_x", "other_y"), "apart_mm": apart}
        yield from one.says(said, due)


def _is_fit(hole: Hole | None) -> bool:
    return hole is not None and hole.thread is None and hole.diameter_mm >= LEAST_HOLE_MM
