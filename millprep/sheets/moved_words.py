"""What is moved to fit holes that are drilled and measured. Imports layers 0 to 4."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path

from millprep.model.part import Part
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures


def moved_lines(
    say: Sayer, part: Part, here: Collection[str], figures: Figures
) -> Iterator[Sentence]:
    """A sentence a hole of this setup that is moved; then those of the part taken as drilled."""
    said = part.as_measured
    if said is None:
        return
    for one in (one for one in said.moved if one.hole in here):
        x, y = (
            Shown(str(figures.shown(mm, axis)), figures.signed(mm, axis))
            for mm, axis in ((one.x_mm, "x"), (one.y_mm, "y"))
        )
        yield say("shifted-hole", hole=one.hole, x=x, y=y)
    if said.drilled:
        yield say("shifted-drilled", holes=list(said.drilled), by=Path(said.file).name)
    if said.turn_deg is not None:
        why = "another setup" if said.is_elsewhere else "few"
        yield say("shifted-turn", degrees=f"{said.turn_deg + 0.0:.3f}", why=why)
