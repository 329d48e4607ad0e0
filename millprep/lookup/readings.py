"""The readings: each an entry of the tables as a dict of plain figures, the same that JSON prints.

Lengths in mm, `kind` says what it is, `source` where the figures come from. Imports layers 0 to 2.
"""

from __future__ import annotations

from typing import Any

from millprep.reference.centre_drills import CentreDrill
from millprep.reference.clearance import GRADES, Clearance, clearance_for
from millprep.reference.drills import (
    DRILL_SERIES,
    Drill,
    drilled_limits_mm,
    jobber_flute_mm,
    jobber_length_mm,
    nearest_drills,
    oversize_mm,
    stub_flute_mm,
    stub_length_mm,
)
from millprep.reference.fits import (
    HOLE_CLASSES,
    DowelPin,
    RecommendedFit,
    hole_limits_um,
    shaft_limits_um,
    sources,
)
from millprep.reference.heads import Head, Nut, Washer
from millprep.reference.limits import minor_limits
from millprep.reference.materials import Material
from millprep.reference.tables import Row, Source
from millprep.reference.threads import CONVENTIONS, Thread

Reading = dict[str, Any]


def cite(*sources: Source | None) -> str:
    """The sources in one line, each once, with the table in each."""
    named = [f"{each.cite} ({each.table})" if each.table else each.cite for each in sources if each]
    return "; ".join(dict.fromkeys(named))


def rounded(value: float | None) -> float | None:
    """A figure without the float noise of its conversion."""
    return None if value is None else round(value, 6)


def notes(*texts: str) -> str:
    """What must be said beside the figures, in one line."""
    return "; ".join(text for text in texts if text)


# --- threads --------------------------------------------------------------------------------------


def thread_reading(thread: Thread) -> Reading:
    """A thread with its drill, what that leaves by each convention, limits, clearance holes."""
    clearance, limits = clearance_for(thread), minor_limits(thread)
    return {
        "kind": "thread",
        "designation": thread.designation,
        "standard": thread.standard,
        "series": thread.series,
        "major_mm": rounded(thread.major_mm),
        "pitch_mm": rounded(thread.pitch_mm),
        "threads_per_inch": round(thread.threads_per_inch, 3),
        "angle_deg": thread.angle_deg,
        "form": thread.form.words,
        "left_hand": thread.is_left_hand,
        "pitch_diameter_mm": round(thread.pitch_diameter_mm, 3),
        "core_mm": round(thread.basic_minor_mm, 3),
        "tap_drill": thread.tap_drill,
        "tap_drill_mm": rounded(thread.tap_drill_mm),
        "percent_thread": percents(thread, thread.tap_drill_mm),
        "minor_limits": _limits(thread),
        "clearance_mm": _holes_mm(clearance) if clearance else None,
        "clearance_drills": _hole_drills(clearance) if clearance else None,
        "note": notes(thread.note, thread.source.note),
        "source": cite(
            thread.source,
            limits.source if limits else None,
            clearance.source if clearance else None,
        ),
    }


def percents(thread: Thread, drill_mm: float) -> dict[str, float]:
    """Percent of a full thread by each convention."""
    return {name: round(thread.percent_thread(drill_mm, name), 1) for name in CONVENTIONS}


def _limits(thread: Thread) -> Reading | None:
    limits = minor_limits(thread)
    if limits is None:
        return None
    return {
        "class": limits.class_name,
        "least_mm": round(limits.least_mm, 4),
        "greatest_mm": round(limits.greatest_mm, 4),
        "tap_drill_inside": limits.holds(thread.tap_drill_mm),
    }


def _holes_mm(clearance: Clearance) -> dict[str, float]:
    return {grade: round(clearance.hole(grade)[1], 6) for grade in GRADES}


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
        "source": cite(clearance.source),
    }


# --- drills and holes -----------------------------------------------------------------------------


def _size(drill: Drill | None) -> Reading | None:
    if drill is None:
        return None
    return {"designation": drill.designation, "diameter_mm": rounded(drill.diameter_mm)}


def drill_reading(drill: Drill) -> Reading:
    """A drill, or a size that no series has: nearest of every series, lengths, what it drills."""
    near = nearest_drills(drill.diameter_mm)
    return {
        "kind": "drill",
        "designation": drill.designation,
        "diameter_mm": rounded(drill.diameter_mm),
        "diameter_in": rounded(drill.diameter_in),
        "series": drill.series,
        "nearest": {
            series: {"below": _size(near[series][0]), "above": _size(near[series][1])}
            for series in DRILL_SERIES
        },
        "jobber_mm": _lengths(
            jobber_flute_mm(drill.diameter_mm), jobber_length_mm(drill.diameter_mm)
        ),
        "stub_mm": _lengths(stub_flute_mm(drill.diameter_mm), stub_length_mm(drill.diameter_mm)),
        "hole_mm": _drilled(drill.diameter_mm),
        "note": drill.source.note,
        "source": cite(drill.source),
    }


def _lengths(flute_mm: float | None, overall_mm: float | None) -> Reading | None:
    return None if flute_mm is None else {"flute": flute_mm, "overall": overall_mm}


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


