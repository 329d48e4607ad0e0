"""The witness: its frames against an outside reference, and every way that a hole can differ."""

from __future__ import annotations

from itertools import product
from typing import get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import replace
from millprep.model.kinds import HOLE_KINDS
from millprep.model.part import (
    Countersink,
    Datum,
    Face,
    Hole,
    Mouth,
    Opened,
    Part,
    Recess,
    SetupRequest,
    Stock,
)
from millprep.reading.made import made_hole
from millprep.reading.simulate import MadeHole, MadeOperation
from millprep.reference.threads import thread_named
from millprep.witness import Lay, compare, from_part, to_part

SIZE = (60.0, 40.0, 20.0)
TOP = Lay("TOP", "FRONT", "LEFT", "FRONT")
FLOOR = 20.0


def part(*holes: Hole, size: tuple[float, float, float] = SIZE) -> Part:
    return Part("plate", "", "mm", "brass", Stock(size, size), Datum(), holes)


def hole(kind: str = "drill", diameter: float = 5.0, **more: object) -> Hole:
    at, row = (10.0, 10.0, 20.0), HOLE_KINDS[kind]
    basis = Hole("vent", "vent", None, "top", row, "5 mm", diameter, at, 12.0, False)
    return replace(basis, **more)  # type: ignore[arg-type] # test cases as words


def spot(cone: float = 5.3, tip: float = -2.6, line: int = 1, **more: object) -> MadeOperation:
    basis = MadeOperation(
        "spot drill", "spot drill", 10.0, tip, tip + 5, cone, line, line, 1, point_angle_deg=90.0
    )
    return replace(basis, **more)  # type: ignore[arg-type]


def drill(
    diameter: float = 5.0, full: float = -12.0, line: int = 2, **more: object
) -> MadeOperation:
    # The point of a 118 degree drill is 0.3004 d (Machinery's Handbook, drill point lengths).
    tip = full - 0.30043 * diameter
    basis = MadeOperation(
        "drill", "drill", diameter, tip, full, None, line, line, 2, point_angle_deg=118.0
    )
    return replace(basis, **more)  # type: ignore[arg-type]


def flat(
    name: str,
    kind: str,
    diameter: float,
    tip: float,
    line: int,
    full: float | None = None,
    pitch: float | None = None,
) -> MadeOperation:
    return MadeOperation(
        name, kind, diameter, tip, tip if full is None else full, None, line, line, line, pitch
    )


def made(*operations: MadeOperation, x: float = 10.0, y: float = 10.0) -> MadeHole:
    return made_hole(x, y, operations)


def judged(the_part: Part, *holes: MadeHole, lay: Lay = TOP, **more: object) -> list[Finding]:
    return list(
        compare(the_part, lay, holes, position_tolerance_mm=0.005, file="p.nc", **more)  # type: ignore[arg-type]
    )


def kinds(findings: list[Finding]) -> list[tuple[str, int | None]]:
    return [(finding.kind, finding.line) for finding in findings]


# --- frames

LAYS = [
    (face, near)
    for face, near in product(get_args(Face), repeat=2)
    if {face, near} not in ({"top", "bottom"}, {"front", "back"}, {"left", "right"})
    and face != near
]
# Part axes in a top view are the setup's when TOP is up and FRONT is towards you: the other lays
# are that one turned. Outside reference: scipy's Rotation.
NORMALS = {
    "left": (-1, 0, 0), "right": (1, 0, 0), "front": (0, -1, 0), "back": (0, 1, 0),
    "bottom": (0, 0, -1), "top": (0, 0, 1),
}  # fmt: skip
CENTRE = "centre"


