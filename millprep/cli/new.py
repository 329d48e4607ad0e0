"""`millprep new FILE`."""

from __future__ import annotations

from pathlib import Path

from millprep.cli.common import chosen_units, chosen_word, emit


def run(file: Path, kind: str, units: str, force: bool) -> int:
    """Write a commented starter file."""
    from millprep.infiles import starter

    chosen_word("--kind", kind, ("part", "shop", "assembly"))
    emit(starter(kind, chosen_units(units, "mm")), file, force=force)
    return 0
