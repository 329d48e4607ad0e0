"""Pins, grub screws and taper pipe threads: what a drill is chosen by. Imports layers 0 to 2."""

from __future__ import annotations

from millprep.base.findings import WordError
from millprep.base.units import shown
from millprep.lookup.bag import Bag, length_mm
from millprep.lookup.readings import Reading, dowel_reading, figures, reading, rounded
from millprep.lookup.screws import threads_of
from millprep.reference.drills import SAME_SIZE_MM, Drill, nearest_drills
from millprep.reference.fits import dowel_pins, hole_limits_um
from millprep.reference.pins import (
    Grub,
    InchDowel,
    PipeThread,
    SpringPin,
    TaperPin,
    grub_for,
    inch_dowels,
    inch_taper_pin,
    pipe_threads,
    spring_pins,
    taper_pin,
    taper_pin_numbers,
    taper_pin_sizes,
)
from millprep.reference.threads import Thread
from millprep.sizes import either, size_word

SPRING_PIN_HOLE = "H12"  # ISO 8752


def _nearest(given_mm: float, listed: dict[float, str]) -> str:
    """The three listed sizes nearest to one that is not."""
    near = sorted(listed, key=lambda mm: abs(mm - given_mm))[:3]
    return f"nearest: {either([listed[mm] for mm in near])}"


# --- dowels and spring pins -----------------------------------------------------------------------


def dowel_asked(bag: Bag) -> list[Reading]:
    """A parallel pin of a listed size, metric or inch."""
    size_mm = bag.mm()
    for pin in dowel_pins():
        if abs(pin.diameter_mm - size_mm) < SAME_SIZE_MM:
            return [dowel_reading(pin)]
    for dowel in inch_dowels():
        if abs(length_mm(dowel.size, "inch") - size_mm) < SAME_SIZE_MM:
            return [_inch_dowel_reading(dowel)]
    listed = {pin.diameter_mm: f"dowel {pin.diameter_mm:g} mm" for pin in dowel_pins()}
    listed |= {length_mm(one.size, "inch"): f"dowel {one.size} in" for one in inch_dowels()}
    raise WordError(f"no dowel pin is listed at {size_mm:g} mm", _nearest(size_mm, listed))


def _inch_dowel_reading(dowel: InchDowel) -> Reading:
    return reading(
        "inch dowel pin",
        dowel.source,
        designation=f"{dowel.size} in dowel pin",
        diameter_mm=rounded(length_mm(dowel.size, "inch")),
        **figures(dowel, "least_mm", "greatest_mm"),
    )


def spring_pin_asked(bag: Bag) -> list[Reading]:
    """A spring pin ("roll pin") of a listed size, and its hole."""
    size_mm = bag.mm()
    for pin in spring_pins():
        if abs(pin.hole_mm - size_mm) < SAME_SIZE_MM:
            return [_spring_pin_reading(pin)]
    listed = {pin.hole_mm: f"roll pin {pin.hole_mm:g} mm" for pin in spring_pins()}
    raise WordError(f"no spring pin is listed at {size_mm:g} mm", _nearest(size_mm, listed))


def _spring_pin_reading(pin: SpringPin) -> Reading:
    low_um, high_um = hole_limits_um(pin.hole_mm, SPRING_PIN_HOLE)
    return reading(
        "spring pin",
        pin.source,
        designation=f"{pin.hole_mm:g} mm spring pin",
        **figures(pin, "hole_mm"),
        hole_least_mm=rounded(pin.hole_mm + low_um / 1000),
        hole_greatest_mm=rounded(pin.hole_mm + high_um / 1000),
        **figures(pin, "free_least_mm", "free_greatest_mm", "wall_mm"),
    )


# --- taper pins -----------------------------------------------------------------------------------


