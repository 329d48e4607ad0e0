"""Sizes that a person may be about to type: those of the tables and of the drawer.

Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Literal

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.shop import Shop
from millprep.reference.clearance import clearance_for
from millprep.reference.drills import DRILL_SERIES, Drill, DrillSeries, drills
from millprep.reference.threads import THREAD_SERIES, ThreadSeries, threads
from millprep.sizes.drill_words import read_drill
from millprep.sizes.words import LONGEST_WORD, plain

SizeKind = Literal["drill", "ream", "tap", "clear"]
MOST_SIZES = 8
_NEAR = 0.2  # of what was typed: further off is another size altogether
_METRIC: tuple[DrillSeries, ...] = ("metric", "metric 0.05")
_SCREWS: tuple[ThreadSeries, ...] = ("metric coarse", "UNC", "UNF", "BSW", "BSF", "BA")
_ANY_UNIT = re.compile(r"#|letter|/|\"|in|mm|[a-z]$")


@frozen
class _Size:
    """A size as it may be typed; is_own : in the unit of the file; um : its diameter"""

    words: str
    folded: str
    um: int
    is_own: bool


def sizes_like(
    typed: str, units: Units, shop: Shop | None = None, kind: SizeKind = "drill"
) -> list[str]:
    """At most eight sizes: what begins as typed, what is in the drawer, what is nearest.

    Each reads back to its own size in a file of these units. Of nothing typed, what the drawer has.
    """
    text, owned = _folded(typed), _owned(shop, kind)
    if len(typed) > LONGEST_WORD or not (text or owned):
        return []
    wanted_um = _wanted_um(typed, units) if kind in ("drill", "ream") else None
    is_any_unit = _ANY_UNIT.search(text) is not None
    unsaid = "#m" if units == "mm" else "#"  # "27" is on the way to No. 27, "4" to M4
    ranked = []
    for number, size in enumerate(_sizes(kind, units)):
        is_owned = size.um in owned if kind in ("drill", "ream") else size.words in owned
        names = size.folded, size.folded.lstrip(unsaid)
        begins = any(name.startswith(text) for name in names)
        if not (is_owned or size.is_own or (is_any_unit and begins)):
            continue
        away = 0 if wanted_um is None else abs(size.um - wanted_um)
        is_near = wanted_um is not None and away < wanted_um * _NEAR
        if (begins or is_near) and (text or is_owned):
            rank = (text not in names, away != 0, not begins, not is_owned, away, number)
            ranked.append((rank, size.words))
    return [words for _, words in sorted(ranked)[:MOST_SIZES]]


def _folded(words: str) -> str:
    """Words as they are compared: no blanks, one sign for number drills, no word of a diameter."""
    try:
        text = plain(words, "", "")
    except WordError:
        return ""
    text = re.sub(r"\b(?:no\b\.?|number\b)\s*(?=\d|$)", "#", text)
    text = re.sub(r"^[a-z]$", r"letter\g<0>", text)
    return re.sub(r"\s|ø|⌀|\bdia(?:meter)?\b\.?|\bdrill\b", "", text)


def _wanted_um(typed: str, units: Units) -> int | None:
    try:
        return round(read_drill(typed, units).diameter_mm * 1000)
    except WordError:
        return None


def _owned(shop: Shop | None, kind: SizeKind) -> frozenset[str | int]:
    """What the drawer has: taps and screws by their words, the others by their size [um]."""
    if shop is None:
        return frozenset()
    if kind in ("tap", "clear"):
        return frozenset(tap.words for tap in shop.cabinet.taps)
    tools = shop.cabinet.drills if kind == "drill" else shop.cabinet.reamers
    return frozenset(round(tool.diameter_mm * 1000) for tool in tools)


@lru_cache
def _sizes(kind: SizeKind, units: Units) -> tuple[_Size, ...]:
    """All that there are, in the order of their tables."""
    if kind in ("drill", "ream"):
        return tuple(_drilled(kind, units))
    series = [each for each in THREAD_SERIES if kind == "tap" or each in _SCREWS]
    series.sort(key=lambda each: (each.startswith("metric") != (units == "mm"), each != "BA"))
    return tuple(
        _Size(thread.designation, _folded(thread.designation), round(thread.major_mm * 1000), True)
        for each in series
        for thread in threads(each)
        if kind == "tap" or clearance_for(thread) is not None
    )


def _drilled(kind: SizeKind, units: Units) -> Iterator[_Size]:
    """Drills, or what reamers there are: of whole and half millimetres and of 32nds, as a rule, and
    of the drawer's."""
    own = [series for series in DRILL_SERIES if (series in _METRIC) == (units == "mm")]
    known = set()
    for series in (*own, *(series for series in DRILL_SERIES if series not in own)):
        for drill in drills(series):
            um, words = round(drill.diameter_mm * 1000), _typed(drill, units)
            is_usual = kind == "drill" or _is_reamed(drill)
            if series in own or units == "mm" or um not in known:  # 6.35 mm is 1/4 in an inch file
                yield _Size(words, _folded(words), um, is_usual and series in own)
            known.add(um)


def _is_reamed(drill: Drill) -> bool:
    if drill.series == "fraction":
        return (drill.diameter_in * 32).is_integer()
    return drill.series == "metric" and (drill.diameter_mm * 2).is_integer()


def _typed(drill: Drill, units: Units) -> str:
    """A drill as a person types it in a file of these units."""
    words = drill.designation
    if words.startswith("#"):
        return f"No. {words[1:]}"
    return words.removesuffix(" in" if units == "inch" else " mm")
