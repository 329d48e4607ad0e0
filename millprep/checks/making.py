"""How a hole is made where the part file says so: its drills, its pecks, its spot.

Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from millprep.base.findings import Finding, Offer, Severity, Words, stop, warning, words
from millprep.base.records import replace
from millprep.checks.registry import Job, at_hole, check, check_of_setup, offering
from millprep.model.part import Hole
from millprep.model.tools import PointedTool
from millprep.planning import tool_words
from millprep.planning.drawer import Choice
from millprep.planning.making import making_of
from millprep.planning.plan import Operation, SetupPlan
from millprep.reference import shared_rules as rules
from millprep.reference.drills import Drill
from millprep.reference.materials import Material, material_named
from millprep.reference.shared_rules import HoleBefore
from millprep.sizes import read_drill
from millprep.sums import cutting

_DRILLING = ("pilot drill", "drill")
_SAME_MM = 0.003  # a hole is of the size of the drill that made it within this


_WRONG_DRILLS = stop("wrong-drills", "hole {0}: {said}", "{advice}")
_NOT_LARGER = replace(
    _WRONG_DRILLS, said="hole {0}: after {first} comes {second}, which is not larger"
)
_NOTHING_TO_BORE = replace(
    _WRONG_DRILLS, said="hole {0}: drilled {drill}, nothing is left to bore to {size_mm:exact}"
)
_LAST_TOO_LARGE = replace(
    _WRONG_DRILLS, said="hole {0}: the last of its drills is {drill}, and the hole {size_mm:exact}"
)
_WRONG_FOR_TOOL = stop("hole-wrong-for-tool", "hole {0}: {said}", "{advice}")
_PECK_TOO_SMALL = stop(
    "peck-too-small",
    "hole {0}: pecks of {peck_mm:exact} are {count} pecks to {deep_mm:1} deep",
    "peck = {enough} or more, or leave it out for the schedule",
)
_DEEP_PECK = warning(
    "deep-peck",
    "hole {0}: a bite of {bite_mm} with {tool}; the schedule allows {allowed_mm} there",
    "leave peck out for the schedule, or give a list that ends in smaller bites",
)
_SPOT_TOO_WIDE = stop(
    "spot-too-wide",
    "hole {0}: {tool} has a flat of {flat_mm:exact}, and its cone is to be {cone_mm} wide",
    "write a tool with a smaller flat into the drawer{otherwise}",
)


@check
def drills_given(job: Job) -> Iterator[Finding]:
    """Drills grow, and end at the hole's size or at what its reamer or tap follows."""
    for hole in job.plan.part.holes:
        if not hole.drills_words:
            yield from _chosen(job, hole)
            continue
        line = hole.lines.get("drills")
        sizes = [read_drill(words, job.plan.part.units) for words in hole.drills_words]
        small = next(
            ((one, two) for one, two in pairwise(sizes) if two.diameter_mm <= one.diameter_mm), None
        )
        if small is None:
            yield from _last_drill(job, hole, sizes)
            continue
        first, second = (size.designation for size in small)
        drills = _leading_up(job, hole, sizes)
        advice = _to_write(hole, drills)
        yield offering(
            job.finding(_NOT_LARGER, hole, line=line, first=first, second=second, advice=advice),
            _written(hole, drills),
        )


def _chosen(job: Job, hole: Hole) -> Iterator[Finding]:
    """The drill that millprep chose before a reamer or tap."""
    if making_of(hole).before is not None:
        tool = _usual(job, hole).tool
        yield from _before_finishing(job, hole, tool.words, tool.diameter_mm, [])


def _usual(job: Job, hole: Hole) -> Choice:
    """The drill that the drawer has for the hole, or the one to get."""
    cabinet, material = job.plan.shop.cabinet, material_named(job.plan.part.material)
    return making_of(hole).drill(cabinet, hole, material)


def _before(job: Job, hole: Hole) -> HoleBefore | None:
    """What a reamer or tap asks of the drill before it."""
    before, cabinet = making_of(hole).before, job.plan.shop.cabinet
    return before and before(cabinet, hole, material_named(job.plan.part.material))


def _leading_up(job: Job, hole: Hole, sizes: list[Drill]) -> list[str]:
    """Those of the drills that lead up to the hole, rising, with the one that it ends with."""
    before, making, size_mm = _before(job, hole), making_of(hole), hole.diameter_mm
    rising = sorted({size.designation: size for size in sizes}.values(), key=_diameter)
    below = [one for one in rising if one.diameter_mm < size_mm - max(making.stock_mm, _SAME_MM)]
    if before is None and (below or not making.stock_mm):
        return [one.designation for one in below]
    fitting = [] if before is None else [one for one in rising if before.is_usual(_diameter(one))]
    usual = _usual(job, hole).tool
    last_mm, last = usual.diameter_mm, usual.words
    if fitting:
        last_mm, last = fitting[-1].diameter_mm, fitting[-1].designation
    return [one.designation for one in rising if one.diameter_mm < last_mm - _SAME_MM] + [last]


