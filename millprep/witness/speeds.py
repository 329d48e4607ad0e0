"""Speeds and feeds: what a tool may be run and fed at, by the witness's own shares and caps.

A start for a light mill is no exact figure, so each cut has a window: from half of the table's
speed, for running slow costs time only, up to the step of the belt that is nearest over it. A tool
has one speed and one feed in a setup: those of the cut that asks for least. The tables of
`reference` are read; shares, caps and bounds are typed here once more, and never taken from where
the tools were planned. Imports the part, the shop and the tables.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.base.records import frozen, replace
from millprep.model.part import Part
from millprep.model.shop import Mill, Shop
from millprep.reference.materials import Material, drill_feed_mm_per_rev, material_named

Fault = tuple[str, str]

OVER_TABLE = 1.15  # a step of the belt so much over the table's figure will do (common practice)
UNDER_TABLE = 0.5  # slower than this wastes time, where there is a better step (common practice)
COARSE_RPM = 10.0  # to which a speed without steps is told
SPOT_RPM = 3000.0  # the most for spotting, however small the cone (common practice)
OVER_FEED = 1.1  # of the table's: feeds are told in round figures
FEED_DIGIT_MM_PER_MIN = 0.2  # half of 0.01 in/min and of 0.1 mm/min, and some
SAME = 1e-5  # what six printed digits leave of a speed

_DRILLING = ("drill", "pilot drill")
_CONES = ("spot drill", "countersink")
_RECESSING = ("countersink", "counterbore", "spotface", "bore")
_BY_HAND = ("tap",)  # on a sheet; a program may tap

# Least and most share of the drilling speed. Reaming at half of it, counterboring and
# countersinking at a quarter to a third: TC 9-524; a boring head as they are (common practice).
_SPEED_SHARES = {
    **dict.fromkeys((*_DRILLING, "spot drill"), (1.0, 1.0)),
    **dict.fromkeys(_RECESSING, (1 / 4, 1 / 3)),
    "ream": (0.5, 0.5),
}
# Least and most share of the drill's feed a turn. The table has the upper edges of bands, whose
# lower edges are half of them (US Navy training manual 14345). Half the drill's feed for spots and
# recesses, two to three times it for reamers (common practice).
_FEED_SHARES = {
    **dict.fromkeys(_DRILLING, (0.5, 1.0)),
    **dict.fromkeys(("spot drill", *_RECESSING), (0.25, 0.5)),
    "ream": (1.0, 3.0),
}
# Share of speed and of feed that is left to a drill of high speed steel from so many diameters of
# depth on (a published guide).
_DEEP = ((3.0, 0.9, 0.9), (4.0, 0.8, 0.9), (5.0, 0.7, 0.8), (6.0, 0.65, 0.8))
_WORKED_OUT_MM = 0.05  # how far depths, and cones by them, may be off: they are rounded on a sheet
_DIAMETER_MM = 0.003  # and diameters


@frozen
class Cut:
    """One step of a tool, as a sheet prints it or a program makes it.

    operation   : in the words of a listing: "spot drill", "pilot drill", "drill", "bore",
                  "counterbore", "spotface", "countersink", "ream", "tap"
    diameter_mm : of the tool
    cone_mm     : at the face, of a spot or a countersink; None where nothing tells it: then the
                  whole tool is taken to cut
    depth_mm    : of the full diameter, from the face, positive; asked of drills only. None: nothing
                  tells it, and then it may be deep or not
    is_carbide  : the tool is said to be of solid carbide, which bears more
    is_hand     : the tool is a reamer for the hand
    """

    operation: str
    diameter_mm: float
    cone_mm: float | None = None
    depth_mm: float | None = None
    is_carbide: bool = False
    is_hand: bool = False

    @property
    def width_mm(self) -> float:
        """The diameter that cuts."""
        is_cone = self.operation in _CONES and self.cone_mm is not None
        return self.cone_mm if is_cone and self.cone_mm is not None else self.diameter_mm

    @property
    def words(self) -> str:
        return f"{self.operation}, {self.width_mm:.2f} mm wide"


def speed_faults(
    shop: Shop,
    part: Part,
    cuts: Sequence[Cut],
    rpm: float | None,
    feed_mm_per_min: float | None,
    by_hand: bool | None = None,
    *,
    is_fed: bool = True,
) -> list[Fault]:
    """What is wrong with the speed and feed that a sheet prints for one tool in one setup.

    cuts    : every step that the sheet has for the tool in that setup, at least one. Of a whole
              sheet: in an excerpt the step that sets the speed may be missing
    rpm, feed_mm_per_min : as printed, in mm/min; None where nothing is printed
    by_hand : what the form's word or flag for it says; None where it has none
    is_fed : whether the form tells feeds at all

    Returns (kind, words) of each fault, the kind "wrong-speed" or "wrong-feed"; nothing where
    nothing is wrong. To be asked once for each tool of a setup; where rows print speed and feed
    each for itself, once for each pair that differs, always with all cuts of the tool. A tap and
    a hand reamer have neither, and nothing else is by hand. Of a material that no table has only
    the mill's own speeds are asked. What has to stand beside the speed: `wants_warning`.
    """
    is_hand = all(cut.operation in _BY_HAND or cut.is_hand for cut in cuts)
    what = cuts[0].words
    if by_hand not in (None, is_hand):
        does = "by hand" if by_hand else "under power"
        return [("wrong-speed", f"{what}: it is not done {does}")]
    if is_hand:
        is_told = rpm is not None or feed_mm_per_min is not None
        return [("wrong-speed", f"{what}: a speed or feed for the hand")] if is_told else []
    if rpm is None:
        return [("wrong-speed", f"{what}: no speed")]
    if feed_mm_per_min is None:
        fault = _speed_fault(shop.mill, _windows(shop, part, cuts), rpm)
        missing = [("wrong-feed", f"{what}: no feed")] if is_fed else []
        return missing if fault is None else [("wrong-speed", fault)]
    return power_faults(shop, part, cuts, rpm, feed_mm_per_min)


def power_faults(
    shop: Shop, part: Part, cuts: Sequence[Cut], rpm: float | None, feed_mm_per_min: float | None
) -> list[Fault]:
    """What is wrong with the speed and feed of one tool in one setup under power, taps too.

    rpm : None where a switch or a belt sets it and nothing says what it is
    feed_mm_per_min : None where the hand feeds
    Returns as `speed_faults` does. A feed is asked at a speed that is right, and none of a tap,
    which is fed its pitch each turn: the dry run asks that.
    """
    windows = _windows(shop, part, cuts)
    fault = None if rpm is None else _speed_fault(shop.mill, windows, rpm)
    if fault is not None:
        return [("wrong-speed", fault)]
    if feed_mm_per_min is None:
        return []
    fed = [one for one in windows if one.cut.operation != "tap"]
    fault = _feed_fault(shop.mill, fed, rpm, feed_mm_per_min) if fed else None
    return [] if fault is None else [("wrong-feed", fault)]


def wants_warning(shop: Shop, part: Part, cuts: Sequence[Cut], rpm: float) -> bool:
    """Whether the sheet has to warn that even the mill's slowest speed is too fast for the tool.

    True where `rpm` is the slowest and over 1.15 of the table's figure for one of the cuts, however
    deep. The warning is the finding "too-fast" of `check`, which names operation and tool.
    """
    shallow = [replace(cut, depth_mm=0.0) for cut in cuts]
    is_slowest = rpm <= shop.mill.slowest_rpm * (1 + SAME)
    return is_slowest and any(rpm > one.over_rpm for one in _windows(shop, part, shallow))


def right_rpm(part: Part, cuts: Sequence[Cut]) -> tuple[float, float]:
    """Between which the speed lies [rev/min] that is right for a tool on a mill of any speed.

    Of a material that no table has anything is right.
    """
    material = material_named(part.material)
    if material is None or not cuts:
        return 0.0, math.inf
    least, most = [], []
    for cut in cuts:
        low, high = _table_m_per_min(cut, material)
        cap = SPOT_RPM if cut.operation == "spot drill" else math.inf
        digit = _WORKED_OUT_MM if cut.operation in _CONES else _DIAMETER_MM
        least.append(min(_rpm(low * _deepest(cut)[0], cut.width_mm + digit), cap))
        most.append(min(_rpm(high * _shallowest(cut)[0], cut.width_mm - digit), cap))
    return min(least), min(most)


@frozen
class _Window:
    """What one cut may be run at [rev/min] and fed at [mm a turn].

    over_rpm : beyond which it is too fast; least_rpm, most_rpm : of the speeds that the mill has
    """

    cut: Cut
    over_rpm: float
    least_rpm: float
    most_rpm: float
    least_mm_per_rev: float
    most_mm_per_rev: float


def _windows(shop: Shop, part: Part, cuts: Sequence[Cut]) -> list[_Window]:
    material = material_named(part.material)
    return [_window(shop, material, cut) for cut in dict.fromkeys(cuts)] if material else []


def _window(shop: Shop, material: Material, cut: Cut) -> _Window:
    digit = _WORKED_OUT_MM if cut.operation in _CONES else _DIAMETER_MM
    narrow, wide = max(cut.width_mm - digit, digit), cut.width_mm + digit
    caps = {"spot drill": SPOT_RPM, "tap": shop.control.tap_speed_rpm}
    cap = caps.get(cut.operation, math.inf)
    (slow, least), (fast, most) = _deepest(cut), _shallowest(cut)
    low, high = _table_m_per_min(cut, material)
    wanted = min(_rpm(low * slow, wide), cap)
    over = OVER_TABLE * min(_rpm(high * fast, narrow), cap)
    if cut.operation == "tap":
        over, shares = min(over, cap), (0.0, math.inf)
    else:
        shares = _FEED_SHARES[cut.operation]
    return _Window(
        cut,
        over,
        _least_rpm(shop.mill, wanted),
        _most_rpm(shop.mill, over),
        shares[0] * least * material.feed_factor * drill_feed_mm_per_rev(narrow),
        shares[1] * most * material.feed_factor * drill_feed_mm_per_rev(wide) * OVER_FEED,
    )


def _table_m_per_min(cut: Cut, material: Material) -> tuple[float, float]:
    """Least and most surface speed of the table."""
    if cut.operation == "tap":
        return material.tap_m_per_min, material.tap_m_per_min
    least, most = _SPEED_SHARES[cut.operation]
    carbide = material.carbide_m_per_min if cut.is_carbide else None
    return least * material.drill_m_per_min, most * (carbide or material.drill_m_per_min)


def _deepest(cut: Cut) -> tuple[float, float]:
    return _left(cut, math.inf if cut.depth_mm is None else cut.depth_mm + _WORKED_OUT_MM)


def _shallowest(cut: Cut) -> tuple[float, float]:
    return _left(cut, 0.0 if cut.depth_mm is None else cut.depth_mm - _WORKED_OUT_MM)


def _left(cut: Cut, depth_mm: float) -> tuple[float, float]:
    """(speed, feed) share that the depth leaves."""
    if cut.operation not in _DRILLING:
        return 1.0, 1.0
    left = [rest for diameters, *rest in _DEEP if depth_mm >= diameters * cut.diameter_mm]
    return (left[-1][0], left[-1][1]) if left else (1.0, 1.0)


def _rpm(speed_m_per_min: float, diameter_mm: float) -> float:
    return 1000 * speed_m_per_min / (math.pi * diameter_mm)


def _least_rpm(mill: Mill, wanted_rpm: float) -> float:
    """Half of what is wanted, or the fastest step up to that; the slowest where all are over it."""
    half = UNDER_TABLE * wanted_rpm
    if mill.speed_range_rpm is not None:
        return _within(mill, min(half, wanted_rpm - COARSE_RPM))
    fastest = max((step for step in mill.speeds_rpm if step <= wanted_rpm), default=0.0)
    return max(min(half, fastest), mill.slowest_rpm)


def _most_rpm(mill: Mill, over_rpm: float) -> float:
    """The fastest that the mill has up to there; the slowest where all are over it."""
    if mill.speed_range_rpm is not None:
        return _within(mill, over_rpm)
    return max((step for step in mill.speeds_rpm if step <= over_rpm), default=mill.slowest_rpm)


def _within(mill: Mill, rpm: float) -> float:
    return min(max(rpm, mill.slowest_rpm), mill.fastest_rpm)


def _speed_fault(mill: Mill, windows: Sequence[_Window], rpm: float) -> str | None:
    if not _has(mill, rpm):
        return f"{rpm:g} rev/min is none of the mill's speeds: {_speeds(mill)}"
    fastest = min(windows, key=lambda one: one.over_rpm, default=None)
    if fastest is not None and rpm > fastest.most_rpm * (1 + SAME):
        return f"{fastest.cut.words}: {rpm:g} rev/min, and {fastest.most_rpm:.0f} is the most"
    slowest = min(windows, key=lambda one: one.least_rpm, default=None)
    if slowest is not None and rpm < slowest.least_rpm * (1 - SAME):
        return f"{slowest.cut.words}: {rpm:g} rev/min, and {slowest.least_rpm:.0f} is the least"
    return None


def _has(mill: Mill, rpm: float) -> bool:
    if mill.speed_range_rpm is not None:
        return math.isclose(rpm, _within(mill, rpm), rel_tol=SAME)
    return any(math.isclose(rpm, step, rel_tol=SAME) for step in mill.speeds_rpm)


def _speeds(mill: Mill) -> str:
    if mill.speed_range_rpm is not None:
        return f"{mill.slowest_rpm:g} to {mill.fastest_rpm:g}"
    return ", ".join(f"{step:g}" for step in mill.speeds_rpm)


def _feed_fault(
    mill: Mill, windows: Sequence[_Window], rpm: float | None, feed_mm_per_min: float
) -> str | None:
    """The feed is the least that any cut asks for, each at a speed from its own window."""
    first = min(windows, key=lambda one: one.over_rpm)  # it sets the speed
    least = min(one.least_mm_per_rev * max(one.least_rpm, rpm or 0.0) for one in windows)
    most = min(one.most_mm_per_rev * one.most_rpm for one in windows)
    most = min(most, first.most_mm_per_rev * (rpm or math.inf), mill.max_feed_mm_per_min)
    least = min(least, math.floor(mill.max_feed_mm_per_min))
    if least <= feed_mm_per_min + FEED_DIGIT_MM_PER_MIN <= most + 2 * FEED_DIGIT_MM_PER_MIN:
        return None
    at = "" if rpm is None else f" at {rpm:g} rev/min"
    span = f"{least:.3g} to {most:.3g} are right"
    return f"{first.cut.words}: {feed_mm_per_min:g} mm/min{at}, and {span}"
