"""From part axes to setup axes: six default lays and all 24, zeros, and the words that say so.

Outside reference for the rotations: scipy.spatial.transform.Rotation.
"""

import itertools
from pathlib import Path

import numpy as np
import pytest
from jobs import millprep, part_of, part_text, shop_of
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from millprep.base.findings import MillprepError
from millprep.infiles import read_part
from millprep.model.part import FACE_AXIS, FACES, Part, SetupRequest
from millprep.model.scene import Box, Disc
from millprep.model.shop import Shop
from millprep.planning import make_plan
from millprep.setting.holding import holding_of
from millprep.setting.setups import (
    Setup,
    default_towards_you,
    scene_of,
    setup_of,
    setups_of,
    side_of,
    stock_of,
)
from millprep.setting.zeroing import zeros_of
from millprep.sheets.figures import Figures
from millprep.sheets.holding_words import hold_lines
from millprep.sheets.setting_words import lies_line
from millprep.sheets.zero_words import zero_lines

HOLE = '[[hole]]\nname = "a"\ndrill = 4\nat = [10, 10]\ndepth = 5\n'
STOCK = "size = [60, 25.4, 19.05]"

# Outward normals, x left to right, y front to back, z bottom to top.
NORMALS = {
    "left": (-1, 0, 0), "right": (1, 0, 0), "front": (0, -1, 0), "back": (0, 1, 0),
    "bottom": (0, 0, -1), "top": (0, 0, 1),
}  # fmt: skip
# How a hand would turn the block from lying with TOP up: about the upright axis until the face
# wanted looks at you, then a quarter turn towards the back to bring it up.
TURNS = {
    "top": Rotation.identity(),
    "front": Rotation.from_euler("x", -90, degrees=True),
    "right": Rotation.from_euler("zx", [-90, -90], degrees=True),
    "back": Rotation.from_euler("zx", [180, -90], degrees=True),
    "left": Rotation.from_euler("zx", [90, -90], degrees=True),
    "bottom": Rotation.from_euler("x", 180, degrees=True),
}
LAYS = [
    (face, near)
    for face, near in itertools.product(FACES, FACES)
    if FACE_AXIS[face] != FACE_AXIS[near]
]


def a_part(setup: str = "", stock: str = STOCK, datum: str = 'x = "left"\ny = "front"') -> Part:
    return part_of(HOLE + setup, stock, datum=datum)


def lay(part: Part, face: str, **request: object) -> Setup:
    return setup_of(part, SetupRequest(face, **request), 1)  # type: ignore[arg-type]


@pytest.mark.parametrize("face", FACES)
def test_default_lays_are_the_turns_of_the_hand(face: str) -> None:
    assert_allclose(lay(a_part(), face).rotation, TURNS[face].as_matrix(), atol=1e-12)


def test_all_lays_are_the_24_rotations_of_a_cube() -> None:
    part = a_part()
    cube = Rotation.create_group("O").as_matrix()
    seen = set()
    for face, near in LAYS:
        rotation = lay(part, face, towards_you=near).rotation
        fitting = [
            index
            for index, matrix in enumerate(cube)
            if np.allclose(matrix @ NORMALS[face], (0, 0, 1))
            and np.allclose(matrix @ NORMALS[near], (0, -1, 0))
        ]
        assert len(fitting) == 1
        assert_allclose(rotation, cube[fitting[0]], atol=1e-12)
        seen.add(fitting[0])
    assert len(LAYS) == len(seen) == 24


@pytest.mark.parametrize(("face", "near"), LAYS)
def test_the_four_sides_are_where_the_rotation_puts_them(face: str, near: str) -> None:
    setup = lay(a_part(), face, towards_you=near)
    turned = {
        name: tuple(np.rint(setup.rotation @ normal).astype(int))
        for name, normal in NORMALS.items()
    }
    assert turned[setup.face] == (0, 0, 1)
    assert turned[setup.towards_you] == (0, -1, 0)
    assert turned[setup.away] == (0, 1, 0)
    assert turned[setup.left_hand] == (-1, 0, 0)
    assert turned[setup.right_hand] == (1, 0, 0)


