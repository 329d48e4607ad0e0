"""Stacks as they stand: heights, layers and gaps by hand.

The plates are 9 mm, 80 x 50, with bores 8 H7 at (20, 25) and 10 H7 at (60, 30); the distance piece
between them is 12, so that a pair is 9 + 12 + 9 = 30 high. The bench winch: frames of 1/4 in, bars
of 50: 6.35 + 50 + 6.35 = 62.7.
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from millprep.assembly import Judged, judge
from millprep.infiles import read_shop
from millprep.infiles.assembly_file import read_assembly
from millprep.proven.assembly import report

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


def test_bars_between_frames_stand_in_the_stack() -> None:
    assembly, notes = read_assembly(WINCH)
    data = told(judge(assembly, read_shop("metric"), notes))
    stack = data["stacks"][0]
    assert stack["members"] == ["left", "rear bar", "front bar", "top bar", "right"]
    assert (stack["height_mm"], stack["gaps_mm"]) == (62.7, [50])
    wheel = next(one for one in data["members"] if one["name"] == "wheel")
    assert -50 < wheel["origin_mm"][2] <= 0  # between the frames: left's inside is at z 0


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
    warned = [one for one in pair(tmp_path, text).findings if one.kind == "left-below"]
    assert [one.message.split(":")[0] for one in warned] == ["shaft bores"]
