"""Patterns taken from another part file: places and mark follow it. What must be said of slips is
in tests/parts/invalid, worked figures in tests/parts/valid."""

from pathlib import Path

import pytest

from millprep.assembly.coinciding import overs_of
from millprep.assembly.links import links_of
from millprep.assembly.placing import lay_all
from millprep.infiles import read_part
from millprep.infiles.assembly_file import read_assembly
from millprep.model.part import FACES, OPPOSITE, Face

COVER = """part = "Cover"
units = "mm"
material = "brass"
[stock]
size = [60, 40, 6]
[datum]
x = "left"
[[hole]]
name = "screw"
clear = "M3"
depth = "through"
{where}
"""
BODY = """part = "Body"
units = "mm"
material = "brass"
[stock]
size = [80, 60, 20]
[datum]
x = "left"
[[hole]]
name = "screw"
tap = "M3"
depth = 8
pattern_from = {{ holes = "cover.toml: screw", middle = [40, 30]{more} }}
"""
CIRCLE = "circle = { centre = [30, 20], diameter = 24, count = 5, start = 90 }"


def _read(
    tmp_path: Path, where: str = CIRCLE, more: str = ""
) -> tuple[list[tuple[float, ...]], str]:
    (tmp_path / "cover.toml").write_text(COVER.format(where=where))
    (tmp_path / "body.toml").write_text(BODY.format(more=more))
    part = read_part(tmp_path / "body.toml")[0]
    return [hole.centre_mm for hole in part.holes], part.mark


def test_the_mark_depends_on_the_other_file_too(tmp_path: Path) -> None:
    before = _read(tmp_path)
    assert _read(tmp_path) == before
    changed = _read(tmp_path, CIRCLE.replace("24", "24.2"))
    assert changed[1] != before[1] and changed[0] != before[0]
    only_a_word = _read(tmp_path, CIRCLE + "  # as agreed")
    assert only_a_word[0] == before[0] and only_a_word[1] != before[1]


def test_the_middle_of_a_circle_is_its_centre(tmp_path: Path) -> None:
    """Of any number of holes equally spaced: their mean is the centre."""
    places, _ = _read(tmp_path)
    assert places[0] == pytest.approx((40, 42, 20))
    assert [sum(each) / 5 for each in zip(*places, strict=True)] == pytest.approx([40, 30, 20])


def test_a_turn_is_anticlockwise_in_the_view(tmp_path: Path) -> None:
    places, _ = _read(tmp_path, more=", turned = 90")
    assert places[0] == pytest.approx((28, 30, 20))


def test_places_lie_as_the_facing_side_sees_them(tmp_path: Path) -> None:
    """Twice seen from the other side is as it was."""
    where = "at = [[10, 10], [50, 10], [10, 30]]"
    same, _ = _read(tmp_path, where, ', as_seen = "same"')
    facing, _ = _read(tmp_path, where, ', as_seen = "facing"')
    for (x, y, z), (u, v, w) in zip(same, facing, strict=True):
        assert (80 - u, v, w) == pytest.approx((x, y, z))


def test_a_hand_that_is_told_by_nothing_need_not_be_given(tmp_path: Path) -> None:
    assert _read(tmp_path)[0] == _read(tmp_path, more=', as_seen = "same"')[0]


def test_the_opposite_hand_of_such_a_part_follows_too(tmp_path: Path) -> None:
    _read(tmp_path)
    (tmp_path / "other.toml").write_text('opposite_hand_of = "body.toml"\n')
    before = read_part(tmp_path / "other.toml")[0]
    _read(tmp_path, CIRCLE.replace("24", "24.2"))
    after = read_part(tmp_path / "other.toml")[0]
    assert before.mark != after.mark
    assert before.holes[0].centre_mm != after.holes[0].centre_mm


# A block to take a pattern from and one to take it, each with its holes on any face.
TAPPED = """part = "Body"
units = "mm"
material = "brass"
[stock]
size = [70, 60, 50]
[datum]
x = "left"
[[hole]]
name = "screw"
face = "{face}"
tap = "M3"
depth = 8
at = [[10, 10], [30, 12], [14, 35], [31, 33]]
"""
CLEAR = """part = "Cover"
units = "mm"
material = "brass"
[stock]
size = [60, 70, 80]
[datum]
x = "left"
[[hole]]
name = "screw"
face = "{face}"
clear = "M3"
depth = "through"
pattern_from = {{ holes = "body.toml: screw", middle = [30, 32], as_seen = "{seen}", turned = 20 }}
"""
BOX = """assembly = "Box"
[members]
body = "body.toml"
cover = "cover.toml"
[[joint]]
screw = "M3 x 80 socket head"
through = {{ holes = "cover: screw", face = "{entered}" }}
into = "body: screw"
"""


@pytest.mark.parametrize("taken_by", FACES)
@pytest.mark.parametrize("taken_from", FACES)
def test_what_is_taken_lies_over_what_it_was_taken_from(
    taken_from: Face, taken_by: Face, tmp_path: Path
) -> None:
    """Seen the same where the cover is worked from its outside; facing where from its underside.

    Two ways of reckoning that share nothing: views here, faces laid on each other in `assembly`.
    """
    (tmp_path / "body.toml").write_text(TAPPED.format(face=taken_from))
    for seen, entered, explained in (
        ("same", taken_by, ""),
        ("facing", OPPOSITE[taken_by], ""),
        ("facing", taken_by, "mirror"),
        ("same", OPPOSITE[taken_by], "mirror"),
    ):
        (tmp_path / "cover.toml").write_text(CLEAR.format(face=taken_by, seen=seen))
        (tmp_path / "box.toml").write_text(BOX.format(entered=entered))
        assembly = read_assembly(tmp_path / "box.toml")[0]
        links = links_of(assembly)
        (over,) = overs_of(assembly, links, lay_all(assembly, links))
        assert over.explained_by == explained, (seen, entered)
        if not explained:
            assert over.order == (0, 1, 2, 3)
