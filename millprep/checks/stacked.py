"""A stack in one setting: whether reamers reach through it and are guided, quill and headroom.

Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import groupby, pairwise

import numpy as np

from millprep.base.findings import Finding, stop, warning
from millprep.checks.registry import Job, check_of_setup
from millprep.model.part import Layer, Part
from millprep.model.tools import Cutter, Drill, Reamer
from millprep.planning import tool_words
from millprep.planning.head import heights_of, length_mm, moves_before
from millprep.planning.layers import TOUCHING_MM, passed
from millprep.planning.plan import Operation, SetupPlan

HELD_MM = 40.0  # of a shank in a drill chuck (common practice)
GUIDED_DIAMETERS = 3.0  # that a drill stands out of a hole of its size and keeps true (the same)
OVER_PILLAR_MM = 8.0  # of a strap's toe from the screw of a distance piece (common practice)
OVER_FACE_MM = 2.0  # from which the quill comes down (common practice)
# Flutes of machine reamers by diameter, where nobody has said: DIN 212, from memory.
_FLUTES_MM = ((5.0, 23.0), (6.0, 26.0), (8.0, 33.0), (10.0, 38.0), (12.0, 44.0), (16.0, 52.0))
_LONGEST_FLUTES_MM = 60.0

_TOO_SHORT = stop(
    "stack-too-high",
    "{0}: {tool} reaches {reach_mm:1 bare} below its chuck and has to go {deep_mm:1}",
    "use a longer one and write its length or reach into the shop file, or make the gap smaller",
)
_UNGUIDED = warning(
    "reamer-unguided",
    '{0}: {tool} has {flute_mm:1} of flutes: they are out of "{near}" when it meets "{far}", '
    "{gap_mm:1} further down",
    'fill the gap: gap = "scrap block", reamed with it, or ream with longer flutes',
)
_WANDERS = warning(
    "drill-wanders",
    '{0}: {tool} goes {gap_mm:1} through nothing from "{near}" to "{far}", and may wander there',
    'fill the gap: gap = "scrap block", drilled with it',
)
_QUILL = warning(
    "quill-too-short",
    "{0}: {tool} asks {needed_mm:1} of the quill, which travels {travel_mm:exact}",
    "stop the spindle above the far member, lower the head by {lower_mm:0} or more with X and Y "
    "locked, and go on",
)
_QUILL_LOSES = stop(
    "quill-too-short",
    "{0}: {tool} asks {needed_mm:1} of the quill, which travels {travel_mm:exact}: the head would "
    "have to move in the bore, and on this mill X and Y are lost",
    "bore it on a mill whose head keeps its place, or with shorter distance pieces for the boring",
)
_HEAD_MOVES = stop(
    "head-has-to-move",
    "{0}: the head has to move between the tools of this bore, and on this mill X and Y are lost",
    "use tools of more even length: a longer spot drill, a stub drill",
)
_OVER_GAP = warning(
    "strap-over-gap",
    "{strap} presses over a gap: the member bends, and the bores are out of line when it is let go",
    "set its toe over a distance piece or bar, or leave straps out: they are placed so then",
)
_HEADS = stop(
    "heads-under",
    "heads stand {under_mm:1} out of the underside, and the packing is {packing_mm:exact} high",
    "give packing that is higher than they are, or leave it out: it is chosen then",
)
_ROOM = warning(
    "spindle-room",
    "{tool} needs {needed_mm:0} between table and spindle, over a stack of {high_mm:1}, and Z "
    "travels {travel_mm:exact}",
    "see that it goes in before the stack is set up, or use shorter tools",
)


def flutes_mm(tool: Reamer) -> float:
    """As said, or as is usual for its diameter."""
    if tool.flute_mm is not None:
        return tool.flute_mm
    return next((long for wide, long in _FLUTES_MM if tool.diameter_mm <= wide), _LONGEST_FLUTES_MM)


def reach_mm(tool: Cutter) -> float:
    """From its end to the chuck."""
    return tool.reach_mm if tool.reach_mm is not None else length_mm(tool) - HELD_MM


@check_of_setup
def reamers_through(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A reamer reaches through the whole stack, and its flutes guide it from body to body."""
    for one in setup_plan.operations if job.plan.part.layers else ():
        tool = one.tool
        if not isinstance(tool, Reamer):
            continue
        words = tool_words(tool)
        if -one.z_mm > reach_mm(tool) + 1e-9:
            reach, deep = reach_mm(tool), -one.z_mm
            yield job.finding(_TOO_SHORT, one.hole, tool=words, reach_mm=reach, deep_mm=deep)
        flutes = flutes_mm(tool)
        for near, far in pairwise(passed(job.plan.part, one.hole)):
            gap = far.from_mm - near.to_mm
            if gap >= flutes - tool.lead_mm:
                yield job.finding(
                    _UNGUIDED,
                    one.hole,
                    tool=words,
                    flute_mm=flutes,
                    near=near.name,
                    far=far.name,
                    gap_mm=gap,
                )


