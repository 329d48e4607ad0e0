"""`millprep listing`, `dials`, `markout`, `tools`, `bench`, `drawing`: the sheets of a part."""

from __future__ import annotations

import sys
from pathlib import Path

from millprep.base.findings import Finding, MillprepError, has_stop
from millprep.base.outfile import write_files
from millprep.cli.common import (
    chosen_format,
    chosen_units,
    emit,
    hand_over,
    print_findings,
    refuse_at_terminal,
    refuse_folder,
    state_of,
)
from millprep.proven.preparation import Askew, prepare
from millprep.proven.sheets import DATA, SHEETS, Asked, Handed, prove, tools_list

WORDS = {"listing": "listing", "dials": "dial sheet", "markout": "marking-out list"}
PAGES = (".html", ".htm")


def run(
    sheet: str,
    part: Path,
    shop: str,
    asked: Asked,
    data_format: str | None,
    output: Path | None,
    force: bool,
    *,
    order: str = "tool",
    given: Askew | None = None,
) -> int:
    """0 when the sheet was handed over, 1 when a stop kept it back."""
    kind = SHEETS[sheet]
    form = chosen_format(data_format, output, kind.forms)
    refuse_at_terminal(form, output)
    handed = prove(
        sheet, prepare(part, shop, order, given), form, asked, str(output or kind.called)
    )
    return hand_over(handed, form, output, force=force, called=WORDS[sheet])


def asked(
    units: str | None,
    setup: int | None = None,
    only: str | None = None,
    from_step: int | None = None,
    stand: str | None = None,
    gauge_offset: str | None = None,
) -> Asked:
    """The options of a sheet."""
    return Asked(chosen_units(units), setup, only, from_step, stand, gauge_offset)


def run_bench(
    part: Path,
    shop: str,
    asked: Asked,
    order: str,
    output: Path,
    force: bool,
    given: Askew | None = None,
) -> int:
    """0 when the page was written, 1 when a stop kept it back."""
    refuse_folder(output)
    if output.suffix.lower() not in PAGES:
        raise MillprepError(
            Finding(
                "stop",
                "unknown-word",
                f'the bench page is not written as "{output.suffix}"',
                f"endings: {', '.join(PAGES)}",
                file=str(output),
            )
        )
    handed = prove("bench", prepare(part, shop, order, given), "html", asked, str(output))
    print_findings(handed.findings)
    if handed.data is None:
        print("no bench page: see the stops above", file=sys.stderr)
        return 1
    return _written({output: handed}, force=force)


def run_drawing(
    part: Path,
    shop: str,
    units: str | None,
    setup: int | None,
    output: Path,
    template: bool,
    measured_bars: str | None,
    force: bool,
) -> int:
    """0 when the drawings were written, 1 when a stop kept them back."""
    from millprep.proven.drawing import drawings, purpose_of
    from millprep.proven.program import numbered_path

    refuse_folder(output)
    shown = chosen_units(units)
    purpose = purpose_of(output.suffix, template, measured_bars, shown or "mm", str(output))
    prepared = prepare(part, shop)
    pages = drawings(prepared, output.suffix.lower(), units=shown, setup=setup, purpose=purpose)
    print_findings(pages[0].findings)
    if has_stop(pages[0].findings):
        return 1
    several = len(pages) > 1
    return _written(
        {numbered_path(output, one.setup if several else None): one for one in pages}, force=force
    )


def _written(files: dict[Path, Handed], *, force: bool) -> int:
    """Write all of the files or none, and say so of each; 0."""
    contents = {path: one.data for path, one in files.items() if one.data is not None}
    changed = set(write_files(contents, force=force))
    for path in contents:
        print(state_of(path, changed))
    return 0


def run_tools(
    part: Path,
    shop: str,
    setup: int | None,
    data_format: str | None,
    output: Path | None,
    force: bool,
) -> int:
    """The list is given whether or not the check would stop."""
    form = chosen_format(data_format, output, DATA)
    handed = tools_list(prepare(part, shop), form, setup)
    print_findings(handed.findings)
    emit(handed.data or b"", output, force=force)
    return 0
