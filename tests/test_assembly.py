"""Whether parts go together. The example engine's places are worked out by hand in
test_example_parts (`PLACES`), from the drawings alone; screws, fits and motions have their figures
beside them."""

import json
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from test_example_parts import PLACES

from millprep.assembly import Judged, judge
from millprep.assembly.coinciding import explain
from millprep.assembly.matching import best_match, match_at
from millprep.base.findings import MillprepError
from millprep.cli import main
from millprep.infiles import read_shop
from millprep.infiles.assembly_file import read_assembly
from millprep.proven.assembly import report
from millprep.sums.chance import cheapest_method
from millprep.sums.fitting import Fit

ROOT = Path(__file__).parent.parent
CASES = Path(__file__).parent / "assemblies"
ENGINE = ROOT / "parts" / "twin-engine-assembly.toml"
PLANTED = CASES / "planted" / "twin-engine-assembly.toml"
WINCH = ROOT / "parts" / "winch" / "winch.toml"
HEAD = f"""assembly = "Box"

[members]
body  = "{CASES}/parts/body.toml"
cover = "{CASES}/parts/cover.toml"

"""
SHAFT = f"""assembly = "Shaft"
[members]
left  = "{WINCH.parent}/frame-left.toml"
right = "{WINCH.parent}/frame-right.toml"
bar   = "{WINCH.parent}/bar.toml"
back  = "{WINCH.parent}/bar.toml"
drum  = "{{drum}}"
[[joint]]
name    = "left bars"
screw   = "M5 x 16 socket head"
through = "left: bar screw 1, 3"
into    = ["bar: near end", "back: near end"]
[[joint]]
name    = "right bars"
screw   = "M5 x 16 socket head"
through = "right: bar screw 1, 3"
into    = ["bar: far end", "back: far end"]
[[joint]]
name  = "shaft"
pin   = "12 mm f7"
pivot = ["left: drum shaft", "drum: bore", "right: drum shaft"]
{{more}}
"""
SCREWS = """[[joint]]
name    = "screws"
screw   = "M4 x {length} socket head"
through = "cover: cover screw"
into    = "body: cover screw"
{more}
"""


@cache
def judged(path: Path) -> Judged:
    assembly, notes = read_assembly(path)
    return judge(assembly, read_shop("metric"), notes)


def box(tmp_path: Path, text: str, head: str = HEAD, **parts: tuple[str, str]) -> Judged:
    """A box of body and cover, one or both with a line of its file replaced."""
    for name, (old, new) in parts.items():
        source = (CASES / "parts" / f"{name}.toml").read_text()
        assert old in source
        (tmp_path / f"{name}.toml").write_text(source.replace(old, new))
        head = head.replace(f"{CASES}/parts/{name}.toml", f"{name}.toml")
    (tmp_path / "box.toml").write_text(head + text)
    assembly, notes = read_assembly(tmp_path / "box.toml")
    found = judge(assembly, read_shop("metric"), notes)
    for form in ("text", "json", "html"):  # the second witness agrees with every box
        handed = report(found, form)
        assert handed.data is not None, [one.message for one in handed.findings]
    return found


def kinds(found: Judged) -> list[tuple[str, str]]:
    return [(f.severity, f.kind) for f in found.findings if f.severity != "note"]


# ---------------------------------------------------------------- the example engine


def test_the_engine_goes_together() -> None:
    assert kinds(judged(ENGINE)) == []


@pytest.mark.parametrize(
    ("member", "place"),
    [
        ("left", "left column"),
        ("right", "right column"),
        ("left block", "left block"),
        ("right block", "right block"),
        ("tie bar", "tie bar"),
        ("guard", "guard"),
    ],
)
def test_members_lie_where_the_drawings_put_them(member: str, place: str) -> None:
    """By the holes that join them alone; the figures of `PLACES` come from the drawings."""
    found = judged(ENGINE)
    poses = {name: found.lays[name].pose for name in ("base", member)}
    corner = np.array([found.assembly.member("base").part.stock.size_mm]).T * [[0.5], [0.5], [1.0]]
    holes = [hole.centre_mm for hole in found.assembly.member(member).part.holes]
    if member == "guard":  # its place is given for the underside
        holes = [(x, y, 0.0) for x, y, _ in holes]
    if member == "tie bar":  # it is free to turn about its stud
        holes = [hole.centre_mm for hole in found.assembly.member(member).part.holes[:1]]
    for point in holes:
        here = poses[member].placed(np.array([point], float).T)[:, 0]
        there = poses["base"].placed(corner)[:, 0]
        assert here - there == pytest.approx(np.array(PLACES[place](*map(float, point))), abs=1e-6)


def test_the_winch_goes_together() -> None:
    """By the drawings: frames 50 apart on the foot, 8.65 in from each edge of it, bars between."""
    found = judged(WINCH)
    assert kinds(found) == []
    poses = {name: found.lays[name].pose for name in ("left", "right", "foot", "top bar")}
    foot = poses["foot"].seen_from(poses["left"])
    assert foot.shift_mm == pytest.approx([0, -8, 6.35 + 8.65])
    right = poses["right"].seen_from(poses["left"])
    assert right.shift_mm == pytest.approx([101.6, 0, -50])
    bar = poses["top bar"].seen_from(poses["left"]).placed(np.array([[6.0, 6.0, 0.0]]).T)[:, 0]
    assert bar == pytest.approx([3.25 * 25.4, 2.625 * 25.4, -50])


