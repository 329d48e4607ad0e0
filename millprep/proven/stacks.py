"""A stack of an assembly, as a part that every sheet can be made of; holes carried over by hand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.units import Units
from millprep.model.carrying import DRILLED
from millprep.proven.assembly import judged
from millprep.proven.handed import as_shown, part_as_shown
from millprep.proven.preparation import Prepared
from millprep.proven.sheets import Asked, Listing

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop

    PartOrFile = Part | Path
    from millprep.sheets.document import Document
    from millprep.sheets.listing import Keeps


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


class ByHand(Listing):
    """What stands in place of listing, dial sheet and bench page: a page with boxes to tick."""

    called = "the sheet"
    takes = ("units",)
    is_pictured = False

    def __init__(self, prepared: Prepared, asked: Asked) -> None:
        self.prepared, self.asked, self.pieces = prepared, asked, 1
        self.units: Units = asked.units or prepared.part.units
        self.number = None

    def _laid(self, keeps: Keeps | None = None, units: Units | None = None) -> Document:
        from millprep.sheets.carrying import make_carrying_sheet

        plan, of = self.prepared.plan, self.prepared.part.carrying
        assert of is not None  # asked before
        by_dials = self.name == "dials"
        return make_carrying_sheet(plan, of, units or self.units, self.found, by_dials=by_dials)

    def written(self, document: Any, form: str) -> str | bytes:
        from millprep.writers import written

        return written("carrying", document, form)

    def disagreements(self, data: bytes, form: Any, file: str) -> list[Finding]:
        from millprep.witness.carrying import check_carrying

        return check_carrying(
            data,
            form,
            part_as_shown(self.prepared.asked, form),
            self.prepared.shop,
            as_shown(self.found, form),
            units=self.units,
            by_dials=self.name == "dials",
            file=file,
        )


class DialsByHand(ByHand):
    name = "dials"


class BenchByHand(ByHand):
    name = "bench"
    forms = ("html",)


BY_HAND: dict[str, type[Listing]] = {one.name: one for one in (ByHand, DialsByHand, BenchByHand)}
