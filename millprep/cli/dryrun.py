"""`millprep dryrun FILE...`: what programs would do, on paper and in the files asked for."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import stopped
from millprep.base.marks import sealed
from millprep.base.outfile import write_files
from millprep.base.plain_text import clean
from millprep.base.records import frozen
from millprep.cli import options as option
from millprep.cli.common import (
    chosen_format,
    chosen_units,
    emit,
    exit_status,
    print_findings,
    refuse_ending,
    refuse_folder,
    state_of,
)
from millprep.cli.terminal import width
from millprep.proven.dryrun import DryRun, dry_run, traced
from millprep.proven.stacks import refuse_program

_WIDEST = 100
Contents = list[tuple[str, Path, bytes]]
"""(option, path, bytes) of each file."""


@frozen
class Beside:
    """What is drawn and listed beside the report."""

    moves: Annotated[
        Path | None, typer.Option(metavar="FILE.csv", help="every motion, a row each")
    ] = None
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE.svg|.png|.pdf", help="three views to scale, and what is left"),
    ] = None
    html: Annotated[
        Path | None, typer.Option(metavar="FILE.html", help="the views beside the program")
    ] = None
    section: Annotated[
        list[str] | None,
        typer.Option(metavar="HOLE", help="show it cut: a name, 'X20 Y10', a number"),
    ] = None

    def refuse(self) -> None:
        """Raises MillprepError for what cannot be written."""
        refuse_folder(self.moves, self.picture, self.html)
        refuse_ending(self.picture, (".svg", ".png", ".pdf"), "--picture: nothing is")
        refuse_ending(self.html, (".html", ".htm"), "--html: nothing is")
        if self.section and self.picture is None and self.html is None:
            message, remedy = "--section is drawn on a picture or page", "add --picture left.svg"
            raise stopped("unknown-word", message, remedy)

    def contents(self, made: DryRun) -> Contents:
        found: Contents = []
        if self.moves is not None:
            found.append(("--moves", self.moves, made.moves_csv()))
        if self.picture is not None:
            picture = made.picture(self.picture.suffix.lower())
            found.append(("--picture", self.picture, picture))
        if self.html is not None:
            found.append(("--html", self.html, made.page(self.html.suffix.lower())))
        return found


_Part = Annotated[
    Path | None, typer.Option("--part", metavar="PART", help="compare with this part")
]
_Stock = Annotated[
    str | None, typer.Option(metavar="X,Y,Z", help='or "4 x 2 x 0.5 in", "dia 40 x 6"')
]
_Zero = Annotated[str | None, typer.Option(metavar="X,Y,Z", help="faces, such as left,front,top")]
_Against = Annotated[
    list[Path] | None, typer.Option(metavar="OLD", help="what is done otherwise than by OLD")
]
_Tools = Annotated[
    list[Path] | None,
    typer.Option("--tools", metavar="FILE", help="the card of a program without comments"),
]
_Trace = Annotated[bool, typer.Option("--trace", help="each act as a line of JSON, and no report")]


def dryrun(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="programs, in order")],
    *,
    part: _Part = None,
    stack: option.Stack = None,
    stock: _Stock = None,
    zero: _Zero = None,
    shop: option.ShopName = "metric",
    units: option.Units = None,
    setup: Annotated[int, typer.Option("--setup", metavar="N", help="the part's setup")] = 1,
    places: option.Places = None,
    pieces: option.Pieces = None,
    touched: option.Touched,
    left: option.Left,
    tools: _Tools = None,
    beside: Beside,
    against: _Against = None,
    trace: _Trace = False,
    format: option.ReportFormat = None,
    out: option.Out,
) -> int:
    """What programs would do, one after another on the same stock, checked."""
    form = chosen_format(format, out.output, ("text", "json"))
    shown = chosen_units(units)
    given = touched.askew(setup, shown)
    beside.refuse()
    if stack is not None and part is None:
        raise stopped("unknown-word", "--stack without --part", "name the assembly: --part FILE")
    made_of = None if part is None else option.OfPart(part, shop, stack).made_of
    refuse_program(made_of)
    asked = (made_of, shop, stock, zero, setup, shown, given, tools or (), places, pieces)
    if trace:
        findings = traced(files, print, *asked)
        print_findings(findings)
        return exit_status(findings)
    with _telling() as progress:
        made = dry_run(
            files,
            *asked,
            assembly=left.assembly,
            fitted=left.to_fit(),
            against=against or (),
            sections=beside.section or (),
            progress=progress,
        )
    text = made.json() if form == "json" else made.text(_columns(out.output))
    _hand_over(text, beside.contents(made), out)
    if form == "json" or out.output is not None:
        print_findings(made.findings)  # else they stand in the report
    return exit_status(made.findings)


def _columns(output: Path | None) -> int | None:
    """As wide as the terminal, but no wider than can be read."""
    if output is not None or not sys.stdout.isatty():
        return None
    return min(width(sys.stdout), _WIDEST)


@contextmanager
def _telling() -> Iterator[_Telling | None]:
    """Somebody who is told, at a terminal; what is printed next begins on a line of its own."""
    telling = _Telling() if sys.stderr.isatty() else None
    try:
        yield telling
    finally:
        if telling is not None:
            telling.end()


class _Telling:
    """Tells a person at a terminal how far a long program has been read, on one line."""

    def __init__(self) -> None:
        self._file = ""

    def __call__(self, file: str, done: int, lines: int, again: int) -> None:
        if file != self._file:
            self.end()
        self._file = file
        more = f", {again:,} in loops and calls" if again else ""
        print(
            f"\r{clean(file)}: {done} of {lines} lines{more}", end="", file=sys.stderr, flush=True
        )

    def end(self) -> None:
        """What is printed next begins on a line of its own."""
        if self._file:
            print(file=sys.stderr, flush=True)
        self._file = ""


def _hand_over(text: str, contents: Contents, out: option.Out) -> None:
    """The report to stdout or its file, and the others to theirs: all of the files, or none."""
    output = out.output
    if not contents:
        emit(text, out.output, force=out.force)
        return
    if output is not None:
        contents = [("-o", output, sealed(text)), *contents]
    seen: dict[str, str] = {}
    for name, path, _ in contents:
        other = seen.setdefault(os.path.realpath(path), name)
        if other != name:
            message = f"{other} and {name} name one file"
            raise stopped("unknown-word", message, "give each its own", str(path))
    changed = set(write_files({path: data for _, path, data in contents}, force=out.force))
    for name, path, _ in contents:
        if name != "--moves":
            print(state_of(path, changed), file=sys.stderr)
    if output is None:
        emit(text, out.output, force=out.force)
