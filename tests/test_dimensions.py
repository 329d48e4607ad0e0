"""Dimensions beside the places: whether they close, and which figure was misread."""

import random
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import checked
from numpy.testing import assert_allclose
from scipy.sparse import coo_array
from scipy.sparse.linalg import lsqr

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.checks.misread import allowance_mm, fewest_changes, slips
from millprep.checks.plan_dimensions import Link, by_others_mm, residuals_mm
from millprep.checks.registry import Job
from millprep.checks.rules import dimensions
from millprep.infiles import mirrored, read_part
from millprep.infiles.restated import Restated, restated
from millprep.model.part import Dimension, Part
from millprep.planning import make_plan

HEAD = 'part = "Port block"\nunits = "{units}"\nmaterial = "brass"\n[stock]\nsize = {size}\n'
DATUM = '[datum]\nx = "left"\ny = "front"\n'
PIVOT = '[[hole]]\nname = "pivot"\nream = 6\nat = [12.7, 20]\ndepth = "through"\n'
SCREW = (
    '[[hole]]\nname = "cover screw"\ntap = "M4"\ndepth = 8\n'
    "circle = { centre = [40, 20], diameter = 20, count = 4 }\n"
)


def dimension(first: str, second: str, length: object, along: str = "", more: str = "") -> str:
    axis = f'along = "{along}"\n' if along else ""
    return f'[[dimension]]\nbetween = ["{first}", "{second}"]\n{axis}is = {length}\n{more}\n'


def text_of(holes: str, size: str = "[60, 40, 20]", units: str = "mm") -> str:
    return HEAD.format(units=units, size=size) + DATUM + holes


@pytest.fixture
def check(tmp_path, monkeypatch, metric_shop):
    """What the check says of the dimensions of a part file of that text."""
    monkeypatch.chdir(tmp_path)

    def run(text: str) -> list[Finding]:
        Path("port-block.toml").write_text(text)
        plan = make_plan(read_part("port-block.toml")[0], metric_shop, "tool")
        return [each for each in checked(plan) if each.kind.startswith("dimension")]

    return run


@pytest.fixture(scope="module")
def metric_shop():
    from millprep.infiles import read_shop

    return read_shop("metric")


# ------------------------------------------------------------------ what is said


def test_dimensions_that_close_are_one_note(check):
    """20 sin 45 = 14.142 (tables of chords): between neighbours of a circle of 20."""
    (finding,) = check(
        text_of(
            PIVOT
            + SCREW
            + dimension("pivot", "cover screw", 27.3, "x")
            + dimension("cover screw 1", "cover screw 2", 14.142, "straight")
        )
    )
    assert str(finding) == (
        "port-block.toml:19: note: 2 dimensions agree with the positions (largest difference 0 mm)"
    )


def test_a_misread_place_is_named_as_the_page_shows(check):
    """The two sentences of docs/part-file.md, word for word."""
    found = check(
        text_of(
            PIVOT + SCREW + dimension("left", "pivot", 17.2) + dimension("pivot", "right", 42.8)
        )
    )
    page = (Path(__file__).parent.parent / "docs" / "part-file.md").read_text()
    assert f"```\n{found[0]}\n```" in page
    assert [finding.severity for finding in found] == ["stop", "stop"]
    assert found[1].remedy == "see the first of these"
    assert found[0].holes == ("pivot",)


def test_a_misread_dimension_is_named(check):
    (finding,) = check(
        text_of(
            PIVOT
            + SCREW
            + dimension("left", "pivot", 12.7)
            + dimension("pivot", "right", 43.7)
            + dimension("pivot", "cover screw", 27.3, "x")
        )
    )
    assert finding.message == (
        'dimension 2, "pivot" to RIGHT along x, is given as 43.7 mm; the positions make it '
        "47.3 mm, 3.6 mm more (the other dimensions say as the positions do)"
    )
    assert finding.remedy == (
        "one figure read otherwise makes everything close: dimension[2].is = 47.3 instead of 43.7 "
        "in line 25 (two figures swapped); look at the drawing"
    )


def test_one_against_one_names_both(check):
    (finding,) = check(text_of(PIVOT + dimension("left", "pivot", 17.2)))
    assert "dimension[1].is = 12.7 instead of 17.2" in finding.remedy
    assert '; or at[1] of "pivot" = 17.2 instead of 12.7' in finding.remedy
    assert "other dimensions" not in finding.message


