"""Three views of a dry run as straight pieces: from above, from where you stand, from the right.

        +-------------+
        |    above    |          third angle (ISO 5456-2): what is seen from above stands
        +-------------+          above, what is seen from the right stands at the right
        +-------------+ +-----+
        |    front    | |right|
        +-------------+ +-----+

Everything is in setup axes, mm. Imports numpy, `reading` and the scene.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from millprep.base.bounds import MOST_PIECES
from millprep.base.findings import Finding, Words
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.scene import Box, Disc, Scene
from millprep.reading.milled_rooms import SidewaysCuts
from millprep.reading.moves import DWELL, RAPID, ProgramRun
from millprep.reading.simulate import MadeHole
from millprep.reading.simulate.path import Floats, Ints, Path, chords, in_blocks, path_of
from millprep.reading.simulate.record import Record

CURVE_ERROR_MM = 0.02  # of arcs as drawn
LEAST_MARGIN_MM, MARGIN_SHARE = 3.0, 0.04
AROUND_MM = 25.0  # what is shown of a fixture that goes farther, such as the table


@frozen
class View:
    """One way of looking: its name and the setup axes that go across and up."""

    name: str
    words: str
    across: int
    up: int


VIEWS = (
    View("above", "plan", 0, 1),
    View("front", "front elevation", 0, 2),
    View("right", "right-hand end elevation", 1, 2),
)


@frozen
class HoleAt:
    """Where a section is wanted: what it is called, the place, and the hole where one is there."""

    words: str
    x_mm: float
    y_mm: float
    hole: MadeHole | None = None


@frozen
class Shown:
    """All that a picture shows: what stands there, what moves, what was made and what was found.

    runs     : (file, run) of each program in order
    findings : those that are numbered, in the order of their numbers, from 1
    system_listed : whether the shop lists where the work stands in the machine
    record, sideways : what the programs have removed of the stock, of all of them
    sections : of what is left, that are wanted; units : of their figures
    """

    title: str
    runs: Sequence[tuple[str, ProgramRun]]
    scene: Scene | None
    holes: Sequence[MadeHole]
    findings: Sequence[Finding]
    system_listed: bool
    record: Record | None = None
    sideways: Sequence[SidewaysCuts] = ()
    sections: Sequence[HoleAt] = ()
    units: Units = "mm"

    def paths(self) -> list[Path]:
        """The tool's way in each program."""
        is_known = self.scene is None or self.system_listed
        return [path_of(run, is_known) for _, run in self.runs]


