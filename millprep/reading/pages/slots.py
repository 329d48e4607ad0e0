"""What a sentence of a sheet says: the text of each of its slots.

The letters between the slots are data, `base.wording`; what a slot may look like is typed here and
knows nothing of what fills it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, cached_property
from typing import Any

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.base.wording import Optional, Piece, Slot, Template, templates
from millprep.reading.pages.printed import (
    FACE_WORDS,
    KINDS_OF_TOOL,
    NUMBER,
    Figure,
    UnreadableSheet,
    figure,
)

_FREE = ".+?"
_MINUSES = "-\N{MINUS SIGN}\N{EN DASH}"
_MINUS = str.maketrans(dict.fromkeys(_MINUSES, "-"))
_RULE = rf"(?:{NUMBER}|(?:\d+ )?\d+/\d+)"
_PATTERNS = {
    "angle": NUMBER,
    "axis": "[XYZ]",
    "called": rf"(?:{KINDS_OF_TOOL}) .+?|\S.*? tap",
    "beyond": r"[+-]\d{1,7}(?:\.\d{1,9})?",
    "count": r"\d{1,7}",
    "deviation": r"[+-]\d{1,7}|0",
    "day": r"\d{4}-\d\d-\d\d",
    "face": FACE_WORDS,
    "faces": rf"(?:{FACE_WORDS})(?:, (?:{FACE_WORDS}))*",
    "figure": NUMBER,
    "fit": "[A-Za-z]{1,2}[0-9]{1,2}",
    "length": rf"{NUMBER} (?:mm|in)",
    "mark": "[0-9a-f]+",
    "member": r"\S+(?: \S+)*",
    "number": NUMBER,
    "pin": r"[\w#./]+(?: [\w./]+){0,2}",
    "over": f"the centre line|{FACE_WORDS}",
    "reading": rf"{NUMBER}(?:/{NUMBER})*|-",
    "rule": rf"{_RULE} (?:mm|in)",
    "tool": rf"(?:{KINDS_OF_TOOL}) .+?",
    "ruled": _RULE,
    "side": "left hand|right hand|towards you|away",
    "signed": r"[+-]\d{1,7}(?:\.\d{1,9})?|0(?:\.0{1,9})?",
    "turns": r"-?\d{1,6}|under 0",
    "zero": f"the centre|{FACE_WORDS}",
}

Names = Mapping[str, Mapping[str, str]]
"""Kind of slot to what may stand there, by its letters without blanks and as it is."""


def names_by_letters(**kinds: Iterable[str]) -> Names:
    """What the slots of these kinds may say; a line may be broken at any blank."""
    return {
        kind: {_letters(name): name for name in names} | {name: name for name in names}
        for kind, names in kinds.items()
    }


def _words(name: str) -> list[str]:
    return name.translate(_MINUS).split()


def _letters(name: str) -> str:
    """Without blanks; one minus is as good as another."""
    return "".join(name.split()).translate(_MINUS)


def _escaped(word: str) -> str:
    """As a pattern, with any minus for any other."""
    return "".join("[-\N{MINUS SIGN}\N{EN DASH}]" if c in _MINUSES else re.escape(c) for c in word)


@frozen
class Said:
    """A sentence, a label, a title or the cells of a row, understood.

    group : the label that it stands under; slots : the shown text by name, None for what is left
    out; several in a list. line : 1-based, where the form has lines
    named : in JSON all that stands by name where the slots do
    """

    slug: str
    group: str
    slots: Mapping[str, Any]
    text: str
    units: Units = "mm"
    line: int | None = None
    named: Mapping[str, Any] | None = None

    def __getitem__(self, name: str) -> Any:
        return self.slots[name]

    def count(self, name: str) -> int:
        return int(self.slots[name])

    def face(self, name: str) -> str:
        """A face in small letters, or "centre"."""
        return str(self.slots[name]).removeprefix("the ").lower()

    def faces(self, name: str) -> tuple[str, ...]:
        return tuple(str(self.slots[name]).lower().split(", "))

    def figure(self, name: str) -> Figure:
        """A length in mm; one with a unit of its own is read in that."""
        return as_figure(self.slots[name], self.units)

    def mm(self, name: str) -> float:
        return self.figure(name).mm

    def has(self, name: str) -> bool:
        return self.slots.get(name) is not None

    def parts(self, name: str) -> tuple[Said, ...]:
        """The filled templates of a slot, which has one or several."""
        held = self.slots.get(name) or ()
        named = self.named and self.named.get(name)
        if isinstance(held, Mapping):
            held, named = [held], named and [named]
        return tuple(
            Said(name, self.group, slots, self.text, self.units, self.line, named and named[index])
            for index, slots in enumerate(held)
        )

    def axis(self, name: str) -> str:
        """An axis in small letters."""
        return str(self.slots[name]).lower()


def as_figure(text: str, units: Units) -> Figure:
    """A length in mm, in a unit of its own where it has one. Raises UnreadableSheet."""
    number, _, unit = text.rpartition(" ")
    if unit in ("mm", "in") and number:
        return figure(number, "inch" if unit == "in" else "mm")
    return figure(text.removeprefix("+"), units)


class _Pattern:
    """A compiled template. apart : blanks at least between its cells"""

    def __init__(
        self, sheet: str, cells: tuple[tuple[Piece, ...], ...], names: Names, apart: int = 1
    ) -> None:
        self.sheet, self.names = sheet, names
        self.slots: list[Slot] = []
        source, is_begun = "", False
        gap = " +" if apart == 1 else f" {{{apart},}}"
        for cell in cells:
            blanks = gap if is_begun else ""
            if len(cells) > 1 and len(cell) == 1 and isinstance(cell[0], Optional):
                inner = self._pieces(cell[0].pieces)
                source += f"(?:{blanks}{inner}{'' if is_begun else gap})?"
            else:
                source += blanks + self._pieces(cell)
                is_begun = True
        self.source = source

    @cached_property
    def regex(self) -> re.Pattern[str]:
        return re.compile(self.source, re.ASCII)

    def _pieces(self, pieces: Sequence[Piece]) -> str:
        return "".join(map(self._piece, pieces))

    def _piece(self, piece: Piece) -> str:
        if isinstance(piece, str):
            return re.escape(piece).replace(r"\ \ ", " +")  # a line may be broken there
        if isinstance(piece, Optional):
            return f"(?:{self._pieces(piece.pieces)})?"
        self.slots.append(piece)
        return f"({self._values(piece)})"

    def _values(self, slot: Slot) -> str:
        if slot.words:
            one = "|".join(map(re.escape, sorted(slot.texts, key=len, reverse=True)))
        elif slot.part:
            inner = templates(self.sheet)[slot.part].cells[0]
            one = _Pattern(self.sheet, (inner,), self.names).source
            one = re.sub(r"(?<!\\)\((?!\?)", "(?:", one)
        elif slot.kind in self.names:
            known = sorted(set(self.names[slot.kind].values()), key=lambda one: (-len(one), one))
            one = "|".join(" *".join(map(_escaped, name.split())) for name in known) or "(?!)"
        else:
            one = _PATTERNS.get(slot.kind, _FREE)
        if slot.joint is None or one == _FREE:  # several of anything are anything
            return one
        return f"(?:{one})(?:{re.escape(slot.joint)}(?:{one}))*"


@cache
def _pattern(sheet: str, slug: str, apart: int = 1) -> _Pattern:
    return _Pattern(sheet, templates(sheet)[slug].cells, {}, apart)


@cache
def _letters_due(sheet: str, slug: str) -> tuple[str, tuple[str, ...]]:
    """What a text of the template begins with, and what it has in it in any case: most templates
    are ruled out by that, and their patterns never compiled."""
    cells = templates(sheet)[slug].cells
    first = cells[0][0]
    due = (piece.strip() for cell in cells for piece in cell if isinstance(piece, str))
    return first if isinstance(first, str) else "", tuple(one for one in due if len(one) > 1)


def slots_of(sheet: str, template: Template, text: str, names: Names) -> Mapping[str, Any] | None:
    """The slots of a text that a template fits; None where it does not fit.

    A free name that is none of `names` is looked for once more among those.
    """
    begins, due = _letters_due(sheet, template.slug)
    if not text.startswith(begins) or any(one not in text for one in due):
        return None
    pattern = _pattern(sheet, template.slug)
    match = pattern.regex.fullmatch(text)
    if match is None:
        return None
    found = _taken(sheet, pattern, match, names)
    if found is not None or not any(slot.kind in names for slot in pattern.slots):
        return found
    return by_names(sheet, template, text, names)


def by_names(sheet: str, template: Template, text: str, names: Names) -> Mapping[str, Any] | None:
    """The slots of a text in which every name is one of `names`, the longest that fits."""
    letters = _letters(text)
    known = {
        kind: {key: name for key, name in by.items() if _letters(name) in letters}
        for kind, by in names.items()
    }
    strict = _Pattern(sheet, template.cells, known)
    match = strict.regex.fullmatch(text)
    return None if match is None else _taken(sheet, strict, match, names)


def row_slots(sheet: str, template: Template, text: str, names: Names) -> Mapping[str, Any] | None:
    """The slots of a row, with the names that are known as they are known.

    A name may end in what looks like the next cell: cells two blanks apart are told by that, unless
    it takes a name to be one that is not known.
    """
    found: list[Mapping[str, Any]] = []
    for apart in (2, 1):
        pattern = _pattern(sheet, template.slug, apart)
        match = pattern.regex.fullmatch(text)
        slots = None if match is None else _taken(sheet, pattern, match, {})
        if slots is not None:
            found.append(known_names(template, slots, names))
            if all(
                found[-1][slot.name] in names[slot.kind].values()
                for slot in template.slots
                if slot.kind in names
            ):
                return found[-1]
    return found[0] if found else None


def _taken(
    sheet: str, pattern: _Pattern, match: re.Match[str], names: Names
) -> Mapping[str, Any] | None:
    found: dict[str, Any] = {}
    counted = []
    for slot, text in zip(pattern.slots, match.groups(), strict=True):
        if slot.counts:
            counted.append((slot, text))
            continue
        if slot.words and slot.joint is None and text is not None:
            text = slot.words[slot.texts.index(text)]
        text = text or None  # a choice of words may be to say nothing
        value = None if text is None else _value(sheet, slot, text, names)
        if text is not None and value is None:
            return None
        if found.get(slot.name) not in (None, value) and value is not None:
            return None
        found[slot.name] = value if value is not None else found.get(slot.name)
    for slot, text in counted:
        if text is not None and text != slot.words[0 if found.get(slot.name) in ("1", "-1") else 1]:
            return None
    return found


def _value(sheet: str, slot: Slot, text: str, names: Names) -> Any:
    """The text; of several a list; None where a name is not known."""
    if slot.part:
        parts = _parts(sheet, slot, text, names)
        return parts if slot.joint is not None or parts is None else parts[0]
    if slot.joint is None:
        return _known(slot.kind, text, names)
    if slot.words:
        return [slot.words[slot.texts.index(one)] for one in text.split(slot.joint)]
    found, held = [], ""
    for piece in text.split(slot.joint):
        held = f"{held}{slot.joint}{piece}" if held else piece
        name = _known(slot.kind, held, names)
        if name is not None:
            found.append(name)
            held = ""
    return None if held else found


def _known(kind: str, text: str, names: Names) -> str | None:
    if kind not in names:
        return text
    return names[kind].get(text) or names[kind].get(_letters(text))


def known_names(template: Template, slots: Mapping[str, Any], names: Names) -> Mapping[str, Any]:
    """The slots with the names that are known as they are known, the others as they stand."""
    found = dict(slots)
    for slot in template.slots:
        if slot.kind in names and isinstance(text := slots[slot.name], str):
            name = _known(slot.kind, text, names) or text
            is_so = _words(name) == _words(text)  # a row is not broken at a blank
            found[slot.name] = name if is_so else text
    return found


def _parts(sheet: str, slot: Slot, text: str, names: Names) -> list[Mapping[str, Any]] | None:
    """Each filled template; pieces are put together until they are one."""
    template = templates(sheet)[slot.part]
    found: list[Mapping[str, Any]] = []
    held = ""
    for piece in text.split(slot.joint) if slot.joint else [text]:
        held = f"{held}{slot.joint}{piece}" if held else piece
        slots = slots_of(sheet, template, held, names)
        if slots is not None:
            found.append(slots)
            held = ""
    return None if held else found


def sentences_of(
    sheet: str,
    among: Sequence[Template],
    lines: Sequence[tuple[int | None, str]],
    names: Names,
    units: Units,
) -> Iterator[Said]:
    """The sentences that the lines are, each of some lines. Raises UnreadableSheet."""
    ends = _breaks(sheet, among, [text for _, text in lines], names)
    start = 0
    for end, template, slots in ends:
        text = " ".join(words for _, words in lines[start:end])
        yield Said(template.slug, template.group, slots, text, units, lines[start][0])
        start = end


_MOST_LINES = 80
Break = tuple[int, Template, Mapping[str, Any]]


def _breaks(
    sheet: str, among: Sequence[Template], lines: Sequence[str], names: Names
) -> list[Break]:
    """Where the sentences end, and what each is: the first way that uses up all lines."""
    dead: set[int] = set()
    taken: list[Break] = []
    ways = [_ways(sheet, among, lines, 0, names)]
    furthest = 0
    while (at := taken[-1][0] if taken else 0) < len(lines):
        furthest = max(furthest, at)
        step = next((way for way in ways[-1] if way[0] not in dead), None)
        if step is not None:
            taken.append(step)
            ways.append(_ways(sheet, among, lines, step[0], names))
        elif not taken:
            raise UnreadableSheet(f'"{" ".join(lines[furthest:])[:200]}" says nothing known')
        else:
            dead.add(at)
            ways.pop()
            taken.pop()
    return taken


def _ways(
    sheet: str, among: Sequence[Template], lines: Sequence[str], start: int, names: Names
) -> Iterator[Break]:
    for end in range(start + 1, min(len(lines), start + _MOST_LINES) + 1):
        text = " ".join(lines[start:end])
        for template in among:
            slots = slots_of(sheet, template, text, names)
            if slots is not None:
                yield end, template, slots
