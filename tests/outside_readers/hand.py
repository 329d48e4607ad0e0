"""The sentences that tell the hand of a part, read back. Imports layers 0 to 2."""

from __future__ import annotations

import re
from collections.abc import Iterator

from millprep.base.units import shown
from millprep.reading.pages.printed import FACE_WORDS, Hand, UnreadableSheet

_FACE = f"(?:{FACE_WORDS})"
_WAYS = (
    r"(?P<way>clockwise|anticlockwise); on the other hand of this part they go "
    r"(?P<other>clockwise|anticlockwise)\."
)
_NEXT = r"(?= look |[ ]the holes of|[ ]this part is|$)"
_HOLES = re.compile(
    rf"look square at (?P<face>{_FACE}): (?P<a>.+?), then (?P<b>.+?), then (?P<c>.+?) go round "
    rf"{_WAYS}(?: Look when they are drilled: their places alone are alike on both hands\."
    rf"| Find the three by the drawing\.)?{_NEXT}"
)
_FACES = re.compile(
    rf"look at the corner of (?P<a>{_FACE}) \((?P<na>\d+) holes?\), then (?P<b>{_FACE}) "
    rf"\((?P<nb>\d+) holes?\), then (?P<c>{_FACE}) \((?P<nc>\d+) holes?\): they go round "
    rf"{_WAYS}{_NEXT}",
    re.ASCII,
)
_NEITHER = re.compile(
    rf"(?:the holes of {_FACE} cannot show which hand this part is: go by the names inked on its "
    r"faces\.|this part is its own mirror image: there is no other hand to make by mistake\.)"
    rf"{_NEXT}"
)


def read_hands(text: str) -> tuple[Hand, ...]:
    """The holes or faces that tell the hand, a sentence each; what names none gives none.

    Raises UnreadableSheet for a sentence that is not known, or that contradicts itself.
    """
    return tuple(_hands(text))


def _hands(text: str) -> Iterator[Hand]:
    rest = text
    while rest:
        match = _HOLES.match(rest) or _FACES.match(rest) or _NEITHER.match(rest)
        if match is None or (match.re is not _NEITHER and match["way"] == match["other"]):
            raise UnreadableSheet(f"HAND says {shown(rest)}")
        if match.re is _HOLES:
            names = (match["a"], match["b"], match["c"])
            yield Hand(match["face"].lower(), names, match["way"] == "clockwise")
        elif match.re is _FACES:
            faces = (match["a"].lower(), match["b"].lower(), match["c"].lower())
            counts = (int(match["na"]), int(match["nb"]), int(match["nc"]))
            yield Hand(None, faces, match["way"] == "clockwise", counts)
        rest = rest[match.end() :].removeprefix(" ")
