"""Whether a sheet says what to grind where the material wants another point than a drill has.

A point of angle a is d / 2 / tan(a / 2) long: a blunter one goes less deep by the difference, its
full diameter as far. Imports the part, the shop, the tables and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.base.findings import Finding
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.slots import Said
from millprep.reference.cutters import WantedPoint, wanted_point
from millprep.reference.materials import material_named
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import Run, SetUp


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
        if not _is_so(one, wanted, row, said):
            yield one.wrong(f"{said.text}: so is not step {row.step}", said)


def _is_so(one: SetUp, wanted: WantedPoint, row: PrintedRow, said: Said) -> bool:
    angles = (wanted.least_deg, wanted.most_deg, wanted.grind_deg)
    told = (float(said[each]) for each in ("wanted_least", "wanted_most", "grind_deg"))
    lengths = (
        row.tool.diameter_mm / 2 / math.tan(math.radians(angle / 2))
        for angle in (row.tool.point_angle_deg or 118.0, wanted.grind_deg)
    )
    shorter_mm, printed = next(lengths) - next(lengths), one.printed
    count_mm = 2 * printed.half_count_mm + SLACK_MM
    new_mm = printed.z_sign * said.mm("grind_at")
    return (
        tuple(told) == angles
        and said.count("point_step") == row.step
        and said["sets"] == ("Z" if one.shop.readout.axes == "xyz" else "quill")
        and abs(said.mm("point_at") - row.z_mm) <= SLACK_MM
        and abs(new_mm - printed.z_sign * row.z_mm - shorter_mm) <= count_mm
        and abs(said.mm("point_off") - abs(shorter_mm)) <= count_mm
        and said["point_way"] == ("less" if shorter_mm > 0 else "more")
    )
