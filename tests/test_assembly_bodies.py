"""Bodies that meet: screws, heads, nuts, pins and blanks in one place. Figures are worked by hand
beside each case; heads and nuts are those of ISO 4762, ISO 4014 and ISO 4032."""

import math
from pathlib import Path

import numpy as np
import pytest
from test_assembly import CASES, HEAD, SCREWS, SHAFT, WINCH, box, judged, kinds

from millprep.assembly import Judged
from millprep.base.findings import has_stop
from millprep.cli import main
from millprep.proven.assembly import drawn, report, tried
from millprep.sheets.assembled import make_assembled
from millprep.sheets.painting import from_the_back
from millprep.sums.convex import Shape, apart_mm, cylinder, outside
from millprep.witness import assembly_bodies
from millprep.witness.assembly_bodies import Lump
from millprep.writers.pictures.isometric import Sight, is_within

UP, ALONG = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
ZERO = np.zeros(3)


def block(low: tuple[float, ...], high: tuple[float, ...]) -> Shape:
    a, b = np.array(low, float), np.array(high, float)
    return Shape((a + b) / 2, np.eye(3), (b - a) / 2, is_round=False)


CUBE = block((0, 0, 0), (10, 10, 10))


@pytest.mark.parametrize(
    ("other", "apart"),
    [
        (block((12, 0, 0), (20, 10, 10)), 2),
        (block((13, 14, 0), (20, 20, 10)), 5),  # 3, 4, 5
        (block((12, 13, 16), (20, 20, 20)), 7),  # 2, 3, 6, 7
        (block((9, 0, 0), (20, 10, 10)), -1),
        (block((10, 0, 0), (20, 10, 10)), 0),
        (cylinder(np.array([15.0, 5, 0]), UP, 0, 10, 3), 2),
        (cylinder(np.array([13.0, 14, 0]), UP, 0, 10, 3), 2),  # 5 from the edge, less its radius
        (cylinder(np.array([12.0, 5, 0]), UP, 0, 10, 3), -1),
        (cylinder(np.array([15.0, 5, 0]), ALONG, 0, 10, 3), 5),
    ],
)
def test_shapes_are_so_far_apart(other: Shape, apart: float) -> None:
    assert apart_mm([CUBE, other], [other, CUBE]) == pytest.approx([apart, apart], abs=1e-5)


def test_cylinders_are_so_far_apart() -> None:
    rod = cylinder(ZERO, UP, 0, 10, 3)
    across = cylinder(np.array([0.0, 0, 12]), ALONG, -5, 5, 1)
    others = [cylinder(np.array([10.0, 0, 0]), UP, 0, 10, 3), across]
    assert apart_mm([rod, rod], others) == pytest.approx([4, 1], abs=1e-5)


def test_both_ways_of_measuring_agree() -> None:
    """By nearest points, and, as the witness does it, by shadows: solids thrown about by chance."""
    rng = np.random.default_rng(4)

    def thrown() -> Shape:
        axes, _ = np.linalg.qr(rng.normal(size=(3, 3)))
        half = rng.uniform(1, 10, 3)
        is_round = bool(rng.integers(2))
        half[1] = half[0] if is_round else half[1]
        return Shape(rng.uniform(-15, 15, 3), axes, half, is_round)

    ones, others = [thrown() for _ in range(60)], [thrown() for _ in range(60)]

    def lump(one: Shape) -> Lump:
        return Lump("", frozenset(), one.centre_mm, one.axes.T, one.half_mm, one.is_round)

    found = apart_mm(ones, others)
    shadows = [
        assembly_bodies.apart_mm(lump(a), lump(b)) for a, b in zip(ones, others, strict=True)
    ]
    apart = found > 0
    assert 20 < apart.sum() < 55
    assert np.array(shadows)[apart] == pytest.approx(found[apart], abs=0.02)
    assert (np.array(shadows)[~apart] <= 0.02).all()


def test_what_goes_into_a_hole_is_out_of_the_way() -> None:
    hole = cylinder(ZERO, UP, -1, 6, 3)
    rod = cylinder(np.array([0.5, 0, 0]), UP, -5, 20, 2.5)
    assert [part.span_mm(2) for part in outside(rod, hole, 0.01)] == [(-5, -1), (6, 20)]
    assert (
        outside(cylinder(np.array([0.6, 0, 0]), UP, -5, 20, 2.5), hole, 0.01)[0].half_mm[2] == 12.5
    )
    bar = block((-2, -2, -5), (2, 2, 3))  # its corners are 2.83 from the line
    assert [part.span_mm(2) for part in outside(bar, hole, 0.01)] == [(-5, -1)]


# ---------------------------------------------------------------- the winch


def with_change(*changes: str) -> Judged:
    return tried(WINCH, changes).after


