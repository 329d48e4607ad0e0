"""What a drawing shows of a plan: each setup's face as it lies, and what its title says.

Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.records import frozen
from millprep.base.units import DIAMETER, Units
from millprep.model.part import Part
from millprep.model.shop import Projection
from millprep.planning import Plan, SetupPlan
from millprep.setting.setups import Setup
from millprep.sheets.drawn_patterns import (
    Grid,
    PitchCircle,
    grids_of,
    patterns_of,
    pitch_circles_of,
)
from millprep.sheets.figures import DrawnFigures, Figures
from millprep.sheets.setting_words import lies_line
from millprep.sheets.sights import (
    SeenLine,
    SeenRing,
    Sight,
    front_sight,
    hidden_in_plan,
    side_sight,
)
from millprep.sheets.template_words import drills_of, may_be_off_mm
from millprep.sheets.view import View, view_of
from millprep.sheets.words import stock_size


@frozen
class DrawnSetup:
    """One setup: the face up, the faces of its zero, how the part lies in words, the view.

    hidden, hidden_rings : what lies below the face
    drills : of a template, what goes in at which letters
    may_be_off_mm : how far off its place a hole of each letter still serves, where that is known
    front, side : the part from the side towards you, and from the one beside the plan, where
                  something is worked there
    """

    number: int
    face: str
    zero_x: str
    zero_y: str
    lies: str
    view: View
    pitch_circles: tuple[PitchCircle, ...] = ()
    grids: tuple[Grid, ...] = ()
    hidden: tuple[SeenLine, ...] = ()
    hidden_rings: tuple[SeenRing, ...] = ()
    drills: tuple[str, ...] = ()
    may_be_off_mm: tuple[tuple[str, float], ...] = ()
    front: Sight | None = None
    side: Sight | None = None


@frozen
class Drawing:
    """All setups asked for; setup_count : of the whole plan. general_tolerance : "" for none.

    stock : its size; date : of the drawing as its title says it, or empty
    projection : how the views are arranged
    """

    part: str
    drawing: str
    mark: str
    units: Units
    material: str
    stock: str
    setups: tuple[DrawnSetup, ...]
    setup_count: int
    general_tolerance: str = ""
    date: str = ""
    projection: Projection = "first"


def make_drawing(
    plan: Plan, units: Units, setup_number: int | None = None, date: str = ""
) -> Drawing:
    """What is drawn of a plan in a unit; of one setup when its number is given."""
    figures, part = DrawnFigures(units, plan.shop.readout), plan.part
    projection = plan.shop.projection
    setups = tuple(
        _drawn_setup(part, one, figures, projection)
        for one in plan.setups
        if setup_number in (None, one.setup.number)
    )
    return Drawing(
        part.name,
        part.drawing,
        part.mark,
        units,
        part.material,
        stock_size(part, figures, DIAMETER),
        setups,
        len(plan.setups),
        _general_tolerance(part, figures),
        date,
        projection,
    )


def _drawn_setup(
    part: Part, one: SetupPlan, figures: Figures, projection: Projection
) -> DrawnSetup:
    setup, view = one.setup, view_of(part, one.setup, one.square, figures)
    return DrawnSetup(
        setup.number,
        setup.face,
        setup.zero_x,
        setup.zero_y,
        str(lies_line(setup)),
        view,
        tuple(pitch_circles_of(part, view, figures)),
        tuple(grids_of(view, figures)),
        *hidden_in_plan(part, setup),
        drills_of(view, one.square),
        tuple(_may_be_off_mm(part, view)),
        front_sight(part, setup),
        side_sight(part, setup, projection) if _has_side(part, setup) else None,
    )


def _may_be_off_mm(part: Part, view: View) -> Iterator[tuple[str, float]]:
    holes = {hole.name: hole for hole in part.holes}
    for letter, marks in patterns_of(view.marks):
        off_mm = may_be_off_mm(holes[marks[0].hole])
        if off_mm is not None:
            yield letter if len(marks) > 1 else marks[0].letter, off_mm


def _has_side(part: Part, setup: Setup) -> bool:
    """Whether the side beside the plan shows what the front does not: holes, or a round end."""
    sides = (setup.left_hand, setup.right_hand)
    along = part.stock.axis
    is_round = along is not None and abs(setup.rotation[0, along]) > 0.5
    return is_round or any(hole.face in sides for hole in part.holes)


def _general_tolerance(part: Part, figures: Figures) -> str:
    if part.general_tolerance_mm is None:
        return ""
    return f"+/- {figures.size(part.general_tolerance_mm)} {figures.unit}"
