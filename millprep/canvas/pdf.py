"""The PDF pen: pages at true size, in the standard typeface that every reader has.

That typeface has the letters of western Europe; others lose their accents or become "?".
Uses fpdf2.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from itertools import accumulate, pairwise

from fpdf import FPDF

from millprep.base.marks import ROOMY_MARK
from millprep.canvas.dashes import dashed, dashed_arc
from millprep.canvas.dots import Dots
from millprep.canvas.lettering import CAPITAL_OVER_SIZE, in_letters
from millprep.canvas.pen import STYLES, Anchor, Place, Stroke, Style, along_curve, sweep_deg

POINTS_PER_MM = 72 / 25.4
ENCODING = "cp1252"
NO_TIME = datetime(2000, 1, 1, tzinfo=UTC)
"""A page must not differ from one run to the next, so it carries no time of its own."""


class OnPage:
    """Draws on a page of a file of fpdf2, its height and the styles of its lines given."""

    def __init__(self, page: FPDF, height_mm: float, styles: Mapping[Style, Stroke]) -> None:
        self.height_mm, self._page, self._styles = height_mm, page, styles

    def _at(self, place: Place) -> Place:
        return place[0], self.height_mm - place[1]

    def _take(self, style: Style) -> tuple[float, ...]:
        """Set width and black; gives the dashes."""
        stroke = self._styles[style]
        self._page.set_line_width(stroke.width_mm)
        self._page.set_draw_color(0)
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
        if self._styles[style].dashes_mm:
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
        if not turn_deg:
            self._page.text(left, y, plain)
            return
        with self._page.rotation(turn_deg, x, y):
            self._page.text(left, y, plain)

    def spot(self, centre: Place, radius_mm: float) -> None:
        x, y = self._at(centre)
        self._page.set_fill_color(0)
        self._page.circle(x, y, radius_mm, style="F")

    def tint(self, low: Place, high: Place, dots: Dots) -> None:
        (left, bottom), (right, top) = self._at(low), self._at(high)
        self._page.image(dots.image(), left, top, right - left, bottom - top)

    def cover(self, corners: Sequence[Place]) -> None:
        self._area(corners, 255)

    def fill(self, corners: Sequence[Place]) -> None:
        self._area(corners, 0)

    def _area(self, corners: Sequence[Place], grey: int) -> None:
        self._page.set_fill_color(grey)
        self._page.polygon([self._at(corner) for corner in corners], style="F")

    def curve(self, places: Sequence[Place], style: Style) -> None:
        if self._take(style):  # as dashes from place to place along it
            corners = along_curve(places)
            reach = [0.0, *accumulate(math.dist(a, b) for a, b in pairwise(corners))]
            for begin, stop in dashed(reach[-1], self._take(style), is_ring=True):
                inner = [c for c, at in zip(corners, reach, strict=True) if begin < at < stop]
                ends = (_so_far(corners, reach, begin), *inner, _so_far(corners, reach, stop))
                for start, end in pairwise(ends):
                    self._page.line(*self._at(start), *self._at(end))
            return
        first, *rest = ((x * POINTS_PER_MM, y * POINTS_PER_MM) for x, y in places)
        self._page._out(f"{first[0]:.2f} {first[1]:.2f} m")
        for piece in range(0, len(rest), 3):
            numbers = " ".join(f"{x:.2f} {y:.2f}" for x, y in rest[piece : piece + 3])
            self._page._out(f"{numbers} c")
        self._page._out("S")

    def lettering(
        self, at: Place, words: str, height_mm: float, right: Place, up: Place, anchor: Anchor
    ) -> None:
        turn = " ".join(f"{one:.4f}" for one in (*right, *up))
        x, y = (one * POINTS_PER_MM for one in at)
        with self._page.local_context():
            self._page._out(f"{turn} {x:.2f} {y:.2f} cm")
            self.text((0.0, 0.0), words, height_mm, anchor)


class PdfPen(OnPage):
    """Draws on a page of that size [mm]; `document` gives the file's bytes."""

    def __init__(self, width_mm: float, height_mm: float, title: str = "") -> None:
        page = FPDF(orientation="portrait", unit="mm", format=(width_mm, height_mm))
        super().__init__(page, height_mm, STYLES)
        page.core_fonts_encoding = ENCODING
        page.set_auto_page_break(False)
        page.set_creation_date(NO_TIME)
        page.set_title(in_letters(title, ENCODING))
        page.set_subject(ROOMY_MARK)
        page.set_producer("millprep")
        self.turn_over()

    def turn_over(self) -> None:
        """A fresh page, on which everything is drawn from now on."""
        self._page.add_page()
        # lines end where they end: the library's way adds half their width, and a bar would be long
        self._page._out("0 J")

    def document(self) -> bytes:
        """The whole file, with the blank mark of `outfile` as its subject."""
        return bytes(self._page.output())


def _so_far(corners: Sequence[Place], reach: Sequence[float], at: float) -> Place:
    """The place so far along a line through corners; reach : of each."""
    index = min(bisect_right(reach, at), len(reach) - 1)
    (x0, y0), (x1, y1) = corners[index - 1], corners[index]
    share = (at - reach[index - 1]) / ((reach[index] - reach[index - 1]) or 1.0)
    return x0 + share * (x1 - x0), y0 + share * (y1 - y0)
