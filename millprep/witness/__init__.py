"""The second witness: compares holes read back from finished sheets with the part itself.

It works in part axes from the words that a sheet prints ("FRONT up; BOTTOM towards you"; zero on
LEFT and BOTTOM), with face frames, point lengths and thread limits of its own, so that a slip on
the writing side cannot hide here. Imports the part, the reference tables and what `reading` makes;
never setups, cutting, planning, sheet or writers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding, MillprepError, Words, words
from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.reading.made import MadeHole
from millprep.witness.expected import Expected, expected_holes
from millprep.witness.faces import AXIS, LOOKS, face_mm
from millprep.witness.judge import compare_hole

Floats = NDArray[np.float64]

_CELL_MM = 2.0
NEAR_MM = 3.0  # a hole this near to its place is that hole, off; farther, another one
MOST_BREAKTHROUGH_MM = 5.0
LEAST_TOLERANCE_MM = 0.0015  # a program rounds to 0.0001 in at most: half of it, on a part askew


@frozen
class Lay:
    """How a part lies, in the words of a sheet, in any case: faces, and "centre" for a zero.

    number : of the setup, where only what is made in that one counts
    """

    face: str
    towards_you: str
    zero_x: str
    zero_y: str
    number: int | None = None


def _frame(lay: Lay, part: Part) -> tuple[Floats, Floats]:
    """Setup X, Y, Z as columns (3, 3) in part axes, and the zero (3,) in part axes."""
    face, towards = lay.face.lower(), lay.towards_you.lower()
    if face not in LOOKS or towards not in LOOKS:
        raise _bad_lay(lay, part, "a face is top, bottom, front, back, left or right")
    up, near = np.array(LOOKS[face]), np.array(LOOKS[towards])
    if up @ near != 0:
        raise _bad_lay(lay, part, f"{towards} cannot be towards you while {face} is up")
    away = -near
    right = np.cross(away, up)
    zero = np.zeros(3)
    for name, along in ((lay.zero_x, right), (lay.zero_y, away), (face, up)):
        axis = int(np.flatnonzero(along)[0])
        zero[axis] = _height_along(name.lower(), axis, lay, part)
    return np.column_stack([right, away, up]), zero


def frame_of(lay: Lay, part: Part) -> Floats:
    """Setup X, Y, Z as columns (3, 3) in part axes. Raises MillprepError for a bad lay."""
    return _frame(lay, part)[0]


def _height_along(words: str, axis: int, lay: Lay, part: Part) -> float:
    if words == "centre":
        return part.stock.size_mm[axis] / 2
    if AXIS.get(words) != axis:
        raise _bad_lay(lay, part, f"zero on {words} does not lie across that readout axis")
    return face_mm(words, part.stock.size_mm)


def _bad_lay(lay: Lay, part: Part, remedy: str) -> MillprepError:
    said = f"{lay.face} up, {lay.towards_you} towards you, X from {lay.zero_x}, Y from {lay.zero_y}"
    words = f"{said} is no lay of a part"
    return MillprepError(Finding("stop", "bad-lay", words, remedy, part.path or None))


def to_part(lay: Lay, part: Part, xyz: Floats) -> Floats:
    """Part axes (3, N) of readings (3, N) in setup axes. Raises MillprepError for a bad lay."""
    frame, zero = _frame(lay, part)
    return np.asarray(frame @ xyz + zero[:, None])


def from_part(lay: Lay, part: Part, xyz: Floats) -> Floats:
    """Readings (3, N) in the setup's axes of points (3, N) in part axes."""
    frame, zero = _frame(lay, part)
    return np.asarray(frame.T @ (xyz - zero[:, None]))


def wanted_of(part: Part, lay: Lay) -> tuple[list[Expected], Floats]:
    """What the face that is up must have, and where: readings (2, N) in the setup's axes."""
    wanted = list(expected_holes(part, lay.face.lower(), lay.number))
    if not wanted:
        return wanted, np.empty((2, 0))
    return wanted, from_part(lay, part, np.array([one.centre_mm for one in wanted]).T)[:2]


