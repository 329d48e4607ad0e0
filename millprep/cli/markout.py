"""`millprep markout PART`: plan, check, lay out, read back, then hand over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

from millprep.base.findings import Finding, WordError
from millprep.base.outfile import sheet_mark
from millprep.base.units import Units, read_length
from millprep.cli.common import (
    chosen_format,
    chosen_units,
    exit_status,
    hand_over,
    json_text,
    kept_back,
)
from millprep.cli.preparation import prepare
from millprep.model.part import Part
from millprep.planning.marking import read_faces
from millprep.sheets.markout import MarkSheet, make_mark_sheet

if TYPE_CHECKING:
    from millprep.reading.pages.markout import MarkForm


def run(
    part_path: Path, shop: str, units: str | None, stand: str | None, gauge_offset: str | None,
    data_format: str | None, output: Path | None, force: bool,
) -> int:  # fmt: skip
    """0 when the list was handed over, 1 when a stop kept it back."""
    wanted = chosen_format(data_format, output, ("text", "json", "csv"))
    prepared = prepare(part_path, shop)
    shown_units = chosen_units(units, prepared.part.units)
    findings = list(prepared.findings)
    faces = read_faces(stand) if stand is not None else ()
    offset_mm = _offset_mm(gauge_offset, shown_units)
    if exit_status(findings):
        return kept_back(findings, wanted, "marking-out list")
    sheet = make_mark_sheet(
        prepared.part, prepared.shop, shown_units, wanted=faces, gauge_offset_mm=offset_mm,
        findings=_about_marking(findings),
    )  # fmt: skip
    text = rendered(sheet, wanted)
    findings = list(sheet.findings)
    findings += _disagreements(text, wanted, prepared.part, offset_mm, str(output or "the list"))
    if exit_status(findings):
        return kept_back(findings, wanted, "marking-out list")
    what = sheet_mark("markout", wanted, prepared.part.name)
    return hand_over(text, findings, wanted, output, force=force, what=what)


def _offset_mm(words: str | None, units: Units) -> float:
    """Raises WordError for what is no length."""
    if words is None:
        return 0.0
    try:
        return float(read_length(words, units))
    except WordError as error:
        raise WordError(f"--gauge-offset: {error.message}", error.remedy) from None


def _about_marking(findings: list[Finding]) -> list[Finding]:
    """The drawer and the vice are of no concern yet."""
    return [f for f in findings if f.kind not in ("not-in-drawer", "bottoming-tap") and not f.setup]


def rendered(sheet: MarkSheet, wanted: str) -> str:
    """The list in a format."""
    from millprep.writers.markout_data import markout_csv, markout_json
    from millprep.writers.markout_text import markout_text

    if wanted == "json":
        return json_text(markout_json(sheet))
    return markout_csv(sheet) if wanted == "csv" else markout_text(sheet)


def _disagreements(
    text: str, wanted: str, part: Part, offset_mm: float, file: str
) -> list[Finding]:
    """What the second witness finds when it reads the finished bytes."""
    from millprep.witness.markout import check_markout

    return check_markout(
        text.encode(), cast("MarkForm", wanted), part, gauge_offset_mm=offset_mm, file=file
    )
