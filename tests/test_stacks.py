"""Stacks as they stand: heights, layers and gaps by hand.

The plates are 9 mm, 80 x 50, with bores 8 H7 at (20, 25) and 10 H7 at (60, 30); the distance piece
between them is 12, so that a pair is 9 + 12 + 9 = 30 high. The bench winch: frames of 1/4 in, bars
of 50: 6.35 + 50 + 6.35 = 62.7.
"""

import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from slot_faults import sentences_of, slots_in, with_slot_changed, without
from test_slots_asked import is_stopped

from millprep.assembly import Judged, judge
from millprep.base.findings import has_stop
from millprep.cli import main
from millprep.infiles import read_shop
from millprep.infiles.assembly_file import read_assembly
from millprep.proven.assembly import places_of, report
from millprep.proven.preparation import prepare
from millprep.proven.sheets import SHEETS, Asked
from millprep.proven.stacks import part_or_stack
from millprep.witness.assembly import check_assembly
from millprep.writers.bench.cards import cards_of

WINCH = Path(__file__).parent.parent / "parts" / "winch" / "winch.toml"
PLATE = """part = "Plate"
units = "mm"
material = "mild steel"
[stock]
size = [80, 50, 9]
[defaults]
depth = "through"
[[hole]]
name = "shaft"
ream = 8
fit = "H7"
at = [20, 25]
[[hole]]
name = "second"
ream = 10
fit = "H7"
at = [60, 30]
[[hole]]
name = "tie"
{tie}
corners = {{ inset = 8 }}
"""
DRUM = """part = "Drum"
units = "mm"
material = "brass"
[stock]
diameter = 16
length = {length}
[datum]
x = "centre"
y = "centre"
[[hole]]
name = "bore"
ream = 8
fit = "H7"
at = [0, 0]
depth = "through"
"""
OPEN = 'stack = "bores"\ngap = "open"'
PAIR = """assembly = "Pair"
[members]
near = "near.toml"
far = "far.toml"
disc = "disc.toml"
drum = "drum.toml"
[[joint]]
name = "ties"
screw = "M4 x 30 socket head"
through = ["near: tie", 12]
into = "far: tie"
[[joint]]
name = "shaft"
pin = "8 mm f7"
pivot = ["near: shaft", "disc: bore", "drum: bore", "far: shaft"]
[[reamed_together]]
name = "shaft bores"
stack = "bores"
holes = ["near: shaft", "far: shaft"]
[[reamed_together]]
name = "second bores"
stack = "bores"
holes = ["near: second", "far: second"]
"""


def pair(tmp_path: Path, text: str = PAIR) -> Judged:
    (tmp_path / "near.toml").write_text(PLATE.format(tie='clear = "M4"'))
    (tmp_path / "far.toml").write_text(PLATE.format(tie='tap = "M4"'))
    (tmp_path / "disc.toml").write_text(DRUM.format(length=3))
    (tmp_path / "drum.toml").write_text(DRUM.format(length=8))
    (tmp_path / "pair.toml").write_text(text)
    assembly, notes = read_assembly(tmp_path / "pair.toml")
    return judge(assembly, read_shop("metric"), notes)


def told(found: Judged) -> dict[str, Any]:
    """The report as JSON; its text and page agree with the witness too."""
    for form in ("text", "html"):
        handed = report(found, form)
        assert handed.data is not None, [one.message for one in handed.findings]
    data: dict[str, Any] = json.loads(report(found, "json").data or b"{}")
    return data


def test_loose_pieces_and_gaps_count_and_what_hangs_on_a_shaft_is_not_there(tmp_path: Path) -> None:
    (stack,) = told(pair(tmp_path))["stacks"]
    assert stack == {
        "name": "bores",
        "members": ["near", "far"],
        "height_mm": 30,
        "layers": [
            {"member": "near", "from_mm": 0, "to_mm": 9},
            {"member": "far", "from_mm": 21, "to_mm": 30},
        ],
        "gaps_mm": [12],
        "holes": [
            {"name": "shaft bores", "layers": ["near", "far"]},
            {"name": "second bores", "layers": ["near", "far"]},
        ],
    }


