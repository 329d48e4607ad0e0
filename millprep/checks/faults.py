"""What is wrong with one hole in its blank, or between two holes: the rules, one by one.

Each rule looks at one hole or one pair and at nothing else, so that a change to a part is judged by
asking again for the holes that changed. Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding, Saying, Value, Words, stop, warning, words
from millprep.base.records import frozen, replace
from millprep.checks.gaps import Solid, box_gap_mm, gap_mm
from millprep.checks.solids import Placed
from millprep.checks.space import least_wall_mm
from millprep.model.part import (
    FACE_AXIS,
    HIGH_FACES,
    Face,
    Hole,
    Part,
    Stock,
    plane_axes,
    widened_mm,
)
from millprep.planning.depths import least_floor_mm
from millprep.planning.sides import breaking_wall_mm, sides_of
from millprep.reference.lengths import LEAST_PITCHES

SLACK_MM = 1e-6
"""What a wall may lack before anything is said: far below any readout."""
MEETING_MM = 1e-3
"""Full diameters nearer than this are open to each other: the drill's point is long through."""
_MOUTHS = ("counterbore", "spotface", "countersink")
MILDER = {"over-edge": "thin-wall", "holes-overlap": "thin-wall", "tip-through": "thin-floor"}
"""What is left of a finding that has been cured by half."""
Key = tuple[str, str, frozenset[str]]


_OVER_EDGE = stop(
    "over-edge", "hole {0}: {wide_mm:bare} wide, it breaks out through {about} by {over_mm}"
)
_WALL_TO_EDGE = warning(
    "thin-wall",
    "hole {0}: wall to {about} {wall_mm:bare}, should be {least_mm}",
    'write allow = ["thin wall"]',
)
_WALL_BREAKS = stop(
    "thin-wall",
    "hole {0}: wall to {about} {wall_mm:bare}, needs {least_mm}: the tool breaks out of the side",
    'write allow = ["thin wall"]',
)
_FLOOR_OPEN = stop(
    "tip-through",
    "hole {0}: {depth_mm:exact bare} deep in {thickness_mm:exact bare}, its {tool} goes to "
    "{deepest_mm}: it breaks through",
    "make the hole through",
)
_FLOOR_THIN = warning(
    "thin-floor",
    "hole {0}: floor {left_mm:bare} under the tip of its {tool}, should be {least_mm}",
    "make the hole through",
)
_WEB = "hole {0}: {left_mm:bare} left {where}, should be {least_mm}"
_LESS_RECESS = "make the recess {lacking_mm} less deep"
_WEB_OPEN = stop("tip-through", _WEB, _LESS_RECESS)
_WEB_THIN = warning("thin-floor", _WEB, _LESS_RECESS)
_SUNK_THROUGH = warning(
    "tip-through",
    "hole {0}: its countersink is {deep_mm:bare} deep in {thickness_mm}: it breaks through",
    "use a smaller screw, or another head",
)
_SHORT_THREAD = warning(
    "short-engagement",
    "hole {0}: thread engagement {left_mm:bare}, needs {wanted_mm}",
    'write allow = ["short engagement"]',
)
_OVERLAP = stop("holes-overlap", "holes {0} and {1} {how}", "{advice}")
_WALL_BETWEEN = warning(
    "thin-wall",
    "holes {0} and {1}: {wall_mm:bare} of wall between {pieces}, should be {wanted_mm}",
    'write allow = ["thin wall"]',
)


def found(saying: Saying, lacking_mm: float, about: str, *holes: Hole, **values: Value) -> Finding:
    """What a rule finds, before its place in the file is looked up and a cure is looked for.

    lacking_mm, about : as of `Finding`; what is said may name them like any value
    """
    names = (hole.name for hole in holes)
    said = saying.of(*names, lacking_mm=lacking_mm, about=about, **values)
    return replace(said, about=about, lacking_mm=lacking_mm)


def key_of(finding: Finding) -> Key:
    """The same for the same finding at another size, even where it has another kind then."""
    kind = MILDER.get(finding.kind, finding.kind)
    return kind, finding.about, frozenset(finding.holes)


