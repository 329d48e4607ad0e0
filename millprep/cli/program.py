"""`millprep program PART -o FILE`: the programs of a part, as they were read back."""

from __future__ import annotations

import sys
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millprep.base.findings import Finding, has_stop, stopped
from millprep.base.outfile import write_files
from millprep.base.plain_text import clean, counted, json_text
from millprep.base.records import frozen
from millprep.cli import options as option
from millprep.cli.common import (
    Checked,
    chosen_format,
    chosen_units,
    findings_object,
    print_beside,
    refuse_folder,
)
from millprep.cli.terminal import folded
from millprep.proven.preparation import length_mm
from millprep.proven.program import Partial, Program, Programs, programs
from millprep.proven.scope_said import ScopeSaid

if TYPE_CHECKING:
    from millprep.base.units import Units


@frozen
class PartOf:
    """What is asked of a program beside all of it: a proving run, or a part."""

    prove: Annotated[
        str | None, typer.Option(metavar="HEIGHT", help="a proving run so far above the part")
    ] = None
    spindle: Annotated[bool, typer.Option("--spindle", help="a proving run with it turning")] = (
        False
    )
    spots_only: Annotated[bool, typer.Option("--spots-only", help="a dimple at each hole")] = False
    tool: Annotated[int | None, typer.Option(metavar="N", help="what this tool does alone")] = None
    from_tool: Annotated[
        int | None, typer.Option(metavar="N", help="a restart: from this tool on")
    ] = None
    from_hole: Annotated[
        str | None, typer.Option(metavar="NAME", help="a restart: the first hole to make")
    ] = None
    leave_out: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="a hole that nothing enters")
    ] = None

    def asked(self, units: Units | None) -> Partial | None:
        """As it is given on, None for all of it; units : of the height, mm where none are given."""
        if units is not None and self.prove is None:
            remedy = "leave it out: a program is written in the units of its control"
            raise stopped("contradiction", "--units without --prove, whose height it is of", remedy)
        asked = Partial(
            prove_mm=length_mm("--prove", self.prove, units or "mm"),
            is_turning=self.spindle,
            spots_only=self.spots_only,
            tool=self.tool,
            from_tool=self.from_tool,
            from_hole=self.from_hole,
            leave_out=tuple(self.leave_out or ()),
            units=units or "mm",
        )
        return None if asked == Partial() else asked


def program(
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="the program's file")
    ],
    of: option.OfPart,
    *,
    setup: option.Setup = None,
    places: option.Places = None,
    pieces: option.Pieces = None,
    touched: option.Touched,
    part_of: PartOf,
    units: option.Units = None,
    left: option.Left,
    format: Annotated[
        str | None, typer.Option("--format", metavar="text|json", help="of the report")
    ] = None,
    force: option.Force = False,
) -> int:
    """The drilling program(s), dry-run against the part before they are written."""
    given, fitted = touched.askew(setup, None), left.to_fit(setup)
    form = chosen_format(format, None, ("text", "json"))
    refuse_folder(output)
    made = programs(
        of.made_of,
        of.shop,
        setup=setup,
        file=output,
        given=given,
        places=places,
        pieces=pieces,
        asked=part_of.asked(chosen_units(units)),
        assembly=left.assembly,
        fitted=fitted,
    )
    kept_back = has_stop(made.findings)
    contents = {path: data for one in made.files for path, data in one.written().items()}
    changed = set(write_files(contents, force=force)) if contents else set()
    if form == "json":
        files = [_summary(one, one.path in changed) for one in made.files]
        sys.stdout.write(json_text({"files": files, **findings_object(made.findings)}))
    _tell(made, Checked(made.checked, of.called, of.shop, fitted), kept_back=kept_back)
    if kept_back and form != "json":
        print("nothing was written: see the stops above", file=sys.stderr)
    elif form != "json":
        _say(made.files, changed, is_proving=part_of.prove is not None)
    return 1 if kept_back else 0


def _tell(made: Programs, checked: Checked, *, kept_back: bool) -> None:
    """What was found; of programs that were written their own notes are only counted."""
    found = made.findings if kept_back else _told_once(made.findings)
    own_files = () if kept_back else {str(one.path) for one in made.files}
    told = [one for one in found if one.severity != "note" or one.file not in own_files]
    print_beside(told, checked)
    if own := [one for one in found if one not in told]:
        print(_of_dry_run(own, checked), file=sys.stderr)


def _say(files: Sequence[Program], changed: Collection[Path], *, is_proving: bool) -> None:
    """What was written, and what it is worth."""
    lines: list[str] = []
    for one in files:
        lines.append(clean(_sentence(one, one.path in changed)))
        if one.card_path is not None:
            lines.append(clean(f"{one.card_path}: its tools and what each stop asks for"))
    lines += [
        "Read back, dry-run and compared with the part: nothing found in what was checked.",
        "Hand on the stop all the same: it is as high as zero and tools are right."
        if is_proving
        else "A dry run is not an air cut: run it above the work first, hand on the stop.",
    ]
    for line in lines:
        print(folded(line, sys.stdout))


def _of_dry_run(notes: Sequence[Finding], checked: Checked) -> str:
    """So many notes, and the command that reads them out."""
    first, *others = dict.fromkeys(one.file for one in notes)
    each = "; so for each" if others else ""
    command = f"millprep dryrun {first} --part {checked.part}{checked.options}"
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
        "scope": None if one.said is None else _scope(one.said),
    }


def _scope(said: ScopeSaid) -> dict[str, object]:
    """What its head says of a program that does not make all, or cuts nothing."""
    return {
        "kind": said.kind,
        "tool": said.tool or None,
        "proving": said.is_proving,
        "raised_mm": round(said.raised_mm, 4),
        "made_before": {
            str(tool): "all" if holes is None else sorted(holes)
            for tool, holes in said.before.items()
        },
        "left_out": sorted(said.left_out),
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
    said = one.said
    if said is not None and said.left_out:
        left += f"; not made: {', '.join(sorted(said.left_out))}"
    cuts_nothing = said is not None and said.is_proving
    holes = "cuts nothing" if cuts_nothing else counted(one.holes, "hole")
    written = "written" if is_changed else "unchanged"
    return (
        f"{one.path}: {written}; setup {one.setup}, {holes}, "
        f"{one.lines} lines, {duration(round(one.time_s, 1))} without tool changes{left}"
    )
