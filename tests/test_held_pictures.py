"""Pictures of the part as it is held: where each face, hole and zero comes on the paper.

The finished SVG is looked at. Where things lie is worked out here anew, from the names of the faces
alone: the face that is up, the one towards you, and what a person standing there has at the left.
Isometric as ISO 5456-3 has it: each axis of the setup as long as the others, 120 degrees apart.
"""

import subprocess
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field
from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest
from jobs import EXAMPLE_PARTS, millprep, plan_of
from pdf_pages import Operations, changed
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import ContentStream, FloatObject

from millprep.canvas.lettering import CAPITAL_OVER_SIZE, room_mm, width_mm
from millprep.model.part import FACES, OPPOSITE, Face
from millprep.planning import Plan, SetupPlan
from millprep.proven.preparation import prepare
from millprep.reading.pages.ink import Box, apart, pages_of
from millprep.reading.pages.printed import UnreadableSheet
from millprep.sheets.figures import Figures
from millprep.sheets.picture import Pictures, pictures_of
from millprep.writers.pictures import KINDS, Kind, pictures_svg

SIZE = np.array([60.0, 40.0, 20.0])
OUTWARD = {
    "left": (-1, 0, 0), "right": (1, 0, 0), "front": (0, -1, 0), "back": (0, 1, 0),
    "bottom": (0, 0, -1), "top": (0, 0, 1),
}  # fmt: skip
# What a face's view has to the right and up, in part axes: as the part file counts places.
VIEWS = {
    "top": ((1, 0, 0), (0, 1, 0)), "front": ((1, 0, 0), (0, 0, 1)), "right": ((0, 1, 0), (0, 0, 1)),
    "back": ((-1, 0, 0), (0, 0, 1)), "left": ((0, -1, 0), (0, 0, 1)),
    "bottom": ((1, 0, 0), (0, -1, 0)),
}  # fmt: skip
LAYS = [(up, near) for up, near in product(FACES, FACES) if near not in (up, OPPOSITE[up])]
DPI = 100
COLUMN_MM = 14.5, 196.0  # of the pictures, across the page
NAME_MM, GAP_MM = 2.5, 1.2  # names beside the picture, and what their lines leave free
NEAR_MM = 0.02  # on the paper: thousandths are written


@dataclass
class Shown:
    """What an SVG of a picture has, y up the paper: outlines by class, names, dots, holes."""

    outlines: list[tuple[str, np.ndarray]] = field(default_factory=list)
    names: dict[str, np.ndarray] = field(default_factory=dict)
    boxes: list[tuple[str, np.ndarray]] = field(default_factory=list)  # of all words, aslant
    ways: dict[str, np.ndarray] = field(default_factory=dict)  # right and up, of names aslant
    dots: list[tuple[np.ndarray, float]] = field(default_factory=list)
    lines: list[tuple[str, np.ndarray]] = field(default_factory=list)
    rings: list[tuple[str, np.ndarray]] = field(default_factory=list)  # class, middle


def shown_in(svg: str) -> Shown:
    root = ET.fromstring(svg)
    assert root.get("aria-label")
    high = float(root.get("viewBox", "").split()[3])
    found = Shown()

    def at(x: str | None, y: str | None) -> np.ndarray:
        return np.array([float(x or "nan"), high - float(y or "nan")])

    for one in root:
        kind = one.get("class", "")
        if one.tag == "polygon":
            pairs = [corner.split(",") for corner in one.get("points", "").split()]
            found.outlines.append((kind, np.array([at(x, y) for x, y in pairs])))
        elif one.tag == "text":
            where, ways = at(one.get("x"), one.get("y")), np.eye(2)
            if one.get("transform"):
                kind, numbers = one.get("transform", "")[:-1].split("(")
                if kind == "rotate":
                    turn = np.radians(-float(numbers.split()[0]))
                    ways = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
                else:
                    a, b, c, d, x, y = numbers.split()
                    where = at(x, y)
                    ways = np.array([[float(a), -float(b)], [-float(c), float(d)]])
                found.ways.setdefault(one.text or "", ways)
            found.names.setdefault(one.text or "", where)
            found.boxes.append((one.text or "", box_of(one, where, ways)))
        elif one.tag == "circle":
            found.dots.append((at(one.get("cx"), one.get("cy")), float(one.get("r", "0"))))
        elif one.tag == "line":
            ends = at(one.get("x1"), one.get("y1")), at(one.get("x2"), one.get("y2"))
            found.lines.append((kind, np.array(ends)))
        elif one.tag == "path" and "C" in one.get("d", ""):
            numbers = one.get("d", "").replace("M", "").replace("C", " ").split()
            places = np.array([at(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)])
            found.rings.append((kind, places[:-1:3].mean(axis=0)))
    return found


