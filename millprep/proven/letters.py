"""Letters that a format's typeface does not have: told, and what then stands in their place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from millprep.base.findings import Finding
from millprep.base.records import replace

if TYPE_CHECKING:
    from millprep.model.part import Part

ENCODINGS = {".pdf": "cp1252", ".png": "ascii"}
"""What the typefaces of these endings have; others have every letter."""


def letters_to_tell(part: Part, wanted: str) -> list[Finding]:
    """What a sheet to print has to say of its letters, by its format."""
    if wanted != "pdf":
        return []
    remedy = "write .html and print that to keep them"
    return [*letters_lost(part, ".pdf", remedy), *names_lost(part, ".pdf", remedy)]


def part_as_shown(part: Part, wanted: str) -> Part:
    """The part with its names as a sheet of that format shows them."""
    return in_letters_of(part, ".pdf") if wanted == "pdf" else part


def as_shown(findings: Sequence[Finding], wanted: str) -> list[Finding]:
    """Findings in the letters that a sheet of that format has."""
    from millprep.canvas.lettering import in_letters

    if wanted != "pdf":
        return list(findings)
    return [
        replace(one, said=in_letters(one.message, ENCODINGS[".pdf"]), is_meant=False)
        for one in findings
    ]


def letters_lost(part: Part, ending: str, remedy: str) -> list[Finding]:
    """A note when words of the part hold letters that the format does not have."""
    from millprep.canvas.lettering import in_letters

    encoding = ENCODINGS.get(ending)
    if encoding is None:
        return []
    words = [part.name, part.drawing, part.material, part.note]
    words += [word for hole in part.holes for word in (hole.name, hole.note)]
    words += [obstacle.name for request in part.setups for obstacle in request.obstacles]
    used = dict.fromkeys(letter for letter in "".join(words) if letter != "?")
    lost = [letter for letter in used if in_letters(letter, encoding) == "?"]
    if not lost:
        return []
    return [
        Finding(
            "note",
            "letters-not-drawn",
            f'{ending[1:].upper()} has no {" ".join(lost[:20])}: each is shown there as "?"',
            remedy,
            file=part.path or None,
        )
    ]


def names_lost(part: Part, ending: str, remedy: str) -> list[Finding]:
    """A stop when two holes would have one name in the letters that the format has."""
    from millprep.canvas.lettering import in_letters

    shown = Counter(in_letters(hole.name, ENCODINGS[ending]) for hole in part.holes)
    again = [
        hole.name for hole in part.holes if shown[in_letters(hole.name, ENCODINGS[ending])] > 1
    ]
    if not again:
        return []
    names = " and ".join(again[:2])
    return [
        Finding(
            "stop",
            "letters-not-drawn",
            f"{names} read the same in the letters that {ending[1:].upper()} has",
            remedy,
            file=part.path or None,
            holes=tuple(again),
        )
    ]


def in_letters_of(part: Part, ending: str) -> Part:
    """The part with its names as the format shows them."""

    from millprep.canvas.lettering import in_letters

    def shown(words: str) -> str:
        return in_letters(words, ENCODINGS[ending])

    holes = tuple(
        replace(hole, name=shown(hole.name), group=shown(hole.group), note=shown(hole.note))
        for hole in part.holes
    )
    words = {name: shown(getattr(part, name)) for name in ("name", "drawing", "material", "note")}
    return replace(part, holes=holes, **words)
