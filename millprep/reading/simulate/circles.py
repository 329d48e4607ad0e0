"""Circles milled round an axis: the counterbores, bores and holes that an end mill goes round in.

A tool of radius R that goes once round at radius r leaves a hole of diameter 2 (r + R), as deep as
the lowest turn that is whole: after a helix without a level last turn, where that turn began. What
stands inside, of radius r - R, has to be gone in the end, or to fall out; else a boss was milled.
Nor is it a hole where the cut comes in or goes on through its wall, as deep: a way into a pocket, a
slot milled in loops. Arcs only: a circle in short straight pieces is sideways cuts like any other.
A countersink that goes round in a mouth leaves a cone.
"""

from __future__ import annotations

import math

import numpy as np

from millprep.base.records import frozen, replace
from millprep.model.scene import Scene
from millprep.model.tools import Countersink, EndMill, PointedTool
from millprep.reading.made import MadeOperation
from millprep.reading.moves import ARC_CCW, ARC_CW
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, places_at
from millprep.reading.simulate.record import Cut, Place
from millprep.reading.simulate.solid import bottom_at, depth_inside, top_at

WHOLE_TURN_DEG = 359.9
MOST_BEFORE = 100  # places where an end mill was last: it goes down in a circle just before it
MOST_BESIDE = 200  # moves before and behind a circle that may lead through its wall
SAME_MM = 0.01  # centres and radii nearer than this are one circle's
NOISE_MM = 1e-4  # by which arcs differ that follow each other on one circle


@frozen
class Circle:
    """A whole turn or more at one radius.

    radius_mm : on which the axis of the tool goes
    core_mm : radius of what the tool does not reach; last_move : the last of them
    is_off_path : under cutter compensation: nobody knows at which radius the tool goes
    """

    form: Form
    radius_mm: float
    x_mm: float
    y_mm: float
    diameter_mm: float
    core_mm: float
    tip_mm: float
    full_mm: float
    tool: int
    line: int
    last_line: int
    last_move: int
    is_off_path: bool = False


def circles_of(path: Path, mills: Flags, off_path: Flags) -> list[Circle]:
    """The circles among the sideways cuts of end mills and of countersinks, in the order in which
    they are finished."""
    moves = path.moves
    is_arc = (moves.kind == ARC_CW) | (moves.kind == ARC_CCW)
    rows = np.flatnonzero(
        mills
        & is_arc
        & (moves.plane == 17)
        & path.uses(lambda use: use.is_milling or use.kind == Countersink.kind)
    )
    centre = moves.centre[:, rows] + moves.shift[:, rows]
    radius = np.hypot(*(path.start[:2, rows] - centre[:2]))
    known = np.isfinite(radius)
    rows, centre, radius = rows[known], centre[:, known], radius[known]
    keys = np.round(_of_runs(np.array([centre[0], centre[1], radius])) / SAME_MM)
    keys = np.vstack([keys, moves.tool[rows]])
    _, group = np.unique(keys, axis=1, return_inverse=True)
    order = np.argsort(group, kind="stable")
    ends = np.flatnonzero(np.diff(group[order])) + 1
    stretch = np.cumsum(path.is_rapid.astype(np.int64))
    found = []
    for some in np.split(order, ends):
        circle = _circle(path, rows[some], centre[:, some], radius[some]) if some.size else None
        if circle is not None and not _leads_out(path, circle, rows[some], mills, stretch):
            found.append(replace(circle, is_off_path=bool(off_path[rows[some]].any())))
    return sorted(found, key=lambda one: one.last_move)


def _of_runs(places: Floats) -> Floats:
    """(3, N) with the figures of the first of those that follow each other and are the same."""
    jumps = (np.abs(np.diff(places, axis=1)) > NOISE_MM).any(axis=0)
    starts = np.flatnonzero(np.concatenate([[True], jumps]))
    return places[:, np.repeat(starts, np.diff(np.append(starts, places.shape[1])))]