def test_no_single_change(check):
    found = check(
        text_of(
            PIVOT
            + dimension("left", "pivot", 20)
            + dimension("pivot", "right", 20)
            + dimension("left", "right", 61)
        )
    )
    assert found[0].remedy == (
        "no change of one figure was found that makes everything close: read them all again"
    )


def test_two_slips(check):
    """Of two holes, each tied twice: neither alone explains what is off."""
    found = check(
        text_of(
            PIVOT
            + SCREW
            + dimension("left", "pivot", 17.2)
            + dimension("pivot", "right", 42.8)
            + dimension("front", "cover screw", 26)
            + dimension("cover screw", "back", 14)
        )
    )
    assert found[0].remedy == (
        'two figures make everything close: at[1] of "pivot" = 17.2 instead of 12.7 in line 12 '
        '(two figures swapped), and circle.centre[2] of "cover screw" = 26 instead of 20 in line '
        "18 (a 0 for a 6); look at the drawing"
    )


def test_said_twice(check):
    """Alike is a note with the other's line, and otherwise a stop."""
    twice = dimension("pivot", "left", '"12.7 mm"') + dimension("left", "pivot", 12.7)
    alike = next(each for each in check(text_of(PIVOT + twice)) if each.kind == "dimension-twice")
    assert str(alike) == (
        'port-block.toml:18: note: dimension 2, LEFT to "pivot" along x, is given already '
        "in line 14"
    )
    other = check(text_of(PIVOT + twice.replace("is = 12.7", "is = 12.9")))
    assert str(next(each for each in other if each.kind == "dimension-twice")) == (
        'port-block.toml:18: stop: dimension 2, LEFT to "pivot" along x, is given as 12.9 mm, '
        'and in line 14 as "12.7 mm" (12.7 mm)\n    keep the one that the drawing gives'
    )


def test_meant_at_the_hole(check):
    allowed = PIVOT + 'allow = ["dimension off"]\n'
    (finding,) = check(text_of(allowed + dimension("left", "pivot", 17.2)))
    assert finding.severity == "note"
    assert finding.message.endswith("(as drawn)")


@pytest.mark.parametrize(
    ("length", "more", "is_off"),
    [
        ("12.72", "", False),
        ("12.73", "", True),  # 0.02 at least
        ("12.6", "", True),
        ("12.7", "", False),
        ("13", "", True),
        ('"0.5 in"', "", False),
        ('"1/2 in"', "", False),
        ("12.6", "tolerance = 0.2", False),
        ("12.71", "tolerance = 0.005", True),
    ],
)
def test_how_near_is_near_enough(check, length, more, is_off):
    found = check(text_of(PIVOT + dimension("left", "pivot", length, "", more)))
    assert [each.kind for each in found] == ["dimension-off" if is_off else "dimensions-close"]


@pytest.mark.parametrize(
    ("text", "length_mm", "allowed_mm"),
    [
        ("28.3", 28.3, 0.05),
        ("28.28", 28.28, 0.02),
        ("28", 28.0, 0.02),
        ("0.24 in", 6.096, 0.05),
        ("0.236 in", 5.9944, 0.02),
        ("15/64 in", 5.953125, 0.02),
        ("1.1", 27.94, 0.05),
    ],
)
def test_allowance_is_half_the_last_decimal_within_bounds(text, length_mm, allowed_mm):
    given = Dimension(("a", "b"), 0, length_mm, length_mm, text)
    assert_allclose(allowance_mm(given), allowed_mm, atol=2e-6)


def test_an_inch_file_speaks_inches(check):
    holes = PIVOT.replace("[12.7, 20]", "[0.5, 0.75]").replace("6", '"1/4"')
    (finding,) = check(
        text_of(holes + dimension("left", "pivot", '"33/64"'), "[2, 1.5, 0.75]", "inch")
    )
    assert finding.message == (
        'dimension 1, LEFT to "pivot" along x, is given as "33/64" (0.5156 in); the positions '
        "make it 0.5 in, 0.0156 in less"
    )
    assert 'dimension[1].is = "1/2 in" instead of "33/64"' in finding.remedy
    assert "1/64 in beside it" in finding.remedy


