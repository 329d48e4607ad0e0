"""Drills, pins, centre drills, fits and materials, and what an operation leaves."""

from __future__ import annotations

from millprep.base.findings import WordError
from millprep.base.units import Units, shown
from millprep.lookup.bag import Bag, Thing, length_mm
from millprep.lookup.readings import (
    Reading,
    drill_reading,
    fit_reading,
    hole_reading,
    material_reading,
    pair_reading,
    purpose_reading,
    thread_reading,
)
from millprep.lookup.tapping import nearest_of
from millprep.reference.drills import Drill, drill_named
from millprep.reference.fits import HOLE_CLASSES, recommended_fits
from millprep.reference.tables import load_table
from millprep.sizes import read_drill

LARGEST_BARE = 50.0  # a bare whole number above this is a number drill sooner than a size in mm
_MATERIAL_ROWS = {
    "oil": "lubricant",
    "tap": "tap",
    "ream": "ream",
    "countersink": "countersink",
    "carbide": "carbide drill",
    "pecks": "first peck",
}


# --- drills ---------------------------------------------------------------------------------------


def drills_of(bag: Bag) -> list[Drill]:
    """Every drill that the first size can be, likeliest first."""
    thing = bag.all("size")[0]
    return drills_meant(thing, bag.units)


def drills_meant(thing: Thing, units: Units) -> list[Drill]:
    """A bare number up to 1 may be inches, a whole one a number drill; a bare fraction is inches.

    0.201 is an inch figure sooner than a fifth of a millimetre, 80 a number sooner than 80 mm.
    """
    if "numbered" in thing.kinds:
        return _or_refused(f"#{thing.value}", thing.words, 'number drills run from "#1" to "#80"')
    if "letter" in thing.kinds:
        return _or_refused(f"letter {thing.value.upper()}", thing.words, "")
    if "number" not in thing.kinds:
        unit: Units = "inch" if "fraction" in thing.kinds else units
        return [read_drill(_inches(thing.words), unit)]
    text = str(thing.value)
    in_mm, in_inches = _read(text, "mm"), _read(text, "inch") if float(text) <= 1 else []
    numbered = drill_named(f"#{text}") if "whole" in thing.kinds else None
    others = [numbered] if numbered else []
    if units == "inch":
        found = [*in_inches, *others, *in_mm]
    elif "." in text and float(text) < 1:
        found = [*in_inches, *in_mm]
    else:
        found = [*others, *in_mm] if float(text) > LARGEST_BARE else [*in_mm, *in_inches, *others]
    return list({drill.designation: drill for drill in found}.values())


def _or_refused(designation: str, words: str, remedy: str) -> list[Drill]:
    drill = drill_named(designation)
    if drill is None:
        raise WordError(f"{shown(words)} is not a drill size", remedy)
    return [drill]


def _inches(words: str) -> str:
    return f"{length_mm(words, 'inch') / 25.4:g} in" if words.endswith("thou") else words.casefold()


def _read(text: str, units: Units) -> list[Drill]:
    try:
        return [read_drill(text, units)]
    except WordError:
        return []


def drill_asked(bag: Bag) -> list[Reading]:
    """A drill or a size, then the threads of that size where no drill was named."""
    from millprep.lookup.screws import threads_of

    drills = drills_of(bag)
    readings = [drill_reading(drill) for drill in drills]
    for reading in readings if bag.drawer is not None else []:
        reading["nearest"]["drawer"] = nearest_of(bag.drawer or (), reading["diameter_mm"])
    is_drill = bag.has("drill", "nearest", "to", "letter")
    if not is_drill and not bag.all("size")[0].words.casefold().endswith("mm"):
        readings += [thread_reading(each) for each in threads_of(bag)]
    return readings


# --- fits -----------------------------------------------------------------------------------------


def purpose_asked(bag: Bag) -> list[Reading]:
    """The fits for a purpose."""
    purpose = next(each for each in ("press", "slide", "pivot", "locate") if bag.has(each))
    hole_basis_first = sorted(recommended_fits(purpose), key=lambda fit: fit.hole[0] != "H")
    return [purpose_reading(bag.mm(), tuple(hole_basis_first))]


def fit_asked(bag: Bag) -> list[Reading]:
    """The limits of each class; a hole with a shaft is followed by what they do together."""
    size_mm = bag.mm()
    classes = [each for thing in bag.all("class") for each in thing.value]
    readings = [fit_reading(size_mm, each) for each in classes]
    pair = sorted(classes, key=str.islower)
    if [each in HOLE_CLASSES for each in pair] == [True, False]:
        readings.append(pair_reading(size_mm, *pair))
    return readings


# --- materials and what an operation leaves -------------------------------------------------------


def made_asked(bag: Bag) -> list[Reading]:
    """What an operation leaves: "reamed hole"."""
    word = bag.all("made")[0].words.split()[0].casefold()
    done = {
        "drilled": "drill",
        "reamed": "ream",
        "tapped": "tap",
        "bored": "bore",
        "counterbored": "counterbore",
        "countersunk": "countersink",
    }[word]
    table = load_table("holes-expected")
    return [hole_reading(row, table.source) for row in table.rows if row["operation"] == done]


def not_listed(bag: Bag) -> list[Reading]:
    """WordError for a thing of the bench that no table has."""
    words = bag.all("no table")[0].words
    raise WordError(
        f"no table has what {shown(words)} names", "ask for its thread, or a drill of its size"
    )


def material_asked(bag: Bag) -> list[Reading]:
    """A material, the row first that was asked for."""
    asked = next((row for kind, row in _MATERIAL_ROWS.items() if bag.has(kind)), "drill")
    return [material_reading(bag.value("material")) | {"asked": asked}]