def _circle(path: Path, rows: Ints, centre: Floats, radius: Floats) -> Circle | None:
    """The circle that these arcs make, None where no turn is whole."""
    sweep = path.moves.sweep_deg[rows]
    low, high = (pick(path.start[2, rows], path.end[2, rows]) for pick in (np.minimum, np.maximum))
    deepest_first = np.argsort(high, kind="stable")
    whole = np.flatnonzero(np.cumsum(sweep[deepest_first]) >= WHOLE_TURN_DEG)
    if not whole.size or np.isnan(high).any():
        return None
    line = path.moves.line[rows]
    own, tool_radius = float(radius[0]), float(path.radius[rows[0]])
    return Circle(
        path.forms[int(path.form[rows[0]])],
        own,
        float(centre[0, 0]),
        float(centre[1, 0]),
        2 * (own + tool_radius),
        own - tool_radius,
        float(low.min()),
        float(high[deepest_first[whole[0]]]),
        int(path.moves.tool[rows[0]]),
        int(line.min()),
        int(line.max()),
        int(rows.max()),
    )


def _leads_out(path: Path, circle: Circle, rows: Ints, mills: Flags, stretch: Ints) -> bool:
    """Whether between two rapids a cut as deep as the circle goes through the wall that it leaves.

    rows : of its arcs; stretch : (N,) numbers the moves between one rapid and the next
    """
    full = circle.full_mm + SAME_MM
    deep = rows[path.low[2, rows] <= full]
    near = np.arange(max(deep[0] - MOST_BESIDE, 0), min(deep[-1] + MOST_BESIDE, mills.size - 1) + 1)
    near = near[mills[near] & (path.low[2, near] <= full) & np.isin(stretch[near], stretch[deep])]
    near = np.setdiff1d(near, rows)
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        x, y, _ = places_at(path, near, np.full(near.size, share))
        away = np.hypot(x - circle.x_mm, y - circle.y_mm) + path.radius[near]
        if (away > circle.diameter_mm / 2 + SAME_MM).any():
            return True
    return False


def add_circle(dry: DryRun, circle: Circle, until: int | None = None) -> bool:
    """Makes it an operation of the hole about its axis; what it swallows is no longer one.

    until : the move up to which its inside may be cleared; left out, the circle's own last
    False where something stands inside it.
    """
    record, radius = dry.record, circle.diameter_mm / 2
    place = record.same_hole(circle.x_mm, circle.y_mm, radius)
    if circle.form.use.is_cone:
        if place is not None:
            _add_cone(dry, place, circle)
        return True
    place = place or record.new_place(circle.x_mm, circle.y_mm)
    if not _is_hollow(dry, place, circle, circle.last_move + 1 if until is None else until):
        return False
    operation = _operation(dry, place, circle, "counterbore", circle.tip_mm, circle.full_mm)
    if any(_lies_in(place, operation, other, place) for other in place.operations):
        return True
    for one in (place, *record.milled_places[-MOST_BEFORE:]):
        one.operations = [
            other for other in one.operations if not _lies_in(one, other, operation, place)
        ]
    if all(one.milling == "plunge" or one.name == "spot drill" for one in place.operations):
        operation = replace(operation, name="drill")
    place.operations.append(operation)
    record.milled_places.append(place)
    return True