@pytest.mark.parametrize(("face", "near"), LAYS)
def test_frames_against_rotations(face: str, near: str) -> None:
    turn, rest = Rotation.align_vectors([[0, 0, 1], [0, -1, 0]], [NORMALS[face], NORMALS[near]])
    assert rest == pytest.approx(0, abs=1e-7)
    the_part = part()
    points = np.random.default_rng(7).uniform(0, 20, (3, 5))
    lay = Lay(face, near, CENTRE, CENTRE)
    readings = from_part(lay, the_part, points)
    middle = np.array(SIZE) / 2
    expected = turn.apply(points.T - middle).T
    up = abs(NORMALS[face][0] * SIZE[0] + NORMALS[face][1] * SIZE[1] + NORMALS[face][2] * SIZE[2])
    expected[2] -= up / 2
    assert_allclose(readings, expected, atol=1e-9)
    assert_allclose(to_part(lay, the_part, readings), points, atol=1e-9)


def test_zero_on_faces() -> None:
    # FRONT up, BOTTOM towards you: X runs left to right, Y from the bottom up.
    lay = Lay("front", "bottom", "RIGHT", "TOP")
    assert_allclose(to_part(lay, part(), np.zeros((3, 1)))[:, 0], [60, 0, 20])
    assert_allclose(to_part(lay, part(), np.array([[-12.0], [-5.0], [-3.0]]))[:, 0], [48, 3, 15])


@pytest.mark.parametrize(
    "lay",
    [
        Lay("top", "bottom", "left", "front"),
        Lay("top", "front", "front", "front"),
        Lay("top", "front", "left", "nowhere"),
        Lay("lid", "front", "left", "front"),
    ],
)
def test_words_that_are_no_lay(lay: Lay) -> None:
    with pytest.raises(MillprepError) as caught:
        to_part(lay, part(), np.zeros((3, 1)))
    assert caught.value.findings[0].kind == "bad-lay"


# --- one hole after another


def test_a_hole_as_it_should_be() -> None:
    assert judged(part(hole()), made(spot(), drill())) == []


CASES: list[tuple[str, Hole, tuple[MadeOperation, ...], tuple[str, int | None]]] = [
    ("too deep", hole(), (spot(), drill(full=-12.02)), ("too-deep", 2)),
    ("too shallow", hole(), (spot(), drill(full=-11.98)), ("too-shallow", 2)),
    ("point forgotten", hole(), (spot(), drill(full=-12 + 1.502)), ("too-shallow", 2)),
    ("wrong drill", hole(), (spot(), drill(5.1)), ("wrong-diameter", 2)),
    ("no spot", hole(), (drill(),), ("operation-missing", None)),
    ("no drill", hole(), (spot(),), ("operation-missing", None)),
    ("twice", hole(), (spot(), drill(), drill(line=9)), ("operation-extra", 9)),
    ("spot last", hole(), (drill(), spot(line=5)), ("operation-order", 2)),
    ("spot as deep as the drill", hole(), (spot(10.0, -13.5), drill()), ("too-deep", 1)),
    ("spot barely there", hole(), (spot(0.2, -0.1), drill()), ("too-shallow", 1)),
    ("pilot deeper than the drill", hole(), (spot(), drill(2.0, -14.0, 3), drill()),
     ("too-deep", 3)),
    ("not through", hole(is_through=True, depth_mm=20.0), (spot(), drill(full=-19.9)),
     ("too-shallow", 2)),
    ("far through", hole(is_through=True, depth_mm=20.0), (spot(), drill(full=-25.1)),
     ("too-deep", 2)),
    ("breakthrough as asked", hole(is_through=True, depth_mm=20.0, breakthrough_mm=2.0),
     (spot(), drill(full=-21.0)), ("too-shallow", 2)),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case[0])
def test_a_drilled_hole_that_differs(
    case: tuple[str, Hole, tuple[MadeOperation, ...], tuple[str, int | None]],
) -> None:
    _, wanted, operations, expected = case
    found = judged(part(wanted), made(*operations))
    assert kinds(found) == [expected]
    assert found[0].severity == "stop" and found[0].holes == ("vent",)


M6 = thread_named("M6")


def tapped(**more: object) -> Hole:
    assert M6 is not None
    return hole("tap", 6.0, thread=M6, depth_mm=8.0, **more)


def tap(full: float = -8.0, line: int = 3) -> MadeOperation:
    return flat("tap", "tap", 6.0, full - 4.0, line, full, pitch=1.0)


