"""`millprep inspect PART [MEASURED.csv]`: what to measure; once measured, what is in and out."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from millprep.base.findings import Finding, MillprepError, WordError, has_stop
from millprep.base.plain_text import clean
from millprep.base.record import add_rows
from millprep.base.records import frozen
from millprep.cli.common import chosen_format, chosen_units, emit, print_findings
from millprep.proven.measured import FORMS, Verdicts, inspection_sheet, verdicts


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
    part: Path,
    measured: Path | None,
    shop: str,
    units: str | None,
    setup: int | None,
    keeping: Keeping,
    data_format: str | None,
    output: Path | None,
    force: bool,
) -> int:
    """0 when nothing measured is out, 1 when something is."""
    form = chosen_format(data_format, output, FORMS)
    will_keep = measured is not None and keeping.is_kept
    if output is not None and will_keep and _is_one(output, keeping.file(part)):
        raise WordError(
            f"{output} is the file that results are added to", "name another file with -o or --keep"
        )
    if keeping.keep is not None and not keeping.is_kept:
        raise WordError("--keep and --no-keep are given", "give one of them")
    shown = chosen_units(units)
    if measured is None:
        handed = inspection_sheet(part, shop, form, units=shown, setup=setup)
        _tell(handed.findings, form, output)
        emit(handed.data or b"", output, force=force)
        return 0
    found = verdicts(
        part,
        measured,
        shop,
        units=shown,
        setup=setup,
        piece=keeping.piece,
        date=keeping.date,
        at_mmc=keeping.at_mmc,
    )
    if output is not None:  # first what may be refused: then nothing is kept either
        emit(found.handed(form).data or b"", output, force=force)
    found = found.and_found(_kept(found, part, keeping))
    _tell(found.findings, form, output)
    if output is None:
        emit(found.handed(form).data or b"", None)
    return 1 if has_stop(found.findings) else 0


def _is_one(first: Path, second: Path) -> bool:
    """Whether two paths are one file, or will be."""
    return os.path.realpath(first) == os.path.realpath(second)


def _kept(verdicts: Verdicts, part_path: Path, keeping: Keeping) -> list[Finding]:
    """Add the results to their file; a file that cannot take them costs no verdict."""
    columns, rows = verdicts.rows()
    if not keeping.is_kept or not rows:
        return []
    path = keeping.file(part_path)
    try:
        count = add_rows(path, columns, rows)
    except MillprepError as error:
        (finding,) = error.findings
        return [
            Finding(
                "stop",
                "results-not-kept",
                f"the results were not kept: it {finding.message}",
                finding.remedy,
                file=str(path),
            )
        ]
    print(clean(f"{path}: {count} {'row' if count == 1 else 'rows'} added"), file=sys.stderr)
    return []


def _tell(findings: Sequence[Finding], wanted: str, output: Path | None) -> None:
    """Findings to stderr; at a terminal they stand on the sheet, under REMARKS."""
    if wanted != "text" or output is not None or not sys.stdout.isatty():
        print_findings(findings)
