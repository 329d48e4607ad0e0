"""`lookup WORDS...`: what the tables hold, as text, JSON or CSV.

A shop is read only when one is named, so that a bare question loads no schemas.
"""

from __future__ import annotations

from pathlib import Path

from millprep.cli.common import FORMATS, chosen_format, chosen_units, emit
from millprep.lookup import lookup, whole_tables
from millprep.lookup.forms import answer, answer_whole
from millprep.proven.files import drills_of


def run(
    words: list[str],
    data_format: str | None,
    output: Path | None,
    force: bool,
    shop: str | None = None,
    whole: bool = False,
    units: str | None = None,
) -> int:
    """Look the words up and print what was found; 0. Raises WordError with the nearest entries.

    shop  : tapping drills, and drills near a size, come from its cabinet
    whole : the words name tables, which are printed whole
    units : of bare numbers, "mm" or "inch"
    """
    form = chosen_format(data_format, output, FORMATS)
    question = " ".join(words)
    if whole:
        emit(answer_whole(whole_tables(question), form), output, force=force)
        return 0
    drawer = None if shop is None else drills_of(shop)
    readings = lookup(question, drawer, chosen_units(units) or "mm")
    emit(answer(readings, form), output, force=force)
    return 0
