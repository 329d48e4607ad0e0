"""`millprep dryrun FILE...`: what programs would do, on paper and in the files asked for."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError
from millprep.base.outfile import sealed, write_files
from millprep.base.plain_text import clean
from millprep.cli.common import (
    chosen_format,
    chosen_units,
    emit,
    exit_status,
    print_findings,
    state_of,
)
from millprep.proven.dryrun import dry_run, traced

if TYPE_CHECKING:
    from millprep.proven.preparation import Askew

Contents = list[tuple[str, Path, bytes]]
"""(option, path, bytes) of each file."""


def run(
    files: Sequence[Path],
    part: Path | None,
    stock: str | None,
    zero: str | None,
    shop: str,
    setup: int,
    units: str | None,
    data_format: str | None,
    output: Path | None,
    moves_csv: Path | None,
    force: bool,
    *,
    picture: Path | None = None,
    html: Path | None = None,
    against: Sequence[Path] = (),
    trace: bool = False,
    given: Askew | None = None,
) -> int:
    """0 when nothing stops the programs, else 1. Raises MillprepError for what cannot be judged."""
    form = chosen_format(data_format, output, ("text", "json"))
    shown = chosen_units(units)
    _check_endings(picture, html)
    asked = {
        "part": part,
        "shop": shop,
        "stock": stock,
        "zero": zero,
        "setup": setup,
        "units": shown or "mm",
        "given": given,
    }
    if trace:
        findings = traced(files, print, **asked)
        print_findings(findings)
        return exit_status(findings)
    progress = _tell if sys.stderr.isatty() else None
    made = dry_run(files, against=against, progress=progress, **asked)  # type: ignore[arg-type]  # by name
    contents: Contents = []
    if moves_csv is not None:
        contents.append(("--moves", moves_csv, made.moves_csv()))
    if picture is not None:
        contents.append(("--picture", picture, made.picture(picture.suffix.lower())))
    if html is not None:
        contents.append(("--html", html, made.page(html.suffix.lower())))
    _hand_over(made.json() if form == "json" else made.text(shown), contents, output, force)
    print_findings(made.findings)
    return exit_status(made.findings)


def _tell(file: str, done: int, lines: int) -> None:
    """Tells a person at a terminal how far a long program has been read."""
    end = "\n" if done >= lines else ""
    print(f"\r{clean(file)}: {done} of {lines} lines", end=end, file=sys.stderr, flush=True)


def _check_endings(picture: Path | None, html: Path | None) -> None:
    """Raises MillprepError before anything is read."""
    for option, path, endings in (
        ("--picture", picture, (".svg", ".png")),
        ("--html", html, (".html", ".htm")),
    ):
        if path is not None and path.suffix.lower() not in endings:
            raise MillprepError(
                Finding(
                    "stop",
                    "unknown-word",
                    f'{option}: nothing is written as "{path.suffix}"',
                    f"endings: {', '.join(endings)}",
                    file=str(path),
                )
            )


def _hand_over(text: str, contents: Contents, output: Path | None, force: bool) -> None:
    """The report to stdout or its file, and the others to theirs: all of the files, or none."""
    if not contents:
        emit(text, output, force=force)
        return
    if output is not None:
        contents = [("-o", output, sealed(text)), *contents]
    seen: dict[str, str] = {}
    for option, path, _ in contents:
        other = seen.setdefault(os.path.realpath(path), option)
        if other != option:
            raise MillprepError(
                Finding(
                    "stop",
                    "unknown-word",
                    f"{other} and {option} name one file",
                    "give each its own",
                    file=str(path),
                )
            )
    changed = set(write_files({path: data for _, path, data in contents}, force=force))
    for option, path, _ in contents:
        if option != "--moves":
            print(state_of(path, changed), file=sys.stderr)
    if output is None:
        emit(text, None)