def _diameter(size: Drill) -> float:
    return size.diameter_mm


def _to_write(hole: Hole, drills: list[str]) -> str:
    listed = "[" + ", ".join(f'"{one}"' for one in drills) + "]"
    making = making_of(hole)
    if making.before is not None or making.stock_mm:
        return f"drills = {listed}"
    if drills:
        return f"drills = {listed}: its own size comes last by itself"
    return "leave drills out: its own size is drilled by itself"


def _written(hole: Hole, drills: list[str]) -> Offer:
    """The same as the file has it."""
    making = making_of(hole)
    import json  # here, for few parts have such a fault

    is_left_out = not (drills or making.before is not None or making.stock_mm)
    return at_hole("drills", None if is_left_out else json.dumps(drills, ensure_ascii=False))


def _last_drill(job: Job, hole: Hole, sizes: list[Drill]) -> Iterator[Finding]:
    making, last, size_mm = making_of(hole), sizes[-1], hole.diameter_mm
    if making.before is not None:
        yield from _before_finishing(job, hole, last.designation, last.diameter_mm, sizes[:-1])
        return
    is_too_large = last.diameter_mm > size_mm + (-_SAME_MM if making.stock_mm else _SAME_MM)
    if is_too_large:
        drills = _leading_up(job, hole, sizes)
        found = job.finding(
            _NOTHING_TO_BORE if making.stock_mm else _LAST_TOO_LARGE,
            hole,
            line=hole.lines.get("drills"),
            drill=last.designation,
            size_mm=size_mm,
            advice=_to_write(hole, drills),
        )
        yield offering(found, _written(hole, drills))


def _before_finishing(
    job: Job, hole: Hole, drill: str, drilled_mm: float, earlier: list[Drill]
) -> Iterator[Finding]:
    """The last drill before a reamer or tap; earlier : those of the file before it."""
    before = _before(job, hole)
    severity = before and _severity(before, drilled_mm)
    if before and severity:
        what_is_left = _stock_left if hole.thread is None else _thread_left
        advice, *offers = _end_with(job, hole, earlier, before)
        found = job.finding(
            replace(_WRONG_FOR_TOOL, severity=severity),
            hole,
            line=hole.lines.get("drills"),
            said=what_is_left(hole, drill, drilled_mm, before),
            advice=advice,
        )
        yield offering(found, *offers)


def _end_with(
    job: Job, hole: Hole, earlier: list[Drill], before: HoleBefore
) -> tuple[str | Words] | tuple[str, Offer]:
    """What cures it: another last drill, or all of them where an earlier one is too large."""
    usual = _usual(job, hole)
    if not (usual.in_drawer and before.is_usual(usual.tool.diameter_mm)):
        least_mm, most_mm = before.usual_least_mm, before.usual_most_mm
        said = "get a drill of {least_mm:bare} to {most_mm}"
        return (words(said, least_mm=least_mm, most_mm=most_mm),)
    drills = _leading_up(job, hole, earlier)
    is_last_alone = drills[:-1] == [one.designation for one in earlier]
    advice = f"end with {drills[-1]}" if is_last_alone else _to_write(hole, drills)
    return advice, _written(hole, drills)


def _severity(before: HoleBefore, size_mm: float) -> Severity | None:
    if not before.least_mm <= size_mm <= before.most_mm:
        return "stop"
    return None if before.is_usual(size_mm) else "warning"


def _thread_left(hole: Hole, drill: str, drilled_mm: float, before: HoleBefore) -> Words:
    assert hole.thread is not None
    share = hole.thread.percent_thread(drilled_mm)
    said = "drilled {drill}, {thread} has {share} % of a thread ({pitches} P)"
    if share <= 0:
        said = "drilled {drill}, nothing is left for {thread} to cut"
    elif drilled_mm < before.least_mm:
        said += ": more than the whole, which breaks the tap"
    elif drilled_mm < before.usual_least_mm:
        said += ": hard on the tap"
    elif share >= 100 * rules.THREAD_SHARES[0]:
        is_classed = hole.thread.is_classed
        said += ", and a class is asked for" if is_classed else ", and less than its diameter holds"
    return words(said, drill=drill, thread=hole.words, share=f"{share:.0f}", pitches="1.2269")


