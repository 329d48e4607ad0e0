"""Readings of a finished part as they were taken: over pins, from edges, sizes, gauges tried."""

from __future__ import annotations

from typing import Literal, get_args

from millprep.base.records import frozen

CheckKind = Literal[
    "edge to pin", "rim to pin", "over pins", "between pins", "edge to hole", "rim to hole",
    "size", "go", "no-go", "thread go", "thread no-go", "depth", "counterbore",
    "counterbore depth", "spotface", "countersink", "opened", "square",
]  # fmt: skip
"""What is measured or tried. Pins stand in holes; sizes are diameters."""
CHECK_KINDS: tuple[CheckKind, ...] = get_args(CheckKind)
PLACE_KINDS: frozenset[CheckKind] = frozenset(
    {"edge to pin", "rim to pin", "over pins", "between pins", "edge to hole", "rim to hole"}
)
"""Readings that say where holes are."""
EDGE_KINDS: frozenset[CheckKind] = frozenset({"edge to pin", "edge to hole"})
RIM_KINDS: frozenset[CheckKind] = frozenset({"rim to pin", "rim to hole"})
WALL_KINDS: frozenset[CheckKind] = frozenset({"edge to hole", "rim to hole"})
"""Without a pin: the wall that is left, up to the near side of the hole."""
PAIR_KINDS: frozenset[CheckKind] = frozenset({"over pins", "between pins"})
TRIED_KINDS: frozenset[CheckKind] = frozenset(
    {"go", "no-go", "thread go", "thread no-go", "square"}
)
"""Answered by yes or no; a thread's gauges by the turns that they go, too."""


@frozen
class Reading:
    """One reading.

    hole, to   : the part's names; `to` is the other hole, or the face in small letters, or ""
    value_mm   : a length; None where it is tried
    answer     : of what is tried: it goes in, it stands square; None where turns are given
    turns      : how far a thread's gauge went
    pins_mm    : as measured, in the hole and in the other; () where the file gives none
    off_mm     : how far the reading may be off, as the file says; None where it does not
    """

    line: int
    kind: CheckKind
    hole: str
    to: str = ""
    value_mm: float | None = None
    answer: bool | None = None
    turns: float | None = None
    pins_mm: tuple[float, ...] = ()
    off_mm: float | None = None


@frozen
class Readings:
    """A file of readings, in the order of its lines.

    empty : how many rows of it hold no reading yet
    marks : the part marks that stand in it, if any
    """

    path: str
    readings: tuple[Reading, ...]
    empty: int = 0
    marks: tuple[str, ...] = ()