def test_what_moves_with_a_figure_is_found_through_chains_and_patterns(check):
    """The radius taken for the diameter; a base hole that two others count from."""
    screw = SCREW.replace("diameter = 20", "diameter = 10")
    across = dimension("cover screw 1", "cover screw 3", 20, "straight")
    found = check(text_of(PIVOT + screw + across + dimension("cover screw 2", "front", 30)))
    assert (
        'circle.diameter of "cover screw" = 20 instead of 10 in line 18 (a radius for a diameter)'
        in (found[0].remedy)
    )
    chained = '[[hole]]\nname = "{}"\ndrill = 3\ndepth = 5\nfrom = "{}"\nat = [{}, 0]\n'
    found = check(
        text_of(
            PIVOT.replace("12.7", "7.12")
            + chained.format("a", "pivot", 10)
            + chained.format("b", "a", 10)
            + dimension("left", "a", 22.7)
            + dimension("b", "right", 27.3)
            + dimension("pivot", "b", 20, "x")
        )
    )
    assert 'at[1] of "pivot" = 12.7 instead of 7.12' in found[0].remedy


def test_a_hole_on_the_wrong_side_is_found(check):
    """Its sign: the other dimensions are read with the sense that makes them close."""
    holes = PIVOT.replace("[12.7, 20]", "[{ centre_x = 12 }, 20]")
    found = check(
        text_of(holes + dimension("left", "pivot", 18) + dimension("pivot", "centre_x", 12))
    )
    assert 'at[1].centre_x of "pivot" = -12 instead of 12 in line 12 (the sign)' in found[0].remedy


def test_dimensions_count_by_the_drawing(check):
    text = text_of(PIVOT + dimension("pivot", "right", 47.3) + dimension("left", "right", 60))
    cut = text.replace("size = [60, 40, 20]", "size = [60, 40, 20]\nmeasured = { x = 58.9 }")
    assert [each.kind for each in check(cut)] == ["dimensions-close"]


# ------------------------------------------------------------------ the opposite hand


def test_the_opposite_hand_keeps_its_dimensions(tmp_path, metric_shop):
    (tmp_path / "left.toml").write_text(
        text_of(PIVOT + dimension("left", "pivot", 17.2) + dimension("pivot", "right", 42.8))
    )
    path = tmp_path / "right.toml"
    path.write_text('opposite_hand_of = "left.toml"\n')
    part, _ = read_part(path)
    assert [each.between for each in part.dimensions] == [("right", "pivot"), ("pivot", "left")]
    assert [each.placed_mm for each in part.dimensions] == [-12.7, -47.3]
    found = list(dimensions(Job(make_plan(part, metric_shop, "tool"))))
    assert found[0].message.startswith('dimension 1, RIGHT to "pivot" along x')
    assert found[0].file == str(tmp_path / "left.toml")
    assert 'at[1] of "pivot" = 17.2 instead of 12.7' in found[0].remedy


@given(st.sampled_from("xyz"))
def test_mirrored_twice_is_the_same(axis):
    part, _ = read_part(Path(__file__).parent / "parts" / "valid" / "dimensions.toml")
    once = mirrored(part, axis)
    assert mirrored(once, axis).dimensions == part.dimensions
    assert [abs(each.placed_mm) for each in once.dimensions] == [
        abs(each.placed_mm) for each in part.dimensions
    ]


# ------------------------------------------------------------------ least squares


def test_a_levelling_net():
    """From memory of C. D. Ghilani, Adjustment Computations: seven levelled differences between
    benchmarks X = 100.00 and Y = 107.50 and stations A, B, C; A = 105.141, B = 104.483,
    C = 106.188. Both benchmarks are one end here, with their difference taken off."""
    net = [
        Link("X", "A", 5.10),
        Link("A", "X", 2.34 - 7.50),
        Link("X", "C", 7.50 - 1.25),
        Link("C", "X", -6.13),
        Link("A", "B", -0.68),
        Link("X", "B", 7.50 - 3.00),
        Link("B", "C", 1.70),
    ]
    left = residuals_mm(net)
    assert_allclose(100 + 5.10 - left[0], 105.141, atol=5e-4)
    assert_allclose(100 + 7.50 - 3.00 - left[5], 104.483, atol=5e-4)
    assert_allclose(100 + 7.50 - 1.25 - left[2], 106.188, atol=5e-4)


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=40)
def test_residuals_as_scipy_has_them(seed):
    """Against scipy.sparse.linalg.lsqr, which gets there by iteration."""
    figures = np.random.default_rng(seed)
    ends, count = int(figures.integers(2, 8)), int(figures.integers(1, 20))
    first = figures.integers(0, ends, count)
    second = (first + figures.integers(1, ends, count)) % ends
    lengths = figures.uniform(-50, 50, count)
    links = [Link(*each) for each in zip(first, second, lengths, strict=True)]
    rows = np.arange(count)
    matrix = coo_array(
        (np.r_[-np.ones(count), np.ones(count)], (np.r_[rows, rows], np.r_[first, second])),
        shape=(count, ends),
    )
    places = lsqr(matrix.tocsr(), lengths, atol=1e-13, btol=1e-13, iter_lim=10_000)[0]
    assert_allclose(residuals_mm(links), lengths - matrix @ places, atol=1e-7)


