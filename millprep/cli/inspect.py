"""`millprep inspect PART [MEASURED.csv]`: what to measure; with measurements, what is in and out.

The checks before cutting are not run here: a part that is made is made.
"""

from __future__ import annotations

import datetime
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from millprep.base.findings import Finding, MillprepError, WordError, worst_first
from millprep.base.outfile import sheet_mark
from millprep.base.plain_text import clean
from millprep.base.record import add_rows
from millprep.base.records import frozen, replace
from millprep.cli.common import (
    chosen_format,
    chosen_units,
    emit,
    exit_status,
    json_text,
    load,
    print_findings,
)
from millprep.cli.preparation import wanted_setup
from millprep.inspection import Inspection, inspection_of
from millprep.inspection.judging import Judged, judge_places, judge_readings, unread
from millprep.inspection.reach import unreached_findings
from millprep.inspection.report import coarse_findings, findings_of
from millprep.sheets.inspection import (
    InspectionSheet,
    VerdictSheet,
    make_inspection_sheet,
    make_verdict_sheet,
)

FORMATS = ("text", "json", "csv", "html")
_LONGEST_WORD = 60


@frozen
class Keeping:
    """Which piece was measured and when, and where the results go.

    keep    : file, or None for the one beside the part file; is_kept: whether at all
    at_mmc  : whether zones of position gain what a hole is above its least size
    """

    piece: str = "1"
    date: str | None = None
    keep: Path | None = None
    is_kept: bool = True
    at_mmc: bool = False

    def file(self, part_path: Path) -> Path:
        """Where results are added."""
        return self.keep or part_path.with_name(f"{part_path.stem}-measured.csv")


def run(
    part_path: Path, measured_path: Path | None, shop_name: str, units: str | None,
    setup: int | None, keeping: Keeping, data_format: str | None, output: Path | None, force: bool,
) -> int:  # fmt: skip
    """0 when nothing measured is out, 1 when something is."""
    wanted = chosen_format(data_format, output, FORMATS)
    will_keep = measured_path is not None and keeping.is_kept
    if output is not None and will_keep and _is_one(output, keeping.file(part_path)):
        raise WordError(
            f"{output} is the file that results are added to", "name another file with -o or --keep"
        )
    if keeping.keep is not None and not keeping.is_kept:
        raise WordError("--keep and --no-keep are given", "give one of them")
    piece, date = _word("--piece", keeping.piece), _date(keeping.date)
    part, shop, notes = load(part_path, shop_name)
    shown_units = chosen_units(units, part.units)
    inspection = inspection_of(part, shop)
    number = wanted_setup(setup, [view.setup.number for view in inspection.views])
    if measured_path is None:
        findings = worst_first(
            [*notes, *unreached_findings(inspection), *coarse_findings(inspection)]
        )
        sheet = make_inspection_sheet(inspection, shown_units, findings, number)
        _tell(findings, wanted, output)
        what = sheet_mark("inspect", wanted, part.name, number)
        emit(_rendered_sheet(sheet, wanted), output, force=force, what=what)
        return 0
    judged, marks, source = _judged(inspection, measured_path, keeping.at_mmc)
    judged = judged.in_setup(number)
    findings = worst_first([
        *notes, *_changed(inspection, measured_path, marks),
        *findings_of(inspection, judged, str(measured_path), shown_units),
    ])  # fmt: skip
    verdicts = make_verdict_sheet(
        inspection, judged, shown_units, findings, piece=piece, date=date, source=source
    )
    what = sheet_mark("verdicts", wanted, part.name, number)
    if output is not None:  # first what may be refused: then nothing is kept either
        emit(_rendered_verdicts(verdicts, wanted), output, force=force, what=what)
    not_kept = _kept(verdicts, part_path, keeping)
    verdicts = replace(verdicts, findings=tuple(worst_first([*findings, *not_kept])))
    _tell(verdicts.findings, wanted, output)
    if output is None:
        emit(_rendered_verdicts(verdicts, wanted), None, what=what)
    return exit_status(verdicts.findings)


