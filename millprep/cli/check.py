"""`millprep check PART`."""

from __future__ import annotations

import sys

from millprep.base.findings import SEVERITIES, once_over_setups
from millprep.base.plain_text import counted, json_text
from millprep.cli.common import chosen_format, emit, exit_status, findings_object
from millprep.cli.options import Left, OfPart, Out, ReportFormat
from millprep.cli.terminal import shown
from millprep.proven.preparation import prepare


def check(of: OfPart, left: Left, *, format: ReportFormat = None, out: Out) -> int:
    """What would go wrong: findings, worst first."""
    wanted = chosen_format(format, out.output, ("text", "json"))
    prepared = prepare(of.made_of, of.shop, assembly=left.assembly, fitted=left.to_fit())
    findings, name = prepared.findings, prepared.part.name
    if wanted == "json":
        emit(json_text({"part": name, **findings_object(findings)}), out.output, force=out.force)
        return exit_status(findings)
    told = [one.severity for one in once_over_setups(findings)]
    counts = ", ".join(counted(told.count(one), one) for one in SEVERITIES)
    verdict = f"{name}: {counted(len(prepared.whole.part.holes), 'hole')} checked: {counts}."
    if out.output is not None:
        emit(f"{shown(findings)}{verdict}\n", out.output, force=out.force)
        return exit_status(findings)
    screen = sys.stdout
    apart = "\n" if told and screen.isatty() else ""
    sys.stdout.write(f"{shown(findings, screen)}{apart}{verdict}\n")
    return exit_status(findings)
