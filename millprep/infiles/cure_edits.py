"""A cure in the words of the file: which figures it alters there, and the file with them altered.

A place stays counted from where it is counted, in the file's units.
"""

from __future__ import annotations

import copy
import json
import math
import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from millprep.base.findings import Cure, Edit, Move, WordError
from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH, Units
from millprep.infiles.editing.lines import line_added, line_moved
from millprep.infiles.editing.putting import Figure, put_down
from millprep.infiles.editing.written import Line, as_written
from millprep.infiles.fields import length_mm
from millprep.infiles.part_file import placed_centres
from millprep.infiles.patterns import WHERE_KEYS
from millprep.infiles.points import AXIS_OF_NAME, is_single_point
from millprep.infiles.text import Document, WrittenFloat
from millprep.model.part import HIGH_FACES, Hole, Part, plane_axes

_STEP = {"mm": 0.001, "inch": 0.0001}
"""What a figure is written to: finer than it is told, for one that was not round before."""
_SAME_MM = 0.003  # more than that step
_NOT_EXACT = "the places of this pattern do not hang on one figure that is written"


def edits_of(document: Document, part: Part, cure: Cure) -> tuple[Edit, ...]:
    """What is written into the part's file for a cure that moves holes or alters a depth.

    Raises WordError that says why nothing can be written.
    """
    _refuse(part)
    told, holes = cure.told or cure, {hole.name: hole for hole in part.holes}
    moves: Sequence[Move | None] = told.by_mm or (None,) * len(told.holes)
    tables: dict[str, list[tuple[Hole, Move | None]]] = {}
    for name, by in zip(told.holes, moves, strict=True):
        tables.setdefault(holes[name].key, []).append((holes[name], by))
    edits = [
        edit
        for members in tables.values()
        for edit in (_moved if told.by_mm else _deepened)(document, part, told, members)
    ]
    if told.by_mm:
        _refuse_otherwise(_with_holes(document, edits), part, told)
    return tuple(edits)


def _refuse(part: Part) -> None:
    if part.layers:
        raise WordError("its holes stand in the files of the members", "")
    if part.is_opposite_hand:
        original = Path(part.original_path).name
        raise WordError(f"this part is the opposite hand of {original}: change that one", "")
    if part.as_measured is not None:
        raise WordError(f"the holes are moved to fit {part.as_measured.file}", "")


def _edit(document: Document, hole: Hole, key: str, value: str | None) -> Edit:
    return Edit(document.path, "hole", index_of(hole.key), hole.group, key, value)


def index_of(key: str) -> int:
    """3, of "hole[3]"."""
    return int(key[key.index("[") + 1 : -1]) - 1


def _deepened(
    document: Document, part: Part, told: Cure, members: Sequence[tuple[Hole, Move | None]]
) -> Iterator[Edit]:
    hole = members[0][0]
    figures = {
        "depth": (hole.depth_mm, told.depth_mm),
        "drill_depth": (hole.drill_depth_mm, told.drill_depth_mm),
    }
    for key, (old_mm, new_mm) in figures.items():
        if old_mm is not None and new_mm is not None:
            figure = _rounded(new_mm, new_mm - old_mm, document.units)
            yield _edit(document, hole, key, toml_of(figure))


def _moved(
    document: Document, part: Part, told: Cure, members: Sequence[tuple[Hole, Move | None]]
) -> Iterator[Edit]:
    hole = members[0][0]
    table = document.data["hole"][index_of(hole.key)]
    where = next((key for key in WHERE_KEYS if key in table), None)
    if where is None:
        raise WordError("where it is stands under [defaults]", "")
    moves = [(one.member or 1, by) for one, by in members if by is not None]
    on_face = _OnFace(part, hole, document.units)
    new = copy.deepcopy(table[where])
    if told.figure:
        _spread(new, told, moves, on_face)
    elif where in ("at", "chain"):
        for member, by in moves:
            new = _MEMBERS[where](new, member, by, on_face)
    else:
        _shifted(where, new, moves[0][1], on_face)
    for key, value in _differing(where, table[where], new):
        yield _edit(document, hole, key, toml_of(value))


