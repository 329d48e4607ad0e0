"""What HOLD says holds the part: whether the part goes in there, and is held there.

Figures are typed again, from the trade. Imports the part, the shop and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.reading.pages.slots import Said
from millprep.witness.printed import SLACK_MM
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
        words = [said["_when"], said["_jaw"], said.axis("along")]
        if words != ["before", "fixed", "xy"[1 - one.jaws_axis]]:
            yield one.wrong(f"the vice is not clocked so: {said.text}", said)
        within = said.figure("within_mm")
        if abs(within.mm - JAW_CLOCKED_MM) > within.half_digit_mm + SLACK_MM:
            yield one.wrong(f"the jaw is clocked to {said['within_mm']}", said)


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
