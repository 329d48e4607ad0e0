"""Distances between the solids of holes, against a collision library and against sums by hand.

The library is python-fcl (the Flexible Collision Library). Its search ends by an absolute measure,
at about 1e-5 of whatever unit it is given, so that it is given nanometres.
"""

import math

import fcl
import numpy as np
import pytest

from millprep.checks.gaps import Solid, box_gap_mm, gap_mm, middle_of, nearest_point

SCALE = 1e6
TURNS = {
    0: np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]]),
    1: np.array([[1.0, 0, 0], [0, 0, 1], [0, -1, 0]]),
    2: np.eye(3),
}
UPSIDE_DOWN = np.diag([1.0, -1, -1])
WITHIN_MM = 1e-6


def outside_gap_mm(one: Solid, other: Solid) -> float:
    """By the library."""
    found = fcl.distance(_theirs(one), _theirs(other), fcl.DistanceRequest(), fcl.DistanceResult())
    return float(found) / SCALE


def _theirs(solid: Solid) -> fcl.CollisionObject:
    turn = TURNS[solid.axis]
    length, radius = (solid.high_mm - solid.low_mm) * SCALE, solid.radius_mm * SCALE
    if solid.low_radius_mm == solid.high_radius_mm:
        form = fcl.Cylinder(radius, length)
    else:
        assert 0.0 in (solid.low_radius_mm, solid.high_radius_mm), "it has no stumps of cones"
        form = fcl.Cone(radius, length)
        if solid.low_radius_mm == 0:
            turn = turn @ UPSIDE_DOWN
    return fcl.CollisionObject(form, fcl.Transform(turn, np.array(middle_of(solid)) * SCALE))


def any_solid(rng: np.random.Generator, axis: int, form: str) -> Solid:
    low, length, radius = rng.uniform(-10, 10), rng.uniform(0.5, 20), rng.uniform(0.3, 6)
    radii = {"cylinder": (radius, radius), "cone": (radius, 0.0), "point down": (0.0, radius)}
    x, y, z = rng.uniform(-12, 12, 3)
    return Solid(axis, (x, y, z), low, low + length, *radii[form])


@pytest.mark.parametrize("other_axis", [0, 1, 2])
@pytest.mark.parametrize("form", ["cylinder", "cone", "point down"])
@pytest.mark.parametrize("other_form", ["cylinder", "cone"])
def test_distance_agrees_with_the_library(other_axis: int, form: str, other_form: str) -> None:
    rng = np.random.default_rng(other_axis * 10 + len(form))
    apart = 0
    for _ in range(150):
        one, other = any_solid(rng, 0, form), any_solid(rng, other_axis, other_form)
        ours, theirs = gap_mm(one, other), outside_gap_mm(one, other)
        if ours <= WITHIN_MM:
            assert theirs <= 1e-5, (one, other)
            continue
        apart += 1
        assert ours == pytest.approx(theirs, abs=WITHIN_MM), (one, other)
        assert box_gap_mm(one, other) <= ours + 1e-9
        assert gap_mm(other, one) == pytest.approx(ours, abs=1e-8)
    assert apart > 80


def test_the_library_itself_on_parallel_cylinders() -> None:
    """Their distance is a subtraction, done here once more."""
    rng = np.random.default_rng(1)
    for _ in range(200):
        one, other = any_solid(rng, 2, "cylinder"), any_solid(rng, 2, "cylinder")
        aside = math.dist(one.centre_mm[:2], other.centre_mm[:2]) - one.radius_mm - other.radius_mm
        along = max(one.low_mm, other.low_mm) - min(one.high_mm, other.high_mm)
        if max(aside, along) > 0.01:
            by_hand = math.hypot(max(aside, 0), max(along, 0))
            assert outside_gap_mm(one, other) == pytest.approx(by_hand, abs=1e-7)


def drawn_in(solid: Solid) -> Solid:
    """The stump of a cone, from a cone that is cut."""
    return Solid(
        solid.axis,
        solid.centre_mm,
        solid.low_mm,
        solid.high_mm,
        solid.radius_mm,
        solid.radius_mm * 0.4,
        "countersink",
    )


