"""The one way to a sheet: laid out, written, read back, held against its part; then its bytes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from millprep.base.bounds import MOST_MADE
from millprep.base.findings import Finding, WordError, chosen_word, has_stop
from millprep.base.marks import sealed, sheet_mark
from millprep.base.records import field_names, frozen, replace
from millprep.base.units import Units
from millprep.proven.excerpt import check_rows, keeps_of, steps_of
from millprep.proven.handed import FORMS, PICTURED, Handed, as_shown, letters_to_tell, part_as_shown
from millprep.proven.preparation import (
    Prepared,
    length_mm,
    nothing_to_show,
    refuse_not_to_be_had,
    wanted_setup,
)

if TYPE_CHECKING:
    from millprep.sheets.document import Document
    from millprep.sheets.listing import Keeps


@frozen
class Asked:
    """What is asked of a sheet beside its part and its form.

    units : None for the part's own; setup : one setup only
    only, from_step : an excerpt: the steps of one hole or pattern, the steps from one on
    short : without what explains, for the second piece; JSON and CSV have all of it
    stand, gauge_offset : of a marking-out list: faces on the plate, a length in words
    pieces : how many are made in one go
    """

    units: Units | None = None
    setup: int | None = None
    only: str | None = None
    from_step: int | None = None
    short: bool | None = None
    stand: str | None = None
    gauge_offset: str | None = None
    pieces: int | None = None


def order_of(sheet: str, order: str) -> str:
    """Of the plan of a sheet: by tool, dials want the fewest returns against their backlash."""
    from millprep.planning import DIAL_ORDER

    return DIAL_ORDER if sheet == "dials" and order == "tool" else order


def prove(
    sheet: str,
    prepared: Prepared,
    form: str | None = None,
    asked: Asked | None = None,
    file: str = "",
) -> Handed:
    """A sheet of SHEETS, read back and compared with its part.

    form : the first of the sheet's own where none is given
    file : what findings about the finished bytes call them
    Raises MillprepError or WordError for what is asked amiss.
    """
    kind = _kind(sheet, prepared)
    form = chosen_word("form", form or kind.forms[0], kind.forms)
    wanted = kind(prepared, _taken(kind, asked or Asked()))
    part, told = prepared.part, letters_to_tell(prepared.part, form)
    nothing = nothing_to_show(part)
    findings = [*prepared.findings, *told, *nothing]
    if nothing or (kind.is_kept_back and has_stop(findings)):
        return Handed(None, tuple(findings))
    document, found = wanted.lay_out()
    text = wanted.written(document, form)
    what = sheet_mark(sheet, form, part.name, wanted.number)
    data = sealed(text, what)
    disagreements = wanted.disagreements(data, form, file or kind.called)
    findings = [*found, *told, *disagreements]
    if has_stop(findings if kind.is_kept_back else disagreements):
        return Handed(None, tuple(findings))
    if wanted.asked.only is not None or wanted.asked.from_step is not None:
        document = wanted.excerpt(document)
        excerpt = wanted.written(document, form)
        whole, data = data, sealed(excerpt, what)
        check_rows(wanted.rows(data, excerpt, form), wanted.rows(whole, text, form))
    if wanted.asked.short and form not in ("json", "csv"):
        whole, data = data, sealed(wanted.written(wanted.brief(document), form), what)
        unlike = wanted.unlike(data, whole, form, file or kind.called)
        findings += unlike
        if unlike:
            return Handed(None, tuple(findings))
    return Handed(data, tuple(findings), wanted.number)


def _kind(sheet: str, prepared: Prepared) -> type[Listing]:
    """Of what is carried over by hand its own page. Raises MillprepError where there is none."""
    kind = SHEETS[chosen_word("sheet", sheet, tuple(SHEETS))]
    if prepared.part.carrying is None:
        return kind
    from millprep.proven.stacks import BY_HAND, is_by_hand, refuse_sheet

    if sheet in BY_HAND:
        return BY_HAND[sheet] if is_by_hand(prepared.part) else kind
    refuse_sheet(prepared.part, sheet)
    return kind


def _taken(kind: type[Listing], asked: Asked) -> Asked:
    """What is asked. Raises WordError for what such a sheet does not know."""
    for name in field_names(asked):
        if getattr(asked, name) is not None and name not in kind.takes:
            raise WordError(f"{kind.called} takes no {name}", f"takes: {', '.join(kind.takes)}")
    return asked


def pieces_asked(pieces: int | None) -> int:
    """How many are made; one where nothing is said. Raises WordError."""
    if pieces is not None and not 1 <= pieces <= MOST_MADE:
        raise WordError(f"{pieces} pieces at a time are too many or too few", f"1 to {MOST_MADE}")
    return pieces or 1


class Listing:
    """The readout listing."""

    name: ClassVar[str] = "listing"
    called: ClassVar[str] = "the listing"
    forms: ClassVar[tuple[str, ...]] = FORMS
    takes: ClassVar[tuple[str, ...]] = ("units", "setup", "only", "from_step", "short", "pieces")
    is_pictured: ClassVar[bool] = True
    is_kept_back: ClassVar[bool] = True
    """By what stops the part; what the witness stops is never handed over."""

    def __init__(self, prepared: Prepared, asked: Asked) -> None:
        """Raises MillprepError or WordError for what is asked amiss."""
        from millprep.planning.table import batched

        refuse_not_to_be_had(prepared, self.name)
        pieces = pieces_asked(asked.pieces)
        prepared = replace(prepared, plan=batched(prepared.plan, pieces))
        self.prepared, self.asked, self.pieces = prepared, asked, pieces
        self.units = asked.units or prepared.part.units
        self.number = wanted_setup(asked.setup, prepared.setup_numbers)

    def lay_out(self) -> tuple[Any, Sequence[Finding]]:
        """The document, and all that is found up to here."""
        return self._laid(), self.found

    def _laid(self, keeps: Keeps | None = None, units: Units | None = None) -> Document:
        """The document, or an excerpt of it; units : other than those asked for."""
        from millprep.sheets.listing import make_listing

        prepared = self.prepared
        plan, found = prepared.plan, self.found
        cards = self.name == "bench"
        return make_listing(plan, units or self.units, found, self.number, keeps, on_cards=cards)

    def written(self, document: Any, form: str) -> str | bytes:
        """The document in a form; on paper and screen with its pictures."""
        from millprep.writers import written

        if form in PICTURED and self.is_pictured:
            from millprep.sheets.picture import pictured

            document = pictured(document, self.prepared.plan)
        return written(self.name, document, form)

    def disagreements(self, data: bytes, form: Any, file: str) -> list[Finding]:
        """What the second witness finds when it reads the finished bytes."""
        prepared = self.prepared
        found: list[Finding] = self._witness()(
            data,
            form,
            part_as_shown(prepared.asked, form),
            prepared.shop,
            file=file,
            order=prepared.plan.order,
            remarks=as_shown(self.found, form),
            **self._expected(),
        )
        return found

    def _witness(self) -> Callable[..., list[Finding]]:
        from millprep.witness.listing import check_listing

        return check_listing

    @property
    def found(self) -> Sequence[Finding]:
        """All that is found up to the sheet; what it says under LEFT is not told again."""
        return [one for one in self.prepared.findings if one.kind != "left-for-later"]

    def _expected(self) -> dict[str, Any]:
        """The setups that have to be there, and how each lies."""
        setups = self.prepared.plan.setups
        faces = [one.setup.face for one in setups if one.setup.number == self.number]
        return {
            "setup_numbers_expected": len(setups),
            "faces": faces or None,
            "skews": {one.setup.number: one.skew_deg for one in setups},
            "pieces": self.pieces,
        }

    def excerpt(self, document: Any) -> Any:
        """What is asked of the document. Raises MillprepError where that has no steps."""
        keeps = keeps_of(self.prepared.plan, self.number, self.asked.only, self.asked.from_step)
        return self._laid(keeps)

    def brief(self, document: Any) -> Any:
        """The document for the second piece."""
        from millprep.sheets.brief import brief_of

        return brief_of(document)

    def unlike(self, brief: bytes, whole: bytes, form: Any, file: str) -> list[Finding]:
        """What a brief sheet says otherwise than the whole one that was held against the part."""
        from millprep.reading.pages.forms import read_sheet
        from millprep.witness.brief import check_brief
        from millprep.witness.listing import hole_names

        names = hole_names(part_as_shown(self.prepared.asked, form))
        read = (
            read_sheet(data, self.name, form, names, table="steps", pages="setup")
            for data in (brief, whole)
        )
        return list(check_brief(next(read), next(read), file))

    def rows(self, data: bytes, text: str | bytes, form: str) -> set[Any]:
        """What an excerpt has to share with the whole: its steps, read back."""
        return steps_of(data, self.name, form, part_as_shown(self.prepared.asked, form))


class Dials(Listing):
    """The listing in turns and divisions."""

    name = "dials"
    called = "the dial sheet"

    def _laid(self, keeps: Keeps | None = None, units: Units | None = None) -> Document:
        from millprep.sheets.dials import make_dial_sheet

        plan = self.prepared.plan
        return make_dial_sheet(plan, units or self.units, self.found, self.number, keeps)

    def _witness(self) -> Callable[..., list[Finding]]:
        from millprep.witness.dials import check_dials

        return check_dials

    @property
    def found(self) -> Sequence[Finding]:
        from millprep.sheets.dials import traps

        return (*super().found, *traps(self.prepared.shop))


class Bench(Listing):
    """The page for the bench, which shows both units."""

    name = "bench"
    called = "the bench page"
    forms = ("html", "served")
    takes = ("units", "setup", "only", "pieces")
    kept: Keeps | None = None

    def excerpt(self, document: Any) -> Any:
        self.kept = keeps_of(self.prepared.plan, self.number, self.asked.only, None)
        return self._laid(self.kept, units="mm")

    def rows(self, data: bytes, text: str | bytes, form: str) -> set[Any]:
        return steps_of(data, "listing", "bench mm", part_as_shown(self.prepared.asked, form))

    def written(self, document: Any, form: str) -> str | bytes:
        from millprep.sheets.figures import Figures
        from millprep.sheets.picture import pictured
        from millprep.sheets.view import view_of
        from millprep.writers.bench import bench_page

        part, figures = self.prepared.part, Figures("mm", self.prepared.shop.readout)
        document = pictured(document, self.prepared.plan)
        shown = {page.title.slots["number"] for page in document.pages}
        views = [
            view_of(part, one.setup, one.square, figures)
            for one in self.prepared.plan.setups
            if one.setup.number in shown
        ]
        inch = self._laid(self.kept, units="inch")
        return bench_page(document, inch, views, self.units, self.pieces, form == "served")

    def lay_out(self) -> tuple[Any, Sequence[Finding]]:
        return self._laid(units="mm"), self.found

    def disagreements(self, data: bytes, form: Any, file: str) -> list[Finding]:
        looks = ("bench mm", "bench inch", "bench data")
        return [f for look in looks for f in super(Bench, self).disagreements(data, look, file)]


class Markout(Listing):
    """The marking-out list."""

    name = "markout"
    called = "the list"
    is_pictured = False
    takes = ("units", "stand", "gauge_offset")

    def __init__(self, prepared: Prepared, asked: Asked) -> None:
        from millprep.planning.marking import read_faces

        super().__init__(prepared, asked)
        self.faces = read_faces(asked.stand) if asked.stand is not None else ()
        self.offset_mm = length_mm("--gauge-offset", asked.gauge_offset, self.units) or 0.0
        self.remarks: Sequence[Finding] = ()

    def lay_out(self) -> tuple[Any, Sequence[Finding]]:
        from millprep.sheets.markout import make_mark_sheet

        sheet = make_mark_sheet(
            self.prepared.part,
            self.prepared.shop,
            self.units,
            wanted=self.faces,
            gauge_offset_mm=self.offset_mm,
            findings=[  # the drawer and the vice are of no concern yet
                finding
                for finding in self.found
                if finding.kind not in ("not-in-drawer", "bottoming-tap") and not finding.setup
            ],
        )
        self.remarks = sheet.findings
        return sheet, sheet.findings

    def disagreements(self, data: bytes, form: Any, file: str) -> list[Finding]:
        from millprep.witness.markout import check_markout

        return check_markout(
            data,
            form,
            part_as_shown(self.prepared.asked, form),
            gauge_offset_mm=self.offset_mm,
            remarks=as_shown(self.remarks, form),
            file=file,
        )


class Tools(Listing):
    """The tools to pull, given whether or not the check would stop: shopping comes first."""

    name = "tools"
    called = "the tools list"
    is_pictured = False
    takes = ("setup",)
    is_kept_back = False

    def lay_out(self) -> tuple[Any, Sequence[Finding]]:
        from millprep.planning.belts import belts_of
        from millprep.planning.pull_list import pull_list, stand_ins
        from millprep.sheets.tools import make_tools_list

        prepared, part = self.prepared, self.prepared.part
        cabinet = prepared.shop.cabinet
        pulled = pull_list(prepared.plan, self.number)
        instead = {one.tool: stand_ins(one, part, cabinet) for one in pulled if not one.in_drawer}
        belts = belts_of(prepared.plan, self.number)
        found = [f for f in prepared.findings if f.kind in ("not-in-drawer", "bottoming-tap")]
        return make_tools_list(part, pulled, instead, belts, found), found

    def disagreements(self, data: bytes, form: Any, file: str) -> list[Finding]:
        from millprep.witness.tools import check_tools

        setups = self.prepared.plan.setups
        faces = {
            one.setup.number: one.setup.face
            for one in setups
            if self.number in (None, one.setup.number)
        }
        part = part_as_shown(self.prepared.asked, form)
        return check_tools(
            data, form, part, self.prepared.shop, faces, is_whole=self.number is None, file=file
        )


SHEETS: dict[str, type[Listing]] = {
    one.name: one for one in (Listing, Dials, Bench, Markout, Tools)
}
