"""`millprep check PART`."""

from __future__ import annotations

import sys
from pathlib import Path

from millprep.base.findings import SEVERITIES, format_finding
from millprep.base.plain_text import json_text
from millprep.cli.common import chosen_format, emit, exit_status, findings_object
from millprep.proven.preparation import prepare


def run(
    part_path: Path, shop: str, data_format: str | None, output: Path | None, force: bool
) -> int:
    """Print the findings worst first; 1 when one of them is a stop."""
    wanted = chosen_format(data_format, output, ("text", "json"))
    prepared = prepare(part_path, shop)
    if wanted == "json":
        emit(
            json_text({"part": prepared.part.name, **findings_object(prepared.findings)}),
            output,
            force=force,
        )
        return exit_status(prepared.findings)
    lines = [format_finding(finding) for finding in prepared.findings]
    counts = ", ".join(
        _count(sum(f.severity == severity for f in prepared.findings), severity)
        for severity in SEVERITIES
    )
    holes = _count(len(prepared.part.holes), "hole")
    lines.append(f"{prepared.part.name}: {holes} checked: {counts}.")
    if output is None:
        sys.stdout.write("\n".join(lines) + "\n")
    else:
        emit("\n".join(lines) + "\n", output, force=force)
    return exit_status(prepared.findings)


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
