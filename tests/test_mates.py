"""Readings of another part of an assembly: whose they are, and which hole lies over which."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from millprep.assembly.mates import mate_of
from millprep.base.findings import MillprepError
from millprep.proven.assembly import judged
from millprep.proven.matched import match_sheet

WINCH = Path("parts/winch/winch.toml")


def readings(folder: Path, name: str, *rows: str) -> Path:
    path = folder / name
    path.write_text("\n".join(("hole,x,y", *rows, "")))
    return path


def test_holes_in_line_are_found_whatever_they_are_called() -> None:
    """By the file: screws 1 and 2 of the foot go into the left frame, 3 and 4 into the right."""
    names = [f"frame screw {n}" for n in (1, 2, 3, 4)]
    for side, screws in (("left", (1, 2)), ("right", (3, 4))):
        mate = mate_of(judged(WINCH), f"frame-{side}.toml", "read.csv", names)
        assert mate.file == "foot.toml"
        assert set(mate.own) == {f"frame screw {n}" for n in screws}
        assert sorted(mate.own.values()) == ["foot screw 1", "foot screw 2"]
        assert set(mate.apart) == {*names} - {*mate.own}


def test_the_other_hand_is_placed_by_the_first(tmp_path: Path) -> None:
    """The left frame is 0.1 mm off to the right and 0.05 away: the right one follows."""
    rows = [f"bar screw {n},{x + 0.1:.3f} mm,{y + 0.05:.3f} mm" for n, x, y in (
        (1, 9.525, 9.525), (2, 92.075, 9.525), (3, 82.55, 66.675),
    )]  # fmt: skip
    measured = readings(tmp_path, "frame-left.csv", *rows)
    handed = match_sheet(
        Path("parts/winch/frame-right.toml"), measured, form="json", mate=WINCH, units="mm"
    )
    assert handed.data is not None
    told = json.loads(handed.data)
    assert told["mirrored"] is True
    assert max(told["residuals_mm"].values()) < 0.001
    assert [one.kind for one in handed.findings].count("which-is-which") == 1


@pytest.mark.parametrize(
    ("file", "row", "message"),
    [
        ("read.csv", "no such hole,1,2", "no part of Bench winch has all of no such hole"),
        ("read.csv", "bore,1,2", "may be of"),
        ("pawl.csv", "pivot,1,2", "no hole that was measured in pawl.toml lies over one"),
    ],
)
def test_readings_that_belong_nowhere(tmp_path: Path, file: str, row: str, message: str) -> None:
    with pytest.raises(MillprepError, match=message):
        match_sheet(Path("parts/winch/foot.toml"), readings(tmp_path, file, row), mate=WINCH)


def test_a_part_that_is_none_of_the_assembly(tmp_path: Path) -> None:
    other = tmp_path / "foot.toml"
    shutil.copy("parts/winch/foot.toml", other)
    measured = readings(tmp_path, "read.csv", "foot screw 1,1,2")
    with pytest.raises(MillprepError, match="is no part of Bench winch"):
        match_sheet(other, measured, mate=WINCH)
