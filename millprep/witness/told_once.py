"""What a sheet for the mill says once for all its setups: what was assumed, what was found.

Imports the part, the shop and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.base.findings import Finding
from millprep.reading.pages.sheet import ReadSheet
from millprep.reading.pages.slots import Said, as_figure
from millprep.witness.asked import plain
from millprep.witness.leavings import LEAST_BREAKTHROUGH_MM, SPOT_OVER_SIZE_MM
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import SetUp

_ONCE = "material sizes bore unit by measured drawing part_mark units positions advice oil note"
_ABOUT_MM = 0.02  # of two figures in inches
_ASSUMED = ("breakthrough", "cone_over", "points", "readout_count", "depths")


def check_told_once(
    sheet: ReadSheet, bodies: Sequence[SetUp], remarks: Sequence[Finding] | None
) -> Iterator[Finding]:
    """What holds for all setups is told once; JSON has it of each by name."""
    here = {number: {row.hole for row in body.rows} for number, body in enumerate(bodies)}
    bearing = {number: _bearing(remarks or (), body) for number, body in enumerate(bodies)}
    yield from check_assumed(bodies)
    first = bodies[0]
    if remarks is not None:
        wanted = {one for found in bearing.values() for one in found}
        told = [one for body in bodies for one in body.all("remark")]
        if sorted(map(_remark, told)) != sorted(wanted):
            yield first.wrong(f"REMARKS has {len(told)} remarks of {len(wanted)}")
    for number, body in enumerate(bodies):
        named = body.page.title.named
        if named is None:
            continue
        other = first.page.title.named or {}
        for name in _ONCE.split():
            if named.get(name) != other.get(name):
                yield body.wrong(f"{name} is {named.get(name)} by name, {other.get(name)} before")
        for name in _ASSUMED:
            if named.get(name) != sheet.whole.get(name):
                yield body.wrong(f"{name} is {named.get(name)} by name")
        entries = [(one["severity"], plain(one["message"])) for one in named.get("remarks", ())]
        if remarks is not None and sorted(entries) != sorted(bearing[number]):
            yield body.wrong(f"{len(entries)} remarks by name, for {len(here[number])} holes")


def _bearing(remarks: Sequence[Finding], body: SetUp) -> set[tuple[str, str]]:
    """What was found that bears on a setup."""
    number, here = body.printed.setup.number, {row.hole for row in body.rows}
    return {
        (one.severity, plain(one.message))
        for one in remarks
        if one.setup in (None, number) and (not one.holes or here.intersection(one.holes))
    }


def _remark(said: Said) -> tuple[str, str]:
    return said["severity"], plain(said["message"])


def check_assumed(bodies: Sequence[SetUp]) -> Iterator[Finding]:
    """What the sheet shows was assumed, and nothing that the part does not leave open."""
    last = bodies[-1]
    part, printed = last.printed.part, last.printed
    said = [one for body in bodies for one in body.page.whole.all("assumed", "assumed-dials")]
    if len(said) != 1:
        yield last.wrong(f"{len(said)} sentences of ASSUMED")
        return
    (one,) = said
    rows = [row for body in bodies for row in body.rows]
    is_open = any(hole.is_through and hole.breakthrough_mm is None for hole in part.holes)
    figures = {"breakthrough": LEAST_BREAKTHROUGH_MM if is_open else None}
    is_spotted = any(row.operation == "spot drill" for row in rows)
    is_told = one.has("cone_over")  # the spots may be in another setup
    figures["cone_over"] = SPOT_OVER_SIZE_MM if is_spotted or is_told else None
    for name, right in figures.items():
        told = as_figure(one[name], printed.setup.units).mm if one.has(name) else None
        if (told is None) != (right is None) or abs((told or 0.0) - (right or 0.0)) > _ABOUT_MM:
            yield last.wrong(f"ASSUMED: {name} is {one[name]}, not {right}", one)
    points = {float(point["point"]) for point in one.parts("points")}
    drills = {row.tool.point_angle_deg for row in rows if row.tool.kind == "drill"}
    if not drills <= points:
        yield last.wrong(f"ASSUMED has points of {points} degrees; the drills have {drills}", one)
    depths = "dial" if "z" in last.shop.dials else "quill"
    if one.slots.get("depths", depths) != depths:
        yield last.wrong(f"depths are told by the {one['depths']}", one)
    if not one.has("readout_count"):
        return
    if abs(as_figure(one["readout_count"], printed.setup.units).mm - printed.count_mm) > SLACK_MM:
        yield last.wrong(f"the readout does not count {one['readout_count']}", one)
