"""A part that lies askew: coordinates turned with it, in listing and program, and turned back.

Outside reference for turning: scipy.spatial.transform.Rotation.
"""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import RICH, RICH_STOCK, millprep, part_of, part_text, plan_of, shop_of
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from millprep.base.findings import MillprepError
from millprep.model.part import SetupRequest
from millprep.planning import make_plan
from millprep.setting.setups import Setup, setup_of
from millprep.setting.skew import Skew, misses_edge_mm, read_edge, read_points, skew_of
from millprep.sheets.dials import make_dial_sheet
from millprep.sheets.listing import make_listing
from millprep.witness.dials import check_dials
from millprep.witness.listing import check_listing
from millprep.writers import written

HOLES = (
    '[[hole]]\nname = "pivot"\nream = 6\nat = [60, 30]\ndepth = "through"\n'
    '[[hole]]\nname = "screw"\ntap = "M4"\ndepth = 8\n'
    "circle = { centre = [25, 25], diameter = 30, count = 4, start = 20 }\n"
)
STOCK = "size = [80, 50, 20]"


def setup(face: str = "top", **request: object) -> Setup:
    part = part_of("[[hole]]\ndrill = 4\nat = [9, 9]\ndepth = 3\n", "size = [80, 50, 20]")
    return setup_of(part, SetupRequest(face, **request), 1)  # type: ignore[arg-type]


def touched(edge: str, angle_deg: float, along: float) -> tuple[float, float]:
    """Where a finder of 10 mm stands against a face of a part turned about its zero corner."""
    square = {
        "front": (along, -5.0),
        "back": (along, 55.0),
        "left": (-5.0, along),
        "right": (85.0, along),
    }[edge]
    x, y, _ = Rotation.from_euler("z", angle_deg, degrees=True).apply((*square, 0))
    return float(x), float(y)


@given(
    st.sampled_from(["front", "back", "left", "right"]),
    st.floats(-4.9, 4.9),
    st.floats(0, 10),
    st.floats(30, 50),
    st.booleans(),
)
def test_two_touches_give_the_angle(
    edge: str, angle_deg: float, near: float, far: float, swapped: bool
) -> None:
    points = [touched(edge, angle_deg, near), touched(edge, angle_deg, far)]
    first, second = reversed(points) if swapped else points
    skew = skew_of(setup(), edge, first, second)  # type: ignore[arg-type]
    assert skew.angle_deg == pytest.approx(angle_deg, abs=1e-9)
    assert misses_edge_mm(setup(), skew, edge, first, 10.0) == pytest.approx(0, abs=1e-9)  # type: ignore[arg-type]
    assert_allclose(
        skew.turned(30.0, 20.0),
        Rotation.from_euler("z", angle_deg, degrees=True).apply((30, 20, 0))[:2],
    )


def test_a_readout_that_counts_the_other_way() -> None:
    """Y reads -y: the same touches give the same angle."""
    points = [touched("front", 2.0, along) for along in (0, 70)]
    shown = [(x, -y) for x, y in points]
    skew = skew_of(setup(), "front", shown[0], shown[1], ("y",))
    assert skew.angle_deg == pytest.approx(2.0)
    assert misses_edge_mm(setup(), skew, "front", shown[1], 10.0, ("y",)) == pytest.approx(
        0, abs=1e-9
    )


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("0,-5", '--skew: "0,-5" is not two points'),
        ("a,b c,d", '--skew: "a,b c,d" is not two points'),
        ("0,-5 70,-5 3,3", '--skew: "0,-5 70,-5 3,3" is not two points'),
        ("nan,0 1,1", '--skew: "nan,0 1,1" is not two points'),
        ("", '--skew: "" is not two points'),
    ],
)
def test_what_is_not_two_points_is_refused(words: str, message: str) -> None:
    with pytest.raises(MillprepError) as caught:
        read_points(words, "mm")
    assert caught.value.findings[0].message == message


def test_points_in_words() -> None:
    assert read_points("0, -5.00  80 ,-4.6", "mm") == ((0, -5), (80, -4.6))
    assert read_points("0,-0.2 1,-0.2", "inch") == ((0, pytest.approx(-5.08)), (25.4, -5.08))


def test_too_far_askew_too_near_and_no_such_edge() -> None:
    with pytest.raises(MillprepError, match=r"front is 5\.10 degrees askew"):
        skew_of(setup(), "front", touched("front", 5.1, 0), touched("front", 5.1, 70))
    with pytest.raises(MillprepError, match=r"the two points are 8\.000 mm apart"):
        skew_of(setup(), "front", (0.0, -5.0), (8.0, -5.0))
    with pytest.raises(MillprepError, match=r"left is 90\.00 degrees askew"):
        skew_of(setup(), "left", (0.0, -5.0), (70.0, -5.0))
    with pytest.raises(MillprepError, match='"top" does not stand upright in setup 1'):
        read_edge("top", setup())
    assert read_edge(" Front", setup()) == "front"


