"""What stands on the card beside a program that has no comments. Imports `records` only."""

from __future__ import annotations

from millprep.base.records import frozen


@frozen
class ToolCard:
    """Tool lines, the words of each stop in the order in which the control comes to them, and what
    would stand at the program's head."""

    tools: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
