"""The commands and their options; each imports what it needs when it runs."""

from __future__ import annotations

import gc
import io
import os
import re
import sys
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any

import typer


def _new_app() -> typer.Typer:
    """A group without commands."""
    group = typer.Typer(
        add_completion=False,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["--help", "-h"]},
        help="One description of a part, every sheet for the mill.",
    )
    group.callback()(lambda: None)  # so that it stays a group with one command in it
    return group


app = _new_app()

PartFile = Annotated[Path, typer.Argument(metavar="PART", help="the part file (TOML)")]
ShopName = Annotated[
    str, typer.Option("--shop", metavar="NAME|FILE", help="metric, inch, or a shop file")
]
UnitsOption = Annotated[
    str | None, typer.Option("--units", metavar="mm|inch", help="figures in mm or inch")
]
SetupOption = Annotated[int | None, typer.Option("--setup", metavar="N", help="one setup only")]
Output = Annotated[
    Path | None, typer.Option("-o", "--output", metavar="FILE", help="write to a file")
]
Force = Annotated[bool, typer.Option("--force", help="replace a file that is not millprep's own")]
Skewed = Annotated[
    str | None,
    typer.Option("--skew", metavar="'X1,Y1 X2,Y2'", help="finder at two places of an edge"),
]
SkewEdge = Annotated[
    str | None,
    typer.Option("--skew-edge", metavar="FACE", help="the face touched; default: towards you"),
]
Format = Annotated[
    str | None, typer.Option("--format", metavar="text|json|csv", help="default: by the ending")
]


@app.command()
def listing(
    part: PartFile,
    shop: ShopName = "metric",
    units: UnitsOption = None,
    setup: SetupOption = None,
    order: Annotated[
        str, typer.Option(metavar="tool|hole|row", help="by tool, hole by hole, or row by row")
    ] = "tool",
    only: Annotated[
        str | None, typer.Option(metavar="HOLE", help="the steps of one hole or pattern")
    ] = None,
    from_step: Annotated[int | None, typer.Option(metavar="N", help="from this step on")] = None,
    skew: Skewed = None,
    skew_edge: SkewEdge = None,
    format: Format = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """The readout listing, step by step."""
    from millprep.cli import listing as command
    from millprep.cli.preparation import askew

    _run(format, lambda: command.run(
        part, shop, units, setup, order, only, from_step, format, output, force,
        askew(skew, skew_edge, setup, units),
    ))  # fmt: skip


@app.command()
def dials(
    part: PartFile,
    shop: ShopName = "metric",
    units: UnitsOption = None,
    setup: SetupOption = None,
    order: Annotated[
        str, typer.Option(metavar="tool|hole|row", help="by tool, hole by hole, or row by row")
    ] = "tool",
    format: Format = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """The listing in turns and divisions, for a mill without readout."""
    from millprep.cli import dials as command

    _run(format, lambda: command.run(part, shop, units, setup, order, format, output, force))


@app.command()
def markout(
    part: PartFile,
    shop: ShopName = "metric",
    units: UnitsOption = None,
    stand: Annotated[
        str | None, typer.Option("--stand", metavar="FACE,...", help="stand it on these faces")
    ] = None,
    gauge_offset: Annotated[
        str | None,
        typer.Option("--gauge-offset", metavar="LENGTH", help="what the gauge reads on the plate"),
    ] = None,
    format: Format = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """Height-gauge settings, grouped by the face that stands on the surface plate."""
    from millprep.cli import markout as command

    _run(format, lambda: command.run(
        part, shop, units, stand, gauge_offset, format, output, force
    ))  # fmt: skip


@app.command()
def program(
    part: PartFile,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="the program's file")
    ],
    shop: ShopName = "metric",
    setup: SetupOption = None,
    skew: Skewed = None,
    skew_edge: SkewEdge = None,
    format: Annotated[
        str | None, typer.Option("--format", metavar="text|json", help="of the report")
    ] = None,
    force: Force = False,
) -> None:
    """The drilling program(s), dry-run against the part before they are written."""
    from millprep.cli import program as command
    from millprep.cli.preparation import askew

    _run(format, lambda: command.run(
        part, shop, setup, format, output, force, askew(skew, skew_edge, setup, None)
    ))  # fmt: skip


@app.command()
def drawing(
    part: PartFile,
    output: Annotated[
        Path,
        typer.Option("-o", "--output", metavar="FILE", help="ends in .svg, .pdf, .png or .dxf"),
    ],
    shop: ShopName = "metric",
    units: UnitsOption = None,
    setup: SetupOption = None,
    template: Annotated[
        bool, typer.Option("--template", help="full size, for punching through the paper")
    ] = False,
    measured_bars: Annotated[
        str | None,
        typer.Option(metavar="X,Y", help="lengths of the printed bars, mm: drawn to correct them"),
    ] = None,
    force: Force = False,
) -> None:
    """A drawing of each face as it lies: holes, dimensions from the datum, a table."""
    from millprep.cli import drawing as command

    _run(None, lambda: command.run(
        part, shop, units, setup, output, template, measured_bars, force
    ))  # fmt: skip


@app.command()
def bench(
    part: PartFile,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="ends in .html")],
    shop: ShopName = "metric",
    units: UnitsOption = None,
    setup: SetupOption = None,
    order: Annotated[
        str, typer.Option(metavar="tool|hole|row", help="by tool, hole by hole, or row by row")
    ] = "tool",
    force: Force = False,
) -> None:
    """A page for a phone or tablet at the mill: one step at a time, ticks kept."""
    from millprep.cli import bench as command

    _run(None, lambda: command.run(part, shop, units, setup, order, output, force))


