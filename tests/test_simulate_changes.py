"""Changes of tool in the dry run: where they are made, what room they have, what follows them."""

from __future__ import annotations

import pytest

from millprep.model.scene import Box, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Drill, SpotDrill
from millprep.reading.gcode import read_program
from millprep.reading.simulate import simulate

MILL = Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speed_range_rpm=(60.0, 3000.0))
STOCK = Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0))
CLAMP = Box((60.0, 10.0, -20.0), (80.0, 30.0, 12.0), "clamp")
SCENE = Scene(STOCK, (CLAMP,), underside_known=True)
SPOT = SpotDrill("10 mm", 10.0, point_angle_deg=90.0, length_mm=60.0, number=1)
HEAD = "(TOOL 1 SPOT DRILL 10 MM POINT 90)\n(TOOL 2 DRILL 5 MM)\nG21 G17 G90 G94 G40 G49 G80 G54\n"
SPOTTED = "S800 M3\nG0 Z25.\nX20. Y20.\nZ2.\nG1 Z-3. F80.\n"
STOP = Control(tool_change="stop", length_offset=False)
NEW_KINDS = {"change-in-work", "change-room", "second-tool-on-first-zero", "after-touch-off"}


def found(
    body: str,
    control: Control | None = None,
    *,
    length_mm: float = 0.0,
    first: str = "T1 M6\nG43 H1\n",
    scene: Scene | None = SCENE,
) -> list[tuple[str, str, str]]:
    """(severity, kind, text of the line) of what is said of the changes."""
    text = f"{HEAD}{first}{body}G0 Z30.\nM5\nM30\n"
    tools = (SPOT, Drill("5 mm", 5.0, point_angle_deg=118.0, length_mm=length_mm, number=2))
    control = control or Control()
    run = read_program(text.encode(), control, file="part.nc", tools=tools if length_mm else ())
    assert run.is_complete, run.findings
    findings = simulate(run, scene, MILL, control, file="part.nc").findings
    lines = text.splitlines()
    return [
        (each.severity, each.kind, lines[(each.line or 1) - 1])
        for each in findings
        if each.kind in NEW_KINDS
    ]


@pytest.mark.parametrize(
    ("way", "severity"),
    [
        ("", "stop"),
        ("G0 Z-0.5\n", "stop"),
        ("G0 Z0.\n", None),
        ("G0 Z25.\n", None),
        ("G91 G28 Z0.\nG90\n", None),
        ("G53 G0 Z0.\n", None),
        ("G91 G28 Z0.\nG28 X0. Y0.\nG90\n", None),
        ("G0 Z25.\nX-30.\nZ-10.\n", None),
        ("G0 Z25.\nX-4.9\nZ-10.\n", "stop"),
        ("G0 Z25.\nX-5.1\nZ-10.\n", None),
    ],
)
def test_the_tip_below_the_top_at_a_change(way: str, severity: str | None) -> None:
    told = found(f"{SPOTTED}{way}M5\nT2 M6\nG43 H2\n")
    assert told == ([(severity, "change-in-work", "T2 M6")] if severity else [])


def test_a_control_whose_change_goes_up_and_one_that_changes_at_a_stop() -> None:
    low = f"{SPOTTED}M5\n"
    assert not found(low + "T2 M6\nG43 H2\n", Control(change_goes_up=True))
    by_hand = Control(tool_change="stop", change_goes_up=True)
    told = found(low + "T2\nM0\nG43 H2\n", by_hand, first="T1\nM0\nG43 H1\n")
    assert told == [("stop", "change-in-work", "M0")]


def test_the_first_tool_and_the_same_tool_are_no_change() -> None:
    assert not found(SPOTTED, first="G0 Z1.\nX20. Y20.\nT1 M6\nG43 H1\n")
    assert not found(SPOTTED + "T1 M6\nG43 H1\n")
    told = found("T1 M6\nG43 H1\n", first=SPOTTED)
    assert told == [("stop", "change-in-work", "T1 M6")]  # another tool has cut before it


@pytest.mark.parametrize(
    ("way", "length_mm", "severity", "kind"),
    [
        ("G0 Z25.\n", 90.0, "stop", "change-in-work"),
        ("G0 Z25.\n", 85.0, None, ""),
        ("G0 Z25.\n", 40.0, None, ""),
        ("G0 Z1.\n", 60.0, None, ""),
        ("G0 Z25.\nX-30.\n", 95.0, None, ""),
        ("G0 Z25.\nX70.\n", 74.0, "stop", "change-in-work"),
        ("G0 Z25.\nX70.\n", 73.0, None, ""),
    ],
)
def test_the_new_tool_where_it_would_stand(
    way: str, length_mm: float, severity: str | None, kind: str
) -> None:
    told = found(f"{SPOTTED}G0 Z25.\n{way}M5\nT2 M6\nG43 H2\n", length_mm=length_mm)
    assert told == ([(severity, kind, "T2 M6")] if severity else [])