def test_a_bolt_with_a_loose_piece_under_its_head_is_counted() -> None:
    (bolts,) = (row for row in judged(WINCH).screws if row.joint.name == "bench bolts")
    assert bolts.count == 2
    assert "BENCH BOLTS: 2 x M6 x 35" in report(judged(WINCH)).data.decode()


@pytest.mark.parametrize("member", ["left", "right block", "plate", "cover", "hub"])
def test_poses_keep_the_hand(member: str) -> None:
    rotation = judged(ENGINE).lays[member].pose.rotation
    assert np.linalg.det(rotation) == pytest.approx(1)
    assert rotation @ rotation.T == pytest.approx(np.eye(3))


@pytest.mark.parametrize(
    ("joint", "severity", "kind", "words"),
    [
        (
            "cover screws",
            "stop",
            "patterns-differ",
            "cover: cover screw 1 to cover screw 3 is 20.800 mm",
        ),
        ("plate screws", "stop", "patterns-differ", "mirror image of the other"),
        ("left block screws", "stop", "screw-bottoms", "its thread ends 2.4 mm too early"),
        ("right block screws", "stop", "short-engagement", "thread engagement 2.4 mm"),
        ("trunnion pin", "warning", "wrong-fit", "is meant to run, and it is a transition fit"),
        ("left and right", "stop", "same-hand", "are of the same hand"),
        ("flywheel screws", "warning", "screw-comes-out", "out of the far side of hub by 2.7 mm"),
    ],
)
def test_each_planted_mistake_is_found_and_named(
    joint: str, severity: str, kind: str, words: str
) -> None:
    found = [f for f in judged(PLANTED).findings if f.message.startswith(joint)]
    found = [f for f in found if f.kind != "bodies-meet"]
    assert [(f.severity, f.kind) for f in found] == [(severity, kind)]
    assert words in found[0].message
    assert found[0].line is not None and found[0].remedy


def test_nothing_else_is_found_in_the_planted_copy() -> None:
    """But for what follows: a left column on the right has its outer face to the tie bar, and the
    screws that come out of the hub run into the crank disc on it."""
    others = [f for f in judged(PLANTED).findings if f.message.startswith("tie stud")]
    assert [f.kind for f in others] == ["faces-apart"]
    met = [f.message for f in judged(PLANTED).findings if f.kind == "bodies-meet"]
    assert "run 2.7 mm into crank disc" in met[0] and "tie bar and right block" in met[1]
    assert len(kinds(judged(PLANTED))) == 8 + len(met) == 10


# ---------------------------------------------------------------- patterns


def _seen(count: int, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).uniform(0, 80, (2, count))


def _moved(points: np.ndarray, turn_deg: float, shift: tuple[float, float]) -> np.ndarray:
    cos, sin = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    turned: np.ndarray = np.array([[cos, -sin], [sin, cos]]) @ points + np.array([shift]).T
    return turned


STILL = Fit(np.zeros(2), 0.0, False, np.zeros((2, 1)))


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(
    ("explained_by", "words"),
    [
        ("", ""),
        ("shift", "a shift of 5.000 mm (3.000 left and 4.000 down)"),
        ("turn", "a turn of 7 degrees clockwise"),
        ("mirror", "mirror image"),
        ("size", "of one size"),
        ("nothing", " to "),
    ],
)
def test_what_explains_a_difference_is_named(explained_by: str, words: str, seed: int) -> None:
    """A motion that was made by hand is found again, whatever the order of the holes."""
    first = _seen(7, seed)
    second = {
        "": first,
        "shift": first + np.array([[3.0], [4.0]]),
        "turn": _moved(first, 7, (1, 2)),
        "mirror": first * np.array([[-1.0], [1.0]]) + np.array([[80.0], [0.0]]),
        "size": (first - 40) * 1.01 + 40,
        "nothing": first + np.eye(2, 7) * 0.5,
    }[explained_by]
    if explained_by == "mirror":  # so that the search starts from the wrong order too
        second = second[:, ::-1]
    found = explain(first, second, match_at([(first, second)], STILL))
    assert found[0] == explained_by
    assert words in found[1]


@pytest.mark.parametrize("seed", range(5))
def test_a_pattern_is_laid_on_itself_however_it_was_moved(seed: int) -> None:
    dice = np.random.default_rng(seed)
    first = [dice.uniform(0, 60, (2, 4)), dice.uniform(0, 60, (2, 2))]
    turn, shift = dice.uniform(-180, 180), tuple(dice.uniform(-50, 50, 2))
    order = [dice.permutation(4), dice.permutation(2)]
    sets = [
        (one, _moved(one, turn, shift)[:, each]) for one, each in zip(first, order, strict=True)
    ]
    match = best_match(sets)
    assert match.coincides
    assert match.fit.turn_deg == pytest.approx((-turn + 180) % 360 - 180, abs=1e-6)
    for found, each in zip(match.order, order, strict=True):
        assert found.tolist() == each.tolist()


def test_of_several_ways_the_one_that_keeps_the_numbers() -> None:
    angle = np.arange(6) * np.pi / 3
    circle = 20 * np.array([np.cos(angle), np.sin(angle)])
    match = best_match([(circle, circle)])
    assert match.order[0].tolist() == list(range(6))
    assert match.fit.turn_deg == pytest.approx(0, abs=1e-9)


def test_one_hole_out_of_place_is_told_from_a_pattern_out_of_place() -> None:
    first = _seen(6, 1)
    second = first.copy()
    second[0, 3] += 0.8
    match = best_match([(first, second)])
    assert match.errors_mm[0][3] == pytest.approx(0.8, abs=1e-6)
    assert np.delete(match.errors_mm[0], 3).max() < 1e-6


