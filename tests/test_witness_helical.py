"""How a hole is milled, asked move by move: each figure of the trade just within, and just beyond.

A 10 mm end mill with two teeth that cuts on centre, in 60 x 40 x 20 mm, round X30 Y20; its axis
goes round at a radius, 2.8 mm first and 3 mm in the end, so that the hole is 16 mm wide.
"""

from __future__ import annotations

import math
from functools import cache

import pytest
from jobs import part_of, shop_of

from millprep.base.records import replace
from millprep.model.scene import Box, Scene
from millprep.model.shop import Control, Shop
from millprep.model.tools import Countersink, EndMill, Tool
from millprep.reading.gcode import read_program
from millprep.reading.made import MadeOperation
from millprep.reading.simulate import simulate
from millprep.reference.materials import drill_feed_mm_per_rev, material_named
from millprep.witness import Lay
from millprep.witness.helical import helical_faults

TOP = Lay("TOP", "FRONT", "LEFT", "FRONT")
STOCK = Scene(Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0)))
MILL = EndMill("10 mm", 10.0, number=1)
HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS{rpm} M3\nG43 H1\nG0 X30. Y20. Z25.\nZ1.\n"
RPM = 1000.0


@cache
def shop(centre_cutting: bool = True, teeth: int = 2) -> Shop:
    own = f"teeth = {teeth}, centre_cutting = {str(centre_cutting).lower()}"
    return shop_of(f"[drawer]\nend_mills = [{{ diameter = 10, flute = 30, {own} }}]\n")


def feed_of(radius: float, share: float = 0.2, teeth: int = 2) -> float:
    """Of the axis, where the edge 5 mm farther out has a share of a drill's feed for each tooth."""
    brass = material_named("brass")
    assert brass is not None
    edge = share * drill_feed_mm_per_rev(10.0) * brass.feed_factor * RPM * teeth
    return edge * radius / (radius + 5)


def turns(
    radius: float,
    *,
    drop: float = 0.5,
    count: int = 4,
    way: str = "G2",
    feed: float | None = None,
    then: str = "",
) -> str:
    """Down a helix from Z0 and once round level, in and out on half circles from the middle."""
    half, right = radius / 2, 30 + radius
    text = f"G1 X30. Y20. Z0. F{feed_of(radius) if feed is None else feed:.4f}\n"
    text += f"{way} X{right:.4f} Y20. I{half:.4f} J0.\n"
    for number in range(1, count + 1):
        text += f"{way} X{right:.4f} Y20. Z{-number * drop:.4f} I{-radius:.4f} J0.\n"
    text += f"{way} X{right:.4f} Y20. I{-radius:.4f} J0.\n"
    return text + f"{way} X30. Y20. I{-half:.4f} J0.\n{then}G0 X30. Y20.\nZ1.\n"


def last(radius: float, depth: float = 2.0, into: str = "", out: str = "") -> str:
    """At depth in the open, out to the wall and once round."""
    half, right = radius / 2, 30 + radius
    into = into or f"G2 X{right:.4f} Y20. I{half:.4f} J0.\n"
    out = out or f"G2 X30. Y20. I{-half:.4f} J0.\n"
    text = f"G1 Z{-depth:.4f} F{feed_of(radius):.4f}\n{into}"
    return f"{text}G2 X{right:.4f} Y20. I{-radius:.4f} J0.\n{out}G0 Z1.\n"


def told(
    body: str,
    *,
    mill: Tool = MILL,
    of: Shop | None = None,
    hole: str = "drill = 16",
    more: tuple[MadeOperation, ...] = (),
    control: Control | None = None,
    rpm: float = RPM,
) -> list[str]:
    """What is found of a program, without the hole's name."""
    text = HEAD.format(rpm=rpm) + body + "G0 Z25.\nM5\nM30\n"
    run = read_program(text.encode(), Control(), file="a.nc", tools=(mill,))
    assert run.is_complete, run.findings
    own = shop() if of is None else of
    if control is not None:
        own = replace(own, control=control)
    holes = simulate(run, STOCK, own.mill, Control(), file="a.nc").holes
    holes = tuple(replace(one, operations=(*one.operations, *more)) for one in holes)
    part = part_of(
        f'[[hole]]\nname = "a"\n{hole}\nat = [30, 20]\ndepth = 2\n',
        "size = [60, 40, 20]",
        material="brass",
    )
    found = [*helical_faults(own, part, TOP, {"a.nc": run}, holes)]
    assert all((one.kind, one.holes, one.file) == ("milled-amiss", ("a",), "a.nc") for one in found)
    return [one.message.removeprefix("a: ") for one in found]


