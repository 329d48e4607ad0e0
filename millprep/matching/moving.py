"""The rest of a part's holes moved to fit those that are drilled and measured.

Of a mate of the other hand the holes measured are moved instead: it has them already, this part
has not. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from millprep.base.findings import Finding, stopped
from millprep.base.plain_text import counted, some
from millprep.base.records import replace
from millprep.base.units import Length
from millprep.matching.doubts import doubted_readings
from millprep.matching.match import Match, MatchedHole, Wishes, match_part
from millprep.matching.measured_places import Place, is_made_in
from millprep.model.measured import AsMeasured, Measured, Moved
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.setting.setups import Setup, point_of

MOST_MOVED_MM = 0.5
_LEAST_MOVED_MM = 0.0005  # under which it stays where it is: the finest figure of a sheet
_EXACT_MM = 1e-9
_ENOUGH_MM = {"mm": 0.005, "inch": 0.013}  # half of the last figure of what is told
_LEAST_TURNING = 2  # holes: fewer show no turn


def moved_to_fit(
    part: Part, shop: Shop, measured: Measured, setup: int | None, most_mm: float | None
) -> tuple[Part, list[Finding]]:
    """The part with its holes moved, and what there is to say of it.

    setup : of a file with holes of several faces; most_mm : by how much holes may be moved, where a
    person has said it; else no more than their own tolerance, or 0.5 mm
    Raises MillprepError for readings that cannot be judged.
    """
    wishes = Wishes(setup, units=part.units)
    match = match_part(part, shop, measured, wishes)
    if match.left_out:
        raise stopped(
            "likely-slip",
            f"{some(match.left_out)}: so far off that the reading is likely wrong",
            f"measure again: millprep match {part.path} {measured.path} says by how much",
            file=measured.path,
        )
    said = _of_a_mate(match) if match.fit.mirrored else _as_you_go(part, match)
    steps = {one.hole: one for one in said.moved}
    holes = tuple(_moved(hole, match.setup, steps.get(hole.name)) for hole in part.holes)
    by_name = {hole.name: hole for hole in part.holes}
    findings = [*_told(part, said), *_too_far(part, by_name, said, most_mm)]
    findings += doubted_readings(match, shop, wishes)
    return replace(part, holes=holes, as_measured=said), findings


def _read(match: Match) -> list[MatchedHole]:
    return [one for one in match.holes if one.measured_mm is not None]


def _of_a_mate(match: Match) -> AsMeasured:
    """Each hole stays beside its place on the drawing, as far off as its fellow is."""
    places = {one.hole.name: (one.nominal_mm, one.coordinate_mm) for one in _read(match)}
    return AsMeasured(match.measured.path, tuple(_steps(places)))


def _as_you_go(part: Part, match: Match) -> AsMeasured:
    """What the file does not name is moved; never a bore of a stack."""
    read, setup = _read(match), match.setup
    is_own = all(is_made_in(one.hole, setup) for one in read)
    off_mm = [np.subtract(one.measured_mm or one.nominal_mm, one.nominal_mm) for one in read]
    shift_mm = np.mean(off_mm, axis=0)
    kept = {one.hole for one in match.measured.holes}
    kept |= {one.hole for one in part.left if one.stack}
    faces = {one.hole.face for one in read}
    is_turned = is_own and len(read) >= _LEAST_TURNING
    places = {}
    for hole in part.holes:
        if hole.face in faces and hole.name not in kept:
            here = setup.place_of(hole)
            there = np.add(here, shift_mm)
            if is_turned and setup.works(hole):
                there = match.fit.placed(np.array(here)[:, None])[:, 0]
            places[hole.name] = here, (float(there[0]), float(there[1]))
    turn_deg = None if is_turned else match.fit.turn_deg
    return AsMeasured(
        match.measured.path,
        tuple(_steps(places)),
        tuple(hole.name for hole in part.holes if match.measured.named(hole.name) is not None),
        turn_deg,
        not is_own,
    )


def _steps(places: Mapping[str, tuple[Place, Place]]) -> Iterator[Moved]:
    for name, (here, there) in places.items():
        x_mm, y_mm = there[0] - here[0], there[1] - here[1]
        if np.hypot(x_mm, y_mm) >= _LEAST_MOVED_MM:
            yield Moved(name, x_mm, y_mm)


def _moved(hole: Hole, setup: Setup, step: Moved | None) -> Hole:
    if step is None:
        return hole
    moved = setup.rotation.T @ np.array([step.x_mm, step.y_mm, 0.0]) + np.array(hole.centre_mm)
    return replace(hole, centre_mm=point_of(moved))


def _told(part: Part, said: AsMeasured) -> Iterator[Finding]:
    file = said.file
    most = max((_by_mm(one) for one in said.moved), default=0.0)
    by = f", by up to {Length(most, part.units):3}" if said.moved else ""
    drilled = f"; taken as drilled: {some(said.drilled)}" if said.drilled else ""
    words = f"{counted(len(said.moved), 'hole')} moved to fit {file}{by}{drilled}"
    yield Finding("note", "moved-to-fit", words, "the part file stays as it is", part.path or None)
    if said.turn_deg is not None:
        why = "one hole shows no turn"
        if said.is_elsewhere:
            why = f"they were read in another setup: {said.turn_deg:.3f} deg are not corrected"
        words = f"the holes of {file} are followed without a turn: {why}"
        remedy = "measure two holes or more, far apart, in the setup in which they are made"
        yield Finding("warning", "moved-to-fit", words, remedy, part.path or None)


def _too_far(
    part: Part, holes: Mapping[str, Hole], said: AsMeasured, most_mm: float | None
) -> Iterator[Finding]:
    """One stop for all that would be moved by more than they may, with what would let them."""
    far = {one.hole: one for one in said.moved if _is_too_far(holes[one.hole], one, most_mm)}
    if not far:
        return
    name, worst = max(far.items(), key=lambda each: _by_mm(each[1]))
    if most_mm is not None:
        limit = f"the {Length(most_mm, part.units):exact} that --most-move says"
    elif (own_mm := _own_mm(holes[name])) is not None and own_mm < MOST_MOVED_MM:
        limit = f"its own tolerance, {Length(own_mm, part.units):exact}"
    else:
        limit = f"{Length(MOST_MOVED_MM, part.units):exact}"
    more = f", and {len(far) - 1} more too far" if len(far) > 1 else ""
    enough = f"{Length(_by_mm(worst) + _ENOUGH_MM[part.units], part.units)}"
    yield Finding(
        "stop",
        "moved-too-far",
        f"{name}: would be moved by {Length(_by_mm(worst), part.units):3} to fit {said.file}, "
        f"more than {limit}{more}",
        f'look at the readings; if it is as you want it: --most-move "{enough}"',
        part.path or None,
        holes[name].line,
        holes=tuple(far),
    )


def _by_mm(step: Moved) -> float:
    return float(np.hypot(step.x_mm, step.y_mm))


def _own_mm(hole: Hole) -> float | None:
    """How far off its place a hole may be by its own tolerance."""
    return hole.position_mm / 2 if hole.position_mm is not None else hole.tolerance_mm


def _is_too_far(hole: Hole, step: Moved, most_mm: float | None) -> bool:
    """A tolerance holds each way, a zone and what a person says in any direction."""
    far_mm = _by_mm(step)
    if most_mm is not None:
        return far_mm > most_mm + _EXACT_MM
    if hole.tolerance_mm is not None and hole.position_mm is None:
        each_way = max(abs(step.x_mm), abs(step.y_mm))
        return each_way > hole.tolerance_mm + _EXACT_MM or far_mm > MOST_MOVED_MM + _EXACT_MM
    return far_mm > min(_own_mm(hole) or MOST_MOVED_MM, MOST_MOVED_MM) + _EXACT_MM
