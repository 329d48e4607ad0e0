"""Running dimensions: the figures along one axis, from zero (ISO 129-1, 9.3)."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.records import frozen
from millprep.sheets.drawing import DrawnSetup

_ROOM_BESIDE_MM = 8.0
_APART_MM = 4.0
_SMALL_APART_MM = 2.9
_SMALL_MM, _TEXT_MM = 1.8, 2.5


@frozen
class Figure:
    """One figure and where its line stands [mm, setup axes]; `has_line` is not so for a remark."""

    at_mm: float
    words: str
    has_line: bool = True


@frozen
class Running:
    """The figures along an axis, ascending; all, and what is left when these are too many."""

    axis: int
    figures: tuple[Figure, ...]
    few: tuple[Figure, ...]

    def fitted(self, length_mm: float) -> tuple[tuple[Figure, ...], float, float]:
        """(figures, height of their words, distance from one to the next) along a view so long."""
        room = length_mm + 2 * _ROOM_BESIDE_MM
        for height, apart in ((_TEXT_MM, _APART_MM), (_SMALL_MM, _SMALL_APART_MM)):
            if (len(self.figures) - 1) * apart <= room:
                return self.figures, height, apart
        return self.few, _TEXT_MM, _APART_MM


def running_of(setup: DrawnSetup, axis: int) -> Running:
    """The figures of a view's holes, of its zero, and in brackets of its edges."""
    zero = Figure(0.0, f"0 {(setup.zero_x, setup.zero_y)[axis].upper()}")
    holes: dict[str, Figure] = {}
    for mark in setup.view.marks:
        shown, exact = ((mark.x, mark.x_mm), (mark.y, mark.y_mm))[axis]
        if shown:
            holes.setdefault(str(shown), Figure(exact, str(shown)))
    edges = [figure for figure in _edges(setup, axis) if figure.words.strip("()") not in holes]
    low, high = setup.view.low_mm[axis], setup.view.high_mm[axis]
    remark = Figure((low + high) / 2, f"{'XY'[axis]}: see the table", has_line=False)
    return Running(
        axis,
        _ascending(zero, *holes.values(), *edges),
        _ascending(zero, *([remark] if holes else []), *edges),
    )


def _edges(setup: DrawnSetup, axis: int) -> Iterator[Figure]:
    view = setup.view
    ends = (view.low_mm[axis], view.edges[axis]), (view.high_mm[axis], view.edges[2 + axis])
    for at_mm, shown in ends:
        if shown:
            yield Figure(at_mm, f"({shown})")


def _ascending(*figures: Figure) -> tuple[Figure, ...]:
    return tuple(sorted(figures, key=lambda figure: figure.at_mm))
