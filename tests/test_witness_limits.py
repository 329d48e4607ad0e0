"""Where the witness begins to find fault with a hole: each figure just within, and just beyond.

Depths hold to 0.01 mm, diameters to 0.003; half a micrometre to either side of that is tried.
"""

from __future__ import annotations

from typing import Any

import pytest
from test_witness import (
    CONE,
    M6,
    SIZE,
    cone,
    drill,
    flat,
    hole,
    judged,
    made,
    part,
    spot,
    tap,
    tapped,
)

from millprep.base.records import replace
from millprep.model.kinds import SPOT as SPOT_ALONE
from millprep.model.part import Hole, Mouth, Opened, Recess, SetupRequest
from millprep.reading.simulate import MadeOperation
from millprep.reference.drills import oversize_mm
from millprep.reference.threads import thread_named
from millprep.witness.expected import RunOut, expected_holes, run_out, visits
from millprep.witness.leavings import beyond_mm, is_well_left, least_left_mm, ream_stock_mm

THROUGH = hole(is_through=True, depth_mm=20.0)
BOTH = hole(is_through=True, depth_mm=20.0, from_both_ends=True)
REAMED, BORED = hole("ream", 6.35), hole("bore", 10.0)
SUNK = hole(mouth=CONE)
SPOT = spot()
TIP = -12.0 - 0.3004303 * 5


def reamer(full: float = -12.0) -> MadeOperation:
    return flat("ream", "reamer", 6.35, full - 1.0, 3, full)


def pilot(tip: float, diameter: float = 2.0) -> MadeOperation:
    return replace(drill(diameter), tip_mm=tip, line=5)


def point(tip: float) -> MadeOperation:
    """Of a 5 mm drill, by its tip."""
    return replace(drill(), tip_mm=tip, full_mm=tip + 0.3004303 * 5)


def head(diameter: float = 10.0, tip: float = -12.0) -> MadeOperation:
    return flat("bore", "boring head", diameter, tip, 4)


def round_(diameter: float, full: float) -> MadeOperation:
    return replace(flat("counterbore", "end mill", diameter, full, 3), milling="circle")


def edge(width: float) -> MadeOperation:
    return replace(cone(width), milling="circle")


