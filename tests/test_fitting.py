"""Fits against other sums of the same: scipy's rotations, and its minimiser for the worst hole."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation

from millprep.sums.fitting import (
    Floats,
    hand_difference_mm,
    lacking_mm,
    least_worst_fit,
    rigid_fit,
    scaled_fit,
)

PATTERN = np.array([[10.0, 50.0, 50.0, 10.0, 23.0], [8.0, 8.0, 40.0, 40.0, 19.0]])
MIRROR = np.array([[-1.0], [1.0]])


def moved(places: Floats, turn_deg: float, shift: tuple[float, float], *, mirror: bool) -> Floats:
    """The rule of the contract, by scipy: shift + turn(mirror(nominal))."""
    pattern = places * MIRROR if mirror else places
    flat = np.vstack([pattern, np.zeros(pattern.shape[1])])
    turned = Rotation.from_euler("z", turn_deg, degrees=True).apply(flat.T).T[:2]
    return np.asarray(turned + np.array(shift)[:, None])


@settings(max_examples=40)
@given(
    st.floats(-180, 180),
    st.floats(-100, 100),
    st.floats(-100, 100),
    st.booleans(),
    st.integers(0, 2**31),
)
def test_without_noise_every_figure_comes_back(
    turn: float, dx: float, dy: float, mirror: bool, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    pattern = rng.uniform(0, 80, (2, rng.integers(3, 9)))
    measured = moved(pattern, turn, (dx, dy), mirror=mirror)
    for fit in (rigid_fit(pattern, measured), least_worst_fit(pattern, measured, None, mirror)):
        assert fit.mirrored == mirror
        assert_allclose(fit.shift_mm, [dx, dy], atol=1e-7)
        assert abs((fit.turn_deg - turn + 180) % 360 - 180) < 1e-7
        assert fit.worst_mm < 1e-8
        assert_allclose(fit.placed(pattern), measured, atol=1e-7)
        assert_allclose(fit.undone(measured), pattern, atol=1e-7)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("weighted", [False, True])
def test_the_least_squares_are_those_of_align_vectors(seed: int, weighted: bool) -> None:
    """Rotation.align_vectors solves the same in space: the plane is embedded at z = 0.

    A vector along z of great length keeps its answer a turn about z.
    """
    rng = np.random.default_rng(seed)
    measured = moved(PATTERN, rng.uniform(-170, 170), (3.0, -7.0), mirror=False)
    measured = measured + rng.normal(0, 0.3, PATTERN.shape)
    weights = rng.uniform(0.2, 3, PATTERN.shape[1]) if weighted else np.ones(PATTERN.shape[1])
    fit = rigid_fit(PATTERN, measured, weights, mirrored=False)
    shares = weights / weights.sum()
    p, q = (a - (a @ shares)[:, None] for a in (PATTERN, measured))
    flat = [np.vstack([a, np.zeros(a.shape[1])]).T for a in (p, q)]
    pole = np.array([[0.0, 0.0, 1e3]])
    rotation, _ = Rotation.align_vectors(
        np.vstack([flat[1], pole]), np.vstack([flat[0], pole]), np.append(weights, 1.0)
    )
    turn = rotation.as_euler("zyx", degrees=True)[0]
    assert fit.turn_deg == pytest.approx(turn, abs=1e-6)
    assert_allclose(
        fit.shift_mm,
        measured @ shares - (moved(PATTERN, turn, (0, 0), mirror=False) @ shares),
        atol=1e-6,
    )


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("with_plays", [False, True])
def test_no_other_lay_has_a_better_worst_hole(seed: int, with_plays: bool) -> None:
    """Against scipy's simplex from the least squares and from places round about."""
    rng = np.random.default_rng(seed)
    count = 2 + seed % 6
    pattern = rng.uniform(0, 60, (2, count))
    mirror = bool(seed % 2)
    measured = moved(pattern, rng.uniform(-180, 180), (5.0, 2.0), mirror=mirror)
    measured = measured + rng.normal(0, 0.08, pattern.shape)
    plays = rng.uniform(0.05, 0.3, count) if with_plays else None
    fit = least_worst_fit(pattern, measured, plays, mirror)
    start = rigid_fit(pattern, measured, None, mirror)
    middle = start.placed(pattern).mean(axis=1)

    def lacks(v: Floats) -> float:
        turned = moved(pattern, start.turn_deg + v[2], (0.0, 0.0), mirror=mirror)
        turned += (middle - turned.mean(axis=1))[:, None] + v[:2, None]
        errors = np.hypot(*(measured - turned))
        return float((errors - (0 if plays is None else plays)).max())

    best = min(
        minimize(
            lacks,
            rng.normal(0, 0.03, 3),
            method="Nelder-Mead",
            options={"xatol": 1e-8, "fatol": 1e-9, "maxiter": 2000},
        ).fun
        for _ in range(2)
    )
    assert lacking_mm(fit, plays) <= best + 1e-9
    assert_allclose(fit.residuals_mm, measured - fit.placed(pattern), atol=1e-9)


