"""What the tables hold, asked in words: a thread, a drill, a fit, a screw, a material, a cut.

Loads no arrays and no schemas, and of the tables only those of the kind asked for, so that a
question at the bench is answered at once. Imports layers 0 to 3.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from millprep.base.findings import WordError
from millprep.base.units import Units, read_length, shown
from millprep.lookup.readings import (
    Reading,
    clearance_reading,
    drill_reading,
    fit_reading,
    head_reading,
    material_reading,
    pair_reading,
    thread_reading,
)
from millprep.lookup.tapping import DrillSize, nearest_of, percent_asked, percent_reading
from millprep.lookup.things import PURPOSES, thing_readings
from millprep.lookup.whole import whole_tables
from millprep.reference.drills import Drill
from millprep.reference.fits import HOLE_CLASSES, SHAFT_CLASSES
from millprep.reference.materials import material_named, materials
from millprep.reference.threads import threads
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
    screw_threads,
    size_word,
    threads_meant,
)

__all__ = ["Reading", "lookup", "whole_tables"]

LARGEST_BARE = 100.0  # a bare number above this is a material's name sooner than a size
ACCEPTED = (
    'ask for "M6", "M6 65%", "1/4-20", "#7", "letter F", "0.201 in", "25 H7/g6", "press 6 mm", '
    '"M5 socket head", "M5 nut", "clearance M5", "centre drill 2", "6082" or '
    '"drill 6 mm mild steel 40 deep"'
)
_NOUNS = frozenset(
    {"socket", "head", "cap", "screw", "countersunk", "slotted", "pan", "cheese", "hexagon", "nut",
     "washer", "spanner", "dowel", "pin", "centre", "drill", "hole", "letter", "left", "hand"}
)  # fmt: skip
_DRILL_WORDS = re.compile(
    r"""
    (?:\#|no\b\.?|number\b)\s*\d.* | letter\s*[a-z] | [a-z]            # named
    | (?:ø|⌀|dia(?:meter|\.)?)?\s*\.?\d[^a-z%]*(?:mm|in|inch|inches)?\.?(?:\s*dia)?  # lengths
    """,
    re.VERBOSE,
)


def lookup(
    words: str, drawer: Sequence[DrillSize] | None = None, units: Units = "mm"
) -> list[Reading]:
    """Every reading of the words, likeliest first. WordError with the nearest entries if none.

    drawer : the cabinet's drills: of these tapping drills are chosen, and the nearest to a size
    units  : of bare numbers; with mm a bare number up to 1 is read in inches too
    """
    readings = _readings(words, drawer, units)
    return readings if drawer is None else list(_with_cabinet(readings, drawer))


def _with_cabinet(readings: list[Reading], drawer: Sequence[DrillSize]) -> Iterator[Reading]:
    """The readings, threads and drills with what the cabinet has for them."""
    for reading in readings:
        if reading["kind"] == "drill":
            reading["nearest"]["cabinet"] = nearest_of(drawer, reading["diameter_mm"])
        yield reading
        if reading["kind"] == "thread":
            thread = read_thread(reading["designation"])
            percent = round(thread.percent_thread(thread.tap_drill_mm), 1)
            yield percent_reading(thread, percent, "1.2269", drawer)


def _readings(words: str, drawer: Sequence[DrillSize] | None, units: Units) -> list[Reading]:
    text = plain(words, "a question for the tables", ACCEPTED)
    if asked := percent_asked(text):
        size, percent, convention = asked
        found = threads_meant(hand_of(size)[0]) or (read_thread(size),)
        return [percent_reading(thread, percent, convention, drawer) for thread in found]
    for verb, readings in _VERBS:
        if text.startswith(verb + " "):
            return readings(text.removeprefix(verb).strip(), units)
    if readings_of_fit := list(_fits(" ".join(words.split()), units)):
        return readings_of_fit
    if names_head(text):
        return [head_reading(read_screw(text))]
    if things := thing_readings(text, units):
        return things
    found_plain = _plain_readings(text, units)
    if not found_plain:
        raise _nothing(words, text)
    return found_plain


def _plain_readings(text: str, units: Units) -> list[Reading]:
    """Readings of a name or a size alone; the tables of other kinds are not opened."""
    if re.search(r"[a-z]", text) and (found := list(_threads(text))):
        return found  # a thread with its form or its M: no drill and no material
    if _may_be_material(text) and (whole := list(_whole_material(text))):
        return whole
    readings = [*_drills(text, units), *_threads(text)]
    if not readings and _may_be_material(text) and (material := material_named(text)):
        readings = [material_reading(material)]
    return readings


def _nothing(words: str, text: str) -> WordError:
    """The refusal: the question with a slip mended, threads of the size named, or like words."""
    close = _mended(words) or ", ".join(same_size(text))
    if not close:
        known = [thread.designation for thread in threads()]
        known += [alias for material in materials() for alias in material.aliases]
        close = nearest(text, known)
    remedy = f"nearest: {close}; {ACCEPTED}" if close else ACCEPTED
    return WordError(f"{shown(words)} is in no table", remedy)


def _mended(words: str) -> str:
    """The question with each misspelt word of a verb, a head or a bought part put right."""
    known = {part for verb, _ in _VERBS for part in verb.split()} | _NOUNS
    mended = [
        word if word in known or not word.isalpha() else nearest(word, known, 1, 0.75) or word
        for word in words.casefold().split()
    ]
    changed = " ".join(mended)
    return "" if changed == " ".join(words.casefold().split()) else f'"{changed}"'


# --- finding the readings -------------------------------------------------------------------------


def _fits(words: str, units: Units) -> Iterator[Reading]:
    """ "6.35 H7", "1/4 in H7/h6": a size and one class or two; capitals are holes.

    A hole with a shaft is followed by what they do together.
    """
    match = re.fullmatch(r"(.+?)\s*([A-Za-z]{1,2}\d{1,2})(?:\s*/\s*([A-Za-z]{1,2}\d{1,2}))?", words)
    if match is None:
        return
    classes = [each for each in (match[2], match[3]) if each]
    if any(each not in HOLE_CLASSES + SHAFT_CLASSES for each in classes):
        return
    size_mm = _length_mm(match[1], units)
    if size_mm is None:
        return
    for each in classes:
        yield fit_reading(size_mm, each)
    pair = sorted(classes, key=str.islower)
    if [each in HOLE_CLASSES for each in pair] == [True, False]:
        yield pair_reading(size_mm, *pair)


def _length_mm(words: str, units: Units) -> float | None:
    """Millimetres of a length; a bare fraction is inches; None if it is no length."""
    text = re.sub(r"^(ø|⌀|dia\.?)\s*", "", words.strip(), flags=re.IGNORECASE)
    other: Units = "inch"
    for each in (units, other):
        try:
            return float(read_length(text, each))
        except WordError:
            continue
    return None


def _may_be_material(text: str) -> bool:
    """Whether the words are more than a size: letters beside units, or an alloy's number."""
    if re.match(r"(?:letter|no|number)\b", text):
        return False
    return bool(re.search(r"[a-z]{2,}(?<!mm)(?<!in)|[a-z]\d|\d{3}", text))


def _whole_material(text: str) -> Iterator[Reading]:
    material = material_named(text)
    if material is not None and text in (material.name, *material.aliases):
        yield material_reading(material)


def _is_number_of_alloy(text: str) -> bool:
    return bool(re.fullmatch(r"\d*\.?\d+", text)) and float(text) > LARGEST_BARE


def _drills(text: str, units: Units) -> Iterator[Reading]:
    for drill in drills_meant(text, units):
        yield drill_reading(drill)


def drills_meant(text: str, units: Units) -> list[Drill]:
    """A drill by name or size; a bare number up to 1 may be inches, a bare fraction is."""
    if not _DRILL_WORDS.fullmatch(text) or _is_number_of_alloy(text):
        return []
    if re.fullmatch(r"[a-z]", text):
        text = f"letter {text}"
    bare = re.fullmatch(r"\d*\.?\d+", text)
    found: list[Drill] = []
    both: tuple[Units, Units] = ("mm", "inch") if units == "mm" else ("inch", "mm")
    for each in both:
        if bare and each == "inch" and float(text) > 1:
            continue
        try:
            drill = read_drill(text, each)
        except WordError:
            continue
        if drill.designation not in [other.designation for other in found]:
            found.append(drill)
    if bare and "." in text and float(text) < 1 and units == "mm":
        found.reverse()  # 0.201 is an inch figure sooner than a fifth of a millimetre
    return found


def _one_drill(text: str, units: Units) -> Drill | None:
    found = drills_meant(text, units)
    return found[0] if found else None


def _threads(text: str) -> Iterator[Reading]:
    size, is_left_hand = hand_of(text)
    if _is_number_of_alloy(size):
        return
    for thread in threads_meant(size):
        yield thread_reading(thread.left_handed() if is_left_hand else thread)


# --- by the first word ----------------------------------------------------------------------------


def _clearance(rest: str, units: Units) -> list[Reading]:
    holes = clearances_meant(rest)
    if len(holes) == 1 and len(threads_meant(hand_of(rest)[0])) > 1:  # a size alone: "#10"
        return [clearance_reading(holes[0], size_word(holes[0].thread))]
    return [clearance_reading(each, each.thread.name) for each in holes]


def _thread(rest: str, units: Units) -> list[Reading]:
    return list(_threads(rest)) or [thread_reading(read_thread(rest))]


def _material(rest: str, units: Units) -> list[Reading]:
    return [material_reading(read_material(rest))]


def _tap(rest: str, units: Units) -> list[Reading]:
    return _cut("tap")(rest, units) or _thread(rest, units)


def _purpose(verb: str) -> Callable[[str, Units], list[Reading]]:
    return lambda rest, units: thing_readings(f"{verb} {rest}", units) or _refused(verb, rest)


def _refused(verb: str, rest: str) -> list[Reading]:
    raise WordError(f"{shown(rest)} is not a size", f'write "{verb} 6 mm" or "{verb} 1/4 in"')


def _cut(operation: str) -> Callable[[str, Units], list[Reading]]:
    def readings(rest: str, units: Units) -> list[Reading]:
        from millprep.lookup.cuts import cut_readings  # brings the sums of the trade

        return cut_readings(rest, operation, lambda size: _one_drill(size, units), units)

    return readings


def _tool(operation: str) -> Callable[[str, Units], list[Reading]]:
    """A cut, or the tool's size alone."""

    def readings(rest: str, units: Units) -> list[Reading]:
        found = _cut(operation)(rest, units) or list(_drills(rest, units))
        return found or [drill_reading(read_drill(rest, units))]

    return readings


def _recess(operation: str, kind: str) -> Callable[[str, Units], list[Reading]]:
    """A cut, or what is cut for a screw's head: "counterbore M5"."""

    def readings(rest: str, units: Units) -> list[Reading]:
        if found := _cut(operation)(rest, units):
            return found
        if screw_threads(rest) and not names_head(rest):
            return [head_reading(read_screw(f"{rest} {kind}"))]
        return (
            [head_reading(read_screw(rest))] if names_head(rest) else _tool(operation)(rest, units)
        )

    return readings


_VERBS: tuple[tuple[str, Callable[[str, Units], list[Reading]]], ...] = (
    ("clearance", _clearance),
    ("clear", _clearance),
    ("thread", _thread),
    ("tap", _tap),
    ("spot drill", _tool("spot drill")),
    ("spot", _tool("spot drill")),
    ("drill", _tool("drill")),
    ("carbide drill", lambda rest, units: _tool("drill")(f"carbide {rest}", units)),
    ("ream", _tool("ream")),
    ("countersink", _recess("countersink", "countersunk")),
    ("counterbore", _recess("counterbore", "socket head")),
    ("spotface", _tool("spotface")),
    ("material", _material),
    *((purpose, _purpose(purpose)) for purpose in PURPOSES),
)