DEEP, SHALLOW = ["too-deep"], ["too-shallow"]
WIDE, EXTRA, MISSING = ["wrong-diameter"], ["operation-extra"], ["operation-missing"]
LIMITS: list[tuple[str, Hole, Any, dict[float, list[str]]]] = [
    ("drilled so deep", hole(), lambda z: [SPOT, drill(full=z)],
     {-12.0095: [], -12.0105: DEEP, -11.9905: [], -11.9895: SHALLOW}),
    ("drilled so wide", hole(), lambda d: [SPOT, drill(d)],
     {5.0025: [], 5.0035: WIDE, 4.9975: [], 4.9965: WIDE}),
    ("through", THROUGH, lambda z: [SPOT, drill(full=z)],
     {-19.9905: [], -19.9895: SHALLOW, -24.999: [], -25.001: DEEP}),
    ("through by so much", replace(THROUGH, breakthrough_mm=2.0), lambda z: [SPOT, drill(full=z)],
     {-21.9905: [], -21.9895: SHALLOW, -22.0095: [], -22.0105: DEEP}),
    ("half way", BOTH, lambda z: [SPOT, drill(full=z)],
     {-9.9905: [], -9.9895: SHALLOW, -24.999: [], -25.001: DEEP}),
    # a spot is no wider than 1 mm over the mouth, and more than a touch
    ("spot", hole(), lambda w: [spot(w), drill()],
     {6.0: [], 6.001: DEEP, 0.3: [], 0.299: SHALLOW}),
    ("spot sunk", hole(), lambda z: [spot(full_mm=z), drill()], {-0.0095: [], -0.0105: DEEP}),
    # a cone of 90 degrees is 0.02 wider a hundredth deeper, and 0.003 by its tool
    ("countersink", SUNK, lambda w: [spot(4.0), drill(), cone(w)],
     {8.9825: [], 8.9835: DEEP, 8.9375: [], 8.9365: SHALLOW}),
    ("countersink sunk", SUNK, lambda z: [spot(4.0), drill(), replace(cone(), full_mm=z)],
     {-0.0095: [], -0.0105: DEEP}),
    ("angle", SUNK, lambda a: [spot(4.0), drill(), cone(angle=a)],
     {90.5: [], 90.6: ["wrong-angle"], 89.5: [], 89.4: ["wrong-angle"]}),
    ("sunk by its spot", SUNK, lambda w: [spot(w), drill()],
     {8.9825: [], 8.9835: MISSING, 8.9375: [], 8.9365: MISSING}),
    ("sunk by its spot so steep", SUNK, lambda a: [spot(8.96, point_angle_deg=a), drill()],
     {90.5: [], 90.6: MISSING, 89.5: [], 89.4: MISSING}),
    # a pilot is narrower than its drill and goes no deeper
    ("pilot", hole(), lambda z: [SPOT, pilot(z), drill()], {TIP - 0.0095: [], TIP - 0.0105: DEEP}),
    ("pilot so wide", hole(), lambda d: [SPOT, pilot(-9.0, d), drill()],
     {4.9965: [], 4.9975: EXTRA}),
    # before a reamer of 1/4 in: 1/32 in at the most, 0.02 mm at the least; to the reamer's end
    ("before the reamer", REAMED, lambda d: [spot(6.6), drill(d, -14.0), reamer()],
     {5.557: [], 5.556: WIDE, 6.3295: [], 6.3305: WIDE}),
    ("under the reamer", REAMED, lambda z: [spot(6.6), drill(6.0, z), reamer()],
     {-12.9905: [], -12.9895: SHALLOW}),
    ("reamed so deep", REAMED, lambda z: [spot(6.6), drill(6.0, -14.0), reamer(z)],
     {-12.0095: [], -12.0105: DEEP, -11.9905: [], -11.9895: SHALLOW}),
    # before a tap: the hole of the drawing, or one pitch of M6 more than the thread
    ("the drawing's", tapped(drill_depth_mm=14.0), lambda z: [spot(6.3), drill(full=z), tap()],
     {-13.9905: [], -13.9895: SHALLOW, -14.0095: [], -14.0105: DEEP}),
    ("through the floor", tapped(), lambda z: [spot(6.3), point(z), tap()],
     {-19.9895: [], -19.9905: DEEP}),
    ("tapped through", replace(tapped(), is_through=True, depth_mm=20.0),
     lambda z: [spot(6.3), drill(full=z), tap(-21.0)],
     {-19.9905: [], -19.9895: SHALLOW, -25.0095: [], -25.0105: DEEP}),
    ("pitch", tapped(), lambda p: [spot(6.3), drill(full=-13.0), replace(tap(), pitch_mm=p)],
     {1.0014: [], 1.0016: ["wrong-tool"], 0.9986: [], 0.9984: ["wrong-tool"]}),
    # a boring head comes to its size by passes
    ("before the head", BORED, lambda d: [spot(9.0), drill(d), head()],
     {9.9965: [], 9.9975: WIDE}),
    ("pass", BORED, lambda d: [spot(9.0), drill(9.0), head(), replace(head(d), line=6)],
     {9.5: [], 10.0025: [], 10.0035: EXTRA}),
    ("pass so deep", BORED, lambda z: [spot(9.0), drill(9.0), head(9.5, z), head()],
     {-12.0095: [], -12.0105: EXTRA}),
    ("milled to the floor", BORED, lambda z: [round_(9.7, z), head()],
     {-11.9905: [], -11.9895: MISSING}),
    # of what has a point the full size is worked out from it, whatever else is told
    ("point", hole(), lambda z: [SPOT, replace(point(z), full_mm=None)],
     {TIP - 0.0095: [], TIP - 0.0105: DEEP}),
    # an edge that is broken all round is asked for by nobody, a millimetre wide
    ("edge", hole(), lambda w: [SPOT, drill(), edge(w)], {7.0: [], 7.001: EXTRA}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "operations", "value", "kinds"),
    [
        pytest.param(wanted, operations, value, kinds, id=f"{name} {value}")
        for name, wanted, operations, values in LIMITS
        for value, kinds in values.items()
    ],
)
def test_where_a_hole_begins_to_differ(
    wanted: Hole, operations: Any, value: float, kinds: list[str]
) -> None:
    found = judged(part(wanted, size=SIZE), made(*operations(value)))
    assert [one.kind for one in found] == kinds
    assert all(one.file == "p.nc" and one.holes == ("vent",) for one in found)


# What the part leaves open, in our own programs: the rules of the trade, to the same hundredth

