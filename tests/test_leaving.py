"""What a part's own sheets leave for later: the assembly says so, the sheets keep to it, and the
witness refuses one that does not. Figures by hand: 12 mm bore, 6 mm pilot; frame 6 mm thick."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import replace
from millprep.cli import main
from millprep.matching.match import Match
from millprep.proven.dryrun import dry_run
from millprep.proven.matched import match_sheet
from millprep.proven.preparation import Prepared, prepare
from millprep.proven.program import programs
from millprep.proven.sheets import SHEETS, Asked, prove

FRAME = """part = "Frame"
units = "mm"
material = "mild steel"
[stock]
size = [80, 60, 6]
[datum]
x = "left"
y = "front"
[[hole]]
name = "bar screw"
clear = "M5"
at = [[8, 8], [72, 8]]
depth = "through"
[[hole]]
name = "shaft"
ream = "12 mm"
fit = "H8"
at = [30, 35]
depth = "through"
[[hole]]
name = "pinion"
ream = "8 mm"
fit = "H8"
from = "shaft"
at = [20, 0]
depth = "through"
[[hole]]
name = "foot screw"
face = "front"
tap = "M3"
at = [[20, 3], [60, 3]]
depth = 8
"""
FOOT = """part = "Foot"
units = "mm"
material = "mild steel"
[stock]
size = [80, 40, 8]
[datum]
x = "left"
y = "front"
[[hole]]
name = "frame screw"
clear = "M3"
at = [[20, 5], [60, 5]]
depth = "through"
"""
JOB = """assembly = "Winch"
[members]
left = "frame.toml"
right = "other.toml"
foot = "foot.toml"
[[joint]]
name = "foot screws"
screw = "M3 x 12 socket head"
through = "foot: frame screw"
into = "left: foot screw"
carried = { from = "foot", by = "spotted through" }
after = "bearings"
[[reamed_together]]
name = "shaft bores"
stack = "bearings"
holes = ["left: shaft", "right: shaft"]
leave = { left = "pilot" }
pilot = "6 mm"
[[reamed_together]]
name = "pinion bores"
stack = "bearings"
holes = ["left: pinion", "right: pinion"]
leave = { left = "spotted" }
"""


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The files of a job; the folder is that of the test."""
    for name, text in {"frame": FRAME, "foot": FOOT, "winch": JOB}.items():
        (tmp_path / f"{name}.toml").write_text(text)
    (tmp_path / "other.toml").write_text('opposite_hand_of = "frame.toml"\n')
    monkeypatch.chdir(tmp_path)
    return tmp_path / "frame.toml"


def operations(prepared: Prepared) -> dict[str, list[str]]:
    """What is done at each hole, with the size of the drill."""
    done: dict[str, list[str]] = {}
    for setup in prepared.plan.setups:
        for one in setup.operations:
            words = f"{one.name} {one.tool.diameter_mm:g}" if one.name == "drill" else one.name
            done.setdefault(one.hole.name, []).append(words)
    return done


def test_a_part_makes_its_holes_as_far_as_the_assembly_says(job: Path) -> None:
    made = operations(prepare(job))
    assert made == {
        "bar screw 1": ["spot drill", "drill 5.5"],
        "bar screw 2": ["spot drill", "drill 5.5"],
        "shaft": ["spot drill", "drill 6"],
        "pinion": ["spot drill"],
    }
    other = operations(prepare(job.with_name("other.toml")))
    assert sorted(other) == ["bar screw 1", "bar screw 2", "foot screw 1", "foot screw 2"]
    whole = operations(prepare(job, assembly="none"))
    assert whole["shaft"][-1] == whole["pinion"][-1] == "ream"
    assert whole["foot screw 1"][-1] == "tap"


@pytest.mark.parametrize("sheet", sorted(SHEETS))
def test_every_sheet_leaves_them_and_its_witness_agrees(job: Path, sheet: str) -> None:
    prepared = prepare(job)
    for form in SHEETS[sheet].forms:
        handed = prove(sheet, prepared, form)
        assert handed.data is not None, [one.message for one in handed.findings]
        assert b"foot screw" in handed.data or sheet == "tools" or form == "csv" or form == "pdf"