def test_what_a_pin_lists_in_a_row_lies_between_its_neighbours(tmp_path: Path) -> None:
    """Near stands on z 0 with its lower face, far 12 below: disc of 3 against near, drum of 8
    against far, 1 of float."""
    lays = pair(tmp_path).lays
    spans = {}
    for name, long_mm in (("disc", 3.0), ("drum", 8.0)):
        pose = lays[name].pose
        ends = pose.placed(np.array([[8.0, 8.0], [8.0, 8.0], [0.0, long_mm]]))
        assert ends[:2] == pytest.approx(np.array([[20, 20], [25, 25]]))
        spans[name] = sorted(ends[2].tolist())
    assert spans == {"disc": pytest.approx([-3, 0]), "drum": pytest.approx([-12, -4])}


def test_what_a_pin_leaves_two_places_for_is_told_and_each_remedy_works(tmp_path: Path) -> None:
    """Near stands on z 0 and its shaft is worked from its top, z 9: the drum of 8, named last, is
    laid there, and would go into the 12 below near."""

    def drum(more: str) -> tuple[list[float], list[tuple[str, str]]]:
        text = PAIR.replace('disc = "disc.toml"\n', "").replace('drum = "drum.toml"', more)
        row = 'pivot = ["near: shaft", "disc: bore", "drum: bore", "far: shaft"]'
        pins = 'press = ["far: shaft", "near: shaft"]\npivot = "drum: bore"'
        found = pair(tmp_path, text.replace(row, pins))
        told = [f for f in found.findings if f.kind in ("lies-outside", "edges-differ")]
        ends = found.lays["drum"].pose.placed(np.array([[8.0, 8.0], [8.0, 8.0], [0.0, 8.0]]))
        return sorted(ends[2].round(3).tolist()), [(f.message, f.remedy) for f in told]

    on = 'drum = {{ part = "drum.toml", on = "{}" }}'
    at, ((message, remedy),) = drum('drum = "drum.toml"')
    assert at == [9, 17] and message.endswith("between them too: they are 12 mm apart")
    assert re.findall('"(.*?)" (between|outside)', remedy) == [
        ("near: bottom", "between"),
        ("near: top", "outside"),
    ]
    assert drum(on.format("near: bottom")) == ([-8, 0], [])
    assert drum(on.format("near: top")) == ([9, 17], [])
    at, ((message, remedy),) = drum(on.format("far: top"))
    assert at == [9, 17] and message.startswith("drum is not on far: top")
    assert remedy.endswith('on = "near: bottom"')


def test_bars_between_frames_stand_in_the_stack() -> None:
    assembly, notes = read_assembly(WINCH)
    found = judge(assembly, read_shop("metric"), notes)
    data = told(found)
    stack = data["stacks"][0]
    assert stack["members"] == ["left", "rear bar", "front bar", "top bar", "right"]
    assert (stack["height_mm"], stack["gaps_mm"]) == (62.7, [50])
    wheel = found.lays["wheel"].pose.seen_from(found.lays["left"].pose)
    assert -50 < wheel.shift_mm[2] <= 0  # between the frames: left's inside is at z 0


@pytest.mark.parametrize(
    ("old", "new", "kind"),
    [
        # the far plate the other way up: its second bore lies under the near plate's first
        ('into = "far: tie"', 'into = { holes = "far: tie", face = "bottom" }', "patterns-differ"),
        ('["near: shaft", "far: shaft"]', '["far: shaft", "near: shaft"]', "stack-order"),
    ],
)
def test_a_member_upside_down_is_told(tmp_path: Path, old: str, new: str, kind: str) -> None:
    text = PAIR.replace(old, new).replace('stack = "bores"\n', "", 1)
    found = pair(tmp_path, text.replace("shaft bores", "bores"))
    assert kind in {one.kind for one in found.findings if one.severity == "stop"}


def test_a_pilot_below_the_top_member_is_warned_of(tmp_path: Path) -> None:
    text = PAIR.replace('stack = "bores"\n', 'stack = "bores"\nleave = "pilot"\npilot = 5\n', 1)
    warned = [one for one in pair(tmp_path, text).findings if one.kind == "drill-follows"]
    assert [one.message.split(":")[0] for one in warned] == ["shaft bores"]


# ---------------------------------------------------------------- sheets of a stack


def status(arguments: list[str]) -> Any:
    with pytest.raises(SystemExit) as left:
        main(arguments)
    return left.value.code


