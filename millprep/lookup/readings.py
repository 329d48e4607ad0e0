"""The readings: each an entry of the tables as a dict of plain figures, the same that JSON prints.

Lengths in mm, `kind` says what it is, `source` where the figures come from. Imports layers 0 to 2.
"""

from __future__ import annotations

from typing import Any, Literal

from millprep.reference.clearance import GRADES, Clearance, clearance_for
from millprep.reference.drills import (
    DRILL_SERIES,
    SAME_SIZE_MM,
    Drill,
    drill_length_mm,
    drilled_limits_mm,
    nearest_drills,
    oversize_mm,
)
from millprep.reference.fits import (
    HOLE_CLASSES,
    RecommendedFit,
    hole_limits_um,
    shaft_limits_um,
    sources,
)
from millprep.reference.heads import Head, Nut, Washer
from millprep.reference.lengths import screw_lengths_mm, wanted_engagement_mm
from millprep.reference.limits import MinorLimits, minor_limits
from millprep.reference.materials import Material
from millprep.reference.tables import Row, Source, load_table
from millprep.reference.threads import CONVENTIONS, Thread
from millprep.sizes import threads_meant

Reading = dict[str, Any]
SPEED_FORMULA = "rev/min = 1000 x m/min / (pi x diameter in mm)"


def cite(*sources: Source | None) -> str:
    """The sources in one line, each once, with the table in each."""
    named = [f"{each.cite} ({each.table})" if each.table else each.cite for each in sources if each]
    return "; ".join(dict.fromkeys(named))


def cite_shortly(*sources: Source | None) -> str:
    """ "ISO 261, ISO 273 (from memory)": the documents by what is known of them."""
    by_how: dict[str, dict[str, None]] = {}
    for each in sources:
        if each is not None:
            by_how.setdefault(_HOW.get(each.how, each.how), {})[each.title] = None
    return "; ".join(f"{', '.join(titles)} ({how})" for how, titles in by_how.items())


_HOW = {"recalled": "from memory", "formula": "by formula"}


def rounded(value: float | None) -> float | None:
    """A figure without the float noise of its conversion."""
    return None if value is None else round(value, 6)


def figures(entry: object, *names: str) -> Reading:
    """Fields of an entry of a table by their names, lengths without float noise."""
    values = {name: getattr(entry, name) for name in names}
    return {n: round(each, 6) if isinstance(each, float) else each for n, each in values.items()}


def notes(*texts: str) -> str:
    """What must be said beside the figures, in one line."""
    return "; ".join(text for text in texts if text)


def reading(kind: str, *sources: Source | None, note: str | None = None, **given: Any) -> Reading:
    """One reading: what it is, its figures, what must be said beside them, their sources.

    note : that of the first source where it is None
    """
    if note is None:
        note = sources[0].note if sources and sources[0] is not None else ""
    cited = {"source": cite(*sources), "source_short": cite_shortly(*sources)}
    return {"kind": kind, **given, "note": note, **cited}


# --- threads --------------------------------------------------------------------------------------


def thread_reading(thread: Thread) -> Reading:
    """A thread with its drill, what that leaves by each convention, limits, clearance holes."""
    clearance, limits = clearance_for(thread), minor_limits(thread)
    no_holes = {"clearance_mm": None, "clearance_drills": None}
    return reading(
        "thread",
        thread.source,
        limits.source if limits else None,
        clearance.source if clearance else None,
        note=notes(thread.note, thread.source.note),
        **figures(thread, "designation", "standard", "series", "major_mm", "pitch_mm"),
        threads_per_inch=round(thread.threads_per_inch, 3),
        angle_deg=thread.angle_deg,
        form=thread.form.words,
        left_hand=thread.is_left_hand,
        pitch_diameter_mm=round(thread.pitch_diameter_mm, 3),
        core_mm=round(thread.basic_minor_mm, 3),
        **figures(thread, "tap_drill", "tap_drill_mm"),
        percent_thread=percents(thread, thread.tap_drill_mm),
        minor_limits=_limits(thread, limits) if limits else None,
        **(_clearance_holes(clearance) if clearance else no_holes),
    )


def percents(thread: Thread, drill_mm: float) -> dict[str, float]:
    """Percent of a full thread by each convention."""
    return {name: round(thread.percent_thread(drill_mm, name), 1) for name in CONVENTIONS}


def _limits(thread: Thread, limits: MinorLimits) -> Reading:
    return {
        "class": limits.class_name,
        "least_mm": round(limits.least_mm, 4),
        "greatest_mm": round(limits.greatest_mm, 4),
        "tap_drill_inside": limits.holds(thread.tap_drill_mm),
    }