def _add_cone(dry: DryRun, place: Place, circle: Circle) -> None:
    """The mouth that a countersink leaves, its nose within the hole; wider than it has been."""
    form, top = circle.form, 0.0
    nose = circle.radius_mm + form.flat_mm
    milled = [o for o in place.operations if o.milling == "circle" and o.tool_kind == EndMill.kind]
    wide = [cut.radius_at(circle.full_mm) for cut in place.cuts]
    wide += [(o.diameter_mm or 0.0) / 2 for o in milled if (o.full_mm or 0.0) <= circle.full_mm]
    if max(wide, default=0.0) < nose - SAME_MM:
        return
    if dry.scene is not None:
        top = float(top_at(dry.scene.stock, np.array([[circle.x_mm], [circle.y_mm]]))[0])
    cone = 2 * circle.radius_mm + form.cone_at(top - circle.full_mm)
    tip = circle.full_mm
    full = None if form.lead_mm is None else tip + form.lead_mm
    operation = _operation(dry, place, circle, "countersink", tip, full, cone)
    place.operations = [
        one
        for one in place.operations
        if (one.name, one.milling, one.tool_number) != ("countersink", "circle", circle.tool)
        or (one.cone_mm or 0.0) > cone
    ]
    place.operations.append(operation)
    dry.record.add_cut(place, Cut(cone / 2, tip, nose, form.slope, is_spot=True))


def _operation(
    dry: DryRun,
    place: Place,
    circle: Circle,
    name: str,
    tip_mm: float,
    full_mm: float | None,
    cone_mm: float | None = None,
) -> MadeOperation:
    """What it makes, as wide as its way is, or as the tool where only the cone of that cuts."""
    is_apart = (circle.x_mm, circle.y_mm) != (place.x_mm, place.y_mm)
    tool, is_known = circle.form.tool, not circle.is_off_path
    diameter_mm = circle.diameter_mm if is_known else None
    return MadeOperation(
        name,
        circle.form.use.kind if is_known else None,
        diameter_mm if cone_mm is None else tool.diameter_mm,
        tip_mm,
        full_mm,
        cone_mm,
        circle.line,
        circle.last_line,
        circle.tool,
        x_mm=circle.x_mm if is_apart else None,
        y_mm=circle.y_mm if is_apart else None,
        point_angle_deg=tool.angle_deg if isinstance(tool, PointedTool) else None,
        file=dry.file,
        milling="circle",
    )


def _is_hollow(dry: DryRun, place: Place, circle: Circle, until: int) -> bool:
    """Whether nothing is left standing inside the circle before the move `until`."""
    core, full = circle.core_mm, circle.full_mm + SAME_MM
    if core <= SAME_MM:
        return True
    if dry.scene is not None and _falls_out(dry.scene, circle):
        return True
    if any(cut.radius_at(full) >= core - SAME_MM for cut in place.cuts):
        return True
    for one in place.operations:
        is_deep = one.full_mm is not None and one.full_mm <= full
        is_wide = one.diameter_mm is not None and one.diameter_mm / 2 >= core - SAME_MM
        if one.tool_kind == EndMill.kind and is_deep and is_wide:
            return True
    if dry.milled is None:
        return False
    dry.milled.cut_until(until)
    return dry.milled.highest_under(circle.x_mm, circle.y_mm, core) <= full


def _falls_out(scene: Scene, circle: Circle) -> bool:
    """Whether the tool goes round through the whole stock, and nowhere over its side."""
    axis = np.array([[circle.x_mm], [circle.y_mm]])
    is_through = circle.full_mm <= float(bottom_at(scene.stock, axis)[0]) + 3 * SAME_MM
    return is_through and float(depth_inside(scene.stock, axis)[0]) >= circle.diameter_mm / 2


def _lies_in(place: Place, inner: MadeOperation, outer: MadeOperation, other: Place) -> bool:
    """Whether what an end mill has made at one place is wholly within what one made at another."""
    if {inner.tool_kind, outer.tool_kind} != {EndMill.kind}:
        return False
    if inner.diameter_mm is None or outer.diameter_mm is None:
        return False
    apart = math.dist(_axis(place, inner), _axis(other, outer))
    fits = apart + inner.diameter_mm / 2 <= outer.diameter_mm / 2 + SAME_MM
    return fits and inner.tip_mm >= outer.tip_mm - SAME_MM


def _axis(place: Place, made: MadeOperation) -> tuple[float, float]:
    """That of what was made, where it stands beside its hole's."""
    x_mm = place.x_mm if made.x_mm is None else made.x_mm
    return x_mm, place.y_mm if made.y_mm is None else made.y_mm