def test_the_end_of_a_listing_tells_what_is_left_and_for_which_step(job: Path) -> None:
    text = (prove("listing", prepare(job)).data or b"").decode()
    left = " ".join(text.partition("\nLEFT ")[2].partition("ASSUMED")[0].split())
    assert left == (
        'shaft: piloted, 6 mm; reamed in stack "bearings" (winch.toml) '
        'pinion: spotted only; reamed in stack "bearings" (winch.toml) '
        "foot screw 1, foot screw 2: undrilled; spotted through foot, after stack "
        '"bearings" (winch.toml)'
    )
    assert "DONE    2 of 4 holes, 2 begun, 7 steps." in text


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("shaft", "the reamer of a hole that a stack reams"),
        ("pinion", "a drill where a spot is all"),
        ("foot screw", "a hole that is carried over"),
    ],
)
def test_a_sheet_that_makes_more_than_the_assembly_leaves_it_is_refused(
    job: Path, name: str, fault: str
) -> None:
    """Planned as if that hole were not left; the witness knows that it is."""
    prepared = prepare(job)
    part = prepared.whole.part
    kept = tuple(one for one in part.left if not one.hole.startswith(name))
    broken = prepare(replace(part, left=kept))
    for sheet in ("listing", "tools", "markout"):
        if (sheet, name) in (("markout", "shaft"), ("markout", "pinion")):
            continue  # its lines are the same
        refused = prove(sheet, replace(broken, asked=prepared.asked))
        assert refused.data is None, (sheet, fault)


def test_left_on_a_sheet_is_compared(job: Path) -> None:
    """A sheet that names another step, or leaves one out, is refused."""
    prepared = prepare(job)
    asked = prepared.asked
    other = replace(asked.left[0], later='reamed in stack "other"')
    for left in ((other, *asked.left[1:]), asked.left[1:], (*asked.left, asked.left[0])):
        held = replace(prepared, asked=replace(asked, left=tuple(left)))
        for sheet in ("listing", "dials", "markout"):
            assert prove(sheet, held).data is None


def test_a_program_leaves_them_out_and_a_dry_run_judges_by_it(job: Path) -> None:
    made = programs(job, file="p.nc")
    (one,) = made.files
    ran = dry_run([("p.nc", one.data)], job)
    assert not [f for f in ran.findings if f.severity == "stop"]
    whole = dry_run([("p.nc", one.data)], job, assembly="none")
    assert "operation-missing" in {f.kind for f in whole.findings if f.severity == "stop"}
    entire = programs(job, file="p.nc", assembly="none")
    reamed = dry_run([("p.nc", entire.files[0].data)], job, setup=1)
    assert {"shaft", "pinion"} <= {
        h for f in reamed.findings if f.severity == "stop" for h in f.holes
    }


def test_carried_over_a_hole_is_finished_in_the_parts_own_sheet(job: Path) -> None:
    prepared = prepare(job, only="foot screw")
    made = operations(prepared)
    assert made["foot screw 1"] == ["drill 2.5", "tap"]  # the spot is there
    text = (prove("listing", prepared, asked=Asked(only="foot screw")).data or b"").decode()
    above, _, below = " ".join(text.split()).partition("[ ] 1 ")
    assert "GO ON foot screw 1, foot screw 2: spotted through foot" in above
    assert "go on from the spot that is there" in above
    assert "excerpt: 4 of 4 steps. " in below
    assert "LEFT " not in below  # an excerpt tells of its own holes
    asked = prepared.asked
    marked = tuple(replace(one, is_spotted=False) for one in asked.left)
    for sheet in ("listing", "dials"):
        assert prove(sheet, prepared).data
        assert prove(sheet, replace(prepared, asked=replace(asked, left=marked))).data is None
    with pytest.raises(MillprepError, match='shaft is reamed in stack "bearings"'):
        prepare(job, only="shaft")
    punched = JOB.replace("spotted through", "transfer punch")
    (job.parent / "winch.toml").write_text(punched)
    made = operations(prepare(job, only="foot screw 2"))
    assert made["foot screw 2"] == ["spot drill", "drill 2.5", "tap"]  # only a mark is there


