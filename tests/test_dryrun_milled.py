"""What a program has made: holes, and what is milled; figures worked by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from jobs import millprep

from millprep.report.layout import Line, Table, laid_out

HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\n"
TOOLS = "(TOOL 1 END MILL 6.000 MM)\n(TOOL 2 DRILL 5.000 MM POINT 118)\n"
TOOLS += "(TOOL 3 SPOT DRILL 6.000 MM POINT 90)\n"
STOCK = ("--stock", "60,40,20")
BARE: tuple[str, ...] = ()


def program(body: str, tool: int = 1) -> str:
    return f"{HEAD}{TOOLS}T{tool} M6\nS1250 M3\nG43 H{tool} G0 Z25.\n{body}G0 Z25.\nM5\nM30\n"


def told(folder: Path, text: str, *options: str) -> dict[str, Any]:
    (folder / "a.nc").write_text(text)
    return dict(millprep("dryrun", folder / "a.nc", *options, "--format", "json").json)


def made(answer: dict[str, Any]) -> tuple[list[tuple[float, float, float]], list[list[float]]]:
    """Holes as (x, y, bottom), and (depth, least depth, width) of what is milled."""
    holes = [(one["x_mm"], one["y_mm"], one["bottom_mm"]) for one in answer["holes"]]
    milled = [
        [one["z_mm"][0], one["least_depth_z_mm"], one["width_mm"]] for one in answer["milled"]
    ]
    return holes, milled


def kinds(answer: dict[str, Any]) -> set[str]:
    return {one["kind"] for one in answer["findings"]}


@pytest.mark.parametrize("stock", [BARE, STOCK])
@pytest.mark.parametrize(
    ("body", "holes", "milled"),
    [
        # down and on sideways
        ("G0 X10. Y10. Z5.\nG1 Z-2. F100.\nX30.\n", [], [[-2, -2, 6]]),
        ("G0 X10. Y10. Z5.\nG1 Z-2. F100.\nG4 P1.\nG2 X30. I10. J0.\n", [], [[-2, -2, 6]]),
        # deeper, up a little, and on; then a second level
        ("G0 X10. Y10. Z5.\nG1 Z-3. F100.\nZ-2.\nX30.\nZ-4.\nX10.\n", [], [[-4, -2, 6]]),
        # a ramp
        ("G0 X10. Y10. Z5.\nG1 Z0. F100.\nX30. Z-2.\nX10.\n", [], [[-2, -2, 6]]),
        # down and straight up, dwell between, or fed up
        ("G0 X10. Y10. Z5.\nG1 Z-2. F100.\nG0 Z5.\n", [(10, 10, -2)], []),
        ("G0 X10. Y10. Z5.\nG1 Z-2. F100.\nG4 P1.\nG1 Z5.\nX30.\n", [(10, 10, -2)], []),
        ("G0 X10. Y10. Z5.\nG81 Z-2. R2. F100.\nX30.\nG80\n", [(10, 10, -2), (30, 10, -2)], []),
        # two pockets, and a hole between them
        (
            "G0 X10. Y10. Z5.\nG1 Z-2. F100.\nX15.\nG0 Z5.\nX30.\nG1 Z-6.\nG0 Z5.\nX50.\nG1 Z-3.\n"
            "Y20.\n",
            [(30, 10, -6)],
            [[-2, -2, 6], [-3, -3, 6]],
        ),
    ],
)
def test_what_is_a_hole(
    tmp_path: Path,
    stock: tuple[str, ...],
    body: str,
    holes: list[tuple[float, float, float]],
    milled: list[list[float]],
) -> None:
    assert made(told(tmp_path, program(body), *stock)) == (holes, milled)


def test_a_room_goes_as_far_as_the_cutter(tmp_path: Path) -> None:
    text = program("G0 X10. Y10. Z5.\nG1 Z-2. F100.\nX30.\nY15.\n")
    (bare,), (room,) = (told(tmp_path, text, *stock)["milled"] for stock in (BARE, STOCK))
    assert (bare["x_mm"], bare["y_mm"], bare["z_mm"]) == ([7, 33], [7, 18], [-2, None])
    assert room == bare | {"z_mm": [-2, 0]}
    assert (room["line"], room["last_line"], room["tool_number"]) == (9, 11, 1)


@pytest.mark.parametrize("stock", [BARE, STOCK])
@pytest.mark.parametrize(
    ("turns", "size"),
    [
        ("G1 X22. F100.\n" + "G3 X22. I-2. J0. Z{z}\n" * 4 + "G3 X22. I-2. J0.\n", 10.0),
        ("G1 X23. F100.\n" + "G2 X23. I-3. J0. Z{z}\n" * 4 + "G2 X23. I-3. J0.\n", 12.0),
    ],
)
def test_a_helix_to_a_round_hole_is_a_bore(
    tmp_path: Path, stock: tuple[str, ...], turns: str, size: float
) -> None:
    """Round at radius r a tool of radius 3 leaves 2 (r + 3), down to the last whole turn."""
    down = "".join(line.format(z=f"-{n}.") + "\n" for n, line in enumerate(turns.splitlines()))
    text = program(f"G0 X20. Y20. Z5.\nG1 Z0. F100.\n{down}G1 X20.\n")
    answer = told(tmp_path, text, *stock)
    (hole,) = answer["holes"]
    assert (hole["x_mm"], hole["y_mm"], hole["bottom_mm"]) == (20, 20, -4)
    assert hole["diameter_mm"] == size
    assert [step["milled"] for step in hole["steps"]] == [True]
    assert f"milled bore {size:.3f}" in millprep("dryrun", tmp_path / "a.nc", *stock).out


def test_what_goes_through_is_as_deep_as_the_stock(tmp_path: Path) -> None:
    text = program("G0 X10. Y10. Z5.\nG1 Z-21. F100.\nX30.\n")
    assert made(told(tmp_path, text, *STOCK))[1] == [[-20, -20, 6]]
    assert made(told(tmp_path, text))[1] == [[-21, -21, 6]]


def test_a_drill_fed_sideways_has_drilled_its_hole(tmp_path: Path) -> None:
    answer = told(tmp_path, program("G0 X10. Y10. Z5.\nG1 Z-2. F100.\nX30.\n", 2), *STOCK)
    assert made(answer) == ([(10, 10, -2)], [])
    assert "sideways-in-stock" in kinds(answer)


def test_an_engraved_letter_is_no_row_of_holes(tmp_path: Path) -> None:
    """An L, 0.3 mm from the side, cut with a point: no wall, no floor, no spot is spoken of."""
    letter = "".join(
        f"G0 X{x}. Y0.4 Z2.\nG1 Z-0.1 F60.\nY3.\nG0 Z2.\nY0.4\nG1 Z-0.1\nX{x + 1}.5\n"
        for x in range(5, 50, 3)
    )
    answer = told(tmp_path, program(letter, 3), *STOCK)
    assert answer["holes"] == []
    assert kinds(answer) & {"thin-wall", "thin-floor", "no-spot", "breaks-edge"} == set()
    # 90 degrees: 0.1 mm deep it is 0.2 mm wide at the top
    assert {room["width_mm"] for room in answer["milled"]} == {0.2}


def test_a_cutter_may_be_fed_down_beside_the_stock_to_come_in(tmp_path: Path) -> None:
    beside = "G0 X-10. Y20. Z5.\nG1 Z-5. F100.\nX{x}\n"
    assert "outside-stock" not in kinds(told(tmp_path, program(beside.format(x="10.")), *STOCK))
    assert "outside-stock" in kinds(told(tmp_path, program(beside.format(x="-20.")), *STOCK))


# The tables


def test_many_holes_are_told_by_tool_and_depth(tmp_path: Path) -> None:
    grid = "".join(f"X{10 * x}. Y{10 * y}.\n" for y in (1, 2, 3) for x in (1, 2, 3, 4, 5))
    body = "G0 X5. Y5.\nG81 X5. Y5. Z-3. R2. F100.\nG80\nG0 Z5.\nG81 X10. Y10. Z-8. R2. F100.\n"
    answer = told(tmp_path, program(body + grid + "G80\n", 2), *STOCK)
    assert len(answer["holes"]) == 16
    page = " ".join(millprep("dryrun", tmp_path / "a.nc", *STOCK).out.split())
    assert "HOLES 16, of the same tools and depth together" in page
    assert "1 5.000 -3.000 T2 drill 5.000: X 5.000, Y 5.000 (no. 1)" in page
    assert (
        "15 5.000 -8.000 T2 drill 5.000: X 10.000 to 50.000, Y 10.000 to 30.000 (no. 2 to 16)"
        in page
    )


def test_many_rooms_are_told_by_tool_and_depth(tmp_path: Path) -> None:
    slots = "".join(f"G0 X{x}. Y5.\nG1 Z-0.2 F100.\nY9.\nG0 Z5.\n" for x in range(4, 56, 4))
    text = program("G0 Z5.\n" + slots.replace("Z-0.2", "Z-0.5", 1), 3)
    answer = told(tmp_path, text, *STOCK)
    assert len(answer["milled"]) == 13
    page = " ".join(millprep("dryrun", tmp_path / "a.nc", *STOCK).out.split())
    assert "MILLED 13, of one tool and depth together" in page
    assert "-0.200 -0.200 0.400 12 places, X 7.800 to 52.200, Y 4.800 to 9.200: line 14" in page


def test_columns_never_touch_and_lines_keep_to_the_width() -> None:
    rows = (("1 min 14 s", "101 min 18 s", "T1 drill 5 mm, and so on to the end of the line"),) * 2
    lines = list(Table("TIME    2 min", ("feed", "rapid", "tool"), rows, "and 3 more").lines())
    text = laid_out([*lines, Line("VERDICT  " + "word " * 40, 9)], 50)
    assert max(map(len, text.splitlines())) <= 50
    assert "  1 min 14 s  101 min 18 s   T1 drill 5 mm, and so" in text.splitlines()
    assert "        feed         rapid   tool" in text.splitlines()


def test_a_program_refused_says_what_was_not_read(tmp_path: Path) -> None:
    text = program("G0 X10. Y10. Z5.\nG1 Z-2. F100.\nE9\nX30.\n")
    answer = told(tmp_path, text)
    assert answer["not_checked"][0] == "lines 10 to 14: reading ended at line 10"
    page = " ".join(millprep("dryrun", tmp_path / "a.nc").out.split())
    assert "VERDICT do not run it as it is: read only to line 9; 1 stop" in page


def test_a_tool_that_nobody_names_is_called_so_and_no_time_is_no_row(tmp_path: Path) -> None:
    bare = told(tmp_path, HEAD + "S1250 M3\nG0 Z5.\nG1 Z-1. F100.\nG0 Z5.\nM5\nM30\n")
    assert [row["tool"] for row in bare["tools"]] == ["tool not named"]
    (tmp_path / "a.nc").write_text(program("G0 X10. Y10. Z5.\nG1 Z-2. F100.\n"))
    assert "not named" not in millprep("dryrun", tmp_path / "a.nc").out