def test_by_others():
    chain = [Link("left", "a", 10.0), Link("a", "b", 20.0), Link("left", "b", 31.0)]
    assert_allclose(by_others_mm(chain)[2], 30.0)
    assert_allclose(by_others_mm([*chain, Link("b", "c", 5.0)])[2], 30.0)
    assert by_others_mm([*chain, Link("b", "c", 5.0)])[3] is None
    assert residuals_mm([]).shape == (0,)


# ------------------------------------------------------------------ slips


@pytest.mark.parametrize(
    ("text", "units", "length_mm", "meant", "why"),
    [
        ("12.7", "mm", 12.7, 17.2, "two figures swapped"),
        ("12.7", "mm", 12.7, 127.0, "the decimal point one place off"),
        ("127", "mm", 127.0, 12.7, "the decimal point one place off"),
        ("0.5", "mm", 0.5, 12.7, "the other unit"),
        ("6", "inch", 152.4, 6.0, "the other unit"),
        ("13.7", "mm", 13.7, 18.7, "a 3 for an 8"),
        ("12.75", "mm", 12.75, 12.7, "a figure too many"),
        ("12.7", "mm", 12.7, 12.75, "a figure lost"),
        ("1/2 in", "inch", 12.7, 13.096875, "1/64 in beside it"),
        ("12.7", "mm", 12.7, 11.90625, "1/32 in beside it"),
        ("12.7", "mm", 12.7, 6.35, "a diameter for a radius"),
        ("-12", "mm", -12.0, 12.0, "the sign"),
    ],
)
def test_slips(text, units, length_mm, meant, why):
    matching = [
        each for each in slips(text, units, length_mm) if abs(each.length_mm - meant) < 1e-6
    ]
    assert [each.why for each in matching] == [why]


@given(st.integers(1, 9999), st.integers(0, 3), st.sampled_from(["mm", "inch"]))
def test_slips_write_what_they_mean(number, decimals, units):
    """Read again, each slip's text is its length; none leaves the figure as it was."""
    text = f"{number / 10**decimals:.{decimals}f}"
    scale = 25.4 if units == "inch" else 1.0
    for slip in slips(text, units, float(text) * scale):
        found = re.fullmatch(r'"?([+-]?[\d.]+) ?(in|mm)?"?', slip.text)
        assert found is not None, slip
        # TOML: "Leading zeros are not allowed", and figures on both sides of a point
        assert re.fullmatch(r"[+-]?(0|[1-9]\d*)(\.\d+)?", found[1]), slip
        own = {"in": 25.4, "mm": 1.0, None: scale}[found[2]]
        # what is not written figure by figure is shown to four decimals
        assert float(found[1]) * own == pytest.approx(slip.length_mm, abs=6e-5 * scale), slip


@pytest.mark.parametrize(
    ("text", "length_mm", "meant", "written"),
    [
        ("30", 30.0, 3.0, "3"),
        ("68", 68.0, 8.0, "8"),
        ("3/8 in", 9.525, 9.128125, '"23/64 in"'),
        ("1 1/8 in", 28.575, 57.15, '"2 1/4 in"'),
        ("3/8 in", 9.525, -9.525, '"-3/8 in"'),
    ],
)
def test_a_slip_is_written_as_the_file_takes_it(text, length_mm, meant, written):
    found = slips(text, "inch" if "in" in text else "mm", length_mm)
    assert [each.text for each in found if abs(each.length_mm - meant) < 1e-6] == [written]


def test_inches_of_a_mm_file_keep_their_unit(check):
    """9.128 is 23/64 in; 11.17 is no slip of reading 3/8 in."""
    text = text_of(PIVOT.replace("12.7", '"3/8 in"') + dimension("left", "pivot", 9.128))
    assert 'at[1] of "pivot" = "23/64 in" instead of "3/8 in"' in check(text)[0].remedy
    second = PIVOT.replace('"pivot"', '"b"').replace("12.7", "50")
    text = text_of(
        PIVOT.replace("12.7", '"3/8 in"')
        + second
        + dimension("left", "pivot", 11.17)
        + dimension("pivot", "b", 38.83, "x")
    )
    assert 'at[1] of "pivot" = "0.4398 in" instead of "3/8 in"' in check(text)[0].remedy


