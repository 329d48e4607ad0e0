"""`millprep check PART`."""

from __future__ import annotations

import sys

from millprep.base.findings import SEVERITIES, format_finding, once_over_setups
from millprep.base.plain_text import counted, json_text
from millprep.cli.common import chosen_format, emit, exit_status, findings_object
from millprep.cli.options import Force, Output, PartFile, ReportFormat, ShopName
from millprep.proven.preparation import prepare


def check(
    part: PartFile,
    shop: ShopName = "metric",
    format: ReportFormat = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """What would go wrong: findings, worst first."""
    wanted = chosen_format(format, output, ("text", "json"))
    prepared = prepare(part, shop)
    findings, name = prepared.findings, prepared.part.name
    if wanted == "json":
        emit(json_text({"part": name, **findings_object(findings)}), output, force=force)
        return exit_status(findings)
    told = once_over_setups(findings)
    counts = ", ".join(counted([f.severity for f in told].count(one), one) for one in SEVERITIES)
    holes = counted(len(prepared.part.holes), "hole")
    lines = [*map(format_finding, told), f"{name}: {holes} checked: {counts}."]
    text = "".join(f"{line}\n" for line in lines)
    if output is None:
        sys.stdout.write(text)
    else:
        emit(text, output, force=force)
    return exit_status(findings)
