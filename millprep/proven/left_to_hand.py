"""What a program for a shop may leave to the hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop
    from millprep.reference.threads import Thread

SAME_REAMER_MM = 0.003


def hands_of(shop: Shop, part: Part) -> frozenset[str]:
    """Operations that a program for this shop may leave to the hand."""
    return _taps_by_hand(shop, part) | _reamers_by_hand(shop, part)


def _reamers_by_hand(shop: Shop, part: Part) -> frozenset[str]:
    """Of sizes for which the drawer has a hand reamer; it is never turned by the spindle."""
    by_hand = [reamer.diameter_mm for reamer in shop.cabinet.reamers if reamer.is_hand]
    reamed = [hole.diameter_mm for hole in part.holes if hole.kind.is_reamed]
    is_so = any(abs(size - one) < SAME_REAMER_MM for size in reamed for one in by_hand)
    return frozenset({"ream"}) if is_so else frozenset()


def _taps_by_hand(shop: Shop, part: Part) -> frozenset[str]:
    control, threads = shop.control, [hole.thread for hole in part.holes if hole.thread is not None]
    if control.tapping == "by hand at the hole":
        return frozenset()
    has_head = control.tapping == "reversing head"
    taps = has_head or (control.tapping != "none" and "G84" in control.cycles)
    if taps and not any(
        thread.is_left_hand or _is_too_fast(shop, part, thread) for thread in threads
    ):
        return frozenset()
    return frozenset({"tap"})


def _is_too_fast(shop: Shop, part: Part, thread: Thread) -> bool:
    """Whether the spindle cannot turn as slowly as the tap wants it."""
    from millprep.reference.materials import material_named

    material = material_named(part.material)
    most = material.most_tap_rpm(thread.major_mm) if material is not None else math.inf
    return shop.mill.slowest_rpm > min(shop.control.tap_speed_rpm, most)
