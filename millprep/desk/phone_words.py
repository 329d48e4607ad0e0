"""What is said of ticks: where a part stands, and what a new issue spoils. Imports `issues`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from millprep.desk.issues import Issue, Newest, spoiled
from millprep.desk.ticks import Record, Tick


def standing_words(record: Record, issues: Mapping[str, Sequence[int]]) -> str:
    """14 of 25 done, piece 2 of 3; "" where nothing was ticked.

    issues : of each part mark the steps of a piece and the pieces
    """
    rows = record.rows()
    if not rows:
        return ""
    mark, piece = rows[-1].part_mark, rows[-1].piece
    done = sum(
        one.done and one.key[1] != "" and (one.part_mark, one.piece) == (mark, piece)
        for one in record.last().values()
    )
    steps, pieces = issues.get(mark, (0, 0))
    words = f"{done} of {steps} done" if steps else f"{done} done"
    if pieces > 1:
        return f"{words}, piece {piece} of {pieces}"
    return words if pieces or piece == 1 else f"{words}, piece {piece}"


def newer_words(issue: Issue, newest: Newest, ticks: Iterable[Tick]) -> dict[str, Any] | None:
    """What a phone with that issue is told of the newest; None where it has it.

    issue : "" where there is none to take; spoils : steps that are done and otherwise there
    """
    new = newest.issue
    if new is None:
        said = f"The part is being changed on the PC, and has no sheet just now: {newest.why}."
        return {"issue": "", "said": f"{said} These figures stay as they are.", "spoils": []}
    if new.id == issue.id:
        return None
    done = [(one.piece, one.key) for one in ticks if one.done and one.part_mark == issue.mark]
    is_batch = issue.pieces > 1
    spoils = [
        f"{f'piece {piece}, ' * is_batch}step {step.step} of setup {step.setup},"
        f" {step.hole} ({step.operation}): {why}"
        for piece, step, why in spoiled(issue, new, done)
    ]
    return {"issue": new.id, "said": _said(issue, new, len(spoils)), "spoils": spoils}


def _said(issue: Issue, new: Issue, spoils: int) -> str:
    said = f"The new sheet has the stamp {new.mark}."
    if new.mark == issue.mark:
        said = "The part is the same; the way to make it was changed"
        said += f", for {new.pieces} pieces." if new.pieces != issue.pieces else "."
    if spoils:
        return f"{said} Done already, and otherwise there:"
    return f"{said} Of what is done nothing is otherwise there."
