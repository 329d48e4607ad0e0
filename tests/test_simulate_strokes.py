"""Where each rule about one stroke begins: what just passes, and what just does not.

A touch is a thousandth; the other figures are those that `stroke` and the rules common with the
checks give, with their sources. A 118 degree point of 5 mm is 1.502 mm long.
"""

from __future__ import annotations

import pytest

from millprep.model.tools import Drill, EndMill, Reamer, SpotDrill, Tap, Tool
from millprep.reading.simulate.form import UNKNOWN, form_of
from millprep.reading.simulate.record import Cut
from millprep.reading.simulate.strokes import (
    Stroke,
    doubts,
    faults,
    follow_fault,
    loose_faults,
    outside_fault,
)

DRILL, SMALL = Drill("5 mm", 5.0), Drill("3 mm", 3.0)
SPOT = SpotDrill("10 mm", 10.0)
REAMER, TAP = Reamer("6 mm", 6.0, lead_mm=1.0), Tap("M6", 6.0, pitch_mm=1.0, lead_threads=4.0)
STARTED = Cut(5.0, -1.0, 0.0, 1.0, is_spot=True)


def stroke(tool: Tool, low: float = -10.0, inside: float = 20.0) -> Stroke:
    """Down to a height in a block whose top is at 0 and whose underside is at -20."""
    return Stroke(1, 2, 7.0, 8.0, low, 0.0, -20.0, inside, form_of(tool), 81, 3, 11, 12)


@pytest.mark.parametrize(
    ("one", "kinds"),
    [
        (stroke(DRILL, inside=2.4995), []),
        (stroke(DRILL, inside=2.4985), ["breaks-edge"]),
        (stroke(DRILL, inside=0.0), ["breaks-edge"]),
        (stroke(DRILL, inside=-0.001), ["outside-stock"]),
        (stroke(SPOT, inside=0.0), []),
        (stroke(Drill("5 mm", 5.0, flute_mm=10.0), -10.0005), []),
        (stroke(Drill("5 mm", 5.0, flute_mm=10.0), -10.0015), ["deeper-than-flutes"]),
        (stroke(DRILL, -26.502), []),
        (stroke(DRILL, -26.504), ["below-underside"]),
        (stroke(EndMill("5 mm", 5.0), -25.0005), []),
        (stroke(EndMill("5 mm", 5.0), -25.0015), ["below-underside"]),
    ],
)
def test_where_the_faults_of_a_stroke_begin(one: Stroke, kinds: list[str]) -> None:
    found = list(faults(one, [], underside_known=False))
    assert [each.finding.kind for each in found] == kinds
    assert all((each.move, each.finding.line) == (2, 11) for each in found)


def test_what_lies_below_is_not_asked_where_it_is_known() -> None:
    assert not list(faults(stroke(DRILL, -60.0), [], underside_known=True))


@pytest.mark.parametrize(
    ("one", "room", "kinds"),
    [
        (stroke(DRILL), [], ["no-spot"]),
        (stroke(DRILL), [Cut(0.5, -1.0, 0.0, 1.0)], []),  # a fifth of the radius
        (stroke(DRILL), [Cut(0.49, -1.0, 0.0, 1.0)], ["no-spot"]),
        (stroke(DRILL), [Cut(2.5, -9.0, 0.0, 1.0, upper_mm=-5.0)], ["no-spot"]),
        (stroke(SPOT), [], []),
        # a quarter of the width, 1 mm at the least
        (stroke(DRILL, -18.75), [STARTED], []),
        (stroke(DRILL, -18.755), [STARTED], ["thin-floor"]),
        (stroke(SMALL, -19.0), [STARTED], []),
        (stroke(SMALL, -19.005), [STARTED], ["thin-floor"]),
        (stroke(SMALL, -19.998), [STARTED], ["thin-floor"]),
        (stroke(SMALL, -20.0), [STARTED], []),
        (stroke(EndMill("5 mm", 5.0), -19.5), [], []),
        (stroke(DRILL, inside=3.3), [STARTED], []),
        (stroke(DRILL, inside=3.298), [STARTED], ["thin-wall"]),
        (stroke(DRILL, inside=2.502), [STARTED], ["thin-wall"]),
        (stroke(DRILL, inside=2.5), [STARTED], []),
        (stroke(SPOT, inside=5.5), [], []),
    ],
)
def test_where_the_doubts_of_a_stroke_begin(one: Stroke, room: list[Cut], kinds: list[str]) -> None:
    assert [each.finding.kind for each in doubts(one, room)] == kinds


