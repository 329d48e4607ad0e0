"""What every check of a dry run looks at: the moves, the stock, and what its strokes found."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np

from millprep.model.scene import Scene
from millprep.model.shop import Control, Mill
from millprep.reading.moves import ProgramRun, path_mm
from millprep.reading.simulate.findings import Found
from millprep.reading.simulate.milled import Milled
from millprep.reading.simulate.milling import (
    below_top,
    lowest_sideways,
    mills_without_stock,
    on_the_face,
    plunges_of,
)
from millprep.reading.simulate.path import Flags, Floats, Path, lowest_before, path_of
from millprep.reading.simulate.record import Cut, Record
from millprep.reading.simulate.solid import bottom_at, depth_inside, top_at
from millprep.reference.materials import Material, material_named
from millprep.reference.shared_rules import TOUCH_MM


@dataclass(slots=True)
class Strokes:
    """The strokes of a program and what the loop over them finds, one row a stroke, arrays `(S,)`.

    x, y, low  : axis and deepest tip; is_fed : anything of it is a feed downward
    top, underside : of the stock at the axis; inside : how far in its outline; nan without stock
    free       : how low a rapid may go before it touches; nan where nobody knows
    solid      : how low a feed may go before it cuts (differs for tools of unknown size)
    pilot      : diameter of the hole that was there already
    widest     : diameter of the widest ring that is cut; nan where nothing is
    clear      : sideways rapids below the top that stay in one hole
    """

    x: Floats
    y: Floats
    low: Floats
    is_fed: Flags
    top: Floats
    underside: Floats
    inside: Floats
    free: Floats
    solid: Floats
    pilot: Floats
    widest: Floats
    found: list[Found] = field(default_factory=list)
    clear: list[int] = field(default_factory=list)


def strokes_of(path: Path, scene: Scene | None) -> Strokes:
    """The strokes as the moves have them, nothing found yet."""
    size = path.first.size
    rows = np.flatnonzero((path.stroke >= 0) & ~np.isnan(path.end[2]))
    low = np.full(size, np.inf)
    np.minimum.at(low, path.stroke[rows], path.end[2][rows])
    is_fed = np.zeros(size, dtype=bool)
    is_fed[path.stroke[path.is_feed & path.is_down & (path.stroke >= 0)]] = True
    places = path.end[:2, path.first]
    top, underside, inside, free, solid, pilot, widest = np.full((7, size), np.nan)
    if scene is None:
        solid[:] = np.inf
    else:
        top, underside = top_at(scene.stock, places), bottom_at(scene.stock, places)
        inside = depth_inside(scene.stock, places)
    x, y = places
    return Strokes(x, y, low, is_fed, top, underside, inside, free, solid, pilot, widest)


@dataclass
class DryRun:
    """A program on its stock; arrays `(N,)`, one row a move.

    scene    : None where nothing is known of the stock
    record   : what has been removed so far, this program's to come
    is_alone : no part says which holes want a spot, and how much is to be left around them
    """

    run: ProgramRun
    scene: Scene | None
    mill: Mill
    control: Control
    file: str
    record: Record
    is_alone: bool

    @cached_property
    def path(self) -> Path:
        """The tip's way."""
        return path_of(self.run, self.is_placed)

    @cached_property
    def low(self) -> Floats:
        """(N,) lowest tip of each sideways move over the stock, nan of others."""
        return lowest_sideways(self.path, self.scene)

    @cached_property
    def below(self) -> Flags:
        """(N,) sideways moves below the top of the stock."""
        return below_top(self.path, self.scene, self.low)

    @cached_property
    def mills(self) -> Flags:
        """(N,) those of them that cut as a milling cutter may; without stock, that seem to."""
        if self.scene is None:
            return mills_without_stock(self.path)
        return self.below & self.path.is_feed & ~self.path.uses(lambda use: use.only_down)

    @cached_property
    def plunges(self) -> Flags:
        """(S,) the strokes that go on sideways at depth: milling, and no hole."""
        strokes = self.strokes
        return plunges_of(self.path, strokes.low, strokes.is_fed, strokes.top)

    @cached_property
    def milled(self) -> Milled | None:
        """What sideways cuts have left so far, this program's to come; None when there are none."""
        record, path, mills = self.record, self.path, self.mills
        if self.scene is None or (record.milled is None and not mills.any()):
            return None
        if record.milled is None:
            record.milled = Milled(self.scene.stock, path_mm(path.moves)[mills], path.radius[mills])
        rapids = (self.below & path.is_rapid) | on_the_face(path, self.scene)
        record.milled.begin(path, mills, np.flatnonzero(rapids))
        return record.milled

    @cached_property
    def gaps(self) -> list[Cut]:
        """Between the bodies of a stack: room that opens once the one above is cut through."""
        bodies = self.scene.bodies if self.scene is not None else ()
        return [
            Cut(math.inf, below, math.inf, 0.0, above, is_across=True)
            for (_, above), (below, _) in pairwise(bodies)
            if above - below > TOUCH_MM
        ]

    @cached_property
    def before(self) -> Floats:
        """(N,) the lowest tip so far in the same stroke, inf for its first move; where the tool has
        come out into a gap of a stack, the gap's floor."""
        lowest, path = lowest_before(self.path), self.path
        for gap in self.gaps:
            wide_at = lowest + path.each(lambda form: form.lead_mm)
            is_in = (wide_at <= gap.upper_mm + TOUCH_MM) & (lowest > gap.tip_mm)
            lowest = np.where(is_in, gap.tip_mm, lowest)
        return lowest

    @cached_property
    def strokes(self) -> Strokes:
        """The strokes, which the loop over them fills in."""
        return strokes_of(self.path, self.scene)

    @cached_property
    def material(self) -> Material | None:
        """Of the stock, where it is known."""
        named = self.scene.material if self.scene is not None else None
        return material_named(named) if named else None

    @cached_property
    def cuts(self) -> Flags:
        """(N,) upright feeds that cut, and whatever is fed sideways below the top."""
        return self._goes_below(self.strokes.solid, self.path.is_feed) | (
            self.below & self.path.is_feed
        )

    @cached_property
    def dives(self) -> Flags:
        """(N,) upright rapids that go into solid material."""
        return self._goes_below(self.strokes.free, self.path.is_rapid)

    def _goes_below(self, heights: Floats, among: Flags) -> Flags:
        path, height = self.path, self.path.of_stroke(heights)
        is_below = path.end[2] < np.minimum(height, self.before) - TOUCH_MM
        return np.asarray(among & path.is_down & (path.stroke >= 0) & is_below)

    @property
    def is_placed(self) -> bool:
        """Whether the shop says where the work stands in machine coordinates."""
        return self.scene is None or self.scene.work_offset in self.control.offsets_mm

    @property
    def is_height_told(self) -> bool:
        """Whether the shop says how high the tool stands before the program does."""
        return self.is_placed if self.scene is not None else bool(self.control.offsets_mm)

    def inside(self, cuts: Flags) -> Flags:
        """(N,) upright moves and dwells of a tool in the hole that it cuts, cuts included.

                      |     |   R
                ______|_____|______ mouth: below it the tool touches the hole
                      |  T  |
                      |_____|       what begins or ends here is made in the hole

        Where no stock is known nobody knows the mouth: only what is done at a hole's bottom counts.
        """
        path, strokes = self.path, self.strokes
        bottom = np.where(np.isfinite(strokes.low), strokes.low + 2 * TOUCH_MM, np.nan)
        mouth = path.of_stroke(np.where(np.isinf(strokes.solid), bottom, strokes.solid))
        is_low = np.fmin(path.start[2], path.end[2]) < mouth - TOUCH_MM
        return np.asarray(path.with_strokes(cuts) & (is_low | cuts))
