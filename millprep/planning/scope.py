"""Which part of a program is asked for: a proving run, the spots alone, one tool, or the rest of
what was interrupted.

Gives the setup's plan with the operations that are to be made, and what is taken as made before.
Imports layers 0 to 2 and planning's data.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from millprep.base.findings import MillprepError, stopped
from millprep.base.records import replace
from millprep.base.units import MM_PER_INCH, Length, Units
from millprep.model.partial import Partial
from millprep.planning.plan import Operation, Plan, Scope, SetupPlan
from millprep.planning.program_travel import most_raised_mm
from millprep.planning.programs import is_tapped_by_hand, why_by_hand

OVER_DEEPEST_MM = 2.0  # a proving run stays so far over the work (1 to 2 mm, common practice)


def scoped(plan: Plan, setups: Sequence[SetupPlan], asked: Partial) -> list[SetupPlan]:
    """The setups that have anything of what is asked for, with that alone.

    setups : those that are meant, of the plan
    Raises MillprepError for what the plan does not have.
    """
    by_name = {"--from-hole": asked.from_hole, "--leave-out": asked.leave_out}
    named = [option for option, given in by_name.items() if given]
    if named and any(one.places_mm for one in setups):
        raise stopped(
            "contradiction",
            f"{named[0]} with --places: several pieces have a hole of that name",
            "do the rest of that piece by a program of its own, without --places",
        )
    left_out = left_out_of(setups, asked.leave_out)
    if asked.is_restart:
        setups = [_meant(plan, setups, asked)]
    found = [_scoped(plan, one, asked, left_out) for one in setups]
    kept = [one for one in found if one.operations]
    if not kept:
        raise _nothing(plan, setups, asked)
    if asked.prove_mm is not None:
        kept = [_raised(plan, one, asked, asked.prove_mm) for one in kept]
    return kept


def _scoped(
    plan: Plan, setup_plan: SetupPlan, asked: Partial, left_out: tuple[str, ...]
) -> SetupPlan:
    here = {one.hole.name for one in setup_plan.operations}
    left_out = tuple(name for name in left_out if name in here)
    whole = tuple(one for one in setup_plan.operations if one.hole.name not in left_out)
    made = [one for one in whole if why_by_hand(one, plan) is None]
    scope = Scope(whole=setup_plan.operations, left_out=left_out)
    if asked.spots_only:
        spots = tuple(one for one in made if one.name == "spot drill")
        return replace(setup_plan, operations=spots, scope=replace(scope, kind="spots"))
    if not asked.is_restart and asked.tool is None:
        return replace(setup_plan, operations=whole, scope=scope)
    numbers = [plan.tool_numbers[one.tool] for one in made]
    if asked.tool is not None:
        scope = replace(scope, kind="tool", tool=asked.tool)
        if asked.tool not in numbers:
            return replace(setup_plan, operations=(), scope=scope)
        begin = numbers.index(asked.tool)
        operations = tuple(one for one in made if plan.tool_numbers[one.tool] == asked.tool)
    else:
        begin = _begin(plan, made, asked, left_out)
        scope = replace(scope, kind="restart", tool=numbers[begin])
        done = {id(one) for one in made[:begin]}
        operations = tuple(one for one in whole if id(one) not in done)
    before, first = tuple(made[:begin]), made[begin]
    carrier = None
    if is_tapped_by_hand(first, plan):
        carrier = next((o for o in reversed(before) if not is_tapped_by_hand(o, plan)), None)
    over = _over(before, operations) if scope.kind == "restart" else None
    scope = replace(scope, before=before, carrier=carrier, over=over)
    return replace(setup_plan, operations=operations, scope=scope)


def _begin(plan: Plan, made: Sequence[Operation], asked: Partial, left_out: Iterable[str]) -> int:
    """Index of the first that is made anew."""
    name, number = asked.from_hole, asked.from_tool
    if name is not None:
        name = _named(name, {one.hole.name for one in made} | {*left_out}, "--from-hole")
        if name in left_out:
            raise stopped(
                "contradiction",
                f"{name} is to be made first, and --leave-out leaves it out",
                "name the hole after it in --from-hole, or leave out --leave-out",
            )
    here = [
        index
        for index, one in enumerate(made)
        if number in (None, plan.tool_numbers[one.tool]) and name in (None, one.hole.name)
    ]
    tools = _tools_of(plan, (made[index] for index in here))
    if not here:
        theirs = [one for one in made if one.hole.name == name]
        raise stopped(
            "unknown-word",
            f"tool {number} does nothing at {name}",
            f"{name} is made by {_words(_tools_of(plan, theirs))}",
        )
    if len(tools) > 1:
        raise stopped(
            "unknown-word",
            f"{name} is made by {_words(tools)}",
            f"say which of them is to begin there: --from-tool {max(tools)}",
        )
    if here[0] == 0:
        raise stopped(
            "contradiction",
            "nothing comes before that: it is the whole program",
            "leave out --from-tool and --from-hole",
        )
    _refuse_split(plan, made[: here[0]], made[here[0] :])
    return here[0]


def _refuse_split(plan: Plan, before: Sequence[Operation], rest: Sequence[Operation]) -> None:
    """A tool that comes again to a hole: "made before: T1 all" would not tell which time."""
    twice = {(one.tool, one.hole.name) for one in before} & {
        (one.tool, one.hole.name) for one in rest
    }
    for tool, name in sorted(twice, key=lambda pair: pair[1])[:1]:
        number = plan.tool_numbers[tool]
        raise stopped(
            "not-to-be-had",
            f"tool {number} comes to {name} twice, and this lies between the two",
            "do the rest from the listing: millprep listing --from-step",
        )


def _over(before: Sequence[Operation], rest: Sequence[Operation]) -> Operation:
    """What was last done to the last hole that is finished, else to one that is only spotted."""
    last = {one.hole.name: one for one in before}
    unfinished = {one.hole.name for one in rest}
    in_order = [one for one in before if last[one.hole.name] is one]
    finished = [one for one in in_order if one.hole.name not in unfinished]
    spots = [one for one in in_order if one.name == "spot drill"]
    return (finished or spots or in_order)[-1]


def left_out_of(setups: Sequence[SetupPlan], given: Iterable[str]) -> tuple[str, ...]:
    """The names of the holes that are meant. Raises MillprepError for a name that is none."""
    holes = {one.hole.name: one.hole for each in setups for one in each.operations}
    groups = {hole.group for hole in holes.values() if hole.group}
    out: dict[str, None] = {}
    for word in given:
        name = _named(word, {*holes, *groups}, "--leave-out")
        out |= dict.fromkeys(n for n, hole in holes.items() if name in (n, hole.group))
    return tuple(out)


def _named(word: str, names: Iterable[str], option: str) -> str:
    """The hole of that name, in whatever letters. Raises MillprepError that names the nearest."""
    known = {name.casefold(): name for name in sorted(names)}
    found = known.get(word.strip().casefold())
    if found is not None:
        return found
    near = get_close_matches(word.casefold(), known, 3, 0.5) or [*known][:8]
    what = f'{option}: no hole "{word}"'
    raise stopped("unknown-word", what, f"nearest: {', '.join(known[one] for one in near)}")


def _meant(plan: Plan, setups: Sequence[SetupPlan], asked: Partial) -> SetupPlan:
    """The one setup in which the tool makes the hole."""
    made = {each.setup.number: _powered(plan, each) for each in setups}
    name, number = asked.from_hole, asked.from_tool
    if name is not None:
        name = _named(name, {o.hole.name for each in made.values() for o in each}, "--from-hole")
    with_tool = [s for s in setups if number in (None, *_tools_of(plan, made[s.setup.number]))]
    if not with_tool:
        raise _nothing(plan, setups, asked)
    with_hole = [
        each
        for each in with_tool
        if name in (None, *(one.hole.name for one in made[each.setup.number]))
    ]
    meant = with_hole or with_tool
    if len(meant) > 1:
        numbers = [each.setup.number for each in meant]
        raise stopped(
            "unknown-word",
            f"setups {_and(numbers)} have that: a restart is of one",
            f"name it: --setup {numbers[-1]}",
        )
    return meant[0]


def _powered(plan: Plan, setup_plan: SetupPlan) -> list[Operation]:
    """What the program makes, the hand at its stops included."""
    return [one for one in setup_plan.operations if why_by_hand(one, plan) is None]


def _nothing(plan: Plan, setups: Sequence[SetupPlan], asked: Partial) -> MillprepError:
    tools = _tools_of(plan, (one for each in setups for one in _powered(plan, each)))
    if asked.spots_only:
        return stopped("not-to-be-had", "no hole is spotted", "leave out --spots-only")
    number = asked.tool if asked.from_tool is None else asked.from_tool
    if number is not None and number not in tools:
        return stopped(
            "unknown-word", f"tool {number} makes nothing here", f"there are {_words(tools)}"
        )
    return stopped("not-to-be-had", "nothing is left to make", "leave out less")


def _tools_of(plan: Plan, operations: Iterable[Operation]) -> dict[int, str]:
    return {plan.tool_numbers[one.tool]: f"{one.tool.kind} {one.tool.words}" for one in operations}


def _words(tools: dict[int, str]) -> str:
    return _and([f"tool {number} ({words})" for number, words in sorted(tools.items())])


def _and(words: Sequence[object]) -> str:
    *first, last = map(str, words)
    return f"{', '.join(first)} and {last}" if first else last


def _raised(plan: Plan, setup_plan: SetupPlan, asked: Partial, height_mm: float) -> SetupPlan:
    """So far above the part. Raises MillprepError where it would cut, or the mill does not go."""
    scope = replace(setup_plan.scope, raised_mm=height_mm, is_turning=asked.is_turning)
    raised = replace(setup_plan, scope=scope)
    if plan.shop.control.axes == "xy":
        return raised
    units, number = asked.units, setup_plan.setup.number
    deepest = min(setup_plan.operations, key=lambda one: one.z_mm)
    least_mm, most_mm = OVER_DEEPEST_MM - deepest.z_mm, most_raised_mm(plan, setup_plan)
    least, most = _steps(least_mm, units, is_up=True), _steps(most_mm, units, is_up=False)
    given = f"--prove: {Length(height_mm, units):1}"
    if least.mm > most.mm:
        raise stopped(
            "not-to-be-had",
            f"no proving run of setup {number}: it would have to be {least:1} up, and the mill "
            f"goes up by {most:1} at most",
            "prove it tool by tool (--tool N), or take shorter tools",
        )
    if height_mm < least_mm - 1e-6:
        raise stopped(
            "unknown-word",
            f"{given} is too low: {deepest.hole.name} in setup {number} goes "
            f"{Length(-deepest.z_mm, units):1} deep",
            f"give {least:1} or more, up to {most:1}",
        )
    if height_mm > most_mm + 1e-6:
        raise stopped(
            "unknown-word",
            f"{given} is too high: in setup {number} the mill goes up by {most:1} at most",
            f"give {least:1} to {most:1}",
        )
    return raised


def _steps(value_mm: float, units: Units, *, is_up: bool) -> Length:
    """In halves of a millimetre or twentieths of an inch, up or down."""
    step_mm = 0.05 * MM_PER_INCH if units == "inch" else 0.5
    steps = math.ceil(value_mm / step_mm - 1e-6) if is_up else math.floor(value_mm / step_mm + 1e-6)
    return Length(max(steps, 0) * float(step_mm), units)
