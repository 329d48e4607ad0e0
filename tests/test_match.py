"""A part matched to one that is drilled, against sums made here with complex numbers."""

import cmath
import csv
import io
import json
import math
from contextlib import chdir
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import millprep, part_text

PLATE = """
[[hole]]
name = "screw"
clear = "M5"
depth = "through"
at = [[10, 8], [70, 8], [70, 42], [10, 42]]
[[hole]]
name = "odd"
clear = "M4"
depth = "through"
at = [28, 17]
[[hole]]
name = "dowel"
ream = "4 mm"
depth = "through"
at = [40, 30]
[[hole]]
name = "side"
face = "front"
tap = "M4"
depth = 8
at = [20, 6]
"""
STOCK = "size = [80, 50, 12]"
NOMINAL = {
    "screw 1": 10 + 8j, "screw 2": 70 + 8j, "screw 3": 70 + 42j, "screw 4": 10 + 42j,
    "odd": 28 + 17j, "dowel": 40 + 30j,
}  # fmt: skip
DRILLED = ("screw 1", "screw 2", "screw 3", "screw 4", "odd")


def put(place: complex, turn_deg: float, shift: complex, *, mirror: bool = False) -> complex:
    """The rule: shift + turn(mirror(nominal)), the mirror taking x to -x."""
    pattern = -place.conjugate() if mirror else place
    return shift + pattern * cmath.exp(1j * math.radians(turn_deg))


def rows(places: dict[str, complex]) -> str:
    lines = [f"{hole},{place.real!r},{place.imag!r}" for hole, place in places.items()]
    return "\n".join(["hole,x,y", *lines, ""])


@pytest.fixture
def plate(in_folder: Path) -> Path:
    (in_folder / "plate.toml").write_text(part_text(PLATE, STOCK), encoding="utf-8")
    return in_folder


def match(places: dict[str, complex] | str, *options: object) -> Any:
    text = places if isinstance(places, str) else rows(places)
    Path("m.csv").write_text(text, encoding="utf-8")
    ran = millprep("match", "plate.toml", "m.csv", "--format", "json", *options)
    assert ran.status == 0, ran.err
    return ran.json


def coordinates(report: Any) -> dict[str, complex]:
    return {one["hole"]: complex(one["x_mm"], one["y_mm"]) for one in report["coordinates"]}


def kinds(report: Any) -> list[str]:
    return [one["kind"] for one in report["findings"]]


WANDER = dict(zip(DRILLED, (0.03 - 0.02j, -0.04 + 0.01j, 0.05j, -0.02 - 0.03j, 0.03), strict=True))


def test_a_shifted_and_turned_part_is_followed(plate: Path) -> None:
    drilled = {hole: put(NOMINAL[hole], 0.4, 0.3 - 0.2j) for hole in DRILLED}
    report = match(drilled)
    assert report["shift_mm"] == pytest.approx([0.3, -0.2], abs=1e-6)
    assert report["turn_deg"] == pytest.approx(0.4, abs=1e-7)
    assert report["mirrored"] is False
    assert max(report["residuals_mm"].values()) < 1e-6
    places = coordinates(report)
    assert set(places) == set(NOMINAL), "every hole of the face, and none of another"
    for hole, nominal in NOMINAL.items():
        assert places[hole] == pytest.approx(put(nominal, 0.4, 0.3 - 0.2j), abs=1e-6)
    assert kinds(report).count("not-measured") == 1