def test_a_hole_as_it_should_be_milled() -> None:
    assert told(turns(2.8) + last(3.0)) == []


@pytest.mark.parametrize(
    ("first", "said"), [(2.725, []), (2.715, ["the last turn takes 0.285 mm off the radius"])]
)
def test_how_much_is_left_for_the_last_turn(first: float, said: list[str]) -> None:
    """A quarter of a millimetre, and 0.03 for a digit."""
    assert told(turns(first) + last(3.0)) == said


@pytest.mark.parametrize("radius", [2.0, 2.8, 4.0])
@pytest.mark.parametrize("off", [-0.001, 0.001])
def test_how_steep_a_helix_may_be(radius: float, off: float) -> None:
    """3 degrees and 0.01 mm; a tenth of the mill's width and 0.01 mm a turn."""
    steep = 2 * math.pi * radius * math.tan(math.radians(3)) + 0.01
    drop = round(min(steep, 1.01) + off, 4)
    found = told(turns(radius, drop=drop, count=2) + last(radius + 0.2, 2 * drop))
    if off < 0:
        assert found == []
    elif steep < 1.01:
        angle = math.degrees(math.atan2(drop, 2 * math.pi * radius))
        assert set(found) == {f"the helix is {angle:.2f} deg steep; 3 is the most"}
    else:
        assert set(found) == {f"{drop:.3f} mm down a turn is too much for the mill"}


@pytest.mark.parametrize("wide", [18.0, 13.0])
def test_a_wide_mill_goes_a_millimetre_and_a_half_down_a_turn(wide: float) -> None:
    mill = EndMill(f"{wide:g} mm", wide, number=1)
    feed = feed_of(8.0) * 0.5
    most = min(1.5, wide / 10) + 0.01
    for off, is_told in ((-0.002, False), (0.002, True)):
        body = turns(8.0, drop=most + off, count=1, feed=feed)
        found = told(body, mill=mill, hole="drill = 30")
        assert any("down a turn is too much" in one for one in found) == is_told


def test_a_mill_that_does_not_cut_on_centre() -> None:
    """A degree; and 3 mm of its middle cut nothing: at less than 1.47 mm a core is left."""
    blunt = shop(centre_cutting=False)
    most = 2 * math.pi * 2.8 * math.tan(math.radians(1)) + 0.01
    for off, is_told in ((-0.001, False), (0.001, True)):
        found = told(turns(2.8, drop=most + off, count=2) + last(3.0, 2 * (most + off)), of=blunt)
        assert any("1 is the most" in one for one in found) == is_told
    for radius, is_told in ((1.475, False), (1.465, True)):
        found = told(turns(radius, drop=0.1, count=2), of=blunt)
        assert any("leaves a core standing" in one for one in found) == is_told
    # where the middle is open it goes down as any other
    open_ = turns(2.8, drop=0.2, count=10) + turns(3.0, drop=0.6, count=3)
    assert not any("deg steep" in one for one in told(open_, of=blunt))


@pytest.mark.parametrize(
    ("control", "is_told"),
    [
        (Control(), True),
        (Control(backlash_mm=(0.0, 0.019, 0.0)), False),
        (Control(backlash_mm=(0.019, 0.02, 0.0)), True),
        (Control(backlash_mm=(0.021, 0.0, 0.0)), True),
        (Control(backlash_mm=(0.0, 0.0, 0.05)), True),
        (Control(backlash_compensated=True), False),
    ],
)
def test_which_way_round(control: Control, is_told: bool) -> None:
    found = told(turns(2.8, way="G3"), control=control)
    assert any("the table is snatched" in one for one in found) == is_told
    assert not any("snatched" in one for one in told(turns(2.8), control=control))


