"""Whether the tools reach, and whether the spindle runs at a fit speed. Layers 0 to 3, planning."""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding, words
from millprep.base.units import Length
from millprep.checks.registry import Job, check
from millprep.model.part import Hole
from millprep.model.tools import Drill
from millprep.planning import tool_words
from millprep.planning.plan import Operation
from millprep.reference.fits import hole_limits_um
from millprep.reference.materials import COUNTERSINK_SHARE, REAM_SHARE, material_named

_TOO_FAST = 1.15  # the slowest speed this much over the table's is too fast, if not by far


def _operations(job: Job) -> Iterator[Operation]:
    for setup_plan in job.plan.setups:
        yield from setup_plan.operations


@check
def reach(job: Job) -> Iterator[Finding]:
    """No tool goes deeper than its flutes; drills keep a diameter of flute for the chips."""
    for operation in _operations(job):
        tool, hole = operation.tool, operation.hole
        if tool.flute_mm is None or tool.kind not in ("drill", "reamer", "tap", "end mill"):
            continue
        deep = -operation.z_mm
        chip_room = tool.diameter_mm if isinstance(tool, Drill) else 0.0
        if deep > tool.flute_mm:
            yield job.finding(
                "stop",
                "beyond-flutes",
                words(
                    "hole {0}: {tool} goes {deep} deep, its flutes are {flute} long",
                    tool=tool_words(tool),
                    deep=Length(deep, 1),
                    flute=Length(tool.flute_mm, None),
                ),
                _reach_remedy(job, operation, tool.flute_mm),
                hole,
            )
        elif deep > tool.flute_mm - chip_room:
            yield job.finding(
                "warning",
                "flutes-full",
                words(
                    "hole {0}: {tool} goes {deep} deep with flutes of {flute}: the chips have no "
                    "way out",
                    tool=tool_words(tool),
                    deep=Length(deep, 1),
                    flute=Length(tool.flute_mm, None),
                ),
                "withdraw it fully at every peck, or use a longer one",
                hole,
            )


def _reach_remedy(job: Job, operation: Operation, flute_mm: float) -> str:
    """A longer tool; half way from either end where that is possible and enough."""
    hole, thickness = operation.hole, job.thickness_mm(operation.hole)
    beyond = max(-operation.z_mm - thickness, 0.0)
    is_drilled_once = isinstance(operation.tool, Drill) and not hole.from_both_ends
    if hole.is_through and is_drilled_once and thickness / 2 + beyond <= flute_mm:
        return "use a longer one, or drill from both ends (from_both_ends = true)"
    return "use a longer one"


@check
def speeds(job: Job) -> Iterator[Finding]:
    """The slowest spindle speed is not too fast for the widest tool."""
    material = material_named(job.plan.part.material)
    if material is None:
        return
    slowest = job.plan.shop.mill.slowest_rpm
    seen: dict[tuple[str, object], tuple[float, list[Hole]]] = {}
    recesses = dict.fromkeys(("countersink", "counterbore", "spotface", "bore"), COUNTERSINK_SHARE)
    drills = dict.fromkeys(("drill", "pilot drill", "spot drill"), 1.0)
    shares = {**drills, **recesses, "ream": REAM_SHARE}
    for operation in _operations(job):
        diameter = operation.cone_mm or operation.tool.diameter_mm
        share = shares.get(operation.name)
        if share is None or diameter <= 0:
            continue
        ideal = 1000 * material.drill_m_per_min * share / (math.pi * diameter)
        if slowest > ideal * _TOO_FAST:
            entry = seen.setdefault((operation.name, operation.tool), (ideal, []))
            entry[1].append(operation.hole)
    for (name, tool), (ideal, holes) in seen.items():
        yield job.finding(
            "warning",
            "too-fast",
            f"{name} with {tool_words(tool)} wants {ideal:.0f} rev/min, "  # type: ignore[arg-type]  # keyed by tool
            f"the slowest speed is {slowest:g}",
            "feed by hand in short bites with plenty of oil, or use another machine",
            *holes[:1],
        )


@check
def fits(job: Job) -> Iterator[Finding]:
    """A reamer on size leaves a hole in the upper half of H7; other fits want another reamer.

    Reamers are ground between 0.5 and 0.85 of the H7 tolerance over size (DIN 1420, from memory).
    """
    for hole in job.plan.part.holes:
        if not hole.kind.is_reamed or hole.limits_um is None:
            continue
        lower_um, upper_um = hole.limits_um
        grade_um = hole_limits_um(hole.diameter_mm, "H7")[1]
        if lower_um <= 0.5 * grade_um and upper_um >= 0.85 * grade_um:
            continue
        low, high = (hole.diameter_mm + limit / 1000 for limit in (lower_um, upper_um))
        yield job.finding(
            "warning",
            "fit-not-reamed",
            words(
                "hole {0}: {fit} wants {low} to {high}, a reamer on size leaves {least} to {most}",
                fit=hole.fit or "limits",
                low=_bare(low),
                high=_bare(high),
                least=_bare(hole.diameter_mm),
                most=_bare(hole.diameter_mm + grade_um / 1000),
            ),
            "fit the pin to the hole, or use a reamer ground for this fit",
            hole,
        )


def _bare(length_mm: float) -> Length:
    return Length(length_mm, 3, is_bare=True)