@pytest.mark.parametrize(("face", "near"), LAYS)
@pytest.mark.parametrize("end", ["low", "high", "centre"])
def test_a_corner_goes_where_turning_about_the_zero_takes_it(
    face: str, near: str, end: str
) -> None:
    part = a_part()
    names = {0: ("left", "right"), 1: ("front", "back"), 2: ("bottom", "top")}
    standing = [axis for axis in range(3) if axis != FACE_AXIS[face]]
    size = np.array([60, 25.4, 19.05])
    zero = np.where([normal > 0 for normal in NORMALS[face]], size, 0.0)
    chosen = {}
    for axis in standing:
        chosen[axis] = {"low": names[axis][0], "high": names[axis][1], "centre": "centre"}[end]
        zero[axis] = {"low": 0.0, "high": size[axis], "centre": size[axis] / 2}[end]
    across = {axis for axis in standing if NORMALS[near][axis] == 0}
    (x_axis,), (y_axis,) = across, set(standing) - across
    setup = lay(part, face, towards_you=near, zero_x=chosen[x_axis], zero_y=chosen[y_axis])
    turn, _ = Rotation.align_vectors([(0, 0, 1), (0, -1, 0)], [NORMALS[face], NORMALS[near]])
    corners = np.array(list(itertools.product(*zip((0, 0, 0), size, strict=True))))
    expected = turn.apply(corners - zero)
    assert_allclose(setup.from_part(corners.T), expected.T, atol=1e-9)
    assert_allclose(setup.to_part(setup.from_part(corners.T)), corners.T, atol=1e-9)
    assert_allclose(setup.low_mm, expected.min(axis=0), atol=1e-9)
    assert_allclose(setup.high_mm, expected.max(axis=0), atol=1e-9)
    assert setup.high_mm[2] == 0.0


def test_one_point_goes_the_way_of_many() -> None:
    setup = lay(a_part(), "back")
    points = np.array([[1.0, 2.0], [3.0, 4.0], [5.0, 6.0]])
    for column in range(2):
        one = setup.from_part(points[:, column : column + 1])
        assert_allclose(one[:, 0], setup.from_part(points)[:, column])


def test_zero_lies_on_the_datum_faces_that_stand_upright() -> None:
    part = a_part(datum='x = "right"\ny = "back"\nz = "top"')
    for face, zeros in {
        "top": ("right", "back"),
        "front": ("right", "top"),
        "right": ("back", "top"),
        "back": ("right", "top"),
        "left": ("back", "top"),
        "bottom": ("right", "back"),
    }.items():
        setup = lay(part, face)
        assert (setup.zero_x, setup.zero_y) == zeros, face


def test_measured_stock_moves_the_far_faces() -> None:
    part = a_part(stock=STOCK + "\nmeasured = { y = 25.31 }", datum='x = "left"\ny = "back"')
    setup = lay(part, "top")
    assert_allclose(setup.low_mm, (0, -25.31, -19.05))
    assert_allclose(setup.high_mm, (60, 0, 0), atol=1e-12)
    # A hole counted from BACK keeps its distance from BACK, whatever the blank came out as.
    assert_allclose(setup.from_part(np.array(part.holes[0].centre_mm)[:, None])[:, 0], (10, -10, 0))


def test_centre_of_a_measured_blank() -> None:
    part = a_part(stock=STOCK + "\nmeasured = { x = 59.9 }", datum='x = "centre"\ny = "front"')
    setup = lay(part, "top")
    assert setup.low_mm[0] == pytest.approx(-29.95)
    assert setup.high_mm[0] == pytest.approx(29.95)


def test_readings_are_negative_when_zero_is_at_the_far_end() -> None:
    """With zero on the right-hand face the part lies at negative X (tool over the work)."""
    part = a_part(datum='x = "right"\ny = "front"')
    placed = lay(part, "top").from_part(np.array([[50.0], [10.0], [19.05]]))
    assert_allclose(placed[:, 0], (-10, 10, 0))


