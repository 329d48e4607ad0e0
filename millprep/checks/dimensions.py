"""The drawing's own dimensions, where the part file holds any. Layers 0 to 3."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.checks.registry import Job, check_of_part


@check_of_part
def dimensions(job: Job) -> Iterator[Finding]:
    """Every [[dimension]] agrees with the places and with the other dimensions."""
    if job.plan.part.dimensions:
        from millprep.checks.plan_dimensions import what_dimensions_say  # few parts hold any

        yield from what_dimensions_say(job.plan.part)
