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
from millprep.cli.common import chosen_units, emit, exit_status, form_of, hand_over, print_findings
from millprep.proven.handed import FORMS
from millprep.proven.leaving import pieces_named
from millprep.proven.measured import Verdicts, inspection_sheet, pieces_measured, verdicts
from millprep.proven.stacks import refuse_sheet

_Measured = Annotated[
    Path | None, typer.Argument(metavar="[MEASURED.csv]", help="places, or this sheet filled in")
]
_Keep = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="results are added to it; default: beside the part"),
]
_Mmc = Annotated[bool, typer.Option("--mmc", help="position zones hold at maximum material")]


def inspect(
    of: option.OfPart,
    *,
    measured: _Measured = None,
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
    out: option.Out,
) -> int:
    """What to measure of the finished part; with measurements, what is in and out."""
    form = form_of(format, out.output, FORMS)
    if keep is not None and no_keep:
        raise WordError("--keep and --no-keep are given", "give one of them")
    results = None if no_keep else keep or _beside(of)
    if measured is not None and _is_one_file(out.output, results):
        raise WordError(
            f"{out.output} is the file that results are added to",
            "name another file with -o or --keep",
        )
    shown, made_of = chosen_units(units), of.made_of
    refuse_sheet(made_of, "inspection")
    if measured is None:
        many = pieces_named(of.part, assembly) if pieces is None else pieces
        handed = inspection_sheet(
            made_of, of.shop, form, units=shown, setup=setup, pieces=many, assembly=assembly
        )
        return hand_over(handed, form, out, called="inspection sheet")
    names = [piece] if piece is not None else pieces_measured(measured) or ["1"]
    if len(names) > 1 and (out.output is not None or form not in ("text", "csv")):
        remedy = f"name the one that is wanted: --piece {names[0]}"
        raise WordError(f"{measured} holds {len(names)} pieces, and a file has one", remedy)
    asked = {"units": shown, "setup": setup, "date": date, "at_mmc": mmc}
    every = [verdicts(made_of, measured, of.shop, piece=name, **asked) for name in names]  # type: ignore[arg-type]  # as named
    return max(_handed_over(found, form, out, results) for found in every)


def _beside(of: option.OfPart) -> Path:
    """Where results are kept as a rule."""
    of_stack = f"-{of.stack}" if of.stack else ""
    return of.part.with_name(f"{of.part.stem}{of_stack}-measured.csv")


def _is_one_file(output: Path | None, results: Path | None) -> bool:
    return None not in (output, results) and os.path.realpath(output) == os.path.realpath(results)  # type: ignore[arg-type]  # neither is None


def _handed_over(found: Verdicts, form: str, out: option.Out, results: Path | None) -> int:
    """The verdicts on one piece given out, and added to what is kept; the exit status."""
    handed, output = found.handed(form), out.output
    if handed.data is None:
        return hand_over(handed, form, out, called="verdicts")
    if output is not None:  # first what may be refused: then nothing is kept either
        emit(handed.data, out.output, force=out.force)
    if results is not None and (kept := _kept(found, results)):
        found = found.and_found(kept)
        handed = found.handed(form)
    _tell(handed.findings, form, output)
    if output is None:
        emit(handed.data or b"", out.output, force=out.force)
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
