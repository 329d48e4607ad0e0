"""Findings of a dry run as a person reads them: worst first, like ones as one, in its own units."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from jobs import millprep

from millprep.base.findings import Finding, Words
from millprep.base.records import replace
from millprep.reading.simulate import folded

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


def alike(count: int, kind: str, said: str, name: str, figures: list[float]) -> str:
    """What is said of as many findings of one kind, at lines 3, 4, 5 ..., together."""
    (one,) = folded(
        Finding("warning", kind, Words(said, ((name, figures[n % len(figures)]),)), line=3 + n)
        for n in range(count)
    )
    return one.message


@pytest.mark.parametrize(
    ("name", "figures", "worst"),
    [
        ("depth_mm", [1.0, 1.0005], ""),
        ("depth_mm", [1.0, 0.5], ""),
        ("depth_mm", [1.0, 1.5, 1.2], "; at worst 1.500 mm, line 4"),
        ("beyond_mm", [1.0, 1.2, 1.5], "; at worst 1.500 mm, line 5"),
        ("left_mm", [1.0, 0.5, 0.7], "; at worst 0.500 mm, line 4"),
        ("inside_mm", [1.0, 1.5], ""),
    ],
)
def test_the_worst_of_what_is_alike_is_told(name: str, figures: list[float], worst: str) -> None:
    told = alike(len(figures), "thin-floor", f"so much: {{{name}:3}}", name, figures)
    assert told == "so much: 1.000 mm" + worst


@pytest.mark.parametrize(
    ("count", "told"),
    [(2, "h1, h2"), (6, "h1, h2, h3, h4, h5, h6"), (8, "h1, h2, h3, h4, h5, h6 and 2 more")],
)
def test_holes_of_one_finding_are_named_up_to_six(count: int, told: str) -> None:
    names = [f"h{n}" for n in range(1, count + 1)]
    (one,) = folded(
        Finding("warning", "no-spot", Words("{hole}: no spot", (("hole", name),)), holes=(name,))
        for name in names
    )
    assert (one.message, one.holes, one.count) == (f"{told}: no spot", tuple(names), count)


@pytest.mark.parametrize(("count", "more"), [(100, ""), (102, " and 2 more")])
def test_lines_to_be_edited_are_told_up_to_a_hundred(count: int, more: str) -> None:
    found = [
        Finding("stop", "control-lacks", Words("no {code}", (("code", "G84"),)), line=n)
        for n in range(1, count + 1)
    ]
    (one,) = folded(found)
    assert one.message == f"no G84 (lines {', '.join(map(str, range(1, 101)))}{more})"
    (one,) = folded([replace(found[0], last_line=4), found[8]])
    assert one.message == "no G84 (lines 1 to 4, 9)"
    assert (one.line, one.last_line, one.count) == (1, 9, 2)


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


@pytest.mark.parametrize(
    ("count", "who"),
    [
        (1, "a"),
        (2, "a, b"),
        (6, "a, b, c, d, e, f"),
        (7, "a, b, c, d, e, f and 1 more"),
        (8, "a, b, c, d, e, f and 2 more"),
    ],
)
def test_what_is_so_of_several_holes_is_said_of_each(tmp_path: Path, count: int, who: str) -> None:
    names = "abcdefgh"[:count]
    holes = "".join(
        f'[[hole]]\nname = "{name}"\ntap = "M4"\ndepth = 10\nat = [{10 * n}, 20]\n'
        for n, name in enumerate(names, 1)
    )
    (tmp_path / "p.toml").write_text(
        'part = "Plate"\nunits = "mm"\nmaterial = "mild steel"\n[stock]\nsize = [90, 40, 20]\n'
        '[datum]\nx = "left"\ny = "front"\n[[setup]]\nface = "top"\ntowards_you = "front"\n' + holes
    )
    drilled = "".join(f"G98 G83 X{10 * n}. Y20. Z-13. R2. Q1. F60.\n" for n in range(1, count + 1))
    text = "(TOOL 1 DRILL 3.300 MM POINT 118)\nG21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS1500 M3\n"
    text += f"G43 H1 G0 Z25.\n{drilled}G80\n"
    found = told(tmp_path, text + "G0 Z25. M5\nM30\n", "--part", tmp_path / "p.toml")["findings"]
    said = [one["message"] for one in found]
    for what in ("tap 4.000 mm is not done", "no spot is drilled to start it"):
        assert [one for one in said if one.endswith(what)] == [f"{who}: {what}"]


# One cause, one finding

INCH = (
    "G20 G17 G90 G94 G54\nT1 M6\nS1250 M3\nG43 H1 G0 X1. Y1. Z0.5\n"
    "G98 G81 X1. Y1. Z-0.1 R0.1 F4.\nX2.\nX3. Y2.\nG80\nG0 Z1.\nM5\nM30\n"
)


def test_a_stock_in_the_wrong_unit_is_one_finding_with_the_option_to_write(tmp_path: Path) -> None:
    wrong = told(tmp_path, INCH, "--stock", "4.35,2.35,0.157")
    first = wrong["findings"][0]
    assert (first["severity"], first["kind"]) == ("stop", "units-suspect")
    assert '--stock "4.35 x 2.35 x 0.157 in"' in first["remedy"]
    assert "(outside-stock 3)" in first["message"]
    assert wrong["stops"] == 1
    # the option cures it, and what it does not cure was told before too
    cured = told(tmp_path, INCH, "--stock", "4.35 x 2.35 x 0.157 in")
    kinds = [one["kind"] for one in wrong["findings"]]
    assert set(kinds) - {"units-suspect"} <= {one["kind"] for one in cured["findings"]}
    assert cured["stops"] == 0 and "tool-change-position" in kinds
    assert "stock 4.35 x 2.35 x 0.157 mm, zero on" in page(
        tmp_path, INCH, "--stock", "4.35,2.35,0.157"
    )


def test_a_stock_25_times_too_large_is_noticed_too(tmp_path: Path) -> None:
    """Four holes through a plate of 60 x 40 x 20 mm, and what only looks like it."""
    four = "G98 G83 X8. Y8. Z-22. R2. Q3. F90.\nX52.\nY32.\nX8.\nG80\nG0 Z25.\nM5\nM30\n"
    text = HEAD + SPINDLE + "G0 Z25.\n" + four
    wrong = told(tmp_path, text, "--stock", "60 x 40 x 20 in")
    (first,) = of_kind(wrong, "units-suspect")
    assert first == wrong["findings"][0]
    assert '--stock "60 x 40 x 20 mm"' in first["remedy"]
    for stock in ("60 x 40 x 20 mm", "600 x 400 x 20 mm", "60 x 40 x 4 in"):
        assert not of_kind(told(tmp_path, text, "--stock", stock), "units-suspect")


def test_a_slot_too_is_25_times_too_large(tmp_path: Path) -> None:
    slot = "G0 X-0.2 Y1. Z0.5\nG1 Z-0.1 F4.\nX4.5\n"
    text = INCH.replace(INCH[INCH.index("G98") : INCH.index("G80")], slot)
    wrong = told(tmp_path, text, "--stock", "4.35,2.35,0.157")
    assert wrong["findings"][0]["kind"] == "units-suspect"
    right = told(tmp_path, text, "--stock", "4.35,2.35,0.157", "--units", "inch")
    assert not of_kind(right, "units-suspect")


# The spindle and its speed

UNSET = HEAD + DRILL + "T1 M6\n{start}\nG43 H1 G0 X10. Y10. Z5.\n{then}G81 Z-3. R2. F100.\nX20.\n"
UNSET += "G80\nG0 Z25.\nM5\nM30\n"


@pytest.mark.parametrize(
    ("start", "then", "kinds"),
    [
        ("M3", "", [("speed-unstated", 4)]),
        ("M3 S0", "", [("speed-unstated", 4)]),
        ("M3", "S1250\n", []),
        ("M4", "", [("speed-unstated", 4)]),
        ("S1250", "", [("spindle-stopped", 6)]),
        ("S1250 M3", "", []),
    ],
)
def test_a_spindle_started_without_a_speed_is_told_where_it_is_started(
    tmp_path: Path, start: str, then: str, kinds: list[tuple[str, int]]
) -> None:
    answer = told(tmp_path, UNSET.format(start=start, then=then))
    stops = [one for one in answer["findings"] if one["severity"] == "stop"]
    assert [(one["kind"], one["line"]) for one in stops] == kinds
    assert all(one.get("places", 1) == 1 for one in stops)


def test_its_remedy_works(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text('base = "metric"\n[control]\nspindle = "switched"\n')
    answer = told(tmp_path, UNSET.format(start="M3", then=""), "--shop", tmp_path / "shop.toml")
    assert answer["stops"] == 0
    assert any("set by hand" in said for said in answer["not_checked"])


# Lengths, modes, origins

TWICE = HEAD + DRILL + "T1 M6\n" + SPINDLE + "G0 X5. Y5. Z5.\nG1 Z-1. F100.\nG0 Z5.\nT1 M6\nM3\n"
TWICE += "G0 X15.\nG1 Z-1.\n" + END


def test_a_tool_that_is_in_is_not_called_for_anew(tmp_path: Path) -> None:
    (found,) = of_kind(told(tmp_path, TWICE), "no-length-offset")
    assert (found["line"], found.get("count")) == (6, None)
    assert "length_offset = false under [control] in the shop file" in found["remedy"]
    (tmp_path / "shop.toml").write_text('base = "metric"\n[control]\nlength_offset = false\n')
    touched = told(tmp_path, TWICE, "--shop", tmp_path / "shop.toml")
    assert not of_kind(touched, "no-length-offset")


def test_another_tool_is(tmp_path: Path) -> None:
    answer = told(tmp_path, TWICE.replace("T1 M6\nM3", "T2 M6\nM3"))
    assert len(of_kind(answer, "no-length-offset")) == 2


def test_modes_that_every_control_wakes_up_with_are_a_note(tmp_path: Path) -> None:
    text = SPINDLE + "G0 Z5.\nX5.\n" + END
    found = [(f["severity"], f["message"]) for f in of_kind(told(tmp_path, text), "unstated-mode")]
    before = "the program moves before it states its"
    assert found == [
        ("warning", f"{before} units and distance"),
        ("note", f"{before} plane and work system"),
    ]


def test_an_origin_that_is_not_listed_is_told_once(tmp_path: Path) -> None:
    answer = told(tmp_path, FAST + END, "--stock", "60,40,20")
    assert len(of_kind(answer, "work-offset-unlisted")) == 1
    assert not any("list" in said for said in answer["not_checked"])
    home = told(tmp_path, FAST + "G53 G0 Z0.\nX1. Y1.\n" + END, "--stock", "60,40,20")
    assert any(said.startswith("where machine positions are") for said in home["not_checked"])