@pytest.mark.parametrize(
    ("height", "length_mm", "severity", "kind"),
    [
        (25, 80.0, None, ""),
        (15, 80.0, "warning", "change-room"),
        (15, 100.0, "stop", "change-in-work"),
    ],
)
def test_the_new_tool_in_the_hole_that_is_drilled_there(
    height: float, length_mm: float, severity: str | None, kind: str
) -> None:
    """The hole is 10 mm wide with a 90 degree point: a 5 mm drill has room to 2.5 mm above it."""
    drilled = "S800 M3\nG0 Z25.\nX20. Y20.\nZ2.\nG1 Z-12. F80.\n"
    told = found(f"{drilled}G0 Z{height}.\nM5\nT2 M6\nG43 H2\n", length_mm=length_mm)
    assert told == ([(severity, kind, "T2 M6")] if severity else [])
    later = f"S800 M3\nG0 Z25.\nX20. Y20.\nZ{height}.\nM5\nT2 M6\nG43 H2\n"
    later += "S800 M3\nG0 Z25.\nG1 Z-12. F80.\n"
    told = found(later, length_mm=length_mm)  # no hole is there yet
    assert told == ([("stop", "change-in-work", "T2 M6")] if severity else [])


TOUCHED = "T1\nM0 (FIT TOOL 1)\n"
CHANGE = "G0 Z25.\nM5\nT2\nM0 (FIT TOOL 2)\nS800 M3\n"


@pytest.mark.parametrize(
    ("after", "told"),
    [
        ("G0 Z25.\nX20. Y20.\nG1 Z-8. F80.\n", []),
        ("G91 G28 Z0.\nG90 G0 X20. Y20.\nG1 Z-8. F80.\n", []),
        ("G53 G0 Z0.\nX20. Y20.\nZ2.\n", []),
        ("G0 X20. Y20. Z25.\nG1 Z-8. F80.\n", []),
        ("G98 G81 Z-8. R2. F80.\nG80\n", [("stop", "G98 G81 Z-8. R2. F80.")]),
        (
            "G98 G81 X20. Y20. Z-8. R2. F80.\nG80\n",
            [("warning", "G98 G81 X20. Y20. Z-8. R2. F80.")],
        ),
        ("G0 X20. Y20.\nZ25.\nG1 Z-8. F80.\n", [("warning", "G0 X20. Y20.")]),
        ("G0 Z25.\nX20.\nG1 Z-8. F80.\n", [("stop", "G1 Z-8. F80.")]),
        ("G1 Z-8. F80.\n", [("stop", "G1 Z-8. F80.")]),
        (
            "G1 X20. Y20. Z-8. F80.\n",
            [("warning", "G1 X20. Y20. Z-8. F80."), ("stop", "G1 X20. Y20. Z-8. F80.")],
        ),
        ("G91 G0 Z25.\nG90\n", [("stop", "G91 G0 Z25.")]),
        ("G0 Z25.\nG91 G0 X5.\nG90\n", [("stop", "G91 G0 X5.")]),
        ("G0 Z25.\nX20. Y20.\nG91 G0 X5.\nG90\n", []),
    ],
)
@pytest.mark.parametrize("scene", [SCENE, None])
def test_first_moves_after_a_touch_off(
    after: str, told: list[tuple[str, str]], scene: Scene | None
) -> None:
    harms = found(SPOTTED + CHANGE + after, STOP, first=TOUCHED, scene=scene)
    assert harms == [(severity, "after-touch-off", line) for severity, line in told]


@pytest.mark.parametrize("stop", ["T1\nM0 (TOUCH OFF ON TOP)\n", "M0 (TOUCH OFF ON TOP)\n"])
@pytest.mark.parametrize(
    ("after", "told"),
    [
        ("S800 M3\nG0 X20. Y20.\nZ2.\nG1 Z-3. F80.\n", [("warning", "G0 X20. Y20.")]),
        ("S800 M3\nG0 Z-3.\n", [("stop", "G0 Z-3.")]),
        ("S800 M3\nG0 Z25.\nX20. Y20.\nZ2.\nG1 Z-3. F80.\n", []),
    ],
)
def test_a_touch_off_before_the_first_tool_cuts(
    stop: str, after: str, told: list[tuple[str, str]]
) -> None:
    """It still stands on the part, whatever Z said before."""
    harms = found(after, STOP, first=f"G0 Z50.\n{stop}")
    assert harms == [(severity, "after-touch-off", line) for severity, line in told]
    if told[:1] == [("warning", "G0 X20. Y20.")]:  # without a Z before it another stop says so
        assert not found(after, STOP, first=stop)