def test_measured_holes_are_drilled_where_they_are(plate: Path) -> None:
    drilled = {hole: put(NOMINAL[hole], 0.4, 0.3 - 0.2j) + WANDER[hole] for hole in DRILLED}
    report = match(drilled)
    for hole in DRILLED:
        assert coordinates(report)[hole] == pytest.approx(drilled[hole], abs=1e-6)
    # least squares in the plane, in one line with complex numbers (Umeyama, IEEE PAMI 13, 1991)
    p = np.array([NOMINAL[hole] for hole in DRILLED])
    q = np.array([drilled[hole] for hole in DRILLED])
    turn = np.angle(np.vdot(p - p.mean(), q - q.mean()))
    shift = q.mean() - np.exp(1j * turn) * p.mean()
    left = np.abs(q - shift - np.exp(1j * turn) * p)
    assert report["turn_deg"] == pytest.approx(np.degrees(turn), abs=1e-7)
    assert [report["residuals_mm"][hole] for hole in DRILLED] == pytest.approx(list(left), abs=1e-7)
    assert coordinates(report)["dowel"] == pytest.approx(
        shift + np.exp(1j * turn) * NOMINAL["dowel"], abs=1e-6
    )
    assert report["least_worst_mm"] <= report["worst_mm"]


def test_kept_edges_undo_the_fit(plate: Path) -> None:
    drilled = {hole: put(NOMINAL[hole], 0.4, 0.3 - 0.2j) + WANDER[hole] for hole in DRILLED}
    report = match(drilled, "--keep-edges")
    places = coordinates(report)
    assert places["dowel"] == pytest.approx(NOMINAL["dowel"], abs=1e-9)
    for hole in DRILLED:
        away = abs(places[hole] - NOMINAL[hole])
        assert away == pytest.approx(report["residuals_mm"][hole], abs=1e-7)
    assert report["keeps_edges"] is True
    # what matters: drilled so, the holes of both parts lie alike
    for one in DRILLED:
        for other in DRILLED:
            assert abs(places[one] - places[other]) == pytest.approx(
                abs(drilled[one] - drilled[other]), abs=1e-7
            )


def test_faces_that_meet_are_mirrored(plate: Path) -> None:
    drilled = {
        hole: put(NOMINAL[hole], 3.0, 78 + 4j, mirror=True) + WANDER[hole] for hole in DRILLED
    }
    report = match(drilled)
    assert report["mirrored"] is True
    assert report["turn_deg"] == pytest.approx(3.0, abs=0.1)
    assert report["shift_mm"] == pytest.approx([78, 4], abs=0.1)
    places = coordinates(report)
    assert places["dowel"] == pytest.approx(NOMINAL["dowel"], abs=1e-9)
    for hole in DRILLED:
        assert abs(places[hole] - NOMINAL[hole]) < 0.1
        back = put(places[hole], report["turn_deg"], complex(*report["shift_mm"]), mirror=True)
        assert back == pytest.approx(drilled[hole], abs=1e-6)
    assert "fit-undone" in kinds(report)


def test_the_hand_may_be_said(plate: Path) -> None:
    drilled = {hole: put(NOMINAL[hole], 0.0, 80, mirror=True) for hole in DRILLED}
    assert match(drilled, "--hand", "mirrored")["turn_deg"] == pytest.approx(0, abs=1e-9)
    forced = match(drilled, "--hand", "as-drawn")
    assert forced["mirrored"] is False
    assert forced["worst_mm"] > 5
    row = {hole: NOMINAL[hole] for hole in ("screw 1", "screw 2")}
    assert "hand-not-shown" in kinds(match(row))
    assert "hand-not-shown" not in kinds(match(row, "--hand", "as drawn"))


@settings(max_examples=12)
@given(st.floats(-180, 180), st.floats(-60, 60), st.floats(-60, 60), st.booleans())
def test_any_lay_is_found(turn: float, dx: float, dy: float, mirror: bool) -> None:
    drilled = {hole: put(NOMINAL[hole], turn, complex(dx, dy), mirror=mirror) for hole in DRILLED}
    with TemporaryDirectory() as folder, chdir(folder):
        Path("plate.toml").write_text(part_text(PLATE, STOCK), encoding="utf-8")
        report = match(drilled)
    assert report["mirrored"] is mirror
    assert report["shift_mm"] == pytest.approx([dx, dy], abs=1e-6)
    assert abs((report["turn_deg"] - turn + 180) % 360 - 180) < 1e-6


