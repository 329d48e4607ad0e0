"""What errors look like: each slip planted, with holes that wander besides, and named again."""

import numpy as np
import pytest

from millprep.matching.slip_words import ShopFigures
from millprep.matching.slips import Likeness, likeness
from millprep.sums.fitting import Floats

SHOP = ShopFigures(finder_mm=10, leads_mm=(2.5, 2.5), backlash_mm=(0.2, 0.2))
PLACES = np.array(
    [
        [10.0, 50.0, 50.0, 10.0, 23.0, 37.5, 30.0, 64.0],
        [8.0, 8.0, 40.0, 40.0, 19.0, 26.0, 12.5, 31.0],
    ]
)
NAMES = tuple("ABCDEFGH")
MIRROR = np.array([[-1.0], [1.0]])


def wander(seed: int = 1, sigma_mm: float = 0.015) -> Floats:
    """As far as spotted and drilled holes wander (common practice)."""
    return np.random.default_rng(seed).normal(0, sigma_mm, PLACES.shape)


def turned(places: Floats, turn_deg: float) -> Floats:
    a = np.radians(turn_deg)
    return np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]) @ places


def looks(measured: Floats, shop: ShopFigures = SHOP, count: int = 8) -> Likeness:
    return likeness(PLACES[:, :count], measured[:, :count], NAMES[:count], shop)


@pytest.mark.parametrize("seed", range(5))
def test_small_errors_are_left_alone(seed: int) -> None:
    noise = np.random.default_rng(seed).uniform(-0.019, 0.019, PLACES.shape)
    found = looks(PLACES + noise)
    assert found.kind == "within noise"
    assert found.sentences == (
        "no error is larger than a reading may be wrong (0.020 mm): leave it",
    )


@pytest.mark.parametrize("count", [3, 4, 8])
def test_chance_is_seldom_taken_for_a_slip(count: int) -> None:
    """Errors that only scatter, as of marking out: named as a slip in at most one of ten."""
    kinds = [looks(PLACES + wander(seed, 0.1), count=count).kind for seed in range(40)]
    assert kinds.count("scatter") >= 36


@pytest.mark.parametrize("count", [3, 4, 8])
@pytest.mark.parametrize(
    ("shift", "words"),
    [((5, 0), "X +5.0"), ((0, -10), "Y -10.0"), ((2.5, 0), "X +2.5"), ((-5, 5), "X -5.0")],
)
def test_a_shift_is_named_by_what_measures_as_much(
    shift: tuple[float, float], words: str, count: int
) -> None:
    found = looks(PLACES + wander() * 0.5 + np.array(shift)[:, None], count=count)
    (sentence,) = found.sentences
    assert found.kind == "shift"
    rounded = sentence.replace("4.99", "5.00").replace("9.99", "10.00").replace("2.49", "2.50")
    assert words in rounded
    causes = {
        5: "edge finder radius left out or two turns of the handle",
        10: "edge finder radius applied the wrong way",
        2.5: "one turn of the handle",
    }
    assert causes[max(map(abs, shift))] in sentence


def test_a_shift_that_is_nothing_in_particular_has_no_cause() -> None:
    (sentence,) = looks(PLACES + wander() + np.array([[0.7], [0.4]])).sentences
    assert sentence.startswith("the whole pattern is shifted by X +0.7")
    assert "(" not in sentence


@pytest.mark.parametrize(
    ("turn", "words"),
    [
        (0.5, "the part was set out of square by 0.50 deg, anticlockwise"),
        (-2.0, "the part was set out of square by 2.00 deg, clockwise"),
        (180, "the part was set the wrong way round, end for end"),
        (90, "the part was set a quarter turn round, anticlockwise"),
    ],
)
def test_a_turn_is_named(turn: float, words: str) -> None:
    found = looks(turned(PLACES, turn) + wander(2, 0.004) + 20)
    assert found.kind == "turn"
    assert found.sentences[0].startswith(words)
    assert not found.mirrored


def test_a_mirrored_pattern_is_named() -> None:
    found = looks(PLACES * MIRROR + wander() + np.array([[80.0], [0.0]]))
    assert (found.kind, found.mirrored) == ("mirrored", True)
    assert found.sentences == (
        "the pattern is mirrored: seen from the other side, or of the opposite hand",
    )


@pytest.mark.parametrize(
    ("scales", "words"),
    [
        ((2.54 / 2.5, 2.54 / 2.5), "the pattern is 1.01"),
        ((2.5 / 2.54, 1.0), "along X the pattern is 0.984"),
    ],
)
def test_a_stretch_is_named(scales: tuple[float, float], words: str) -> None:
    found = looks(PLACES * np.array(scales)[:, None] + wander(3, 0.008))
    assert found.kind == "scale"
    assert words in found.sentences[0]
    assert "dial" in found.sentences[0]


def with_one(hole: int, axis: int, value: float) -> Floats:
    measured = PLACES + wander(4)
    measured[axis, hole] = value
    return measured


