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
value, which a search by thirds finds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.scene import Box, Disc, Scene, blanks_of
from millprep.model.tools import Tool
from millprep.reading.moves import WayHome
from millprep.reading.simulate import slips
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, found_at, stretches
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, chords, in_blocks
from millprep.reading.simulate.solid import away_from, shares_over
from millprep.reference.shared_rules import SPINDLE_RADIUS_MM, TOUCH_MM

_THIRDS = 40  # each leaves two thirds of the way: 1e-7 of it at the end


@frozen
class Body:
    """One body of a tool, arrays with a row for each form: nan where a tool has none.

    slip   : what is wrong where it meets something
    height : of its lower end above the tip; radius, flat, slope as in `Form`
    """

    what: str
    slip: Finding
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
        [(one.radius_mm, one.flat_mm, one.slope, *_mount(one.tool)) for one in forms], np.float64
    )
    radius, flat, slope, reach, holder, _ = table.T
    nothing = np.zeros_like(radius)
    tool = Body("the tool", slips.HITS_FIXTURE, nothing, radius, flat, slope)
    if np.isnan(reach + holder).all():
        return [tool]
    return [tool, Body("the holder", slips.HOLDER_HITS, reach, holder, holder, nothing)]


def _mount(tool: Tool) -> tuple[float | None, float | None, float | None]:
    """Tip to holder, radius of the holder, tip to where the spindle begins."""
    reach, width, length = tool.reach_mm, tool.holder_diameter_mm, tool.holder_length_mm
    end = None if reach is None or length is None else reach + length
    return reach, None if width is None else width / 2, end


def spindle(forms: list[Form]) -> Body:
    """What begins where holders end: nobody says how wide it is, so nothing is sure."""
    height = np.array([_mount(form.tool)[2] for form in forms], dtype=np.float64)
    radius = np.full_like(height, SPINDLE_RADIUS_MM)
    return Body("the spindle", slips.SPINDLE_NEAR, height, radius, radius, np.zeros_like(height))


def contact_faults(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """Every move that takes tool or holder into a fixture, or the holder into the stock."""
    path, blanks = dry.path, blanks_of(scene.stock)
    for body in bodies(path.forms):
        solids: list[Box | Disc] = list(scene.fixtures)
        if body.slip is slips.HOLDER_HITS:
            solids += blanks
        for solid in solids:
            name = "the stock" if solid in blanks else solid.name
            found = contacts(path, body, solid)
            yield from _found(path, body, name, found)
            yield from _dog_legs(path, body, solid, name, found.rows)
    nose = spindle(path.forms)
    for fixture in scene.fixtures:
        yield from _found(path, nose, fixture.name, contacts(path, nose, fixture))


def contacts(path: Path, body: Body, solid: Box | Disc) -> Contacts:
    """The moves whose way takes the body into the solid."""
    found = []
    for block in in_blocks(path, _near(path, body, solid)):
        owner, start, end = chords(path, block)
        depth, places = deepest(body, path.form[owner], solid, start, end)
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
    radius, height = body.radius[path.form], body.height[path.form]
    near = path.low[2] + height < solid.high_mm[2]
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
    is_over = first < last
    low, high = np.where(is_over, first, 0.0), np.where(is_over, last, 0.0)
    run = end - start

    def depth(share: Floats, of: Ints | slice = slice(None)) -> Floats:
        places = start[:, of] + share * run[:, of]
        lift = slope[of] * np.maximum(0.0, away_from(solid, places[:2]) - flat[of])
        return np.asarray(top[of] - lift - places[2])

    # under a straight wall the depth rises or falls all the way; under a cone it may turn between
    share = np.where(depth(low) < depth(high), high, low)
    cone = np.flatnonzero(is_over & (slope > 0))
    low, high = low.take(cone), high.take(cone)
    for _ in range(_THIRDS if cone.size else 0):
        one, two = low + (high - low) / 3, high - (high - low) / 3
        rises = depth(one, cone) < depth(two, cone)
        low, high = np.where(rises, one, low), np.where(rises, high, two)
    share[cone] = (low + high) / 2
    return np.where(is_over, depth(share), np.nan), start + share * run


def _found(path: Path, body: Body, name: str, contacts: Contacts) -> Iterator[Found]:
    """One for each stretch of moves that follow each other."""
    for first, last in stretches(contacts.rows):
        row, stroke = int(contacts.rows[first]), int(path.stroke[contacts.rows[first]])
        at_x, at_y, _ = contacts.places[:, first].tolist()
        yield found_at(
            path,
            body.slip,
            row,
            (body.slip.kind, name, stroke) if stroke >= 0 else None,
            None,
            int(contacts.rows[last]),
            last - first + 1,
            body=body.what,
            name=name,
            nose_mm=2 * SPINDLE_RADIUS_MM,
            x_mm=at_x,
            y_mm=at_y,
            depth_mm=float(contacts.depth[first : last + 1].max()),
        )


def corners(start: Floats, end: Floats) -> Iterator[tuple[Floats, Floats]]:
    """Starts and ends (3, M) of the two legs that a control may drive instead of a straight line.

    X first or Y first, both at the lower end: Z may be there before the others arrive.
    """
    start, end = start.copy(), end.copy()
    start[2] = end[2] = np.minimum(start[2], end[2])
    for first in (0, 1):
        corner = start.copy()
        corner[first] = end[first]
        yield start, corner
        yield corner, end


def dog_legs(
    path: Path, among: Flags, touches: Callable[[Ints, Floats, Floats], Flags], what: str
) -> Iterator[Found]:
    """Rapids that are clear only in a straight line: not every control drives one.

    touches : which of these moves touch something between these starts and ends
    """
    # X and Y together, or Z with them
    moved = np.abs(path.end - path.start) > TOUCH_MM
    rows = np.flatnonzero(among & path.is_rapid & (moved.sum(axis=0) > 1))
    bad = np.zeros(rows.size, dtype=bool)
    for start, end in corners(path.start.take(rows, axis=1), path.end.take(rows, axis=1)):
        bad |= touches(rows, start, end)
    for row in rows[bad].tolist():
        yield found_at(path, slips.DOG_LEG, row, what=what)


def _dog_legs(
    path: Path, body: Body, solid: Box | Disc, name: str, touched: Ints
) -> Iterator[Found]:
    def touches(rows: Ints, start: Floats, end: Floats) -> Flags:
        return deepest(body, path.form[rows], solid, start, end)[0] > TOUCH_MM

    near = np.zeros(len(path.moves), dtype=bool)
    near[_near(path, body, solid)] = True
    near[touched] = False
    yield from dog_legs(path, near, touches, f"{body.what} clears {name}")


# ways home


def home_faults(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """A note for each way home that names only some axes and is not clear if all of them go.

    Most controls move the axes that the line names; those of NISTIR 6556 (section 3.5.8) move all.
    """
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
        for solid in (*blanks_of(scene.stock), *scene.fixtures):
            is_stock = solid in blanks_of(scene.stock)
            alone = deepest(body, form[:1], solid, start, named)[0]
            depths = deepest(body, form, solid, starts, ends)[0]
            # out of a hole the way up is free, the way across is not
            if (depths > TOUCH_MM).any() and (is_stock or not (alone > TOUCH_MM).any()):
                yield f"{body.what} meets {'the stock' if is_stock else solid.name}"
