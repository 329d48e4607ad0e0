"""What is measured: the sheet of what to measure, verdicts, and the places that make a part fit."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from millprep.base.findings import (
    Finding,
    MillprepError,
    WordError,
    chosen_word,
    stopped,
    worst_first,
)
from millprep.base.records import frozen, replace
from millprep.base.units import Units
from millprep.model.readings import Readings
from millprep.proven.files import load
from millprep.proven.handed import (
    FORMS,
    PICTURED,
    Handed,
    as_shown,
    lay_of,
    letters_to_tell,
    part_as_shown,
    proven,
    sheet_bytes,
    shown_in,
)
from millprep.proven.preparation import wanted_setup
from millprep.proven.sheets import pieces_asked

if TYPE_CHECKING:
    from millprep.inspection import Inspection
    from millprep.inspection.judging import Judged
    from millprep.model.measured import Measured
    from millprep.model.part import Part
    from millprep.model.shop import Shop
    from millprep.sheets.document import Document
    from millprep.sheets.verdict import Piece

_LONGEST_WORD = 60


def inspection_sheet(
    part: Part | Path | str,
    shop: Shop | Path | str = "metric",
    form: str = "text",
    *,
    units: Units | None = None,
    setup: int | None = None,
    pieces: int | None = None,
    assembly: Path | str | None = None,
) -> Handed:
    """What to measure of the finished part. The checks before cutting are not run: it is made.

    pieces : how many are made: CSV has its rows for each, other forms are filled in so often
    assembly : that is asked what is left for later; None for those beside the part that name it
    """
    from millprep.inspection import inspection_of
    from millprep.inspection.report import coarse_findings, unreached_findings
    from millprep.sheets.inspection import make_inspection_sheet
    from millprep.witness.inspection import check_inspection

    chosen_word("form", form, FORMS)
    part, shop, told = load(part, shop, assembly)
    notes = [one for one in told if one.kind != "left-for-later"]  # it is under LEFT
    inspection, count = inspection_of(part, shop), pieces_asked(pieces)
    faces = {view.setup.number: view.setup.face for view in inspection.views}
    number = wanted_setup(setup, [*faces])
    findings = worst_first([*notes, *unreached_findings(inspection), *coarse_findings(inspection)])
    pictured, shown = form in PICTURED, units or part.units
    sheet = make_inspection_sheet(
        inspection, shown, findings, number, is_pictured=pictured, pieces=count
    )
    data = sheet_bytes(sheet, form, "inspection", part.name, number)
    disagreements = check_inspection(
        data,
        form,  # type: ignore[arg-type]  # one of FORMS
        part_as_shown(part, form),
        shop,
        faces,
        number,
        as_shown(findings, form),
        file=f"the inspection sheet of {part.name}",
        pieces=count,
    )
    if form == "csv" and count > 1:
        data = _for_each(data, count)
    return proven(data, [*letters_to_tell(part, form), *findings], disagreements, number)


def _for_each(table: bytes, pieces: int) -> bytes:
    """The rows of a sheet once for each piece, which stands in a column before them."""
    head, *rows = table.splitlines(keepends=True)
    each = (b"%d,%s" % (n, row) for n in range(1, pieces + 1) for row in rows)
    return b"".join((b"piece," + head, *each))


@frozen
class Verdicts:
    """What is in and out of one piece."""

    inspection: Inspection
    judged: Judged
    given: Measured | Readings
    piece: Piece
    units: Units
    findings: tuple[Finding, ...]
    setup: int | None

    def and_found(self, more: Iterable[Finding]) -> Verdicts:
        """The same with further findings."""
        return replace(self, findings=tuple(worst_first([*self.findings, *more])))

    def laid_out(self) -> Document:
        """The verdicts as a document."""
        from millprep.sheets.verdict import make_verdict_sheet

        given = self.given if isinstance(self.given, Readings) else None
        return make_verdict_sheet(
            self.inspection, self.judged, given, self.piece, self.units, self.findings
        )

    def handed(self, form: str = "text") -> Handed:
        """The verdicts as a sheet, once the witness agrees with it."""
        chosen_word("form", form, FORMS)
        part = self.inspection.part
        data = sheet_bytes(self.laid_out(), form, "verdict", part.name, self.setup)
        told = letters_to_tell(part, form)
        return proven(data, [*told, *self.findings], self.disagreements(data, form), self.setup)

    def disagreements(self, data: bytes, form: str) -> list[Finding]:
        """How a finished sheet differs from the part and what was measured."""
        from millprep.witness.verdict import Asked, check_verdict

        part, piece = self.inspection.part, self.piece
        setups = [view.setup for view in self.inspection.views]
        lays = {each.number: lay_of(each) for each in setups}
        here = {number: lay for number, lay in lays.items() if self.setup in (None, number)}
        return check_verdict(
            data,
            form,  # type: ignore[arg-type]  # one of FORMS
            part_as_shown(part, form),
            self.inspection.shop,
            as_measured(self.given, form),
            Asked(here, shown_in(piece.name, form), piece.date, piece.at_mmc, lays),
            as_shown(self.findings, form),
            file=f"the verdicts on {part.name}",
        )

    def rows(self) -> tuple[Sequence[str], list[Sequence[object]]]:
        """The columns and the rows of what was measured, to be kept."""
        from millprep.sheets.verdict import VERDICT_COLUMNS, measured_rows

        return VERDICT_COLUMNS, measured_rows(self.laid_out())


def verdicts(
    part: Part | Path | str,
    measured: Path | str,
    shop: Shop | Path | str = "metric",
    *,
    units: Units | None = None,
    setup: int | None = None,
    piece: str = "1",
    date: str | None = None,
    at_mmc: bool = False,
) -> Verdicts:
    """What is in and out of a piece that was measured.

    measured : places read on the readout, or the inspection sheet filled in; of the pieces in its
               column `piece`, where it has one, the one asked for
    date     : as 2026-05-14; today's when none is given
    at_mmc   : whether zones of position gain what a hole is above its least size
    Raises MillprepError or WordError for what cannot be judged.
    """
    from millprep.infiles.csv_file import pieces_in
    from millprep.inspection import inspection_of
    from millprep.inspection.report import findings_of
    from millprep.sheets.verdict import Piece

    words, day, path = _word("--piece", piece), day_of(date), Path(measured)
    part, shop, notes = load(part, shop)
    shown = units or part.units
    inspection = inspection_of(part, shop)
    number = wanted_setup(setup, [view.setup.number for view in inspection.views])
    judged, given = _judged(inspection, path, at_mmc, piece if piece in pieces_in(path) else None)
    judged = judged.in_setup(number)
    marks = given.marks if isinstance(given, Readings) else ()
    findings = worst_first(
        [*notes, *_changed(part, path, marks), *findings_of(inspection, judged, str(path), shown)]
    )
    of_piece = Piece(words, day, str(path), at_mmc)
    return Verdicts(inspection, judged, given, of_piece, shown, tuple(findings), number)


def pieces_measured(measured: Path | str) -> list[str]:
    """The pieces that a file of measurements names."""
    from millprep.infiles.csv_file import pieces_in

    return pieces_in(measured)


def _judged(
    inspection: Inspection, path: Path, at_mmc: bool, piece: str | None
) -> tuple[Judged, Measured | Readings]:
    """The verdicts by whichever form the file has, and what it holds; of one piece, where the file
    names several."""
    from millprep.infiles.measured_file import read_measured
    from millprep.infiles.readings_file import is_readings_file, read_readings
    from millprep.inspection.judging import judge_places, judge_readings, unread
    from millprep.matching.measured_places import nominal_readings, readings_of_setups

    part, shop = inspection.part, inspection.shop
    if is_readings_file(path):
        readings = read_readings(path, part, piece)
        if not readings.readings:
            raise stopped(
                "missing-key",
                "no reading is given",
                "write what you read into the column reading",
                file=str(path),
            )
        strangers = unread(inspection, readings)
        if strangers:
            raise MillprepError(*strangers)
        return judge_readings(inspection, readings, at_mmc=at_mmc), readings
    reversed_axes = shop.readout.reversed_axes
    nominal = nominal_readings(part, reversed_axes)
    measured = read_measured(path, part, nominal, readings_of_setups(part, reversed_axes), piece)
    return judge_places(inspection, measured, at_mmc=at_mmc), measured


def _changed(part: Part, path: Path, marks: tuple[str, ...]) -> list[Finding]:
    others = [mark for mark in marks if mark != part.mark]
    if not others:
        return []
    marks_then = ", ".join(others)
    message = (
        f"the sheet was written from part mark {marks_then}, and the part file is now {part.mark}"
    )
    remedy = "the readings are judged by the file as it is now: see that that is right"
    return [Finding("warning", "part-changed", message, remedy, str(path))]


def _word(option: str, given: str) -> str:
    words = " ".join(given.split())
    if not words or not words.isprintable() or len(words) > _LONGEST_WORD:
        raise WordError(f"{option}: no such word", f"give a name of 1 to {_LONGEST_WORD} letters")
    return words


def day_of(given: str | None) -> str:
    """The day as 2026-05-14: today's when none is given."""
    if given is None:
        return datetime.date.today().isoformat()
    try:
        return datetime.date.fromisoformat(given).isoformat()
    except ValueError:
        raise WordError(f'--date: "{given[:20]}" is no day', "write it as 2026-05-14") from None


Given = TypeVar("Given", bound="Measured | Readings")


def as_measured(given: Given, form: str) -> Given:
    """What was measured, with names as a sheet of that form shows them."""
    path = shown_in(given.path, form)
    if isinstance(given, Readings):
        read = [
            replace(one, hole=shown_in(one.hole, form), to=shown_in(one.to, form))
            for one in given.readings
        ]
        return replace(given, path=path, readings=tuple(read))
    holes = [replace(one, hole=shown_in(one.hole, form)) for one in given.holes]
    return replace(given, path=path, holes=tuple(holes))
