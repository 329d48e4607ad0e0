"""What hangs on a part file is found by what the files of its folder say, and by their marks."""

from __future__ import annotations

import shutil
from pathlib import Path

from jobs import millprep

from millprep.proven.hanging import what_hangs_on

PARTS = Path(__file__).parent.parent / "parts"


def test_other_hands_patterns_assemblies_and_sheets_are_named(tmp_path: Path) -> None:
    for name in ("frame-left", "frame-right", "wheel", "drum", "winch"):
        shutil.copy(PARTS / "winch" / f"{name}.toml", tmp_path)
    frame, wheel = tmp_path / "frame-left.toml", tmp_path / "wheel.toml"
    (tmp_path / "slip.toml").write_text("not TOML", encoding="utf-8")
    for file in ("listing.txt", "listing.pdf"):
        assert millprep("listing", str(wheel), "-o", str(tmp_path / file)).status == 0
    listing = (tmp_path / "listing.txt").read_bytes()
    (tmp_path / "edited.txt").write_bytes(listing + b"mine")
    files = sorted(tmp_path.iterdir())

    assert [(one.kind, one.file.name, one.words) for one in what_hangs_on(frame, files)] == [
        ("other hand", "frame-right.toml", "Frame, right follows it"),
        ("assembly", "winch.toml", "Bench winch assembly uses it"),
    ]
    found = what_hangs_on(wheel, files)
    stamp = found[-1].stamp
    assert len(stamp) == 6 and f"part mark {stamp}".encode() in listing
    assert [(one.kind, one.file.name, one.words) for one in found] == [
        ("pattern", "drum.toml", 'Drum takes the places of "drum screw"'),
        ("assembly", "winch.toml", "Bench winch assembly uses it"),
        ("sheet", "listing.pdf", f"listing printed of stamp {stamp}: listing.pdf"),
        ("sheet", "listing.txt", f"listing printed of stamp {stamp}: listing.txt"),
    ]
    assert what_hangs_on(tmp_path / "winch.toml", files) == ()
