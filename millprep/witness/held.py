"""HOLD against the part, its file and the shop: jaws, stop, grip, what the part stands on.

Imports the part, the shop and `reading`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.base.findings import Finding
from millprep.reading.pages.slots import Said
from millprep.witness.compared import any_case
from millprep.witness.faces import FAR
from millprep.witness.held_by import HOLDS, check_bar, check_clocked, check_way, check_way_round
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, SetUp
from millprep.witness.strapped import check_table

LEAST_GRIP_MM = 8.0  # or a third of the height (common practice)
GRIP_SHARE = 1 / 3
PROUD_MM = 2.0  # left above the jaws, or half of the height where it has no more
RING_COUNT_MM = 0.5  # to the next of which a ring's height is told
BELOW_TIP_MM = 2.0  # under the point of a drill that has come through (common practice)
LEAST_PACKING_MM = 1.0  # less is no packing but the floor
_GRIP_COUNT_MM = {"mm": 1.0, "inch": 0.254}  # a grip is told to the next whole one


def check_hold(one: SetUp) -> Iterator[Finding]:
    """What holds the part, what it stands on, what to keep clear of."""
    request, part = one.request, one.printed.part
    yield from check_way(one)
    yield from check_clocked(one)
    is_turned = one.is_disc_on_end and len({hole.face for hole in part.holes}) > 1
    yield from one.count({"hold-way-round": is_turned, "hold-backing": bool(request.backing_mm)})
    down = FAR[one.printed.setup.face]
    faces = {
        "down": any_case(down),
        "inked": any_case(one.by_side["towards you"]),
        "square": any_case(one.by_side["left hand"]),
        "square_too": any_case(one.by_side["towards you"]),
    }
    for said in one.all("hold-chuck", "hold-clamped", "hold-way-round"):
        yield from one.says(said, {n: right for n, right in faces.items() if n in said.slots})
    for said in one.all(*HOLDS):
        yield from one.named(said, down=down, backing_mm=request.backing_mm, straps=[])
    for said in one.all("hold-clamped", "hold-blocks"):
        yield from one.named(said, packing_mm=None, parallels=[])
    for said in one.all("hold-vice", "hold-bar", "hold-blocks"):
        yield from _check_jaws(one, said)
    for said in one.all("hold-vice"):
        yield from _check_grip(one, said)
        yield from _check_seat(one, said)
    for said in one.all("hold-chuck"):
        yield from _check_chuck(one, said)
    for said in one.all("hold-bar"):
        yield from check_bar(one, said)
    for said in one.all("hold-blocks"):
        yield from _check_blocks(one, said)
    for said in one.all("hold-backing"):
        yield from one.says(said, {"backing_mm": float(request.backing_mm)})
    yield from check_table(one)
    yield from check_way_round(one)
    yield from _check_obstacles(one)


def _check_chuck(one: SetUp, said: Said) -> Iterator[Finding]:
    """On the steps of the jaws only where nothing comes through; a ring is clear of what does."""
    out_mm = max((comes_out_mm(one, row.z_mm) for row in one.rows), default=0.0)
    seats = {"parallels": said.has("strips"), "ring": said.has("ring_inside")}
    stands = next((seat for seat, is_told in seats.items() if is_told), None)
    if stands is None:
        stands = "backing" if one.request.backing_mm else "flat backing" if out_mm else "steps"
    if said["seat"] != stands or (any(seats.values()) and not out_mm):
        yield one.wrong(f"HOLD stands it on {said['seat']}, not {stands}", said, "bad-lay")
    if said.has("strips"):
        yield from _check_strips(one, said, 1)
    else:
        yield from one.named(said, parallels=[])
    if said.has("ring_inside"):
        yield from _check_ring(one, said, out_mm)


def _check_ring(one: SetUp, said: Said, out_mm: float) -> Iterator[Finding]:
    """Nothing comes through over it, it lies under the disc, and is high enough."""
    inside, outside = said.mm("ring_inside") / 2, said.mm("ring_outside") / 2
    x0, y0 = one.printed.middle
    is_under = inside < outside <= one.size_along_mm(0) / 2 + HALF_SIZE_DIGIT_MM
    if not is_under or outside < one.size_along_mm(0) / 4:
        yield one.wrong(f"the disc does not lie on such a ring: {said.text}", said, "bad-lay")
    over_mm = said.mm("ring_high") - (out_mm + BELOW_TIP_MM)
    if not -HALF_SIZE_DIGIT_MM <= over_mm <= RING_COUNT_MM + one.printed.half_count_mm:
        yield one.wrong(f"a ring {said['ring_high']} high; {out_mm:g} mm come out", said, "bad-lay")
    for name, expected in one.printed.expected.items():
        hole, (x, y) = expected.hole, one.printed.places[name]
        away = math.hypot(x - x0, y - y0)
        if (
            hole.is_through
            and inside - hole.diameter_mm / 2 < away < outside + hole.diameter_mm / 2
        ):
            yield one.wrong(f"{name} comes through over the ring", said, "bad-lay")


def _check_blocks(one: SetUp, said: Said) -> Iterator[Finding]:
    """Clear of the holes, where some come through."""
    comes_through = any(comes_out_mm(one, row.z_mm) > 0 for row in one.rows)
    yield from one.says(said, {"clear": comes_through, "_jaw": "fixed"})


def _check_obstacles(one: SetUp) -> Iterator[Finding]:
    """Each obstacle of the part file once, as high as it stands, as the readout counts."""
    asked = {_plain(obstacle.name): obstacle for obstacle in one.request.obstacles}
    told = one.all("keep-clear")
    names = Counter(_plain(obstacle.name) for obstacle in one.request.obstacles)
    if Counter(_plain(said["name"]) for said in told) != names:
        yield one.wrong("HOLD does not name every obstacle once")
        return
    for said in told:
        obstacle = asked[_plain(said["name"])]
        if names[_plain(said["name"])] == 1:
            yield from one.says(said, {"top": one.reads(2, obstacle.high_mm[2])})
            ends = {"from": list(obstacle.low_mm), "to": list(obstacle.high_mm)}
            yield from one.named(said, **ends)


def _plain(words: str) -> str:
    return "".join(words.split())


def _check_jaws(one: SetUp, said: Said) -> Iterator[Finding]:
    """The fixed jaw is where the shop has it; the stop is at zero, or else at the left, or away."""
    is_along_y = one.request.jaws == "y"
    jaw = one.shop.vice.fixed_jaw if is_along_y else "right hand"
    zero = one.zeros[0 if is_along_y else 1]
    stop = one.by_side["left hand" if is_along_y else "away"] if zero == "centre" else zero
    yield from one.says(said, {"stop": any_case(stop)}, "bad-lay")
    yield from one.named(said, stop_side=one.side_of(stop))
    if said.has("fixed_jaw"):
        yield from one.says(said, {"fixed_jaw": any_case(one.by_side[jaw])}, "bad-lay")
        yield from one.named(said, fixed_jaw_side=jaw)


def _check_grip(one: SetUp, said: Said) -> Iterator[Finding]:
    """What the part file asks for; else all that stands above the parallels, or by the height."""
    told, asked = said.mm("grip_mm"), one.request.grip_mm
    height, jaw = one.height_mm, one.shop.vice.jaw_height_mm
    most = max(height - PROUD_MM, height / 2)
    usual = min(max(LEAST_GRIP_MM, height * GRIP_SHARE), most)
    count_mm = 0.0
    if asked is not None:
        right = asked
    elif said.has("strips"):
        room = jaw - (said.mm("strips_high") if said.has("strips_high") else 0.0)
        room -= said.mm("strips_packing") if said.has("strips_packing") else 0.0
        right = min(height, room) if room > 0 else usual
    else:
        right, count_mm = min(usual, jaw), _GRIP_COUNT_MM[one.printed.setup.units]
    if not -HALF_SIZE_DIGIT_MM <= told - right < max(count_mm, HALF_SIZE_DIGIT_MM):
        yield one.wrong(f"a grip of {said['grip_mm']}; it is {right:g} mm", said)


def _check_seat(one: SetUp, said: Said) -> Iterator[Finding]:
    """Parallels where they are told; else backing, where asked for or drilled into; else floor."""
    seat = "floor"
    jaw, grip = one.shop.vice.jaw_height_mm, said.mm("grip_mm")
    slack = HALF_SIZE_DIGIT_MM + _GRIP_COUNT_MM[one.printed.setup.units]
    is_rim = one.printed.part.stock.axis is not None and not one.is_disc_on_end
    if said.has("strips"):
        seat = "parallels"
    elif one.request.backing_mm:
        seat = "backing"
    elif not is_rim and any(comes_out_mm(one, row.z_mm) > 0 for row in one.rows):
        seat = "flat backing"
    elif grip < jaw - LEAST_PACKING_MM - slack:
        seat = "packing"
    is_close = abs(grip - (jaw - LEAST_PACKING_MM)) <= slack and seat in ("floor", "packing")
    if said["seat"] != seat and not (is_close and said["seat"] in ("floor", "packing")):
        yield one.wrong(f"HOLD stands it {said['seat']}, not {seat}", said, "bad-lay")
    if said.has("strips"):
        yield from _check_strips(one, said, one.jaws_axis)
    else:
        yield from one.named(said, parallels=[])
    if said.named is not None and said["seat"] == "packing":
        told = said.named.get("packing_mm")
        if told is None or abs(float(told) - (jaw - grip)) > slack:
            yield one.wrong(f"packing of {told} mm by name", said)


def comes_out_mm(one: SetUp, z_mm: float) -> float:
    """How far a tool comes out of the underside, 0 where it does not."""
    out_mm = -one.printed.z_sign * z_mm - one.height_mm
    return out_mm if out_mm > one.printed.half_count_mm else 0.0


def _check_strips(one: SetUp, said: Said, axis: int) -> Iterator[Finding]:
    """They lie under the part on both sides of its middle, and no hole comes out over them or into
    what they stand on."""
    letter = "xy"[axis]
    strips = [(strip.axis("axis"), *_ends(one, strip, axis)) for strip in said.parts("strips")]
    asked_mm = one.request.parallels_at_mm
    low_mm, high_mm = (one.printed.upright[face].at_mm for face in one.along(axis))
    middle = (low_mm + high_mm) / 2
    if any(name != letter for name, *_ in strips):
        yield one.wrong("parallels across the jaws", said)
    starts = [start for _, start, _ in strips]
    if asked_mm:
        is_so = len(starts) == len(asked_mm) and all(
            abs(a - b) <= HALF_SIZE_DIGIT_MM for a, b in zip(starts, asked_mm, strict=True)
        )
        if not is_so:
            yield one.wrong(f"parallels at {starts}; the part file asks for {asked_mm}", said)
    else:
        is_steady = len(starts) == 2 and starts[0] < middle < strips[-1][2]
        if not is_steady:
            yield one.wrong(f"parallels at {starts} do not bear on both sides", said)
        for _, start, end in strips:
            yield from _check_strip(one, said, axis, start, end)
        yield from _check_room_below(one, said)
    yield from _check_sizes(one, said, [end - start for _, start, end in strips])
    tall = _tall(said)
    right: Sequence[Mapping[str, Any]] = [
        {"along": letter, "from_mm": start, "to_mm": end, "height_mm": tall}
        for _, start, end in strips
    ]
    told = None if said.named is None else said.named.get("parallels")
    if said.named is not None and not _are_near(told, right):
        yield one.wrong(f"parallels are {told} by name", said)


def _check_room_below(one: SetUp, said: Said) -> Iterator[Finding]:
    """What comes through has room under the part; packing is of the shop's."""
    deepest = max((comes_out_mm(one, row.z_mm) for row in one.rows), default=0.0)
    packing = said.mm("strips_packing") if said.has("strips_packing") else 0.0
    high = (_tall(said) or 0.0) + packing
    if deepest and high < deepest + BELOW_TIP_MM - one.printed.half_count_mm - HALF_SIZE_DIGIT_MM:
        words = f"it stands {high:g} mm up, and a tool comes {deepest:g} mm out"
        yield one.wrong(words, said, "bad-lay")
    if packing and not any(_is_near(packing, each) for each in one.shop.holding.packing_mm):
        yield one.wrong(f"the shop has no packing of {said['strips_packing']}", said)
    if said.slug == "hold-vice":
        by_name = None if said.named is None else said.named.get("packing_mm")
        if said.named is not None and not _is_near(packing, float(by_name or 0.0)):
            yield one.wrong(f"packing of {by_name} mm by name", said)


