"""How far a part's own sheets may make each of its holes, by what the assembly leaves for later
and by what is drilled already.

The witness's own reading of it: what the sheets were made from is never asked. Imports the part,
`reading` and `set_up`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.model.carrying import Left
from millprep.model.kinds import HOLE_KINDS, SPOT
from millprep.model.part import Hole, Mouth, Part
from millprep.reading.pages.sheet import ReadSection
from millprep.reading.pages.slots import Said
from millprep.witness.set_up import SetUp

T = TypeVar("T")


def as_left(part: Part, *, is_carried_over: bool = False) -> Part:
    """The part that its own sheets are held against: holes undrilled are none, a pilot is a plain
    hole of its size as deep as the hole, a spot is a spot; holes that are drilled are none.

    is_carried_over : the sheet goes on with holes that came over from a mate
    """
    for one in part.left:
        rest = tuple(hole for hole in part.holes if hole.name != one.hole)
        (hole,) = (hole for hole in part.holes if hole.name == one.hole) if rest else part.holes
        at = part.holes.index(hole)
        kept: tuple[Hole, ...] = ()
        if is_carried_over and not one.stack:
            kept = (replace(hole, spot=hole.spot and not one.is_spotted),)
        elif one.made == "pilot" and one.pilot_mm:
            kept = (_bare(hole, "drill", one.pilot_mm),)
        elif one.made == "spotted":
            kept = (_bare(hole, "spot", hole.diameter_mm),)
        part = replace(part, holes=(*part.holes[:at], *kept, *part.holes[at + 1 :]))
    there = (one.hole for one in part.left if is_carried_over and not one.stack)
    on = frozenset(there)
    left = tuple(replace(one, is_there=one.hole in on) for one in part.left)
    return _without_drilled(replace(part, left=left))


def _without_drilled(part: Part) -> Part:
    """None of the holes that the file of readings names is to be entered, nor waits for a mate."""
    if part.as_measured is None or not part.as_measured.drilled:
        return part
    done = frozenset(part.as_measured.drilled)
    waiting = [one for one in part.left if one.hole not in done or one.stack]
    to_make = [hole for hole in part.holes if hole.name not in done]
    return replace(part, holes=tuple(to_make), left=tuple(waiting))


def check_left(
    pages: Iterable[ReadSection],
    part: Part,
    complain: Callable[[str, Said], T],
    title: Said,
    *,
    is_measured: bool = False,
) -> Iterator[T]:
    """LEFT names every hole that is left, once, as the assembly has it; but what the sheet goes on
    with, which `check_carried` asks for.

    is_measured : by an inspection, which asks for it when it is there
    """
    said = [one for page in pages for one in page.all("left-measure" if is_measured else "left")]
    left = [one for one in part.left if is_measured or not one.is_there]
    if name := _unlike(said, left, is_measured=is_measured):
        yield complain(f"LEFT does not have {name} as the assembly has it", title)


def check_carried(one: SetUp) -> Iterator[Finding]:
    """A setup says of each hole with which it goes on, once, what is there; above its steps."""
    made = {row.hole for row in one.rows}
    left = [each for each in one.printed.part.left if each.is_there and each.hole in made]
    if name := _unlike(one.all("left-on"), left):
        yield one.wrong(f"GO ON does not have {name} as the assembly has it")


def _unlike(said: Iterable[Said], left: Iterable[Left], *, is_measured: bool = False) -> str | None:
    """The first hole that is not told as it is left."""
    told = Counter((name, *_told(one)) for one in said for name in one["holes"])
    due = Counter((one.hole, *_due(one, is_measured=is_measured)) for one in left)
    return next((str(one[0]) for one in (*(told - due), *(due - told))), None)


def _told(said: Said) -> tuple[object, ...]:
    if said.slug == "left-measure":
        return said["later"], said["by"]
    if said.slug == "left-on":
        return said["start"], None, said["later"], said["by"]
    pilot = None if not said.has("pilot_mm") else round(said.mm("pilot_mm"), 2)
    return said["made"], pilot, said["later"], said["by"]


def _due(left: Left, *, is_measured: bool) -> tuple[object, ...]:
    name = left.file.replace("\\", "/").rpartition("/")[2]
    if is_measured:
        return left.later, name
    if left.is_there:
        return "spot" if left.is_spotted else "mark", None, left.later, name
    return left.made, left.pilot_mm and round(left.pilot_mm, 2), left.later, name


def _bare(hole: Hole, word: str, size_mm: float) -> Hole:
    """A hole of that size and nothing round it, for which the drawing asks nothing."""
    nothing: dict[str, None] = dict.fromkeys(("fit", "limits_um", "drill_depth_mm", "drills_words"))
    plain = replace(hole, thread=None, mouth=Mouth(), far=Mouth(), opened=(), **nothing)
    plain = replace(plain, from_both_ends=False, screw="", diameter_mm=size_mm)
    if word == "spot":
        return replace(plain, kind=SPOT, words="spot", is_through=False, depth_mm=size_mm / 2)
    return replace(plain, kind=HOLE_KINDS[word], words=f"{size_mm:g} mm")