@app.command()
def check(
    part: PartFile,
    shop: ShopName = "metric",
    format: Annotated[str | None, typer.Option("--format", metavar="text|json")] = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """What would go wrong: findings, worst first."""
    from millprep.cli import check as command

    _run(format, lambda: command.run(part, shop, format, output, force))


@app.command()
def tools(
    part: PartFile,
    shop: ShopName = "metric",
    setup: SetupOption = None,
    format: Format = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """The tools to pull, in order of use, and what the drawer lacks."""
    from millprep.cli import tools as command

    _run(format, lambda: command.run(part, shop, setup, format, output, force))


@app.command()
def dryrun(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="programs, in order")],
    part: Annotated[
        Path | None, typer.Option("--part", metavar="PART", help="compare with this part")
    ] = None,
    stock: Annotated[str | None, typer.Option(metavar="X,Y,Z", help='or "dia 40 x 6"')] = None,
    zero: Annotated[
        str | None, typer.Option(metavar="X,Y,Z", help="faces, such as left,front,top")
    ] = None,
    shop: ShopName = "metric",
    units: UnitsOption = None,
    setup: Annotated[int, typer.Option("--setup", metavar="N", help="the part's setup")] = 1,
    moves: Annotated[
        Path | None, typer.Option(metavar="FILE.csv", help="every motion, a row each")
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE.svg|.png", help="three views to scale")
    ] = None,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE.html", help="the views beside the program")
    ] = None,
    against: Annotated[
        list[Path] | None, typer.Option(metavar="OLD", help="what is done otherwise than by OLD")
    ] = None,
    trace: Annotated[
        bool, typer.Option("--trace", help="each act as a line of JSON, and no report")
    ] = False,
    format: Annotated[str | None, typer.Option("--format", metavar="text|json")] = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """What programs would do, one after another on the same stock, checked."""
    from millprep.cli import dryrun as command

    _run(format, lambda: command.run(
        files, part, stock, zero, shop, setup, units, format, output, moves, force,
        picture=picture, html=html, against=against or (), trace=trace,
    ))  # fmt: skip


