"""`millprep check PART`."""

from __future__ import annotations

import sys

from millprep.base.findings import SEVERITIES, once_over_setups
from millprep.base.plain_text import counted, json_text
from millprep.cli.common import chosen_format, emit, exit_status, findings_object
from millprep.cli.options import (
    AsMeasured,
    Assembly,
    Force,
    MostMove,
    Output,
    PartFile,
    ReportFormat,
    ShopName,
    Stack,
)
from millprep.cli.terminal import shown
from millprep.proven.moving import to_fit
from millprep.proven.preparation import prepare
from millprep.proven.stacks import part_or_stack


def check(
    part: PartFile,
    shop: ShopName = "metric",
    stack: Stack = None,
    assembly: Assembly = None,
    as_measured: AsMeasured = None,
    most_move: MostMove = None,
    format: ReportFormat = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """What would go wrong: findings, worst first."""
    wanted = chosen_format(format, output, ("text", "json"))
    prepared = prepare(
        part_or_stack(part, stack, shop),
        shop,
        assembly=assembly,
        fitted=to_fit(as_measured, most_move),
    )
    findings, name = prepared.findings, prepared.part.name
    if wanted == "json":
        emit(json_text({"part": name, **findings_object(findings)}), output, force=force)
        return exit_status(findings)
    told = [one.severity for one in once_over_setups(findings)]
    counts = ", ".join(counted(told.count(one), one) for one in SEVERITIES)
    verdict = f"{name}: {counted(len(prepared.whole.part.holes), 'hole')} checked: {counts}."
    if output is not None:
        emit(f"{shown(findings)}{verdict}\n", output, force=force)
        return exit_status(findings)
    screen = sys.stdout
    apart = "\n" if told and screen.isatty() else ""
    sys.stdout.write(f"{shown(findings, screen)}{apart}{verdict}\n")
    return exit_status(findings)