def test_one_hole_gives_a_shift_only(plate: Path) -> None:
    report = match({"screw 2": 70.4 + 8.1j})
    assert report["turn_deg"] == 0
    assert report["shift_mm"] == pytest.approx([0.4, 0.1])
    assert coordinates(report)["screw 4"] == pytest.approx(10.4 + 42.1j)
    assert "turn-not-shown" in kinds(report)


@pytest.mark.parametrize(
    ("off", "verdict"), [(0.9, "fits"), (1.01, "not decidable"), (1.2, "does not fit")]
)
def test_whether_the_part_as_drawn_still_fits(plate: Path, off: float, verdict: str) -> None:
    """Two M5 screws 60 apart in holes of 5.5 (ISO 273, medium): 0.25 of play at each.

    They miss by 0.25 each when drilled 60.5 apart. With off = 1 the distance is 60 + 0.5.
    """
    drilled = {"screw 1": NOMINAL["screw 1"], "screw 2": NOMINAL["screw 2"] + off / 2}
    report = match(drilled)
    assert report["mate"]["verdict"] == verdict
    assert report["mate"]["lacking_mm"] == pytest.approx(off / 4 - 0.25, abs=1e-6)
    plain = {"does not fit": "mate-does-not-fit", "not decidable": "mate-not-decided"}
    assert (plain.get(verdict, "none") in kinds(report)) == (verdict != "fits")


def test_play_may_be_given_and_pins_are_not_judged(plate: Path) -> None:
    drilled = {"screw 1": NOMINAL["screw 1"], "dowel": NOMINAL["dowel"] + 0.2}
    report = match(drilled)
    assert report["mate"]["not_judged"] == ["dowel"]
    assert "mate-not-judged" in kinds(report)
    judged = match(drilled, "--play", "0.02")
    assert judged["mate"]["verdict"] == "does not fit"
    assert judged["mate"]["holes"] == ["screw 1", "dowel"]
    # the distance of the two is 37.202 and grew to 37.363: half of that at each, less the play
    grown = abs(drilled["dowel"] - drilled["screw 1"]) - abs(NOMINAL["dowel"] - NOMINAL["screw 1"])
    assert judged["mate"]["lacking_mm"] == pytest.approx(grown / 2 - 0.02, abs=1e-6)


def test_a_tapped_hole_has_the_play_of_a_hole_of_the_normal_grade(plate: Path) -> None:
    report = match({"side": 20.1 + 6j})
    (side,) = report["holes"]
    assert side["play_mm"] == pytest.approx((4.5 - 4) / 2)  # ISO 273: M4 in 4.5, medium
    assert report["face"] == "front"


def test_the_finder_s_radius_is_recognised(plate: Path) -> None:
    drilled = {hole: NOMINAL[hole] + 5 + WANDER[hole] for hole in DRILLED}
    report = match(drilled)
    assert report["looks_like"]["kind"] == "shift"
    assert "edge finder radius left out" in report["looks_like"]["sentences"][0]
    assert "likely-slip" in kinds(report)


def test_a_hole_one_turn_out_is_told_and_found(plate: Path) -> None:
    drilled = {hole: NOMINAL[hole] + WANDER[hole] / 2 for hole in DRILLED}
    drilled["screw 3"] += 2.5
    report = match(drilled)
    assert report["looks_like"]["holes"] == ["screw 3"]
    assert report["looks_like"]["sentences"][0].endswith("X one turn of the handle out")
    (slip,) = [one for one in report["findings"] if one["kind"] == "likely-slip"]
    assert (slip["severity"], slip["holes"]) == ("warning", ["screw 3"])


def least_squares(holes: list[str], drilled: dict[str, complex]) -> tuple[float, complex]:
    """Turn and shift in the plane, with complex numbers (Umeyama, IEEE PAMI 13, 1991)."""
    p, q = (np.array([places[hole] for hole in holes]) for places in (NOMINAL, drilled))
    turn = float(np.angle(np.vdot(p - p.mean(), q - q.mean())))
    return turn, complex(q.mean() - np.exp(1j * turn) * p.mean())


