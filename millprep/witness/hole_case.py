"""One hole under comparison, and what is found of it; its cones, countersinks and spots.

A cone is as wide at the face as its tip is deep there. Imports the part and `reading`.
"""

from __future__ import annotations

import math

from millprep.base.findings import Finding, Words, words
from millprep.base.records import anew, frozen
from millprep.reading.made import MadeOperation
from millprep.witness.expected import Expected, Need
from millprep.witness.leavings import DIAMETER_TOLERANCE_MM

SAME_WORK = {"pilot drill": "drill", "spotface": "counterbore"}


SPOT_OVER_MOUTH_MM = 1.0  # a spot's edge is 0.2 to 0.4 over the hole (common practice)
LEAST_SPOT_MM = 0.3  # narrower is no more than a touch
ANGLE_TOLERANCE_DEG = 0.5


@frozen
class HoleCase:
    """One hole under comparison: what is wanted, what is left of what was made, findings so far."""

    expected: Expected
    left: list[MadeOperation]
    depth_tolerance_mm: float
    hands: frozenset[str]
    most_breakthrough_mm: float
    file: str | None
    made: tuple[MadeOperation, ...] = ()
    findings: list[Finding] = anew(factory=list)

    @property
    def is_milled(self) -> bool:
        """Whether an end mill has made the whole of it from the solid, or gone round down to its
        floor before any other tool came; a spot drill does not count."""
        made = [one for one in self.made if one.tool_kind != "spot drill"]
        if {one.tool_kind for one in made} == {"end mill"}:
            return True
        if not made:
            return False
        first, floor_mm = made[0], self.depth_tolerance_mm - self.expected.hole.depth_mm
        is_deep = first.full_mm is not None and first.full_mm <= floor_mm
        return first.milling == "circle" and is_deep

    def say(
        self, kind: str, said: str | Words, remedy: str | Words, operation: MadeOperation | None
    ) -> None:
        self.findings.append(
            Finding(
                "stop",
                kind,
                words("{hole}: {said}", hole=self.expected.hole.name, said=said),
                remedy,
                file=(operation.file if operation else None) or self.file,
                line=operation.line if operation else None,
                holes=(self.expected.hole.name,),
            )
        )

    def is_by_hand(self, name: str) -> bool:
        """Whether an operation, or another that does the same work, is left to the hand."""
        names = {name, *(other for other, same in SAME_WORK.items() if same == name)}
        return bool(names & self.hands)


def _cone_tolerance(need: Need, depth_tolerance_mm: float) -> float:
    angle = need.angle_deg if need.angle_deg is not None else 90.0
    return 2 * math.tan(math.radians(angle / 2)) * depth_tolerance_mm + DIAMETER_TOLERANCE_MM


def is_cone(operation: MadeOperation, need: Need, depth_tolerance_mm: float) -> bool:
    angle = operation.point_angle_deg
    return (
        operation.cone_mm is not None
        and abs(operation.cone_mm - need.diameter_mm) <= _cone_tolerance(need, depth_tolerance_mm)
        and (angle is None or abs(angle - (need.angle_deg or angle)) <= ANGLE_TOLERANCE_DEG)
    )


def compare_countersink(case: HoleCase, need: Need, done: MadeOperation) -> None:
    angle = done.point_angle_deg
    wanted = need.angle_deg
    if angle is not None and wanted is not None and abs(angle - wanted) > ANGLE_TOLERANCE_DEG:
        case.say(
            "wrong-angle",
            f"countersunk at {angle:g} degrees; the part asks for {wanted:g}",
            "change the tool: a head of the other angle sits on its rim",
            done,
        )
    tolerance = _cone_tolerance(need, case.depth_tolerance_mm)
    cone = done.cone_mm
    is_sunk = done.full_mm is not None and done.full_mm < -case.depth_tolerance_mm
    if cone is None or (abs(cone - need.diameter_mm) <= tolerance and not is_sunk):
        return
    kind = "too-shallow" if cone < need.diameter_mm and not is_sunk else "too-deep"
    case.say(
        kind,
        words(
            "the countersink is {cone_mm:3} wide at the face (its tip at Z{tip_mm:3bare}); "
            "{wanted_mm:3bare} is asked for",
            cone_mm=cone,
            tip_mm=done.tip_mm,
            wanted_mm=need.diameter_mm,
        ),
        "change its depth",
        done,
    )


def compare_spot(case: HoleCase, spot: MadeOperation | None) -> None:
    if spot is None:
        drilled = case.expected.is_drilled and case.expected.hole.spot and not case.is_milled
        wants_spot = drilled or case.expected.is_spot
        if wants_spot and not case.is_by_hand("spot drill"):
            case.say(
                "operation-missing",
                "no spot is drilled to start it",
                "spot it first, or say spot = false in the part file",
                None,
            )
        return
    if spot.cone_mm is None:
        return
    most = case.expected.mouth_mm + SPOT_OVER_MOUTH_MM
    is_sunk = spot.full_mm is not None and spot.full_mm < -case.depth_tolerance_mm
    if spot.cone_mm > most or is_sunk:
        case.say(
            "too-deep",
            words(
                "the spot goes down to Z{tip_mm:3bare} and is {cone_mm:3} wide at the face; the "
                "mouth is {mouth_mm:3bare}",
                tip_mm=spot.tip_mm,
                cone_mm=spot.cone_mm,
                mouth_mm=case.expected.mouth_mm,
            ),
            words("spot no wider than {most_mm:3}", most_mm=most),
            spot,
        )
    elif spot.cone_mm < LEAST_SPOT_MM:
        case.say(
            "too-shallow",
            words("the spot is {cone_mm:3} wide: no more than a touch", cone_mm=spot.cone_mm),
            "spot it as wide as the hole",
            spot,
        )
