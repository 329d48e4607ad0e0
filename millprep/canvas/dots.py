"""A shaded picture in dots, as a pen takes it into a drawing. Imports layer 0 only; Pillow late."""

from __future__ import annotations

import base64
import io
from typing import TYPE_CHECKING

from millprep.base.records import frozen

if TYPE_CHECKING:
    from PIL import Image


@frozen
class Dots:
    """Rows of dots from the top down; pairs : (grey, how much it covers) of each, 0 to 255."""

    across: int
    down: int
    pairs: bytes

    def image(self) -> Image.Image:
        from PIL import Image

        return Image.frombytes("LA", (self.across, self.down), self.pairs)

    def address(self) -> str:
        """The picture as a PNG within the address itself (RFC 2397)."""
        stream = io.BytesIO()
        self.image().save(stream, "png")
        return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode()
