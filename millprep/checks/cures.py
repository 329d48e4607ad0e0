"""The nearest change to a part that cures a finding, found by trying it.

Every candidate is enlarged until the fault is gone and no other has come of it, then narrowed down
to where it just begins to do. The least change wins; it is told with its figure rounded away from
what stands in the part file, and tried once more so. Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from millprep.base.findings import Cure, Finding
from millprep.base.records import replace
from millprep.base.waiting import go_on
from millprep.checks.candidates import TOLD_MM, Candidate, depths, shifts, spreads, unit_of
from millprep.checks.faults import SLACK_MM, Key, key_of
from millprep.checks.gaps import Point
from millprep.checks.rules import lacking_mm, serious_round
from millprep.checks.solids import Placed, placed_anew
from millprep.checks.space import Space
from millprep.model.part import Hole

MOST_CURES = 40
"""Looked for in one part; what is wrong beyond is told without."""
_FARTHEST_MM = 60.0
_SURE_MM = 1e-8  # more than the least, so that it does not hang on the last digit of a float
_LEAST_MM = 1e-4
_EXACT_MM = 1e-9
_GROWTH = 1.2
_WEIGHT_OF_DEPTH = 0.5
_LEAST_SHARE_OF_DEPTH = 0.5  # a hole made less deep than that is another hole


_NOT_OF_ALL = "it cures some of them: look again once it is done"
Found = tuple[float, Candidate]
"""The least amount [mm] of a candidate that will do."""


def _deepened(hole: Hole, cure: Cure) -> Hole:
    """One hole at the depths of the cure."""
    return replace(
        hole,
        depth_mm=hole.depth_mm if cure.depth_mm is None else cure.depth_mm,
        drill_depth_mm=hole.drill_depth_mm if cure.drill_depth_mm is None else cure.drill_depth_mm,
    )


def _way(one: Hole, other: Hole) -> Point:
    x, y, z = (to - at for at, to in zip(one.centre_mm, other.centre_mm, strict=True))
    return x, y, z


def _weight(candidate: Candidate) -> float:
    """A millimetre of depth spoils less than one of place, which other parts share."""
    return _WEIGHT_OF_DEPTH if candidate.kind == "depth" else 1.0


def _narrowed(
    lacking: Callable[[float], float | None], failing: float, doing: float
) -> tuple[float, float]:
    """Where nothing is lacking any more: an amount just below, and one just above."""
    while doing - failing > _EXACT_MM:
        middle = (failing + doing) / 2
        if lacking(middle) is None:
            doing = middle
        else:
            failing = middle
    return failing, doing


class Healer:
    """Looks for cures in the space of one plan."""

    def __init__(self, space: Space) -> None:
        self.space, self._units = space, space.part.units
        self._found: dict[tuple[str, ...], tuple[Finding, Found | None]] = {}
        self._sought_for = 0
        self._before: dict[tuple[str, ...], dict[Key, float]] = {}

    def cure(self, finding: Finding) -> Cure | None:
        """The nearest cure; None where none was found.

        What is said alike of other members of a pattern is told once, so is looked for once; a
        move of one member is tried at the others.
        """
        if self.space.is_crowded:
            return None  # there is no room to move anything to, and no end to trying
        groups = tuple(hole.group for hole in self._holes(finding))
        key = (finding.alike(groups), *groups)
        first, found = self._found.get(key, (finding, None))
        if found is not None and first is not finding and found[1].kind == "move":
            found = self._there_too(first, found, finding)
        if key not in self._found or (found is None and self._found[key][1] is not None):
            found = self._sought(finding) if self._sought_for < MOST_CURES else None
            self._sought_for += 1
            self._found.setdefault(key, (finding, found))
        if found is None:
            return None
        amount, candidate = found
        told = candidate.rounded_mm(amount, TOLD_MM[self._units])
        is_cured = first is finding or self._lacking_mm(candidate, finding, told) is None
        return replace(
            candidate.cure(amount),
            said=candidate.told(told),
            told=candidate.cure(told),
            no_edits="" if is_cured else _NOT_OF_ALL,
        )

    def _holes(self, finding: Finding) -> tuple[Hole, ...]:
        return tuple(self.space.placed[name].hole for name in finding.holes)

    def _there_too(self, first: Finding, found: Found, finding: Finding) -> Found | None:
        """The move that cures one member at the same one of the holes of another, if it will do."""
        amount, candidate = found
        hole = self._holes(finding)[first.holes.index(candidate.holes[0].name)]
        for moved in shifts(self.space.part, (hole,)):
            told = moved.rounded_mm(amount, TOLD_MM[self._units])
            if moved.said == candidate.said and all(
                self._lacking_mm(moved, finding, by) is None for by in (amount, told)
            ):
                return amount, moved
        return None

    def _sought(self, finding: Finding) -> Found | None:
        best: Found | None = None
        limit = _FARTHEST_MM
        for candidate in self._candidates(finding):
            amount = self._least_mm(candidate, finding, limit / _weight(candidate))
            if amount is not None:
                best = amount, candidate
                limit = amount * _weight(candidate) * (1 - 1e-6)
        return best

    def _candidates(self, finding: Finding) -> Iterator[Candidate]:
        """Depths first, then what is written later: of changes as small the first is told."""
        part = self.space.part
        holes = self._holes(finding)
        for hole in holes:
            yield from depths(part, hole)
        units = list(dict.fromkeys(unit_of(part, hole) for hole in reversed(holes)))
        is_within_one = len(units) == 1 and len(holes) > 1
        for unit in units:
            if not is_within_one:
                yield from shifts(part, unit)
            yield from spreads(part, unit)

    def _least_mm(self, candidate: Candidate, finding: Finding, limit_mm: float) -> float | None:
        """The least amount that will do and still does when it is rounded; None within limits."""
        limit_mm = min(limit_mm, self._most_mm(candidate))
        at_fault = candidate.only(self._holes(finding))

        def of_itself(amount_mm: float) -> float | None:
            return lacking_mm(self.space, finding, self._changed(at_fault, amount_mm))

        def of_all(amount_mm: float) -> float | None:
            return self._lacking_mm(candidate, finding, amount_mm)

        failing, amount = 0.0, self._first_mm(at_fault, finding)
        if amount >= limit_mm or (of_itself(amount) or 0.0) > finding.lacking_mm + SLACK_MM:
            return None  # too far, or the wrong way
        while amount < limit_mm and (of_itself(amount) is not None or of_all(amount) is not None):
            failing, amount = amount, amount * _GROWTH
        if amount >= limit_mm:
            return None
        if of_itself(failing) is not None:  # soon seen, and mostly all that there is to it
            failing, cured = _narrowed(of_itself, failing, amount)
            if of_all(cured + _SURE_MM) is None:
                failing, amount = cured, cured
            else:
                failing = cured
        amount = _narrowed(of_all, failing, amount)[1] + _SURE_MM
        told = candidate.rounded_mm(amount, TOLD_MM[self._units])
        return amount if of_all(told) is None else None

    @staticmethod
    def _first_mm(at_fault: Candidate, finding: Finding) -> float:
        """Less than any amount that will do: room grows by no more than holes move apart."""
        ways = at_fault.ways_mm or ((1.0, 0.0, 0.0),)
        speed = math.dist(*ways) if len(ways) == 2 else math.hypot(*ways[0])
        return max(finding.lacking_mm / max(speed, 1e-3), _LEAST_MM) * (1 - 1e-3)

    def _most_mm(self, candidate: Candidate) -> float:
        """Beyond which a change is another part."""
        hole, figure = candidate.holes[0], candidate.figure_mm
        if candidate.kind == "depth" and candidate.sign > 0:
            return self.space.part.stock.size_mm[self.space.placed[hole.name].axis] - hole.depth_mm
        if candidate.kind == "depth":
            return hole.depth_mm * (1 - _LEAST_SHARE_OF_DEPTH)
        return figure if candidate.sign < 0 else _FARTHEST_MM

    def _lacking_mm(self, candidate: Candidate, finding: Finding, amount_mm: float) -> float | None:
        """What the fault lacks after the change; 0 where that spoils more; None: all is well."""
        changed = self._changed(candidate, amount_mm)
        lacking = lacking_mm(self.space, finding, changed)
        if lacking is not None:
            return lacking
        before = self._faults_before(candidate.holes)
        is_spoilt = any(
            other.lacking_mm > before.get(key_of(other), -1.0) + SLACK_MM
            for other in serious_round(self.space, changed)
        )
        return 0.0 if is_spoilt else None

    def _changed(self, candidate: Candidate, amount_mm: float) -> dict[str, Placed]:
        go_on()
        cure, placed = candidate.cure(amount_mm), self.space.placed
        if cure.by_mm:
            return {
                name: placed[name].moved(by)
                for name, by in zip(cure.holes, cure.by_mm, strict=True)
            }
        first = candidate.holes[0]
        deeper = placed_anew(self.space.part, self.space.shop, _deepened(first, cure))
        return {
            hole.name: replace(deeper.moved(_way(first, hole)), hole=_deepened(hole, cure))
            for hole in candidate.holes
        }

    def _faults_before(self, holes: tuple[Hole, ...]) -> dict[Key, float]:
        """What each finding at these holes lacks as they are."""
        names = tuple(hole.name for hole in holes)
        if names not in self._before:
            found: dict[Key, float] = {}
            for finding in serious_round(self.space, {n: self.space.placed[n] for n in names}):
                key = key_of(finding)
                found[key] = max(found.get(key, 0.0), finding.lacking_mm)
            self._before[names] = found
        return self._before[names]
