"""Two holes that are meant to meet: whether they do, and whether the later one starts true.

Rules of one pair, like those of `faults`. Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, words
from millprep.base.units import Length
from millprep.checks.faults import MEETING_MM, SLACK_MM, apart_mm, found
from millprep.checks.gaps import Solid, gap_mm
from millprep.checks.solids import POINTED, Placed
from millprep.model.part import HIGH_FACES

LEAST_BITE = 0.1
"""Of the narrower diameter: holes that pass and cut less into each other only graze (ours)."""


def meetings(one: Placed, other: Placed) -> Iterator[Finding]:
    """Two holes that are meant to meet do so with their full diameters."""
    first, second = holes = one.hole, other.hole
    apart = min(gap_mm(solid, facing) for solid in one.full for facing in other.full)
    left = min(gap_mm(solid, facing) for solid in one.solids for facing in other.solids)
    wanted = LEAST_BITE * min(first.diameter_mm, second.diameter_mm)
    if apart <= MEETING_MM and left <= SLACK_MM - wanted:
        said = words("holes {0} and {1} meet (meant)")
        yield found("note", "meeting", said, holes, 0.0, about="meant")
        return
    if left > SLACK_MM:
        how = words("stay {left} apart", left=Length(left))
    elif apart > MEETING_MM:
        how = words("only meet with the point of a drill")
    else:
        how = words(
            "only graze: they cut {deep} into each other (wanted {wanted})",
            deep=Length(-left),
            wanted=Length(wanted),
        )
    yield found(
        "warning",
        "does-not-meet",
        words("holes {0} and {1} are meant to meet, but {how}", how=how),
        holes,
        max(apart, left + wanted),
        about="meant",
    )


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
            yield found(
                "warning",
                "drilled-on-slope",
                words("hole {0} starts {where} of {1}", where=where),
                (later.hole, earlier.hole),
                drill + solid.radius_mm - apart,
                "start it with an end mill, or plug the other hole first",
                about="start",
            )
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
