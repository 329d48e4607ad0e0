"""`millprep program PART -o FILE`: the programs of a part, as they were read back."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import Finding, has_stop
from millprep.base.outfile import write_files
from millprep.base.plain_text import clean, counted, json_text
from millprep.cli import options as option
from millprep.cli.common import Checked, chosen_format, findings_object, print_beside, refuse_folder
from millprep.proven.preparation import askew
from millprep.proven.program import Program, programs


def program(
    part: option.PartFile,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="the program's file")
    ],
    shop: option.ShopName = "metric",
    setup: option.Setup = None,
    places: option.Places = None,
    skew: option.Skew = None,
    skew_edge: option.SkewEdge = None,
    format: Annotated[
        str | None, typer.Option("--format", metavar="text|json", help="of the report")
    ] = None,
    force: option.Force = False,
) -> int:
    """The drilling program(s), dry-run against the part before they are written."""
    given = askew(skew, skew_edge, setup, None)
    form = chosen_format(format, None, ("text", "json"))
    refuse_folder(output)
    made = programs(part, shop, setup=setup, file=output, given=given, places=places)
    kept_back = has_stop(made.findings)
    contents = {path: data for one in made.files for path, data in one.written().items()}
    changed = set(write_files(contents, force=force)) if contents else set()
    if form == "json":
        files = [_summary(one, one.path in changed) for one in made.files]
        sys.stdout.write(json_text({"files": files, **findings_object(made.findings)}))
    found = made.findings if kept_back else _told_once(made.findings)
    own_files = () if kept_back else {str(one.path) for one in made.files}
    told = [one for one in found if one.severity != "note" or one.file not in own_files]
    checked = Checked(made.checked, part, shop)
    print_beside(told, checked)
    if own := [one for one in found if one not in told]:
        print(_of_dry_run(own, checked), file=sys.stderr)
    if kept_back and form != "json":
        print("nothing was written: see the stops above", file=sys.stderr)
    elif form != "json":
        for one in made.files:
            print(clean(_sentence(one, one.path in changed)))
            if one.card_path is not None:
                print(clean(f"{one.card_path}: its tools and what each stop asks for"))
        print(
            "Read back, dry-run and compared with the part: nothing found in what was checked.\n"
            "A dry run is not an air cut: run it above the work first, hand on the stop."
        )
    return 1 if kept_back else 0


def _of_dry_run(notes: Sequence[Finding], checked: Checked) -> str:
    """So many notes, and the command that reads them out."""
    first, *others = dict.fromkeys(one.file for one in notes)
    each = "; so for each" if others else ""
    command = f"millprep dryrun {first} --part {checked.part}{checked.of_shop}"
    return clean(f"{counted(len(notes), 'note')} of the dry run ({command}{each})")


def _summary(one: Program, is_changed: bool) -> dict[str, object]:
    return {
        "file": str(one.path),
        "setup": one.setup,
        "tool": one.tool,
        "lines": one.lines,
        "holes": one.holes,
        "time_s": round(one.time_s, 1),
        "by_hand": list(one.by_hand),
        "changed": is_changed,
        "card": None if one.card_path is None else str(one.card_path),
    }


def _told_once(findings: Sequence[Finding]) -> list[Finding]:
    """Notes of one kind once for all files: several programs assume the same things."""
    seen: set[tuple[str, str]] = set()
    told = []
    for finding in findings:
        key = (finding.kind, finding.message)
        if finding.severity != "note" or key not in seen:
            told.append(finding)
        seen.add(key)
    return told


def _sentence(one: Program, is_changed: bool) -> str:
    from millprep.report.tables import duration

    left = f"; left to the hand: {counted(len(one.by_hand), 'hole')}" if one.by_hand else ""
    holes = counted(one.holes, "hole")
    written = "written" if is_changed else "unchanged"
    return (
        f"{one.path}: {written}; setup {one.setup}, {holes}, "
        f"{one.lines} lines, {duration(round(one.time_s, 1))} without tool changes{left}"
    )
