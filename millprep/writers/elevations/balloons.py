"""The letters of the hole schedule's lines, in balloons beside their holes.

Imports sheets and its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.canvas.pen import Place
from millprep.canvas.spread import Box, Labels
from millprep.sheets.elevations import HoleOnView
from millprep.writers.elevations.ink import TEXT_MM, circle, group, line, text
from millprep.writers.elevations.paper import Paper

_RADIUS_MM = 2.6
_REACH_MM, _FAR_MM = 7.0, 15.0
_FEW, _MOST = 24, 60  # with more than a few, those go without that would cover what is drawn


def drawn_balloons(
    paper: Paper, holes: Sequence[HoleOnView], labels: Labels
) -> tuple[list[str], list[Box]]:
    """One beside each pattern that opens on the face, and the boxes that they take."""
    pieces: list[str] = []
    boxes: list[Box] = []
    groups: dict[str, list[HoleOnView]] = {}
    for hole in holes:
        if hole.seen == "open":
            groups.setdefault(hole.group, []).append(hole)
    is_crowded = len(groups) > _FEW
    for members in list(groups.values())[:_MOST]:
        found = _place(paper, members, labels, is_crowded)
        if found is None:
            continue
        hole, centre = found
        (x, y), half = centre, _RADIUS_MM
        boxes.append((x - half, y - half, x + half, y + half))
        rim = _towards(paper.at(hole.at), centre, max(hole.radius_mm, _widest(hole)) * paper.scale)
        inside = [
            line("thin", rim, _towards(centre, rim, half)),
            circle("thin balloon-ring", centre, half),
            text((x, y + TEXT_MM / 2), hole.letter),
        ]
        own = "" if hole.is_own else None
        pieces.append(group("balloon", inside, line=hole.line, own=own))
    return pieces, boxes


def _widest(hole: HoleOnView) -> float:
    return max((radius for radius, _ in hole.shape.rings), default=0.0)


def _place(
    paper: Paper, members: Sequence[HoleOnView], labels: Labels, is_crowded: bool
) -> tuple[HoleOnView, Place] | None:
    """Beside the first that has room, else over what is drawn."""
    size = 2 * _RADIUS_MM
    tries = ((_REACH_MM, False),) if is_crowded else ((_REACH_MM, False), (_FAR_MM, True))
    for reach, must in tries:
        for hole in members[:12]:
            radius = max(hole.radius_mm, _widest(hole)) * paper.scale + 1.0
            found = labels.near(
                paper.at(hole.at), radius, size, size, reach, must=must, leader_from_mm=-1.0
            )
            if found is not None:
                (x, y), _ = found
                return hole, (x + _RADIUS_MM, y + _RADIUS_MM)
    if is_crowded:
        return None
    x, y = paper.at(members[0].at)
    return members[0], (x + 2 * _RADIUS_MM, y - 2 * _RADIUS_MM)


def _towards(start: Place, end: Place, distance: float) -> Place:
    whole = math.dist(start, end) or 1.0
    share = distance / whole
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
