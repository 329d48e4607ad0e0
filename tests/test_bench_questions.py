"""Questions as they are typed at a bench: what the first reading says, and what is refused how.

The list and its figures stand in `bench_questions.toml`, each group with its source.
"""

from __future__ import annotations

import os
import random
import re
import tomllib
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jobs import millprep, named, plan_of, shop_of

from millprep.base.findings import WordError
from millprep.infiles import read_shop
from millprep.lookup import lookup
from millprep.lookup.pages import ask_words, text_of
from millprep.lookup.vocabulary import PHRASES
from millprep.sums.bench import through_three

LIST = tomllib.loads(
    (Path(__file__).parent / "bench_questions.toml").read_text(), parse_float=Decimal
)
QUESTIONS = {ask: want for group in LIST["group"] for ask, want in group["questions"]}
SCREEN = 24  # lines
MISSPELLINGS = int(os.environ.get("MILLPREP_MISSPELLINGS", "40"))  # 2000 by hand


def figure(reading: dict[str, Any], path: str) -> Any:
    for key in path.split("."):
        reading = reading[key]
    return reading


def agrees(found: Any, wanted: Any) -> bool:
    """A figure to half the last digit that was written, a list member by member."""
    if isinstance(wanted, list):
        return len(found) == len(wanted) and all(map(agrees, found, wanted))
    if isinstance(wanted, str):
        return bool(found == wanted)
    digit = Decimal(1).scaleb(int(Decimal(wanted).as_tuple().exponent))
    slack = digit * Decimal("0.501") if isinstance(wanted, Decimal) else Decimal("0.0005")
    return abs(Decimal(repr(float(found))) - wanted) <= slack


def says(reading: dict[str, Any], wanted: dict[str, Any]) -> bool:
    own = {key: value for key, value in wanted.items() if key not in ("and", "not_used")}
    return reading["kind"] == own["kind"] and all(
        agrees(figure(reading, path), value) for path, value in own.items()
    )


@pytest.mark.parametrize("ask", QUESTIONS)
def test_the_first_reading_answers(ask: str) -> None:
    wanted, readings = QUESTIONS[ask], lookup(ask)
    assert says(readings[0], wanted)
    assert readings[0]["not_used"] == wanted.get("not_used", [])
    if "and" in wanted:
        assert any(says(each, wanted["and"]) for each in readings if each["kind"] == "pair")


@pytest.mark.parametrize("ask", QUESTIONS)
def test_an_answer_is_one_screen(ask: str) -> None:
    readings = lookup(ask)
    for sketch in (False, "sum" in readings[0]):
        lines = text_of(readings, sketch=sketch).splitlines()
        assert len(lines) <= SCREEN or sketch
        assert max(map(len, lines)) <= 80
    if "sum" in readings[0]:
        assert len(lines) > len(text_of(readings).splitlines()) + 2
    assert readings[0]["source_short"] in re.sub(r"\s+", " ", text_of(readings))


def test_the_list_is_as_long_as_was_wanted() -> None:
    assert len(QUESTIONS) >= 150


BY_EAR = tomllib.loads((Path(__file__).parent / "questions_by_ear.toml").read_text())
HEARD = {ask: want for group in BY_EAR["group"] for ask, *want in group["questions"]}


@pytest.mark.parametrize("ask", HEARD)
def test_what_is_typed_in_a_hurry_is_answered_in_the_first_line(ask: str) -> None:
    first, page, not_used = [*HEARD[ask], [], []][:3]
    readings = lookup(ask)
    text = text_of(readings, width=200)
    assert readings[0]["not_used"] == not_used
    assert [each for each in first if each not in text.splitlines()[0]] == []
    assert [each for each in page if each not in " ".join(text.split())] == []
    assert "not used" in text or not not_used


def test_those_are_as_many_as_were_wanted() -> None:
    """Nine in ten of them are answered at the first reading, every word used."""
    named = [ask for ask, want in HEARD.items() if want[2:]]
    assert len(HEARD) >= 150
    assert len(named) + len(BY_EAR["refused"]) < len(HEARD) / 10


AMBIGUOUS = [
    "1/4", "1/2 in", "6", "80", "7", "clearance 1/2", "0.201", "3/8 me", "divide 7",
    "drill 1 in mild steel", "M10 fine", "centre drill 2", "1/4 nut", "1/2 70%",
]  # fmt: skip


