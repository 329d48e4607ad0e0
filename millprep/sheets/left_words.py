"""What a part's own sheets leave for later, and for which step. Imports layers 0 to 4."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator
from pathlib import Path
from typing import Any

from millprep.base.records import replace
from millprep.model.carrying import Left
from millprep.model.part import Part
from millprep.sheets.document import Sayer, Sentence, Shown


def left_lines(say: Sayer, part: Part, shown: Container[str] | None = None) -> Iterator[Sentence]:
    """A sentence for all holes that are left alike. shown : of an excerpt, which alone are told"""
    left = [one for one in part.left if not one.is_there]
    for one, holes in alike_left(one for one in left if shown is None or one.hole in shown):
        pilot_mm = one.pilot_mm
        pilot = None if pilot_mm is None else Shown(f"{pilot_mm:g} mm", pilot_mm)
        yield say("left", **_slots(one, holes), made=one.made, pilot_mm=pilot)


def carried_lines(say: Sayer, part: Part, shown: Container[str]) -> Iterator[Sentence]:
    """From where the sheet goes on with those of the holes that have been carried over."""
    for one, holes in alike_left(one for one in part.left if one.is_there and one.hole in shown):
        yield say("left-on", **_slots(one, holes), start="spot" if one.is_spotted else "mark")


def _slots(one: Left, holes: list[str]) -> dict[str, Any]:
    return {"holes": holes, "later": one.later, "by": Path(one.file).name}


def measured_after(say: Sayer, part: Part) -> Iterator[Sentence]:
    """For an inspection: which holes are measured once the assembly has finished them."""
    for one, holes in alike_left(
        replace(each, made="undrilled", pilot_mm=None) for each in part.left
    ):
        yield say("left-measure", holes=holes, later=one.later, by=Path(one.file).name)


def marked(part: Part) -> Part:
    """For a drawing of the whole: each hole that is left says so in its note, and each that is
    moved to fit readings; the drawing's own words name their file."""
    notes = {one.hole: [_note(one)] for one in part.left}
    drawing, said = part.drawing, part.as_measured
    if said is not None:
        name = Path(said.file).name
        drawing = "; ".join(filter(None, (drawing, f"moved to fit {name}")))
        for hole in (one.hole for one in said.moved):
            notes.setdefault(hole, []).append(f"moved to fit {name}")
    holes = (
        replace(hole, note="; ".join(filter(None, (hole.note, *notes.get(hole.name, ())))))
        for hole in part.holes
    )
    return replace(part, holes=tuple(holes), drawing=drawing)


def _note(left: Left) -> str:
    first = {"undrilled": "", "spotted": "spotted, then "}.get(left.made)
    return f"{f'pilot {left.pilot_mm:g} mm, then ' if first is None else first}{left.later}"


def alike_left(left: Iterable[Left]) -> Iterator[tuple[Left, list[str]]]:
    """Those that differ in nothing but the hole, with the names of their holes."""
    alike: dict[Left, list[str]] = {}
    for one in left:
        alike.setdefault(replace(one, hole=""), []).append(one.hole)
    yield from alike.items()
