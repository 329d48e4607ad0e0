"""What is told of tools whose end is not what gives a depth: countersinks, and other points.

A countersink gets its Z by its nose where that is known, else by the rim of a hole: a cone of angle
a whose flanks meet a rim of diameter d would end d / 2 / tan(a / 2) below it. A drill's point of
that angle is as long: a blunter one goes less deep by the difference, its full diameter as far.
Imports the part, the shop, the tables and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.base.findings import Finding
from millprep.reading.pages.printed import PrintedRow, PrintedTool
from millprep.reading.pages.slots import Said
from millprep.reference.cutters import WantedPoint, usual_nose_mm, wanted_point
from millprep.reference.materials import material_named
from millprep.witness.compared import Due, near
from millprep.witness.leavings import leavings_of
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, Run, SetUp

_WIDENS = ("pilot drill", "drill", "bore", "counterbore", "spotface")
_SAME_MM = 0.003
_SHARE_DIGIT = 0.0006


def check_points(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """A sentence a drill whose point is another, at the first of its steps here."""
    material = material_named(one.printed.part.material)
    wanted = None if material is None else wanted_point(material)
    due: dict[int, PrintedRow] = {}
    for row in run:
        angle = row.tool.point_angle_deg or 118.0
        is_drill = row.tool.kind == "drill" and wanted is not None
        if is_drill and wanted is not None and not wanted.suits(angle):
            due.setdefault(row.tool_number, row)
    if [said.count("point_tool") for said in told] != list(due):
        yield one.wrong(f"{len(told)} sentences of points for {len(due)} drills")
        return
    for said, row in zip(told, due.values(), strict=True):
        assert wanted is not None  # else none is due
        yield from one.says(said, _due(one, wanted, row))


def _due(one: SetUp, wanted: WantedPoint, row: PrintedRow) -> Due:
    lengths = (
        row.tool.diameter_mm / 2 / math.tan(math.radians(angle / 2))
        for angle in (row.tool.point_angle_deg or 118.0, wanted.grind_deg)
    )
    shorter_mm, printed = next(lengths) - next(lengths), one.printed
    count_mm = 2 * printed.half_count_mm + SLACK_MM
    angles = {
        "wanted_least": wanted.least_deg,
        "wanted_most": wanted.most_deg,
        "grind_deg": wanted.grind_deg,
    }
    return {
        **{name: near(right, 0.0, is_plain=True) for name, right in angles.items()},
        "point_step": row.step,
        "sets": one.sets,
        "point_at": near(row.z_mm, SLACK_MM),
        "grind_at": near(row.z_mm + printed.z_sign * shorter_mm, count_mm),
        "point_off": near(abs(shorter_mm), count_mm),
        "point_way": "less" if shorter_mm > 0 else "more",
    }


def is_nose_known(one: SetUp, tool: PrintedTool) -> bool:
    """Whether the drawer, or the table of usual noses, has it."""
    angle = tool.point_angle_deg or 90.0
    for owned in one.shop.cabinet.countersinks:
        is_it = abs(owned.diameter_mm - tool.diameter_mm) <= _SAME_MM
        if is_it and abs(owned.angle_deg - angle) <= 0.01 and owned.is_nose_known:
            return True
    return usual_nose_mm(tool.diameter_mm, angle) is not None


def is_by_rim(one: SetUp, row: PrintedRow) -> bool:
    """Whether the step is a countersink's whose nose nobody knows."""
    is_noseless = row.tool.kind == "countersink" and not row.tool.tip_flat_mm
    return is_noseless and not is_nose_known(one, row.tool)


def check_rim(one: SetUp, row: PrintedRow, said: Said) -> Iterator[Finding]:
    """The sentence that sets its Z, at the hole of this step."""
    if said.slug != "touch-off-rim":
        yield one.wrong(f"{said.text}: nobody knows the nose of this countersink", said)
        return
    yield from one.named(said, touch_off="rim")
    share = 0.5 / math.tan(math.radians((row.tool.point_angle_deg or 90.0) / 2))
    rim_mm, rims_mm = said.mm("rim_mm"), _rims_mm(one, row)
    nearest_mm = min(rims_mm, key=lambda wide: abs(wide - rim_mm))
    due = {
        "rim_hole": row.hole,
        "sets": one.sets,
        "rim_share": near(share, _SHARE_DIGIT, is_plain=True),
        "rim_mm": near(nearest_mm, HALF_SIZE_DIGIT_MM),
        "rim_at": one.reads(2, -share * rim_mm, share * HALF_SIZE_DIGIT_MM),
    }
    yield from one.says(said, due)


def _rims_mm(one: SetUp, row: PrintedRow) -> list[float]:
    """How wide the hole may be when this step comes: as the steps before it in this setup leave
    it; where none does, as one from the other side may."""
    before = [
        each.tool.diameter_mm
        for each in one.rows
        if each.hole == row.hole and each.step < row.step and each.operation in _WIDENS
    ]
    hole = one.hole_here(row.hole)
    if before or hole is None:
        return [max(before, default=math.nan)]
    drill = leavings_of(hole).before
    if hole.thread is None or drill is None:
        return [hole.diameter_mm]
    least, most, _ = drill(hole)
    return [least + n * (most - least) / 1000 for n in range(1001)]