@pytest.mark.parametrize("ask", AMBIGUOUS)
def test_the_other_readings_say_how_to_ask_for_them(ask: str) -> None:
    for reading in lookup(ask):
        again = lookup(ask_words(reading))[0]
        assert (again["kind"], ask_words(again)) == (reading["kind"], ask_words(reading))


@pytest.mark.parametrize(
    ("ask", "not_used"),
    [
        ("M6 tap drill hardened", ["hardened"]),
        ("M8 nut loose", ["loose"]),
        ("6 mm H7 brass zebra", ["H7", "zebra"]),
        ("bolt circle 6 on 50 M8", ["M8"]),
        ("M5 nut 12", ["12"]),
    ],
)
def test_what_is_not_used_is_named(ask: str, not_used: list[str]) -> None:
    assert lookup(ask)[0]["not_used"] == not_used
    assert "not used" in text_of(lookup(ask))


IN_OTHER_WORDS = {
    "M6 tap drill": ["tapping drill M6 x 1", "what size drill for an M6 tap?", "m 6 tapping size",
                     "M6 coarse tap drill", "drill to tap M6", "thread M6", "M6-6H"],
    "clearance M6": ["M6 through hole", "bolt hole M6", "M6 clear", "M6 screw hole", "M6 medium",
                     "clearance drill for M6 bolt"],
    "1/4 unc": ["unc 1/4", "1/4 coarse unc", "1/4-20 unc 2b", "1/4 in unc", "quarter inch unc"],
    "3/8 bsf": ["bsf 3/8", "3/8 in bsf tapping drill", "three eighths bsf"],
    "M6 socket head": ["M6 shcs", "cap head M6", "M6 cap screw", "head size M6 cap screw"],
    "12 H7": ["H7 12 mm", "12H7", "limits for 12 mm H7", "12 H7 bore"],
    "drill 10 brass": ["brass drill 10", "10mm brass", "drill brass 10 mm", "10 drill in brass"],
    "ream 1/4": ["1/4 reamer", '1/4" reamer', "reamer drill 1/4", "quarter inch reamer"],
    "6 holes on 50 pcd": ["bolt circle 6 on 50", "6 on 50", "50 pcd 6 off", "pcd 6 x 50",
                          "6 holes equally spaced on 50 mm", "pitch circle 50 mm 6 holes"],
    "grid 3 x 2 pitch 15": ["grid 3 columns 2 rows 15 mm", "15 mm grid 3 by 2", "grid 3x2 15 mm"],
    "divide 7 60:1": ["7 divisions 60:1", "60:1 rotary table 7 divisions", "index 7 60 to 1"],
    "sine bar 100 30 deg": ["100 mm sine bar 30 degrees", "sine 30 100mm", "sine bar 100 at 30"],
    "turns 15 mm lead 2 100 divisions": ["15 mm on 2 mm leadscrew 100 div dial turns",
                                         "dial turns 15 mm 2 mm screw 100 graduations"],
    "12.5 mm to inch": ["mm to inch 12.5", "convert 12.5 mm", "what is 12.5 mm in inches"],
    "M6 fine": ["M6 fine pitch", "fine M6 tap"],
}  # fmt: skip


@pytest.mark.parametrize("ask", IN_OTHER_WORDS)
def test_other_words_ask_the_same(ask: str) -> None:
    def said(words: str) -> Any:
        reading = lookup(words)[0]
        assert reading["not_used"] == [], words
        return reading["kind"], reading.get("designation"), reading.get("result")

    for other in IN_OTHER_WORDS[ask]:
        assert said(other) == said(ask), other


# --- refusals -------------------------------------------------------------------------------------


def suggested(error: WordError) -> list[str]:
    """Every question that a refusal tells to ask; not the words that it repeats."""
    return re.findall(r'"([^"]+)"', error.remedy)


REFUSED = [
    *LIST["refused"]["questions"], *BY_EAR["refused"],
    "", "65%", "speed 8 mm", "spotface 12", "dowel 7", "#99",
    "M6 5%", "roll pin 3.3", "washer 3BA", "taper pin 7 x 30", "taper pin no 2", "3/7 npt",
    "split pin 2", "M30 grub screw", "arc 3 holes radius 20", "grid 2.5 x 2 10", "turns for 20 mm",
    "nut 3/7", "three points 0,0 1,1", "bolt circle 50", "sine bar 100 95 deg", "centre drill 99",
    "M40 cap screw", "clearance G1/4", "divide apples 40:1", "0 mm brass 6 deep",
    "0 holes on 50 pcd", "500 rpm 0 mm", "M6x0",
]  # fmt: skip