@pytest.mark.parametrize(
    ("aside", "said"),
    [
        ("G1 X32.825\nX30.\n", []),  # 2.8 mm are open, and 0.03 for a digit
        ("G1 X32.835\nX30.\n", ["the end mill goes straight into the work"] * 2),
        ("G1 Y17.175\nY20.\n", []),
        ("G1 Y17.165\nY20.\n", ["the end mill goes straight into the work"] * 2),
        ("G1 Z-2.025\nZ-2.\n", []),
        ("G1 Z-2.035\nZ-2.\n", ["the end mill goes straight down into the work",
                               "the end mill goes straight into the work"]),
        ("G1 X30.019\nZ-1.\nX30.\n", []),
        ("G1 X30.021\nZ-1.\nX30.\n", ["the end mill goes up beside the middle of the hole"]),
    ],
)  # fmt: skip
def test_straight_moves_cut_nothing(aside: str, said: list[str]) -> None:
    assert told(turns(2.8) + f"G1 Z-2. F{feed_of(2.8):.3f}\n{aside}G0 Z1.\n" + last(3.0)) == said


def test_no_helix_goes_up() -> None:
    up = "G2 X32.8 Y20. Z-1. I-2.8 J0.\n"
    body = turns(2.8) + last(
        2.8, into=f"G2 X32.8 Y20. I1.4 J0.\n{up}G2 X32.8 Y20. Z-2. I-2.8 J0.\n"
    )
    assert "the helix goes up" in told(body + last(3.0))


@pytest.mark.parametrize(
    ("radius", "said"),
    [
        (5.01, []),  # half of it, within a thousandth
        (5.03, ["a mill of 10 mm for 20.060"]),
        (0.5511, []),  # nine tenths of it
        (0.549, ["a mill of 10 mm for 11.098"]),
    ],
)
def test_how_wide_a_mill_is_for_its_hole(radius: float, said: list[str]) -> None:
    first = turns(radius - 0.2, drop=0.1, count=5)
    assert told(first + last(radius, 0.5), hole=f"drill = {2 * radius + 10:.3f}") == said


@pytest.mark.parametrize(
    ("into", "out", "is_run_in"),
    [
        ("", "", True),
        # on a smaller and on a larger arc of the same side
        ("G1 X31.\nG2 X33. Y20. I1. J0.\n", "", True),
        ("G2 X30. Y20. I0.01 J0.\nG1 X33.\n", "", False),
        ("G1 X33.\n", "", False),
        ("", "G1 X30.\n", False),
        ("", "G2 X27. Y20. I-3. J0.\nG1 X30.\n", False),  # on the wall itself
        # its centre 0.015 and 0.03 beside the line to the hole's
        ("G1 Y20.03\nG2 X33. Y20. I1.4998 J-0.015\n", "", True),
        ("G1 Y20.06\nG2 X33. Y20. I1.4994 J-0.03\n", "", False),
    ],
)
def test_the_last_turn_is_run_in_and_out(into: str, out: str, is_run_in: bool) -> None:
    found = told(turns(2.8) + last(3.0, into=into, out=out))
    assert ("the last turn is not run in and out on an arc" in found) == (not is_run_in)


@pytest.mark.parametrize("teeth", [2, 4])
def test_the_feed_of_the_edge(teeth: int) -> None:
    """A tenth to three tenths of a drill's a tooth, to 1 mm/min."""
    own, scale = shop(teeth=teeth), 2.8 / 7.8
    for share, off, is_told in ((0.3, 0.9, False), (0.3, 1.1, True), (0.1, -0.9, False),
                                (0.1, -1.1, True)):  # fmt: skip
        feed = feed_of(2.8, share, teeth) + off * scale
        found = told(turns(2.8, feed=feed), of=own)
        assert any(one.startswith("its edge is fed") for one in found) == is_told
    # the least that can be written, and the most that the mill is fed, are never too little
    most = own.mill.max_feed_mm_per_min
    for feed, rpm, is_told in ((1.0, RPM, False), (1.02, RPM, True),
                               ((most - 0.5) * scale, 60000.0, False),
                               ((most - 1.5) * scale, 60000.0, True)):  # fmt: skip
        found = told(turns(2.8, feed=feed), of=own, rpm=rpm)
        assert any(one.startswith("its edge is fed") for one in found) == is_told


