"""The chance that screws enter: closed forms, another solver, a real turn, order in the answers."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import minimize

from millprep.base.findings import MillprepError, WordError
from millprep.infiles import read_shop
from millprep.model.shop import FROM_THE_OTHER_PART, POSITION_METHODS, PositionMethod
from millprep.reference.clearance import clearance_for
from millprep.sizes import read_thread
from millprep.sums.chance import (
    SEED,
    TRIALS,
    chance_of,
    cheapest_method,
    free_play_mm,
    next_clearance,
    spreads_mm,
)
from millprep.sums.least_play import play_needed

M3 = read_thread("M3")
COVER = np.array([[0, 60, 60, 0], [0, 0, 40, 40.0]])  # four screws on 60 x 40
Dice = np.random.Generator
THREE_ERRORS = 3


@pytest.fixture
def dice() -> Dice:
    return np.random.default_rng(8)


# --- the least play, trial by trial


def least_by_scipy(places: np.ndarray, misses: np.ndarray, plays: np.ndarray) -> float:
    """The same sum for one trial by sequential quadratic programming (scipy, SLSQP)."""
    x, y = places - places.mean(axis=1, keepdims=True)
    lever = np.array([-y, x]) / 30

    def off(at: np.ndarray) -> np.ndarray:
        return (misses + at[:2, None] + at[2] * lever) / plays

    def room(at: np.ndarray) -> np.ndarray:
        return at[3] - (off(at) ** 2).sum(axis=0)

    def slope(at: np.ndarray) -> np.ndarray:
        turn = (off(at) * lever / plays).sum(axis=0)
        return np.stack([*(-2 * off(at) / plays), -2 * turn, np.ones(len(plays))], axis=1)

    start = np.array([0, 0, 0, 1.01 * (off(np.zeros(3)) ** 2).sum(axis=0).max()])
    best = minimize(
        lambda at: at[3],
        start,
        jac=lambda at: np.array([0, 0, 0, 1.0]),
        method="SLSQP",
        constraints={"type": "ineq", "fun": room, "jac": slope},
        options={"ftol": 1e-14, "maxiter": 500},
    )
    return math.sqrt(best.x[3])


@pytest.mark.parametrize("count", [2, 3, 4, 6, 12])
def test_the_least_play_agrees_with_another_solver(dice: Dice, count: int) -> None:
    places, plays = dice.uniform(0, 60, (2, count)), dice.uniform(0.05, 0.4, count)
    misses = dice.normal(0, 0.1, (2, 25, count))
    theirs = [least_by_scipy(places, misses[:, trial], plays) for trial in range(25)]
    assert_allclose(play_needed(places, misses, plays), theirs, rtol=1e-6)


def test_the_small_turn_is_true_to_a_thousandth(dice: Dice) -> None:
    """Against a real turn by the same outside solver, errors of 0.15 on a cover of 60 x 40."""
    misses = dice.normal(0, 0.15, (2, 25, 4))
    found = play_needed(COVER, misses, np.ones(4))
    middle = COVER - COVER.mean(axis=1, keepdims=True)

    def room(at: np.ndarray, missed: np.ndarray) -> np.ndarray:
        turn = at[2] / 36  # radians, in lengths at the corner
        turned = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        off = turned @ middle - middle + missed + at[:2, None]
        return at[3] - (off**2).sum(axis=0)

    for trial in range(25):
        best = minimize(
            lambda at: at[3],
            np.array([0, 0, 0, 1.0]),
            method="SLSQP",
            constraints={"type": "ineq", "fun": room, "args": (misses[:, trial],)},
            options={"ftol": 1e-12, "maxiter": 500},
        )
        assert found[trial] == pytest.approx(math.sqrt(best.x[3]), abs=0.001)


def test_a_part_that_is_only_shifted_and_turned_needs_no_play() -> None:
    shift, turn = np.array([0.3, -0.2]), 1e-3
    misses = shift[:, None, None] + turn * np.array([-COVER[1], COVER[0]])[:, None, :]
    assert_allclose(play_needed(COVER, misses, np.full(4, 0.1)), 0, atol=1e-7)


def test_two_screws_share_the_error_of_their_distance(dice: Dice) -> None:
    """Each takes half of how far the centre distance is off: the rest is shift and turn."""
    places = np.array([[0, 50], [0, 0.0]])
    misses = dice.normal(0, 0.1, (2, 200, 2))
    apart = np.abs(misses[0, :, 1] - misses[0, :, 0])
    assert_allclose(play_needed(places, misses, np.ones(2)), apart / 2, rtol=1e-6, atol=1e-7)
    assert_allclose(  # unlike plays: in their proportion
        play_needed(places, misses, np.array([1.0, 3.0])), apart / 4, rtol=1e-6, atol=1e-7
    )


@pytest.mark.parametrize(
    "places",
    [
        np.zeros((2, 3)),  # one place three times
        np.array([[0, 10, 20], [0, 0, 0.0]]),  # a row
        np.array([[0, 1e-9, 20], [0, 0, 0.0]]),  # two that nearly coincide
    ],
)
def test_odd_patterns_are_solved_too(dice: Dice, places: np.ndarray) -> None:
    misses = dice.normal(0, 0.1, (2, 50, 3))
    plays = np.array([0.2, 0.1, 0.4])
    theirs = [least_by_scipy(places, misses[:, trial], plays) for trial in range(50)]
    assert_allclose(play_needed(places, misses, plays), theirs, rtol=1e-5)


def test_one_trial_has_the_answer_it_has_among_many(dice: Dice) -> None:
    misses = dice.normal(0, 0.1, (2, 300, 4))
    plays = np.array([0.2, 0.1, 0.2, 0.3])
    alone = [play_needed(COVER, misses[:, [trial]], plays)[0] for trial in range(0, 300, 60)]
    assert_allclose(play_needed(COVER, misses, plays)[::60], alone, rtol=1e-6)


def test_what_must_not_matter_does_not(dice: Dice) -> None:
    """A shift and turn of everything, the order of the screws, the unit; and a screw more."""
    places, plays = dice.uniform(0, 60, (2, 5)), dice.uniform(0.1, 0.4, 5)
    misses = dice.normal(0, 0.1, (2, 200, 5))
    found = play_needed(places, misses, plays)
    shifts, turns = dice.normal(0, 0.5, (2, 200, 1)), dice.normal(0, 0.01, (200, 1))
    moved = misses + shifts + np.array([-turns * places[1], turns * places[0]])
    assert_allclose(play_needed(places, moved, plays), found, rtol=1e-6)
    order = dice.permutation(5)
    assert_allclose(
        play_needed(places[:, order], misses[:, :, order], plays[order]), found, rtol=1e-6
    )
    assert_allclose(play_needed(places / 25.4, misses / 25.4, plays / 25.4), found, rtol=1e-6)
    assert_allclose(play_needed(places, 3 * misses, plays), 3 * found, rtol=1e-6)
    assert_allclose(play_needed(places, misses, plays / 2), 2 * found, rtol=1e-6)
    fewer = play_needed(places[:, :4], misses[:, :, :4], plays[:4])
    assert np.all(fewer <= found * (1 + 1e-6)) and np.any(fewer < 0.9 * found)


def test_nothing_missed_needs_nothing() -> None:
    assert not play_needed(COVER, np.zeros((2, 5, 4)), np.full(4, 0.2)).any()
    assert not play_needed(np.zeros((2, 1)), np.ones((2, 5, 1)), np.ones(1)).any()


# --- the chance


@pytest.mark.parametrize("play_mm", [0.05, 0.1, 0.15, 0.2, 0.3, 0.5])
@pytest.mark.parametrize("count", [1, 4])
def test_held_in_place_it_is_the_closed_form(play_mm: float, count: int) -> None:
    """One screw: 1 - exp(-c^2 / (2 s^2)), Rayleigh's distribution; several: its power."""
    spread_mm = 0.1
    rayleigh = (1 - math.exp(-(play_mm**2) / (2 * spread_mm**2))) ** count
    found = chance_of(COVER[:, :count], [play_mm] * count, spread_mm, trials=20_000)
    assert abs(found.held_share - rayleigh) <= THREE_ERRORS * found.held_error
    assert (found.trials, found.seed) == (20_000, SEED)


