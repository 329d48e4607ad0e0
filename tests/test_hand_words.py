"""What tells a part from its opposite hand, in words on every sheet, and the witness over it.

The outside reference for "the opposite hand" is geometry itself: a mirror image and a turn are one
isometry, with determinant -1 (any textbook of linear algebra); scipy's rotations turn the parts.
"""

from __future__ import annotations

import math
import random
import re
from pathlib import Path

import numpy as np
import pytest
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, millprep, part_of, part_text, setups_of, shop_of

from millprep.infiles import read_part
from millprep.model.part import FACES, Face, Part
from millprep.planning import make_plan
from millprep.setting.own_mirror import has_no_hand
from millprep.sheets.hand_words import hand_sentence, hand_test
from millprep.witness.hand import is_own_mirror
from millprep.witness.listing import check_listing
from millprep.witness.markout import check_markout

UNEVEN = """
[[hole]]
name = "a"
drill = 5
at = [10, 10]
depth = "through"
[[hole]]
name = "b"
drill = 5
at = [50, 12]
depth = 8
[[hole]]
name = "c"
drill = 5
at = [20, 31]
depth = 8
"""
CORNER = """
[[hole]]
name = "on top"
drill = 3
grid = { start = [10, 10], step = [40, 20], columns = 2, rows = 2 }
depth = 4
[[hole]]
name = "in front"
face = "front"
drill = 3
at = [[10, 10], [50, 10]]
depth = 4
[[hole]]
name = "at left"
face = "left"
drill = 3
at = [20, 10]
depth = 4
"""


def both_hands(tmp_path: Path, holes: str, stock: str = "size = [60, 40, 20]") -> tuple[Part, Part]:
    """A part and its opposite hand, as the part file makes it."""
    (tmp_path / "one.toml").write_text(part_text(holes, stock))
    (tmp_path / "other.toml").write_text('part = "Other"\nopposite_hand_of = "one.toml"\n')
    return read_part(tmp_path / "one.toml")[0], read_part(tmp_path / "other.toml")[0]


def hand_line(part: Part, face: Face) -> str:
    return str(hand_sentence(part, face) or "")


def ways(line: str) -> list[str]:
    return re.findall(r"(?:anti)?clockwise", line)


