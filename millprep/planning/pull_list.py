"""The tools to pull, in order of use, and which of them the drawer lacks. Imports layers 0 to 3."""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.model.tools import Cutter
from millprep.planning.plan import Operation, Plan
from millprep.reference.threads import Thread


@frozen
class Pulled:
    """A tool of the job: where it is used, whether the cabinet has it, how deep it must reach.

    threads : that are tapped in the holes of a drill
    """

    number: int
    tool: Cutter
    in_drawer: bool
    setups: tuple[int, ...]
    holes: tuple[str, ...]
    operations: tuple[str, ...]
    deepest_mm: float
    threads: tuple[Thread, ...] = ()


def pull_list(plan: Plan, setup_number: int | None = None) -> list[Pulled]:
    """Every tool once, in the order in which it is first used."""
    uses: dict[Cutter, list[tuple[int, str, str, float, bool]]] = {}
    threads: dict[Cutter, dict[Thread, None]] = {}
    for setup_plan in plan.setups:
        number = setup_plan.setup.number
        if setup_number is not None and number != setup_number:
            continue
        for o in setup_plan.operations:
            use = (number, o.hole.name, o.name, -o.z_mm, o.in_drawer)
            uses.setdefault(o.tool, []).append(use)
            if o.hole.thread is not None and _is_before_tap(o):
                threads.setdefault(o.tool, {})[o.hole.thread] = None
    pulled = []
    for tool, of_tool in uses.items():
        setups, holes, names, depths, owned = zip(*of_tool, strict=True)
        where, at, does = (tuple(dict.fromkeys(each)) for each in (setups, holes, names))
        number = plan.tool_numbers[tool]
        tapped = tuple(threads.get(tool, ()))
        pulled.append(Pulled(number, tool, all(owned), where, at, does, max(depths), tapped))
    return pulled


def _is_before_tap(operation: Operation) -> bool:
    """A drill that leaves the thread its core; wider ones only open the mouth."""
    return operation.name == "drill" and operation.tool.diameter_mm < operation.hole.diameter_mm
