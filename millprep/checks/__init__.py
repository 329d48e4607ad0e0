"""Checks of a part before it is cut. Importing this package enters every check of the registry."""

from millprep.checks import (  # noqa: F401  # imported to enter their checks
    carried,
    contact,
    contact_holders,
    crossings,
    depths,
    dimensions,
    held,
    helical,
    laying,
    making,
    noses,
    other_unit,
    stacked,
    table,
    to_be_had,
    tools,
    vice,
    walls,
)
from millprep.checks.registry import REGISTRY, Job, check, cured, run_checks, with_cures
from millprep.checks.telling import alike, told_once

__all__ = ["REGISTRY", "Job", "alike", "check", "cured", "run_checks", "told_once", "with_cures"]
