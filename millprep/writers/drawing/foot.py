"""The foot of a sheet: what setup it is, the bars to measure, and the title line (ISO 7200)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.canvas.lettering import printable, room_mm
from millprep.canvas.pen import STYLES, Pen, Place
from millprep.canvas.sign import draw_sign
from millprep.model.shop import Projection
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.writers.drawing.table import TEXT_MM, wrapped

LINE_MM = 4.2
STRIP_MM = 10.0  # of the title line: two lines of words
BARS_MM: dict[Units, tuple[float, str]] = {"mm": (100.0, "100 mm"), "inch": (101.6, "4 in")}
"""The bars of a sheet by its units: length and words."""
BAR_ROOM_MM = 7.0
_EDGE_MM = 2.0
_NAME_MM = 3.5
_BAR_FOOT_MM = 7.0  # the bar and its words


@frozen
class Title:
    """What the title line says beside the part: its scale, the sheet's number, the arrangement.

    projection : None where there is one view only
    """

    scale: str
    sheet: str
    projection: Projection | None


@frozen
class Foot:
    """Lines beside the bars and the notes over these, of which there is room for so many."""

    lines: tuple[str, ...]
    bars: tuple[tuple[float, str], ...]
    most_notes: int = 2

    @property
    def height_mm(self) -> float:
        notes = self.most_notes * LINE_MM + len(self.bars) * _BAR_FOOT_MM
        return STRIP_MM + max(len(self.lines) * LINE_MM, notes) + _EDGE_MM


def foot_of(
    sheet: Drawing,
    setup: DrawnSetup,
    across_mm: float,
    *,
    is_template: bool = False,
    is_corrected: bool = False,
) -> Foot:
    """The foot of a sheet whose frame is that wide."""
    bars = tuple(BARS_MM.values()) if is_template else (BARS_MM[sheet.units],)
    room = across_mm - right_mm(bars) - 2 * _EDGE_MM
    lines = [line for words in _said(sheet, setup) for line in wrapped(words, room, TEXT_MM)]
    return Foot(tuple(lines), bars, 2 + is_template + is_corrected)


def right_mm(bars: Sequence[tuple[float, str]]) -> float:
    """Width of the right part, where bars and notes stand."""
    return max(length for length, _ in bars) + 3 * _EDGE_MM


def _said(sheet: Drawing, setup: DrawnSetup) -> Iterator[str]:
    positions = f"; positions {sheet.general_tolerance} unless stated"
    hand = f"; {setup.view.hand}" if setup.view.hand else ""
    yield f"setup {setup.number} of {sheet.setup_count}: {setup.lies}"
    zero = f"zero: X on {setup.zero_x.upper()}, Y on {setup.zero_y.upper()}"
    yield f"{zero}, Z on {setup.face.upper()}{hand}"
    yield f"{sheet.stock}; figures in {sheet.units}{positions if sheet.general_tolerance else ''}"


def draw_foot(foot: Foot, notes: Sequence[str], corner: Place, across_mm: float, pen: Pen) -> None:
    """Lines, notes and bars above the title line; `corner` is the frame's lower left one."""
    left, low = corner
    right, top = left + across_mm, low + foot.height_mm
    pen.line((left, top), (right, top), "edge")
    for index, line in enumerate(foot.lines, 1):
        pen.text((left + _EDGE_MM, top - index * LINE_MM), line, TEXT_MM)
    for index, line in enumerate(notes[: foot.most_notes], 1):
        words = shortened(line, right_mm(foot.bars) - 2 * _EDGE_MM, TEXT_MM)
        pen.text((right - _EDGE_MM, top - index * LINE_MM), words, TEXT_MM, "right")
    for index, (length, words) in enumerate(foot.bars):
        y = low + STRIP_MM + 2.2 + index * _BAR_FOOT_MM
        start = right - 2 * _EDGE_MM - length
        _draw_bar(pen, (start, y), (start + length, y), f"{words}, full size")


def draw_upright_bars(foot: Foot, corner: Place, pen: Pen) -> None:
    """The bars along Y, at the left of the frame, above the foot."""
    left, low = corner[0] + 3.0, corner[1] + foot.height_mm + 3.0
    for index, (length, words) in enumerate(foot.bars):
        x = left + index * BAR_ROOM_MM
        _draw_bar(pen, (x, low), (x, low + length), f"{words}, full size")


