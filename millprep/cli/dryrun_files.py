"""The files that a dry run leaves: table of moves, picture and page, beside its report."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError
from millprep.cli.common import emit, state_of
from millprep.cli.dryrun_report import CAUTION, Report, verdict_words

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.scene import Scene
    from millprep.model.shop import Control
    from millprep.report.views import Shown

Contents = list[tuple[str, Path, bytes]]
"""(option, path, bytes) of each file."""


def check_endings(picture: Path | None, html: Path | None) -> None:
    """Raises MillprepError before anything is read."""
    for option, path, endings in (
        ("--picture", picture, (".svg", ".png")),
        ("--html", html, (".html", ".htm")),
    ):
        if path is not None and path.suffix.lower() not in endings:
            raise MillprepError(
                Finding(
                    "stop", "unknown-word", f'{option}: nothing is written as "{path.suffix}"',
                    f"endings: {', '.join(endings)}", file=str(path),
                )
            )  # fmt: skip


def view_of(report: Report, words: str, scene: Scene | None, control: Control) -> Shown:
    """What picture and page show."""
    from millprep.report.views import Shown

    is_listed = scene is not None and scene.work_offset in control.offsets_mm
    return Shown(words, report.runs, scene, report.holes, report.numbered, is_listed)


def files_of(
    report: Report, shown: Shown, texts: Sequence[bytes],
    moves_csv: Path | None, picture: Path | None, html: Path | None,
    part: Part | None, setup: int,
) -> Contents:  # fmt: skip
    """Every file beside the report, marked by the part, or by the programs where there is none.

    texts : the programs' bytes
    """
    from millprep.base.outfile import sealed, sheet_mark

    name = " ".join(Path(file).name for file, _ in report.runs) if part is None else part.name

    def what(path: Path) -> str:
        return sheet_mark("dryrun", path.suffix.lower()[1:], name, None if part is None else setup)

    contents: Contents = []
    if moves_csv is not None:
        contents.append(("--moves", moves_csv, _moves_table(report)))
    if picture is not None:
        from millprep.report.picture import PICTURES

        drawn = PICTURES[picture.suffix.lower()](shown)
        contents.append(("--picture", picture, sealed(drawn, what(picture))))
    if html is not None:
        from millprep.report.page import page

        verdict = verdict_words(report).removeprefix("VERDICT  ")
        text = page(shown, texts, verdict, (CAUTION,))
        contents.append(("--html", html, sealed(text, what(html))))
    return contents


def _moves_table(report: Report) -> bytes:
    from millprep.reading.measure import moves_csv

    tables = [moves_csv(run.moves) for run in report.as_read]
    return (tables[0] + "".join(table.split("\n", 1)[1] for table in tables[1:])).encode()


def hand_over(text: str, contents: Contents, output: Path | None, force: bool) -> None:
    """The report to stdout or its file, and the others to theirs: all of the files, or none."""
    from millprep.base.outfile import sealed, write_files

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
                    "stop", "unknown-word", f"{other} and {option} name one file",
                    "give each its own", file=str(path),
                )
            )  # fmt: skip
    changed = set(write_files({path: data for _, path, data in contents}, force=force))
    for option, path, _ in contents:
        if option != "--moves":
            print(state_of(path, changed), file=sys.stderr)
    if output is None:
        emit(text, None)
