"""Screws, studs and pins in words: "M5 x 12 socket head", "M4 x 90", "4 mm dowel", "5 mm f7".

A plain length after a metric thread is millimetres, after an inch thread inches, as they are sold.
"""

from __future__ import annotations

import re

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import Units, read_length, shown
from millprep.reference.fits import ACCEPTED_SHAFTS, SHAFT_CLASSES
from millprep.reference.heads import HeadKind
from millprep.reference.threads import Thread
from millprep.sizes import either, names_head, plain, read_screw, read_thread, screw_threads

ACCEPTED = 'write "M5 x 12 socket head" or "#6-32 x 5/8 in pan head"'
ACCEPTED_STUDS = 'write "M4 x 90"'
ACCEPTED_PINS = 'write "4 mm dowel", or a size and the class of the pin: "5 mm f7", "1/4 in h6"'
DOWEL_CLASS = "m6"
"""Of a bought parallel pin: ISO 2338 and ISO 8734."""
_PIN_CLASS = re.compile(r"(?P<size>.+?)\s*(?P<shaft>[A-Za-z]{1,2}\d{1,2}|dowel(?: pin)?)")


@frozen
class FastenerWords:
    """A screw or a stud: kind None is a stud."""

    thread: Thread
    length_mm: float
    kind: HeadKind | None
    words: str


def read_fastener(value: object, is_stud: bool = False) -> FastenerWords:
    """The screw that was written, with its length; a stud has no head. Raises WordError."""
    remedy = ACCEPTED_STUDS if is_stud else ACCEPTED
    text = plain(value, "a stud" if is_stud else "a screw with its length", remedy)
    ending = names_head(text)
    if is_stud and ending is not None:
        raise WordError(f"{shown(value)} has a head", "a stud has none: give it as screw =")
    if not is_stud and ending is None:
        raise WordError(f"{shown(value)} does not name its head", remedy)
    sized = text.removesuffix(f" {ending}") if ending else text
    size, x, length = sized.rpartition("x")
    size = size.strip()
    if not x or _is_thread(sized):
        raise WordError(f"{shown(value)} does not give the screw's length", remedy)
    thread = _thread(size, value)
    kind = _kind(f"{size} {ending}", remedy) if ending else None
    units: Units = "mm" if thread.series.startswith("metric") else "inch"
    length_mm = float(read_length(length.strip(), units))
    if length_mm <= 0:
        raise WordError(f"{shown(value)}: the length is not above 0", remedy)
    words = " ".join(str(value).split())
    return FastenerWords(thread, length_mm, kind, words)


def _kind(words: str, remedy: str) -> HeadKind:
    try:
        return read_screw(words).kind
    except WordError as error:  # its remedy is that of a hole, which may give a head's measures
        raise WordError(error.message, remedy) from None


def _is_thread(text: str) -> bool:
    try:
        read_thread(text)
    except WordError:
        return False
    return True


def _thread(size: str, value: object) -> Thread:
    found = screw_threads(size)
    if len(found) > 1:
        names = [thread.designation for thread in found]
        raise WordError(f"{shown(value)} can be read in more than one way", f"say {either(names)}")
    return found[0] if found else read_thread(size)


def read_pin(value: object, units: Units) -> tuple[float, str | None]:
    """Diameter [mm] of a pin and its ISO 286 class, or None for it. Raises WordError."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _size(value, units), None
    if not isinstance(value, str):
        raise WordError(f"{shown(value)} is not a pin", ACCEPTED_PINS)
    text = " ".join(value.split())
    match = _PIN_CLASS.fullmatch(text)
    if match is None:
        return _size(text, units), None
    shaft = DOWEL_CLASS if match["shaft"].startswith("dowel") else match["shaft"]
    if shaft in ("mm", "in"):
        return _size(text, units), None
    if shaft not in SHAFT_CLASSES:
        raise WordError(f"{shown(shaft)} is no class of a shaft", ACCEPTED_SHAFTS)
    return _size(match["size"], units), shaft


def _size(value: object, units: Units) -> float:
    try:
        size_mm = float(read_length(value, units))
    except WordError as error:
        raise WordError(error.message, ACCEPTED_PINS) from None
    if size_mm <= 0:
        raise WordError(f"{shown(value)} is not above 0", ACCEPTED_PINS)
    return size_mm
