"""The list of tools to pull as text, JSON and CSV. Layers 0 to 2, planning's data, sheet."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Sequence
from typing import Any

from millprep.outfile import BLANK_MARK
from millprep.planning.pull_list import Pulled
from millprep.sheet_words import tool_line

WIDTH = 78
_CSV_COLUMNS = (
    "tool_number", "tool", "diameter_mm", "in_drawer", "operations", "setups", "holes",
    "deepest_mm",
)  # fmt: skip


def tools_text(part: str, mark: str, pulled: Sequence[Pulled]) -> str:
    """What to lay out on the bench, in order of use, with a box to tick."""
    lines = [f"{part.upper()}: tools in order of use; part mark {mark}", "-" * WIDTH]
    for one in pulled:
        lines.append(f"[ ] {one.number:>3}  {tool_line(one.tool)}")
        if not one.in_drawer:
            lines.append(" " * 9 + "NOT IN THE DRAWER")
        several = "s" if len(one.setups) > 1 else ""
        setups = f"setup{several} " + ", ".join(map(str, one.setups))
        use = (
            f"{', '.join(one.operations)}; {setups}; reaches {one.deepest_mm:.1f} mm: "
            f"{', '.join(one.holes)}"
        )
        lines += textwrap.wrap(
            use, WIDTH, initial_indent=" " * 9, subsequent_indent=" " * 9, max_lines=3,
            placeholder=" ...", break_on_hyphens=False,
        )  # fmt: skip
    missing = sum(not one.in_drawer for one in pulled)
    lines += ["-" * WIDTH, _count_words(len(pulled), missing), ""]
    return "\n".join([*lines, BLANK_MARK, ""])


def _count_words(count: int, missing: int) -> str:
    tools = f"{count} tool{'' if count == 1 else 's'}"
    if not missing:
        return f"{tools}, all in the drawer."
    return f"{tools}; not in the drawer: {missing}."


def _tool_json(one: Pulled) -> dict[str, Any]:
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
    }


def tools_json(part: str, mark: str, pulled: Sequence[Pulled]) -> dict[str, Any]:
    """The list as one JSON object; `missing` repeats what the drawer lacks."""
    tools = [_tool_json(one) for one in pulled]
    missing = [tool["tool"] for tool in tools if not tool["in_drawer"]]
    return {"part": part, "part_mark": mark, "tools": tools, "missing": missing, "mark": BLANK_MARK}


def tools_csv(pulled: Sequence[Pulled]) -> str:
    """One row a tool, header first."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(_CSV_COLUMNS)
    for one in pulled:
        writer.writerow(
            [
                one.number, tool_line(one.tool), one.tool.diameter_mm,
                "yes" if one.in_drawer else "no", "; ".join(one.operations),
                " ".join(map(str, one.setups)), "; ".join(one.holes), f"{one.deepest_mm:.3f}",
            ]
        )  # fmt: skip
    return stream.getvalue()
