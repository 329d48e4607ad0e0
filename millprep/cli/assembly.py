"""`millprep assembly FILE`: whether parts made to their files go together."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from millprep.cli.common import chosen_format, emit, exit_status, print_findings
from millprep.proven.assembly import FORMS, judged, report, tried


def run(
    file: Path,
    shop: str,
    changes: Sequence[str],
    data_format: str | None,
    output: Path | None,
    force: bool,
) -> int:
    """Print every joint with its figures; 1 when a finding is a stop.

    changes : figures to be tried; then what they change is printed, and the file is left alone
    """
    form = chosen_format(data_format, output, FORMS)
    if changes:
        trial = tried(file, changes, shop)
        print_findings(trial.changed.new)
        emit(trial.report(form), output, force=force)
        return exit_status(trial.after.findings)
    found = judged(file, shop)
    print_findings(found.findings)
    emit(report(found, form), output, force=force)
    return exit_status(found.findings)
