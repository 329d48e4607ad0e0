"""Places holes: from where they count, their pattern's members, whether they lie on their face."""

from __future__ import annotations

import math

from millprep.base.bounds import MOST_HOLES
from millprep.base.findings import WordError
from millprep.base.units import Units, shown
from millprep.infiles.drafts import Bench, Draft
from millprep.infiles.features import size_words
from millprep.infiles.patterns import WHERE_KEYS, centres
from millprep.infiles.points import OnFace
from millprep.infiles.wording import at_key, given_words
from millprep.model.part import AXIS_FACES, FACE_AXIS, Face, Point, Stock, plane_axes

_ON_EDGE_MM = 1e-6  # float noise of adding up dimensions


def place_all(bench: Bench, drafts: list[Draft]) -> None:
    """Works out every centre, each hole after the one it counts from.

    Kept as a list of those waiting, not as recursion: a drawing may chain hundreds of holes. Ends
    early where there are more than a part may have.
    """
    count = 0
    for draft in drafts:
        if count > MOST_HOLES:
            return
        waiting: list[Draft] = [draft]
        while waiting:
            current = waiting[-1]
            base = _unplaced_base(bench, current)
            if base is None:
                waiting.pop()
                if not current.is_placed:
                    _place(bench, current)
                    count += len(current.centres)
            elif base.is_waiting:
                _note_circle(bench, waiting)
                break
            else:
                current.is_waiting = True
                waiting.append(base)
        for each in waiting:
            each.is_placed = True


def _unplaced_base(bench: Bench, draft: Draft) -> Draft | None:
    """The hole that must be placed before this one."""
    name = draft.table.from_
    if name is None or draft.is_placed:
        return None
    try:
        base, _ = bench.names.find(name)
    except WordError:
        return None
    return None if base.is_placed else base


def _note_circle(bench: Bench, waiting: list[Draft]) -> None:
    names = list(dict.fromkeys(shown(draft.name) for draft in waiting))
    more = f" and {len(names) - 4} more" if len(names) > 4 else ""
    message = f"{', '.join(names[:4])}{more} count from each other in a circle"
    if len(names) == 1:
        message = "it counts from itself"
    with bench.noting(waiting[-1]), at_key("from"):
        raise WordError(message, "measure one of them from the faces")


def _place(bench: Bench, draft: Draft) -> None:
    draft.is_placed = True
    given = [key for key in WHERE_KEYS if getattr(draft.table, key) is not None]
    with bench.noting(draft):
        if len(given) != 1:
            what = given_words(given, "it does not say where the hole is")
            remedy = f"give exactly one of {', '.join(WHERE_KEYS)}"
            raise WordError(what, remedy, tuple(given[-1:]), "" if given else "missing-key")
        draft.where_key = given[0]
        with at_key("from"):
            origin = _origin(bench, draft)
        with at_key(draft.where_key):
            on_face = OnFace(draft.table.face, bench.stock, bench.datum, origin)
            taken = draft.table.pattern_from
            if taken is not None:
                assert bench.others is not None
                draft.centres = bench.others.centres(taken, on_face)
            else:
                draft.centres = centres(draft.table, draft.where_key, on_face)


def _origin(bench: Bench, draft: Draft) -> Point | None:
    """Where a and b count from, laid on this hole's own face; None for the datum faces."""
    name = draft.table.from_
    if name is None:
        return None
    base, member = bench.names.find_one(name)
    face = draft.table.face
    if FACE_AXIS[base.table.face] != FACE_AXIS[face]:
        raise WordError(
            f"{shown(name)} is on the {base.table.face} face, this hole on the {face}",
            "count from a hole on the same face or the one opposite",
        )
    origin = list(base.centres[member])
    origin[FACE_AXIS[face]] = bench.stock.face_at_mm(face)
    return origin[0], origin[1], origin[2]


def expand(bench: Bench, draft: Draft) -> None:
    """Gives the members their names, leaves out what `skip` says, looks whether they are on."""
    skip, count = set(draft.table.skip), len(draft.centres)
    if not count:
        return
    if skip and (not draft.is_pattern or max(skip) > count or len(skip) >= count):
        with bench.noting(draft, "skip", kind="bad-value"):
            given = shown(list(draft.table.skip))
            raise WordError(
                f"skip: {given} of {count} member{'s' if count > 1 else ''}",
                f"give numbers from 1 to {count} and leave at least one",
            )
        return
    if not draft.is_pattern:
        draft.members = [(draft.name, None, draft.centres[0])]
    else:
        for number, centre in enumerate(draft.centres, 1):
            if number not in skip:
                name = f"{draft.name} {number}"
                bench.claim(draft, name)
                draft.members.append((name, number, centre))
    _refuse_off_face(bench, draft)


def _refuse_off_face(bench: Bench, draft: Draft) -> None:
    face, stock = draft.table.face, bench.stock
    off = [
        (name, number, why)
        for name, number, centre in draft.members
        if (why := off_face(stock, face, centre, draft.diameter_mm, bench.units))
    ]
    if not off:
        return
    first, number, why = off[0]
    inside = (number - 1,) if number is not None and draft.where_key in ("at", "chain") else ()
    more = f" (and {len(off) - 1} more)" if len(off) > 1 else ""
    who = f"the centre of {shown(first)}" if draft.is_pattern else "its centre"
    size = " by ".join(size_words(stock.size_mm[axis], bench.units) for axis in plane_axes(face))
    bench.faults.add(
        "off-face",
        (*draft.path, draft.where_key, *inside),
        f"{who} is {why}{more}",
        f"the {face} face is {size}: check the figure, its unit and the face it counts from",
        hole=draft.table.name or first,
    )


def is_off_face(bench: Bench, draft: Draft) -> bool:
    """Whether a hole, or a member of its pattern, skipped or not, lies off its face."""
    return any(
        off_face(bench.stock, draft.table.face, centre, draft.diameter_mm, bench.units)
        for centre in draft.centres
    )


def off_face(
    stock: Stock, face: Face, centre: Point, diameter_mm: float, units: Units
) -> str | None:
    """In words how far off its face a centre lies; None when it is on it.

    On a disc's flat ends the edge is round; a centre in the bore is off too, unless the hole is the
    bore itself made larger.
    """
    a, b = plane_axes(face)
    for axis in (a, b):
        low, high = AXIS_FACES[axis]
        for name, beyond in ((low, -centre[axis]), (high, centre[axis] - stock.size_mm[axis])):
            if beyond > _ON_EDGE_MM:
                return f"{size_words(beyond, units)} beyond the {name} edge of the {face} face"
    if stock.axis != FACE_AXIS[face]:
        return None
    radius = stock.size_mm[a] / 2
    out = math.hypot(centre[a] - radius, centre[b] - radius)
    if out - radius > _ON_EDGE_MM:
        return f"{size_words(out - radius, units)} beyond the rim of the {face} face"
    if stock.bore_mm is not None and out < stock.bore_mm / 2 - _ON_EDGE_MM:
        is_the_bore = out <= _ON_EDGE_MM and diameter_mm > stock.bore_mm
        return None if is_the_bore else f"in the bore, {size_words(out, units)} from the middle"
    return None
