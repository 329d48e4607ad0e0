"""From [[hole]] tables to the part's holes.

Goes through the file in passes, because a hole may count from another, run into another or meet
another that stands further down. Each pass notes every fault it finds and leaves the hole out.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

from millprep.base.bounds import MOST_HOLES, MOST_IN_A_MILLIMETRE, MOST_PECKS_OF_A_HOLE
from millprep.base.findings import WordError
from millprep.base.kinds import KINDS
from millprep.base.units import shown
from millprep.base.waiting import go_on
from millprep.infiles import features
from millprep.infiles.drafts import Bench, Draft, letters
from millprep.infiles.faults import Faults
from millprep.infiles.part_schema import HoleTable
from millprep.infiles.part_words import Depth
from millprep.infiles.patterns import WHERE_KEYS
from millprep.infiles.placing import expand, place_all
from millprep.infiles.wording import UnknownWordError, accepted, at_key, known_here, nearest
from millprep.model.kinds import HOLE_KINDS
from millprep.model.part import FACE_AXIS, Hole, Point

EXCLUSIVE: tuple[tuple[str, ...], ...] = (
    tuple(HOLE_KINDS),
    WHERE_KEYS,
    ("fit", "pin", "limits"),
    ("tolerance", "position"),
)
"""Keys of which a hole has one: giving one sets aside what [defaults] says of the others."""


_TOLD_AT = {
    "counterbore": ("counterbore", "spotface", "countersink"),
    "fit": ("fit", "pin", "limits"),
    "drill_depth": ("drill_depth", "far", "from_both_ends", "counterbore", "spotface", "opened"),
}
"""Keys that one reader answers for: a fault is told at the first that is given."""
_MAKING_KEYS = ("drills", "peck", "breakthrough")


def read_holes(bench: Bench, raw: list[Any], defaults: HoleTable | None) -> tuple[Hole, ...]:
    """Every hole that has no fault; the faults are noted on the bench."""
    drafts = place_holes(bench, raw, defaults)
    if sum(len(draft.centres) for draft in drafts) > MOST_HOLES:
        remedy = f"at most {MOST_HOLES:,}: split the part"
        bench.faults.add("bad-value", ("hole",), f"more than {MOST_HOLES:,} holes", remedy)
        return ()
    for draft in drafts:
        expand(bench, draft)
    _refuse_heaps(bench, drafts)
    return tuple(hole for draft in drafts for hole in _finish(bench, draft))


def _refuse_heaps(bench: Bench, drafts: list[Draft]) -> None:
    """A step of nearly nothing puts all holes of a pattern in one place."""
    squares = (
        (draft.table.face, *map(math.floor, centre)) for draft in drafts for centre in draft.centres
    )
    square, count = next(iter(Counter(squares).most_common(1)), (None, 0))
    if square is None or count <= MOST_IN_A_MILLIMETRE:
        return
    face, x, y, z = square
    message = f"{count:,} holes of {face} within a millimetre of {x}, {y}, {z}"
    remedy = f"at most {MOST_IN_A_MILLIMETRE}: check the steps and counts of the patterns"
    bench.faults.add("bad-value", ("hole",), message, remedy)


def place_holes(bench: Bench, raw: list[Any], defaults: HoleTable | None) -> list[Draft]:
    """The holes as far as their names and centres go, which is all that a dimension asks."""
    drafts = list(_drafts(bench, raw, defaults))
    _name(bench, drafts)
    place_all(bench, drafts)
    return drafts


def merged(table: HoleTable, defaults: HoleTable | None) -> HoleTable:
    """The hole's own keys over the defaults."""
    if defaults is None:
        return table
    own = {name: getattr(table, name) for name in table.model_fields_set}
    for group in EXCLUSIVE:
        if table.model_fields_set.intersection(group):
            own = {**dict.fromkeys(group), **own}
    return defaults.model_copy(update=own)


