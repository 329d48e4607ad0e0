"""How the part lies, is held and is zeroed, setup by setup; what is done in too early a setup.

Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.base.findings import Finding, note, stop, warning, words
from millprep.base.units import Length
from millprep.checks.registry import Job, check, check_of_part, check_of_setup, first_up, offering
from millprep.model.part import FACE_AXIS, OPPOSITE, Face
from millprep.planning.face_order import (
    finished_in,
    is_finished_early,
    is_recessed_early,
    late_locating,
    meetings,
    slope_met_deg,
)
from millprep.planning.head import HeadHeight, heights_of
from millprep.planning.plan import SetupPlan
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.zeroing import FINDER_BITE_MM

_GUESSED = stop(
    "guessed-blank",
    "nobody has said how large the blank is: {size} was put round the holes of a plan",
    "see in [stock] what the drawing says, and that the holes count from its edges; then take "
    "guessed = true out",
)
CUT_AWAY_SHARE = 0.5  # of a face, from which on it holds and locates no longer (common practice)

_ZERO_LOST = warning(
    "zero-out-of-reach",
    "the finder cannot reach {face} for the zero of {letter}: {why}",
    "{advice}",
)
_STAND_PROUD = words(
    "leave {bite_mm:exact} of the part above the jaws, or choose another zero in [[setup]]",
    bite_mm=FINDER_BITE_MM,
)
_BEHIND_STRAPS = (
    "clock the rim or the bore for it, as ZERO says, or give straps = [...] beside the middle"
)
_CUT_AWAY = warning(
    "face-cut-away",
    "{face} is to {what}, and earlier setups have cut away {share} of it",
    "{advice}",
)
_LOCATING_LATE = note(
    "locating-late",
    "{0} is finished here, after other holes",
    'put [[setup]] with face = "{face}" first: what locates the rest is made while every face is '
    "whole",
)
_HEAD_MOVES = warning(
    "head-has-to-move",
    "one height of the head does not suit all tools: moving it at {changes} loses X and Y",
    "take a shorter {longest} or hold it deeper, hold short tools out farther, or find zero again "
    "after each move",
)


@check_of_part
def guessed_blank(job: Job) -> Iterator[Finding]:
    """Holes that stand right to each other may stand wrong on a blank that was guessed."""
    stock, units = job.plan.part.stock, job.plan.part.units
    if stock.is_guessed:
        size = " x ".join(f"{Length(each, units):exact bare}" for each in stock.nominal_mm)
        yield job.finding(_GUESSED, size=size)


@check_of_setup
def zero_out_of_reach(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Neither a face nor a jaw nor a hole gives this axis its zero."""
    for letter, zero in zip("XY", setup_plan.zeros, strict=True):
        if zero.is_lost and zero.blocked is not None:
            face, why = zero.blocked
            is_clocked = is_disc_on_end(job.plan.part, setup_plan.setup) and setup_plan.setup.clamps
            yield job.setup_finding(
                _ZERO_LOST,
                setup_plan.setup,
                face=face.upper(),
                letter=letter,
                why=why,
                advice=_BEHIND_STRAPS if is_clocked else _STAND_PROUD,
            )


@check
def face_cut_away(job: Job) -> Iterator[Finding]:
    """A face that seats, locates or zeroes a setup has to be there still."""
    plan = job.plan
    gone: dict[Face, float] = {}
    for setup_plan in plan.setups:
        setup, held = setup_plan.setup, setup_plan.holding
        needed: dict[Face, str] = {OPPOSITE[setup.face]: "sit on"}
        needed |= {face: "be held by" for face in (held.fixed, held.moving, held.stop) if face}
        needed |= {
            face: "find zero on" for face in (setup.zero_x, setup.zero_y) if face != "centre"
        }
        for face, what in needed.items():
            share = gone.get(face, 0.0) / _area_mm2(job, face)
            if share > CUT_AWAY_SHARE:
                found = job.setup_finding(
                    _CUT_AWAY,
                    setup,
                    face=face.upper(),
                    what=what,
                    share=f"{share:.0%}",
                    advice=_sooner(job, setup_plan),
                )
                yield offering(found, first_up(setup.face))
        for operation_face, area in _cut_mm2(setup_plan):
            gone[operation_face] = gone.get(operation_face, 0.0) + area


def _sooner(job: Job, setup_plan: SetupPlan) -> str:
    """The setup before those that cut the face away, where that spoils nothing of theirs."""
    up = setup_plan.setup.face
    is_own = all(one.hole.face == up for one in setup_plan.operations)
    cut = _cut_mm2(setup_plan)
    if is_own and all(area <= CUT_AWAY_SHARE * _area_mm2(job, face) for face, area in cut):
        return f'put [[setup]] with face = "{up}" before them'
    return "let it bear on what is left, with strips or a ring under that, clear of the holes"