def test_a_square_with_one_corner_out_by_hand() -> None:
    """Two holes 40 apart measured 40.2 apart: the best that can be done is 0.1 at either."""
    pattern = np.array([[0.0, 40.0], [0.0, 0.0]])
    measured = np.array([[-0.1, 40.1], [0.0, 0.0]])
    fit = least_worst_fit(pattern, measured)
    assert fit.worst_mm == pytest.approx(0.1, abs=1e-9)
    assert rigid_fit(pattern, measured).rms_mm == pytest.approx(0.1, abs=1e-9)
    # with 0.15 of play at the one and none at the other, all of it goes to the one: 0.2 - 0.15
    lacking = lacking_mm(
        least_worst_fit(pattern, measured, np.array([0.0, 0.15])), np.array([0, 0.15])
    )
    assert lacking == pytest.approx(0.025, abs=1e-9)


def test_the_worst_hole_of_least_squares_is_never_better() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        measured = PATTERN + rng.normal(0, 0.1, PATTERN.shape)
        squares, worst = rigid_fit(PATTERN, measured), least_worst_fit(PATTERN, measured)
        assert worst.worst_mm <= squares.worst_mm + 1e-12
        assert squares.rms_mm <= worst.rms_mm + 1e-12


@pytest.mark.parametrize("fit", [rigid_fit, least_worst_fit])
def test_one_hole_has_a_shift_and_no_turn(fit: object) -> None:
    found = fit(np.array([[3.0], [4.0]]), np.array([[5.0], [1.0]]))  # type: ignore[operator]
    assert_allclose(found.shift_mm, [2, -3])
    assert (found.turn_deg, found.mirrored, found.worst_mm) == (0, False, 0)


@pytest.mark.parametrize("fit", [rigid_fit, least_worst_fit])
def test_holes_in_one_place_and_holes_in_one_line(fit: object) -> None:
    same = np.full((2, 3), 7.0)
    spread = same + np.array([[0.1, -0.1, 0.0], [0.0, 0.0, 0.0]])
    found = fit(same, spread)  # type: ignore[operator]
    assert found.turn_deg == 0
    assert_allclose(found.shift_mm, [0, 0], atol=1e-12)
    row = np.array([[0.0, 10.0, 30.0], [0.0, 0.0, 0.0]])
    found = fit(row, moved(row, 90, (1.0, 2.0), mirror=False))  # type: ignore[operator]
    assert not found.mirrored, "both hands fit alike: it stays as drawn"
    assert found.turn_deg == pytest.approx(90)
    measured_alike = fit(row, np.zeros((2, 3)))  # type: ignore[operator]
    assert np.isfinite(measured_alike.worst_mm)


def test_a_row_does_not_show_its_hand_and_a_triangle_does() -> None:
    assert hand_difference_mm(np.array([[0.0, 10.0, 30.0], [1.0, 2.0, 4.0]])) < 1e-12
    assert hand_difference_mm(np.array([[5.0], [5.0]])) == 0
    # as much as the mirrored fit of an exact pattern misses by
    wrong = rigid_fit(PATTERN, PATTERN, None, mirrored=True)
    assert hand_difference_mm(PATTERN) == pytest.approx(wrong.rms_mm, rel=1e-9)


def test_a_scale_comes_back_and_a_rigid_fit_has_none() -> None:
    measured = 1.016 * moved(PATTERN, 2.0, (0.0, 0.0), mirror=False) + 4.0
    fit = scaled_fit(PATTERN, measured)
    assert fit.scale == pytest.approx(1.016, abs=1e-12)
    assert_allclose(fit.undone(measured), PATTERN, atol=1e-9)
    assert rigid_fit(PATTERN, measured).scale == 1


def test_many_holes_are_fitted_too() -> None:
    rng = np.random.default_rng(8)
    pattern = rng.uniform(0, 300, (2, 10_000))
    measured = pattern + rng.uniform(-0.1, 0.1, pattern.shape)
    fit = least_worst_fit(pattern, measured, None, mirrored=False)
    assert 0.13 < fit.worst_mm < 0.1415  # the corners of a square of 0.2
