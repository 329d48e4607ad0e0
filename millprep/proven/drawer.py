"""The drawer of a shop as sizes: those that tables list, and those that a shop's text has."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any

from millprep.base.records import frozen
from millprep.base.units import Units

LISTS = ("drills", "taps", "reamers", "counterbores", "countersinks", "end_mills", "spot_drills")
"""The lists of a drawer."""
_SAME_MM = 1e-4
_EMPTY = 'units = "mm"\n'


@frozen
class Cutter:
    """A size of a list.

    words : as the shop's file names it
    name  : what it is told by: a thread by its designation, any other by diameter and what is
            unusual, "6.3500" of 1/4 in as of 6.35 mm
    more  : what is unusual: "82 deg", "hand"; may be ""
    """

    words: str
    name: str
    diameter_mm: float
    more: str = ""


def listed(series: str) -> tuple[Cutter, ...]:
    """The sizes of a table: of drills ("metric", "number" ...) or threads ("metric coarse", "BA").

    Or the diameters of "socket heads metric", "socket heads inch" and "countersinks". KeyError for
    a table that there is not.
    """
    from millprep.reference.cutters import usual_noses_mm
    from millprep.reference.drills import DRILL_SERIES, drills, metric_words
    from millprep.reference.threads import THREAD_SERIES, threads

    for one in DRILL_SERIES:
        if one == series:
            return tuple(_cutter(drill.designation, drill.diameter_mm) for drill in drills(one))
    for each in THREAD_SERIES:
        if each == series:
            return tuple(
                Cutter(one.designation, one.designation, one.major_mm) for one in threads(each)
            )
    if series == "countersinks":
        return tuple(_cutter(metric_words(size), size) for size in usual_noses_mm(90.0))
    return _for_heads(series)


def _for_heads(series: str) -> tuple[Cutter, ...]:
    """The counterbores for socket heads of one kind of threads, each size once."""
    from millprep.reference.drills import fraction_words, metric_words
    from millprep.reference.heads import head_for
    from millprep.reference.threads import ThreadSeries, threads

    of: dict[str, tuple[ThreadSeries, ...]] = {
        "socket heads metric": ("metric coarse",),
        "socket heads inch": ("UNC", "UNF"),
    }
    heads = [head_for(thread, "socket head") for each in of[series] for thread in threads(each)]
    sizes_mm = {head.counterbore_diameter_mm for head in heads if head is not None} - {None}
    found = []
    for size_mm in sorted(size for size in sizes_mm if size is not None):
        inches = Fraction(round(size_mm / 25.4 * 64), 64)
        is_fraction = "inch" in series and abs(float(inches) * 25.4 - size_mm) < _SAME_MM
        found.append(
            _cutter(fraction_words(inches) if is_fraction else metric_words(size_mm), size_mm)
        )
    return tuple(found)


def sizes_named(words: Iterable[str]) -> tuple[Cutter, ...]:
    """Sizes by their words, each with its unit. Raises WordError for one that is none."""
    from millprep.sizes import read_drill

    return tuple(_cutter(word, read_drill(word, "mm").diameter_mm) for word in words)


def in_drawer(text: str) -> dict[str, tuple[Cutter, ...]]:
    """What the drawer of a shop's text has, by list, over the packaged shop that it names.

    A shop that is not written yet is the packaged one. Raises MillprepError: every fault.
    """
    from millprep.infiles import read_shop
    from millprep.infiles.file_bytes import as_if_written

    path = Path("shop.toml")
    with as_if_written({path: (text if text.strip() else _EMPTY).encode()}):
        cabinet = read_shop(str(path)).cabinet
    return {
        name: tuple(
            dict.fromkeys(
                Cutter(one.words, one.words, one.diameter_mm)
                if name == "taps"
                else _cutter(one.words, one.diameter_mm, _unusual(one))
                for one in getattr(cabinet, name)
            )
        )
        for name in LISTS
    }


def sizes_of(entry: Any, kind: str, units: Units) -> tuple[Cutter, ...]:
    """The sizes of one entry of a list, as TOML has it: words, a figure, a table, a range.

    Raises WordError or MillprepError for one that cannot be read.
    """
    from millprep.sizes import read_drill, read_thread

    if isinstance(entry, dict):
        return in_drawer(f'units = "{units}"\n[drawer]\n{kind} = [{in_toml(entry)}]\n')[kind]
    if kind == "taps":
        thread = read_thread(entry)
        return (Cutter(thread.designation, thread.designation, thread.major_mm),)
    size = read_drill(entry, units)
    return (_cutter(size.designation, size.diameter_mm),)


def in_toml(entry: Any) -> str:
    """An entry of a list as it stands in a file: words, a figure, or a table of them."""
    if isinstance(entry, dict):
        return f"{{ {', '.join(f'{key} = {in_toml(one)}' for key, one in entry.items())} }}"
    return json.dumps(entry, ensure_ascii=False)


def entries_of(text: str, kind: str) -> list[Any]:
    """The entries of a list as the shop's text has them, or as the packaged shop that it names.

    Those of a packaged shop in the other unit are size by size.
    """
    from millprep.infiles.shop_file import SHOPS

    data = tomllib.loads(text)
    own = data.get("drawer", data.get("cabinet", {}))
    if kind in own:
        return list(own[kind])
    base = tomllib.loads((SHOPS / f"{data.get('base', 'metric')}.toml").read_text(encoding="utf-8"))
    if base.get("units") == data.get("units", "mm"):
        return list(base["drawer"].get(kind, []))
    return list(dict.fromkeys(one.words for one in in_drawer(text)[kind]))


def _unusual(tool: Any) -> str:
    """What tells a tool from another of its size: its point, or that it is a hand reamer."""
    usual_deg = getattr(tool, "usual_point_deg", None)
    if usual_deg is not None and tool.point_angle_deg != usual_deg:
        return f"{tool.point_angle_deg:g} deg"
    return "hand" if getattr(tool, "is_hand", False) else ""


def _cutter(words: str, diameter_mm: float, more: str = "") -> Cutter:
    """Sizes nearer than a ten-thousandth of a millimetre are one: float noise of a conversion."""
    name = " ".join(filter(None, (f"{diameter_mm:.4f}", more)))
    return Cutter(words, name, round(diameter_mm, 4), more)
