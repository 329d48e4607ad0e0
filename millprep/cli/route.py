"""`millprep route ASSEMBLY`: the whole job in order."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import WordError
from millprep.cli.common import emit, exit_status, form_of, hand_over, print_findings
from millprep.cli.options import Out, ShopName
from millprep.proven.assembly import FORMS, TRIAL_FORMS, changed_route
from millprep.proven.assembly import route as proven_route


def route(
    file: Annotated[Path, typer.Argument(metavar="ASSEMBLY", help="the assembly file (TOML)")],
    *,
    shop: ShopName = "metric",
    format: Annotated[
        str | None, typer.Option("--format", metavar="|".join(FORMS), help="how it is written")
    ] = None,
    change: Annotated[
        list[str] | None,
        typer.Option(metavar="'MEMBER: HOLE: KEY = VALUE'", help="which steps change with it"),
    ] = None,
    done: Annotated[
        str | None, typer.Option(metavar="1-7", help="steps done already, for --change")
    ] = None,
    out: Out,
) -> int:
    """The whole job in order: which part first, which holes now and which later."""
    form = form_of(format, out.output, TRIAL_FORMS if change else FORMS)
    if change:
        told, found = changed_route(file, change, done, shop, form)
        print_findings([one for one in found if one.severity == "stop"])
        emit(told, out.output, force=out.force)
        return exit_status(found)
    if done is not None:
        raise WordError(
            "--done without --change: it asks which of the done steps a change spoils",
            "name the change: --change 'MEMBER: HOLE: KEY = VALUE'",
        )
    handed = proven_route(file, shop, form)
    return hand_over(handed, form, out, called="route")
