"""What the witnesses of all sheets share: findings, sound words, cautions. Imports `reading`."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from millprep.base.findings import Finding
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadSection
from millprep.reading.pages.slots import Said
from millprep.witness.questions import questions_of

REPORT = "the sheet does not agree with the part file; please report it"
CAUTIONS = (
    "Eyes: glasses on. No gloves, rings, loose sleeves; long hair tied back.",
    "Key out of the chuck before the spindle turns. Work clamped, never held.",
    "Brush swarf away with the spindle stopped; no fingers, no air jet.",
    "Ease off as the drill breaks through. Tool jammed: stop first, then turn back by hand.",
    "Your workshop's own rules and qualified instruction come before this sheet.",
)
"""Typed again: what stands under TAKE CARE of a sheet for the mill."""

Complain = Callable[[str, Said], Finding]
"""Makes a finding of words about a sentence."""


def complaint(file: str) -> Complain:
    """Makes a stop of words about a sentence."""

    def complain(words: str, said: Said) -> Finding:
        return Finding("stop", "wrong-figure", words, REPORT, file, said.line)

    return complain


def unreadable(what: str, fault: UnreadableSheet, file: str) -> Finding:
    """A stop for a sheet that cannot be read back. what : "the list" """
    words = f"{what} cannot be read back: {fault.message}"
    remedy = "it is not handed over; please report it"
    return Finding("stop", "unreadable-sheet", words, remedy, file, fault.line)


def check_sound_words(section: ReadSection, complain: Complain) -> Iterator[Finding]:
    """Slots that have one sound word say that."""
    of_rows = (one for row in section.rows for one in (row.said, *row.below))
    heads = {id(row.head): row.head for row in section.rows if row.head is not None}
    for said in (*section.said, *of_rows, *heads.values()):
        for name, question in questions_of(said.slug).items() if said.slots else ():
            shown = said.slots.get(name)
            sound = question.removeprefix("= ")
            if sound != question and shown is not None and not same_words(shown, sound):
                yield complain(f"{said.text}: {name} is {shown}, not {sound}", said)


def same_words(told: str | None, right: str | None) -> bool:
    """Whether they have the same letters: a line may be broken at any blank."""
    return plain(told or "") == plain(right or "")


def plain(words: str) -> str:
    """Its letters: a line may be broken at any blank."""
    return "".join(words.split())
