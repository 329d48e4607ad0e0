"""The PDF pen: pages at true size, in the standard typeface that every reader has.

That typeface has the letters of western Europe; others lose their accents or become "?".
Uses fpdf2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime

from fpdf import FPDF

from millprep.base.outfile import ROOMY_MARK
from millprep.canvas.dashes import dashed, dashed_arc
from millprep.canvas.lettering import CAPITAL_OVER_SIZE, in_letters
from millprep.canvas.pen import STYLES, Anchor, Place, Style, sweep_deg

POINTS_PER_MM = 72 / 25.4
ENCODING = "cp1252"
NO_TIME = datetime(2000, 1, 1, tzinfo=UTC)
"""A page must not differ from one run to the next, so it carries no time of its own."""


class PdfPen:
    """Draws on pages of that size [mm], one after another; `document` gives the file's bytes."""

    def __init__(self, width_mm: float, height_mm: float, title: str = "") -> None:
        self.height_mm = height_mm
        self._page = FPDF(orientation="portrait", unit="mm", format=(width_mm, height_mm))
        self._page.core_fonts_encoding = ENCODING
        self._page.set_auto_page_break(False)
        self._page.set_creation_date(NO_TIME)
        self._page.set_title(in_letters(title, ENCODING))
        self._page.set_subject(ROOMY_MARK)
        self._page.set_producer("millprep")
        self.turn_over()

    def turn_over(self) -> None:
        """A fresh page, on which everything is drawn from now on."""
        self._page.add_page()
        # lines end where they end: the library's way adds half their width, and a bar would be long
        self._page._out("0 J")

    def _at(self, place: Place) -> Place:
        return place[0], self.height_mm - place[1]

    def _take(self, style: Style) -> tuple[float, ...]:
        """Set width and colour; gives the dashes."""
        stroke = STYLES[style]
        self._page.set_line_width(stroke.width_mm)
        self._page.set_draw_color(round(255 * stroke.grey))
        return stroke.dashes_mm

    def line(self, start: Place, end: Place, style: Style) -> None:
        (x1, y1), (x2, y2) = self._at(start), self._at(end)
        length = math.dist((x1, y1), (x2, y2))
        for begin, stop in dashed(length, self._take(style)):
            a, b = (begin / length, stop / length) if length else (0.0, 0.0)
            self._page.line(
                x1 + a * (x2 - x1), y1 + a * (y2 - y1), x1 + b * (x2 - x1), y1 + b * (y2 - y1)
            )

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        x, y = self._at(centre)
        sweep = sweep_deg(start_deg, end_deg)
        for begin, stop in dashed_arc(radius_mm, start_deg, sweep, self._take(style)):
            if stop - begin >= 360:
                self._page.circle(x, y, radius_mm)
            else:  # the library counts angles clockwise, down the page
                self._page.arc(x - radius_mm, y - radius_mm, 2 * radius_mm, -stop, -begin)

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        if STYLES[style].dashes_mm:
            for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
                self.line(start, end, style)
            return
        self._take(style)
        self._page.polygon([self._at(corner) for corner in corners])

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        plain = in_letters(words, ENCODING)
        x, y = self._at(at)
        self._page.set_font("helvetica", size=height_mm / CAPITAL_OVER_SIZE * POINTS_PER_MM)
        length = self._page.get_string_width(plain)
        left = x - length * {"left": 0.0, "middle": 0.5, "right": 1.0}[anchor]
        with self._page.rotation(turn_deg, x, y):
            self._page.text(left, y, plain)

    def spot(self, centre: Place, radius_mm: float) -> None:
        x, y = self._at(centre)
        self._page.set_fill_color(0)
        self._page.circle(x, y, radius_mm, style="F")

    def document(self) -> bytes:
        """The whole file, with the blank mark of `outfile` as its subject."""
        return bytes(self._page.output())