@settings(max_examples=10)
@given(st.floats(-4.9, 4.9).filter(lambda angle: abs(angle) > 0.001))
def test_steps_are_turned_about_the_zero_and_rounded_once(angle_deg: float) -> None:
    part, shop = part_of(HOLES, STOCK), shop_of()
    turn = Rotation.from_euler("z", angle_deg, degrees=True)
    square, askew = (
        json.loads(written("listing", make_listing(plan, "mm"), "json"))["setups"][0]
        for plan in (make_plan(part, shop), make_plan(part, shop, skew=Skew(1, angle_deg)))
    )
    assert [one["hole"] for one in askew["steps"]] == [one["hole"] for one in square["steps"]]
    for one, other in zip(square["steps"], askew["steps"], strict=True):
        expected = turn.apply((one["x_exact_mm"], one["y_exact_mm"], 0.0))
        assert_allclose((other["x_exact_mm"], other["y_exact_mm"]), expected[:2], atol=2e-6)
        assert abs(other["x"] - expected[0]) <= 0.0025 + 2e-6
        assert abs(other["y"] - expected[1]) <= 0.0025 + 2e-6
        assert other["z"] == one["z"]
    # What is measured on the part stays as it is; so do presets and jaws.
    for label in ("HOLD", "ZERO", "CHECK"):
        assert askew["said"][label] == square["said"][label]
    assert (askew["places"], askew["figures"]) == (square["places"], square["figures"])
    # The far face then reads by where it is touched, so it is not told.
    assert askew["said"]["PICK UP"] == [one.split("; ")[0] for one in square["said"]["PICK UP"]]
    assert askew["said"]["TRY"][0] == square["said"]["TRY"][0]


@pytest.mark.parametrize("form", ["text", "csv", "json", "html"])
@pytest.mark.parametrize("angle_deg", [1.5, -3.25])
def test_the_witness_undoes_the_skew_that_it_knows(form: str, angle_deg: float) -> None:
    part, shop = part_of(HOLES, STOCK), shop_of()
    plan = make_plan(part, shop, skew=Skew(1, angle_deg))
    text = written("listing", make_listing(plan, "mm"), form)

    def kinds(skews: dict[int, float]) -> set[str]:
        found = check_listing(text.encode(), form, part, shop, file="sheet", skews=skews)  # type: ignore[arg-type]
        return {one.kind for one in found}

    assert kinds({1: angle_deg}) == set()
    assert "wrong-figure" in kinds({})
    assert "hole-off" in kinds({})
    assert kinds({1: -angle_deg}) >= {"wrong-figure", "hole-off"}
    assert "wrong-figure" in kinds({1: angle_deg + 0.001})


def test_the_second_setup_askew_leaves_the_first_square() -> None:
    part, shop = part_of(RICH, RICH_STOCK), shop_of()
    plain, askew = (make_plan(part, shop, skew=one) for one in (None, Skew(2, 2.0)))
    assert [one.skew_deg for one in askew.setups] == [0, 2.0, 0, 0, 0, 0]
    assert askew.setups[0].operations == plain.setups[0].operations
    sheet = make_listing(askew, "mm")
    setups = json.loads(written("listing", sheet, "json"))["setups"]
    assert ["SKEW" in one["said"] for one in setups] == [False, True, False, False, False, False]
    for form in ("text", "csv", "json"):
        data = written("listing", sheet, form).encode()
        found = check_listing(data, form, part, shop, file="s", skews={2: 2.0})  # type: ignore[arg-type]
        assert found == []


@pytest.fixture
def part_path(tmp_path: Path) -> Path:
    path = tmp_path / "part.toml"
    path.write_text(part_text(HOLES, STOCK))
    return path


def test_listing_with_a_skew(part_path: Path) -> None:
    """atan(1.4 / 70) = 1.1458 degrees; the pivot at 60, 30 turned by it (scipy)."""
    ran = millprep("listing", part_path, "--skew", "0,-5 70,-3.6", "--format", "json")
    assert ran.status == 0, ran.err
    (found,) = ran.json["setups"]
    assert found["skew_deg"] == pytest.approx(math.degrees(math.atan2(1.4, 70)), abs=5e-5)
    assert found["skew"] == {"degrees": 1.1458, "turns": "anticlockwise"}
    said = "the part sits 1.1458 deg anticlockwise, seen from above; "
    assert found["said"]["SKEW"][0].startswith(said)
    pivot = next(step for step in found["steps"] if step["hole"] == "pivot")
    x, y, _ = Rotation.from_euler("z", math.atan2(1.4, 70)).apply((60, 30, 0))
    assert (pivot["x"], pivot["y"]) == (pytest.approx(x, abs=0.0026), pytest.approx(y, abs=0.0026))


