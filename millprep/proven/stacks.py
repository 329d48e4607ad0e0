"""A stack of an assembly, as a part that every sheet can be made of."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millprep.proven.assembly import judged

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop


def words_of(file: Path, stack: str | None) -> Path | str:
    """What a command line says for it."""
    return file if stack is None else f'{file} --stack "{stack}"'


def part_or_stack(
    file: Path | str, stack: str | None = None, shop: Shop | Path | str = "metric"
) -> Part | Path:
    """The part file, or the stack of that name of an assembly file; or the joint of that name, whose
    holes are carried over: its members as they are for that.

    Raises MillprepError with the faults of all the files, and where there is no such stack.
    """
    if stack is None:
        return Path(file)
    from millprep.assembly.carrying import carried_joints, carried_part
    from millprep.assembly.stack_part import stack_part
    from millprep.proven.files import shop_of

    found = shop_of(shop)
    of = judged(file, found)
    if joints := carried_joints(of, stack):
        return carried_part(of, joints, found)
    return stack_part(of, stack)
