"""Patterns against handbook coordinates, and the views of the faces against a rotation."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from millprep.infiles import read_part
from millprep.infiles.points import VIEW
from millprep.model.part import FACE_AXIS, FACES, HIGH_FACES

# Machinery's Handbook, "Hole Coordinate Dimension Factors for Jig Boring", type A hole circles:
# circle of diameter 1, hole 1 at the top, x from the left edge and y from the top edge of the
# square around it, the others following to the left. From memory of the printed table.
COORDINATE_FACTORS = {
    3: [(0.50000, 0.00000), (0.06699, 0.75000), (0.93301, 0.75000)],
    5: [
        (0.50000, 0.00000),
        (0.02447, 0.34549),
        (0.20611, 0.90451),
        (0.79389, 0.90451),
        (0.97553, 0.34549),
    ],
    6: [
        (0.50000, 0.00000),
        (0.06699, 0.25000),
        (0.06699, 0.75000),
        (0.50000, 1.00000),
        (0.93301, 0.75000),
        (0.93301, 0.25000),
    ],
    7: [
        (0.50000, 0.00000),
        (0.10908, 0.18826),
        (0.01254, 0.61126),
        (0.28306, 0.95048),
        (0.71694, 0.95048),
        (0.98746, 0.61126),
        (0.89092, 0.18826),
    ],
}

# Machinery's Handbook, "Lengths of Chords for Spacing Off the Circumferences of Circles", circle
# of diameter 1. From memory of the printed table.
CHORD_FACTORS = {3: 0.866025, 5: 0.587785, 6: 0.500000, 7: 0.433884, 8: 0.382683, 12: 0.258819}

HEAD = """part = "Plate"
units = "mm"
material = "brass"
[stock]
size = [120, 120, 120]
[datum]
x = "{x}"
y = "{y}"
[[hole]]
name = "h"
drill = 2
depth = 3
face = "{face}"
"""


def centres(tmp_path, lines, face="top", x="left", y="front"):
    """The members' centres as an array (3, N)."""
    path = tmp_path / "part.toml"
    path.write_text(HEAD.format(face=face, x=x, y=y) + lines)
    part, _ = read_part(path)
    return np.array([hole.centre_mm for hole in part.holes]).T


@pytest.mark.parametrize("count", COORDINATE_FACTORS)
def test_circle_has_handbook_coordinates(tmp_path, count):
    x, y, _ = centres(
        tmp_path, f"circle = {{ centre = [60, 60], diameter = 100, count = {count}, start = 90 }}"
    )
    from_square = np.array([(x - 10) / 100, (110 - y) / 100]).T
    assert_allclose(from_square, COORDINATE_FACTORS[count], atol=0.6e-5)


@pytest.mark.parametrize("count", CHORD_FACTORS)
def test_circle_by_chord(tmp_path, count):
    xyz = centres(tmp_path, f"circle = {{ centre = [60, 60], chord = 20, count = {count} }}")
    next_to = np.roll(xyz, -1, axis=1)
    assert_allclose(np.linalg.norm(next_to - xyz, axis=0), 20, atol=1e-9)
    diameter = 2 * np.linalg.norm(xyz[:2, 0] - 60)
    assert 20 / diameter == pytest.approx(CHORD_FACTORS[count], abs=0.6e-6)


@pytest.mark.parametrize("face", FACES)
def test_views_are_right_handed(face):
    """Right, up and out of the face are the axes of a camera: a proper rotation, by scipy."""
    axes = np.zeros((3, 3))
    for row, (axis, sign) in enumerate(VIEW[face]):
        axes[row, axis] = sign
    axes[2, FACE_AXIS[face]] = 1 if face in HIGH_FACES else -1
    assert_allclose(Rotation.from_matrix(axes).as_matrix(), axes, atol=1e-12)


@pytest.mark.parametrize("face", FACES)
def test_angles_belong_to_the_view(tmp_path, face):
    """Anticlockwise as you look at the face, 0 to the right, whatever the datum faces are."""
    line = "circle = { centre = [60, 60], radius = 10, count = 4, start = 30 }"
    xyz = centres(tmp_path, line, face)
    assert_allclose(centres(tmp_path, line, face, x="right", y="back"), xyz, atol=1e-9)
    right, up = VIEW[face]
    seen = [right[1] * (xyz[right[0]] - 60) / 10, up[1] * (xyz[up[0]] - 60) / 10]
    turns = np.radians([30, 120, 210, 300])
    assert_allclose(seen, [np.cos(turns), np.sin(turns)], atol=1e-12)


def test_clockwise_and_arc(tmp_path):
    there = centres(tmp_path, "circle = { centre = [60, 60], radius = 10, count = 8, start = 10 }")
    back = centres(
        tmp_path,
        "circle = { centre = [60, 60], radius = 10, count = 8, start = 10, clockwise = true }",
    )
    assert_allclose(back[:, 1:], there[:, :0:-1], atol=1e-9)
    arc = centres(
        tmp_path, "arc = { centre = [60, 60], radius = 10, count = 5, start = 10, end = 190 }"
    )
    assert_allclose(arc, there[:, :5], atol=1e-9)


def test_angles_in_words(tmp_path):
    x, y, _ = centres(
        tmp_path, """circle = { centre = [60, 60], radius = 10, count = 2, start = "22°30'" }"""
    )
    assert math.degrees(math.atan2(y[0] - 60, x[0] - 60)) == pytest.approx(22.5)


def test_quarter_turns_are_exact(tmp_path):
    """A circle's figures come out clean where a drawing's would: no 59.99999999999999."""
    xyz = centres(tmp_path, "circle = { centre = [60, 60], radius = 10, count = 4 }")
    assert xyz[:2].T.tolist() == [[70, 60], [60, 70], [50, 60], [60, 50]]


def test_a_row_of_ten_does_not_accumulate(tmp_path):
    """Ten steps of a third of an inch end where ten thirds of an inch end."""
    xyz = centres(tmp_path, 'row = { start = [0, 60], step = ["1/3 in", 0], count = 11 }')
    assert xyz[0, -1] == pytest.approx(10 / 3 * 25.4, abs=1e-12)


@pytest.mark.parametrize(
    ("lines", "count"),
    [
        ("grid = { start = [10, 10], step = [10, 5], columns = 4, rows = 3 }\nskip = [2, 12]", 10),
        ("row = { start = [10, 10], end = [100, 10], count = 7 }", 7),
        ("corners = { inset = 8 }\nskip = 1", 3),
        ("at = [[10, 10], [20, 20]]", 2),
        ("at = [{ left = 10 }, { front = 10 }]", 1),
        ("at = [{ left = 10, front = 5 }, { right = 10, back = 5 }]", 2),
        ("at = { left = 10, front = 5 }", 1),
    ],
)
def test_members(tmp_path, lines, count):
    assert centres(tmp_path, lines).shape == (3, count)
