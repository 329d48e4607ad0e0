"""The list of tools to pull as text, JSON and CSV. Layers 0 to 2, planning's data, sheet."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.base.outfile import BLANK_MARK
from millprep.base.plain_text import csv_text
from millprep.model.tools import Cutter
from millprep.planning.belts import Belts
from millprep.planning.pull_list import Pulled
from millprep.planning.stand_ins import StandIn
from millprep.sheets.words import tool_line

WIDTH = 78
_CSV_COLUMNS = (
    "tool_number", "tool", "diameter_mm", "in_drawer", "operations", "setups", "holes",
    "deepest_mm", "stand_ins",
)  # fmt: skip


StandIns = Mapping[Cutter, Sequence[StandIn]]
"""Of the tools that the drawer lacks, best first."""


def tools_text(
    part: str, mark: str, pulled: Sequence[Pulled], stand_ins: StandIns, belts: Belts | None
) -> str:
    """What to lay out on the bench, in order of use, with a box to tick."""
    lines = [f"{part.upper()}: tools in order of use; part mark {mark}", "-" * WIDTH]
    for one in pulled:
        lines.append(f"[ ] {one.number:>3}  {tool_line(one.tool)}")
        if not one.in_drawer:
            lines.append(" " * 9 + "NOT IN THE DRAWER")
            lines += _stand_in_lines(stand_ins.get(one.tool, ()))
        several = "s" if len(one.setups) > 1 else ""
        setups = f"setup{several} " + ", ".join(map(str, one.setups))
        use = (
            f"{', '.join(one.operations)}; {setups}; reaches {one.deepest_mm:.1f} mm: "
            f"{', '.join(one.holes)}"
        )
        lines += textwrap.wrap(
            use,
            WIDTH,
            initial_indent=" " * 9,
            subsequent_indent=" " * 9,
            max_lines=3,
            placeholder=" ...",
            break_on_hyphens=False,
        )
    missing = sum(not one.in_drawer for one in pulled)
    lines += ["-" * WIDTH, _count_words(len(pulled), missing)]
    lines += _belt_lines(belts) if belts is not None else []
    return "\n".join([*lines, "", BLANK_MARK, ""])


def _stand_in_lines(stand_ins: Sequence[StandIn]) -> Iterator[str]:
    """What could be used instead, each with what comes of it."""
    if not stand_ins:
        yield " " * 9 + "nothing in the drawer comes near"
    for rank, one in enumerate(stand_ins, 1):
        words = f"{rank}. {one.tool.words} {one.tool.kind}: {one.consequence}"
        yield from textwrap.wrap(
            words, WIDTH, initial_indent=" " * 9, subsequent_indent=" " * 12, break_on_hyphens=False
        )


def _belt_lines(belts: Belts) -> Iterator[str]:
    """The belt, from setting to setting, and what its few changes cost."""
    yield "-" * WIDTH
    yield "BELT     in order of use; a tool may run from half its ideal speed to 1.15 of it"
    for step in belts.steps:
        several = "s" if len(step.tools) > 1 else ""
        numbers = ", ".join(map(str, step.tools))
        words = f"setup {step.setup}: {step.rpm:g} rev/min for tool{several} {numbers}"
        if step.outside:
            words += f" (no step suits {', '.join(map(str, step.outside))}: the nearest is taken)"
        yield from textwrap.wrap(words, WIDTH, initial_indent=" " * 9, subsequent_indent=" " * 18)
    changes = f"{belts.changes} change{'' if belts.changes == 1 else 's'}"
    each = f"each tool's own best step would need {belts.changes_at_best}"
    cost = f"and cut {belts.longer_s:.0f} s sooner" if belts.longer_s >= 0.5 else "and save no time"
    yield f"         {changes}; {each} {cost}."


def _count_words(count: int, missing: int) -> str:
    tools = f"{count} tool{'' if count == 1 else 's'}"
    if not missing:
        return f"{tools}, all in the drawer."
    return f"{tools}; not in the drawer: {missing}."


def _tool_json(one: Pulled, stand_ins: Sequence[StandIn]) -> dict[str, Any]:
    return {
        "tool_number": one.number,
        "tool": tool_line(one.tool),
        "kind": one.tool.kind,
        "diameter_mm": one.tool.diameter_mm,
        "in_drawer": one.in_drawer,
        "operations": list(one.operations),
        "setups": list(one.setups),
        "holes": list(one.holes),
        "deepest_mm": round(one.deepest_mm, 3),
        "stand_ins": [
            {
                "tool": tool_line(each.tool),
                "kind": each.tool.kind,
                "diameter_mm": each.tool.diameter_mm,
                "consequence": each.consequence,
            }
            for each in stand_ins
        ],
    }


def _belts_json(belts: Belts | None) -> dict[str, Any] | None:
    if belts is None:
        return None
    return {
        "steps": [
            {
                "setup": step.setup,
                "rpm": step.rpm,
                "tools": list(step.tools),
                "outside": list(step.outside),
            }
            for step in belts.steps
        ],
        "changes": belts.changes,
        "changes_at_best": belts.changes_at_best,
        "longer_s": round(belts.longer_s, 1),
    }


def tools_json(
    part: str, mark: str, pulled: Sequence[Pulled], stand_ins: StandIns, belts: Belts | None
) -> dict[str, Any]:
    """The list as one JSON object; `missing` repeats what the drawer lacks."""
    tools = [_tool_json(one, stand_ins.get(one.tool, ())) for one in pulled]
    missing = [tool["tool"] for tool in tools if not tool["in_drawer"]]
    return {
        "part": part,
        "part_mark": mark,
        "tools": tools,
        "missing": missing,
        "belts": _belts_json(belts),
        "mark": BLANK_MARK,
    }


def tools_csv(pulled: Sequence[Pulled], stand_ins: StandIns) -> str:
    """One row a tool, header first."""
    rows = [
        (
            one.number,
            tool_line(one.tool),
            one.tool.diameter_mm,
            "yes" if one.in_drawer else "no",
            "; ".join(one.operations),
            " ".join(map(str, one.setups)),
            "; ".join(one.holes),
            f"{one.deepest_mm:.3f}",
            " | ".join(
                f"{each.tool.words} {each.tool.kind}: {each.consequence}"
                for each in stand_ins.get(one.tool, ())
            ),
        )
        for one in pulled
    ]
    return csv_text([_CSV_COLUMNS, *rows])
