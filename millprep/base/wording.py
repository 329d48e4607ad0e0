r"""The wording of sheets: templates with slots, read from files of text that are data for all.

What writes a sheet fills the slots; what reads it back finds them again with code of its own. Both
take the letters between the slots from here, so nothing that can be wrong may stand among those:
`tests/test_wording.py` refuses it.

A file of `base/templates` has a group a label of the sheet, a template a line:

    [ZERO > zeroing[]]
    zero-over = over {hole:hole}, set {axis:axis} to {set_to:figure}<; {more:text}>

    {name:kind}         a slot; kinds are listed in KINDS
    {name:a/b}          one of the words given; {name:x=a/y=b} where its value is another word;
                        a word may have a slash of its own, written \/
    {_name:a/b}         not in JSON: a word with one sound value
    {name:reading}      not in JSON, which has all of them as a list: a figure or two, or a dash
    {name:kind*, }      several, with ", " between them
    {name:@slug*; }     several filled templates of the group [parts]
    {name#hole/holes}   one word where the slot of that name is 1, the other where it is not
    < ... >             left out where its slots are not given
    |                   between the cells of a title, of the head or of a row of a table
    > key, > key[]      what the slots are in JSON: an object, or one entry of a list
    > key[slot]         an entry for each filled template of that slot, with the other slots
    >> key              all below the label is in JSON one entry of that list; of a table: its rows
                        stand in that list of the whole sheet
    [(LABEL)]           a label that is not shown: its sentences stand below what is above them
    [below], [below NAME]  what hangs on the row of a table
    [table NAME]        head, row; `each` in place of row: rows run on, as many as a line holds
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, cached_property
from pathlib import Path

from millprep.base.records import frozen, replace

FOLDER = Path(__file__).parent / "templates"
KINDS = frozenset(
    {
        *("angle", "axis", "beyond", "called", "count", "day", "deviation", "face", "faces"),
        *("figure", "fit", "hole", "length", "mark", "member", "number", "over", "part", "pattern"),
        *("pin", "place", "reading", "rule", "ruled", "side", "signed", "text", "tool", "turns"),
        *("zero",),
    }
)
_TOKEN = re.compile(r"\{[^{}]*\}|<|>|[^{}<>]+")
_GROUP = re.compile(
    r"\[(?P<silent>\()?(?P<name>.+?)(?(silent)\))"
    r"(?: (?P<arrow>>>?) (?P<key>\w+)(?P<list>\[(?P<spread>\w*)\])?)?\]"
)
_SPEC = re.compile(r"\{(?P<name>\w+)(?P<mark>[:#])(?P<spec>[^*{}]*)(?P<many>\*(?P<joint>.*))?\}")


@frozen
class Slot:
    """A place in a template.

    words : what it may be, where it is one of a few words; kind : "" then
    texts : how each of the words is said
    part  : the template that fills it, again and again; joint : what stands between several
    counts: the slot whose number chooses the word
    """

    name: str
    kind: str = ""
    words: tuple[str, ...] = ()
    texts: tuple[str, ...] = ()
    part: str = ""
    joint: str | None = None
    counts: bool = False

    @property
    def is_in_json(self) -> bool:
        return not (self.counts or self.kind == "reading" or self.name.startswith("_"))


@frozen
class Optional:
    """Pieces that are left out where their slots are not given."""

    pieces: tuple[Piece, ...]


Piece = str | Slot | Optional


@frozen
class Template:
    """A sentence, or a row of cells. group : the label that it stands under."""

    slug: str
    group: str
    cells: tuple[tuple[Piece, ...], ...]

    @cached_property
    def slots(self) -> tuple[Slot, ...]:
        return tuple(slot for cell in self.cells for slot in _slots(cell))

    @property
    def letters(self) -> str:
        """Everything outside the slots."""
        return " ".join(_letters(cell) for cell in self.cells)


@frozen
class Group:
    """The templates under one label.

    label : itself a template, of the words in the margin
    key   : of the slots in JSON, "" for none; is_list : whether each sentence is an entry
    spread : the slot whose filled templates are an entry each
    is_section : whether what stands under the label is an entry of a list of that name
    is_silent : whether the label is not shown
    """

    label: Template
    key: str = ""
    is_list: bool = False
    is_section: bool = False
    is_silent: bool = False
    templates: tuple[Template, ...] = ()
    spread: str = ""

    @property
    def said_as(self) -> str:
        """What JSON calls its sentences: its letters, or the list that it is an entry of."""
        return self.label.slug.partition("{")[0].rstrip() or self.key


@cache
def wording(sheet: str) -> dict[str, Group]:
    """The groups of a sheet by name, those of the files that it builds on included.

    Raises ValueError for a template that is none, with its file and line.
    """
    groups: dict[str, Group] = {}
    name = ""
    path = FOLDER / f"{sheet}.txt"
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        try:
            if line.startswith("with "):
                for other, theirs in wording(line.removeprefix("with ")).items():
                    ours = groups[other].templates if other in groups else ()
                    more = (one for one in theirs.templates if one not in ours)
                    groups[other] = replace(theirs, templates=(*ours, *more))
            elif line.startswith("["):
                group = _group(line)
                name = group.label.slug
                held = groups.get(name, group)
                groups[name] = replace(group, templates=held.templates)
            elif line and not line.startswith("#"):
                slug, _, text = line.partition(" = ")
                slug = (
                    f"{name.removeprefix('table ')} {slug}" if name.startswith("table ") else slug
                )
                template = Template(slug, name, tuple(map(_pieces, text.split(" | "))))
                group = groups[name]
                groups[name] = replace(group, templates=(*group.templates, template))
        except ValueError as fault:
            raise ValueError(f"{path.name}, line {number}: {fault}") from None
    return groups


def _group(line: str) -> Group:
    """Raises ValueError."""
    match = _GROUP.fullmatch(line)
    if match is None:
        raise ValueError(f"{line} is no group")
    name = match["name"]
    label = Template(name, name, (_pieces(name),))
    return Group(
        label,
        match["key"] or "",
        bool(match["list"]),
        match["arrow"] == ">>",
        match["silent"] is not None,
        spread=match["spread"] or "",
    )


@cache
def templates(sheet: str) -> dict[str, Template]:
    """The templates of a sheet by slug; labels by the name of their group."""
    found = {name: group.label for name, group in wording(sheet).items()}
    return found | {t.slug: t for group in wording(sheet).values() for t in group.templates}


def _pieces(text: str) -> tuple[Piece, ...]:
    """Raises ValueError."""
    stack: list[list[Piece]] = [[]]
    for token in _TOKEN.findall(text):
        if token == "<":
            stack.append([])
        elif token == ">":
            inner = Optional(tuple(stack.pop()))
            if not stack:
                raise ValueError("> without <")
            stack[-1].append(inner)
        else:
            stack[-1].append(_slot(token) if token.startswith("{") else token)
    if len(stack) > 1:
        raise ValueError("< without >")
    return tuple(stack[0])


def _slot(token: str) -> Slot:
    match = _SPEC.fullmatch(token)
    if match is None:
        raise ValueError(f"{token} is no slot")
    name, spec, joint = match["name"], match["spec"], match["joint"]
    if match["mark"] == "#" or "/" in spec:
        words_given = re.split(r"(?<!\\)/", spec)
        pairs = [one.replace(r"\/", "/").partition("=") for one in words_given]
        words = tuple(word for word, _, _ in pairs)
        texts = tuple(text if equals else word for word, equals, text in pairs)
        return Slot(name, words=words, texts=texts, joint=joint, counts=match["mark"] == "#")
    if spec.startswith("@"):
        return Slot(name, part=spec[1:], joint=joint)
    if spec not in KINDS:
        raise ValueError(f"{token}: kinds are {', '.join(sorted(KINDS))}")
    return Slot(name, spec, joint=joint)


def _slots(pieces: tuple[Piece, ...]) -> Iterator[Slot]:
    for piece in pieces:
        if isinstance(piece, Slot):
            yield piece
        elif isinstance(piece, Optional):
            yield from _slots(piece.pieces)


def _letters(pieces: tuple[Piece, ...]) -> str:
    return "".join(
        piece
        if isinstance(piece, str)
        else _letters(piece.pieces)
        if isinstance(piece, Optional)
        else "{}"
        for piece in pieces
    )
