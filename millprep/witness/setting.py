"""What a listing says of turning, holding and finding zero again, against the part and its lay.

Rotations, strips under holes and sums of the quill are worked out by this side's own code. Imports
the part and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding
from millprep.model.part import Hole
from millprep.reading.pages import Figure, HeadHeight, Held, Over, PrintedRow, PrintedSetup, Turn
from millprep.witness import Lay, frame_of, from_part
from millprep.witness.hand import what_is_wrong_with
from millprep.witness.printed import SLACK_MM, Printed, Upright

Floats = NDArray[np.float64]

HALF_SIZE_DIGIT_MM = 0.0013  # sizes in sentences are told to 0.001 mm or 0.0001 in
HALF_ANGLE_DIGIT_DEG = 0.00005
SPARE_QUILL_MM = 5.0  # above the face and below the stop together (common practice)
_REMEDY = "the sheet does not agree with the part file; please report it"
_AXES = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}
_OUTWARD = {
    "left": (-1.0, 0.0, 0.0), "right": (1.0, 0.0, 0.0), "front": (0.0, -1.0, 0.0),
    "back": (0.0, 1.0, 0.0), "bottom": (0.0, 0.0, -1.0), "top": (0.0, 0.0, 1.0),
}  # fmt: skip
_SIDES = {
    "left hand": (0, -1.0),
    "right hand": (0, 1.0),
    "towards you": (1, -1.0),
    "away": (1, 1.0),
}


def check_setting(printed: Printed, before: PrintedSetup | None) -> Iterator[Finding]:
    """Everything a setup says of setting up; `before` is the one printed above it."""
    setting = printed.setup.setting
    off = abs(setting.skew_deg - printed.skew_deg)
    if off > HALF_ANGLE_DIGIT_DEG + 1e-9 or bool(setting.skew_deg) != bool(printed.skew_deg):
        words = f"the part is said to lie {setting.skew_deg:g} deg askew, not {printed.skew_deg:g}"
        yield _wrong(printed, words)
    if setting.turn is not None:
        yield from _check_turn(printed, setting.turn, before)
    elif printed.setup.number > 1 and printed.setup.of is not None:
        yield _wrong(printed, "it is not told how the part is turned from the setup before")
    if setting.held is not None:
        yield from _check_held(printed, setting.held)
    yield from _check_finding_zero(printed)
    yield from _check_recovery(printed)
    yield from _check_head(printed)
    yield from _check_hand(printed)


def _wrong(printed: Printed, words: str, kind: str = "wrong-figure") -> Finding:
    return printed.stop(kind, words, _REMEDY, line=printed.setup.line)


def _check_hand(printed: Printed) -> Iterator[Finding]:
    for hand in printed.setup.setting.hands:
        if hand.face not in (None, printed.setup.face):
            yield _wrong(printed, f"HAND speaks of {hand.face}")
        elif words := what_is_wrong_with(hand, printed.part):
            yield _wrong(printed, words)


def _check_turn(printed: Printed, turn: Turn, before: PrintedSetup | None) -> Iterator[Finding]:
    """The moves bring the lay that is named into this one; it is that of the setup before."""
    above = before if before is not None and before.number == printed.setup.number - 1 else None
    if above is not None and (turn.face, turn.towards_you) != (above.face, above.towards_you):
        words = f"TURN starts from {turn.face.upper()} up, {turn.towards_you.upper()} towards you"
        yield _wrong(printed, words, "bad-lay")
    lay = Lay(turn.face, turn.towards_you, "centre", "centre")
    was, now = (frame_of(one, printed.part) for one in (lay, printed.lay))
    turned = np.eye(3)
    for axis, angle_deg in turn.moves:
        turned = _about(np.array(_AXES[axis]), math.radians(angle_deg)) @ turned
    if not np.allclose(turned @ was.T, now.T):
        yield _wrong(printed, "TURN does not bring the part into the lay of this setup", "bad-lay")
    held = printed.setup.setting.held
    if held is not None and (turn.fixed, turn.stop) != (held.fixed, held.stop):
        yield _wrong(printed, "TURN and HOLD name different faces at jaw and stop", "bad-lay")
    if held is not None and turn.stop is not None and above is not None:
        yield from _check_stop(printed, turn, above)


def _check_stop(printed: Printed, turn: Turn, above: PrintedSetup) -> Iterator[Finding]:
    """A stop that changes its side is said to, and to which."""
    stands = printed.upright.get(str(turn.stop))
    was = None if above.setting.held is None else above.setting.held.stop
    if stands is None or was is None:
        return
    lay = Lay(above.face, above.towards_you, "centre", "centre")
    stood = frame_of(lay, printed.part).T @ np.array(_OUTWARD[was])
    has_moved = not np.allclose(stood[:2], np.eye(2)[stands.axis] * stands.outward)
    said = None if turn.stop_side is None else _SIDES[turn.stop_side]
    if said != ((stands.axis, stands.outward) if has_moved else None):
        yield _wrong(printed, "TURN moves the stop to another side or leaves it", "bad-lay")


def _about(axis: Floats, angle: float) -> Floats:
    """(3, 3) turning about a unit vector: Rodrigues' formula."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross)


