"""`millprep schema KIND`."""

from __future__ import annotations

from typing import Annotated

import typer

from millprep.cli.common import emit, refuse_folder
from millprep.cli.options import Out
from millprep.proven.files import schema as schema_of


def schema(
    kind: Annotated[str, typer.Argument(metavar="part|shop|assembly", help="the kind of file")],
    out: Out,
) -> int:
    """The JSON Schema of a kind of file, for editors that complete and check by one."""
    refuse_folder(out.output)
    emit(schema_of(kind), out.output, force=out.force)
    return 0