LIES = {
    "top": "TOP up, FRONT towards you, LEFT to your left.",
    "bottom": "BOTTOM up, BACK towards you, LEFT to your left.",
    "front": "FRONT up, BOTTOM towards you, LEFT to your left.",
    "back": "BACK up, BOTTOM towards you, RIGHT to your left.",
    "left": "LEFT up, BOTTOM towards you, BACK to your left.",
    "right": "RIGHT up, BOTTOM towards you, FRONT to your left.",
}
# A finder of 10 mm stands 5 mm outside the face it touches; outside is minus at the left hand and
# towards you, plus at the right hand and away.
ZERO = {
    "top": ("LEFT", "left hand", "-5.000", "FRONT", "towards you", "-5.000"),
    "bottom": ("LEFT", "left hand", "-5.000", "FRONT", "away", "5.000"),
    "front": ("LEFT", "left hand", "-5.000", "BOTTOM", "towards you", "-5.000"),
    "back": ("LEFT", "right hand", "5.000", "BOTTOM", "towards you", "-5.000"),
    "left": ("FRONT", "right hand", "5.000", "BOTTOM", "towards you", "-5.000"),
    "right": ("FRONT", "left hand", "-5.000", "BOTTOM", "towards you", "-5.000"),
}
# Jaws of 30 mm, parallels by 2 mm: of the grip wanted, max(8, height / 3), 8.47 comes out as 10.
HOLD = {
    "top": ("8 mm", "BACK", "LEFT"),
    "bottom": ("8 mm", "FRONT", "LEFT"),
    "front": ("10 mm", "TOP", "LEFT"),
    "back": ("10 mm", "TOP", "LEFT"),
    "left": ("20 mm", "TOP", "FRONT"),
    "right": ("20 mm", "TOP", "FRONT"),
}


@pytest.mark.parametrize("face", FACES)
def test_words_of_the_default_lays(face: str) -> None:
    part, shop = a_part(), shop_of()
    figures = Figures("mm", shop.readout)
    setup = lay(part, face)
    assert str(lies_line(setup)) == LIES[face]
    on_x, side_x, set_x, on_y, side_y, set_y = ZERO[face]
    held = holding_of(part, shop, setup)
    zeros = zeros_of(part, shop, setup, held)
    on, x, y, *_ = map(str, zero_lines(part, shop, setup, figures, zeros))
    assert on == f"X on {on_x}, Y on {on_y}, 10 mm edge finder:"
    assert x.startswith(f"pick up {on_x}, set X = {set_x}; ")
    assert y.startswith(f"pick up {on_y}, set Y = {set_y}; ")
    assert (side_of(setup, on_x.lower()), side_of(setup, on_y.lower())) == (side_x, side_y)
    grip, fixed, stop = HOLD[face]
    assert f"{fixed} against the fixed jaw, {stop} up against the stop, {grip} in the jaws" in str(
        hold_lines(part, shop, setup, figures, held)[0]
    )


def held_on_top(part: Part, shop: Shop, **more: object) -> str:
    setup = lay(part, "top", **more)
    held = holding_of(part, shop, setup)
    return str(hold_lines(part, shop, setup, Figures("mm", shop.readout), held)[0])


def zeroed_on_top(part: Part, shop: Shop) -> tuple[str, ...]:
    setup = lay(part, "top")
    zeros = zeros_of(part, shop, setup, holding_of(part, shop, setup))
    return tuple(map(str, zero_lines(part, shop, setup, Figures("mm", shop.readout), zeros)[1:]))


def test_fixed_jaw_towards_you_and_jaws_along_x() -> None:
    part = a_part()
    shop = shop_of('[vice]\nfixed_jaw = "towards you"')
    assert "FRONT against the fixed jaw, LEFT up against the stop" in held_on_top(part, shop)
    along_x = held_on_top(part, shop, jaws="x")
    assert "RIGHT against the fixed jaw, FRONT up against the stop" in along_x


def test_zero_on_the_centre_gives_both_touches() -> None:
    part = a_part(datum='x = "centre"\ny = "front"')
    shop = shop_of()
    lines = zeroed_on_top(part, shop)
    assert lines[0] == "pick up LEFT, set X = -35.000; RIGHT should read +35.000"


def test_a_reversed_readout_turns_the_preset() -> None:
    part = a_part()
    shop = shop_of('[readout]\nreversed = ["y"]')
    lines = zeroed_on_top(part, shop)
    assert lines[0].startswith("pick up LEFT, set X = -5.000")
    assert lines[1].startswith("pick up FRONT, set Y = 5.000; BACK should read -")


@pytest.mark.parametrize(
    ("face", "request_words", "message", "remedy"),
    [
        (
            "front",
            {"towards_you": "back"},
            "back cannot be towards you when front is up",
            "give one of the four faces that stand upright",
        ),
        (
            "top",
            {"zero_x": "front"},
            "zero x is on front, which does not stand across X when top is up and front is "
            "towards you",
            'give x = "left", "right" or "centre"',
        ),
        (
            "right",
            {"zero_y": "left"},
            "zero y is on left, which does not stand across Y when right is up and bottom is "
            "towards you",
            'give y = "bottom", "top" or "centre"',
        ),
    ],
)
def test_contradictions_are_told(
    face: str, request_words: dict[str, str], message: str, remedy: str
) -> None:
    with pytest.raises(MillprepError) as caught:
        lay(a_part(), face, **request_words)
    (finding,) = caught.value.findings
    assert (finding.kind, finding.message, finding.remedy) == ("contradiction", message, remedy)