HALF_ABOVE = TIP + 0.5
RULES: list[tuple[str, Hole, Any, dict[float, list[str]]]] = [
    # a millimetre through, or a tenth of the drill, or what the part says
    ("through", THROUGH, lambda z: [SPOT, drill(full=z)],
     {-20.9905: [], -20.9895: SHALLOW, -21.0095: [], -21.0105: DEEP}),
    ("through, wide", replace(THROUGH, diameter_mm=15.0),
     lambda z: [spot(10.0, -4.9), drill(15.0, z)],
     {-21.4905: [], -21.4895: SHALLOW, -21.5095: [], -21.5105: DEEP}),
    ("half way", BOTH, lambda z: [SPOT, drill(full=z)],
     {-10.4905: [], -10.4895: SHALLOW, -10.5095: [], -10.5105: DEEP}),
    # 0.3 over the hole, or 0.8 of it under a countersink; of 90 degrees a hundredth is 0.02 wide
    ("spot", hole(), lambda w: [spot(w), drill()],
     {5.3225: [], 5.3235: DEEP, 5.2775: [], 5.2765: SHALLOW}),
    ("spot under a cone", SUNK, lambda w: [spot(w, -1.9), drill(), cone()],
     {4.0225: [], 4.0235: DEEP, 3.9775: [], 3.9765: SHALLOW}),
    # half a millimetre above the drill's tip, no more than 0.6 of it wide; through, just through
    ("pilot", hole(), lambda z: [SPOT, pilot(z), drill()],
     {HALF_ABOVE - 0.0095: [], HALF_ABOVE - 0.0105: DEEP,
      HALF_ABOVE + 0.0095: [], HALF_ABOVE + 0.0105: SHALLOW}),
    ("pilot so wide", hole(), lambda d: [SPOT, pilot(HALF_ABOVE, d), drill()],
     {3.0025: [], 3.0035: WIDE}),
    ("pilot through", THROUGH, lambda z: [SPOT, drill(2.0, z, 5), drill(full=-21.0)],
     {-19.9905: [], -19.9895: SHALLOW, -20.0095: [], -20.0105: DEEP}),
    ("pilot in sheet", THROUGH, lambda d: [SPOT, drill(2.0, -d, 5), drill(full=-d - 1)],
     {2.4905: [], 2.4895: EXTRA}),
    # under a thread from the tap's end to a pitch more; the tap a pitch through, the reamer 1 mm
    ("under the tap", tapped(), lambda z: [spot(6.3), drill(full=z), tap()],
     {-12.0: [], -12.5: [], -13.0095: [], -13.0105: DEEP}),
    ("tapped through", replace(tapped(), is_through=True, depth_mm=20.0),
     lambda z: [spot(6.3), drill(full=-21.0), tap(z)],
     {-20.9905: [], -20.9895: SHALLOW, -21.0095: [], -21.0105: DEEP}),
    ("reamed through", replace(REAMED, is_through=True, depth_mm=20.0),
     lambda z: [spot(6.65), drill(6.1, -21.0), reamer(z)],
     {-20.9905: [], -20.9895: SHALLOW, -21.0095: [], -21.0105: DEEP}),
    ("spot of 120 degrees", hole(),
     lambda w: [spot(w, -1.53, point_angle_deg=120.0), drill()],
     {5.337: [], 5.338: DEEP, 5.263: [], 5.262: SHALLOW}),
    ("opened", hole(opened=(Opened(6.6, 6.0, "M6"),)), lambda d: [SPOT, drill(), drill(d, -6.0, 3)],
     {6.6: [], 6.6025: [], 6.5975: []}),
    ("milled through", replace(THROUGH, diameter_mm=16.0), lambda z: [round_(16.0, z)],
     {-20.9905: [], -20.9895: SHALLOW, -21.0095: [], -21.0105: DEEP}),
    ("reamer's hole", REAMED, lambda d: [spot(6.65), drill(d, -13.5), reamer()],
     {5.8965: [], 5.8955: WIDE}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "operations", "value", "kinds"),
    [
        pytest.param(wanted, operations, value, kinds, id=f"{name} {value}")
        for name, wanted, operations, values in RULES
        for value, kinds in values.items()
    ],
)
def test_where_a_rule_of_our_own_begins_to_be_broken(
    wanted: Hole, operations: Any, value: float, kinds: list[str]
) -> None:
    if wanted is THROUGH and 0 < value < 3:
        wanted = replace(wanted, depth_mm=value)
    made_of = made(*operations(value))
    assert judged(part(wanted), made_of) == []
    assert [one.kind for one in judged(part(wanted), made_of, by_own_rules=True)] == kinds