def test_a_tapped_hole_as_it_should_be() -> None:
    # M6 coarse is drilled 5.0 mm (ISO 2306)
    assert judged(part(tapped()), made(spot(6.3), drill(full=-13.0), tap())) == []


def test_a_tapped_hole_left_to_the_hand() -> None:
    made_by_machine = made(spot(6.3), drill(full=-13.0))
    assert judged(part(tapped()), made_by_machine, hands={"tap"}) == []
    assert kinds(judged(part(tapped()), made_by_machine)) == [("operation-missing", None)]
    shallow = made(spot(6.3), drill(full=-8.5))
    assert kinds(judged(part(tapped()), shallow, hands={"tap"})) == [("too-shallow", 2)]


TAPPED: list[tuple[str, Hole, tuple[MadeOperation, ...], tuple[str, int | None]]] = [
    ("clearance drill", tapped(), (spot(6.3), drill(6.4, -13.0), tap()), ("wrong-diameter", 2)),
    # M6 less 1.2269 P is 4.773 mm (ISO 68-1), the tap's own core: a 4.7 mm drill breaks it.
    # Less 0.4 P is 5.6 mm: hardly a third of a thread.
    ("under the core", tapped(), (spot(6.3), drill(4.7, -13.0), tap()), ("wrong-diameter", 2)),
    ("a third of it", tapped(), (spot(6.3), drill(5.7, -13.0), tap()), ("wrong-diameter", 2)),
    ("drill too shallow", tapped(), (spot(6.3), drill(full=-11.5), tap()), ("too-shallow", 2)),
    ("thread too short", tapped(), (spot(6.3), drill(full=-13.0), tap(-7.0)), ("too-shallow", 3)),
    ("thread too long", tapped(), (spot(6.3), drill(full=-13.0), tap(-8.5)), ("too-deep", 3)),
    ("tapped first", tapped(), (spot(6.3), tap(line=2), drill(full=-13.0, line=3)),
     ("operation-order", 2)),
    ("never drilled", tapped(), (spot(6.3), tap()), ("operation-missing", None)),
    ("no tap", tapped(), (spot(6.3), drill(full=-13.0)), ("operation-missing", None)),
    ("through the floor", tapped(), (spot(6.3), drill(full=-18.6), tap()), ("too-deep", 2)),
    ("not the drill depth of the drawing", tapped(drill_depth_mm=14.0),
     (spot(6.3), drill(full=-13.0), tap()), ("too-shallow", 2)),
    ("wrong tap", tapped(),
     (spot(6.3), drill(full=-13.0), replace(tap(), diameter_mm=5.0)), ("wrong-diameter", 3)),
]  # fmt: skip


@pytest.mark.parametrize("case", TAPPED, ids=lambda case: case[0])
def test_a_tapped_hole_that_differs(
    case: tuple[str, Hole, tuple[MadeOperation, ...], tuple[str, int | None]],
) -> None:
    _, wanted, operations, expected = case
    assert kinds(judged(part(wanted), made(*operations))) == [expected]


def reamer(full: float = -12.0, line: int = 3) -> MadeOperation:
    return flat("ream", "reamer", 6.35, full - 1.0, line, full)


REAMED: list[tuple[str, tuple[MadeOperation, ...], tuple[str, int | None] | None]] = [
    # A 1/4 in reamed hole is opened to 6.0 mm before the reamer (common practice).
    ("as it should be", (spot(6.6), drill(6.0, -14.0), reamer()), None),
    ("drilled to size first", (spot(6.6), drill(6.35, -14.0), reamer()), ("wrong-diameter", 2)),
    ("far too small", (spot(6.6), drill(5.0, -14.0), reamer()), ("wrong-diameter", 2)),
    ("reamed before drilled", (spot(6.6), reamer(line=2), drill(6.0, -14.0, 3)),
     ("operation-order", 2)),
    ("lead left in", (spot(6.6), drill(6.0, -14.0), reamer(-11.0)), ("too-shallow", 3)),
    ("reamer on the floor", (spot(6.6), drill(6.0, -12.5), reamer()), ("too-shallow", 2)),
]  # fmt: skip