def box_of(text: ET.Element, where: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """(4, 2) the corners of what words take, capitals over their base line."""
    high = CAPITAL_OVER_SIZE * float(text.get("font-size", "0"))
    wide = width_mm(text.text or "", high)
    begins = -wide / 2 if text.get("text-anchor") == "middle" else 0.0
    ends = ((begins, 0.0), (begins + wide, 0.0), (begins + wide, high), (begins, high))
    return where + np.array(ends) @ ways


def do_overlap(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two four-sided outlines do: no line along a side of either parts them."""
    for outline in (one, other):
        for way in np.roll(outline, -1, axis=0) - outline:
            square = np.array([-way[1], way[0]])
            a, b = one @ square, other @ square
            if a.max() <= b.min() or b.max() <= a.min():
                return False
    return True


def viewed(svg: str) -> list[float]:
    return [float(one) for one in ET.fromstring(svg).get("viewBox", "").split()]


def axes_of(up: str, near: str) -> np.ndarray:
    """(3, 3) the machine's X, Y, Z in part axes: Y leads away from the face towards you."""
    z, y = np.array(OUTWARD[up]), -np.array(OUTWARD[near])
    return np.array(
        [[y[1] * z[2] - y[2] * z[1], y[2] * z[0] - y[0] * z[2], y[0] * z[1] - y[1] * z[0]], y, z]
    )


def seen(points: np.ndarray, up: str, near: str, hand: float) -> np.ndarray:
    """(N, 2) part points (N, 3) as an eye sees them that stands near, above, and at that hand."""
    towards = np.array([hand, -1.0, 1.0]) / np.sqrt(3)
    right = np.array([1.0, hand, 0.0]) / np.sqrt(2)
    if abs(right @ towards) > 1e-9:
        raise AssertionError("the eye is not square to the paper")
    rise = np.cross(towards, right)
    in_setup = points @ axes_of(up, near).T
    return np.column_stack([in_setup @ right, in_setup @ rise])


def corners_of(face: str) -> np.ndarray:
    """(4, 3) of a face of the block."""
    way = np.array(OUTWARD[face])
    axis = int(np.argmax(np.abs(way)))
    ends = [[0.0, size] for size in SIZE]
    ends[axis] = [SIZE[axis] if way[axis] > 0 else 0.0]
    return np.array([*product(*ends)])


def fit(svg: Shown, up: str, near: str, hand: float) -> tuple[float, np.ndarray]:
    """Scale and shift, from the box round the part."""
    whole = np.vstack([outline for kind, outline in svg.outlines if kind == "edge"])
    block = seen(np.array([*product(*([0.0, size] for size in SIZE))]), up, near, hand)
    low, high = block.min(axis=0), block.max(axis=0)
    scales = (whole.max(axis=0) - whole.min(axis=0)) / (high - low)
    assert scales[0] == pytest.approx(scales[1], rel=0.002)
    return float(scales[0]), whole.min(axis=0) - scales[0] * low


def is_in(place: np.ndarray, outline: np.ndarray) -> bool:
    """Whether a convex outline holds a place."""
    ahead = np.roll(outline, -1, axis=0) - outline
    to = place - outline
    turns = ahead[:, 0] * to[:, 1] - ahead[:, 1] * to[:, 0]
    return bool((turns > -1e-6).all() or (turns < 1e-6).all())


def hull_of(places: np.ndarray) -> np.ndarray:
    """The four corners of a flat face in order round its middle."""
    middle = places.mean(axis=0)
    return places[np.argsort(np.arctan2(*(places - middle).T[::-1]))]


def is_same(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two outlines have the same corners, whichever is named first."""
    return any(np.allclose(np.roll(one, n, axis=0), other, atol=NEAR_MM) for n in range(4))


def places_named(svg: Shown, name: str) -> list[np.ndarray]:
    """Where a name stands, and the dot that a line from beside it leads to."""
    words = svg.names[name]
    if name in svg.ways:
        return [words]
    dots = [middle for middle, radius in svg.dots if radius < 0.5]
    half = np.array([room_mm(name, NAME_MM), NAME_MM]) / 2
    beyond = [np.abs(ends[1] - words - half) - half for _, ends in svg.lines]
    return [
        ends[0]
        for (kind, ends), gap in zip(svg.lines, beyond, strict=True)
        if kind == "thin"
        and max(gap) < GAP_MM + 0.3 * NAME_MM
        and any(is_same_place(ends[0], d) for d in dots)
    ]


def is_same_place(one: np.ndarray, other: np.ndarray) -> bool:
    return np.allclose(one, other, atol=NEAR_MM)


def pictures_in(plan: Plan, setup_plan: SetupPlan) -> Pictures:
    return pictures_of(plan, setup_plan, Figures(plan.part.units, plan.shop.readout))


def svgs_of(plan: Plan, setup_plan: SetupPlan, *kinds: Kind) -> list[str]:
    """The SVG of each picture of some kinds."""
    text = pictures_svg(pictures_in(plan, setup_plan), kinds)
    return [f"{one}</svg>" for one in text.split("</svg>") if one.strip()]


SIX = "".join(
    f'[[hole]]\nname = "{face} hole"\nface = "{face}"\ndrill = 3\ndepth = 4\nat = [{7 + n}, 8]\n'
    for n, face in enumerate(FACES)
)


def lay_plan(up: str, near: str, more: str = "") -> Plan:
    setup = f'[[setup]]\nface = "{up}"\ntowards_you = "{near}"\n{more}'
    return plan_of(SIX + setup)


def place_of(face: str, along: float, rise: float) -> np.ndarray:
    """(3,) where a place of a face's view lies: counted from the datum, left, front and bottom."""
    right, up = (np.array(way) for way in VIEWS[face])
    corner = np.where(np.array(OUTWARD[face]) > 0, SIZE, 0.0)
    for way, length in ((right, along), (up, rise)):
        axis = int(np.argmax(np.abs(way)))
        corner[axis] = length
    return corner


@pytest.mark.parametrize(("up", "near"), LAYS)
def test_faces_zero_and_holes_lie_where_the_lay_puts_them(up: Face, near: Face) -> None:
    plan = lay_plan(up, near)
    setup_plan = next(one for one in plan.setups if one.setup.face == up)
    [text] = svgs_of(plan, setup_plan, "held")
    svg = shown_in(text)
    hand = -1.0 if pictures_in(plan, setup_plan).held.seen_from == "left" else 1.0
    scale, shift = fit(svg, up, near, hand)

    def on_paper(points: np.ndarray) -> np.ndarray:
        return scale * seen(np.atleast_2d(points), up, near, hand) + shift

    x_axis = axes_of(up, near)[0]
    beside = next(face for face, way in OUTWARD.items() if np.allclose(way, hand * x_axis))
    visible = {up, near, beside}
    assert {name for name in svg.names if name.lower() in FACES} <= {v.upper() for v in visible}
    last = max(i for i, (kind, _) in enumerate(svg.outlines) if kind == "edge")
    hidden_by = [outline for kind, outline in svg.outlines[last + 1 :] if kind == "cover"]
    drawn = [hull_of(one) for kind, one in svg.outlines if kind == "edge" and len(one) == 4]
    for face in visible:
        outline = hull_of(on_paper(corners_of(face)))
        assert any(is_same(one, outline) for one in drawn), face
        assert any(
            is_in(place, outline) and not any(is_in(place, each) for each in hidden_by)
            for place in places_named(svg, face.upper())
        ), face
        if face.upper() in svg.ways:  # it lies in the plane of its face and is not mirrored
            out = np.array(OUTWARD[face])
            across = [np.array(way) for way in OUTWARD.values() if not np.dot(way, out)]
            ways = [(seen(np.array([one, np.cross(out, one)]), up, near, hand)) for one in across]
            long = np.sqrt(3 / 2)  # a millimetre along an axis is drawn as one
            assert any(np.allclose(svg.ways[face.upper()], long * one, atol=0.002) for one in ways)

    flag = next(middle for middle, radius in svg.dots if radius > 0.5)
    axes = axes_of(up, near)
    zero = np.where(np.array(OUTWARD[up]) > 0, SIZE, 0.0)  # z on the face that is up
    for axis in (0, 1):  # datum faces where they stand upright: left, front, bottom
        along = int(np.argmax(np.abs(axes[axis])))
        zero[along] = 0.0
    assert flag == pytest.approx(on_paper(zero)[0], abs=NEAR_MM)

    numbers = {one.setup.face: one.setup.number for one in plan.setups}
    for index, face in enumerate(FACES):
        middle = on_paper(place_of(face, 7 + index, 8))[0]
        rings = [kind for kind, at in svg.rings if np.allclose(at, middle, atol=0.05)]
        if face in visible:
            before = numbers[face] < numbers[up]  # a hole is seen as it is when this setup begins
            assert rings == ["edge" if face == up else "thin" if before else "hidden"], face


BAR = """\
part = "Bar"
units = "mm"
material = "mild steel"
[stock]
diameter = 25
length = 90
axis = "x"
[[hole]]
name = "cross"
drill = 5
depth = 8
at = [{holes}]
[[setup]]
face = "top"
hold = "vee blocks"
"""


@pytest.mark.parametrize("at", [(20.0, 70.0), (30.0, 60.0), (12.0, 45.0), (25.0, 81.0)])
def test_clamps_of_vee_blocks_hide_no_hole(at: tuple[float, ...], tmp_path: Path) -> None:
    """What is painted after a hole lies beside its circle."""
    path = tmp_path / "bar.toml"
    holes = ", ".join(f"[{x}, {{ centre_y = 0 }}]" for x in at)
    path.write_text(BAR.replace("{holes}", holes))
    plan = prepare(path).plan
    [text] = svgs_of(plan, plan.setups[0], "held")
    shown = shown_in(text)
    assert "clamp" in shown.names
    elements = [*ET.fromstring(text)]
    high = viewed(text)[3]
    rings = [
        (index, one)
        for index, one in enumerate(elements)
        if one.tag == "path" and one.get("class") == "edge" and "C" in one.get("d", "")
    ]
    assert len(rings) == len(at)
    for index, one in rings:
        numbers = one.get("d", "").replace("M", "").replace("C", " ").split()
        circle = [
            (float(x), high - float(y)) for x, y in zip(numbers[::2], numbers[1::2], strict=True)
        ]
        for later in elements[index + 1 :]:
            if later.tag == "polygon" and later.get("class") == "cover":
                pairs = [corner.split(",") for corner in later.get("points", "").split()]
                outline = hull_of(np.array([(float(x), high - float(y)) for x, y in pairs]))
                assert not any(is_in(np.array(place), outline) for place in circle[::3])


@pytest.mark.parametrize("shop", ["metric", "inch"])
@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
def test_names_stand_clear_of_each_other_and_in_the_picture(path: Path, shop: str) -> None:
    plan = prepare(path, shop).plan
    for one in plan.setups:
        for text in svgs_of(plan, one, *KINDS):
            svg, (_, _, wide, high) = shown_in(text), viewed(text)
            assert svg.names
            for name, box in svg.boxes:
                assert (box >= 0).all() and (box <= (wide, high)).all(), name
            for (name, box), (other, of_other) in combinations(svg.boxes, 2):
                assert not do_overlap(box, of_other), (one.setup.number, name, other)


def pixels_of(path: Path) -> np.ndarray:
    """(rows, columns) of a grey picture, from the top."""
    with Image.open(path) as image:
        return np.asarray(image.convert("L"))


def part_of_page(ink: np.ndarray, left: float, low: float, right: float, top: float) -> np.ndarray:
    """What lies in a box [mm] from the left and from the lower edge of the page."""
    per_mm = DPI / 25.4
    rows = ink.shape[0]
    return ink[
        round(rows - top * per_mm) : round(rows - low * per_mm),
        round(left * per_mm) : round(right * per_mm),
    ]


def is_beside(strip: tuple[float, float, float, float], box: Box) -> bool:
    """Whether a strip lies on or by another picture."""
    left, low, right, top = strip
    across = left < box.right_mm + 1 and box.left_mm - 1 < right
    return across and low < box.top_mm + 1 and box.low_mm - 1 < top


def edges_round(box: Box) -> list[tuple[float, float, float, float]]:
    """Strips a millimetre wide round a picture, half a millimetre off: but for the lines of words
    to its left these are white."""
    left, low, right, top = box.left_mm, box.low_mm, box.right_mm, box.top_mm
    return [
        (left, top + 0.5, right, top + 1.0),
        (left, low - 1.0, right, low - 0.5),
        (left - 1.0, low, left - 0.5, top),
        (right + 0.5, low, min(right + 1.0, 209.0), top),
    ]


@pytest.mark.needs("pdftoppm", "pdftotext")
@pytest.mark.parametrize("sheet", ["listing", "dials", "inspect"])
@pytest.mark.parametrize("stem", ["base-plate", "port-block", "flywheel", "tie-bar"])
def test_pictures_stand_on_their_pages_clear_of_words(
    stem: str, sheet: str, tmp_path: Path
) -> None:
    """The page as pixels: ink where the picture is, none that leaves its room, no words in it."""
    made = tmp_path / "sheet.pdf"
    path = next(one for one in EXAMPLE_PARTS if one.stem == stem)
    assert millprep(sheet, path, "-o", made).status == 0
    pages = PdfReader(made).pages
    subprocess.run(["pdftoppm", "-gray", "-r", str(DPI), made, tmp_path / "page"], check=True)
    images = sorted(tmp_path.glob("page-*.pgm"))
    assert len(images) == len(pages)
    firsts = count = 0
    for page, image in zip(pages, images, strict=True):
        _, boxes = apart(ContentStream(page.get_contents(), page.pdf).operations)
        firsts, count = firsts + bool(boxes), count + len(boxes)
        ink = pixels_of(image) < 128
        for box in boxes:
            assert box.left_mm > (38.0 if sheet == "inspect" else COLUMN_MM[0])
            assert box.right_mm < COLUMN_MM[1]
            inside = part_of_page(ink, box.left_mm, box.low_mm, box.right_mm, box.top_mm)
            assert inside.mean() > 0.005  # lines, and not a blank
            for strip in edges_round(box):
                if not any(is_beside(strip, other) for other in boxes if other != box):
                    assert not part_of_page(ink, *strip).any()
    setups = len(prepare(path).plan.setups)
    if sheet == "inspect":  # two to each face that something is measured from
        assert count
        assert not count % 2
    else:
        assert firsts == setups


def test_a_picture_over_words_or_off_the_page_is_refused(tmp_path: Path) -> None:
    made = tmp_path / "sheet.pdf"
    path = next(one for one in EXAMPLE_PARTS if one.stem == "base-plate")
    assert millprep("listing", path, "-o", made).status == 0
    data = made.read_bytes()
    assert len([*pages_of(data)]) > 1

    def moved(to: tuple[float, float], is_in_picture: bool) -> bytes:
        def change(operations: Operations) -> bool:
            names = [name for _, name in operations]
            start, end = names.index(b"BMC"), names.index(b"EMC")
            places = [
                index
                for index, name in enumerate(names)
                if name == b"Td" and (start < index < end) == is_in_picture
            ]
            operands, _ = operations[places[-1]]
            operands[:] = [FloatObject(one / 25.4 * 72) for one in to]
            return True

        return changed(data, change)

    for broken in (moved((50.0, 130.0), False), moved((206.0, 140.0), True)):
        with pytest.raises(UnreadableSheet, match="picture"):
            [*pages_of(broken)]
