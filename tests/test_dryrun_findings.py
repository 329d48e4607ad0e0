"""Findings of a dry run as a person reads them: worst first, like ones as one, in its own units."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from jobs import millprep

HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\n"
SPINDLE = "S1250 M3\n"
END = "G0 Z25.\nM5\nM30\n"
DRILL = "(TOOL 1 DRILL 5.000 MM POINT 118)\n"


def told(folder: Path, text: str, *options: object) -> dict[str, Any]:
    path = folder / "a.nc"
    path.write_text(text)
    return dict(millprep("dryrun", path, *options, "--format", "json").json)


def page(folder: Path, text: str, *options: object) -> str:
    path = folder / "a.nc"
    path.write_text(text)
    return millprep("dryrun", path, *options).out


def of_kind(answer: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    return [one for one in answer["findings"] if one["kind"] == kind]


# Like ones are one

FAST = HEAD + SPINDLE + "G0 X0. Y0. Z5.\nG1 Z4. F100.\n"
FAST += "".join(f"X{x}. F{5000 if x % 2 else 200}.\n" for x in range(1, 43))


def test_like_findings_with_others_between_are_one(tmp_path: Path) -> None:
    (found,) = of_kind(told(tmp_path, FAST + END), "feed-over-mill")
    assert (found["line"], found["last_line"]) == (5, 45)
    assert (found["count"], found["places"]) == (21, 21)
    assert "1 stop, 21 places, first at line 5: the feed of 5000 mm/min is over the" in page(
        tmp_path, FAST + END
    )


def test_another_value_and_another_tool_are_told_apart(tmp_path: Path) -> None:
    three = FAST.replace("X9. F5000.", "X9. F4000.") + "G0 Z25.\nT2 M6\nG43 H2 Z5.\nG1 X0. F5000.\n"
    found = of_kind(told(tmp_path, three + END), "feed-over-mill")
    assert [(one["message"][:24], one.get("count")) for one in found] == [
        ("the feed of 5000 mm/min ", 20),
        ("the feed of 4000 mm/min ", None),
        ("the feed of 5000 mm/min ", None),
    ]


def test_places_that_differ_in_depth_are_one_with_the_worst_of_them(tmp_path: Path) -> None:
    dives = "".join(f"G0 X{10 * n}. Y20.\nZ-{n}.\nZ5.\n" for n in (1, 3, 2))
    text = HEAD + DRILL + "T1 M6\n" + SPINDLE + "G43 H1 G0 Z5.\n" + dives + END
    (found,) = of_kind(told(tmp_path, text, "--stock", "60,40,20"), "rapid-into-stock")
    assert (found["line"], found["last_line"], found["places"]) == (7, 13, 3)
    assert found["message"] == (
        "a rapid goes down to Z-1.000 at X10.000 Y20.000, 1.000 mm into solid material (free down "
        "to Z0.000); at worst 3.000 mm, line 10"
    )


def test_the_limit_counts_what_is_folded_as_one(tmp_path: Path) -> None:
    """1,200 places of one slip, and one that comes last."""
    moves = "".join(f"G1 X{n % 40}.1 F5000.\nX{n % 40}. F100.\n" for n in range(1200))
    late = HEAD + SPINDLE + "G0 X0. Y0. Z5.\n" + moves + "G1 Z4. F3000.\n" + END
    found = of_kind(told(tmp_path, late), "feed-over-mill")
    assert [one.get("places", 1) for one in found] == [1200, 1]


def test_the_worst_come_first(tmp_path: Path) -> None:
    found = told(tmp_path, "S1000 M3\n" + FAST + END, "--stock", "60,40,20")["findings"]
    order = [one["severity"] for one in found]
    assert order == sorted(order, key=["stop", "warning", "note"].index)
    assert len(set(order)) == 3


# Units

SLIPS = [  # each with several kinds of findings that speak of lengths
    "T1 M6\n" + SPINDLE + "G43 H1 G0 Z5.\nX10. Y20.\nZ-3.\nG1 Z-25. F2000.\nX30.\nG0 Z-1.\nX5.\n",
    "T1 M6\nG43 H1 G0 Z5.\nX300. Y20.\nG1 Z-5. F100.\nG0 X1. Y1.\nG83 Z-19.9 R0. Q19. F100.\nG80\n",
    "T1 M6\n" + SPINDLE + "G43 H1 G0 Z5.\nX59. Y20.\nG1 Z-5. F100.\nG0 Z5.\nX0. Y0.\nG1 Z-5.\n",
    "T2 M6\nS200 M3\nG43 H2 G0 Z5.\nX10. Y20.\nG84 Z-8. R1. F300.\nG80\nT3 M6\nG43 H3 G0 Z5.\n"
    "S100\nG85 X10. Z-30. R1. F500.\nG80\n",
]  # fmt: skip
TOOLS = DRILL + "(TOOL 2 TAP 6.000 MM PITCH 1.000 LEAD 4)\n(TOOL 3 REAMER 6.000 MM LEAD 1.0)\n"


@pytest.mark.parametrize("body", SLIPS)
def test_an_inch_report_has_no_millimetres(tmp_path: Path, body: str) -> None:
    text = HEAD + TOOLS + body + "M30\n"
    in_mm = told(tmp_path, text, "--stock", "60,40,20 mm")["findings"]
    in_inch = told(tmp_path, text, "--stock", "60,40,20 mm", "--units", "inch")["findings"]
    assert [(one["kind"], one["line"]) for one in in_mm] == [
        (one["kind"], one["line"]) for one in in_inch
    ]
    said = [one["message"] + " " + one["remedy"] for one in in_inch]
    assert not [words for words in said if re.search(r"\bmm\b", words)]
    assert sum(bool(re.search(r"\bin(/min)?\b|[XYZ]-?\d+\.\d{4}\b", words)) for words in said) >= 3


def test_a_dry_run_of_an_inch_part_speaks_in_inches(tmp_path: Path) -> None:
    (tmp_path / "p.toml").write_text(
        'part = "Plate"\nunits = "inch"\nmaterial = "mild steel"\n[stock]\nsize = [3, 2, 0.5]\n'
        '[datum]\nx = "left"\ny = "front"\n'
        '[[setup]]\nface = "top"\ntowards_you = "front"\n'
        '[[hole]]\nname = "one"\ndrill = "1/4 in"\ndepth = 0.25\nat = [1, 1]\n'
    )
    text = "(TOOL 1 DRILL 6.350 MM POINT 118)\nG20 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS700 M3\n"
    text += "G43 H1 G0 Z1.\nG98 G81 X1.25 Y1. Z-0.2 R0.1 F3.\nG80\nG0 X2.\nG81 Z-0.3 R0.1\nG80\n"
    found = told(tmp_path, text + "G0 Z1. M5\nM30\n", "--part", tmp_path / "p.toml")["findings"]
    said = [one["message"] for one in found]
    assert "one at X1.0000 Y1.0000 is not made" in said
    assert "a hole at X1.2500 Y1.0000 is not the part's" in said
    assert not [words for words in said if re.search(r"\bmm\b", words)]
