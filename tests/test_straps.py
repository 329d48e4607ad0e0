"""Work held on the table without the vice: straps over packing, angle plate.

The rules are common practice of the trade's texts on clamping: packing directly under each strap,
the bolt nearer the work than the heel, the heel level with the work or a shade higher.
"""

from __future__ import annotations

import json
import math
import os
import random
from pathlib import Path
from typing import Any

import pytest
from checked_and_handed_over import refused
from jobs import checked, millprep, part_text, plan_of
from mistakes import Case

from millprep.base.findings import MillprepError
from millprep.infiles.part_file import read_part
from millprep.infiles.shop_file import read_shop
from millprep.model.part import Part
from millprep.model.workholding import AnglePlate, Chuck, MachineTable, VeeBlock, Workholding

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


def part_of(folder: Path, setup: str) -> Part:
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


# A plate 420 x 200 x 10, eight holes of 9 mm (M8 clearance, normal: ISO 273), on a table 700 x 240
# with slots 50 apart, the middle one along its middle, and four straps. By hand:
#
#   drill point  118 degrees: 0.3004 x 9 = 2.70, breakthrough 1.0: the tip ends 3.70 below; 2 free
#                under it makes 5.70, and of packing 3, 6, 10, 20 the thinnest that does is 6
#   heels        6 + 10 = 16
#   ends or sides : straps over the sides want 200 + 2 x (10 + 1.5 x 16 + 8) = 284 of 240: no;
#                over the ends 420 + 84 = 504 of 700: yes
#   along LEFT   the pilot drill of 2.7 has flutes of 33 (ISO 235) and ends 13.7 deep: its chuck
#                comes to Z 19.3, under the strap's 30. 25 clear of its axis at (15, 15), which is
#                15 - 12 = 3 beyond the end of the strap: sqrt(625 - 9) = 24.82. Free from
#                15 + 12.5 + 24.82 = 52.32 to 147.68
#   slots        the plate moves (240 - 200) / 2 = 20 either way on the table: slots at 80 and 130,
#                or at 70 and 120, are as far from the middle as two of them get
#   boxes        12 over the work, 42 outside the edge, 25 wide, 30 high
SHOP = """[mill]
travel = { x = [0, 500], y = [0, 220], z = [-300, 0] }
[table]
size = [700, 240]
slots = { width = 14, pitch = 50 }
[holding]
straps = 4
packing = [3, 6, 10, 20]
"""
FEET = """[[hole]]
name = "foot"
clear = "M8"
depth = "through"
at = [[15, 15], [405, 15], [405, 185], [15, 185], [140, 60], [280, 60], [280, 140], [140, 140]]
"""
BED = "size = [420, 200, 10]"
STRAPPED = '[[setup]]\nface = "top"\ntowards_you = "front"\nhold = "straps"\n'


def test_a_plate_on_four_straps(tmp_path: Path) -> None:
    found = listing(tmp_path, PLATE_HEAD + f"[stock]\n{BED}\n{FEET}", SHOP)
    hold, (setup,) = found["setups"][0]["hold"], found["setups"]
    assert (hold["by"], hold["packing_mm"], hold["heel_mm"]) == ("straps", 6, 16)
    assert hold["slots"] in ([80, 130], [70, 120])
    low, high = hold["slots"]
    assert [(one["name"], one["from"], one["to"]) for one in hold["straps"]] == [
        ("strap 1", [-42, low - 12.5, 0], [12, low + 12.5, 30]),
        ("strap 2", [-42, high - 12.5, 0], [12, high + 12.5, 30]),
        ("strap 3", [408, low - 12.5, 0], [462, low + 12.5, 30]),
        ("strap 4", [408, high - 12.5, 0], [462, high + 12.5, 30]),
    ]
    assert [one["edge"] for one in setup["straps_at"]] == ["left", "left", "right", "right"]
    lined_up = setup["lined_up"]
    assert (lined_up["edge"], lined_up["along"], lined_up["within_mm"]) == ("front", "x", 0.02)


