"""Taps and reamers follow a hole: is it there, is it their size, is it deep enough?

Imports `form` and `record`.
"""

from __future__ import annotations

import math

from millprep.reading.made import OPERATION_OF_CYCLE
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.record import Cut, width_at

# A drill that leaves more than the basic thread depth of every form (1.2807 P Whitworth, 1.2 P BA,
# 1.0825 P metric and Unified; BS 84, BS 93, ISO 68-1) breaks the tap; less than about a third of
# the external thread (1.2269 P) leaves no thread worth the name (common practice).
DEEPEST_THREAD_PITCHES = 1.2807
SHALLOWEST_THREAD_PITCHES = 0.4
# Stock on diameter: to 5 mm 0.1-0.2, 5-20 mm 0.2-0.3, 21-50 mm 0.3-0.5; half a millimetre is
# everyday practice; never over 1/32 in (Applied Science for Metal-Workers, reaming).
USUAL_REAM_STOCK_MM = 0.55
REAM_STOCK_SHARE = 0.04
MOST_REAM_STOCK_MM = 0.794
DEPTH_ROOM_MM = 0.01
_JUST_INSIDE_MM = 0.01

Fault = tuple[str, str, str]


def follow_fault(
    form: Form, cycle: int, room: list[Cut], low_mm: float, underside_mm: float
) -> Fault | None:
    """(kind, message, remedy) of what is wrong with the hole a tap or reamer enters, or None."""
    name = {"tap": "tap", "reamer": "reamer"}.get(form.kind or "")
    if form.kind is None:
        name = {"tap": "tap", "ream": "reamer"}.get(OPERATION_OF_CYCLE.get(cycle, ""))
    if name is None:
        return None
    deep = [cut for cut in room if not cut.is_spot]
    if all(cut.is_across for cut in deep):
        return (
            "nothing-to-follow",
            f"the {name} goes into material that no drill has opened",
            "drill the hole first; see that the program runs the drill before it",
        )
    if form.diameter_mm is None or any(cut.radius_mm == 0 for cut in deep):
        return None
    size = _narrowest(deep, max(low_mm + form.lead_mm, underside_mm))
    end = width_at(deep, max(low_mm, underside_mm) + _JUST_INSIDE_MM)
    wrong = _wrong_size(form, name, size) if size > 0 else None
    return wrong or _too_shallow(name, size, end, low_mm, deep)


def _narrowest(deep: list[Cut], low_mm: float) -> float:
    """Least width from a height up: recesses at either end do not count, a floor between is 0."""
    heights = [low_mm + _JUST_INSIDE_MM]
    heights += [cut.tip_mm - _JUST_INSIDE_MM for cut in deep if cut.tip_mm > heights[0]]
    heights += [cut.upper_mm + _JUST_INSIDE_MM for cut in deep if low_mm < cut.upper_mm < math.inf]
    return min(width_at(deep, height) for height in heights)


def _wrong_size(form: Form, name: str, hole_mm: float) -> Fault | None:
    assert form.diameter_mm is not None
    size = form.diameter_mm
    if name == "tap":
        if form.pitch_mm is None:
            return None
        least = size - DEEPEST_THREAD_PITCHES * form.pitch_mm
        most = size - SHALLOWEST_THREAD_PITCHES * form.pitch_mm
        what = f"tap {size:g} x {form.pitch_mm:g} mm"
    else:
        stock = min(MOST_REAM_STOCK_MM, max(USUAL_REAM_STOCK_MM, REAM_STOCK_SHARE * size))
        least, most = size - stock, size - DEPTH_ROOM_MM
        what = f"reamer {size:.3f} mm"
    if least - 1e-6 <= hole_mm <= most + 1e-6:
        return None
    return (
        "hole-wrong-for-tool",
        f"the {what} enters a hole of {hole_mm:.3f} mm",
        f"drill it between {least:.2f} and {most:.2f} mm first",
    )


def _too_shallow(
    name: str, size_mm: float, end_mm: float, low_mm: float, deep: list[Cut]
) -> Fault | None:
    if size_mm > 0 and end_mm >= size_mm - 2 * DEPTH_ROOM_MM:
        return None
    reach = min(cut.surface(cut.radius_mm) for cut in deep)
    return (
        "hole-too-shallow-for-tool",
        f"the {name} goes down to Z{low_mm:.3f}; the hole has its full size to Z{reach:.3f}",
        "drill deeper, or stop the " + name + " above the drill's full diameter",
    )
