"""What the tables hold, asked in words: a thread, a drill, a fit, a screw, a material, a cut.

Each reading of the words is a dict of plain figures, the same that JSON prints: lengths in mm, with
`kind` saying what it is and `source` where the figures come from. Loads no arrays and no schemas,
so that a question at the bench is answered at once. Imports layers 0 to 3.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

from millprep.cutting import REAM_FEED_SHARE, ideal_rpm
from millprep.errors import WordError
from millprep.reference.clearance import GRADES, Clearance, clearance_for
from millprep.reference.drills import DRILL_SERIES, Drill, nearest_drills
from millprep.reference.fits import (
    HOLE_CLASSES,
    SHAFT_CLASSES,
    hole_limits_um,
    shaft_limits_um,
    sources,
)
from millprep.reference.heads import Head
from millprep.reference.materials import (
    Material,
    drill_feed_mm_per_rev,
    material_named,
    materials,
    ream_stock_mm,
)
from millprep.reference.tables import Source
from millprep.reference.threads import CONVENTIONS, Thread, threads
from millprep.sizes import (
    clearances_meant,
    hand_of,
    names_head,
    nearest,
    plain,
    read_drill,
    read_material,
    read_screw,
    read_thread,
    same_size,
    size_word,
    threads_meant,
)
from millprep.units import read_length, shown

Reading = dict[str, Any]
LONGEST_BARE_MM = 100.0  # a bare number above this is a material's name sooner than a drill
LARGEST_CUT_MM = 50.0  # beyond any twist drill for these machines
ACCEPTED = (
    'ask for "M6", "1/4-20", "#7", "letter F", "0.201 in", "6.35 H7", "M5 socket head", '
    '"clearance M5", "6082" or "drill 6 mm mild steel"'
)


def lookup(words: str) -> list[Reading]:
    """Every reading of the words, likeliest first. WordError with the nearest entries if none."""
    text = plain(words, "a question for the tables", ACCEPTED)
    verb, _, rest = text.partition(" ")
    if rest and verb in _VERBS:
        return _VERBS[verb](rest)
    if found := list(_fits(" ".join(words.split()))):
        return found
    if names_head(text):
        return [head_reading(read_screw(text))]
    found = [*_whole_material(text), *_drills(text), *_threads(text)]
    if not found and (material := material_named(text)):
        found = [material_reading(material)]
    if not found:
        raise _nothing(words, text)
    return found


def _nothing(words: str, text: str) -> WordError:
    """The refusal, with the threads of the size that was named, else the words most like it."""
    known = [thread.designation for thread in threads()]
    known += [alias for material in materials() for alias in material.aliases]
    close = ", ".join(same_size(text)) or nearest(text, known)
    remedy = f"nearest: {close}; {ACCEPTED}" if close else ACCEPTED
    return WordError(f"{shown(words)} is in no table", remedy)


# --- finding the readings -------------------------------------------------------------------------


def _fits(words: str) -> Iterator[Reading]:
    """ "6.35 H7", "1/4 in H7/h6": a size and one class or two; capitals are holes."""
    match = re.fullmatch(r"(.+?)\s*([A-Za-z]{1,2}\d{1,2})(?:\s*/\s*([A-Za-z]{1,2}\d{1,2}))?", words)
    if match is None:
        return
    classes = [each for each in (match[2], match[3]) if each]
    if any(each not in HOLE_CLASSES + SHAFT_CLASSES for each in classes):
        return
    size_mm = _length_mm(match[1])
    if size_mm is not None:
        for each in classes:
            yield fit_reading(size_mm, each)


def _length_mm(words: str) -> float | None:
    """Millimetres of a length; a bare number is mm, a bare fraction inches; None if it is none."""
    text = re.sub(r"^(ø|⌀|dia\.?)\s*", "", words.strip(), flags=re.IGNORECASE)
    for units in ("mm", "inch"):
        try:
            return float(read_length(text, units))
        except WordError:
            continue
    return None


def _whole_material(text: str) -> Iterator[Reading]:
    material = material_named(text)
    if material is not None and text in (material.name, *material.aliases):
        yield material_reading(material)


def _drills(text: str) -> Iterator[Reading]:
    """A drill by name or size; a bare number up to 1 may be inches, a bare fraction is."""
    if re.fullmatch(r"[a-z]", text):
        text = f"letter {text}"
    bare = re.fullmatch(r"\d*\.?\d+", text)
    if bare and float(text) > LONGEST_BARE_MM:
        return
    readings: list[Reading] = []
    for units in ("mm", "inch"):
        if bare and units == "inch" and float(text) > 1:
            continue
        try:
            drill = read_drill(text, units)
        except WordError:
            continue
        if drill.designation not in [reading["designation"] for reading in readings]:
            readings.append(drill_reading(drill))
    if bare and "." in text and float(text) < 1:
        readings.reverse()  # 0.201 is an inch figure sooner than a fifth of a millimetre
    yield from readings


def _threads(text: str) -> Iterator[Reading]:
    size, is_left_hand = hand_of(text)
    for thread in threads_meant(size):
        yield thread_reading(thread.left_handed() if is_left_hand else thread)


def _clearance(rest: str) -> list[Reading]:
    holes = clearances_meant(rest)
    if len(holes) == 1 and len(threads_meant(hand_of(rest)[0])) > 1:  # a size alone: "#10"
        return [clearance_reading(holes[0], size_word(holes[0].thread))]
    return [clearance_reading(each, each.thread.name) for each in holes]


def _thread(rest: str) -> list[Reading]:
    return list(_threads(rest)) or [thread_reading(read_thread(rest))]


def _material(rest: str) -> list[Reading]:
    return [material_reading(read_material(rest))]


def _drill(rest: str) -> list[Reading]:
    return _cut(rest, "drill") or list(_drills(rest)) or [drill_reading(read_drill(rest, "mm"))]


def _ream(rest: str) -> list[Reading]:
    return _cut(rest, "ream") or list(_drills(rest)) or [drill_reading(read_drill(rest, "mm"))]


def _tap(rest: str) -> list[Reading]:
    return _cut(rest, "tap") or _thread(rest)


def _cut(rest: str, operation: str) -> list[Reading]:
    """ "6 mm mild steel": the words split where a size ends and a material begins."""
    words = rest.split()
    for count in range(len(words) - 1, 0, -1):
        size, name = " ".join(words[:count]), " ".join(words[count:]).removeprefix("in ")
        material = material_named(name)
        if material is None:
            continue
        if operation == "tap":
            found = threads_meant(hand_of(size)[0])
            if len(found) == 1:
                return [tapping_reading(found[0], material)]
            continue
        drills = list(_drills(size))
        if drills and drills[0]["diameter_mm"] <= LARGEST_CUT_MM:  # "6 in brass" is 6 mm
            return [cut_reading(operation, drills[0], material)]
    return []


_VERBS: dict[str, Callable[[str], list[Reading]]] = {
    "clearance": _clearance, "clear": _clearance, "thread": _thread, "tap": _tap,
    "drill": _drill, "ream": _ream, "material": _material,
}  # fmt: skip


# --- the readings themselves ----------------------------------------------------------------------


def _cite(*sources: Source | None) -> str:
    """The sources in one line, each once, with the table in each."""
    named = [f"{each.cite} ({each.table})" if each.table else each.cite for each in sources if each]
    return "; ".join(dict.fromkeys(named))


def _rounded(value: float) -> float:
    return round(value, 6)


def thread_reading(thread: Thread) -> Reading:
    """A thread with its drill, what the drill leaves by each convention, and clearance holes."""
    clearance = clearance_for(thread)
    return {
        "kind": "thread",
        "designation": thread.designation,
        "standard": thread.standard,
        "series": thread.series,
        "major_mm": _rounded(thread.major_mm),
        "pitch_mm": _rounded(thread.pitch_mm),
        "threads_per_inch": round(thread.threads_per_inch, 3),
        "angle_deg": thread.angle_deg,
        "left_hand": thread.is_left_hand,
        "core_mm": round(thread.basic_minor_mm, 3),
        "tap_drill": thread.tap_drill,
        "tap_drill_mm": _rounded(thread.tap_drill_mm),
        "percent_thread": {
            name: round(thread.percent_thread(thread.tap_drill_mm, name), 1) for name in CONVENTIONS
        },
        "clearance_mm": _holes_mm(clearance) if clearance else None,
        "clearance_drills": _hole_drills(clearance) if clearance else None,
        "note": thread.source.note,
        "source": _cite(thread.source, clearance.source if clearance else None),
    }


def _holes_mm(clearance: Clearance) -> dict[str, float]:
    return {grade: _rounded(clearance.hole(grade)[1]) for grade in GRADES}


def _hole_drills(clearance: Clearance) -> dict[str, str]:
    return {grade: clearance.hole(grade)[0] for grade in GRADES}


def clearance_reading(clearance: Clearance, designation: str) -> Reading:
    """The three clearance holes of a screw."""
    return {
        "kind": "clearance",
        "designation": designation,
        "clearance_mm": _holes_mm(clearance),
        "clearance_drills": _hole_drills(clearance),
        "note": clearance.source.note,
        "source": _cite(clearance.source),
    }


def _size(drill: Drill | None) -> Reading | None:
    if drill is None:
        return None
    return {"designation": drill.designation, "diameter_mm": _rounded(drill.diameter_mm)}


def drill_reading(drill: Drill) -> Reading:
    """A drill, or a size that no series has, with the nearest of every series each way."""
    near = nearest_drills(drill.diameter_mm)
    return {
        "kind": "drill",
        "designation": drill.designation,
        "diameter_mm": _rounded(drill.diameter_mm),
        "diameter_in": _rounded(drill.diameter_in),
        "series": drill.series,
        "nearest": {
            series: {"below": _size(near[series][0]), "above": _size(near[series][1])}
            for series in DRILL_SERIES
        },
        "note": drill.source.note,
        "source": _cite(drill.source),
    }


def fit_reading(size_mm: float, fit_class: str) -> Reading:
    """Limits of a hole (capital class) or a shaft of that size."""
    limits_um = hole_limits_um if fit_class in HOLE_CLASSES else shaft_limits_um
    lower_um, upper_um = limits_um(size_mm, fit_class)
    return {
        "kind": "fit",
        "of": "hole" if fit_class in HOLE_CLASSES else "shaft",
        "size_mm": _rounded(size_mm),
        "class": fit_class,
        "lower_um": lower_um,
        "upper_um": upper_um,
        "smallest_mm": _rounded(size_mm + lower_um / 1000),
        "largest_mm": _rounded(size_mm + upper_um / 1000),
        "note": "",
        "source": _cite(*sources(fit_class)),
    }


def head_reading(head: Head) -> Reading:
    """A screw's head and what is cut for it."""
    return {
        "kind": "screw head",
        "designation": head.screw,
        "head": head.kind,
        "head_diameter_mm": _rounded(head.head_diameter_mm),
        "head_height_mm": _rounded(head.head_height_mm),
        "counterbore_diameter_mm": head.counterbore_diameter_mm,
        "counterbore_depth_mm": head.counterbore_depth_mm,
        "angle_deg": head.angle_deg,
        "note": head.source.note,
        "source": _cite(head.source),
    }