def centre_drill_reading(drill: CentreDrill) -> Reading:
    """A centre drill by pip and body."""
    return {
        "kind": "centre drill",
        "designation": drill.designation,
        "pip_mm": rounded(drill.pip_mm),
        "body_mm": rounded(drill.body_mm),
        "overall_mm": rounded(drill.overall_mm),
        "angle_deg": 60.0,
        "note": drill.source.note,
        "source": cite(drill.source),
    }


def hole_reading(row: Row, source: Source) -> Reading:
    """What an operation leaves: grade, roughness, size, depth."""
    return {
        "kind": "hole",
        "designation": row["operation"],
        "grade": row["grade"],
        "roughness_um": row["finish_um"],
        "comes_out": row["comes_out"],
        "depth_mm": row["depth_mm"],
        "note": source.note,
        "source": cite(source),
    }


# --- fits -----------------------------------------------------------------------------------------


def fit_reading(size_mm: float, fit_class: str) -> Reading:
    """Limits of a hole (capital class) or a shaft of that size."""
    limits_um = hole_limits_um if fit_class in HOLE_CLASSES else shaft_limits_um
    lower_um, upper_um = limits_um(size_mm, fit_class)
    return {
        "kind": "fit",
        "of": "hole" if fit_class in HOLE_CLASSES else "shaft",
        "size_mm": rounded(size_mm),
        "class": fit_class,
        "lower_um": lower_um,
        "upper_um": upper_um,
        "smallest_mm": rounded(size_mm + lower_um / 1000),
        "largest_mm": rounded(size_mm + upper_um / 1000),
        "note": "",
        "source": cite(*sources(fit_class)),
    }


def pair_reading(size_mm: float, hole: str, shaft: str) -> Reading:
    """A hole and a shaft together: least and most clearance, negative where they interfere."""
    return {
        "kind": "pair",
        "size_mm": rounded(size_mm),
        **_together(size_mm, hole, shaft),
        "note": "",
        "source": cite(*sources(hole), *sources(shaft)),
    }


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
    source = fits[0].source
    return {
        "kind": "purpose",
        "designation": fits[0].purpose,
        "size_mm": rounded(size_mm),
        "fits": [{**_together(size_mm, fit.hole, fit.shaft), "what": fit.what} for fit in fits],
        "note": source.note,
        "source": cite(source, *sources("g6")),
    }


def dowel_reading(pin: DowelPin) -> Reading:
    """A parallel pin with its limits in both makes."""
    return {
        "kind": "dowel pin",
        "designation": f"{pin.diameter_mm:g} mm dowel pin",
        "diameter_mm": pin.diameter_mm,
        "m6_um": list(shaft_limits_um(pin.diameter_mm, "m6")),
        "h8_um": list(shaft_limits_um(pin.diameter_mm, "h8")),
        "chamfer_mm": pin.chamfer_mm,
        "shortest_mm": pin.shortest_mm,
        "longest_mm": pin.longest_mm,
        "note": "",
        "source": cite(pin.source, *sources("m6")),
    }


# --- screws and materials -------------------------------------------------------------------------


def head_reading(head: Head) -> Reading:
    """A screw's head and what is cut for it."""
    return {
        "kind": "screw head",
        "designation": head.screw,
        "head": head.kind,
        "head_diameter_mm": rounded(head.head_diameter_mm),
        "head_height_mm": rounded(head.head_height_mm),
        "across_flats_mm": rounded(head.across_flats_mm),
        "counterbore_diameter_mm": rounded(head.counterbore_diameter_mm),
        "counterbore_depth_mm": rounded(head.counterbore_depth_mm),
        "angle_deg": head.angle_deg,
        "note": head.source.note,
        "source": cite(head.source),
    }


def nut_reading(nut: Nut) -> Reading:
    """A hexagon nut."""
    return {
        "kind": "nut",
        "designation": f"{nut.thread.name} nut",
        "across_flats_mm": rounded(nut.across_flats_mm),
        "across_corners_mm": round(nut.across_corners_mm, 3),
        "height_mm": rounded(nut.height_mm),
        "note": nut.source.note,
        "source": cite(nut.source),
    }


def washer_reading(washer: Washer) -> Reading:
    """A plain washer."""
    return {
        "kind": "washer",
        "designation": f"{washer.thread.name} washer",
        "hole_mm": washer.hole_mm,
        "outside_mm": washer.outside_mm,
        "thickness_mm": washer.thickness_mm,
        "note": washer.source.note,
        "source": cite(washer.source),
    }


def material_reading(material: Material) -> Reading:
    """Speeds, pecks and advice for a material."""
    return {
        "kind": "material",
        "designation": material.name,
        "group": material.group,
        "drill_m_per_min": material.drill_m_per_min,
        "carbide_m_per_min": material.carbide_m_per_min,
        "ream_m_per_min": rounded(material.ream_m_per_min),
        "tap_m_per_min": material.tap_m_per_min,
        "countersink_m_per_min": rounded(material.countersink_m_per_min),
        "feed_factor": material.feed_factor,
        "first_peck_diameters": material.first_peck_diameters,
        "long_chips": material.long_chips,
        "work_hardens": material.work_hardens,
        "lubricant": material.lubricant,
        "advice": material.advice,
        "aliases": list(material.aliases),
        "note": material.source.note,
        "source": cite(material.source),
    }