@app.command()
def lookup(
    words: Annotated[
        list[str], typer.Argument(metavar="WORDS...", help='as "M6" or "clearance M5"')
    ],
    shop: Annotated[
        str | None,
        typer.Option("--shop", metavar="NAME|FILE", help="drills from its cabinet"),
    ] = None,
    units: Annotated[
        str | None, typer.Option("--units", metavar="mm|inch", help="of bare numbers")
    ] = None,
    whole: Annotated[bool, typer.Option("--all", help="the whole tables of that name")] = False,
    format: Format = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """Thread, drill, fit, screw or material: figures with their source."""
    from millprep.cli import lookup as command

    _run(format, lambda: command.run(
        words, format, output, force, shop, whole, units
    ))  # fmt: skip


@app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the file to make")],
    kind: Annotated[str, typer.Option(metavar="part|shop")] = "part",
    units: Annotated[str, typer.Option(metavar="mm|inch")] = "mm",
    force: Force = False,
) -> None:
    """A commented starter file."""
    from millprep.cli import new as command

    _run(None, lambda: command.run(file, kind, units, force))


def _run(data_format: str | None, command: Any) -> None:
    """Run a command; what cannot be judged is reported and gives exit status 2."""
    from millprep.cli.common import refused
    from millprep.errors import MillprepError, WordError

    try:
        status = command()
        sys.stdout.flush()
    except (MillprepError, WordError) as error:
        status = refused(error, data_format)
    except OSError as error:
        if error.filename is not None:  # of a file, and not of stdout: a bug
            raise
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115, PTH123  # so that the exit flushes nothing
        status = 0 if isinstance(error, BrokenPipeError) else _not_printed(error)
    raise typer.Exit(status)


def _not_printed(error: OSError) -> int:
    """The disk or device behind stdout is full."""
    from millprep.cli.common import refused
    from millprep.errors import Finding, MillprepError

    message = f"what was to be printed cannot be written: {error.strerror}"
    return refused(MillprepError(Finding("stop", "output-refused", message, "make room")), None)


def _prepare_streams() -> None:
    """Sheets are UTF-8 wherever they go; a stream that the shell has closed takes nothing."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w"))  # noqa: SIM115, PTH123  # lives to the end
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def _app_for(given: list[str]) -> typer.Typer:
    """The app with only the command asked for: reading the options of all takes its time."""
    asked = [
        info
        for info in app.registered_commands
        if given and info.callback is not None and info.callback.__name__ == given[0]
    ]
    if not asked:
        return app
    one = _new_app()
    one.registered_commands = asked
    return one


def main(arguments: list[str] | None = None) -> None:
    """The command line; ends the process with the contract's exit status."""
    given = sys.argv[1:] if arguments is None else arguments
    gc.set_threshold(1_000_000, 20, 50)  # a command lives for a second: let it begin undisturbed
    _prepare_streams()
    # No plug-in of pydantic is wanted; looking for some reads every package that is installed.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        status = _app_for(given)(args=given, prog_name="millprep", standalone_mode=False)
    except Exception as error:
        if not hasattr(error, "format_message"):
            raise
        status = _usage(error.format_message(), given)
    sys.exit(status if isinstance(status, int) else 0)


def _usage(message: str, given: list[str]) -> int:
    """An unknown command or option, in the same form as every other finding."""
    from millprep.cli.common import refused
    from millprep.errors import Finding, MillprepError

    if not message:  # no arguments: the help has been shown
        return 2
    found = re.match(r"Invalid value for '(-[\w-]+)'.*integer", message)
    if found is not None:
        message = f'{found[1]}: "{_value_after(found[1], given)}" is not a whole number'
    wants_json = "--format=json" in given or ("--format", "json") in pairwise(given)
    finding = Finding("stop", "unknown-word", message, "see millprep --help")
    return refused(MillprepError(finding), "json" if wants_json else None)


def _value_after(option: str, given: list[str]) -> str:
    """What was given for an option, as `--setup 2` or `--setup=2`."""
    for word, following in pairwise([*given, ""]):
        name, _, value = word.partition("=")
        if name == option:
            return value or following
    return ""