def bored(size: float) -> MadeOperation:
    return MadeOperation("bore", "boring head", size, -2.0, -2.0, None, 99, 99, 2, file="a.nc")


@pytest.mark.parametrize(
    ("size", "said"),
    [
        (16.31, []),
        (16.29, ["left 0.290 mm under for the boring head"]),
        (16.49, []),
        (16.51, ["left 0.510 mm under for the boring head"]),
    ],
)
def test_what_is_left_for_the_boring_head(size: float, said: list[str]) -> None:
    assert told(turns(2.8) + last(3.0), hole=f"bore = {size}", more=(bored(size),)) == said


@pytest.mark.parametrize(
    ("hole", "play", "is_told"),
    [
        ("drill = 16", 0.1, False),
        ("drill = 16", 0.11, True),
        ("drill = 16.26", 0.11, True),  # what is left is no more than a digit under 0.3
        ("drill = 16.28", 0.11, False),
        ('ream = 16\nfit = "H7"', 0.11, False),
        ('bore = 16\nfit = "H7"', 0.0, True),
        ("bore = 16\nlimits = [0, 0.099]", 0.0, True),
        ("bore = 16\nlimits = [0, 0.101]", 0.0, False),
        ("bore = 16\nlimits = [0, 0.08]", 0.0199, False),
        ("bore = 16\nlimits = [0, 0.08]", 0.0201, True),
        ("bore = 16\ntolerance = 0.049", 0.0, True),
        ("bore = 16\ntolerance = 0.051", 0.0, False),
    ],
)
def test_what_backlash_lets_a_mill_keep(hole: str, play: float, is_told: bool) -> None:
    control = Control(backlash_mm=(play, play / 2, 0.0))
    found = told(turns(2.8) + last(3.0), hole=hole, control=control)
    assert ("milled to its size, which the backlash does not let it keep" in found) == is_told
    taken_up = replace(control, backlash_compensated=True)
    if play > 0.1:
        assert not any("backlash" in one for one in told(turns(2.8), hole=hole, control=taken_up))


def test_a_countersink_goes_round_a_millimetre_at_a_time() -> None:
    """Of 90 degrees with a flat of 2 mm, 2 mm deep it is 6 mm wide at the face."""
    sink = Countersink("12 mm", 12.0, point_angle_deg=90.0, tip_flat_mm=2.0, number=1)
    drilled = MadeOperation("drill", "drill", 11.0, -9.0, -9.0, None, 1, 1, 2, file="a.nc")
    for radius, is_told in ((3.52, False), (3.54, True)):
        feed = 0.5 * drill_feed_mm_per_rev(6.0) * 1000 * radius / (radius + 3)
        brass = material_named("brass")
        assert brass is not None
        text = HEAD.format(rpm=RPM) + last(radius).replace(
            f"F{feed_of(radius):.4f}", f"F{feed * brass.feed_factor:.4f}"
        )
        run = read_program((text + "M30\n").encode(), Control(), file="a.nc", tools=(sink,))
        circle = MadeOperation(
            "countersink", "countersink", 12.0, -2.0, 3.0, 2 * radius + 6, 1, 1, 1,
            file="a.nc", milling="circle",
        )  # fmt: skip
        (hole,) = simulate(run, STOCK, shop().mill, Control(), file="a.nc").holes[:1]
        hole = replace(hole, operations=(drilled, circle))
        part = part_of('[[hole]]\nname = "a"\ndrill = 11\nat = [30, 20]\ndepth = 9\n',
                       "size = [60, 40, 20]", material="brass")  # fmt: skip
        found = [one.message for one in helical_faults(shop(), part, TOP, {"a.nc": run}, [hole])]
        assert any("off the radius" in one for one in found) == is_told, found
