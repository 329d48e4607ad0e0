"""What every check of a dry run looks at: the moves, the stock, and what the strokes into it found.

Imports `path`, `record`, `milled`, `findings`, the scene, the shop and the materials.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from millprep.model.scene import Scene
from millprep.model.shop import Control, Mill
from millprep.reading.moves import ProgramRun
from millprep.reading.simulate.findings import Found
from millprep.reading.simulate.milled import Milled
from millprep.reading.simulate.path import Flags, Floats, Path
from millprep.reading.simulate.record import Record
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


@dataclass
class DryRun:
    """A program on its stock; arrays `(N,)`, one row a move.

    scene    : None where nothing is known of the stock
    is_alone : no part says which holes want a spot, and how much is to be left around them
    record   : what has been removed so far, this program's to come
    milled   : what sideways cuts have left; None where there are none
    low      : lowest tip of each sideways move over the stock; below : it is below the stock's top
    mills    : those below that cut as a milling cutter may
    before   : the lowest tip so far in the same stroke, inf for its first move
    """

    run: ProgramRun
    scene: Scene | None
    mill: Mill
    control: Control
    file: str
    is_alone: bool
    record: Record
    path: Path
    low: Floats
    below: Flags
    mills: Flags
    milled: Milled | None
    before: Floats
    strokes: Strokes

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