def _drafts(bench: Bench, raw: list[Any], defaults: HoleTable | None) -> Iterator[Draft]:
    for index, data in enumerate(raw):
        go_on()
        table = bench.faults.validated(HoleTable, data, ("hole", index))
        if table is None:
            if isinstance(data, dict) and isinstance(data.get("name"), str):
                bench.names.note_faulty(data["name"])
            continue
        draft = Draft(("hole", index), merged(table, defaults))
        given = table.given(*HOLE_KINDS)
        with bench.noting(draft, *given[-1:], kind="contradiction" if given else "missing-key"):
            draft.what = features.what_of(draft.table, bench.units)
        if draft.what is not None:
            with bench.noting(draft):
                features.refuse_another_size(draft.table, draft.what, bench.units)
        yield draft


def _name(bench: Bench, drafts: list[Draft]) -> None:
    """Written names first, so that a made-up one never takes a name that stands further down."""
    for draft in drafts:
        if draft.table.name is not None:
            draft.name = draft.table.name
            bench.claim(draft, draft.name)
    letters_of: dict[str, Iterator[str]] = {}
    for draft in drafts:
        if not draft.name:
            stem = draft.what.stem if draft.what is not None else "hole"
            free = letters_of.setdefault(stem, letters())
            names = (f"{stem} {letter}" for letter in free)
            draft.name = next(name for name in names if not bench.names.is_taken(name))
            bench.claim(draft, draft.name)


def _finish(bench: Bench, draft: Draft) -> Iterator[Hole]:
    """The holes of a draft: alike but for name, place and a depth that ends in another hole."""
    go_on()
    if draft.what is None or not draft.members:
        return
    with bench.noting(draft):
        if draft.table.depth is None:
            raise _no_depth()
        shared = _shared(bench, draft, draft.what, draft.table.depth)
        if shared is None:
            return
        for name, number, centre in draft.members:
            with at_key("depth"):
                depth_mm, goes_into = _depth(bench, draft, draft.table.depth, centre)
                _refuse_many_pecks(draft.table.peck, depth_mm)
            yield Hole(
                **{
                    **shared,
                    "name": name,
                    "member": number,
                    "centre_mm": centre,
                    "depth_mm": depth_mm,
                    "goes_into": goes_into,
                }
            )


def _no_depth() -> WordError:
    remedy = 'give depth = a length, "through", or { into = "name of a hole" }'
    return WordError("its depth is missing", remedy, kind="missing-key")


def tell_unfinished(faults: Faults, raw: list[Any], defaults: HoleTable | None) -> None:
    """What is wrong with holes where there is no blank to put them on: shape, kind and depth."""
    for index, data in enumerate(raw):
        path = ("hole", index)
        table = faults.validated(HoleTable, data, path)
        if table is None:
            continue
        whole = merged(table, defaults)
        given = table.given(*HOLE_KINDS)
        with faults.noting((*path, *given[-1:]), hole=table.name):
            features.what_of(whole, faults.units)
        if whole.depth is None:
            faults.note(path, _no_depth(), hole=table.name)


def _shared(bench: Bench, draft: Draft, what: features.What, depth: Depth) -> dict[str, Any] | None:
    """What all members have in common, as fields of `Hole`; None when there was a fault."""
    table, units = draft.table, bench.units
    readers: dict[str, Callable[[], Any]] = {  # by the key that a fault hangs on
        "counterbore": lambda: features.mouth_of(table, what, units),
        "far": lambda: features.mouth_of(table.far, what, units),
        "opened": lambda: features.opened_of(table, what, units),
        "fit": lambda: features.limits_of(table, what, units),
        "drill_depth": lambda: features.refuse_depths(table, depth, units),
        "tolerance": lambda: _refuse_two_tolerances(table),
    }
    read: dict[str, Any] = {}
    for key, reader in readers.items():
        with bench.noting(draft, next(iter(table.given(*_TOLD_AT.get(key, ()))), key)):
            read[key] = reader()
    with bench.noting(draft), at_key("meets"):
        read["meets"] = _met(bench, draft)
    with bench.noting(draft), at_key("allow"):
        read["allow"] = allowed_slugs(table.allow)
    if len(read) < len(readers) + 2:
        return None
    _note_spotfaces(bench, draft)
    fit, limits_um = read["fit"]
    return {
        **table.fields_of(Hole),
        "group": draft.name,
        "kind": what.kind,
        "words": what.words,
        "thread": what.thread,
        "screw": what.screw,
        "diameter_mm": what.diameter_mm,
        "is_through": depth.is_through,
        "mouth": read["counterbore"],
        "far": read["far"],
        "opened": read["opened"],
        "fit": fit,
        "limits_um": limits_um,
        "drills_words": table.drills and tuple(drill.designation for drill in table.drills),
        "meets": read["meets"],
        "allow": read["allow"],
        "key": f"hole[{draft.number}]",
        "line": bench.faults.line(draft.path),
        "placed_by": draft.where_key,
        "lines": bench.faults.document.positions.lines_of(draft.path, _MAKING_KEYS),
    }


