"""The rest of a part moved to fit holes that are drilled and measured. The place of each by hand:
a shift, and a turn of 1 in 1000 about X0 Y0, which takes (x, y) to (x - y/1000, y + x/1000)."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest

from millprep.base.findings import MillprepError, WordError
from millprep.base.records import replace
from millprep.cli import main
from millprep.proven.dryrun import dry_run
from millprep.proven.files import load
from millprep.proven.preparation import ToFit, moved, prepare
from millprep.proven.program import programs
from millprep.proven.sheets import prove

PLATE = """part = "Plate"
units = "mm"
material = "mild steel"
[stock]
size = [100, 60, 8]
[datum]
x = "left"
y = "front"
[[setup]]
face = "top"
towards_you = "front"
zero = { x = "left", y = "front" }
[[hole]]
name = "foot"
clear = "M5"
corners = { inset = 10 }
depth = "through"
[[hole]]
name = "pivot"
ream = 6
at = [50, 30]
depth = "through"
[[hole]]
name = "close"
drill = 4
at = [70, 40]
tolerance = 0.05
depth = "through"
[[hole]]
name = "side"
face = "front"
drill = 3
at = [50, 4]
depth = 10
"""
TURNED = "hole,x,y\nfoot 1,9.99,10.01\nfoot 2,89.99,10.09\nfoot 4,,\n"
"""Shifted by nothing, turned by 1 in 1000: foot 1 at (10, 10), foot 2 at (90, 10)."""


@pytest.fixture
def plate(tmp_path: Path) -> Path:
    (tmp_path / "plate.toml").write_text(PLATE)
    return tmp_path / "plate.toml"


def fitted(plate: Path, text: str, most: str | None = None) -> ToFit:
    file = plate.with_name("read.csv")
    file.write_text(text)
    return ToFit(file, most)


def places(prepared: object) -> dict[str, tuple[float, float]]:
    """X and Y of each hole of the face that is up, in setup axes."""
    (top,) = (one for one in prepared.plan.setups if one.setup.face == "top")
    return {one.hole.name: (round(one.x_mm, 3), round(one.y_mm, 3)) for one in top.operations}


def test_what_is_not_named_follows_the_turn_and_what_is_named_stays(plate: Path) -> None:
    before = places(prepare(plate))
    after = places(prepare(plate, fitted=fitted(plate, TURNED, "0.2 mm")))
    assert after["foot 3"] == (89.95, 50.09)
    assert after["pivot"] == (49.97, 30.05)
    assert after["close"] == (69.96, 40.07)
    # measured, or drilled without being measured: none of them is entered again
    assert before.keys() - after.keys() == {"foot 1", "foot 2", "foot 4"}
    side = next(
        h for h in prepare(plate, fitted=fitted(plate, TURNED, "1")).part.holes if h.name == "side"
    )
    assert side.centre_mm == (50, 0, 4)  # of another face
    assert plate.read_text() == PLATE


def test_one_hole_shows_no_turn_and_a_hole_read_from_below_corrects_none(plate: Path) -> None:
    prepared = prepare(plate, fitted=fitted(plate, "hole,x,y\nfoot 1,10.03,9.98\n"))
    assert places(prepared)["pivot"] == (50.03, 29.98)
    (told,) = [f for f in prepared.findings if f.kind == "moved-to-fit" and f.severity == "warning"]
    assert "one hole shows no turn" in told.message
    handed = prove("listing", prepared)
    assert handed.data is not None
    assert b"not corrected: one hole shows no turn" in b" ".join(handed.data.split())


def test_never_by_more_than_its_tolerance_or_half_a_millimetre_without_a_word(plate: Path) -> None:
    """close moves by (0.04, 0.07), more than its 0.05 each way; the others by less than 0.5."""
    (stop,) = [
        f for f in prepare(plate, fitted=fitted(plate, TURNED)).findings if f.severity == "stop"
    ]
    assert (stop.kind, stop.holes) == ("moved-too-far", ("close",))
    far = "hole,x,y\nfoot 1,10.6,10\nfoot 2,90.6,10\n"
    (stop,) = [
        f for f in prepare(plate, fitted=fitted(plate, far)).findings if f.severity == "stop"
    ]
    assert set(stop.holes) == {"foot 3", "foot 4", "pivot", "close"}
    word = stop.remedy.partition('"')[2].strip('"')
    agreed = prepare(plate, fitted=fitted(plate, far, word))
    assert not [f for f in agreed.findings if f.severity == "stop"]


def test_check_runs_again_on_the_moved_holes(plate: Path) -> None:
    """foot 3 is 7.25 mm from RIGHT and BACK; moved by 7 it has no wall."""
    far = "hole,x,y\nfoot 1,17,17\nfoot 2,97,17\n"
    found = prepare(plate, fitted=fitted(plate, far, "20 mm")).findings
    assert any(f.kind == "thin-wall" and f.holes == ("foot 3",) for f in found)


def test_every_sheet_is_witnessed_and_a_hole_moved_otherwise_is_refused(plate: Path) -> None:
    asked = fitted(plate, TURNED, "0.2")
    prepared = prepare(plate, fitted=asked)
    for sheet in ("listing", "dials", "bench", "markout"):
        assert prove(sheet, prepared).data is not None
    text = " ".join((prove("listing", prepared).data or b"").decode().split())
    assert "pivot: X -0.030 Y 0.050 from the drawing" in text
    assert "taken as drilled, not entered again: foot 1, foot 2, foot 4 (read.csv)" in text
    held = prepared.asked
    off = replace(
        held,
        holes=tuple(
            replace(h, centre_mm=(h.centre_mm[0] + 0.01, *h.centre_mm[1:]))
            if h.name == "pivot"
            else h
            for h in held.holes
        ),
    )
    for sheet in ("listing", "markout"):
        assert prove(sheet, replace(prepared, asked=off)).data is None
    assert held.as_measured is not None
    less = replace(held, as_measured=replace(held.as_measured, moved=held.as_measured.moved[1:]))
    fewer = replace(held, as_measured=replace(held.as_measured, drilled=("foot 1",)))
    for one in (less, fewer, replace(held, as_measured=None)):
        assert prove("listing", replace(prepared, asked=one)).data is None


def test_writer_and_witness_move_by_their_own_sums(plate: Path) -> None:
    part, shop, _ = load(plate, "metric")
    made, held, _ = moved(part, shop, fitted(plate, TURNED, "1"))
    for one, other in zip(made.holes, held.holes, strict=True):
        assert one.centre_mm == pytest.approx(other.centre_mm, abs=1e-9)


def test_a_program_and_its_dry_run_go_by_the_readings(plate: Path) -> None:
    asked = fitted(plate, TURNED, "0.2")
    (first, *_) = programs(plate, file=plate.with_name("p.nc"), fitted=asked).files
    run = [("p.nc", first.data)]
    assert not [f for f in dry_run(run, plate, fitted=asked).findings if f.severity == "stop"]
    off = [f for f in dry_run(run, plate).findings if f.severity == "stop"]
    assert {h for f in off for h in f.holes} >= {"foot 3", "close"}


def test_a_named_hole_is_in_no_step_and_no_program(plate: Path) -> None:
    """The readings are those of the drawing: nothing moves, and what is named is left out."""
    asked = fitted(plate, "hole,x,y\nfoot 1,10,10\nfoot 2,90,10\nfoot 4,,\n")
    prepared = prepare(plate, fitted=asked)
    done = {"foot 1", "foot 2", "foot 4"}
    for form in ("json", "csv", "html"):
        assert prove("listing", prepared, form).data is not None
    setups = json.loads(prove("listing", prepared, "json").data or b"")["setups"]
    text = (prove("listing", prepared).data or b"").decode()
    assert "3 of 3 holes" in text
    assert all(name not in text.split("SHIFTED")[1].split("TOOL", 1)[1] for name in done)
    assert setups[0]["shifted"][0]["holes"] == ["foot 1", "foot 2", "foot 4"]
    for sheet in ("listing", "dials", "bench", "markout"):
        entered = prove(sheet, replace(prepared, plan=prepared.whole, part=prepared.whole.part))
        assert entered.data is None, sheet
    (first, *_) = programs(plate, file=plate.with_name("p.nc"), fitted=asked).files
    assert (first.holes, b"HOLES MOVED TO FIT READ.CSV" in first.data) == (3, True)
    entering = programs(plate, file=plate.with_name("p.nc")).files[0].data
    stops = [
        f
        for f in dry_run([("p.nc", entering)], plate, fitted=asked).findings
        if f.severity == "stop"
    ]
    assert {f.kind for f in stops} == {"hole-extra"}
    told = dry_run([("p.nc", first.data)], plate).findings
    assert any(f.kind == "other-revision" and "moved to fit" in f.message for f in told)
    with pytest.raises(MillprepError, match="taken as drilled"):
        prepare(plate, fitted=asked, only="foot 1")


def test_all_drilled_leaves_nothing_to_show(plate: Path) -> None:
    plate.write_text(PLATE.partition('[[hole]]\nname = "side"')[0])
    named = "foot 3,,\nfoot 4,,\npivot,,\nclose,,\n"
    asked = fitted(plate, f"hole,x,y\nfoot 1,10,10\nfoot 2,90,10\n{named}")
    prepared = prepare(plate, fitted=asked)
    none = programs(plate, file=plate.with_name("p.nc"), fitted=asked)
    assert not none.files
    assert any(f.severity == "stop" for f in none.findings)
    handed = prove("listing", prepared)
    assert handed.data is None
    assert any("as drilled" in f.message for f in handed.findings if f.severity == "stop")


def test_a_reading_misread_by_a_millimetre_is_told(plate: Path) -> None:
    """foot 3 at 49 for 50: less than half a millimetre of it is left by the fit."""
    (plate.parent / "right.toml").write_text('opposite_hand_of = "plate.toml"\nmirror = "x"\n')
    text = "hole,x,y\nfoot 1,10.08,10.03\nfoot 2,90.12,9.95\nfoot 3,90.03,49.11\n"
    for part in (plate.with_name("right.toml"), plate):
        found = prepare(part, fitted=fitted(plate, text, "1")).findings
        (told,) = [f for f in found if f.kind == "mate-does-not-fit"]
        assert (told.severity, "millprep match" in told.remedy) == ("warning", True)


@pytest.mark.parametrize("most", ["-1", "-0.2 mm"])
def test_less_than_nothing_is_no_limit(plate: Path, most: str) -> None:
    with pytest.raises(WordError, match="less than nothing"):
        prepare(plate, fitted=fitted(plate, TURNED, most))


def status(arguments: list[str]) -> object:
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    return ended.value.code


def test_the_commands_told_name_the_readings_too(
    plate: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = fitted(plate, TURNED)
    output = str(plate.with_name("p.nc"))
    given = ["--as-measured", str(asked.file), "--most-move", "0.2 mm"]
    assert status(["program", str(plate), "-o", output, *given]) == 0
    told = capsys.readouterr().err
    for command in ("millprep check", "millprep dryrun"):
        words = told.partition(f"({command}")[2].partition(")")[0].split("; ")[0]
        assert "--as-measured" in words
        assert status(shlex.split(f"{command}{words}")[1:]) == 0


def test_a_bore_of_a_stack_never_moves(plate: Path) -> None:
    (plate.parent / "other.toml").write_text(PLATE)
    (plate.parent / "job.toml").write_text(
        """assembly = "Job"