def material_reading(material: Material) -> Reading:
    """Speeds, pecks and advice for a material."""
    return {
        "kind": "material",
        "designation": material.name,
        "group": material.group,
        "drill_m_per_min": material.drill_m_per_min,
        "ream_m_per_min": _rounded(material.ream_m_per_min),
        "tap_m_per_min": material.tap_m_per_min,
        "countersink_m_per_min": _rounded(material.countersink_m_per_min),
        "feed_factor": material.feed_factor,
        "first_peck_diameters": material.first_peck_diameters,
        "long_chips": material.long_chips,
        "work_hardens": material.work_hardens,
        "lubricant": material.lubricant,
        "advice": material.advice,
        "aliases": list(material.aliases),
        "note": material.source.note,
        "source": _cite(material.source),
    }


def cut_reading(operation: str, drill: Reading, material: Material) -> Reading:
    """Ideal speed and feed of a drill or a reamer in a material."""
    diameter_mm = drill["diameter_mm"]
    feed_mm_per_rev = drill_feed_mm_per_rev(diameter_mm) * material.feed_factor
    speed, peck_mm, stock_mm = material.drill_m_per_min, None, None
    if operation == "ream":
        speed, feed_mm_per_rev = material.ream_m_per_min, feed_mm_per_rev * REAM_FEED_SHARE
        stock_mm = list(ream_stock_mm(diameter_mm))
    else:
        peck_mm = round(material.first_peck_diameters * diameter_mm, 3)
    rpm = ideal_rpm(speed, diameter_mm)
    return {
        "kind": "cut",
        "operation": operation,
        "designation": drill["designation"],
        "diameter_mm": diameter_mm,
        "diameter_in": drill["diameter_in"],
        "first_peck_mm": peck_mm,
        "stock_mm": stock_mm,
        **_speeds(material, speed, rpm, feed_mm_per_rev),
    }


def tapping_reading(thread: Thread, material: Material) -> Reading:
    """Speed of a machine tap in a material; its feed is the pitch, exactly."""
    return {
        "kind": "cut",
        "operation": "tap",
        "designation": thread.designation,
        "diameter_mm": _rounded(thread.major_mm),
        "diameter_in": _rounded(thread.major_mm / 25.4),
        "tap_drill": thread.tap_drill,
        "tap_drill_mm": _rounded(thread.tap_drill_mm),
        **_speeds(
            material,
            material.tap_m_per_min,
            ideal_rpm(material.tap_m_per_min, thread.major_mm),
            thread.pitch_mm,
        ),
    }


def _speeds(material: Material, speed: float, rpm: float, feed_mm_per_rev: float) -> Reading:
    return {
        "material": material.name,
        "speed_m_per_min": _rounded(speed),
        "rpm": round(rpm),
        "feed_mm_per_rev": round(feed_mm_per_rev, 4),
        "feed_mm_per_min": round(round(rpm) * feed_mm_per_rev, 1),
        "lubricant": material.lubricant,
        "advice": material.advice,
        "note": material.source.note,
        "source": _cite(material.source),
    }
