"""Screws in words: the head of "M4 socket head", the clearance hole for "#10" or "M5"."""

from __future__ import annotations

import re

from millprep.base.findings import WordError
from millprep.base.records import replace
from millprep.base.units import Units, shown
from millprep.reference.clearance import GRADES, Clearance, clearance_for
from millprep.reference.heads import HEAD_KINDS, Head, HeadKind, head_for
from millprep.reference.threads import Thread
from millprep.sizes.thread_words import (
    ACCEPTED_THREADS,
    hand_of,
    no_thread,
    size_word,
    threads_meant,
)
from millprep.sizes.words import either, plain

ACCEPTED_SCREWS = 'write "M5 socket head", "M5 countersunk" "M5 pan head" or "#8-32 socket head"'
_OTHER_HEADS = "for a head that no table has give { diameter, depth } or { diameter, angle }"
_NAMED: dict[HeadKind, str] = {
    "socket head": "socket head cap screw, socket head screw, socket head cap, socket head, "
    "cap head, cap screw",
    "countersunk": "countersunk screw, countersunk head, countersunk, csk, flat head",
    "slotted countersunk": "slotted countersunk, slotted csk, slotted flat head, "
    "slotted countersunk screw",
    "button head": "button head, button head screw, button",
    "pan head": "pan head, pan head screw",
    "cheese head": "cheese head, cheese head screw",
    "hexagon head": "hexagon head, hexagon, hex, hex head, hexagon bolt, hex bolt, hexagon screw, "
    "hex screw, bolt",
}
HEAD_NAMES = {name: kind for kind, names in _NAMED.items() for name in names.split(", ")}
HEAD_WORDS = tuple(sorted(HEAD_NAMES, key=len, reverse=True))  # the longest names the head


def screw_threads(text: str) -> tuple[Thread, ...]:
    """The threads that a screw's size can mean; a size without a pitch is enough for a screw."""
    text, _ = hand_of(text)
    found = threads_meant(text)
    return found or threads_meant(text, with_pitches=True)


def names_head(text: str) -> str | None:
    """The words for a head that a plain text ends in, if it does."""
    return next((ending for ending in HEAD_WORDS if text.endswith(" " + ending)), None)


def read_screw(value: object) -> Head:
    """The head of the screw that was written: "M4 socket head", "#8 countersunk". WordError."""
    text = plain(value, "a screw", ACCEPTED_SCREWS)
    ending = names_head(text)
    if ending is None:
        as_screws = _as_screws(str(value), text)
        raise WordError(
            f"{shown(value)} does not name a head in the tables",
            f"write {either(as_screws)}" if as_screws else f"{ACCEPTED_SCREWS}; {_OTHER_HEADS}",
        )
    size, kind = text.removesuffix(" " + ending), HEAD_NAMES[ending]
    found = screw_threads(size)
    heads = [head for thread in found if (head := head_for(thread, kind)) is not None]
    if not heads:
        if not found:
            raise no_thread(shown(value), size)
        raise WordError(f"no table has a {kind} on {shown(size)}", _OTHER_HEADS)
    if len({(head.head_diameter_mm, head.angle_deg) for head in heads}) > 1:
        names = [head.screw for head in heads]
        raise WordError(
            f"{shown(value)} can be read in more than one way", f"write {either(names)}"
        )
    if len(heads) > 1:  # one head for both pitches: keep the size as it was given
        return replace(heads[0], screw=f"{size_word(found[0])} {kind}")
    return heads[0]


def _as_screws(value: str, text: str) -> list[str]:
    """A bare size with each head that a table has on it."""
    found = screw_threads(text)
    kinds = [kind for kind in HEAD_KINDS if any(head_for(thread, kind) for thread in found)]
    return [f"{value} {kind}" for kind in kinds]


def read_clear(value: object, units: Units, grade: str = "normal") -> tuple[str, float]:
    """The clearance hole for a screw: designation of the drill, diameter [mm].

    A length is refused whatever its `units`: it could be the screw's or the hole's. WordError.
    """
    known = next((each for each in GRADES if each == grade), None)
    if known is None:
        raise WordError(f"{shown(grade)} is not a grade of clearance", f"write {either(GRADES)}")
    holes = clearances_meant(value)
    if len(holes) > 1:
        names = [hole.thread.designation for hole in holes]
        raise WordError(
            f"{shown(value)} can be read in more than one way", f"write {either(names)}"
        )
    return holes[0].hole(known)


def clearances_meant(value: object) -> tuple[Clearance, ...]:
    """Every different set of clearance holes that a screw's name can mean; WordError if none."""
    if not isinstance(value, str) or re.fullmatch(r"\s*[\d.]+\s*mm\s*", value):
        raise WordError(
            f"{shown(value)} can be a screw's size or a hole's",
            'write clear = "M6" or "#10" for the screw, drill = for a plain hole',
        )
    text = plain(value, "a screw", ACCEPTED_THREADS)
    found = screw_threads(text)
    if not found:
        raise no_thread(shown(value), text)
    holes = [hole for thread in found if (hole := clearance_for(thread)) is not None]
    if not holes:
        raise WordError(
            f"no table has a clearance hole for {shown(value)}",
            "give the hole's own size with drill =",
        )
    by_size = {(hole.close_mm, hole.normal_mm, hole.loose_mm): hole for hole in reversed(holes)}
    return tuple(hole for hole in holes if hole in by_size.values())