PLATE_HEAD = 'part = "Bed"\nunits = "mm"\nmaterial = "mild steel"\n'


def listing(folder: Path, part: str, shop: str) -> dict[str, Any]:
    """A listing as JSON; the drawing measures from left and front."""
    (folder / "bed.toml").write_text(part + '[datum]\nx = "left"\ny = "front"\n')
    (folder / "shop.toml").write_text(shop)
    run = millprep(
        "listing", folder / "bed.toml", "--shop", folder / "shop.toml", "--format", "json"
    )
    found: dict[str, Any] = json.loads(run.out)
    return found


def straps(holes: str, stock: str = BED, shop: str = SHOP) -> list[tuple[float, float]]:
    """Where toes press, in the order of the straps."""
    holding = plan_of(holes, stock, shop=shop).setups[0].holding
    assert holding.strapped is not None
    return [one.toe_mm for one in holding.strapped.straps]


TWO = SHOP.replace("straps = 4", "straps = 2")
ONE_HOLE = (
    '[[hole]]\nname = "a"\ndrill = 6\npeck = "none"\nspot = false\nat = [{0}, 100]\ndepth = {1}\n'
)


def test_a_hole_where_a_strap_would_stand() -> None:
    """Two straps go over the middle of the ends; a hole of 6 there moves them to another slot.

    Blind, 10 from LEFT and so under the strap: 3 + 2 clear, 12.5 + 5 = 17.5 beside it; the plate is
    moved over the slots by whole millimetres, so 18. 40 from LEFT it is clear of the strap (28 from
    its end) and of the packing (15 from it): the middle again. At 26 and through it is clear of the
    strap (14) and not of the packing: sqrt(4^2 - 1^2) = 3.87, 12.5 + 3.87 = 16.4, so 17.
    """
    assert straps(ONE_HOLE.format(200, 4) + STRAPPED, shop=TWO) == [(6, 100), (414, 100)]
    moved = straps(ONE_HOLE.format(10, 4) + STRAPPED, shop=TWO)
    assert {abs(y - 100) for _, y in moved} == {18}
    assert straps(ONE_HOLE.format(40, 4) + STRAPPED, shop=TWO) == [(6, 100), (414, 100)]
    assert straps(ONE_HOLE.format(26, 4) + STRAPPED, shop=TWO) == [(6, 100), (414, 100)]
    for_packing = straps(ONE_HOLE.format(26, '"through"') + STRAPPED, shop=TWO)
    assert {round(abs(y - 100), 6) for _, y in for_packing} == {17}


def test_a_plate_beyond_table_and_travel() -> None:
    """800 x 300, holes 15 from its edges, in the metric shop: X 770 of 400, Y 270 of 145."""
    corners = '[[hole]]\nname = "a"\ndrill = 6\nat = [[15, 15], [785, 285]]\ndepth = 5\n'
    found = checked(plan_of(corners, "size = [800, 300, 10]"))
    apart, moves = "setup 1: the holes are {0} apart along ", "and the mill travels {0} mm: {1} mm"
    assert [one.message for one in found if one.kind == "outside-travel"] == [
        f"{apart.format('770.0')}X, {moves.format(400, '370.0')} too far",
        f"{apart.format('270.0')}Y, {moves.format(145, '125.0')} too far",
    ]
    (room,) = [one for one in found if one.kind == "no-room-for-straps"]
    assert "the part is 800 x 300, the table 500 x 180 mm" in room.message


