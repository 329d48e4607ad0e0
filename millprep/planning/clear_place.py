"""A place on the face that is up, over no hole, where a tool can be changed and touched off.

Of the places of a net the one that is farthest from holes, sides and clamps. Imports planning's
data and the fixtures.
"""

from __future__ import annotations

import math

import numpy as np

from millprep.model.scene import Disc
from millprep.planning.plan import Plan, SetupPlan
from millprep.setting.fixtures import clamped_scene

_PLACES = 41  # along either side


def clear_place_mm(plan: Plan, setup_plan: SetupPlan) -> tuple[float, float]:
    """(X, Y) in setup axes, whole millimetres where that still is clear of everything."""
    scene = clamped_scene(plan.part, plan.shop, setup_plan.setup, setup_plan.holding)
    stock = scene.stock
    (x0, y0, _), (x1, y1, top) = stock.low_mm, stock.high_mm
    xs, ys = np.meshgrid(np.linspace(x0, x1, _PLACES), np.linspace(y0, y1, _PLACES))
    room = np.minimum(np.minimum(xs - x0, x1 - xs), np.minimum(ys - y0, y1 - ys))
    if isinstance(stock, Disc) and stock.axis == 2:
        middle = np.hypot(xs - (x0 + x1) / 2, ys - (y0 + y1) / 2)
        room = (x1 - x0) / 2 - middle
        if stock.bore_mm:
            room = np.minimum(room, middle - stock.bore_mm / 2)
    holes = [(one.x_mm, one.y_mm, one.tool.diameter_mm / 2) for one in setup_plan.whole]
    holes += [
        (room.start_mm[0], room.start_mm[1], room.diameter_mm / 2)
        for room in scene.drilled
        if math.dist(room.start_mm[:2], room.end_mm[:2]) < room.diameter_mm
    ]
    for x, y, radius in set(holes):
        room = np.minimum(room, np.hypot(xs - x, ys - y) - radius)
    for one in scene.fixtures:
        if one.high_mm[2] > top:
            outside = [
                np.maximum(np.maximum(low - at, at - high), 0.0)
                for at, low, high in zip((xs, ys), one.low_mm[:2], one.high_mm[:2], strict=True)
            ]
            room = np.minimum(room, np.hypot(*outside))
    best = int(np.argmax(room))
    x, y = float(xs.flat[best]), float(ys.flat[best])
    return (round(x), round(y)) if room.flat[best] > 1.0 else (x, y)
