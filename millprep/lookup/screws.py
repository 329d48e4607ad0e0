"""Threads and what goes with them: tapping drills, clearance holes, heads, nuts, washers."""

from __future__ import annotations

import re

from millprep.base.findings import WordError
from millprep.base.records import replace
from millprep.base.units import shown
from millprep.lookup.bag import Bag
from millprep.lookup.readings import Reading, figures, notes, percents, reading, rounded
from millprep.lookup.tapping import percent_reading
from millprep.reference.clearance import GRADES, Clearance, clearance_for
from millprep.reference.drills import SAME_SIZE_MM
from millprep.reference.heads import Head, HeadKind, head_for, nut_for, washer_for
from millprep.reference.lengths import screw_lengths_mm, wanted_engagement_mm
from millprep.reference.limits import MinorLimits, minor_limits
from millprep.reference.tables import load_table
from millprep.reference.threads import Thread, threads
from millprep.sizes import either, screw_threads, size_word, threads_meant

_FINE, _COARSE = ("UNF", "BSF", "metric fine"), ("UNC", "BSW")
_ASKED = {
    "tap": "tapping drill",
    "effective": "pitch diameter",
    "pitch": "pitch",
    "core": "core, full thread",
    "major": "major diameter",
    "clearance": "clearance",
}
_HEAD = """
head_diameter_mm head_height_mm across_flats_mm counterbore_diameter_mm counterbore_depth_mm
angle_deg key_mm
"""


def threads_of(bag: Bag, with_pitches: bool = False) -> list[Thread]:
    """Every thread that the question can mean, likeliest first; a size in inches means no other.

    with_pitches : a metric size means each of its pitches, since the head does not care
    """
    if bag.has("thread"):
        found = bag.value("thread")[0]
        if bag.has("fine"):
            found = _fine(found)
    else:
        size, form = bag.all("size")[0].words.casefold(), bag.value("form", "")
        size = re.sub(r"^number ?", "#", re.sub(r"^([\d.]+) ?mm$", r"m\1", size))
        found = threads_meant(f"{size} {form}".strip()) or threads_meant(size)
        if form and not threads_meant(f"{size} {form}"):
            return []
        if not found and with_pitches:
            found = screw_threads(size)
        if "in" in size or '"' in size:
            found = tuple(each for each in found if not each.series.startswith("metric"))
            inches = bag.mm("size") / 25.4
            found = tuple(
                each
                for each in found
                if each.series == "G" or abs(each.major_mm / 25.4 - inches) < 1e-6
            )
        if bag.has("fine"):
            found = _fine(found)
        elif bag.has("coarse") and any(each.series in _COARSE for each in found):
            found = tuple(each for each in found if each.series in _COARSE)
    if bag.has("tpi"):
        per_inch = bag.value("tpi")
        found = tuple(each for each in found if round(each.threads_per_inch, 3) == per_inch)
    if bag.has("left"):
        found = tuple(each.left_handed() for each in found)
    return list(found)


def _fine(found: tuple[Thread, ...]) -> tuple[Thread, ...]:
    """Those of them that are fine, else those of that size, the coarsest first as the usual one."""
    sizes = {each.major_mm for each in found}
    alike = [each for each in threads() if each.series in _FINE and each.major_mm in sizes]
    return tuple(each for each in found if each.series in _FINE) or tuple(reversed(alike))


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
        **(_holes(clearance) if clearance else no_holes),
    )


def _limits(thread: Thread, limits: MinorLimits) -> Reading:
    return {
        "class": limits.class_name,
        "least_mm": round(limits.least_mm, 4),
        "greatest_mm": round(limits.greatest_mm, 4),
        "tap_drill_inside": limits.holds(thread.tap_drill_mm),
    }


def _holes(clearance: Clearance) -> Reading:
    return {
        "clearance_mm": {grade: rounded(clearance.hole(grade)[1]) for grade in GRADES},
        "clearance_drills": {grade: clearance.hole(grade)[0] for grade in GRADES},
    }


def _length_made(thread: Thread, length_mm: float | None) -> Reading:
    """The length of a screw that was named, and whether such a one is made."""
    if length_mm is None:
        return {}
    is_made = any(abs(each - length_mm) < SAME_SIZE_MM for each in screw_lengths_mm(thread))
    return {"length_mm": length_mm, "is_made": is_made}


def thread_asked(bag: Bag) -> list[Reading]:
    """A thread, or each that a size and its words can mean."""
    asked = next((row for kind, row in _ASKED.items() if bag.has(kind)), None)
    found = []
    long_mm = bag.value("thread", (None, None))[1]
    for thread in threads_of(bag):
        made = _length_made(thread, long_mm)
        found.append(thread_reading(thread) | made | {"asked": asked or "tapping drill"})
        if bag.drawer is not None:
            percent = round(thread.percent_thread(thread.tap_drill_mm), 1)
            found.append(percent_reading(thread, percent, "1.2269", bag.drawer))
    said = " ".join(thing.words.casefold() for thing in bag.all("thread", "form"))
    if "bsp" in said and "bspp" not in said:
        from millprep.lookup.bought import taper_readings  # neither seals in the other

        found += taper_readings(threads_of(bag))
    return found


def percent_asked(bag: Bag) -> list[Reading]:
    """The drills for a percentage of thread."""
    percent, convention = bag.value("percent")
    return [percent_reading(each, percent, convention, bag.drawer) for each in threads_of(bag)]


def engagement_asked(bag: Bag) -> list[Reading]:
    """Thread that holds as much as the screw: diameters by material, three pitches at least."""
    material, source = bag.value("material").name, load_table("engagement").source
    wanted_mm = {each: wanted_engagement_mm(each, material) for each in threads_of(bag)}
    return [
        reading(
            "engagement",
            source,
            designation=thread.designation,
            material=material,
            engagement_mm=rounded(mm),
            diameters=rounded(mm / thread.major_mm),
            threads=round(mm / thread.pitch_mm, 1),
        )
        for thread, mm in wanted_mm.items()
    ]


