"""How a hole is tried or measured, as an inspection sheet says it, against the hole.

Imports the part.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from millprep.model.part import Hole

_NO_GO_TURNS = 2.0  # a thread's no-go gauge may go in so far (from memory of ISO 1502)
_GO = re.compile(r"(?P<pin>.+?) goes in(?:; so does the (?P<screw>.+) screw)?")
_NO_GO = re.compile(r"(?P<pin>.+?) does not go in")
_SAME_MM = 1e-6
_DEPTH_DIGIT_MM = 0.051


def is_note(
    kind: str,
    note: str,
    face: str,
    hole: Hole,
    pins: Mapping[str, float],
    limits_mm: tuple[float, float],
    thickness_mm: float,
) -> bool:
    """Whether what is said of how to try it is so.

    face : from which; pins : diameters by name; limits_mm : of the hole's diameter
    thickness_mm : of the blank along the hole
    """
    if kind in ("go", "no-go"):
        return _is_pin_note(kind, note, hole, pins, limits_mm)
    if kind == "square":
        return hole.kind.is_true and note == "by a square against the pin"
    if kind.startswith("thread"):
        return hole.thread is not None and note == _thread_note(kind, hole)
    if kind == "countersink":
        mouth = hole.mouth if face == hole.face else hole.far
        angle = mouth.countersink.angle_deg if mouth.countersink is not None else 0.0
        return note == f"across the mouth, {angle:g} deg: the screw's head lies flush"
    if kind == "depth":
        return _is_depth_note(note, hole, thickness_mm)
    return not note


def _is_pin_note(
    kind: str, note: str, hole: Hole, pins: Mapping[str, float], limits_mm: tuple[float, float]
) -> bool:
    match = (_GO if kind == "go" else _NO_GO).fullmatch(note)
    if match is None or match["pin"] not in pins or hole.thread is not None:
        return False
    low, high = limits_mm
    size = pins[match["pin"]]
    if kind == "no-go":
        return size >= high - _SAME_MM
    low = low if hole.limits_um is not None else max(low, hole.diameter_mm)
    return size <= low + _SAME_MM and match["screw"] == (hole.screw or None)


def _thread_note(kind: str, hole: Hole) -> str:
    thread = hole.thread
    assert thread is not None  # asked before
    if kind == "thread no-go":
        return f"{thread.designation} stops within {_NO_GO_TURNS:g} turns"
    cut = [one.depth_mm for one in (hole.mouth.counterbore, hole.mouth.spotface) if one]
    widened = max([0.0, *cut, *(opened.depth_mm for opened in hole.opened)])
    how = "all the way"
    if not hole.is_through:
        how = f"{(hole.depth_mm - widened) / thread.pitch_mm:.1f} turns"
    return f"{thread.designation} goes {how}; without a gauge a new screw, by the fingers"


def _is_depth_note(note: str, hole: Hole, thickness_mm: float) -> bool:
    if hole.kind.has_flat_floor:
        return note == "by the depth rod"
    start = "by a pin of the hole's size, down to the drill's shoulder"
    if not hole.kind.is_as_drilled:
        return note == start
    match = re.fullmatch(start + r"; a floor of about (-?[0-9.]+) mm is left", note)
    point = hole.diameter_mm / 2 / math.tan(math.radians(59.0))
    deep = max(hole.depth_mm, hole.drill_depth_mm or 0.0) + point
    return match is not None and abs(float(match[1]) - (thickness_mm - deep)) <= _DEPTH_DIGIT_MM
