"""The sign of a projection. Imports pen."""

from __future__ import annotations

from millprep.canvas.pen import Pen, Place, circle

SIGN_MM = (11.2, 5.2)  # across and up, its centre lines too


def draw_sign(pen: Pen, middle: Place, is_first: bool) -> None:
    """The sign of ISO 5456-2 (from memory): a cone, narrow end left, and that end looked at.

    Seen from the left it stands at the right in first angle, at the left in third.
    """
    x, y = middle
    aside = 3.0 if is_first else -3.0
    cone, end = x - aside, x + aside
    wide, narrow = 2.0, 1.0
    corners = [(-wide, -narrow), (wide, -wide), (wide, wide), (-wide, narrow)]
    pen.outline([(cone + across, y + up) for across, up in corners], "thin")
    for radius in (wide, narrow):
        circle(pen, (end, y), radius, "thin")
    pen.line((x - 5.6, y), (x + 5.6, y), "centre")
    pen.line((end, y - 2.6), (end, y + 2.6), "centre")