def _judged(
    inspection: Inspection, path: Path, at_mmc: bool
) -> tuple[Judged, tuple[str, ...], str]:
    """The verdicts by whichever form the file has, its part marks, how it was measured in words."""
    from millprep.infiles.measured_file import read_measured
    from millprep.infiles.readings_file import is_readings_file, read_readings
    from millprep.matching.measured_places import nominal_readings

    part, shop = inspection.part, inspection.shop
    bonus = "; zones of position at maximum material" if at_mmc else ""
    if is_readings_file(path):
        readings = read_readings(path, part)
        if not readings.readings:
            raise MillprepError(
                Finding(
                    "stop", "missing-key", "no reading is given",
                    "write what you read into the column reading", file=str(path),
                )
            )  # fmt: skip
        strangers = unread(inspection, readings)
        if strangers:
            raise MillprepError(*strangers)
        source = f"{len(readings.readings)} readings of {path}"
        if readings.empty:
            source += f", {readings.empty} rows of it empty"
        judged = judge_readings(inspection, readings, at_mmc=at_mmc)
        return judged, readings.marks, source + bonus
    measured = read_measured(path, part, nominal_readings(part, shop.readout.reversed_axes))
    off = shop.instruments.readout_mm
    source = f"places read on the readout, +/- {off:g} mm, {path}{bonus}"
    return judge_places(inspection, measured, at_mmc=at_mmc), (), source


def _is_one(first: Path, second: Path) -> bool:
    """Whether two paths are one file, or will be."""
    return os.path.realpath(first) == os.path.realpath(second)


def _changed(inspection: Inspection, path: Path, marks: tuple[str, ...]) -> list[Finding]:
    part = inspection.part
    others = [mark for mark in marks if mark != part.mark]
    if not others:
        return []
    return [
        Finding(
            "warning", "part-changed",
            f"the sheet was written from part mark {', '.join(others)}, and the part file is now "
            f"{part.mark}",
            "the readings are held against the file as it is now: see that it is meant",
            file=str(path),
        )
    ]  # fmt: skip


def _kept(sheet: VerdictSheet, part_path: Path, keeping: Keeping) -> list[Finding]:
    """Add the results to their file; a file that cannot take them costs no verdict."""
    from millprep.writers.inspection_data import VERDICT_COLUMNS, verdict_rows

    rows = verdict_rows(sheet, measured_only=True)
    if not keeping.is_kept or not rows:
        return []
    path = keeping.file(part_path)
    try:
        count = add_rows(path, VERDICT_COLUMNS, rows)
    except MillprepError as error:
        (finding,) = error.findings
        return [
            Finding(
                "stop", "results-not-kept", f"the results were not kept: it {finding.message}",
                finding.remedy, file=str(path),
            )
        ]  # fmt: skip
    print(clean(f"{path}: {count} {'row' if count == 1 else 'rows'} added"), file=sys.stderr)
    return []


def _tell(findings: Sequence[Finding], wanted: str, output: Path | None) -> None:
    """Findings to stderr; at a terminal they stand on the sheet, under REMARKS."""
    if wanted != "text" or output is not None or not sys.stdout.isatty():
        print_findings(findings)


def _rendered_sheet(sheet: InspectionSheet, wanted: str) -> str:
    from millprep.writers.inspection_data import inspection_csv, inspection_json
    from millprep.writers.inspection_text import inspection_text

    if wanted == "html":
        from millprep.writers.inspection_html import inspection_html

        return inspection_html(sheet)
    if wanted == "json":
        return json_text(inspection_json(sheet))
    return inspection_csv(sheet) if wanted == "csv" else inspection_text(sheet)


def _rendered_verdicts(sheet: VerdictSheet, wanted: str) -> str:
    from millprep.writers.inspection_data import verdict_csv, verdict_json
    from millprep.writers.inspection_text import verdict_text

    if wanted == "html":
        from millprep.writers.inspection_html import verdict_html

        return verdict_html(sheet)
    if wanted == "json":
        return json_text(verdict_json(sheet))
    return verdict_csv(sheet) if wanted == "csv" else verdict_text(sheet)


def _word(option: str, given: str) -> str:
    words = " ".join(given.split())
    if not words or not words.isprintable() or len(words) > _LONGEST_WORD:
        raise WordError(f"{option}: no such word", f"give a name of 1 to {_LONGEST_WORD} letters")
    return words


def _date(given: str | None) -> str:
    """The day as 2026-05-14: today's when none is given."""
    if given is None:
        return datetime.date.today().isoformat()
    try:
        return datetime.date.fromisoformat(given).isoformat()
    except ValueError:
        raise WordError(f'--date: "{given[:20]}" is no day', "write it as 2026-05-14") from None
