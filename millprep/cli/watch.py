"""`millprep watch PART`."""

from __future__ import annotations

import os
import signal
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from threading import Event
from types import FrameType
from typing import Annotated

import typer

from millprep.base.findings import (
    SEVERITIES,
    Finding,
    MillprepError,
    WordError,
    once_over_setups,
    refusal_of,
)
from millprep.base.inputs import inputs_noted
from millprep.base.outfile import write_files
from millprep.base.plain_text import clean, counted
from millprep.cli.common import chosen_format, refuse_ending, refuse_folder, state_of
from millprep.cli.options import PartFile, ShopName
from millprep.proven.watched import DRAWING, PROGRAM, forms_of, made_once

_DRAWINGS = (".pdf", ".svg", ".png", ".dxf")
_LOOK_MS = 1000
"""How often the files are looked at beside what the system says of them."""
_INTERRUPTED = 130
Seen = dict[Path, tuple[int, int, int] | None]
"""The files that were read, and what tells that one was saved: time, size, place on the disk."""


def _sheet(name: str, what: str) -> object:
    return typer.Option(f"--{name}", metavar="FILE", help=f"{what} to write again")


def watch(
    part: PartFile,
    shop: ShopName = "metric",
    listing: Annotated[Path | None, _sheet("listing", "the listing")] = None,
    dials: Annotated[Path | None, _sheet("dials", "the dial sheet")] = None,
    markout: Annotated[Path | None, _sheet("markout", "the marking-out list")] = None,
    tools: Annotated[Path | None, _sheet("tools", "the tools list")] = None,
    bench: Annotated[Path | None, _sheet("bench", "the bench page")] = None,
    drawing: Annotated[Path | None, _sheet("drawing", "the drawing")] = None,
    program: Annotated[Path | None, _sheet("program", "the program")] = None,
    poll: Annotated[
        bool, typer.Option("--poll", help="look by itself: for folders on a network")
    ] = False,
) -> int:
    """Check the part and write its sheets again whenever it is saved; Ctrl-C ends it."""
    chosen = {
        "listing": listing,
        "dials": dials,
        "markout": markout,
        "tools": tools,
        "bench": bench,
        DRAWING: drawing,
        PROGRAM: program,
    }
    wanted = {name: (file, _form(name, file)) for name, file in chosen.items() if file is not None}
    with _until_interrupted() as end:
        seen: Seen = {}
        while not end.is_set():
            seen = _looked_at(part, shop, wanted, seen)
            for _ in _saves(seen, end, poll):
                if _states(seen) != seen and not end.is_set():
                    folders = _folders(seen)
                    seen = _looked_at(part, shop, wanted, seen)
                    if _folders(seen) != folders:
                        break  # other files are read now: look at their folders too
    print("watching ended")
    return 0


def _form(sheet: str, file: Path) -> str:
    """The form that the ending of a file names. Raises MillprepError for what cannot be written."""
    refuse_folder(file)
    if sheet == DRAWING:
        refuse_ending(file, _DRAWINGS, "a drawing is not")
    return "" if sheet in (DRAWING, PROGRAM) else chosen_format(None, file, forms_of(sheet))


@contextmanager
def _until_interrupted() -> Iterator[Event]:
    """Set by the first Ctrl-C, so that what is being done is finished; a second ends at once."""
    end = Event()

    def interrupted(_: int, __: FrameType | None) -> None:
        if end.is_set():
            os._exit(_INTERRUPTED)
        end.set()

    before = signal.signal(signal.SIGINT, interrupted)
    try:
        yield end
    finally:
        signal.signal(signal.SIGINT, before)


def _saves(seen: Seen, end: Event, poll: bool) -> Iterator[object]:
    """Each time that something in the folders of the files changes, and every second."""
    from watchfiles import watch as changes_in

    changes: Iterator[object] = changes_in(
        *_folders(seen),
        watch_filter=None,
        stop_event=end,
        rust_timeout=_LOOK_MS,
        yield_on_timeout=True,
        force_polling=True if poll else None,
        recursive=False,
    )
    return changes


def _folders(seen: Collection[Path]) -> list[str]:
    """Those of the files, and of what they link to: an editor may put a new file in the place."""
    folders = {
        folder for path in seen for folder in (path.parent.absolute(), path.resolve().parent)
    }
    return sorted(str(folder) for folder in folders if folder.is_dir()) or [str(Path.cwd())]


def _states(paths: Collection[Path]) -> Seen:
    """Each file as it stands; None where it is not there."""
    return {path: _state(path) for path in paths}


def _state(path: Path) -> tuple[int, int, int] | None:
    try:
        return _told_by(path.stat())
    except OSError:
        return None


def _told_by(status: os.stat_result) -> tuple[int, int, int]:
    return status.st_mtime_ns, status.st_size, status.st_ino


def _looked_at(part: Path, shop: str, wanted: Mapping[str, tuple[Path, str]], seen: Seen) -> Seen:
    """One check, its line printed; the files that it read, as they stood when it did.

    A file that cannot be read for a moment leaves those that were read before it known.
    """
    before = _states({part, *seen})
    with inputs_noted() as noted:
        try:
            words = _done(part, shop, wanted)
        except (MillprepError, WordError) as error:
            words = _first(refusal_of(error).findings)
        read = {path: _told_by(status) for path, status in noted.values()}
    print(clean(f"{datetime.now():%H:%M:%S} {words}"), flush=True)
    return {**before, **read}


def _done(part: Path, shop: str, wanted: Mapping[str, tuple[Path, str]]) -> str:
    """What came of one check, in one line."""
    made = made_once(part, shop, wanted)
    told = [one.severity for one in once_over_setups(made.findings)]
    counts = ", ".join(counted(told.count(one), one) for one in SEVERITIES)
    if made.kept_back:
        return f"{part}: {counts}; nothing written: {_first(made.kept_back)}"
    stop = next((one for one in made.findings if one.severity == "stop"), None)
    if stop is not None:
        kept = "; nothing written" if wanted else ""
        return f"{part}: {counts}{kept}; first {_first([stop])}"
    changed = write_files(made.files)
    return "; ".join([f"{part}: {counts}", *(state_of(path, changed) for path in made.files)])


def _first(findings: Collection[Finding]) -> str:
    """The first of several, and how many more."""
    first, *more = findings
    place = ":".join(str(one) for one in (first.file, first.line) if one is not None)
    said = f"{place}: {first.message}" if place else first.message
    return f"{said} (and {len(more)} more)" if more else said
