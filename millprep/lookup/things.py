"""Drills, pins, centre drills, fits and materials, and what an operation leaves."""

from __future__ import annotations

from typing import Literal

from millprep.base.findings import WordError
from millprep.base.units import Units, shown
from millprep.lookup.bag import Bag, Thing, length_mm
from millprep.lookup.readings import Reading, figures, reading, rounded
from millprep.lookup.tapping import nearest_of
from millprep.reference.drills import (
    DRILL_SERIES,
    Drill,
    drill_length_mm,
    drill_named,
    drilled_limits_mm,
    nearest_drills,
    oversize_mm,
)
from millprep.reference.fits import (
    HOLE_CLASSES,
    hole_limits_um,
    recommended_fits,
    shaft_limits_um,
    sources,
)
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
_MATERIAL = """
group drill_m_per_min carbide_m_per_min ream_m_per_min tap_m_per_min countersink_m_per_min
feed_factor first_peck_diameters long_chips work_hardens lubricant advice
"""


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


def _size(drill: Drill | None) -> Reading | None:
    return None if drill is None else figures(drill, "designation", "diameter_mm")


def drill_reading(drill: Drill) -> Reading:
    """A drill, or a size that no series has: nearest of every series, lengths, what it drills."""
    near, size_mm = nearest_drills(drill.diameter_mm), drill.diameter_mm
    return reading(
        "drill",
        drill.source,
        **figures(drill, "designation", "diameter_mm", "diameter_in", "series"),
        nearest={
            series: {"below": _size(near[series][0]), "above": _size(near[series][1])}
            for series in DRILL_SERIES
        },
        jobber_mm=_lengths("jobber", size_mm),
        stub_mm=_lengths("stub", size_mm),
        hole_mm=_drilled(size_mm),
    )


def _lengths(make: Literal["jobber", "stub"], size_mm: float) -> Reading | None:
    flute_mm = drill_length_mm(make, "flute", size_mm)
    if flute_mm is None:
        return None
    return {"flute": flute_mm, "overall": drill_length_mm(make, "overall", size_mm)}


def _drilled(diameter_mm: float) -> Reading | None:
    """What a hole drilled with it may measure, and the mean to expect."""
    limits_mm = drilled_limits_mm(diameter_mm)
    if limits_mm is None:
        return None
    return {
        "least": rounded(limits_mm[0]),
        "expected": round(diameter_mm + oversize_mm(diameter_mm), 3),
        "greatest": rounded(limits_mm[1]),
    }


def drill_asked(bag: Bag) -> list[Reading]:
    """A drill or a size, then the threads of that size where no drill was named."""
    from millprep.lookup.screws import thread_reading, threads_of

    drills = drills_of(bag)
    readings = [drill_reading(drill) for drill in drills]
    for each in readings if bag.drawer is not None else []:
        each["nearest"]["drawer"] = nearest_of(bag.drawer or (), each["diameter_mm"])
    is_drill = bag.has("drill", "nearest", "to", "letter")
    if not is_drill and not bag.all("size")[0].words.casefold().endswith("mm"):
        readings += [thread_reading(each) for each in threads_of(bag)]
    return readings


# --- fits -----------------------------------------------------------------------------------------


def purpose_asked(bag: Bag) -> list[Reading]:
    """The fits for a purpose."""
    purpose = next(each for each in ("press", "slide", "pivot", "locate") if bag.has(each))
    hole_basis_first = sorted(recommended_fits(purpose), key=lambda fit: fit.hole[0] != "H")
    size_mm = bag.mm()
    fits = [
        {**_together(size_mm, fit.hole, fit.shaft), "what": fit.what} for fit in hole_basis_first
    ]
    by, size = (hole_basis_first[0].source, *sources("g6")), rounded(size_mm)
    return [reading("purpose", *by, designation=purpose, size_mm=size, fits=fits)]


def fit_asked(bag: Bag) -> list[Reading]:
    """The limits of each class; a hole with a shaft is followed by what they do together."""
    size_mm = bag.mm()
    classes = [each for thing in bag.all("class") for each in thing.value]
    readings = [_fit_reading(size_mm, each) for each in classes]
    pair = sorted(classes, key=str.islower)
    if [each in HOLE_CLASSES for each in pair] == [True, False]:
        by, together = (*sources(pair[0]), *sources(pair[1])), _together(size_mm, *pair)
        readings.append(reading("pair", *by, note="", size_mm=rounded(size_mm), **together))
    return readings


def _fit_reading(size_mm: float, fit_class: str) -> Reading:
    """Limits of a hole (capital class) or a shaft of that size."""
    limits_um = hole_limits_um if fit_class in HOLE_CLASSES else shaft_limits_um
    lower_um, upper_um = limits_um(size_mm, fit_class)
    return reading(
        "fit",
        *sources(fit_class),
        note="",
        of="hole" if fit_class in HOLE_CLASSES else "shaft",
        size_mm=rounded(size_mm),
        **{"class": fit_class},
        lower_um=lower_um,
        upper_um=upper_um,
        smallest_mm=rounded(size_mm + lower_um / 1000),
        largest_mm=rounded(size_mm + upper_um / 1000),
    )


def _together(size_mm: float, hole: str, shaft: str) -> Reading:
    (hole_low, hole_high) = hole_limits_um(size_mm, hole)
    (shaft_low, shaft_high) = shaft_limits_um(size_mm, shaft)
    least_um, most_um = hole_low - shaft_high + 0.0, hole_high - shaft_low + 0.0
    character = "clearance" if least_um >= 0 else "interference" if most_um <= 0 else "transition"
    return {
        "hole": hole,
        "shaft": shaft,
        "character": character,
        "least_clearance_um": least_um,
        "most_clearance_um": most_um,
    }


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
    return [
        reading(
            "hole",
            table.source,
            designation=done,
            grade=row["grade"],
            roughness_um=row["finish_um"],
            comes_out=row["comes_out"],
            depth_mm=row["depth_mm"],
        )
        for row in table.rows
        if row["operation"] == done
    ]


def not_listed(bag: Bag) -> list[Reading]:
    """WordError for a thing of the bench that no table has."""
    words = bag.all("no table")[0].words
    raise WordError(
        f"no table has what {shown(words)} names", "ask for its thread, or a drill of its size"
    )


def material_asked(bag: Bag) -> list[Reading]:
    """A material, the row first that was asked for."""
    asked = next((row for kind, row in _MATERIAL_ROWS.items() if bag.has(kind)), "drill")
    material = bag.value("material")
    known = {"designation": material.name, **figures(material, *_MATERIAL.split())}
    known |= {"aliases": list(material.aliases), "asked": asked}
    return [reading("material", material.source, **known)]