def test_program_with_a_skew(part_path: Path, tmp_path: Path) -> None:
    """Read back, turned back, dry-run and compared before it is written; the figures are turned."""
    ran = millprep(
        "program",
        part_path,
        "--skew",
        "-5,0 -6.4,40",
        "--skew-edge",
        "left",
        "-o",
        tmp_path / "a.nc",
    )
    assert ran.status == 0, ran.err
    text = (tmp_path / "a.nc").read_text()
    angle = math.atan2(1.4, 40)
    assert (
        f"(PART LIES {math.degrees(angle):.4f} DEG ANTICLOCKWISE, X AND Y TURNED WITH IT)" in text
    )
    x, y, _ = Rotation.from_euler("z", angle).apply((60, 30, 0))
    assert f"X{np.round(x, 3):g} Y{np.round(y, 3):g}" in text


@pytest.mark.parametrize("way", ["0,-5 70,-3.6", "0,-5 70,-6.2"])
def test_dry_run_of_a_program_with_a_skew(part_path: Path, tmp_path: Path, way: str) -> None:
    """Turned back it makes the square part; run as if the part lay square, its holes are off."""
    program, moves = tmp_path / "a.nc", tmp_path / "moves.csv"
    assert millprep("program", part_path, "--skew", way, "-o", program).status == 0
    ran = millprep(
        "dryrun", program, "--part", part_path, "--skew", way, "--format", "json", "--moves", moves
    )
    assert ran.status == 0, ran.err
    far = float(way.rsplit(",", maxsplit=1)[1]) + 5
    assert ran.json["skew_deg"] == pytest.approx(math.degrees(math.atan2(far, 70)), abs=5e-5)
    pivot = next(one for one in ran.json["holes"] if one["diameter_mm"] == 6)
    assert (pivot["x_mm"], pivot["y_mm"]) == (
        pytest.approx(60, abs=0.001),
        pytest.approx(30, abs=0.001),
    )
    # The table of moves is as the readout of the machine shows them.
    x, y, _ = Rotation.from_euler("z", math.atan2(far, 70)).apply((60, 30, 0))
    ends = [
        [float(word) for word in line.split(",")[2:4]] for line in moves.read_text().split()[1:]
    ]
    assert min(math.dist(end, (x, y)) for end in ends) < 0.001
    square = millprep("dryrun", program, "--part", part_path, "--format", "json")
    assert square.status == 1
    assert "hole-off" in {one["kind"] for one in square.json["findings"]}
    other = way.replace("-3.6", "-6.4").replace("-6.2", "-3.8")
    assert millprep("dryrun", program, "--part", part_path, "--skew", other).status == 1


@pytest.mark.parametrize(
    ("far", "words"),
    [(-3.6, "1.146 deg anticlockwise"), (-6.2, "0.982 deg clockwise"), (0.5, "4.493 deg anticl")],
)
def test_holes_off_by_one_turn_are_told_so(
    part_path: Path, tmp_path: Path, far: float, words: str
) -> None:
    """The angle is atan((far + 5) / 70). At the largest, the pivot is so far off that it counts
    as another hole."""
    program = tmp_path / "a.nc"
    assert millprep("program", part_path, "--skew", f"0,-5 70,{far}", "-o", program).status == 0
    findings = millprep("dryrun", program, "--part", part_path, "--format", "json").json["findings"]
    kinds = ("hole-off", "hole-missing", "hole-extra")
    remedies = {one["remedy"] for one in findings if one["kind"] in kinds}
    assert len(remedies) == 1
    assert f"all holes are turned {words}" in remedies.pop()


def test_holes_off_otherwise_are_not_called_turned(part_path: Path, tmp_path: Path) -> None:
    program = tmp_path / "a.nc"
    assert millprep("program", part_path, "-o", program).status == 0
    shifted = re.sub(r"X([\d.]+)", lambda m: f"X{float(m[1]) + 0.4:.3f}", program.read_text())
    for text in (shifted, program.read_text().replace("X60.0", "X60.4")):
        program.write_text(text)
        ran = millprep("dryrun", program, "--part", part_path)
        assert re.search(r"off (in X )?by (X )?\+0.400", " ".join(ran.out.split()))
        assert "turned" not in ran.out


