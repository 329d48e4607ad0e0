"""What would lay members together that do not meet as they should: tried, and named where it works.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, islice

from millprep.assembly.coinciding import Over, overs_of
from millprep.assembly.links import entered_by, links_of
from millprep.assembly.matching import SAME_PLACE_MM
from millprep.assembly.placing import lay_all
from millprep.base.records import replace
from millprep.model.assembled import Assembly, Place, ScrewJoint
from millprep.model.part import OPPOSITE

_MOST_TRIED = 12  # each lays all the members anew


def mended(assembly: Assembly, overs: Sequence[Over]) -> dict[str, str]:
    """By the name of a joint what to change in the file, so that it and no other is at fault."""
    faults = _faults(overs)
    cures: dict[str, str] = {}
    if not faults:
        return cures
    for other, words in islice(_changed(assembly, faults), _MOST_TRIED):
        links = links_of(other)
        left = _faults(overs_of(other, links, lay_all(other, links)))
        for name in faults - left if left < faults else ():
            cures.setdefault(name, words)
    return cures


def _faults(overs: Sequence[Over]) -> set[str]:
    """The joints whose members do not meet as they should."""
    return {over.link.joint.name for over in overs if _is_at_fault(over)}


def _is_at_fault(over: Over) -> bool:
    is_apart = over.apart_mm is not None and abs(over.apart_mm) > SAME_PLACE_MM
    is_away = over.are_turned_away or over.shut is not None
    return bool(over.explained_by or is_apart or is_away) or not over.are_square


def _changed(assembly: Assembly, faults: set[str]) -> Iterator[tuple[Assembly, str]]:
    """The assembly changed in one thing, and that in words."""
    screws = [joint for joint in assembly.joints if isinstance(joint, ScrewJoint)]
    for joint in screws:
        for index, place in reversed([*enumerate(joint.through)]):
            if joint.name in faults and _can_turn(place):
                face = OPPOSITE[entered_by(joint, place)]
                turned = _placed(joint, index, replace(place, face=face))
                table = f'{{ holes = "{place.words}", face = "{face}" }}'
                yield (
                    _with(assembly, turned),
                    f"the screws enter {place.member} by its other side: {table}",
                )
    alike = [pair for pair in combinations(screws, 2) if _are_alike(*pair)]
    for one, other in sorted(alike, key=lambda pair: -len(pair[0].through[0].holes)):
        first, second = one.through[0], other.through[0]
        exchanged = _placed(one, 0, second), _placed(other, 0, first)
        words = f"exchange {first.words} in {one.name} and {second.words} in {other.name}"
        yield _with(assembly, *exchanged), words


def _can_turn(place: Place) -> bool:
    return not place.is_loose and all(hole.is_through for hole in place.holes)


def _are_alike(one: ScrewJoint, other: ScrewJoint) -> bool:
    """Whether two joints begin in one pattern, so that their places may have been exchanged."""
    if not one.through or not other.through:
        return False
    first, second = one.through[0], other.through[0]
    if first.is_loose or second.is_loose or first.member != second.member:
        return False
    are_as_many = len(first.holes) == len(second.holes)
    return are_as_many and first.holes[0].group == second.holes[0].group


def _placed(joint: ScrewJoint, index: int, place: Place) -> ScrewJoint:
    through = (*joint.through[:index], place, *joint.through[index + 1 :])
    return replace(joint, through=through)


def _with(assembly: Assembly, *joints: ScrewJoint) -> Assembly:
    """The assembly with some joints in place of those of their names."""
    named = {joint.name: joint for joint in joints}
    return replace(
        assembly, joints=tuple(named.get(joint.name, joint) for joint in assembly.joints)
    )
