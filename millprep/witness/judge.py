"""How the operations made at one hole differ from what the part asks for there.

Depths are positive, downward, from the face that is up; heights of the tool are negative. A drill's
full diameter ends above its tip by point = d/2 / tan(angle/2). Imports the part and `reading`.
"""

from __future__ import annotations

import math

from millprep.base.findings import Finding, Words, words
from millprep.base.records import replace
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reference.threads import is_other_form
from millprep.witness.expected import Expected, Need
from millprep.witness.hole_case import (
    SAME_WORK,
    HoleCase,
    compare_countersink,
    compare_spot,
    is_cone,
)
from millprep.witness.leavings import BROKEN_EDGE_MM, DIAMETER_TOLERANCE_MM, leavings_of

PITCH_TOLERANCE_MM = 0.0015  # "0.907" for 28 to the inch; listed pitches lie farther apart
_RANK = {
    "spot drill": 0, "drill": 1, "bore": 2, "counterbore": 2, "countersink": 3, "ream": 4, "tap": 4,
}  # fmt: skip


def full_reach_mm(operation: MadeOperation) -> float | None:
    """Height to which the full size reaches; a drill's from its point by its own formula."""
    diameter, angle = operation.diameter_mm, operation.point_angle_deg
    if operation.name in ("drill", "pilot drill") and diameter is not None and angle is not None:
        return operation.tip_mm + diameter / 2 / math.tan(math.radians(angle / 2))
    return operation.full_mm


def compare_hole(
    expected: Expected,
    made: MadeHole,
    depth_tolerance_mm: float,
    hands: frozenset[str],
    most_breakthrough_mm: float,
    file: str | None,
) -> list[Finding]:
    """How the operations made differ from what the hole needs; empty when they agree.

    Operations of tools that nothing describes are not judged.
    """
    if any(operation.tool_kind is None for operation in made.operations):
        return []
    operations = [
        replace(operation, name=SAME_WORK.get(operation.name, operation.name))
        for operation in made.operations
    ]
    asked = [_as_asked(operation, expected, operations) for operation in operations]
    operations = [operation for operation in asked if operation is not None]
    case = HoleCase(
        expected,
        list(operations),
        depth_tolerance_mm,
        hands,
        most_breakthrough_mm,
        file,
        made.operations,
    )
    _compare_order(case, operations)
    spot = _take(case, Need("spot drill", 0.0, 0.0))
    finish = None if expected.finish is None else _compare_need(case, expected.finish, spot)
    for need in expected.needs:
        _compare_need(case, need, spot)
    _leave_passes(case, finish)
    _leave_broken_edges(case)
    compare_spot(case, spot)
    _compare_drills(case, finish)
    _compare_far_wall(case, operations)
    for operation in case.left:
        size = _size(operation.diameter_mm)
        extra = words(
            "{what} {size} is not called for, or is done twice", what=operation.name, size=size
        )
        case.say("operation-extra", extra, "take it out", operation)
    return case.findings


def _leave_passes(case: HoleCase, finish: MadeOperation | None) -> None:
    """A boring head comes to its size by passes, no wider and no deeper than the last."""
    if finish is None or finish.tool_kind != "boring head":
        return
    slack = case.depth_tolerance_mm
    case.left[:] = [
        one
        for one in case.left
        if one.tool_kind != "boring head"
        or (one.diameter_mm or 0.0) > (finish.diameter_mm or 0.0) + DIAMETER_TOLERANCE_MM
        or one.tip_mm < finish.tip_mm - slack
    ]


def _leave_broken_edges(case: HoleCase) -> None:
    """A countersink that goes round and breaks the edge of a mouth is asked for by nobody."""
    most_mm = case.expected.mouth_mm + 2 * BROKEN_EDGE_MM
    case.left[:] = [
        one
        for one in case.left
        if one.name != "countersink" or not one.milling or (one.cone_mm or 0.0) > most_mm
    ]


def _as_asked(
    operation: MadeOperation, expected: Expected, made: list[MadeOperation]
) -> MadeOperation | None:
    """What an end mill makes is the hole, its bore or a recess: whichever is nearest in size.

    Where another tool finishes that, it is the hole before it, or nothing that is asked for.
    """
    size = operation.diameter_mm
    if operation.tool_kind != "end mill" or size is None:
        return operation
    needs = [need for need in (expected.finish, *expected.needs) if need and not need.angle_deg]
    nearest = min(needs, key=lambda need: abs(need.diameter_mm - size), default=None)
    if nearest is None or nearest.name in ("ream", "tap"):
        return replace(operation, name="drill")
    is_finished = any(one.name == nearest.name and one.tool_kind != "end mill" for one in made)
    if is_finished and size < nearest.diameter_mm - DIAMETER_TOLERANCE_MM:
        return replace(operation, name="drill") if nearest is expected.finish else None
    return replace(operation, name=nearest.name)


