"""The plan in characters: at a terminal only, above the steps, each hole where it is drilled."""

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from jobs import EXAMPLE_PARTS

from millprep.proven.preparation import prepare
from millprep.sheets.figures import Figures
from millprep.sheets.view import steps_by_hole, view_of
from millprep.writers.plan_text import plan_lines

BASE_PLATE = next(path for path in EXAMPLE_PARTS if path.stem == "base-plate")


def at_terminal(*arguments: str | Path, columns: int = 80) -> str:
    """What a command prints at a terminal of that width."""
    main, side = pty.openpty()
    environment = {**os.environ, "COLUMNS": str(columns), "LINES": "50"}
    command = [sys.executable, "-m", "millprep", *map(str, arguments)]
    process = subprocess.Popen(
        command, stdout=side, stderr=subprocess.DEVNULL, stdin=side, env=environment
    )
    os.close(side)
    read = b""
    while True:
        try:
            more = os.read(main, 65536)
        except OSError:  # the other end is closed
            break
        if not more:
            break
        read += more
    os.close(main)
    assert process.wait() == 0
    return read.decode().replace("\r\n", "\n")


def test_the_plan_stands_above_the_steps_and_the_sheet_is_the_same_without_it() -> None:
    with_plan = at_terminal("listing", BASE_PLATE)
    plain = subprocess.run(
        [sys.executable, "-m", "millprep", "listing", BASE_PLATE],
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert at_terminal("listing", BASE_PLATE, "--no-plan") == plain
    assert at_terminal("listing", BASE_PLATE, columns=50) == plain
    lines, left = with_plan.split("\n"), plain.split("\n")
    more = [i for i, line in enumerate(lines) if "* zero" in line]
    assert len(more) == 2  # one a setup
    kept, at = [], 0
    for line in lines:  # taking the plans out leaves the sheet
        if at < len(left) and line == left[at]:
            kept.append(line)
            at += 1
    assert kept == left
    first_step = next(i for i, line in enumerate(lines) if line.startswith("[ ]"))
    assert more[0] < first_step
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
def test_each_hole_is_where_it_is_drilled(path: Path) -> None:
    """By rule over the characters: the share of the way across and down, to half a character."""
    plan = prepare(path).plan
    for one in plan.setups:
        view = view_of(plan.part, one.setup, one.square, Figures("mm", plan.shop.readout))
        lines = plan_lines(view, steps_by_hole(one.operations), 80)
        assert all(len(line) <= 80 for line in lines)
        rows = lines[1:-1]
        left = min(row.index(sign) for row in rows for sign in "+.*" if sign in row)
        edge = rows[len(rows) // 2] if view.is_round else rows[0]
        right = max(edge.rindex(sign) for sign in ".+*" if sign in edge)
        (x0, y0), (x1, y1) = view.low_mm, view.high_mm
        for mark in view.marks:
            down = (y1 - mark.y_mm) / (y1 - y0) * (len(rows) - 1)
            row = rows[min(max(round(down), 0), len(rows) - 1)]
            across = left + (mark.x_mm - x0) / (x1 - x0) * (right - left)
            assert "o" in row[max(round(across) - 1, 0) : round(across) + 2], (mark.hole, lines)