def _on_the_rims(solid: Solid, count: int) -> np.ndarray:
    """Points (count, 3) on both end circles: what a stump of a cone is the hull of."""
    angles = np.linspace(0, 2 * math.pi, count // 2, endpoint=False)
    points = []
    for along, radius in (
        (solid.low_mm, solid.low_radius_mm),
        (solid.high_mm, solid.high_radius_mm),
    ):
        ring = np.tile(np.array(solid.centre_mm), (len(angles), 1))
        across = [axis for axis in range(3) if axis != solid.axis]
        ring[:, solid.axis] = along
        ring[:, across[0]] += radius * np.cos(angles)
        ring[:, across[1]] += radius * np.sin(angles)
        points.append(ring)
    return np.concatenate(points)


@pytest.mark.parametrize("other_axis", [0, 1])
def test_stumps_of_cones_against_hulls_of_many_points(other_axis: int) -> None:
    """The library has no stumps; a hull of rim points lies inside by r (1 - cos(pi / n))."""
    from scipy.spatial import ConvexHull

    rng = np.random.default_rng(5)
    done = 0
    for _ in range(12):
        one, other = drawn_in(any_solid(rng, 0, "cone")), any_solid(rng, other_axis, "cylinder")
        ours = gap_mm(one, other)
        if ours <= 0.01:
            continue
        done += 1
        points = _on_the_rims(one, 720) * SCALE
        hull = ConvexHull(points)
        faces = np.concatenate([np.full((len(hull.simplices), 1), 3), hull.simplices], axis=1)
        theirs = (
            fcl.distance(
                fcl.CollisionObject(fcl.Convex(points, len(faces), faces.flatten())),
                _theirs(other),
                fcl.DistanceRequest(),
                fcl.DistanceResult(),
            )
            / SCALE
        )
        inside = one.radius_mm * (1 - math.cos(math.pi / 360))
        assert ours - 1e-6 <= theirs <= ours + inside + 1e-6
    assert done > 6


def test_nearest_points_of_a_stump() -> None:
    """3-4-5: a slant that goes in by 3 over a length of 4."""
    stump = Solid(2, (0.0, 0.0, 0.0), 0.0, 4.0, 5.0, 2.0)
    assert nearest_point(stump, (1.0, 2.0, 1.0)) == (1.0, 2.0, 1.0)
    assert nearest_point(stump, (0.0, 1.0, -3.0)) == (0.0, 1.0, 0.0)
    assert nearest_point(stump, (0.0, 1.0, 9.0)) == (0.0, 1.0, 4.0)
    # From (3.5, 2), the middle of the slant, five out along its normal (4, 3) / 5.
    assert nearest_point(stump, (7.5, 0.0, 5.0)) == pytest.approx((3.5, 0.0, 2.0))
    assert math.dist(nearest_point(stump, (7.5, 0.0, 5.0)), (7.5, 0.0, 5.0)) == pytest.approx(5)


def cylinder(
    axis: int, centre: tuple[float, float, float], low: float, high: float, r: float
) -> Solid:
    return Solid(axis, centre, low, high, r, r)


def test_crossing_cylinders_by_hand() -> None:
    """Axes square to each other pass at 7: 7 - 3 - 2 = 2 between them."""
    one, other = cylinder(0, (0, 0, 0), -20, 20, 3.0), cylinder(1, (0, 0, 7), -20, 20, 2.0)
    assert gap_mm(one, other) == pytest.approx(2.0, abs=1e-9)
    # The end of the second stops 4 beside the first: 5 = hypot(3, 4) to its rim at the height 0.
    short = cylinder(1, (0, 0, 6), 7, 20, 3.0)
    assert gap_mm(cylinder(0, (0, 0, 0), -20, 20, 0.0), short) == pytest.approx(math.hypot(7, 3))


def test_how_deep_two_cross() -> None:
    """Side by side at 4 with radii 3 and 2: 1 over. End to end at one place: by the lengths."""
    one = cylinder(2, (0, 0, 0), 0, 10, 3.0)
    assert gap_mm(one, cylinder(2, (4, 0, 0), 2, 9, 2.0)) == pytest.approx(-1.0)
    assert gap_mm(one, cylinder(2, (0, 0, 0), 9.5, 20, 3.0)) == pytest.approx(-0.5)
    assert gap_mm(one, cylinder(0, (0, 0, 5), 2.5, 20, 2.0)) == pytest.approx(-0.5)


def test_cones_point_to_point() -> None:
    """Two drills of 118 degrees from opposite faces, on one axis: from tip to tip."""
    down = Solid(2, (5, 5, 0), 8.0, 10.0, 0.0, 3.0, "drill point")
    up = Solid(2, (5, 5, 0), 4.0, 6.5, 3.0, 0.0, "drill point")
    assert gap_mm(down, up) == pytest.approx(1.5)
    # Moved aside by 3: still nearest across the two slants, whose angles differ.
    aside = gap_mm(down, up.moved((3.0, 0.0, 0.0)))
    assert aside == pytest.approx(outside_gap_mm(down, up.moved((3.0, 0.0, 0.0))), abs=WITHIN_MM)


@pytest.mark.parametrize(("start", "right"), [(0.8, 0.3), (0.5, 0.0), (0.4, -0.1)])
def test_stumps_smaller_than_a_millimetre(start: float, right: float) -> None:
    """On one axis, end to end: from the end at 0.5 to the start of the other."""
    one = Solid(2, (0, 0, 0), 0.0, 0.5, 0.3, 0.2)
    other = Solid(2, (0, 0, 0), start, start + 0.5, 0.2, 0.3)
    assert gap_mm(one, other) == pytest.approx(right, abs=1e-9)


def test_moved_carries_the_span_along() -> None:
    moved = cylinder(1, (1, 2, 3), 4, 9, 1.0).moved((1.0, 2.0, 3.0))
    assert (moved.centre_mm, moved.low_mm, moved.high_mm) == ((2, 4, 6), 6, 11)
