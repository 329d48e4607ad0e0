"""`millprep new FILE`: a starter file, or a part file made of a plan."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from millprep.base.bounds import LARGEST_FILE_BYTES
from millprep.base.findings import stopped
from millprep.base.plain_text import clean, counted
from millprep.cli.common import chosen_units, emit, print_findings, refuse_folder
from millprep.cli.options import Force
from millprep.proven.files import starter
from millprep.proven.plans import PASTED, Wishes, part_file

_MOST_SAID = {"warning": 200, "note": 30}
"""On the screen; the file has more of them."""


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the file to make")],
    kind: Annotated[str, typer.Option(metavar="part|shop|assembly")] = "part",
    units: Annotated[str | None, typer.Option(metavar="mm|inch", help="of plain figures")] = None,
    from_: Annotated[
        str | None,
        typer.Option(
            "--from", metavar="PLAN|-", help="a table (.csv, .tsv, .txt), a .dxf, or what is pasted"
        ),
    ] = None,
    stock: Annotated[
        str | None,
        typer.Option(metavar="X,Y,Z", help="with --from: the blank, as 60,25,20 or 'dia 40 x 6'"),
    ] = None,
    zero: Annotated[
        str | None,
        typer.Option(metavar="X,Y", help="with --from: faces of its zero, as left,front"),
    ] = None,
    columns: Annotated[
        str | None,
        typer.Option(metavar="NAMES", help="with --from: of a table without, as name,x,y,diameter"),
    ] = None,
    force: Force = False,
) -> int:
    """A commented starter file, or a part file made of a plan."""
    chosen = chosen_units(units)
    if from_ is None:
        given = {"--stock": stock, "--zero": zero, "--columns": columns}
        stray = next((name for name, value in given.items() if value is not None), None)
        if stray is not None:
            raise stopped("unknown-word", f"{stray} without --from", "name the plan: --from FILE")
        emit(starter(kind, chosen or "mm"), file, force=force)
        return 0
    if kind != "part":
        raise stopped("contradiction", f"--kind {kind} with --from", "a plan makes a part file")
    refuse_folder(file)
    wishes = Wishes(chosen, stock, zero, columns)
    made = part_file(from_, file.stem, wishes, _pasted() if from_ == PASTED else b"")
    emit(made.text, file, force=force)
    for severity, most in _MOST_SAID.items():
        said = [one for one in made.findings if one.severity == severity]
        print_findings(said[:most])
        if len(said) > most:
            print(f"and {counted(len(said) - most, severity)} more", file=sys.stderr)
    read = f"{made.read} of {made.total} {made.noun} read"
    print(clean(f"{read}; what is to be filled in: millprep check {file}"), file=sys.stderr)
    return 0


def _pasted() -> bytes:
    """What is pasted at the terminal, or comes through a pipe."""
    if sys.stdin.isatty():
        print("paste the table, then Ctrl-D on a line of its own", file=sys.stderr)
    return sys.stdin.buffer.read(LARGEST_FILE_BYTES + 1)
