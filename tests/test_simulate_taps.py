"""Taps in their threads, reamers and boring tools in their bores: every way in and out.

What is right is common practice of the trade: the way of a tap is turns times pitch, in and out.
"""

from __future__ import annotations

import pytest

from millprep.model.scene import Box, Drilled, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Reamer, Tap, Tool, UnknownTool, UnsetBoringHead
from millprep.reading.gcode import read_program
from millprep.reading.simulate import simulate

MILL = Mill(
    ((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)),
    speed_range_rpm=(60.0, 3000.0),
    max_feed_mm_per_min=1200.0,
    rapid_mm_per_min=2000.0,
)
# Two holes of 5 mm right through, drilled in an earlier setup.
HOLES = tuple(Drilled((x, 20.0, 0.0), (x, 20.0, -20.0), 5.0) for x in (20.0, 40.0))
BLOCK = Scene(Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0)), drilled=HOLES)
TAP = Tap("M6", 6.0, pitch_mm=1.0, lead_threads=4.0, number=1)
LEFT = Tap("M6 LH", 6.0, pitch_mm=1.0, lead_threads=4.0, is_left_hand=True, number=1)
REAMER = Reamer("5.2 mm", 5.2, lead_mm=1.0, number=1)
BORER = UnsetBoringHead("boring head", None, number=1)
FLOATING, RIGID = Control(), Control(tapping="rigid")
REVERSING = Control(tapping="reversing head")
WITH_G74 = Control(cycles=Control().cycles | {"G74"})

Found = list[tuple[str, str, int | None, int]]


def found(
    text: str,
    *,
    tool: Tool = TAP,
    scene: Scene | None = BLOCK,
    control: Control = FLOATING,
    speed: str = "S200 M3",
) -> Found:
    """(severity, kind, line, count); the first line of `text` is line 5."""
    head = f"G21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\n{speed} G43 H1\nG0 X20. Y20. Z25.\n"
    tools = (tool,) if tool.kind != "drill" else ()
    data = f"{head}{text}\nG80\nG0 Z25.\nM5\nM30\n".encode()
    run = read_program(data, control, file="a.nc", tools=tools)
    assert not [one for one in run.findings if one.severity == "stop"], run.findings
    simulation = simulate(run, scene, MILL, control, file="a.nc")
    return [(one.severity, one.kind, one.line, one.count) for one in simulation.findings]


DOWN = "Z5.\nG1 Z-10. F200.\n"
OUT = [
    # way out, kind of the finding that it makes and its line, None where it is sound
    ("G0 Z25.", "tap-by-rapid", 7),
    ("G53 G0 Z0.", "tap-by-rapid", 7),
    ("M5\nG0 Z25.", "tap-by-rapid", 8),
    ("M4\nG0 Z25.", "tap-by-rapid", 8),
    ("G1 Z5.", "tap-not-reversed", 7),
    ("M5\nG1 Z5.", "tap-not-reversed", 8),
    ("M4 S0\nG1 Z5.", "tap-not-reversed", 8),
    ("M4\nG1 Z5. F50.", "tap-feed", 8),
    ("M4\nG1 Z5. F187.", "tap-feed", 8),
    ("M4\nG1 Z5. F202.", "tap-feed", 8),
    ("M4 S400\nG1 Z5.", "tap-feed", 8),
    ("M4\nG1 Z5. F188.", None, 0),
    ("M4\nG1 Z5. F201.", None, 0),
    ("M4\nG1 Z5.", None, 0),
    ("M4 S400\nG1 Z5. F400.", None, 0),
    ("M5\nG4 P1.\nM4\nG4 P0.5\nG1 Z5.", None, 0),
    ("M4\nG1 Z5.\nM3\nM5", None, 0),
]


@pytest.mark.parametrize("scene", [BLOCK, None], ids=["stock", "no stock"])
@pytest.mark.parametrize(("out", "kind", "line"), OUT)
def test_the_way_out_of_a_thread(
    out: str, kind: str | None, line: int, scene: Scene | None
) -> None:
    wanted = [("stop", kind, line, 1)] if kind else []
    assert found(DOWN + out, scene=scene) == wanted


