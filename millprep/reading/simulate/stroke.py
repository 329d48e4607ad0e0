"""One stroke into the stock, and what can be wrong with it.

Imports `form`, `record`, `follow`, `findings` and the scene.
"""

from __future__ import annotations

from millprep.base.findings import Severity
from millprep.base.records import frozen
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.follow import follow_fault
from millprep.reading.simulate.form import SIDEWAYS_KINDS, Form
from millprep.reading.simulate.record import Cut, surface_at, width_at
from millprep.reference.shared_rules import BELOW_UNDERSIDE_MM, TOUCH_MM

SPOT_KINDS = frozenset({"spot drill", "countersink"})
LEAST_FLOOR_MM, FLOOR_SHARE = 1.0, 0.25  # under a blind hole's tip, of its width: common practice
LEAST_WALL_MM = 0.8  # between a hole and an edge (common practice on small parts)
STARTED_SHARE = 0.2  # a spot wider than the chisel edge (0.15-0.2 d) holds the point


@frozen
class Stroke:
    """One stroke, from the moves."""

    number: int
    move: int
    x: float
    y: float
    low: float
    form: Form
    cycle: int
    tool_number: int
    line: int
    last_line: int

    @property
    def place(self) -> str:
        return f"X{self.x:.3f} Y{self.y:.3f}"


@frozen
class Ground:
    """What lies under a stroke: top and underside there, how far inside the outline its axis is.

    room : the cuts made there before
    """

    top_mm: float
    underside_mm: float
    inside_mm: float
    room: list[Cut]


def faults(stroke: Stroke, ground: Ground, *, underside_known: bool, is_alone: bool) -> list[Harm]:
    """Everything that is wrong with a stroke that cuts.

    is_alone : no part says which holes want a spot, and how much is to be left around them
    """
    found = [
        _edge_fault(stroke, ground),
        _flute_fault(stroke, ground),
        None if underside_known else _underside_fault(stroke, ground),
        _follow_fault(stroke, ground),
        *(
            [_spot_fault(stroke, ground), _floor_fault(stroke, ground), _wall_fault(stroke, ground)]
            if is_alone
            else []
        ),
    ]
    return [harm for harm in found if harm is not None]


def outside_fault(stroke: Stroke, top_mm: float) -> Harm:
    """A feed down where there is no stock; an end mill may come in from the side."""
    return _harm(
        stroke,
        "warning" if stroke.form.kind in SIDEWAYS_KINDS else "stop",
        "outside-stock",
        f"the tool feeds down at {stroke.place}, where there is no stock, to "
        f"{top_mm - stroke.low:.3f} mm below its top",
        "check the sign, the unit and the zero of these coordinates against the stock",
    )


def loose_fault(stroke: Stroke, ground: Ground) -> list[Harm]:
    """A tap or reamer that is fed down and touches nothing; a reamer may go where it has cut."""
    if stroke.low >= ground.top_mm - TOUCH_MM:
        return []
    fault = _follow_fault(stroke, ground)
    reach = max(stroke.low, ground.underside_mm)
    is_again = width_at(ground.room, reach) <= 2 * (stroke.form.radius_mm + TOUCH_MM)
    return [] if fault is None or (stroke.form.kind == "reamer" and is_again) else [fault]


def _edge_fault(stroke: Stroke, ground: Ground) -> Harm | None:
    form = stroke.form
    if ground.inside_mm < 0:
        return outside_fault(stroke, ground.top_mm)
    if form.kind in SPOT_KINDS or ground.inside_mm >= form.radius_mm - TOUCH_MM:
        return None
    return _harm(
        stroke,
        "warning",
        "breaks-edge",
        f"a {_size(form)} tool at {stroke.place} breaks out of the side of the stock, "
        f"{ground.inside_mm:.3f} mm from it",
        "move the hole in, or back that side with scrap of the same metal",
    )


def _flute_fault(stroke: Stroke, ground: Ground) -> Harm | None:
    form = stroke.form
    mouth = surface_at(ground.room, form.radius_mm + 1e-6, ground.top_mm)
    if form.flute_mm is None or mouth - stroke.low <= form.flute_mm + TOUCH_MM:
        return None
    return _harm(
        stroke,
        "stop",
        "deeper-than-flutes",
        f"the {_size(form)} tool goes {mouth - stroke.low:.3f} mm deep at {stroke.place}; its "
        f"flutes are {form.flute_mm:g} mm long",
        "use a longer tool, or drill from both ends",
    )


def _underside_fault(stroke: Stroke, ground: Ground) -> Harm | None:
    room = stroke.form.lead_mm + BELOW_UNDERSIDE_MM
    beyond = ground.underside_mm - stroke.low
    if beyond <= room + TOUCH_MM:
        return None
    return _harm(
        stroke,
        "stop",
        "below-underside",
        f"the tool goes {beyond:.3f} mm below the underside at {stroke.place}, and nothing says "
        "what lies there",
        f"stop at Z{ground.underside_mm - room:.3f} or above, or describe parallels and backing in "
        "the part file",
    )


def _follow_fault(stroke: Stroke, ground: Ground) -> Harm | None:
    fault = follow_fault(stroke.form, stroke.cycle, ground.room, stroke.low, ground.underside_mm)
    if fault is None:
        return None
    kind, message, remedy, severity = fault
    return _harm(stroke, severity, kind, f"{message} at {stroke.place}", remedy)


def _spot_fault(stroke: Stroke, ground: Ground) -> Harm | None:
    form = stroke.form
    is_started = any(
        cut.radius_mm >= STARTED_SHARE * form.radius_mm and cut.upper_mm >= ground.top_mm
        for cut in ground.room
    )
    if form.kind != "drill" or is_started:
        return None
    return _harm(
        stroke,
        "warning",
        "no-spot",
        f"a {_size(form)} drill starts at {stroke.place} without a spot",
        "spot drill it first, or let the drill be a short stiff one that needs no spot",
    )


def _floor_fault(stroke: Stroke, ground: Ground) -> Harm | None:
    form = stroke.form
    left = stroke.low - ground.underside_mm
    least = max(LEAST_FLOOR_MM, FLOOR_SHARE * (form.diameter_mm or 0.0))
    if form.kind != "drill" or not TOUCH_MM < left < least - TOUCH_MM:
        return None
    return _harm(
        stroke,
        "warning",
        "thin-floor",
        f"{left:.3f} mm is left under the tip at {stroke.place}",
        f"leave {least:.1f} mm, or drill through",
    )


def _wall_fault(stroke: Stroke, ground: Ground) -> Harm | None:
    left = ground.inside_mm - stroke.form.radius_mm
    if stroke.form.kind in SPOT_KINDS or not TOUCH_MM < left < LEAST_WALL_MM - TOUCH_MM:
        return None
    return _harm(
        stroke,
        "warning",
        "thin-wall",
        f"{left:.3f} mm is left between the hole at {stroke.place} and the side of the stock",
        f"leave {LEAST_WALL_MM:g} mm, or back that side with scrap of the same metal",
    )


def _size(form: Form) -> str:
    return "tool of unknown size" if form.diameter_mm is None else f"{form.diameter_mm:.3f} mm"


def _harm(stroke: Stroke, severity: Severity, kind: str, message: str, remedy: str) -> Harm:
    # Hole after hole without a spot is one slip; anything else is told hole by hole.
    neighbour = stroke.number if kind == "no-spot" else None
    run = (kind, stroke.number)
    return Harm(stroke.move, severity, kind, stroke.line, message, remedy, run, neighbour)
