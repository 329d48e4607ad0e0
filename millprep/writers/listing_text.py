"""The readout listing as text, within 80 columns. Lays out a sheet. Layers 0 to 2, sheet."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from itertools import groupby

from millprep.base.findings import Finding
from millprep.base.outfile import BLANK_MARK
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.setup_sheet import Block, SetupSheet, Sheet, Step

WIDTH = 78
_INDENT = 8
_RULE = "-" * WIDTH
_COLUMNS = (10, 10, 12)  # X, Y and Z
_NARROW = (9, 9, 9)  # beside names so long that the row would leave the page


def listing_text(sheet: Sheet) -> str:
    """The whole listing, one setup after another, ending in the blank mark of `outfile`."""
    pages = ["\n".join(_setup(sheet, setup)) for setup in sheet.setups]
    foot = [_RULE, *field_lines("TAKE CARE", AT_THE_MILL), "", BLANK_MARK, ""]
    return "\n\n\n".join(pages) + "\n" + "\n".join(foot)


def wrapped(text: str, first: str, then: str = " " * _INDENT) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False
    ) or [first.rstrip()]


def field_lines(label: str, lines: tuple[str, ...] | list[str]) -> list[str]:
    """A label in the margin and its lines beside it, each wrapped."""
    out: list[str] = []
    first = f"{label:<{_INDENT}}"
    if len(label) >= _INDENT:
        out.append(label)
        first = " " * _INDENT
    for line in lines:
        out += wrapped(line, first)
        first = " " * _INDENT
    return out


def _setup(sheet: Sheet, setup: SetupSheet) -> Iterator[str]:
    right = f"setup {setup.number} of {sheet.setup_count}: {setup.face.upper()} up"
    yield from wrapped(f"{sheet.part.upper():<{WIDTH - len(right)}}{right}", "", "")
    yield from wrapped(sheet.stock, "", "    ")
    drawing = f"drawing {sheet.drawing}; " if sheet.drawing else ""
    yield from wrapped(f"{drawing}part mark {sheet.mark}; figures in {sheet.units}", "", "    ")
    if sheet.advice:
        yield from wrapped(f"mind: {sheet.advice}", "", "    ")
    if sheet.note:
        yield from wrapped(f"note: {sheet.note}", "", "    ")
    yield _RULE
    if setup.turn:
        yield from field_lines("TURN", [setup.turn])
    yield from field_lines("LIES", [setup.lies])
    yield from field_lines("HOLD", setup.hold)
    yield from field_lines("ZERO", setup.zero)
    if setup.skew:
        yield from field_lines("SKEW", [setup.skew])
    if setup.head:
        yield from field_lines("HEAD", setup.head)
    if setup.hand:
        yield from field_lines("HAND", [setup.hand])
    yield from field_lines("PLACES", setup.places)
    if any(not block.is_tool for block in setup.blocks):
        yield from _tools(sheet, setup)
    tools = [block for block in setup.blocks if block.is_tool]
    for index, block in enumerate(setup.blocks, 1):
        yield _RULE
        if block.is_tool:
            yield from _tool_block(sheet, setup, block, index, len(tools))
        else:
            yield from _hole_block(sheet, block)
    yield _RULE
    yield from field_lines("DONE", [setup.done])
    if setup.recover:
        yield from field_lines("RECOVER", setup.recover)
    yield from field_lines("ASSUMED", ["; ".join(sheet.assumed) + "."])
    if remarks := remarks_of(sheet.findings, setup):
        yield from field_lines("REMARKS", remarks)


def remarks_of(findings: Iterable[Finding], setup: SetupSheet) -> list[str]:
    """What was found about the holes of this setup, and about none in particular."""
    here = {step.hole for step in setup.steps}
    return [
        f"{finding.severity}: {finding.message}"
        for finding in findings
        if finding.setup in (None, setup.number)
        and (not finding.holes or here.intersection(finding.holes))
    ]


def speed_words(sheet: Sheet, step: Step) -> str:
    """Speed and feed, with the time that this depth takes: a hand on the lever can judge that."""
    if step.rpm is None or step.feed_mm_per_min is None:
        return "by hand"
    seconds = -60 * step.z_exact_mm / step.feed_mm_per_min
    feed, depth = f"{step.feed_mm_per_min:g} mm/min", f"{-step.z_exact_mm:.1f} mm"
    if sheet.units == "inch":
        feed = f"{step.feed_mm_per_min / 25.4:.2f} in/min"
        depth = f"{-step.z_exact_mm / 25.4:.2f} in"
    return f"{step.rpm:g} rev/min, {feed} ({depth} in {seconds:.1f} s)"


def _unit(sheet: Sheet) -> str:
    return "mm" if sheet.units == "mm" else "in"


def _depth_head(sheet: Sheet) -> str:
    return "down to Z" if sheet.has_z_readout else "quill to Z"


def counted(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _tool_block(
    sheet: Sheet, setup: SetupSheet, block: Block, index: int, count: int
) -> Iterator[str]:
    first = block.steps[0]
    yield from field_lines(f"TOOL {first.tool_number}", [block.heading])
    holes = len({step.hole for step in block.steps})
    yield from field_lines(
        "", [f"{speed_words(sheet, first)}; {counted(holes, 'hole')}; change {index} of {count}"]
    )
    yield from field_lines("", block.before)
    width = max(len(words) for s in block.steps for words in (s.hole, f"{s.operation} at"))
    for operation, run in groupby(block.steps, key=lambda step: step.operation):
        yield _row_head(sheet, operation, width)
        for step in run:
            yield from _row(step, width)
            yield from _pecks(step)
    yield from field_lines("", block.after)


def _columns(width: int) -> tuple[int, int, int]:
    return _COLUMNS if 10 + width + sum(_COLUMNS) <= WIDTH else _NARROW


def _row_head(sheet: Sheet, operation: str, width: int) -> str:
    unit = _unit(sheet)
    names = (f"X {unit}", f"Y {unit}", _depth_head(sheet))
    heads = "".join(f"{name:>{wide}}" for name, wide in zip(names, _COLUMNS, strict=True))
    room = 10 + width + sum(_columns(width)) - len(heads)
    return f"    step  {operation} at".ljust(room) + heads


def _row(step: Step, width: int) -> Iterator[str]:
    x, y, z = (wide - 1 for wide in _columns(width))
    row = f"[ ]{step.step:>5}  {step.hole:<{width}} {step.x:>{x}} {step.y:>{y}} {step.z:>{z}}"
    turns = f"{step.turns:.1f} turns" if step.turns is not None else ""
    if len(row) + 2 + len(turns) <= WIDTH:
        yield f"{row}  {turns}".rstrip()
    else:
        yield row
        yield from [f"{' ' * 10}{turns}"] if turns else []


def _pecks(step: Step) -> Iterator[str]:
    if step.pecks:
        figures = " ".join(str(z) for z in step.pecks)
        yield from wrapped(f"pecks to {figures}", " " * 10, " " * 19)


def _tools(sheet: Sheet, setup: SetupSheet) -> Iterator[str]:
    """The tools of a listing by hole, named once."""
    yield _RULE
    seen: dict[int, Step] = {}
    for step in setup.steps:
        seen.setdefault(step.tool_number, step)
    for number, step in seen.items():
        yield from field_lines(f"TOOL {number}", [step.tool, speed_words(sheet, step)])
    yield from field_lines(
        "", [f"at every change touch the tool off on {setup.face.upper()} and set Z to 0"]
    )


def _hole_block(sheet: Sheet, block: Block) -> Iterator[str]:
    first = block.steps[0]
    yield from field_lines("HOLE", [f"{block.heading}", f"go to X {first.x}  Y {first.y}"])
    yield from field_lines("", block.before)
    yield f"    step  {'operation':<16}{'tool':>8}{_depth_head(sheet):>14}"
    for step in block.steps:
        turns = f"  {step.turns:.1f} turns" if step.turns is not None else ""
        tool = f"tool {step.tool_number}"
        yield f"[ ]{step.step:>5}  {step.operation:<16}{tool:>8}{step.z:>14}{turns}"
        yield from _pecks(step)
