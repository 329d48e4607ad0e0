"""The marking-out list as text, within 80 columns. Lays a mark sheet out."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.markout import MarkCross, MarkHeight, MarkSheet, MarkStanding
from millprep.writers.listing_text import WIDTH, counted, field_lines, wrapped

_RULE = "-" * WIDTH


def markout_text(sheet: MarkSheet) -> str:
    """The whole list, ending in the blank mark of `outfile`."""
    return "\n".join([*_lines(sheet), "", BLANK_MARK, ""])


def _lines(sheet: MarkSheet) -> Iterator[str]:
    right = f"marking out, {counted(len(sheet.standings), 'standing')}"
    yield from wrapped(f"{sheet.part.upper():<{WIDTH - len(right)}}{right}", "", "")
    yield from wrapped(sheet.stock, "", "    ")
    drawing = f"drawing {sheet.drawing}; " if sheet.drawing else ""
    yield from wrapped(f"{drawing}part mark {sheet.mark}; figures in {sheet.units}", "", "    ")
    if sheet.note:
        yield from wrapped(f"note: {sheet.note}", "", "    ")
    yield _RULE
    inked = list(dict.fromkeys(cross.face.upper() for cross in sheet.crosses))
    yield from field_lines("INK", [f"{', '.join(inked)}; lines there only, and short."])
    yield from field_lines(
        "GAUGE", [f"reads {sheet.gauge_offset} with the scriber on the plate: try it first."]
    )
    for standing in sheet.standings:
        yield _RULE
        yield from _standing(standing, len(sheet.standings))
    yield _RULE
    yield from field_lines(
        "PUNCH", ["look at each cross first and try it by calliper from the far faces"]
    )
    for cross in sheet.crosses:
        yield from _cross(cross)
    yield _RULE
    counts = ", ".join(f"{face.upper()} {count}" for face, count in sheet.crosses_on.items())
    yield from field_lines(
        "COUNT", [f"{counts}: {len(sheet.crosses)} cross{'' if len(sheet.crosses) == 1 else 'es'}."]
    )
    if sheet.hand:
        yield from field_lines("HAND", sheet.hand)
    yield from field_lines("ASSUMED", [f"height gauge counts {sheet.count}; lines 4 mm each way."])
    remarks = [f"{f.severity}: {f.message}" for f in sheet.findings]
    if remarks:
        yield from field_lines("REMARKS", remarks)


def _standing(standing: MarkStanding, count: int) -> Iterator[str]:
    yield from field_lines(
        f"STAND {standing.number}",
        [
            f"of {count}: {standing.face.upper()} on the plate, {standing.up.upper()} up; lines "
            f"on {', '.join(face.upper() for face in standing.inked)}",
            *standing.words,
        ],
    )
    yield f"{'    gauge at':>14}  {'on':<8}{'line':<22}hole"
    for height in standing.heights:
        yield from _height(height)


def _height(height: MarkHeight) -> Iterator[str]:
    """Each line has its box; the gauge is set once for all lines of a height."""
    for index, line in enumerate(height.lines):
        gauge = str(height.gauge) if index == 0 else ""
        extent = f"{line.from_face.upper()} {line.start} to {line.end}"
        yield from _named(f"[ ]{gauge:>11}  {line.face.upper():<8}{extent:<22}", line.hole)


def _cross(cross: MarkCross) -> Iterator[str]:
    checks = "  ".join(f"{face.upper()} {distance}" for face, distance in cross.checks)
    yield from _named(f"[ ]  {cross.face.upper():<8}{checks:<33}", cross.hole)


def _named(start: str, name: str) -> Iterator[str]:
    """The name behind the figures, or below them where it is too long."""
    if len(start) + len(name) <= WIDTH:
        yield start + name
    else:
        yield start.rstrip()
        yield f"{' ' * 10}{name}"
