"""The figures that a part file states, in drawing order: each as typed, in words, and between what.

Imports layers 0 to 3 and its neighbours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.base.records import frozen, replace
from millprep.model.part import Dimension, Face, Hole, Part, Point, StatedLength, plane_axes
from millprep.sheets.elevations import line_of
from millprep.sheets.stated_places import (
    BLANK_WORDS,
    END_WORDS,
    SIZE_WORDS,
    Arrow,
    HoleLine,
    Kind,
    Path,
    arrow_of,
    end_at_mm,
    moved,
    size_words,
    sized,
    straight,
)

_PLACING = ("at", "circle", "arc", "row", "grid", "corners", "chain", "polar", "pattern_from")


@frozen
class StatedFigure:
    """One figure of a part file.

    line   : the [[hole]] or [[dimension]] that it stands in, from 0; None at the top of the file
    key    : dotted, inside that table ("at.left", "size.0"); words : "pivot, from the left end"
    text   : as typed; face : of the view that shows it
    kind   : of a length drawn along a part axis, straight between two points, of a circle (its
             middle, and a point on it), or of a size that no arrow shows
    along  : part axis; start, end : in part axes [mm]; starts_at : one of `END_WORDS`, "hole", or
             "" where both ends are alike
    """

    table: str
    line: int | None
    key: str
    words: str
    text: str
    face: Face | None = None
    kind: Kind = "size"
    along: int | None = None
    start: Point | None = None
    end: Point | None = None
    starts_at: str = ""


def stated_figures(part: Part, leaves: Sequence[tuple[Path, str]] = ()) -> tuple[StatedFigure, ...]:
    """Every length that the file states, in drawing order: the blank, then line by line where it
    lies before what it is, then what else the plan says.

    leaves : all that the file says (`infiles.stated`); with it screws, counts and angles come too
    """
    words = dict(leaves)
    holes: dict[int, list[Hole]] = {}
    for hole in part.holes:
        if not hole.file:
            holes.setdefault(line_of(hole), []).append(hole)
    lines = {
        number: HoleLine(part, tuple(members), words.get(("hole", number, "from"), ""))
        for number, members in holes.items()
    }
    lengths = {one.path: one for one in part.stated}
    rest = {path: StatedLength(path, None, text, part.units, True, 0.0) for path, text in leaves}
    found = [
        one
        for path, stated in (rest | lengths).items()
        for one in (
            _figures(part, lines, stated) if path in lengths else _no_lengths(lines, stated)
        )
    ]
    order = ("part", "stock", "defaults", "hole", "dimension")
    return tuple(
        sorted(
            found,
            key=lambda one: (
                order.index(one.table),
                one.line or 0,
                one.key.partition(".")[0] not in _PLACING,
            ),
        )
    )


def _figures(part: Part, lines: dict[int, HoleLine], one: StatedLength) -> Iterator[StatedFigure]:
    table, *rest = one.path
    index = rest[0] if rest else None
    if table == "general_tolerance":
        yield StatedFigure("part", None, table, SIZE_WORDS[table], one.text)
    elif table == "defaults":
        yield _of_all(one)
    elif table == "stock":
        yield from _of_blank(part, one, tuple(rest))
    elif table == "hole" and isinstance(index, int) and index in lines:
        line, path = lines[index], tuple(rest[1:])
        arrow = arrow_of(line, one, path)
        arrow = replace(arrow, words=f"{line.members[0].group}{arrow.words}")
        yield _figure("hole", index, path, one, line.face, arrow)
    elif table == "dimension" and isinstance(index, int):
        for given in part.dimensions:
            if given.key == f"dimension[{index + 1}]":
                face, arrow = _between(part, given, str(rest[1]))
                yield _figure("dimension", index, tuple(rest[1:]), one, face, arrow)


def _of_all(one: StatedLength) -> StatedFigure:
    path = one.path[1:]
    return StatedFigure("defaults", None, _key(path), f"all holes{size_words(path)}", one.text)


def _no_lengths(lines: dict[int, HoleLine], one: StatedLength) -> Iterator[StatedFigure]:
    """Of a hole: a thread or a drill by its number, how many, at what angle, right through."""
    if one.path[0] == "defaults" and _is_figure(one.path[1:]):
        yield _of_all(one)
    if one.path[0] != "hole" or len(one.path) < 3:
        return
    index, path = one.path[1], one.path[2:]
    if isinstance(index, int) and index in lines and _is_figure(path):
        line = lines[index]
        arrow = sized(line, one, path)
        arrow = replace(arrow, words=f"{line.members[0].group}{arrow.words}")
        yield _figure("hole", index, path, one, line.face, arrow)


def _is_figure(path: Path) -> bool:
    return all(isinstance(key, int) or key in SIZE_WORDS for key in path)


def _figure(
    table: str, line: int | None, path: Path, one: StatedLength, face: Face | None, arrow: Arrow
) -> StatedFigure:
    return StatedFigure(
        table,
        line,
        _key(path),
        arrow.words,
        one.text,
        face,
        arrow.kind,
        arrow.along,
        arrow.start,
        arrow.end,
        arrow.starts_at,
    )


# the blank


_ROUND_END: tuple[Face, Face, Face] = ("right", "back", "top")  # of a disc along x, y, z


def _of_blank(part: Part, one: StatedLength, path: Path) -> Iterator[StatedFigure]:
    stock, is_measured, key = part.stock, path[0] == "measured", path[-1]
    said = ", as it really measures" if is_measured else ""
    if isinstance(key, int) or key in "xyz":
        axis = key if isinstance(key, int) else "xyz".index(key)
        words = BLANK_WORDS[axis] + said
    elif stock.axis is not None and key in ("diameter", "length", "bore"):
        across = plane_axes(_ROUND_END[stock.axis])[0]
        axis = stock.axis if key == "length" else across
        words = f"{SIZE_WORDS[key]}{said}"
    else:
        return
    face: Face = "top" if axis == 1 else "front"
    x, y, z = stock.size_mm
    if key == "bore":
        assert stock.axis is not None
        arrow = Arrow(words, "diameter", None, (x / 2, y / 2, z / 2))
        yield _figure("stock", None, path, one, _ROUND_END[stock.axis], arrow)
    elif is_measured:
        yield _figure("stock", None, path, one, face, Arrow(words))
    else:
        start = 0.0, 0.0, 0.0
        end = moved(start, axis, stock.size_mm[axis])
        yield _figure("stock", None, path, one, face, Arrow(words, "along", axis, start, end))


def _between(part: Part, given: Dimension, key: str) -> tuple[Face | None, Arrow]:
    """A dimension of the plan between two things that are placed by others."""
    ends = [_thing(part, name) for name in given.between]
    words = " to ".join(_end_words(name) for name in given.between)
    faces = [face for face, _ in ends if face is not None]
    face: Face = faces[0] if faces else "top"
    if key != "is":
        return face, Arrow(f"{words}, {SIZE_WORDS.get(key, key)}")
    (_, start), (_, end) = ends
    if (start is None and end is None) or given.along is None:
        return face, straight(words, start, end)
    names = ["centre" if name.startswith("centre_") else name for name in given.between]
    if start is None and end is not None:
        start = moved(end, given.along, end_at_mm(part, given.along, names[0]))
    elif end is None and start is not None:
        end = moved(start, given.along, end_at_mm(part, given.along, names[1]))
    return face, Arrow(words, "along", given.along, start, end)


def _end_words(name: str) -> str:
    return END_WORDS.get("centre" if name.startswith("centre_") else name, name)


def _thing(part: Part, name: str) -> tuple[Face | None, Point | None]:
    """The face and the place of a hole or the middle of a pattern; None of a face."""
    holes = [hole for hole in part.holes if name in (hole.name, hole.group)]
    if not holes:
        return None, None
    x, y, z = (sum(hole.centre_mm[axis] for hole in holes) / len(holes) for axis in range(3))
    return holes[0].face, (x, y, z)


def _key(path: Sequence[str | int]) -> str:
    return ".".join(map(str, path))
