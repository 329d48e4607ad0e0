"""`millprep dryrun FILE...`: what programs would do, on paper and in the files asked for."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import stopped
from millprep.base.outfile import sealed, write_files
from millprep.base.plain_text import clean
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
from millprep.proven.dryrun import dry_run, traced
from millprep.proven.moving import to_fit
from millprep.proven.preparation import askew
from millprep.proven.stacks import part_or_stack, refuse_program

_WIDEST = 100
Contents = list[tuple[str, Path, bytes]]
"""(option, path, bytes) of each file."""


_Part = Annotated[
    Path | None, typer.Option("--part", metavar="PART", help="compare with this part")
]
_Stock = Annotated[
    str | None, typer.Option(metavar="X,Y,Z", help='or "4 x 2 x 0.5 in", "dia 40 x 6"')
]
_Zero = Annotated[str | None, typer.Option(metavar="X,Y,Z", help="faces, such as left,front,top")]
_Moves = Annotated[Path | None, typer.Option(metavar="FILE.csv", help="every motion, a row each")]
_Picture = Annotated[
    Path | None,
    typer.Option(metavar="FILE.svg|.png|.pdf", help="three views to scale, and what is left"),
]
_Section = Annotated[
    list[str] | None, typer.Option(metavar="HOLE", help="show it cut: a name, 'X20 Y10', a number")
]
_Html = Annotated[
    Path | None, typer.Option(metavar="FILE.html", help="the views beside the program")
]
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
    part: _Part = None,
    stack: option.Stack = None,
    stock: _Stock = None,
    zero: _Zero = None,
    shop: option.ShopName = "metric",
    units: option.Units = None,
    setup: Annotated[int, typer.Option("--setup", metavar="N", help="the part's setup")] = 1,
    places: option.Places = None,
    pieces: option.Pieces = None,
    skew: option.Skew = None,
    skew_edge: option.SkewEdge = None,
    assembly: option.Assembly = None,
    as_measured: option.AsMeasured = None,
    most_move: option.MostMove = None,
    tools: _Tools = None,
    moves: _Moves = None,
    picture: _Picture = None,
    html: _Html = None,
    section: _Section = None,
    against: _Against = None,
    trace: _Trace = False,
    format: option.ReportFormat = None,
    output: option.Output = None,
    force: option.Force = False,
) -> int:
    """What programs would do, one after another on the same stock, checked."""
    form = chosen_format(format, output, ("text", "json"))
    refuse_folder(moves, picture, html)
    shown = chosen_units(units)
    given = askew(skew, skew_edge, setup, shown)
    refuse_ending(picture, (".svg", ".png", ".pdf"), "--picture: nothing is")
    refuse_ending(html, (".html", ".htm"), "--html: nothing is")
    if section and picture is None and html is None:
        message, remedy = "--section is drawn on a picture or page", "add --picture left.svg"
        raise stopped("unknown-word", message, remedy)
    if stack is not None and part is None:
        raise stopped("unknown-word", "--stack without --part", "name the assembly: --part FILE")
    made_of = part if part is None else part_or_stack(part, stack, shop)
    refuse_program(made_of)
    asked = (made_of, shop, stock, zero, setup, shown, given, tools or (), places, pieces)
    if trace:
        findings = traced(files, print, *asked)
        print_findings(findings)
        return exit_status(findings)
    telling = _Telling() if sys.stderr.isatty() else None
    try:
        made = dry_run(
            files,
            *asked,
            assembly=assembly,
            fitted=to_fit(as_measured, most_move),
            against=against or (),
            sections=section or (),
            progress=telling,
        )
    finally:
        if telling is not None:
            telling.end()
    contents: Contents = []
    if moves is not None:
        contents.append(("--moves", moves, made.moves_csv()))
    if picture is not None:
        contents.append(("--picture", picture, made.picture(picture.suffix.lower())))
    if html is not None:
        contents.append(("--html", html, made.page(html.suffix.lower())))
    _hand_over(
        made.json() if form == "json" else made.text(_columns(output)), contents, output, force
    )
    if form == "json" or output is not None:
        print_findings(made.findings)  # else they stand in the report
    return exit_status(made.findings)


def _columns(output: Path | None) -> int | None:
    """As wide as the terminal, but no wider than can be read."""
    if output is not None or not sys.stdout.isatty():
        return None
    return min(width(sys.stdout), _WIDEST)


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


def _hand_over(text: str, contents: Contents, output: Path | None, force: bool) -> None:
    """The report to stdout or its file, and the others to theirs: all of the files, or none."""
    if not contents:
        emit(text, output, force=force)
        return
    if output is not None:
        contents = [("-o", output, sealed(text)), *contents]
    seen: dict[str, str] = {}
    for name, path, _ in contents:
        other = seen.setdefault(os.path.realpath(path), name)
        if other != name:
            message = f"{other} and {name} name one file"
            raise stopped("unknown-word", message, "give each its own", str(path))
    changed = set(write_files({path: data for _, path, data in contents}, force=force))
    for name, path, _ in contents:
        if name != "--moves":
            print(state_of(path, changed), file=sys.stderr)
    if output is None:
        emit(text, None)