def _draw_bar(pen: Pen, start: Place, end: Place, words: str) -> None:
    """A bar measured over the strokes at its ends, and one at its middle; words beside it."""
    inside = STYLES["thin"].width_mm / 2
    is_level = start[1] == end[1]
    length = end[0] - start[0] if is_level else end[1] - start[1]
    pen.line(start, end, "edge")
    for along in (inside, length / 2, length - inside):
        x, y = (start[0] + along, start[1]) if is_level else (start[0], start[1] + along)
        across = (0.0, 1.2) if is_level else (1.2, 0.0)
        pen.line((x - across[0], y - across[1]), (x + across[0], y + across[1]), "thin")
    aside = 1.4 if is_level else -1.4
    at = (
        (start[0] + length / 4, start[1] + aside)
        if is_level
        else (start[0] - aside + TEXT_MM, start[1] + length / 4)
    )
    pen.text(at, words, TEXT_MM, "middle", 0.0 if is_level else 90.0)


def draw_title(sheet: Drawing, title: Title, corner: Place, across_mm: float, pen: Pen) -> None:
    """One line of fields: part, drawing, material, scale, projection, date, mark, sheet."""
    left, low = corner
    high = low + STRIP_MM
    pen.line((left, high), (left + across_mm, high), "edge")
    free = [[sheet.part], ["drawing", sheet.drawing], ["material", sheet.material]]
    fixed = [
        [title.scale],
        [f"{title.projection} angle" if title.projection else ""],
        ["date", sheet.date],
        ["part mark", sheet.mark],
        [title.sheet],
    ]
    free, fixed = (
        [[*map(printable, lines)] for lines in each if lines[-1]] for each in (free, fixed)
    )
    widths = [_width(lines, TEXT_MM) for lines in fixed]
    wants = [_width(lines, _NAME_MM if len(lines) == 1 else TEXT_MM) for lines in free]
    x = left
    for lines, width in zip(free, _shared(wants, across_mm - sum(widths)), strict=True):
        room = width - 2 * _EDGE_MM
        has_room = len(lines) > 1 and _width(lines, TEXT_MM) <= width
        said = [(line, TEXT_MM) for line in lines] if has_room else _name(lines[-1], room)
        _write(pen, x, low, said)
        x = _ruled(pen, x + width, low)
    for lines, width in zip(fixed, widths, strict=True):
        if lines[0].endswith(" angle"):
            draw_sign(pen, (x + width / 2, high - 3.2), lines[0].startswith("first"))
            pen.text((x + _EDGE_MM, low + 1.0), lines[0], TEXT_MM)
        else:
            _write(pen, x, low, [(line, TEXT_MM) for line in lines])
        x = _ruled(pen, x + width, low) if lines is not fixed[-1] else x


def _width(lines: Sequence[str], height_mm: float) -> float:
    return max(room_mm(line, height_mm) for line in lines) + 2 * _EDGE_MM


def _ruled(pen: Pen, x: float, low: float) -> float:
    pen.line((x, low), (x, low + STRIP_MM), "thin")
    return x


def _shared(wants: Sequence[float], room: float) -> list[float]:
    """Widths that fill the room: each has what it wants, and where that is too much, the widest
    give way."""
    widths, left = list(wants), room
    for done, index in enumerate(sorted(range(len(wants)), key=wants.__getitem__)):
        widths[index] = min(wants[index], left / (len(wants) - done))
        left -= widths[index]
    return [width + left / len(wants) for width in widths]


def _name(words: str, room: float) -> list[tuple[str, float]]:
    """In large words where it fits, else two lines of small ones, the second cut short."""
    if room_mm(words, _NAME_MM) <= room:
        return [(words, _NAME_MM)]
    first, *rest = wrapped(words, room, TEXT_MM)
    return [(line, TEXT_MM) for line in (first, shortened(" ".join(rest), room, TEXT_MM)) if line]


def _write(pen: Pen, x: float, low: float, lines: Sequence[tuple[str, float]]) -> None:
    """One line in the middle of the title's height, or two."""
    bases = (low + 3.7,) if len(lines) == 1 else (low + 5.9, low + 1.8)
    for (words, height), y in zip(lines, bases, strict=True):
        pen.text((x + _EDGE_MM, y), words, height)


def shortened(words: str, room: float, height_mm: float) -> str:
    """The words, cut to the room there is."""
    if room_mm(words, height_mm) <= room:
        return words
    while words and room_mm(f"{words}...", height_mm) > room:
        words = words[:-1]
    return f"{words.rstrip()}..."