def compare(
    part: Part,
    lay: Lay,
    holes: Sequence[MadeHole],
    *,
    position_tolerance_mm: float,
    depth_tolerance_mm: float = 0.01,
    hands: Collection[str] = (),
    file: str | None = None,
    most_breakthrough_mm: float = MOST_BREAKTHROUGH_MM,
    by_own_rules: bool = False,
    left_out: Collection[str] = (),
) -> tuple[Finding, ...]:
    """What the holes made differ from the part's, for the face that is up; empty when they agree.

    holes : in setup axes
    hands : names of operations that are left to the hand and so may be absent
    most_breakthrough_mm : how far beyond the far face a through hole's full size may go
    by_own_rules : the program is millprep's own: what the part leaves open has to follow the rules,
        and every hole lies within `position_tolerance_mm`; else a hole's own tolerance counts where
        it has one
    left_out : names of holes that are not to be made
    """
    wanted, places = wanted_of(part, lay)
    if left_out:
        kept = [n for n, one in enumerate(wanted) if one.hole.name not in left_out]
        wanted, places = [wanted[n] for n in kept], places[:, kept]
    pairs, missing, extra = matched(places, holes)
    findings: list[Finding] = []
    for index, made in pairs:
        expected, (x, y) = wanted[index], places[:, index].tolist()
        usual = Zone(position_tolerance_mm)
        zone = usual if by_own_rules else zone_of(expected.hole, usual)
        findings += _off(expected, x, y, made, zone, file)
        findings += compare_hole(
            expected, made, depth_tolerance_mm, frozenset(hands), most_breakthrough_mm, file
        )
        if by_own_rules:
            findings += _by_rule(expected, made, depth_tolerance_mm, file)
    for index in missing:
        if _needs_machine(wanted[index], hands):
            findings.append(_missing(wanted[index], places[:, index].tolist(), file))
    lost = {_key(*places[:, index].tolist()): wanted[index] for index in missing}
    findings += [_extra(made, lost, file) for made in extra]
    return tuple(findings)


def _by_rule(
    expected: Expected, made: MadeHole, tolerance_mm: float, file: str | None
) -> list[Finding]:
    from millprep.witness.rules import rule_differences

    name, remedy = expected.hole.name, "the program does not agree with the part file"
    return [
        Finding("stop", kind, f"{name}: {what}", remedy, one.file or file, one.line, holes=(name,))
        for kind, what, one in rule_differences(expected, made.operations, tolerance_mm)
    ]


def _needs_machine(expected: Expected, hands: Collection[str]) -> bool:
    return bool(expected.names - set(hands))


def matched(
    places: Floats, holes: Sequence[MadeHole]
) -> tuple[list[tuple[int, MadeHole]], list[int], list[MadeHole]]:
    """(pairs of expected index and hole made, indices left over, holes left over), by a grid."""
    grid: dict[tuple[int, int], list[int]] = {}
    columns = places.T.tolist()
    for index, (x, y) in enumerate(columns):
        grid.setdefault((math.floor(x / _CELL_MM), math.floor(y / _CELL_MM)), []).append(index)
    offers = []
    reach = math.ceil(NEAR_MM / _CELL_MM)
    for number, made in enumerate(holes):
        column, row = math.floor(made.x_mm / _CELL_MM), math.floor(made.y_mm / _CELL_MM)
        for i in range(column - reach, column + reach + 1):
            for j in range(row - reach, row + reach + 1):
                for index in grid.get((i, j), ()):
                    x, y = columns[index]
                    distance = math.hypot(x - made.x_mm, y - made.y_mm)
                    if distance <= NEAR_MM:
                        offers.append((distance, index, number))
    taken: dict[int, int] = {}
    used: set[int] = set()
    for _, index, number in sorted(offers):
        if index not in taken and number not in used:
            taken[index] = number
            used.add(number)
    pairs = [(index, holes[taken[index]]) for index in sorted(taken)]
    missing = [index for index in range(len(columns)) if index not in taken]
    return pairs, missing, [made for number, made in enumerate(holes) if number not in used]


