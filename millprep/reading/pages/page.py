"""Printed listing and bench page, read back from their finished HTML.

What is read is the text between the tags, as a person sees it; attributes only say what it is:

    data-read="setup|block|tool|step"   an element that holds fields
    data-field="x"                      its text is that figure or sentence
    data-units="inch"                   shown when the page shows inches, and only then

Imports layers 0 to 2.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from itertools import groupby

from millprep.base.units import Units, shown
from millprep.reading.pages.printed import (
    OPERATIONS,
    Figure,
    Look,
    PrintedRow,
    PrintedSetup,
    PrintedTool,
    Said,
    UnreadableSheet,
    length_mm,
    tool_of,
)
from millprep.reading.pages.setting import read_setting
from millprep.reading.pages.text import read_done
from millprep.reading.pages.text_rows import compare_feed
from millprep.reading.pages.words import (
    read_lies,
    read_limits,
    read_look,
    read_measured,
    read_openings,
    read_places,
    read_stock,
    read_touched,
    read_zero,
)

_VOID = frozenset({"meta", "link", "br", "hr", "img", "input", "col"})  # HTML, section 13.1.2
_MINUS = str.maketrans("\N{MINUS SIGN}", "-")
# fields with a printed minus
_SIGNED = frozenset((
    "x", "y", "z", "pecks", "zero", "hold", "recover", "x_left", "y_left", "x_turns", "y_turns",
    "x_back", "y_back",
))  # fmt: skip
_UNITS: dict[str, Units] = {"mm": "mm", "inch": "inch"}


@dataclass(slots=True)
class Node:
    """An element that holds fields: their texts by name, in order, and such elements within."""

    kind: str
    line: int
    fields: dict[str, list[str]] = field(default_factory=dict)
    children: list[Node] = field(default_factory=list)

    def text(self, name: str) -> str:
        """The sentences of a field, joined by blanks."""
        if name not in self.fields:
            raise UnreadableSheet(f"the {self.kind} shows no {name}", self.line)
        return " ".join(self.fields[name])


class _Reader(HTMLParser):
    """Takes the fields out of a page as it looks in one unit; None for the page's own."""

    def __init__(self, units: Units | None) -> None:
        super().__init__(convert_charrefs=True)
        self.units = units
        self.page = Node("page", 1)
        self._nodes = [self.page]
        self._open: list[tuple[str, bool, str, bool]] = []  # tag, holds fields, field, is hidden
        self._text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "html":
            self.units = self.units or _UNITS.get(given.get("data-units", ""))
        elif tag in _VOID:
            return
        kind, name = given.get("data-read", ""), given.get("data-field", "")
        other = tag != "html" and given.get("data-units", self.units) != self.units
        is_hidden = other or (bool(self._open) and self._open[-1][3])
        if (kind or name) and any(field for _, _, field, _ in self._open):
            raise UnreadableSheet("a field within a field", self.getpos()[0])
        if kind and not is_hidden:
            node = Node(kind, self.getpos()[0])
            self._nodes[-1].children.append(node)
            self._nodes.append(node)
        self._open.append((tag, bool(kind) and not is_hidden, name, is_hidden))
        if name:
            self._text = []

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """`<circle/>` and the like hold no text."""

    def handle_data(self, data: str) -> None:
        self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        opened, holds, name, is_hidden = self._open.pop() if self._open else ("", False, "", False)
        if opened != tag:
            raise UnreadableSheet(f"</{tag}> closes <{opened}>", self.getpos()[0])
        if name and not is_hidden:
            text = "".join(self._text)
            text = text.translate(_MINUS) if name in _SIGNED else text
            self._nodes[-1].fields.setdefault(name, []).append(text)
        if holds:
            self._nodes.pop()


def read_html(text: str, units: Units | None = None) -> tuple[PrintedSetup, ...]:
    """The setups of a page as it looks in a unit. Raises UnreadableSheet with the line."""
    page, found = page_of(text, units)
    return tuple(_setup(node, page, found) for node in setups_of(page))


def page_of(text: str, units: Units | None = None) -> tuple[Node, Units]:
    """A page, taken apart as it looks in a unit, and that unit. Raises UnreadableSheet."""
    reader = _Reader(units)
    reader.feed(text)
    reader.close()
    if reader.units is None:
        raise UnreadableSheet("the page names no units", 1)
    return reader.page, reader.units


def setups_of(page: Node) -> list[Node]:
    """The setups of a page. Raises UnreadableSheet where there is none."""
    setups = [node for node in page.children if node.kind == "setup"]
    if not setups:
        raise UnreadableSheet("the page has no setups", 1)
    return setups


def _setup(node: Node, page: Node, units: Units) -> PrintedSetup:
    try:
        return _read_setup(node, page, units)
    except UnreadableSheet as fault:
        raise UnreadableSheet(fault.message, fault.line or node.line) from None


