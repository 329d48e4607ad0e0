"""`millprep program PART -o FILE`: write, read back, dry-run, compare; then hand over."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from millprep.base.findings import Finding, MillprepError, worst_first
from millprep.base.outfile import sealed, sheet_mark, write_files
from millprep.base.plain_text import clean
from millprep.base.records import frozen
from millprep.cli.common import (
    chosen_format,
    exit_status,
    findings_object,
    json_text,
    numbered_path,
    print_findings,
)
from millprep.cli.preparation import Askew, Prepared, prepare, wanted_setup
from millprep.planning import MACHINE_ORDER, SetupPlan
from millprep.writers.program import Program

POSITION_TOLERANCE_MM = 0.0005


@frozen
class Proven:
    """A program that was read back; `summary` is what its report says of it."""

    path: Path
    data: bytes
    findings: tuple[Finding, ...]
    summary: dict[str, Any]


def run(
    part_path: Path,
    shop: str,
    setup: int | None,
    data_format: str | None,
    output: Path,
    force: bool,
    given: Askew | None = None,
) -> int:
    """0 when the programs were written, 1 when a stop kept them back."""
    wanted = chosen_format(data_format, None, ("text", "json"))
    prepared = prepare(part_path, shop, MACHINE_ORDER, given)
    number = wanted_setup(setup, prepared.setup_numbers)
    _refuse_xy(prepared)
    findings = list(prepared.findings)
    proven: list[Proven] = []
    if not exit_status(findings):
        proven = _all_proven(prepared, number, output)
        findings = worst_first([*findings, *(f for one in proven for f in one.findings)])
    changed: set[Path] = set()
    if not exit_status(findings):
        changed = set(write_files({one.path: one.data for one in proven}, force=force))
    for one in proven:
        one.summary["changed"] = one.path in changed
    _report(proven, findings, wanted)
    return exit_status(findings)


def _refuse_xy(prepared: Prepared) -> None:
    if prepared.shop.control.axes == "xy":
        raise MillprepError(
            Finding(
                "stop", "unknown-word",
                "no program is written for a control that moves X and Y only",
                'drill from the listing, or give [control] axes = "xyz"',
                file=prepared.shop.path or None,
            )
        )  # fmt: skip


def _all_proven(prepared: Prepared, number: int | None, output: Path) -> list[Proven]:
    chosen = [s for s in prepared.plan.setups if number is None or s.setup.number == number]
    several = len(chosen) > 1
    return [
        one for setup_plan in chosen for one in proven_setup(prepared, setup_plan, output, several)
    ]


def proven_setup(
    prepared: Prepared, setup_plan: SetupPlan, output: Path, several: bool
) -> list[Proven]:
    """The programs of one setup, run one after another on the same stock and compared with it."""
    from millprep.reading.gcode import read_program
    from millprep.reading.simulate import simulate
    from millprep.setting.fixtures import clamped_scene
    from millprep.witness import Lay, compare
    from millprep.witness.askew import squared, tolerance_mm
    from millprep.witness.second_reader import second_reading
    from millprep.writers.program import programs_of

    part, shop, setup = prepared.part, prepared.shop, setup_plan.setup
    scene = clamped_scene(part, shop, setup, setup_plan.holding)
    planned = {number: tool for tool, number in prepared.plan.tool_numbers.items()}
    record = None
    out: list[Proven] = []
    programs = programs_of(prepared.plan, setup_plan)
    for program in programs:
        by_setup = setup.number if several or program.tool_number is not None else None
        path = numbered_path(output, by_setup, program.tool_number)
        what = sheet_mark("program", "nc", part.name, setup.number, program.tool_number)
        data = sealed(program.text, what)
        read = read_program(
            data, shop.control, file=str(path), tools=shop.tools, plan_tools=planned,
            stock_system=scene.work_offset,
        )  # fmt: skip
        simulation = simulate(
            squared(read, setup_plan.skew_deg),
            scene,
            shop.mill,
            shop.control,
            file=str(path),
            record=record,
            expects_spot=False,
        )
        record = simulation.record
        findings = [*read.findings, *simulation.findings, *second_reading(data, read, str(path))]
        if program is programs[-1]:
            lay = Lay(setup.face, setup.towards_you, setup.zero_x, setup.zero_y)
            findings += compare(
                part, lay, simulation.holes,
                position_tolerance_mm=tolerance_mm(POSITION_TOLERANCE_MM, setup_plan.skew_deg),
                hands=program.by_hand, file=str(path), by_own_rules=True,
            )  # fmt: skip
        summary = _summary(path, program, len(simulation.holes), read.lines, simulation.time_s)
        out.append(Proven(path, data, tuple(findings), summary))
    return out


def _summary(path: Path, program: Program, holes: int, lines: int, time_s: float) -> dict[str, Any]:
    left = [o.hole.name for o in program.left_to_hand]
    return {
        "file": str(path),
        "setup": program.setup_number,
        "tool": program.tool_number,
        "lines": lines,
        "holes": holes,
        "time_s": round(time_s, 1),
        "by_hand": left,
    }


def _report(proven: list[Proven], findings: list[Finding], wanted: str) -> None:
    kept_back = bool(exit_status(findings))
    if wanted == "json":
        files = [] if kept_back else [one.summary for one in proven]
        sys.stdout.write(json_text({"files": files, **findings_object(findings)}))
    print_findings(findings if kept_back else _told_once(findings))
    if wanted == "json":
        return
    if kept_back:
        print("nothing was written: see the stops above", file=sys.stderr)
        return
    for one in proven:
        print(clean(_sentence(one.summary)))
    print(
        "Read back, dry-run and compared with the part: nothing found in what was checked.\n"
        "A dry run is not an air cut: run it above the work first, hand on the stop."
    )


def _told_once(findings: list[Finding]) -> list[Finding]:
    """Notes of one kind once for all files: several programs assume the same things."""
    seen: set[tuple[str, str]] = set()
    told = []
    for finding in findings:
        key = (finding.kind, finding.message)
        if finding.severity != "note" or key not in seen:
            told.append(finding)
        seen.add(key)
    return told


def _sentence(summary: dict[str, Any]) -> str:
    from millprep.cli.dryrun_tables import duration

    by_hand = summary["by_hand"]
    left = f"; by hand: {len(by_hand)} to tap" if by_hand else ""
    holes = f"{summary['holes']} hole{'' if summary['holes'] == 1 else 's'}"
    written = "written" if summary["changed"] else "unchanged"
    return (
        f"{summary['file']}: {written}; setup {summary['setup']}, {holes}, "
        f"{summary['lines']} lines, {duration(summary['time_s'])} without tool changes{left}"
    )