def _differing(key: str, old: Any, new: Any) -> Iterator[tuple[str, Any]]:
    """What has changed, by its dotted key: lists as a whole."""
    if isinstance(old, dict) and isinstance(new, dict):
        for name, value in new.items():
            yield from _differing(f"{key}.{name}", old.get(name), value)
    elif old != new:
        yield key, new


@frozen
class _OnFace:
    """The figures of a hole's face, as they are written."""

    part: Part
    hole: Hole
    units: Units

    @property
    def axes(self) -> tuple[int, int]:
        return plane_axes(self.hole.face)

    def point(self, point: Any, by: Move) -> Any:
        """A point moved in part axes."""
        if isinstance(point, dict):
            return {name: self._named(name, figure, by) for name, figure in point.items()}
        return [
            {name: self._named(name, figure, by) for name, figure in one.items()}
            if isinstance(one, dict)
            else self.longer(one, self.sense(axis) * by[axis])
            for axis, one in zip(self.axes, point, strict=True)
        ]

    def _named(self, name: str, figure: Any, by: Move) -> Any:
        return self.longer(figure, (-1 if name in HIGH_FACES else 1) * by[AXIS_OF_NAME[name]])

    def sense(self, axis: int) -> int:
        return -1 if self.part.datum[axis] in HIGH_FACES else 1

    def longer(self, figure: Any, by_mm: float) -> Any:
        """A figure of the file made larger by so much: as it was where that is nothing."""
        old_mm = length_mm(figure, self.units)
        return _rounded(old_mm + by_mm, by_mm, self.units) if abs(by_mm) > 1e-9 else figure

    def become(self, figure: Any, new_mm: float) -> Any:
        return self.longer(figure, new_mm - length_mm(figure, self.units))


def _rounded(figure_mm: float, by_mm: float, units: Units) -> float:
    """In the file's units, rounded on the way that it has gone: never less."""
    steps = figure_mm / (float(MM_PER_INCH) if units == "inch" else 1.0) / _STEP[units]
    nearest = round(steps)
    if abs(steps - nearest) > 1e-4:
        nearest = math.ceil(steps) if by_mm > 0 else math.floor(steps)
    return nearest * _STEP[units]


def _at(value: Any, member: int, by: Move, on_face: _OnFace) -> Any:
    if is_single_point(value):
        return on_face.point(value, by)
    return [
        on_face.point(one, by) if number == member else one for number, one in enumerate(value, 1)
    ]


def _chain(value: Any, member: int, by: Move, on_face: _OnFace) -> Any:
    """One hole of a chain: the link to it, and the one from it to the next."""
    back = (-by[0], -by[1], -by[2])
    ways = {member: by, member + 1: back}
    return [
        on_face.point(one, ways[number]) if number in ways else one
        for number, one in enumerate(value, 1)
    ]


_MEMBERS: dict[str, Callable[[Any, int, Move, _OnFace], Any]] = {"at": _at, "chain": _chain}


def _shifted(where: str, value: Any, by: Move, on_face: _OnFace) -> None:
    """A pattern as a whole."""
    if where == "polar":
        raise WordError("its place is written as an angle and a radius", "")
    if where in ("circle", "arc"):
        value["centre"] = on_face.point(value.get("centre", [0, 0]), by)
        return
    for key in ("start", "end"):
        if key in value:
            value[key] = on_face.point(value[key], by)


def _spread(value: Any, told: Cure, moves: Sequence[tuple[int, Move]], on_face: _OnFace) -> None:
    """The figure that the distances of a pattern hang on."""
    key, _, along = told.figure.partition(".")
    if key == "diameter":
        _of_circle(value, told.figure_mm, on_face)
    elif key == "inset":
        _inset(value, along, told.figure_mm, on_face)
    elif along:
        place = on_face.axes.index("xyz".index(along))
        step = list(value["step"])
        old_mm = length_mm(step[place], on_face.units)
        step[place] = on_face.become(step[place], math.copysign(told.figure_mm, old_mm))
        value["step"] = step
    else:
        _row(value, moves, on_face)


def _of_circle(value: Any, diameter_mm: float, on_face: _OnFace) -> None:
    sizes = {"diameter": 1.0, "radius": 0.5, "chord": math.sin(math.pi / value["count"])}
    for key, share in sizes.items():
        if key in value:
            value[key] = on_face.become(value[key], diameter_mm * share)


