"""Where things stand on the paper: the view, the room round it, other views, table, foot."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.base.records import frozen, replace
from millprep.canvas.lettering import room_mm
from millprep.canvas.paper import EITHER, FULL_SIZE, SCALES, Paper, Scale
from millprep.canvas.pen import Place
from millprep.canvas.spread import Box
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.sheets.sights import Sight
from millprep.sheets.view import View
from millprep.writers.drawing.figures import Running, running_of
from millprep.writers.drawing.foot import BAR_ROOM_MM, BARS_MM, Foot, foot_of
from millprep.writers.drawing.table import TEXT_MM, Table, drill_pages, laid_table

TABLE_MM = (66.0, 97.0)  # least and most beside the view
BAND_MM = 9.5  # from the outline to the figure of a running dimension
NAME_MM = 6.0  # room for the name of a face beside the view
GAP_MM = 3.0
SIGHT_GAP_MM = 8.0
CAPTION_MM = 5.0


@frozen
class Purpose:
    """What the page is for.

    is_template  : for punching through the paper: full size, no dimensions, a table of drills
    measured_mm  : lengths of the two bars on an earlier print, to be corrected for
    read_to_mm   : the last place to which they were read; bar_mm : what they are on true paper
    paper        : the sheet; whatever both A4 and Letter take if it is not said
    """

    is_template: bool = False
    measured_mm: tuple[float, float] | None = None
    read_to_mm: float = 0.1
    bar_mm: float = BARS_MM["mm"][0]
    paper: Paper = EITHER

    @property
    def factors(self) -> tuple[float, float]:
        """How much to stretch along X and Y so that the bars come out as they should."""
        if self.measured_mm is None:
            return 1.0, 1.0
        across, up = self.measured_mm
        return self.bar_mm / across, self.bar_mm / up


@frozen
class PlacedSight:
    """A view beside or above the plan, and where its low corner stands."""

    sight: Sight
    at: Place


@frozen
class Frame:
    """Where the view stands on the paper: its low corner there, and its scale.

    paper    : of which a correction leaves less than `purpose.paper`
    running  : running dimensions along X and Y, none on a template
    table    : laid out in `table_box`, or None
    is_model : drawn for a model without paper
    """

    paper: Paper
    scale: Scale
    view: View
    left_mm: float
    bottom_mm: float
    purpose: Purpose
    running: tuple[Running, ...]
    foot: Foot
    table: Table | None
    table_at: Place = (0.0, 0.0)
    view_box: Box = (0.0, 0.0, 0.0, 0.0)
    sights: tuple[PlacedSight, ...] = ()
    is_model: bool = False

    def at(self, x_mm: float, y_mm: float) -> Place:
        """A place of the view on the paper."""
        return (
            self.left_mm + (x_mm - self.view.low_mm[0]) * self.scale.factor,
            self.bottom_mm + (y_mm - self.view.low_mm[1]) * self.scale.factor,
        )

    def length(self, value_mm: float) -> float:
        return value_mm * self.scale.factor

    @property
    def corner(self) -> Place:
        """The frame's lower left one."""
        return self.paper.side_mm, self.paper.foot_mm

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


def caption_of(sight: Sight) -> str:
    """What stands above a view."""
    return f"view on {sight.face.upper()}"


def _band_mm(running: Sequence[Running], axis: int, length_mm: float) -> float:
    if not running:
        return 2.0
    figures, height, _ = running[axis].fitted(length_mm)
    return BAND_MM + max(room_mm(figure.words, height) for figure in figures) + 1.0