def test_the_report_says_that_it_is_turned_back(part_path: Path, tmp_path: Path) -> None:
    program = tmp_path / "a.nc"
    assert millprep("program", part_path, "--skew", "0,-5 70,-3.6", "-o", program).status == 0
    ran = millprep("dryrun", program, "--part", part_path, "--skew", "0,-5 70,-3.6")
    assert "setup 1, TOP up; askew by 1.1458 deg, shown turned back" in " ".join(ran.out.split())


def test_a_dry_run_without_part_has_no_skew(part_path: Path, tmp_path: Path) -> None:
    program = tmp_path / "a.nc"
    assert millprep("program", part_path, "-o", program).status == 0
    ran = millprep("dryrun", program, "--skew", "0,-5 70,-3.6")
    assert ran.status == 2
    assert "--skew needs --part" in ran.err


def test_bench_page_with_a_skew(part_path: Path, tmp_path: Path) -> None:
    """Read back in mm and in inches with the skew undone before it is written."""
    page = tmp_path / "a.html"
    ran = millprep("bench", part_path, "--skew", "0,-5 70,-3.6", "-o", page)
    assert ran.status == 0, ran.err
    text = page.read_text()
    assert "the part sits 1.1458 deg anticlockwise, seen from above" in text
    x, y, _ = Rotation.from_euler("z", math.atan2(1.4, 70)).apply((60, 30, 0))
    for axis, exact in (("x", x), ("y", y)):
        shown = f"{round(exact / 0.005) * 0.005:.3f}"
        assert f'data-field="{axis}" data-units="mm" data-cell>{shown}<' in text


def test_dials_with_a_skew(part_path: Path) -> None:
    """The pivot at 60, 30 turned by atan(1.4 / 70) (scipy), on a screw of 2.5 mm with 100."""
    other = '[[hole]]\nname = "dowel"\nream = 6\nat = [70, 8]\ndepth = "through"\n'
    part_path.write_text(part_text(HOLES + other, STOCK))
    ran = millprep("dials", part_path, "--skew", "0,-5 70,-3.6", "--format", "json")
    assert ran.status == 0, ran.err
    (found,) = ran.json["setups"]
    assert found["skew_deg"] == pytest.approx(math.degrees(math.atan2(1.4, 70)), abs=5e-5)
    assert found["skew"] == {"degrees": 1.1458, "turns": "anticlockwise"}
    (skew,) = found["said"]["SKEW"]
    assert skew.startswith("the part sits 1.1458 deg anticlockwise, seen from above; ")
    pivot = next(step for step in found["steps"] if step["hole"] == "pivot")
    place = Rotation.from_euler("z", math.atan2(1.4, 70)).apply((60, 30, 0))
    for axis, exact in zip("xy", place, strict=False):
        setting = pivot[axis]
        stands = setting["turns"] * 2.5 + setting["division"] * 0.025
        assert stands == pytest.approx(exact, abs=0.0126)
        assert setting["left_over_mm"] == pytest.approx(exact - stands, abs=1e-5)
    text = " ".join(millprep("dials", part_path, "--skew", "0,-5 70,-3.6").out.split())
    x, y = (f"{pivot[axis]['turns']} turns, figure {pivot[axis]['reading']}" for axis in "xy")
    assert f"pivot (X {x}; Y {y})" in text  # where a lost zero is found again
    assert re.search(r" pivot +59\.\d+ +60\.0 .* 31\.\d+ +30\.0 ", text)  # a rule lies along it


@pytest.mark.parametrize(
    ("form", "angle_deg"),
    [("text", 1.5), ("csv", -3.25), ("json", 1.5), ("html", -3.25), ("pdf", 1.5)],
)
def test_the_witness_undoes_the_skew_of_a_dial_sheet(form: str, angle_deg: float) -> None:
    part, shop = part_of(HOLES, STOCK), shop_of()
    plan = make_plan(part, shop, skew=Skew(1, angle_deg))
    data = written("dials", make_dial_sheet(plan, "mm"), form)

    def kinds(skews: dict[int, float]) -> set[str]:
        whole = data if isinstance(data, bytes) else data.encode()
        found = check_dials(whole, form, part, shop, file="sheet", skews=skews)  # type: ignore[arg-type]
        return {one.kind for one in found}

    assert kinds({1: angle_deg}) == set()
    assert kinds({}) >= {"wrong-figure", "hole-off"}
    assert kinds({1: -angle_deg}) >= {"wrong-figure", "hole-off"}
    assert "wrong-figure" in kinds({1: angle_deg + 0.001})


