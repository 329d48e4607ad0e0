"""Programs that make only part of a setup: a proving run, a restart, holes that are left out.

Imports the part and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence

import numpy as np

from millprep.base.findings import Finding, Severity
from millprep.model.part import Part
from millprep.reading.made import MadeHole
from millprep.reading.milled_rooms import SidewaysCuts
from millprep.reading.moves import BY_HAND, FEED, ProgramRun
from millprep.witness import NEAR_MM, Floats, Lay, wanted_of

_SAME_PLACE_MM = 0.1
_SLACK_MM = 0.01
_AGAIN = "write the restart again"


def cuts_in_the_air(
    file: str, holes: Sequence[MadeHole], sideways: SidewaysCuts
) -> Iterator[Finding]:
    """What a proving run takes of the work. sideways : its cuts that do not go straight down"""
    lines = [one.line for hole in holes for one in hole.operations if one.file == file]
    cuts = [line for line in (*lines, *sideways.line.tolist()) if line is not None]
    if cuts:
        words = "a proving run cuts nothing, and this goes into the work"
        remedy = "write it again, higher: --prove"
        yield Finding("stop", "proving-cuts", words, remedy, file, min(cuts))


def without_left_out(
    part: Part, lay: Lay, holes: Sequence[MadeHole], left_out: Collection[str]
) -> tuple[list[MadeHole], list[Finding]]:
    """The holes but for those that are left out, and what goes into one."""
    places = _places(part, lay, left_out)
    kept: list[MadeHole] = []
    faults: list[Finding] = []
    for made in holes:
        name = _near(places, made.x_mm, made.y_mm)
        if name is None:
            kept.append(made)
            continue
        first = made.operations[0] if made.operations else None
        file, line = (None, None) if first is None else (first.file, first.line)
        words = f"{name} is left out, and a tool goes into it"
        remedy = "take out what is done there, or write the program again"
        stop = Finding("stop", "left-out-entered", words, remedy, file, line, holes=(name,))
        faults.append(stop)
    return kept, faults


def low_over_left_out(
    part: Part, lay: Lay, run: ProgramRun, file: str, left_out: Collection[str], safe_mm: float
) -> Iterator[Finding]:
    """A sideways move below the clear height over a hole that is left out.

    run : as run on the part lying square
    """
    if run.is_quill_by_hand or not left_out:
        return
    moves = run.moves
    start, end = moves.start + moves.shift, moves.end + moves.shift
    low = np.minimum(start[2], end[2]) < safe_mm - _SLACK_MM
    low &= (np.hypot(*(end - start)[:2]) > _SLACK_MM) & ~moves.machine_only
    for name, (x_mm, y_mm, wide_mm) in _places(part, lay, left_out).items():
        over = low & (_distance(start, end, x_mm, y_mm) < wide_mm / 2 + _radii(run))
        rows = np.flatnonzero(over)
        if rows.size:
            words = f"{name} is left out, and the tool goes over it below the clear height "
            words, line = f"{words}(Z{safe_mm:g})", int(moves.line[rows[0]])
            remedy = "go up to the clear height before every move sideways"
            yield Finding("stop", "left-out-entered", words, remedy, file, line, holes=(name,))


def left_out_told(part: Part, lay: Lay, left_out: Collection[str], file: str) -> Iterator[Finding]:
    """One note that names the holes of this setup that are not made."""
    names = tuple(_places(part, lay, left_out))
    if names:
        words = f"left out, so not made: {', '.join(names)}"
        yield Finding("note", "left-out", words, file=file, holes=names)


def unproven(
    run: ProgramRun, file: str, before: Sequence[MadeHole], safe_mm: float
) -> Iterator[Finding]:
    """A restart that cuts before it has stood still, the spindle stopped, over what is made; or
    that goes by tap or reamer under power into a hole into which nobody has looked.

    before : what was made before; run : as run on the part lying square
    """
    moves, is_by_hand = run.moves, run.is_quill_by_hand
    feeds = moves.cycle == BY_HAND if is_by_hand else moves.kind == FEED
    rows = np.flatnonzero(feeds | (moves.cycle == BY_HAND))
    first = int(rows[0]) if rows.size else len(moves)
    ends, is_assumed = moves.end + moves.shift, run.is_spindle_assumed
    still = [one.row for one in run.stops if not one.spindle or is_assumed]
    looks = [ends[:, row - 1] for row in still if 0 < row <= first]
    if not is_by_hand:
        looks = [at for at in looks if at[2] >= safe_mm - _SLACK_MM]
    if not any(_is_at(at, one.x_mm, one.y_mm) for at in looks for one in before):
        words = "a restart that cuts before it has stopped over a hole made before, the spindle "
        words += "off: nobody has seen that the zero is right"
        line = int(moves.line[first]) if first < len(moves) else None
        yield Finding("stop", "restart-unproven", words, _AGAIN, file, line)
    if first >= len(moves):
        return
    tool = run.tools.get(int(moves.tool[first]))
    kind = "" if tool is None else tool.kind
    is_hands = kind == "tap" and moves.cycle[first] == BY_HAND
    x_mm, y_mm = ends[:2, first]
    if kind in ("tap", "reamer") and not is_hands and not any(_is_at(a, x_mm, y_mm) for a in looks):
        words = f"the restart begins with a {kind} under power, and does not stop over the hole "
        words += f"first: a hole that the {kind} has begun is finished by hand"
        line = int(moves.line[first])
        yield Finding("stop", "restart-unproven", words, _AGAIN, file, line)


def made_again(
    run: ProgramRun, file: str, before: Sequence[MadeHole], by: str
) -> Iterator[Finding]:
    """Tools that go down again where they have been before; a tap or reamer under power spoils
    what it has made or begun.

    before : what was made before, by the program of that name; run : on the part lying square
    """
    moves = run.moves
    x, y, z = moves.end + moves.shift
    rows = np.flatnonzero((moves.kind == FEED) & (z < -_SLACK_MM))
    for hole in before:
        near = rows[np.hypot(x[rows] - hole.x_mm, y[rows] - hole.y_mm) < _SAME_PLACE_MM]
        for tool in {one.tool_number for one in hole.operations if one.file == by}:
            its = near[moves.tool[near] == tool]
            if not its.size:
                continue
            kind = next(o.tool_kind for o in hole.operations if o.tool_number == tool)
            is_hands = bool((moves.cycle[its] == BY_HAND).all())
            words = f"T{tool} goes down at X{hole.x_mm:.3f} Y{hole.y_mm:.3f}, where its head says "
            words, line = f"{words}that it has been before", int(moves.line[its[0]])
            remedy = f"{_AGAIN}, from the hole that is to be made first"
            severity: Severity = "stop" if kind in ("tap", "reamer") and not is_hands else "warning"
            yield Finding(severity, "made-again", words, remedy, file, line)


def _is_at(at: Floats, x_mm: float, y_mm: float) -> bool:
    return math.hypot(at[0] - x_mm, at[1] - y_mm) < _SAME_PLACE_MM


def _places(part: Part, lay: Lay, names: Collection[str]) -> dict[str, tuple[float, float, float]]:
    """Of the holes of those names that are worked from this face: X, Y and how wide they are."""
    wanted, places = wanted_of(part, lay)
    return {
        one.hole.name: (x_mm, y_mm, one.mouth_mm)
        for one, (x_mm, y_mm) in zip(wanted, places.T.tolist(), strict=True)
        if one.hole.name in names
    }


def _near(places: dict[str, tuple[float, float, float]], x_mm: float, y_mm: float) -> str | None:
    distances = {name: math.hypot(x - x_mm, y - y_mm) for name, (x, y, _) in places.items()}
    name = min(distances, key=lambda one: distances[one], default=None)
    return name if name is not None and distances[name] < NEAR_MM else None


def _distance(start: Floats, end: Floats, x_mm: float, y_mm: float) -> Floats:
    """(N,) how near each move comes to a place, as seen from above."""
    way = end[:2] - start[:2]
    to = np.array([[x_mm], [y_mm]]) - start[:2]
    length = np.maximum((way**2).sum(axis=0), 1e-12)
    share = np.clip((way * to).sum(axis=0) / length, 0.0, 1.0)
    return np.asarray(np.hypot(*(to - share * way)))


def _radii(run: ProgramRun) -> Floats:
    """(N,) radius of the tool of each move, 0 where nobody knows it."""
    sizes = {number: tool.diameter_mm or 0.0 for number, tool in run.tools.items()}
    return np.array([sizes.get(number, 0.0) / 2 for number in run.moves.tool.tolist()])