@pytest.mark.parametrize("options", [(), ("--keep-edges",)])
def test_a_misread_hole_does_not_drag_the_rest(plate: Path, options: tuple[str, ...]) -> None:
    drilled = {hole: put(NOMINAL[hole], 0.4, 0.3 - 0.2j) + WANDER[hole] / 2 for hole in DRILLED}
    drilled["screw 2"] -= 20
    report = match(drilled, *options)
    assert report["left_out"] == ["screw 2"]
    rest = [hole for hole in DRILLED if hole != "screw 2"]
    turn, shift = least_squares(rest, drilled)
    assert report["turn_deg"] == pytest.approx(math.degrees(turn), abs=1e-7)
    assert complex(*report["shift_mm"]) == pytest.approx(shift, abs=1e-6)
    put_there = {hole: shift + cmath.exp(1j * turn) * NOMINAL[hole] for hole in NOMINAL}
    for hole in DRILLED:
        left = abs(drilled[hole] - put_there[hole])
        assert report["residuals_mm"][hole] == pytest.approx(left, abs=1e-6)
    assert report["worst_mm"] == max(report["residuals_mm"][hole] for hole in rest) < 0.1
    goes = NOMINAL["dowel"] if options else put_there["dowel"]
    assert coordinates(report)["dowel"] == pytest.approx(goes, abs=1e-6)
    if not options:
        assert coordinates(report)["screw 2"] == pytest.approx(drilled["screw 2"], abs=1e-6)
    (note,) = [one for one in report["findings"] if one["kind"] == "left-out-of-fit"]
    assert note["holes"] == ["screw 2"]
    (mate,) = [one for one in report["findings"] if one["kind"] == "mate-does-not-fit"]
    assert mate["remedy"].startswith("measure screw 2 again first")


def test_the_sheet_says_which_hole_is_left_out(plate: Path) -> None:
    drilled = {hole: NOMINAL[hole] + WANDER[hole] / 2 for hole in DRILLED}
    drilled["screw 3"] -= 20
    off = match(drilled)["residuals_mm"]["screw 3"]
    sheet = " ".join(millprep("match", "plate.toml", "m.csv").out.split())
    assert f"left out of the fit: screw 3, off by {off:.3f} mm" in sheet
    assert "FIT not turned" in sheet or "FIT turned 0.0" in sheet
    assert "4 holes; off by 0.0" in sheet
    assert "[?] is likely misread: measure again before drilling" in sheet
    assert "[?] screw 3" in sheet
    table = millprep("match", "plate.toml", "m.csv", "--format", "csv").out.splitlines()
    assert table[3].endswith(",likely misread")


def test_two_readings_exchanged_do_not_drag_the_rest(plate: Path) -> None:
    drilled = {hole: NOMINAL[hole] + WANDER[hole] / 2 for hole in DRILLED}
    drilled["screw 2"], drilled["odd"] = drilled["odd"], drilled["screw 2"]
    report = match(drilled)
    assert report["left_out"] == ["screw 2", "odd"]
    assert coordinates(report)["dowel"] == pytest.approx(NOMINAL["dowel"], abs=0.05)


@pytest.mark.parametrize("off", [0.1, 0.2])
def test_a_hole_that_is_off_a_little_stays_in_the_fit(plate: Path, off: float) -> None:
    """Less than ten times what the others leave, or than a reading may be wrong, drags little."""
    drilled = {hole: NOMINAL[hole] + WANDER[hole] for hole in DRILLED}
    drilled["odd"] += off
    report = match(drilled)
    assert (report["left_out"], report["shift_mm"] == [0, 0]) == ([], False)
    turn, shift = least_squares(list(DRILLED), drilled)
    assert report["turn_deg"] == pytest.approx(math.degrees(turn), abs=1e-7)
    assert complex(*report["shift_mm"]) == pytest.approx(shift, abs=1e-6)


