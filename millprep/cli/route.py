"""`millprep route ASSEMBLY`: the whole job in order."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep.cli.common import chosen_format, hand_over, refuse_at_terminal
from millprep.cli.options import Force, Output, ShopName
from millprep.proven.route import FORMS
from millprep.proven.route import route as proven_route


def route(
    file: Annotated[Path, typer.Argument(metavar="ASSEMBLY", help="the assembly file (TOML)")],
    shop: ShopName = "metric",
    format: Annotated[
        str | None, typer.Option("--format", metavar="|".join(FORMS), help="how it is written")
    ] = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """The whole job in order: which part first, which holes now and which later."""
    form = chosen_format(format, output, FORMS)
    refuse_at_terminal(form, output)
    handed = proven_route(file, shop, form)
    return hand_over(handed, form, output, force=force, called="route")
