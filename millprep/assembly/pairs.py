"""Handed pairs: whether two members are each other's mirror image, hole by hole in space.

A block can be laid on its axes in 24 ways by turning it, and in 24 more with a looking glass; the
pair is judged by the best of each. Layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product
from typing import TypeAlias

import numpy as np

from millprep.assembly.frames import Floats
from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.base.plain_text import some
from millprep.base.records import frozen, replace
from millprep.model.assembled import Assembly, Pair
from millprep.model.part import Hole, Part, Point
from millprep.setting.own_mirror import ways_of_hand
from millprep.setting.setups import outward

SAME_MM = 0.02
_SAMPLE = 40  # holes that rank the ways of laying one part on the other
_BEST = 3  # ways that are looked at with every hole
_CELL_MM = 0.5
_WAYS = np.array([1.0, 2.0, 3.0])  # times a direction: a number for each of the six

Look: TypeAlias = tuple[object, ...]
Key: TypeAlias = tuple[object, ...]
Placed: TypeAlias = dict[Key, list[tuple[str, Point]]]


@frozen
class Handed:
    """How two members compare: the holes that find no partner, mirrored and as they are.

    is_pair      : one is the mirror image of the other
    is_same_hand : one is the other, turned
    odd          : holes of either without a partner in the best looking glass
    are_blanks_alike : either blank could be the other, turned
    """

    pair: Pair
    is_pair: bool
    is_same_hand: bool
    odd: tuple[str, ...]
    are_blanks_alike: bool = True


def handed(assembly: Assembly, pair: Pair) -> Handed:
    """Compares the two members of a pair."""
    first, second = (assembly.member(name) for name in pair.members)
    one_part, other_part = (_but_for(pair.differ, member.part) for member in (first, second))
    mirrored = _fewest_odd(one_part, other_part, -1)
    turned = _fewest_odd(one_part, other_part, 1)
    one, other = mirrored
    odd = tuple(f"{first.name}: {name}" for name in one)
    odd += tuple(f"{second.name}: {name}" for name in other)
    sizes = (sorted(member.part.stock.size_mm) for member in (first, second))
    alike = all(abs(a - b) <= SAME_MM for a, b in zip(*sizes, strict=True))
    return Handed(pair, alike and not odd, alike and not any(turned), odd, alike)


def _but_for(differ: Sequence[str], part: Part) -> Part:
    return replace(part, holes=tuple(hole for hole in part.holes if hole.name not in differ))


def _fewest_odd(one: Part, other: Part, hand: int) -> tuple[list[str], list[str]]:
    """Holes without a partner in the best of the 24 ways of that hand.

    A few holes say which ways are worth looking at with all of them.
    """
    there = _by_place(other)
    sizes = np.array(one.stock.size_mm), np.array(other.stock.size_mm)
    some = one.holes[:: max(len(one.holes) // _SAMPLE, 1)]
    ranked: list[tuple[int, Floats]] = []
    for axes in ways_of_hand(hand):
        if np.abs(np.abs(axes) @ sizes[0] - sizes[1]).max() <= SAME_MM:
            lost = len(_odd(one, other, axes, some, there)[0])
            ranked += [(lost, axes)] if lost < len(some) else []
    ranked.sort(key=lambda each: each[0])
    found = [_odd(one, other, axes, one.holes, there) for _, axes in ranked[:_BEST]]
    nobody = [hole.name for hole in one.holes], [hole.name for hole in other.holes]
    return min(found, key=lambda odd: len(odd[0]) + len(odd[1]), default=nobody)


def _by_place(part: Part) -> Placed:
    """Names and places of the holes by the cell they lie in and what they look like."""
    placed: Placed = {}
    for hole in part.holes:
        for key in _keys(hole, hole.centre_mm, outward(hole.face), 0.0):
            placed.setdefault(key, []).append((hole.name, hole.centre_mm))
    return placed


def _odd(
    one: Part, other: Part, axes: Floats, holes: Sequence[Hole], there: Placed
) -> tuple[list[str], list[str]]:
    """Those of `holes` without a partner, and those of the other part that are left over."""
    middles = np.array(one.stock.size_mm) / 2, np.array(other.stock.size_mm) / 2
    centres = np.array([hole.centre_mm for hole in holes]).reshape(-1, 3)
    places = (centres - middles[0]) @ axes.T + middles[1]
    outs = {hole.face: axes @ outward(hole.face) for hole in holes}
    taken: set[str] = set()
    odd = []
    for hole, place in zip(holes, places.tolist(), strict=True):
        near = (
            name
            for key in _keys(hole, place, outs[hole.face], SAME_MM)
            for name, centre in there.get(key, ())
            if math.dist(centre, place) <= SAME_MM
        )
        partner = next((name for name in near if name not in taken), None)
        if partner is None:
            odd.append(hole.name)
        else:
            taken.add(partner)
    return odd, [hole.name for hole in other.holes if hole.name not in taken]


def _keys(hole: Hole, place: Sequence[float], out: Floats, within_mm: float) -> list[Key]:
    """The cells that a place can lie in, with the hole's direction and looks."""
    cells = [
        {math.floor((value - within_mm) / _CELL_MM), math.floor((value + within_mm) / _CELL_MM)}
        for value in place
    ]
    way = round(float(out @ _WAYS))
    return [(*cell, way, _look(hole)) for cell in product(*cells)]


def _look(hole: Hole) -> Look:
    """What a hole and its mirror image have in common."""
    return (
        hole.kind,
        hole.words,
        round(hole.depth_mm, 3),
        hole.is_through,
        hole.mouth,
        hole.far,
        hole.opened,
        hole.fit,
    )


def pair_findings(say: Say, row: Handed) -> Iterator[Finding]:
    """What is wrong with a pair."""
    first, second = row.pair.members
    if row.is_pair:
        if row.is_same_hand:
            yield say.at(
                "note",
                "same-hand",
                row.pair,
                f"{first} and {second} have no hand: each is also the other, turned",
                "one part serves as both",
            )
        return
    if row.is_same_hand:
        yield say.at(
            "stop",
            "same-hand",
            row.pair,
            f"{first} and {second} are of the same hand",
            'make one with opposite_hand_of = "the other\'s file"',
        )
        return
    if not row.are_blanks_alike:
        blanks = (
            " by ".join(say.length(mm, 3) for mm in say.assembly.member(name).part.stock.size_mm)
            for name in row.pair.members
        )
        yield say.at(
            "stop",
            "not-a-pair",
            row.pair,
            f"{first} and {second} are not each other's opposite hand: their blanks are "
            f"{' and '.join(blanks)}",
            'make one with opposite_hand_of = "the other\'s file", or mend the size',
        )
        return
    yield say.at(
        "stop",
        "not-a-pair",
        row.pair,
        f"{first} and {second} are not each other's opposite hand: no partner for {some(row.odd)}",
        'make one with opposite_hand_of = "the other\'s file", or mend the holes named',
        *(name.split(": ")[1] for name in row.odd[:6]),
    )
