"""Programs as they are named: read where they are files, refused where they can be none."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.bounds import LARGEST_PROGRAM_BYTES
from millprep.base.findings import stopped
from millprep.base.inputs import note_input

if TYPE_CHECKING:
    pass

_PROGRAM_ENDINGS = (".nc", ".ngc", ".tap", ".gcode")
Programs = Sequence[Path | str | tuple[str, bytes]]
"""Paths, or (name, bytes)."""


def programs_read(programs: Programs) -> list[tuple[str, bytes]]:
    """(name, bytes) of programs; files are read."""
    return [
        one if isinstance(one, tuple) else (str(one), _program_bytes(Path(one))) for one in programs
    ]


def folders_of(programs: Programs) -> dict[str, Path]:
    """Where each program that is a file lies."""
    return {str(one): Path(one).parent for one in programs if not isinstance(one, tuple)}


def _program_bytes(path: Path) -> bytes:
    """The file's bytes, where they can be a program at all."""
    from millprep.infiles.file_bytes import MISSING, nearby

    if path.suffix.lower() == ".toml":
        remedy = f"give the program: millprep dryrun {path.stem}.nc --part {path}"
        raise stopped("unreadable-file", "this is a part file", remedy, str(path))
    try:
        if not path.exists():
            remedy = nearby(path, *_PROGRAM_ENDINGS)
            raise stopped("unreadable-file", MISSING, remedy, str(path))
        if path.stat().st_size > LARGEST_PROGRAM_BYTES:
            largest = f"at most {LARGEST_PROGRAM_BYTES // 1_000_000} MB: name a G-code file"
            raise stopped("unreadable-file", "is too large for a program", largest, str(path))
        data = path.read_bytes()
        note_input(path)
    except OSError as error:
        is_folder = isinstance(error, IsADirectoryError)
        why = "is a folder" if is_folder else f"cannot be read: {error.strerror}"
        raise stopped("unreadable-file", why, "name a G-code file", str(path)) from error
    if b"\0" in data:
        raise stopped("unreadable-file", "is not text", "name a G-code file", str(path))
    if not data or data.isspace():
        raise stopped("unreadable-file", "is empty", "name a G-code file", str(path))
    return data
