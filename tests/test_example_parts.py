"""The example parts: they read, check and can be made, show every key, and go together.

How the engine is put together is written here once more, as a map from each part's axes to those of
the engine (X along the crankshaft, Y to the back, Z up from the base; 0 in the middle of the base's
top), so that a dimension changed in one part only is found. The port timing follows from the
geometry of an oscillating cylinder: swing = asin(throw / distance of pivot and crankshaft).
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jobs import checked
from numpy.typing import NDArray

from millprep.base.findings import has_stop, once_over_setups
from millprep.cli import main
from millprep.infiles import read_part, read_shop
from millprep.infiles.part_schema import HoleTable
from millprep.model.part import Hole, Part
from millprep.planning import make_plan
from millprep.proven.preparation import prepare

PARTS = Path(__file__).parent.parent / "parts"
FILES = sorted(path.name for path in PARTS.glob("*.toml") if not path.stem.endswith("-assembly"))
SCREW_JOINTS_MM = 1e-3  # mates agree to what the angles and decimals in the files give
Point = NDArray[np.float64]
Placing = Callable[[float, float, float], tuple[float, float, float]]


@cache
def part_of(name: str) -> Part:
    return read_part(PARTS / f"{name}.toml")[0]


def holes(name: str, group: str) -> list[Hole]:
    found = [hole for hole in part_of(name).holes if hole.group == group]
    assert found, f"{name} has no hole {group!r}"
    return found


def placed(name: str, group: str, placing: Placing) -> Point:
    """Centres (N, 3) of a pattern in engine axes [mm], sorted: the numbering may differ."""
    points = [placing(*hole.centre_mm) for hole in holes(name, group)]
    return np.array(sorted(tuple(round(value, 6) + 0.0 for value in point) for point in points))


BASE_X, BASE_Y, BASE_Z = part_of("base-plate").stock.size_mm
APART = 25.4  # half of the 2 in between the columns
COVER_X, COVER_Y, _ = part_of("cylinder-cover").stock.size_mm

PLACES: dict[str, Placing] = {
    "base": lambda x, y, z: (x - BASE_X / 2, y - BASE_Y / 2, z - BASE_Z),
    "left column": lambda x, y, z: (x - APART - 12, y - 20, z),
    "right column": lambda x, y, z: (x + APART, y - 20, z),
    "left block": lambda x, y, z: (x - 16 - APART - 12, y - 20, z + 12),
    "right block": lambda x, y, z: (16 + APART + 12 - x, 20 - y, z + 12),
    "tie bar": lambda x, y, z: (x - APART, y - 6.35, z - 12.7 + 22),
    "guard": lambda x, y, z: (x - 40, -20 - 18, y + 40),
    # on the left side of the engine, the slide face of the plate towards the right
    "cylinder": lambda x, y, z: (x - 24, y - 13, z + 23),
    "plate": lambda x, y, z: (z, x - 13, y + 23),
    "cover": lambda x, y, z: (x - COVER_X / 2 - 12, -(y - COVER_Y / 2), 23 - z),
}


@pytest.mark.parametrize("file", FILES)
def test_part_has_no_stop_and_warns_only_of_what_the_drawer_lacks(file: str) -> None:
    part, notes = read_part(PARTS / file)
    findings = [*checked(make_plan(part, read_shop("metric"))), *notes]
    assert not has_stop(findings)
    assert {f.kind for f in findings if f.severity == "warning"} <= {"not-in-drawer"}


WINCH = sorted(path.name for path in (PARTS / "winch").glob("*.toml"))


@pytest.mark.parametrize("file", [name for name in WINCH if name != "winch.toml"])
def test_part_of_the_winch_has_no_stop_and_warns_only_of_what_the_drawer_lacks(file: str) -> None:
    findings = prepare(PARTS / "winch" / file).findings
    assert {f.kind for f in findings if f.severity != "note"} <= {"not-in-drawer"}


@pytest.mark.parametrize("file", FILES)
def test_at_most_one_note_besides_what_the_file_asks_for(file: str) -> None:
    found = once_over_setups(prepare(PARTS / file).findings)
    usual = "meeting", "left-for-later"
    asked_for = [one for one in found if one.is_meant or one.kind in usual]
    notes = [one for one in found if one.severity == "note" and one not in asked_for]
    assert len(notes) <= 1, notes


@pytest.mark.parametrize("file", ["flywheel-hub.toml", "tie-bar.toml"])
def test_inch_part_finds_all_in_the_inch_drawer(file: str) -> None:
    findings = checked(make_plan(read_part(PARTS / file)[0], read_shop("inch")))
    assert [f for f in findings if f.severity != "note"] == []


@pytest.mark.parametrize("file", FILES)
def test_listing_and_program_are_written(file: str, tmp_path: Path) -> None:
    """Both are read back and compared with the part before they are written."""
    for command, order, output in (
        ("listing", ["--order", "tool"], "tool.txt"),
        ("listing", ["--order", "hole"], "hole.txt"),
        ("program", [], "out.nc"),
    ):
        with pytest.raises(SystemExit) as ended:
            main([command, str(PARTS / file), *order, "-o", str(tmp_path / output)])
        assert ended.value.code == 0, (command, order)
    setups = len({face for hole in part_of(file[:-5]).holes for face in hole.worked_from})
    assert len(list(tmp_path.glob("*.nc"))) == setups


def tables(data: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield data.get("defaults", {})
    yield from data.get("hole", [])


@cache
def texts() -> tuple[dict[str, Any], ...]:
    return tuple(tomllib.loads((PARTS / file).read_text(encoding="utf-8")) for file in FILES)


def values(key: str) -> list[Any]:
    return [table[key] for data in texts() for table in tables(data) if key in table]


def test_there_are_enough_parts_in_both_units() -> None:
    units = [data.get("units") for data in texts()]
    assert len(FILES) >= 6
    assert "mm" in units
    assert "inch" in units
    assert any("opposite_hand_of" in data for data in texts())


def test_every_key_of_a_hole_is_shown() -> None:
    known = {field.alias or name for name, field in HoleTable.model_fields.items()}
    known -= {"diameter", "pitch"}  # a size said twice is accepted, not recommended
    assert known - {key for data in texts() for table in tables(data) for key in table} == set()


@pytest.mark.parametrize(
    ("pattern", "keys"),
    [
        ("circle", {"centre", "diameter", "radius", "chord", "count", "start", "clockwise"}),
        ("arc", {"radius", "count", "start", "end"}),
        ("row", {"start", "step", "end", "count"}),
        ("grid", {"start", "step", "columns", "rows"}),
        ("corners", {"inset"}),
        ("polar", {"radius", "angle"}),
    ],
)
def test_every_key_of_a_pattern_is_shown(pattern: str, keys: set[str]) -> None:
    assert {key for value in values(pattern) for key in value} >= keys


def test_every_form_of_point_depth_and_mouth_is_shown() -> None:
    at = values("at")
    assert any(isinstance(each, dict) for each in at)
    assert any(isinstance(each, list) and isinstance(each[0], list) for each in at)
    assert any(isinstance(each, list) and isinstance(each[0], dict) for each in at)
    point_names = {name for each in at if isinstance(each, dict) for name in each}
    assert point_names & {"left", "right", "front", "back", "top", "bottom"}
    assert point_names & {"centre_x", "centre_y", "centre_z"}
    one_key = [part for each in at if isinstance(each, list) for part in each]
    assert any(isinstance(part, dict) and len(part) == 1 for part in one_key)
    assert {type(inset["inset"]) for inset in values("corners")} == {int, list}
    depths = values("depth")
    assert "through" in depths
    assert any(isinstance(depth, dict) and "into" in depth for depth in depths)
    assert any(isinstance(depth, int | float) for depth in depths)
    for mouth in ("counterbore", "countersink"):
        assert {type(each) for each in values(mouth)} == {str, dict}
    assert set(values("pin")) == {"press", "slide", "pivot"}


def test_every_key_of_stock_and_setup_is_shown() -> None:
    setups = [setup for data in texts() for setup in data.get("setup", [])]
    assert {key for setup in setups for key in setup} >= {
        "face",
        "towards_you",
        "zero",
        "work_offset",
        "vice",
        "parallels",
        "backing",
        "safe_height",
        "obstacle",
    }
    assert {key for data in texts() for key in data.get("stock", {})} >= {
        "size",
        "diameter",
        "length",
        "measured",
    }
    datums = {word for data in texts() for word in data.get("datum", {}).values()}
    assert datums >= {"left", "right", "front", "centre", "bottom", "top"}


def test_a_part_has_holes_in_four_faces() -> None:
    assert {hole.face for hole in part_of("port-block").holes} == {
        "left",
        "right",
        "front",
        "back",
        "top",
    }
    assert len({face for hole in part_of("column-left").holes for face in hole.worked_from}) == 5


@pytest.mark.parametrize("group", ["foot screw", "foot dowel"])
def test_columns_stand_on_the_holes_of_the_base(group: str) -> None:
    feet = np.vstack(
        [
            placed("column-left", group, PLACES["left column"]),
            placed("column-right", group, PLACES["right column"]),
        ]
    )
    base = placed("base-plate", group.replace("foot", "column"), PLACES["base"])
    np.testing.assert_allclose(feet[:, :2], base[:, :2], atol=SCREW_JOINTS_MM)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    ("of_column", "of_block"), [("port block screw", "fixing"), ("pivot", "pivot")]
)
def test_port_blocks_fit_their_columns(side: str, of_column: str, of_block: str) -> None:
    column = placed(f"column-{side}", of_column, PLACES[f"{side} column"])
    block = placed("port-block", of_block, PLACES[f"{side} block"])
    np.testing.assert_allclose(column[:, 1:], block[:, 1:], atol=SCREW_JOINTS_MM)


@pytest.mark.parametrize("group", ["plate screw", "port"])
def test_trunnion_plate_fits_the_cylinder(group: str) -> None:
    cylinder = placed("cylinder-block", group, PLACES["cylinder"])
    plate = placed("trunnion-plate", group, PLACES["plate"])
    np.testing.assert_allclose(cylinder[:, 1:], plate[:, 1:], atol=SCREW_JOINTS_MM)


def test_trunnion_plate_turns_on_the_pivot_of_the_port_block() -> None:
    plate = placed("trunnion-plate", "pivot", PLACES["plate"])
    block = placed("port-block", "pivot", PLACES["left block"])
    np.testing.assert_allclose(plate[:, 1:], block[:, 1:], atol=SCREW_JOINTS_MM)


def test_cover_fits_the_cylinder_and_closes_its_bore() -> None:
    np.testing.assert_allclose(
        placed("cylinder-block", "cover screw", PLACES["cylinder"])[:, :2],
        placed("cylinder-cover", "cover screw", PLACES["cover"])[:, :2],
        atol=0.002,
    )
    np.testing.assert_allclose(
        placed("cylinder-block", "bore", PLACES["cylinder"])[:, :2],
        placed("cylinder-cover", "drain", PLACES["cover"])[:, :2],
        atol=SCREW_JOINTS_MM,
    )


def test_tie_bar_and_guard_fit_both_columns() -> None:
    stud = placed("tie-bar", "stud", PLACES["tie bar"])
    guard = placed("guard-panel", "column screw", PLACES["guard"])
    bosses = []
    for side in ("left", "right"):
        column = placed(f"column-{side}", "tie stud", PLACES[f"{side} column"])
        np.testing.assert_allclose(column[:, 1:], stud[:, 1:], atol=SCREW_JOINTS_MM)
        bosses.append(placed(f"column-{side}", "guard screw", PLACES[f"{side} column"]))
    np.testing.assert_allclose(np.vstack(bosses)[:, [0, 2]], guard[:, [0, 2]], atol=SCREW_JOINTS_MM)
    assert part_of("tie-bar").stock.size_mm[0] == pytest.approx(2 * APART)


def test_flywheel_fits_its_hub() -> None:
    wheel = placed("flywheel", "hub screw", lambda x, y, z: (x - 35, y - 35, 0))
    hub = placed("flywheel-hub", "rim screw", lambda x, y, z: (x - 19.05, y - 19.05, 0))
    np.testing.assert_allclose(wheel, hub, atol=SCREW_JOINTS_MM)
    # chord = diameter x sin(180 / count): the constant for five holes is 0.58779 (handbook table
    # of chords, from memory of Machinery's Handbook)
    radius = float(np.hypot(*wheel[0, :2]))
    assert 2 * radius == pytest.approx(0.6 * 25.4 / 0.58779, abs=0.001)


@pytest.mark.parametrize(
    ("through", "into"),
    [
        (("base-plate", "column screw"), ("column-left", "foot screw")),
        (("column-left", "port block screw"), ("port-block", "fixing")),
        (("trunnion-plate", "plate screw"), ("cylinder-block", "plate screw")),
        (("cylinder-cover", "cover screw"), ("cylinder-block", "cover screw")),
        (("flywheel", "hub screw"), ("flywheel-hub", "rim screw")),
        (("guard-panel", "column screw"), ("column-left", "guard screw")),
    ],
)
def test_screws_pass_one_part_and_hold_in_the_other(
    through: tuple[str, str], into: tuple[str, str]
) -> None:
    for loose, tapped in zip(holes(*through), holes(*into), strict=False):
        assert tapped.thread is not None
        assert 0 < loose.diameter_mm - tapped.diameter_mm < 0.21 * tapped.diameter_mm


@pytest.mark.parametrize(
    ("through", "into", "length_mm", "packing_mm"),
    [
        (("base-plate", "column screw"), ("column-left", "foot screw"), 12, 0),
        (("column-left", "port block screw"), ("port-block", "fixing"), 16, 0),
        (("trunnion-plate", "plate screw"), ("cylinder-block", "plate screw"), 8, 0),
        (("cylinder-cover", "cover screw"), ("cylinder-block", "cover screw"), 8, 0),
        (("flywheel", "hub screw"), ("flywheel-hub", "rim screw"), 15.875, 0),
        (("guard-panel", "column screw"), ("column-left", "guard screw"), 25, 18),
    ],
)
def test_screws_of_the_list_hold_and_do_not_bottom(
    through: tuple[str, str], into: tuple[str, str], length_mm: float, packing_mm: float
) -> None:
    """At least one diameter of thread and a pitch of room below (common practice)."""
    clear, tapped = holes(*through)[0], holes(*into)[0]
    recess = clear.mouth.counterbore or clear.far.counterbore
    sunk_mm = recess.depth_mm if recess is not None else 0.0
    held_mm = length_mm - (clear.depth_mm - sunk_mm) - packing_mm
    assert tapped.thread is not None
    assert held_mm >= tapped.diameter_mm
    assert tapped.is_through or held_mm <= tapped.depth_mm - tapped.thread.pitch_mm


def test_ports_open_at_full_swing_and_are_shut_at_dead_centre() -> None:
    column, block = part_of("column-left"), part_of("port-block")
    centre = {hole.name: np.array(hole.centre_mm) for hole in (*column.holes, *block.holes)}
    distance = centre["main bearing"][2] - holes("column-left", "pivot")[0].centre_mm[2]
    shaft, pin = (
        np.array(holes("crank-disc", name)[0].centre_mm) for name in ("shaft", "crank pin")
    )
    throw = float(np.linalg.norm(pin - shaft))
    pivot, port = (
        np.array(holes("trunnion-plate", name)[0].centre_mm) for name in ("pivot", "port")
    )
    below = float(pivot[1] - port[1])
    swing = math.asin(throw / distance)
    for name, side in (("front port", -1), ("back port", 1)):
        offset = holes("port-block", name)[0].centre_mm[1:] - centre["pivot"][1:]
        expected = side * below * math.sin(swing), -below * math.cos(swing)
        np.testing.assert_allclose(offset, expected, atol=0.001)
    mouth = holes("trunnion-plate", "port")[0].diameter_mm + 0.3  # the spot leaves a chamfer
    assert below * math.sin(swing) - mouth > 0.2
    # the drillings of the unions meet the ports
    for union, port_name in (("front union", "front port"), ("back union", "back port")):
        (drilled,) = holes("port-block", union)
        reached = drilled.drill_depth_mm
        port_y, port_z = centre[port_name][1:]
        from_face = port_y if drilled.face == "front" else block.stock.size_mm[1] - port_y
        assert reached == pytest.approx(from_face, abs=0.01)
        assert drilled.centre_mm[2] == pytest.approx(port_z, abs=0.01)


def test_columns_are_a_handed_pair() -> None:
    left, right = part_of("column-left"), part_of("column-right")
    assert right.is_opposite_hand
    assert right.name == "Column, right"
    swapped = {"left": "right", "right": "left"}
    by_name = {hole.name: hole for hole in right.holes}
    assert set(by_name) == {hole.name for hole in left.holes}
    for hole in left.holes:
        x, y, z = hole.centre_mm
        assert by_name[hole.name].centre_mm == pytest.approx((12 - x, y, z))
        assert by_name[hole.name].face == swapped.get(hole.face, hole.face)
        assert by_name[hole.name].thread == hole.thread


def test_no_turning_makes_the_left_column_the_right_one() -> None:
    """Of four holes not in a plane: a mirror changes the sign of their triple product."""
    products = []
    for name in ("column-left", "column-right"):
        a, b, c, d = (
            np.array(holes(name, group)[0].centre_mm)
            for group in ("main bearing", "pinch screw", "guard screw", "port block screw")
        )
        products.append(float(np.dot(b - a, np.cross(c - a, d - a))))
    assert abs(products[0]) > 1000
    assert products[1] == pytest.approx(-products[0])
