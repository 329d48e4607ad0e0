"""From one lay to the next: the words that a hand is told do what the lays ask for.

Outside reference for rotations: scipy.spatial.transform.Rotation; the words are read here by a
parser that knows nothing of what wrote them.
"""

from __future__ import annotations

import itertools
import re
from typing import Literal

import numpy as np
import pytest
from jobs import RICH, RICH_STOCK, part_of, plan_of, setups_of
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from millprep.infiles import read_part, read_shop
from millprep.model.part import FACE_AXIS, FACES, Face, SetupRequest
from millprep.planning import make_plan
from millprep.setting.setups import Setup, setup_of
from millprep.setting.turning import Move, moves_between
from millprep.sheets.document import Sentence
from millprep.sheets.listing import make_listing
from millprep.sheets.setting_words import move_slots
from millprep.witness import Lay, frame_of
from millprep.witness.listing import check_listing
from millprep.writers import written

PART = part_of("[[hole]]\ndrill = 4\nat = [10, 10]\ndepth = 5\n", "size = [60, 25.4, 19.05]")
LAYS = [
    (face, near)
    for face, near in itertools.product(FACES, FACES)
    if FACE_AXIS[face] != FACE_AXIS[near]
]
# Outward normals, x left to right, y front to back, z bottom to top.
NORMALS = {
    "left": (-1, 0, 0), "right": (1, 0, 0), "front": (0, -1, 0), "back": (0, 1, 0),
    "bottom": (0, 0, -1), "top": (0, 0, 1),
}  # fmt: skip
# Places at the machine: X to the right hand, Y away, Z up (ISO 841, tool over the work).
PLACES = {
    "to your right": (1, 0, 0),
    "to your left": (-1, 0, 0),
    "away from you": (0, 1, 0),
    "towards you": (0, -1, 0),
}
OVER = {"front to back": (1, 0, 0), "end for end, as a page is turned": (0, 1, 0)}
"""What is rolled over front to back turns about the axis from hand to hand; a page that lies before
a reader about the one that leads away."""


def lay(face: Face, near: Face) -> Setup:
    return setup_of(PART, SetupRequest(face, towards_you=near), 1)


def turn_words(moves: tuple[Move, ...], jaws: Literal["x", "y"] | None) -> str:
    told = [str(Sentence("setting", "move", move_slots(move, jaws))) for move in moves]
    return ", then ".join(told) or "leave it as it is"


def rotation_in(words: str) -> Rotation:
    """What the hand does, told from what it sees: which way the upper side goes."""
    whole = Rotation.identity()
    if words == "leave it as it is":
        return whole
    for words_of_one in words.split(", then "):
        whole = one_move(words_of_one) * whole
    return whole


def one_move(words: str) -> Rotation:
    if "on the table" in words:
        if "half round" in words:
            return Rotation.from_euler("z", 180, degrees=True)
        # As you look down on it, anticlockwise is from X towards Y.
        return Rotation.from_euler("z", -90 if " clockwise" in words else 90, degrees=True)
    if over := re.fullmatch(r"roll it over (.+) \(underside comes up\)", words):
        return Rotation.from_rotvec(np.pi * np.array(OVER[over[1]]))
    tipped = re.fullmatch("tip it (sideways )?a quarter turn (.+)", words)
    assert tipped is not None and (tipped[1] is not None) == tipped[2].startswith("to your")
    goes_to = np.array(PLACES[tipped[2]])  # the side that is up
    return Rotation.from_rotvec(np.pi / 2 * np.cross((0, 0, 1), goes_to))


@pytest.mark.parametrize("jaws", ["x", "y", None])
def test_the_words_turn_every_lay_into_every_other(jaws: Literal["x", "y"] | None) -> None:
    most = 0
    for before, after in itertools.product(LAYS, LAYS):
        moves = moves_between(lay(*before), lay(*after))
        turn = rotation_in(turn_words(moves, jaws))
        was, _ = Rotation.align_vectors(
            [(0, 0, 1), (0, -1, 0)], [NORMALS[before[0]], NORMALS[before[1]]]
        )
        is_now = turn * was
        assert_allclose(is_now.apply(NORMALS[after[0]]), (0, 0, 1), atol=1e-9)
        assert_allclose(is_now.apply(NORMALS[after[1]]), (0, -1, 0), atol=1e-9)
        most = max(most, len(moves))
    assert most == 2


def test_one_move_where_one_does() -> None:
    """Ten of the 24 rotations are a turn about one axis of the machine; the others take two."""
    counts = [len(moves_between(lay("top", "front"), lay(*after))) for after in LAYS]
    assert sorted(counts) == [0] + 9 * [1] + 14 * [2]


