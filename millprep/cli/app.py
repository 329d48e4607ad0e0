"""The commands and their options; each imports what it needs when it runs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep import __version__
from millprep.cli.options import (
    Force,
    Format,
    Output,
    PartFile,
    SetupOption,
    ShopName,
    Skewed,
    SkewEdge,
    UnitsOption,
)
from millprep.cli.running import run


def _say_version(is_asked: bool) -> None:
    if is_asked:
        typer.echo(f"millprep {__version__}")
        raise typer.Exit


def new_app() -> typer.Typer:
    """A group without commands."""
    group = typer.Typer(
        add_completion=False,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["--help", "-h"]},
        help="One description of a part, every sheet for the mill.",
    )
    group.callback()(_whole)  # so that it stays a group with one command in it
    return group


def _whole(
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="which this is")
    ] = False,
) -> None:
    """What stands before the command."""


app = new_app()


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
    format: Annotated[
        str | None, typer.Option(metavar="text|json|csv|html|pdf", help="default: by the ending")
    ] = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """The readout listing, step by step."""
    from millprep.cli import sheets as command
    from millprep.proven.preparation import askew

    run(
        format,
        lambda: command.run(
            "listing",
            part,
            shop,
            command.asked(units, setup, only, from_step),
            format,
            output,
            force,
            order=order,
            given=askew(skew, skew_edge, setup, units),
        ),
    )


@app.command()
def dials(
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
    format: Annotated[
        str | None, typer.Option(metavar="text|json|csv|html|pdf", help="default: by the ending")
    ] = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """The listing in turns and divisions, for a mill without readout."""
    from millprep.cli import sheets as command
    from millprep.proven.preparation import askew

    run(
        format,
        lambda: command.run(
            "dials",
            part,
            shop,
            command.asked(units, setup, only, from_step),
            format,
            output,
            force,
            order=order,
            given=askew(skew, skew_edge, setup, units),
        ),
    )


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
    from millprep.cli import sheets as command

    run(
        format,
        lambda: command.run(
            "markout",
            part,
            shop,
            command.asked(units, stand=stand, gauge_offset=gauge_offset),
            format,
            output,
            force,
        ),
    )


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
    from millprep.proven.preparation import askew

    run(
        format,
        lambda: command.run(
            part, shop, setup, format, output, force, askew(skew, skew_edge, setup, None)
        ),
    )


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
    from millprep.cli import sheets as command

    run(
        None,
        lambda: command.run_drawing(
            part, shop, units, setup, output, template, measured_bars, force
        ),
    )


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
    skew: Skewed = None,
    skew_edge: SkewEdge = None,
    force: Force = False,
) -> None:
    """A page for a phone or tablet at the mill: one step at a time, ticks kept."""
    from millprep.cli import sheets as command
    from millprep.proven.preparation import askew

    run(
        None,
        lambda: command.run_bench(
            part,
            shop,
            command.asked(units, setup),
            order,
            output,
            force,
            askew(skew, skew_edge, setup, units),
        ),
    )


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

    run(format, lambda: command.run(part, shop, format, output, force))


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
    from millprep.cli import sheets as command

    run(format, lambda: command.run_tools(part, shop, setup, format, output, force))


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
    skew: Skewed = None,
    skew_edge: SkewEdge = None,
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
    from millprep.proven.preparation import askew

    run(
        format,
        lambda: command.run(
            files,
            part,
            stock,
            zero,
            shop,
            setup,
            units,
            format,
            output,
            moves,
            force,
            picture=picture,
            html=html,
            against=against or (),
            trace=trace,
            given=askew(skew, skew_edge, setup, units),
        ),
    )


@app.command()
def match(
    part: PartFile,
    measured: Annotated[
        Path, typer.Argument(metavar="MEASURED.csv", help="holes as measured: hole,x,y")
    ],
    shop: ShopName = "metric",
    units: UnitsOption = None,
    setup: SetupOption = None,
    hand: Annotated[
        str | None,
        typer.Option(metavar="as-drawn|mirrored", help="how the holes were seen; default: by fit"),
    ] = None,
    keep_edges: Annotated[
        bool, typer.Option("--keep-edges", help="undo the fit: this part's own zero stays true")
    ] = False,
    play: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="by how much mating centres may be apart")
    ] = None,
    noise: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="how far a reading may be wrong: 0.02 mm")
    ] = None,
    format: Format = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """The coordinates that make this part fit one that is drilled already."""
    from millprep.cli import match as command

    run(
        format,
        lambda: command.run(
            part,
            measured,
            shop,
            units,
            format,
            output,
            force,
            setup=setup,
            hand=hand,
            keep_edges=keep_edges,
            play=play,
            noise=noise,
        ),
    )


@app.command()
def inspect(
    part: PartFile,
    measured: Annotated[
        Path | None,
        typer.Argument(metavar="[MEASURED.csv]", help="places, or this sheet filled in"),
    ] = None,
    shop: ShopName = "metric",
    units: UnitsOption = None,
    setup: SetupOption = None,
    piece: Annotated[str, typer.Option(metavar="NAME", help="which of several alike")] = "1",
    date: Annotated[
        str | None, typer.Option(metavar="DAY", help="as 2026-05-14; default: today")
    ] = None,
    keep: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="results are added to it; default: beside the part"),
    ] = None,
    no_keep: Annotated[bool, typer.Option("--no-keep", help="keep no results")] = False,
    mmc: Annotated[
        bool, typer.Option("--mmc", help="position zones hold at maximum material")
    ] = False,
    format: Annotated[str | None, typer.Option("--format", metavar="text|json|csv|html")] = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """What to measure of the finished part; with measurements, what is in and out."""
    from millprep.cli import inspect as command

    run(
        format,
        lambda: command.run(
            part,
            measured,
            shop,
            units,
            setup,
            command.Keeping(piece, date, keep, not no_keep, mmc),
            format,
            output,
            force,
        ),
    )


@app.command()
def assembly(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the assembly file (TOML)")],
    shop: ShopName = "metric",
    change: Annotated[
        list[str] | None,
        typer.Option(metavar="'MEMBER: HOLE: KEY = VALUE'", help="what would change with it"),
    ] = None,
    format: Annotated[str | None, typer.Option("--format", metavar="text|json")] = None,
    output: Output = None,
    force: Force = False,
) -> None:
    """Whether parts made to their files go together."""
    from millprep.cli import assembly as command

    run(format, lambda: command.run(file, shop, change or (), format, output, force))


@app.command()
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
) -> None:
    """Thread, drill, fit, screw or material: figures with their source."""
    from millprep.cli import lookup as command

    run(format, lambda: command.run(words, format, output, force, shop, whole, units))


@app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the file to make")],
    kind: Annotated[str, typer.Option(metavar="part|shop|assembly")] = "part",
    units: Annotated[str, typer.Option(metavar="mm|inch")] = "mm",
    force: Force = False,
) -> None:
    """A commented starter file."""
    from millprep.cli import new as command

    run(None, lambda: command.run(file, kind, units, force))
