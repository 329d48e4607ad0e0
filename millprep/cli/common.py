"""What every command shares: findings to stderr, one JSON object, exit status, output files."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Collection, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from millprep.base.findings import (
    Finding,
    MillprepError,
    WordError,
    chosen_word,
    findings_json,
    format_finding,
    has_stop,
    refusal_of,
    stopped,
)
from millprep.base.outfile import sealed, write_files
from millprep.base.plain_text import clean, json_text

if TYPE_CHECKING:
    from millprep.base.units import Units
    from millprep.proven.sheets import Handed

FORMATS = ("text", "json", "csv")
_BY_ENDING = {".json": "json", ".csv": "csv", ".txt": "text", ".html": "html", ".pdf": "pdf"}


def refuse_folder(output: Path) -> None:
    """Raises MillprepError where an output is a folder, or no name at all."""
    try:
        is_folder = not output.name or output.is_dir()
    except OSError:
        is_folder = False  # a name too long: the writing says so
    if is_folder:
        raise stopped("output-refused", "is a folder", "name a file in it", file=str(output))


def refuse_ending(output: Path | None, endings: Sequence[str], what: str) -> None:
    """Raises MillprepError where a file is to have another ending than those; what : is written."""
    if output is not None and output.suffix.lower() not in endings:
        message, remedy = f'{what} written as "{output.suffix}"', f"endings: {', '.join(endings)}"
        raise stopped("unknown-word", message, remedy, str(output))


def chosen_format(given: str | None, output: Path | None, accepted: Sequence[str]) -> str:
    """The format asked for, or the one that the output's ending names, or text."""
    if output is not None:
        refuse_folder(output)
    if given is None:
        ending = output.suffix.lower() if output is not None else ".txt"
        by_ending = _BY_ENDING.get(ending)
        if by_ending in accepted:
            return str(by_ending)
        endings = [known for known, name in _BY_ENDING.items() if name in accepted]
        raise stopped(
            "unknown-word",
            f'the ending "{ending}" names no format of this sheet',
            f"endings: {', '.join(endings)}; or say --format",
            file=str(output),
        )
    if given not in accepted:
        raise stopped("unknown-word", f'no format "{given}"', f"accepted: {', '.join(accepted)}")
    return given


def refuse_at_terminal(wanted: str, output: Path | None) -> None:
    """Raises MillprepError where a file that is no text would go to the screen."""
    if wanted == "pdf" and output is None and sys.stdout.isatty():
        raise stopped("unknown-word", "a PDF is not for the screen", "name a file: -o FILE.pdf")


def chosen_units(given: str | None) -> Units | None:
    """The unit that `--units` names; None where it is not given."""
    if given is None:
        return None
    return "inch" if chosen_word("--units", given, ("mm", "inch")) == "inch" else "mm"


def print_findings(findings: Iterable[Finding]) -> None:
    """Findings to stderr, as they come; at a terminal wrapped to its width."""
    width = shutil.get_terminal_size().columns if sys.stderr.isatty() else 0
    for finding in findings:
        print(_wrapped(format_finding(finding), width), file=sys.stderr)


def _wrapped(text: str, width: int) -> str:
    """Lines folded to a width, what follows indented; not below 40 columns, and 0 is no limit."""
    if not width:
        return text
    return "\n".join(
        textwrap.fill(
            line,
            max(width, 40),
            subsequent_indent="    ",
            drop_whitespace=True,
            replace_whitespace=False,
            break_on_hyphens=False,
            break_long_words=False,
        )
        for line in text.splitlines()
    )


def exit_status(findings: Iterable[Finding]) -> int:
    return 1 if has_stop(findings) else 0


def emit(text: str | bytes, output: Path | None, *, force: bool = False) -> None:
    """What stdout would have had: to stdout, or to a file, whole or not at all."""
    data = sealed(text) if isinstance(text, str) else text
    if output is None:
        stream = getattr(sys.stdout, "buffer", None)
        if stream is None:
            sys.stdout.write(data.decode())
        else:
            sys.stdout.flush()
            stream.write(data)
        sys.stdout.flush()
        return
    changed = write_files({output: data}, force=force)
    print(state_of(output, changed), file=sys.stderr)


def state_of(path: Path, changed: Collection[Path]) -> str:
    """What is said of a file that was handed to `write_files`."""
    return clean(f"{path}: {'written' if path in changed else 'unchanged'}")


def findings_object(findings: Iterable[Finding]) -> dict[str, Any]:
    return {"findings": findings_json(findings)}


def hand_over(handed: Handed, form: str, output: Path | None, *, force: bool, called: str) -> int:
    """Give out a finished sheet; 0, or 1 where a stop keeps it back."""
    if handed.data is None:
        if form == "json":
            print(json_text(findings_object(handed.findings)), end="")
        print_findings(handed.findings)
        print(f"no {called}: see the stops above", file=sys.stderr)
        return 1
    if form != "text" or output is not None or not sys.stdout.isatty():
        print_findings(handed.findings)  # at a terminal they stand on the sheet, under REMARKS
    emit(handed.data, output, force=force)
    return 0


def refused(error: MillprepError | WordError, data_format: str | None) -> int:
    """Report what cannot be judged; exit status 2."""
    findings = refusal_of(error).findings
    if data_format == "json":
        print(json_text(findings_object(findings)), end="")
    print_findings(findings)
    return 2