def _clearance_holes(clearance: Clearance) -> Reading:
    return {
        "clearance_mm": {grade: rounded(clearance.hole(grade)[1]) for grade in GRADES},
        "clearance_drills": {grade: clearance.hole(grade)[0] for grade in GRADES},
    }


def clearance_reading(clearance: Clearance, designation: str) -> Reading:
    """The three clearance holes of a screw."""
    holes = _clearance_holes(clearance)
    return reading("clearance", clearance.source, designation=designation, **holes)


# --- drills and holes -----------------------------------------------------------------------------


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


def hole_reading(row: Row, source: Source) -> Reading:
    """What an operation leaves: grade, roughness, size, depth."""
    return reading(
        "hole",
        source,
        designation=row["operation"],
        grade=row["grade"],
        roughness_um=row["finish_um"],
        comes_out=row["comes_out"],
        depth_mm=row["depth_mm"],
    )


# --- fits -----------------------------------------------------------------------------------------


def fit_reading(size_mm: float, fit_class: str) -> Reading:
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


def pair_reading(size_mm: float, hole: str, shaft: str) -> Reading:
    """A hole and a shaft together: least and most clearance, negative where they interfere."""
    both, together = (*sources(hole), *sources(shaft)), _together(size_mm, hole, shaft)
    return reading("pair", *both, note="", size_mm=rounded(size_mm), **together)


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


def purpose_reading(size_mm: float, fits: tuple[RecommendedFit, ...]) -> Reading:
    """The fits for a purpose at a size, hole basis and shaft basis, with what each does."""
    return reading(
        "purpose",
        fits[0].source,
        *sources("g6"),
        designation=fits[0].purpose,
        size_mm=rounded(size_mm),
        fits=[{**_together(size_mm, fit.hole, fit.shaft), "what": fit.what} for fit in fits],
    )


_HEAD = """
head_diameter_mm head_height_mm across_flats_mm counterbore_diameter_mm counterbore_depth_mm
angle_deg key_mm
"""
_MATERIAL = """
group drill_m_per_min carbide_m_per_min ream_m_per_min tap_m_per_min countersink_m_per_min
feed_factor first_peck_diameters long_chips work_hardens lubricant advice
"""


# --- screws and materials -------------------------------------------------------------------------


def engagement_reading(thread: Thread, material: Material) -> Reading:
    """How much thread holds as much as the screw: diameters by material, three pitches at least."""
    wanted_mm = wanted_engagement_mm(thread, material.name)
    return reading(
        "engagement",
        load_table("engagement").source,
        designation=thread.designation,
        material=material.name,
        engagement_mm=rounded(wanted_mm),
        diameters=rounded(wanted_mm / thread.major_mm),
        threads=round(wanted_mm / thread.pitch_mm, 1),
    )


def head_reading(head: Head, length_mm: float | None = None) -> Reading:
    """A screw's head and what is cut for it.

    length_mm : of the screw where one was named; is_made says whether the table of lengths has it
    """
    sizes = figures(head, *_HEAD.split())
    if length_mm is not None:
        thread = threads_meant(head.screw.removesuffix(head.kind).strip().casefold(), True)[0]
        sizes |= length_made(thread, length_mm)
    return reading("screw head", head.source, designation=head.screw, head=head.kind, **sizes)


def length_made(thread: Thread, length_mm: float | None) -> Reading:
    """The length of a screw that was named, and whether such a one is made."""
    if length_mm is None:
        return {}
    is_made = any(abs(each - length_mm) < SAME_SIZE_MM for each in screw_lengths_mm(thread))
    return {"length_mm": length_mm, "is_made": is_made}


def nut_reading(nut: Nut) -> Reading:
    """A hexagon nut."""
    return reading(
        "nut",
        nut.source,
        designation=f"{nut.thread.name} nut",
        **figures(nut, "across_flats_mm"),
        across_corners_mm=round(nut.across_corners_mm, 3),
        **figures(nut, "height_mm"),
    )


def washer_reading(washer: Washer) -> Reading:
    """A plain washer."""
    sizes = figures(washer, "hole_mm", "outside_mm", "thickness_mm")
    return reading("washer", washer.source, designation=f"{washer.thread.name} washer", **sizes)


def material_reading(material: Material) -> Reading:
    """Speeds, pecks and advice for a material."""
    known = figures(material, *_MATERIAL.split())
    names = {"designation": material.name, **known, "aliases": list(material.aliases)}
    return reading("material", material.source, **names)