def _read_setup(node: Node, page: Node, units: Units) -> PrintedSetup:
    lies, zero = read_lies(node.text("lies")), read_zero(node.text("zero"), units)
    if node.text("face").lower() != lies.face:
        raise UnreadableSheet(f"the title says {node.text('face')} up, LIES {lies.face.upper()}")
    tools = tools_in(node)
    steps = list(steps_in(node))
    rows = tuple(_row(step, above, tools, units) for step, above in steps)
    return PrintedSetup(
        whole_number(node, "number"),
        lies.face,
        lies.towards_you,
        zero.x,
        zero.y,
        units,
        rows,
        of=whole_number(node, "of"),
        away=lies.away,
        left_hand=lies.left_hand,
        finder_readings=zero.readings,
        check_move=zero.check_move,
        places=tuple(
            place for entry in node.fields.get("places", ()) for place in read_places(entry, units)
        ),
        looks=tuple(looks_in(node, units)),
        said=tuple(said_of(steps, units)),
        done=read_done(node.text("done")),
        part_name=page.text("part"),
        part_mark=page.text("part_mark"),
        line=node.line,
        setting=read_setting(
            {name: " ".join(words) for name, words in node.fields.items()}, zero.setting, units
        ),
        stock=stock_in(page, units),
    )


def stock_in(page: Node, units: Units) -> tuple[Figure, ...]:
    """The sizes of the stock, where the page tells them. Raises UnreadableSheet."""
    return read_stock(page.text("stock"), units) if "stock" in page.fields else ()


def steps_in(node: Node) -> Iterator[tuple[Node, Node]]:
    """Every step with the block that it stands in (or the setup itself)."""
    for child in node.children:
        if child.kind == "step":
            yield child, node
        elif child.kind == "block":
            yield from steps_in(child)


def tools_in(node: Node) -> dict[int, PrintedTool]:
    """Number to tool, from wherever both are shown."""
    tools: dict[int, PrintedTool] = {}
    for child in node.children:
        shown_here = [(whole_number(child, "tool_number"), child)] if "tool" in child.fields else []
        found = {number: tool_of(one.text("tool")) for number, one in shown_here}
        for number, tool in (found | tools_in(child)).items():
            if tools.setdefault(number, tool) != tool:
                raise UnreadableSheet(f"tool {number} is two different tools", child.line)
        for words in child.fields.get("speed", ()):
            compare_feed(words, child.line)
    return tools


def _row(step: Node, above: Node, tools: dict[int, PrintedTool], units: Units) -> PrintedRow:
    number = whole_number(step if "tool_number" in step.fields else above, "tool_number")
    if number not in tools:
        raise UnreadableSheet(f"tool {number} is not listed", step.line)
    operation = step.text("operation")
    if operation not in OPERATIONS:
        raise UnreadableSheet(f"{shown(operation)} is no operation", step.line)
    try:
        x_mm, y_mm, z_mm = (length_mm(step.text(axis), units) for axis in "xyz")
        pecks = " ".join(step.fields.get("pecks", ())).split()
        pecks_mm = tuple(length_mm(peck, units) for peck in pecks)
        turns = length_mm(step.text("turns"), "mm") if "turns" in step.fields else None
    except UnreadableSheet as fault:
        raise UnreadableSheet(fault.message, step.line) from None
    return PrintedRow(
        whole_number(step, "step"),
        step.text("hole"),
        operation,
        tools[number],
        number,
        x_mm,
        y_mm,
        z_mm,
        pecks_mm,
        turns=turns,
        line=step.line,
    )


def looks_in(node: Node, units: Units) -> Iterator[Look]:
    """LOOK lines; each counts the steps with one tool that end where it stands."""
    for child in node.children:
        if child.kind == "block" and "look" in child.fields:
            listed = len(list(steps_in(child)))
            yield read_look(child.text("look"), units, listed, child.line)


def said_of(steps: list[tuple[Node, Node]], units: Units) -> Iterator[Said]:
    """What is said of sizes, for each run of steps that it is said of."""

    def words(pair: tuple[int, tuple[Node, Node]]) -> tuple[str, int]:
        _, (step, above) = pair
        said = (*step.fields.get("said", ()), *above.fields.get("said", ()))
        return " ".join(said), id(above)

    for (text, _), run in groupby(enumerate(steps), key=words):
        rows = list(run)
        first, above = rows[0][1]
        count = whole_number(above, "count") if "count" in above.fields else None
        yield Said(
            read_openings(text),
            read_limits(text, units),
            count,
            (rows[0][0], rows[-1][0] + 1),
            first.line,
            read_measured(text, units),
            read_touched(text),
        )


def whole_number(node: Node, name: str) -> int:
    text = node.text(name)
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise UnreadableSheet(f"{name} is {shown(text)}, no whole number", node.line)
    return int(text)
