"""Ways home that name only some axes, on a control that sends every axis home.

Most controls move the axes that the line names; those of NISTIR 6556 (section 3.5.8) move all. Only
where that would meet something is there anything to say. Imports `contact`, `path`, `findings`.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.model.scene import Scene
from millprep.reading.moves import ProgramRun, WayHome
from millprep.reading.simulate.contact import bodies, deepest
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.path import Floats, Path
from millprep.reading.simulate.solid import TOUCH_MM


def home_harms(path: Path, run: ProgramRun, scene: Scene) -> list[Harm]:
    """A note for each way home that is clear by itself and is not if all axes go."""
    harms = []
    for way in run.ways_home:
        met = next(_met(path, way, scene), None)
        if met is not None:
            harms.append(
                Harm(
                    way.row,
                    "note",
                    "home-other-axes",
                    int(path.moves.line[way.row]),
                    "only the axes named go home here; on a control that sends all of them home "
                    f"{met}",
                    "name one axis alone only if your control moves it alone",
                )
            )
    return harms


def _met(path: Path, way: WayHome, scene: Scene) -> Iterator[str]:
    """What tool or holder would meet if X, Y and Z went home together."""
    start, named = path.start[:, way.row], path.end[:, way.row]
    if np.isnan(start + named).any():
        return
    end = np.array(way.home_mm) + named - path.moves.machine_end[:, way.row]
    starts, ends = _legs(start, end)
    form = np.full(starts.shape[1], path.form[way.row])
    for body in bodies(path.forms):
        for solid in (scene.stock, *scene.fixtures):
            is_stock = solid is scene.stock
            alone = deepest(body, form[:1], solid, start[:, None], named[:, None])[0]
            depths = deepest(body, form, solid, starts, ends)[0]
            with np.errstate(invalid="ignore"):
                # out of a hole the way up is free, the way across is not
                is_new = is_stock or not (alone > TOUCH_MM).any()
                if (depths > TOUCH_MM).any() and is_new:
                    yield f"{body.what} meets {'the stock' if is_stock else solid.name}"


def _legs(start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Straight home, and the two legs with X first or with Y first, all at the lower end's Z."""
    low_start, low_end = start.copy(), end.copy()
    low_start[2] = low_end[2] = min(start[2], end[2])
    starts, ends = [start], [end]
    for first in (0, 1):
        corner = low_start.copy()
        corner[first] = end[first]
        starts += [low_start, corner]
        ends += [corner, low_end]
    return np.array(starts).T, np.array(ends).T