def test_ten_thousand_holes_are_taken_in_their_order() -> None:
    x, y = np.meshgrid(np.arange(100.0), np.arange(100.0))
    grid = np.array([x.ravel(), y.ravel()])
    match = best_match([(grid, _moved(grid, 30, (5, 6)))])
    assert match.coincides


# ---------------------------------------------------------------- screws


def test_figures_of_a_screw_by_hand(tmp_path: Path) -> None:
    """M4 x 16 through 6 mm into aluminium: 10 mm of thread, 2.5 D where 2 D are wanted; 12 deep,
    so 2 mm left; 4.5 - 4 of play (ISO 273 medium)."""
    (row,) = box(tmp_path, SCREWS.format(length=16, more="")).screws
    figures = row.figures
    assert figures is not None and row.count == 4
    assert figures.grip_mm == pytest.approx(6)
    assert figures.engagement_mm == pytest.approx(10)
    assert figures.wanted_mm == pytest.approx(8)
    assert figures.room_mm == pytest.approx(2)
    assert row.play_mm == pytest.approx((0.5,))
    assert figures.head_mm == pytest.approx(4)  # ISO 4762: an M4 head is 4 mm high


@pytest.mark.parametrize(
    ("length", "more", "expected"),
    [
        (16, "", []),
        (20, "", [("stop", "screw-bottoms")]),
        (12, "", [("warning", "short-engagement")]),
        (8, "", [("stop", "short-engagement")]),
        (5, "", [("stop", "short-engagement")]),
        (12, 'allow = ["short engagement"]', []),
        (20, "washers = 4", []),
    ],
)
def test_lengths_of_screws(
    length: int, more: str, expected: list[tuple[str, str]], tmp_path: Path
) -> None:
    assert kinds(box(tmp_path, SCREWS.format(length=length, more=more))) == expected


def test_a_thread_too_short_for_a_screw_of_any_length(tmp_path: Path) -> None:
    """5 mm of M4 less a pitch of 0.7 at the bottom (ISO 261): 4.3, where 2 D are wanted."""
    found = box(tmp_path, SCREWS.format(length=16, more=""), body=("depth   = 12", "depth   = 5"))
    (finding,) = (one for one in found.findings if one.kind == "short-engagement")
    assert "a screw of any length finds 4.3 mm of thread at most" in finding.remedy


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('clear       = "M4"', "drill = 3.9", ["screw-does-not-pass"]),
        ('clear       = "M4"', 'clear = "M4"\ndepth = 4', ["screw-does-not-pass"]),
        (
            'clear       = "M4"',
            'clear = "M4"\ncounterbore = { diameter = 6.5, depth = 2 }',
            ["head-does-not-fit"],
        ),
        (
            'clear       = "M4"',
            'clear = "M4"\ncounterbore = { diameter = 8, depth = 2 }',
            ["head-proud"],
        ),
    ],
)
def test_holes_that_a_screw_goes_through(
    old: str, new: str, expected: list[str], tmp_path: Path
) -> None:
    found = box(tmp_path, SCREWS.format(length=16, more=""), cover=(old, new))
    assert [kind for _, kind in kinds(found) if kind != "screw-bottoms"] == expected


def test_a_middle_member_that_is_tapped_is_said_once(tmp_path: Path) -> None:
    """And no chance is worked out of a screw that does not pass."""
    text = SCREWS.format(length=20, more="").replace(
        '"cover: cover screw"', '["cover: cover screw", "lid: cover screw"]'
    )
    (tmp_path / "lid.toml").write_text(
        (CASES / "parts" / "cover.toml").read_text().replace('clear       = "M4"', 'tap = "M4"')
    )
    found = box(tmp_path, text, HEAD + 'lid = "lid.toml"\n')
    assert kinds(found) == [("stop", "screw-does-not-pass")]


def test_a_countersink_that_is_too_small_is_told_how_wide(tmp_path: Path) -> None:
    """A head is flush where the mouth of its cone is as wide as the head."""
    sunk = 'clear = "M4"\ncountersink = {{ diameter = {}, angle = 90 }}'
    text = SCREWS.format(length=16, more="").replace("socket head", "countersunk")
    found = box(tmp_path, text, cover=('clear       = "M4"', sunk.format(6)))
    (finding,) = [f for f in found.findings if f.kind == "head-proud"]
    wide = re.search(r"make the countersink ([\d.]+) mm wide", finding.remedy)
    assert wide is not None
    found = box(tmp_path, text, cover=('clear       = "M4"', sunk.format(wide[1])))
    assert "head-proud" not in {kind for _, kind in kinds(found)}


def test_a_screw_of_another_thread(tmp_path: Path) -> None:
    text = SCREWS.format(length=16, more="").replace('"M4 x', '"M4x0.5 x')
    assert kinds(box(tmp_path, text)) == [("stop", "wrong-thread")]


def test_the_screw_comes_out_unless_it_may(tmp_path: Path) -> None:
    through = ("depth   = 12", 'depth   = "through"')
    text = SCREWS.format(length=30, more="")
    assert kinds(box(tmp_path, text, body=through)) == [("warning", "screw-comes-out")]
    text = SCREWS.format(length=30, more="may_come_out = true")
    assert kinds(box(tmp_path, text, body=through)) == []


@pytest.mark.parametrize(("length", "expected"), [(20, []), (10, [("warning", "nut-not-full")])])
def test_a_nut_on_the_far_side(
    length: int, expected: list[tuple[str, str]], tmp_path: Path
) -> None:
    """ISO 4032: an M4 nut is 3.2 mm high; 6 + 3.2 + one pitch of 0.7 is 9.9."""
    text = SCREWS.format(length=length, more="nut = true\n")
    text = text.replace('into    = "body: cover screw"', "")
    found = box(tmp_path, text + ("" if length == 20 else "nut_washers = 1\n"))
    assert kinds(found) == expected


