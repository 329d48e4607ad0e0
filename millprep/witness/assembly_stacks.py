"""How a stack stands, summed anew: by what its screws pass, and by where members are said to lie.

Imports the model and `witness`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, combinations, pairwise, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millprep.model.assembled import Assembly, Place, ScrewJoint, Stack
from millprep.witness.assembly_sums import along_mm
from millprep.witness.faces import AXIS

_SAME_MM = 1e-3
Floats = NDArray[np.float64]
Lays = Mapping[str, tuple[Floats, Floats]]
"""By member, how it is turned and where its zero is, as a report has it."""


def of_stack(assembly: Assembly, table: Stack) -> list[Stack]:
    """The tables of the same stack."""
    return [one for one in assembly.stacks if one.stack.casefold() == table.stack.casefold()]


def free_mm(assembly: Assembly, one: Place, other: Place) -> tuple[float, list[float]]:
    """Between two bored members: how far apart loose pieces and other members hold them, and the
    thickness of each of those members; 0 where nothing says it."""
    start, goal = ((place.member, AXIS[place.holes[0].face]) for place in (one, other))
    ways: list[tuple[tuple[str, int], float, list[float]]] = [(start, 0.0, [])]
    seen = {start}
    while ways:
        here, loose, between = ways.pop(0)
        for there, apart, place in _next(assembly, here):
            if there == goal:
                return loose + apart + sum(between), between
            if there not in seen:
                seen.add(there)
                ways.append((there, loose + apart, [*between, along_mm(assembly, place)]))
    return 0.0, []


def _next(
    assembly: Assembly, here: tuple[str, int]
) -> Iterator[tuple[tuple[str, int], float, Place]]:
    """What a screw along that axis of a member passes next to it, and how thick a loose piece."""
    for joint in assembly.joints:
        if not isinstance(joint, ScrewJoint):
            continue
        for places in (joint.places, joint.places[::-1]):
            solid = [number for number, place in enumerate(places) if not place.is_loose]
            for a, b in pairwise(solid):
                one, other = places[a], places[b]
                if (one.member, AXIS[one.holes[0].face]) == here and one.member != other.member:
                    apart = sum(place.loose_mm or 0.0 for place in places[a + 1 : b])
                    yield (other.member, AXIS[other.holes[0].face]), apart, other


def heights_mm(assembly: Assembly, table: Stack) -> tuple[float, list[float]]:
    """Height of a stack, and what its gaps may come to in all: what lies in them may be bored."""
    places = max((one.places for one in of_stack(assembly, table)), key=len)
    frees = [free_mm(assembly, one, other) for one, other in pairwise(places)]
    solid = sum(along_mm(assembly, place) for place in places)
    free = sum(gap for gap, _ in frees)
    between = [thick for _, some in frees for thick in some]
    subsets = chain.from_iterable(combinations(between, count) for count in range(len(between) + 1))
    return solid + free, sorted({free - sum(some) for some in subsets})


def stood_mm(
    assembly: Assembly, table: Stack, lays: Lays, names: Sequence[str]
) -> tuple[float, float]:
    """Height of a stack and its gaps in all as those members are said to lie: other than by its
    screws where these do not agree with the rest, which is told."""
    spans = {name: _depths(assembly, table, lays, name) for name in names}
    bored = {place.member for one in of_stack(assembly, table) for place in one.places}
    through = sorted(span for name, span in spans.items() if name in bored)
    gaps = (b - a for (_, a), (b, _) in pairwise(through) if b - a > _SAME_MM)
    return max(end for _, end in spans.values()), math.fsum(gaps)


def are_members(assembly: Assembly, table: Stack, told: Sequence[str]) -> bool:
    """Whether these may be the members of a stack: the file's; else the bored ones, and what
    screws join to two of them."""
    tables = of_stack(assembly, table)
    said = next((one.members for one in tables if one.members), ())
    if said:
        return {*told} == {*said}
    bored = {place.member for one in tables for place in one.places}
    near: dict[str, set[str]] = {name: set() for name in told}
    for joint in assembly.joints:
        if isinstance(joint, ScrewJoint):
            names = {place.member for place in joint.places if not place.is_loose}
            for name in names & near.keys():
                near[name] |= (names - {name}) & near.keys()
    others = [name for name in told if name not in bored]
    return bored <= {*told} and all(len(near[name]) > 1 for name in others)


def stack_disagreements(
    assembly: Assembly, told: Sequence[Mapping[str, Any]], lays: Lays
) -> Iterator[str]:
    """How the stacks of a report differ from where its members are said to lie."""
    first = {one.stack.casefold(): one for one in reversed(assembly.stacks)}
    names = [*dict.fromkeys(one.stack.casefold() for one in assembly.stacks)]
    if [str(one["name"]).casefold() for one in told] != names:
        yield f"stacks {[one['name'] for one in told]}"
        return
    for one in told:
        table = first[str(one["name"]).casefold()]
        heights = [*_heights(assembly, table, lays, one)]
        for words in (*heights, *_bores(of_stack(assembly, table), one)):
            yield f"{one['name']}: {words}"
        if not are_members(assembly, table, one["members"]):
            yield f"{one['name']}: its members are not {one['members']}"


def _heights(
    assembly: Assembly, table: Stack, lays: Lays, told: Mapping[str, Any]
) -> Iterator[str]:
    layers = told["layers"]
    spans = [(float(layer["from_mm"]), float(layer["to_mm"])) for layer in layers]
    for layer, span in zip(layers, spans, strict=True):
        right = _depths(assembly, table, lays, layer["member"])
        if any(abs(a - b) > _SAME_MM for a, b in zip(span, right, strict=True)):
            yield f"{layer['member']} is at {right}"
    gaps = [gap for (_, a), (b, _) in pairwise(spans) if (gap := b - a) > _SAME_MM]
    said = [*map(float, told["gaps_mm"])]
    if len(gaps) != len(said) or any(
        abs(a - b) > _SAME_MM for a, b in zip(gaps, said, strict=True)
    ):
        yield f"gaps {said}, not {gaps}"
    height = max(end for _, end in spans)
    if abs(height - float(told["height_mm"])) > _SAME_MM:
        yield f"{told['height_mm']} high, not {height}"


def _depths(assembly: Assembly, table: Stack, lays: Lays, name: str) -> tuple[float, float]:
    """Where a member begins and ends below the top face of the first, along the bores."""
    top = table.places[0]
    along = lays[top.member][0][:, AXIS[top.holes[0].face]]
    spans = {
        each: _span(assembly, along, lays, each)
        for each in {place.member for place in table.places} | {name}
    }
    others = [math.fsum(spans[place.member]) for place in table.places[1:]]
    low, high = spans[name]
    if sum(others) / len(others) < math.fsum(spans[top.member]):
        return spans[top.member][1] - high, spans[top.member][1] - low
    return low - spans[top.member][0], high - spans[top.member][0]


def _span(assembly: Assembly, along: Floats, lays: Lays, name: str) -> tuple[float, float]:
    turn, origin = lays[name]
    box = ((0.0, length) for length in assembly.member(name).part.stock.size_mm)
    at = along @ (turn @ np.array([*product(*box)]).T + origin[:, None])
    return float(at.min()), float(at.max())


def _bores(tables: Sequence[Stack], told: Mapping[str, Any]) -> Iterator[str]:
    """Every bore once, cut in each member whose hole is named for it."""
    here = [layer["member"] for layer in told["layers"]]
    due = [table for table in tables for _ in table.places[0].holes]
    if len(due) != len(told["holes"]):
        yield f"{len(told['holes'])} bores of {len(due)}"
        return
    for table, bore in zip(due, told["holes"], strict=True):
        members = {place.member for place in table.places}
        if not bore["name"].startswith(table.name) or not members <= {*bore["layers"]} <= {*here}:
            yield f"{bore['name']} is cut in {bore['layers']}"
