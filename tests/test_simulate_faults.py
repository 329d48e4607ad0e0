"""Faults planted in a program, each found at its line; the same program without them is clean.

What counts as a fault is common practice of the trade except where a source stands beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from millprep.base.records import replace
from millprep.model.scene import Box, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Drill, EndMill, Reamer, SpotDrill, Tap, Tool
from millprep.reading.gcode import read_program
from millprep.reading.simulate import Simulation, simulate

MILL = Mill(
    ((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)),
    speed_range_rpm=(60.0, 3000.0),
    max_feed_mm_per_min=1200.0,
    rapid_mm_per_min=2000.0,
)
SCENE = Scene(Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0)), material="mild steel")
TOOLS = (
    SpotDrill("10 mm", 10.0, point_angle_deg=90.0, tip_flat_mm=0.2, number=1),
    Drill("5 mm", 5.0, point_angle_deg=118.0, flute_mm=52.0, number=2),
    Tap("M6", 6.0, pitch_mm=1.0, lead_threads=4.0, number=3),
    Drill("5.8 mm", 5.8, point_angle_deg=118.0, flute_mm=57.0, number=4),
    Reamer("6 mm", 6.0, lead_mm=1.0, number=5),
    EndMill("8 mm", 8.0, number=6),
)
CONTROL = Control()

# Two M6 tapped holes and one 6 mm reamed hole in 60 x 40 x 20 mm of mild steel: M6 is drilled 5.0
# (ISO 2306), the reamer is left 0.2 mm (5-20 mm: 0.2 to 0.3, a training note on undersizes of
# reaming). Points: 0.300 d at 118 degrees, so 5.0 through is 20 + 1.5 + 1.
CLEAN = """\
G21 G17 G90 G94 G40 G49 G80
G54
T1 M6
S2000 M3
G43 H1
G0 X10. Y10. Z25.
G98 G82 X10. Y10. Z-3.1 R2. P0.2 F60.
X30. Y10.
X50. Y10.
G80
G0 Z25. M5
T2 M6
S1500 M3
G43 H2
G0 X10. Y10. Z25.
G98 G83 X10. Y10. Z-22.5 R2. Q4.5 F120.
X30. Y10.
G80
G0 Z25. M5
T4 M6
S1300 M3
G43 H4
G0 X50. Y10. Z25.
Z2.
G1 Z-5. F110.
G0 Z2.
Z-4.5
G1 Z-10.
G0 Z2.
Z-9.5
G1 Z-14.5
G0 Z25. M5
T3 M6
S100 M3
G43 H3
G0 X10. Y10. Z25.
G98 G84 X10. Y10. Z-25. R5. F100.
X30. Y10.
G80
G0 Z25. M5
T5 M6
S600 M3
G43 H5
G0 X50. Y10. Z25.
G98 G85 X50. Y10. Z-11. R2. F120.
G80
G0 Z25. M5
G0 X0. Y0.
M30
"""


def run(text: str, scene: Scene | None = SCENE, tools: tuple[Tool, ...] = TOOLS) -> Simulation:
    program = read_program(text.encode(), CONTROL, file="part.nc", tools=tools)
    refused = [f for f in program.findings if f.severity == "stop"]
    assert not refused, refused
    return simulate(program, scene, MILL, CONTROL, file="part.nc")


def found(simulation: Simulation) -> set[tuple[str, str, int | None]]:
    return {(f.severity, f.kind, f.line) for f in simulation.findings}


def test_the_clean_program_has_nothing_found() -> None:
    simulation = run(CLEAN)
    assert found(simulation) == set()
    assert [(h.x_mm, h.y_mm, h.diameter_mm) for h in simulation.holes] == [
        (10.0, 10.0, 6.0),
        (30.0, 10.0, 6.0),
        (50.0, 10.0, 6.0),
    ]
    names = [[op.name for op in hole.operations] for hole in simulation.holes]
    assert names[0] == names[1] == ["spot drill", "drill", "tap"]
    assert names[2] == ["spot drill", "drill", "ream"]


@dataclass(frozen=True)
class Planted:
    """`old` becomes `new` in the clean program; the finding stands at the line of `mark`."""

    name: str
    old: str
    new: str
    severity: str
    kind: str
    mark: str


PLANTED = [
    Planted(
        "rapid down into solid", "G0 X50. Y10. Z25.\nZ2.\nG1 Z-5. F110.",
        "G0 X50. Y10. Z25.\nZ-9.\nG1 Z-10. F110.", "stop", "rapid-into-stock", "Z-9.",
    ),
    Planted(
        "re-entry below the last bottom", "Z-4.5\nG1 Z-10.", "Z-8.\nG1 Z-10.",
        "stop", "rapid-into-stock", "Z-8.",
    ),
    Planted(
        "slanting rapid into the stock", "G0 Z25. M5\nG0 X0. Y0.",
        "G0 Z25. M5\nX30. Y30. Z-3.\nZ25.", "stop", "rapid-into-stock", "X30. Y30. Z-3.",
    ),
    Planted(
        "sideways rapid below the top", "G80\nG0 Z25. M5\nT4 M6",
        "G80\nG0 Z1.\nZ-1.\nX0.\nZ25. M5\nT4 M6", "stop", "rapid-below-top", "X0.",
    ),
    Planted(
        "only the dog-leg touches", "G0 X0. Y0.\nM30",
        "G0 X-30. Y20. Z25.\nZ-5.\nX30. Y-40.\nZ25.\nM30", "warning", "dog-leg", "X30. Y-40.",
    ),
    Planted(
        "spindle never started", "S1500 M3", "S1500", "stop", "spindle-stopped",
        "G98 G83 X10. Y10. Z-22.5 R2. Q4.5 F120.",
    ),
    Planted(
        "spindle backwards", "S1500 M3", "S1500 M4", "stop", "spindle-backwards",
        "G98 G83 X10. Y10. Z-22.5 R2. Q4.5 F120.",
    ),
    Planted(
        "too fast for the spindle", "S2000 M3", "S4000 M3", "stop", "speed-outside-spindle",
        "G98 G82 X10. Y10. Z-3.1 R2. P0.2 F60.",
    ),
    Planted(
        "too slow for the spindle", "S100 M3", "S50 M3", "stop", "speed-outside-spindle",
        "G98 G84 X10. Y10. Z-25. R5. F100.",
    ),
    Planted(
        "feed over the mill's", "G1 Z-5. F110.", "G1 Z-5. F1500.", "stop", "feed-over-mill",
        "G1 Z-5. F1500.",
    ),
    # 5.8 mm drills take about 0.10 mm a turn (bands of a rate training manual: 3-6 mm 0.05-0.10)
    Planted(
        "feed over the tool's", "G1 Z-5. F110.", "G1 Z-5. F900.", "stop", "feed-over-tool",
        "G1 Z-5. F900.",
    ),
    # F must equal S x pitch (NISTIR 6556 section 3.5.16.5 synchronises; a floating holder takes
    # a little less)
    Planted(
        "tap fed too fast", "R5. F100.", "R5. F102.", "stop", "tap-feed",
        "G98 G84 X10. Y10. Z-25. R5. F102.",
    ),
    Planted(
        "tap fed too slowly", "R5. F100.", "R5. F90.", "stop", "tap-feed",
        "G98 G84 X10. Y10. Z-25. R5. F90.",
    ),
    Planted(
        "drill fed sideways", "G1 Z-14.5\n", "G1 Z-14.5\nG1 X48.\n", "stop", "sideways-in-stock",
        "G1 X48.",
    ),
    Planted(
        "hole off the stock", "X30. Y10.\nX50. Y10.\nG80", "X30. Y10.\nX50. Y-10.\nX50. Y10.\nG80",
        "stop", "outside-stock", "X50. Y-10.",
    ),
    Planted(
        "hole over the edge", "X30. Y10.\nG80\nG0 Z25. M5\nT4",
        "X30. Y10.\nX30. Y38.\nG80\nG0 Z25. M5\nT4", "warning", "breaks-edge", "X30. Y38.",
    ),
    Planted(
        "far below the underside", "Z-22.5 R2.", "Z-27.5 R2.", "stop", "below-underside",
        "G98 G83 X10. Y10. Z-27.5 R2. Q4.5 F120.",
    ),
    Planted(
        "tap into solid", "X30. Y10.\nG80\nG0 Z25. M5\nT5", "X30. Y30.\nG80\nG0 Z25. M5\nT5",
        "stop", "nothing-to-follow", "X30. Y30.",
    ),
    Planted(
        "tap into a hole too wide", "T2 M6\nS1500 M3\nG43 H2", "T4 M6\nS1500 M3\nG43 H4",
        "stop", "hole-wrong-for-tool", "G98 G84 X10. Y10. Z-25. R5. F100.",
    ),
    Planted(
        "tap into a hole too shallow", "Z-22.5 R2.", "Z-15. R2.", "stop",
        "hole-too-shallow-for-tool", "G98 G84 X10. Y10. Z-25. R5. F100.",
    ),
    Planted(
        "reamer into solid", "G98 G85 X50. Y10. Z-11. R2. F120.",
        "G98 G85 X50. Y30. Z-11. R2. F120.", "stop", "nothing-to-follow",
        "G98 G85 X50. Y30. Z-11. R2. F120.",
    ),
    Planted(
        "reamer after too small a drill", "T4 M6\nS1300 M3\nG43 H4", "T2 M6\nS1300 M3\nG43 H2",
        "stop", "hole-wrong-for-tool", "G98 G85 X50. Y10. Z-11. R2. F120.",
    ),
    Planted(
        "reamer below the drill", "Z-11. R2. F120.", "Z-13.5 R2. F120.", "stop",
        "hole-too-shallow-for-tool", "G98 G85 X50. Y10. Z-13.5 R2. F120.",
    ),
    Planted(
        "ends over the work", "G0 X0. Y0.\n", "G0 X30. Y10.\nG0 Z5.\n",
        "stop", "ends-low", "G0 Z5.",
    ),
    Planted(
        "no spot", "X30. Y10.\nX50. Y10.\nG80", "X50. Y10.\nG80", "warning", "no-spot",
        "X30. Y10.",
    ),
    Planted(
        "one bite too deep", "G1 Z-5. F110.", "G1 Z-19. F110.", "warning", "deep-peck",
        "G1 Z-19. F110.",
    ),
]  # fmt: skip


@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.name)
def test_a_planted_fault_is_found_at_its_line(planted: Planted) -> None:
    assert planted.old in CLEAN
    text = CLEAN.replace(planted.old, planted.new, 1)
    lines = text.splitlines()
    line = next(i for i, words in enumerate(lines, 1) if words == planted.mark)
    assert (planted.severity, planted.kind, line) in found(run(text))


HOLE = """\
G21 G17 G90 G94 G40 G49 G80 G54
T{tool} M6
G43 H{tool}
S1000 M3
G0 X{x} Y{y} Z25.
G0 Z2.
G1 Z{z} F50.
G0 Z25. M5
M30
"""


def hole(tool: int = 2, x: float = 10.0, y: float = 10.0, z: float = -4.0) -> str:
    return HOLE.format(tool=tool, x=x, y=y, z=z)


def test_spindle_left_on_at_the_end() -> None:
    # No M2 or M30 and so nothing that stops it (NISTIR 6556 section 3.6.1 stops it at M2 and M30).
    text = "%\n" + hole().replace(" M5\nM30\n", "\n%\n")
    assert ("stop", "ends-turning") in {(f.severity, f.kind) for f in run(text).findings}


@pytest.mark.parametrize(("bite", "is_told"), [(2.5, False), (5.0, True)])
def test_pecks_are_halved_from_five_diameters_on(bite: float, is_told: bool) -> None:
    """A 5 mm drill (point 1.502 mm): 2 d at first in mild steel, 1 d then, half a d from 25 mm."""
    high = Scene(Box((0.0, 0.0, -60.0), (60.0, 40.0, 0.0)), material="mild steel")
    tips = [11.6, 16.6, 21.6, 26.6, 26.6 + bite]
    pecks = "".join(f"G1 Z{-tip:.1f} F50.\nG0 Z2.\nZ{0.5 - tip:.1f}\n" for tip in tips)
    text = hole().replace("G1 Z-4.0 F50.\n", pecks)
    deep = [f for f in run(text, high).findings if f.kind == "deep-peck"]
    last = text.splitlines().index(f"G1 Z{-tips[-1]:.1f} F50.") + 1
    assert [(f.line, "allows 2.50 mm" in f.message) for f in deep] == [(last, True)] * is_told


def test_deeper_than_the_flutes() -> None:
    short = replace(TOOLS[1], flute_mm=8.0)
    at_limit = run(hole(z=-8.0), tools=(TOOLS[0], short))
    beyond = run(hole(z=-8.1), tools=(TOOLS[0], short))
    assert "deeper-than-flutes" not in {f.kind for f in at_limit.findings}
    assert ("stop", "deeper-than-flutes", 7) in found(beyond)


def test_a_fixture_in_the_way() -> None:
    clamp = Box((20.0, -10.0, -12.0), (40.0, 8.0, 15.0), "strap clamp")
    scene = replace(SCENE, fixtures=(clamp,))
    text = CLEAN.replace("G98", "G99")
    lines = text.splitlines()
    at = lines.index("X30. Y10.") + 1
    hits = [f for f in run(text, scene).findings if f.kind == "hits-fixture"]
    assert hits[0].line == at and "strap clamp" in hits[0].message


def test_drilling_into_a_parallel_that_is_known() -> None:
    parallel = Box((5.0, 0.0, -40.0), (15.0, 40.0, -20.0), "parallel")
    scene = replace(SCENE, fixtures=(parallel,), underside_known=True)
    hits = [f for f in run(CLEAN, scene).findings if f.kind == "hits-fixture"]
    assert {f.line for f in hits} == {16, 37}  # the drill through, then the tap
    assert run(CLEAN, replace(scene, fixtures=())).findings == ()


def test_a_holder_that_meets_the_stock() -> None:
    stub = replace(TOOLS[1], reach_mm=15.0, holder_diameter_mm=30.0, holder_length_mm=40.0)
    assert ("stop", "holder-hits", 7) in found(run(hole(z=-16.0), tools=(stub,)))
    assert "holder-hits" not in {f.kind for f in run(hole(z=-14.0), tools=(stub,)).findings}


def test_left_hand_tap_needs_the_spindle_anticlockwise() -> None:
    left = replace(TOOLS[2], is_left_hand=True)
    tools = (*TOOLS[:2], left, *TOOLS[3:])
    kinds = {(f.kind, f.line) for f in run(CLEAN, tools=tools).findings}
    assert ("spindle-backwards", 37) in kinds


def test_units_ten_holes_within_a_drill() -> None:
    rows = "\n".join(f"X{0.4 + 0.2 * i:.1f} Y0.5" for i in range(8))
    text = hole(tool=2, x=0.4, y=0.5).replace(
        "G0 Z2.\nG1 Z-4.0 F50.", f"G99 G81 X0.4 Y0.5 Z-0.2 R2. F50.\n{rows}\nG80"
    )
    assert ("warning", "units-suspect", 6) in found(run(text))


@pytest.mark.parametrize(
    ("x", "y", "is_suspect"),
    [
        (254.0, 508.0, True),
        (1737.3, 508.0, True),  # 68.4 in: the drill's radius and a tenth of 60 beside the stock
        (1752.6, 508.0, False),
    ],
)
def test_units_holes_far_outside_that_fit_divided(x: float, y: float, is_suspect: bool) -> None:
    assert (("warning", "units-suspect", 7) in found(run(hole(x=x, y=y)))) == is_suspect


def test_an_unknown_tool_is_named_by_its_cycle() -> None:
    # G84 taps, G85 reams, the others drill (NISTIR 6556 section 3.5.16).
    text = CLEAN
    holes = run(text, tools=()).holes
    assert [op.name for op in holes[0].operations] == ["drill", "drill", "tap"]
    assert [op.name for op in holes[2].operations] == ["drill", "drill", "ream"]
    assert holes[0].diameter_mm is None


def test_without_stock_the_holes_are_still_found() -> None:
    simulation = run(CLEAN, scene=None)
    assert [round(h.bottom_mm, 6) for h in simulation.holes] == [-25.0, -25.0, -14.5]
    assert "stock" in simulation.not_checked[0]
    assert simulation.findings == ()


def test_spindle_and_feed_are_judged_without_stock() -> None:
    text = CLEAN.replace("S1500 M3", "S1500").replace("R5. F100.", "R5. F120.")
    kinds = {f.kind for f in run(text, scene=None).findings}
    assert kinds == {"spindle-stopped", "tap-feed"}


@pytest.mark.parametrize(
    ("speeds", "told"),
    [
        ((100.0, 600.0, 1300.0, 1500.0, 2000.0), []),
        ((60.0, 1000.0, 1300.0, 1500.5, 2200.0), ["S2000", "S100", "S600"]),
    ],
)
def test_a_belt_has_only_its_own_speeds(speeds: tuple[float, ...], told: list[str]) -> None:
    """Each speed once, whatever was cut at it; a spindle without steps turns at any."""
    mill = replace(MILL, speed_range_rpm=None, speeds_rpm=speeds)
    run = read_program(CLEAN.encode(), CONTROL, file="part.nc", tools=TOOLS)
    between = [
        one
        for one in simulate(run, SCENE, mill, CONTROL, file="part.nc").findings
        if one.kind == "speed-between-steps"
    ]
    assert {one.severity for one in between} <= {"note"}
    assert [one.message.split()[0] for one in between] == told
    if told:  # 2000 lies between 1500.5 and 2200
        assert "at 2200 0.91 times" in between[0].message
    stepless = simulate(run, SCENE, MILL, CONTROL, file="part.nc").findings
    assert "speed-between-steps" not in {one.kind for one in stepless}


JAW = Box((-20.0, 0.0, -20.0), (-1.0, 40.0, -5.0), "the jaw")
HELD = replace(SCENE, material=None, underside_known=True, fixtures=(JAW,))
LISTED = Control(offsets_mm={"G54": (-200.0, -100.0, -150.0)})
LONG = tuple(
    replace(tool, length_mm=100.0, reach_mm=60.0, holder_diameter_mm=30.0) for tool in TOOLS
)
CHANGES, HOLDERS = "tool changes", "tool holders"
NEVER_SAID = ["surface speeds", "whether jaws, parallels, clamps and table are where they are"]


@pytest.mark.parametrize(
    ("scene", "control", "tools", "end", "told"),
    [
        (None, CONTROL, TOOLS, "", ["stock and fixtures", CHANGES]),
        (SCENE, CONTROL, TOOLS, "", [CHANGES, "vice", "what is under the stock", HOLDERS]),
        (HELD, CONTROL, TOOLS, "", [CHANGES, *NEVER_SAID, HOLDERS]),
        (HELD, LISTED, TOOLS, "", [CHANGES, "travel in Z", *NEVER_SAID, HOLDERS]),
        (HELD, LISTED, LONG, "", [CHANGES, *NEVER_SAID]),
        (HELD, LISTED, LONG, "G53 G0 Z0.\n", [CHANGES, *NEVER_SAID]),
        (HELD, CONTROL, LONG, "G53 G0 Z0.\n", [CHANGES, *NEVER_SAID, "where machine positions"]),
        (HELD, LISTED, LONG[:3], "", [CHANGES, "travel in Z", *NEVER_SAID, "flutes, size and"]),
    ],
)
def test_what_was_not_checked_is_said_and_nothing_else(
    scene: Scene | None, control: Control, tools: tuple[Tool, ...], end: str, told: list[str]
) -> None:
    text = CLEAN.replace("M30", f"{end}M30").encode()
    program = read_program(text, control, file="part.nc", tools=tools)
    said = simulate(program, scene, MILL, control, file="part.nc", expects_spot=False).not_checked
    assert len(said) == len(told), said
    assert all(map(str.startswith, said, told)), said


@pytest.mark.parametrize(("x", "is_low"), [(-2.9, True), (-3.1, False)])
def test_a_program_ends_low_as_far_as_its_tool_reaches_over_the_stock(
    x: float, is_low: bool
) -> None:
    text = CLEAN.replace("G0 X0. Y0.\nM30", f"G0 X{x} Y20.\nZ1.\nM30")
    assert ("ends-low" in {kind for _, kind, _ in found(run(text))}) == is_low