@pytest.mark.parametrize("case", REAMED, ids=lambda case: case[0])
def test_reamed_holes(
    case: tuple[str, tuple[MadeOperation, ...], tuple[str, int | None] | None],
) -> None:
    _, operations, expected = case
    found = judged(part(hole("ream", 6.35)), made(*operations))
    assert kinds(found) == ([] if expected is None else [expected])


# Socket head M4: 8 x 4.4 mm counterbore (DIN 974-1, from memory); countersunk M4: 8.96 at 90
# degrees (ISO 10642 theoretical head, from memory)
SUNK = Mouth(Recess(8.0, 4.4, "M4 socket head"), None, None)
CONE = Mouth(None, Countersink(8.96, 90.0, "M4 countersunk"), None)


def bore(tip: float = -4.4, diameter: float = 8.0, line: int = 3) -> MadeOperation:
    return flat("counterbore", "counterbore", diameter, tip, line)


def cone(width: float = 8.96, angle: float = 90.0, line: int = 3) -> MadeOperation:
    return MadeOperation(
        "countersink",
        "countersink",
        12.0,
        -width / 2,
        12.0 / 2 - width / 2,
        width,
        line,
        line,
        3,
        point_angle_deg=angle,
    )


MOUTHS: list[tuple[str, Mouth, MadeOperation | None, str | None]] = [
    ("counterbore", SUNK, bore(), None),
    ("counterbore too deep", SUNK, bore(-4.5), "too-deep"),
    ("counterbore too shallow", SUNK, bore(-4.3), "too-shallow"),
    ("counterbore too wide", SUNK, bore(diameter=8.5), "wrong-diameter"),
    ("counterbore missing", SUNK, None, "operation-missing"),
    ("countersink", CONE, cone(), None),
    ("countersink too narrow", CONE, cone(8.5), "too-shallow"),
    ("countersink too wide", CONE, cone(9.5), "too-deep"),
    ("countersink at the other angle", CONE, cone(angle=82.0), "wrong-angle"),
    ("countersink missing", CONE, None, "operation-missing"),
    ("counterbore not called for", Mouth(), bore(), "operation-extra"),
]


@pytest.mark.parametrize("case", MOUTHS, ids=lambda case: case[0])
def test_mouths(case: tuple[str, Mouth, MadeOperation | None, str | None]) -> None:
    _, mouth, operation, expected = case
    operations = [spot(4.0, -1.9), drill(), *([operation] if operation else [])]
    found = judged(part(hole(mouth=mouth)), made(*operations))
    assert [finding.kind for finding in found] == ([] if expected is None else [expected])


def test_a_hole_opened_for_part_of_its_length() -> None:
    wanted = part(hole(opened=(Opened(6.6, 6.0, "M6"),)))
    assert judged(wanted, made(spot(), drill(), drill(6.6, -6.0, 3))) == []
    assert kinds(judged(wanted, made(spot(), drill(), drill(6.6, -5.9, 3)))) == [("too-shallow", 3)]
    assert kinds(judged(wanted, made(spot(), drill()))) == [("operation-missing", None)]


def test_the_far_end_is_done_in_the_other_faces_setup() -> None:
    wanted = part(hole(is_through=True, depth_mm=20.0, far=CONE))
    # BOTTOM up with BACK towards you: X left to right, Y from the back: y 10 is 30 from BACK.
    below = Lay("bottom", "back", "left", "back")
    assert judged(wanted, made(spot(), drill(full=-21.0))) == []
    assert judged(wanted, made(cone(), y=30.0), lay=below) == []
    assert kinds(judged(wanted, lay=below)) == [("hole-missing", None)]