# ------------------------------------------------------------------ random drawings


@pytest.mark.parametrize("seed", range(40))
def test_one_misread_figure_is_the_one_named(seed, tmp_path):
    """Holes that each hang on two dimensions, so that what was misread is certain."""
    draw = random.Random(seed)
    count = draw.randint(3, 5)
    size = 10.0 * (count + 2)
    decimals = draw.choice((0, 1, 2))
    places = [round(10 * (i + 1) + draw.uniform(-4, 4), decimals) for i in range(count)]
    apart = [round(after - before, 2) for before, after in pairwise(places)]
    stated = [*places, *places, *apart]
    stated += [round(size - places[-1], 2), size, size]  # the last is the blank's own
    wrong = draw.randrange(len(stated))
    least = places[-1] if wrong == len(stated) - 1 else 0.0  # else a hole would lie off the part
    most = 10 * size if wrong == len(stated) - 1 else size
    likely = [
        slip
        for slip in slips(f"{stated[wrong]:g}", "mm", stated[wrong])
        if abs(slip.length_mm - stated[wrong]) > 0.1
        and least < slip.length_mm < most
        and wrong_way_is_a_slip(slip.length_mm, stated[wrong])
    ]
    truth, stated[wrong] = stated[wrong], draw.choice(likely).length_mm
    part = read_drawing(tmp_path, count, stated)
    changes = [each for (each,) in fewest_changes(restated(part), part.dimensions)]
    keys = [f"hole[{i + 1}].at[1]" for i in range(count)]
    keys += [f"dimension[{i + 1}].is" for i in range(len(stated) - count - 1)] + ["stock.size[1]"]
    assert [change.key for change in changes] == [keys[wrong]]
    assert_allclose(changes[0].length_mm, truth, atol=0.0501)
    assert changes[0].why


def wrong_way_is_a_slip(length_mm: float, truth: float) -> bool:
    """Whether the slip is one backwards as well: 1 for 7 is, a fraction lost may not be."""
    text = f"{length_mm:.6f}".rstrip("0").rstrip(".")
    return any(abs(slip.length_mm - truth) < 1e-6 for slip in slips(text, "mm", length_mm))


def read_drawing(folder: Path, count: int, stated: list[float]) -> Part:
    figures = [f"{each:.6f}".rstrip("0").rstrip(".") for each in stated]
    holes = "".join(
        f'[[hole]]\nname = "h{i}"\ndrill = 3\ndepth = 5\nat = [{figures[i]}, 20]\n'
        for i in range(count)
    )
    ends = [("left", f"h{i}") for i in range(count)]
    ends += [(f"h{i}", f"h{i + 1}") for i in range(count - 1)]
    ends += [(f"h{count - 1}", "right"), ("left", "right")]
    given_ = "".join(
        dimension(*each, figure, "x") for each, figure in zip(ends, figures[count:-1], strict=True)
    )
    path = folder / "drawing.toml"
    path.write_text(text_of(holes + given_, f"[{figures[-1]}, 40, 20]"))
    return read_part(path)[0]


def test_a_large_pattern_is_not_tried_for_ever(tmp_path, monkeypatch):
    """10,000 holes in one grid: each reading costs, so only the first figures are tried."""
    grid = (
        '[[hole]]\nname = "sieve"\ndrill = 1\ndepth = 3\n'
        "grid = { start = [12, 12], step = [2, 2], columns = 100, rows = 100 }\n"
    )
    path = tmp_path / "sieve.toml"
    path.write_text(text_of(grid + dimension("left", "sieve 1", 21), "[220, 220, 10]"))
    part, _ = read_part(path)
    file, tried, plain = restated(part), [], Restated.distances
    monkeypatch.setattr(
        Restated, "distances", lambda *given, **more: tried.append(1) or plain(*given, **more)
    )
    ways = fewest_changes(file, part.dimensions)
    assert "dimension[1].is" in [change.key for (change,) in ways]
    assert 5 < len(tried) < 40


def test_a_file_that_is_gone_is_not_tried_again(tmp_path, metric_shop):
    path = tmp_path / "gone.toml"
    path.write_text(text_of(PIVOT + dimension("left", "pivot", 17.2)))
    part, _ = read_part(path)
    path.unlink()
    (finding,) = dimensions(Job(make_plan(part, metric_shop, "tool")))
    assert finding.remedy == "read these figures again on the drawing"
    other = replace(part, dimensions=())
    assert not list(dimensions(Job(make_plan(other, metric_shop, "tool"))))
