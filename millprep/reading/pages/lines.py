"""Any sheet of lines, read back: title, sentences beside their labels, rows.

    title, its heading / sections between rules / an empty line, and the next page

A label stands in the first column, its sentences from the ninth on, and those of groups whose
label is not shown below them, or behind them, two blanks apart; a row begins with a box, or
three blanks, under the head of its table; what hangs on it stands from the eleventh column on.
Names are free text and may look like anything, so places decide what a line is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.base.units import Units, shown
from millprep.base.wording import Group, Optional, Slot, Template, wording
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadPage, ReadRow, ReadSection, ReadSheet
from millprep.reading.pages.slots import Names, Said, by_names, row_slots, sentences_of, slots_of

Line = tuple[int | None, str]

_RULE = re.compile("-{20,}")
_MARK = re.compile(r"millprep .*\bmark ([0-9a-f]{16}|\.{16})", re.ASCII)
_LABEL_WIDTH = 8
_APART = "  "
_BELOW = 10
_RUN_HEAD = 9
_MOST_TITLE_LINES = 4


def text_lines(data: bytes) -> list[Line]:
    """The lines of a text, numbered. Raises UnreadableSheet."""
    return [(number, line.rstrip(" ")) for number, line in enumerate(text_of(data).split("\n"), 1)]


def text_of(data: bytes) -> str:
    """Raises UnreadableSheet for what is no UTF-8 text."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise UnreadableSheet(f"not UTF-8 text (byte {fault.start + 1})") from None


def read_lines(lines: Sequence[Line], sheet: str, names: Names) -> ReadSheet:
    """A sheet whose lines these are. Raises UnreadableSheet with its line."""
    blocks = list(_blocks(lines))
    if blocks and len(blocks[-1]) == 1 and _MARK.fullmatch(blocks[-1][0][1]):
        blocks.pop()
    if not blocks:
        raise UnreadableSheet("the sheet is empty", 1)
    first, *others = (_PageReader(sheet, names, block) for block in blocks)
    pages = [first.page()]
    for other in others:
        other.units = first.units  # the first page tells it for all
        pages.append(other.page())
    return ReadSheet(first.units, tuple(pages))


def _blocks(lines: Sequence[Line]) -> Iterator[list[Line]]:
    """Runs of lines between empty ones."""
    block: list[Line] = []
    for number, line in lines:
        if line:
            block.append((number, line))
        elif block:
            yield block
            block = []
    if block:
        yield block


def below_groups(groups: Mapping[str, Group]) -> list[Group]:
    """What may hang on the row of a table."""
    return [group for name, group in groups.items() if name.startswith("below")]


class _PageReader:
    """Reads one page."""

    def __init__(self, sheet: str, names: Names, block: list[Line]) -> None:
        self.sheet, self.names = sheet, names
        self.groups = wording(sheet)
        self.block = block
        self.units: Units = "mm"
        self.labels = {
            name: group
            for name, group in self.groups.items()
            if name not in ("title", "heading", "parts")
            and not name.startswith(("table ", "below"))
            and not group.is_silent
        }
        self.unlabelled = [
            template
            for group in self.groups.values()
            if group.is_silent
            for template in group.templates
        ]
        self.below = [one for group in below_groups(self.groups) for one in group.templates]
        self.heads: dict[str, list[Template]] = {}
        self.rows: dict[str, list[Template]] = {}
        self.run_heads: list[Template] = []
        self.steps = {  # whose rows may have no boxes
            name.removeprefix("table ") for name, one in self.groups.items() if one.key == "steps"
        }
        for name, group in self.groups.items():
            if name.startswith("table "):
                self._table(name.removeprefix("table "), group)

    def _table(self, name: str, group: Group) -> None:
        slugs = {template.slug.removeprefix(f"{name} "): template for template in group.templates}
        row = slugs.pop("each", None)
        head = slugs.pop("head", None)
        if row is not None:
            self.rows[name], self.heads[name] = [row], [*slugs.values()]
            self.run_heads += slugs.values()
        else:
            self.rows[name], self.heads[name] = [*slugs.values()], [head] if head else []

    def page(self) -> ReadPage:
        heading, *sections = self._sections()
        title, rest = self._title(heading)
        if rest and rest[0][1][:_LABEL_WIDTH].rstrip(" ") in self.labels:  # a later page
            sections, rest = [rest, *sections], []
        said = tuple(self._heading(rest))
        units = next((one["units"] for one in said if "units" in one.slots), self.units)
        self.units = "inch" if units == "inch" else "mm"
        first = ReadSection(said, ())
        read = (one for lines in sections for one in self._pieces(lines))
        return ReadPage(title, (first, *read))

    def _sections(self) -> list[list[Line]]:
        sections: list[list[Line]] = [[]]
        for number, line in self.block:
            if _RULE.fullmatch(line):
                sections.append([])
            else:
                sections[-1].append((number, line))
        return sections

    def _title(self, heading: list[Line]) -> tuple[Said, list[Line]]:
        """A long title is broken at a blank."""
        template = self.groups["title"].templates[0]
        for count in range(1, min(_MOST_TITLE_LINES, len(heading)) + 1):
            text = " ".join(line for _, line in heading[:count])
            slots = slots_of(self.sheet, template, text, {})
            if slots is not None:
                said = Said(template.slug, "title", slots, text, self.units, heading[0][0])
                return said, heading[count:]
        first = heading[0][1] if heading else ""
        raise UnreadableSheet(f"{shown(first)} is no title", heading[0][0] if heading else None)

    def _heading(self, lines: list[Line]) -> Iterator[Said]:
        sentences: list[tuple[int | None, str]] = []
        for number, line in lines:
            if line.startswith("    ") and sentences:
                sentences[-1] = sentences[-1][0], f"{sentences[-1][1]} {line.strip(' ')}"
            else:
                sentences.append((number, line))
        for one in sentences:  # none goes on without its indent
            yield from self._said(self.groups["heading"].templates, [one])

    def _said(self, among: Sequence[Template], lines: Sequence[Line]) -> Iterator[Said]:
        try:
            yield from sentences_of(self.sheet, among, lines, self.names, self.units)
        except UnreadableSheet as fault:
            line = fault.line or (lines[0][0] if lines else None)
            raise UnreadableSheet(fault.message, line) from None

    def _pieces(self, lines: list[Line]) -> Iterator[ReadSection]:
        """What stands between two rules; a label of what is an entry of a list begins a piece of
        its own."""
        reader = _SectionReader(self)
        for number, line in lines:
            if self._begins(line) and (read := reader.read()).said:
                yield read
                reader = reader.next()
            reader.take(number, line)
        yield reader.read()

    def _begins(self, line: str) -> bool:
        label = line[:_LABEL_WIDTH].rstrip(" ")
        group = self.labels.get(label)
        return group is not None and group.is_section and not line.startswith(" ")


