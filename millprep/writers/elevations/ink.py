"""Pieces of SVG text: numbers, paths, groups. The page's y goes down. Imports canvas."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape

from millprep.canvas.lettering import CAPITAL_OVER_SIZE, printable
from millprep.canvas.pen import Place, on_circle

TEXT_MM = 2.5
"""Height of a capital."""
FONT_SIZE = round(TEXT_MM / CAPITAL_OVER_SIZE, 2)


def number(value: float) -> str:
    """To a hundredth, as short as it goes."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def attribute(value: object) -> str:
    """Safe between double quotes."""
    return escape(printable(str(value)))


def group(kind: str, inside: Iterable[str], **data: object) -> str:
    """A group of that class with data of its own; an underscore in a name is a hyphen."""
    said = "".join(
        f' data-{name.replace("_", "-")}="{attribute(value)}"'
        for name, value in data.items()
        if value is not None
    )
    return f'<g class="{kind}"{said}>{"".join(inside)}</g>'


def path(kind: str, steps: str) -> str:
    return f'<path class="{kind}" d="{steps}"/>'


def line(kind: str, start: Place, end: Place) -> str:
    return path(kind, f"M{_pair(start)}L{_pair(end)}")


def text(at: Place, words: str, turn_deg: float = 0.0, kind: str = "") -> str:
    """Words whose base line has its middle there."""
    x, y = number(at[0]), number(at[1])
    turn = f' transform="rotate({number(turn_deg)} {x} {y})"' if turn_deg else ""
    named = f' class="{kind}"' if kind else ""
    return f'<text{named} x="{x}" y="{y}"{turn}>{escape(printable(words))}</text>'


def circle(kind: str, centre: Place, radius: float) -> str:
    x, y = centre
    return f'<circle class="{kind}" cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"/>'


def area(kind: str, corners: Sequence[Place]) -> str:
    first, *rest = corners
    return path(kind, f"M{_pair(first)}L{' '.join(map(_pair, rest))}Z")


def _pair(place: Place) -> str:
    return f"{number(place[0])} {number(place[1])}"


class Steps:
    """The steps of a path from a centre, which comes to lie elsewhere for every hole."""

    def __init__(self) -> None:
        self._steps: list[str] = []
        self._at: Place = (0.0, 0.0)

    def _move(self, to: Place) -> None:
        across, up = to[0] - self._at[0], to[1] - self._at[1]
        self._steps.append(f"m{number(across)} {number(up)}")
        self._at = to

    def line(self, start: Place, end: Place) -> None:
        self._move(start)
        self._steps.append(f"l{number(end[0] - start[0])} {number(end[1] - start[1])}")
        self._at = end

    def ring(self, radius: float) -> None:
        self._move((radius, 0.0))
        r, wide = number(radius), number(2 * radius)
        self._steps.append(f"a{r} {r} 0 1 0-{wide} 0a{r} {r} 0 1 0 {wide} 0")

    def open_ring(self, radius: float) -> None:
        """Three quarters, open at the upper right (ISO 6410-1)."""
        (x1, up1), (x2, up2) = (on_circle((0.0, 0.0), radius, turn) for turn in (95.0, 355.0))
        self._move((x1, -up1))
        r = number(radius)
        self._steps.append(f"a{r} {r} 0 1 0 {number(x2 - x1)} {number(up1 - up2)}")
        self._at = (x2, -up2)

    def from_centre(self, centre: Place) -> str:
        return f"M{_pair(centre)}{''.join(self._steps)}"


def figure(
    label: str,
    box: tuple[float, float, float, float],
    inside: Iterable[str],
    data: Mapping[str, object],
) -> str:
    """The whole piece: `box` is its low x, low y, width and height [user units, mm of paper]."""
    x, y, wide, high = map(number, box)
    said = "".join(f' data-{name}="{attribute(value)}"' for name, value in data.items())
    return (
        f'<svg class="elevation" role="group" aria-label="{attribute(label)}" '
        f'width="{wide}mm" height="{high}mm" viewBox="{x} {y} {wide} {high}" '
        f'font-size="{FONT_SIZE}" text-anchor="middle"{said}>{"".join(inside)}</svg>'
    )
