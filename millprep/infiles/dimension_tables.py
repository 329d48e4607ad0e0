"""[[dimension]] tables: what the drawing says of things that are placed already, and
what the places make of it.

    between = ["left", "pivot"]      faces, centre lines, holes; a pattern's name is its middle
    along   = "x"                    x, y, z or straight; a face says it by itself
    is      = "12.7 mm"
"""

from __future__ import annotations

import math

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import shown
from millprep.infiles.drafts import Bench, Draft
from millprep.infiles.part_schema import DimensionTable
from millprep.infiles.points import AXIS_LETTERS, AXIS_OF_NAME
from millprep.infiles.stated import written
from millprep.infiles.wording import UnknownWordError, nearest
from millprep.model.part import FACE_AXIS, Dimension, Point

_WITH_A_MIDDLE = ("circle", "row", "grid", "corners")
"""Patterns whose centres have their mean where a drawing shows a middle."""


@frozen
class _End:
    """One end of a dimension: where it is along each part axis; nan where it has no place."""

    name: str
    at_mm: tuple[float, float, float]

    @property
    def axes(self) -> list[int]:
        return [axis for axis in range(3) if not math.isnan(self.at_mm[axis])]


def read_dimensions(bench: Bench) -> tuple[Dimension, ...]:
    """Every dimension that has no fault; the faults are noted on the bench."""
    found, faults = [], bench.faults
    for index, path, table in faults.all_validated("dimension", DimensionTable):
        if table.is_ is None:
            remedy = "write is = the length that the drawing gives"
            faults.add("missing-key", path, "its length is missing", remedy)
            continue
        with faults.noting((*path, "between")):
            first, second = (_end(bench, name) for name in table.between)
            along = _axis(first, second, table.along)
            found.append(
                Dimension(
                    (first.name, second.name),
                    along,
                    table.is_,
                    _placed_mm(first, second, along),
                    written(faults.document.data["dimension"][index]["is"]),
                    table.tolerance,
                    f"dimension[{index + 1}]",
                    faults.line(path),
                )
            )
    return tuple(found)


def _placed_mm(first: _End, second: _End, along: int | None) -> float:
    if along is not None:
        return second.at_mm[along] - first.at_mm[along]
    return math.dist(*([end.at_mm[axis] for axis in first.axes] for end in (first, second)))


def _axis(first: _End, second: _End, along: str | None) -> int | None:
    """The axis of the dimension, None for straight. Raises WordError where it cannot be had."""
    names = f"{shown(first.name)} and {shown(second.name)}"
    shared = [axis for axis in first.axes if axis in second.axes]
    if not shared:
        raise WordError(f"{names} have no axis in common", "name two things along one axis")
    words = [AXIS_LETTERS[axis] for axis in shared] + ["straight"] * (len(shared) == 2)
    accepted = f"write along = {' or '.join(shown(word) for word in words)}"
    if first.name == second.name:
        raise WordError(f"{shown(first.name)} is named twice", "name two different things")
    if along is None:
        if len(shared) == 1:
            return shared[0]
        raise WordError(f"between {names} it does not say along what", accepted)
    if along not in words:
        raise WordError(f"{names} have no distance along {shown(along)}", accepted)
    return None if along == "straight" else AXIS_LETTERS.index(along)


def _end(bench: Bench, name: str) -> _End:
    word = name.lower()
    if word in AXIS_OF_NAME:
        if bench.names.is_taken(name):
            raise WordError(f"{shown(name)} is a face and a hole", "call the hole otherwise")
        return _End(word, _alone(AXIS_OF_NAME[word], _of_stock(bench, word)))
    try:
        draft, number = bench.names.find(name)
    except UnknownWordError as error:
        likely = nearest(word, AXIS_OF_NAME)
        if likely is None:
            raise
        raise UnknownWordError(error.message, f'did you mean "{likely}"?') from None
    if number is None and draft.where_key in _WITH_A_MIDDLE and draft.centres:
        x, y, z = _middle(draft)
        written_name = draft.name
    else:
        draft, index = bench.names.find_one(name)
        x, y, z = draft.centres[index]
        written_name = f"{draft.name} {index + 1}" if draft.is_pattern else draft.name
    at_mm = [x, y, z]
    at_mm[FACE_AXIS[draft.table.face]] = math.nan
    return _End(written_name, (at_mm[0], at_mm[1], at_mm[2]))


def _middle(draft: Draft) -> Point:
    """The mean of a pattern's centres; kept, because many dimensions may end there."""
    if draft.middle is None:
        count = len(draft.centres)
        x, y, z = (math.fsum(values) / count for values in zip(*draft.centres, strict=True))
        draft.middle = x, y, z
    return draft.middle


def _of_stock(bench: Bench, word: str) -> float:
    axis = AXIS_OF_NAME[word]
    if word.startswith("centre"):
        return bench.stock.size_mm[axis] / 2
    return bench.stock.face_at_mm(word)  # type: ignore[arg-type]  # what is no centre is a face


def _alone(axis: int, value: float) -> tuple[float, float, float]:
    x, y, z = (value if each == axis else math.nan for each in range(3))
    return x, y, z