@pytest.mark.parametrize(
    ("wanted", "hand", "least"), [(tapped(), "tap", 9.0), (REAMED, "ream", 12.0)]
)
def test_how_deep_a_hole_is_drilled_for_the_hand(wanted: Hole, hand: str, least: float) -> None:
    size = 5.0 if hand == "tap" else 6.0
    for full, kinds in ((-least + 0.0095, []), (-least + 0.0105, SHALLOW)):
        found = judged(part(wanted), made(spot(5.5), drill(size, full)), hands={hand})
        assert [one.kind for one in found] == kinds


@pytest.mark.parametrize("axis", ["x", "y"])
def test_where_a_hole_begins_to_be_off(axis: str) -> None:
    for at, kinds in ((10.0049, []), (10.0051, ["hole-off"]), (9.9951, []), (9.9949, ["hole-off"])):
        at_each: dict[str, Any] = {axis: at}
        found = judged(part(hole()), made(spot(), drill(), **at_each))
        assert [one.kind for one in found] == kinds


def test_another_hand_is_another_tap() -> None:
    assert M6 is not None
    left = replace(tap(), is_left_hand=True)
    told = judged(part(tapped()), made(spot(6.3), drill(full=-13.0), left))
    assert [one.kind for one in told] == ["wrong-tool"]


@pytest.mark.parametrize(
    ("full", "said"),
    [
        (0.0, "never enters at its full size (its end at Z-1.502); 11.990 deep is asked for"),
        (1.5, "never enters at its full size (its end at Z-0.002); 11.990 deep is asked for"),
        (-0.01, "is 0.010 mm deep at its full size (its end at Z-1.512); 11.990 or more is asked"),
    ],
)
def test_what_never_enters(full: float, said: str) -> None:
    (one,) = judged(part(hole()), made(spot(), drill(full=full)))
    assert (one.kind, one.line) == ("too-shallow", 2)
    assert said in one.message


# What the making may leave


@pytest.mark.parametrize(
    ("diameter", "least", "most", "left"),
    [
        (5.0, 0.1, 0.2, 0.02),
        (5.0019, 0.1, 0.2, 0.02),
        (5.0021, 0.2, 0.3, 0.05),
        (20.0019, 0.2, 0.3, 0.05),
        (20.0021, 0.3, 0.5, 0.05),
    ],
)
def test_what_a_reamer_takes(diameter: float, least: float, most: float, left: float) -> None:
    wanted = hole("ream", diameter)
    assert ream_stock_mm(wanted, "mild steel", False) == (least, most)
    assert ream_stock_mm(wanted, "no metal of the table", False) == (least, most)
    for material in ("aluminium", "acetal"):
        assert ream_stock_mm(wanted, material, False) == (1.5 * least, 1.5 * most)
    over = oversize_mm(diameter)
    assert ream_stock_mm(wanted, "mild steel", True) == (0.05 + over, 0.1 + over)
    assert least_left_mm(wanted) == left


COARSE_M8 = thread_named("M8")


