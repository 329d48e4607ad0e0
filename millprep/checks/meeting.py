"""Two holes that are meant to meet: whether they do, and whether the later one starts true.

Rules of one pair, like those of `faults`. Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, note, warning
from millprep.checks.faults import MEETING_MM, SLACK_MM, apart_mm, found
from millprep.checks.gaps import Solid, gap_mm
from millprep.checks.solids import POINTED, Placed
from millprep.model.part import HIGH_FACES

LEAST_BITE = 0.1
"""Of the narrower diameter: holes that pass and cut less into each other only graze (ours)."""


_MEET = note("meeting", "holes {0} and {1} meet (as drawn)")
_APART, _BY_POINT, _GRAZE = (
    warning("does-not-meet", f"holes {{0}} and {{1}} are meant to meet, but {how}")
    for how in (
        "stay {left_mm} apart",
        "only meet with the point of a drill",
        "only graze: they cut {deep_mm} into each other, needs {wanted_mm}",
    )
)
_STARTS_ASKEW = warning(
    "drilled-on-slope",
    "hole {0} starts {where} of {1}",
    "start it with an end mill, or plug the other hole first",
)


def meetings(one: Placed, other: Placed) -> Iterator[Finding]:
    """Two holes that are meant to meet do so with their full diameters."""
    first, second = holes = one.hole, other.hole
    apart = min(gap_mm(solid, facing) for solid in one.full for facing in other.full)
    left = min(gap_mm(solid, facing) for solid in one.solids for facing in other.solids)
    wanted = LEAST_BITE * min(first.diameter_mm, second.diameter_mm)
    if apart <= MEETING_MM and left <= SLACK_MM - wanted:
        yield found(_MEET, 0.0, "meant", *holes)
        return
    how = _APART if left > SLACK_MM else _BY_POINT if apart > MEETING_MM else _GRAZE
    lacking = max(apart, left + wanted)
    yield found(how, lacking, "meant", *holes, left_mm=left, deep_mm=-left, wanted_mm=wanted)


def slopes(one: Placed, other: Placed) -> Iterator[Finding]:
    """Of two holes that meet at one face, the later starts over an edge or in a cone."""
    face = one.hole.face
    if other.hole.face != face:
        return
    apart = apart_mm(face, one, other)
    for later, earlier in ((other, one), (one, other)):
        drill, mouths = later.hole.diameter_mm / 2, _openings(earlier)
        for solid in mouths:
            if apart < SLACK_MM or apart >= drill + solid.radius_mm - SLACK_MM:
                continue
            is_flat = solid.what in ("counterbore", "spotface")
            if is_flat and apart + drill <= solid.radius_mm + SLACK_MM:
                continue
            where = "in the countersink" if solid.what == "countersink" else "over the edge"
            lacking = drill + solid.radius_mm - apart
            yield found(_STARTS_ASKEW, lacking, "start", later.hole, earlier.hole, where=where)
            return


def _openings(placed: Placed) -> list[Solid]:
    """The solids that open on the hole's own face."""
    is_high = placed.hole.face in HIGH_FACES
    ends = [solid.high_mm if is_high else -solid.low_mm for solid in placed.solids]
    return [
        solid
        for solid, end in zip(placed.solids, ends, strict=True)
        if end >= max(ends) - SLACK_MM and solid.what not in POINTED
    ]
