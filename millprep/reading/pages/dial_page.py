"""The dial sheet as a page, read back from its finished HTML. Imports layers 0 to 2."""

from __future__ import annotations

import re

from millprep.base.units import Units, shown
from millprep.reading.pages.dial_rows import (
    SETTING,
    DialFigure,
    DialPlace,
    DialRow,
    PrintedDials,
    length_of,
    setting_of,
    settings_in,
)
from millprep.reading.pages.dial_zero import read_zero
from millprep.reading.pages.dials import read_setting_by_dial, read_words, touches
from millprep.reading.pages.page import (
    Node,
    looks_in,
    page_of,
    said_of,
    setups_of,
    steps_in,
    stock_in,
    tools_in,
    whole_number,
)
from millprep.reading.pages.printed import (
    NUMBER,
    OPERATIONS,
    Figure,
    PrintedRow,
    PrintedSetup,
    PrintedTool,
    UnreadableSheet,
    length_mm,
)
from millprep.reading.pages.text import read_done
from millprep.reading.pages.words import read_lies

_BELOW = {
    "x_back": rf"X first back past it to {SETTING}",
    "y_back": rf"Y first back past it to {SETTING}",
    "turns": r"\d+\.\d turns",
    "pecks": rf"pecks to {NUMBER}(?: {NUMBER})*",
    "z_dial": rf"Z dial {SETTING}",
    "pecks_dial": rf"pecks by dial {SETTING}(?:; {SETTING})*",
}


def read_page(text: str) -> tuple[PrintedDials, ...]:
    """The setups of the page. Raises UnreadableSheet with the line."""
    page, units = page_of(text)
    return tuple(_setup(node, page, units) for node in setups_of(page))


def _setup(node: Node, page: Node, units: Units) -> PrintedDials:
    try:
        return _read_setup(node, page, units)
    except UnreadableSheet as fault:
        raise UnreadableSheet(fault.message, fault.line or node.line) from None


def _read_setup(node: Node, page: Node, units: Units) -> PrintedDials:
    lies, zero = read_lies(node.text("lies")), read_zero(node.text("zero"), units)
    if node.text("face").lower() != lies.face:
        raise UnreadableSheet(f"the title says {node.text('face')} up, LIES {lies.face.upper()}")
    words, corner = read_words(node.text("dials"))
    node.text("hold")
    tools, steps = tools_in(node), list(steps_in(node))
    texts = {name: " ".join(sentences) for name, sentences in node.fields.items()}
    setting, recover, apart = read_setting_by_dial(texts, zero, units)
    setup = PrintedSetup(
        whole_number(node, "number"),
        lies.face,
        lies.towards_you,
        zero[0].zero,
        zero[1].zero,
        units,
        tuple(_row(step, above, tools, units) for step, above in steps),
        of=whole_number(node, "of"),
        away=lies.away,
        left_hand=lies.left_hand,
        finder_readings=touches(zero),
        looks=tuple(looks_in(node, units)),
        said=tuple(said_of(steps, units)),
        done=read_done(node.text("done")),
        part_name=page.text("part"),
        part_mark=page.text("part_mark"),
        line=node.line,
        setting=setting,
        stock=stock_in(page, units),
    )
    places = [_place(child, units) for child in node.children if child.kind == "place"]
    return PrintedDials(
        setup,
        tuple(_dials(step) for step, _ in steps),
        zero,
        words,
        corner,
        tuple(places),
        recover,
        apart,
    )


def _below(step: Node, name: str) -> str:
    """What hangs on a row; empty where nothing of that name does."""
    words = " ".join(step.fields.get(name, ()))
    if words and re.fullmatch(_BELOW[name], words, re.ASCII) is None:
        raise UnreadableSheet(f"unknown words {shown(words)}", step.line)
    return words


def _row(step: Node, above: Node, tools: dict[int, PrintedTool], units: Units) -> PrintedRow:
    number = whole_number(step if "tool_number" in step.fields else above, "tool_number")
    operation = step.text("operation")
    if number not in tools or operation not in OPERATIONS:
        raise UnreadableSheet(f"no {shown(operation)} with tool {number}", step.line)
    turns, pecks = _below(step, "turns"), _below(step, "pecks").removeprefix("pecks to ")
    return PrintedRow(
        whole_number(step, "step"),
        step.text("hole"),
        operation,
        tools[number],
        number,
        0.0,
        0.0,
        length_mm(step.text("z"), units),
        tuple(length_mm(peck, units) for peck in pecks.split()),
        turns=float(turns.removesuffix(" turns")) if turns else None,
        line=step.line,
    )


def _dials(step: Node) -> DialRow:
    x, y = (
        setting_of(*(_matched(step, f"{axis}_{what}") for what in ("turns", "figure")))
        for axis in "xy"
    )
    back_x, back_y, z = (_one(step, name) for name in ("x_back", "y_back", "z_dial"))
    return DialRow(x, y, back_x, back_y, z, settings_in(_below(step, "pecks_dial")))


def _one(step: Node, name: str) -> DialFigure | None:
    return next(iter(settings_in(_below(step, name))), None)


def _matched(step: Node, name: str) -> str:
    """Turns may be minus zero: it is the far side of zero."""
    text = step.text(name)
    pattern = r"-?\d{1,4}" if name.endswith("turns") else r"\d{1,4}(?:\.\d{1,9})?"
    if re.fullmatch(pattern, text, re.ASCII) is None:
        raise UnreadableSheet(f"{name} is {shown(text)}, no setting", step.line)
    return text


def _place(node: Node, units: Units) -> DialPlace:
    def pair(what: str) -> tuple[Figure, Figure]:
        return length_of(node.text(f"x{what}"), units), length_of(node.text(f"y{what}"), units)

    try:
        return DialPlace(node.text("hole"), pair(""), pair("_rule"), pair("_left"), node.line)
    except ValueError as fault:
        message = fault.message if isinstance(fault, UnreadableSheet) else str(fault)
        raise UnreadableSheet(message, node.line) from None
