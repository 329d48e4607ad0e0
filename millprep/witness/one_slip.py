"""Holes that one slip has put off their places: told once, and looked at where they belong.

A zero picked up wrongly shifts all of them, a wrong start all of a pattern; a wrong inset, pitch or
diameter takes them nearer to their middle, or farther out. Imports the part and the witness.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding, Words, words
from millprep.base.records import frozen, replace
from millprep.model.part import Part
from millprep.reading.made import MadeHole
from millprep.witness import Lay, Zone, wanted_of, zone_of

Floats = NDArray[np.float64]
SAME_MM = 0.02  # two holes that one slip has moved differ by no more than a program rounds
_ADVICE = "it is one slip: check {} against the part file"
LEAST_HOLES = 2
LEAST_MM = 0.0005  # less is shown as 0


@frozen
class Slip:
    """What one slip has done to some holes.

    group  : of the holes as the part file names it; empty: all of the face
    names  : of the holes; made : which of the holes made they are
    off_mm : (2, N) how far each is off
    shares : of each one's way from their middle, in X and in Y; None: all by the same
    """

    group: str
    names: tuple[str, ...]
    made: tuple[int, ...]
    off_mm: Floats
    shares: tuple[float, float] | None


def slips_of(part: Part, lay: Lay, holes: Sequence[MadeHole], usual_mm: float) -> Iterator[Slip]:
    """The slips that explain every hole of the face, else of a pattern.

    holes : in setup axes; usual_mm : the tolerance of a hole that has none of its own
    """
    wanted, places = wanted_of(part, lay)
    at = np.array([(hole.x_mm, hole.y_mm) for hole in holes]).reshape(-1, 2).T
    is_free = np.ones(at.shape[1], dtype=bool)
    is_right = np.zeros(len(wanted), dtype=bool)
    for nth, expected in enumerate(wanted):
        zone = zone_of(expected.hole, Zone(usual_mm))
        near = np.abs(at - places[:, [nth]]).max(axis=0) <= zone.radius_mm
        is_right[nth] = near.any()
        is_free &= ~near
    groups: dict[str, list[int]] = {"": list(range(len(wanted)))}
    for nth, expected in enumerate(wanted):
        groups.setdefault(expected.hole.group, []).append(nth)
    for group, members in groups.items():
        if len(members) < LEAST_HOLES or is_right[members].any():
            continue
        free = np.flatnonzero(is_free)
        for off, shares in _ways(places[:, members], at[:, free], is_pattern=bool(group)):
            made = _made(places[:, members] + off, at, free)
            if made is None:
                continue
            is_free[list(made)], is_right[members] = False, True
            names = tuple(wanted[n].hole.name for n in members)
            yield Slip(group, names, made, off, shares)
            break


def _ways(
    places: Floats, free: Floats, *, is_pattern: bool
) -> Iterator[tuple[Floats, tuple[float, float] | None]]:
    """What `off_mm` and `shares` are if the outermost hole is one of the free ones, the nearest of
    them first."""
    arms = places - places.mean(axis=1)[:, None]
    first = int(np.argmax(np.hypot(*arms)))
    moved = free - places[:, [first]]
    moved = moved[:, np.argsort(np.hypot(*moved), kind="stable")]
    for one in moved.T:
        yield np.repeat(one[:, None], places.shape[1], axis=1), None
    for x, y in moved.T.tolist() if is_pattern else []:
        along = [
            d / arm if abs(arm) > SAME_MM else math.nan
            for d, arm in zip((x, y), arms[:, first].tolist(), strict=True)
        ]
        known = [share for share in along if not math.isnan(share)]
        across, up = (known[0] if math.isnan(one) else one for one in along)
        if min(across, up) > -1:
            yield np.array([[across], [up]]) * arms, (across, up)


def _made(targets: Floats, at: Floats, free: NDArray[np.int64]) -> tuple[int, ...] | None:
    """Which of the free holes lie there, one each; None where any is missing."""
    made: list[int] = []
    for x, y in targets.T.tolist():
        near = np.abs(at[:, free] - [[x], [y]]).max(axis=0) <= SAME_MM
        if np.count_nonzero(near) != 1:
            return None
        made.append(int(free[np.argmax(near)]))
    return tuple(made) if len(set(made)) == len(made) else None


def off_alike(found: Sequence[Finding], part: Part, lay: Lay) -> list[Finding]:
    """The findings, those of holes of one pattern that are off by the same as one: of one
    operation only, it may be, after others that stand right."""
    groups = [(one.hole.group, one.hole.name) for one in wanted_of(part, lay)[0]]
    group_of = {name: group for group, name in groups}
    sizes = Counter(group for group, _ in groups)
    alike: dict[tuple[object, ...], list[Finding]] = {}
    for one in found:
        alike.setdefault(_likeness(one, group_of), []).append(one)
    told = []
    for same in alike.values():
        group = group_of.get(same[0].holes[0], "") if same[0].holes else ""
        told += same if len(same) < LEAST_HOLES else [_as_one(same, group, sizes[group])]
    return told


def _as_one(same: list[Finding], group: str, size: int) -> Finding:
    figures = _figures(same[0])
    dx, dy = figures["dx_mm"], figures["dy_mm"]
    count = f"all {len(same)}" if len(same) == size else f"{len(same)}"
    return replace(
        same[0],
        said=words(
            "{what} are off {way}; the first of them is at X{x_mm:3bare} Y{y_mm:3bare}",
            what=f"{count} holes of {group}",
            way=_along("by", dx, dy),
            x_mm=figures["x_mm"] + dx,
            y_mm=figures["y_mm"] + dy,
        ),
        advice=_ADVICE.format("the start of the pattern"),
        holes=tuple(one.holes[0] for one in same),
        places=len(same),
        folded=tuple(same[1:]),
    )


def _likeness(one: Finding, group_of: dict[str, str]) -> tuple[object, ...]:
    if one.kind != "hole-off":
        return (id(one),)
    figures = _figures(one)
    off = (round(figures[name] / SAME_MM) for name in ("dx_mm", "dy_mm"))
    return one.file, group_of[one.holes[0]], *off


def _figures(one: Finding) -> dict[str, float]:
    values = one.said.values if isinstance(one.said, Words) else ()
    return {name: value for name, value in values if isinstance(value, float)}


def put_right(holes: Sequence[MadeHole], slips: Sequence[Slip]) -> list[MadeHole]:
    """The holes where they would be without the slips."""
    moved = list(holes)
    for slip in slips:
        for nth, (dx, dy) in zip(slip.made, slip.off_mm.T.tolist(), strict=True):
            hole = holes[nth]
            operations = tuple(
                replace(
                    one,
                    x_mm=None if one.x_mm is None else one.x_mm - dx,
                    y_mm=None if one.y_mm is None else one.y_mm - dy,
                )
                for one in hole.operations
            )
            moved[nth] = replace(
                hole, x_mm=hole.x_mm - dx, y_mm=hole.y_mm - dy, operations=operations
            )
    return moved


def told(slip: Slip, holes: Sequence[MadeHole], file: str) -> Finding:
    """The one finding of a slip, with the places of its holes."""
    made = [holes[nth] for nth in slip.made]
    each = [_finding(slip, hole, file) for hole in made]
    order = sorted(range(len(each)), key=lambda nth: each[nth].line or 0)
    first, *others = (each[nth] for nth in order)
    return replace(first, holes=slip.names, places=len(each), folded=tuple(others))


def _finding(slip: Slip, hole: MadeHole, file: str) -> Finding:
    what = f"all {len(slip.names)} holes" + (f" of {slip.group}" if slip.group else " of this face")
    cause = "the start of the pattern" if slip.group else "the zero"
    if slip.shares is not None:
        cause = "its inset, pitch or diameter"
    return Finding(
        "stop",
        "hole-off",
        words(
            "{what} are off {way}; the first of them is at X{x_mm:3bare} Y{y_mm:3bare}",
            what=what,
            way=_way(slip),
            x_mm=hole.x_mm,
            y_mm=hole.y_mm,
        ),
        _ADVICE.format(cause),
        file=hole.operations[0].file or file,
        line=hole.operations[0].line,
    )


def _way(slip: Slip) -> Words:
    """ "by X +3.000", "from their middle by X +3.000 Y +2.000", "from their middle by 1.500"."""
    if slip.shares is None:
        start, most = "by", slip.off_mm[:, 0]
    else:
        start = "from their middle by"
        most = np.abs(slip.off_mm).max(axis=1) * np.sign(slip.shares)
        if abs(slip.shares[0] - slip.shares[1]) * np.hypot(*most) < SAME_MM * slip.shares[0] ** 2:
            radial = float(np.hypot(*slip.off_mm).max()) * float(np.sign(slip.shares[0]))
            return words(f"{start} {{radial_mm:+3}}", radial_mm=radial)
    return _along(start, *most.tolist())


def _along(start: str, across_mm: float, up_mm: float) -> Words:
    figures = (("X", "across", across_mm), ("Y", "up", up_mm))
    said = [f"{axis} {{{name}_mm:+3}}" for axis, name, off in figures if abs(off) > LEAST_MM]
    return words(f"{start} {' '.join(said)}", across_mm=across_mm, up_mm=up_mm)
