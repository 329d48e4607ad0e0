"""A call-out as it is printed on a plan, read into the figures of a hole's line.

Every figure is one that the reader of part files takes as it stands. What is not understood, or has
two readings, is left with a sentence; nothing is guessed in silence.
"""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.infiles.call_out import making, mouths, places
from millprep.infiles.call_out.scanned import LABELS, Said, Scanned, Span
from millprep.model.part import Face

LONGEST_CALL_OUT = 300


@frozen
class CallOut:
    """A call-out, understood as far as it is.

    values : dotted keys of a hole's line, as a person would type them
    said   : label and text of what was understood, to be agreed to
    left   : from where to where of the words is not understood; why : a sentence for each of these
    count  : how many holes it is for, where it says so
    """

    values: dict[str, str]
    said: tuple[Said, ...]
    left: tuple[Span, ...]
    why: tuple[str, ...]
    count: int | None = None


def _refused_words(scanned: Scanned) -> None:
    """What is said not to be done is no work to do."""
    for match in scanned.found(
        r"\b(?:centre|center|spot|pilot|tapping)[\s-]+drill(?:ed)?\b"
        r"(?:(?!\band\b|\bthen\b)[^,;&])*(?<!\s)"
    ):
        scanned.refuse(match.span(), "only the drill of the finished hole stands here")
    for match in scanned.found(
        r"\b(?:not|don't|do\s+not|without|no(?=\s+(?:c\W|cs|count|spot)))\b[^,;]*"
    ):
        scanned.refuse(match.span(), "said not to be: leave it out")


def _told_once(scanned: Scanned) -> list[tuple[Span, str]]:
    """What is left, in the order of the words; what overlaps is left as one."""
    kept: list[tuple[Span, str]] = []
    for (start, end), why in sorted(scanned.left.items()):
        if kept and start < kept[-1][0][1]:
            (first, last), told = kept.pop()
            start, end, why = first, max(last, end), told
        kept.append(((start, end), why))
    return kept


_RULES = (
    *(_refused_words, mouths.recesses, mouths.countersinks, mouths.opened_out, places.counts),
    *(places.circles, places.points, places.faces, places.edges, making.fits, making.through),
    *(making.making, making.depths, places.how_many, places.no_angle),
)


def read_call_out(words: str, units: Units, face: Face = "top") -> CallOut:
    """The figures that a call-out gives a hole of that face. Raises nothing."""
    if len(words) > LONGEST_CALL_OUT:
        return CallOut({}, (), ((0, len(words)),), ("too long for a call-out",))
    scanned = Scanned(words, units, face)
    for rule in _RULES:
        rule(scanned)
    scanned.leave_the_rest()
    left = _told_once(scanned)
    return CallOut(
        scanned.values,
        tuple(sorted(scanned.said, key=lambda said: LABELS.index(said.label))),
        tuple(span for span, _ in left),
        tuple(why for _, why in left),
        scanned.count,
    )
