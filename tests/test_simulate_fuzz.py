"""Whatever the reader understands, the dry run survives: no error, no warning of numpy's."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from millprep.model.scene import Box, Disc, Drilled, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Drill, EndMill, Reamer, SpotDrill, Tap, UnsetBoringHead
from millprep.reading.gcode import read_program
from millprep.reading.simulate import simulate

MILLS = [
    Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speed_range_rpm=(60.0, 3000.0)),
    Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speeds_rpm=(100.0, 400.0, 1600.0)),
]
TOOLS = (
    Drill("5 mm", 5.0, point_angle_deg=118.0, flute_mm=52.0, reach_mm=30.0, holder_diameter_mm=20.0,
         number=1),
    Tap("M6", 6.0, pitch_mm=1.0, number=2),
    EndMill("8 mm", 8.0, number=3),
    Reamer("6 mm", 6.0, number=4),
    SpotDrill("10 mm", 10.0, number=5),
    UnsetBoringHead("12 mm", None, number=7),
)  # fmt: skip
SCENES = [
    None,
    Scene(Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0)), (Box((0.0, 0.0, -40.0), (9.0, 9.0, -20.0)),)),
    Scene(
        Disc((-20.0, -20.0, -6.0), (20.0, 20.0, 0.0), 2, 8.0),
        drilled=(Drilled((3.0, 3.0, -6.0), (3.0, 3.0, 0.0), 3.0),),
        material="brass",
    ),
    Scene(Disc((0.0, -10.0, -20.0), (60.0, 10.0, 0.0), 0), safe_height_mm=30.0),
]
NUMBERS = st.one_of(
    st.integers(-30, 60).map(lambda n: f"{n}."),
    st.floats(-50, 50).map(lambda x: f"{x:.3f}"),
    st.sampled_from(["0.", "99999999999.", "-99999999999.", "0.00001"]),
)
PLACES = st.lists(st.tuples(st.sampled_from("XYZ"), NUMBERS), max_size=3, unique_by=lambda w: w[0])
AXES = PLACES.map(lambda words: " ".join(letter + number for letter, number in words))
LINES = st.one_of(
    st.builds("G0 {}".format, AXES),
    st.builds("G1 {} F{}.".format, AXES, st.integers(1, 2000)),
    st.builds("G{} {} I{} J{} F100.".format, st.sampled_from("23"), AXES, NUMBERS, NUMBERS),
    st.builds("G2 X{} Y{} R30. F100.".format, NUMBERS, NUMBERS),
    st.builds("G99 G81 {} Z-5. R2. F100.".format, PLACES.map(lambda _: "X3. Y3.")),
    st.builds("G98 G83 X{} Y5. Z-15. R2. Q4. F100.".format, NUMBERS),
    st.builds("G84 X{} Y5. Z-15. R5. F100.".format, NUMBERS),
    st.builds("T{} M6".format, st.integers(0, 9)),
    st.builds("S{} M{}".format, st.integers(0, 4000), st.sampled_from("345")),
    st.sampled_from(
        [
            "G80",
            "G43 H1",
            "G43 H2",
            "G49",
            "G53 G0 Z0.",
            "G91 G28 Z0.",
            "G90",
            "G4 P1.",
            "G55",
            "(TOOL 8 DRILL 900000.000 MM POINT 118)",
            "(TOOL 9 SPOT DRILL 0.001 MM POINT 180)",
        ]
    ),
)


@settings(max_examples=120)
@given(st.lists(LINES, max_size=12), st.sampled_from(SCENES), st.sampled_from(MILLS), st.booleans())
def test_whatever_the_reader_understands(
    lines: list[str], scene: Scene | None, mill: Mill, is_listed: bool
) -> None:
    text = "\n".join(["G21 G17 G90 G94 G40 G49 G80 G54", *lines, "M30"])
    control = Control(offsets_mm={"G54": (-200.0, -100.0, -150.0)} if is_listed else {})
    run = read_program(text.encode(), control, file="f.nc", tools=TOOLS)
    simulation = simulate(run, scene, mill, control, file="f.nc")
    for hole in simulation.holes:
        assert hole.bottom_mm == min(operation.tip_mm for operation in hole.operations)
    again = simulate(run, scene, mill, control, file="f.nc", record=simulation.record)
    assert len(again.holes) >= len(simulation.holes) == len({id(h) for h in simulation.holes})


def test_a_program_that_does_nothing() -> None:
    run = read_program(b"(nothing)\n", Control(), file="f.nc")
    simulation = simulate(run, SCENES[1], MILLS[0], Control(), file="f.nc")
    assert simulation.holes == () and simulation.findings == ()
    assert simulation.extent_mm == {"x": None, "y": None, "z": None}