@pytest.mark.parametrize("seed", range(20))
def test_the_opposite_hand_goes_round_the_other_way(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    holes = "".join(
        f'[[hole]]\nname = "h{n}"\ndrill = 2\nat = [{x}, {y}]\ndepth = 3\n'
        for n, (x, y) in enumerate(
            (chance.uniform(5, 55), chance.uniform(5, 35)) for _ in range(chance.randint(3, 7))
        )
    )
    parts = both_hands(tmp_path, holes)
    tests = [hand_test(part, part.holes[0].face)[0] for part in parts]
    if seed == 2:  # three holes that lie almost evenly: the eye could not tell
        assert tests == [None, None]
        return
    assert tests[0] is not None
    assert tests[1] is not None
    assert tests[0].names == tests[1].names
    assert tests[0].is_clockwise != tests[1].is_clockwise
    (one,), (other,) = (ways(hand_line(part, "top")) for part in parts)
    assert {one, other} == {"clockwise", "anticlockwise"}


def test_a_line_names_three_holes_and_which_way_they_run() -> None:
    part = part_of(UNEVEN)
    assert hand_line(part, "top") == (
        "looking at TOP, a, b, c run anticlockwise."
    )  # a (10, 10), b (50, 12), c (20, 31): 40 x 21 - 10 x 2 = 820, above 0
    assert str(hand_sentence(part, "top", is_up=True)) == (
        "seen from above, a, b, c run anticlockwise."
    )
    assert hand_line(part, "front") == ""


def test_faces_tell_the_hand_where_no_face_can_by_itself(tmp_path: Path) -> None:
    """TOP up, FRONT towards you, LEFT at the left hand: the pencil goes top, front, left."""
    one, other = both_hands(tmp_path, CORNER)
    line = hand_line(one, "top")
    assert line == hand_line(one, "front") == hand_line(one, "left")
    assert line.startswith(
        "at the corner of TOP (4 holes), FRONT (2 holes), LEFT (1 hole) they run "
    )
    # outward of TOP, FRONT and LEFT as columns: above 0 is a right-handed corner, which from
    # outside goes round anticlockwise as x, y and z do
    corner = np.linalg.det(np.array([[0, 0, -1], [0, -1, 0], [1, 0, 0]]))
    assert ways(line)[0] == ("clockwise" if corner < 0 else "anticlockwise")
    assert "RIGHT" in hand_line(other, "top")
    assert ways(hand_line(other, "top"))[0] != ways(line)[0]


def test_of_a_part_that_is_its_own_mirror_image_nothing_is_said() -> None:
    """JSON says so; and the witness misses HAND on any other part."""
    plate = part_of('[[hole]]\nname = "h"\ndrill = 4\ncorners = { inset = 8 }\ndepth = "through"\n')
    assert has_no_hand(plate)
    assert hand_line(plate, "top") == ""
    (setup,) = setups_of(make_plan(plate, shop_of()))
    assert "HAND" not in setup["said"] and setup["hand"] == {"hands": "no"}


def test_a_plate_drilled_through_has_no_hand_and_one_with_a_countersink_has() -> None:
    """Turned over it is its own mirror image, unless something lies on one side only."""
    through = UNEVEN.replace("depth = 8", 'depth = "through"')
    assert has_no_hand(part_of(through))
    sunk = through + "countersink = { diameter = 8, angle = 90 }\n"
    assert not has_no_hand(part_of(sunk))


@pytest.mark.parametrize("seed", range(10))
def test_a_part_with_its_own_mirror_image_in_it_has_no_hand(seed: int) -> None:
    chance = random.Random(seed)
    holes, odd = "", ""
    for number in range(4):
        x, y, depth = chance.uniform(4, 26), chance.uniform(4, 36), chance.uniform(2, 9)
        holes += (
            f'[[hole]]\nname = "p{number}"\ndrill = 2\nat = [[{x}, {y}], [{60 - x}, {y}]]\n'
            f"depth = {depth}\n"
        )
        odd = f'[[hole]]\nname = "odd"\nface = "left"\ndrill = 2\nat = [{y}, {depth}]\ndepth = 3\n'
    assert has_no_hand(part_of(holes))
    assert not has_no_hand(part_of(holes + odd))


def test_a_disc_is_looked_at_along_its_axis() -> None:
    disc = 'diameter = 60\nlength = 20\naxis = "z"'
    datum = 'x = "centre"\ny = "centre"'
    ring = (
        '[[hole]]\nname = "ring"\ndrill = 4\ndepth = 5\n'
        "circle = { centre = [0, 0], diameter = 40, count = 4 }\n"
    )
    assert has_no_hand(part_of(ring, disc, datum=datum))
    hooked = ring + UNEVEN.replace("[10, 10]", "[3, 25]").replace("[50, 12]", "[25, 1]").replace(
        "[20, 31]", "[-5, 12]"
    )
    assert not has_no_hand(part_of(hooked, disc, datum=datum))


def test_every_face_of_every_example_part_says_something() -> None:
    for path in EXAMPLE_PARTS:
        part = read_part(path)[0]
        for face in FACES:
            has_holes = any(hole.face == face for hole in part.holes)
            is_due = has_holes and not has_no_hand(part)
            assert bool(hand_line(part, face)) == is_due, (path, face)


def _swapped(text: str) -> str:
    """The HAND sentences with their ways exchanged."""
    return re.sub(
        r"\b(anti)?clockwise",
        lambda match: "clockwise" if match[0].startswith("anti") else "anticlockwise",
        text,
    )


def _hand_only(text: str) -> str:
    return re.sub(
        r"(?s)((?:looking\s+at|seen\s+from\s+above,|at\s+the\s+corner).*?clockwise)",
        lambda match: _swapped(match[0]),
        text,
    )


@pytest.mark.parametrize("form", ["text", "json", "html"])
@pytest.mark.parametrize("holes", [RICH, CORNER, UNEVEN], ids=["rich", "corner", "uneven"])
def test_the_wrong_way_round_is_caught_on_a_listing(tmp_path: Path, holes: str, form: str) -> None:
    path = tmp_path / "part.toml"
    path.write_text(part_text(holes, RICH_STOCK if holes is RICH else "size = [60, 40, 20]"))
    part = read_part(path)[0]
    text = millprep("listing", path, "--format", form).out
    shop = shop_of()
    assert check_listing(text.encode(), form, part, shop, file="s") == []  # type: ignore[arg-type]  # one of its forms
    broken = _hand_only(text)
    assert broken != text
    found = check_listing(broken.encode(), form, part, shop, file="s")  # type: ignore[arg-type]  # one of its forms
    kind = "unreadable-sheet" if form == "json" else "wrong-figure"  # words against names
    assert {finding.kind for finding in found} == {kind}
    assert form == "json" or "do not run as HAND says" in found[0].message


@pytest.mark.parametrize("form", ["text", "json"])
def test_the_wrong_way_round_is_caught_on_a_marking_out_list(tmp_path: Path, form: str) -> None:
    path = tmp_path / "part.toml"
    path.write_text(part_text(UNEVEN))
    part = read_part(path)[0]
    text = millprep("markout", path, "--format", form).out
    assert check_markout(text.encode(), form, part, file="s") == []  # type: ignore[arg-type]  # one of its forms
    found = check_markout(_hand_only(text).encode(), form, part, file="s")  # type: ignore[arg-type]  # one of its forms
    assert [finding.kind for finding in found] == [
        "unreadable-sheet" if form == "json" else "wrong-figure"
    ]


def test_both_ways_alike_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "part.toml"
    path.write_text(part_text(UNEVEN))
    text = millprep("listing", path, "--format", "json").out
    alike = text.replace('"other": "clockwise"', '"other": "anticlockwise"')
    assert alike != text
    found = check_listing(alike.encode(), "json", read_part(path)[0], shop_of(), file="s")
    assert {finding.kind for finding in found} == {"wrong-figure"}


def test_a_hand_that_is_not_told_is_missed() -> None:
    """By the witness's own looking glasses: it agrees with the maker's on parts of every kind."""
    for holes in (UNEVEN, CORNER, UNEVEN.replace("depth = 8", 'depth = "through"'), RICH):
        part = part_of(holes, RICH_STOCK if holes is RICH else "size = [60, 40, 20]")
        assert is_own_mirror(part) == has_no_hand(part)
    for path in EXAMPLE_PARTS:
        part = read_part(path)[0]
        assert is_own_mirror(part) == has_no_hand(part), path


def test_bench_page_drawing_and_dial_sheet_tell_the_hand(tmp_path: Path) -> None:
    path = tmp_path / "part.toml"
    path.write_text(part_text(UNEVEN))
    assert millprep("bench", path, "-o", tmp_path / "b.html").status == 0
    assert "seen from above, a, b, c run anticlockwise" in (tmp_path / "b.html").read_text()
    assert millprep("drawing", path, "-o", tmp_path / "d.svg").status == 0
    assert "hand: A, B, C run anticlockwise" in (tmp_path / "d.svg").read_text()
    dials = millprep("dials", path).out
    assert "HAND    seen from above, a, b, c run anticlockwise." in dials


DISC = 'diameter = 60\nlength = 20\naxis = "z"'
MIDDLE = 'x = "centre"\ny = "centre"'


def uneven(face: str, *angles_deg: int, depth: str = "5") -> str:
    """Holes 20 from the axis at angles counted anticlockwise as one looks square at the face."""
    up = 1 if face == "top" else -1
    places = [
        f"[{20 * math.cos(math.radians(one))}, {20 * up * math.sin(math.radians(one))}]"
        for one in angles_deg
    ]
    return (
        f'[[hole]]\nname = "{face}"\nface = "{face}"\ndrill = 4\ndepth = {depth}\n'
        f"at = [{', '.join(places)}]\n"
    )


@pytest.mark.parametrize(
    ("holes", "has_none"),
    [
        (uneven("top", 0, 50, 170), False),
        (uneven("top", 0, 50, 170, depth='"through"'), True),  # turned over it is its mirror image
        # As many degrees apart from below as from above: turned over the disc is itself, and its
        # mirror image has them the other way round on both ends.
        (uneven("top", 0, 50, 170) + uneven("bottom", 33, 83, 203), False),
        # Mirrored in the middle of the disc, and half a turn on: to the point through the centre.
        (uneven("top", 0, 50, 170) + uneven("bottom", 180, 130, 10), True),
        # Another angle on: it brings those above to those below, and these to none.
        (uneven("top", 0, 50, 170) + uneven("bottom", 33, -17, -137), False),
        ('[[hole]]\nname = "middle"\ndrill = 6\nat = [0, 0]\ndepth = 8\n', True),
    ],
)
def test_a_disc_has_a_hand_unless_its_mirror_image_is_itself_turned(
    holes: str, has_none: bool
) -> None:
    part = part_of(holes, DISC, datum=MIDDLE)
    assert has_no_hand(part) == has_none
    assert is_own_mirror(part) == has_none
    assert (hand_line(part, "top") == "") == has_none