@frozen
class _Wanted:
    """What has to find room on paper at a scale, and tries of where the table goes."""

    sheet: Drawing
    setup: DrawnSetup
    purpose: Purpose
    paper: Paper
    scale: Scale
    running: tuple[Running, ...]
    foot: Foot
    front: Sight | None = None
    side: Sight | None = None

    @property
    def view_mm(self) -> Place:
        """Width and height of the view."""
        view = self.setup.view
        return self._size(view.low_mm, view.high_mm)

    def _size(self, low: Place, high: Place) -> Place:
        factor = self.scale.factor
        return (high[0] - low[0]) * factor, (high[1] - low[1]) * factor

    @property
    def _front_mm(self) -> float:
        """Height of the view from the front, with its caption."""
        if self.front is None:
            return 0.0
        return self._size(self.front.low_mm, self.front.high_mm)[1] + CAPTION_MM + SIGHT_GAP_MM

    @property
    def _side_mm(self) -> float:
        if self.side is None:
            return 0.0
        width = self._size(self.side.low_mm, self.side.high_mm)[0]
        return max(width, room_mm(caption_of(self.side), TEXT_MM)) + SIGHT_GAP_MM

    @property
    def _is_first(self) -> bool:
        return self.sheet.projection == "first"

    @property
    def low_room(self) -> Place:
        """Room at the left of the view and below it, from the edges of the paper."""
        width, height = self.view_mm
        aside = max(_band_mm(self.running, 1, height), overhang_mm(self.setup.view, width))
        left = self.paper.side_mm + self._bars_mm + NAME_MM + aside
        below = self.paper.foot_mm + self.foot.height_mm + GAP_MM + NAME_MM
        below += _band_mm(self.running, 0, width) + (0.0 if self._is_first else self._front_mm)
        return left, below

    @property
    def high_room(self) -> Place:
        """Room at the right of the view and above it."""
        aside = overhang_mm(self.setup.view, self.view_mm[0])
        above = self._front_mm if self._is_first else 0.0
        return (
            self.paper.side_mm + NAME_MM + aside + self._side_mm,
            self.paper.foot_mm + NAME_MM + above,
        )

    @property
    def _bars_mm(self) -> float:
        return BAR_ROOM_MM * len(self.foot.bars)

    @property
    def size_mm(self) -> Place:
        """Width and height of the view with what stands round it, to the paper's edges."""
        (left, below), (width, height) = self.low_room, self.view_mm
        right, above = self.high_room
        return left + width + right, below + height + above

    def tried(self, *, with_table: bool) -> Frame | None:
        """The frame, the table beside or above the view; None where they find no room."""
        paper, (width, height) = self.paper, self.size_mm
        spare_x, spare_y = paper.width_mm - width, paper.height_mm - height
        if min(spare_x, spare_y) < 0:
            return None
        if not with_table:
            return self._framed(spare_x, spare_y, None, (0.0, 0.0))
        top = paper.top_mm - GAP_MM / 2
        least, most = TABLE_MM
        if spare_x >= least + 2 * GAP_MM:
            across = min(most, spare_x - 2 * GAP_MM)
            room = top - paper.foot_mm - self.foot.height_mm - GAP_MM
            table = self.table(across, room)
            at = paper.right_mm - GAP_MM - across, top
            if table is not None:
                return self._framed(spare_x - across - 2 * GAP_MM, spare_y, table, at)
        across = paper.across_mm - self._bars_mm - 2 * GAP_MM
        table = self.table(across, spare_y - GAP_MM)
        if table is None:
            return None
        at = paper.side_mm + self._bars_mm + GAP_MM, top
        return self._framed(spare_x, spare_y - table.height_mm - GAP_MM, table, at)

    def table(self, width_mm: float, height_mm: float) -> Table | None:
        """In that room, where it finds it."""
        if not self.purpose.is_template:
            return laid_table(self.sheet, self.setup, width_mm, height_mm)
        first, *more = drill_pages(self.setup, width_mm, height_mm)
        return None if more or first.height_mm > height_mm else first

    def _framed(self, spare_x: float, spare_y: float, table: Table | None, at: Place) -> Frame:
        """The view in the middle of the room that is left for it."""
        paper, (left, below) = self.paper, self.low_room
        width, height = self.size_mm
        box = (
            paper.side_mm + self._bars_mm,
            paper.foot_mm + self.foot.height_mm + GAP_MM,
            width + spare_x - paper.side_mm - GAP_MM / 2,
            height + spare_y - paper.foot_mm - GAP_MM / 2,
        )
        frame = Frame(
            paper,
            self.scale,
            self.setup.view,
            left + spare_x / 2,
            below + spare_y / 2,
            self.purpose,
            self.running,
            self.foot,
            table,
            at,
            box,
        )
        return replace(frame, sights=tuple(self._placed(frame)))

    def _placed(self, frame: Frame) -> Iterator[PlacedSight]:
        """The other views, in line with the plan."""
        (x1, y1), (x2, y2) = frame.low, frame.high
        if self.front is not None:
            high = self._front_mm - CAPTION_MM - SIGHT_GAP_MM
            below = y1 - frame.band_mm(0) - NAME_MM - SIGHT_GAP_MM - CAPTION_MM - high
            above = y2 + NAME_MM + SIGHT_GAP_MM - GAP_MM
            yield PlacedSight(self.front, (x1, above if self._is_first else below))
        if self.side is not None:
            aside = overhang_mm(frame.view, x2 - x1)
            yield PlacedSight(self.side, (x2 + NAME_MM + aside + SIGHT_GAP_MM, y1))


