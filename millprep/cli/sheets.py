"""`millprep listing`, `dials`, `markout`, `tools`, `bench`, `drawing`: the sheets of a part."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import Finding, has_stop
from millprep.base.outfile import write_files
from millprep.base.records import replace
from millprep.cli import options as option
from millprep.cli.common import (
    Checked,
    chosen_units,
    form_of,
    hand_over,
    print_beside,
    refuse_ending,
    refuse_folder,
    state_of,
)
from millprep.proven.leaving import pieces_named
from millprep.proven.preparation import Askew, Prepared, prepare
from millprep.proven.sheets import SHEETS, Asked, order_of, prove

WORDS = {
    "listing": "listing",
    "dials": "dial sheet",
    "markout": "marking-out list",
    "tools": "tools list",
}
PAGES = (".html", ".htm")

_FromStep = Annotated[int | None, typer.Option(metavar="N", help="from this step on")]
_Short = Annotated[bool, typer.Option("--short", help="for the second piece: without explanations")]
_NoPlan = Annotated[bool, typer.Option("--no-plan", help="at a terminal: no plan in characters")]


def _step_by_step(sheet: str, help_line: str) -> Callable[..., int]:
    """The command of a sheet that goes through the plan step by step."""

    def command(
        of: option.OfPart,
        *,
        units: option.Units = None,
        setup: option.Setup = None,
        order: option.Order = "tool",
        only: option.Only = None,
        from_step: _FromStep = None,
        short: _Short = False,
        pieces: option.Pieces = None,
        touched: option.Touched,
        left: option.Left,
        format: option.PageFormat = None,
        out: option.Out,
        no_plan: _NoPlan = False,
    ) -> int:
        many = pieces_named(of.part, left.assembly) if pieces is None else pieces
        asked = Asked(chosen_units(units), setup, only, from_step, short or None, pieces=many)
        given = touched.askew(setup, asked.units)
        form = form_of(format, out.output, SHEETS[sheet].forms)
        made = _prepared(of, left, asked, order_of(sheet, order), given)
        return _handed_over(sheet, *made, asked, form, out, has_plan=not no_plan)

    command.__name__, command.__doc__ = sheet, help_line
    return command


listing = _step_by_step("listing", "The readout listing, step by step.")
dials = _step_by_step("dials", "The listing in turns and divisions, for a mill without readout.")


def markout(
    part: option.PartFile,
    *,
    shop: option.ShopName = "metric",
    units: option.Units = None,
    stand: Annotated[
        str | None, typer.Option("--stand", metavar="FACE,...", help="stand it on these faces")
    ] = None,
    gauge_offset: Annotated[
        str | None,
        typer.Option("--gauge-offset", metavar="LENGTH", help="what the gauge reads on the plate"),
    ] = None,
    left: option.Left,
    format: option.PageFormat = None,
    out: option.Out,
) -> int:
    """Height-gauge settings, grouped by the face that stands on the surface plate."""
    asked = Asked(chosen_units(units), stand=stand, gauge_offset=gauge_offset)
    form = form_of(format, out.output, SHEETS["markout"].forms)
    made = _prepared(option.OfPart(part, shop), left, asked)
    return _handed_over("markout", *made, asked, form, out)


def tools(
    of: option.OfPart,
    *,
    setup: option.Setup = None,
    assembly: option.Assembly = None,
    format: option.PageFormat = None,
    out: option.Out,
) -> int:
    """The tools to pull, in order of use, and what the drawer lacks."""
    asked = Asked(setup=setup)
    form = form_of(format, out.output, SHEETS["tools"].forms)
    return _handed_over("tools", *_prepared(of, option.Left(assembly), asked), asked, form, out)


def _prepared(
    of: option.OfPart,
    left: option.Left,
    asked: Asked,
    order: str = "tool",
    given: Askew | None = None,
) -> tuple[Prepared, Checked]:
    """The part planned and checked, and what `check` says of it."""
    fitted = left.to_fit(asked.setup)
    prepared = prepare(
        of.made_of, of.shop, order, given, assembly=left.assembly, only=asked.only, fitted=fitted
    )
    return prepared, Checked(prepared.findings, of.called, of.shop, fitted)


def _handed_over(
    sheet: str,
    prepared: Prepared,
    checked: Checked,
    asked: Asked,
    form: str,
    out: option.Out,
    *,
    has_plan: bool = False,
) -> int:
    """0 when the sheet was handed over, 1 when a stop kept it back.

    has_plan : at a terminal, a plan in characters stands above the steps
    """
    handed = prove(sheet, prepared, form, asked, str(out.output or SHEETS[sheet].called))
    is_shown = form == "text" and out.output is None and sys.stdout.isatty()
    if has_plan and is_shown and handed.data:
        from millprep.proven.at_terminal import with_plans

        columns = shutil.get_terminal_size().columns
        handed = replace(handed, data=with_plans(handed.data.decode(), prepared, columns).encode())
    return hand_over(handed, form, out, called=WORDS[sheet], checked=checked)


def bench(
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="ends in .html")],
    of: option.OfPart,
    *,
    units: option.Units = None,
    setup: option.Setup = None,
    order: option.Order = "tool",
    only: option.Only = None,
    pieces: option.Pieces = None,
    touched: option.Touched,
    left: option.Left,
    force: option.Force = False,
) -> int:
    """A page for a phone or tablet at the mill: one step at a time, ticks kept."""
    many = pieces_named(of.part, left.assembly) if pieces is None else pieces
    asked = Asked(chosen_units(units), setup, only, pieces=many)
    given = touched.askew(setup, asked.units)
    refuse_folder(output)
    refuse_ending(output, PAGES, "the bench page is not")
    prepared, checked = _prepared(of, left, asked, order, given)
    handed = prove("bench", prepared, "html", asked, str(output))
    if handed.data is None:
        out = option.Out(output)
        return hand_over(handed, "html", out, called="bench page", checked=checked)
    return _written({output: handed.data}, handed.findings, checked, force=force)


_Paper = Annotated[
    str | None,
    typer.Option(metavar="a4|a3|letter", help="default: as the shop says, or fits A4 and Letter"),
]
_Bars = Annotated[
    str | None,
    typer.Option(metavar="X,Y", help="lengths of the printed bars: drawn to correct them"),
]


def drawing(
    output: Annotated[
        Path,
        typer.Option("-o", "--output", metavar="FILE", help="ends in .svg, .pdf, .png or .dxf"),
    ],
    of: option.OfPart,
    *,
    units: option.Units = None,
    setup: option.Setup = None,
    template: Annotated[
        bool, typer.Option("--template", help="full size, for punching through the paper")
    ] = False,
    paper: _Paper = None,
    measured_bars: _Bars = None,
    date: option.Day = None,
    left: option.Left,
    force: option.Force = False,
) -> int:
    """A drawing of each face as it lies: views, holes, dimensions from the datum, a table."""
    from millprep.proven.drawing import Wishes, drawn_files, refuse_no_drawing
    from millprep.proven.measured import day_of

    refuse_folder(output)
    refuse_no_drawing(output.suffix, str(output))
    day, asked = day_of(date), chosen_units(units)
    prepared, checked = _prepared(of, left, Asked(setup=setup))
    wishes = Wishes(template, measured_bars, paper, asked or "mm")
    files, found = drawn_files(prepared, output, wishes, units=asked, setup=setup, date=day)
    if has_stop(found):
        print_beside(found, checked)
        return 1
    return _written(files, found, checked, force=force)


def _written(
    files: Mapping[Path, bytes], found: Sequence[Finding], checked: Checked, *, force: bool
) -> int:
    """Write all of the files or none, and say so of each; 0."""
    changed = set(write_files(files, force=force))
    for path in files:
        print(state_of(path, changed))
    sys.stdout.flush()
    print_beside(found, checked)
    return 0