@pytest.mark.parametrize(("off", "left_out"), [(0.24, []), (4, ["screw 2"])])
def test_two_holes_that_fit_prove_little(plate: Path, off: float, left_out: list[str]) -> None:
    """Both 0.045 off, and fitting each other as two holes do that are as far apart as drawn."""
    drilled = {hole: NOMINAL[hole] + 0.02 - 0.04j for hole in DRILLED[:3]}
    drilled["screw 2"] = NOMINAL["screw 2"] + off
    assert match(drilled)["left_out"] == left_out


@pytest.mark.parametrize(("is_mirrored", "said"), [(True, "as-drawn"), (False, "mirrored")])
def test_the_wrong_hand_is_told(plate: Path, is_mirrored: bool, said: str) -> None:
    drilled = {
        hole: put(NOMINAL[hole], 0.3, 0.5, mirror=is_mirrored) + WANDER[hole] for hole in DRILLED
    }
    right = "mirrored" if is_mirrored else "as-drawn"
    report = match(drilled, "--hand", said)
    (hand,) = [one for one in report["findings"] if one["kind"] == "other-hand"]
    assert hand["severity"] == "warning"
    assert f"say --hand {right}" in hand["remedy"]
    assert report["left_out"] == []
    assert "likely-slip" not in kinds(report), "what the wrong hand leaves is no slip"
    sheet = " ".join(millprep("match", "plate.toml", "m.csv", "--hand", said).out.split())
    assert "LOOKS of the other hand" in sheet
    for options in ((), ("--hand", right)):
        assert "other-hand" not in kinds(match(drilled, *options))


def test_a_hand_that_nothing_shows_is_not_doubted(plate: Path) -> None:
    row = {hole: NOMINAL[hole] + WANDER[hole] for hole in ("screw 1", "screw 2")}
    for hand in ("as-drawn", "mirrored"):
        assert "other-hand" not in kinds(match(row, "--hand", hand))


def test_files_the_other_way_round(plate: Path) -> None:
    Path("m.csv").write_text(rows(NOMINAL), encoding="utf-8")
    ran = millprep("match", "m.csv", "plate.toml")
    assert ran.status == 2
    assert "the part file comes first: millprep match plate.toml m.csv" in ran.err
    assert "TOML" not in ran.err


def test_readings_with_a_reversed_axis(plate: Path) -> None:
    Path("shop.toml").write_text('[readout]\nreversed = ["y"]\n', encoding="utf-8")
    drilled = {hole: put(NOMINAL[hole], 0.4, 0.3 - 0.2j) for hole in DRILLED}
    read = {hole: place.conjugate() for hole, place in drilled.items()}
    report = match(read, "--shop", "shop.toml")
    assert report["turn_deg"] == pytest.approx(0.4, abs=1e-6)
    assert report["shift_mm"] == pytest.approx([0.3, -0.2], abs=1e-6)
    assert coordinates(report)["screw 3"] == pytest.approx(drilled["screw 3"], abs=1e-6)
    shown = {one["hole"]: complex(one["x"], one["y"]) for one in report["coordinates"]}
    assert abs(shown["screw 3"] - read["screw 3"]) < 0.005
    text = millprep("match", "plate.toml", "m.csv", "--shop", "shop.toml").out
    assert "turned 0.400 deg clockwise about X0 Y0" in text, "as the readout counts"
    assert "set out of square by 0.40 deg, clockwise" in text, "and what it looks like counts alike"


def test_a_shift_is_told_with_the_signs_of_the_readout(plate: Path) -> None:
    Path("shop.toml").write_text('[readout]\nreversed = ["x"]\n', encoding="utf-8")
    shifted = {hole: NOMINAL[hole] + 0.5 for hole in DRILLED}
    shifted["odd"] += 1.3j
    read = {hole: -place.conjugate() for hole, place in shifted.items()}
    first, second = match(read, "--shop", "shop.toml")["looks_like"]["sentences"]
    assert first == "the whole pattern is shifted by X -0.500 mm"
    assert second == "odd alone is off by Y +1.300 mm"