@pytest.mark.parametrize(
    ("length", "severity", "words"),
    [
        (10, "warning", "stands 0.3 mm proud of"),
        (9, "warning", "ends 0.7 mm inside"),
        (8, "stop", "ends 1.7 mm inside"),
        (6, "stop", "never reaches"),
    ],
)
def test_a_nut_that_is_not_filled(length: float, severity: str, words: str, tmp_path: Path) -> None:
    """6.5 mm of cover and piece, then a nut of 3.2 mm: half of it is not filled below 8.1 mm."""
    text = (
        SCREWS.format(length=length, more="nut = true\n")
        .replace('into    = "body: cover screw"', "")
        .replace('"cover: cover screw"', '["cover: cover screw", 0.5]')
    )
    (finding,) = [f for f in box(tmp_path, text).findings if f.severity != "note"]
    assert (finding.severity, finding.kind) == (severity, "nut-not-full")
    assert words in finding.message


def test_a_stud_far_too_short_is_a_stop(tmp_path: Path) -> None:
    head = HEAD + f'lid = "{CASES}/parts/cover.toml"\n'
    text = '[[joint]]\nstud = "M4 x {}"\nthrough = ["cover: cover screw", "lid: cover screw"]\n'
    assert kinds(box(tmp_path, text.format(16), head)) == [("warning", "nut-not-full")]
    assert kinds(box(tmp_path, text.format(12), head)) == [("stop", "nut-not-full")]


def test_a_stud_through_two_covers(tmp_path: Path) -> None:
    head = HEAD + f'lid = "{CASES}/parts/cover.toml"\n'
    text = '[[joint]]\nstud = "M4 x 20"\nthrough = ["cover: cover screw", "lid: cover screw"]\n'
    (row,) = box(tmp_path, text, head).screws
    assert row.grip_mm == pytest.approx(12)
    assert row.ends_mm == pytest.approx((20 - 12 - 2 * 3.2) / 2)


# ---------------------------------------------------------------- what does not coincide


def test_a_pattern_with_another_pitch_says_both_sizes(tmp_path: Path) -> None:
    """Insets of 8 and 8.2 mm on 60 x 40: diagonals of 50.120 and 49.577 mm."""
    found = box(tmp_path, SCREWS.format(length=16, more=""), cover=("inset = 8", "inset = 8.2"))
    (finding,) = [f for f in found.findings if f.kind == "patterns-differ"]
    assert finding.severity == "stop"  # 0.28 mm off, and 0.25 of play
    assert "is 49.577 mm" in finding.message and "is 50.120 mm" in finding.message


def test_a_small_difference_within_the_play_is_a_warning(tmp_path: Path) -> None:
    found = box(tmp_path, SCREWS.format(length=16, more=""), cover=("inset = 8", "inset = 8.1"))
    assert kinds(found) == [("warning", "patterns-differ")]


DOWELS = """[[joint]]
pin = "4 mm dowel"
press = "body: dowel"
slide = { holes = "cover: dowel", pin = "h6" }
"""


def test_a_mirrored_cover_is_named(tmp_path: Path) -> None:
    """Dowels at 30, 8 and 20, 32 and screws in the corners: the looking glass moves the dowels."""
    mirrored = ("[[30, 8], [20, 32]]", "[[30, 8], [40, 32]]")
    text = SCREWS.format(length=16, more="") + DOWELS
    assert kinds(box(tmp_path, text)) == []
    found = box(tmp_path, text, cover=mirrored)
    assert [f.kind for f in found.findings if f.severity == "stop"] == ["patterns-differ"]


def test_edges_that_are_given_come_before_holes(tmp_path: Path) -> None:
    """The cover is to lie flush, and its screws were counted from the wrong edge by 1.5 mm."""
    head = HEAD.replace(
        f'cover = "{CASES}/parts/cover.toml"',
        f'cover = {{ part = "{CASES}/parts/cover.toml", face = "bottom", on = "body: top", '
        'edges = { left = "left", front = "front" } }',
    )
    assert kinds(box(tmp_path, SCREWS.format(length=16, more=""), head)) == []
    moved = (
        "corners     = { inset = 8 }",
        "grid = { start = [9.5, 8], step = [44, 24], columns = 2, rows = 2 }",
    )
    head = head.replace(f"{CASES}/parts/cover.toml", "cover.toml")
    found = box(tmp_path, SCREWS.format(length=16, more=""), head, cover=moved)
    (finding,) = [f for f in found.findings if f.severity == "stop"]
    assert "a shift of 1.500 mm (1.500 right, looking at BOTTOM of cover)" in finding.message


def test_where_a_member_lies_says_by_which_face_a_screw_enters(tmp_path: Path) -> None:
    """A cover that is drilled from its underside: its heads lie on TOP all the same."""
    under = 'clear       = "M4"', 'face = "bottom"\nclear = "M4"'
    text = SCREWS.format(length=16, more="") + DOWELS
    assert "faces-apart" not in {kind for _, kind in kinds(box(tmp_path, text, cover=under))}
    head = HEAD.replace(
        f'cover = "{CASES}/parts/cover.toml"',
        'cover = { part = "cover.toml", face = "bottom", on = "body: top" }',
    )
    found = box(tmp_path, text, head, cover=under)
    assert kinds(found) == []
    assert found.assembly.joints[0].places[0].face == "top"


