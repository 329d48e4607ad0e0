"""`lookup WORDS...`: what the tables hold, as text, JSON or CSV.

A shop is read only when one is named or a question needs its speeds, drawer, screws or plates, so
that a question of the tables alone loads no schemas.
"""

from __future__ import annotations

import os
import sys
from functools import cache
from typing import Annotated, Any

import typer

from millprep.cli.common import FORMATS, chosen_format, chosen_units, emit
from millprep.cli.options import Force, Format, Output


def lookup(
    words: Annotated[
        list[str], typer.Argument(metavar="WORDS...", help='as "M6" or "clearance M5"')
    ],
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
    output: Output = None,
    force: Force = False,
) -> int:
    """Thread, drill, fit, screw, material or a quick sum: figures with their source."""
    from millprep.lookup import lookup, whole_tables
    from millprep.lookup.forms import answer, answer_whole

    form = chosen_format(format, output, FORMATS)
    question = " ".join(words)
    if whole:
        emit(answer_whole(whole_tables(question), form), output, force=force)
        return 0

    @cache
    def known() -> Any:
        from millprep.proven.files import shop_of

        return shop_of(shop or "metric")

    drawer = None
    if shop is not None:
        from millprep.proven.files import drills_of

        drawer = drills_of(known())
    readings = lookup(question, drawer, chosen_units(units) or "mm", known)
    is_shown = output is None and sys.stdout.isatty() and not os.environ.get("NO_COLOR")
    text = answer(readings, form, full=full, sketch=sketch)
    emit(text, output, force=force, bold_first=is_shown and form == "text")
    return 0