def test_figures_exchanged_are_those_that_were_written(plate: Path) -> None:
    """17.70 is 0.6969 in, and 0.6699 in would be 17.02: but nobody wrote inches."""
    drilled = {hole: NOMINAL[hole] for hole in DRILLED}
    drilled["odd"] = 28 + 17.7j
    (sentence,) = match(drilled, "--units", "inch")["looks_like"]["sentences"]
    assert sentence == "odd alone is off by Y +0.0276 in"
    written = [f"{h},{p.real / 25.4:.4f},{p.imag / 25.4:.4f},inch" for h, p in drilled.items()]
    written[-1] = "odd,1.1204,0.6693,inch"  # for 1.1024, which is 28 mm
    (sentence,) = match("\n".join(["hole,x,y,unit", *written, ""]))["looks_like"]["sentences"]
    assert sentence == "odd alone is off by X +0.458 mm: X has two figures swapped"


def test_kept_edges_are_out_of_line(plate: Path) -> None:
    drilled = {hole: NOMINAL[hole] + 0.5 for hole in DRILLED}
    for options, words in (
        ((), "in line on both parts, drill by the coordinates"),
        (("--keep-edges",), "out of line"),
    ):
        found = match(drilled, *options)["findings"]
        (remedy,) = [one["remedy"] for one in found if one["kind"] == "likely-slip"]
        assert words in remedy


def test_a_wrong_reading_off_the_face_is_no_other_zero(plate: Path) -> None:
    drilled = {hole: NOMINAL[hole] for hole in DRILLED}
    drilled["odd"] = 280 + 17j
    for options in ((), ("--keep-edges",)):
        found = match(drilled, *options)["findings"]
        (stray,) = [one for one in found if one["kind"] == "off-face"]
        assert "zero" not in stray["message"]
        assert "--keep-edges" not in stray["remedy"]


def test_two_holes_in_the_other_unit_are_refused(plate: Path) -> None:
    Path("m.csv").write_text("hole,x,y\nscrew 1,3,4\nscrew 2,5.362,4\n", encoding="utf-8")
    ran = millprep("match", "plate.toml", "m.csv")
    assert ran.status == 2
    assert "the holes lie 25.4 times too near together" in ran.err


def test_what_several_holes_lack_is_said_of_the_worst(plate: Path) -> None:
    drilled = {hole: NOMINAL[hole] for hole in DRILLED}
    drilled["screw 2"] += 2
    (mate,) = [one for one in match(drilled)["findings"] if one["kind"] == "mate-does-not-fit"]
    assert " and " in mate["message"]
    assert " lack up to " in mate["message"]
    (doubt,) = [
        one
        for one in match(drilled, "--noise", "3")["findings"]
        if one["kind"] == "mate-not-decided"
    ]
    assert " lack up to " in doubt["message"]
    near = match({**drilled, "screw 2": NOMINAL["screw 2"] + 0.3}, "--noise", "1")
    (doubt,) = [one for one in near["findings"] if one["kind"] == "mate-not-decided"]
    assert " have 0." in doubt["message"]


def test_coordinates_off_the_face_are_told(plate: Path) -> None:
    report = match({hole: NOMINAL[hole] + 30 for hole in DRILLED})
    (stray,) = [one for one in report["findings"] if one["kind"] == "off-face"]
    assert stray["severity"] == "warning"
    assert stray["holes"] == ["screw 2", "screw 3"]
    kept = match({hole: NOMINAL[hole] + 30 for hole in DRILLED}, "--keep-edges")
    assert "off-face" not in kinds(kept)


