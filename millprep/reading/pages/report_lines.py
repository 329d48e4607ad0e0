"""The text of a report as the lines of a sheet with rules and margins.

    title / its heading, indented / an empty line / LABEL, and what it says, indented / ...

A label that ends in a colon begins a paragraph, which goes on in the first column; below one that
has no sentences of its own stand the rows of a table. Imports base.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.wording import wording
from millprep.reading.pages.lines import Line, text_lines

_RULE = "-" * 20
_SAID, _GOES_ON, _ROW = " " * 8, " " * 4, "[ ] "


def report_lines(data: bytes, sheet: str) -> list[Line]:
    """Lines as `lines` reads them. Raises UnreadableSheet."""
    groups = wording(sheet)
    labels = [name for name in groups if name.endswith(":")]
    bare = {name for name, group in groups.items() if not group.label.slots and not group.templates}
    title, *rest = text_lines(data)
    return [title, *_below(rest, labels, bare)]


def _below(lines: list[Line], labels: list[str], bare: set[str]) -> Iterator[Line]:
    begins = ""  # how what is indented begins; "" in the heading
    is_paragraph, is_apart = False, True
    for number, line in lines:
        words = line.strip(" ")
        label = next((one for one in labels if line.startswith(f"{one} ")), None)
        if not line:
            is_paragraph, is_apart = False, True
            continue
        if line.startswith(" "):
            go_on = _GOES_ON if line.startswith(_GOES_ON) else ""
            yield number, (begins or go_on) + words
        elif is_paragraph and label is None:
            yield number, _SAID + words
        else:
            if is_apart or not begins:
                yield number, _RULE
            begins = _ROW if line in bare else _SAID
            is_paragraph = label is not None
            yield number, label or line
            if label is not None:
                yield number, _SAID + line[len(label) :].strip(" ")
        is_apart = False
