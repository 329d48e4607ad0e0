"""`millprep inspect PART [MEASURED.csv]`: what to measure; once measured, what is in and out."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import Finding, MillprepError, WordError
from millprep.base.plain_text import clean
from millprep.base.record import add_rows
from millprep.cli import options as option
from millprep.cli.common import (
    chosen_format,
    chosen_units,
    emit,
    exit_status,
    hand_over,
    print_findings,
    refuse_at_terminal,
)
from millprep.proven.leaving import pieces_named
from millprep.proven.measured import FORMS, Verdicts, inspection_sheet, pieces_measured, verdicts
from millprep.proven.stacks import part_or_stack, refuse_sheet

_Measured = Annotated[
    Path | None, typer.Argument(metavar="[MEASURED.csv]", help="places, or this sheet filled in")
]
_Keep = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="results are added to it; default: beside the part"),
]
_Mmc = Annotated[bool, typer.Option("--mmc", help="position zones hold at maximum material")]


def inspect(
    part: option.PartFile,
    measured: _Measured = None,
    shop: option.ShopName = "metric",
    stack: option.Stack = None,
    units: option.Units = None,
    setup: option.Setup = None,
    piece: Annotated[
        str | None, typer.Option(metavar="NAME", help="which of several alike")
    ] = None,
    pieces: option.Pieces = None,
    date: option.Day = None,
    keep: _Keep = None,
    no_keep: Annotated[bool, typer.Option("--no-keep", help="keep no results")] = False,
    mmc: _Mmc = False,
    assembly: option.Assembly = None,
    format: option.PageFormat = None,
    output: option.Output = None,
    force: option.Force = False,
) -> int:
    """What to measure of the finished part; with measurements, what is in and out."""
    form = chosen_format(format, output, FORMS)
    refuse_at_terminal(form, output)
    of_stack = f"-{stack}" if stack else ""
    results = keep or part.with_name(f"{part.stem}{of_stack}-measured.csv")
    if (
        output
        and measured
        and not no_keep
        and os.path.realpath(output) == os.path.realpath(results)
    ):
        raise WordError(
            f"{output} is the file that results are added to", "name another file with -o or --keep"
        )
    if keep is not None and no_keep:
        raise WordError("--keep and --no-keep are given", "give one of them")
    shown, made_of = chosen_units(units), part_or_stack(part, stack, shop)
    refuse_sheet(made_of, "inspection")
    if measured is None:
        many = pieces_named(part, assembly) if pieces is None else pieces
        handed = inspection_sheet(
            made_of, shop, form, units=shown, setup=setup, pieces=many, assembly=assembly
        )
        return hand_over(handed, form, output, force=force, called="inspection sheet")
    names = [piece] if piece is not None else pieces_measured(measured) or ["1"]
    if len(names) > 1 and (output is not None or form not in ("text", "csv")):
        remedy = f"name the one that is wanted: --piece {names[0]}"
        raise WordError(f"{measured} holds {len(names)} pieces, and a file has one", remedy)
    asked = {"units": shown, "setup": setup, "date": date, "at_mmc": mmc}
    every = [verdicts(made_of, measured, shop, piece=name, **asked) for name in names]  # type: ignore[arg-type]  # as named
    status = [
        _handed_over(found, form, output, None if no_keep else results, force=force)
        for found in every
    ]
    return max(status)


def _handed_over(
    found: Verdicts, form: str, output: Path | None, results: Path | None, *, force: bool
) -> int:
    """The verdicts on one piece given out, and added to what is kept; the exit status."""
    handed = found.handed(form)
    if handed.data is None:
        return hand_over(handed, form, output, force=force, called="verdicts")
    if output is not None:  # first what may be refused: then nothing is kept either
        emit(handed.data, output, force=force)
    if results is not None and (kept := _kept(found, results)):
        found = found.and_found(kept)
        handed = found.handed(form)
    _tell(handed.findings, form, output)
    if output is None:
        emit(handed.data or b"", None)
    return exit_status(handed.findings)


def _kept(verdicts: Verdicts, path: Path) -> list[Finding]:
    """Add the results to their file; a file that cannot take them costs no verdict."""
    columns, rows = verdicts.rows()
    if not rows:
        return []
    try:
        count = add_rows(path, columns, rows)
    except MillprepError as error:
        (finding,) = error.findings
        message = f"the results were not kept: it {finding.message}"
        return [Finding("stop", "results-not-kept", message, finding.remedy, file=str(path))]
    print(clean(f"{path}: {count} {'row' if count == 1 else 'rows'} added"), file=sys.stderr)
    return []


def _tell(findings: Sequence[Finding], wanted: str, output: Path | None) -> None:
    """Findings to stderr; at a terminal they stand on the sheet, under REMARKS."""
    if wanted != "text" or output is not None or not sys.stdout.isatty():
        print_findings(findings)
