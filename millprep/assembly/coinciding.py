"""Whether patterns lie over each other, and if not by how much and what would explain it.

What would lay members together that do not meet as they should is tried, and named where it works.
Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, islice

import numpy as np

from millprep.assembly.frames import Floats, Pose, centres, out_of, seen, view_axes
from millprep.assembly.links import Link, entered_by, links_of
from millprep.assembly.matching import SAME_PLACE_MM, Match, Whole, best_match, match_at
from millprep.assembly.placing import Lay, lay_all
from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH, Units
from millprep.model.assembled import Assembly, Place, ScrewJoint
from millprep.model.part import OPPOSITE, Hole
from millprep.setting.setups import outward
from millprep.sums.fitting import Fit, rigid_fit, scaled_fit

_MOST_COMPARED = 200  # holes whose distances from each other are compared
_STILL = Fit(np.zeros(2), 0.0, False, np.zeros((2, 1)))


@frozen
class Names:
    """What messages call the holes of both members, the face that they are seen on, the units."""

    first: tuple[str, ...] = ()
    second: tuple[str, ...] = ()
    members: tuple[str, str] = ("", "")
    face: str = ""
    units: Units = "mm"

    def figure(self, length_mm: float) -> str:
        """Without its unit, to 1 um or 1/100 thou."""
        return f"{length_mm:.3f}" if self.units == "mm" else f"{length_mm / float(MM_PER_INCH):.5f}"

    def length(self, length_mm: float) -> str:
        return f"{self.figure(length_mm)} {'mm' if self.units == 'mm' else 'in'}"


NO_NAMES = Names()


@frozen
class Over:
    """How the holes of a link lie over each other as the members lie.

    off_mm  : (2, N) the second's holes less the first's, as seen on the first's face, in the order
              of the second's holes; order : (N,) which of the first each lies over
    explained_by : what lines them up: "" (they do), "shift", "turn", "mirror", "size",
              "nothing"; words say it with its figures
    apart_mm : how far the faces are from where they should be; None where that is not known
    are_square : whether the holes run the same way
    are_turned_away : the faces that a screw joins look the same way, so they cannot touch
    shut : the blind holes, if any, that open on the side where the other member is not
    """

    link: Link
    off_mm: Floats
    order: tuple[int, ...]
    explained_by: str
    words: str
    apart_mm: float | None
    are_square: bool = True
    are_turned_away: bool = False
    shut: Place | None = None

    @property
    def members(self) -> frozenset[str]:
        return frozenset((self.link.first.member, self.link.second.member))

    @property
    def worst_mm(self) -> float:
        return float(np.hypot(*self.off_mm).max())

    @property
    def worst(self) -> int:
        """Number of the worst hole in the second's holes."""
        return int(np.argmax(np.hypot(*self.off_mm)))


def overs_of(assembly: Assembly, links: Sequence[Link], lays: dict[str, Lay]) -> list[Over]:
    """Every link as the members lie: members with a link are always of one group."""
    return [_over(assembly, link, lays) for link in links]


def _over(assembly: Assembly, link: Link, lays: dict[str, Lay]) -> Over:
    first = seen(link.first.holes, link.first_face)
    one, other = lays[link.first.member].pose, lays[link.second.member].pose
    inside = other.seen_from(one)
    axes = view_axes(link.first_face)
    facing = float(axes[2] @ inside.rotation @ outward(link.second_face))
    second = axes[:2] @ inside.placed(centres(link.second.holes))
    if abs(facing) < 1 - SAME_PLACE_MM / 10:
        return Over(
            link,
            second - first,
            tuple(range(first.shape[1])),
            "nothing",
            "the holes do not run the same way",
            None,
            False,
        )
    match = match_at([(first, second)], _STILL)
    order = match.order[0]
    explained, words = explain(first, second, match, _names(link, assembly.units))
    apart = None
    if link.are_sure and facing < 0:
        part, under = (assembly.member(place.member).part for place in (link.second, link.first))
        height = float(axes[2] @ inside.shift_mm) - out_of(part, link.second_face)
        apart = height - out_of(under, link.first_face) - link.gap_mm
    return Over(
        link,
        second - first[:, order],
        tuple(order.tolist()),
        explained,
        words,
        apart,
        are_turned_away=link.are_sure and facing > 0,
        shut=_shut(link, one, other),
    )