def sheet(tmp_path: Path, *arguments: str, text: str = PAIR) -> Any:
    """The JSON that a command gives for the stack of the pair; its status and errors are none."""
    pair(tmp_path, text)
    out = tmp_path / "out.json"
    command, *more = arguments
    stack = ["--stack", "bores", "--format", "json", "-o", str(out), "--force"]
    assert status([command, str(tmp_path / "pair.toml"), *more, *stack]) == 0
    return json.loads(out.read_text().rpartition("}")[0] + "}")


def test_the_listing_of_a_stack_goes_through_every_layer(tmp_path: Path) -> None:
    """By hand: 30 through, the 118 deg point of 7.8 is 2.343 long, 1 beyond; the reamer's lead
    1 and 1 beyond. A scrap block fills the gap: each bite begins anew at 0, 9 and 21."""
    data = sheet(tmp_path, "listing")
    (setup,) = data["setups"]
    steps = setup["steps"]
    assert [(one["hole"], one["operation"]) for one in steps] == [
        ("shaft bores", "spot drill"),
        ("shaft bores", "drill"),
        ("shaft bores", "ream"),
        ("second bores", "spot drill"),
        ("second bores", "pilot drill"),
        ("second bores", "drill"),
        ("second bores", "ream"),
    ]
    drill, ream = steps[1], steps[2]
    assert {tuple(one["layers"]) for one in steps} == {("near", "far")}
    assert drill["z_exact_mm"] == pytest.approx(-(30 + 7.8 / 2 / math.tan(math.radians(59)) + 1))
    assert ream["z_exact_mm"] == -32
    assert {-9, -21} <= {*drill["pecks"]}
    assert abs(steps[3]["x"] - steps[0]["x"]) == 40


def test_a_program_for_a_stack_bores_every_member_where_its_own_file_has_it(tmp_path: Path) -> None:
    """The holes that the dry run finds, turned into the axes of both members, over an open gap."""
    text = PAIR.replace('stack = "bores"\n', 'stack = "bores"\ngap = "open"\n', 1)
    found = pair(tmp_path, text)
    program = tmp_path / "bores.nc"
    stack = [str(tmp_path / "pair.toml"), "--stack", "bores"]
    assert status(["program", *stack, "-o", str(program)]) == 0
    out = tmp_path / "run.json"
    run = ["dryrun", str(program), "--part", *stack, "--format", "json", "-o", str(out)]
    assert status(run) == 0
    made = json.loads(out.read_text().rpartition("}")[0] + "}")["holes"]
    prepared = prepare(part_or_stack(tmp_path / "pair.toml", "bores"))
    (setup_plan,) = prepared.plan.setups
    near = found.lays["near"].pose
    for name, other in (("near", ""), ("far", "far")):
        member = found.assembly.member(name).part
        pose = found.lays[name].pose.seen_from(near)
        for hole, bore in zip(member.holes[:2], made, strict=True):
            place = setup_plan.setup.to_part(np.array([[bore["x_mm"]], [bore["y_mm"]], [0.0]]))
            own = pose.placed(np.array([hole.centre_mm]).T)
            assert place[:2] == pytest.approx(own[:2], abs=0.0005), other
            assert bore["diameter_mm"] == hole.diameter_mm
            assert bore["bottom_mm"] < -30
    rapids = [line for line in program.read_text().splitlines() if line.startswith("G0 Z-")]
    assert "G0 Z-20.5" in rapids  # over the gap, not through it by feed


def test_the_dry_run_knows_where_there_is_no_gap(tmp_path: Path) -> None:
    """The same program on a stack whose gap is filled: its rapid goes into the block."""
    text = PAIR.replace('stack = "bores"\n', 'stack = "bores"\ngap = "open"\n', 1)
    pair(tmp_path, text)
    stack = [str(tmp_path / "pair.toml"), "--stack", "bores"]
    assert status(["program", *stack, "-o", str(tmp_path / "bores.nc")]) == 0
    pair(tmp_path)
    out = tmp_path / "run.json"
    run = [str(tmp_path / "bores.nc"), "--part", *stack, "--format", "json", "-o", str(out)]
    assert status(["dryrun", *run]) == 1
    found = json.loads(out.read_text().rpartition("}")[0] + "}")["findings"]
    assert "rapid-into-stock" in {one["kind"] for one in found if one["severity"] == "stop"}


@pytest.mark.parametrize("command", ["check", "tools", "dials", "inspect"])
def test_every_sheet_takes_a_stack(tmp_path: Path, command: str) -> None:
    sheet(tmp_path, command)