def clearance_asked(bag: Bag) -> list[Reading]:
    """The clearance holes, one reading for those that agree."""
    grades = ("close", "normal", "loose")
    grade = next((each for each in grades if bag.has(each)), None)
    grade = grade or ("close" if bag.has("fine") else "loose" if bag.has("coarse") else "normal")
    pitchless = [each for each in bag.things if not each.kinds & {"fine", "coarse"}]
    meant = threads_of(Bag(tuple(pitchless), bag.units), with_pitches=True)
    holes = [hole for each in meant if (hole := clearance_for(each)) is not None]
    if meant and not holes:
        raise WordError(
            f"no table has a clearance hole for {meant[0].designation}", "ask for the drill's size"
        )
    asked = {"asked": f"clearance, {grade}"}
    return [
        reading("clearance", each.source, designation=_name(each, meant), **_holes(each)) | asked
        for each in _different(holes)
    ]


def _different(holes: list[Clearance]) -> list[Clearance]:
    by_size = {(hole.close_mm, hole.normal_mm, hole.loose_mm): hole for hole in reversed(holes)}
    return [hole for hole in holes if hole in by_size.values()]


def _name(hole: Clearance, meant: list[Thread]) -> str:
    """A size alone, "#10", where every thread of it that has a hole has this one."""
    holes = [clearance_for(each) for each in meant]
    sizes = {(each.close_mm, each.normal_mm) for each in holes if each is not None}
    is_one = len(sizes) == 1 and len(meant) > 1
    return size_word(hole.thread) if is_one else hole.thread.name


def head_asked(bag: Bag) -> list[Reading]:
    """A screw's head: the one that was named, else the one that such a hole is made for."""
    kind: HeadKind = "socket head"
    if bag.has("head"):
        kind = bag.all("head")[0].value
    elif bag.has("countersink"):
        kind = "countersunk"
    meant = threads_of(bag, with_pitches=True)
    heads = [head for each in meant if (head := head_for(each, kind)) is not None]
    if not heads:
        if not meant or (bag.has("counterbore", "countersink") and not bag.has("head", "thread")):
            return []
        raise WordError(
            f"no table has a {kind} on {meant[0].name}",
            f"nearest: {either([f'{size} {kind}' for size in _sizes_with(kind)])}",
        )
    length = bag.value("thread", (None, None))[1]
    asked = {"counterbore": "counterbore", "countersink": "countersink"}
    row = next((row for each, row in asked.items() if bag.has(each)), "head diameter")
    if kind == "hexagon head" and row == "head diameter":
        row = "across flats"
    if bag.has("thick", "key"):
        row = "head height" if bag.has("thick") else "key"
    return [_head_reading(head, length) | {"asked": row} for head in _unlike(heads, meant)]


def _head_reading(head: Head, length_mm: float | None) -> Reading:
    """length_mm : of the screw where one was named"""
    sizes = figures(head, *_HEAD.split())
    if length_mm is not None:
        thread = threads_meant(head.screw.removesuffix(head.kind).strip().casefold(), True)[0]
        sizes |= _length_made(thread, length_mm)
    return reading("screw head", head.source, designation=head.screw, head=head.kind, **sizes)


def _sizes_with(kind: HeadKind) -> list[str]:
    return [each for each in ("M4", "M5", "M6") if head_for(threads_meant(each.lower())[0], kind)]


def _unlike(heads: list[Head], meant: list[Thread]) -> list[Head]:
    """Heads that differ; one that serves both pitches is named by its size alone."""
    by_size = {(head.head_diameter_mm, head.angle_deg): head for head in reversed(heads)}
    if len(by_size) == 1 and len(heads) > 1:
        return [replace(heads[0], screw=f"{_bare(meant[0])} {heads[0].kind}")]
    return list(reversed(by_size.values()))


def _bare(thread: Thread) -> str:
    word = size_word(thread)
    return f"M{word}" if thread.series.startswith("metric") else word


def bought_asked(bag: Bag) -> list[Reading]:
    """Nuts and washers; a spanner is asked for by the nut that it turns."""
    meant = threads_of(bag, with_pitches=True)
    readings = [
        reading
        for each in meant
        if (reading := _bought(each, is_washer=bag.has("washer"))) is not None
    ]
    unique = {str({**each, "designation": ""}): each for each in reversed(readings)}
    if not unique:
        what = "washer" if bag.has("washer") else "nut"
        size = bag.all("thread", "size")[0].words
        raise WordError(f"no table has a {what} for {shown(size)}", f'nearest: "M5 {what}"')
    rows = {"thick": "thickness", "major": "outside"} if bag.has("washer") else {"thick": "height"}
    asked = [{"asked": row} for kind, row in rows.items() if bag.has(kind)]
    return [reading | (asked or [{}])[0] for reading in reversed(unique.values())]


def _bought(thread: Thread, is_washer: bool) -> Reading | None:
    named = {"designation": f"{thread.name} {'washer' if is_washer else 'nut'}"}
    if is_washer and (washer := washer_for(thread)):
        sizes = figures(washer, "hole_mm", "outside_mm", "thickness_mm")
        return reading("washer", washer.source, **named, **sizes)
    if is_washer or (nut := nut_for(thread)) is None:
        return None
    sizes = figures(nut, "across_flats_mm", "across_corners_mm", "height_mm")
    sizes["across_corners_mm"] = round(nut.across_corners_mm, 3)
    return reading("nut", nut.source, **named, **sizes)