@frozen
class Window:
    """The room that is shown, in setup axes [mm]."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]

    def size(self, axis: int) -> float:
        return self.high[axis] - self.low[axis]


@frozen
class Scaled:
    """Where a view lies on paper: its low corner, and the paper a millimetre takes."""

    view: View
    window: Window
    low: tuple[float, float]
    scale: float

    @property
    def high(self) -> tuple[float, float]:
        return self.at(self.window.high[self.view.across], self.window.high[self.view.up])

    def at(self, across_mm: float, up_mm: float) -> tuple[float, float]:
        return (
            self.low[0] + (across_mm - self.window.low[self.view.across]) * self.scale,
            self.low[1] + (up_mm - self.window.low[self.view.up]) * self.scale,
        )


def window_of(shown: Shown, paths: Sequence[Path]) -> Window:
    """Stock and fixtures, all that is cut, and as much of the rapids as lies near them."""
    solid, lows, highs = _solids(shown.scene)
    for path in paths:
        rows = np.flatnonzero(path.is_feed) if solid else np.arange(len(path.moves))
        low, high = path.low[:, rows], path.high[:, rows]
        known = ~np.isnan(low + high).any(axis=0)
        if known.any():
            lows.append(low[:, known].min(axis=1))
            highs.append(high[:, known].max(axis=1))
    if not lows:
        return Window((0.0, 0.0, 0.0), (10.0, 10.0, 10.0))
    low, high = np.min(lows, axis=0), np.max(highs, axis=0)
    margin = max(LEAST_MARGIN_MM, MARGIN_SHARE * float((high - low).max()))
    low, high = low - margin, high + margin
    if shown.scene is not None:
        high[2] = max(high[2], shown.scene.safe_height_mm + margin / 2)
    return Window(_triple(low), _triple(high))


def _solids(scene: Scene | None) -> tuple[bool, list[Floats], list[Floats]]:
    """Corners of the stock and of fixtures; of a large one only what is near the stock."""
    if scene is None:
        return False, [], []
    low, high = np.array(scene.stock.low_mm), np.array(scene.stock.high_mm)
    lows, highs = [low], [high]
    for box in (*scene.fixtures, *scene.backing):
        near, far = np.array(box.low_mm), np.array(box.high_mm)
        near[:2] = np.maximum(near[:2], low[:2] - AROUND_MM)
        far[:2] = np.minimum(far[:2], high[:2] + AROUND_MM)
        near[2] = max(near[2], min(low[2], far[2]) - AROUND_MM)
        if (near < far).all():
            lows.append(near)
            highs.append(far)
    return True, lows, highs


def _triple(values: Floats) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def pieces_of(path: Path, rows: Ints) -> Iterator[tuple[Ints, Floats, Floats]]:
    """(row, start, end) of the straight pieces of moves whose place is known, in blocks."""
    with np.errstate(invalid="ignore"):
        known = ~np.isnan(path.start[:, rows] + path.end[:, rows]).any(axis=0)
    rows = rows[known & (path.moves.kind[rows] != DWELL)]
    for block in in_blocks(path, rows, CURVE_ERROR_MM):
        yield chords(path, block, CURVE_ERROR_MM)


def lines_of(
    paths: Sequence[Path], view: View, window: Window, step_mm: float
) -> tuple[Floats, Floats, bool]:
    """((4, R) rapids, (4, F) feeds, whether all are there) as x1, y1, x2, y2 in the view.

    Pieces that look the same at `step_mm` are drawn once.
    """
    kept: tuple[list[Floats], list[Floats]] = ([], [])
    for path in paths:
        for owner, start, end in pieces_of(path, np.arange(len(path.moves))):
            flat = np.array([start[view.across], start[view.up], end[view.across], end[view.up]])
            flat, inside = clipped(flat, view, window)
            is_rapid = path.moves.kind[owner[inside]] == RAPID
            for lines, some in zip(kept, (flat[:, is_rapid], flat[:, ~is_rapid]), strict=True):
                lines.append(_once(some, step_mm))
    rapids, feeds = (_once(np.hstack(some), step_mm) if some else _NO_LINES for some in kept)
    is_all = max(rapids.shape[1], feeds.shape[1]) <= MOST_PIECES
    return rapids[:, :MOST_PIECES], feeds[:, :MOST_PIECES], is_all


_NO_LINES = np.zeros((4, 0))


def _once(lines: Floats, step_mm: float) -> Floats:
    grid = np.round(lines / step_mm).astype(np.int64)
    seen = (grid[0] != grid[2]) | (grid[1] != grid[3])
    lines, grid = lines[:, seen], grid[:, seen]
    swap = (grid[0] > grid[2]) | ((grid[0] == grid[2]) & (grid[1] > grid[3]))
    grid[:, swap] = grid[:, swap][[2, 3, 0, 1]]
    _, first = np.unique(grid, axis=1, return_index=True)
    return np.asarray(lines[:, np.sort(first)])


def clipped(lines: Floats, view: View, window: Window) -> tuple[Floats, Ints]:
    """What of each line lies in the window, and the numbers of those of which anything does."""
    first, last = np.zeros(lines.shape[1]), np.ones(lines.shape[1])
    for at, axis in ((0, view.across), (1, view.up)):
        run = lines[at + 2] - lines[at]
        with np.errstate(divide="ignore", invalid="ignore"):
            one = (window.low[axis] - lines[at]) / run
            two = (window.high[axis] - lines[at]) / run
        still = run == 0
        over = (lines[at] >= window.low[axis]) & (lines[at] <= window.high[axis])
        one = np.where(still, np.where(over, -np.inf, np.inf), one)
        two = np.where(still, np.where(over, np.inf, -np.inf), two)
        first = np.maximum(first, np.minimum(one, two))
        last = np.minimum(last, np.maximum(one, two))
        last = np.where(still & ~over, -np.inf, last)
    inside = np.flatnonzero(first <= last)
    start, run = lines[:2, inside], lines[2:, inside] - lines[:2, inside]
    return np.vstack([start + first[inside] * run, start + last[inside] * run]), inside


def outline_of(solid: Box | Disc, view: View, window: Window) -> tuple[str, tuple[float, ...]]:
    """("circle", (x, y, radius)) or ("box", (low x, low y, high x, high y)) as seen."""
    low, high = solid.low_mm, solid.high_mm
    if isinstance(solid, Disc) and solid.axis not in (view.across, view.up):
        middle = [(low[axis] + high[axis]) / 2 for axis in (view.across, view.up)]
        return "circle", (middle[0], middle[1], solid.radius_mm)
    ends = []
    for axis in (view.across, view.up):
        ends.append(max(low[axis], window.low[axis]))
        ends.append(min(high[axis], window.high[axis]))
    return "box", (ends[0], ends[2], ends[1], ends[3])


Spots = Sequence[tuple[int, Floats]]
"""(number of a finding, a place of it)."""


def spots_of(shown: Shown, paths: Sequence[Path]) -> Spots:
    """Where the findings are, all places of those that are folded: as they say, else the deepest
    end of the moves of their line. What has no line is nowhere."""
    told = [
        (number, each)
        for number, one in enumerate(shown.findings, 1)
        for each in (one, *one.folded)
    ]
    lowest: dict[tuple[str, int], Floats] = {}
    for (file, _), path in zip(shown.runs, paths, strict=True):
        wanted = sorted({one.line for _, one in told if one.file == file and one.line})
        rows = np.flatnonzero(np.isin(path.moves.line, wanted))
        rows = rows[~np.isnan(path.end[:, rows]).any(axis=0)]
        rows = rows[np.argsort(-path.end[2, rows], kind="stable")]  # the deepest is entered last
        for row, line in zip(rows.tolist(), path.moves.line[rows].tolist(), strict=True):
            lowest[file, line] = path.end[:, row]
    spots = [(n, _spot(one, lowest.get((one.file or "", one.line or 0)))) for n, one in told]
    return [(number, spot) for number, spot in spots if spot is not None]


def _spot(finding: Finding, lowest: Floats | None) -> Floats | None:
    """Its place: of one line that makes many holes, the one that it speaks of."""
    if lowest is None or not isinstance(finding.said, Words):
        return lowest
    figures = dict(finding.said.values)
    off = [figures.get(name, 0.0) for name in ("dx_mm", "dy_mm")]
    told = [figures.get(name) for name in ("x_mm", "y_mm", "z_mm")]
    spot = lowest.copy()
    for axis, (figure, more) in enumerate(zip(told, (*off, 0.0), strict=True)):
        if isinstance(figure, float) and isinstance(more, float) and math.isfinite(figure):
            spot[axis] = figure + more
    return spot


@frozen
class Mark:
    """The findings at one place of a view: their numbers, and the place [mm]."""

    numbers: tuple[int, ...]
    across_mm: float
    up_mm: float

    @property
    def words(self) -> str:
        return numbers_in_words(self.numbers)


def marks_of(spots: Spots, view: View, window: Window, apart_mm: float) -> list[Mark]:
    """Where the findings stand in a view; those nearer than `apart_mm` or so are one mark."""
    places: dict[tuple[int, int], tuple[float, float]] = {}
    numbers: dict[tuple[int, int], list[int]] = {}
    for number, place in spots:
        axes = (view.across, view.up)
        if any(not window.low[axis] <= place[axis] <= window.high[axis] for axis in axes):
            continue
        across, up = (float(place[axis]) for axis in axes)
        cell = (round(across / apart_mm), round(up / apart_mm))
        places.setdefault(cell, (across, up))
        if number not in numbers.setdefault(cell, []):
            numbers[cell].append(number)
    return [Mark(tuple(numbers[cell]), *place) for cell, place in places.items()]


def numbers_in_words(numbers: Sequence[int]) -> str:
    """Ascending numbers, stretches of them shortened, and no more than three of those."""
    stretches: list[list[int]] = []
    for number in numbers:
        if stretches and number == stretches[-1][-1] + 1:
            stretches[-1].append(number)
        else:
            stretches.append([number])
    words = [str(one[0]) if len(one) == 1 else f"{one[0]}-{one[-1]}" for one in stretches[:3]]
    return ", ".join(words) + (" ..." if len(stretches) > 3 else "")
