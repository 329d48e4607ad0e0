"""Where the sections go that are asked for: a hole by its name, its place or its number."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from millprep.base.bounds import MOST_SECTIONS
from millprep.base.findings import MillprepError, stopped
from millprep.base.plain_text import clean, some

if TYPE_CHECKING:
    from millprep.base.units import Units
    from millprep.model.part import Hole
    from millprep.proven.judging import Bench
    from millprep.reading.made import MadeHole
    from millprep.report.views import HoleAt

SAME_HOLE_MM = 0.5
_PLACE = re.compile(r"X\s*(-?[\d.]+)[\s,]*Y\s*(-?[\d.]+)", re.I)
_NUMBER = re.compile(r"#?\s*(\d{1,6})")


def sections_at(
    asked: Sequence[str], bench: Bench, holes: Sequence[MadeHole], units: Units
) -> list[HoleAt]:
    """The places of the sections asked for; holes : as the report lists them.

    Raises MillprepError for what names no place in the stock.
    """
    if asked and bench.scene is None:
        remedy = "give --stock and --zero, or --part"
        raise stopped("unknown-word", "--section: nothing is known of the stock", remedy)
    if len(asked) > MOST_SECTIONS:
        raise stopped("unknown-word", f"{len(asked)} sections", f"at most {MOST_SECTIONS} at once")
    return [_found(words.strip(), bench, holes, units) for words in asked]


def _found(words: str, bench: Bench, holes: Sequence[MadeHole], units: Units) -> HoleAt:
    named = _named(words, bench)
    if named is not None:
        return _at(named.name, *_in_setup(named, bench), holes, units)
    if (place := _PLACE.fullmatch(words)) is not None:
        x, y = (_figure(one, words) * (25.4 if units == "inch" else 1.0) for one in place.groups())
        return _in_stock(words, x, y, bench, holes, units)
    if (number := _NUMBER.fullmatch(words)) is not None and 1 <= int(number[1]) <= len(holes):
        one = holes[int(number[1]) - 1]
        return _at(f"hole {number[1]}", one.x_mm, one.y_mm, holes, units)
    raise _unknown(words, bench, holes, units)


def _figure(text: str, words: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise stopped(
            "unknown-word", f"--section: {clean(words)!r} is no place", "write it as 'X20 Y10'"
        ) from None


def _named(words: str, bench: Bench) -> Hole | None:
    """The part's hole of that name."""
    holes = bench.part.holes if bench.part is not None else ()
    return next((one for one in holes if one.name.casefold() == words.casefold()), None)


def _in_setup(hole: Hole, bench: Bench) -> tuple[float, float]:
    """Where it stands, if it stands upright."""
    from millprep.model.part import OPPOSITE

    assert bench.setup is not None
    if hole.face not in (bench.setup.face, OPPOSITE[bench.setup.face]):
        raise stopped(
            "unknown-word",
            f"--section: {hole.name} lies across in setup {bench.setup.number}: it is on "
            f"{hole.face.upper()}",
            "cut through a hole that is upright here, or through a place: 'X20 Y10'",
        )
    x, y, _ = bench.setup.from_part(np.array([hole.centre_mm]).T)[:, 0]
    return float(x), float(y)


def _in_stock(
    words: str, x: float, y: float, bench: Bench, holes: Sequence[MadeHole], units: Units
) -> HoleAt:
    from millprep.reading.simulate.solid import depth_inside

    assert bench.scene is not None
    if depth_inside(bench.scene.stock, np.array([[x], [y]]))[0] <= 0:
        raise stopped(
            "unknown-word",
            f"--section: {clean(words)} is beside the stock",
            _nearest_places(x, y, holes, units),
        )
    return _at("", x, y, holes, units)


def _at(name: str, x: float, y: float, holes: Sequence[MadeHole], units: Units) -> HoleAt:
    """The hole that is made there, where one is, and what the section is called."""
    from millprep.report.views import HoleAt

    near = [one for one in holes if math.hypot(one.x_mm - x, one.y_mm - y) <= SAME_HOLE_MM]
    hole = min(near, key=lambda one: math.hypot(one.x_mm - x, one.y_mm - y), default=None)
    if hole is not None:
        x, y = hole.x_mm, hole.y_mm
    words = ", ".join(filter(None, (name, _place_words(x, y, units))))
    return HoleAt(words if hole is not None else f"{words}: no hole made here", x, y, hole)


def _place_words(x: float, y: float, units: Units) -> str:
    if units == "inch":
        return f"X{x / 25.4:.4f} Y{y / 25.4:.4f}"
    return f"X{x + 0.0:.3f} Y{y + 0.0:.3f}"


def _nearest_places(x: float, y: float, holes: Sequence[MadeHole], units: Units) -> str:
    near = sorted(holes, key=lambda one: math.hypot(one.x_mm - x, one.y_mm - y))
    places = [_place_words(one.x_mm, one.y_mm, units) for one in near]
    return f"nearest holes: {some(places, 3)}" if places else "no hole is made"


def _unknown(words: str, bench: Bench, holes: Sequence[MadeHole], units: Units) -> MillprepError:
    """What there is instead: members of a pattern of that name, names like it, places."""
    from millprep.infiles.wording import nearest

    known = bench.part.holes if bench.part is not None else ()
    names = [one.name for one in known if one.group.casefold() == words.casefold()]
    if not names and (likely := nearest(words, [one.name for one in known])) is not None:
        names = [likely, *(one.name for one in known if one.name != likely)]
    names = names or [one.name for one in known]
    if names:
        others = f", a number from 1 to {len(holes)} of HOLES" if holes else ""
        remedy = f"give one of these: {some(names, 4)}{others}, or a place such as 'X20 Y10'"
    else:
        places = [_place_words(one.x_mm, one.y_mm, units) for one in holes]
        remedy = (
            f"give a place ({some(places, 3)}), or a number from 1 to {len(holes)} of HOLES"
            if places
            else "no hole is made: give a place, such as 'X20 Y10'"
        )
    return stopped("unknown-word", f"--section: there is no hole {clean(words)!r}", remedy)