def _refuse_many_pecks(pecks_mm: tuple[float, ...] | None, depth_mm: float) -> None:
    """Raises WordError where a hole would take more pecks than anybody waits for."""
    if not pecks_mm:
        return
    count = len(pecks_mm) + max(depth_mm - sum(pecks_mm), 0.0) / pecks_mm[-1]
    if count > MOST_PECKS_OF_A_HOLE:
        raise WordError(
            f"peck: {count:.0f} pecks to {depth_mm:g} mm", f"at most {MOST_PECKS_OF_A_HOLE} a hole"
        )


def _depth(bench: Bench, draft: Draft, depth: Depth, centre: Point) -> tuple[float, str | None]:
    """Depth of the finished feature [mm] and the name of the hole that it runs into.

    A drilled hole ends at the axis of that one, a thread where its axis comes out.
    """
    axis = FACE_AXIS[draft.table.face]
    if depth.length_mm is not None:
        return depth.length_mm, None
    if depth.into is None:
        return bench.stock.size_mm[axis], None
    target, member = bench.names.find_one(depth.into)
    name, other = shown(depth.into), FACE_AXIS[target.table.face]
    if axis == other:
        raise WordError(f"{name} runs the same way as this hole", "give a length")
    place = target.centres[member]
    across = 3 - axis - other
    aside = abs(centre[across] - place[across])
    if aside >= target.diameter_mm / 2:
        raise WordError(
            f"the hole passes {name} {features.size_words(aside, bench.units)} from its axis",
            "move one of the two, or give a length",
        )
    into = f"{target.name} {member + 1}" if target.is_pattern else target.name
    deep = abs(bench.stock.face_at_mm(draft.table.face) - place[axis])
    if draft.what is not None and draft.what.thread is not None:  # it ends at the near wall
        deep -= math.sqrt((target.diameter_mm / 2) ** 2 - aside**2)
    return deep, into


def _met(bench: Bench, draft: Draft) -> tuple[str, ...]:
    """Names of the holes met; the name of a pattern stands for all its members."""
    met: list[str] = []
    for name in draft.table.meets:
        other, number = bench.names.find(name)
        found = [each for each, member, _ in other.members if number in (None, member)]
        if not found and other.members:
            raise WordError(f"{shown(name)} is not one of them", "name a member that is there")
        met += found
    return tuple(met)


def allowed_slugs(allow: tuple[str, ...]) -> tuple[str, ...]:
    """The kinds of finding that `allow` names. Raises WordError for what is none."""
    slugs = []
    for words in allow:
        slug = "-".join(words.lower().replace("-", " ").split())
        if slug not in KINDS:
            kinds = [each.replace("-", " ") for each in KINDS]
            likely = nearest(slug.replace("-", " "), kinds)
            remedy = accepted([likely]) if likely else known_here(kinds, words)
            raise UnknownWordError(f"{shown(words)} is no kind of finding", remedy)
        slugs.append(slug)
    return tuple(slugs)


def _refuse_two_tolerances(table: HoleTable) -> None:
    if table.tolerance is not None and table.position is not None:
        raise WordError("tolerance and position are given", "give one of the two")


def _note_spotfaces(bench: Bench, draft: Draft) -> None:
    for table in (draft.table, draft.table.far):
        if table is not None and table.spotface is not None and table.spotface.depth is None:
            bench.faults.add(
                "assumed",
                (*draft.path, "spotface"),
                f"the spotface is {features.SPOTFACE_DEPTH_MM:g} mm deep, to clean up",
                "give its depth if the drawing does",
                severity="note",
                hole=draft.table.name,
            )
