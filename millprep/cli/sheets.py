"""`millprep listing`, `dials`, `markout`, `tools`, `bench`, `drawing`: the sheets of a part."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import has_stop
from millprep.base.outfile import write_files
from millprep.base.records import replace
from millprep.cli import options as option
from millprep.cli.common import (
    Checked,
    chosen_format,
    chosen_units,
    hand_over,
    print_beside,
    refuse_at_terminal,
    refuse_ending,
    refuse_folder,
    state_of,
)
from millprep.proven.leaving import pieces_named
from millprep.proven.moving import ToFit, to_fit
from millprep.proven.preparation import askew, prepare
from millprep.proven.sheets import SHEETS, Asked, Handed, order_of, prove
from millprep.proven.stacks import part_or_stack, words_of

WORDS = {"listing": "listing", "dials": "dial sheet", "markout": "marking-out list"}
PAGES = (".html", ".htm")


def _step_by_step(sheet: str, help_line: str) -> Callable[..., int]:
    """The command of a sheet that goes through the plan step by step."""

    def command(
        part: option.PartFile,
        shop: option.ShopName = "metric",
        stack: option.Stack = None,
        units: option.Units = None,
        setup: option.Setup = None,
        order: option.Order = "tool",
        only: option.Only = None,
        from_step: Annotated[
            int | None, typer.Option(metavar="N", help="from this step on")
        ] = None,
        short: Annotated[
            bool, typer.Option("--short", help="for the second piece: without explanations")
        ] = False,
        pieces: option.Pieces = None,
        skew: option.Skew = None,
        skew_edge: option.SkewEdge = None,
        assembly: option.Assembly = None,
        as_measured: option.AsMeasured = None,
        most_move: option.MostMove = None,
        format: option.PageFormat = None,
        output: option.Output = None,
        force: option.Force = False,
        no_plan: Annotated[
            bool, typer.Option("--no-plan", help="at a terminal: no plan in characters")
        ] = False,
    ) -> int:
        many = pieces_named(part, assembly) if pieces is None else pieces
        asked = Asked(chosen_units(units), setup, only, from_step, short or None, pieces=many)
        given = askew(skew, skew_edge, setup, asked.units)
        made_of = part_or_stack(part, stack, shop), shop, order_of(sheet, order), given
        called, fitted = words_of(part, stack), to_fit(as_measured, most_move, setup)
        return _handed_over(
            sheet,
            made_of,
            asked,
            format,
            output,
            force,
            called,
            assembly,
            fitted,
            has_plan=not no_plan,
        )

    command.__name__, command.__doc__ = sheet, help_line
    return command


listing = _step_by_step("listing", "The readout listing, step by step.")
dials = _step_by_step("dials", "The listing in turns and divisions, for a mill without readout.")


def markout(
    part: option.PartFile,
    shop: option.ShopName = "metric",
    units: option.Units = None,
    stand: Annotated[
        str | None, typer.Option("--stand", metavar="FACE,...", help="stand it on these faces")
    ] = None,
    gauge_offset: Annotated[
        str | None,
        typer.Option("--gauge-offset", metavar="LENGTH", help="what the gauge reads on the plate"),
    ] = None,
    assembly: option.Assembly = None,
    as_measured: option.AsMeasured = None,
    most_move: option.MostMove = None,
    format: option.PageFormat = None,
    output: option.Output = None,
    force: option.Force = False,
) -> int:
    """Height-gauge settings, grouped by the face that stands on the surface plate."""
    asked = Asked(chosen_units(units), stand=stand, gauge_offset=gauge_offset)
    fitted = to_fit(as_measured, most_move)
    return _handed_over(
        "markout", (part, shop), asked, format, output, force, part, assembly, fitted
    )


def _handed_over(
    sheet: str,
    made_of: tuple[object, ...],
    asked: Asked,
    data_format: str | None,
    output: Path | None,
    force: bool,
    called: Path | str,
    assembly: str | None,
    fitted: ToFit | None,
    *,
    has_plan: bool = False,
) -> int:
    """0 when the sheet was handed over, 1 when a stop kept it back.

    made_of : part, shop, order and skew, as `prepare` takes them; called : the part, as asked for
    has_plan : at a terminal, a plan in characters stands above the steps
    """
    kind = SHEETS[sheet]
    form = chosen_format(data_format, output, kind.forms)
    refuse_at_terminal(form, output)
    prepared = prepare(*made_of, assembly=assembly, only=asked.only, fitted=fitted)  # type: ignore[arg-type]  # in its order
    handed = prove(sheet, prepared, form, asked, str(output or kind.called))
    if has_plan and form == "text" and output is None and handed.data and sys.stdout.isatty():
        from millprep.proven.at_terminal import with_plans

        columns = shutil.get_terminal_size().columns
        handed = replace(handed, data=with_plans(handed.data.decode(), prepared, columns).encode())
    checked = Checked(prepared.findings, called, str(made_of[1]), fitted)
    return hand_over(handed, form, output, force=force, called=WORDS[sheet], checked=checked)


def bench(
    part: option.PartFile,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="ends in .html")],
    shop: option.ShopName = "metric",
    stack: option.Stack = None,
    units: option.Units = None,
    setup: option.Setup = None,
    order: option.Order = "tool",
    only: option.Only = None,
    pieces: option.Pieces = None,
    skew: option.Skew = None,
    skew_edge: option.SkewEdge = None,
    assembly: option.Assembly = None,
    as_measured: option.AsMeasured = None,
    most_move: option.MostMove = None,
    force: option.Force = False,
) -> int:
    """A page for a phone or tablet at the mill: one step at a time, ticks kept."""
    many = pieces_named(part, assembly) if pieces is None else pieces
    asked = Asked(chosen_units(units), setup, only, pieces=many)
    given = askew(skew, skew_edge, setup, asked.units)
    refuse_folder(output)
    refuse_ending(output, PAGES, "the bench page is not")
    fitted = to_fit(as_measured, most_move, setup)
    prepared = prepare(
        part_or_stack(part, stack, shop),
        shop,
        order,
        given,
        assembly=assembly,
        only=only,
        fitted=fitted,
    )
    handed = prove("bench", prepared, "html", asked, str(output))
    checked = Checked(prepared.findings, words_of(part, stack), shop, fitted)
    if handed.data is None:
        return hand_over(handed, "html", output, force=force, called="bench page", checked=checked)
    return _written({output: handed}, checked, force=force)


def drawing(
    part: option.PartFile,
    output: Annotated[
        Path,
        typer.Option("-o", "--output", metavar="FILE", help="ends in .svg, .pdf, .png or .dxf"),
    ],
    shop: option.ShopName = "metric",
    stack: option.Stack = None,
    units: option.Units = None,
    setup: option.Setup = None,
    template: Annotated[
        bool, typer.Option("--template", help="full size, for punching through the paper")
    ] = False,
    paper: Annotated[
        str | None,
        typer.Option(
            metavar="a4|a3|letter", help="default: as the shop says, or fits A4 and Letter"
        ),
    ] = None,
    measured_bars: Annotated[
        str | None,
        typer.Option(metavar="X,Y", help="lengths of the printed bars: drawn to correct them"),
    ] = None,
    date: option.Day = None,
    assembly: option.Assembly = None,
    as_measured: option.AsMeasured = None,
    most_move: option.MostMove = None,
    force: option.Force = False,
) -> int:
    """A drawing of each face as it lies: views, holes, dimensions from the datum, a table."""
    from millprep.proven.drawing import Wishes, drawings, purpose_of, refuse_no_drawing
    from millprep.proven.measured import day_of
    from millprep.proven.program import numbered_path

    refuse_folder(output)
    refuse_no_drawing(output.suffix, str(output))
    day, asked = day_of(date), chosen_units(units)
    fitted = to_fit(as_measured, most_move, setup)
    made_of = part_or_stack(part, stack, shop)
    prepared = prepare(made_of, shop, assembly=assembly, fitted=fitted)
    shown = asked or prepared.part.units
    wishes = Wishes(template, measured_bars, paper, asked or "mm")
    purpose = purpose_of(output.suffix, wishes, shown, str(output), prepared.shop.paper)
    sheets = drawings(
        prepared, output.suffix.lower(), units=shown, setup=setup, purpose=purpose, date=day
    )
    checked = Checked(prepared.findings, words_of(part, stack), shop, fitted)
    if has_stop(sheets[0].findings):
        print_beside(sheets[0].findings, checked)
        return 1
    several = len(sheets) > 1
    paths = [
        numbered_path(output, one.setup if several else None, sheet=one.sheet) for one in sheets
    ]
    return _written(dict(zip(paths, sheets, strict=True)), checked, force=force)


def _written(files: dict[Path, Handed], checked: Checked, *, force: bool) -> int:
    """Write all of the files or none, and say so of each; 0."""
    contents = {path: one.data for path, one in files.items() if one.data is not None}
    changed = set(write_files(contents, force=force))
    for path in contents:
        print(state_of(path, changed))
    sys.stdout.flush()
    print_beside(next(iter(files.values())).findings, checked)
    return 0


def tools(
    part: option.PartFile,
    shop: option.ShopName = "metric",
    stack: option.Stack = None,
    setup: option.Setup = None,
    assembly: option.Assembly = None,
    format: option.PageFormat = None,
    output: option.Output = None,
    force: option.Force = False,
) -> int:
    """The tools to pull, in order of use, and what the drawer lacks."""
    form = chosen_format(format, output, SHEETS["tools"].forms)
    refuse_at_terminal(form, output)
    prepared = prepare(part_or_stack(part, stack, shop), shop, assembly=assembly)
    handed = prove("tools", prepared, form, Asked(setup=setup), str(output or "tools"))
    checked = Checked(prepared.findings, words_of(part, stack), shop)
    return hand_over(handed, form, output, force=force, called="tools list", checked=checked)
