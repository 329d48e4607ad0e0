"""Tools and holders against what must not be touched: vice, parallels, clamps, table.

A tool is a stack of bodies, all round about its axis: the tip with its cone and the flutes and
shank above it, then the holder. Above each body there is more of the same, up to the spindle.

        |     |        holder: radius Rh from `reach` up
        |_   _|
          | |          shank and flutes: radius R
          \\ /          cone: rises `slope` for each mm of radius outside the flat
           -  tip

Such a body and a box have no hollows. Along a straight piece of a move the body is over the box
from one place to another and nowhere else, and between them its depth in the box has one highest
value, which a search by thirds finds. Imports `path`, `solid`, `findings` and the scene.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.base.findings import Severity
from millprep.base.records import frozen
from millprep.model.scene import Box, Disc, Scene
from millprep.reading.simulate.findings import Harm, stretches
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, chords, in_blocks
from millprep.reading.simulate.solid import away_from, shares_over
from millprep.reference.shared_rules import SPINDLE_RADIUS_MM, TOUCH_MM

_THIRDS = 40  # each leaves two thirds of the way: 1e-7 of it at the end


@frozen
class Body:
    """One body of a tool, arrays with a row for each form: nan where a tool has none.

    height : of its lower end above the tip; radius, flat, slope as in `Form`
    """

    what: str
    kind: str
    height: Floats
    radius: Floats
    flat: Floats
    slope: Floats


@frozen
class Contacts:
    """Moves that go into something, one row each, ascending: how deep below its top, and where."""

    rows: Ints
    depth: Floats
    places: Floats


def bodies(forms: list[Form]) -> list[Body]:
    """The tool itself, and its holder where one is described."""
    table = np.array(
        [
            (
                one.radius_mm,
                one.flat_mm,
                one.slope,
                one.reach_mm or np.nan,
                one.holder_radius_mm or np.nan,
            )
            for one in forms
        ]
    ).T
    radius, flat, slope, reach, holder = table
    nothing = np.zeros_like(radius)
    tool = Body("the tool", "hits-fixture", nothing, radius, flat, slope)
    if np.isnan(reach + holder).all():
        return [tool]
    return [tool, Body("the holder", "holder-hits", reach, holder, holder, nothing)]


def spindle(forms: list[Form]) -> Body:
    """What begins where holders end: nobody says how wide it is, so nothing is sure."""
    height = np.array([np.nan if one.holder_end_mm is None else one.holder_end_mm for one in forms])
    radius = np.full_like(height, SPINDLE_RADIUS_MM)
    what = f"a spindle nose {2 * SPINDLE_RADIUS_MM:g} mm across, where the holder ends,"
    return Body(what, "spindle-near", height, radius, radius, np.zeros_like(height))


def contact_harms(path: Path, scene: Scene) -> list[Harm]:
    """Every move that takes tool or holder into a fixture, or the holder into the stock."""
    if not len(path.moves):
        return []
    harms: list[Harm] = []
    for body in bodies(path.forms):
        solids: list[Box | Disc] = list(scene.fixtures)
        if body.kind == "holder-hits":
            solids.append(scene.stock)
        for solid in solids:
            name = "the stock" if solid is scene.stock else solid.name
            found = contacts(path, body, solid)
            harms += _harms(path, body, name, found)
            harms += _dog_leg_harms(path, body, solid, name, found.rows)
    nose = spindle(path.forms)
    for fixture in scene.fixtures:
        harms += _harms(path, nose, fixture.name, contacts(path, nose, fixture))
    return harms


def contacts(path: Path, body: Body, solid: Box | Disc) -> Contacts:
    """The moves whose way takes the body into the solid."""
    found = []
    for block in in_blocks(path, _near(path, body, solid)):
        owner, start, end = chords(path, block)
        depth, places = deepest(body, path.form[owner], solid, start, end)
        with np.errstate(invalid="ignore"):
            bad = np.flatnonzero(depth > TOUCH_MM)
        # the deepest piece of each move stands for it
        order = bad[np.lexsort((-depth[bad], owner[bad]))]
        pieces = order[np.unique(owner[order], return_index=True)[1]]
        found.append((owner[pieces], depth[pieces], places[:, pieces]))
    if not found:
        return Contacts(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros((3, 0)))
    rows, depths, where = zip(*found, strict=True)
    return Contacts(np.concatenate(rows), np.concatenate(depths), np.hstack(where))


def _near(path: Path, body: Body, solid: Box | Disc) -> Ints:
    """Moves whose box, widened by the body, meets the solid's: all others are clear."""
    radius, height = body.radius[path.form] - TOUCH_MM, body.height[path.form]
    with np.errstate(invalid="ignore"):
        near = path.low[2] + height < solid.high_mm[2] - TOUCH_MM
        for axis in (0, 1):
            near &= path.low[axis] - radius < solid.high_mm[axis]
            near &= path.high[axis] + radius > solid.low_mm[axis]
    return np.flatnonzero(near)


