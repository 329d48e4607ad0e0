"""What is said to set a bar or disc round its axis, beside the part. Imports it and `reading`."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from millprep.base.findings import Finding
from millprep.model.part import Hole
from millprep.reading.pages.slots import Said
from millprep.witness import frame_of, from_part
from millprep.witness.faces import FAR
from millprep.witness.set_up import SetUp, part_axis

LEAST_PIN_MM = 3.0  # a close pin of less bends (common practice)
MARK_MM = 0.2  # by which a mark set by eye is out at the rim (common practice)
_TOLD = ("round-by-pin", "round-by-hole", "round-by-mark")
_ENDS = ("right", "back", "top")  # the high end along each axis
_ASIDE_MM = 1e-6


def check_way_round(one: SetUp) -> Iterator[Finding]:
    """Told once where holes off the axis were made before and are made now."""
    axis = one.printed.part.stock.axis
    before = _made_before(one)
    is_due = axis is not None and bool(before) and any(map(_is_off_axis(one), _here(one)))
    told = one.all(*_TOLD)
    is_alone = one.before is None and one.printed.setup.number > 1
    if is_alone:  # what was made before stands on other pages
        before = {hole.name: hole for hole in one.printed.part.holes if _is_off_axis(one)(hole)}
        is_due = is_due or len(told) == 1
    if len(told) != int(is_due):
        yield one.wrong(f"{len(told)} things set it round its axis, not {int(is_due)}")
        return
    for said in told:
        for fault in _faults(one, said, before):
            yield one.wrong(f"{fault}: {said.text}", said, "bad-lay")


def _here(one: SetUp) -> list[Hole]:
    return [expected.hole for expected in one.printed.expected.values()]


def _made_before(one: SetUp) -> dict[str, Hole]:
    """Holes off the axis that the setups before have made."""
    found: dict[str, Hole] = {}
    above = one.before
    while above is not None:
        found |= {hole.name: hole for hole in _here(above) if _is_off_axis(one)(hole)}
        above = above.before
    return found


def _is_off_axis(one: SetUp) -> Callable[[Hole], bool]:
    """Asks a hole whether turning the part about its axis moves it."""
    stock = one.printed.part.stock

    def asked(hole: Hole) -> bool:
        if part_axis(hole.face) != stock.axis:
            return True
        return any(
            abs(at - size / 2) > _ASIDE_MM
            for axis, (at, size) in enumerate(zip(hole.centre_mm, stock.size_mm, strict=True))
            if axis != stock.axis
        )

    return asked


def _faults(one: SetUp, said: Said, before: dict[str, Hole]) -> Iterator[str]:
    if said.slug == "round-by-mark":
        yield from _mark_faults(one, said)
        return
    told = said["holes"]
    names = [told] if isinstance(told, str) else list(told)
    if not all(name in before for name in names) or said["_made"] != "before":
        yield f"not all of {', '.join(names)} are made before"
        return
    holes = [before[name] for name in names]
    if said.slug == "round-by-hole":
        (hole,) = holes
        x, y, _ = from_part(one.printed.lay, one.printed.part, np.array([hole.centre_mm]).T).ravel()
        is_open = hole.is_through or hole.face != FAR[one.printed.setup.face]
        if not is_open or not one.is_place(said, (float(x), float(y)), "x", "y"):
            yield "it does not pick up there"
        return
    if any(hole.thread is not None or hole.diameter_mm < LEAST_PIN_MM for hole in holes):
        yield "no pin fits"
    yield from _pin_faults(one, said, holes)


def _pin_faults(one: SetUp, said: Said, holes: list[Hole]) -> Iterator[str]:
    """The line that the pins show lies as it is said to lie, in this side's own frame."""
    frame = frame_of(one.printed.lay, one.printed.part)
    if said["how"] == "middle":
        line = np.array(holes[0].centre_mm) - np.array(one.printed.part.stock.size_mm) / 2
        line[part_axis(holes[0].face)] = 0.0
    elif len(holes) == 1:
        line = np.zeros(3)
        line[part_axis(holes[0].face)] = 1.0
    else:
        line = np.array(holes[0].centre_mm) - np.array(holes[1].centre_mm)
        line[part_axis(holes[0].face)] = 0.0
    x, y, z = np.abs(frame.T @ line) / np.linalg.norm(line)
    lies = {
        "middle": z < _ASIDE_MM and len(holes) == 1,
        "level": z < _ASIDE_MM,
        "upright": z > 1 - _ASIDE_MM,
        "square": z < _ASIDE_MM,
    }
    if not lies[said["how"]] or (said["how"] == "square") != one.is_disc_on_end:
        yield f"it does not lie {said['how']}"
    along = said.axis("along") if said.has("along") else None
    if along != (("x" if x > y else "y") if said["how"] == "square" else None):
        yield f"it lies along another axis than {along}"


def _mark_faults(one: SetUp, said: Said) -> Iterator[str]:
    stock = one.printed.part.stock
    if stock.axis is None or said.face("face") != _ENDS[stock.axis] or said["_when"] != "before":
        yield "the right end of the bar is not marked"
        return
    radius = stock.size_mm[(stock.axis + 1) % 3] / 2
    within = said.figure("off_mm")
    degrees = math.degrees(math.asin(min(1.0, MARK_MM / radius)))
    if abs(within.mm - MARK_MM) > within.half_digit_mm + 1e-9:
        yield f"a mark is {MARK_MM:g} mm out"
    if abs(float(said["off_deg"]) - degrees) > 0.05 + 1e-9:
        yield f"that is {degrees:.2f} degrees"