class _SectionReader:
    """Takes a section line by line."""

    def __init__(self, page: _PageReader) -> None:
        self.page = page
        self.said: list[Said] = []
        self.rows: list[ReadRow] = []
        self._group: Group | None = None
        self._lines: list[Line] = []
        self._table = ""
        self._head: Said | None = None
        self._steps: tuple[str, Said | None] = "", None  # that of the steps before this one
        self._row: Line | None = None
        self._has_box = False
        self._boxes: dict[str, bool] = {}  # whether the rows of a table have theirs
        self._below: list[Line] = []
        self._run_head: list[Line] = []

    def read(self) -> ReadSection:
        """What was taken so far."""
        self.end_of_all()
        return ReadSection(tuple(self.said), tuple(self.rows))

    def next(self) -> _SectionReader:
        """For what stands under the same heads."""
        other = _SectionReader(self.page)
        other._table, other._head, other._boxes = self._table, self._head, self._boxes
        other._steps = self._steps
        return other

    def take(self, number: int | None, line: str) -> None:
        indent = len(line) - len(line.lstrip(" "))
        if line.startswith("[ ]"):
            self.end_of_all()
            self._row, self._has_box = (number, line[3:]), True
        elif self.page.run_heads and (
            indent == _RUN_HEAD or (self._run_head and indent == _RUN_HEAD + 2)
        ):
            if indent == _RUN_HEAD:
                self.end_of_all()
            self._run_head.append((number, line.strip(" ")))
        elif self._row is not None and line.startswith(" " * _BELOW):
            self._below.append((number, line[_BELOW:].strip(" ")))
        elif line.startswith(" ") and self._is_head(number, line):
            return
        elif line.startswith(" " * _LABEL_WIDTH) and self._group is not None:
            self.end_of_row()
            self._end_of_run_head()
            self._lines += _apart(number, line[_LABEL_WIDTH:])
        elif line.startswith("   ") and (self._table or self._run_head):
            self.end_of_all()
            self._row, self._has_box = (number, line), False
        elif not line.startswith(" "):
            self._label(number, line)
        else:
            raise UnreadableSheet(f"unknown line {shown(line)}", number)

    def _is_head(self, number: int | None, line: str) -> bool:
        """Whether the line is the head of a table, which then is the one that is read."""
        if not line:
            return False
        for name, templates in self.page.heads.items():
            for template in templates:
                slots = slots_of(self.page.sheet, template, line.strip(" "), self.page.names)
                if slots is not None:
                    self.end_of_all()
                    if self._boxes.get(self._table) or self._table in self.page.steps:
                        self._steps = self._table, self._head
                    self._table = name
                    self._head = Said(template.slug, name, slots, line, self.page.units, number)
                    return True
        return False

    def _label(self, number: int | None, line: str) -> None:
        """One in the margin, or one of figures and names that has the whole line.

        Steps that go on after it have the head that they had before another table.
        """
        self.end_of_all()
        is_other = self._boxes.get(self._table) is False and self._table not in self.page.steps
        if is_other and self._steps[0]:
            self._table, self._head = self._steps
        label, words = line[:_LABEL_WIDTH].rstrip(" "), line[_LABEL_WIDTH:]
        if len(label) == _LABEL_WIDTH:
            label, words = line, ""
        plain, told = (
            [g for g in self.page.labels.values() if bool(g.label.slots) is has]
            for has in (False, True)
        )
        long, _, behind = line.partition(_APART)
        ways = (
            *((plain, label, words), (plain, line, ""), (told, line, ""), (told, label, words)),
            (plain, long, behind),
        )
        for groups, label, words in ways:
            for group in groups:
                slots = slots_of(self.page.sheet, group.label, label, {})
                if slots is not None:
                    self._begin(group, slots, label, number)
                    if not self._is_head(number, words):
                        self._lines = _apart(number, words)
                    return
        raise UnreadableSheet(f"unknown line {shown(line)}", number)

    def _begin(
        self, group: Group, slots: Mapping[str, Any], label: str, number: int | None
    ) -> None:
        self._group = group
        if slots:
            slug, units = group.label.slug, self.page.units
            self.said.append(Said(slug, slug, slots, label, units, number))

    def end_of_all(self) -> None:
        """What was begun is done."""
        if self._lines and self._group is not None:
            among = (*self._group.templates, *self.page.unlabelled)
            self.said += self.page._said(among, self._lines)
        self._lines = []
        self.end_of_row()
        self._end_of_run_head()

    def _end_of_run_head(self) -> None:
        if self._run_head:
            (self._head,) = self.page._said(self.page.run_heads, self._run_head)
            self._table = self._head.group.removeprefix("table ")
        self._run_head = []

    def end_of_row(self) -> None:
        """The row, and what hangs on it; cells that had no room stand in the lines below."""
        if self._row is None:
            return
        number, line = self._row
        pieces = [line.strip(" ")]
        if self._head is not None and self._head.slug in {t.slug for t in self.page.run_heads}:
            run = re.split(" {2,}", pieces[0])
            pieces = run if self._row_said(number, run[0]) else pieces
        for piece in pieces:
            said = self._row_said(number, piece)
            while said is None and self._below:
                piece = f"{piece}  {self._below.pop(0)[1]}"
                said = self._row_said(number, piece)
            if said is None:
                raise UnreadableSheet(f"unknown line {shown(line)}", number)
            if self._boxes.setdefault(said.group, self._has_box) != self._has_box:
                raise UnreadableSheet(f"{shown(line)}: a row without its box to tick", number)
            below = tuple(self.page._said(self.page.below, self._below))
            self.rows.append(ReadRow(said.group, said, below, self._head))
        self._row, self._below = None, []

    def _row_said(self, number: int | None, line: str) -> Said | None:
        page, chosen = self.page, _chosen_columns(self.page.heads.get(self._table, ()), self._head)
        headless = [name for name, heads in page.heads.items() if not heads]
        for name in [self._table, *headless] if self._table else headless:
            columns = chosen if name == self._table else {}
            for template in page.rows[name]:
                if columns:
                    slots = by_names(page.sheet, template, line, page.names)
                    slots = None if slots is None else _under(slots, columns)
                else:
                    slots = row_slots(page.sheet, template, line, page.names)
                if slots is not None:
                    return Said(template.slug, name, slots, line, page.units, number)
        return None


def _apart(number: int | None, words: str) -> list[Line]:
    """Words that stand two blanks apart on a line: cells of a sentence, or several sentences."""
    return [(number, one) for one in re.split(" {2,}", words.strip(" ")) if one]


def _chosen_columns(heads: Sequence[Template], head: Said | None) -> Mapping[str, bool]:
    """The columns that a table may have, and whether it has them."""
    return {
        piece.name: head.has(piece.name)
        for template in heads[:1]
        for cell in template.cells
        if head is not None and len(cell) == 1 and isinstance(cell[0], Optional)
        for piece in cell[0].pieces
        if isinstance(piece, Slot) and piece.is_in_json
    }


def _under(slots: Mapping[str, Any], chosen: Mapping[str, bool]) -> Mapping[str, Any] | None:
    """The cells of a row, each of the column whose head it stands under; None where it has more or
    less of them."""
    given = [slots[name] for name in chosen if slots.get(name) is not None]
    told = [name for name, is_there in chosen.items() if is_there]
    if len(given) != len(told):
        return None
    return {**slots, **dict.fromkeys(chosen), **dict(zip(told, given, strict=True))}
