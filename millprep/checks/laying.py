"""How the part lies, is held and is zeroed, setup by setup. Layers 0 to 3, planning."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from millprep.base.findings import Finding, words
from millprep.base.units import Length
from millprep.checks.registry import Job, check
from millprep.model.part import FACE_AXIS, OPPOSITE, Face, Hole
from millprep.planning.head import HeadHeight, head_heights
from millprep.planning.plan import SetupPlan
from millprep.setting.setups import Setup, outward
from millprep.setting.zeroing import FINDER_BITE_MM

SMALL_GRIP_SHARE = 1 / 3  # of the height that the jaws should hold at least (common practice)
LONG_ACROSS_TIMES = 3.0  # across the jaws, of the length along them
CUT_AWAY_SHARE = 0.5  # of a face, from which on it holds and locates no longer (common practice)
_NONE_MM = 1e-6


@check
def negative_readings(job: Job) -> Iterator[Finding]:
    """All readings of an axis below nought: another lay winds and reads upwards."""
    signs = [-1.0 if axis in job.plan.shop.readout.reversed_axes else 1.0 for axis in "xy"]
    for setup_plan in job.plan.setups:
        setup, square = setup_plan.setup, setup_plan.square
        if not square:
            continue
        places = np.array([[one.x_mm, one.y_mm] for one in square]).T * np.array([signs]).T
        below = [letter for letter, row in zip("XY", places, strict=True) if row.max() < -_NONE_MM]
        if below:
            towards_you = _positive_lay(setup, signs)
            yield job.setup_finding(
                setup,
                "note",
                "negative-readings",
                f"all readings of {' and '.join(below)} are negative",
                f'towards_you = "{towards_you}" for {setup.face} makes them positive',
            )


def _positive_lay(setup: Setup, signs: Sequence[float]) -> Face:
    """The face to have towards you so that the part lies where both axes read upwards."""

    def is_upwards(towards_you: Face) -> bool:
        y_axis = -outward(towards_you)
        x_axis = np.cross(y_axis, outward(setup.face))
        ends = {setup.zero_x, setup.zero_y} - {"centre"}
        zeros = [outward(face) for face in ends if face != "centre"]
        return all(
            sign * float(axis @ zero) <= 0
            for axis, sign in ((x_axis, signs[0]), (y_axis, signs[1]))
            for zero in zeros
        )

    sides = (setup.towards_you, setup.left_hand, setup.away, setup.right_hand)
    return next((face for face in sides if is_upwards(face)), setup.away)


@check
def datum_on_moving_jaw(job: Job) -> Iterator[Finding]:
    """A datum face on the moving jaw lies true only where the part is parallel."""
    part = job.plan.part
    for setup_plan in job.plan.setups:
        setup, moving = setup_plan.setup, setup_plan.holding.moving
        if moving is not None and part.datum[FACE_AXIS[moving]] == moving:
            yield job.setup_finding(
                setup,
                "note",
                "datum-on-moving-jaw",
                f"{moving.upper()}, a datum face, is on the moving jaw",
                "it lies true only if the part is parallel there: measure both ends, or lay the "
                f"part with {moving} on the fixed jaw",
            )


@check
def zero_out_of_reach(job: Job) -> Iterator[Finding]:
    """Neither a face nor a jaw nor a hole gives this axis its zero."""
    for setup_plan in job.plan.setups:
        for letter, zero in zip("XY", setup_plan.zeros, strict=True):
            if zero.is_lost and zero.blocked is not None:
                face, why = zero.blocked
                yield job.setup_finding(
                    setup_plan.setup,
                    "warning",
                    "zero-out-of-reach",
                    f"the finder cannot reach {face.upper()} for the zero of {letter}: {why}",
                    words(
                        "let the part stand {bite} above the jaws, or choose another zero in "
                        "[[setup]]",
                        bite=Length(FINDER_BITE_MM, None),
                    ),
                )


@check
def face_cut_away(job: Job) -> Iterator[Finding]:
    """A face that seats, locates or zeroes a setup has to be there still."""
    plan = job.plan
    gone: dict[Face, float] = {}
    for setup_plan in plan.setups:
        setup, held = setup_plan.setup, setup_plan.holding
        needed: dict[Face, str] = {OPPOSITE[setup.face]: "stand on"}
        needed |= {face: "be held by" for face in (held.fixed, held.moving, held.stop) if face}
        needed |= {
            face: "find zero on" for face in (setup.zero_x, setup.zero_y) if face != "centre"
        }
        for face, what in needed.items():
            share = gone.get(face, 0.0) / _area_mm2(job, face)
            if share > CUT_AWAY_SHARE:
                yield job.setup_finding(
                    setup,
                    "warning",
                    "face-cut-away",
                    f"{face.upper()} is to {what}, and earlier setups have cut away "
                    f"{share:.0%} of it",
                    f'write [[setup]] with face = "{setup.face}" before them',
                )
        for operation_face, area in _cut_mm2(setup_plan):
            gone[operation_face] = gone.get(operation_face, 0.0) + area


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
    setups = job.plan.setups
    first = next((one.setup.number for one in setups if _locating(one)), None)
    for setup_plan in setups:
        bores = _locating(setup_plan)
        number = setup_plan.setup.number
        before = [one.setup.number for one in setups if one.setup.number < number]
        if number != first or not before or any(_is_met(job, hole) for hole in bores):
            continue
        yield job.setup_finding(
            setup_plan.setup,
            "note",
            "locating-late",
            words("{0} is finished here, after other holes"),
            f'write [[setup]] with face = "{setup_plan.setup.face}" first: what locates the rest '
            "is made while every face is whole",
            bores[0],
        )


def _locating(setup_plan: SetupPlan) -> list[Hole]:
    return [one.hole for one in setup_plan.operations if one.is_true]


def _is_met(job: Job, bore: Hole) -> bool:
    """Whether another hole runs into it: then it is finished after that one, and rightly late."""
    names = {bore.name, bore.group}
    return bool(bore.meets) or any(
        names & {*hole.meets, hole.goes_into} for hole in job.plan.part.holes
    )


def _changes(heights: Sequence[HeadHeight]) -> Iterator[str]:
    """The changes of tool at which the head moves."""
    change = 1
    for height in heights[:-1]:
        change += len(height.tools)
        yield f"change {change}"


@check
def head_has_to_move(job: Job) -> Iterator[Finding]:
    """On a round column X and Y are lost where the quill is too short for all tools."""
    for setup_plan in job.plan.setups:
        heights = head_heights(setup_plan.operations, job.plan.shop)
        if len(heights) > 1:
            longest = max((one.longest for one in heights), key=lambda tool: tool.diameter_mm)
            yield job.setup_finding(
                setup_plan.setup,
                "warning",
                "head-has-to-move",
                "one height of the head does not serve all tools: it moves at "
                f"{', '.join(_changes(heights))}, and loses X and Y",
                f"take a shorter {longest.kind} {longest.words} or hold it deeper, hold short "
                "tools out farther, or find zero again after each move",
            )