def _size(size_mm: float | None) -> Words:
    return words("of unknown size" if size_mm is None else "{size_mm:3}", size_mm=size_mm or 0.0)


def _take(case: HoleCase, need: Need) -> MadeOperation | None:
    """Takes out of what is left the operation that comes nearest to the need."""
    fitting = [operation for operation in case.left if operation.name == need.name]
    if need.name == "countersink":
        fitting.sort(key=lambda operation: abs((operation.cone_mm or 0.0) - need.diameter_mm))
    elif need.name != "spot drill":
        fitting.sort(key=lambda operation: abs((operation.diameter_mm or 0.0) - need.diameter_mm))
    if not fitting:
        return None
    case.left.remove(fitting[0])
    return fitting[0]


def _compare_need(case: HoleCase, need: Need, spot: MadeOperation | None) -> MadeOperation | None:
    done = _take(case, need)
    if done is None and need.name == "countersink" and spot is not None:
        done = spot if is_cone(spot, need, case.depth_tolerance_mm) else None
    if done is None:
        if not case.is_by_hand(need.name):
            case.say(
                "operation-missing",
                words(f"{need.name} {{size}} is not done", size=_size(need.diameter_mm)),
                "add it, or say that the hand does it",
                None,
            )
        return None
    if need.name == "countersink":
        compare_countersink(case, need, done)
        return done
    if done.diameter_mm is not None:
        off = abs(done.diameter_mm - need.diameter_mm)
        if off > DIAMETER_TOLERANCE_MM:
            case.say(
                "wrong-diameter",
                words(
                    f"{need.name} {{is_mm:3}}; the part asks for {{wanted_mm:3bare}}",
                    is_mm=done.diameter_mm,
                    wanted_mm=need.diameter_mm,
                ),
                "go round at another radius" if done.milling == "circle" else "change the tool",
                done,
            )
        elif need.name == "tap":
            _compare_thread(case, done)
    _compare_depth(case, need, done)
    return done


def _compare_thread(case: HoleCase, done: MadeOperation) -> None:
    """A tap of the right diameter: its pitch, its hand and, where its name tells, its form."""
    thread = case.expected.hole.thread
    if thread is None or done.pitch_mm is None:
        return
    is_off = abs(done.pitch_mm - thread.pitch_mm) > PITCH_TOLERANCE_MM
    is_hand_off = done.is_left_hand != thread.is_left_hand
    if is_off or is_hand_off or is_other_form(done.thread, thread):
        hand = "left" if done.is_left_hand else "right"
        case.say(
            "wrong-tool",
            words(
                f"tapped {{thread}}{{pitch_mm:exact}} pitch, {hand} hand; the part has {{wanted}}",
                thread=f"{done.thread}, " if done.thread else "",
                pitch_mm=done.pitch_mm,
                wanted=f"{thread.designation}, {thread.form.words}",
            ),
            "change the tap",
            done,
        )


def _compare_depth(case: HoleCase, need: Need, done: MadeOperation) -> None:
    full, tolerance = full_reach_mm(done), case.depth_tolerance_mm + 1e-9
    if full is None:
        full = done.tip_mm
    least, most = need.depth_mm - tolerance, need.depth_mm + tolerance
    if need.is_open:
        most = math.inf  # in the open; what it must not touch is asked of the tool's end
    elif need.is_half:
        most = case.expected.hole.depth_mm + case.most_breakthrough_mm
    elif need.is_through:
        beyond = case.expected.hole.breakthrough_mm
        if beyond is not None and need.name == "drill":
            least, most = least + beyond, most + beyond
        else:
            most = need.depth_mm + case.most_breakthrough_mm
    _judge_depth(case, need.name, done, -full, least, most)


def _judge_depth(
    case: HoleCase, name: str, done: MadeOperation, depth_mm: float, least: float, most: float
) -> None:
    if depth_mm <= 0:
        kind, remedy, said = "too-shallow", "go deeper", "{least_mm:3bare} deep is asked for"
    elif depth_mm < least:
        kind, remedy, said = "too-shallow", "go deeper", "{least_mm:3bare} or more is asked for"
    elif depth_mm > most:
        kind, remedy, said = "too-deep", "go less deep", "{most_mm:3bare} or less is asked for"
    else:
        return
    how = "is {depth_mm:3} deep" if depth_mm > 0 else "never enters"
    said = f"{name} {how} at its full size ({{end}}); {said}"
    end = words("its end at Z{tip_mm:3bare}", tip_mm=done.tip_mm)
    figures = {"depth_mm": depth_mm, "least_mm": least, "most_mm": most}
    case.say(kind, words(said, end=end, **figures), remedy, done)