def test_two_free_screws_have_a_closed_form() -> None:
    """Half the error of the centre distance, normal with s sqrt(2): erf(c / s)."""
    for play_mm in (0.02, 0.05, 0.1, 0.2):
        found = chance_of(COVER[:, :2], [play_mm] * 2, 0.1)
        assert abs(found.share - math.erf(play_mm / 0.1)) <= THREE_ERRORS * found.standard_error


def test_one_free_screw_always_goes_in() -> None:
    found = chance_of([[5.0], [7.0]], [0.01], 0.4)
    assert found.share == 1 and 0 < found.standard_error < 1e-3


@pytest.mark.parametrize(
    ("hole_mm", "spread_mm", "held_percent", "free_percent"),
    [(3.4, 0.1, 16, 70), (3.4, 0.03, 100, 100), (3.2, 0.1, 0, 10), (3.2, 0.03, 77, 99)],
)
def test_a_cover_of_four_m3(hole_mm, spread_mm, held_percent, free_percent) -> None:
    """Another simulation, of 1500 trials (whole percent), each part off by that spread: a check of
    size, since its own standard error is as much as 1.2 percent."""
    play_mm = free_play_mm(3, hole_mm)
    found = chance_of(COVER, [play_mm] * 4, spread_mm, spread_mm)
    assert abs(100 * found.held_share - held_percent) < 4
    assert abs(100 * found.share - free_percent) < 4