def _shut(link: Link, one: Pose, other: Pose) -> Place | None:
    """The blind holes that nothing can go through from the other member's holes."""
    first, second = link.first, link.second
    for place, mate, inside in (
        (first, second, other.seen_from(one)),
        (second, first, one.seen_from(other)),
    ):
        hole = place.holes[0]
        is_passed = isinstance(link.joint, ScrewJoint) and place != link.joint.into
        if hole.is_through or hole.goes_into or is_passed:
            continue
        out = outward(hole.face)
        beyond = out @ inside.placed(_ends(mate.holes[0])) - out @ np.array(hole.centre_mm)
        if beyond.max() <= SAME_PLACE_MM:
            return place
    return None


def _ends(hole: Hole) -> Floats:
    """(3, 2) both ends of a hole, in part axes."""
    mouth = centres([hole])
    return np.hstack([mouth, mouth - outward(hole.face)[:, None] * hole.depth_mm])


def _names(link: Link, units: Units) -> Names:
    first, second = (
        tuple(hole.name for hole in place.holes) for place in (link.first, link.second)
    )
    members = link.first.member, link.second.member
    face = f"{link.first_face.upper()} of {members[0]}"
    return Names(first, second, members, face, units)


def explain(
    first: Floats, second: Floats, match: Match, names: Names = NO_NAMES
) -> tuple[str, str]:
    """What would lay the second's places over the first's, the simplest first."""
    if match.errors_mm[0].max() <= SAME_PLACE_MM:
        return "", ""
    sets = [(first, second)]
    turned = best_match(sets)
    if turned.coincides:
        about = rigid_fit(second, first[:, turned.order[0]], mirrored=False)
        if _reach(first) * np.radians(abs(about.turn_deg)) <= SAME_PLACE_MM:
            shift = (first[:, turned.order[0]] - second).mean(axis=1)
            return "shift", f"{_shift_words(shift, names)} lines them up"
        way = "anticlockwise" if about.turn_deg > 0 else "clockwise"
        return ("turn", f"a turn of {abs(about.turn_deg):.3g} degrees {way} lines them up")
    if best_match(sets, mirrored=True).coincides:
        return "mirror", "one pattern is the mirror image of the other"
    apart = _apart_words(first[:, match.order[0]], second, match.order[0], names)
    if scaled_fit(second, first[:, match.order[0]]).worst_mm <= SAME_PLACE_MM:
        return "size", f"the patterns are not of one size: {apart}"
    return "nothing", f"no shift, turn or mirror lines them up: {apart}"


def _shift_words(shift: Floats, names: Names) -> str:
    """How far the second's holes have to move, as seen on the first's face."""
    ways = [
        f"{names.figure(abs(step))} {positive if step > 0 else negative}"
        for step, positive, negative in zip(shift, ("right", "up"), ("left", "down"), strict=True)
        if abs(step) > SAME_PLACE_MM / 2
    ]
    seen_on = f", looking at {names.face}" if names.face else ""
    return f"a shift of {names.length(float(np.hypot(*shift)))} ({' and '.join(ways)}{seen_on})"


def _apart_words(first: Floats, second: Floats, order: Whole, names: Names) -> str:
    """The two holes whose distance differs most, with both distances."""
    some = np.arange(first.shape[1])[:_MOST_COMPARED]
    if len(some) < 2:
        return "there is one hole"
    one, other = _distances(first[:, some]), _distances(second[:, some])
    a, b = divmod(int(np.argmax(np.abs(one - other))), len(some))
    if order[a] > order[b]:
        a, b = b, a
    in_first = _pair(names.members[0], names.first, int(order[a]), int(order[b]))
    in_second = _pair(names.members[1], names.second, a, b)
    apart = names.length(float(one[a, b])), names.length(float(other[a, b]))
    return f"{in_first} is {apart[0]}, {in_second} is {apart[1]}"


def _pair(member: str, holes: tuple[str, ...], a: int, b: int) -> str:
    """Two holes of one member."""
    return f"{member}: {holes[a]} to {holes[b]}" if holes else f"{a + 1} to {b + 1}"


def _distances(places: Floats) -> Floats:
    x, y = places
    apart: Floats = np.hypot(x[:, None] - x, y[:, None] - y)
    return apart


def _reach(places: Floats) -> float:
    """From the middle to the farthest hole."""
    return float(np.hypot(*(places - places.mean(axis=1, keepdims=True))).max())


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