def _check_held(printed: Printed, held: Held) -> Iterator[Finding]:
    """Faces, grip and strips of a vice fit the lay, the part and what the file asks for."""
    fixed, stop = printed.upright.get(held.fixed), printed.upright.get(held.stop)
    if fixed is None or (fixed.axis, fixed.outward) != _SIDES[held.side]:
        yield _wrong(printed, f"{held.fixed.upper()} is not the face {held.side}", "bad-lay")
        return
    if stop is None or stop.axis == fixed.axis:
        yield _wrong(printed, f"{held.stop.upper()} cannot be at the stop", "bad-lay")
    size, grip = printed.part.stock.size_mm[_part_axis(printed)], held.grip.mm
    request = next((one for one in printed.part.setups if one.face == printed.setup.face), None)
    asked = None if request is None else request.grip_mm
    if not 0 < grip < size + 1.0:  # rounded up to a whole millimetre
        yield _wrong(printed, f"a grip of {grip:g} mm on {size:g} mm")
    if asked is not None and abs(grip - asked) > HALF_SIZE_DIGIT_MM:
        yield _wrong(printed, f"a grip of {grip:g} mm; {asked:g} is asked for")
    asked_mm = () if request is None else request.parallels_at_mm
    for axis, one, other in held.strips:
        low, high = sorted(printed.signs[fixed.axis] * end.mm for end in (one, other))
        if "xy".index(axis) != fixed.axis:
            yield _wrong(printed, f"parallels along {axis.upper()} across the jaws")
        elif asked_mm:
            if all(abs(low - at) > HALF_SIZE_DIGIT_MM for at in asked_mm):
                yield _wrong(printed, f"a parallel at {low:g}, where none is asked for")
        else:
            yield from _check_strip(printed, fixed, low, high)


def _part_axis(printed: Printed) -> int:
    return {"left": 0, "right": 0, "front": 1, "back": 1}.get(printed.setup.face, 2)


def _check_strip(printed: Printed, fixed: Upright, low: float, high: float) -> Iterator[Finding]:
    """It lies under the part, and no hole that is drilled through here comes out over it."""
    middle = printed.middle[fixed.axis]
    half = abs(fixed.at_mm - middle) + HALF_SIZE_DIGIT_MM
    if not middle - half <= low < high <= middle + half:
        yield _wrong(printed, f"a parallel at {low:g} to {high:g}, beside the part")
    for name, expected in printed.expected.items():
        hole, at = expected.hole, printed.places[name][fixed.axis]
        half_way = hole.from_both_ends and hole.kind.is_as_drilled
        comes_out = hole.is_through and expected.is_drilled and not half_way
        if comes_out and low - hole.diameter_mm / 2 < at < high + hole.diameter_mm / 2:
            yield _wrong(printed, f"{name} comes through over the parallel at {low:g} to {high:g}")


def _check_finding_zero(printed: Printed) -> Iterator[Finding]:
    setting = printed.setup.setting
    held = setting.held
    lies_on = {} if held is None else {"fixed jaw": held.fixed, "stop": held.stop}
    for reading in printed.setup.finder_readings:
        if reading.against != "face" and lies_on.get(reading.against) != reading.face:
            words = f"ZERO touches the {reading.against} for {reading.face.upper()}, "
            yield _wrong(printed, f"{words}and HOLD has another there", "bad-lay")
    for one in setting.reckoned:
        faces = [printed.upright.get(face) for face in (one.low, one.high)]
        size = abs(faces[0].at_mm - faces[1].at_mm) if faces[0] and faces[1] else math.nan
        if not abs(size - one.size.mm) <= printed.half_count_mm:
            words = f"{one.low.upper()} to {one.high.upper()} is reckoned as {one.size.mm:g} mm"
            yield _wrong(printed, words)
    for over in setting.made:
        made = [hole for hole in printed.part.holes if hole.is_through and _is(hole, over.hole)]
        places = [_place(printed, hole) for hole in made]
        yield from _check_over(printed, over, places)
    here = [one.hole for one in printed.expected.values()]
    if setting.first is not None:
        yield from _check_over(printed, setting.first, _places(printed, here, setting.first.hole))
    if setting.by_rule is not None:
        for distance, face in setting.by_rule.distances:
            yield from _check_ruled(printed, setting.by_rule.hole, distance, face)
    if setting.middle is not None:
        x, y = setting.middle
        yield from _check_over(printed, Over("the middle", x, y), [printed.middle])


