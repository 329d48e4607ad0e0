"""Asking the tables in words: readings, JSON fields, the page, and how little it loads."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from millprep.cli.lookup import csv_of, json_of, run, text_of
from millprep.errors import WordError
from millprep.lookup import lookup

QUESTIONS = [
    "M6", "m6x0.75", "1/4-20", "1/4 BSW", "2 BA", "G1/4", "1/4x40 ME", "M6 left hand", "#7",
    "letter F", "F", "6.35 H7", "6 H7/h6", "1/4 in H7", "M5 socket head", "#8-32 socket head",
    "M5 countersunk", "clearance M5", "clearance #10", "clearance 1/2", "6082", "stainless 303",
    "drill 6 mm mild steel", "drill 6 in mild steel", "ream 1/4 in brass", "tap M6 brass",
    "0.201 in", "0.201", "6", "1/4", "12.7 mm", "35 mm", "drill 6", "tap M6", "thread M8",
    "material brass",
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
        ("m6x0.75", "M6x0.75", "5.2 mm"), ("1/4-20", "1/4-20 UNC", "#7"),
        ("1/4 BSW", "1/4 BSW", "5.1 mm"), ("2 BA", "2BA", "4 mm"), ("tap M6", "M6", "5 mm"),
        ("M6 left hand", "M6 left hand", "5 mm"),
    ],
)  # fmt: skip
def test_threads(words: str, designation: str, drill: str) -> None:
    assert (only(words)["designation"], only(words)["tap_drill"]) == (designation, drill)


@pytest.mark.parametrize(
    ("words", "designation", "diameter_mm", "diameter_in"),
    [  # ASME B94.11M (from memory)
        ("#7", "#7", 5.1054, 0.201), ("letter F", "letter F", 6.5278, 0.257),
        ("0.201 in", "#7", 5.1054, 0.201), ("12.7 mm", "12.7 mm", 12.7, 0.5),
    ],
)  # fmt: skip
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
    assert [reading["of"] for reading in lookup("6 H7/h6")] == ["hole", "shaft"]


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
    assert [each["kind"] for each in lookup("6")] == ["drill"] + ["thread"] * 4
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
    assert page.count("\n  source") == len(readings)
    assert json.loads(json.dumps(readings)) == readings
    assert csv_of(readings).startswith("reading,field,value\n1,kind,")
    for reading in readings:
        assert reading["source"]


@pytest.mark.parametrize(
    ("words", "nearest"),
    [
        ("alumnium", "aluminium"), ("M66", "M6"), ("1/4-19", "1/4-20 UNC"), ("6081", "6061"),
        ("drill M99", "5 mm"), ("tap M99", "M9x1"), ("clearance M99", "M9x1"),
        ("material alumnium", "aluminium"), ("M99 socket head", "M9x1"),
    ],
)  # fmt: skip
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
    assert run(["M5", "socket", "head"], None, None, False) == 0
    assert "head diameter" in capsys.readouterr().out
    file = tmp_path / "m6.json"
    assert run(["M6"], None, file, False) == 0
    assert json.loads(file.read_text())["designation"] == "M6"


def test_a_question_loads_neither_arrays_nor_schemas() -> None:
    code = (
        "import sys; from millprep.lookup import lookup\n"
        "lookup('M6'); lookup('drill 6 mm brass'); lookup('6 H7')\n"
        "print([name for name in ('numpy', 'pydantic', 'typer') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_question_loads_only_the_tables_it_needs() -> None:
    code = (
        "from millprep.reference import tables\n"
        "loaded = []\n"
        "parse = tables.parse_table\n"
        "tables.parse_table = lambda name, text: (loaded.append(name), parse(name, text))[1]\n"
        "from millprep.sizes import read_fit, read_thread\n"
        "read_fit('H7', 6.0)\n"
        "print(sorted(loaded)); loaded.clear()\n"
        "read_thread('M6'); print(sorted(loaded))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    fits, thread = done.stdout.splitlines()
    assert fits == "['fits-deviations', 'fits-grades']"
    assert "threads-unc" not in thread and "materials" not in thread
