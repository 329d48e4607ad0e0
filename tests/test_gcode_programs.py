"""Programs kept as files, each with the moves and findings expected of it beside it.

A case is NAME.nc with NAME.json: the source of the figures, the control, the tools' lengths, the
moves as [line, kind, x, y, z] and the findings as [severity, kind, line]. A new case is two files.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from millprep.model.shop import Control
from millprep.model.tools import Drill
from millprep.reading.gcode import read_program
from millprep.reading.moves import KIND_WORDS

PROGRAMS = Path(__file__).parent / "programs"
CASES = sorted(path.with_suffix("") for path in PROGRAMS.glob("*.json"))
FIGURE_MM = 1e-6


def test_there_are_cases() -> None:
    assert len(CASES) >= 15
    assert {path.stem for path in PROGRAMS.glob("*.nc")} == {case.name for case in CASES}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_program_moves_as_its_source_says(case: Path) -> None:
    expected = json.loads(case.with_suffix(".json").read_text(encoding="utf-8"))
    assert expected["source"]
    tools = [
        Drill("5 mm", 5.0, length_mm=length, number=int(number))
        for number, length in expected.get("tools", {}).items()
    ]
    data = case.with_suffix(".nc").read_bytes()
    run = read_program(data, Control(**expected["control"]), file=case.name, tools=tools)
    moves = run.moves

    found = [(f.severity, f.kind, f.line) for f in run.findings]
    assert found == [tuple(finding) for finding in expected["findings"]]
    told = [(line, KIND_WORDS[kind]) for line, kind in zip(moves.line, moves.kind, strict=True)]
    assert told == [(line, kind) for line, kind, *_ in expected["moves"]]
    ends = np.array([place for _, _, *place in expected["moves"]], dtype=float)
    assert_allclose(moves.end.T, ends, atol=FIGURE_MM)
    assert run.is_complete
    assert run.read_lines == run.lines

    for row, centre in expected.get("centres", {}).items():
        assert_allclose(moves.centre[:2, int(row)], centre, atol=FIGURE_MM)
    for row, sweep in expected.get("sweeps", {}).items():
        assert_allclose(moves.sweep_deg[int(row)], sweep, atol=FIGURE_MM)
    if "machine" in expected:
        assert_allclose(moves.machine_end.T, expected["machine"], atol=FIGURE_MM)
    if "feeds" in expected:
        assert_allclose(moves.feed, expected["feeds"], atol=FIGURE_MM)
    if "shift" in expected:
        assert_allclose(moves.shift.T, [expected["shift"]] * len(moves), atol=FIGURE_MM)


def test_each_move_starts_where_the_last_one_ended() -> None:
    """As a gauge point: readings may jump when a system or a length offset changes."""
    for case in CASES:
        expected = json.loads(case.with_suffix(".json").read_text(encoding="utf-8"))
        data = case.with_suffix(".nc").read_bytes()
        moves = read_program(data, Control(**expected["control"]), file=case.name).moves
        to_machine = moves.machine_end - moves.end
        starts = moves.start + to_machine
        assert_allclose(starts[:, 1:], moves.machine_end[:, :-1], atol=FIGURE_MM)
        assert_allclose(
            starts[:, 0], expected["control"].get("start_mm", (0, 0, 0)), atol=FIGURE_MM
        )


def test_tapping_reverses_on_the_way_out() -> None:
    """NISTIR 6556, section 3.5.16.5: down clockwise, up counterclockwise."""
    data = (PROGRAMS / "other-bodies.nc").read_bytes()
    run = read_program(data, Control(), file="other-bodies.nc")
    tapping = run.moves.cycle == 84
    assert run.moves.spindle[tapping].tolist() == [1, 1, 1, -1]
    assert run.spindle_at_end == 0
    assert run.moves.seconds.sum() == 1.0