def test_holes_beyond_travel_are_made_in_two_visits() -> None:
    """A row of six from 20 to 450, 86 apart: 430 of 400. Three and three are 172 each, and 192 from
    the zero at either end."""
    row = (
        '[[hole]]\nname = "a"\ndrill = 6\ndepth = 10\n'
        "row = { start = [20, 30], end = [450, 30], count = 6 }\n"
    )
    (found,) = kinds("outside-travel", row, "size = [470, 60, 20]", "")
    assert "430.0 apart along X, and the mill travels 400 mm: 30.0 mm" in found.message
    assert found.remedy.startswith("write [[setup]] for top twice, with holes = [...]")
    visits = (
        '[[setup]]\nface = "top"\nholes = ["a 1", "a 2", "a 3"]\n'
        '[[setup]]\nface = "top"\nzero = { x = "right", y = "front" }\n'
    )
    assert not kinds("outside-travel", row + visits, "size = [470, 60, 20]", "")


def test_a_touch_of_the_finder_beyond_travel() -> None:
    """The hole is at 395 and the finder's axis 5 left of LEFT: 400, and 399 are there."""
    hole = '[[hole]]\nname = "a"\ndrill = 6\nat = [395, 20]\ndepth = 5\n'
    travel = "[mill]\ntravel = {{ x = [0, {0}], y = [0, 145], z = [-280, 0] }}\n"
    stock = "size = [410, 80, 20]"
    (found,) = kinds("outside-travel", hole, stock, travel.format(399))
    assert found.severity == "warning"
    assert "farthest hole is 400.0, and the mill travels 399 mm: 1.0 mm too far" in found.message
    assert not kinds("outside-travel", hole, stock, travel.format(400))


def kinds(kind: str, holes: str, stock: str, shop: str) -> list[Any]:
    return [one for one in checked(plan_of(holes, stock, shop=shop)) if one.kind == kind]


NONE = SHOP.replace("straps = 4", "straps = 0")


def test_no_straps_in_the_shop() -> None:
    """The stop names what would hold it, and what it says to write cures it."""
    (large,) = [one for one in checked(plan_of(FEET, BED, shop=NONE)) if one.severity == "stop"]
    assert "200 mm across the jaws" in large.message
    assert large.remedy.startswith("straps hold it down on the table: two or more")
    (found,) = kinds("too-few-straps", FEET + STRAPPED, BED, NONE)
    assert found.message.endswith("a part needs two straps at least, and the shop has none")
    assert "write backing = 10, and no hold" in found.remedy
    assert "straps = 4 into [holding]" in found.remedy
    backed = FEET + '[[setup]]\nface = "top"\nbacking = 10\n'
    assert not [one for one in checked(plan_of(backed, BED, shop=NONE)) if one.severity == "stop"]
    small = '[[hole]]\nname = "a"\ndrill = 5\nat = [30, 20]\ndepth = 5\n'
    (found,) = kinds("too-few-straps", small + STRAPPED, "size = [60, 40, 20]", NONE)
    assert "leave hold out: the vice holds it" in found.remedy
    assert not kinds("too-few-straps", small, "size = [60, 40, 20]", NONE)


@pytest.mark.parametrize(
    ("at", "kind", "said"),
    [
        ("[6, 100], [414, 100]", None, ""),
        ("[6, 100]", "too-few-straps", "and the part file gives 1"),
        ("[6, 100], [430, 100]", "strap-beside-part", "strap 2, at X 430 Y 100 mm, does not press"),
        ("[6, 20], [414, 100]", "hits-fixture", '"strap 1", up to Z 30, is in the way of "foot 1"'),
        ("[20, 140], [414, 100]", None, ""),
    ],
)  # fmt: skip
def test_straps_of_the_part_file(at: str, kind: str | None, said: str) -> None:
    """Foot 1 stands at (15, 15): a strap with its toe at Y 20 reaches 32.5, and 12 in from LEFT."""
    toes = ", ".join(
        f"{{ at = {place}] }}" for place in at.replace("], [", "]|[").replace("]", "").split("|")
    )
    text = f"{FEET}{STRAPPED}straps = [{toes}]\npacking = 6\n"
    stops = [one for one in checked(plan_of(text, BED, shop=SHOP)) if one.severity == "stop"]
    assert {one.kind for one in stops} == ({kind} if kind else set())
    assert all(said in one.message for one in stops[:1])


