"""Figures of the pattern keys for docs/part-file.md: where millprep puts the holes. No tests here.

Each figure shows the holes that the package makes of the lines of a part file that stand below it
on the page; what is drawn beside them explains the key, and is worked out from the same lines.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from jobs import part_of
from sketching import WORDS_MM, arrow, between, distance, label

from millprep.canvas.pen import Pen, Place, circle, on_circle
from millprep.canvas.svg import SvgPen

SIZE_MM = (60.0, 40.0)
SCALE = 0.75
LEFT_MM, FRONT_MM = 10.0, 7.0  # where the corner of the part is on the paper
PAPER_MM = (62.0, 41.0)
HOLE_MM = 1.7
Lines = Mapping[str, Any]
Draw = Callable[[Pen, Lines, list[Place]], None]

PIVOT = 'name = "pivot"\nream = 6\ndepth = "through"\nat = [24, 18]\n'
LINES = {
    "at": "at = [[10, 12], { right = 15, back = 10 }]",
    "circle": "circle = { centre = [30, 20], diameter = 26, count = 6, start = 30 }",
    "arc": "arc = { centre = [30, 8], radius = 24, count = 4, start = 20, end = 125 }",
    "row": "row = { start = [8, 8], step = [11, 6], count = 5 }",
    "grid": "grid = { start = [10, 10], step = [13, 10], columns = 4, rows = 3 }",
    "corners": "corners = { inset = [14, 10] }",
    "chain": "chain = [[10, 10], [18, 0], [0, 20], [22, -6]]",
    "polar": 'from = "pivot"\npolar = { radius = 22, angle = 30 }',
    "skip": "row = { start = [10, 20], step = [10, 0], count = 5 }\nskip = [2]",
}
"""What stands in the part file under each figure."""


def on_paper(place: Place) -> Place:
    """A place on the face, on the sheet [mm]."""
    return LEFT_MM + SCALE * place[0], FRONT_MM + SCALE * place[1]


def places_of(name: str) -> dict[str, Place]:
    """Number on the sheet and centre on the face [mm] of every hole that the lines make."""
    holes = f"[[hole]]\n{PIVOT}" if name == "polar" else ""
    part = part_of(
        f'{holes}[[hole]]\nname = "hole"\ndrill = 3\ndepth = "through"\n{LINES[name]}\n',
        f"size = [{SIZE_MM[0]}, {SIZE_MM[1]}, 10]",
    )
    return {
        hole.name.removeprefix("hole ").replace("hole", ""): hole.centre_mm[:2]
        for hole in part.holes
    }


def figure_of(name: str) -> SvgPen:
    """The face with its holes, and what the lines say of them."""
    pen = SvgPen(*PAPER_MM, f"The places of {LINES[name].splitlines()[-1]}")
    width, depth = (SCALE * size for size in SIZE_MM)
    x, y = on_paper((0, 0))
    pen.outline([(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)], "edge")
    circle(pen, (x, y), 1.0, "thin")
    label(pen, (x + width - 8, y - 3.2), "FRONT")
    label(pen, (x - 1.5, y + depth - 5), "LEFT", turn_deg=90)
    places = places_of(name)
    for number, place in places.items():
        is_pivot = number == "pivot"
        circle(pen, on_paper(place), 2.25 if is_pivot else HOLE_MM, "thin" if is_pivot else "edge")
    asked = tomllib.loads(LINES[name])
    of_pattern = [place for number, place in places.items() if number != "pivot"]
    _EXPLAINED[name](pen, asked, of_pattern)
    for number, place in places.items():
        label(pen, _beside(name, asked, number, on_paper(place)), number, anchor="middle")
    return pen


def _beside(name: str, asked: Lines, number: str, at: Place) -> Place:
    """Where the number of a hole is clear of what is drawn at it."""
    if name in ("circle", "arc"):
        middle = on_paper(asked[name]["centre"])
        turn = math.atan2(at[1] - middle[1], at[0] - middle[0])
        return at[0] + 3.2 * math.cos(turn), at[1] + 3.2 * math.sin(turn) - WORDS_MM / 2
    is_low = number == "pivot" or (name in ("at", "corners") and number in ("2", "3"))
    aside = 4.5 if number == "pivot" else -2.6 if is_low else 2.9
    return at[0] + aside, at[1] + (-3.4 if is_low else 1.3)


def _from_datum(pen: Pen, place: Place) -> None:
    """The two distances of a place from LEFT and FRONT."""
    distance(pen, on_paper((0, place[1])), on_paper(place), f"{place[0]:g}")
    distance(pen, on_paper((place[0], 0)), on_paper(place), f"{place[1]:g}")


def _at(pen: Pen, lines: Lines, places: list[Place]) -> None:
    _from_datum(pen, places[0])
    named, second = lines["at"][1], places[1]
    distance(pen, on_paper(second), on_paper((SIZE_MM[0], second[1])), f"{named['right']:g}")
    distance(pen, on_paper(second), on_paper((second[0], SIZE_MM[1])), f"{named['back']:g}")


def _round(pen: Pen, centre: Place, radius: float, angle_deg: float, words: str) -> None:
    """A centre, a radius and an angle from the right, anticlockwise."""
    middle, far = on_paper(centre), SCALE * radius
    pen.line((middle[0] - 2, middle[1]), (middle[0] + far + 3, middle[1]), "centre")
    pen.line((middle[0], middle[1] - 2), (middle[0], middle[1] + 2), "centre")
    rim = on_circle(middle, far, angle_deg)
    pen.line(middle, rim, "thin")
    pen.arc(middle, 0.6 * far, 0, angle_deg, "thin")
    way = math.radians(angle_deg + 90)
    tip = on_circle(middle, 0.6 * far, angle_deg)
    arrow(pen, (tip[0] - math.cos(way) / 50, tip[1] - math.sin(way) / 50), tip)
    label(pen, on_circle(middle, 0.6 * far + 0.9, angle_deg / 2 - 6), f"{angle_deg:g}")
    label(pen, (middle[0] - 1.0, middle[1] - 3.6), words, anchor="middle")


def _circle(pen: Pen, lines: Lines, places: list[Place]) -> None:
    asked = lines["circle"]
    middle, radius = on_paper(asked["centre"]), SCALE * asked["diameter"] / 2
    circle(pen, middle, radius, "centre")
    _round(pen, asked["centre"], asked["diameter"] / 2, asked["start"], f"dia {asked['diameter']}")


def _arc(pen: Pen, lines: Lines, places: list[Place]) -> None:
    asked = lines["arc"]
    middle, radius = on_paper(asked["centre"]), SCALE * asked["radius"]
    pen.arc(middle, radius, asked["start"], asked["end"], "centre")
    pen.line(middle, on_paper(places[-1]), "thin")
    _round(pen, asked["centre"], asked["radius"], asked["start"], f"radius {asked['radius']}")
    pen.arc(middle, 0.3 * radius, 0, asked["end"], "thin")
    label(pen, on_circle(middle, 0.3 * radius + 1, 75), f"{asked['end']}")


def _row(pen: Pen, lines: Lines, places: list[Place]) -> None:
    _from_datum(pen, places[0])
    _stepped(pen, places[0], places[1])


def _stepped(pen: Pen, one: Place, other: Place) -> None:
    """The two legs of a step from one hole to another."""
    corner = other[0], one[1]
    for begin, end, turns in ((one, corner, False), (corner, other, True)):
        if math.dist(begin, end) > 0:
            arrow(pen, on_paper(begin), on_paper(end))
            size = end[1] - begin[1] if turns else end[0] - begin[0]
            at = between(on_paper(begin), on_paper(end))
            shift = (0.9, -2.0) if turns else (0.0, -2.9)
            label(
                pen,
                (at[0] + shift[0], at[1] + shift[1]),
                f"{size:g}",
                anchor="left" if turns else "middle",
            )


def _grid(pen: Pen, lines: Lines, places: list[Place]) -> None:
    _from_datum(pen, places[0])
    above = places[lines["grid"]["columns"]]
    _stepped(pen, places[0], places[1])
    distance(pen, on_paper(places[0]), on_paper(above), f"{above[1] - places[0][1]:g}")


def _corners(pen: Pen, lines: Lines, places: list[Place]) -> None:
    for index, along in ((0, True), (2, True), (0, False), (2, False)):
        place = places[index]
        edge = SIZE_MM if index else (0.0, 0.0)
        foot = (edge[0], place[1]) if along else (place[0], edge[1])
        inset = lines["corners"]["inset"][0 if along else 1]
        distance(pen, on_paper(foot), on_paper(place), f"{inset:g}")


def _chain(pen: Pen, lines: Lines, places: list[Place]) -> None:
    _from_datum(pen, places[0])
    for index, link in enumerate(lines["chain"][1:]):
        begin, end = on_paper(places[index]), on_paper(places[index + 1])
        arrow(pen, begin, end)
        words = "[" + ", ".join(map(str, link)) + "]"
        x, y = between(begin, end)
        if link[0]:
            turn = math.degrees(math.atan2(link[1], link[0]))
            aside = 0.8 if link[1] else -2.9
            label(pen, (x + 0.3, y + aside), words, anchor="middle", turn_deg=turn)
        else:
            label(pen, (x + 0.9, y - 0.8), words)


def _polar(pen: Pen, lines: Lines, places: list[Place]) -> None:
    asked, pivot = lines["polar"], tomllib.loads(PIVOT)["at"]
    _round(pen, pivot, asked["radius"], asked["angle"], "")
    label(
        pen,
        (on_paper(pivot)[0] + 3.5, on_paper(pivot)[1] + 6.5),
        f"{asked['radius']}",
        turn_deg=asked["angle"],
    )


def _skip(pen: Pen, lines: Lines, places: list[Place]) -> None:
    asked = lines["row"]
    for number in lines["skip"]:
        x, y = (
            begin + (number - 1) * step
            for begin, step in zip(asked["start"], asked["step"], strict=True)
        )
        at = on_paper((x, y))
        for start in range(0, 360, 45):
            pen.arc(at, HOLE_MM, start, start + 25, "thin")
        label(pen, (at[0] + 2.2, at[1] + 1.3), f"({number})")
    _from_datum(pen, places[0])


_EXPLAINED: dict[str, Draw] = {
    "at": _at,
    "circle": _circle,
    "arc": _arc,
    "row": _row,
    "grid": _grid,
    "corners": _corners,
    "chain": _chain,
    "polar": _polar,
    "skip": _skip,
}