CYCLES = [
    ("G84", "", None),
    ("G85", "", "tap-not-reversed"),
    ("G89", "P0.5", "tap-not-reversed"),
    ("G81", "", "tap-by-rapid"),
    ("G82", "P0.5", "tap-by-rapid"),
    ("G83", "Q4.", "tap-by-rapid"),
    ("G73", "Q4.", "tap-by-rapid"),
    ("G86", "P0.", "tap-by-rapid"),
]


@pytest.mark.parametrize(("cycle", "more", "kind"), CYCLES)
def test_cycles_with_a_tap_are_told_once_a_hole(cycle: str, more: str, kind: str | None) -> None:
    told = found(f"G98 {cycle} X20. Y20. Z-10. R5. {more} F200.\nX40.")
    told = [one for one in told if one[1] != "tap-r-too-near"]  # after a peck of 0.25 mm
    assert told == ([("stop", kind, 5, 1), ("stop", kind, 6, 1)] if kind else [])


def test_only_the_first_harm_of_a_hole_is_told() -> None:
    assert found(DOWN + "M4\nG1 Z-6. F50.\nG1 Z-2. F60.\nG1 Z5. F70.") == [
        ("stop", "tap-feed", 8, 1)
    ]
    assert found(DOWN + "G1 Z-6.\nG0 Z-2.\nM5\nG1 Z5.") == [("stop", "tap-not-reversed", 7, 1)]


def test_a_slip_in_the_feed_is_told_once_for_hole_after_hole() -> None:
    assert found("G98 G84 X20. Y20. Z-10. R5. F250.\nX40.") == [("stop", "tap-feed", 5, 2)]


@pytest.mark.parametrize(
    ("feed", "is_told"), [("197.9", True), ("198.", False), ("202.", False), ("202.1", True)]
)
def test_rigid_holds_one_in_a_hundred_both_ways(feed: str, is_told: bool) -> None:
    wanted = [("stop", "tap-feed", 8, 1)] if is_told else []
    assert found(DOWN + f"M4\nG1 Z5. F{feed}", control=RIGID) == wanted


def test_a_rapid_is_free_once_the_tap_is_out() -> None:
    assert found(DOWN + "M4\nG1 Z0.\nG0 Z25.") == []
    assert found(DOWN + "M4\nG1 Z-0.5\nG0 Z25.") == [("stop", "tap-by-rapid", 9, 1)]
    assert found("Z5.\nG1 Z1. F900.\nG0 Z25.") == []  # never in the hole


def test_a_recess_over_the_thread_is_free_air() -> None:
    wide = Drilled((20.0, 20.0, 0.0), (20.0, 20.0, -4.0), 12.0)
    recessed = Scene(BLOCK.stock, drilled=(*HOLES, wide))
    out = DOWN + "M4\nG1 Z-3.\nG0 Z25."
    assert found(out, scene=recessed) == []
    assert found(out) == [("stop", "tap-by-rapid", 9, 1)]


def test_a_thread_cut_in_bites_turned_back_between() -> None:
    bites = "Z5.\nG1 Z-6. F200.\nM4\nG1 Z-4.\nM3\nG1 Z-10.\nM4\nG1 Z5."
    assert found(bites) == []
    assert found(bites.replace("M3\nG1 Z-10.", "G1 Z-5.\nM3\nG1 Z-10.")) == [
        ("stop", "tap-not-reversed", 9, 1)
    ]
    assert found(bites.replace("M3\nG1", "M3\nG0 Z-5.\nG1")) == [("stop", "tap-by-rapid", 10, 1)]


def test_left_hand_taps_the_other_way_round() -> None:
    sound = DOWN + "M3\nG1 Z5."
    assert found(sound, tool=LEFT, speed="S200 M4") == []
    assert found(DOWN + "M4\nG1 Z5.", tool=LEFT) == [("stop", "spindle-backwards", 6, 1)]
    assert found(DOWN + "G1 Z5.", tool=LEFT, speed="S200 M4") == [
        ("stop", "tap-not-reversed", 7, 1)
    ]