def test_a_touch_off_with_the_same_tool_loses_the_place_too() -> None:
    body = SPOTTED + "G0 Z25.\nM5\nM0 (TOUCH OFF AGAIN)\nS800 M3\nG0 X30.\n"
    assert found(body, STOP, first=TOUCHED) == [("warning", "after-touch-off", "G0 X30.")]
    assert not found(body.replace("TOUCH OFF AGAIN", "CHECK DEPTH"), STOP, first=TOUCHED)


@pytest.mark.parametrize(
    ("words", "tip_mm"),
    [
        ("G92 Z0", -8.0),
        ("G92 Z0.1", -8.0),
        ("G10 L20 P1 Z0", -8.0),
        ("G10 L20 P0 Z25.", -8.0),
        ("G92 Z0\nG91 G0 Z25.\nG90", -8.0),
        ("G0 Z25.\nG92 Z0", 17.0),
        ("G92 X20. Y20.", -8.0),
    ],
)
def test_z_set_where_a_tool_was_touched_off(words: str, tip_mm: float) -> None:
    """The control counts from where it is told that it stands (NISTIR 6556, section 3.5.18)."""
    body = f"{SPOTTED}{CHANGE}{words}\nG0 Z25.\nX20. Y20.\nG1 Z-8. F80.\n"
    text = f"{HEAD}{TOUCHED}{body}G0 Z30.\nM5\nM30\n"
    run = read_program(text.encode(), STOP, file="part.nc")
    assert run.is_complete, run.findings
    assert min((run.moves.end + run.moves.shift)[2, run.changes[1].row :]) == tip_mm
    assert not found(body, STOP, first=TOUCHED)
    warned = {each.kind for each in run.findings if each.severity == "warning"}
    assert ("work-shift" in warned) == (words in ("G0 Z25.\nG92 Z0", "G92 X20. Y20."))


@pytest.mark.parametrize(
    ("change", "control", "is_told"),
    [
        ("T2\nM0\n", STOP, True),
        ("T2\nM5 M0\n", STOP, False),
        ("T2\nS0\nM0\n", STOP, False),
        ("M0 (FIT TOOL 2)\n", Control(length_offset=False), True),
        ("M0 (CHECK DEPTH)\n", STOP, False),
        ("T2 M6\n", Control(), False),  # M6 stops it (NISTIR 6556, section 3.6.3)
        ("M0\n", Control(), False),
    ],
)
def test_hands_at_a_tool_that_turns(change: str, control: Control, is_told: bool) -> None:
    text = f"{HEAD}{TOUCHED}{SPOTTED}G0 Z25.\n{change}"
    run = read_program(text.encode(), control, file="part.nc")
    told = [one.line for one in run.findings if one.kind == "spindle-on-at-change"]
    assert told == ([text.count("\n")] if is_told else [])


@pytest.mark.parametrize("height", [19.0, 20.0])
def test_room_where_lengths_are_unknown(height: float) -> None:
    body = f"{SPOTTED}G0 Z{height}\nM5\nT2\nM0\nG0 Z25.\n"
    expected = [("warning", "change-room", "M0")] if height < 20 else []
    assert found(body, STOP, first=TOUCHED) == expected


@pytest.mark.parametrize(
    ("control", "line"),
    [
        (Control(tool_change="files", length_offset=False), "T2"),
        (Control(tool_change="stop", length_offset=False, zero_in_stop=False), "M0 (FIT TOOL 2)"),
        (Control(tool_change="stop", length_offset=False), None),
        (Control(tool_change="stop", length_offset=False, zero_in_stop=True), None),
        (Control(tool_change="files", length_offset=False, axes="xy"), None),
    ],
)
def test_a_second_tool_in_a_file(control: Control, line: str | None) -> None:
    body = SPOTTED + CHANGE + "G0 Z25.\nX20. Y20.\n"
    first = TOUCHED
    if control.axes == "xy":
        body, first = "S800 M3\nG1 X20. Y20. F80.\nM5\nT2\nM0\nG0 X30.\n", "T1\n"
        body = body.replace("G0 X30.\n", "G0 X30.\nM5\nM30\n")
    told = found(body, control, first=first)
    assert told == ([("stop", "second-tool-on-first-zero", line)] if line else [])