def test_packing_is_as_high_as_what_comes_through_needs() -> None:
    """5.70 wanted: of 3 and 5 none does, and pieces of 6 are; 3 given lets the drill into the table
    by 3.70 - 3 = 0.70."""
    low = SHOP.replace("[3, 6, 10, 20]", "[3, 5]")
    (found,) = kinds("no-packing", FEET + STRAPPED, BED, low)
    assert found.severity == "warning"
    assert "write packing = 6 or more" in found.remedy
    assert not kinds("no-packing", f"{FEET}{STRAPPED}packing = 6\n", BED, low)
    hits = kinds("hits-fixture", f"{FEET}{STRAPPED}packing = 3\n", BED, SHOP)
    assert "goes 0.70 mm into the table under packing of 3 mm" in hits[0].message
    assert "give packing = 3.75 or more" in hits[0].remedy
    assert not kinds("hits-fixture", f"{FEET}{STRAPPED}packing = 3.75\n", BED, SHOP)


def test_the_safe_height_is_over_the_straps() -> None:
    """30 over the face, and 5 more; what the file asks for must not be lower than the straps."""
    assert plan_of(FEET, BED, shop=SHOP).setups[0].setup.safe_height_mm == 35
    (found,) = kinds("safe-height-low", f"{FEET}{STRAPPED}safe_height = 20\n", BED, SHOP)
    assert "give safe_height = 35" in found.remedy


def test_a_program_that_meets_a_strap_is_stopped(tmp_path: Path) -> None:
    (tmp_path / "bed.toml").write_text(
        PLATE_HEAD + f"[stock]\n{BED}\n{FEET}" + '[datum]\nx = "left"\ny = "front"\n'
    )
    (tmp_path / "shop.toml").write_text(SHOP)
    files = ("--shop", tmp_path / "shop.toml")
    made = millprep("program", tmp_path / "bed.toml", *files, "-o", tmp_path / "bed.nc")
    assert made.status == 0
    text = (tmp_path / "bed.nc").read_text()
    strap = plan_of(FEET, BED, shop=SHOP).setups[0].setup.clamps[0]
    middle = (strap.low_mm[1] + strap.high_mm[1]) / 2
    (tmp_path / "slip.nc").write_text(text.replace("X140.0 Y60.0", f"X10.0 Y{middle:.1f}"))
    run = ("dryrun", tmp_path / "slip.nc", "--part", tmp_path / "bed.toml", *files)
    assert "the tool meets strap 1" in " ".join(millprep(*run).out.split())
    assert millprep("dryrun", tmp_path / "bed.nc", *run[2:]).status == 0


def test_an_angle_plate() -> None:
    """Two thirds of 100 x 75: up to 150 wide and 112.5 high; one that stands above the work is in
    the way: 75 less 60 of part is 15 above it, and the spot drill of 10 at 3 from BACK meets it."""
    spot = "[drawer]\nspot_drills = [{ diameter = 10, point_angle = 90, tip_flat = 0.2 }]\n"
    hole = '[[hole]]\nname = "a"\ndrill = 5\nat = [30, {0}]\ndepth = 5\n'
    hold = STRAPPED.replace("straps", "angle plate")
    for stock, is_held in (
        ("size = [150, 40, 112]", True),
        ("size = [151, 40, 60]", False),
        ("size = [60, 40, 113]", False),
    ):
        assert bool(kinds("beyond-angle-plate", hole.format(20) + hold, stock, "")) != is_held
    plan = plan_of(hole.format(20) + hold, "size = [60, 40, 60]")
    assert plan.setups[0].setup.clamps[0].high_mm == (80, 50, 15)
    (found,) = kinds("hits-fixture", hole.format(37) + hold, "size = [60, 40, 60]", spot)
    assert "packing = " in found.remedy
    packed = hole.format(37) + hold + found.remedy.partition(": ")[0].removeprefix("write ")
    assert not kinds("hits-fixture", packed.removesuffix(" or more"), "size = [60, 40, 60]", spot)