def test_only_what_may_come_in_from_the_side_is_warned_of_beside_the_stock() -> None:
    severities = [
        outside_fault(stroke(tool)).finding.severity for tool in (DRILL, EndMill("", 5.0))
    ]
    assert severities == ["stop", "warning"]


def hole(diameter_mm: float, low_mm: float = -20.0) -> list[Cut]:
    return [Cut(diameter_mm / 2, low_mm, diameter_mm / 2, 0.0)]


@pytest.mark.parametrize(
    ("tool", "sizes"),
    [  # within a thousandth of each limit and beyond: `shared_rules` gives the limits
        (REAMER, {5.2043: "stop", 5.206: "warning", 5.548: "warning", 5.5495: None}),
        (REAMER, {5.8529: None, 5.8539: "warning", 5.9805: "warning", 5.9815: "stop"}),
        (TAP, {4.698: "stop", 4.699: None, 5.387: None, 5.388: "warning"}),
        (TAP, {5.6005: "warning", 5.6015: "stop"}),
    ],
)
def test_where_a_hole_is_wrong_for_the_tool_that_follows(
    tool: Tool, sizes: dict[float, str | None]
) -> None:
    faults = {size: follow_fault(form_of(tool), 85, hole(size), -15.0, -20.0) for size in sizes}
    told = {size: fault and (fault[0].severity, fault[0].kind) for size, fault in faults.items()}
    assert told == {
        size: severity and (severity, "hole-wrong-for-tool") for size, severity in sizes.items()
    }


@pytest.mark.parametrize(
    ("low", "kind"), [(-18.26, None), (-18.2755, None), (-18.2765, "hole-too-shallow-for-tool")]
)
def test_where_a_drilled_hole_ends_for_the_tool_that_follows(low: float, kind: str | None) -> None:
    # Full size of 5.8 mm down to Z-18.26, the drill's point below it; 0.02 mm on diameter is room.
    room = [Cut(2.9, -20.0, 0.0, 0.6)]
    fault = follow_fault(form_of(REAMER), 85, room, low, -30.0)
    assert (None if fault is None else fault[0].kind) == kind
    if fault is not None:
        assert fault[1]["reach_mm"] == pytest.approx(-18.26)


def test_an_unknown_tool_follows_as_its_cycle_says() -> None:
    told = [follow_fault(UNKNOWN, cycle, [], -10.0, -20.0) for cycle in (74, 84, 85, 81)]
    assert [fault and fault[1]["tool"] for fault in told] == ["tap", "tap", "reamer", None]
    assert follow_fault(UNKNOWN, 84, hole(5.0), -10.0, -20.0) is None
    unsized = [Cut(0.0, -20.0, 0.0, 0.0)]
    assert follow_fault(form_of(REAMER), 85, unsized, -10.0, -20.0) is None


def test_a_tap_of_unknown_pitch_is_asked_for_its_hole_and_not_for_its_size() -> None:
    tap = form_of(Tap("6 mm", 6.0))
    assert tap.lead_mm is None
    assert follow_fault(tap, 84, hole(3.0), -10.0, -20.0) is None
    fault = follow_fault(tap, 84, [], -10.0, -20.0)
    assert fault is not None and fault[0].kind == "nothing-to-follow"


@pytest.mark.parametrize(
    ("tool", "low", "room", "kinds"),
    [
        (TAP, -0.0005, [], []),
        (TAP, -0.0015, [], ["nothing-to-follow"]),
        (REAMER, -10.0, hole(6.001), []),  # where it has cut itself
        (REAMER, -10.0, hole(6.003), ["hole-wrong-for-tool"]),
        (TAP, -10.0, hole(6.001), ["hole-wrong-for-tool"]),
    ],
)
def test_a_tool_that_touches_nothing(
    tool: Tool, low: float, room: list[Cut], kinds: list[str]
) -> None:
    assert [each.finding.kind for each in loose_faults(stroke(tool, low), room)] == kinds
