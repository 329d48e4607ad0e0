"""`millprep new FILE`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep.cli.common import chosen_units, emit
from millprep.cli.options import Force
from millprep.proven.files import starter


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the file to make")],
    kind: Annotated[str, typer.Option(metavar="part|shop|assembly")] = "part",
    units: Annotated[str, typer.Option(metavar="mm|inch")] = "mm",
    force: Force = False,
) -> int:
    """A commented starter file."""
    emit(starter(kind, chosen_units(units) or "mm"), file, force=force)
    return 0
