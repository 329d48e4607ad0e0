"""How a countersink gets its Z: by its nose where that is known, else by the rim of a hole.

A cone of angle a whose flanks meet a rim of diameter d would end d / 2 / tan(a / 2) below it.
Imports the part, the shop, the tables and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.reading.pages.printed import PrintedRow, PrintedTool
from millprep.reading.pages.slots import Said
from millprep.reference.cutters import usual_nose_mm
from millprep.witness.leavings import leavings_of
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, SetUp

_WIDENS = ("pilot drill", "drill", "bore", "counterbore", "spotface")
_SAME_MM = 0.003
_SHARE_DIGIT = 0.0006


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
    printed = one.printed
    yield from one.named(said, touch_off="rim")
    share = 0.5 / math.tan(math.radians((row.tool.point_angle_deg or 90.0) / 2))
    rim, at = said.figure("rim_mm"), said.mm("rim_at")
    is_so = said["rim_hole"] == row.hole
    is_so &= said["sets"] == ("Z" if one.shop.readout.axes == "xyz" else "quill")
    is_so &= abs(float(said["rim_share"]) - share) <= _SHARE_DIGIT
    is_so &= any(abs(rim.mm - wide) <= HALF_SIZE_DIGIT_MM for wide in _rims_mm(one, row))
    exact = -share * rim.mm
    is_so &= abs(printed.z_sign * at - exact) <= printed.half_count_mm + share * HALF_SIZE_DIGIT_MM
    is_so &= printed.is_whole_counts(at)
    if not is_so:
        yield one.wrong(f"{said.text}: {share:.3f} of {row.hole} is {exact:.3f}", said)


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