def test_more_play_never_makes_it_worse() -> None:
    """Exactly, since the same trials serve each play; for one screw of the four as well."""
    plays = np.linspace(0.02, 0.5, 30)
    alike = [chance_of(COVER, [play] * 4, 0.1, trials=2000) for play in plays]
    one = [chance_of(COVER, [0.15, 0.15, play, 0.15], 0.1, trials=2000) for play in plays[::3]]
    for row in (alike, one):
        assert all(a.share <= b.share and a.held_share <= b.held_share for a, b in pairwise(row))
    assert alike[0].share < 0.1 and alike[-1].share == 1
    spreads = [chance_of(COVER, [0.2] * 4, spread, trials=2000).share for spread in plays]
    assert spreads == sorted(spreads, reverse=True)


def test_free_parts_go_together_where_held_ones_do() -> None:
    for play_mm in (0.1, 0.2, 0.3):
        found = chance_of(COVER, [play_mm, 0.2, 0.1, 0.2], 0.08, trials=2000)
        assert found.share >= found.held_share


def test_the_standard_error_is_that_of_repeated_runs() -> None:
    """Thirty seeds scatter as the figure says, within what thirty can tell."""
    runs = [chance_of(COVER, [0.2] * 4, 0.1, 0.1, trials=1000, seed=seed) for seed in range(30)]
    assert len({run.share for run in runs}) > 10
    scatter = np.std([run.share for run in runs], ddof=1)
    assert scatter == pytest.approx(runs[0].standard_error, rel=0.4)
    again = chance_of(COVER, [0.2] * 4, 0.1, 0.1, trials=1000, seed=3)
    assert again == runs[3]


def test_several_loose_parts_on_one_mate() -> None:
    """Each has the chance of one, they share the mate's errors, so all are likelier than alone."""
    one = chance_of(COVER, [0.2] * 4, 0.1, 0.1)
    two = chance_of(COVER, [[0.2] * 4] * 2, 0.1, 0.1)
    assert one.share**2 + 3 * two.standard_error < two.share < one.share
    apart = chance_of(COVER, [[0.2] * 4] * 2, 0.1, 0.0)
    alone = chance_of(COVER, [0.2] * 4, 0.1, 0.0)
    assert apart.share == pytest.approx(alone.share**2, abs=4 * apart.standard_error)


def test_a_screw_that_does_not_pass_leaves_no_chance() -> None:
    for plays in ([0.2, 0.2, -0.1, 0.2], [0.2, 0.2, 0.0, 0.2]):
        found = chance_of(COVER, plays, 0.05, trials=500)
        assert found.share == found.held_share == 0
    assert chance_of(COVER, [0.0] * 4, 0.0, trials=500).share == 1  # nothing missed
    assert chance_of(COVER, [-0.01] * 4, 0.0, trials=500).share == 0


# --- plays and methods


def test_free_play() -> None:
    assert free_play_mm(3, 3.4) == pytest.approx(0.2)  # tapped mate
    assert free_play_mm(3, 3.4, 3.6) == pytest.approx(0.5)  # screw and nut


def test_every_method_has_its_error_in_the_packaged_shops() -> None:
    assert set(POSITION_METHODS) == set(get_args(PositionMethod))
    metric, inch = (read_shop(name).position_errors_mm for name in ("metric", "inch"))
    assert list(metric) == list(inch) == list(POSITION_METHODS)
    for method in POSITION_METHODS:  # the same habits, in round figures of either kind
        assert inch[method] == pytest.approx(metric[method], abs=0.02)
    assert metric["rule"] == 0.4 and metric["reamed together"] == 0