def test_from_both_ends() -> None:
    long = part(hole("drill", 5.0, is_through=True, depth_mm=20.0, from_both_ends=True))
    below = Lay("bottom", "back", "left", "back")
    assert judged(long, made(spot(), drill(full=-10.5))) == []
    assert judged(long, made(spot(), drill(full=-10.5), y=30.0), lay=below) == []
    assert kinds(judged(long, made(spot(), drill(full=-9.0)))) == [("too-shallow", 2)]
    # From one end, as far as any hole through may: 5 mm beyond the far face (common practice).
    assert judged(long, made(spot(), drill(full=-24.9))) == []
    assert kinds(judged(long, made(spot(), drill(full=-25.1)))) == [("too-deep", 2)]
    reamed = hole("ream", 5.0, is_through=True, depth_mm=20.0, from_both_ends=True)
    drilled, finished = spot(), flat("ream", "reamer", 5.0, -22.0, 4, -21.0)
    last_below = part(reamed)
    assert judged(last_below, made(drilled, drill(4.8, -10.5))) == []
    assert judged(last_below, made(drilled, drill(4.8, -24.9))) == []
    assert kinds(judged(last_below, made(drilled, drill(4.8, -25.1)))) == [("too-deep", 2)]
    ends = made(drilled, drill(4.8, -10.5), finished, y=30.0)
    assert judged(last_below, ends, lay=below) == []
    first_below = replace(last_below, setups=(SetupRequest("bottom"), SetupRequest("top")))
    assert kinds(judged(first_below, ends, lay=below)) == [("operation-extra", 4)]


def test_tools_that_nothing_describes_are_not_judged() -> None:
    unknown = MadeOperation("drill", None, None, -13.0, None, None, 5, 5, 7)
    assert judged(part(hole()), made(unknown)) == []


THROUGH = hole(is_through=True, depth_mm=20.0)
RULED: list[tuple[str, Hole, tuple[MadeOperation, ...], tuple[str, int | None] | None]] = [
    # Breakthrough: a millimetre or a tenth of the drill (common practice).
    ("through by the rule", THROUGH, (spot(), drill(full=-21.0)), None),
    ("through by 1.5 mm", THROUGH, (spot(), drill(full=-21.5)), ("too-deep", 2)),
    ("through by 0.5 mm", THROUGH, (spot(), drill(full=-20.5)), ("too-shallow", 2)),
    ("spot too wide", hole(), (spot(5.5, -2.7), drill()), ("too-deep", 1)),
    ("spot too narrow", hole(), (spot(5.0, -2.45), drill()), ("too-shallow", 1)),
    # A pilot stops half a millimetre above the drill's tip, or comes just through.
    ("pilot short", hole(), (spot(), drill(2.0, -9.0, 3), drill()), ("too-shallow", 3)),
    ("pilot to the same tip", hole(),
     (spot(), drill(2.0, -12.0 - 0.30043 * 3, 3), drill()), ("too-deep", 3)),
    ("pilot half a millimetre above", hole(),
     (spot(), drill(2.0, -11.5 - 0.30043 * 3, 3), drill()), None),
    ("pilot just through", THROUGH, (spot(), drill(2.0, -20.0, 3), drill(full=-21.0)), None),
    ("pilot far through", THROUGH, (spot(), drill(2.0, -21.0, 3), drill(full=-21.0)),
     ("too-deep", 3)),
    ("pilot too thick", THROUGH, (spot(), drill(3.2, -20.0, 3), drill(full=-21.0)),
     ("wrong-diameter", 3)),
    ("two pilots", THROUGH,
     (spot(), drill(1.5, -20.0, 3), drill(2.0, -20.0, 3), drill(full=-21.0)),
     ("operation-extra", 3)),
    ("room below the tap", tapped(), (spot(6.3), drill(full=-13.0), tap()), None),
    ("too much room below the tap", tapped(), (spot(6.3), drill(full=-13.1), tap()),
     ("too-deep", 2)),
    # Tap through: lead and one pitch beyond the face (common practice).
    ("tapped through", tapped(is_through=True, ), (spot(6.3), drill(full=-9.0), tap(-9.0)), None),
    ("tapped hardly through", tapped(is_through=True), (spot(6.3), drill(full=-9.0), tap(-8.5)),
     ("too-shallow", 3)),
]  # fmt: skip