@pytest.mark.parametrize(
    ("wanted", "drill_mm", "is_well"),
    [
        # of 1.2269 P half to 0.85: 6 - 0.6135 and 6 - 1.0429, and 0.002 of P for a digit
        (replace(tapped(), depth_mm=12.0), 5.3888, True),
        (replace(tapped(), depth_mm=12.0), 5.3892, False),
        (replace(tapped(), depth_mm=12.0), 4.9548, True),
        (replace(tapped(), depth_mm=12.0), 4.9545, False),
        # six tenths where it is no longer than it is wide
        (replace(tapped(), depth_mm=5.9985), 5.3884, True),
        (replace(tapped(), depth_mm=5.9975), 5.3884, False),
        (replace(tapped(), depth_mm=5.0), 5.2662, True),
        (replace(tapped(), depth_mm=5.0), 5.2665, False),
        (replace(tapped(), mouth=Mouth(Recess(8.0, 2.0, "recess"), None, None)), 5.3884, True),
        (replace(tapped(), mouth=Mouth(Recess(8.0, 2.1, "recess"), None, None)), 5.3884, False),
        (replace(tapped(), mouth=Mouth(None, None, Recess(8.0, 2.1, "flat"))), 5.3884, False),
        (replace(tapped(), far=Mouth(Recess(8.0, 2.1, "recess"), None, None)), 5.3884, False),
        (replace(tapped(), opened=(Opened(6.6, 2.0, "M6"),)), 5.3884, True),
        (replace(tapped(), opened=(Opened(6.6, 2.1, "M6"),)), 5.3884, False),
        (tapped(), 4.998, True),  # the table's own, whatever it leaves
        # M8: half of 1.2269 x 1.25 is 0.7668
        (replace(tapped(), diameter_mm=8.0, thread=COARSE_M8, depth_mm=15.0), 7.2354, True),
        (replace(tapped(), diameter_mm=8.0, thread=COARSE_M8, depth_mm=15.0), 7.2359, False),
        (hole(), 3.0, True),
        (replace(REAMED, drills_words=("5 mm",)), 5.0, True),
        # a reamer of 6.35 mm: 0.3 and half as much again, 0.004 for two digits
        (REAMED, 5.8965, True),
        (REAMED, 5.8955, False),
    ],
)
def test_what_is_well_left(wanted: Hole, drill_mm: float, is_well: bool) -> None:
    assert is_well_left(wanted, drill_mm, "mild steel", False) == is_well


def test_what_a_drill_has_to_leave_a_reamer_after_it_has_cut_over_its_size() -> None:
    most = REAMED.diameter_mm - 0.05 + 0.004
    for drill_mm, is_well in (
        (most - oversize_mm(6.3) - 1e-3, True),
        (most - oversize_mm(6.3) + 1e-3, False),
    ):
        assert is_well_left(REAMED, drill_mm, "mild steel", False) == is_well


def test_how_far_beyond_the_far_face_a_finish_goes() -> None:
    assert [beyond_mm(one) for one in (hole(), REAMED, BORED, tapped())] == [0.0, 1.0, 1.0, 1.0]
    fine = thread_named("M6x0.75")
    assert fine is not None
    assert beyond_mm(replace(tapped(), thread=fine)) == 0.75


# What a part asks for


def bored_across(
    x: float = 10.0, y: float = 0.0, depth: float = 20.0, diameter: float = 8.0
) -> Hole:
    """From the front, its axis 8 mm under the top."""
    return hole(
        "bore", diameter, name="main", group="main", face="front",
        centre_mm=(x, y, 12.0), depth_mm=depth,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("bore", "depth", "found"),
    [
        (bored_across(), 8.0, RunOut(4.0, 12.0)),
        (bored_across(), 4.0, RunOut(4.0, 12.0)),
        (bored_across(), 3.99, None),  # ends before it
        (bored_across(), 11.99, RunOut(4.0, 12.0)),
        (bored_across(), 12.0, None),  # goes through it
        (bored_across(depth=13.0), 8.0, RunOut(4.0, 12.0)),  # 10 and half of 6 mm along it
        (bored_across(depth=12.99), 8.0, None),
        (bored_across(x=12.4), 8.0, RunOut(8 - 3.2, 8 + 3.2)),  # 2.4 aside of 4: 3.2 up and down
        (bored_across(x=7.6), 8.0, RunOut(8 - 3.2, 8 + 3.2)),
        (bored_across(x=14.0), 8.0, None),
        (replace(bored_across(), face="top"), 8.0, None),
    ],
)
def test_where_a_thread_comes_out_into_a_bore(
    bore: Hole, depth: float, found: RunOut | None
) -> None:
    for named in ({"meets": ("main",)}, {"meets": ("main",), "name": "other"}):
        got = run_out(replace(tapped(), depth_mm=depth, **named), [bore])
        assert (got is None) == (found is None)
        if found is not None and got is not None:
            assert (got.near_mm, got.far_mm) == pytest.approx((found.near_mm, found.far_mm))
    into = run_out(replace(tapped(), depth_mm=depth, goes_into="main"), [bore])
    assert (into is not None) == (found is not None or depth in (3.99, 12.0))
    assert run_out(replace(tapped(), depth_mm=depth), [bore]) is None  # it names none
    for more in ({"is_through": True}, {"from_both_ends": True}, {"thread": None}):
        assert run_out(replace(tapped(), depth_mm=depth, goes_into="main", **more), [bore]) is None


