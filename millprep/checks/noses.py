"""Whether the noses of countersinks are known, and go into their holes. Layers 0 to 3, planning."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, warning
from millprep.checks.registry import Job, check_of_setup
from millprep.model.tools import Countersink
from millprep.planning import tool_words
from millprep.planning.drawer import wide_enough
from millprep.planning.plan import SetupPlan

_NOSE_UNKNOWN = warning(
    "nose-unknown",
    "hole {0}: the nose of the {tool} is not known: a program with its Z from the tip sinks too "
    "deep by it",
    "measure across the nose and give tip_flat in [drawer] countersinks; else set its Z by the "
    "rim of a hole, as the sheets say",
)
_NOSE_TOO_WIDE = warning(
    "nose-too-wide",
    "hole {0}: the {tool} has a nose of {nose_mm:exact}, as wide as the hole ({rim_mm:exact}): it "
    "does not cut",
    "get a {other}, or measure the nose and give tip_flat",
)


@check_of_setup
def noses(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Depth counts from the nose, which cuts nothing itself."""
    for one in setup_plan.operations:
        tool, cone_mm, rim_mm = one.tool, one.cone_mm, one.rim_mm
        if not isinstance(tool, Countersink) or cone_mm is None or rim_mm is None:
            continue
        if not tool.is_nose_known:
            yield job.finding(_NOSE_UNKNOWN, one.hole, tool=tool_words(tool))
        cabinet = job.plan.shop.cabinet
        blunt = [] if one.in_drawer else wide_enough(cabinet, cone_mm, tool.angle_deg)
        for passed_over in blunt[:1]:
            yield job.finding(
                _NOSE_TOO_WIDE,
                one.hole,
                tool=tool_words(passed_over),
                nose_mm=passed_over.tip_flat_mm,
                rim_mm=rim_mm,
                other=tool_words(tool),
            )