def test_setups_as_written_then_the_others_in_face_order() -> None:
    holes = "".join(
        f'[[hole]]\nname = "h{n}"\nface = "{face}"\ndrill = 3\nat = [9, 9]\ndepth = 4\n'
        for n, face in enumerate(("right", "bottom", "left", "top"))
    )
    part = part_of(holes + '[[setup]]\nface = "left"\n', STOCK)
    found = [(setup.number, setup.face) for setup in setups_of(part)]
    assert found == [(1, "left"), (2, "top"), (3, "bottom"), (4, "right")]


def test_a_far_feature_and_both_ends_want_the_other_face_too() -> None:
    through = 'at = [9, 9]\ndepth = "through"\n'
    far = f'[[hole]]\nclear = "M4"\n{through}far = {{ countersink = {{ diameter = 9 }} }}\n'
    both = f'[[hole]]\nface = "left"\ndrill = 5\n{through}from_both_ends = true\n'
    assert [s.face for s in setups_of(part_of(far))] == ["top", "bottom"]
    assert [s.face for s in setups_of(part_of(both))] == ["left", "right"]


def test_default_towards_you_looks_square_at_the_face() -> None:
    assert [default_towards_you(face) for face in FACES] == [
        "front",
        "back",
        "bottom",
        "bottom",
        "bottom",
        "bottom",
    ]


def test_safe_height_clears_the_highest_obstacle() -> None:
    obstacle = (
        '[[setup]]\nface = "top"\n[[setup.obstacle]]\nname = "strap"\n'
        "from = [-20, 0, -10]\nto = [0, 20, {z}]\n"
    )
    assert setups_of(a_part(obstacle.format(z=3)))[0].safe_height_mm == 10
    assert setups_of(a_part(obstacle.format(z=15)))[0].safe_height_mm == 20


def test_a_disc_in_its_setups() -> None:
    part = part_of(
        HOLE, 'diameter = 40\nlength = 6\nbore = 8\naxis = "z"', datum='x = "centre"\ny = "centre"'
    )
    upright = stock_of(part, lay(part, "top"))
    assert isinstance(upright, Disc)
    assert (upright.axis, upright.radius_mm, upright.bore_mm) == (2, 20, 8)
    assert upright.low_mm == (-20, -20, -6)
    lying = stock_of(part, lay(part, "front"))
    assert isinstance(lying, Disc)
    assert (lying.axis, lying.radius_mm) == (1, 20)
    assert isinstance(stock_of(a_part(), lay(a_part(), "top")), Box)


def test_earlier_holes_are_in_the_scene_of_a_later_setup() -> None:
    holes = (
        '[[hole]]\nname = "down"\ndrill = 4\nat = [10, 10]\ndepth = 15\n'
        '[[hole]]\nname = "side"\nface = "front"\ndrill = 3\nat = [10, 12]\ndepth = 6\n'
    )
    part = part_of(holes, STOCK)
    top, front = setups_of(part)
    assert scene_of(part, top).drilled == ()
    (room,) = scene_of(part, front).drilled
    assert room.diameter_mm == 4
    # Lying along Y of the front setup: top is away at 19.05, 15 mm down towards BOTTOM.
    assert_allclose(room.start_mm, (10, 19.05, -10))
    assert_allclose(room.end_mm, (10, 4.05, -10))


def test_a_setup_without_work_is_left_out_and_said(tmp_path: Path) -> None:
    hole = '[[hole]]\nname = "a"\ndrill = 5\nat = [20, 20]\ndepth = 5\n'
    text = f'{part_text(hole, lay="chosen")}\n[[setup]]\nface = "front"\n[[setup]]\nface = "top"\n'
    path = tmp_path / "part.toml"
    path.write_text(text, encoding="utf-8")
    part, _ = read_part(path)
    assert [(setup.number, setup.face) for setup in setups_of(part)] == [(1, "top")]
    plan = make_plan(part, shop_of())
    assert [f.message for f in plan.findings if f.kind == "idle-setup"] == [
        "the setup with FRONT up has no work and is left out"
    ]
    assert millprep("listing", path).status == 0