def test_one_edge_is_compared_with_where_the_holes_put_the_member(tmp_path: Path) -> None:
    head = HEAD.replace(
        f'cover = "{CASES}/parts/cover.toml"',
        f'cover = {{ part = "{CASES}/parts/cover.toml", face = "bottom", on = "body: top", '
        'edges = { left = ["left", 1] } }',
    )
    found = box(tmp_path, SCREWS.format(length=16, more=""), head)
    assert kinds(found) == [("warning", "edges-differ")]


def test_a_loop_of_members_that_does_not_close(tmp_path: Path) -> None:
    """A tie bar longer than the columns stand apart cannot lie between them."""
    text = ENGINE.read_text().replace(' = "', f' = "{ROOT}/parts/', 0)
    text = re.sub(r'"([a-z-]+\.toml)"', rf'"{ROOT}/parts/\1"', text)
    bar = (ROOT / "parts" / "tie-bar.toml").read_text().replace("size = [2,", "size = [2.01,")
    (tmp_path / "tie-bar.toml").write_text(bar)
    text = text.replace(f"{ROOT}/parts/tie-bar.toml", "tie-bar.toml")
    (tmp_path / "engine.toml").write_text(text)
    stops = [f for f in judged(tmp_path / "engine.toml").findings if f.severity == "stop"]
    assert [f.kind for f in stops] == ["faces-apart"]
    assert "0.254 mm into each other" in stops[0].message


@pytest.mark.parametrize(
    ("cover", "body", "stops"),
    [
        ({}, ("ream  = 4", 'face = "bottom"\nream = 4'), ["dowels: body: dowel is blind"]),
        ({"cover": ('clear       = "M4"', 'face = "bottom"\nclear = "M4"')}, None, []),
        ({}, ('tap     = "M4"', 'face = "bottom"\ntap = "M4"'), ["dowels: body: dowel is blind"]),
    ],
)
def test_blind_holes_open_towards_the_other_member(
    cover: dict[str, tuple[str, str]],
    body: tuple[str, str] | None,
    stops: list[str],
    tmp_path: Path,
) -> None:
    """Dowels at 30, 8 and 20, 32 in the body: in its underside they are of no use on its top."""
    parts = cover | ({"body": body} if body else {})
    text = SCREWS.format(length=16, more="") + DOWELS.replace("pin", 'name = "dowels"\npin', 1)
    found = box(tmp_path, text, **parts)
    said = [f.message for f in found.findings if f.kind == "faces-apart"]
    assert [message[: len(words)] for message, words in zip(said, stops, strict=True)] == stops


def test_a_screw_said_to_enter_a_blind_thread_from_behind(tmp_path: Path) -> None:
    text = SCREWS.format(length=16, more="").replace(
        '"body: cover screw"', '{ holes = "body: cover screw", face = "bottom" }'
    )
    assert ("stop", "faces-apart") in kinds(box(tmp_path, text))


def test_screws_from_both_sides_cannot_hold_one_lay(tmp_path: Path) -> None:
    """The first joint lays the cover on the body's top; the second wants its underside there."""
    through = ("depth   = 12", 'depth   = "through"')
    first = SCREWS.format(length=16, more="").replace('screw"\n', 'screw 1, 3"\n')
    second = SCREWS.format(length=16, more="").replace('screw"\n', 'screw 2, 4"\n')
    second = second.replace('"screws"', '"others"')
    assert kinds(box(tmp_path, first + second, body=through)) == []
    second = second.replace(
        '"body: cover screw 2, 4"', '{ holes = "body: cover screw 2, 4", face = "bottom" }'
    )
    found = box(tmp_path, first + second, body=through)
    (stop,) = [f for f in found.findings if f.severity == "stop"]
    assert stop.kind == "faces-apart" and "these face the same way" in stop.message


def test_three_edges_that_agree_lie_where_two_would(tmp_path: Path) -> None:
    edges = '{{ part = "cover.toml", face = "bottom", on = "body: top", edges = {{ {} }} }}'
    for said, expected in (
        ('left = "left", right = "right", front = "front"', []),
        ('left = "left", right = ["right", 1], front = "front"', ["edges-differ"] * 2),
    ):
        head = HEAD.replace(f'"{CASES}/parts/cover.toml"', edges.format(said))
        found = box(tmp_path, "", head, cover=("mm", "mm"))
        assert [kind for _, kind in kinds(found)] == expected
        for finding in found.findings:
            assert "do not agree with each other" in finding.remedy


def test_an_assembly_in_inches_says_inches(tmp_path: Path) -> None:
    head = HEAD.replace("\n", '\nunits = "inch"\n', 1)
    found = box(
        tmp_path, SCREWS.format(length=16, more=""), head, cover=("inset = 8", "inset = 8.2")
    )
    (finding,) = [f for f in found.findings if f.kind == "patterns-differ"]
    assert "is 1.95187 in" in finding.message and " mm" not in finding.message  # 49.577 mm


# ---------------------------------------------------------------- pins, pairs, stacks, chances