def test_the_cycle_of_the_other_hand() -> None:
    left, right = "G98 G74 X20. Y20. Z-10. R5. F200.", "G98 G84 X20. Y20. Z-10. R5. F200."
    assert found(left, tool=LEFT, control=WITH_G74, speed="S200 M4") == []
    assert found(left, control=WITH_G74, speed="S200 M4") == [("stop", "spindle-backwards", 5, 1)]
    assert found(right, tool=LEFT) == [("stop", "spindle-backwards", 5, 1)]


def test_g74_of_a_tool_that_nobody_describes_is_a_left_hand_tap() -> None:
    unknown = UnknownTool("unknown", None, number=9)
    text = "G98 G74 X20. Y20. Z-10. R5. F200."
    assert found(text, tool=unknown, control=WITH_G74, speed="S200 M4") == []


def test_standing_in_the_thread_while_the_spindle_turns() -> None:
    # 200 rev/min and 1 mm: 3.3 mm a second.
    assert found(DOWN + "G4 P1.\nM4\nG1 Z5.") == []
    assert found(DOWN + "G4 P1.5\nM4\nG1 Z5.") == []  # 5 mm, which a floating holder gives
    assert found(DOWN + "G4 P1.51\nM4\nG1 Z5.") == [("stop", "tap-dwell", 7, 1)]
    assert found(DOWN + "M5\nG4 P9.\nM4\nG1 Z5.") == []
    assert found(DOWN + "G4 P0.5\nM4\nG1 Z5.", control=RIGID) == [("stop", "tap-dwell", 7, 1)]


HEAD = [
    ("G1 Z5.", None, 0),
    ("G1 Z5. F350.", None, 0),
    ("G1 Z5. F190.", "tap-feed", 7),
    ("G0 Z5.", "tap-by-rapid", 7),
    ("M4\nG1 Z5.", "tap-reversed", 8),
    ("M5\nG1 Z5.", "tap-reversed", 8),
    ("G4 P0.1\nG1 Z5.", "tap-dwell", 7),
]


@pytest.mark.parametrize(("out", "kind", "line"), HEAD)
def test_a_reversing_head_is_never_reversed(out: str, kind: str | None, line: int) -> None:
    assert found(DOWN + out, control=REVERSING) == ([("stop", kind, line, 1)] if kind else [])


def test_the_cycles_of_a_reversing_head() -> None:
    line = "G98 {} X20. Y20. Z-10. R2. {} F200."
    assert found(line.format("G85", ""), control=REVERSING) == []
    assert found(line.format("G84", ""), control=REVERSING) == [("stop", "tap-reversed", 5, 1)]
    assert found(line.format("G89", "P0.5"), control=REVERSING) == [("stop", "tap-dwell", 5, 1)]


@pytest.mark.parametrize("feed", ["G95", "G93"])
def test_feeds_by_turn_and_by_time_keep_step_too(feed: str) -> None:
    into, slow = ("F1.", "F0.5") if feed == "G95" else ("F13.3333", "F6.6667")
    out = f"M4\nG1 Z5. {into}\nG94"
    assert found(f"Z5.\n{feed}\nG1 Z-10. {into}\n{out}") == []
    assert found(f"Z5.\n{feed}\nG1 Z-10. {into}\n{out.replace(into, slow)}") == [
        ("stop", "tap-feed", 9, 1)
    ]


def test_the_speed_that_a_tap_bears() -> None:
    cycle = "G98 G84 X20. Y20. Z-10. R5. F{}."
    assert found(cycle.format(400), speed="S400 M3") == []
    assert found(cycle.format(410), speed="S410 M3") == [("stop", "tap-too-fast", 5, 1)]
    # Silver steel: 4.5 m/min by the table, 239 rev/min at 6 mm; half as much again is 358.
    steel = Scene(BLOCK.stock, drilled=HOLES, material="silver steel")
    assert found(cycle.format(350), speed="S350 M3", scene=steel) == []
    assert found(cycle.format(360), speed="S360 M3", scene=steel) == [
        ("stop", "tap-too-fast", 5, 1)
    ]


