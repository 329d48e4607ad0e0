"""Two holes that are meant to meet: whether they do, and whether the later one starts true.

Rules of one pair, like those of `faults`. Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.checks.faults import MEETING_MM, SLACK_MM, Fault, apart_mm
from millprep.checks.gaps import Solid, gap_mm
from millprep.checks.solids import POINTED, Placed
from millprep.model.part import HIGH_FACES

LEAST_BITE = 0.1
"""Of the narrower diameter: holes that pass and cut less into each other only graze (ours)."""


def meetings(one: Placed, other: Placed) -> Iterator[Fault]:
    """Two holes that are meant to meet do so with their full diameters."""
    first, second = one.hole, other.hole
    names = f'holes "{first.name}" and "{second.name}"'
    apart = min(gap_mm(solid, facing) for solid in one.full for facing in other.full)
    left = min(gap_mm(solid, facing) for solid in one.solids for facing in other.solids)
    wanted = LEAST_BITE * min(first.diameter_mm, second.diameter_mm)
    if apart <= MEETING_MM and left <= SLACK_MM - wanted:
        yield Fault("note", "meeting", f"{names} meet (meant)", (first, second), about="meant")
        return
    if left > SLACK_MM:
        how = f"stay {left:.2f} mm apart"
    elif apart > MEETING_MM:
        how = "only meet with the point of a drill"
    else:
        how = f"only graze: they cut {-left:.2f} mm into each other (wanted {wanted:.2f} mm)"
    yield Fault(
        "warning", "does-not-meet", f"{names} are meant to meet, but {how}", (first, second),
        max(apart, left + wanted), about="meant",
    )  # fmt: skip


def slopes(one: Placed, other: Placed) -> Iterator[Fault]:
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
            yield Fault(
                "warning", "drilled-on-slope",
                f'hole "{later.hole.name}" starts {where} of "{earlier.hole.name}"',
                (later.hole, earlier.hole), drill + solid.radius_mm - apart,
                "start it with an end mill, or plug the other hole first", about="start",
            )  # fmt: skip
            return


def _openings(placed: Placed) -> list[Solid]:
    """The solids that open on the hole's own face."""
    is_high = placed.hole.face in HIGH_FACES
    ends = [solid.high_mm if is_high else -solid.low_mm for solid in placed.solids]
    return [
        solid for solid, end in zip(placed.solids, ends, strict=True)
        if end >= max(ends) - SLACK_MM and solid.what not in POINTED
    ]  # fmt: skip
