"""What is handed over: a file that the witness agrees with, in the letters of its form."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from millprep.base.findings import Finding
from millprep.base.marks import sealed, sheet_mark
from millprep.base.records import frozen, replace

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.setting.setups import Setup
    from millprep.witness import Lay

FORMS = ("text", "json", "csv", "html", "pdf")
PICTURED = ("html", "pdf")
_CALLED = {"inspection": "inspect", "verdict": "verdicts"}
"""In its mark, a sheet that its writers call otherwise."""
ENCODINGS = {".pdf": "cp1252", ".png": "ascii"}
"""What the typefaces of these endings have; others have every letter."""


@frozen
class Handed:
    """A finished file, or None where a stop keeps it back; and all that was found.

    setup, tool, sheet : of a file that is one of several
    """

    data: bytes | None
    findings: tuple[Finding, ...]
    setup: int | None = None
    tool: int | None = None
    sheet: int | None = None


def proven(
    data: bytes, findings: Sequence[Finding], disagreements: Sequence[Finding], setup: int | None
) -> Handed:
    """What the witness agrees with; else nothing but what was found."""
    if disagreements:
        return Handed(None, (*disagreements, *findings), setup)
    return Handed(data, tuple(findings), setup)


def sheet_bytes(document: Any, form: str, sheet: str, part: str, setup: int | None = None) -> bytes:
    """The document of a sheet as a file, with its mark."""
    from millprep.writers import written

    return sealed(
        written(sheet, document, form), sheet_mark(_CALLED.get(sheet, sheet), form, part, setup)
    )


def lay_of(setup: Setup) -> Lay:
    """How a part lies in a setup, as the witness takes it."""
    from millprep.witness import Lay

    return Lay(setup.face, setup.towards_you, setup.zero_x, setup.zero_y, setup.number)


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


def shown_in(words: str, form: str) -> str:
    """Words in the letters that a sheet of that form has."""
    from millprep.canvas.lettering import in_letters

    return in_letters(words, ENCODINGS[".pdf"]) if form == "pdf" else words