def _inset(value: Any, along: str, inset_mm: float, on_face: _OnFace) -> None:
    old = value["inset"]
    if not isinstance(old, list) and not along:
        value["inset"] = on_face.become(old, inset_mm)
        return
    both = old if isinstance(old, list) else [old, old]
    value["inset"] = [
        on_face.become(one, inset_mm) if along in ("", "xyz"[axis]) else one
        for axis, one in zip(on_face.axes, both, strict=True)
    ]


def _row(value: Any, moves: Sequence[tuple[int, Move]], on_face: _OnFace) -> None:
    (first, at), (last, to) = moves[0], moves[-1]
    x, y, z = ((b - a) / (last - first) for a, b in zip(at, to, strict=True))
    if "step" in value:
        value["step"] = [
            on_face.longer(one, on_face.sense(axis) * (x, y, z)[axis])
            for axis, one in zip(on_face.axes, value["step"], strict=True)
        ]
    else:
        times = value["count"] - 1
        value["end"] = on_face.point(value["end"], (x * times, y * times, z * times))


def _refuse_otherwise(changed: Document, part: Part, told: Cure) -> None:
    """What is written places the holes as the cure was tried, and no other hole elsewhere."""
    moves = dict(zip(told.holes, told.by_mm, strict=True))
    tables, defaults = changed.data["hole"], changed.data.get("defaults", {})
    indices: Sequence[int] = range(len(tables))
    if not any("from" in table for table in (*tables, defaults)):  # none counts from another
        indices = sorted({index_of(hole.key) for hole in part.holes if hole.name in moves})
    asked = replace(changed, data={**changed.data, "hole": [tables[one] for one in indices]})
    placed_anew = placed_centres(asked)
    centres = {one: placed_anew.get(number, []) for number, one in enumerate(indices)}
    for hole in part.holes:
        if index_of(hole.key) not in centres:
            continue
        by = moves.get(hole.name, (0.0, 0.0, 0.0))
        wanted = [at + way for at, way in zip(hole.centre_mm, by, strict=True)]
        placed = centres[index_of(hole.key)]
        number = (hole.member or 1) - 1
        if number >= len(placed) or math.dist(placed[number], wanted) > _SAME_MM:
            why = _NOT_EXACT if hole.name in moves else f'"{hole.name}" counts from it'
            raise WordError(why, "")


def _with_holes(document: Document, edits: Iterable[Edit]) -> Document:
    """The file's data with figures of its holes put down, for placing them anew."""
    holes = [*document.data["hole"]]
    for edit in edits:
        assert edit.index is not None and edit.value is not None
        table = holes[edit.index] = copy.deepcopy(holes[edit.index])
        *above, last = edit.key.split(".")
        for key in above:
            table = table.setdefault(key, {})
        table[last] = _read(edit.value)
    return replace(document, data={**document.data, "hole": holes})


def _read(value: str) -> Any:
    return tomllib.loads(f"value = {value}")["value"]


def edited(text: str, edits: Iterable[Edit]) -> str:
    """The text of the file with the figures put down; a setup that is not there is added."""
    for edit in edits:
        index = edit.index
        if edit.table == "setup" and index is None:
            faces = [line.values.get("face", "top") for line in setups_of(text)]
            if edit.name not in faces:
                text = line_added(text, "setup", {"face": edit.name})
                continue
            index = faces.index(edit.name)
        if not edit.key:
            text = line_moved(text, edit.table, index or 0, int(edit.value or 0))
            continue
        typed = None if edit.value is None else _read(edit.value)
        words = typed if isinstance(typed, str) else edit.value
        text = put_down(text, Figure(edit.table, edit.key, words, index))
    return text


def setups_of(text: str) -> list[Line]:
    return [line for line in as_written(text).lines if line.table == "setup"]


def toml_of(value: Any) -> str:
    """A value as TOML writes it, on one line."""
    if isinstance(value, WrittenFloat):
        return value.text
    if isinstance(value, float):
        return f"{value + 0.0:.4f}".rstrip("0").rstrip(".")
    if isinstance(value, list):
        return f"[{', '.join(map(toml_of, value))}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {toml_of(one)}' for key, one in value.items())} }}"
    return json.dumps(value, ensure_ascii=False)