@pytest.mark.parametrize("arguments", [["bench", "bores.html"], ["drawing", "bores.pdf"]])
def test_so_do_page_and_drawing(tmp_path: Path, arguments: list[str]) -> None:
    pair(tmp_path)
    command, name = arguments
    stack = [str(tmp_path / "pair.toml"), "--stack", "bores", "-o", str(tmp_path / name)]
    assert status([command, *stack]) == 0


def test_a_stack_that_is_not_there_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pair(tmp_path)
    assert status(["listing", str(tmp_path / "pair.toml"), "--stack", "bearings"]) == 2
    assert 'there is no stack "bearings"' in capsys.readouterr().err


# ---------------------------------------------------------------- what goes wrong in a stack


def found(tmp_path: Path, shop: str = "", gap: str = "open", bar: int = 12) -> set[tuple[str, str]]:
    """What check says of the pair, over a gap, in a metric shop with some of it otherwise."""
    text = PAIR.replace('stack = "bores"\n', f'stack = "bores"\ngap = "{gap}"\n', 1)
    pair(tmp_path, text.replace('"near: tie", 12', f'"near: tie", {bar}').replace("x 30", "x 80"))
    (tmp_path / "shop.toml").write_text(f'base = "metric"\n{shop}')
    part = part_or_stack(tmp_path / "pair.toml", "bores")
    findings = prepare(part, tmp_path / "shop.toml", cures=False).findings
    return {(one.severity, one.kind) for one in findings if one.severity != "note"}


def test_a_reamer_too_short_for_the_gap_is_told(tmp_path: Path) -> None:
    """The reamer goes 32 deep. Of 70, 40 are held: it reaches 30; of 75 it reaches 35."""
    reamers = '[cabinet]\nreamers = [{{ size = "8 mm", length = {0} }}, "10 mm"]\n'
    assert ("stop", "stack-too-high") in found(tmp_path, reamers.format(70))
    assert ("stop", "stack-too-high") not in found(tmp_path, reamers.format(75))


def test_flutes_that_have_left_the_near_bore_guide_nothing(tmp_path: Path) -> None:
    """Flutes of 33 (DIN 212, 8 mm) over a gap of 32 and their lead of 1; a block guides them."""
    told = {("warning", "reamer-unguided"), ("warning", "drill-wanders")}
    assert told <= found(tmp_path, bar=32)
    assert not told & found(tmp_path, gap="scrap block", bar=32)
    assert ("warning", "reamer-unguided") not in found(tmp_path, bar=31)


def test_a_quill_that_does_not_reach_through(tmp_path: Path) -> None:
    """30 and the point of the 9.8 mm drill, 2.9, 1 beyond and 2 above: 36."""
    short, loses = "[mill]\nquill_travel = {0}\n", 'head_moves = "loses"\n'
    assert ("warning", "quill-too-short") in found(tmp_path, short.format(35))
    assert ("warning", "quill-too-short") not in found(tmp_path, short.format(36))
    assert ("stop", "quill-too-short") in found(tmp_path, short.format(35) + loses)


# ---------------------------------------------------------------- every slot of a stack is asked


SAID = ("stack-", "over-pins")


UNDER = PAIR.replace('["near: shaft", "far: shaft"]', '["far: shaft", "near: shaft"]').replace(
    '["near: second", "far: second"]', '["far: second", "near: second"]'
)
LOOSE = re.sub(r'\[\[joint\]\]\nname = "ties".*?(?=\[\[)', "", PAIR, flags=re.DOTALL)


@pytest.mark.parametrize(
    ("text", "count"),
    [(PAIR, 8), (PAIR.replace('stack = "bores"', OPEN, 1), 8), (UNDER, 8), (LOOSE, 6)],
    ids=["filled", "open", "turned over", "loose"],
)
def test_every_slot_of_a_stack_is_asked(tmp_path: Path, text: str, count: int) -> None:
    """Each slot of its sentences changed, and each sentence left out: the witness stops it."""
    pair(tmp_path, text)
    prepared = prepare(part_or_stack(tmp_path / "pair.toml", "bores"), cures=False)
    wanted = SHEETS["listing"](prepared, Asked())
    document = wanted.lay_out()[0]
    assert not is_stopped(wanted, document, "text")
    slugs = [one.slug for one in sentences_of(document) if one.slug.startswith(SAID)]
    assert len(slugs) == count
    for slug in slugs:
        assert is_stopped(wanted, without(document, slug), "text"), slug
    for slug, slot in slots_in(document):
        if slug.startswith(SAID):
            changed = with_slot_changed(document, slug, slot)
            assert is_stopped(wanted, changed, "text"), (slug, slot)


