"""The plan beside the steps, read back from a sheet's own bytes: each number at its hole's place.

The steps and places are those of the listing as JSON; the plan is read from the SVG elements of the
page and from the operators of the PDF, as a person's eye would: a hole's numbers stand nearest to
its circle, or a line leads from the circle to them.
"""

import json
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from jobs import EXAMPLE_PARTS, millprep
from pypdf import PdfReader
from pypdf.generic import ContentStream

from millprep.canvas.lettering import CAPITAL_OVER_SIZE, corners_of
from millprep.proven.preparation import prepare

Place = tuple[float, float]
Box = tuple[float, float, float, float]
POINT_MM = 25.4 / 72
HIGH_MM = 297.0
NEAR_MM = 0.06


@dataclass
class Plan:
    """What is drawn, y up: closed shapes by their boxes, lines, words with the room they take."""

    shapes: list[Box] = field(default_factory=list)
    lines: list[tuple[Place, Place]] = field(default_factory=list)
    words: dict[str, Box] = field(default_factory=dict)


def of_svg(svg: str) -> Plan:
    root = ET.fromstring(svg)
    plan = Plan()

    def number(one: ET.Element, *names: str) -> list[float]:
        return [float(one.get(name, "0")) for name in names]

    for one in root:
        if one.tag == "text" and not one.get("transform"):
            x, y, size = number(one, "x", "y", "font-size")
            plan.words[one.text or ""] = box_of(one.text or "", x, -y, size * CAPITAL_OVER_SIZE)
        elif one.tag == "circle":
            x, y, r = number(one, "cx", "cy", "r")
            plan.shapes.append((x - r, -y - r, x + r, -y + r))
        elif one.tag == "line":
            x1, y1, x2, y2 = number(one, "x1", "y1", "x2", "y2")
            plan.lines.append(((x1, -y1), (x2, -y2)))
        elif one.tag == "polygon":
            corners = re.findall(r"([-\d.]+),([-\d.]+)", one.get("points", ""))
            plan.shapes.append(around([(float(x), -float(y)) for x, y in corners]))
    return plan


def of_pdf(operations: list[tuple[list[float | str], bytes]]) -> Plan:
    """The operators between the mark of a picture and its end."""
    plan, way, at, size = Plan(), [], (0.0, 0.0), 0.0
    for operands, verb in operations:
        if verb in (b"m", b"l", b"c"):
            numbers = [float(one) * POINT_MM for one in operands]
            way += [*zip(numbers[::2], numbers[1::2], strict=True)]
        elif verb == b"re":
            x, y, wide, high = (float(one) * POINT_MM for one in operands)
            way += [(x, y), (x + wide, y + high)]
        elif verb in (b"S", b"s", b"f", b"B", b"b", b"h", b"n"):
            if verb == b"S" and len(way) == 2:
                plan.lines.append((way[0], way[1]))
            elif len(way) > 2:
                plan.shapes.append(around(way))
            way = [] if verb != b"h" else way
        elif verb == b"Tf":
            size = float(operands[1]) * POINT_MM
        elif verb == b"Td":
            at = float(operands[0]) * POINT_MM, float(operands[1]) * POINT_MM
        elif verb == b"Tj":
            words = str(operands[0])
            plan.words[words] = box_of(words, *at, size * CAPITAL_OVER_SIZE)
    return plan


def around(places: list[Place]) -> Box:
    x, y = zip(*places, strict=True)
    return min(x), min(y), max(x), max(y)


def box_of(words: str, x: float, y: float, high: float) -> Box:
    """The room that the drawing keeps for them."""
    return around(corners_of((x, y), words, high, "left", 0.0))


def away(place: Place, box: Box) -> float:
    """From a place to the nearest of a box."""
    dx = max(box[0] - place[0], 0.0, place[0] - box[2])
    dy = max(box[1] - place[1], 0.0, place[1] - box[3])
    return math.hypot(dx, dy)


def middle(box: Box) -> Place:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def assert_numbers_at_their_holes(
    plan: Plan, steps: dict[str, list[int]], places: dict[str, Place], low: Place, high: Place
) -> None:
    outline = max(plan.shapes, key=lambda one: (one[2] - one[0]) * (one[3] - one[1]))
    scale = (outline[2] - outline[0]) / (high[0] - low[0])
    assert (outline[3] - outline[1]) / (high[1] - low[1]) == pytest.approx(scale, rel=0.01)
    on_paper = {
        hole: (outline[0] + scale * (x - low[0]), outline[1] + scale * (y - low[1]))
        for hole, (x, y) in places.items()
    }
    circles = [middle(one) for one in plan.shapes]
    for hole, numbers in steps.items():
        place, said = on_paper[hole], ", ".join(map(str, numbers))
        assert any(math.dist(place, one) < NEAR_MM for one in circles), hole
        box = plan.words.get(f"{hole}: {said}") or plan.words.get(said)
        assert box is not None, hole
        is_led = any(
            min(math.dist(place, end) for end in line) < NEAR_MM
            and min(away(end, box) for end in line) < 0.8
            for line in plan.lines
        )
        nearest = min(on_paper, key=lambda other: math.dist(on_paper[other], middle(box)))
        assert is_led or nearest == hole, hole


def told(path: Path, folder: Path) -> list[tuple[dict[str, list[int]], dict[str, Place]]]:
    """(steps by hole, places by hole) of each setup, from the listing as JSON."""
    made = folder / "listing.json"
    assert millprep("listing", path, "-o", made, "--force").status == 0
    found = []
    for setup in json.loads(made.read_text())["setups"]:
        steps: dict[str, list[int]] = {}
        places: dict[str, Place] = {}
        for one in setup["steps"]:
            steps.setdefault(one["hole"], []).append(one["step"])
            places[one["hole"]] = one["x_exact_mm"], one["y_exact_mm"]
        found.append((steps, places))
    return found


@pytest.mark.parametrize("form", [".html", ".pdf"])
@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
def test_each_number_of_a_plan_stands_at_its_hole(path: Path, form: str, tmp_path: Path) -> None:
    wanted = told(path, tmp_path)
    made = tmp_path / f"listing{form}"
    assert millprep("listing", path, "-o", made).status == 0
    if form == ".html":
        texts = re.findall(r'<svg class="picture".*?</svg>', made.read_text(), re.S)
        plans = [of_svg(one) for one in texts if 'aria-label="plan:' in one]
    else:
        plans = [one for one in pictures_in(made) if any_steps(one)]
    assert len(plans) == len(wanted)
    setups = [one.setup for one in prepare(path).plan.setups]
    for plan, (steps, places), setup in zip(plans, wanted, setups, strict=True):
        low, high = setup.low_mm[:2], setup.high_mm[:2]
        assert_numbers_at_their_holes(plan, steps, places, (low[0], low[1]), (high[0], high[1]))


def pictures_in(made: Path) -> list[Plan]:
    plans = []
    for page in PdfReader(made).pages:
        operations = ContentStream(page.get_contents(), page.pdf).operations
        starts = [i for i, (_, verb) in enumerate(operations) if verb == b"BMC"]
        ends = [i for i, (_, verb) in enumerate(operations) if verb == b"EMC"]
        plans += [of_pdf(operations[a:b]) for a, b in zip(starts, ends, strict=True)]
    return plans


def any_steps(plan: Plan) -> bool:
    """Of the pictures of a setup only the plan has numbers of steps."""
    return any(re.fullmatch(r"(.*: )?\d+(, \d+)*", words) for words in plan.words)
