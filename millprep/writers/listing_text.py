"""Lines of a sheet of text: labels in the margin, words wrapped beside them."""

from __future__ import annotations

import textwrap

WIDTH = 78
_INDENT = 8


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


def counted(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