def test_what_is_left_is_not_drilled_by_a_fit(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bores of a stack are named, and stand in no row; a sheet that has them is refused."""
    readings = job.with_name("measured.csv")
    readings.write_text("hole,x,y\nbar screw 1,8.05,8\nbar screw 2,72.05,8.02\n")
    text = (match_sheet(job, readings).data or b"").decode()
    assert "pinion" not in text[text.index("DRILL") : text.index("DONE")]
    names = "not drilled here: shaft, pinion, foot screw 1, foot screw 2"
    assert names in " ".join(text.split())
    whole = (match_sheet(job, readings, assembly="none").data or b"").decode()
    assert "[+] pinion" in whole
    monkeypatch.setattr(Match, "drilled", property(lambda one: one.holes))
    assert match_sheet(job, readings).data is None
    monkeypatch.undo()
    readings.write_text("hole,x,y\nfoot screw 1,20,3\nfoot screw 2,60,3\n")
    text = (match_sheet(job, readings, setup=2).data or b"").decode()
    assert "[ ] foot screw 1" in text  # measured on the mate instead of carried over


def run(*arguments: object) -> int | str | None:
    """The exit status of a command."""
    with pytest.raises(SystemExit) as ended:
        main([str(one) for one in arguments])
    return ended.value.code


def told(findings: tuple[Finding, ...], kind: str) -> list[str]:
    return [f"{one.severity}: {one.message}" for one in findings if one.kind == kind]


def test_one_line_says_which_assembly_was_asked(job: Path) -> None:
    assert told(prepare(job).findings, "left-for-later") == [
        "note: winch.toml leaves 4 holes of this part for later"
    ]
    assert not told(prepare(job.with_name("foot.toml")).findings, "left-for-later")
    assert not told(prepare(job, assembly="none").findings, "left-for-later")
    with pytest.raises(MillprepError, match="does not name foot"):
        (job.parent / "alone.toml").write_text(JOB.replace('foot = "foot.toml"', ""))
        prepare(job.with_name("foot.toml"), assembly="alone.toml")


def test_where_assemblies_differ_the_hole_is_left_undrilled(job: Path) -> None:
    """What is silent about a hole does not differ; one that cannot be read is a warning."""
    (job.parent / "second.toml").write_text(JOB.replace('leave = { left = "spotted" }\n', ""))
    (job.parent / "silent.toml").write_text(JOB.partition("[[reamed")[0].replace("after =", "# "))
    (job.parent / "broken.toml").write_text(JOB.replace('"left: shaft"', '"left: shft"'))
    prepared = prepare(job)
    assert "pinion" not in operations(prepared)
    assert operations(prepared)["shaft"] == ["spot drill", "drill 6"]
    (warning,) = told(prepared.findings, "assemblies-differ")
    assert warning == (
        'warning: hole pinion: second.toml has it undrilled, reamed in stack "bearings", '
        'winch.toml has it spotted, reamed in stack "bearings": it is left undrilled'
    )
    (unread,) = told(prepared.findings, "unreadable-file")
    assert unread.startswith("warning: broken.toml names this part and cannot be read (broken.toml")
    assert prove("listing", prepared).data is not None
    with pytest.raises(MillprepError):
        prepare(job, assembly="broken.toml")


def test_walls_are_judged_on_the_part_as_it_will_be(job: Path) -> None:
    """A bore that is left for the stack still takes its wall from the screw beside it."""
    job.write_text(FRAME.replace("at = [30, 35]", "at = [8, 17]"))
    walls = [set(f.holes) for f in prepare(job).findings if f.kind == "thin-wall"]
    assert {"bar screw 1", "shaft"} in walls


def test_a_second_pilot_in_a_stack_is_a_warning(job: Path, capsys: pytest.CaptureFixture) -> None:
    (job.parent / "winch.toml").write_text(JOB.replace('{ left = "pilot" }', '"pilot"'))
    run("assembly", "winch.toml", "--format", "json")
    found = json.loads(capsys.readouterr().out)["findings"]
    (follows,) = (one for one in found if one["kind"] == "drill-follows")
    assert follows["severity"] == "warning"
    assert follows["message"].startswith("shaft bores: right is left with a pilot below left")
    assert follows["remedy"] == 'leave = { "left" = "pilot" }'


def test_a_drawing_and_an_inspection_are_of_the_whole_part(job: Path, tmp_path: Path) -> None:
    assert run("drawing", job, "-o", "d.svg") == 0
    drawn = (tmp_path / "d-setup1.svg").read_text()
    assert "pilot 6 mm" in drawn
    assert "bearings" in drawn
    assert run("inspect", job, "-o", "i.txt") == 0
    sheet = " ".join((tmp_path / "i.txt").read_text().split())
    assert 'shaft, pinion: measure after it is reamed in stack "bearings" (winch.toml)' in sheet


def test_of_a_part_whose_holes_all_wait_there_is_no_sheet_yet(job: Path) -> None:
    foot = JOB.replace('from = "foot", by = "spotted through"', 'from = "left", by = "readings"')
    (job.parent / "winch.toml").write_text(foot)
    handed = prove("listing", prepare(job.with_name("foot.toml")))
    assert handed.data is None
    assert told(handed.findings, "left-for-later")[-1] == (
        "stop: nothing is made of it now: its holes are spotted at the readings of left, after "
        'stack "bearings"'
    )