def said(found: Judged) -> list[str]:
    told = (
        one for one in found.findings if one.kind in ("bodies-meet", "bodies-near", "end-float")
    )
    return [f"{one.severity}: {one.message}" for one in told]


LONG = 'assembly: bench bolts: screw = "M6 x 60 hexagon head"'


def test_a_bolt_that_runs_into_the_drum_is_told_and_cured() -> None:
    """60 - 18 - 8 = 34 above the foot; the drum, 44.45 high and 44 across, begins at 22.45 over
    it: its axis is 31.75 from the end, the bolt 28.575 and 3 thick each way."""
    found = with_change(LONG)
    assert said(found) == ["stop: bench bolts: the screw in bench bolt 1 runs 11.55 mm into drum"]
    (stop,) = (one for one in found.findings if one.severity == "stop")
    assert stop.remedy == "a screw 45 mm long keeps clear of it" and stop.holes == ("bench bolt 1",)
    assert said(with_change(LONG.replace("60", "45"))) == []
    assert said(judged(WINCH)) == []


def test_a_nut_beside_a_bar() -> None:
    """The nut is 11.547 across corners and 5.2 high, the bar's axis 9.525 from the end and as high:
    hypot(place - 5.774 - 9.525, 9.525 - 5.2) - 6."""
    at = "foot: bench bolt: at = [[{}, 0], [{}, 0]]"
    apart = [math.hypot(x - 5.7735 - 9.525, 4.325) - 6 for x in (19.05, 20.0, 20.3)]
    assert [round(each, 2) for each in apart] == [-0.27, 0.39, 0.61]
    assert said(with_change(at.format(19.05, 60))) == [
        "stop: bench bolts: the nut in bench bolt 1 and rear bar are 0.27 mm into each other"
    ]
    assert said(with_change(at.format(20, 101.6 - 20))) == [
        f"warning: bench bolts: the nut in bench bolt {n} is 0.39 mm from {bar}, and nothing joins "
        "them"
        for n, bar in ((1, "rear bar"), (2, "front bar"))
    ]
    assert said(with_change(at.format(20.3, 60))) == []


def test_the_end_float_on_a_shaft(tmp_path: Path) -> None:
    """Wheel and drum, 6 + 43.5 between frames 50 apart; a drum of 65 does not go in."""
    (row,) = judged(WINCH).floats
    assert (row.between, row.outer) == (("wheel", "drum"), ("left", "right"))
    assert (row.gap_mm, row.free_mm) == pytest.approx((50, 0.5))
    assert said(with_change("drum: stock.length = 44")) == [
        "warning: drum shaft: wheel and drum have 0 mm of end float between left and right"
    ]
    found = box(tmp_path, "", SHAFT.format(drum=f"{CASES}/parts/long-drum.toml", more=""))
    assert said(found) == [
        "stop: shaft: drum, 65 mm long, does not go between left and right, 50 mm apart"
    ]
    assert found.findings[0].remedy.startswith("make drum shorter by 15.05 mm or more")


def test_what_turns_about_a_pin_sweeps_into_a_head() -> None:
    """A pawl of 60: 55 from its pivot to the end, the nearest head 22.45 less 4.25 from it."""
    long = 'pawl: stock.size = [60, "3/8 in", 5]'
    strikes = [line for line in said(with_change(long)) if "strikes" in line]
    assert "stop: pawl, turning on pawl pin, strikes foot" in strikes
    assert any(line.endswith("top bar: the head in bar screw 3") for line in strikes)
    assert said(with_change(long, "assembly: pawl pin: swing = 10")) == []
    short = 'pawl: stock.size = [20, "3/8 in", 5]'
    assert said(with_change(short)) == []


def test_what_is_in_the_way_as_meant_is_a_note() -> None:
    found = with_change(LONG, 'assembly: bench bolts: allow = ["bodies meet"]')
    assert said(found)[0].startswith("note: bench bolts: the screw") and kinds(found) == []


def test_what_is_bought() -> None:
    """Shafts as long as their holes lie: 6.35 + 50 + 6.35; the pawl's 6.35 + 5."""
    rows = {row.what: (row.count, row.long_mm) for row in judged(WINCH).bought}
    assert rows == {
        "M5 x 16 socket head": (6, None),
        "M4 x 12 socket head": (4, None),
        "M6 x 35 hexagon head": (2, None),
        "M4 x 16 countersunk": (6, None),
        "12 mm f7 pin": (1, pytest.approx(62.7)),
        "3/8 in f7 pin": (1, pytest.approx(62.7)),
        "6 mm f7 pin (m6 in left)": (1, pytest.approx(11.35)),
        "M6 nut": (2, None),
    }


