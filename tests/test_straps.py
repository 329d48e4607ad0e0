"""Work held on the table without the vice: straps over packing, angle plate.

The rules are common practice of the trade's texts on clamping: packing directly under each strap,
the bolt nearer the work than the heel, the heel level with the work or a shade higher.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from millprep.base.findings import MillprepError
from millprep.infiles.part_file import read_part
from millprep.infiles.shop_file import read_shop
from millprep.model.shop import AnglePlate, Chuck, MachineTable, VeeBlock, Workholding

PLATE = """part = "Plate"
units = "mm"
material = "mild steel"
[stock]
size = [60, 40, 12]
[datum]
x = "left"
y = "front"
[[hole]]
name = "pin"
drill = 5
depth = "through"
at = [30, 20]
[[setup]]
"""


def part_of(folder: Path, setup: str):
    (folder / "plate.toml").write_text(PLATE + setup)
    return read_part(folder / "plate.toml")[0]


def faults_of(folder: Path, setup: str) -> str:
    with pytest.raises(MillprepError) as caught:
        part_of(folder, setup)
    return "\n".join(f"{one.message} / {one.remedy}" for one in caught.value.findings)


def test_what_a_part_file_says_of_straps(tmp_path: Path) -> None:
    text = (
        'hold = "straps"\npacking = "1/2 in"\nstraps = [{ at = [5, 20] }, { at = ["2 in", 20] }]\n'
    )
    (request,) = part_of(tmp_path, text).setups
    assert request.hold == "straps"
    assert request.packing_mm == 12.7
    assert request.straps_at_mm == ((5, 20), (50.8, 20))
    assert set(request.lines) >= {"hold", "straps", "packing"}


@pytest.mark.parametrize(
    ("setup", "said"),
    [
        (
            'hold = "staples"\n',
            'hold: "staples" is not one of them / did you mean "straps"? accepted: vice, vee jaws, '
            "vee blocks, chuck, straps, angle plate",
        ),
        (
            "packing = 10\n",
            "packing belongs to a part held by straps, and this setup has nothing / "
            'write hold = "straps" beside it',
        ),
        (
            'hold = "straps"\nvice = { grip = 8 }\n',
            'vice belongs to the vice, and this setup has hold = "straps" / '
            'leave vice out, or hold = "vice"',
        ),
        (
            'hold = "straps"\npacking = 0\n',
            "packing: 0 is not above 0 / give a length above 0",
        ),
    ],
)  # fmt: skip
def test_faults_of_holding(tmp_path: Path, setup: str, said: str) -> None:
    assert said in faults_of(tmp_path, setup)


def test_straps_are_mirrored_with_the_part(tmp_path: Path) -> None:
    """Left for right: 12 from the left edge is 12 from the right one; X then counts from there."""
    part_of(tmp_path, 'hold = "straps"\nstraps = [{ at = [12, 40] }]\n')
    (tmp_path / "other.toml").write_text('opposite_hand_of = "plate.toml"\n')
    (request,) = read_part(tmp_path / "other.toml")[0].setups
    assert request.straps_at_mm == ((-12, 40),)
    assert request.zero_x is None  # on the datum face, which is the right one now


def test_what_a_shop_file_says_of_the_table(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(
        '[table]\nsize = [700, "8 in"]\nslots = { width = 14, pitch = 50 }\n'
        "[holding]\nstraps = 2\nangle_plate = { width = 120, height = 90 }\n"
        "vee_blocks = [{ from = 6, to = 30 }]\nchuck = { diameter = 100, through = 22 }\n"
        "packing = [20, 5]\n"
    )
    shop = read_shop(str(tmp_path / "shop.toml"))
    assert shop.table == MachineTable((700, 203.2), 14, 50)
    assert shop.holding == Workholding(
        2, AnglePlate(120, 90), (VeeBlock(6, 30),), Chuck(100, 22), (5, 20)
    )


def test_faults_of_the_table(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text("[table]\nsize = 700\n[holding]\nstraps = -1\n")
    with pytest.raises(MillprepError) as caught:
        read_shop(str(tmp_path / "shop.toml"))
    assert [one.message for one in caught.value.findings] == [
        "[table]: size: 700 is no size of a table",
        "[holding]: straps: -1 is out of range",
    ]
    (tmp_path / "shop.toml").write_text("[holding]\nvee_blocks = [{ from = 9, to = 6 }]\n")
    with pytest.raises(MillprepError) as caught:
        read_shop(str(tmp_path / "shop.toml"))
    assert "from is not below to" in caught.value.findings[0].message
