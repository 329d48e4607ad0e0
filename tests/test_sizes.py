"""Words to sizes: every form, both readings where there are two, and never another exception."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from millprep.base.findings import WordError
from millprep.base.units import Units
from millprep.reference.drills import DRILL_SERIES, drills
from millprep.reference.materials import materials
from millprep.reference.threads import threads
from millprep.sizes import read_clear, read_drill, read_fit, read_material, read_screw, read_thread


def refusal(read: Callable[..., Any], *given_words: object) -> WordError:
    with pytest.raises(WordError) as caught:
        read(*given_words)
    assert caught.value.remedy
    return caught.value


# --- drills ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "units", "designation"),
    [
        (5, "mm", "5 mm"),
        (5.1, "mm", "5.1 mm"),
        ("5 mm", "mm", "5 mm"),
        ("5.0mm", "mm", "5 mm"),
        ("5", "mm", "5 mm"),
        ("5 mm", "inch", "5 mm"),
        ("1/4 in", "mm", "1/4 in"),
        ("0.25 in", "mm", "1/4 in"),
        ('1/4"', "mm", "1/4 in"),
        ("½ in", "mm", "1/2 in"),
        ("1/4", "inch", "1/4 in"),
        (0.25, "inch", "1/4 in"),
        (0.201, "inch", "#7"),
        (".257", "inch", "letter F"),
        ("0.2 in", "mm", "0.2 in"),
        ("5.15 mm", "mm", "5.15 mm"),
        ("1 1/8 in", "mm", "1 1/8 in"),
        ("1-1/8 in", "mm", "1 1/8 in"),
        ("27/128 in", "mm", "27/128 in"),
        ("#7", "mm", "#7"),
        ("# 7", "mm", "#7"),
        ("No. 7", "mm", "#7"),
        ("no 7", "mm", "#7"),
        ("NO.7", "mm", "#7"),
        ("number 7", "inch", "#7"),
        ("letter F", "mm", "letter F"),
        ("Letter f", "mm", "letter F"),
        ("Ø6", "mm", "6 mm"),
        ("ø 6 mm", "mm", "6 mm"),
        ("⌀6", "mm", "6 mm"),
        ("dia 6", "mm", "6 mm"),
        ("dia. 6", "mm", "6 mm"),
        ("diameter 6", "mm", "6 mm"),
        ("6 dia", "mm", "6 mm"),
        ("Ø1/4 in", "mm", "1/4 in"),
        ("dia 1/4", "inch", "1/4 in"),
        ("6.35 mm", "mm", "6.35 mm"),
        (6.35, "mm", "6.35 mm"),
        ("6.123 mm", "mm", "6.123 mm"),
        ("40", "mm", "40 mm"),
    ],
)
def test_drills(value: object, units: Units, designation: str) -> None:
    drill = read_drill(value, units)
    assert drill.designation == designation
    assert drill.diameter_in == pytest.approx(drill.diameter_mm / 25.4)


def test_every_listed_drill_reads_back_as_itself() -> None:
    for series in DRILL_SERIES:
        for drill in drills(series):
            assert read_drill(drill.designation, "mm") == drill
            assert read_drill(drill.designation, "inch") == drill


@given(st.floats(0.1, 500), st.sampled_from(["mm", "inch"]))
def test_an_unlisted_size_reads_back_as_itself(number: float, units: Units) -> None:
    if units == "inch" and not 0.1 <= number * 25.4 <= 500:
        return
    drill = read_drill(round(number, 4), units)
    again = read_drill(drill.designation, "mm")
    assert again.diameter_mm == pytest.approx(drill.diameter_mm, abs=1e-9)
    assert again.designation == drill.designation


@pytest.mark.parametrize(
    ("value", "message", "remedy"),
    [
        ("#99", '"#99" is not a drill size', 'number drills run from "#1" to "#80"'),
        ("#0", '"#0" is not a drill size', 'number drills run from "#1" to "#80"'),
        ("F", '"F" is not a drill size', 'for the letter drill write "letter F"'),
        ("1/4", '"1/4" is a bare fraction in a mm file', 'write "1/4 in"'),
        ("1,5", '"1,5" is not a drill size', 'write the decimal with a point: "1.5"'),
        (
            "M6",
            '"M6" is a thread, not a drill size',
            'its tapping drill is "5 mm"; or write tap = or clear = "M6"',
        ),
        (0, "0 is not a drill size", "sizes run from 0.1 to 500 mm"),
        (-3, "-3 is not a drill size", "sizes run from 0.1 to 500 mm"),
        ("600 mm", '"600 mm" is not a drill size', "sizes run from 0.1 to 500 mm"),
    ],
)
def test_refused_drills(value: object, message: str, remedy: str) -> None:
    error = refusal(read_drill, value, "mm")
    assert (error.message, error.remedy) == (message, remedy)


# --- threads --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "designation"),
    [
        ("M6", "M6"),
        ("m6", "M6"),
        ("M 6", "M6"),
        ("M6x1", "M6"),
        ("M6 x 1.0", "M6"),
        ("M6×1", "M6"),
        ("M6-1", "M6"),
        ("M6x1-6H", "M6"),
        ("m6x0.75", "M6x0.75"),
        ("M6x.75", "M6x0.75"),
        ("M2.5", "M2.5"),
        ("1/4-20", "1/4-20 UNC"),
        ("1/4-20 UNC", "1/4-20 UNC"),
        ("1/4-20UNC", "1/4-20 UNC"),
        ("1/4-20 UN", "1/4-20 UNC"),
        ("1/4-20 UNC-2B", "1/4-20 UNC"),
        ("1/4 UNC", "1/4-20 UNC"),
        ("1/4-28", "1/4-28 UNF"),
        (".250-20", "1/4-20 UNC"),
        ("#10-32", "#10-32 UNF"),
        ("10-32", "#10-32 UNF"),
        ("No. 10-32 UNF", "#10-32 UNF"),
        (".190-32", "#10-32 UNF"),
        ("1-8", "1-8 UNC"),
        ("1/4 BSW", "1/4 BSW"),
        ("1/4 in BSW", "1/4 BSW"),
        ("½ BSW", "1/2 BSW"),
        ("1/4-20 BSW", "1/4 BSW"),
        ("1/4x20 BSW", "1/4 BSW"),
        ("1/4 Whitworth", "1/4 BSW"),
        ('1/4" BSF', "1/4 BSF"),
        ("2BA", "2BA"),
        ("2 BA", "2BA"),
        ("4 ba", "4BA"),
        ("BA 2", "2BA"),
        ("No. 2 BA", "2BA"),
        ("1/4x40 ME", "1/4x40 ME"),
        ("1/4 x 40 ME", "1/4x40 ME"),
        ("1/4 ME 40", "1/4x40 ME"),
        ("1/4x40", "1/4x40 ME"),
        ("G1/4", "G1/4"),
        ("G 1/4", "G1/4"),
        ("1/4 BSP", "G1/4"),
        ("G1 1/4", "G1 1/4"),
        ("1-1/4 BSP", "G1 1/4"),
        ("G 1 1/8", "G1 1/8"),
        ("1/4-32", "1/4-32 UNEF"),
        ("1/2 UNEF", "1/2-28 UNEF"),
        ("1/2-28 NEF", "1/2-28 UNEF"),
        ("3/8x26 ME", "3/8x26 ME"),
        ("1/4x26 BSC", "1/4x26 BSC"),
        ("1/4 cycle", "1/4x26 BSC"),
        ("5/16 CEI", "5/16x26 BSC"),
        ("M36x3", "M36x3"),
        ("M6 left hand", "M6 left hand"),
        ("M6 LH", "M6 left hand"),
        ("M6-LH", "M6 left hand"),
        ("M6 (left hand)", "M6 left hand"),
        ("M6 right hand", "M6"),
        ("1/4-20 UNC left-hand", "1/4-20 UNC left hand"),
        ("2 BA left hand", "2BA left hand"),
    ],
)
def test_threads(words: str, designation: str) -> None:
    thread = read_thread(words)
    assert thread.designation == designation
    assert thread.is_left_hand == designation.endswith("left hand")


def test_every_listed_thread_reads_back_as_itself() -> None:
    for thread in threads():
        assert read_thread(thread.designation) == thread
        assert read_thread(thread.left_handed().designation) == thread.left_handed()


@pytest.mark.parametrize(
    ("words", "readings"),
    [
        (
            "1/4",
            [
                "1/4-20 UNC",
                "1/4-28 UNF",
                "1/4-32 UNEF",
                "1/4 BSW",
                "1/4 BSF",
                "1/4x32 ME",
                "1/4x40 ME",
                "1/4x26 BSC",
                "G1/4",
            ],
        ),
        ("6", ["M6", "#6-32 UNC", "#6-40 UNF", "6BA"]),
        ("#10", ["#10-24 UNC", "#10-32 UNF"]),
        ("1/4 ME", ["1/4x32 ME", "1/4x40 ME"]),
        ("1/4x20", ["1/4-20 UNC", "1/4 BSW"]),
        ("3/16x32", ["3/16 BSF", "3/16x32 ME", "3/16x32 BSC"]),
        ("1 UNC", ["#1-64 UNC", "1-8 UNC"]),
    ],
)
def test_what_can_be_read_two_ways_is_refused_with_the_readings(
    words: str, readings: list[str]
) -> None:
    error = refusal(read_thread, words)
    assert error.message == f'"{words}" can be read in more than one way'
    quoted = [f'"{reading}"' for reading in readings]
    assert error.remedy == f"write {', '.join(quoted[:-1])} or {quoted[-1]}"


@pytest.mark.parametrize(
    ("words", "remedy"),
    [
        ("M6x0.8", "the tables have M6, M6x0.75"),
        ("M99", "the tables have M9, M9x1"),
        (
            "1/4-19",
            "the tables have 1/4-20 UNC, 1/4-28 UNF, 1/4-32 UNEF, 1/4 BSW, 1/4 BSF, "
            "1/4x32 ME, 1/4x40 ME, 1/4x26 BSC, G1/4",
        ),
        ("1/4-20 UNF", "the tables have 1/4-28 UNF"),
        (
            "20 BA",
            "the tables have 0BA, 1BA, 2BA, 3BA, 4BA, 5BA, 6BA, 7BA, 8BA, 9BA, 10BA, 11BA, 12BA",
        ),
    ],
)
def test_an_unknown_thread_is_refused_with_the_nearest(words: str, remedy: str) -> None:
    error = refusal(read_thread, words)
    assert error.message == f'"{words}" is not a thread in the tables'
    assert error.remedy == remedy


# --- screws, clearance, fits, materials -----------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "screw", "head_mm"),
    [  # from memory of ISO 4762, ISO 10642 and ASME B18.3
        ("M4 socket head", "M4 socket head", 7),
        ("m4 Socket Head", "M4 socket head", 7),
        ("M4 socket head cap screw", "M4 socket head", 7),
        ("M4 countersunk", "M4 countersunk", 8.96),
        ("M4 csk", "M4 countersunk", 8.96),
        ("M6x0.75 socket head", "M6x0.75 socket head", 10),
        ("#8-32 socket head", "#8-32 UNC socket head", 0.270 * 25.4),
        ("#8 socket head", "#8 socket head", 0.270 * 25.4),
        ("1/4 in socket head", "1/4 socket head", 0.375 * 25.4),
        ("M2.5 countersunk", "M2.5 countersunk", 5.5),
        # from memory of ISO 2009, ISO 7045, ISO 1207 and ISO 4014 (across sharp corners)
        ("M4 slotted countersunk", "M4 slotted countersunk", 9.4),
        ("M4 pan head", "M4 pan head", 8),
        ("M4 cheese head screw", "M4 cheese head", 7),
        ("M6 hex", "M6 hexagon head", 11.547),
        ("M6 hexagon bolt", "M6 hexagon head", 11.547),
    ],
)
def test_screws(words: str, screw: str, head_mm: float) -> None:
    head = read_screw(words)
    assert head.screw == screw
    assert head.head_diameter_mm == pytest.approx(head_mm, abs=0.0001)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("M4", '"M4" does not name a head in the tables'),
        ("M4 mushroom head", '"M4 mushroom head" does not name a head in the tables'),
        ("M18 socket head", 'no table has a socket head on "m18"'),
        ("M77 socket head", '"M77 socket head" is not a thread in the tables'),
        ("1/4 countersunk", '"1/4 countersunk" can be read in more than one way'),
    ],
)
def test_refused_screws(words: str, message: str) -> None:
    assert refusal(read_screw, words).message == message


def test_a_screw_without_its_head_is_offered_those_that_the_tables_have() -> None:
    assert refusal(read_screw, "M24").remedy == 'write "M24 socket head" or "M24 hexagon head"'
    assert (
        '"M4 pan head", "M4 cheese head" or "M4 hexagon head"' in refusal(read_screw, "M4").remedy
    )


@pytest.mark.parametrize(
    ("words", "grade", "hole"),
    [  # from memory of ISO 273 and ASME B18.2.8
        ("M5", "normal", ("5.5 mm", 5.5)),
        ("M5", "close", ("5.3 mm", 5.3)),
        ("M5", "loose", ("5.8 mm", 5.8)),
        ("M5 left hand", "normal", ("5.5 mm", 5.5)),
        ("#10", "normal", ("#2", 0.221 * 25.4)),
        ("#10-32", "normal", ("#2", 0.221 * 25.4)),
        ("1/4 in", "normal", ("9/32 in", 7.14375)),
        ("1/4", "normal", ("9/32 in", 7.14375)),
        ("2 BA", "normal", ("5 mm", 5.0)),
    ],
)
def test_clearance_holes(words: str, grade: str, hole: tuple[str, float]) -> None:
    designation, diameter_mm = read_clear(words, "mm", grade)
    assert designation == hole[0]
    assert diameter_mm == pytest.approx(hole[1])


@pytest.mark.parametrize(
    ("value", "grade", "message"),
    [
        (6, "normal", "6 can be a screw's size or a hole's"),
        ("6 mm", "normal", "\"6 mm\" can be a screw's size or a hole's"),
        ("1/2", "normal", '"1/2" can be read in more than one way'),
        ("G1/4", "normal", 'no table has a clearance hole for "G1/4"'),
        ("M6", "wide", '"wide" is not a grade of clearance'),
        ("M6.3", "normal", '"M6.3" is not a thread in the tables'),
    ],
)
def test_refused_clearance_holes(value: object, grade: str, message: str) -> None:
    assert refusal(read_clear, value, "mm", grade).message == message


def test_fits() -> None:
    """ISO 286-2 (from memory): H7 over 6 to 10 mm is 0 to +15 um."""
    assert read_fit("H7", 6.35) == (0.0, 15.0)
    assert read_fit(" H7 ", 6) == (0.0, 12.0)
    error = refusal(read_fit, "h7", 6.35)
    assert error.message == '"h7" is the fit of a shaft; a hole\'s has a capital: "H7"'
    assert refusal(read_fit, "H77", 6).message == '"H77" is not a hole class in the table'


def test_materials() -> None:
    assert read_material("Aluminium 6082").name == "aluminium"
    error = refusal(read_material, "alumnium")
    assert error.message == '"alumnium" is not a material in the table'
    assert error.remedy.startswith("nearest: aluminium")
    for material in materials():
        assert read_material(material.name) is material


# --- anything at all ------------------------------------------------------------------------------

READERS: list[Callable[[Any], object]] = [
    lambda value: read_drill(value, "mm"),
    lambda value: read_drill(value, "inch"),
    read_thread,
    read_screw,
    lambda value: read_clear(value, "mm", "normal"),
    lambda value: read_fit(value, 6.0),
    read_material,
]
PIECES = st.sampled_from(
    ["M", "6", "1/4", "-", "20", "x", "0", "/", "#", "No.", "BA", "UNC", "ME", "G", " ", "in", "mm",
     '"', "letter", "F", "Ø", "½", "H7", "left hand", "socket head", "countersunk", ".", "9" * 30]
)  # fmt: skip
ANYTHING = st.one_of(
    st.text(max_size=70),
    st.lists(PIECES, max_size=8).map("".join),
    st.integers(),
    st.floats(),
    st.booleans(),
    st.none(),
    st.lists(st.integers(), max_size=2),
)


@pytest.mark.parametrize("read", READERS)
@given(value=ANYTHING)
@example(value="1/0")
@example(value="#" + "9" * 40)
@example(value="M" + "9" * 50)
@example(value="x" * 5_000_000)
@example(value=10**5000)
@example(value="5\x00")
def test_anything_gives_a_size_or_a_refusal(read: Callable[[Any], object], value: object) -> None:
    try:
        assert read(value) is not None
    except WordError as error:
        assert error.message and error.remedy
        assert "\n" not in error.message + error.remedy
        assert len(error.message) < 200
