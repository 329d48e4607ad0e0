"""The turn test: which way three holes go round, and when they cannot show the hand.

Outside facts: the symmetry of the plane figures named (equilateral triangle, rectangle,
parallelogram, regular polygon) is Euclid's; which of them are their own mirror image is in any
school text on symmetry groups (dihedral: rectangle, regular polygon; cyclic: parallelogram).
"""

import itertools

import numpy as np
import pytest

from millprep.setting.hands import is_own_mirror_image, turn_test

GLASS = np.array([[-1.0], [1.0]])


def _points(*pairs: tuple[float, float]) -> np.ndarray:
    return np.array(pairs, dtype=float).T


SCALENE = _points((0, 0), (40, 0), (10, 20))
RECTANGLE = _points((0, 0), (40, 0), (40, 20), (0, 20))
PARALLELOGRAM = _points((0, 0), (40, 0), (50, 20), (10, 20))


def _circle(count: int, radius: float = 20) -> np.ndarray:
    angle = np.arange(count) * 2 * np.pi / count + 0.3
    return radius * np.array([np.cos(angle), np.sin(angle)])


def test_three_uneven_holes_go_anticlockwise_and_their_mirror_image_clockwise() -> None:
    one = turn_test(SCALENE, ["A", "B", "C"])
    other = turn_test(SCALENE * GLASS, ["A", "B", "C"])
    assert one is not None and other is not None
    assert (one.names, one.sense, one.is_unmistakable) == (("A", "B", "C"), "anticlockwise", True)
    assert (other.names, other.sense) == (("A", "B", "C"), "clockwise")


@pytest.mark.parametrize(
    "points",
    [
        _points((0, 0), (40, 0), (20, 30)),  # isosceles
        RECTANGLE,
        _circle(5),
        _circle(12),
        _circle(360),
        _points((0, 0), (10, 0), (25, 0)),  # one line: it turns over about itself
        _points((0, 0), (10, 5)),
    ],
)
def test_what_is_its_own_mirror_image_cannot_show_it(points: np.ndarray) -> None:
    assert is_own_mirror_image(points)
    assert turn_test(points, [str(i) for i in range(points.shape[1])]) is None


def test_a_parallelogram_has_a_hand_though_it_turns_onto_itself() -> None:
    assert not is_own_mirror_image(PARALLELOGRAM)
    found = turn_test(PARALLELOGRAM, list("ABCD"))
    assert found is not None and found.is_unmistakable


def test_a_rectangle_whose_corners_are_all_of_other_kinds_shows_it() -> None:
    found = turn_test(RECTANGLE, list("ABCD"), ["tap", "clear", "ream", "drill"])
    assert found is not None and found.is_unmistakable and found.sense == "anticlockwise"
    assert turn_test(RECTANGLE, list("ABCD"), ["tap", "clear", "clear", "tap"]) is None


def test_one_odd_hole_beside_a_rectangle_belongs_to_the_three() -> None:
    """Three corners of the rectangle alone could be taken for their mirror image."""
    points = np.hstack([RECTANGLE, _points((12, 15))])
    found = turn_test(points, list("ABCDE"))
    assert found is not None and found.is_unmistakable and "E" in found.names


def _has_mirror_image(points: np.ndarray, three: tuple[int, ...]) -> bool:
    """By trying every three of the holes in every order."""
    sides = _sides(points[:, list(three)])
    way = _way(points[:, list(three)])
    return any(
        np.abs(_sides(points[:, list(other)]) - sides).max() < 0.1
        and _way(points[:, list(other)]) == -way
        for other in itertools.permutations(range(points.shape[1]), 3)
    )


def _sides(corners: np.ndarray) -> np.ndarray:
    return np.hypot(*(corners - np.roll(corners, 1, axis=1)))


def _way(corners: np.ndarray) -> float:
    (ax, bx, cx), (ay, by, cy) = corners
    return float(np.sign((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)))


@pytest.mark.parametrize("missing", [0, 1, 3, 7, 9, 12])
def test_three_called_unmistakable_have_no_mirror_image_in_the_pattern(missing: int) -> None:
    x, y = np.meshgrid(np.arange(5) * 10.0, np.arange(3) * 10.0)
    points = np.delete(np.array([x.ravel(), y.ravel()]), missing, axis=1)
    found = turn_test(points, [str(i) for i in range(14)])
    if missing in (7, 9, 12):  # the middle, or the middle of a side: still symmetrical
        assert found is None
    else:
        assert found is not None
        assert found.is_unmistakable == (not _has_mirror_image(points, found.indices))


def test_what_the_eye_does_not_see_does_not_count() -> None:
    nearly = RECTANGLE.copy()
    nearly[0, 2] += 0.3
    assert turn_test(nearly, list("ABCD")) is None


def test_a_flat_triangle_shows_nothing() -> None:
    assert turn_test(_points((0, 0), (40, 0), (10, 1.2)), list("ABC")) is None


@pytest.mark.parametrize("seed", range(20))
def test_turned_shifted_and_mirrored_holes_give_the_same_three(seed: int) -> None:
    random = np.random.default_rng(seed)
    points = random.uniform(0, 100, (2, 30))
    kinds = random.integers(0, 4, 30).tolist()
    names = [str(i) for i in range(30)]
    angle = random.uniform(0, 2 * np.pi)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    one = turn_test(points, names, kinds)
    same = turn_test(turn @ points + random.uniform(-50, 50, (2, 1)), names, kinds)
    other = turn_test(turn @ (points * GLASS), names, kinds)
    assert one is not None and same is not None and other is not None
    assert one.names == same.names == other.names
    assert one.is_clockwise == same.is_clockwise != other.is_clockwise


@pytest.mark.parametrize("seed", range(20))
def test_a_pattern_beside_its_mirror_image_is_always_found_symmetrical(seed: int) -> None:
    random = np.random.default_rng(seed)
    half = random.uniform(5, 100, (2, 12))
    angle = random.uniform(0, 2 * np.pi)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    whole = turn @ np.hstack([half, half * GLASS]) + random.uniform(-9, 9, (2, 1))
    kinds = random.integers(0, 3, 12).tolist() * 2
    assert is_own_mirror_image(whole, kinds)
    assert turn_test(whole, [str(i) for i in range(24)], kinds) is None


def test_ten_thousand_holes_in_a_grid_with_one_odd_one() -> None:
    x, y = np.meshgrid(np.arange(100) * 5.0, np.arange(100) * 5.0)
    grid = np.array([x.ravel(), y.ravel()])
    assert turn_test(grid, [str(i) for i in range(10_000)]) is None
    odd = np.hstack([grid, _points((103, 391))])
    found = turn_test(odd, [str(i) for i in range(10_001)], [0] * 10_000 + [1])
    assert found is not None and "10000" in found.names and found.is_unmistakable
