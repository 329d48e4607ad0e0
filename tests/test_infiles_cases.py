"""Part files as cases: tests/parts/valid with what they must give, worked out by hand, and
tests/parts/invalid with the whole text of what must be said. Adding a case is adding two files."""

import json
from pathlib import Path

import pytest

from millprep.base.findings import MillprepError
from millprep.infiles import read_part

CASES = Path(__file__).parent / "parts"
VALID = sorted((CASES / "valid").glob("*.toml"))
INVALID = sorted((CASES / "invalid").glob("*.toml"))
FIGURE_MM = 1e-6  # the figures in the .json files have six decimals


def agrees(found, expected) -> bool:
    """Compares only what the case states; figures to six decimals."""
    if isinstance(expected, dict):
        return all(agrees(getattr(found, key), value) for key, value in expected.items())
    if isinstance(expected, list):
        return len(found) == len(expected) and all(map(agrees, found, expected))
    if isinstance(expected, int | float) and not isinstance(expected, bool):
        return found == pytest.approx(expected, abs=FIGURE_MM)
    return found == expected


def test_there_are_cases():
    assert len(VALID) >= 6
    assert len(INVALID) >= 40


@pytest.mark.parametrize("path", VALID, ids=lambda path: path.stem)
def test_valid(path, monkeypatch):
    monkeypatch.chdir(path.parent)
    expected = json.loads(path.with_suffix(".json").read_text())
    part, findings = read_part(path.name)
    assert not findings
    assert [hole.name for hole in part.holes] == list(expected["holes"])
    for hole in part.holes:
        for key, value in expected["holes"][hole.name].items():
            assert agrees(getattr(hole, key), value), (hole.name, key, getattr(hole, key))
    assert agrees(part.stock, expected.get("stock", {}))
    assert agrees(part, expected.get("part", {}))


@pytest.mark.parametrize("path", INVALID, ids=lambda path: path.stem)
def test_invalid(path, monkeypatch):
    monkeypatch.chdir(path.parent)
    with pytest.raises(MillprepError) as caught:
        read_part(path.name)
    said = "".join(f"{finding}\n" for finding in caught.value.findings)
    assert said == path.with_suffix(".txt").read_text()
