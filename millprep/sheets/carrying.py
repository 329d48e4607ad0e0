"""The sheet of holes that are carried over by hand: marked by a punch or by transfer screws, or
spotted at readings that are written on it first. Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from millprep.base.findings import Finding
from millprep.base.units import Units
from millprep.model.carrying import Beside, Carrying
from millprep.model.part import FACE_AXIS
from millprep.planning.drawer import punch_for
from millprep.planning.plan import Operation, Plan
from millprep.sheets.carry_words import carry_lines, then_lines
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.document import (
    Column,
    Document,
    Field,
    Page,
    Row,
    Sayer,
    Section,
    Sentence,
    Shown,
    Table,
)
from millprep.sheets.figures import Figures
from millprep.sheets.heading import burning, remarks_field

_MARKED = (Column(6, right=True, gap=0), Column(28, gap=2), Column(28, gap=2))
_READ = (
    Column(6, right=True, gap=0),
    Column(18, gap=2),
    Column(8, gap=2),
    Column(8, gap=2),
    Column(18, gap=2),
    Column(9, right=True, gap=1),
)
_LEVEL_MM = 0.01

_say = Sayer("carrying")


def make_carrying_sheet(
    plan: Plan, carrying: Carrying, units: Units, findings: Sequence[Finding], *, by_dials: bool
) -> Document:
    """One page. by_dials : readings are turns and divisions"""
    part, figures = plan.part, Figures(units, plan.shop.readout)
    doing = {"transfer punch": _punched, "transfer screw": _screwed, "readings": _read}
    made: list[Sentence] = [
        *carry_lines(carrying, figures),
        *doing[carrying.by](plan, carrying, figures, by_dials),
    ]
    groups = dict.fromkeys(one.template.group for one in made)
    fields = [
        _say.field(group, *(one for one in made if one.template.group == group)) for group in groups
    ]
    then, remarks = [*then_lines(carrying)], remarks_field(_say, findings)
    closing: list[Field | None] = [_say.field("THEN", *then), remarks]
    care = _say.field("TAKE CARE", *(_say("caution", caution=one) for one in AT_THE_MILL))
    table = (_reading_table if carrying.by == "readings" else _marked_table)(
        plan, carrying, figures
    )
    title = _say(
        "carrying-title",
        part=part.name,
        by=carrying.by,
        hole_count=len(carrying.mates),
        source=carrying.source,
    )
    page = Page(
        title,
        (
            _say("marked", drawing=part.drawing or None, part_mark=part.mark, units=units),
            *burning(_say, part),
        ),
        (
            Section(tuple(fields)),
            Section((table,)),
            Section(tuple(one for one in closing if one is not None)),
            Section((care,)),
        ),
    )
    return Document("carrying", units, (page,), tuple(findings), csv=("steps", _csv(carrying)))


def _csv(carrying: Carrying) -> tuple[str, ...]:
    return ("step", "from_hole", "hole", *(["z"] if carrying.by == "readings" else []))


def _punched(plan: Plan, of: Carrying, figures: Figures, by_dials: bool) -> Iterator[Sentence]:
    for hole_mm in dict.fromkeys(one.passes_mm for one in of.mates):
        hole, punch_mm = _length(hole_mm, figures), punch_for(hole_mm, of.punches_mm)
        if punch_mm is None:
            yield _say("carry-punch-none", hole_mm=hole)
            continue
        punch, slack = _length(punch_mm, figures), _length(hole_mm - punch_mm, figures)
        yield _say("carry-punch", hole_mm=hole, punch_mm=punch, slack_mm=slack)


def _screwed(plan: Plan, of: Carrying, figures: Figures, by_dials: bool) -> Iterator[Sentence]:
    told: dict[tuple[str, str], None] = {}
    for one in of.mates:
        assert one.source.thread is not None  # the joint is refused without one
        told[one.source.thread.designation, one.member] = None
    for thread, member in told:
        yield _say("carry-screw", thread=thread, source=of.source, face=meeting(of), member=member)


def _read(plan: Plan, of: Carrying, figures: Figures, by_dials: bool) -> Iterator[Sentence]:
    ((member, face),) = of.meets
    jaw, stop = jaw_and_stop(of)
    ways = {"by": "dials" if by_dials else ""}
    yield _say(
        "carry-read",
        source=of.source,
        face=of.face,
        jaw_face=jaw.other_face,
        stop_face=stop.other_face,
        **ways,
    )
    for one, between in ((jaw, "jaw"), (stop, "stop")):
        if abs(one.inside_mm) >= _LEVEL_MM:
            is_member = one.inside_mm > 0
            yield _say(
                "carry-packing",
                packing_mm=_length(abs(one.inside_mm), figures),
                face=one.face if is_member else one.other_face,
                member=member if is_member else of.source,
                between=between,
            )
    first = _operations(plan)[of.mates[0].name]
    tool: Any = first.tool
    yield _say(
        "carry-same",
        member=member,
        source=of.source,
        face=face,
        jaw_face=jaw.face,
        stop_face=stop.face,
        tool_mm=_length(tool.diameter_mm, figures),
        angle=f"{tool.angle_deg:g}",
        cone_mm=_length(first.cone_mm or 0.0, figures),
        face_again=face,
        **ways,
    )


def meeting(of: Carrying) -> str:
    """The face of the source that the others lie against."""
    other = {"left": "right", "front": "back", "bottom": "top"}
    return other.get(of.face) or {v: k for k, v in other.items()}[of.face]


def jaw_and_stop(of: Carrying) -> tuple[Beside, Beside]:
    """Which pair of edges lies against the jaw, the longer one, and which against the stop."""
    size = dict(of.blanks)[of.source].size_mm

    def across(one: Beside) -> float:
        assert one.other_face is not None  # round blanks are refused
        return size[FACE_AXIS[one.other_face]]

    jaw, stop = sorted(of.besides, key=across)
    return jaw, stop


def _operations(plan: Plan) -> dict[str, Operation]:
    return {one.hole.name: one for setup in plan.setups for one in setup.operations}


def _marked_table(plan: Plan, of: Carrying, figures: Figures) -> Table:
    rows = tuple(
        Row(_say("marked row", step=n, from_hole=one.source.name, hole=one.name))
        for n, one in enumerate(of.mates, 1)
    )
    return Table("marked", _say("marked head", source=of.source), rows, _MARKED)


def _reading_table(plan: Plan, of: Carrying, figures: Figures) -> Table:
    made = _operations(plan)
    depth = "down" if "z" in plan.shop.readout.axes else "quill"
    rows = tuple(
        Row(
            _say(
                "read row",
                step=n,
                from_hole=one.source.name,
                hole=one.name,
                z=Shown(str(figures.shown(made[one.name].z_mm, "z")), made[one.name].z_mm),
            )
        )
        for n, one in enumerate(of.mates, 1)
    )
    return Table("read", _say("read head", source=of.source, depth=depth), rows, _READ)


def _length(value_mm: float, figures: Figures) -> Shown:
    return Shown(f"{figures.size(value_mm)} {figures.unit}", value_mm)
