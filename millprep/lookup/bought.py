"""Pins, grub screws and taper pipe threads: what is bought, and the drill that it wants."""

from __future__ import annotations

import re

from millprep.base.findings import WordError
from millprep.base.units import shown
from millprep.lookup.bag import Bag
from millprep.lookup.readings import Reading, figures, reading
from millprep.lookup.screws import threads_of
from millprep.reference.pins import (
    InchDowel,
    TaperPin,
    grub_for,
    inch_taper_pin,
    pipe_threads,
    spring_pins,
    taper_pin,
    taper_pin_numbers,
    taper_pin_sizes,
)
from millprep.sizes import either

_SAME_MM = 0.005


def inch_dowel_reading(pin: InchDowel) -> Reading:
    """An inch dowel with its limits."""
    name = f"{pin.size} in dowel pin"
    limits = figures(pin, "least_mm", "greatest_mm")
    return reading("inch dowel pin", pin.source, designation=name, **limits)


def taper_pin_asked(bag: Bag) -> list[Reading]:
    """A taper pin of a size and a length: drill for its small end, then a taper pin reamer.

    The first size is the small end in mm, or the number of an inch pin; the second the length.
    """
    sizes = bag.all("size")
    called = sizes[0].words.casefold()
    named = re.sub(r"^(?:no\b\.?|number|#) ?", "", called)
    is_inch = called != named or "/" in named
    if is_inch:
        length_mm = bag.mm("size", 1) if len(sizes) > 1 else 25.4
        pin = inch_taper_pin(named, length_mm)
        known = [f"taper pin no. {each} x 1 in" for each in taper_pin_numbers()]
    else:
        size_mm = bag.mm()
        length_mm = bag.mm("size", 1) if len(sizes) > 1 else 10 * size_mm
        pin = taper_pin(size_mm, length_mm)
        by_size = sorted(taper_pin_sizes(), key=lambda each: abs(each - size_mm))
        known = [f"taper pin {each:g} x {10 * each:g}" for each in by_size]
    if pin is None or pin.small_mm <= 0:
        raise WordError(f"no taper pin is {shown(sizes[0].words)}", f"nearest: {either(known[:3])}")
    return [taper_pin_reading(pin)]


def taper_pin_reading(pin: TaperPin) -> Reading:
    """Both ends and the taper; the small end is drilled first, at size or a shade under."""
    return reading(
        "taper pin",
        pin.source,
        designation=pin.designation,
        taper=f"1 in {1 / pin.taper:g} on diameter",
        **figures(pin, "small_mm", "large_mm", "length_mm"),
    )


def spring_pin_asked(bag: Bag) -> list[Reading]:
    """A slotted spring pin by the size of its hole."""
    size_mm = bag.mm()
    for pin in spring_pins():
        if abs(pin.hole_mm - size_mm) < _SAME_MM:
            sizes = figures(pin, "hole_mm", "free_least_mm", "free_greatest_mm", "wall_mm")
            name = f"{pin.hole_mm:g} mm spring pin"
            return [reading("spring pin", pin.source, designation=name, **sizes)]
    near = sorted(spring_pins(), key=lambda pin: abs(pin.hole_mm - size_mm))[:3]
    raise WordError(
        f"no spring pin is listed at {size_mm:g} mm",
        f"nearest: {either([f'roll pin {pin.hole_mm:g} mm' for pin in near])}",
    )


def grub_asked(bag: Bag) -> list[Reading]:
    """The key of a grub screw, and its point."""
    found = [grub for thread in threads_of(bag) if (grub := grub_for(thread)) is not None]
    if not found:
        size = bag.all("thread", "size")[0].words
        raise WordError(f"no table has a grub screw for {shown(size)}", 'nearest: "M6 grub screw"')
    readings = [
        reading(
            "grub screw",
            grub.source,
            designation=f"{grub.thread.name} grub screw",
            **figures(grub, "key_mm", "point_mm"),
        )
        for grub in found
    ]
    return list({str({**each, "designation": ""}): each for each in reversed(readings)}.values())[
        ::-1
    ]


def pipe_asked(bag: Bag) -> list[Reading]:
    """A taper pipe thread; the parallel ones are G."""
    size, form = bag.all("size")[0].words.casefold(), bag.all("pipe")[0].words.upper()
    size = size.removesuffix("in").removesuffix('"').strip()
    form = "BSPT" if form.startswith(("BSPT", "RC", "R")) else "NPT"
    for thread in pipe_threads():
        if thread.designation == f"{size} {form}":
            return [
                reading(
                    "taper pipe thread",
                    thread.source,
                    designation=thread.designation,
                    threads_per_inch=round(25.4 / thread.pitch_mm, 6),
                    tap_drill=thread.tap_drill,
                    **figures(thread, "tap_drill_mm", "large_mm", "core_mm", "angle_deg"),
                )
            ]
    known = [each.designation for each in pipe_threads() if each.designation.endswith(form)]
    raise WordError(f"{form} has no size {shown(size)}", f"nearest: {either(known[:3])}")
