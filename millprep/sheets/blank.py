"""A blank as it is typed: the solid that it makes, lengths that are not there yet guessed, and
between what each figure stands. Imports layers 0 to 2 and sheets.solids.
"""

from __future__ import annotations

from collections.abc import Mapping

from millprep.base.records import frozen
from millprep.model.scene import Point
from millprep.sheets.solids import Solid, block, rod

_GUESSED_MM = {
    "size.0": 60.0,
    "size.1": 40.0,
    "size.2": 25.0,
    "diameter": 50.0,
    "length": 15.0,
    "bore": 15.0,
}
_LONGEST = 24  # letters of what is typed that are shown
_SLANT = 0.5**0.5  # the way across the paper, along x and against y
_LEAST_SHARE, _MOST_SHARE = 0.08, 0.9
"""Of its longest side what is shown of the shortest, and of its diameter what is shown of a bore:
a picture that can be read, where the figures say what is true."""


@frozen
class BlankFigure:
    """One length of a blank: its key in [stock], what it is called, as typed ("" for not yet).

    start, end : part axes [mm]; a line leads from the one to the other where `is_leader`
    aside : the way out of the picture to where the figure stands; out_mm : how far the solid goes
            on that way
    """

    key: str
    words: str
    text: str
    start: Point
    end: Point
    aside: Point
    out_mm: float = 0.0
    is_leader: bool = False


@frozen
class Blank:
    """A block, or a disc along z; bore_mm : None for none."""

    solid: Solid
    is_round: bool
    size_mm: Point
    bore_mm: float | None
    figures: tuple[BlankFigure, ...]


def block_as_typed(typed: Mapping[str, str], lengths_mm: Mapping[str, float]) -> Blank:
    """Keys are "size.0", "size.1", "size.2"; lengths_mm : of those that read as a length."""
    x, y, z = _shown(("size.0", "size.1", "size.2"), lengths_mm)
    figures = (
        _figure("size.0", "left to right", typed, (0, 0, 0), (x, 0, 0), (0, -1, 0)),
        _figure("size.1", "front to back", typed, (0, 0, 0), (0, y, 0), (-1, 0, 0)),
        _figure("size.2", "bottom to top", typed, (x, 0, 0), (x, 0, z), (1, 0, 0)),
    )
    return Blank(block("part", (0.0, 0.0, 0.0), (x, y, z)), False, (x, y, z), None, figures)


def disc_as_typed(typed: Mapping[str, str], lengths_mm: Mapping[str, float]) -> Blank:
    """Keys are "diameter", "length", "bore"; without a bore there is none."""
    wide, high = _shown(("diameter", "length"), lengths_mm)
    middle, rim = wide / 2, wide / 2 * _SLANT
    right = middle + rim, middle - rim
    top = (0.0, middle, high), (wide, middle, high)
    thick = (*right, 0.0), (*right, high)
    figures = [
        _figure("diameter", "diameter", typed, *top, (0, 1, 0), middle),
        _figure("length", "thickness", typed, *thick, (_SLANT, -_SLANT, 0)),
    ]
    bore_mm = None
    if typed.get("bore", "").strip():
        true = lengths_mm.get("bore", _GUESSED_MM["bore"] * wide / _GUESSED_MM["diameter"])
        bore_mm = min(max(true, _LEAST_SHARE * wide), _MOST_SHARE * wide)
        out = (middle + bore_mm / 2, middle, high), (wide, middle, high)
        figures.append(_figure("bore", "bore", typed, *out, (1, 0, 0), 0.0, True))
    solid = rod("part", (0.0, 0.0, 0.0), (wide, wide, high), 2)
    return Blank(solid, True, (wide, wide, high), bore_mm, tuple(figures))


def _figure(
    key: str,
    words: str,
    typed: Mapping[str, str],
    start: Point,
    end: Point,
    aside: Point,
    out_mm: float = 0.0,
    is_leader: bool = False,
) -> BlankFigure:
    text = " ".join(typed.get(key, "").split())[:_LONGEST]
    return BlankFigure(key, words, text, start, end, aside, out_mm, is_leader)


def _shown(keys: tuple[str, ...], lengths_mm: Mapping[str, float]) -> list[float]:
    """Those that are there, the others in proportion, none too thin to be seen."""
    known = {key: lengths_mm[key] for key in keys if lengths_mm.get(key, 0.0) > 0.0}
    share = 1.0
    if known:
        share = sum(known.values()) / sum(_GUESSED_MM[key] for key in known)
    sizes = [known.get(key, share * _GUESSED_MM[key]) for key in keys]
    return [max(size, _LEAST_SHARE * max(sizes)) for size in sizes]
