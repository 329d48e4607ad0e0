"""Several pieces of a part on one table: what is made at each, in the piece's own axes.

What was made belongs to the piece in whose outline it lies, or to the nearest. Imports the scene
and `reading`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from millprep.base.findings import Finding, words
from millprep.base.records import frozen, replace
from millprep.model.scene import Pieces, Scene
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reading.milled_rooms import SidewaysCuts
from millprep.reading.moves import HoleStop, ProgramRun
from millprep.reading.simulate.solid import nearest_of

_NAMED = re.compile(r"PIECE 0*(\d+)\b[\s,]*")


@frozen
class Piece:
    """One of several: its number from 1, and its zero from the first's; 0 where it is alone.

    is_loaded : it is put in where the others were, and only taken to stand beside them
    """

    number: int = 0
    x_mm: float = 0.0
    y_mm: float = 0.0
    stock: Pieces = Pieces(())
    is_loaded: bool = False

    def holes(self, made: Iterable[MadeHole]) -> list[MadeHole]:
        """Those made in this piece."""
        made = list(made)
        if not self.number or not made:
            return made
        places = np.array([(hole.x_mm, hole.y_mm) for hole in made]).T
        mine = nearest_of(self.stock, places) == self.number - 1
        return [self._hole(hole) for hole, is_mine in zip(made, mine, strict=True) if is_mine]

    def _hole(self, hole: MadeHole) -> MadeHole:
        return replace(
            hole,
            x_mm=hole.x_mm - self.x_mm,
            y_mm=hole.y_mm - self.y_mm,
            operations=tuple(self._operation(one) for one in hole.operations),
        )

    def _operation(self, one: MadeOperation) -> MadeOperation:
        x = None if one.x_mm is None else one.x_mm - self.x_mm
        y = None if one.y_mm is None else one.y_mm - self.y_mm
        return replace(one, x_mm=x, y_mm=y)

    def run(self, run: ProgramRun) -> ProgramRun:
        """The program as this piece sees it; a stop that names another piece keeps its number."""
        if not self.number:
            return run
        shift = run.moves.shift - np.array([[self.x_mm], [self.y_mm], [0.0]])
        stops = tuple(self._stop(one) for one in run.hole_stops)
        return replace(run, moves=replace(run.moves, shift=shift), hole_stops=stops)

    def _stop(self, stop: HoleStop) -> HoleStop:
        named = _NAMED.match(stop.hole)
        if named is None or int(named[1]) != self.number:
            return stop
        return replace(stop, hole=stop.hole[named.end() :])

    def cuts(self, cuts: SidewaysCuts) -> SidewaysCuts:
        """Sideways cuts in its axes."""
        if not self.number or not len(cuts):
            return cuts
        place = np.array([[self.x_mm], [self.y_mm], [0.0]])
        return replace(cuts, start=cuts.start - place, end=cuts.end - place)

    def told(self, findings: Iterable[Finding]) -> Iterator[Finding]:
        """What was found, with the piece it is about."""
        for one in findings:
            place = "" if self.is_loaded else " (X{x_mm:3bare} Y{y_mm:3bare})"
            said = words(
                f"piece {{number}}{place}: {{said}}",
                number=self.number,
                x_mm=self.x_mm,
                y_mm=self.y_mm,
                said=one.said,
            )
            yield replace(one, said=said) if self.number else one


def pieces_of(
    scene: Scene | None, places_mm: Sequence[tuple[float, float]], *, are_loaded: bool = False
) -> list[Piece]:
    """The pieces on the table; one that is alone where no places are given.

    are_loaded : they are put in one after another
    """
    if scene is None or not isinstance(scene.stock, Pieces):
        return [Piece()]
    stock = scene.stock
    return [Piece(n, x, y, stock, are_loaded) for n, (x, y) in enumerate(places_mm, 1)]
