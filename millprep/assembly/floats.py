"""End float: what is left to what runs on a shaft between two members that hold together.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from millprep.assembly.bodies import Body, Standing
from millprep.assembly.frames import Floats
from millprep.assembly.saying import Say
from millprep.assembly.turning import heaps_of
from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import PinJoint
from millprep.sums.convex import Shape, Shapes, supports

LEAST_MM = 0.05
"""Of end float, so that what runs does not bind: common practice for small shafts."""


@frozen
class EndFloat:
    """What stands between two members on one pin. gap_mm : between the two; long_mm : of what
    stands there."""

    joint: PinJoint
    outer: tuple[str, str]
    between: tuple[str, ...]
    gap_mm: float
    long_mm: float

    @property
    def free_mm(self) -> float:
        return self.gap_mm - self.long_mm

    @property
    def pairs(self) -> Iterator[frozenset[str]]:
        """Members two by two of which this says that they do not go in."""
        names = (*self.outer, *self.between)
        return (frozenset((a, b)) for a in names for b in names if a != b)


def end_floats(standing: Standing, bodies: list[Body]) -> list[EndFloat]:
    """One for every gap on a pin in which something runs."""
    heaps = heaps_of(standing.assembly)
    pins = {body.name: body.shape for body in bodies if body.what == "pin"}
    members = {body.name: body.shape for body in bodies if body.is_member}
    found = []
    for joint in standing.assembly.joints:
        if not isinstance(joint, PinJoint) or len(joint.places) < 3:
            continue
        spans = spans_of(joint, pins[joint.name].axes[2], members)
        held = max((heaps[name] for name in spans), key=lambda heap: len(heap & spans.keys()))
        ordered = sorted(spans, key=lambda name: sum(spans[name]))
        fixed = [name for name in ordered if name in held]
        for one, other in pairwise(fixed):
            between = ordered[ordered.index(one) + 1 : ordered.index(other)]
            if between:
                gap = spans[other][0] - spans[one][1]
                long = sum(spans[name][1] - spans[name][0] for name in between)
                found.append(EndFloat(joint, (one, other), tuple(between), gap, long))
    return found


def spans_of(
    joint: PinJoint, way: Floats, members: Mapping[str, Shape]
) -> dict[str, tuple[float, float]]:
    """From where to where each member of a pin reaches along it [mm]."""
    spans = {}
    for place in joint.places:
        shape = members[place.member]
        middle = float(way @ shape.centre_mm)
        reach = float(supports(Shapes.of([shape]), way[None, None])[0, 0])
        spans[place.member] = middle - reach, middle + reach
    return spans


def float_findings(say: Say, row: EndFloat) -> Iterator[Finding]:
    """Whether it goes in, and turns."""
    if row.free_mm >= LEAST_MM - 1e-6:
        return
    what = " and ".join(row.between)
    one, other = row.outer
    wanted = say.length(LEAST_MM - row.free_mm, 3)
    cure = f"make {' or '.join(row.between)} shorter by {wanted} or more, or the gap wider"
    if row.free_mm < -1e-6:
        words = (
            f"{what}, {say.length(row.long_mm, 3)} long, do{'' if len(row.between) > 1 else 'es'} "
            f"not go between {one} and {other}, {say.length(row.gap_mm, 3)} apart"
        )
        yield say.finding("stop", "end-float", row.joint, words, cure)
        return
    words = f"{what} have {say.length(row.free_mm, 3)} of end float between {one} and {other}"
    words = words if len(row.between) > 1 else words.replace(" have ", " has ", 1)
    yield say.finding("warning", "end-float", row.joint, words, cure)
