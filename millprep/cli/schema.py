"""`millprep schema KIND`."""

from __future__ import annotations

from typing import Annotated

import typer

from millprep.cli.common import emit, refuse_folder
from millprep.cli.options import Force, Output
from millprep.proven.files import schema as schema_of


def schema(
    kind: Annotated[str, typer.Argument(metavar="part|shop|assembly", help="the kind of file")],
    output: Output = None,
    force: Force = False,
) -> int:
    """The JSON Schema of a kind of file, for editors that complete and check by one."""
    refuse_folder(output)
    emit(schema_of(kind), output, force=force)
    return 0
