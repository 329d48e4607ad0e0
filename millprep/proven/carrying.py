"""The sheets of holes that are carried over by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from millprep.base.findings import Finding
from millprep.base.units import Units
from millprep.proven.handed import as_shown, part_as_shown
from millprep.proven.preparation import Prepared
from millprep.proven.sheets import Asked, Listing

if TYPE_CHECKING:
    from millprep.sheets.document import Document
    from millprep.sheets.listing import Keeps


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
