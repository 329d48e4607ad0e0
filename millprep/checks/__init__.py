"""Checks of a part before it is cut. Importing this package enters every check of the registry."""

from millprep.checks import (  # noqa: F401  # imported to enter their checks
    contact,
    contact_holders,
    held,
    helical,
    laying,
    making,
    other_unit,
    rules,
    stacked,
    table,
    tools,
    vice,
)
from millprep.checks.registry import (
    REGISTRY,
    Job,
    alike,
    check,
    cured,
    run_checks,
    told_once,
    with_cures,
)

__all__ = ["REGISTRY", "Job", "alike", "check", "cured", "run_checks", "told_once", "with_cures"]