def apart_mm(face: Face, one: Placed, other: Placed) -> float:
    """Distance of two holes' axes in the plane of a face."""
    a, b = plane_axes(face)
    first, second = one.hole.centre_mm, other.hole.centre_mm
    return math.hypot(first[a] - second[a], first[b] - second[b])


def edges(part: Part, placed: Placed) -> Iterator[Finding]:
    """A hole lies inside its face, with some wall to the edges."""
    hole = placed.hole
    if not placed.solids:  # a spot
        return
    radius_mm = max(solid.radius_mm for solid in placed.solids)
    for edge, distance in sides_of(part.stock, hole, hole.face):
        wall, wide = distance - radius_mm, 2 * radius_mm
        lacking = least_wall_mm(wide) - distance + radius_mm
        if wall < -SLACK_MM:
            yield found(_OVER_EDGE, lacking, edge, hole, wide_mm=wide, over_mm=-wall)
        elif wall < (breaks := breaking_wall_mm(wide)) - SLACK_MM:
            wall_mm = max(wall, 0.0)
            yield found(_WALL_BREAKS, lacking, edge, hole, wall_mm=wall_mm, least_mm=breaks)
        elif lacking > SLACK_MM:
            least = least_wall_mm(wide)
            yield found(_WALL_TO_EDGE, lacking, edge, hole, wall_mm=wall, least_mm=least)


def floor(part: Part, placed: Placed) -> Iterator[Finding]:
    """A blind hole keeps a floor under the tip of its drill."""
    hole = placed.hole
    if hole.is_through:
        yield from _webs(part, hole)
        yield from _sunk_through(part, hole)
        return
    deepest, solid = placed.deepest_mm(part.stock)
    thickness = part.stock.size_mm[placed.axis]
    left = _floor_mm(part.stock, placed, thickness - deepest)
    least = least_floor_mm(2 * solid.radius_mm)
    if left < least - SLACK_MM:
        yield found(
            _FLOOR_OPEN if left <= SLACK_MM else _FLOOR_THIN,
            least - left,
            "floor",
            hole,
            depth_mm=hole.depth_mm,
            thickness_mm=thickness,
            tool=solid.what if solid.what in _MOUTHS else "drill",
            deepest_mm=deepest,
            left_mm=left,
            least_mm=least,
        )


def _floor_mm(stock: Stock, placed: Placed, to_face_mm: float) -> float:
    """To the face opposite; across a disc to its rim, from the corners of point and drill."""
    axis = placed.axis
    if stock.axis is None or stock.axis == axis:
        return to_face_mm
    aside = 3 - axis - stock.axis
    radius = stock.size_mm[axis] / 2
    is_high = placed.hole.face in HIGH_FACES
    least = to_face_mm
    for solid in placed.solids:
        end = solid.low_mm if is_high else solid.high_mm
        if is_high == (end > radius):
            continue  # still on the near side of the middle, where the rim is the way in
        at_end = solid.low_radius_mm if is_high else solid.high_radius_mm
        off = abs(solid.centre_mm[aside] - radius) + at_end
        least = min(least, radius - math.hypot(end - radius, off))
    return least


def _webs(part: Part, hole: Hole) -> Iterator[Finding]:
    """What is left between a recess of a through hole and the far face, or the recess there."""
    near, far = widened_mm(hole.mouth, hole.opened), widened_mm(hole.far, ())
    if near == far == 0:
        return
    left = part.stock.size_mm[FACE_AXIS[hole.face]] - near - far
    least = least_floor_mm(hole.diameter_mm)
    where = "between its two recesses" if near and far else "under its recess"
    if left < least - SLACK_MM:
        said = _WEB_OPEN if left <= SLACK_MM else _WEB_THIN
        left_mm = max(left, 0)
        yield found(
            said, least - left, "recess", hole, left_mm=left_mm, where=where, least_mm=least
        )


def _sunk_through(part: Part, hole: Hole) -> Iterator[Finding]:
    """A countersink that opens the far face leaves its head nothing round the hole there."""
    thickness = part.stock.size_mm[FACE_AXIS[hole.face]]
    for cone in (hole.mouth.countersink, hole.far.countersink):
        if cone is None:
            continue
        widened = (cone.diameter_mm - hole.diameter_mm) / 2
        deep = widened / math.tan(math.radians(cone.angle_deg / 2))
        if deep > thickness + SLACK_MM:
            over = deep - thickness
            yield found(_SUNK_THROUGH, over, "cone", hole, deep_mm=deep, thickness_mm=thickness)