def test_no_slower_out_than_in_is_told_once_for_hole_after_hole() -> None:
    each = "Z5.\nG1 Z-10. F200.\nG1 Z5. F{}.\n"
    twice = each + "G0 X40.\n" + each
    assert found(twice.format(200, 210), control=REVERSING) == []
    assert found(twice.format(199, 199), control=REVERSING) == [("stop", "tap-feed", 7, 2)]


@pytest.mark.parametrize(("start", "is_told"), [("-9.9995", True), ("-9.998", False)])
def test_without_stock_the_bottom_of_the_hole_alone_is_in_it(start: str, is_told: bool) -> None:
    told = found(f"{DOWN}M4\nG1 Z{start}\nG0 Z25.", scene=None)
    assert [kind for _, kind, *_ in told] == ["tap-by-rapid"] * is_told


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"{DOWN}G1 Z5.", "out of its thread at X20.000 Y20.000, spindle turning the tap in"),
        (f"{DOWN}M5\nG1 Z5.", "out of its thread at X20.000 Y20.000, spindle stopped"),
        (
            f"{DOWN}M4\nG1 Z-8.\nZ-9.\nM4\nG1 Z5.",
            "down its thread at X20.000 Y20.000, spindle turning the tap back",
        ),
    ],
)
def test_which_way_a_tap_is_fed_and_turned(text: str, said: str) -> None:
    head = "G21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS200 M3 G43 H1\nG0 X20. Y20. Z25.\n"
    data = f"{head}{text}\nG0 Z25.\nM5\nM30\n".encode()
    run = read_program(data, FLOATING, file="a.nc", tools=(TAP,))
    (told,) = (
        one
        for one in simulate(run, BLOCK, MILL, FLOATING, file="a.nc").findings
        if one.kind == "tap-not-reversed"
    )
    assert told.message == f"the tap is fed {said}"


def test_where_a_floating_tap_begins() -> None:
    cycle = "G98 G84 X20. Y20. Z-10. R{} F200.\nX40."
    assert found(cycle.format("3.")) == []
    assert found(cycle.format("2.9995")) == []
    assert found(cycle.format("2.9985")) == [("warning", "tap-r-too-near", 5, 2)]
    assert found(cycle.format("1."), control=RIGID) == []
    assert found("Z5.\nG1 Z1. F200.\nG1 Z-10.\nM4\nG1 Z5.") == []  # one feed all the way
    assert found("Z5.\nG1 Z1. F800.\nG1 Z-10. F200.\nM4\nG1 Z5.") == [
        ("warning", "tap-r-too-near", 7, 1)
    ]


def test_a_tap_or_reamer_that_touches_nothing() -> None:
    wide = Drilled((20.0, 20.0, 0.0), (20.0, 20.0, -20.0), 6.5)
    loose = Scene(BLOCK.stock, drilled=(wide,))
    cycle = "G98 G84 X20. Y20. Z-10. R5. F200."
    assert found(cycle, scene=loose) == [("stop", "hole-wrong-for-tool", 5, 1)]
    assert found(cycle + "\nY20.") == []  # twice down one thread
    cycle = "G98 G85 X20. Y20. Z-11. R2. F80."
    assert found(cycle, scene=loose, tool=REAMER) == [("stop", "hole-wrong-for-tool", 5, 1)]
    assert found("Z5.\nG1 Z0. F100.", tool=REAMER, scene=Scene(BLOCK.stock)) == []
    assert found("Z-3.", scene=loose, tool=REAMER) == []  # only looked in


