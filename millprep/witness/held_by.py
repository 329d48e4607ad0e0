"""What HOLD says holds the part: whether the part goes in there, and is held there; and what is
said to set a bar or disc round its axis.

Figures are typed again, from the trade. Imports the part, the shop and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from millprep.base.findings import Finding
from millprep.model.part import Hole
from millprep.reading.pages.slots import Said
from millprep.witness import frame_of, from_part
from millprep.witness.compared import any_case
from millprep.witness.faces import AXIS, FAR, HIGH
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, SetUp

HOLDS = ("hold-vice", "hold-bar", "hold-blocks", "hold-chuck", "hold-clamped")
ON_TABLE = ("hold-straps", "hold-plate")
LEAST_STRAPS = 2
JAW_CLOCKED_MM = 0.02  # over the width of the jaw (common practice)
_MAY_SAY = {
    "hold-chuck": ("chuck",),
    "hold-blocks": ("vee blocks",),
    "hold-clamped": ("straps",),
    "hold-straps": ("straps",),
}
THINNEST_OF_SPAN = 0.05  # of what lies between the jaws: less bows when its edges are squeezed
CENTRE_BELOW_SHARE = 0.1  # of a bar's diameter, that its centre lies below flat jaw tops
CENTRE_BELOW_MM = 1.5  # and not less (common practice, both)
ROOT_2 = 1.41421  # a vee of 90 degrees meets a bar at 45 degrees


LEAST_PIN_MM = 3.0  # a close pin of less bends (common practice)
MARK_MM = 0.2  # by which a mark set by eye is out at the rim (common practice)
_TOLD = ("round-by-pin", "round-by-hole", "round-by-mark")
_ASIDE_MM = 1e-6


def check_way(one: SetUp) -> Iterator[Finding]:
    """One thing holds it, what the part file asks for, and it can."""
    told = one.all(*HOLDS, *ON_TABLE)
    if len(told) != 1:
        yield one.wrong(f"{len(told)} things hold the part")
        return
    (said,) = told
    asked = one.request.hold
    if asked is not None and said["by"] != asked:
        yield one.wrong(f"the part file asks for {asked}, not for {said['by']}", said, "bad-lay")
    if said["by"] not in _MAY_SAY.get(said.slug, (said["by"],)):
        yield one.wrong(f"held by {said['by']}: {said.text}", said, "bad-lay")
    is_bar = one.is_bar_lying and said["by"] in ("vice", "vee jaws")
    if is_bar != (said.slug == "hold-bar"):
        yield one.wrong("a bar lying down is held as a block, or the other way about", said)
    is_on_backing = bool(one.request.backing_mm) and one.request.grip_mm is None
    if (
        is_on_backing
        and asked is None
        and one.printed.part.stock.axis is None
        and said["by"] != "straps"
    ):
        yield one.wrong("a part on backing without a grip is clamped down", said, "bad-lay")
    for fault in _faults(one, said):
        yield one.wrong(f"{said['by']} cannot hold it: {fault}", said, "bad-lay")


def check_clocked(one: SetUp) -> Iterator[Finding]:
    """The vice is clocked where it is first used, or turned; told of no other setup."""
    used, above = [], one.before
    while above is not None:
        used += [above.request.jaws] if above.at_stop else []
        above = above.before
    is_due = one.at_stop is not None and one.request.jaws not in used
    told = one.all("clock-vice")
    is_page_alone = one.before is None and one.printed.setup.number > 1
    if len(told) != int(is_due) and not (is_page_alone and not told):
        yield one.wrong(f"the vice is clocked {len(told)} times, not {int(is_due)}")
    for said in told:
        along = any_case("xy"[1 - one.jaws_axis])
        due = {"_when": "before", "_jaw": "fixed", "along": along, "within_mm": JAW_CLOCKED_MM}
        yield from one.says(said, due)


def _faults(one: SetUp, said: Said) -> Iterator[str]:
    across, along = one.size_along_mm(one.jaws_axis), one.size_along_mm(1 - one.jaws_axis)
    vice, held = one.shop.vice, one.shop.holding
    match said["by"]:
        case "vice":
            if across > vice.opening_mm + HALF_SIZE_DIGIT_MM:
                yield f"{across:g} mm across, and it opens {vice.opening_mm:g} mm"
            if one.is_disc_on_end != said.has("soft"):
                yield "soft jaws are bored to a disc, and to nothing else"
            if one.is_disc_on_end and "soft" not in vice.jaws:
                yield "flat jaws meet a disc on two lines"
            if _is_choice(one) and _is_thin(one, across) and held.straps >= LEAST_STRAPS:
                yield f"{one.height_mm:g} mm thick and {across:g} mm between the jaws"
        case "vee jaws":
            if not one.is_bar_lying and not one.is_disc_on_end:
                yield "it has flat sides"
            if vice.vee is None:
                yield "the vice has no vee jaw"
            elif across > vice.vee.width_mm * ROOT_2 + HALF_SIZE_DIGIT_MM:
                yield "it lies on the edges of the vee"
            elif across / 2 * (1 + ROOT_2) <= vice.vee.width_mm / 2:
                yield "it sinks into the vee"
        case "vee blocks":
            fits = [b for b in held.vee_blocks if b.least_mm - 1e-6 <= across <= b.most_mm + 1e-6]
            if not fits or not one.is_bar_lying or along < across - HALF_SIZE_DIGIT_MM:
                yield f"{across:g} mm thick and {along:g} mm long in the shop's blocks"
        case "chuck":
            chuck = held.chuck
            is_in = chuck is not None and across <= chuck.diameter_mm + HALF_SIZE_DIGIT_MM
            if not one.is_disc_on_end or not is_in:
                yield f"{across:g} mm in the shop's chuck"
        case "straps":
            if one.printed.part.stock.axis is not None and not one.is_disc_on_end:
                yield "it is round, and rolls"
            if _is_choice(one) and not one.request.backing_mm and not _is_large(one, across, along):
                yield "it goes into the vice or the chuck"


def _is_choice(one: SetUp) -> bool:
    """Whether the part file says nothing of what holds it."""
    request = one.request
    return request.hold is None and request.grip_mm is None and not request.parallels_at_mm


def _is_thin(one: SetUp, across: float) -> bool:
    return not one.is_bar_lying and one.height_mm < THINNEST_OF_SPAN * across - 1e-6


def _is_large(one: SetUp, across: float, along: float) -> bool:
    """For vice, chuck and vee jaw."""
    vice, chuck = one.shop.vice, one.shop.holding.chuck
    if one.is_disc_on_end:
        is_in_vee = vice.vee is not None and across <= vice.vee.width_mm * ROOT_2
        return not is_in_vee and (chuck is None or across > chuck.diameter_mm)
    return min(across, along) > vice.opening_mm or _is_thin(one, min(across, along))


def check_bar(one: SetUp, said: Said) -> Iterator[Finding]:
    """A bar lying down: its centre below the jaw tops, by so much as its packing leaves."""
    vice, diameter = one.shop.vice, one.height_mm
    told = said.mm("centre_below")
    least = max(CENTRE_BELOW_SHARE * diameter, CENTRE_BELOW_MM)
    if said["by"] == "vice" and told < least - HALF_SIZE_DIGIT_MM:
        yield one.wrong(f"flat jaws end {told:g} mm over the centre: {least:g} at least", said)
    if said["_below"] != "below" or said["_jaw"] != "fixed":
        yield one.wrong(f"the centre above the jaws: {said.text}", said)
    right, under_mm = None, said.mm("packing_high") if said.has("packing_high") else 0.0
    if said["by"] == "vee jaws":
        right = None if vice.vee is None else vice.vee.below_mm
    elif one.request.grip_mm is not None:
        right = one.request.grip_mm - diameter / 2
    elif said["seat"] in ("packing", "floor"):
        right = vice.jaw_height_mm - under_mm - diameter / 2
    if right is not None and abs(told - right) > 2 * HALF_SIZE_DIGIT_MM:
        yield one.wrong(f"the centre is told {told:g} mm below the jaw tops; {right:g}", said)
    seat = "vee" if said["by"] == "vee jaws" else "packing" if said.has("packing_high") else None
    if said["seat"] != seat and (seat is not None or said["seat"] in ("packing", "vee")):
        yield one.wrong(f"HOLD stands it on {said['seat']}, not on {seat}", said, "bad-lay")
    deepest = max((-one.printed.z_sign * row.z_mm for row in one.rows), default=0.0) - diameter
    comes_through = deepest > one.printed.half_count_mm
    if said.has("clear") != (comes_through and said.has("packing_high")):
        yield one.wrong("packing is told to be clear of holes, or is not", said)
    asked_at = one.request.parallels_at_mm
    yield from one.named(said, **({} if asked_at else {"parallels": []}))
    by_name = None if said.named is None else said.named.get("packing_mm")
    if said.named is not None and abs(float(by_name or 0.0) - under_mm) > HALF_SIZE_DIGIT_MM:
        yield one.wrong(f"packing of {by_name} mm by name", said)


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
        for fault in _way_faults(one, said, before):
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
        if AXIS[hole.face] != stock.axis:
            return True
        return any(
            abs(at - size / 2) > _ASIDE_MM
            for axis, (at, size) in enumerate(zip(hole.centre_mm, stock.size_mm, strict=True))
            if axis != stock.axis
        )

    return asked


def _way_faults(one: SetUp, said: Said, before: dict[str, Hole]) -> Iterator[str]:
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
        if not is_open or not one.is_place(said, (float(x), float(y))):
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
        line[AXIS[holes[0].face]] = 0.0
    elif len(holes) == 1:
        line = np.zeros(3)
        line[AXIS[holes[0].face]] = 1.0
    else:
        line = np.array(holes[0].centre_mm) - np.array(holes[1].centre_mm)
        line[AXIS[holes[0].face]] = 0.0
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
    if stock.axis is None or said.face("face") != HIGH[stock.axis] or said["_when"] != "before":
        yield "the right end of the bar is not marked"
        return
    radius = stock.size_mm[(stock.axis + 1) % 3] / 2
    within = said.figure("off_mm")
    degrees = math.degrees(math.asin(min(1.0, MARK_MM / radius)))
    if abs(within.mm - MARK_MM) > within.half_digit_mm + 1e-9:
        yield f"a mark is {MARK_MM:g} mm out"
    if abs(float(said["off_deg"]) - degrees) > 0.05 + 1e-9:
        yield f"that is {degrees:.2f} degrees"