def test_what_the_new_places_spoil_is_told(plate: Path) -> None:
    """A hole of 5.5 that comes to stand 3.0 from the edge leaves 0.25 to it."""
    drilled = {hole: NOMINAL[hole] for hole in DRILLED}
    drilled["screw 1"] = 10 + 3j
    report = match(drilled)
    spoiled = [one for one in report["findings"] if "by these coordinates" in one["message"]]
    assert "thin-wall" in [one["kind"] for one in spoiled]
    assert "screw 1" in spoiled[0]["holes"]


def test_the_coordinates_can_be_read_as_measured_again(plate: Path) -> None:
    drilled = {hole: put(NOMINAL[hole], 0.4, 0.3 - 0.2j) + WANDER[hole] for hole in DRILLED}
    Path("m.csv").write_text(rows(drilled), encoding="utf-8")
    ran = millprep("match", "plate.toml", "m.csv", "--format", "csv")
    table = list(csv.DictReader(io.StringIO(ran.out)))
    assert [row["hole"] for row in table] == list(NOMINAL)
    assert [row["note"] for row in table] == ["measured"] * 5 + ["by the fit"]
    assert table[0]["x"] == f"{round(drilled['screw 1'].real / 0.005) * 0.005:.3f}"
    again = match(ran.out)
    assert again["turn_deg"] == pytest.approx(0.4, abs=0.1)
    assert len(again["residuals_mm"]) == 6


def test_the_sheet_stays_on_its_page_and_says_what_is_in_the_report(plate: Path) -> None:
    drilled = {hole: put(NOMINAL[hole], 0.4, 0.3 - 0.2j) + WANDER[hole] for hole in DRILLED}
    report = match(drilled)
    for units in ("mm", "inch"):
        ran = millprep("match", "plate.toml", "m.csv", "--units", units)
        assert max(map(len, ran.out.splitlines())) <= 80
        drill = ran.out[ran.out.index("DRILL") :]
        for one in report["coordinates"]:
            line = next(line for line in drill.splitlines() if one["hole"] in line)
            x, y = (float(word) for word in line.split()[-4:-2])
            scale = 25.4 if units == "inch" else 1.0
            assert x * scale == pytest.approx(one["x_mm"], abs=0.0026)
            assert y * scale == pytest.approx(one["y_mm"], abs=0.0026)
        assert "[+] dowel" in drill
    assert f"part mark {report['part_mark']}" in ran.out


def test_long_names_keep_to_the_page(in_folder: Path) -> None:
    long = "the screw that holds the left guard, far"
    holes = (
        f'[[hole]]\nname = "{long}"\nclear = "M4"\ndepth = "through"\nat = [[10, 8], [30, 20]]\n'
    )
    (in_folder / "plate.toml").write_text(part_text(holes), encoding="utf-8")
    Path("m.csv").write_text(f'hole,x,y\n"{long} 1",10.1,8\n"{long} 2",30,20\n')
    ran = millprep("match", "plate.toml", "m.csv")
    assert ran.status == 0
    assert max(map(len, ran.out.splitlines())) <= 80


def test_holes_of_two_faces_are_matched_one_at_a_time(plate: Path) -> None:
    both = {"screw 1": 10 + 8j, "side": 20 + 6j}
    Path("m.csv").write_text(rows(both), encoding="utf-8")
    ran = millprep("match", "plate.toml", "m.csv", "--format", "json")
    assert ran.status == 2
    (finding,) = ran.json["findings"]
    assert finding["kind"] == "contradiction"
    assert "name the setup: --setup 1 or --setup 2" in finding["remedy"]
    report = match(both, "--setup", 2)
    assert report["face"] == "front"
    assert list(report["residuals_mm"]) == ["side"]
    assert "hole-left-out" in kinds(report)