def taper_pin_asked(bag: Bag) -> list[Reading]:
    """A taper pin, metric by its small end or inch by its number, and the drill for that end."""
    remedy = 'write "taper pin 4 x 30", or "taper pin no. 2 x 1 1/4 in"'
    if bag.has("by"):
        size, length = bag.value("by")
    else:
        sizes = [thing.words for thing in bag.all("size")]
        size, length = sizes[0], sizes[1] if len(sizes) > 1 else None
    long_mm = None if length is None else length_mm(length, bag.units)
    number = size.casefold().removeprefix("no").removeprefix(".").removeprefix("#").strip()
    is_inch = number != size.casefold() or "/" in size
    if is_inch and number in taper_pin_numbers():
        if long_mm is None:
            raise WordError("an inch taper pin is drilled by its length", remedy)
        pin = inch_taper_pin(number, long_mm)
    else:
        size_mm = length_mm(size, bag.units)
        pin = taper_pin(size_mm, long_mm or 0.0)
        if pin is None:
            listed = {mm: f"taper pin {mm:g} x 30" for mm in taper_pin_sizes()}
            raise WordError(f"no taper pin is listed at {shown(size)}", _nearest(size_mm, listed))
    if pin is None or pin.small_mm <= 0 or (long_mm is not None and long_mm <= 0):
        raise WordError("no taper pin is of that length", remedy)
    return [_taper_pin_reading(pin, is_long=long_mm is not None)]


def _taper_pin_reading(pin: TaperPin, is_long: bool) -> Reading:
    """The drill is the largest that goes through before the taper reamer."""
    below = [pair[0] for pair in nearest_drills(pin.small_mm).values() if pair[0] is not None]
    drill: Drill = max(below, key=lambda each: each.diameter_mm)
    return reading(
        "taper pin",
        pin.source,
        designation=pin.designation if is_long else pin.designation.partition(" x ")[0],
        drill=drill.designation,
        drill_mm=rounded(drill.diameter_mm),
        **figures(pin, "small_mm"),
        large_mm=rounded(pin.large_mm) if is_long else None,
        length_mm=rounded(pin.length_mm) if is_long else None,
        taper=f"1:{1 / pin.taper:g}",
    )


# --- grub screws and pipe threads -----------------------------------------------------------------


def grub_asked(bag: Bag) -> list[Reading]:
    """A grub screw: its key, its flat point, and the tapping drill."""
    meant = threads_of(bag)
    found = [grub for each in meant if (grub := grub_for(each)) is not None]
    if meant and not found:
        listed = either(["M4 grub screw", "M6 grub screw", "1/4 unc grub screw"])
        raise WordError(f"no table has a grub screw of {meant[0].name}", f"nearest: {listed}")
    return [_grub_reading(grub) for grub in found]


def _grub_reading(grub: Grub) -> Reading:
    return reading(
        "grub screw",
        grub.source,
        grub.thread.source,
        designation=f"{grub.thread.name} grub screw",
        **figures(grub, "key_mm", "point_mm"),
        **figures(grub.thread, "tap_drill", "tap_drill_mm"),
    )


def pipe_asked(bag: Bag) -> list[Reading]:
    """A taper pipe thread; of "bsp" the parallel one, G, comes first elsewhere."""
    size = bag.all("size")[0].words.casefold().removesuffix("in").strip(' "')
    form = bag.value("pipe").upper()
    found = [each for each in pipe_threads() if each.designation == f"{size} {form}"]
    if not found:
        listed = [each.designation for each in pipe_threads() if each.designation.endswith(form)]
        raise WordError(f"{shown(f'{size} {form}')} is in no table", f"nearest: {either(listed)}")
    return [_pipe_reading(each) for each in found]


def taper_readings(parallel: list[Thread]) -> list[Reading]:
    """The taper threads of the sizes of parallel ones: "1/4 bsp" can be either."""
    names = {f"{size_word(thread)} BSPT" for thread in parallel}
    return [_pipe_reading(each) for each in pipe_threads() if each.designation in names]


def _pipe_reading(pipe: PipeThread) -> Reading:
    return reading(
        "taper pipe thread",
        pipe.source,
        designation=pipe.designation,
        **figures(pipe, "tap_drill", "tap_drill_mm", "large_mm", "pitch_mm", "core_mm"),
        threads_per_inch=round(25.4 / pipe.pitch_mm, 3),
        angle_deg=pipe.angle_deg,
        taper="1:16",
    )
