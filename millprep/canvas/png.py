"""The PNG pen: the page as dots, drawn larger and then reduced so that edges come out smooth.

The typeface that comes with Pillow has unaccented Latin letters only; others become "?".
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from functools import cache
from itertools import pairwise

from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo

from millprep.base.bounds import MOST_DOTS
from millprep.base.marks import ROOMY_MARK
from millprep.base.units import DIAMETER
from millprep.canvas.dashes import dashed, dashed_arc
from millprep.canvas.dots import Dots
from millprep.canvas.lettering import in_letters
from millprep.canvas.pen import STYLES, Anchor, Place, Style, along_curve, sweep_deg

DOTS_PER_INCH = 200
ENCODING = "ascii"
_LARGEST_FACTOR = 4
_CURVE_STEPS = 12  # lines to each Bezier curve


class PngPen:
    """Draws on a page of that size [mm] at 200 dots per inch; `document` gives the file's bytes."""

    def __init__(self, width_mm: float, height_mm: float, title: str = "") -> None:
        self.title = title
        self.height_mm = height_mm
        across, up = (round(side / 25.4 * DOTS_PER_INCH) for side in (width_mm, height_mm))
        self._factor = max(1, min(_LARGEST_FACTOR, math.isqrt(MOST_DOTS // (across * up))))
        self._dots_per_mm = DOTS_PER_INCH / 25.4 * self._factor
        self._picture = Image.new("L", (across * self._factor, up * self._factor), 255)
        self._draw = ImageDraw.Draw(self._picture)

    def _at(self, place: Place) -> Place:
        return place[0] * self._dots_per_mm, (self.height_mm - place[1]) * self._dots_per_mm

    def _wide(self, style: Style) -> int:
        """Width in dots."""
        return max(1, round(STYLES[style].width_mm * self._dots_per_mm))

    def line(self, start: Place, end: Place, style: Style) -> None:
        width = self._wide(style)
        (x1, y1), (x2, y2) = start, end
        length = math.dist(start, end)
        for begin, stop in dashed(length, STYLES[style].dashes_mm):
            a, b = (begin / length, stop / length) if length else (0.0, 0.0)
            ends = [self._at((x1 + t * (x2 - x1), y1 + t * (y2 - y1))) for t in (a, b)]
            self._draw.line(ends, fill=0, width=width)

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        width = self._wide(style)
        sweep = sweep_deg(start_deg, end_deg)
        box = self._box(centre, radius_mm * self._dots_per_mm + width / 2)
        for begin, stop in dashed_arc(radius_mm, start_deg, sweep, STYLES[style].dashes_mm):
            if stop - begin >= 360:
                self._draw.ellipse(box, outline=0, width=width)
            else:  # the library counts angles clockwise, down the page
                self._draw.arc(box, -stop, -begin, fill=0, width=width)

    def _box(self, centre: Place, radius_dots: float) -> tuple[float, float, float, float]:
        x, y = self._at(centre)
        return x - radius_dots, y - radius_dots, x + radius_dots, y + radius_dots

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        """Lines, and a dot at each corner that closes the notch between two."""
        width = self._wide(style)
        for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
            self.line(start, end, style)
            self._draw.ellipse(self._box(start, width / 2), fill=0)

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        pieces = [in_letters(piece, ENCODING) for piece in words.split(DIAMETER)]
        plain = "O".join(pieces)
        face = _typeface(round(height_mm * self._dots_per_mm * 100))
        length = math.ceil(face.getlength(plain))
        tall = math.ceil(2 * height_mm * self._dots_per_mm)
        # a patch with the words' base line in its middle turns about the place that they stand at
        patch = Image.new("L", (2 * length + 4, 2 * tall), 0)
        shift = {"left": 0.0, "middle": -length / 2, "right": -length}[anchor]
        ink, begin = ImageDraw.Draw(patch), length + 2 + shift
        ink.text((begin, tall), plain, fill=255, font=face, anchor="ls")
        for count in range(1, len(pieces)):  # the typeface lacks the sign: a letter struck through
            after = begin + face.getlength("O".join(pieces[:count]))
            across = face.getlength("O")
            high = height_mm * self._dots_per_mm
            ends = (after, tall + high * 0.1, after + across, tall - high * 1.1)
            ink.line(ends, fill=255, width=max(1, round(high * 0.11)))
        if turn_deg:
            patch = patch.rotate(turn_deg, Image.Resampling.BICUBIC, expand=True)
        x, y = self._at(at)
        corner = round(x - patch.width / 2), round(y - patch.height / 2)
        self._picture.paste(0, (*corner, corner[0] + patch.width, corner[1] + patch.height), patch)

    def spot(self, centre: Place, radius_mm: float) -> None:
        self._draw.ellipse(self._box(centre, radius_mm * self._dots_per_mm), fill=0)

    def cover(self, corners: Sequence[Place]) -> None:
        self._draw.polygon([self._at(corner) for corner in corners], fill=255)

    def fill(self, corners: Sequence[Place]) -> None:
        self._draw.polygon([self._at(corner) for corner in corners], fill=0)

    def curve(self, places: Sequence[Place], style: Style) -> None:
        for start, end in pairwise(along_curve(places, _CURVE_STEPS)):
            self.line(start, end, style)

    def lettering(
        self, at: Place, words: str, height_mm: float, right: Place, up: Place, anchor: Anchor
    ) -> None:
        """Level along the way to the right; the typeface is not slanted."""
        self.text(at, words, height_mm, anchor, math.degrees(math.atan2(right[1], right[0])))

    def tint(self, low: Place, high: Place, dots: Dots) -> None:
        (left, bottom), (right, top) = self._at(low), self._at(high)
        size = max(1, round(right) - round(left)), max(1, round(bottom) - round(top))
        patch = dots.image().resize(size, Image.Resampling.BOX)
        self._picture.paste(patch.getchannel("L"), (round(left), round(top)), patch.getchannel("A"))

    def document(self) -> bytes:
        """The whole file, with the blank mark of `outfile` as its comment."""
        about = PngInfo()
        about.add_text("Comment", ROOMY_MARK)
        if self.title:
            about.add_itxt("Title", self.title)
        stream = io.BytesIO()
        page = self._picture.reduce(self._factor) if self._factor > 1 else self._picture
        page.save(stream, "png", dpi=(DOTS_PER_INCH, DOTS_PER_INCH), pnginfo=about)
        return stream.getvalue()


@cache
def _typeface(capital_hundredths: int) -> ImageFont.FreeTypeFont:
    """The typeface in the size whose capitals are that high, in hundredths of a dot."""
    sample = _sized(1000.0)
    _, top, _, bottom = sample.getbbox("H", anchor="ls")
    return _sized(capital_hundredths / 100 * 1000 / (bottom - top))


def _sized(size: float) -> ImageFont.FreeTypeFont:
    face = ImageFont.load_default(size)
    assert isinstance(face, ImageFont.FreeTypeFont)  # Pillow is built with FreeType wherever it is
    return face
