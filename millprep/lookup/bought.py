"""Pins, centre drills, grub screws and taper pipe threads: rows of their tables as readings.

What a drill is chosen by follows from each row by the standard's rule. Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from millprep.base.findings import WordError
from millprep.base.units import read_length, shown
from millprep.lookup.bag import Bag, length_mm
from millprep.lookup.readings import Reading, figures, reading, rounded
from millprep.lookup.screws import threads_of
from millprep.reference.drills import SAME_SIZE_MM, hole_mm, nearest_drills
from millprep.reference.fits import hole_limits_um, shaft_limits_um, sources
from millprep.reference.tables import (
    Row,
    Source,
    Table,
    figure_mm,
    given_mm,
    inches_to_mm,
    load_table,
    major_mm,
    size_mm,
)
from millprep.reference.threads import FORMS, Thread
from millprep.sizes import either, nearest, size_word

SPRING_PIN_HOLE = "H12"  # ISO 8752
TAPER_METRIC, TAPER_INCH = 1 / 50, 1 / 48
"""On diameter. Source: ISO 2339; ASME B18.8.2 (1/4 in a foot)."""
_PIPE_TAPER = 1 / 16  # on diameter; source: ISO 7-1, ASME B1.20.1
_CENTRE_DRILLS = {
    "drills-centre-metric": "centre drill A{pip_mm}",
    "drills-centre-inch": "centre drill No. {number}",
    "drills-centre-british": "centre drill BS{number}",
}
"""ISO 866, ASME B94.11M and BS 328-2; a number alone is two different tools."""


def _figures(row: Row, *columns: str) -> Reading:
    """Lengths of a row [mm]; None where its table gives none."""
    return {f"{each}_mm": rounded(figure_mm(row, each)) for each in columns}


def _of_size(table: Table, wanted_mm: float) -> Row | None:
    """The row of a size, which is its diameter in mm or words in inches."""
    return next((row for row in table.rows if abs(_own_mm(row) - wanted_mm) < SAME_SIZE_MM), None)


def _own_mm(row: Row) -> float:
    return size_mm(row["size"]) if "size" in row else float(row["diameter_mm"])


def _not_listed(what: str, wanted_mm: float, ask: dict[float, str]) -> WordError:
    """The refusal, with the three listed sizes nearest; ask : the question for each size."""
    near = sorted(ask, key=lambda mm: abs(mm - wanted_mm))[:3]
    return WordError(
        f"no {what} is listed at {wanted_mm:g} mm", f"nearest: {either([ask[mm] for mm in near])}"
    )


# --- dowels and spring pins -----------------------------------------------------------------------


def dowel_asked(bag: Bag) -> list[Reading]:
    """A parallel pin of a listed size, metric (ISO 2338) or inch (ASME B18.8.2)."""
    wanted_mm = bag.mm()
    metric, inch = load_table("pins-dowel"), load_table("pins-dowel-inch")
    if row := _of_size(metric, wanted_mm):
        diameter_mm = _own_mm(row)
        return [
            reading(
                "dowel pin",
                metric.source,
                *sources("m6"),
                note="",
                designation=f"{diameter_mm:g} mm dowel pin",
                diameter_mm=diameter_mm,
                m6_um=list(shaft_limits_um(diameter_mm, "m6")),
                h8_um=list(shaft_limits_um(diameter_mm, "h8")),
                **_figures(row, "chamfer", "shortest", "longest"),
            )
        ]
    if row := _of_size(inch, wanted_mm):
        return [
            reading(
                "inch dowel pin",
                inch.source,
                designation=f"{row['size']} in dowel pin",
                diameter_mm=rounded(_own_mm(row)),
                **_figures(row, "least", "greatest"),
            )
        ]
    ask = {_own_mm(row): f"dowel {_own_mm(row):g} mm" for row in metric.rows}
    ask |= {_own_mm(row): f"dowel {row['size']} in" for row in inch.rows}
    raise _not_listed("dowel pin", wanted_mm, ask)


def spring_pin_asked(bag: Bag) -> list[Reading]:
    """A slotted spring pin ("roll pin") of a listed size, and its hole. Source: ISO 8752."""
    wanted_mm, table = bag.mm(), load_table("pins-spring")
    row = _of_size(table, wanted_mm)
    if row is None:
        ask = {_own_mm(each): f"roll pin {_own_mm(each):g} mm" for each in table.rows}
        raise _not_listed("spring pin", wanted_mm, ask)
    hole_mm = _own_mm(row)
    low_um, high_um = hole_limits_um(hole_mm, SPRING_PIN_HOLE)
    return [
        reading(
            "spring pin",
            table.source,
            designation=f"{hole_mm:g} mm spring pin",
            hole_mm=hole_mm,
            hole_least_mm=rounded(hole_mm + low_um / 1000),
            hole_greatest_mm=rounded(hole_mm + high_um / 1000),
            **_figures(row, "free_least", "free_greatest", "wall"),
        )
    ]


# --- taper pins -----------------------------------------------------------------------------------


def taper_pin_asked(bag: Bag) -> list[Reading]:
    """A taper pin, metric by its small end or inch by its number, and the drill for that end."""
    remedy = 'write "taper pin 4 x 30", or "taper pin no. 2 x 1 1/4 in"'
    if bag.has("by"):
        size, length = bag.value("by")
    else:
        size, length = [*(thing.words for thing in bag.all("size")), None][:2]
    long_mm = None if length is None else length_mm(length, bag.units)
    number = size.casefold().removeprefix("no").removeprefix(".").removeprefix("#").strip()
    inch = {row["number"]: row for row in load_table("pins-taper-inch").rows}
    if number in inch and (number != size.casefold() or "/" in size):
        if long_mm is None:
            raise WordError("an inch taper pin is drilled by its length", remedy)
        table, taper = load_table("pins-taper-inch"), TAPER_INCH
        small_mm = given_mm(inch[number], "large") - long_mm * taper
        name = f"taper pin no. {number} x {long_mm / 25.4:g} in"
    else:
        table, taper, small_mm = load_table("pins-taper"), TAPER_METRIC, length_mm(size, bag.units)
        if _of_size(table, small_mm) is None:
            ask = {_own_mm(row): f"taper pin {_own_mm(row):g} x 30" for row in table.rows}
            raise _not_listed("taper pin", small_mm, ask)
        name = f"taper pin {small_mm:g}" + ("" if long_mm is None else f" x {long_mm:g}")
    if small_mm <= 0 or (long_mm is not None and long_mm <= 0):
        raise WordError("no taper pin is of that length", remedy)
    below = [pair[0] for pair in nearest_drills(small_mm).values() if pair[0] is not None]
    drill = max(below, key=lambda each: each.diameter_mm)  # goes through before the taper reamer
    return [
        reading(
            "taper pin",
            table.source,
            designation=name,
            drill=drill.designation,
            drill_mm=rounded(drill.diameter_mm),
            small_mm=rounded(small_mm),
            large_mm=None if long_mm is None else rounded(small_mm + long_mm * taper),
            length_mm=rounded(long_mm),
            taper=f"1:{1 / taper:g}",
        )
    ]


# --- centre drills --------------------------------------------------------------------------------


def centre_drill_asked(bag: Bag) -> list[Reading]:
    """By number, "A2.5", "BS2" or pip; a number alone is each standard's."""
    thing = next(each for each in bag.things if "centre drill" not in each.kinds)
    is_number = "size" in thing.kinds and not thing.words.casefold().startswith("no. ")
    name = str(thing.value).casefold() if is_number else thing.words.casefold()
    listed = list(centre_drills())
    found = [drill for drill in listed if _is_called(drill, name)] or _by_pip(listed, name)
    if not found:
        names = [each["designation"] for each in listed]
        close = nearest(f"centre drill {name}", names).split(", ")
        likely = ", ".join(f'"{each}"' for each in (close if close[0] else names[:3]))
        raise WordError(
            f"{shown(thing.words)} is no centre drill in the tables", f"nearest: {likely}"
        )
    return found