def test_what_is_done_in_which_setup() -> None:
    """A hole that a setup names is made in it and nowhere else from that face; two ends, twice."""
    first, second, both = (
        hole(name=name, group=name, is_through=True, depth_mm=20.0) for name in ("a", "b", "c")
    )
    both = replace(both, far=CONE)
    asked = (SetupRequest("top", holes=("a",)), SetupRequest("top"), SetupRequest("bottom"))
    plate = replace(part(first, second, both), setups=asked)
    assert [(one.face, sorted(names)) for one, names in visits(plate)] == [
        ("top", ["a"]), ("top", ["b", "c"]), ("bottom", ["c"]),
    ]  # fmt: skip
    later = replace(plate, setups=(SetupRequest("top"), SetupRequest("top", holes=("a",))))
    assert [(one.face, sorted(names)) for one, names in visits(later)] == [
        ("top", ["b", "c"]), ("top", ["a"]), ("bottom", ["c"]),
    ]  # fmt: skip
    assert [one.hole.name for one in expected_holes(plate, "top", 1)] == ["a"]
    assert [one.hole.name for one in expected_holes(plate, "top", 2)] == ["b", "c"]
    assert [one.hole.name for one in expected_holes(plate, "top")] == ["a", "b", "c"]
    (below,) = expected_holes(plate, "bottom", 3)
    assert (below.names, below.mouth_mm, below.is_drilled) == ({"countersink"}, 8.96, False)
    assert below.centre_mm == (10.0, 10.0, 0.0)


def test_the_operations_that_cannot_be_absent() -> None:
    left = part(replace(hole(), kind=SPOT_ALONE), hole("tap", 6.0, thread=M6), BOTH)
    names = [one.names for one in expected_holes(left, "top")]
    assert names == [{"spot drill"}, {"drill", "tap"}, {"drill"}]
    first, _, both = expected_holes(left, "top")
    assert (first.is_spot, first.is_drilled, both.is_drilled) == (True, False, True)
    assert both.finish is not None
    assert (both.finish.depth_mm, both.finish.is_half) == (10.0, True)


def test_what_a_hand_reamer_takes_less_of() -> None:
    """0.1 mm and what the drill cuts over its size, half as much again, and two digits."""
    size = REAMED.diameter_mm
    most = 1.5 * (0.1 + oversize_mm(size)) + 0.004
    for off, is_well in ((-0.0005, True), (0.0005, False)):
        assert is_well_left(REAMED, size - most - off, "mild steel", True) == is_well
    assert is_well_left(REAMED, size - most - 0.0005, "mild steel", False)
    assert is_well_left(REAMED, size - most - 0.0005, "mild steel", None)


def test_what_opens_into_a_bore_keeps_off_its_far_wall() -> None:
    """The bore begins 4 mm under the top and ends at 12: the thread is whole at the first."""
    into = replace(tapped(), goes_into="main")
    (wanted,) = expected_holes(part(into, bored_across()), "top")
    assert wanted.finish is not None
    assert wanted.finish.is_open
    assert wanted.finish.depth_mm == pytest.approx(4.0)
    for tip, tapped_to, kinds in (
        (-11.9995, -4.0, []),
        (-12.0005, -4.0, DEEP),
        (-11.9, -3.9905, []),
        (-11.9, -3.9895, SHALLOW),
    ):
        operations = made(spot(6.3), point(tip), tap(tapped_to))
        found = judged(part(into, bored_across()), operations)
        assert [one.kind for one in found] == kinds


@pytest.mark.parametrize(
    ("operations", "line"),
    [
        ([spot(4.0, -1.9), flat("counterbore", "counterbore", 8.0, -4.4, 3), drill(line=4)], 3),
        ([spot(4.0, -1.9), drill(), cone(line=5), flat("counterbore", "", 8.0, -4.4, 6)], 5),
        ([drill(), spot(4.0, -1.9, 3)], 2),
    ],
)
def test_what_comes_before_what_goes_before_it(operations: list[MadeOperation], line: int) -> None:
    found = judged(part(hole()), made(*operations))
    assert [one.line for one in found if one.kind == "operation-order"] == [line]


def test_of_two_pilots_the_last_is_one_too_many() -> None:
    pilots = drill(1.5, -20.0, 3), drill(2.0, -20.0, 4)
    found = judged(part(THROUGH), made(spot(), *pilots, drill(full=-21.0)), by_own_rules=True)
    assert [(one.kind, one.line) for one in found] == [("operation-extra", 4)]
