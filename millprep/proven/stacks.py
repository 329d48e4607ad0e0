"""A stack of an assembly, as a part that every sheet can be made of."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from millprep.base.findings import MillprepError, stopped
from millprep.model.carrying import DRILLED
from millprep.proven.assembly import judged

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop

    PartOrFile = Part | Path


def part_or_stack(
    file: Path | str, stack: str | None = None, shop: Shop | Path | str = "metric"
) -> PartOrFile:
    """The part file, or the stack of that name of an assembly file; or the joint of that name:
    its members as its holes are carried over.

    Raises MillprepError with the faults of all the files, and where there is no such stack.
    """
    if stack is None:
        return Path(file)
    from millprep.assembly.carrying import carried_joints, carried_part
    from millprep.assembly.stack_part import stack_part
    from millprep.proven.files import shop_of

    found = shop_of(shop)
    of = judged(file, found)
    joints = carried_joints(of, stack)
    return carried_part(of, joints, found) if joints else stack_part(of, stack)


_BY_HAND: dict[str, str] = {
    "jig": "each hole is found with a pin first",
    "readings": "each hole is read off first",
    "transfer punch": "a punch is struck by hand",
    "transfer screw": "the marks are struck by hand",
}
"""Why no program carries holes over so."""


def is_by_hand(part: Part) -> bool:
    """Whether its sheet is a page of its own, not a listing of what a mill does."""
    return part.carrying is not None and part.carrying.by not in DRILLED


def refuse_program(part: Part | Path | None) -> None:
    """Raises MillprepError for holes that no program carries over."""
    of = getattr(part, "carrying", None)
    if of is not None and of.by in _BY_HAND:
        message = f"{of.joint}: no program carries holes over by {of.by}: {_BY_HAND[of.by]}"
        raise _stopped(part, message, "its sheet: {}")


def refuse_sheet(part: Part | Path, sheet: str) -> None:
    """Raises MillprepError for a sheet that there is none of, for holes that are carried over."""
    of = getattr(part, "carrying", None)
    if of is None or (sheet == "tools" and of.by in (*DRILLED, "readings")):
        return
    message = f"{of.joint}: there is no {sheet} sheet of holes that are carried over"
    remedy = "what it takes stands in {}"
    if sheet == "inspection":
        remedy = "their own part's is for when they are finished: millprep inspect PART"
    raise _stopped(part, message, remedy)


def _stopped(part: Any, message: str, remedy: str) -> MillprepError:
    sheet = f'millprep listing {part.path} --stack "{part.carrying.joint}"'
    return stopped("hand-work", message, remedy.format(sheet), file=part.path or None)
