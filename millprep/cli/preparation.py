"""The steps that every sheet goes through: read, plan, check; stop where the check stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from millprep.errors import Finding, MillprepError, worst_first
from millprep.part import Part
from millprep.planning import Plan
from millprep.shop import Shop


@dataclass(frozen=True, slots=True)
class Prepared:
    """A part planned and checked; findings worst first."""

    part: Part
    shop: Shop
    plan: Plan
    findings: tuple[Finding, ...]

    @property
    def setup_numbers(self) -> tuple[int, ...]:
        return tuple(setup_plan.setup.number for setup_plan in self.plan.setups)


def prepare(part_path: Path, shop_name: str, order: str = "tool") -> Prepared:
    """Raises MillprepError for what cannot be judged."""
    from millprep.checks import run_checks
    from millprep.cli.common import load
    from millprep.planning import make_plan

    part, shop, notes = load(part_path, shop_name)
    plan = make_plan(part, shop, order)
    return Prepared(part, shop, plan, tuple(worst_first([*run_checks(plan), *notes])))


def wanted_setup(given: int | None, numbers: Sequence[int]) -> int | None:
    """The setup asked for, or a refusal that names those there are."""
    if given is None or given in numbers:
        return given
    there = f"setups 1 to {len(numbers)}" if len(numbers) > 1 else "one setup"
    raise MillprepError(
        Finding("stop", "unknown-word", f"there is no setup {given}", f"this part has {there}")
    )
