"""Extent, time and table of moves, worked by hand."""

import math

import pytest
from numpy.testing import assert_allclose

from millprep.model.shop import Control, Mill
from millprep.reading.gcode import read_program
from millprep.reading.moves import Moves, extent_mm, moves_csv, path_mm
from millprep.reading.simulate.timing import seconds_each

START = "G21 G90 G17 G54 G98 F100.\n"


def moves_of(text: str) -> Moves:
    control = Control(offsets_mm={"G54": (0.0, 0.0, 0.0)})
    run = read_program((START + text + "\nM2").encode(), control, file="a.nc")
    assert run.is_complete
    return run.moves


def test_extent_of_straight_moves() -> None:
    assert extent_mm(moves_of("G0 X5.\nG1 X-2. Z-3.")) == {
        "x": [-2.0, 5.0],
        "y": None,
        "z": [-3.0, 0.0],
    }
    assert extent_mm(moves_of("G4 P1.")) == {"x": None, "y": None, "z": None}


@pytest.mark.parametrize(
    ("arc", "x", "y"),
    [
        ("G0 X10.\nG3 X-10. I-10.", [-10.0, 10.0], [0.0, 10.0]),  # over the top
        ("G0 X10.\nG2 X-10. I-10.", [-10.0, 10.0], [-10.0, 0.0]),  # under the bottom
        ("G0 X10.\nG2 X10. Y0. I-10.", [-10.0, 10.0], [-10.0, 10.0]),  # full turn
        ("G0 X6. Y8.\nG3 X8. Y6. I-6. J-8.", [-10.0, 10.0], [-10.0, 10.0]),  # the long way
        ("G0 X8. Y6.\nG3 X6. Y8. I-8. J-6.", [6.0, 8.0], [6.0, 8.0]),  # between the axes
        ("G0 X6. Y-8.\nG3 X6. Y8. R10.", [6.0, 10.0], [-8.0, 8.0]),
    ],
)
def test_extent_takes_in_the_bulge_of_arcs(arc: str, x: list[float], y: list[float]) -> None:
    extent = extent_mm(moves_of(arc))
    assert_allclose(extent["x"], x, atol=1e-9)
    assert_allclose(extent["y"], y, atol=1e-9)
    assert extent["z"] is None


def test_extent_in_the_other_planes() -> None:
    extent = extent_mm(moves_of("G0 Z10.\nG18 G3 X0. Z-10. K-10."))
    assert_allclose(extent["x"], [0.0, 10.0], atol=1e-9)
    assert_allclose(extent["z"], [-10.0, 10.0], atol=1e-9)
    assert extent["y"] is None


def test_time_is_path_over_rate() -> None:
    """50 mm rapid at 2000, 30 mm feed at 60 mm/min, 2 s of dwell: 1.5 + 30 + 2 s."""
    moves = moves_of("G0 X30. Y40.\nG1 Z-30. F60.\nG4 P2.")
    mill = Mill(((-400.0, 0.0),) * 3, rapid_mm_per_min=2000.0)
    assert_allclose(seconds_each(moves, mill).sum(), 1.5 + 30.0 + 2.0)


def test_path_along_a_helix() -> None:
    """A full turn of radius 10 that sinks 5: sqrt((20 pi)^2 + 25)."""
    moves = moves_of("G0 X10.\nG3 X10. Y0. I-10. Z-5.")
    assert_allclose(path_mm(moves)[1], math.hypot(20 * math.pi, 5))


def test_table_of_moves() -> None:
    table = moves_csv(moves_of("G0 X1.5\nG1 Z-0.1 F60.\nG3 X3.5 I1.\nG4 P1."))
    assert table == (
        "line,kind,x,y,z,feed\n"
        "2,rapid,1.5,0,0,\n"
        "3,feed,1.5,0,-0.1,60\n"
        "4,arc-ccw,3.5,0,-0.1,60\n"
        "5,dwell,3.5,0,-0.1,\n"
    )
