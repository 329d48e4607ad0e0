"""What is bought for an assembly: screws, studs, nuts, washers, pins with their lengths.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.assembly.bodies import Body
from millprep.base.records import frozen, replace
from millprep.model.assembled import Assembly, PinJoint, ScrewJoint


@frozen
class Bought:
    """So many of one thing.

    long_mm : of a pin; is_given : as the file gives it, else as long as its holes
    """

    what: str
    count: int
    long_mm: float | None = None
    is_given: bool = False


def bought(assembly: Assembly, bodies: Sequence[Body]) -> list[Bought]:
    """Like things as one, in the order of the file: screws and pins, then nuts and washers."""
    pins = {body.name: 2 * float(body.shape.half_mm[2]) for body in bodies if body.what == "pin"}
    first: list[Bought] = []
    then: list[Bought] = []
    for joint in assembly.joints:
        count = max(len(place.holes) for place in joint.places) * assembly.quantity
        if isinstance(joint, PinJoint):
            is_given = joint.length_mm is not None
            first.append(Bought(_pin_words(joint), count, round(pins[joint.name], 6), is_given))
        else:
            first.append(Bought(f"{joint.words}{'' if joint.kind else ' stud'}", count))
            then += _beside(joint, count)
    found: dict[tuple[str, float | None], Bought] = {}
    for one in (*first, *then):
        key = (one.what, one.long_mm)
        before = found.get(key)
        found[key] = one if before is None else replace(before, count=before.count + one.count)
    return [*found.values()]


def _pin_words(joint: PinJoint) -> str:
    """ "6 mm f7 pin (m6 in left)" """
    words = joint.words if "dowel" in joint.words else f"{joint.words} pin"
    others = [
        f"{place.pin_class} in {place.member}"
        for place in joint.places
        if place.pin_class not in (None, joint.pin_class)
    ]
    return f"{words} ({', '.join(others)})" if others else words


def _beside(joint: ScrewJoint, count: int) -> Iterator[Bought]:
    nuts = 2 if joint.kind is None else int(joint.into is None)
    washers = joint.washers + (joint.nut_washers if nuts else 0)
    if nuts:
        yield Bought(f"{joint.thread.name} nut", count * nuts)
    if washers:
        yield Bought(f"{joint.thread.name} plain washer", count * washers)