@check_of_setup
def drills_over_gaps(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """The first drill of a bore, which the hole in the near body guides, keeps true so far."""
    for _, run in groupby(setup_plan.operations, key=lambda one: one.hole.name):
        first = next((one for one in run if isinstance(one.tool, Drill)), None)
        layers = passed(job.plan.part, first.hole) if first is not None else ()
        for near, far in pairwise(layers):
            gap = far.from_mm - near.to_mm
            if first is not None and gap > GUIDED_DIAMETERS * first.tool.diameter_mm:
                yield job.finding(
                    _WANDERS,
                    first.hole,
                    tool=tool_words(first.tool),
                    gap_mm=gap,
                    near=near.name,
                    far=far.name,
                )


@check_of_setup
def quill_through(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """The quill gets a tool through, or the head is lowered between, where it keeps its place."""
    mill = job.plan.shop.mill
    travel = mill.quill_travel_mm
    if not job.plan.part.layers or travel is None:
        return
    loses = mill.head_moves == "loses"
    for _, run in groupby(setup_plan.operations, key=lambda one: one.hole.name):
        deepest = min(run, key=lambda one: one.z_mm)
        needed = OVER_FACE_MM - deepest.z_mm
        if needed > travel:
            yield job.finding(
                _QUILL_LOSES if loses else _QUILL,
                deepest.hole,
                tool=tool_words(deepest.tool),
                needed_mm=needed,
                travel_mm=travel,
                lower_mm=math.ceil(needed - travel),
            )
    if loses:
        yield from _moved(job, setup_plan)


def _moved(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    operations = setup_plan.operations
    moves = moves_before(operations, heights_of(setup_plan, job.plan.part, job.plan.shop))
    holes = {
        operations[number].hole.name: operations[number].hole
        for number in moves
        if number and operations[number - 1].hole.name == operations[number].hole.name
    }
    for hole in holes.values():
        yield job.finding(_HEAD_MOVES, hole)


@check_of_setup
def straps_over_gaps(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A strap presses where bars or distance pieces bear what it presses on."""
    part, setup, strapped = job.plan.part, setup_plan.setup, setup_plan.holding.strapped
    has_gap = any(b.from_mm - a.to_mm > TOUCHING_MM for a, b in pairwise(_members(part)))
    if strapped is None or not has_gap:
        return
    places = setup.from_part(np.array(part.pillars).reshape(-1, 3).T)[:2].T
    for strap in strapped.straps:
        if not any(math.dist(strap.toe_mm, place) <= OVER_PILLAR_MM for place in places):
            yield job.setup_finding(_OVER_GAP, setup, line=strap.line, strap=strap.name)


def _members(part: Part) -> list[Layer]:
    return [one for one in part.layers if not one.is_scrap]


@check_of_setup
def heads_under(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """The packing is higher than the heads and nuts that stand out of the underside."""
    setup, strapped = setup_plan.setup, setup_plan.holding.strapped
    under = max((setup.low_mm[2] - one.low_mm[2] for one in setup.proud), default=0.0)
    if strapped is not None and strapped.packing_mm < under - 1e-9:
        line = setup.request.lines.get("packing", setup.request.line)
        told = {"under_mm": under, "packing_mm": strapped.packing_mm}
        yield job.setup_finding(_HEADS, setup, line=line, **told)


@check_of_setup
def room_under_the_spindle(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Table, packing, stack and the longest tool lie below the spindle."""
    if not job.plan.part.layers or not setup_plan.operations:
        return
    low, high = job.plan.shop.mill.travel_mm[2]
    strapped = setup_plan.holding.strapped
    under = strapped.packing_mm if strapped is not None else 0.0
    longest: Operation = max(setup_plan.operations, key=lambda one: length_mm(one.tool))
    needed = under + setup_plan.setup.height_mm + OVER_FACE_MM + length_mm(longest.tool)
    if needed > high - low:
        yield job.setup_finding(
            _ROOM,
            setup_plan.setup,
            tool=tool_words(longest.tool),
            needed_mm=needed,
            high_mm=setup_plan.setup.height_mm,
            travel_mm=high - low,
        )
