"""What `watch` does once: a part checked, and the sheets of it that were chosen, as bytes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from millprep.base.findings import Finding, has_stop
from millprep.base.records import anew, frozen
from millprep.proven.preparation import Prepared, prepare
from millprep.proven.program import programs
from millprep.proven.sheets import SHEETS, order_of, prove

DRAWING, PROGRAM = "drawing", "program"
UNMARKED = ("csv",)
"""Forms that carry no mark: whether somebody has edited such a file, nothing tells."""


@frozen
class Round:
    """Files that are to be written, none where a stop keeps them back.

    findings : what `check` says; kept_back : why sheets that were asked for are not there
    """

    findings: tuple[Finding, ...]
    files: dict[Path, bytes] = anew(factory=dict)
    kept_back: tuple[Finding, ...] = ()


def forms_of(sheet: str) -> tuple[str, ...]:
    """The forms in which a sheet can be written again and again."""
    return tuple(form for form in SHEETS[sheet].forms if form not in UNMARKED)


def made_once(part: Path, shop: str, wanted: Mapping[str, tuple[Path, str]]) -> Round:
    """The part checked, and its sheets. wanted : file and form of each sheet, by name

    Raises MillprepError or WordError for what cannot be judged.
    """
    prepared = prepare(part, shop)
    if has_stop(prepared.findings):
        return Round(prepared.findings)
    files: dict[Path, bytes] = {}
    stops: list[Finding] = []
    for sheet, (file, form) in wanted.items():
        made = _made(sheet, file, form, (part, shop), prepared)
        stops += [one for one in made[1] if one.severity == "stop"]
        files |= made[0]
    return Round(prepared.findings, {} if stops else files, tuple(stops))


def _made(
    sheet: str, file: Path, form: str, made_of: tuple[Path, str], prepared: Prepared
) -> tuple[dict[Path, bytes], tuple[Finding, ...]]:
    """The files of one sheet, and what was found."""
    if sheet == PROGRAM:
        whole = programs(*made_of, file=file)
        return {one.path: one.data for one in whole.files}, whole.findings
    if sheet == DRAWING:
        from millprep.proven.drawing import Wishes, drawn_files
        from millprep.proven.measured import day_of

        return drawn_files(prepared, file, Wishes(), date=day_of(None))
    order = order_of(sheet, "tool")
    plan = prepared if order == "tool" else prepare(*made_of, order)
    handed = prove(sheet, plan, form, file=str(file))
    return ({} if handed.data is None else {file: handed.data}), handed.findings
