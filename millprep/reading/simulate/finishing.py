"""Reamers and boring tools in their bores: pecked, turned backwards, drawn out by rapid.

A reamer that goes back over what it has cut, or leaves faster than it cuts, scores the bore; turned
backwards it jams a chip between its land and the wall and loses its edge (common practice). Imports
`dry_run`, `findings` and `slips`.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.reading.simulate import slips
from millprep.reading.simulate.cutting import tool_turns
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, holes_of
from millprep.reference.shared_rules import TOUCH_MM


def finishing_faults(dry: DryRun) -> Iterator[Found]:
    """What spoils a reamed or bored hole, each once a hole."""
    path, before = dry.path, dry.before
    is_reamer = path.uses(lambda use: use.is_reaming)
    is_borer = path.uses(lambda use: use.is_boring)
    if not (is_reamer | is_borer).any():
        return
    cuts = dry.cuts & (path.stroke >= 0)
    inner = dry.inside(cuts)
    way = np.where(~(path.moves.rpm <= 0), path.moves.spindle * tool_turns(path), 0)
    is_out = inner & path.is_rapid & path.changes_height & ~path.is_down
    # cuts on from below the mouth, and comes from higher up
    again = cuts & (before < path.of_stroke(dry.strokes.solid) - TOUCH_MM)
    pecked = is_reamer & again & (path.start[2] > before + TOUCH_MM)
    backwards = is_reamer & inner & (way < 0)
    told = path.with_strokes(backwards & cuts)  # as cutting the wrong way round
    by_rapid = is_reamer & is_out & ~path.with_strokes(pecked)
    yield from holes_of(path, slips.REAMER_PECKED, pecked, True)
    yield from holes_of(path, slips.REAMER_BY_RAPID, by_rapid, True)
    yield from holes_of(path, slips.REAMER_BACKWARDS, backwards & ~told)
    yield from holes_of(path, slips.BORE_SCORED, is_borer & is_out & (way != 0), True)
