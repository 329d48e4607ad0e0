"""The pages of `lookup` as text: one screen, the line that was asked for first. Layout only.

A page is a headline and rows; the short one leaves out those of `_FULL_ONLY`.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Sequence
from typing import Any

from millprep.lookup.readings import Reading
from millprep.lookup.rows import ROWS, Row, title_of
from millprep.lookup.sum_rows import sketch_of

WIDTH = 80
_LABEL = 22
_MOST_OTHERS = 6
_ASKED = {"cut": "speed", "clearance": "clearance, normal", "material": "drill"}
_PLAINLY = ("speed", "diameter", "limits", "together", "holes", "crank", "handle")
"""Labels that the title makes plain."""
_FULL_ONLY = {
    "thread": ("form", "pitch diameter", "leaves thread"),
    "drill": ("metric 0.05", "stub"),
    "tapping drills": ("convention", "all,"),
    "material": ("also called", "carbide"),
    "fit": ("size",),
}
"""Rows that only the full page has, by how their labels begin."""


def text_of(
    readings: list[Reading], full: bool = False, sketch: bool = False, width: int = WIDTH
) -> str:
    """The likeliest reading, then a line for each other; with `full` all that is known of all.

    width : of the first line; the rows keep to 80 columns
    """
    shown = sorted(readings, key=lambda each: each["kind"] != "pair")
    if full:
        pages = [_page(each, full, sketch, width) for each in shown]
        if len(pages) > 1:
            pages.insert(0, [f"{len(readings)} readings, likeliest first"])
        return "\n\n".join("\n".join(page) for page in pages) + "\n"
    first, *rest = _page(shown[0], full, sketch, width)
    others = [line for each in shown[1 : 1 + _MOST_OTHERS] for line in _other(shown[0], each)]
    if len(shown) > 1 + _MOST_OTHERS:
        others.append(f"  and {len(shown) - 1 - _MOST_OTHERS} more: --full")
    return "\n".join([first, *rest[:-1], *others, rest[-1]]) + "\n"


def _page(reading: Reading, full: bool, sketch: bool, width: int) -> list[str]:
    rows = ROWS[reading["kind"]](reading)
    asked = reading.get("asked") or _ASKED.get(reading["kind"], "")
    lead = next((row for row in rows if row[0] == asked), None) or rows[0]
    left_out = () if full else _FULL_ONLY.get(reading["kind"], ())
    others = [row for row in rows if row != lead and not row[0].startswith(left_out)]
    lines = textwrap.wrap(_headline(reading, lead), width, subsequent_indent="  ")
    lines += [line for row in others for line in _row(*row)]
    if sketch and (drawn := sketch_of(reading)):
        lines += ["", *drawn, ""]
    if reading.get("not_used"):
        lines += _row("not used", ", ".join(reading["not_used"]))
    if reading["note"] and (full or reading["kind"] == "sum"):
        lines += _row("note", reading["note"])
    source = reading["source"] if full else reading["source_short"]
    return [*lines, "\n".join(_row("source", source))]


def _headline(reading: Reading, lead: Row) -> str:
    label, value = lead[0], re.sub(r" mm +([\d.]+) in\b", r" mm (\1 in)", lead[1]).strip()
    if reading.get("sum") == "length":
        return f"{label} {value}"
    return f"{title_of(reading)}: {value if label in _PLAINLY else f'{label} {value}'}"


def _other(first: Reading, reading: Reading) -> list[str]:
    """Another reading in a line, and how to ask for it where it is another thing."""
    rows = ROWS[reading["kind"]](reading)
    asked = reading.get("asked") or _ASKED.get(reading["kind"], "")
    lead = next((row for row in rows if row[0] == asked), rows[0])
    belongs = first["kind"] == "pair" or reading["kind"] == "tapping drills"
    head = _headline(reading, lead)
    ask = ask_words(reading)
    words = head if belongs else f"or {head}"
    if not belongs and not head.startswith(f"{ask}:"):
        words += f'; ask "{ask}"'
    return textwrap.wrap(words, WIDTH, initial_indent="  ", subsequent_indent="     ")


def ask_words(reading: Reading) -> str:
    """A question that has this reading first."""
    kind, name = reading["kind"], reading.get("designation")
    if kind == "cut":
        return f"{reading['operation']} {name} {reading['material'] or ''}".strip()
    if kind == "sum":
        ask = _ASK_SUM.get(reading["sum"])
        return str(reading["sum"]) if ask is None else ask(reading)
    if kind == "tapping drills":
        return f"{name} {reading['percent']:g}%"
    if kind == "fit":
        return f"{reading['size_mm']:g} mm {reading['class']}"
    return {
        "drill": f"{name} drill",
        "clearance": f"clearance {name}",
        "hole": f"{name} hole",
        "purpose": f"{name} {reading.get('size_mm', 0):g} mm",
        "engagement": f"engagement {name} {reading.get('material')}",
    }.get(kind, str(name))


_ASK_SUM: dict[str, Callable[[Reading], str]] = {
    "dividing": lambda each: (
        f"divide {each['given']['divisions']} {each['given']['ratio']:g}:1"
        if "divisions" in each["given"]
        else f"index {each['given']['angle_deg']:g} deg {each['given']['ratio']:g}:1"
    ),
    "thread-percentage": lambda each: (
        f"{each['given']['thread']} {each['given']['drill']} drill percentage"
    ),
    "dial-turns": lambda each: (
        f"turns {each['given']['length_mm']:g} mm lead {each['given']['lead_mm']:g} mm "
        f"{each['given']['divisions']:g} divisions"
    ),
}


def _row(label: str, value: str) -> list[str]:
    return textwrap.wrap(
        value,
        WIDTH,
        initial_indent=f"  {label:<{_LABEL - 3}} ",
        subsequent_indent=" " * _LABEL,
        break_on_hyphens=False,
    )


# --- whole tables ---------------------------------------------------------------------------------


def table_text(table: dict[str, Any]) -> str:
    """A whole table: in columns where 80 hold them, else a block for each row."""
    cells = [[_shown(value) for value in row] for row in table["rows"]]
    heads = [column.split("_") for column in table["columns"]]
    widths = [
        max(map(len, (*head, *column)))
        for head, column in zip(heads, zip(*cells, strict=True), strict=True)
    ]
    lines = [table["name"].upper(), ""]
    if sum(widths) + 2 * len(widths) <= WIDTH:
        depth = max(map(len, heads))
        stacked = zip(*([""] * (depth - len(head)) + head for head in heads), strict=True)
        lines += [_in_columns(row, widths, table["rows"]) for row in (*stacked, *cells)]
    else:
        for row in cells:
            lines.append(row[0])
            for head, value in zip(heads[1:], row[1:], strict=True):
                lines += _row(" ".join(head), value) if value else []
    lines.append("")
    if table["note"]:
        lines += _row("note", table["note"])
    for key, note in table["row_notes"].items():
        lines += _row(key, note)
    return "\n".join([*lines, *_row("source", table["source"])]) + "\n"


def _shown(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(map(str, value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _in_columns(row: Sequence[str], widths: list[int], values: list[list[Any]]) -> str:
    """Words to the left, figures to the right."""
    parts = [
        f"{cell:<{width}}" if isinstance(values[0][place], str) else f"{cell:>{width}}"
        for place, (cell, width) in enumerate(zip(row, widths, strict=True))
    ]
    return ("  " + "  ".join(parts)).rstrip()