def test_straps_and_lining_up_are_on_the_card_that_sets_up(tmp_path: Path) -> None:
    pair(tmp_path)
    prepared = prepare(part_or_stack(tmp_path / "pair.toml", "bores"), cures=False)
    document = SHEETS["listing"](prepared, Asked()).lay_out()[0]
    hold, *rest = cards_of(document, document)[0].cards
    for words in ("strap 1: over", "line it up first"):
        assert any(line.mm.startswith(words) for line in hold.lines)
        assert not any(line.mm.startswith(words) for card in rest for line in card.lines)


def test_the_layers_of_a_step_are_asked(tmp_path: Path) -> None:
    pair(tmp_path)
    prepared = prepare(part_or_stack(tmp_path / "pair.toml", "bores"), cures=False)
    wanted = SHEETS["listing"](prepared, Asked())
    text = wanted.written(wanted.lay_out()[0], "json")
    assert isinstance(text, str)
    faulty = text.replace('"layers": [', '"layers": ["drum",')
    assert faulty != text
    assert has_stop(wanted.disagreements(faulty.encode(), "json", "the sheet"))
    assert not has_stop(wanted.disagreements(text.encode(), "json", "the sheet"))


def test_heads_under_a_stack_want_higher_packing(tmp_path: Path) -> None:
    """Turned over: the heads of M4 screws, 4 high, are under it."""
    for packing_mm, is_told in ((3, True), (4, False)):
        setup = f'setup = {{ hold = "straps", packing = {packing_mm} }}'
        pair(tmp_path, UNDER.replace('stack = "bores"', f'stack = "bores"\n{setup}', 1))
        findings = prepare(part_or_stack(tmp_path / "pair.toml", "bores"), cures=False).findings
        assert ("heads-under" in {one.kind for one in findings}) == is_told


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"to_mm": 30', '"to_mm": 31'),
        ('"height_mm": 30', '"height_mm": 18'),
        ('"near",\n        "far"', '"near",\n        "disc"'),
        ('"name": "second bores",\n          "layers"', '"name": "third",\n          "layers"'),
    ],
)
def test_a_report_with_another_stack_is_refused(tmp_path: Path, old: str, new: str) -> None:
    found = pair(tmp_path)
    data = (report(found, "json").data or b"").decode()
    before, after = data.split('"stacks"')
    assert old in after
    faulty = f'{before}"stacks"{after.replace(old, new, 1)}'.encode()
    lie = places_of(found)
    told = check_assembly(faulty, "json", found.assembly, found.findings, lie, file="the report")
    assert has_stop(told)


def test_straps_stand_over_what_holds_the_members_apart(tmp_path: Path) -> None:
    """By themselves over two of the four ties, 8 from the edges; where the file has them else, over
    the gap, is told."""
    part_file = tmp_path / "pair.toml"
    pair(tmp_path)
    prepared = prepare(part_or_stack(part_file, "bores"), cures=False)
    strapped = prepared.plan.setups[0].holding.strapped
    assert strapped is not None
    assert all({*strap.toe_mm} <= {8.0, 42.0, 72.0} for strap in strapped.straps)
    assert "strap-over-gap" not in {one.kind for one in prepared.findings}
    setup = 'setup = { hold = "straps", straps = [{ at = [8, 8] }, { at = [72, 25] }] }'
    pair(tmp_path, PAIR.replace('stack = "bores"', f'stack = "bores"\n{setup}', 1))
    told = prepare(part_or_stack(part_file, "bores"), cures=False).findings
    assert [one.kind for one in told].count("strap-over-gap") == 1


def test_bars_that_do_not_fill_the_gap_are_told_and_keep_no_report_back(tmp_path: Path) -> None:
    """The foot holds the frames 50 apart, bars of 45 do not reach: the screws say other than the
    lays, and the report says both."""
    for file in WINCH.parent.glob("*.toml"):
        text = file.read_text().replace("length   = 50", "length   = 45")
        (tmp_path / file.name).write_text(text)
    assembly, notes = read_assembly(tmp_path / "winch.toml")
    found = judge(assembly, read_shop("metric"), notes)
    assert {one.kind for one in found.findings if one.kind == "faces-apart"}
    assert told(found)["stacks"][0]["gaps_mm"] == [50]
