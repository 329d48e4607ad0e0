"""Asking the tables in words: readings, JSON fields, the page, and how little it loads."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pressfit
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jobs import millprep

from millprep.base.findings import WordError
from millprep.cli import main
from millprep.cli.asked import answered as run
from millprep.lookup import lookup, whole_tables
from millprep.lookup.forms import csv_of, json_of
from millprep.lookup.pages import table_text, text_of
from millprep.reference.tables import table_names

QUESTIONS = [
    "M6", "m6x0.75", "1/4-20", "1/4 BSW", "2 BA", "G1/4", "1/4x40 ME", "M6 left hand", "#7",
    "letter F", "F", "6.35 H7", "6 H7/h6", "1/4 in H7", "M5 socket head", "#8-32 socket head",
    "M5 countersunk", "clearance M5", "clearance #10", "clearance 1/2", "6082", "stainless 303",
    "drill 6 mm mild steel", "drill 6 in mild steel", "ream 1/4 in brass", "tap M6 brass",
    "0.201 in", "0.201", "6", "1/4", "12.7 mm", "35 mm", "drill 6", "tap M6", "thread M8",
    "material brass", "M6 65%", "M6 at 65 % by 1.2269", "tap 1/4-20 70%", "2 BA 70% full form",
    "25 H7/g6", "25 H7/p6", "press 6 mm", "pivot 1/4 in", "slide 6", "locate 6 mm", "dowel 6 mm",
    "M6 nut", "2BA spanner", "1/4 BSF nut", "M6 washer", "M4 pan head", "M4 cheese head",
    "M8 hexagon head", "M4 slotted countersunk", "centre drill 2", "centre drill A2.5",
    "counterbore M5", "countersink 10 mm 6082", "counterbore 11 mm mild steel", "reamed hole",
    "spot drill 10 mm brass", "drill 6 mm mild steel 40 deep", "carbide drill 6 mm 6082",
    "1.4305", "en aw-7075", "tapped hole", "1/4-32 UNEF", "1/4x26 BSC", "G1", "M36", "1-12",
]  # fmt: skip


def only(words: str) -> dict[str, Any]:
    (reading,) = lookup(words)
    return reading


def test_a_thread_has_the_fields_of_the_contract() -> None:
    """ISO 261, ISO 2306 and ISO 273 (from memory): M6 is drilled 5.0 and cleared 6.4, 6.6, 7."""
    reading = only("M6")
    assert reading["designation"] == "M6"
    assert reading["standard"] == "ISO 261"
    assert (reading["major_mm"], reading["pitch_mm"]) == (6.0, 1.0)
    assert (reading["tap_drill"], reading["tap_drill_mm"]) == ("5 mm", 5.0)
    assert reading["clearance_mm"] == {"close": 6.4, "normal": 6.6, "loose": 7.0}
    assert "ISO 261" in reading["source"] and "ISO 273" in reading["source"]


@pytest.mark.parametrize(
    ("words", "designation", "drill"),
    [
        ("m6x0.75", "M6x0.75", "5.2 mm"),
        ("1/4-20", "1/4-20 UNC", "#7"),
        ("1/4 BSW", "1/4 BSW", "5.1 mm"),
        ("2 BA", "2BA", "4 mm"),
        ("tap M6", "M6", "5 mm"),
        ("M6 left hand", "M6 left hand", "5 mm"),
    ],
)
def test_threads(words: str, designation: str, drill: str) -> None:
    assert (only(words)["designation"], only(words)["tap_drill"]) == (designation, drill)


@pytest.mark.parametrize(
    ("words", "designation", "diameter_mm", "diameter_in"),
    [  # ASME B94.11M (from memory)
        ("#7", "#7", 5.1054, 0.201),
        ("letter F", "letter F", 6.5278, 0.257),
        ("0.201 in", "#7", 5.1054, 0.201),
        ("12.7 mm", "12.7 mm", 12.7, 0.5),
    ],
)
def test_drills(words: str, designation: str, diameter_mm: float, diameter_in: float) -> None:
    reading = only(words)
    assert reading["designation"] == designation
    assert reading["diameter_mm"] == pytest.approx(diameter_mm)
    assert reading["diameter_in"] == pytest.approx(diameter_in)
    assert reading["source"]


def test_a_length_has_the_nearest_drills_each_way_in_every_series() -> None:
    near = only("0.201 in")["nearest"]
    assert near["metric"]["below"]["designation"] == "5.1 mm"
    assert near["metric"]["above"]["designation"] == "5.2 mm"
    assert near["fraction"]["above"]["designation"] == "13/64 in"
    assert near["letter"]["below"] is None


def test_a_fit_has_the_fields_of_the_contract() -> None:
    """ISO 286-2 (from memory): H7 over 6 to 10 mm is 0 to +15 um."""
    reading = only("6.35 H7")
    assert (reading["size_mm"], reading["class"]) == (6.35, "H7")
    assert (reading["lower_um"], reading["upper_um"]) == (0, 15)
    assert only("1/4 in H7")["size_mm"] == 6.35
    hole, shaft, _ = lookup("6 H7/h6")
    assert (hole["of"], shaft["of"]) == ("hole", "shaft")
    assert [each["kind"] for each in lookup("6 H7/G6")] == ["fit", "fit"]  # two holes are no pair


@pytest.mark.parametrize("pair", ["H7/g6", "H7/h6", "H8/f7", "H7/k6", "H7/p6", "H7/s6", "H9/d9"])
def test_a_pair_does_together_what_pressfit_says(pair: str) -> None:
    for size_mm in (3, 6, 10, 16, 25, 40):
        reading, outside = lookup(f"{size_mm} {pair}")[2], pressfit.fit(f"{size_mm} {pair}")
        assert reading["kind"] == "pair"
        least_and_most = (reading["least_clearance_um"], reading["most_clearance_um"])
        assert least_and_most == outside.clearance_um
        assert reading["character"] == outside.kind


@pytest.mark.parametrize(
    ("purpose", "pair", "character"),
    [
        ("press", "H7/p6", "interference"),
        ("press", "P7/h6", "interference"),
        ("slide", "H7/g6", "clearance"),
        ("slide", "G7/h6", "clearance"),
        ("pivot", "H8/f7", "clearance"),
        ("pivot", "F7/h6", "clearance"),
        ("locate", "H7/k6", "transition"),
    ],
)
def test_a_purpose_gives_fits_on_either_basis(purpose: str, pair: str, character: str) -> None:
    """Preferred fits (common practice), with the limits of the size asked for."""
    fits = {f"{each['hole']}/{each['shaft']}": each for each in only(f"{purpose} 6 mm")["fits"]}
    assert fits[pair]["character"] == character
    assert fits[pair]["what"]


# --- tapping drills by percentage -----------------------------------------------------------------


def test_tapping_drills_for_a_percentage_name_their_convention() -> None:
    """(D - d) / (c P): M6 at 65 % is 6 - 0.65 x 1.299 = 5.156, by 1.2269 it is 5.203 mm."""
    reading = only("M6 65% by 1.299")
    assert (reading["percent"], reading["convention"]) == (65, "1.299")
    assert reading["exact_mm"] == pytest.approx(5.15565, abs=1e-4)
    assert "American" in reading["convention_words"]
    assert only("M6 65%")["exact_mm"] == pytest.approx(5.20252, abs=1e-4)
    assert "65 % thread by 1.2269" in text_of([only("M6 65%")])
    assert only("M6 65% by 1.2269")["tap_drill"] == "5.2 mm"
    assert "65 % thread by 1.299" in text_of([reading])
    sizes_mm = [drill["diameter_mm"] for drill in reading["drills"]]
    assert sizes_mm == sorted(sizes_mm)
    assert sizes_mm[0] < reading["exact_mm"] < sizes_mm[-1]
    by_name = {drill["designation"]: drill for drill in reading["drills"]}
    assert by_name["5.1 mm"]["inside_limits"]  # ISO 965-1: 6H of M6 is 4.917 to 5.153
    assert not by_name["5.2 mm"]["inside_limits"]


def test_tapping_drills_come_from_the_cabinet_where_there_is_one() -> None:
    (reading,) = lookup("M6 70%", [("5 mm", 5.0), ("5.5 mm", 5.5), ("8 mm", 8.0)])
    assert [drill["designation"] for drill in reading["drills"]] == ["5 mm", "5.5 mm"]
    assert (reading["tap_drill"], reading["drills_of"]) == ("5 mm", "the drawer")
    thread, tapping = lookup("M6", [("5.1 mm", 5.1)])
    assert (thread["kind"], tapping["tap_drill"]) == ("thread", "5.1 mm")
    (none,) = lookup("M6 70%", [("8 mm", 8.0)])
    assert none["tap_drill"] is None and "buy 5 mm" in none["note"]
    assert "no drill for it" in text_of([none])
    (drill,) = lookup("5.2 mm", [("5 mm", 5.0), ("5.5 mm", 5.5)])
    assert drill["nearest"]["drawer"]["above"]["designation"] == "5.5 mm"


def test_the_command_reads_a_shop_for_its_cabinet(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["M6", "70%"], format="json", shop="inch") == 0
    drills = json.loads(capsys.readouterr().out)["drills"]
    assert {"#7"} <= {drill["designation"] for drill in drills}
    assert all(not drill["designation"].endswith(" mm") for drill in drills)


@pytest.mark.parametrize("words", ["M6 5%", "M6 150%", "cheese 65%", "65%"])
def test_percentages_out_of_reason_are_refused(words: str) -> None:
    with pytest.raises(WordError) as refusal:
        lookup(words)
    assert refusal.value.remedy


def test_a_thread_says_whether_its_drill_is_in_class() -> None:
    """ISO 965-1, 6H (from memory): M6 4.917 to 5.153; ASME B1.1, 2B: 9/16-18 to 0.515 in."""
    limits = only("M6")["minor_limits"]
    assert (limits["class"], limits["least_mm"], limits["greatest_mm"]) == ("6H", 4.917, 5.153)
    assert limits["tap_drill_inside"]
    outside = only("9/16-18")
    assert not outside["minor_limits"]["tap_drill_inside"]
    assert "drill OUTSIDE" in text_of([outside])
    assert only("2 BA")["minor_limits"] is None
    assert only("M6")["pitch_diameter_mm"] == 5.35  # ISO 724 (from memory)


def test_a_note_on_one_row_stands_with_that_row_only() -> None:
    assert "15/16" in only("1-12")["note"]
    assert "15/16" not in only("#6-40")["note"]


# --- bought parts, holes and cuts -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "field", "value"),
    [  # from memory of ISO 4032, ISO 7089, ISO 7045, ISO 2338 and ISO 4014
        ("M6 nut", "across_flats_mm", 10),
        ("spanner M8", "across_flats_mm", 13),
        ("M6 washers", "outside_mm", 12),
        ("M4 pan head", "head_diameter_mm", 8),
        ("M8 hex bolt", "across_flats_mm", 13),
        ("dowel pin 6", "longest_mm", 60),
        ("counterbore M5", "counterbore_diameter_mm", 10),
        ("countersink M5", "angle_deg", 90),
        ("centre drill A2.5", "body_mm", 6.3),
        ("centre drill 5/64", "pip_mm", 1.984375),
        ("BS2 centre drill", "pip_mm", 1.5875),
        ("reamed hole", "grade", "IT7 to IT8"),
    ],
)
def test_bought_parts(words: str, field: str, value: object) -> None:
    assert only(words)[field] == value


def test_a_number_of_a_centre_drill_gives_every_standard() -> None:
    names = [each["designation"] for each in lookup("centre drill 2")]
    assert names == ["centre drill A2", "centre drill No. 2", "centre drill BS2"]


def test_depth_takes_off_speed_and_gives_pecks() -> None:
    """A published guide for high speed steel drills: at 6 diameters speed x 0.65, feed x 0.8."""
    flat, deep = only("drill 6 mm mild steel"), only("drill 6 mm mild steel 40 deep")
    assert deep["rpm"] == pytest.approx(0.65 * flat["rpm"], abs=1)
    assert deep["feed_mm_per_rev"] == pytest.approx(0.8 * flat["feed_mm_per_rev"])
    assert deep["pecks_mm"][0] == flat["first_peck_mm"] == 12
    assert deep["pecks_mm"][-1] == 40
    assert only("drill 6 mm mild steel, 10 mm deep")["pecks_mm"] == []
    assert only("drill 1/4 in brass 1.5 in deep")["depth_mm"] == pytest.approx(38.1)


def test_other_cuts() -> None:
    """Common practice: countersinks at a third of the speed, spots capped, reamers by material."""
    drilled = only("drill 10 mm mild steel")
    assert only("countersink 10 mm mild steel")["rpm"] == pytest.approx(0.3 * drilled["rpm"], abs=1)
    assert only("counterbore 10 mm mild steel")["rpm"] == pytest.approx(0.3 * drilled["rpm"], abs=1)
    assert only("spot drill 2 mm brass")["rpm"] == 3000
    assert only("ream 8 mm 6082")["stock_mm"] == [0.3, 0.45]
    assert only("ream 8 mm mild steel")["stock_mm"] == [0.2, 0.3]
    carbide = only("carbide drill 10 mm mild steel")
    assert carbide["tool"] == "solid carbide"
    assert carbide["rpm"] == pytest.approx(3.5 * drilled["rpm"], abs=2)
    assert only("drill 10 mm carbide mild steel")["rpm"] == carbide["rpm"]


# --- whole tables ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", table_names())
def test_every_table_prints_whole_in_80_columns(name: str) -> None:
    for table in whole_tables(name.replace("-", " ")):
        page = table_text(table)
        assert max(len(line) for line in page.splitlines()) <= 80
        assert "\n  source" in page
        assert all(len(row) == len(table["columns"]) for row in table["rows"])
        assert json.loads(json.dumps(table)) == table


@pytest.mark.parametrize(
    ("words", "count", "first"),
    [
        ("threads", 11, "threads ba"),
        ("metric threads", 2, "threads metric coarse"),
        ("UNC", 1, "threads unc"),
        ("number drills", 1, "drills number"),
        ("centre drills", 3, "drills centre british"),
        ("materials", 1, "materials"),
        ("pan heads", 2, "heads pan inch"),
        ("washers", 2, "washers inch"),
        ("dowel pins", 2, "pins dowel"),
        ("clearance", 6, "clearance ba"),
    ],
)
def test_tables_by_name(words: str, count: int, first: str) -> None:
    tables = whole_tables(words)
    assert (len(tables), tables[0]["name"]) == (count, first)


@pytest.mark.parametrize("words", ["cabbage", "threadz", "", "%"])
def test_an_unknown_table_is_refused_with_those_there_are(words: str) -> None:
    with pytest.raises(WordError) as refusal:
        whole_tables(words)
    assert "threads" in refusal.value.remedy


def test_whole_tables_as_csv(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["threads"], format="csv", whole=True) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    by_name = {row["designation"]: row for row in rows}
    assert len(rows) == len(by_name) > 200
    assert (by_name["M6"]["tap_drill"], by_name["M6"]["major_mm"]) == ("5 mm", "6.0")
    assert by_name["1/4-20 UNC"]["table"] == "threads unc"
    assert run(["metric", "washers"], format="json", whole=True) == 0
    table = json.loads(capsys.readouterr().out)
    assert table["columns"][0] == "major_mm" and "ISO 7089" in table["source"]


def test_a_screw_head_has_the_fields_of_the_contract() -> None:
    """ISO 4762 (from memory): the plain head of M5 is 8.5 x 5 at most."""
    reading = only("M5 socket head")
    assert (reading["head_diameter_mm"], reading["head_height_mm"]) == (8.5, 5.0)
    assert "ISO 4762" in reading["source"]


def test_clearance_gives_the_three_holes() -> None:
    assert only("clearance M6")["clearance_mm"] == {"close": 6.4, "normal": 6.6, "loose": 7.0}
    assert only("clearance #10")["designation"] == "#10"
    assert only("clearance #10")["clearance_drills"]["normal"] == "#2"
    assert [each["designation"] for each in lookup("clearance 1/2")] == ["1/2-13 UNC", "1/2 BSW"]


def test_a_cut_has_speed_and_feed() -> None:
    """n = 1000 V / (pi d): 20 m/min on 6 mm is 1061 rev/min."""
    reading = only("drill 6 mm mild steel")
    assert (reading["material"], reading["rpm"]) == ("mild steel", 1061)
    assert reading["feed_mm_per_min"] == pytest.approx(1061 * 0.1, abs=0.1)
    assert only("drill 6 in mild steel")["designation"] == "6 mm"
    assert only("drill 1/4 in brass")["designation"] == "1/4 in"
    reamed = only("ream 6 mm mild steel")
    assert reamed["rpm"] == pytest.approx(1061 / 2, abs=1)  # TC 9-524: half the drilling speed
    tapped = only("tap M6 brass")
    assert tapped["feed_mm_per_min"] == tapped["rpm"] * 1.0  # pitch a turn, exactly


def test_several_readings_come_likeliest_first() -> None:
    assert [each["kind"] for each in lookup("6")] == ["drill"] * 2 + ["thread"] * 4
    assert [each["designation"] for each in lookup("6")][:2] == ["6 mm", "#6"]
    assert [each["designation"] for each in lookup("0.201")] == ["#7", "0.201 mm"]
    assert [each["designation"] for each in lookup("1/4")][:2] == ["1/4 in", "1/4-20 UNC"]
    assert [each["designation"] for each in lookup("303")] == ["stainless steel 303"]
    assert json_of(lookup("6"))["readings"] == lookup("6")
    assert json_of(lookup("M6")) == only("M6")


@pytest.mark.parametrize("words", QUESTIONS)
def test_every_page_fits_80_columns_and_names_its_source(words: str) -> None:
    readings = lookup(words)
    page = text_of(readings)
    assert max(len(line) for line in page.splitlines()) <= 80
    assert page.count("\n  source") == 1
    full = text_of(readings, full=True)
    assert max(len(line) for line in full.splitlines()) <= 80
    assert full.count("\n  source") == len(readings)
    assert "None" not in page and "-0 " not in page
    assert json.loads(json.dumps(readings)) == readings
    assert csv_of(readings).startswith("reading,field,value\n1,kind,")
    for reading in readings:
        assert reading["source"]


@pytest.mark.parametrize(
    ("words", "nearest"),
    [
        ("alumnium", "aluminium"),
        ("M66", "M6"),
        ("1/4-19", "1/4-20 UNC"),
        ("6081", "6061"),
        ("drill M99", '"drill M9"'),
        ("tap M99", '"tap M9"'),
        ("clearance M99", '"clearance M9"'),
        ("material alumnium", "aluminium"),
        ("M99 socket head", "M9"),
        ("clearence M5", '"clearance M5"'),
        ("M5 washr", '"M5 washer"'),
        ("pres 6 mm", '"press 6 mm"'),
        ("M5 soket head", '"M5 socket head"'),
        ("dowel 7", "dowel 6 mm"),
        ("centre drill 99", "centre drill"),
        ("1/4 UNK", "1/4 unc"),
        ("EN1B", "en1a"),
    ],
)
def test_unknown_words_are_refused_with_the_nearest(words: str, nearest: str) -> None:
    with pytest.raises(WordError) as refusal:
        lookup(words)
    assert nearest in refusal.value.remedy


@pytest.mark.parametrize("words", ["", " ", "cheese", "drill", "clearance", "tap", "\x00", "H7"])
def test_words_in_no_table_are_refused(words: str) -> None:
    with pytest.raises(WordError) as refusal:
        lookup(words)
    assert refusal.value.remedy


@given(st.one_of(st.text(max_size=70), st.lists(st.sampled_from(QUESTIONS)).map(" ".join)))
def test_any_words_give_readings_or_a_refusal(words: str) -> None:
    try:
        assert text_of(lookup(words))
    except WordError as error:
        assert error.message


def test_the_command_prints_or_writes_the_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["M5", "socket", "head"]) == 0
    assert "head diameter" in capsys.readouterr().out
    file = tmp_path / "m6.json"
    assert run(["M6"], output=file) == 0
    assert json.loads(file.read_text())["designation"] == "M6"


@pytest.mark.parametrize(
    "arguments",
    [
        ["cheese"],
        ["M6", "5%"],
        ["--all", "cabbage"],
        ["6", "--units", "yard"],
        ["6", "--shop", "x"],
    ],
)
def test_the_command_ends_with_status_2_where_nothing_is_found(
    arguments: list[str], capsys: pytest.CaptureFixture[str], in_folder: Path
) -> None:
    with pytest.raises(SystemExit) as end:
        main(["lookup", *arguments])
    printed = capsys.readouterr()
    assert (end.value.code, printed.out) == (2, "")
    assert printed.err.startswith(("stop: ", "x: stop: ")) and "\n    " in printed.err


def loaded_by(code: str, names: str) -> list[str]:
    """What stands in a fresh interpreter after the code: an expression that is printed."""
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\nprint(*{names})"],
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.split("\n")[-2].split()


def test_a_question_loads_neither_arrays_nor_schemas() -> None:
    code = (
        "import sys; from millprep.lookup import lookup, whole_tables\n"
        "lookup('M6'); lookup('drill 6 mm brass'); lookup('6 H7/g6'); lookup('M6 65%')\n"
        "whole_tables('threads')"
    )
    heavy = "[name for name in ('numpy', 'pydantic', 'typer') if name in sys.modules]"
    assert loaded_by(code, heavy) == []


PLAINLY = [
    ["M6"],
    ["25", "H7/g6", "--full"],
    ["6 holes on 50 pcd", "--sketch"],
    ["threads", "--all"],
    ["x", "y"],
    ["M6 5%"],
]


def test_a_question_without_options_is_answered_before_what_reads_options_is_loaded() -> None:
    """Nor any room above this one's: a shop is read where a question needs its speeds."""
    code = (
        "import sys, io; from contextlib import suppress; from millprep.cli import main\n"
        "out, sys.stdout, sys.stderr = sys.stdout, io.StringIO(), io.StringIO()\n"
        f"for asked in {PLAINLY}:\n"
        "    with suppress(SystemExit): main(['lookup', *asked])\n"
        "sys.stdout = out"
    )
    heavy = ("numpy", "pydantic", "typer", "rich", "millprep.infiles", "millprep.proven")
    assert loaded_by(code, f"[name for name in {heavy} if name in sys.modules]") == []