def centre_drills() -> Iterator[Reading]:
    """Every centre drill, ascending in each standard."""
    for name, words in _CENTRE_DRILLS.items():
        table = load_table(name)
        for row in table.rows:
            sizes = {
                "designation": words.format_map(row),
                **_figures(row, "pip", "body", "overall"),
            }
            yield reading("centre drill", table.source, **sizes, angle_deg=60.0)


def _is_called(drill: Reading, name: str) -> bool:
    own = drill["designation"].removeprefix("centre drill ").casefold()
    bare = re.sub(r"^(?:no\. |bs|a)", "", own)
    return name.replace(" ", "") in (own.replace(" ", ""), bare)


def _by_pip(listed: list[Reading], name: str) -> list[Reading]:
    try:
        pip_mm = float(read_length(name, "inch" if "/" in name else "mm"))
    except WordError:
        return []
    return [drill for drill in listed if abs(drill["pip_mm"] - pip_mm) < 0.005]


# --- grub screws and pipe threads -----------------------------------------------------------------


def grub_asked(bag: Bag) -> list[Reading]:
    """A hexagon socket set screw: its key, the most of a flat point, the tapping drill.

    Source: ISO 4026, ASME B18.3.
    """
    meant = threads_of(bag)
    found = [grub for each in meant if (grub := _grub(each)) is not None]
    if meant and not found:
        listed = either(["M4 grub screw", "M6 grub screw", "1/4 unc grub screw"])
        raise WordError(f"no table has a grub screw of {meant[0].name}", f"nearest: {listed}")
    return found


