"""`millprep match PART MEASURED.csv`: where to drill a part that has to fit one drilled already."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import WordError, worst_first
from millprep.base.outfile import sheet_mark
from millprep.base.units import Units, read_length
from millprep.cli.common import (
    chosen_format,
    chosen_units,
    chosen_word,
    hand_over,
    json_text,
    load,
)

if TYPE_CHECKING:
    from millprep.matching.match import Hand
    from millprep.sheets.match import MatchSheet


def run(
    part_path: Path, measured_path: Path, shop_name: str, units: str | None, setup: int | None,
    hand: str | None, keep_edges: bool, play: str | None, noise: str | None,
    data_format: str | None, output: Path | None, force: bool,
) -> int:  # fmt: skip
    """0 when the sheet was handed over. Raises MillprepError for what cannot be judged."""
    from millprep.infiles.measured_file import read_measured
    from millprep.matching.doubts import match_findings
    from millprep.matching.match import Wishes, match_part
    from millprep.matching.measured_places import nominal_readings
    from millprep.matching.slip_words import NOISE_MM
    from millprep.sheets.match import make_match_sheet

    wanted = chosen_format(data_format, output, ("text", "json", "csv"))
    _refuse_exchanged(part_path, measured_path)
    part, shop, notes = load(part_path, shop_name)
    shown_units = chosen_units(units, part.units)
    noise_mm = _length_mm("--noise", noise, shown_units)
    wishes = Wishes(
        setup, None if hand is None else _hand(hand), keep_edges,
        _length_mm("--play", play, shown_units),
        NOISE_MM if noise_mm is None else noise_mm, shown_units,
    )  # fmt: skip
    nominal = nominal_readings(part, shop.readout.reversed_axes, setup)
    measured = read_measured(measured_path, part, nominal)
    match = match_part(part, shop, measured, wishes)
    found = match_findings(match, shop, wishes)
    findings = tuple(worst_first([*match.findings, *found, *notes]))
    sheet = make_match_sheet(match, shop, shown_units, findings)
    what = sheet_mark("match", wanted, part.name, sheet.setup)
    return hand_over(rendered(sheet, wanted), findings, wanted, output, force=force, what=what)


def _refuse_exchanged(part_path: Path, measured_path: Path) -> None:
    """Raises WordError for a part file where the readings belong, and the reverse."""
    if measured_path.suffix.lower() == ".toml" != part_path.suffix.lower():
        raise WordError(
            f"{part_path} is given as the part file, and {measured_path} as the readings",
            f"the part file comes first: millprep match {measured_path} {part_path}",
        )


def _hand(given: str) -> Hand:
    word = chosen_word("--hand", given.replace(" ", "-"), ("as-drawn", "mirrored"))
    return "mirrored" if word == "mirrored" else "as drawn"


def _length_mm(option: str, words: str | None, units: Units) -> float | None:
    """Raises WordError for what is no length, or below 0."""
    if words is None:
        return None
    try:
        length_mm = float(read_length(words, units))
    except WordError as error:
        raise WordError(f"{option}: {error.message}", error.remedy) from None
    if length_mm < 0:
        raise WordError(f'{option}: "{words}" is below 0', "give 0 or a length above it")
    return length_mm


def rendered(sheet: MatchSheet, wanted: str) -> str:
    """The sheet in a format."""
    from millprep.writers.match_data import match_csv, match_json
    from millprep.writers.match_text import match_text

    if wanted == "json":
        return json_text(match_json(sheet))
    return match_csv(sheet) if wanted == "csv" else match_text(sheet)