def frame_for(sheet: Drawing, setup: DrawnSetup, purpose: Purpose | None = None) -> Frame | None:
    """The largest scale at which the views fit the paper, and their place on it.

    With the table where that costs one step of scale at most; else it is None, and has sheets of
    its own. None for a template that no sheet takes at full size. On paper that the printer
    shrinks, what is drawn has to stay inside it once it is stretched: it is laid out on that less.
    """
    for_what = purpose or Purpose()
    usable = usable_paper(for_what)
    alone = None
    for wanted in _wanted(sheet, setup, for_what, usable):
        if alone is not None and _steps(wanted.scale) > _steps(alone.scale) + 1:
            return alone
        whole = wanted.tried(with_table=True)
        if whole is not None:
            return whole
        alone = alone or wanted.tried(with_table=False)
    return alone


def _steps(scale: Scale) -> int:
    return SCALES.index(scale)


def usable_paper(purpose: Purpose) -> Paper:
    """What a correction leaves of the sheet."""
    across, up = (max(1.0, factor) for factor in purpose.factors)
    paper = purpose.paper
    return replace(paper, width_mm=paper.width_mm / across, height_mm=paper.height_mm / up)


def model_frame(sheet: Drawing, setup: DrawnSetup, purpose: Purpose | None = None) -> Frame:
    """A frame without paper, at full size, the face alone, the table beside it."""
    for_what = purpose or Purpose()
    boundless = Paper("", 1e6, 1e6)
    wanted = next(_wanted(sheet, setup, for_what, boundless))
    wanted = replace(wanted, scale=FULL_SIZE, front=None, side=None)
    width, height = wanted.size_mm
    most = TABLE_MM[1]
    table = wanted.table(most, math.inf)
    assert table is not None
    beside = table.height_mm + 2 * boundless.foot_mm + wanted.foot.height_mm + 2 * GAP_MM
    paper = Paper("", width + most + 3 * GAP_MM + 1, max(height, beside) + 1)
    frame = replace(wanted, paper=paper).tried(with_table=True)
    assert frame is not None  # the paper is made to measure
    return replace(frame, is_model=True)


def _wanted(sheet: Drawing, setup: DrawnSetup, purpose: Purpose, paper: Paper) -> Iterator[_Wanted]:
    """What to try, the best first.

    All views enlarged, or one of them; all at full size, or one; the face alone; then each smaller
    scale. A face of a small part is read at the mill, and better at 2:1 with one view than at 1:1.
    """
    foot = foot_of(
        sheet,
        setup,
        paper.across_mm,
        is_template=purpose.is_template,
        is_corrected=purpose.measured_mm is not None,
    )
    if purpose.is_template:
        yield _Wanted(sheet, setup, purpose, paper, FULL_SIZE, (), foot)
        return
    running = running_of(setup, 0), running_of(setup, 1)
    bare = _Wanted(sheet, setup, purpose, paper, FULL_SIZE, running, foot)
    every = setup.front, setup.side
    some = [every, (None, setup.side), (setup.front, None), (None, None)]
    one = some[1:3] if setup.side is not None else []
    doubled, *_ = (scale for scale in SCALES if scale.factor == 2)
    tries = [(scale, every) for scale in SCALES if scale.factor > 1]
    tries += [(doubled, views) for views in one]
    tries += [(FULL_SIZE, views) for views in [every, *one]]
    tries += [(scale, (None, None)) for scale in SCALES if scale.factor >= 1]
    tries += [(scale, views) for scale in SCALES if scale.factor < 1 for views in some]
    for scale, (front, side) in tries:
        yield replace(bare, scale=scale, front=front, side=side)