@pytest.mark.parametrize(
    ("how", "pin", "expected"),
    [
        ("press", "4 mm m6", []),
        ("press", "4 mm f7", [("stop", "wrong-fit")]),
        ("press", "4.02 mm m6", [("warning", "wrong-fit")]),  # 12 to 32 um; s6 in H7: 7 to 27
        ("press", "4.015 mm m6", []),
        ("press", "4.1 mm m6", [("stop", "wrong-fit")]),  # split, not pressed
        ("pivot", "4 mm f7", []),
        ("pivot", "4 mm m6", [("warning", "wrong-fit")]),
        ("slide", "4 mm h6", []),
        ("slide", "4 mm p6", [("stop", "wrong-fit")]),
        ("slide", "4 mm k6", [("warning", "wrong-fit")]),
        ("clear", "3.5 mm h6", []),
        ("clear", "4 mm m6", [("stop", "wrong-fit")]),
    ],
)
def test_pins_sit_as_they_are_meant_to(
    how: str, pin: str, expected: list[tuple[str, str]], tmp_path: Path
) -> None:
    """In a hole H7 of 4 mm, 0 to +12 um (ISO 286-2): m6 is +4 to +12, f7 -10 to -22, h6 0 to -8."""
    assert kinds(box(tmp_path, f'[[joint]]\npin = "{pin}"\n{how} = "body: dowel"\n')) == expected


def test_a_measured_pin_in_a_measured_hole(tmp_path: Path) -> None:
    text = (
        '[[joint]]\npin = "4 mm dowel"\nslide = "body: dowel"\n'
        'measured = { pin = 3.995, "body: dowel" = 4.005 }\n'
    )
    (row,) = box(tmp_path, text).pins
    assert (row.fit.least_mm, row.fit.greatest_mm) == (pytest.approx(0.01), pytest.approx(0.01))


PAIR = '\n[[handed_pair]]\nmembers = ["body", "other"]\n'


def test_a_part_and_its_opposite_hand_are_a_pair(tmp_path: Path) -> None:
    (tmp_path / "mirror.toml").write_text(f'opposite_hand_of = "{CASES}/parts/body.toml"\n')
    (row,) = box(tmp_path, PAIR, HEAD + 'other = "mirror.toml"\n').pairs
    assert row.is_pair and not row.is_same_hand


@pytest.mark.parametrize("mirror", ["y", "z"])
def test_the_looking_glass_may_stand_anywhere(mirror: str, tmp_path: Path) -> None:
    (tmp_path / "mirror.toml").write_text(
        f'opposite_hand_of = "{CASES}/parts/body.toml"\nmirror = "{mirror}"\n'
    )
    (row,) = box(tmp_path, PAIR, HEAD + 'other = "mirror.toml"\n').pairs
    assert row.is_pair


def test_the_same_part_twice_is_no_pair(tmp_path: Path) -> None:
    head = HEAD + f'other = "{CASES}/parts/body.toml"\n'
    assert kinds(box(tmp_path, PAIR, head)) == [("stop", "same-hand")]


def test_a_pair_of_other_blanks_names_them(tmp_path: Path) -> None:
    body = (CASES / "parts" / "body.toml").read_text()
    (tmp_path / "near.toml").write_text(body.replace("[60, 40, 20]", "[60, 40, 21]"))
    found = box(tmp_path, PAIR, HEAD + 'other = "near.toml"\n')
    (stop,) = [f for f in found.findings if f.severity == "stop"]
    assert "60 mm by 40 mm by 20 mm and 60 mm by 40 mm by 21 mm" in stop.message


def test_a_pair_with_one_hole_amiss_names_it(tmp_path: Path) -> None:
    body = (CASES / "parts" / "body.toml").read_text()
    (tmp_path / "near.toml").write_text(
        body.replace("[20, 32]", "[40, 31]").replace("[30, 8]", "[30, 8]")
    )
    found = box(tmp_path, PAIR, HEAD + 'other = "near.toml"\n')
    assert kinds(found) == [("stop", "not-a-pair")]
    assert found.pairs[0].odd == ("body: dowel 2", "other: dowel 2")


def test_a_poor_method_is_warned_of_and_a_better_one_named(tmp_path: Path) -> None:
    found = box(
        tmp_path, SCREWS.format(length=16, more=""), HEAD.replace("\n", '\nmade_by = "rule"\n', 1)
    )
    (finding,) = [f for f in found.findings if f.kind == "may-not-assemble"]
    assert "made by rule" in finding.message
    assert finding.remedy == "95 % with one taken from the other by transfer punch"


def test_the_better_method_is_that_of_both_parts(tmp_path: Path) -> None:
    """A good body does not make up for its cover's rule: both are reckoned by the method named."""
    head = HEAD.replace("\n", '\nmade_by = "rule"\n', 1)
    cover = ('clear       = "M4"', "drill = 4.15")
    (row,) = box(tmp_path, SCREWS.format(length=16, more=""), head, cover=cover).chances
    assert row.chance is not None and row.method is not None
    errors = read_shop("metric").position_errors_mm
    places = np.array([[8, 52, 52, 8], [8, 8, 32, 32]])
    both = cheapest_method(places, np.full(4, 0.075), errors)
    assert both is not None and row.method.words == both.words


def test_one_screw_in_members_that_pins_hold_has_a_chance(tmp_path: Path) -> None:
    """1 - exp(-c^2 / 2 s^2), with c = 0.25 mm: the Rayleigh distribution; +/- three errors."""
    head = HEAD.replace("\n", '\nmade_by = "height gauge"\n', 1)
    one = SCREWS.format(length=16, more="").replace('screw"\n', 'screw 1"\n')
    assert box(tmp_path, one, head).chances[0].chance is None
    (row,) = box(tmp_path, one + DOWELS, head).chances
    spread_mm = np.hypot(*[read_shop("metric").position_errors_mm["height gauge"] / 2] * 2)
    exact = 1 - np.exp(-(0.25**2) / (2 * spread_mm**2))
    assert row.chance is not None and abs(row.share - exact) < 3 * row.error


