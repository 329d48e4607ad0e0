"""Materials whose fine swarf burns: what to mind stands on every sheet and in every program."""

from __future__ import annotations

from pathlib import Path

import pytest
from jobs import millprep, part_text

HOLES = '[[hole]]\nname = "a"\ntap = "M5"\nat = [20, 20]\ndepth = "through"\n'
MIND = ("Dry", "fine swarf", "No water on a fire", "dry sand at hand")


@pytest.mark.parametrize(
    "sheet", ["listing", "dials", "markout", "tools", "inspect", "bench", "program"]
)
def test_magnesium_is_minded(in_folder: Path, sheet: str) -> None:
    """Dry, sharp, no fine swarf left lying, no water on a fire, dry sand (common practice)."""
    part = in_folder / "a.toml"
    part.write_text(part_text(HOLES, material="magnesium AZ31B"), encoding="utf-8")
    out = {"bench": "a.html", "program": "a.nc"}.get(sheet)
    ran = millprep(sheet, part, *(("-o", out) if out else ()))
    assert ran.status == 0
    text = " ".join((Path(out).read_text() if out else ran.out).split()).lower()
    assert all(words.lower() in text for words in MIND)


def test_steel_says_nothing_of_fire(in_folder: Path) -> None:
    part = in_folder / "a.toml"
    part.write_text(part_text(HOLES), encoding="utf-8")
    for sheet in ("listing", "tools", "markout"):
        assert "fire" not in millprep(sheet, part).out


def test_a_sheet_without_it_is_kept_back(in_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from millprep.sheets import tools

    part = in_folder / "a.toml"
    part.write_text(part_text(HOLES, material="magnesium"), encoding="utf-8")
    monkeypatch.setattr(tools, "burning", lambda say, part: ())
    assert millprep("tools", part).status == 1
