"""`millprep assembly FILE`: whether parts made to their files go together."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep.cli.common import (
    chosen_format,
    emit,
    exit_status,
    hand_over,
    print_findings,
    refuse_at_terminal,
)
from millprep.cli.options import Force, Output, ShopName
from millprep.proven.assembly import FORMS, TRIAL_FORMS, judged, report, tried


def assembly(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the assembly file (TOML)")],
    shop: ShopName = "metric",
    change: Annotated[
        list[str] | None,
        typer.Option(metavar="'MEMBER: HOLE: KEY = VALUE'", help="what would change with it"),
    ] = None,
    format: Annotated[
        str | None,
        typer.Option("--format", metavar="text|json|html|pdf", help="what changes: text or json"),
    ] = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Whether parts made to their files go together."""
    form = chosen_format(format, output, TRIAL_FORMS if change else FORMS)
    refuse_at_terminal(form, output)
    if change:  # tried, and told what changes with it; the file is left alone
        trial = tried(file, change, shop)
        print_findings(trial.changed.new)
        emit(trial.report(form), output, force=force)
        return exit_status(trial.findings)
    handed = report(judged(file, shop), form)
    if handed.data is None:
        return hand_over(handed, form, output, force=force, called="report")
    print_findings(handed.findings)
    emit(handed.data, output, force=force)
    return exit_status(handed.findings)
