"""`millprep new FILE`."""

from __future__ import annotations

from pathlib import Path

from millprep.cli.common import chosen_word, emit


def run(file: Path, kind: str, units: str, force: bool) -> int:
    """Write a commented starter file."""
    from millprep.infiles import starter

    chosen_word("--kind", kind, ("part", "shop"))
    chosen_word("--units", units, ("mm", "inch"))
    emit(starter(kind, units), file, force=force)
    return 0
