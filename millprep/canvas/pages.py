"""Pages of A4 for words and tables, in the standard typeface that every reader has.

Places are millimetres from the top left corner of the page; words stand on their base line. Uses
fpdf2.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from fpdf import FPDF

from millprep.base.marks import ROOMY_MARK
from millprep.base.records import frozen
from millprep.canvas.lettering import in_letters
from millprep.canvas.pdf import ENCODING, NO_TIME, OnPage
from millprep.canvas.pen import FINE

WIDTH_MM, HEIGHT_MM = 210.0, 297.0
_RULE_MM, _FAINT_MM = 0.35, 0.15
_FAINT_GREY = 170


@frozen
class Lettering:
    """How words are set: size of the typeface [pt], bold or not."""

    size_pt: float
    is_bold: bool = False


class Pages:
    """Pages one after another; `document` gives the file's bytes."""

    def __init__(self, title: str = "") -> None:
        self._file = FPDF(orientation="portrait", unit="mm", format=(WIDTH_MM, HEIGHT_MM))
        self._file.core_fonts_encoding = ENCODING
        self._file.set_auto_page_break(False)
        self._file.set_creation_date(NO_TIME)
        self._file.set_title(in_letters(title, ENCODING))
        self._file.set_subject(ROOMY_MARK)
        self._file.set_producer("millprep")
        self._widths_mm: dict[tuple[str, Lettering], float] = {}  # names and heads come again

    def _set(self, lettering: Lettering) -> None:
        self._file.set_font("helvetica", "B" if lettering.is_bold else "", lettering.size_pt)

    def width_mm(self, words: str, lettering: Lettering) -> float:
        """How long the words come out [mm]."""
        known = self._widths_mm.get((words, lettering))
        if known is None:
            self._set(lettering)
            known = float(self._file.get_string_width(in_letters(words, ENCODING)))
            self._widths_mm[words, lettering] = known
        return known

    def add(self) -> None:
        """A fresh page, on which everything is drawn from now on."""
        self._file.add_page()

    def words(
        self, x_mm: float, y_mm: float, words: str, lettering: Lettering, *, ends: bool = False
    ) -> None:
        """Words that begin at x, or end there."""
        left = x_mm - (self.width_mm(words, lettering) if ends else 0.0)
        self._set(lettering)
        self._file.text(left, y_mm, in_letters(words, ENCODING))

    def rule(self, y_mm: float, start_mm: float, end_mm: float, *, is_faint: bool = False) -> None:
        """A line across."""
        self._file.set_line_width(_FAINT_MM if is_faint else _RULE_MM)
        self._file.set_draw_color(_FAINT_GREY if is_faint else 0)
        self._file.line(start_mm, y_mm, end_mm, y_mm)

    def upright(self, x_mm: float, start_mm: float, end_mm: float) -> None:
        """A faint line down the page."""
        self._file.set_line_width(_FAINT_MM)
        self._file.set_draw_color(_FAINT_GREY)
        self._file.line(x_mm, start_mm, x_mm, end_mm)

    def box(self, x_mm: float, y_mm: float, side_mm: float) -> None:
        """A box to tick that stands on the base line."""
        self._file.set_line_width(_RULE_MM)
        self._file.set_draw_color(0)
        self._file.rect(x_mm, y_mm - side_mm, side_mm, side_mm)

    @contextmanager
    def picture(self) -> Iterator[OnPage]:
        """What draws a picture on the page, from its lower left corner; marked where it begins
        and ends."""
        self._file._out("/Picture BMC")
        with self._file.local_context():
            yield OnPage(self._file, HEIGHT_MM, FINE)
        self._file._out("EMC")

    def document(self) -> bytes:
        """The whole file, with the blank mark of `outfile` as its subject."""
        return bytes(self._file.output())