@pytest.mark.parametrize("command", ["listing", "dials", "bench"])
def test_rows_are_refused_on_a_part_that_lies_askew(
    command: str, part_path: Path, tmp_path: Path
) -> None:
    """Locking one axis leads along the machine's axis, and the row runs beside it."""
    output = ["-o", tmp_path / "a.html"]
    row = [command, part_path, "--order", "row", *output]
    ran = millprep(*row, "--skew", "0,-5 70,-3.6")
    assert ran.status == 2
    assert "--order row with --skew: on a part that is askew no row runs along an axis" in ran.err
    assert millprep(*row, "--skew", "0,-5 70,-5").status == 0


def test_a_part_near_its_edge_does_not_run_out_of_its_stock(tmp_path: Path) -> None:
    """At 4.5 degrees the far end of 200 mm lies 16 mm away from where it would lie square."""
    holes = '[[hole]]\nname = "end"\ndrill = 4\nat = [[195, 5], [195, 25]]\ndepth = "through"\n'
    path = tmp_path / "part.toml"
    path.write_text(part_text(holes, "size = [200, 30, 12]"))
    far = f"{180 * math.cos(math.radians(4.5)):.4f},{180 * math.sin(math.radians(4.5)) - 5:.4f}"
    ran = millprep("program", path, "--skew", f"0,-5 {far}", "-o", tmp_path / "a.nc")
    assert ran.status == 0, ran.err


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--skew", "0,-5 70,8"], "--skew: front is 10.52 degrees askew by these points"),
        (["--skew", "0,-5"], '--skew: "0,-5" is not two points'),
        (["--skew-edge", "left"], "--skew-edge without --skew"),
        (["--skew", "0,-5 70,-5", "--skew-edge", "frnt"], '--skew-edge: "frnt" does not stand'),
        (["--skew", "0,-5 70,-5", "--setup", "3"], "there is no setup 3"),
    ],
)
def test_what_is_refused(part_path: Path, options: list[str], message: str) -> None:
    for command in (
        ["listing", part_path],
        ["dials", part_path],
        ["program", part_path, "-o", part_path.parent / "a.nc"],
        ["bench", part_path, "-o", part_path.parent / "a.html"],
    ):
        ran = millprep(*command, *options)
        assert ran.status == 2
        assert message in ran.err
    assert not (part_path.parent / "a.nc").exists()


def test_a_skew_is_of_one_setup(tmp_path: Path) -> None:
    path = tmp_path / "part.toml"
    path.write_text(part_text(RICH, RICH_STOCK))
    ran = millprep("listing", path, "--skew", "0,-5 70,-4")
    assert ran.status == 2
    assert "a skew is of one setup, and this part has 6" in ran.err
    assert millprep("listing", path, "--skew", "0,-5 70,-4", "--setup", "1").status == 0


def test_an_edge_beside_the_zero_is_told(part_path: Path) -> None:
    """The finder stood 0.5 mm nearer than half its diameter from a zero on FRONT."""
    ran = millprep("listing", part_path, "--skew", "0,-4.5 70,-4.5")
    assert ran.status == 0
    assert (
        "warning: setup 1: the finder met FRONT 0.500 mm from where zero and the finder's 10 mm "
        "put it" in ran.err
    )
    assert "skew" not in json.dumps(
        millprep("listing", part_path, "--format", "json").json["findings"]
    )


def test_square_is_no_skew(part_path: Path) -> None:
    plain = millprep("listing", part_path)
    assert millprep("listing", part_path, "--skew", "0,-5 70,-5").out == plain.out
    assert "SKEW" not in plain.out
    assert plan_of(HOLES, STOCK).setups[0].square == plan_of(HOLES, STOCK).setups[0].operations


def test_figures_of_a_skew_are_in_the_units_of_the_sheet(in_folder: Path) -> None:
    """0.4 and 2.8 in are 60.96 mm apart; up by 0.032 of 2.4 in: 0.7639 degrees."""
    path = in_folder / "part.toml"
    text = part_text(
        "[[hole]]\ndrill = 0.25\nat = [1, 0.5]\ndepth = 0.2\n",
        "size = [3.2, 1.6, 0.5]",
        units="inch",
    )
    path.write_text(text)
    for more in ((), ("--units", "inch")):
        ran = millprep("listing", path, "--skew", "0.4,-0.1968 2.8,-0.1648", *more)
        assert "sits 0.7639 deg anticlockwise" in ran.out
    in_mm = millprep("listing", path, "--skew", "10,-5 70,-4.2", "--units", "mm")
    assert "sits 0.7639 deg anticlockwise" in in_mm.out