@pytest.mark.parametrize(
    ("text", "options", "words"),
    [
        ("hole,x,y\nscrew 9,1,2\n", (), "m.csv:2: stop: the part has no hole"),
        ("hole,x,y\nscrew 1,,8\n", (), "m.csv:2: stop: screw 1: x is not given"),
        ("hole,x,y\nscrew 1,,\n", (), "no hole has its place"),
        ("hole,x,y\nscrew 1,10,8\n", ("--play", "-1"), '--play: "-1" is below 0'),
        ("hole,x,y\nscrew 1,10,8\n", ("--noise", "some"), '--noise: "some" is not a length'),
        ("hole,x,y\nscrew 1,10,8\n", ("--hand", "left"), '--hand: no such word "left"'),
        ("hole,x,y\nscrew 1,10,8\n", ("--setup", "7"), "there is no setup 7"),
        ("hole,x,y\nscrew 1,10,8\n", ("--format", "svg"), 'no format "svg"'),
        ("hole,x,y\nscrew 1,10,8\nscrew 2,2.756,8\n", (), "times 25.4 it is"),
    ],
)
def test_what_cannot_be_judged_ends_with_status_2(
    plate: Path, text: str, options: tuple[str, ...], words: str
) -> None:
    Path("m.csv").write_text(text, encoding="utf-8")
    ran = millprep("match", "plate.toml", "m.csv", *options)
    assert ran.status == 2
    assert words in ran.err
    assert ran.out == ""


def test_into_files(plate: Path) -> None:
    Path("m.csv").write_text(rows(NOMINAL), encoding="utf-8")
    assert millprep("match", "plate.toml", "m.csv", "-o", "fit.json").status == 0
    assert json.loads(Path("fit.json").read_text())["looks_like"]["kind"] == "within noise"
    assert millprep("match", "plate.toml", "m.csv", "-o", "fit.txt").status == 0
    Path("m.csv").write_text(rows({**NOMINAL, "odd": 28.1 + 17j}), encoding="utf-8")
    assert millprep("match", "plate.toml", "m.csv", "-o", "fit.txt").status == 0, "its own sheet"
    assert "28.100" in Path("fit.txt").read_text()
    assert millprep("match", "plate.toml", "m.csv", "-o", "m.csv").status == 2, "not the readings"


def test_a_hole_far_from_the_measured_ones_is_told(plate: Path) -> None:
    """Two readings 17.7 apart, and the screws up to 39 from their middle."""
    report = match({"odd": 28 + 17.05j, "dowel": 40.1 + 30j})
    (far,) = [one for one in report["findings"] if one["kind"] == "far-from-measured"]
    p = np.array([NOMINAL[hole] for hole in ("odd", "dowel")])
    grown = {
        hole: 0.02
        * math.sqrt(
            1 / 2 + abs(NOMINAL[hole] - p.mean()) ** 2 / float((abs(p - p.mean()) ** 2).sum())
        )
        for hole in DRILLED[:4]
    }
    assert far["holes"] == [hole for hole, known in grown.items() if known > 0.05]
    assert f"grows to {max(grown.values()):.3f} mm there" in far["message"]


def test_a_pattern_in_the_other_unit_from_another_zero_is_refused(plate: Path) -> None:
    Path("m.csv").write_text(rows({h: NOMINAL[h] / 25.4 + 7 for h in DRILLED}), encoding="utf-8")
    ran = millprep("match", "plate.toml", "m.csv")
    assert ran.status == 2
    assert "the holes lie 25.4 times too near together" in ran.err
    Path("m.csv").write_text(rows({h: NOMINAL[h] * 25.4 + 7 for h in DRILLED}), encoding="utf-8")
    assert "25.4 times too far apart" in millprep("match", "plate.toml", "m.csv").err


def test_what_is_within_the_noise_is_left_alone(plate: Path) -> None:
    text = rows({hole: NOMINAL[hole] + 0.01 for hole in DRILLED})
    assert match(text)["looks_like"]["kind"] == "within noise"
    sheet = " ".join(millprep("match", "plate.toml", "m.csv").out.split())
    assert "leave it" in sheet
    assert "[+] may as well go as drawn" in sheet