@pytest.mark.parametrize("ask", REFUSED)
def test_what_a_refusal_tells_to_ask_is_answered(ask: str) -> None:
    with pytest.raises(WordError) as refusal:
        lookup(ask)
    assert refusal.value.remedy
    for question in suggested(refusal.value):
        assert lookup(question)


def misspelt(rng: random.Random) -> str:
    """A question of the lists with one letter dropped, doubled, changed, or two exchanged."""
    letters = list(rng.choice([ask for ask in (*QUESTIONS, *HEARD) if len(ask) > 2]))
    place = rng.randrange(len(letters) - 1)
    slip = rng.randrange(4)
    if slip == 0:
        del letters[place]
    elif slip == 1:
        letters.insert(place, letters[place])
    elif slip == 2:
        letters[place] = rng.choice("abcdefghijklmnopqrstuvwxyz0123456789")
    else:
        letters[place], letters[place + 1] = letters[place + 1], letters[place]
    return "".join(letters)


@cache
def is_answered(question: str) -> bool:
    try:
        return bool(lookup(question))
    except WordError:
        return False


def test_what_is_told_after_a_misspelling_is_answered() -> None:
    rng = random.Random(20)
    told = 0
    for _ in range(MISSPELLINGS):
        ask = misspelt(rng)
        try:
            assert text_of(lookup(ask))
        except WordError as error:
            for question in suggested(error):
                assert is_answered(question), (ask, question)
                told += 1
    assert told


_FIGURES = (
    "6;0;-1;1/4;1/0;#7;0.201;M6;M6x0;1/4-20;2BA;12.5mm;1 "
    "in;0,3;-5,2;H7;H7/g6;brass;303;65%;30 deg;40:1;25 m/min;500 rpm;1e9;0 holes;100 div;3 x "
    "4;from 0 to 90;radius 20;finder 10;5 thou;8 tpi"
)
FIGURES = _FIGURES.split(";")


@pytest.mark.parametrize("seed", range(4))
def test_any_words_of_the_bench_give_a_page_or_a_refusal(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(MISSPELLINGS):
        ask = " ".join(rng.choice(rng.choice((FIGURES, [*PHRASES]))) for _ in range(4))
        try:
            readings = lookup(ask)
        except WordError as error:
            assert error.remedy, ask
            continue
        for full in (False, True):
            lines = text_of(readings, full=full, sketch=full).splitlines()
            assert max(map(len, lines)) <= 80, ask


# --- the sums -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        ("centre from 0,0 10,0 20,0.1 outside finder 10", "nearly in line"),
        ("centre from 0,0 10,0 10,0 outside finder 10", "nearly in line"),
        ("centre from 40,10 20,30 0,10 finder 10", "inside a bore, or outside"),
        ("centre from 40,10 20,30 0,10 outside", "finder's diameter"),
        ("centre from 4,1 2,3 0,1 outside finder 10", "leaves no round"),
    ],
)
def test_three_points_that_tell_no_circle(ask: str, said: str) -> None:
    with pytest.raises(WordError, match=said):
        lookup(ask)


def test_three_points_near_together_are_said() -> None:
    """50 degrees of a circle of 100 about 0, 0: sine and cosine by a table."""
    (reading,) = lookup("three points 50,0 45.315,21.131 32.139,38.302 outside finder 10")
    assert reading["result"]["span_deg"] == pytest.approx(50, abs=0.01)
    assert reading["result"]["diameter_mm"] == pytest.approx(90, abs=0.01)
    assert "within 50 degrees" in reading["note"]
    (wide,) = lookup("centre from 40,10 20,30 0,10 outside finder 10")
    assert wide["note"] == ""
    assert through_three([(50, 0), (0, 50), (-50, 0)]).span_deg == pytest.approx(180)


DIVIDING = """
[[dividing]]
name = "table"
ratio = 90
plates = [[15, 16, 17, 18, 19, 20], [21, 23, 27, 29, 31, 33]]
kind = "rotary table"
centre_height = 75
backlash = 0.05
chuck = { diameter = 80, through = 16 }
[[dividing]]
name = "head"
ratio = 40
plates = [[15, 16, 17, 18, 19, 20], [21, 23, 27, 29, 31, 33], [37, 39, 41, 43, 47, 49]]
kind = "dividing head"
"""


def divided(ask: str) -> list[dict[str, Any]]:
    shop = shop_of(DIVIDING)
    return [each["result"] for each in lookup(ask, shop=lambda: shop)]


