"""`millprep match PART MEASURED.csv`: where to drill a part that has to fit one drilled already."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from millprep.base.findings import WordError
from millprep.cli.common import chosen_format, chosen_units, hand_over
from millprep.proven.measured import match_sheet
from millprep.proven.sheets import DATA


def run(
    part: Path,
    measured: Path,
    shop: str,
    units: str | None,
    data_format: str | None,
    output: Path | None,
    force: bool,
    **wishes: Any,
) -> int:
    """0 when the sheet was handed over. Raises MillprepError for what cannot be judged.

    wishes : as `match_sheet` takes them
    """
    form = chosen_format(data_format, output, DATA)
    _refuse_exchanged(part, measured)
    handed = match_sheet(part, measured, shop, form, units=chosen_units(units), **wishes)
    return hand_over(handed, form, output, force=force, called="match sheet")


def _refuse_exchanged(part_path: Path, measured_path: Path) -> None:
    """Raises WordError for a part file where the readings belong, and the reverse."""
    if measured_path.suffix.lower() == ".toml" != part_path.suffix.lower():
        raise WordError(
            f"{part_path} is given as the part file, and {measured_path} as the readings",
            f"the part file comes first: millprep match {measured_path} {part_path}",
        )
