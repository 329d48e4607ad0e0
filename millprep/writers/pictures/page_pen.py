"""The SVG pen for a page that forbids styles inside it: classes alone, and groups with data.

Imports canvas.
"""

from __future__ import annotations

from html import escape

from millprep.canvas.lettering import printable
from millprep.canvas.pen import Place, Style
from millprep.canvas.svg import SvgPen


class PagePen(SvgPen):
    """As its parent, without dashes that are fitted to their line."""

    def line(self, start: Place, end: Place, style: Style) -> None:
        self.curve([start, start, end, end], style)

    def begin(self, kind: str, **data: object) -> None:
        """A group of that class, until `end`."""
        said = "".join(
            f' data-{name}="{escape(printable(str(value)))}"' for name, value in data.items()
        )
        self._elements.append(f'<g class="{kind}"{said}>')

    def end(self) -> None:
        self._elements.append("</g>")
