"""Ways home that name only some axes, on a control that sends every axis home.

Most controls move the axes that the line names; those of NISTIR 6556 (section 3.5.8) move all. Only
where that would meet something is there anything to say. Imports `dry_run`, `contact`, `slips`.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.model.scene import Scene
from millprep.reading.moves import WayHome
from millprep.reading.simulate import slips
from millprep.reading.simulate.contact import bodies, corners, deepest
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, found_at
from millprep.reading.simulate.path import Path
from millprep.reference.shared_rules import TOUCH_MM


def home_faults(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """A note for each way home that is clear by itself and is not if all axes go."""
    for way in dry.run.ways_home:
        met = next(_met(dry.path, way, scene), None)
        if met is not None:
            yield found_at(dry.path, slips.HOME_OTHER_AXES, way.row, met=met)


def _met(path: Path, way: WayHome, scene: Scene) -> Iterator[str]:
    """What tool or holder would meet if X, Y and Z went home together."""
    start, named = path.start[:, [way.row]], path.end[:, [way.row]]
    if np.isnan(start + named).any():
        return
    end = np.array(way.home_mm)[:, None] + named - path.moves.machine_end[:, [way.row]]
    legs = [(start, end), *corners(start, end)]  # straight, and X or Y first
    starts, ends = (np.hstack(places) for places in zip(*legs, strict=True))
    form = np.full(starts.shape[1], path.form[way.row])
    for body in bodies(path.forms):
        for solid in (scene.stock, *scene.fixtures):
            is_stock = solid is scene.stock
            alone = deepest(body, form[:1], solid, start, named)[0]
            depths = deepest(body, form, solid, starts, ends)[0]
            # out of a hole the way up is free, the way across is not
            if (depths > TOUCH_MM).any() and (is_stock or not (alone > TOUCH_MM).any()):
                yield f"{body.what} meets {'the stock' if is_stock else solid.name}"
