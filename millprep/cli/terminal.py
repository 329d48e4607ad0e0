"""Findings as they are shown: plain in a pipe or file, coloured and wrapped on a terminal."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Iterable
from contextlib import suppress
from typing import TextIO

from millprep.base.findings import Finding, format_finding, once_over_setups, worst_first

_COLOURS = {"stop": "1;31", "warning": "1;33", "note": "1;36"}
"""Bold red, yellow and cyan (ECMA-48, select graphic rendition)."""
_LEAST_WIDTH = 40
_WIDTH = 80  # where the terminal does not say
SHEET_WIDTH = 80


def shown(findings: Iterable[Finding], stream: TextIO | None = None) -> str:
    """Findings, worst first, what several setups have in common once.

    stream : that they go to; None for a file
    """
    told = [format_finding(one) for one in worst_first(once_over_setups(findings))]
    if not told or stream is None or not stream.isatty():
        return "".join(f"{one}\n" for one in told)
    return "\n".join(f"{coloured(wrapped(one, width(stream)), stream)}\n" for one in told)


def width(stream: TextIO) -> int:
    """Columns of a terminal."""
    with suppress(ValueError):
        return max(int(os.environ.get("COLUMNS", "")), _LEAST_WIDTH)
    with suppress(OSError, ValueError):
        return max(os.get_terminal_size(stream.fileno()).columns or _WIDTH, _LEAST_WIDTH)
    return _WIDTH


def wrapped(text: str, columns: int) -> str:
    """Lines folded to a width, what follows indented by two more than what it follows."""
    return "\n".join(
        textwrap.fill(
            line,
            columns,
            subsequent_indent=" " * (len(line) - len(line.lstrip()) + 2),
            replace_whitespace=False,
            break_on_hyphens=False,
            break_long_words=False,
        )
        for line in text.splitlines()
    )


def folded(text: str, stream: TextIO) -> str:
    """A line as it is, but on a terminal folded to its width."""
    return wrapped(text, width(stream)) if stream.isatty() else text


def coloured(text: str, stream: TextIO) -> str:
    """The finding with its severity in bold and colour, where the terminal may have colours."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM", "dumb") == "dumb":
        return text
    places = [(text.find(f"{word}:"), word) for word in _COLOURS if f"{word}:" in text]
    _, word = min(places)
    return text.replace(word, f"\033[{_COLOURS[word]}m{word}\033[0m", 1)