def _area_mm2(job: Job, face: Face) -> float:
    stock = job.plan.part.stock
    sizes = [size for axis, size in enumerate(stock.size_mm) if axis != FACE_AXIS[face]]
    is_round = stock.axis == FACE_AXIS[face]
    return sizes[0] * sizes[1] * (math.pi / 4 if is_round else 1.0)


def _cut_mm2(setup_plan: SetupPlan) -> Iterator[tuple[Face, float]]:
    """(face, area) of the widest cut at each mouth and each exit."""
    setup = setup_plan.setup
    mouths: dict[str, float] = {}
    exits: dict[str, float] = {}
    for one in setup_plan.operations:
        wide = one.cone_mm if one.cone_mm is not None else one.tool.diameter_mm
        mouths[one.hole.name] = max(mouths.get(one.hole.name, 0.0), wide)
        if -one.z_mm > setup.height_mm:
            exits[one.hole.name] = max(exits.get(one.hole.name, 0.0), one.tool.diameter_mm)
    for face, widths in ((setup.face, mouths), (OPPOSITE[setup.face], exits)):
        yield face, sum(math.pi / 4 * width * width for width in widths.values())


@check
def locating_bores_first(job: Job) -> Iterator[Finding]:
    """Reamed holes that others are placed by come first, unless a hole drilled later meets them."""
    holes = job.plan.part.holes
    bores = [hole for hole in holes if hole.kind.is_true]
    number, bore = late_locating(bores, meetings(holes), job.turn)
    if bore is not None and number > 1:
        setup = job.plan.setups[number - 1].setup
        yield job.setup_finding(_LOCATING_LATE, setup, bore, face=setup.face)


def _changes(heights: Sequence[HeadHeight]) -> Iterator[str]:
    """The changes of tool at which the head moves."""
    change = 1
    for height in heights[:-1]:
        change += len(height.tools)
        yield f"change {change}"


@check_of_setup
def head_has_to_move(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """On a round column X and Y are lost where the quill is too short for all tools."""
    heights = heights_of(setup_plan, job.plan.part, job.plan.shop)
    if len(heights) > 1:
        longest = max((one.longest for one in heights), key=lambda tool: tool.diameter_mm)
        yield job.setup_finding(
            _HEAD_MOVES,
            setup_plan.setup,
            changes=", ".join(_changes(heights)),
            longest=f"{longest.kind} {longest.words}",
        )


_REAMED_TOO_EARLY = warning(
    "reamed-too-early",
    "hole {0} is finished in setup {finished}, {1} is drilled into it in setup {drilled}",
    "put the setups the other way round in the part file, or make {0} in a visit of its own after "
    'the others: [[setup]] with face = "{face}" and holes = [{0}]',
)
_INTO_A_SIDE = warning(
    "drilled-on-slope",
    "hole {0} is drilled into {1} {off_mm} off its axis, where its wall slopes {slope} degrees",
    "number the setups so that {0} is drilled first, or plug {1} before it",
)
_RECESS_FIRST = warning(
    "recess-before-hole",
    "hole {0}: its far end is recessed in setup {far}, before it is drilled in setup {near}",
    'put [[setup]] with face = "{face}" first',
)


@check
def reamed_before_crossed(job: Job) -> Iterator[Finding]:
    """A bore that is finished before another hole is drilled into it wants its reamer once more."""
    for bore, other in meetings(job.plan.part.holes):
        if is_finished_early(bore, other, job.turn):
            found = job.finding(
                _REAMED_TOO_EARLY,
                bore,
                other,
                finished=finished_in(bore, job.turn),
                drilled=finished_in(other, job.turn),
                face=bore.face,
            )
            yield offering(found, first_up(other.face))


@check
def drilled_into_a_side(job: Job) -> Iterator[Finding]:
    """A drill that breaks into an earlier hole far beside its axis is pushed towards the void.

    Drilled in the other order, the narrower hole first, or with the first one plugged, it runs true
    (common practice, as for cotters).
    """
    for bore, other in dict.fromkeys(meetings(job.plan.part.holes)):
        slope = slope_met_deg(bore, other, job.turn)
        if slope is not None:
            (aside,) = {0, 1, 2} - {FACE_AXIS[bore.face], FACE_AXIS[other.face]}
            off_mm = abs(bore.centre_mm[aside] - other.centre_mm[aside])
            yield job.finding(_INTO_A_SIDE, other, bore, off_mm=off_mm, slope=f"{slope:.0f}")


@check
def mouths_before_holes(job: Job) -> Iterator[Finding]:
    """A recess at the far end wants its hole drilled first: its cutter is led by the hole."""
    for hole in job.plan.part.holes:
        if is_recessed_early(hole, job.turn):
            near, far = (job.turn[hole.name, face] for face in hole.worked_from)
            found = job.finding(_RECESS_FIRST, hole, far=far, near=near, face=hole.face)
            yield offering(found, first_up(hole.face))
