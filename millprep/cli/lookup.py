"""`lookup WORDS...`: what the tables hold, as text, JSON or CSV. The options; the work: `asked`."""

from __future__ import annotations

from typing import Annotated

import typer

from millprep.cli.asked import answered
from millprep.cli.options import Format, Out


def lookup(
    words: Annotated[
        list[str], typer.Argument(metavar="WORDS...", help='as "M6" or "clearance M5"')
    ],
    *,
    shop: Annotated[
        str | None,
        typer.Option("--shop", metavar="NAME|FILE", help="whose drills, speeds, screws, plates"),
    ] = None,
    units: Annotated[
        str | None, typer.Option("--units", metavar="mm|inch", help="of bare numbers")
    ] = None,
    whole: Annotated[bool, typer.Option("--all", help="the whole tables of that name")] = False,
    full: Annotated[bool, typer.Option("--full", help="all that is known, not one screen")] = False,
    sketch: Annotated[bool, typer.Option("--sketch", help="a small drawing with a sum")] = False,
    format: Format = None,
    out: Out,
) -> int:
    """Thread, drill, fit, screw, material or a quick sum: figures with their source."""
    return answered(words, shop, units, whole, full, sketch, format, out.output, out.force)