def test_very_many_screws_are_said_not_to_be_reckoned(tmp_path: Path) -> None:
    grid = f"grid = {{ start = [{8}, {8}], step = [2, 2], columns = 21, rows = 10 }}"
    corners = "corners     = { inset = 8 }"
    text = SCREWS.format(length=16, more="")
    found = box(tmp_path, text, cover=(corners, grid), body=("corners = { inset = 8 }", grid))
    assert found.chances[0].chance is None
    assert any("more than 200 of them" in finding.message for finding in found.findings)


def test_members_held_by_two_pins_cannot_shift(tmp_path: Path) -> None:
    """The same trials: without the shift that makes up for errors fewer go together."""
    head = HEAD.replace("\n", '\nmade_by = "height gauge"\n', 1)
    free = box(tmp_path, SCREWS.format(length=16, more=""), head).chances[0]
    held = box(tmp_path, SCREWS.format(length=16, more="") + DOWELS, head).chances[0]
    assert held.is_held and not free.is_held
    assert free.chance is not None and held.share == free.chance.held_share < free.share


# ---------------------------------------------------------------- the command


def _run(*given: str) -> int:
    with pytest.raises(SystemExit) as caught:
        main(["assembly", *given])
    return int(caught.value.code or 0)


def test_exit_status_and_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert _run(str(PLANTED), "--format", "json") == 1
    data = json.loads(capsys.readouterr().out)
    assert {f["kind"] for f in data["findings"] if f["severity"] == "stop"} >= {"same-hand"}
    joints = {joint["name"]: joint for joint in data["joints"]}
    assert joints["left block screws"]["room_mm"] == pytest.approx(-2.4)
    assert joints["cover screws"]["patterns"][0]["explained_by"] == "size"
    assert data["pairs"][0]["is_same_hand"]
    assert _run("nowhere.toml", "--format", "json") == 2
    assert json.loads(capsys.readouterr().out)["findings"][0]["kind"] == "unreadable-file"


