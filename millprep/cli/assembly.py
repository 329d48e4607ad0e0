"""`millprep assembly FILE`: whether parts made to their files go together."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep.cli.common import chosen_format, emit, exit_status, print_findings
from millprep.cli.options import Force, Output, ReportFormat, ShopName
from millprep.proven.assembly import FORMS, judged, report, tried


def assembly(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the assembly file (TOML)")],
    shop: ShopName = "metric",
    change: Annotated[
        list[str] | None,
        typer.Option(metavar="'MEMBER: HOLE: KEY = VALUE'", help="what would change with it"),
    ] = None,
    format: ReportFormat = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Whether parts made to their files go together."""
    form = chosen_format(format, output, FORMS)
    if change:  # tried, and told what changes with it; the file is left alone
        trial = tried(file, change, shop)
        print_findings(trial.changed.new)
        emit(trial.report(form), output, force=force)
        return exit_status(trial.after.findings)
    found = judged(file, shop)
    print_findings(found.findings)
    emit(report(found, form), output, force=force)
    return exit_status(found.findings)
