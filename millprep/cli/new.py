"""`millprep new FILE`."""

from __future__ import annotations

from pathlib import Path

from millprep.cli.common import chosen_units, emit
from millprep.proven.files import starter


def run(file: Path, kind: str, units: str, force: bool) -> int:
    """Write a commented starter file."""
    emit(starter(kind, chosen_units(units) or "mm"), file, force=force)
    return 0
