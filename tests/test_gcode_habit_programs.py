"""Small programs in the manners that are met with: read to the end, or refused at the line said.

tests/programs/habits/expected.json has of each what is to be found, worked out by hand: `stops` as
[kind, line], the kinds of `doubts`, in how many places it is `drilled` (straight down by feed, to
zero or below), where the last move `end`s [mm] (left out where nobody knows), and the `control`
where it is another. A new case is a file and a line.
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from millprep.base.records import field_names
from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.moves import FEED, Moves, ProgramRun

PROGRAMS = Path(__file__).parent / "programs" / "habits"
EXPECTED: dict[str, dict[str, Any]] = json.loads((PROGRAMS / "expected.json").read_text())
READ_ON = {"control-lacks", "unknown-cycle"}


def control_of(given: dict[str, Any]) -> Control:
    sets = {key: frozenset(given[key]) for key in ("codes", "cycles") if key in given}
    switched = {int(code): what for code, what in given.get("m_codes", {}).items()}
    return Control(
        **{
            "offsets_mm": {"G54": (0.0, 0.0, 0.0)},
            **given,
            **sets,
            "m_codes": switched | Control().m_codes,
        }
    )


def read(name: str, control: Control, **how: bool) -> ProgramRun:
    return read_program((PROGRAMS / f"{name}.nc").read_bytes(), control, file=name, **how)


def test_there_are_programs_and_each_is_expected() -> None:
    assert len(EXPECTED) >= 40
    assert {path.stem for path in PROGRAMS.glob("*.nc")} == set(EXPECTED)


@pytest.mark.parametrize("name", EXPECTED)
def test_a_program_is_read_to_its_end_or_refused_as_said(name: str) -> None:
    expected = EXPECTED[name]
    control = control_of(expected.get("control", {}))
    run = read(name, control)
    told = [[f.kind, f.line] for f in run.findings if f.severity == "stop"]
    assert told == expected.get("stops", [])
    ends_at = [line for kind, line in told if kind not in READ_ON]
    assert run.is_complete == (not ends_at)
    assert run.read_lines == (ends_at[0] - 1 if ends_at else run.lines)
    doubts = sorted({f.kind for f in run.findings if f.severity == "warning"})
    assert doubts == expected.get("doubts", [])
    moves = run.moves
    is_down = (moves.kind == FEED) & (moves.end[2] < moves.start[2]) & (moves.end[2] <= 0)
    is_down &= (moves.end[:2] == moves.start[:2]).all(axis=0)
    places = {
        (line, *xy) for line, *xy in zip(moves.line[is_down], *moves.end[:2, is_down], strict=True)
    }
    assert len(places) == expected.get("drilled", 0)
    if "end" in expected:
        assert_allclose(moves.end[:, -1], expected["end"], atol=1e-6)
    slow = read(name, control, line_by_line=True)
    for column in field_names(Moves):
        assert_array_equal(getattr(moves, column), getattr(slow.moves, column))
    assert slow.findings == run.findings


@pytest.mark.parametrize(
    "name",
    [
        name
        for name, expected in EXPECTED.items()
        if not expected.get("stops") and "doubts" in expected
    ],
)
def test_strict_mode_reads_none_that_is_doubted(name: str) -> None:
    """But what NIST RS274/NGC itself leaves open."""
    strict = read(name, Control(offsets_mm={"G54": (0.0, 0.0, 0.0)}, strict=True))
    assert any(f.severity == "stop" for f in strict.findings)
    assert np.isfinite(strict.moves.end).all()
