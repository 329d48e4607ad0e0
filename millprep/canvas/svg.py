"""The SVG pen: true millimetres, one element a verb, nothing but the standard's basic shapes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from millprep.base.marks import BLANK_MARK
from millprep.canvas.dashes import stretch_of
from millprep.canvas.dots import Dots
from millprep.canvas.lettering import CAPITAL_OVER_SIZE, printable
from millprep.canvas.pen import STYLES, Anchor, Place, Style, on_circle, sweep_deg

_DECIMALS = 3
_FEW_DASHES = 4
_TYPEFACE = "Helvetica,Arial,Liberation Sans,sans-serif"
_ANCHORS: dict[Anchor, str] = {"left": "start", "middle": "middle", "right": "end"}


def _number(value: float) -> str:
    text = f"{value:.{_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class SvgPen:
    """Draws on a sheet of paper of that size [mm]; `document` gives the file's text."""

    def __init__(self, width_mm: float, height_mm: float, title: str = "") -> None:
        self.width_mm = width_mm
        self.height_mm = height_mm
        self.title = title
        self._elements: list[str] = []

    def _at(self, place: Place) -> tuple[str, str]:
        return _number(place[0]), _number(self.height_mm - place[1])

    def line(self, start: Place, end: Place, style: Style) -> None:
        (x1, y1), (x2, y2) = self._at(start), self._at(end)
        dashes = _dashes_of(math.dist(start, end), style)
        self._elements.append(
            f'<line class="{style}" x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"{dashes}/>'
        )

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        x, y = self._at(centre)
        radius = _number(radius_mm)
        sweep = sweep_deg(start_deg, end_deg)
        if sweep >= 360:
            self._elements.append(f'<circle class="{style}" cx="{x}" cy="{y}" r="{radius}"/>')
            return
        (x1, y1), (x2, y2) = (
            self._at(on_circle(centre, radius_mm, angle))
            for angle in (start_deg, start_deg + sweep)
        )
        large = int(sweep > 180)
        self._elements.append(
            f'<path class="{style}" d="M{x1} {y1}A{radius} {radius} 0 {large} 0 {x2} {y2}"/>'
        )

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        points = " ".join(",".join(self._at(corner)) for corner in corners)
        self._elements.append(f'<polygon class="{style}" points="{points}"/>')

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        x, y = self._at(at)
        size = _number(height_mm / CAPITAL_OVER_SIZE)
        turn = f' transform="rotate({_number(-turn_deg)} {x} {y})"' if turn_deg else ""
        self._elements.append(
            f'<text x="{x}" y="{y}" font-size="{size}" text-anchor="{_ANCHORS[anchor]}"{turn}>'
            f"{escape(printable(words))}</text>"
        )

    def spot(self, centre: Place, radius_mm: float) -> None:
        x, y = self._at(centre)
        self._elements.append(f'<circle class="spot" cx="{x}" cy="{y}" r="{_number(radius_mm)}"/>')

    def tint(self, low: Place, high: Place, dots: Dots) -> None:
        (x, bottom), (right, y) = self._at(low), self._at(high)
        wide, tall = _number(float(right) - float(x)), _number(float(bottom) - float(y))
        self._elements.append(
            f'<image x="{x}" y="{y}" width="{wide}" height="{tall}" preserveAspectRatio="none" '
            f'href="{dots.address()}"/>'
        )

    def cover(self, corners: Sequence[Place]) -> None:
        self._area("cover", corners)

    def fill(self, corners: Sequence[Place]) -> None:
        self._area("spot", corners)

    def _area(self, kind: str, corners: Sequence[Place]) -> None:
        points = " ".join(",".join(self._at(corner)) for corner in corners)
        self._elements.append(f'<polygon class="{kind}" points="{points}"/>')

    def curve(self, places: Sequence[Place], style: Style) -> None:
        first, *rest = (" ".join(self._at(place)) for place in places)
        self._elements.append(f'<path class="{style}" d="M{first}C{" ".join(rest)}"/>')

    def lettering(
        self, at: Place, words: str, height_mm: float, right: Place, up: Place, anchor: Anchor
    ) -> None:
        size = _number(height_mm / CAPITAL_OVER_SIZE)
        turn = " ".join(map(_number, (right[0], -right[1], -up[0], up[1])))
        x, y = self._at(at)
        self._elements.append(
            f'<text transform="matrix({turn} {x} {y})" font-size="{size}" '
            f'text-anchor="{_ANCHORS[anchor]}">{escape(printable(words))}</text>'
        )

    def figure(self) -> str:
        """What is drawn, to stand in a page that says how its lines look."""
        width, height = _number(self.width_mm), _number(self.height_mm)
        return "\n".join(
            [
                f'<svg class="picture" role="img" aria-label="{escape(printable(self.title))}" '
                f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">',
                *self._elements,
                "</svg>",
            ]
        )

    def document(self) -> str:
        """The whole file, with the blank mark of `outfile` in a comment."""
        width, height = _number(self.width_mm), _number(self.height_mm)
        return "\n".join(
            [
                '<?xml version="1.0" encoding="UTF-8"?>',
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
                f'viewBox="0 0 {width} {height}">',
                f"<!-- {BLANK_MARK} -->",
                *([f"<title>{escape(printable(self.title))}</title>"] if self.title else []),
                f"<style>{_style_sheet()}</style>",
                '<rect width="100%" height="100%" fill="#fff"/>',
                *self._elements,
                "</svg>",
                "",
            ]
        )


def _dashes_of(length_mm: float, style: Style) -> str:
    """Dashes that end with a whole one, where the line is so short that it shows."""
    dashes = STYLES[style].dashes_mm
    stretch = stretch_of(length_mm, dashes)
    if not stretch or length_mm > _FEW_DASHES * sum(dashes):
        return ""
    fitted = ",".join(_number(stretch * dash) for dash in dashes)
    return f' style="stroke-dasharray:{fitted}"'


def _style_sheet() -> str:
    rules = [f"text{{font-family:{_TYPEFACE};fill:#000}}.spot{{fill:#000}}.cover{{fill:#fff}}"]
    for name, stroke in STYLES.items():
        dashes = ",".join(_number(dash) for dash in stroke.dashes_mm)
        rule = "fill:none;stroke:#000000;"
        rule += f"stroke-width:{_number(stroke.width_mm)}"
        rules.append(f".{name}{{{rule}{';stroke-dasharray:' + dashes if dashes else ''}}}")
    return "".join(rules)
