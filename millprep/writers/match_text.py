"""The as-drilled sheet as text, within 80 columns. Lays a match sheet out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.match import MatchRow, MatchSheet
from millprep.writers.cautions import AT_THE_MILL
from millprep.writers.listing_text import WIDTH, counted, field_lines, wrapped

_RULE = "-" * WIDTH
_READING, _ERROR, _PLACE = 9, 8, 11
_MOST_BY_TABLE = WIDTH - 4 * _READING - 3 * _ERROR  # a longer name stands on a line of its own
_MOST_BY_PLACE = WIDTH - 4 * _PLACE - 4


def match_text(sheet: MatchSheet) -> str:
    """The whole sheet, ending in the blank mark of `outfile`."""
    return "\n".join([*_lines(sheet), "", BLANK_MARK, ""])


def _lines(sheet: MatchSheet) -> Iterator[str]:
    right = f"as drilled, setup {sheet.setup}: {sheet.face.upper()} up"
    yield from wrapped(f"{sheet.part.upper():<{WIDTH - len(right)}}{right}", "", "")
    drawing = f"drawing {sheet.drawing}; " if sheet.drawing else ""
    yield from wrapped(f"{drawing}part mark {sheet.mark}; figures in {sheet.units}", "", "    ")
    yield from wrapped(f"measured: {sheet.measured_file}", "", "    ")
    yield _RULE
    yield from field_lines("FIT", sheet.fit)
    yield from field_lines("LOOKS", sheet.looks_like)
    yield from field_lines("MATE", [sheet.mate])
    yield _RULE
    yield from _measured_table(sheet)
    yield _RULE
    yield from field_lines("DRILL", [f"this part so: {sheet.coordinates[0]}"])
    yield from field_lines("", list(sheet.coordinates[1:]))
    yield from _place_table(sheet)
    yield _RULE
    missing = len(sheet.rows) - len(sheet.drilled)
    yield from field_lines(
        "DONE", [f"{counted(len(sheet.drilled), 'hole')} measured, {missing} not measured."]
    )
    yield from field_lines("ASSUMED", ["; ".join(sheet.assumed) + "."])
    remarks = [f"{finding.severity}: {finding.message}" for finding in sheet.findings]
    if remarks:
        yield from field_lines("REMARKS", remarks)
    yield _RULE
    yield from field_lines("TAKE CARE", AT_THE_MILL)


def _width(rows: Sequence[MatchRow], most: int) -> int:
    return max(len("hole"), *(len(row.hole) for row in rows if len(row.hole) <= most), 0)


def _measured_table(sheet: MatchSheet) -> Iterator[str]:
    """As drawn, as measured and what the fit leaves."""
    width = _width(sheet.drilled, _MOST_BY_TABLE)
    pair = 2 * _READING
    left = 3 * _ERROR
    yield f"{'':<{width}}{'as drawn':>{pair}}{'as measured':>{pair}}{'left by the fit':>{left}}"
    heads = [f"{name:>{_READING}}" for name in ("X", "Y") * 2]
    heads += [f"{name:>{_ERROR}}" for name in ("X", "Y", "off")]
    yield f"{'hole':<{width}}{''.join(heads)}"
    for row in sheet.drilled:
        figures = _figures((*row.nominal, *(row.measured or ())), _READING)
        figures += _figures((*(row.residual or ()), row.error), _ERROR)
        yield from _named(row.hole, width, figures)


def _place_table(sheet: MatchSheet) -> Iterator[str]:
    """Where to drill, with a box to tick."""
    width = _width(sheet.rows, _MOST_BY_PLACE)
    pair = 2 * _PLACE
    yield f"    {'':<{width}}{'set to':>{pair}}{'against the drawing':>{pair}}"
    heads = "".join(f"{name:>{_PLACE}}" for name in ("X", "Y") * 2)
    yield f"    {'hole':<{width}}{heads}"
    for row in sheet.rows:
        box = "[?]" if row.is_left_out else "[ ]" if row.is_drilled else "[+]"
        figures = _figures((*row.place, *row.moved), _PLACE)
        yield from _named(f"{box} {row.hole}", width + 4, figures)


def _figures(values: Iterable[Decimal | None], wide: int) -> str:
    return "".join(f"{'' if value is None else value:>{wide}}" for value in values)


def _named(name: str, width: int, figures: str) -> Iterator[str]:
    if len(name) <= width:
        yield f"{name:<{width}}{figures}".rstrip()
    else:
        yield name
        yield f"{'':<{width}}{figures}".rstrip()
