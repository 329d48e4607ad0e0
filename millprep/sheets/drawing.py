"""What a drawing shows of a plan: each setup's face as it lies, and what its title says.

Imports layers 0 to 4.
"""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.part import Part
from millprep.planning import Plan
from millprep.sheets.figures import Figures
from millprep.sheets.setting_words import lies_line
from millprep.sheets.view import View, view_of
from millprep.sheets.words import stock_words


@frozen
class DrawnSetup:
    """One setup: the face up, the faces of its zero, how the part lies in words, the view."""

    number: int
    face: str
    zero_x: str
    zero_y: str
    lies: str
    view: View


@frozen
class Drawing:
    """All setups asked for; setup_count : of the whole plan. general_tolerance : "" for none."""

    part: str
    drawing: str
    mark: str
    units: Units
    stock: str
    setups: tuple[DrawnSetup, ...]
    setup_count: int
    general_tolerance: str = ""


def make_drawing(plan: Plan, units: Units, setup_number: int | None = None) -> Drawing:
    """What is drawn of a plan in a unit; of one setup when its number is given."""
    figures, part = Figures(units, plan.shop.readout), plan.part
    setups = tuple(
        DrawnSetup(
            one.setup.number,
            one.setup.face,
            one.setup.zero_x,
            one.setup.zero_y,
            str(lies_line(one.setup)),
            view_of(part, one.setup, one.square, figures),
        )
        for one in plan.setups
        if setup_number in (None, one.setup.number)
    )
    return Drawing(
        part.name,
        part.drawing,
        part.mark,
        units,
        stock_words(part, figures),
        setups,
        len(plan.setups),
        _general_tolerance(part, figures),
    )


def _general_tolerance(part: Part, figures: Figures) -> str:
    if part.general_tolerance_mm is None:
        return ""
    return f"+/- {figures.size(part.general_tolerance_mm)} {figures.unit}"
