"""What a finished hole of each kind is, a row a kind: its word, its shape, what its size is worth.

How it is made stands in `planning/making`, what the making may leave in the witness.
"""

from __future__ import annotations

from millprep.base.records import frozen


@frozen
class HoleKind:
    """A kind of hole, finished.

    word         : its key in a part file; done : what a sheet calls the work ("reamed")
    is_as_drilled : its size is what a drill leaves, so that two halves meet with no finish
    is_hole       : False where there is no hole yet
    is_true      : round and to size: a pin stands square in it, a finder finds its middle
    is_reamed, has_flat_floor : what is the kind's own
    takes_limits : whether a fit or limits of size belong to it
    over_um      : least and most over its size where the drawing gives no limits (common practice)
    """

    word: str
    done: str
    is_as_drilled: bool = False
    is_hole: bool = True
    is_true: bool = False
    is_reamed: bool = False
    has_flat_floor: bool = False
    takes_limits: bool = True
    over_um: tuple[float, float] = (0.0, 0.0)

    def __str__(self) -> str:
        return self.word


DRILL = HoleKind("drill", "drilled", is_as_drilled=True, over_um=(0.0, 150.0))
TAP = HoleKind("tap", "tapped", takes_limits=False)
REAM = HoleKind("ream", "reamed", is_true=True, is_reamed=True, over_um=(0.0, 20.0))
CLEAR = HoleKind("clear", "clear", is_as_drilled=True, takes_limits=False, over_um=(0.0, 150.0))
BORE = HoleKind("bore", "bored", is_true=True, has_flat_floor=True, over_um=(0.0, 30.0))
SPOT = HoleKind("spot", "spotted", is_as_drilled=True, is_hole=False, takes_limits=False)
"""No hole yet: a cone at its place, in a part's own sheets that leave the rest for later."""

MARK = HoleKind("mark", "marked", is_as_drilled=True, is_hole=False, takes_limits=False)
"""No hole yet: the mark of a punch or of a transfer screw, which no cutter makes."""

HOLE_KINDS = {kind.word: kind for kind in (DRILL, TAP, REAM, CLEAR, BORE)}
"""By the word in the part file, in the order that messages name them."""

FINISHING = tuple(word for word, kind in HOLE_KINDS.items() if not kind.is_as_drilled)
"""Operations of which whichever is there gives a hole its size; where none is, a drill does."""

TRUE_DONE = {word: kind.done for word, kind in HOLE_KINDS.items() if kind.is_true}
"""By the operation that leaves a hole round and to size, what a sheet calls the work."""
