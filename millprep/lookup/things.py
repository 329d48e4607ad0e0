"""Readings of bought parts and of what an operation leaves: nuts, washers, dowels, centre drills.

Imports layers 0 to 2.
"""

from __future__ import annotations

import re

from millprep.base.findings import WordError
from millprep.base.units import Units, read_length, shown
from millprep.lookup.readings import (
    Reading,
    centre_drill_reading,
    dowel_reading,
    hole_reading,
    nut_reading,
    purpose_reading,
    washer_reading,
)
from millprep.reference.centre_drills import CENTRE_DRILL_STANDARDS, CentreDrill, centre_drills
from millprep.reference.drills import SAME_SIZE_MM
from millprep.reference.fits import dowel_pins, recommended_fits
from millprep.reference.heads import nut_for, washer_for
from millprep.reference.tables import load_table
from millprep.reference.threads import Thread
from millprep.sizes import either, nearest, screw_threads

PURPOSES = ("press", "slide", "pivot", "locate")
_BOUGHT = re.compile(
    r"(?P<size>.+?)\s+(?P<what>nut|washer|spanner)s?|(?P<what2>nut|washer|spanner)\s+(?P<size2>.+)"
)
_CENTRE_DRILL = re.compile(
    r"""
    (?:cent(?:re|er)|combination)[ -]?drill\s*(?P<size>.*)
    | (?P<size2>.+?)\s+cent(?:re|er)[ -]?drill
    """,
    re.VERBOSE,
)
_DOWEL = re.compile(
    r"(?:dowel(?:\s*pin)?|parallel pin)\s+(?P<size>.+)|(?P<size2>.+?)\s+dowel(?:\s*pin)?"
)
_DONE = {
    "bored": "bore",
    "counterbored": "counterbore",
    "countersunk": "countersink",
    "drilled": "drill",
    "reamed": "ream",
    "tapped": "tap",
}


def thing_readings(text: str, units: Units) -> list[Reading]:
    """Readings of the words where they name such a thing; WordError for one in no table."""
    verb, _, rest = text.partition(" ")
    if verb in PURPOSES and rest:
        return [purpose_reading(_mm(rest, verb, units), recommended_fits(verb))]
    if match := re.fullmatch(r"(\w+) holes?", text):
        return _hole(match[1])
    if match := _CENTRE_DRILL.fullmatch(text):
        return _centre_drill(match["size"] or match["size2"] or "")
    if match := _DOWEL.fullmatch(text):
        return _dowel(match["size"] or match["size2"], units)
    if match := _BOUGHT.fullmatch(text):
        return _bought(match["size"] or match["size2"], match["what"] or match["what2"])
    return []


def _mm(words: str, what: str, units: Units) -> float:
    try:
        return float(read_length(words.removesuffix("pin").strip(), units))
    except WordError as error:
        raise WordError(
            f"{shown(words)} is not a size", f'write "{what} 6 mm" or "{what} 1/4 in"'
        ) from error


def _hole(word: str) -> list[Reading]:
    table = load_table("holes-expected")
    rows = [row for row in table.rows if row["operation"] == _DONE.get(word)]
    return [hole_reading(row, table.source) for row in rows]


def _bought(size: str, what: str) -> list[Reading]:
    """A nut or a washer; "spanner" asks for the width across flats."""
    found = screw_threads(size)
    readings = [
        reading for thread in found if (reading := _nut_or_washer(thread, what)) is not None
    ]
    unique = {tuple(sorted((k, str(v)) for k, v in each.items())): each for each in readings}
    if not unique:
        what = "nut" if what == "spanner" else what
        raise WordError(
            f"no table has a {what} for {shown(size)}",
            f'write "M5 {what}"; nuts are listed for '
            "metric, inch, BA and Whitworth screws, washers for metric",
        )
    return list(unique.values())


def _nut_or_washer(thread: Thread, what: str) -> Reading | None:
    if what == "washer":
        washer = washer_for(thread)
        return None if washer is None else washer_reading(washer)
    nut = nut_for(thread)
    return None if nut is None else nut_reading(nut)


def _dowel(size: str, units: Units) -> list[Reading]:
    size_mm = _mm(size, "dowel", units)
    pins = dowel_pins()
    for pin in pins:
        if abs(pin.diameter_mm - size_mm) < SAME_SIZE_MM:
            return [dowel_reading(pin)]
    near = sorted(pins, key=lambda pin: abs(pin.diameter_mm - size_mm))[:3]
    sizes = either([f"dowel {pin.diameter_mm:g} mm" for pin in near])
    raise WordError(f"no dowel pin is listed at {size_mm:g} mm", f"nearest: {sizes}")


def _centre_drill(size: str) -> list[Reading]:
    """By number, "A2.5", "BS2" or pip; a number alone is each standard's."""
    listed = [drill for each in CENTRE_DRILL_STANDARDS for drill in centre_drills(each)]
    name = re.sub(r"^(?:no\b\.?|number|#)\s*", "", size.strip())
    found = [drill for drill in listed if _is_called(drill, name)] or _by_pip(listed, name)
    if not found:
        known = [drill.designation for drill in listed]
        close = nearest(f"centre drill {name}", known) or ", ".join(known[:3])
        raise WordError(f"{shown(size)} is not a centre drill in the tables", f"nearest: {close}")
    return [centre_drill_reading(drill) for drill in found]


def _is_called(drill: CentreDrill, name: str) -> bool:
    own = drill.designation.removeprefix("centre drill ").casefold()
    bare = re.sub(r"^(?:no\. |bs|a)", "", own)
    return name.replace(" ", "") in (own.replace(" ", ""), bare)


def _by_pip(listed: list[CentreDrill], name: str) -> list[CentreDrill]:
    try:
        pip_mm = float(read_length(name, "inch" if "/" in name else "mm"))
    except WordError:
        return []
    return [drill for drill in listed if abs(drill.pip_mm - pip_mm) < 0.005]