SEED = int(os.environ.get("MILLPREP_SEED", "1"))


def test_straps_stand_clear_wherever_holes_are() -> None:
    """Over no tool, packing under none that comes through, bolts in slots; else a stop says so."""
    print(f"seeds from {SEED}; MILLPREP_SEED moves them")
    placed = 0
    for seed in range(SEED, SEED + 40):
        dice = random.Random(seed)
        size = dice.choice((110, 160, 300)), dice.choice((105, 140)), dice.choice((6, 12))
        places = [(dice.uniform(6, size[0] - 6), dice.uniform(6, size[1] - 6)) for _ in range(6)]
        text = "".join(
            f'[[hole]]\nname = "h{n}"\ndrill = {dice.choice((3, 8, 12))}\nat = [{x:.1f}, {y:.1f}]\n'
            f"depth = {dice.choice(('3', chr(34) + 'through' + chr(34)))}\n"
            for n, (x, y) in enumerate(places)
        )
        shop = SHOP.replace("straps = 4", f"straps = {dice.choice((2, 3, 4))}")
        (setup_plan,) = plan_of(text + STRAPPED, f"size = {[*size]}", shop=shop).setups
        strapped = setup_plan.holding.strapped
        assert strapped is not None
        assert bool(strapped.straps) != bool(
            kinds("no-room-for-straps", text + STRAPPED, f"size = {[*size]}", shop)
        )
        placed += bool(strapped.straps)
        slots = {round((one.bolt_mm[1] - strapped.slots_mm[0]) / 50, 3) for one in strapped.straps}
        assert all(one == round(one) for one in slots), seed
        for strap in strapped.straps:
            for one in setup_plan.operations:
                away = _away(strap.low_mm, strap.high_mm, one.x_mm, one.y_mm)
                assert away > one.tool.diameter_mm / 2 + 1.99, seed
                if one.z_mm < -size[2] and strap.packing is not None:
                    away = _away(*strap.packing, one.x_mm, one.y_mm)
                    assert away > one.tool.diameter_mm / 2 + 0.99, seed
    assert placed > 20


def _away(low: tuple[float, ...], high: tuple[float, ...], x: float, y: float) -> float:
    """From a place to a box, seen from above."""
    return math.hypot(max(low[0] - x, x - high[0], 0.0), max(low[1] - y, y - high[1], 0.0))


def test_what_check_passes_on_the_table_is_handed_over(tmp_path: Path) -> None:
    """Every sheet, form and program of parts that check lets through, blocks and discs."""
    for seed in range(SEED, SEED + 8):
        dice = random.Random(seed)
        size, high = dice.choice((110, 130, 240)), dice.choice((6, 12))
        is_disc = dice.random() < 0.3
        stock = f"size = [{size}, 140, {high}]"
        datum = dice.choice(('x = "left"\ny = "back"', 'x = "centre"\ny = "centre"'))
        if is_disc:
            stock, datum = f"diameter = {min(size, 130)}\nlength = {high}", DISC
        places = [(dice.uniform(-40, 40), dice.uniform(-40, 40)) for _ in range(3)]
        if "left" in datum:
            places = [(x + 55, y + 70) for x, y in places]
        holes = "".join(
            f'[[hole]]\nname = "h{n}"\n{dice.choice(("drill = 6", "ream = 6"))}\n'
            f"at = [{x:.1f}, {y:.1f}]\ndepth = {dice.choice(('3', THROUGH))}\n"
            for n, (x, y) in enumerate(places)
        )
        hold = dice.choice(("straps", "straps", "angle plate"))
        setup = f'[[setup]]\nface = "top"\nhold = "{hold}"\n'
        case = Case(part_text(holes + setup, stock, datum=datum), SHOP)
        assert refused(case, tmp_path) == [], f"seed {seed}"


DISC, THROUGH = 'x = "centre"\ny = "centre"', '"through"'