@pytest.mark.parametrize("asked", PLAINLY)
def test_a_question_with_options_has_the_same_answer(asked: list[str]) -> None:
    plainly, by_options = millprep("lookup", *asked), millprep("lookup", *asked, "--units", "mm")
    assert plainly.out or plainly.err
    assert (plainly.status, plainly.out, plainly.err) == (
        by_options.status,
        by_options.out,
        by_options.err,
    )


DRILL_TABLES = {
    "drills-metric",
    "drills-metric-0.05",
    "drills-fraction",
    "drills-number",
    "drills-letter",
}


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        ("M6", {"threads-metric-coarse", "limits-minor-metric", "clearance-metric"}),
        ("M6 65%", {"threads-metric-coarse", "limits-minor-metric"}),
        ("2 BA", {"threads-ba", "clearance-ba"}),
        (
            "letter F",
            {"drills-oversize", "drills-tolerance", "drills-jobber-lengths", "drills-stub-lengths"},
        ),
        ("6 H7", {"fits-grades"}),
        ("6 g6", {"fits-grades", "fits-deviations"}),
        ("6082", {"materials"}),
        ("en1a", {"materials"}),
        ("clearance M5", {"threads-metric-coarse", "clearance-metric"}),
        ("M5 nut", {"threads-metric-coarse", "nuts-metric"}),
    ],
)
def test_a_question_opens_only_the_tables_of_its_kind(words: str, kinds: set[str]) -> None:
    code = (
        "from millprep.reference import tables\n"
        "loaded, parse = [], tables.parse_table\n"
        "tables.parse_table = lambda name, text: (loaded.append(name), parse(name, text))[1]\n"
        f"from millprep.lookup import lookup; lookup({words!r})"
    )
    assert set(loaded_by(code, "loaded")) - DRILL_TABLES == kinds