REAMED = [
    ("G98 G85 X20. Y20. Z-11. R2. F80.\nX40.", []),
    ("G98 G85 X20. Y20. Z-11. R2. F80.\nY20.", []),
    ("G98 G89 X20. Y20. Z-11. R2. P0.2 F80.", []),
    ("G98 G81 X20. Y20. Z-11. R2. F80.\nX40.", [("warning", "reamer-by-rapid", 5, 2)]),
    ("G98 G83 X20. Y20. Z-11. R2. Q3. F80.", [("warning", "reamer-pecked", 5, 1)]),
    ("G98 G86 X20. Y20. Z-11. R2. F80.", [("warning", "reamer-by-rapid", 5, 1)]),
    ("Z2.\nG1 Z-5. F80.\nG1 Z-11.\nG1 Z2.", []),
    ("Z2.\nG1 Z-5. F80.\nG1 Z1.\nG1 Z-11.\nG1 Z2.", [("warning", "reamer-pecked", 8, 1)]),
    ("Z2.\nG1 Z-11. F80.\nM4\nG1 Z2.", [("stop", "reamer-backwards", 8, 1)]),
    ("Z2.\nG1 Z-11. F80.\nM4\nG4 P1.\nM3\nG1 Z2.", [("stop", "reamer-backwards", 8, 1)]),
    ("Z2.\nG1 Z-11. F80.\nG1 Z2.\nM4\nG0 Z5.\nM3", []),
    ("M4\nZ2.\nG1 Z-11. F80.\nG1 Z2.", [("stop", "spindle-backwards", 7, 1)]),
]


@pytest.mark.parametrize(("text", "wanted"), REAMED)
def test_reamers(text: str, wanted: Found) -> None:
    assert found(text, tool=REAMER, speed="S400 M3") == wanted


BORED = [
    ("G98 G85 X20. Y20. Z-11. R2. F20.", []),
    ("G98 G86 X20. Y20. Z-11. R2. F20.", []),
    ("Z2.\nG1 Z-11. F20.\nM5\nG0 Z25.", []),
    ("G98 G81 X20. Y20. Z-11. R2. F20.\nX40.", [("warning", "bore-scored", 5, 2)]),
    ("Z2.\nG1 Z-11. F20.\nG0 Z25.", [("warning", "bore-scored", 7, 1)]),
]


@pytest.mark.parametrize(("text", "wanted"), BORED)
def test_boring_tools(text: str, wanted: Found) -> None:
    assert found(text, tool=BORER, speed="S300 M3") == wanted


@pytest.mark.parametrize("tool", [TAP, REAMER, BORER], ids=lambda tool: tool.kind)
def test_a_tool_that_only_moves_sideways_is_judged(tool: Tool) -> None:
    text = "G21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS200 M3\nG1 X60. Y20. F100.\nM5\nM30\n"
    run = read_program(text.encode(), FLOATING, file="a.nc", tools=(tool,))
    kinds = [one.kind for one in simulate(run, BLOCK, MILL, FLOATING, file="a.nc").findings]
    assert kinds == ["height-unknown"]


def test_a_pitch_that_is_not_one_millimetre() -> None:
    coarse = Tap("M8", 8.0, pitch_mm=1.25, lead_threads=4.0, number=1)
    drilled = Scene(BLOCK.stock, drilled=(Drilled((20.0, 20.0, 0.0), (20.0, 20.0, -20.0), 6.8),))

    def told(text: str) -> Found:
        return found(text, tool=coarse, scene=drilled)

    assert told("G98 G84 X20. Y20. Z-10. R3.75 F250.") == []
    assert told("G98 G84 X20. Y20. Z-10. R3.74 F250.") == [("warning", "tap-r-too-near", 5, 1)]
    assert told("G98 G84 X20. Y20. Z-10. R5. F200.") == [("stop", "tap-feed", 5, 1)]
    # 200 rev/min and 1.25 mm: 5 mm in 1.2 s
    assert told("Z5.\nG1 Z-10. F250.\nG4 P1.2\nM4\nG1 Z5.") == []
    assert told("Z5.\nG1 Z-10. F250.\nG4 P1.21\nM4\nG1 Z5.") == [("stop", "tap-dwell", 7, 1)]