def _compare_far_wall(case: HoleCase, operations: list[MadeOperation]) -> None:
    """What comes out into a bore stops before its other wall."""
    open_to = case.expected.run_out
    if open_to is None:
        return
    for operation in operations:
        if operation.tip_mm < -open_to.far_mm:
            case.say(
                "too-deep",
                words(
                    "{what} goes to Z{tip_mm:3bare}, into the far wall of the bore that the hole "
                    "opens into, {far_mm:3} deep",
                    what=operation.name,
                    tip_mm=operation.tip_mm,
                    far_mm=open_to.far_mm,
                ),
                "stop it short of that",
                operation,
            )


def _compare_order(case: HoleCase, operations: list[MadeOperation]) -> None:
    """The first operation that comes before one that has to go before it."""
    lowest_later = math.inf
    early: tuple[MadeOperation, str] | None = None
    later_name = ""
    for operation in reversed(operations):
        rank = _RANK.get(operation.name, 1)
        if rank > lowest_later:
            early = operation, later_name
        if rank < lowest_later:
            lowest_later, later_name = rank, operation.name
    if early is not None:
        operation, later = early
        case.say(
            "operation-order",
            f"{operation.name} comes before {later}",
            "spot, pilot, drill, counterbore or spotface, countersink, then ream or tap",
            operation,
        )


def _compare_drills(case: HoleCase, finish: MadeOperation | None) -> None:
    """The drills that are left: pilots, and the one that a tap, reamer or boring head follows."""
    drills = sorted((op for op in case.left if op.name == "drill"), key=lambda op: op.known_mm)
    hole = case.expected.hole
    if not case.expected.is_drilled:
        return
    if leavings_of(hole).before is not None:
        if not drills and case.is_milled:
            return
        if not drills:
            case.say(
                "operation-missing",
                f"no hole is drilled before the {hole.kind}",
                "drill it first",
                None,
            )
            return
        last = drills.pop()
        case.left.remove(last)
        _compare_preparation(case, last, finish)
        finish = last
    widest = finish.diameter_mm if finish is not None else hole.diameter_mm
    deepest = finish.tip_mm if finish is not None else -math.inf
    if finish is not None and finish.tool_kind == "end mill" and hole.is_through:
        deepest = -math.inf  # a drill's point comes farther through than a flat end
    for pilot in drills:
        if widest is not None and pilot.known_mm < widest - DIAMETER_TOLERANCE_MM:
            case.left.remove(pilot)
            if pilot.tip_mm < deepest - case.depth_tolerance_mm:
                case.say(
                    "too-deep",
                    words(
                        "the pilot goes to Z{tip_mm:3bare}, deeper than the drill that follows it",
                        tip_mm=pilot.tip_mm,
                    ),
                    words("stop it at Z{deepest_mm:3bare} or above", deepest_mm=deepest),
                    pilot,
                )


def _compare_preparation(
    case: HoleCase, drill: MadeOperation, finish: MadeOperation | None
) -> None:
    """The drill before a tap, reamer or boring head: its size and how deep it goes."""
    hole = case.expected.hole
    row, size = leavings_of(hole), drill.diameter_mm
    if size is not None and row.before is not None:
        low, high, what = row.before(hole)
        if not low - 1e-9 <= size <= high + 1e-9:
            case.say(
                "wrong-diameter",
                words("drilled {size_mm:3} before {what}", size_mm=size, what=what),
                words("drill it {low_mm:3bare} to {high_mm:3}", low_mm=low, high_mm=high),
                drill,
            )
    full = full_reach_mm(drill)
    if full is None:
        return
    tolerance = case.depth_tolerance_mm + 1e-9
    depth, thickness = hole.depth_mm, case.expected.thickness_mm
    if hole.from_both_ends:
        most = depth + case.most_breakthrough_mm
        _judge_depth(case, "drill", drill, -full, depth / 2 - tolerance, most)
        return
    if hole.is_through:
        beyond = max(case.most_breakthrough_mm, hole.breakthrough_mm or 0.0)
        _judge_depth(case, "drill", drill, -full, depth - tolerance, depth + beyond + tolerance)
        return
    if hole.drill_depth_mm is not None:
        low, high = hole.drill_depth_mm - tolerance, hole.drill_depth_mm + tolerance
        _judge_depth(case, "drill", drill, -full, low, high)
    elif row.stock_mm is None:
        room = hole.thread.pitch_mm if hole.thread is not None else 0.0
        least = -finish.tip_mm if finish is not None else depth + room
        _judge_depth(case, "drill", drill, -full, least - tolerance, math.inf)
    is_plain = hole.goes_into is None and not hole.meets
    if is_plain and depth < thickness and drill.tip_mm <= -thickness + tolerance:
        case.say(
            "too-deep",
            words(
                "the drill breaks through the floor (its tip at Z{z_mm:3bare})", z_mm=drill.tip_mm
            ),
            words("the stock is {thick_mm:3} thick there", thick_mm=thickness),
            drill,
        )