def test_end_for_end_keeps_the_face_on_the_fixed_jaw() -> None:
    """Turned about the axis square to the jaws, the same face stays on the fixed jaw; rolled about
    the axis along them, the same end stays at the stop (common practice)."""
    top, end_for_end = lay("top", "front"), lay("bottom", "front")
    assert turn_words(moves_between(top, end_for_end), "y") == (
        "roll it over end for end, as a page is turned (underside comes up)"
    )
    assert (top.away, top.left_hand) == ("back", "left")
    assert (end_for_end.away, end_for_end.left_hand) == ("back", "right")
    rolled = lay("bottom", "back")
    assert turn_words(moves_between(top, rolled), "y") == (
        "roll it over front to back (underside comes up)"
    )
    assert (rolled.away, rolled.left_hand) == ("front", "left")
    for jaws, beside in (("y", "square"), ("x", "along"), (None, None)):
        (move,) = moves_between(top, end_for_end)
        assert move_slots(move, jaws)["also"]["jaws"] == beside  # type: ignore[arg-type]


def test_every_setup_but_the_first_tells_how_to_come_to_it() -> None:
    setups = setups_of(plan_of(RICH, RICH_STOCK))
    assert len(setups) == 6
    assert "TURN" not in setups[0]["said"]
    for before, after in itertools.pairwise(setups):
        (turn,) = after["said"]["TURN"]
        assert turn.startswith(
            "deburr every hole and wipe the part first. "
            f"From {before['face'].upper()} up, {before['towards_you'].upper()} towards you: "
        )
        words = turn.split("towards you: ", 1)[1].split(". ")[0]
        frames = [
            frame_of(Lay(one["face"], one["towards_you"], "centre", "centre"), PART)
            for one in (before, after)
        ]
        assert_allclose(rotation_in(words).as_matrix() @ frames[0].T, frames[1].T, atol=1e-9)


def test_what_comes_to_jaw_and_stop_is_told() -> None:
    second = setups_of(plan_of(RICH, RICH_STOCK))[1]
    assert second["face"] == "bottom"
    assert second["said"]["TURN"][0].endswith(
        "roll it over front to back (underside comes up). FRONT now against the fixed jaw, LEFT "
        "still at the stop."
    )


def test_a_stop_that_changes_its_side_is_said_to() -> None:
    """LEFT up with FRONT at the right hand, then end for end: FRONT lies at the left hand."""
    part, _ = read_part("parts/tie-bar.toml")
    first, *others = setups_of(make_plan(part, read_shop("metric")), "inch")
    assert "TURN" not in first["said"]
    assert [one["said"]["TURN"][0].split("fixed jaw, ")[-1] for one in others] == [
        "FRONT now at the stop, which moves to your right.",
        "FRONT still at the stop, which moves to your left.",
    ]


@pytest.mark.parametrize(
    ("old", "new", "is_not"),
    [
        (", which moves to your left", "", "None, not left hand"),
        ("which moves to your left", "which moves to your right", "right hand, not left hand"),
        (
            "still at the stop.",
            "still at the stop, which moves to your left.",
            "left hand, not None",
        ),
    ],
)
def test_a_stop_said_to_stand_elsewhere_is_found(old: str, new: str, is_not: str) -> None:
    part, _ = read_part("parts/tie-bar.toml" if "moves" in old else "parts/column-left.toml")
    shop = read_shop("metric")
    said = written("listing", make_listing(make_plan(part, shop), part.units), "text")
    wrong = 3 if "moves" in old else 2
    text = re.sub(re.escape(old).replace("\\ ", r"(?:\ |\n {8})"), new, said, count=1)
    assert text != said
    found = check_listing(text.encode(), "text", part, shop, file="sheet")
    (one,) = found
    assert one.kind == "bad-lay"
    assert one.message.startswith(f"setup {wrong}: ")
    assert one.message.endswith(f": stop_moved_to is {is_not}")


def test_a_round_part_is_turned_without_jaws() -> None:
    far = (
        '[[hole]]\nclear = "M4"\nat = [0, 0]\ndepth = "through"\n'
        "far = { countersink = { diameter = 9 } }\n"
    )
    plan = plan_of(far, "diameter = 40\nlength = 6", datum='x = "centre"\ny = "centre"')
    (turn,) = setups_of(plan)[1]["said"]["TURN"]
    assert turn.endswith("towards you: roll it over front to back (underside comes up).")
