"""Where an opposite hand differs from its original: holes it goes without, holes of its own."""

from __future__ import annotations

from typing import Any

from millprep.base.records import replace
from millprep.base.units import shown
from millprep.infiles.drafts import Bench, Draft
from millprep.infiles.faults import Faults
from millprep.infiles.features import What
from millprep.infiles.holes import read_holes
from millprep.infiles.part_schema import HoleTable
from millprep.infiles.taken import Others
from millprep.infiles.wording import accepted, folded
from millprep.model.part import Hole, Part


def differing(part: Part, faults: Faults, without: tuple[str, ...], others: Others) -> Part:
    """The mirrored part without those holes or patterns, and with the file's own [[hole]] tables.

    A dimension of the original that ends at a hole left out goes with it. What is wrong is noted.
    """
    left = _left_out(part, faults, without)
    kept = tuple(hole for hole in part.holes if hole.name not in left)
    kept = tuple(_not_meeting(hole, left) for hole in kept)
    for hole in kept:
        if hole.goes_into in left:
            message = f"{shown(hole.goes_into)} is left out, and {shown(hole.name)} runs into it"
            faults.add("contradiction", ("without",), message, "leave both out, or neither")
    raw = faults.array("hole")
    own = _own(part, kept, faults, raw, others) if raw else ()
    ends = {hole.group for hole in kept} | {hole.name for hole in kept}
    gone = {name for hole in part.holes for name in (hole.name, hole.group)} - ends
    dimensions = tuple(each for each in part.dimensions if gone.isdisjoint(each.between))
    return replace(part, holes=(*kept, *own), dimensions=dimensions)


def _left_out(part: Part, faults: Faults, without: tuple[str, ...]) -> set[str]:
    """Names of the holes that the words name."""
    found: set[str] = set()
    for words in without:
        word = folded(words)
        named = {h.name for h in part.holes if word in (folded(h.group), folded(h.name))}
        if not named:
            groups = list(dict.fromkeys(hole.group for hole in part.holes))
            message = f"without: the original has no hole {shown(words)}"
            faults.add("unknown-word", ("without",), message, accepted(groups[:12], words))
        found |= named
    return found


def _not_meeting(hole: Hole, left: set[str]) -> Hole:
    if left.isdisjoint(hole.meets):
        return hole
    return replace(hole, meets=tuple(name for name in hole.meets if name not in left))


def _own(
    part: Part, kept: tuple[Hole, ...], faults: Faults, raw: list[Any], others: Others
) -> tuple[Hole, ...]:
    """The file's own holes; they may count from those that are mirrored, and meet them."""
    bench = Bench(faults, part.stock, part.datum, others=others)
    for draft in _drafts(kept):
        bench.names.claim(draft.name, draft)
        for name, _, _ in draft.members:
            bench.names.claim(name, draft)
    return tuple(replace(hole, file=faults.path) for hole in read_holes(bench, raw, None))


def _drafts(holes: tuple[Hole, ...]) -> list[Draft]:
    """Holes that are read already, as holes yet to be read find them."""
    groups: dict[str, list[Hole]] = {}
    for hole in holes:
        groups.setdefault(hole.group, []).append(hole)
    return [_draft(name, members) for name, members in groups.items()]


def _draft(name: str, members: list[Hole]) -> Draft:
    first = members[0]
    numbers = {hole.member: hole.centre_mm for hole in members if hole.member is not None}
    last = max(numbers, default=0)
    there = range(1, last + 1)
    table = HoleTable.model_construct(
        face=first.face, skip=tuple(number for number in there if number not in numbers)
    )
    return Draft(
        ("opposite_hand_of", 0),
        table,
        name,
        What(first.kind, first.words, first.diameter_mm, first.thread, first.screw),
        "row" if numbers else "polar",
        [numbers.get(number, first.centre_mm) for number in there] or [first.centre_mm],
        [(hole.name, hole.member, hole.centre_mm) for hole in members],
        is_placed=True,
    )
