"""`millprep assembly FILE`: whether parts made to their files go together."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep.cli.common import (
    emit,
    exit_status,
    form_of,
    hand_over,
    print_findings,
    refuse_ending,
    refuse_folder,
)
from millprep.cli.options import Out, ShopName
from millprep.proven.assembly import (
    FORMS,
    PICTURE_ENDINGS,
    TRIAL_FORMS,
    drawn,
    judged,
    report,
    tried,
)


def assembly(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the assembly file (TOML)")],
    *,
    shop: ShopName = "metric",
    change: Annotated[
        list[str] | None,
        typer.Option(metavar="'MEMBER: HOLE: KEY = VALUE'", help="what would change with it"),
    ] = None,
    format: Annotated[
        str | None,
        typer.Option("--format", metavar="text|json|html|pdf", help="what changes: text or json"),
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE.svg|.pdf|.png", help="draw it put together")
    ] = None,
    out: Out,
) -> int:
    """Whether parts made to their files go together."""
    if picture is not None:
        refuse_folder(picture)
        refuse_ending(picture, PICTURE_ENDINGS, "--picture: nothing is")
    form = form_of(format, out.output, TRIAL_FORMS if change else FORMS)
    if change:  # tried, and told what changes with it; the file is left alone
        trial = tried(file, change, shop)
        if picture is not None:
            emit(drawn(trial.after, picture.suffix.lower()), picture, force=out.force)
        print_findings(trial.changed.new)
        emit(trial.report(form), out.output, force=out.force)
        return exit_status(trial.findings)
    found = judged(file, shop)
    if picture is not None:
        emit(drawn(found, picture.suffix.lower()), picture, force=out.force)
    handed = report(found, form)
    if handed.data is None:
        return hand_over(handed, form, out, called="report")
    print_findings(handed.findings)
    emit(handed.data, out.output, force=out.force)
    return exit_status(handed.findings)