def _are_near(told: Any, right: Sequence[Mapping[str, Any]]) -> bool:
    """The exact places of the parallels are those told, to the last digit that is shown."""
    if not isinstance(told, list) or len(told) != len(right):
        return False
    return all(
        isinstance(one, dict)
        and one.get("along") == other["along"]
        and all(_is_near(one.get(n), other[n]) for n in ("from_mm", "to_mm", "height_mm"))
        for one, other in zip(told, right, strict=True)
    )


def _is_near(told: Any, right: float | None) -> bool:
    if told is None or right is None:
        return told is right
    return abs(float(told) - right) <= HALF_SIZE_DIGIT_MM


def _ends(one: SetUp, strip: Said, axis: int) -> tuple[float, float]:
    """Near and far edge, in setup axes."""
    sign = float(one.printed.signs[axis])
    return sign * strip.mm("start"), sign * strip.mm("end")


def _tall(said: Said) -> float | None:
    return said.mm("strips_high") if said.has("strips_high") else None


def _check_strip(one: SetUp, said: Said, axis: int, start: float, end: float) -> Iterator[Finding]:
    low_mm, high_mm = (one.printed.upright[face].at_mm for face in one.along(axis))
    if not low_mm - HALF_SIZE_DIGIT_MM <= start < end <= high_mm + HALF_SIZE_DIGIT_MM:
        yield one.wrong(f"a parallel at {start:g} to {end:g}, beside the part", said)
    for name, expected in one.printed.expected.items():
        hole, at = expected.hole, one.printed.places[name][axis]
        half_way = hole.from_both_ends and hole.kind.is_as_drilled
        comes_out = hole.is_through and expected.is_drilled and not half_way
        if comes_out and start - hole.diameter_mm / 2 < at < end + hole.diameter_mm / 2:
            words = f"{name} comes through over the parallel at {start:g} to {end:g}"
            yield one.wrong(words, said)


def _check_sizes(one: SetUp, said: Said, widths: Sequence[float]) -> Iterator[Finding]:
    """A pair of the shop's, or what the part file says of it."""
    request, tall = one.request, _tall(said)
    pairs: list[tuple[float, float | None]] = [
        (pair.thickness_mm, pair.height_mm) for pair in one.shop.parallels
    ]
    thickness_mm, height_mm = request.parallel_thickness_mm, request.parallel_height_mm
    if thickness_mm is not None and (request.parallels_at_mm or height_mm is not None):
        pairs = [(thickness_mm, height_mm)]
    is_one = any(
        _is_near(tall, high)
        and all(math.isclose(wide, thick, abs_tol=2 * HALF_SIZE_DIGIT_MM) for wide in widths)
        for thick, high in pairs
    )
    if not is_one:
        words = f"no parallels are {', '.join(f'{wide:g}' for wide in widths)} mm thick"
        yield one.wrong(f"{words} and {said.slots.get('strips_high')} high", said)