[members]
one = "plate.toml"
two = "other.toml"
[[reamed_together]]
name = "pivots"
holes = ["one: pivot", "two: pivot"]
leave = { one = "pilot" }
pilot = 4
"""
    )
    after = places(prepare(plate, fitted=fitted(plate, TURNED, "0.2")))
    assert after["pivot"] == (50, 30)
    assert after["foot 3"] == (89.95, 50.09)


def test_of_a_mate_of_the_other_hand_the_holes_measured_are_placed(plate: Path) -> None:
    """Read on the other hand from its own corner: foot 1 is 0.1 too far from it."""
    (plate.parent / "right.toml").write_text('opposite_hand_of = "plate.toml"\nmirror = "x"\n')
    right = plate.with_name("right.toml")
    text = "hole,x,y\nfoot 1,10.1,10\nfoot 2,90,10\nfoot 3,90,50\nfoot 4,10,50\n"
    prepared = prepare(right, fitted=fitted(plate, text))
    before, after = places(prepare(right)), places(prepared)
    assert after["foot 1"][0] != before["foot 1"][0]
    assert after["pivot"] == before["pivot"]
    assert prove("listing", prepared).data is not None


def test_what_cannot_be_judged_is_refused(plate: Path) -> None:
    with pytest.raises(MillprepError, match="no hole has its place"):
        prepare(plate, fitted=fitted(plate, "hole,x,y\nfoot 1,,\n"))
    data = prove("listing", prepare(plate, fitted=fitted(plate, TURNED, "0.2")), "json").data
    setups = json.loads(data or b"")["setups"]
    assert [one["hole"] for one in setups[0]["shifted"] if "hole" in one] == [
        "foot 3",
        "pivot",
        "close",
    ]


def test_a_drawing_shows_the_holes_where_they_are_moved(plate: Path) -> None:
    """Pivot at (49.97, 30.05) on the sheet; its note and the drawing's words name the readings."""
    read, page = fitted(plate, TURNED).file, plate.with_name("plate.svg")
    whole = ["drawing", str(plate), "--setup", "1", "-o", str(page), "--force"]
    for more, is_moved in (
        (["--as-measured", str(read), "--most-move", "0.2 mm"], True),
        ([], False),
    ):
        with pytest.raises(SystemExit) as left:
            main([*whole, *more])
        assert left.value.code == 0
        drawn = page.read_text()
        assert ("moved to fit read.csv" in drawn, "49.97" in drawn) == (is_moved, is_moved)