@frozen
class Zone:
    """Where a hole may be: so far off in X and in Y, or within a circle of that radius [mm]."""

    radius_mm: float
    is_round: bool = False

    def excess_mm(self, dx_mm: float, dy_mm: float) -> float:
        """By how much a hole that is so far off lies outside; negative inside."""
        # Each axis by itself, where nothing else is said: that is how a readout shows it.
        away = math.hypot(dx_mm, dy_mm) if self.is_round else max(abs(dx_mm), abs(dy_mm))
        return away - self.radius_mm

    def words(self) -> Words:
        """ "0.05", "a zone of dia 0.1"."""
        if self.is_round:
            return words("a zone of dia {across_mm:exactbare}", across_mm=2 * self.radius_mm)
        return words("{radius_mm:exactbare}", radius_mm=self.radius_mm)


def zone_of(hole: Hole, usual: Zone) -> Zone:
    """A hole's own zone where the part file gives it one, else the usual tolerance each way."""
    if hole.position_mm is not None:
        return Zone(max(hole.position_mm / 2, LEAST_TOLERANCE_MM), is_round=True)
    own = hole.tolerance_mm
    return usual if own is None else Zone(max(own, LEAST_TOLERANCE_MM))


def _off(
    expected: Expected, x_mm: float, y_mm: float, made: MadeHole, zone: Zone, file: str | None
) -> Iterable[Finding]:
    """At most one finding: the operation that lies farthest from the hole's place."""
    offs = [
        (
            one,
            (made.x_mm if one.x_mm is None else one.x_mm) - x_mm,
            (made.y_mm if one.y_mm is None else one.y_mm) - y_mm,
        )
        for one in made.operations
    ]
    worst = max(offs, key=lambda off: zone.excess_mm(off[1], off[2]), default=None)
    if worst is None or zone.excess_mm(worst[1], worst[2]) <= 1e-9:
        return
    operation, dx, dy = worst
    axes = [
        f"{letter} by {{{name}_mm:+4}}"
        for letter, name, d in (("X", "dx", dx), ("Y", "dy", dy))
        if abs(d) > 1e-9
    ]
    yield Finding(
        "stop",
        "hole-off",
        words(
            f"{{hole}} is off in {' and '.join(axes)}; it belongs at X{{x_mm:4bare}} "
            "Y{y_mm:4bare}, within {zone}",
            hole=expected.hole.name,
            dx_mm=dx,
            dy_mm=dy,
            x_mm=x_mm,
            y_mm=y_mm,
            zone=zone.words(),
        ),
        "check the coordinate against the part file, and that zero is on the faces named",
        file=operation.file or file,
        line=operation.line,
        holes=(expected.hole.name,),
    )


def _missing(expected: Expected, place: list[float], file: str | None) -> Finding:
    name, remedy = expected.hole.name, "every hole of this face has to be made"
    said = "{hole} at X{x_mm:3bare} Y{y_mm:3bare} is not made"
    told = words(said, hole=name, x_mm=place[0], y_mm=place[1])
    return Finding("stop", "hole-missing", told, remedy, file, holes=(name,))


def _key(x_mm: float, y_mm: float) -> tuple[int, int]:
    return round(x_mm / 0.1), round(y_mm / 0.1)


_SLIPS: tuple[tuple[str, Callable[[float, float], tuple[float, float]]], ...] = (
    ("X has the wrong sign", lambda x, y: (-x, y)),
    ("Y has the wrong sign", lambda x, y: (x, -y)),
    ("X and Y have the wrong sign", lambda x, y: (-x, -y)),
    ("X and Y are exchanged", lambda x, y: (y, x)),
    ("millimetres were read as inches", lambda x, y: (x / 25.4, y / 25.4)),
    ("inches were read as millimetres", lambda x, y: (x * 25.4, y * 25.4)),
)


def _extra(made: MadeHole, lost: dict[tuple[int, int], Expected], file: str | None) -> Finding:
    suspicion = ""
    for slip, undone in _SLIPS:
        expected = lost.get(_key(*undone(made.x_mm, made.y_mm)))
        if expected is not None:
            suspicion = f"; it would be {expected.hole.name} if {slip}"
            break
    first = made.operations[0] if made.operations else None
    said = "a hole at X{x_mm:3bare} Y{y_mm:3bare} is not the part's{suspicion}"
    told = words(said, x_mm=made.x_mm, y_mm=made.y_mm, suspicion=suspicion)
    remedy = "take it out, or check sign, unit and zero"
    file, line = (file, None) if first is None else (first.file or file, first.line)
    return Finding("stop", "hole-extra", told, remedy, file, line)
