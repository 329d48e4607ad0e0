"""What every command shares: findings to stderr, one JSON object, exit status, output files."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from millprep.base.findings import (
    Finding,
    MillprepError,
    WordError,
    chosen_word,
    findings_json,
    has_stop,
    once_over_setups,
    refusal_of,
    stopped,
)
from millprep.base.marks import sealed
from millprep.base.plain_text import clean, counted, json_text
from millprep.base.records import frozen
from millprep.cli.terminal import SHEET_WIDTH, shown, width

if TYPE_CHECKING:
    from millprep.base.units import Units
    from millprep.cli.options import Out
    from millprep.proven.handed import Handed
    from millprep.proven.preparation import ToFit

FORMATS = ("text", "json", "csv")
_BY_ENDING = {".json": "json", ".csv": "csv", ".txt": "text", ".html": "html", ".pdf": "pdf"}


def refuse_folder(*outputs: Path | None) -> None:
    """Raises MillprepError where an output is a folder, or no name, or where its folder is not.

    Before anything is read: what is wrong with an output comes first, and alone.
    """
    for output in filter(None, outputs):
        try:
            is_folder = not output.name or output.is_dir()
            is_nowhere = not output.parent.exists()
        except OSError:
            continue  # a name too long: the writing says so
        if is_folder:
            raise stopped("output-refused", "is a folder", "name a file in it", file=str(output))
        if is_nowhere:
            remedy = f"make the folder {output.parent} first"
            raise stopped("output-refused", "the folder does not exist", remedy, file=str(output))


def refuse_ending(output: Path | None, endings: Sequence[str], what: str) -> None:
    """Raises MillprepError where a file is to have another ending than those; what : is written."""
    if output is not None and output.suffix.lower() not in endings:
        message, remedy = f'{what} written as "{output.suffix}"', f"endings: {', '.join(endings)}"
        raise stopped("unknown-word", message, remedy, str(output))


def form_of(given: str | None, output: Path | None, accepted: Sequence[str]) -> str:
    """The form of a sheet. Raises MillprepError where a PDF would go to the screen."""
    form = chosen_format(given, output, accepted)
    if form == "pdf" and output is None and sys.stdout.isatty():
        raise stopped("unknown-word", "a PDF is not for the screen", "name a file: -o FILE.pdf")
    return form


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


def chosen_units(given: str | None) -> Units | None:
    """The unit that `--units` names; None where it is not given."""
    if given is None:
        return None
    return "inch" if chosen_word("--units", given, ("mm", "inch")) == "inch" else "mm"


def print_findings(findings: Iterable[Finding]) -> None:
    """Findings to stderr, worst first; at a terminal wrapped to its width and in colour."""
    sys.stderr.write(shown(findings, sys.stderr))


@frozen
class Checked:
    """What `check` says of the part that a sheet is made of, and how it is asked."""

    findings: Sequence[Finding]
    part: Path | str
    shop: str
    fitted: ToFit | None = None

    def of_notes(self, count: int) -> str:
        """So many notes, and the command that reads them out."""
        return clean(f"{counted(count, 'note')} (millprep check {self.part}{self.options})")

    @property
    def options(self) -> str:
        moved = "" if self.fitted is None else self.fitted.words
        return moved if self.shop == "metric" else f"{moved} --shop {self.shop}"


def print_beside(findings: Iterable[Finding], checked: Checked, lead: str = "") -> None:
    """What was found, beside a sheet: what `check` notes too is only counted. lead : before that"""
    told = once_over_setups(findings)
    noted = [one for one in once_over_setups(checked.findings) if one.severity == "note"]
    print_findings(one for one in told if one not in noted)
    if count := sum(one in noted for one in told):
        print(f"{lead}{checked.of_notes(count)}", file=sys.stderr)


def exit_status(findings: Iterable[Finding]) -> int:
    return 1 if has_stop(findings) else 0


def emit(
    text: str | bytes, output: Path | None, *, force: bool = False, bold_first: bool = False
) -> None:
    """What stdout would have had: to stdout, or to a file, whole or not at all.

    bold_first : the first line stands out, for a terminal only
    """
    data = sealed(text) if isinstance(text, str) else text
    if bold_first:
        first, _, rest = data.partition(b"\n")
        data = b"\x1b[1m" + first + b"\x1b[0m\n" + rest
    if output is None:
        stream = getattr(sys.stdout, "buffer", None)
        if stream is None:
            sys.stdout.write(data.decode())
        else:
            sys.stdout.flush()
            stream.write(data)
        sys.stdout.flush()
        return
    from millprep.base.outfile import write_files

    changed = write_files({output: data}, force=force)
    print(state_of(output, changed), file=sys.stderr)


def state_of(path: Path, changed: Collection[Path]) -> str:
    """What is said of a file that was handed to `write_files`."""
    return clean(f"{path}: {'written' if path in changed else 'unchanged'}")


def findings_object(findings: Iterable[Finding]) -> dict[str, Any]:
    return {"findings": findings_json(findings)}


def hand_over(
    handed: Handed, form: str, out: Out, *, called: str, checked: Checked | None = None
) -> int:
    """Give out a finished sheet; 0, or 1 where a stop keeps it back."""
    output = out.output
    if handed.data is None and form == "json":
        print(json_text(findings_object(handed.findings)), end="")
    if handed.data is not None:
        emit(handed.data, output, force=out.force)
        if form == "text" and output is None:
            say_where_too_narrow()
    if checked is not None:
        is_made = handed.data is not None and output is None
        print_beside(handed.findings, checked, "made; " if is_made else "")
    elif form != "text" or output is not None or not sys.stdout.isatty():
        print_findings(handed.findings)  # at a terminal they stand on the sheet, under REMARKS
    if handed.data is None:
        print(f"no {called}: see the stops above", file=sys.stderr)
        return 1
    return 0


def say_where_too_narrow() -> None:
    """A sheet has its one form, which a narrower terminal breaks at its edge: what to do then."""
    if sys.stdout.isatty() and (columns := width(sys.stdout)) < SHEET_WIDTH:
        said = f"the sheet is {SHEET_WIDTH} columns wide, this window {columns}"
        print(f"{said}:\nwiden it, or add -o sheet.html", file=sys.stderr)


def refused(error: MillprepError | WordError, data_format: str | None) -> int:
    """Report what cannot be judged; exit status 2."""
    findings = refusal_of(error).findings
    if data_format == "json":
        print(json_text(findings_object(findings)), end="")
    print_findings(findings)
    return 2