def test_errors_of_methods_become_spreads() -> None:
    errors = read_shop().position_errors_mm
    assert spreads_mm(errors, "dials", "rule") == (0.025, 0.2)
    for method in FROM_THE_OTHER_PART:  # the mate's own miss is followed
        assert spreads_mm(errors, method, "rule") == (errors[method] / 2, 0)
        assert spreads_mm(errors, "rule", method) == (errors[method] / 2, 0)
    with pytest.raises(WordError, match='the shop has no "program"'):
        spreads_mm({"dials": 0.05}, "dials", "program")


def test_the_cheapest_method_reaches_it_and_no_cheaper_one_does() -> None:
    errors = read_shop().position_errors_mm
    for play_mm in (0.2, 0.1, 0.05, 0.03):
        found = cheapest_method(COVER, [play_mm] * 4, errors)
        assert found is not None and found.chance.share >= 0.95
        for method in POSITION_METHODS:
            if method == found.words:
                break
            spreads = spreads_mm(errors, method, method)
            assert chance_of(COVER, [play_mm] * 4, *spreads).share < 0.95
    assert cheapest_method(COVER, [0.01] * 4, {"rule": 0.4, "dials": 0.05}) is None


def test_the_next_clearance_is_larger_and_enough() -> None:
    """ISO 273 for M3: 3.2, 3.4, 3.6."""
    clearance = clearance_for(M3)
    assert clearance is not None
    found = next_clearance(COVER, M3, 3.2, 1, 0.065, 0.065)
    assert found is not None and found.words == "normal (3.4 mm)" and found.hole_mm == 3.4
    assert found.chance.share >= 0.95 > chance_of(COVER, [0.1] * 4, 0.065, 0.065).share
    assert found.chance == chance_of(COVER, [free_play_mm(3, 3.4)] * 4, 0.065, 0.065)
    loose = next_clearance(COVER, M3, 3.2, 1, 0.08, 0.08)
    assert loose is not None and loose.hole_mm == clearance.loose_mm
    assert next_clearance(COVER, M3, 3.2, 1, 0.2, 0.2) is None
    both = next_clearance(COVER, M3, 3.2, 2, 0.1, 0.1)  # both parts opened: twice the play
    assert both is not None and both.hole_mm == 3.4
    assert next_clearance(COVER, read_thread("G1/4"), 3.2, 1, 0.01) is None


def test_a_shop_file_has_errors_of_its_own(tmp_path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text('[position_error]\ndials = 0.08\nprogram = "none"\nreadout = "0.001 in"\n')
    errors = read_shop(str(path)).position_errors_mm
    assert errors["dials"] == 0.08 and errors["readout"] == pytest.approx(0.0254)
    assert "program" not in errors and errors["rule"] == 0.4


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("dials = 50", "dials: 50 is no typical error of a hole's place"),
        ("dials = -0.1", "-0.1 is no typical error"),
        ('dials = "fine"', "fine"),
        ("dial = 0.1", "dials"),
    ],
)
def test_errors_that_are_none_are_refused_with_their_line(tmp_path, line, said) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(f"[position_error]\n{line}\n")
    with pytest.raises(MillprepError) as refused:
        read_shop(str(path))
    (finding,) = refused.value.findings
    assert finding.line == 2
    assert said in str(finding)


def test_the_page_shows_what_is_worked_out() -> None:
    """The table of docs/chance.md, whole percents."""
    page = (Path(__file__).parents[1] / "docs" / "chance.md").read_text("utf-8")
    errors = read_shop().position_errors_mm
    for method in POSITION_METHODS:
        cells = []
        for hole_mm in (3.2, 3.4, 3.6):
            plays = [free_play_mm(3, hole_mm)] * 4
            found = chance_of(COVER, plays, *spreads_mm(errors, method, method))
            cells.append(f"{found.share:.0%} ({found.held_share:.0%})".replace("%", " %"))
        assert f"| {method} | {' | '.join(cells)} |" in page
    found = chance_of(COVER, [0.2] * 4, 0.1, 0.1)
    assert f"{found.share:.1%} (+/- {found.standard_error:.1%})" == "69.0% (+/- 0.5%)"
    assert f"fixed seed, {SEED}," in page and TRIALS == 10_000