def deepest(
    body: Body, form: Ints, solid: Box | Disc, start: Floats, end: Floats
) -> tuple[Floats, Floats]:
    """((M,) how far the body goes below the solid's top on each piece, (3, M) where).

    Depth is nan where the piece never brings the body over the solid.
    """
    radius, flat, slope = body.radius[form], body.flat[form], body.slope[form]
    top = solid.high_mm[2] - body.height[form]
    first, last = shares_over(solid, start, end, radius - TOUCH_MM)
    with np.errstate(invalid="ignore"):
        is_over = first < last
    low, high = np.where(is_over, first, 0.0), np.where(is_over, last, 0.0)
    run = end - start

    def depth(share: Floats) -> Floats:
        places = start + share * run
        lift = np.where(
            slope > 0, slope * np.maximum(0.0, away_from(solid, places[:2]) - flat), 0.0
        )
        return np.asarray(top - lift - places[2])

    for _ in range(_THIRDS):
        one, two = low + (high - low) / 3, high - (high - low) / 3
        rises = depth(one) < depth(two)
        low, high = np.where(rises, one, low), np.where(rises, high, two)
    share = (low + high) / 2
    return np.where(is_over, depth(share), np.nan), start + share * run


def _harms(path: Path, body: Body, name: str, found: Contacts) -> list[Harm]:
    """One for each stretch of moves that follow each other."""
    harms = []
    for first, last in stretches(found.rows):
        row = int(found.rows[first])
        x, y = found.places[:2, first].tolist()
        stroke = int(path.stroke[row])
        harms.append(
            Harm(
                row,
                _SEVERITY.get(body.kind, "stop"),
                body.kind,
                int(path.moves.line[row]),
                f"{body.what} meets {name} at X{x:.3f} Y{y:.3f}, "
                f"{found.depth[first : last + 1].max():.3f} mm below its top",
                _REMEDY[body.kind],
                run=(body.kind, name, stroke) if stroke >= 0 else None,
                last_line=int(path.moves.line[found.rows[last]]),
                count=last - first + 1,
            )
        )
    return harms


_SEVERITY: dict[str, Severity] = {"spindle-near": "warning"}
_REMEDY = {
    "spindle-near": "see that the spindle clears it, hold the tool farther out, or move it",
    "hits-fixture": "go round it or over it, stop above it, or move the clamping",
    "holder-hits": "hold the tool farther out, use a longer one, or move the clamping",
}


def corner_ways(path: Path, rows: Ints) -> Iterator[tuple[Floats, Floats]]:
    """Starts and ends (3, M) of the two legs that a control may drive instead of a straight rapid.

    X first or Y first, both at the lower end: Z may be there before the others arrive.
    """
    start, end = path.start[:, rows].copy(), path.end[:, rows].copy()
    start[2] = end[2] = path.low[2, rows]
    for first in (0, 1):
        corner = start.copy()
        corner[first] = end[first]
        yield start, corner
        yield corner, end


def dog_legged(path: Path, among: Flags) -> Ints:
    """Rapids that move X and Y together, or Z with them, and so may leave the straight line."""
    with np.errstate(invalid="ignore"):
        moved = np.abs(path.end - path.start) > TOUCH_MM
    return np.flatnonzero(among & path.is_rapid & (moved.sum(axis=0) > 1))


def _dog_leg_harms(
    path: Path, body: Body, solid: Box | Disc, name: str, touched: Ints
) -> list[Harm]:
    near = np.zeros(len(path.moves), dtype=bool)
    near[_near(path, body, solid)] = True
    near[touched] = False
    rows = dog_legged(path, near)
    touches = np.zeros(rows.size, dtype=bool)
    for start, end in corner_ways(path, rows):
        with np.errstate(invalid="ignore"):
            touches |= deepest(body, path.form[rows], solid, start, end)[0] > TOUCH_MM
    return [dog_leg_harm(path, row, f"{body.what} clears {name}") for row in rows[touches].tolist()]


def dog_leg_harm(path: Path, row: int, what: str) -> Harm:
    """A rapid that is clear only in a straight line."""
    severity: Severity = "warning"
    return Harm(
        row,
        severity,
        "dog-leg",
        int(path.moves.line[row]),
        f"{what} on this rapid in a straight line; a control that drives each axis at its own "
        "speed goes through it",
        "raise the tool clear of everything first, or split the move",
    )