def _grub(thread: Thread) -> Reading | None:
    names = {"metric coarse": "grubs-metric", "UNC": "grubs-inch", "UNF": "grubs-inch"}
    if thread.series not in names:
        return None
    table = load_table(names[thread.series])
    for row in table.rows:
        if abs(major_mm(row) - thread.major_mm) < SAME_SIZE_MM:
            own = {"designation": f"{thread.name} grub screw", **_figures(row, "key", "point")}
            drill = figures(thread, "tap_drill", "tap_drill_mm")
            return reading("grub screw", table.source, thread.source, **own, **drill)
    return None


def pipe_asked(bag: Bag) -> list[Reading]:
    """A taper pipe thread; of "bsp" the parallel one, G, comes first elsewhere."""
    size = bag.all("size")[0].words.casefold().removesuffix("in").strip(' "')
    form = bag.value("pipe").upper()
    listed = {each["designation"]: each for each in pipe_threads()}
    if (name := f"{size} {form}") not in listed:
        near = either([each for each in listed if each.endswith(form)])
        raise WordError(f"{shown(name)} is in no table", f"nearest: {near}")
    return [listed[name]]


def taper_readings(parallel: list[Thread]) -> list[Reading]:
    """The taper threads of the sizes of parallel ones: "1/4 bsp" can be either."""
    names = {f"{size_word(thread)} BSPT" for thread in parallel}
    return [each for each in pipe_threads() if each["designation"] in names]


def pipe_threads() -> Iterator[Reading]:
    """NPT and BSPT, ascending in each: large end, and the core at the small end, by the standards.

    Source: ASME B1.20.1 (E0 = D - (0.05 D + 1.1) p, thread 0.8 p deep a side; p the pitch) and
    ISO 7-1 (the Whitworth form, the gauge plane a gauge length from the small end).
    """
    npt, bspt = load_table("pipes-npt"), load_table("pipes-bspt")
    for row in npt.rows:
        pitch_mm, pipe_mm = inches_to_mm(1 / row["threads_per_inch"]), given_mm(row, "outside")
        core_mm = pipe_mm - 0.05 * pipe_mm * pitch_mm / 25.4 - (1.1 + 0.8) * pitch_mm
        yield _pipe(row, npt.source, "NPT", pipe_mm, pitch_mm, core_mm)
    for row in bspt.rows:
        pitch_mm, large_mm = inches_to_mm(1 / row["threads_per_inch"]), float(row["major_mm"])
        core_mm = large_mm - FORMS["BSW"].full_height * pitch_mm
        core_mm -= float(row["gauge_mm"]) * _PIPE_TAPER
        yield _pipe(row, bspt.source, "BSPT", large_mm, pitch_mm, core_mm)


def _pipe(
    row: Row, source: Source, form: str, large_mm: float, pitch_mm: float, core_mm: float
) -> Reading:
    return reading(
        "taper pipe thread",
        source,
        designation=f"{row['size']} {form}",
        tap_drill=row["tap_drill"],
        tap_drill_mm=rounded(hole_mm(row["tap_drill"])),
        large_mm=rounded(large_mm),
        pitch_mm=rounded(pitch_mm),
        core_mm=rounded(core_mm),
        threads_per_inch=round(25.4 / pitch_mm, 3),
        angle_deg=60.0 if form == "NPT" else FORMS["BSW"].angle_deg,
        taper="1:16",
    )
