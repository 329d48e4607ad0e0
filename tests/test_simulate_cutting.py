"""Where each rule about spindle, feed and pecks begins: what just passes, and what just does not.

The schedule of pecks is that of `shared_rules`: three diameters first where no material is named,
then one, half of one from five diameters down and for drills under a millimetre, and a quarter more
and 0.05 mm is no fault. A 118 degree point of 5 mm is 1.502 mm long, one of 0.9 mm 0.270.
"""

from __future__ import annotations

import pytest

from millprep.model.scene import Box, Drilled, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Counterbore, Drill, EndMill, Reamer, SpotDrill, Tool
from millprep.reading.gcode import read_program
from millprep.reading.simulate import simulate
from millprep.reference.materials import drill_feed_mm_per_rev

MILL = Mill(
    ((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)),
    speed_range_rpm=(60.0, 3000.0),
    max_feed_mm_per_min=1200.0,
)
STEPS = Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speeds_rpm=(100.0, 400.0, 1600.0))
BLOCK = Scene(Box((0.0, 0.0, -60.0), (60.0, 40.0, 0.0)))
DRILL = Drill("5 mm", 5.0, number=1)
AT = "G0 X20. Y20. Z5.\n"


def kinds(body: str, tool: Tool = DRILL, scene: Scene = BLOCK, mill: Mill = MILL) -> list[str]:
    """Kinds of what is found of a tool that turns at 1000 unless the body says otherwise."""
    text = f"G21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS1000 M3\nG43 H1\nG0 Z25.\n{body}\nM30\n"
    run = read_program(text.encode(), Control(), file="a.nc", tools=(tool,))
    return [one.kind for one in simulate(run, scene, mill, Control(), file="a.nc").findings]


def pecked(*depths: float, before: float = 0.5) -> str:
    """One peck after another, each from a little above the bottom of the last."""
    pecks = [f"G1 Z{-depth} F100.\nG0 Z{before - depth}" for depth in depths]
    return AT + "\n".join(pecks) + "\nG0 Z25."


@pytest.mark.parametrize(
    ("tool", "depths", "is_deep"),
    [
        (DRILL, [20.3], False),
        (DRILL, [20.31], True),
        (DRILL, [10.0, 16.29], False),
        (DRILL, [10.0, 16.31], True),
        (DRILL, [20.0, 26.2, 32.4], False),  # 24.7 mm are done before the last
        (DRILL, [20.3, 26.5, 29.67], False),
        (DRILL, [20.3, 26.51, 29.67], False),
        (DRILL, [20.3, 26.51, 29.69], True),
        (Drill("0.9 mm", 0.9, number=1), [0.88], False),
        (Drill("0.9 mm", 0.9, number=1), [0.885], True),
        (Drill("1 mm", 1.0, number=1), [4.1], False),
        (Drill("1 mm", 1.0, number=1), [4.11], True),
        (EndMill("5 mm", 5.0, number=1), [40.0], False),
    ],
)
def test_how_deep_a_peck_may_be(tool: Tool, depths: list[float], is_deep: bool) -> None:
    assert ("deep-peck" in kinds(pecked(*depths), tool)) == is_deep


@pytest.mark.parametrize(
    ("depths", "is_deep"),
    [
        ([13.4, 33.6], False),  # through the first, and the second begun anew
        ([13.4, 33.9], True),
        ([13.4, 33.6, 39.8, 43.4, 63.6], False),
        ([13.4, 33.6, 39.8, 43.4, 63.9], True),
    ],
)
def test_in_each_body_of_a_stack_pecks_begin_anew(depths: list[float], is_deep: bool) -> None:
    """Three bodies with 2 mm between them: from 0, 13.5 and 43.5 mm down; three diameters, a
    quarter more, 0.05 mm and the point of 1.502 mm are 20.302 mm."""
    bodies = ((0.0, -11.5), (-13.5, -41.5), (-43.5, -80.0))
    stack = Scene(Box((0.0, 0.0, -80.0), (60.0, 40.0, 0.0)), bodies=bodies)
    assert ("deep-peck" in kinds(pecked(*depths), scene=stack)) == is_deep