@pytest.mark.parametrize("ending", ["html", "pdf"])
def test_a_page_takes_the_place_of_the_same_report(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / f"engine.{ending}"
    assert _run(str(ENGINE), "-o", str(page)) == 0
    assert _run(str(PLANTED), "-o", str(page)) == 1  # of that name, and nobody has edited it
    assert "written" in capsys.readouterr().err
    assert _run(str(ENGINE), "--change", "base: stock.size = [130, 90, 12]", "-o", str(page)) == 2
    assert 'the ending ".' in capsys.readouterr().err


def test_a_report_that_is_not_what_the_files_say_is_kept_back(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("millprep.sheets.assembly._entered", lambda *_: "LEFT")
    assert _run(str(ENGINE)) == 1
    told = capsys.readouterr()
    assert told.out == "" and "no report: see the stops above" in told.err
    assert "head_face is LEFT, not BOTTOM" in told.err


def test_a_change_lists_what_changes_with_it_and_touches_nothing(
    capsys: pytest.CaptureFixture[str],
) -> None:
    before = {path: path.read_bytes() for path in (ROOT / "parts").glob("*.toml")}
    change = "cylinder-block.toml: plate screw: grid.step = [18, 13]"
    status = _run(str(ENGINE), "--change", change, "--format", "json")
    data = json.loads(capsys.readouterr().out)
    assert status == 1  # the middle of the pattern moves too, and with it the port
    assert [line for line in data["new"] if line.startswith("port: ")]
    holes = {(each["file"], each["hole"]) for each in data["holes"]}
    assert holes == {("cylinder-block.toml", "plate screw"), ("trunnion-plate.toml", "plate screw")}
    assert {path: path.read_bytes() for path in before} == before


def test_a_change_of_the_stock_changes_screws_elsewhere(capsys: pytest.CaptureFixture[str]) -> None:
    assert _run(str(ENGINE), "--change", "base: stock.size = [130, 90, 12]") == 0
    said = capsys.readouterr().out
    assert "left foot: grip: 4.5 mm becomes 6.5 mm" in said
    assert "left foot: engagement: 7.5 mm becomes 5.5 mm" in said
    assert "warning: left foot: thread engagement 5.5 mm" in said
    assert "No file was touched." in said


def test_a_joint_that_comes_or_goes_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    _run(str(ENGINE), "--change", 'assembly: cover screws: name = "lid screws"')
    said = capsys.readouterr().out
    assert "cover screws: the joint: there becomes none" in said
    assert "lid screws: the joint: none becomes there" in said
    assert "cover screws: grip" not in said
    _run(str(ENGINE), "--change", 'assembly: made_by = "dials"')
    assert "made by: readout becomes dials" in capsys.readouterr().out


def test_the_opposite_hand_follows(capsys: pytest.CaptureFixture[str]) -> None:
    _run(str(ENGINE), "--change", "left: tie stud: at = { centre_y = 0, bottom = 23 }")
    said = capsys.readouterr().out
    assert "column-right.toml (right): tie stud: place, by up to 1 mm" in said


def test_a_change_is_checked_in_each_part_that_it_changes(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Wheel and pinion want 30.75; the drawing says so in a dimension, the assembly nowhere."""
    assert _run(str(WINCH), "--change", 'left: pinion shaft: at = ["31 mm", 0]') == 1
    told = capsys.readouterr()
    assert "stop: frame-left.toml: dimension 1, " in " ".join(told.out.split())
    assert "dimension 1" in told.err
    assert "Checked by itself too: frame-left.toml, frame-right.toml." in told.out
    _run(str(WINCH), "--change", "foot: bench bolt: clear = 'M5'", "--format", "json")
    data = json.loads(capsys.readouterr().out)
    assert data["checked"] == ["foot.toml"]


def test_a_thicker_blank_moves_no_hole_on_its_face(capsys: pytest.CaptureFixture[str]) -> None:
    _run(str(WINCH), "--change", "top bar: stock.length = 52")
    said = " ".join(capsys.readouterr().out.split())
    assert (
        "bar.toml (rear bar, front bar, top bar): the blank: becomes 12 mm by 12 mm by 52" in said
    )
    assert "place" not in said


def test_a_handed_pair_is_not_told_to_be_mirrored(tmp_path: Path) -> None:
    """Frames of both hands, back to back: the screws enter the second by its other side."""
    text = f"""assembly = "Frames"
[members]
left  = "{WINCH.parent}/frame-left.toml"
right = "{WINCH.parent}/frame-right.toml"
[[joint]]
name    = "bar screws"
screw   = "M5 x 35 hexagon head"
through = ["left: bar screw", 12, {{mate}}]
nut     = true
"""
    found = box(tmp_path, "", text.format(mate='"right: bar screw"'))
    (stop,) = (one for one in found.findings if one.severity == "stop")
    assert "mirror image" in stop.message
    table = '{ holes = "right: bar screw", face = "bottom" }'
    assert stop.remedy == f"the screws enter right by its other side: {table}"
    assert kinds(box(tmp_path, "", text.format(mate=table))) == []


def test_feet_that_are_exchanged_are_named(tmp_path: Path) -> None:
    text = WINCH.read_text().replace("frame screw 1, 2", "frame screw X")
    text = text.replace("frame screw 3, 4", "frame screw 1, 2").replace(
        "frame screw X", "frame screw 3, 4"
    )
    for file in WINCH.parent.glob("*.toml"):
        (tmp_path / file.name).write_text(file.read_text())
    stops = [one for one in box(tmp_path, "", text).findings if one.severity == "stop"]
    assert {one.kind for one in stops} == {"faces-apart"}
    assert {one.remedy for one in stops} == {
        "exchange foot: frame screw 3, 4 in foot screws, left and foot: frame screw 1, 2 in foot "
        "screws, right"
    }


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("nonsense", "is not a change"),
        ("bse: stock.size = [1, 2, 3]", 'did you mean "base"?'),
        ("base: column scrw: depth = 3", 'did you mean "column screw"?'),
        ("base: column screw: grid.stp = [1, 2]", 'did you mean "step"?'),
        ("base: column screw: depth = [", "is not a value"),
        ("base: column screw: depht = 3", 'did you mean "depth"?'),
        ("right: tie stud: depth = 3", "change column-left.toml; this one follows"),
        (
            "base: column screw: at = 3",
            "stop: --change 'base: column screw: at = 3': hole 1 \"column screw\": at: 3 is ",
        ),
    ],
)
def test_a_change_that_cannot_be_made_is_refused(
    change: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _run(str(ENGINE), "--change", change) == 2
    said = capsys.readouterr().err
    assert words in said
    assert "cannot be read" not in said  # the files are sound


BARS = f"""assembly = "Box"

[members]
body = "{CASES}/parts/body.toml"
one = "{CASES}/parts/cover.toml"
two = "{CASES}/parts/cover.toml"

"""


def test_holes_of_several_members_are_one_joint_hole_by_hole(tmp_path: Path) -> None:
    """The first hole written to the first: two covers, of whose screws each holds two."""
    through = '[["two: cover screw 2, 3", "one: cover screw 1, 4"]]'
    text = f"""[[joint]]
name    = "screws"
screw   = "M4 x 16 socket head"
through = {through}
into    = "body: cover screw"
"""
    found = box(tmp_path, text, BARS)
    courses = {
        one.name: [[hole.name for hole in place.holes] for place in one.places]
        for one in found.assembly.joints
    }
    assert courses == {
        "screws, two": [["cover screw 2", "cover screw 3"], ["cover screw 1", "cover screw 2"]],
        "screws, one": [["cover screw 1", "cover screw 4"], ["cover screw 3", "cover screw 4"]],
    }
    assert {one.table for one in found.assembly.joints} == {"screws"}
    flat = text.replace("[[", "[").replace("]]", "]").replace("[joint]", "[[joint]]")
    assert [one.name for one in box(tmp_path, flat, BARS).assembly.joints] == list(courses)
    one_too_few = text.replace("cover screw 1, 4", "cover screw 1")
    with pytest.raises(MillprepError, match="do not have as many holes"):
        box(tmp_path, one_too_few, BARS)


def test_a_pair_may_differ_by_a_hole_that_is_named(tmp_path: Path) -> None:
    """The other frame goes without the pawl's pivot and has a stop of its own."""
    for name in ("body", "cover"):
        (tmp_path / f"{name}.toml").write_text((CASES / "parts" / f"{name}.toml").read_text())
    (tmp_path / "other.toml").write_text(
        """opposite_hand_of = "cover.toml"
without = ["dowel 1"]
[[hole]]
name  = "stop"
drill = 3
at    = [25, 20]
depth = "through"
"""
    )
    head = HEAD.replace(f"{CASES}/parts/", "") + 'other = "other.toml"\n'
    pair = '[[handed_pair]]\nmembers = ["cover", "other"]\n'
    apart = box(tmp_path, SCREWS.format(length=16, more="") + pair, head)
    assert ("stop", "not-a-pair") in kinds(apart)
    assert set(apart.pairs[0].odd) == {"cover: dowel 1", "other: stop"}
    differ = 'differ = ["dowel 1", "stop"]\n'
    assert box(tmp_path, SCREWS.format(length=16, more="") + pair + differ, head).pairs[0].is_pair
