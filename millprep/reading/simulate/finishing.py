"""Reamers and boring tools in their bores: pecked, turned backwards, drawn out by rapid.

A reamer that goes back over what it has cut, or leaves faster than it cuts, scores the bore; turned
backwards it jams a chip between its land and the wall and loses its edge (common practice). Imports
`path`, `strokes`, `inside`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from millprep.base.findings import Severity
from millprep.reading.simulate.cutting import tool_turns
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.inside import goes, harms_by_hole, moves_inside, place, strokes_of
from millprep.reading.simulate.path import Flags, Floats, Path
from millprep.reading.simulate.strokes import Strokes
from millprep.reference.shared_rules import TOUCH_MM

_SLIPS: tuple[tuple[Severity, str, str, str], ...] = (
    (
        "warning",
        "reamer-pecked",
        "a reamer is pecked",
        "feed it down in one go, and feed it out: G85",
    ),
    (
        "warning",
        "reamer-by-rapid",
        "a reamer is drawn out of its hole by rapid",
        "feed it out, still turning: G85",
    ),
    (
        "stop",
        "reamer-backwards",
        "a reamer is turned backwards in its hole",
        "let it turn on as it cuts: G85",
    ),
    (
        "warning",
        "bore-scored",
        "a boring tool is drawn out by rapid with the spindle turning",
        "feed it out (G85), or stop the spindle first (G86)",
    ),
)
"""How bad, kind, what and remedy, in the order in which the flags of the moves are worked out."""


def finishing_harms(path: Path, cuts: Flags, before: Floats, strokes: Strokes) -> list[Harm]:
    """What spoils a reamed or bored hole, each once a hole."""
    is_reamer, is_borer = path.has_kind("reamer"), path.has_kind("boring head")
    if not (is_reamer | is_borer).any():
        return []
    cuts = cuts & (path.stroke >= 0)
    inner = moves_inside(path, cuts, strokes)
    way = np.where(path.moves.rpm > 0, path.moves.spindle * tool_turns(path), 0)
    is_out = inner & path.is_rapid & goes(path) & ~path.is_down
    solid = strokes.solid[np.maximum(path.stroke, 0)]
    with np.errstate(invalid="ignore"):  # cuts on from below the mouth, and comes from higher up
        again = cuts & (before < solid - TOUCH_MM) & (path.start[2] > before + TOUCH_MM)
    pecked = is_reamer & again
    backwards = is_reamer & inner & (way < 0)
    told = strokes_of(path, backwards & cuts)  # as cutting the wrong way round

    flags = (
        pecked,
        is_reamer & is_out & ~strokes_of(path, pecked),
        backwards & ~told,
        is_borer & is_out & (way != 0),
    )

    def words(what: str, remedy: str) -> Callable[[int], tuple[str, str]]:
        return lambda row: (f"{what} at {place(path, row)}", remedy)

    return [
        harm
        for bad, (severity, kind, what, remedy) in zip(flags, _SLIPS, strict=True)
        for harm in harms_by_hole(
            path, bad, severity, kind, words(what, remedy), is_one_slip=severity == "warning"
        )
    ]