def engagement(part: Part, placed: Placed) -> Iterator[Finding]:
    """A thread is at least as long as its screw is wide, or three pitches.

    What screw goes in and what it carries an assembly file knows; the least holds for any.
    """
    hole = placed.hole
    if hole.thread is None:
        return
    left = hole.depth_mm - widened_mm(hole.mouth, hole.opened) - widened_mm(hole.far, ())
    wanted = max(hole.thread.major_mm, LEAST_PITCHES * hole.thread.pitch_mm)
    if left < wanted - SLACK_MM:
        lacking = wanted - left
        yield found(_SHORT_THREAD, lacking, "thread", hole, left_mm=left, wanted_mm=wanted)


@frozen
class Nearest:
    """The two solids of a pair of holes that lack room most, and the wall between them."""

    wall_mm: float
    wanted_mm: float
    one: Solid
    other: Solid

    @property
    def lacking_mm(self) -> float:
        return self.wanted_mm - self.wall_mm


def nearest_of(one: Placed, other: Placed) -> Nearest | None:
    """Where two holes lack room most; a crossing counts before a thin wall. None: nowhere."""
    worst: Nearest | None = None
    for solid in one.solids:
        for facing in other.solids:
            wanted = least_wall_mm(2 * min(solid.radius_mm, facing.radius_mm))
            if box_gap_mm(solid, facing) >= wanted - SLACK_MM:
                continue
            found = Nearest(gap_mm(solid, facing, wanted), wanted, solid, facing)
            if found.lacking_mm > SLACK_MM and (worst is None or _rank(found) > _rank(worst)):
                worst = found
    return worst


def _rank(found: Nearest) -> tuple[bool, float]:
    return found.wall_mm < -SLACK_MM, found.lacking_mm


def walls(one: Placed, other: Placed) -> Iterator[Finding]:
    """Two holes keep a wall between them."""
    near = nearest_of(one, other)
    if near is None:
        return
    holes = (one.hole, other.hole)
    if near.wall_mm < -SLACK_MM:
        how = _crossing(one, other, near)
        advice = "write meets where it is meant"
        if how == _TWICE:
            advice = f"delete one of them, or {advice}"
        yield found(_OVERLAP, near.lacking_mm, "wall", *holes, how=how, advice=advice)
        return
    yield found(
        _WALL_BETWEEN,
        near.lacking_mm,
        "wall",
        *holes,
        wall_mm=max(near.wall_mm, 0),
        pieces=_pieces(near),
        wanted_mm=near.wanted_mm,
    )


_TWICE = words("are in the same place")


def _crossing(one: Placed, other: Placed, near: Nearest) -> Words:
    deep = -near.wall_mm
    if one.axis != other.axis:
        return words("cross: they cut into each other by {deep_mm}", deep_mm=deep)
    if (apart := apart_mm(one.hole.face, one, other)) > SLACK_MM:
        is_beside = one.hole.face == other.hole.face or one.hole.is_through or other.hole.is_through
        aside = near.one.radius_mm + near.other.radius_mm - apart
        return words("overlap by {over_mm}", over_mm=aside if is_beside else deep)
    if one.hole.face == other.hole.face:
        return _TWICE
    spans = [
        (min(s.low_mm for s in each.solids), max(s.high_mm for s in each.solids))
        for each in (one, other)
    ]
    over = min(high for _, high in spans) - max(low for low, _ in spans)
    return words("run into each other by {over_mm}, end to end", over_mm=over)


def _pieces(near: Nearest) -> str | Words:
    """The two pieces that are near, where it is not just the holes themselves."""
    if near.one.what == near.other.what == "hole":
        return "them"
    one, other = (
        place if solid.what == "hole" else f"the {solid.what} of {place}"
        for place, solid in (("{0}", near.one), ("{1}", near.other))
    )
    return words(f"{one} and {other}")