@pytest.mark.parametrize("case", RULED, ids=lambda case: case[0])
def test_what_the_part_leaves_open_follows_the_rules_in_our_own_programs(
    case: tuple[str, Hole, tuple[MadeOperation, ...], tuple[str, int | None] | None],
) -> None:
    _, wanted, operations, expected = case
    assert judged(part(wanted), made(*operations)) == []
    found = judged(part(wanted), made(*operations), by_own_rules=True)
    assert kinds(found) == ([] if expected is None else [expected])


# --- where


def test_off_by_how_much() -> None:
    found = judged(part(hole()), made(spot(), drill(), x=10.006))
    assert kinds(found) == [("hole-off", 1)]
    assert "X by +0.0060 mm" in found[0].message and "Y by" not in found[0].message
    assert judged(part(hole()), made(spot(), drill(), x=10.004)) == []


def test_only_the_reamer_is_off() -> None:
    beside = replace(reamer(), x_mm=10.0, y_mm=10.2)
    found = judged(part(hole("ream", 6.35)), made(spot(6.6), drill(6.0, -14.0), beside))
    assert kinds(found) == [("hole-off", 3)]


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        (-10.0, 15.0, "X has the wrong sign"),
        (10.0, -15.0, "Y has the wrong sign"),
        (15.0, 10.0, "X and Y are exchanged"),
        (254.0, 381.0, "millimetres were read as inches"),
        (10 / 25.4, 15 / 25.4, "inches were read as millimetres"),
        (30.0, 30.0, ""),
    ],
)
def test_missing_and_extra_with_a_suspicion(x: float, y: float, words: str) -> None:
    wanted = part(hole(centre_mm=(10.0, 15.0, 20.0)))
    found = judged(wanted, made(spot(), drill(), x=x, y=y))
    assert kinds(found) == [("hole-missing", None), ("hole-extra", 1)]
    assert words in found[1].message
    assert found[0].holes == ("vent",) and found[1].holes == ()


def plate(count: int) -> tuple[Part, list[MadeHole]]:
    places = [(4.0 + 8 * (i % 100), 4.0 + 8 * (i // 100)) for i in range(count)]
    holes = [hole(name=f"h{i}", centre_mm=(x, y, 20.0)) for i, (x, y) in enumerate(places)]
    size = (808.0, 808.0, 20.0)
    return part(*holes, size=size), [made(spot(), drill(), x=x, y=y) for x, y in places]


def test_many_holes_and_one_left_out() -> None:
    the_part, holes = plate(2000)
    assert judged(the_part, *holes) == []
    assert judged(the_part, *reversed(holes)) == []
    found = judged(the_part, *holes[:1234], *holes[1235:])
    assert [(f.kind, f.holes) for f in found] == [("hole-missing", ("h1234",))]


@given(st.integers(0, 24), st.sampled_from(["x", "y", "depth", "tool"]), st.floats(0.02, 2))
def test_one_slip_in_a_listing_is_always_found(number: int, slip: str, by: float) -> None:
    """Every coordinate, depth and diameter of every hole counts."""
    the_part, holes = plate(25)
    x, y = holes[number].x_mm, holes[number].y_mm
    if slip == "x":
        holes[number] = made(spot(), drill(), x=x + by, y=y)
    elif slip == "y":
        holes[number] = made(spot(), drill(), x=x, y=y - by)
    elif slip == "depth":
        holes[number] = made(spot(), drill(full=-12 - by), x=x, y=y)
    else:
        holes[number] = made(spot(), drill(5.0 + by), x=x, y=y)
    found = judged(the_part, *holes)
    assert found and all(finding.holes == (f"h{number}",) for finding in found)


def test_a_tool_of_unknown_size_is_not_one_of_0_mm() -> None:
    with pytest.raises(ValueError, match="drill: of unknown size"):
        _ = MadeOperation("drill", "drill", None, -5.0).known_mm
