"""The dial sheet as text, within 80 columns. Lays a dial sheet out. Layers 0 to 2, sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from millprep.base.outfile import BLANK_MARK
from millprep.planning.dials import Setting
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.dials import (
    DialSetup,
    DialSheet,
    DialStep,
    back_offs,
    below,
    setting_words,
    where_sentence,
)
from millprep.sheets.setup_sheet import Block, SetupSheet, Step
from millprep.writers.listing_text import (
    WIDTH,
    counted,
    field_lines,
    remarks_of,
    speed_words,
    wrapped,
)

_RULE = "-" * WIDTH
_STEP_COLUMNS = (9, 8, 8, 8, 12)  # X turns and figure, Y turns and figure, Z
_PLACE_COLUMNS = (10, 10, 9, 10, 10, 9)  # X, by rule, left over; the same for Y
_START = 10  # where names begin in a row of a step
_PLACE_START = 4


def dials_text(dials: DialSheet) -> str:
    """The whole sheet, one setup after another, ending in the blank mark of `outfile`."""
    pages = ["\n".join(_setup(dials, one)) for one in dials.setups]
    foot = [_RULE, *field_lines("TAKE CARE", AT_THE_MILL), "", BLANK_MARK, ""]
    return "\n\n\n".join(pages) + "\n" + "\n".join(foot)


def _setup(dials: DialSheet, one: DialSetup) -> Iterator[str]:
    sheet, setup = dials.sheet, one.setup
    right = f"setup {setup.number} of {sheet.setup_count}: {setup.face.upper()} up"
    yield from wrapped(f"{sheet.part.upper():<{WIDTH - len(right)}}{right}", "", "")
    yield from wrapped(f"by dial; {sheet.stock}", "", "    ")
    drawing = f"drawing {sheet.drawing}; " if sheet.drawing else ""
    yield from wrapped(f"{drawing}part mark {sheet.mark}; figures in {sheet.units}", "", "    ")
    for label, words in (("mind", sheet.advice), ("note", sheet.note)):
        if words:
            yield from wrapped(f"{label}: {words}", "", "    ")
    yield _RULE
    if setup.turn:
        yield from field_lines("TURN", [setup.turn])
    yield from field_lines("LIES", [setup.lies])
    yield from field_lines("HOLD", setup.hold)
    yield from field_lines("ZERO", [*map(str, one.zero)])
    if setup.skew:
        yield from field_lines("SKEW", [setup.skew])
    yield from field_lines("DIALS", [*map(str, one.dials)])
    if setup.head:
        yield from field_lines("HEAD", setup.head)
    if setup.hand:
        yield from field_lines("HAND", [setup.hand])
    yield _RULE
    yield from _places(dials, one)
    if any(not block.is_tool for block in setup.blocks):
        yield from _tools(dials, setup.steps)
    tools = [block for block in setup.blocks if block.is_tool]
    for index, block in enumerate(setup.blocks, 1):
        yield _RULE
        if block.is_tool:
            yield from _tool_block(dials, one, block, f"change {index} of {len(tools)}")
        else:
            yield from _hole_block(dials, one, block)
    yield _RULE
    yield from field_lines("DONE", [setup.done])
    if one.recover:
        yield from field_lines("RECOVER", [*map(str, one.recover)])
    yield from field_lines("ASSUMED", ["; ".join(dials.assumed) + "."])
    if remarks := remarks_of(dials.findings, setup):
        yield from field_lines("REMARKS", remarks)


def _in_columns(words: Sequence[str], columns: Sequence[int]) -> str:
    return "".join(f"{each:>{wide}}" for each, wide in zip(words, columns, strict=True))


def _row(start: str, name: str, width: int, figures: str) -> Iterator[str]:
    """A name and its figures; a name too long for its column has the figures on the next line."""
    if len(name) <= width:
        yield f"{start}{name:<{width}}{figures}"
    else:
        yield f"{start}{name}"
        yield f"{' ' * (len(start) + width)}{figures}"


def _name_width(names: Sequence[str], start: int, columns: Sequence[int]) -> int:
    return min(max(map(len, names)), WIDTH - start - sum(columns))


def where_words(setup: SetupSheet) -> str:
    """What stands in the table of places."""
    return str(where_sentence(is_askew=bool(setup.skew)))


def _places(dials: DialSheet, one: DialSetup) -> Iterator[str]:
    """Where each hole lies from zero: a rule betrays a lost turn."""
    places = one.places
    unit = "mm" if dials.sheet.units == "mm" else "in"
    width = _name_width([place.hole for place in places], _PLACE_START, _PLACE_COLUMNS)
    heads = (f"X {unit}", "by rule", "beyond", f"Y {unit}", "by rule", "beyond")
    yield from field_lines("WHERE", [where_words(one.setup)])
    yield f"{'    hole':<{_PLACE_START + width}}{_in_columns(heads, _PLACE_COLUMNS)}"
    for place in places:
        figures = [
            (place.shown[axis], place.by_rule[axis].removesuffix(f" {unit}"), place.left_over[axis])
            for axis in (0, 1)
        ]
        columns = _in_columns([*figures[0], *figures[1]], _PLACE_COLUMNS)
        yield from _row(" " * _PLACE_START, place.hole, width, columns)


def _depth_head(dials: DialSheet) -> str:
    return "down to Z" if dials.sheet.has_z_readout else "quill to Z"


def _tool_block(dials: DialSheet, one: DialSetup, block: Block, change: str) -> Iterator[str]:
    first = block.steps[0]
    yield from field_lines(f"TOOL {first.tool_number}", [block.heading])
    holes = counted(len({step.hole for step in block.steps}), "hole")
    yield from field_lines("", [f"{speed_words(dials.sheet, first)}; {holes}; {change}"])
    yield from field_lines("", block.before)
    names = [words for s in block.steps for words in (s.hole, f"{s.operation} at")]
    width = _name_width(names, _START, _STEP_COLUMNS)
    heads = ("X turns", "figure", "Y turns", "figure", _depth_head(dials))
    for operation, run in groupby(block.steps, key=lambda step: step.operation):
        title = f"    step  {operation} at"
        yield f"{title:<{_START + width}}{_in_columns(heads, _STEP_COLUMNS)}"
        for step in run:
            dialled = one.steps[step.step]
            settings = [*_pair(dialled.x.setting), *_pair(dialled.y.setting), str(step.z)]
            columns = _in_columns(settings, _STEP_COLUMNS)
            yield from _row(f"[ ]{step.step:>5}  ", step.hole, width, columns)
            yield from _below(dialled, with_back_offs=True)
    yield from field_lines("", block.after)


def _pair(setting: Setting) -> tuple[str, str]:
    return turns_shown(setting), str(setting.reading)


def turns_shown(setting: Setting) -> str:
    """Whole turns, with a minus on the other side of zero."""
    return f"{'-' if setting.negative else ''}{setting.turns}"


def _below(dialled: DialStep, *, with_back_offs: bool) -> Iterator[str]:
    """What hangs on a row: where to go back past first, turns of a tap, pecks, the Z dial."""
    lines = [*map(str, back_offs(dialled))] if with_back_offs else []
    step = dialled.step
    if step.turns is not None:
        lines.append(f"{step.turns:.1f} turns")
    if step.pecks:
        lines.append(f"pecks to {' '.join(str(z) for z in step.pecks)}")
    lines += map(str, below(dialled))
    for line in lines:
        yield from wrapped(line, " " * 10, " " * 19)


def _tools(dials: DialSheet, steps: Sequence[Step]) -> Iterator[str]:
    """The tools of a sheet by hole, named once."""
    yield _RULE
    seen: dict[int, Step] = {}
    for step in steps:
        seen.setdefault(step.tool_number, step)
    for number, step in seen.items():
        yield from field_lines(f"TOOL {number}", [step.tool, speed_words(dials.sheet, step)])
    yield from field_lines("", ["at every change touch the tool off on the face that is up"])


def _hole_block(dials: DialSheet, one: DialSetup, block: Block) -> Iterator[str]:
    dialled = one.steps[block.steps[0].step]
    yield from field_lines("HOLE", [block.heading])
    x, y = (setting_words(wound.setting) for wound in (dialled.x, dialled.y))
    yield from field_lines("", [f"set X {x}; Y {y}", *map(str, back_offs(dialled)), *block.before])
    yield f"    step  {'operation':<16}{'tool':>8}{_depth_head(dials):>14}"
    for step in block.steps:
        tool = f"tool {step.tool_number}"
        yield f"[ ]{step.step:>5}  {step.operation:<16}{tool:>8}{step.z:>14}"
        yield from _below(one.steps[step.step], with_back_offs=False)