def _stock_left(hole: Hole, drill: str, drilled_mm: float, before: HoleBefore) -> Words:
    size = hole.diameter_mm
    if drilled_mm > before.most_mm:
        said = "drilled {drill}, nothing is left to ream to {size_mm:exact}"
        return words(said, drill=drill, size_mm=size)
    why = "more than a reamer likes"
    if drilled_mm < before.least_mm:
        why = "over 1/32 in"
    elif drilled_mm > before.usual_most_mm:
        why = "and the drill cuts over its size: the reamer rubs"
    said = "drilled {drill}, {left_mm} is left to ream, {why}"
    return words(said, drill=drill, left_mm=size - drilled_mm, why=why)


@check_of_setup
def pecks_given(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Pecks of the file are bites that can be taken, and from which the chips come out."""
    material, readout = material_named(job.plan.part.material), job.plan.shop.readout
    counts_mm = float(readout.resolution_mm), float(readout.resolution_inch) * 25.4
    least_mm = max(rules.LEAST_PECK_MM, *counts_mm)
    pilots: dict[str, float] = {}
    told: set[str] = set()
    for one in setup_plan.operations:
        hole = one.hole
        if one.name not in _DRILLING or hole.peck_mm is None:
            continue
        is_small = bool(hole.peck_mm) and min(hole.peck_mm) < least_mm - 1e-9
        if (is_small or len(one.pecks_mm) > rules.MOST_PECKS) and hole.name not in told:
            told.add(hole.name)
            deepest = min(
                (o for o in setup_plan.operations if o.name in _DRILLING and o.hole == hole),
                key=lambda o: o.z_mm,
            )
            yield _too_small(job, deepest, hole.peck_mm, least_mm)
        elif material is not None and hole.name not in told:
            yield from _too_large(job, one, material, pilots.get(hole.name, 0.0))
        pilots[hole.name] = max(pilots.get(hole.name, 0.0), one.tool.diameter_mm)


def _too_small(job: Job, one: Operation, pecks_mm: tuple[float, ...], least_mm: float) -> Finding:
    deep_mm = -one.z_mm
    enough = job.at_least(max(least_mm, deep_mm / rules.MOST_PECKS))
    found = job.finding(
        _PECK_TOO_SMALL,
        one.hole,
        line=one.hole.lines.get("peck"),
        peck_mm=min(pecks_mm),
        count=len(one.pecks_mm),
        deep_mm=deep_mm,
        enough=enough,
    )
    return offering(found, at_hole("peck", enough), at_hole("peck", None))


def _too_large(
    job: Job, operation: Operation, material: Material, pilot_mm: float
) -> Iterator[Finding]:
    """The deepest bite over the schedule, where no pilot has taken the core out before."""
    tool, diameter = operation.tool, operation.tool.diameter_mm
    if not isinstance(tool, PointedTool) or pilot_mm >= rules.SOLID_SHARE * diameter:
        return
    point = cutting.point_length_mm(diameter, tool.angle_deg)
    ends = [-z for z in operation.pecks_mm] or [-operation.z_mm]
    over = [
        (bite, allowed)
        for bite, allowed in _bites(ends, diameter, point, material)
        if bite > allowed * rules.PECK_SLACK + rules.PECK_SLACK_MM
    ]
    if over:
        (bite, allowed), hole = max(over), operation.hole
        line, words = hole.lines.get("peck"), tool_words(tool)
        found = job.finding(
            _DEEP_PECK, hole, line=line, bite_mm=bite, tool=words, allowed_mm=allowed
        )
        yield offering(found, at_hole("peck", None))


def _bites(
    ends_mm: list[float], diameter_mm: float, point_mm: float, material: Material
) -> Iterator[tuple[float, float]]:
    """(bite, what the schedule allows) of each peck; of the first the point does not count."""
    for before, end in pairwise((0.0, *ends_mm)):
        is_first, done = before == 0, before - point_mm
        if diameter_mm < rules.SMALL_BELOW_MM:
            share = rules.SMALL_PECK_DIAMETERS
        elif is_first:
            share = material.first_peck_diameters
        else:
            is_deep = done >= rules.DEEP_FROM_DIAMETERS * diameter_mm - rules.TOUCH_MM
            share = rules.DEEP_PECK_DIAMETERS if is_deep else rules.NEXT_PECK_DIAMETERS
        yield end - before - (point_mm if is_first else 0.0), share * diameter_mm


@check_of_setup
def spot_wider_than_its_hole(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A spot drill or countersink whose flat is as wide as its cone only rubs."""
    for one in setup_plan.operations:
        flat_mm = one.tool.told.get("flat", 0.0)
        if one.cone_mm is not None and flat_mm >= one.cone_mm - rules.TOUCH_MM:
            is_spot = one.name == "spot drill"
            found = job.finding(
                _SPOT_TOO_WIDE,
                one.hole,
                tool=tool_words(one.tool),
                flat_mm=flat_mm,
                cone_mm=one.cone_mm,
                otherwise=", or spot = false at the hole" if is_spot else "",
            )
            yield offering(found, at_hole("spot", "false")) if is_spot else found
