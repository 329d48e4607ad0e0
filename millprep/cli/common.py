"""What every command shares: findings to stderr, one JSON object, exit status, output files."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Callable, Collection, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from millprep.base.findings import Finding, MillprepError, WordError, format_finding, has_stop
from millprep.base.outfile import sealed, write_files
from millprep.base.plain_text import clean, clean_lines, json_clean
from millprep.base.records import replace

if TYPE_CHECKING:
    from millprep.base.units import Units
    from millprep.model.part import Part
    from millprep.model.shop import Shop

_Read = TypeVar("_Read")

FORMATS = ("text", "json", "csv")
_BY_ENDING = {".json": "json", ".csv": "csv", ".txt": "text", ".html": "html", ".pdf": "pdf"}


def chosen_format(given: str | None, output: Path | None, accepted: Sequence[str]) -> str:
    """The format asked for, or the one that the output's ending names, or text."""
    if given is None:
        ending = output.suffix.lower() if output is not None else ".txt"
        by_ending = _BY_ENDING.get(ending)
        if by_ending in accepted:
            return str(by_ending)
        endings = [known for known, name in _BY_ENDING.items() if name in accepted]
        raise MillprepError(
            Finding(
                "stop", "unknown-word", f'the ending "{ending}" names no format of this sheet',
                f"endings: {', '.join(endings)}; or say --format", file=str(output),
            )
        )  # fmt: skip
    if given not in accepted:
        raise MillprepError(
            Finding(
                "stop", "unknown-word", f'no format "{given}"', f"accepted: {', '.join(accepted)}"
            )
        )
    return given


def refuse_at_terminal(wanted: str, output: Path | None) -> None:
    """Raises MillprepError where a file that is no text would go to the screen."""
    if wanted == "pdf" and output is None and sys.stdout.isatty():
        raise MillprepError(
            Finding(
                "stop", "unknown-word", "a PDF is not for the screen", "name a file: -o FILE.pdf"
            )
        )


def as_bytes(text: str | bytes) -> bytes:
    """A sheet as a reader takes it."""
    return text if isinstance(text, bytes) else clean_lines(text).encode()


def chosen_word(option: str, given: str, accepted: Sequence[str]) -> str:
    """An option's word, or a refusal that names the accepted ones."""
    if given in accepted:
        return given
    raise MillprepError(
        Finding(
            "stop", "unknown-word", f'{option}: no such word "{given}"',
            f"accepted: {', '.join(accepted)}",
        )
    )  # fmt: skip


def chosen_units(given: str | None, by_default: Units) -> Units:
    """The unit that `--units` names, or the default."""
    if given is None:
        return by_default
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
            line, max(width, 40), subsequent_indent="    ", drop_whitespace=True,
            replace_whitespace=False, break_on_hyphens=False, break_long_words=False,
        )
        for line in text.splitlines()
    )  # fmt: skip


def exit_status(findings: Iterable[Finding]) -> int:
    return 1 if has_stop(findings) else 0


def emit(
    text: str | bytes, output: Path | None, *, force: bool = False, what: str = ""
) -> None:  # fmt: skip
    """What stdout would have had: to stdout, or to a file, whole or not at all.

    what : of `outfile.sheet_mark`, for a sheet that carries a mark
    """
    if output is None:
        data = sealed(text, what)
        stream = getattr(sys.stdout, "buffer", None)
        if stream is None:
            sys.stdout.write(data.decode())
        else:
            sys.stdout.flush()
            stream.write(data)
        sys.stdout.flush()
        return
    changed = write_files({output: sealed(text, what)}, force=force)
    print(state_of(output, changed), file=sys.stderr)


def state_of(path: Path, changed: Collection[Path]) -> str:
    """What is said of a file that was handed to `write_files`."""
    return clean(f"{path}: {'written' if path in changed else 'unchanged'}")


def json_text(data: object) -> str:
    """A JSON object as every command prints it."""
    import json

    return json_clean(json.dumps(data, indent=2, ensure_ascii=False)) + "\n"


def findings_object(findings: Iterable[Finding]) -> dict[str, Any]:
    from millprep.writers.listing_data import findings_json

    return {"findings": findings_json(findings)}


def kept_back(findings: Sequence[Finding], wanted: str, what: str) -> int:
    """Report why a sheet is not handed over; exit status 1."""
    if wanted == "json":
        print(json_text(findings_object(findings)), end="")
    print_findings(findings)
    print(f"no {what}: see the stops above", file=sys.stderr)
    return 1


def hand_over(
    text: str | bytes, findings: Sequence[Finding], wanted: str, output: Path | None, *,
    force: bool, what: str = "",
) -> int:  # fmt: skip
    """Give out a sheet that was witnessed, marked as `what` it is; exit status 0."""
    if wanted != "text" or output is not None or not sys.stdout.isatty():
        print_findings(findings)  # at a terminal they stand on the sheet, under REMARKS
    emit(text, output, force=force, what=what)
    return 0


def refused(error: MillprepError | WordError, data_format: str | None) -> int:
    """Report what cannot be judged; exit status 2."""
    if isinstance(error, WordError):
        findings: tuple[Finding, ...] = (
            Finding("stop", "unknown-word", error.message, error.remedy),
        )
    else:
        findings = error.findings
    if data_format == "json":
        print(json_text(findings_object(findings)), end="")
    print_findings(findings)
    return 2


def load(part_path: Path, shop_name: str) -> tuple[Part, Shop, list[Finding]]:
    """A part and a shop, with what their files had to say. Raises MillprepError: every fault."""
    from millprep.infiles import read_part

    (part, notes), shop = with_shop(lambda: read_part(part_path), shop_name)
    return part, shop, list(notes)


def with_shop(read: Callable[[], _Read], shop_name: str) -> tuple[_Read, Shop]:
    """What is read, and the shop. Raises MillprepError with the faults of both."""
    from millprep.infiles import read_shop

    faults: list[Finding] = []
    made = shop = None
    try:
        made = read()
    except MillprepError as error:
        faults += error.findings
    try:
        shop = read_shop(shop_name)
    except MillprepError as error:
        faults += error.findings
    if made is None or shop is None:
        raise MillprepError(*faults)
    return made, shop


def numbered_path(output: Path, setup: int | None, tool: int | None) -> Path:
    """NAME.nc, NAME-setup1.nc or NAME-setup1-tool01.nc: sorting by name is running order."""
    name = output.stem
    if setup is not None:
        name += f"-setup{setup}"
    if tool is not None:
        name += f"-tool{tool:02d}"
    return output.with_name(name + output.suffix)


def about(findings: Iterable[Finding], file: str) -> list[Finding]:
    """The findings with a file where they name none."""
    return [f if f.file is not None else replace(f, file=file) for f in findings]
