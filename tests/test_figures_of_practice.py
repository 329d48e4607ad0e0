"""The figures by which the rooms between a part and its sheets decide, against what they were.

Many decide where no part of these tests comes near, and a digit that slips there would spoil a part
in the shop and none here. `figures_of_practice.toml` has them by module; every figure with a
decimal point that has a name of its own is to be in it.
"""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
TYPED: dict[str, dict[str, Any]] = tomllib.loads(
    (HERE / "figures_of_practice.toml").read_text("utf-8")
)
ROOMS = ("planning", "setting", "checks", "assembly", "matching", "inspection")
PACKAGE = HERE.parent / "millprep"
LEAST = 1e-3  # under it are tolerances of sums


def modules() -> dict[str, Path]:
    """Every module of the rooms by its name in the file."""
    paths = [path for room in ROOMS for path in sorted((PACKAGE / room).glob("*.py"))]
    return {f"{path.parent.name}.{path.stem}".removesuffix(".__init__"): path for path in paths}


def figures_of(source: str) -> Iterator[tuple[str, Any]]:
    """The named figures of a module, and pairs and tables of such."""
    for line in ast.parse(source).body:
        if not isinstance(line, ast.Assign):
            continue
        target = line.targets[0]
        try:
            value = ast.literal_eval(line.value)
        except ValueError:
            continue  # made of other names, and held where those are
        names = target.elts if isinstance(target, ast.Tuple) else [target]
        for name, each in zip(names, value if len(names) > 1 else [value], strict=True):
            if max(map(abs, floats_in(each)), default=0.0) >= LEAST:
                assert isinstance(name, ast.Name)
                yield name.id, each


def floats_in(value: object) -> list[float]:
    if isinstance(value, tuple | list):
        return [each for one in value for each in floats_in(one)]
    return [value] if isinstance(value, float) else []


def as_listed(value: Any) -> Any:
    return [as_listed(each) for each in value] if isinstance(value, tuple | list) else value


@pytest.mark.parametrize("name", sorted({*modules(), *TYPED}))
def test_a_figure_is_what_was_typed_again(name: str) -> None:
    source = modules()[name].read_text("utf-8")
    found = {figure: as_listed(value) for figure, value in figures_of(source)}
    assert found == TYPED.get(name, {})


def test_a_figure_that_slips_is_seen() -> None:
    source = "NEAR_MM = 0.5\nLOW, HIGH = 0.2, 0.4\nMOST = 40\n_SAME_MM = 1e-6\n"
    assert dict(figures_of(source)) == {"NEAR_MM": 0.5, "LOW": 0.2, "HIGH": 0.4}