def _is(hole: Hole, words: str) -> bool:
    return hole.name.replace(" ", "") == words.replace(" ", "")


def _place(printed: Printed, hole: Hole) -> tuple[float, float]:
    x, y, _ = from_part(printed.lay, printed.part, np.array([hole.centre_mm]).T).ravel()
    return float(x), float(y)


def _places(printed: Printed, holes: Sequence[Hole], words: str) -> list[tuple[float, float]]:
    return [printed.places[hole.name] for hole in holes if _is(hole, words)]


def _check_over(
    printed: Printed, over: Over, places: Sequence[tuple[float, float]]
) -> Iterator[Finding]:
    """X and Y over one of the places, as the part lies."""
    for place in places:
        exact = printed.on_machine(place)
        pairs = [
            (one.mm * printed.signs[axis], exact[axis])
            for axis, one in enumerate((over.x, over.y))
            if one is not None and printed.is_whole_counts(one.mm)
        ]
        given = sum(one is not None for one in (over.x, over.y))
        if len(pairs) == given and all(abs(a - b) <= printed.half_count_mm for a, b in pairs):
            return
    figures = " ".join(
        f"{letter}{one.mm:g}" for letter, one in zip("XY", (over.x, over.y), strict=True) if one
    )
    yield _wrong(printed, f"over {over.hole} it is said to read {figures} mm")


def _check_ruled(printed: Printed, words: str, distance: Figure, face: str) -> Iterator[Finding]:
    upright = printed.upright.get(face)
    here = [one.hole for one in printed.expected.values()]
    for x, y in _places(printed, here, words):
        if upright is not None:
            exact = abs((x, y)[upright.axis] - upright.at_mm)
            if abs(exact - distance.mm) <= distance.half_digit_mm + SLACK_MM:
                return
    yield _wrong(printed, f"{words} is said to lie {distance.mm:g} mm from {face.upper()} by rule")


def _check_recovery(printed: Printed) -> Iterator[Finding]:
    setting = printed.setup.setting
    here = [one.hole for one in printed.expected.values()]
    found = [_places(printed, here, over.hole) for over in setting.recover]
    for over, places in zip(setting.recover, found, strict=True):
        yield from _check_over(printed, over, places)
    if setting.apart is not None and not any(
        abs(math.dist(one, other) - setting.apart.mm) <= printed.half_count_mm
        for one in found[0]
        for other in found[1]
    ):
        yield _wrong(printed, f"the holes for a lost zero are not {setting.apart.mm:g} mm apart")


def _check_head(printed: Printed) -> Iterator[Finding]:
    """Sums of the quill, and the deepest of the rows that they are for."""
    heights = printed.setup.setting.head
    if not heights:
        return
    powered = [row for row in printed.setup.rows if row.turns is None]
    runs = [list(run) for _, run in groupby(powered, key=lambda row: row.tool_number)]
    spans = [range(height.first, height.last + 1) for height in heights]
    if [change for span in spans for change in span] != list(range(1, len(runs) + 1)):
        yield _wrong(printed, f"HEAD does not count {len(runs)} changes of tool one by one")
        return
    for height, span in zip(heights, spans, strict=True):
        before = [row for run in runs[: span[0] - 1] for row in run]
        yield from _check_again(printed, height, before)
        slack = 4 * height.needed.half_digit_mm + SLACK_MM
        deepest = max(_depth(printed, row) for change in span for row in runs[change - 1])
        needed = height.longest.mm - height.shortest.mm + height.deepest.mm + SPARE_QUILL_MM
        if abs(deepest - height.deepest.mm) > slack or abs(needed - height.needed.mm) > slack:
            words = (
                f"HEAD reckons {height.needed.mm:g} mm of quill for changes {span[0]} to {span[-1]}"
            )
            yield _wrong(printed, words)
        if len(span) > 1 and height.needed.mm > height.quill.mm + slack:
            yield _wrong(
                printed, f"HEAD asks {height.needed.mm:g} of {height.quill.mm:g} mm of quill"
            )


def _check_again(
    printed: Printed, height: HeadHeight, before: Sequence[PrintedRow]
) -> Iterator[Finding]:
    """Zero is found again over a hole that was made, or spotted, before the head moves."""
    if height.again is None:
        if before:
            words = f"HEAD does not say where zero is found again before change {height.first}"
            yield _wrong(printed, words)
        return
    name = height.again.replace(" ", "")
    at_hole = {row.operation for row in before if row.hole.replace(" ", "") == name}
    if not (at_hole & {"spot drill"} if height.is_spot else at_hole - {"spot drill"}):
        yield _wrong(printed, f"HEAD finds zero again over {height.again}, not made by then")


def _depth(printed: Printed, row: PrintedRow) -> float:
    return -printed.z_sign * row.z_mm
