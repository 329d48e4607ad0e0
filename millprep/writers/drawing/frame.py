"""Where things stand on the paper: the view, the room round it, the table, the title block."""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.base.records import frozen, replace
from millprep.canvas.lettering import room_mm
from millprep.canvas.paper import SIZES_MM, Paper, papers
from millprep.canvas.pen import Place
from millprep.canvas.spread import Box
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.sheets.view import View
from millprep.writers.drawing.figures import Running, running_of
from millprep.writers.drawing.table import Table, laid_table

MARGIN_MM = 10.0
TITLE_MM = 30.0
TABLE_MM = (80.0, 97.0)  # least and most beside the view
BAR_MM = 100.0
TEXT_MM = 2.5
BAND_MM = 9.5  # from the outline to the figure of a running dimension
NAME_MM = 6.0  # room for the name of a face beside the view
BAR_ROOM_MM = 7.0
GAP_MM = 3.0


@frozen
class Purpose:
    """What the page is for.

    is_template  : for punching through the paper: no dimensions, no table
    measured_mm  : lengths of the two bars on an earlier print, to be corrected for
    read_to_mm   : the last place to which they were read
    """

    is_template: bool = False
    measured_mm: tuple[float, float] | None = None
    read_to_mm: float = 0.1

    @property
    def factors(self) -> tuple[float, float]:
        """How much to stretch along X and Y so that 100 mm come out as 100 mm."""
        if self.measured_mm is None:
            return 1.0, 1.0
        across, up = self.measured_mm
        return BAR_MM / across, BAR_MM / up


@frozen
class Frame:
    """Where the view stands on the paper: its low corner there, and how much it is reduced.

    running  : running dimensions along X and Y, none on a template
    table    : laid out in `table_box`, or None
    is_model : drawn for a model without paper
    """

    paper: Paper
    view: View
    left_mm: float
    bottom_mm: float
    purpose: Purpose
    running: tuple[Running, ...]
    table: Table | None
    table_at: Place = (0.0, 0.0)
    view_box: Box = (0.0, 0.0, 0.0, 0.0)
    is_model: bool = False

    def at(self, x_mm: float, y_mm: float) -> Place:
        """A place of the view on the paper."""
        return (
            self.left_mm + (x_mm - self.view.low_mm[0]) / self.paper.reduction,
            self.bottom_mm + (y_mm - self.view.low_mm[1]) / self.paper.reduction,
        )

    def length(self, value_mm: float) -> float:
        return value_mm / self.paper.reduction

    @property
    def paper_size_mm(self) -> Place:
        """Of the whole sheet, of which `paper` is what a correction leaves."""
        sizes = {name: (width, height) for name, width, height in SIZES_MM}
        return sizes.get(self.paper.name, (self.paper.width_mm, self.paper.height_mm))

    @property
    def low(self) -> Place:
        """The view's low corner on the paper."""
        return self.at(*self.view.low_mm)

    @property
    def high(self) -> Place:
        return self.at(*self.view.high_mm)

    def band_mm(self, axis: int) -> float:
        """Room that the running dimensions along an axis take."""
        return _band_mm(self.running, axis, self.high[axis] - self.low[axis])


def name_below(view: View) -> str:
    """What stands below the view: the face towards you."""
    return f"{view.sides[1].upper()}, towards you"


def overhang_mm(view: View, width_mm: float) -> float:
    """How far the name below sticks out beyond a narrow view, at each side."""
    return max(0.0, (room_mm(name_below(view), TEXT_MM) - width_mm) / 2)


def _band_mm(running: Sequence[Running], axis: int, length_mm: float) -> float:
    if not running:
        return 2.0
    figures, height, _ = running[axis].fitted(length_mm)
    return BAND_MM + max(room_mm(figure.words, height) for figure in figures) + 1.0