LID = """part = "Lid"
units = "mm"
material = "mild steel"
[stock]
size = [60, 40, 3]
[datum]
x = "left"
y = "front"
[[hole]]
name = "over the heads"
drill = {drill}
corners = {{ inset = 8 }}
depth = "through"
"""


@pytest.mark.parametrize(
    ("drill", "inside", "told"),
    [
        (8, 0, []),  # the head of an M4 is 7 across
        (6, 0, [("stop", "bodies-meet")]),
        (8, 0.3, []),  # 0.2 of room is left to one side
        (8, 0.8, [("stop", "bodies-meet")]),
    ],
)
def test_heads_in_holes_of_a_member_that_they_do_not_hold(
    drill: float, inside: float, told: list[tuple[str, str]], tmp_path: Path
) -> None:
    (tmp_path / "lid.toml").write_text(LID.format(drill=drill))
    lies = (
        'face = "bottom", on = "cover: top", edges = { left = ["left", INSIDE], front = "front" }'
    )
    lid = f'lid = {{ part = "lid.toml", {lies.replace("INSIDE", str(inside))} }}\n'
    found = box(tmp_path, SCREWS.format(length=16, more=""), HEAD + lid.strip() + "\n\n")
    assert kinds(found) == told


@pytest.mark.parametrize(
    ("name", "instead", "changes", "words"),
    [
        ("meetings_of", lambda *_: [], [LONG], "drum and bench bolts meet, and nothing was found"),
        ("meeting.NEAR_MM", 3.0, [], "nothing meets: "),
    ],
)
def test_the_witness_sees_what_is_not_told_and_what_is_not_so(
    name: str, instead: object, changes: list[str], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(f"millprep.assembly.{name}", instead)
    handed = report(with_change(*changes))
    assert handed.data is None and has_stop(handed.findings)
    assert any(words in one.message for one in handed.findings)


def test_a_sweep_that_is_not_told_is_seen_by_the_witness(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("millprep.assembly.meeting._turning", lambda *_: [])
    handed = report(with_change('pawl: stock.size = [60, "3/8 in", 5]'))
    assert handed.data is None
    assert any("pawl sweeps into foot" in one.message for one in handed.findings)


# ---------------------------------------------------------------- the picture


def test_nothing_that_hides_is_painted_before_what_it_hides() -> None:
    """Of a hundred places on the paper: the solid that a line of sight meets first, followed in
    steps of 0.2 mm from the eye, is the last that was painted there."""
    found = judged(WINCH)
    picture = make_assembled(found)
    pieces = [
        Lump(body.name, frozenset(), one.centre_mm, one.axes.T, one.half_mm, one.is_round)
        for body in found.bodies
        for one in body.pieces
    ]
    sight = Sight(is_from_left=True)
    solids = [stood.solid for stood in picture.solids]
    order = from_the_back(solids, sight.at, sight.towards)
    lumps, outlines = [pieces[n] for n in order], [sight.hull(solids[n]) for n in order]
    towards = np.array(sight.towards) / math.sqrt(3)
    rng = np.random.default_rng(7)
    seen = 0
    for start in rng.uniform((-5, 0, 0), (105, 80, 85), (100, 3)):
        line = start + np.arange(150, -150, -0.2)[:, None] * towards
        met = [np.flatnonzero(lump.deep_mm(line) > 0.1) for lump in lumps]
        last = [
            places[0]
            for places, outline in zip(met, outlines, strict=True)
            if len(places) and is_within(sight.at(tuple(start)), outline)
        ]
        if last:
            seen += 1
            assert last[-1] <= min(last) + 5, start
    assert seen > 60


def test_the_picture_has_every_letter_and_says_whose_it_is(tmp_path: Path) -> None:
    shown = drawn(judged(WINCH), ".svg").decode()
    for letter, name in zip(
        "ABCDEFGHJ", [m.name for m in judged(WINCH).assembly.members], strict=True
    ):
        assert f">{letter}</text>" in shown and f">{name} (" in shown
    assert shown.count(">D</text>") == 2  # on the bar, and in the list
    for ending, starts in ((".png", b"\x89PNG"), (".pdf", b"%PDF")):
        assert drawn(judged(WINCH), ending).startswith(starts)


def test_a_picture_is_written_beside_the_report(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["assembly", str(WINCH), "--picture", str(tmp_path / "winch.svg")])
    assert ended.value.code == 0 and "TO BUY" in capsys.readouterr().out
    assert (tmp_path / "winch.svg").read_text().startswith("<?xml")
    with pytest.raises(SystemExit) as ended:
        main(["assembly", str(WINCH), "--picture", str(tmp_path / "winch.jpg")])
    assert ended.value.code == 2 and "endings: .svg, .pdf, .png" in capsys.readouterr().err