@pytest.mark.parametrize(("pilot_mm", "is_deep"), [(1.49, True), (1.5, False)])
def test_a_pilot_takes_the_work_of_the_point(pilot_mm: float, is_deep: bool) -> None:
    pilot = Drilled((20.0, 20.0, 0.0), (20.0, 20.0, -60.0), pilot_mm)
    assert (
        "deep-peck" in kinds(pecked(40.0), scene=Scene(BLOCK.stock, drilled=(pilot,)))
    ) == is_deep


@pytest.mark.parametrize(
    ("speed", "mill", "kind"),
    [
        ("S60", MILL, None),
        ("S59.9", MILL, "speed-outside-spindle"),
        ("S3000", MILL, None),
        ("S3000.1", MILL, "speed-outside-spindle"),
        ("S400.5", STEPS, None),
        ("S400.6", STEPS, "speed-between-steps"),
        ("S399.4", STEPS, "speed-between-steps"),
        ("S99.9", STEPS, "speed-outside-spindle"),
        ("M5", MILL, "spindle-stopped"),
        ("M4", MILL, "spindle-backwards"),
        ("S0", MILL, "speed-unstated"),
    ],
)
def test_the_spindle_of_what_cuts(speed: str, mill: Mill, kind: str | None) -> None:
    told = kinds(f"{speed}\n{AT}G1 Z-3. F5.\nG0 Z25.\nM5", mill=mill)
    mine = [one for one in told if one.startswith(("speed-", "spindle-"))]
    assert mine == ([kind] if kind else [])


def test_between_two_steps_the_feed_a_turn_is_told_for_both() -> None:
    text = f"G21 G90 G17 G94 G54\nT1 M6\nS600 M3\nG43 H1\nG0 Z25.\n{AT}G1 Z-3. F5.\nG0 Z25.\nM30\n"
    run = read_program(text.encode(), Control(), file="a.nc", tools=(DRILL,))
    found = simulate(run, BLOCK, STEPS, Control(), file="a.nc").findings
    (told,) = (one.message for one in found if one.kind == "speed-between-steps")
    assert "at 400 the feed a turn is 1.50 times, at 1600 0.38 times the program's" in told


@pytest.mark.parametrize(
    ("length", "depth", "is_suspect"),
    [
        (1.19, 0.5, True),
        (1.17, 0.5, False),
        (1.19, 0.4, True),
        (1.19, 0.39, False),
        (1.19, 1.18, True),
        (1.19, 1.19, False),
    ],
)
def test_a_slot_that_fills_a_stock_25_times_as_small(
    length: float, depth: float, is_suspect: bool
) -> None:
    """60 x 20 mm over 25.4 are 2.362 x 0.787: half of the one along it is 1.181, half of the other
    and once and a half of it down are 0.394 and 1.181."""
    slot = f"G0 X0.5 Y0.5 Z5.\nG1 Z{-depth} F50.\nX{0.5 + length} F50.\nG0 Z25."
    block = Scene(Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0)))
    told = kinds(slot, EndMill("1 mm", 1.0, number=1), block)
    assert ("units-suspect" in told) == is_suspect


def test_a_feed_over_the_mills() -> None:
    assert "feed-over-mill" not in kinds(AT + "G1 Z1. F1200.")
    assert "feed-over-mill" in kinds(AT + "G1 Z1. F1200.01")


@pytest.mark.parametrize(
    ("tool", "share"),
    [
        (DRILL, 1.0),
        (Reamer("5 mm", 5.0, number=1), 3.0),
        (SpotDrill("5 mm", 5.0, number=1), 1.0),
        (Counterbore("5 mm", 5.0, number=1), 1.0),
        (EndMill("5 mm", 5.0, number=1), None),
    ],
    ids=lambda one: one.kind if isinstance(one, Tool) else "",
)
def test_twice_the_highest_feed_of_a_tool(tool: Tool, share: float | None) -> None:
    """At 1000 turns a minute the feed in mm/min is that in micrometres a turn."""
    most = 2 * (share or 3.0) * drill_feed_mm_per_rev(5.0) * 1000
    assert "feed-over-tool" not in kinds(AT + f"G1 Z-3. F{most - 0.01:.3f}", tool)
    assert ("feed-over-tool" in kinds(AT + f"G1 Z-3. F{most + 0.01:.3f}", tool)) == bool(share)