@pytest.mark.parametrize(
    ("divisions", "turns", "spaces", "circle"),
    [  # a published table of plain indexing for 40 to 1, first of the circles that it gives
        (3, 13, 5, 15), (6, 6, 10, 15), (7, 5, 15, 21), (9, 4, 8, 18), (11, 3, 21, 33),
        (13, 3, 3, 39), (14, 2, 18, 21), (17, 2, 6, 17), (19, 2, 2, 19), (21, 1, 19, 21),
        (23, 1, 17, 23), (24, 1, 10, 15), (33, 1, 7, 33), (41, 0, 40, 41), (49, 0, 40, 49),
    ],
)  # fmt: skip
def test_dividing_as_a_published_table_has_it(
    divisions: int, turns: int, spaces: int, circle: int
) -> None:
    (found,) = divided(f"divide {divisions} 40:1")
    every = [[found["turns"], found["spaces"], found["circle"]], *found["others"]]
    assert [turns, spaces, circle] in every
    assert found["is_exact"]


def test_dividing_says_where_no_plate_has_it() -> None:
    """127 on 40 to 1 wants a circle of 127; the nearest of those plates is said with its error."""
    (found,) = divided("divide 127 40:1")
    assert not found["is_exact"]
    shop = shop_of(DIVIDING)
    (reading,) = lookup("divide 127 40:1", shop=lambda: shop)
    assert "no plate has it: the nearest is" in reading["note"]
    assert len(divided("divide 12")) == 2  # each of the shop's heads
    with_backlash = lookup("divide 12 90:1", shop=lambda: shop)[0]
    assert "0.05 degrees of backlash" in with_backlash["note"]


def test_a_length_on_the_dials_of_the_shop() -> None:
    """37.3 mm on 2.5 mm and 100 divisions is 14 turns and 92, as `dials` counts from zero."""
    shop = read_shop("metric")
    (reading,) = lookup("turns for 37.3 mm", shop=lambda: shop)
    assert reading["result"] == {"turns": 14, "divisions": 92, "left_over_mm": 0}


# --- the figures of a plan ------------------------------------------------------------------------

BLOCK = "size = [60, 40, 20]"


@pytest.mark.parametrize("material", ["brass", "aluminium", "mild steel", "silver steel"])
@pytest.mark.parametrize("size", [3, 5, 6, 8, 10, 12])
def test_a_reamer_has_the_drill_and_speed_of_the_plan(material: str, size: int) -> None:
    hole = f'[[hole]]\nname = "a"\nream = {size}\nat = [30, 20]\ndepth = "through"\n'
    plan, shop = plan_of(hole, BLOCK, material=material), read_shop("metric")
    (reading,) = lookup(f"ream {size} mm {material}", shop=lambda: shop)
    assert reading["drill"] == named(plan, "drill").tool.words
    assert reading["in_drawer"] == named(plan, "drill").in_drawer
    assert reading["set_rpm"] == named(plan, "ream").rpm


@pytest.mark.parametrize("material", ["brass", "mild steel", "stainless 303"])
def test_a_drill_and_a_tap_run_as_the_plan_runs_them(material: str) -> None:
    hole = '[[hole]]\nname = "a"\ntap = "M6"\nat = [30, 20]\ndepth = "through"\n'
    plan, shop = plan_of(hole, BLOCK, material=material), read_shop("metric")
    drill, tap = named(plan, "drill"), named(plan, "tap")
    (tapped,) = lookup(f"tap M6 {material}", shop=lambda: shop)
    assert tapped["tap_drill"] == drill.tool.words
    assert tapped["set_rpm"] == tap.rpm
    depth_mm = -drill.z_mm
    (drilled,) = lookup(f"drill 5 mm {material} {depth_mm} deep", shop=lambda: shop)
    assert drilled["set_rpm"] == drill.rpm
    assert drilled["pecks_mm"] == pytest.approx([-each for each in drill.pecks_mm], abs=1e-3)


# --- the command ----------------------------------------------------------------------------------


def test_the_command_answers_in_full_with_a_sketch_and_on_the_shop() -> None:
    short, full = millprep("lookup", "M6"), millprep("lookup", "M6", "--full")
    assert "leaves thread" not in short.out and "leaves thread" in full.out
    assert "Table 3" not in short.out and "Table 3" in full.out
    assert "2000 rev/min on the metric mill" in millprep("lookup", "speed", "brass", "8mm").out
    plain, drawn = (millprep("lookup", "6 holes on 50 pcd", *more) for more in ([], ["--sketch"]))
    assert drawn.out.count("\n") > plain.out.count("\n") + 10
    assert "\x1b" not in short.out
