"""The DXF pen: model space in millimetres, a layer for each kind of line and one for words.

Where the other pens draw on paper, this one keeps a zero of its own, so that circles stand at the
coordinates of the sheet. DXF of version AC1024; uses ezdxf.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from ezdxf import units
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new

from millprep.base.marks import BLANK_MARK
from millprep.base.units import DIAMETER
from millprep.canvas.dashes import stretch_of
from millprep.canvas.lettering import printable
from millprep.canvas.pen import STYLES, Anchor, Place, Style, sweep_deg

TEXT_LAYER = "text"
_ALIGNMENTS: dict[Anchor, TextEntityAlignment] = {
    "left": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "right": TextEntityAlignment.RIGHT,
}
_DIAMETER_CODE = "%%c"  # every reader of the format draws the sign for it, in any typeface
_DECIMALS = 9
_BLACK = 7  # of the format's own index: black on white, white on black


class DxfPen:
    """Draws with `zero` of the paper [mm] at the model's origin; `document` gives the file."""

    def __init__(self, zero: Place = (0.0, 0.0)) -> None:
        self._zero = zero
        self._drawing = _fresh()
        self._space = self._drawing.modelspace()

    def _at(self, place: Place) -> Place:
        """In the model; the last bits of the sum are not worth their room."""
        return (
            round(place[0] - self._zero[0], _DECIMALS),
            round(place[1] - self._zero[1], _DECIMALS),
        )

    def line(self, start: Place, end: Place, style: Style) -> None:
        attributes: dict[str, object] = {"layer": style}
        dashes = STYLES[style].dashes_mm
        stretch = stretch_of(math.dist(start, end), dashes)
        if 0 < stretch < 1:  # shorter than its pattern
            attributes["ltscale"] = round(stretch, 3)
        self._space.add_line(self._at(start), self._at(end), attributes)

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        if sweep_deg(start_deg, end_deg) >= 360:
            self._space.add_circle(self._at(centre), radius_mm, {"layer": style})
            return
        self._space.add_arc(
            self._at(centre), radius_mm, start_deg, end_deg, dxfattribs={"layer": style}
        )

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        self._space.add_lwpolyline(
            [self._at(corner) for corner in corners], close=True, dxfattribs={"layer": style}
        )

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        text = self._space.add_text(
            printable(words).replace(DIAMETER, _DIAMETER_CODE),
            height=height_mm,
            rotation=turn_deg,
            dxfattribs={"layer": TEXT_LAYER},
        )
        text.set_placement(self._at(at), align=_ALIGNMENTS[anchor])

    def spot(self, centre: Place, radius_mm: float) -> None:
        """A filled dot, as a short thick line of two half rounds: solid in every reader."""
        x, y = self._at(centre)
        half = radius_mm / 2
        self._space.add_lwpolyline(
            [(x - half, y, radius_mm, radius_mm, 1), (x + half, y, radius_mm, radius_mm, 1)],
            format="xyseb",
            close=True,
            dxfattribs={"layer": "mark"},
        )

    def document(self) -> str:
        """The whole file, with the blank mark of `outfile` as a comment."""
        stream = io.StringIO()
        with _timeless():
            self._drawing.write(stream)
        return f"999\n{BLANK_MARK}\n{stream.getvalue()}"


@contextmanager
def _timeless() -> Iterator[None]:
    """Without the time of day and the number by chance that would make no two runs alike."""
    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = kept


def _fresh() -> Drawing:
    """An empty drawing in millimetres with its layers and line types."""
    with _timeless():
        drawing = new("R2010", units=units.MM)
    for name, stroke in STYLES.items():
        layer = drawing.layers.add(name, color=_BLACK, lineweight=round(100 * stroke.width_mm))
        if stroke.dashes_mm:
            signed = [d if i % 2 == 0 else -d for i, d in enumerate(stroke.dashes_mm)]
            drawing.linetypes.add(name.upper(), [sum(stroke.dashes_mm), *signed])
            layer.dxf.linetype = name.upper()
    drawing.layers.add(TEXT_LAYER, color=_BLACK)
    return drawing