def test_a_tap_is_told_to_run_as_the_plan_runs_it() -> None:
    """18 m/min gives M3 1910 rev/min; a light spindle taps at 400 at most (common practice)."""
    reading = only("tap M3 brass")
    assert (reading["rpm"], reading["feed_mm_per_min"]) == (400, 200.0)
    assert "capped 400 rev/min at most: a light spindle" in " ".join(text_of([reading]).split())
    assert only("tap M12 stainless")["capped"] is None


@pytest.mark.parametrize("material", ["mild steel", "brass"])
def test_the_first_peck_is_that_of_the_schedule(material: str) -> None:
    """A drill under 1 mm takes half its diameter throughout (common practice)."""
    assert only(f"drill 0.8 mm {material}")["first_peck_mm"] == 0.4
    reading = only(f"drill 0.8 mm {material} 3 deep")
    assert reading["pecks_mm"][0] == reading["first_peck_mm"] == 0.4
    deep = only(f"drill 5 mm {material} 40 deep")
    assert deep["pecks_mm"][0] == deep["first_peck_mm"]


def test_figures_below_one() -> None:
    """Worked by hand: 500 / (12 pi) rev/min; 100 sin 0.5 deg. A bare number above 1 is no inch."""
    assert only("0.5 m/min 12 mm")["result"] == {"rpm": 13}
    assert only("sine bar 100 0.5 deg")["result"]["stack_mm"] == pytest.approx(0.8727, abs=5e-5)
    assert only("sine bar 0.8 mm 30 deg")["result"]["stack_mm"] == pytest.approx(0.4)
    assert only("30 m/min 0.8 mm")["result"] == {"rpm": 11937}
    assert [each["designation"] for each in lookup("1.2 drill")] == ["1.2 mm"]


def test_tapers_of_pins() -> None:
    """ISO 2339: 1 in 50; ASME B18.8.2: a quarter of an inch in a foot."""
    assert only("taper pin 4 x 30")["taper"] == "1:50"
    inch = only("taper pin no. 2 x 1 1/4 in")
    assert (inch["taper"], inch["designation"]) == ("1:48", "taper pin no. 2 x 1.25 in")


def test_places_at_nought_have_no_sign() -> None:
    """Four holes on a circle lie on the axes; two on an arc are its ends."""
    assert "-0.000" not in text_of(lookup("4 holes on 50 pcd"))
    arc = only("arc 2 holes radius 30 from 0 to 90")["result"]
    assert arc == {"points_mm": [[30, 0], [0, 30]], "step_deg": 90}