@frozen
class _Wanted:
    """What has to find room, and tries of where the table goes."""

    sheet: Drawing
    setup: DrawnSetup
    purpose: Purpose
    running: tuple[Running, ...] = ()

    def view_on(self, paper: Paper) -> Place:
        """Width and height of the view."""
        low, high = self.setup.view.low_mm, self.setup.view.high_mm
        return (high[0] - low[0]) / paper.reduction, (high[1] - low[1]) / paper.reduction

    def low_room(self, paper: Paper) -> Place:
        """Room at the left of the view and below it, from the edges of the paper."""
        width, height = self.view_on(paper)
        left = MARGIN_MM + BAR_ROOM_MM + NAME_MM + _band_mm(self.running, 1, height)
        below = MARGIN_MM + TITLE_MM + GAP_MM + NAME_MM + _band_mm(self.running, 0, width)
        return left, below

    def high_room(self, paper: Paper) -> Place:
        """Room at the right of the view and above it."""
        aside = overhang_mm(self.setup.view, self.view_on(paper)[0])
        return MARGIN_MM + NAME_MM + aside, MARGIN_MM + NAME_MM

    def size_on(self, paper: Paper) -> Place:
        """Width and height of the view with what stands round it."""
        (left, below), (width, height) = self.low_room(paper), self.view_on(paper)
        right, above = self.high_room(paper)
        return left + width + right, below + height + above

    def tried(self, paper: Paper) -> Frame | None:
        """The frame on a sheet of paper, the table beside or above the view; None if too small."""
        width, height = self.size_on(paper)
        spare_x, spare_y = paper.width_mm - width, paper.height_mm - height
        if min(spare_x, spare_y) < 0:
            return None
        if self.purpose.is_template:
            return self._framed(paper, spare_x, spare_y, None, (0.0, 0.0))
        high = paper.height_mm - MARGIN_MM
        least, most = TABLE_MM
        if spare_x >= least + GAP_MM:
            across = min(most, spare_x - GAP_MM)
            room = high - MARGIN_MM - TITLE_MM - GAP_MM
            table = laid_table(self.sheet, self.setup, across, room)
            at = paper.width_mm - MARGIN_MM - across, high
            return self._framed(paper, spare_x - across - GAP_MM, spare_y, table, at)
        across = paper.width_mm - 2 * MARGIN_MM - BAR_ROOM_MM
        table = laid_table(self.sheet, self.setup, across, spare_y - GAP_MM)
        if table.is_cut or table.height_mm > spare_y - GAP_MM:
            return None
        at = MARGIN_MM + BAR_ROOM_MM, high
        return self._framed(paper, spare_x, spare_y - table.height_mm - GAP_MM, table, at)

    def _framed(
        self, paper: Paper, spare_x: float, spare_y: float, table: Table | None, at: Place
    ) -> Frame:
        """The view in the middle of the room that is left for it."""
        left, below = self.low_room(paper)
        width, height = self.size_on(paper)
        box = (
            MARGIN_MM + BAR_ROOM_MM,
            MARGIN_MM + TITLE_MM + GAP_MM,
            width + spare_x - MARGIN_MM,
            height + spare_y - MARGIN_MM,
        )
        return Frame(
            paper,
            self.setup.view,
            left + spare_x / 2,
            below + spare_y / 2,
            self.purpose,
            self.running,
            table,
            at,
            box,
        )


def frame_for(sheet: Drawing, setup: DrawnSetup, purpose: Purpose | None = None) -> Frame:
    """The paper that the view and its table need, and the view's place on it.

    On paper that the printer shrinks, what is drawn has to stay inside the paper after it has been
    stretched, so it is laid out on that much less.
    """
    for_what = purpose or Purpose()
    wanted = _wanted(sheet, setup, for_what)
    across, up = (max(1.0, factor) for factor in for_what.factors)
    for paper in papers():
        usable = Paper(paper.name, paper.width_mm / across, paper.height_mm / up, paper.reduction)
        frame = wanted.tried(usable)
        if frame is not None:
            return frame
    raise AssertionError("the largest part that a file may describe fits at the last reduction")


def model_frame(sheet: Drawing, setup: DrawnSetup, purpose: Purpose | None = None) -> Frame:
    """A frame without paper, at full size, the table beside the view."""
    wanted = _wanted(sheet, setup, purpose or Purpose())
    width, height = wanted.size_on(Paper("", 0, 0, 1))
    most = TABLE_MM[1]
    table = laid_table(sheet, setup, most, math.inf)
    beside = table.height_mm + 2 * MARGIN_MM + TITLE_MM + GAP_MM
    paper = Paper("", width + most + GAP_MM + 1, max(height, beside) + 1, 1)
    frame = wanted.tried(paper)
    assert frame is not None  # the paper is made to measure
    return replace(frame, is_model=True)


def _wanted(sheet: Drawing, setup: DrawnSetup, purpose: Purpose) -> _Wanted:
    running = () if purpose.is_template else (running_of(setup, 0), running_of(setup, 1))
    return _Wanted(sheet, setup, purpose, running)
