"""`lookup WORDS...`: what the tables hold, as text, JSON or CSV.

A shop is read only when one is named, so that a bare question loads no schemas.
"""

from __future__ import annotations

from typing import Annotated

import typer

from millprep.cli.common import FORMATS, chosen_format, chosen_units, emit
from millprep.cli.options import Force, Format, Output


def lookup(
    words: Annotated[
        list[str], typer.Argument(metavar="WORDS...", help='as "M6" or "clearance M5"')
    ],
    shop: Annotated[
        str | None, typer.Option("--shop", metavar="NAME|FILE", help="drills from its cabinet")
    ] = None,
    units: Annotated[
        str | None, typer.Option("--units", metavar="mm|inch", help="of bare numbers")
    ] = None,
    whole: Annotated[bool, typer.Option("--all", help="the whole tables of that name")] = False,
    format: Format = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Thread, drill, fit, screw or material: figures with their source."""
    from millprep.lookup import lookup, whole_tables
    from millprep.lookup.forms import answer, answer_whole
    from millprep.proven.files import drills_of

    form = chosen_format(format, output, FORMATS)
    question = " ".join(words)
    if whole:
        emit(answer_whole(whole_tables(question), form), output, force=force)
        return 0
    drawer = None if shop is None else drills_of(shop)
    readings = lookup(question, drawer, chosen_units(units) or "mm")
    emit(answer(readings, form), output, force=force)
    return 0