@pytest.mark.parametrize(
    ("measured", "words"),
    [
        (with_one(2, 0, 52.5), "C alone is off by X +2.5"),
        (with_one(2, 0, 52.5), "X one turn of the handle out"),
        (with_one(4, 0, 32.0), "X has two figures swapped"),  # 23 read as 32
        (with_one(4, 1, -19.0), "Y has the wrong sign"),
        (with_one(7, 0, 64 / 25.4), "X was read in the other unit"),
        (with_one(7, 0, 6.4), "X has the decimal point in the wrong place"),
        (with_one(7, 1, 19.0), "Y is the figure of another hole"),
    ],
)
def test_a_hole_that_is_off_by_itself_is_named(measured: Floats, words: str) -> None:
    found = looks(measured)
    assert found.kind == "one hole"
    assert words in found.sentences[-1]


def test_one_bad_hole_in_a_part_that_lies_askew() -> None:
    measured = turned(PLACES, 1.5) + np.array([[30.0], [12.0]]) + wander(5, 0.008)
    measured[1, 6] -= 2.5
    found = looks(measured)
    assert (found.kind, found.holes) == ("one hole", ("G",))
    assert found.sentences[0].startswith("the part was set out of square by 1.50 deg")
    assert found.sentences[1].endswith("Y one turn of the handle out")
    assert found.left_mm < 0.03


def test_two_readings_exchanged() -> None:
    measured = PLACES + wander(6)
    measured[:, [1, 5]] = measured[:, [5, 1]]
    found = looks(measured)
    assert (found.kind, found.holes) == ("exchanged", ("B", "F"))
    assert found.sentences == ("the readings of B and F are swapped",)


@pytest.mark.parametrize(
    ("off", "words"),
    [
        (0.2, "backlash: come up to from the other side"),
        (-2.5, "one turn of the handle out"),
        (0.9, "against the others: backlash, or the stop has moved"),
    ],
)
def test_some_holes_off_by_one_figure(off: float, words: str) -> None:
    measured = PLACES + wander(7)
    measured[0, [1, 4, 6]] += off
    found = looks(measured)
    assert (found.kind, found.holes) == ("group", ("B", "E", "G"))
    assert found.sentences[0].startswith("B, E and G are off by X ")
    assert words in found.sentences[0]


def test_two_holes_are_too_few_for_most_and_one_shows_a_shift() -> None:
    found = looks(PLACES + np.array([[0.1, -0.1, 0, 0, 0, 0, 0, 0], [0.0] * 8]), count=2)
    assert found.sentences == ("two holes are too few to show what went wrong",)
    one = looks(PLACES + 5.0, count=1)
    assert one.kind == "shift"


def test_figures_of_an_inch_part_are_shown_in_inches() -> None:
    shop = ShopFigures(finder_mm=12.7, units="inch")
    (sentence,) = looks(PLACES + wander() * 0.2 + np.array([[6.35], [0.0]]), shop).sentences
    assert "X +0.250" in sentence.replace("+0.249", "+0.250")
    assert " in (X: edge finder radius left out)" in sentence


def test_all_lengths_of_the_pattern_in_one_place_end_well() -> None:
    same = np.full((2, 4), 3.0)
    assert likeness(same, same + wander()[:, :4], "abcd", SHOP).sentences
    row = np.array([[0.0, 10, 20, 30], [0.0] * 4])
    assert not likeness(row, row + wander()[:, :4], "abcd", SHOP).mirrored


def test_a_mirrored_square_is_not_one_with_two_readings_exchanged() -> None:
    square = np.array([[0.0, 20.0, 20.0, 0.0], [0.0, 0.0, 20.0, 20.0]])
    found = likeness(square, square * MIRROR + 30 + wander()[:, :4] * 4, "ABCD", SHOP)
    assert (found.kind, found.mirrored) == ("mirrored", True)


def test_one_wild_reading_does_not_turn_the_hand() -> None:
    measured = PLACES + wander()
    measured[0, 4] = -150.0
    found = looks(measured)
    assert (found.kind, found.mirrored, found.holes) == ("one hole", False, ("E",))


@pytest.mark.parametrize("given", [1.0, 0.5, -0.6])
def test_nought_is_misread_in_no_way(given: float) -> None:
    """Small figures come near nought in any unit, with any digits, wherever the point stands."""
    places = PLACES - PLACES[:, [4]]
    measured = places.copy()
    measured[0, 4] = given
    found = likeness(places, measured, NAMES, ShopFigures())
    assert found.sentences == (f"E alone is off by X {given:+.3f} mm",)


def test_holes_that_were_read_in_one_place_are_no_pattern_that_shrank() -> None:
    corners = PLACES[:, :3]
    found = likeness(corners, np.full((2, 3), 7.0), "ABC", SHOP)
    assert (found.kind, found.holes) == ("scatter", ())
