"""What is bought for an assembly, and the end float on its shafts, counted and summed anew.

Imports the assembly and its neighbours.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import pairwise, product

import numpy as np

from millprep.model.assembled import Assembly, PinJoint
from millprep.witness.assembly_bodies import Places, mouth, pin_ends_mm
from millprep.witness.assembly_meets import held_heaps
from millprep.witness.compared import Due

_FLUSH_MM = 1e-5


def bought(assembly: Assembly, places: Places) -> Counter[tuple[str, float, str]]:
    """How many of each, by its name, its length and what says that."""
    counts: Counter[tuple[str, float, str]] = Counter()
    for joint in assembly.joints:
        count = max(len(place.holes) for place in joint.places) * assembly.quantity
        if isinstance(joint, PinJoint):
            first = joint.places[0]
            line = mouth(assembly, first.member, first.holes[0], first.holes[0].face, places)
            low, high = pin_ends_mm(assembly, joint, line, places)
            words = "holes" if joint.length_mm is None else "given"
            counts[_pin_words(joint), round(high - low, 6), words] += count
            continue
        kind = "" if joint.kind else " stud"
        counts[joint.words + kind, 0.0, ""] += count
        nuts = 2 if joint.kind is None else 1 if joint.into is None else 0
        counts[f"{joint.thread.name} nut", 0.0, ""] += nuts * count
        washers = joint.washers + (joint.nut_washers if nuts else 0)
        counts[f"{joint.thread.name} plain washer", 0.0, ""] += washers * count
    return +counts


def _pin_words(joint: PinJoint) -> str:
    own = (place for place in joint.places if place.pin_class)
    others = ", ".join(
        f"{p.pin_class} in {p.member}" for p in own if p.pin_class != joint.pin_class
    )
    kind = "" if "dowel" in joint.words else " pin"
    return f"{joint.words}{kind} ({others})" if others else joint.words + kind


def floats_due(
    assembly: Assembly, places: Places, joint: PinJoint, shows: Callable[[str], str]
) -> list[Due]:
    """What stands between members that hold together, on one pin."""
    if len(joint.places) < 3:
        return []
    first = joint.places[0]
    start, way = mouth(assembly, first.member, first.holes[0], first.holes[0].face, places)
    spans = {}
    for place in joint.places:
        turn, shift = places[place.member]
        size = assembly.member(place.member).part.stock.size_mm
        corners = [
            float(way @ (turn @ (np.array(size) * corner) + shift - start))
            for corner in product((0, 1), repeat=3)
        ]
        spans[place.member] = min(corners), max(corners)
    heaps = held_heaps(assembly)
    held = max((heaps[name] for name in spans), key=lambda heap: len(heap & spans.keys()))
    due: list[Due] = []
    ordered = sorted(spans, key=lambda name: spans[name][0] + spans[name][1])
    for one, other in pairwise(name for name in ordered if name in held):
        low, high = spans[one][1], spans[other][0]
        middles = {name: sum(spans[name]) / 2 for name in ordered}
        between = [n for n in ordered if middles[one] < middles[n] < middles[other]]
        if not between:
            continue
        free = high - low - sum(spans[name][1] - spans[name][0] for name in between)
        due.append(
            {
                "between": [shows(name) for name in between],
                "outer": [shows(name) for name in (one, other)],
                "gap_mm": high - low,
                **({"over_mm": -free} if free < -_FLUSH_MM else {"free_mm": free}),
            }
        )
    return due
