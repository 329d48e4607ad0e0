"""Changes one constant, sign, comparison or operator at a time and reports what no test noticed.

It is no test: a run over a room takes hours. Each change is made in a copy of the project, and the
tests named are run on it until one fails; a change that all of them pass is a survivor, printed
with its line. Without --tests, every test file that names one of the modules' names is run.

Run: python tests/long/change_one.py millprep/planning millprep/checks/gaps.py --most 40 --seed 7
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.Add: ast.Sub, ast.Sub: ast.Add,
    ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or, ast.Or: ast.And,
    ast.USub: ast.UAdd,
}  # fmt: skip
HANGS_TIMES, HANGS_S = 5, 20  # a run that takes so much longer than the unchanged one


def changed(tree: ast.Module, wanted: int | None) -> Iterator[tuple[int, str]]:
    """(line, what) of each place that can be changed; the one wanted is changed in the tree."""
    number = 0
    for node in ast.walk(tree):
        line = getattr(node, "lineno", 0)
        if isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPPED:
            after: object = SWAPPED[type(node.ops[0])]()
            what = f"{type(node.ops[0]).__name__} to {type(after).__name__}"
            if number == wanted:
                node.ops[0] = after  # type: ignore[call-overload]  # as the table has them
        elif isinstance(node, ast.BinOp | ast.BoolOp | ast.UnaryOp) and type(node.op) in SWAPPED:
            after = SWAPPED[type(node.op)]()
            what = f"{type(node.op).__name__} to {type(after).__name__}"
            if number == wanted:
                node.op = after  # type: ignore[assignment]  # as the table has them
        elif isinstance(node, ast.Constant) and isinstance(node.value, bool | int | float):
            before = node.value
            value = not before if isinstance(before, bool) else before * 1.3 or 1
            what = f"{before} to {value}"
            if number == wanted:
                node.value = type(before)(value) if isinstance(before, bool | float) else before + 1
        else:
            continue
        yield line, what
        number += 1


def modules_of(words: list[str]) -> list[Path]:
    """The modules named, and those of the folders named."""
    found: list[Path] = []
    for word in words:
        path = ROOT / word
        found += sorted(path.rglob("*.py")) if path.is_dir() else [path]
    return [path.relative_to(ROOT) for path in found]


def tests_for(module: Path) -> list[str]:
    """Test files that import the module or its room."""
    dotted = ".".join(module.with_suffix("").parts)
    room = ".".join(module.parts[:2])
    files = sorted((ROOT / "tests").glob("test_*.py"))
    near = [str(f.relative_to(ROOT)) for f in files if dotted in f.read_text(encoding="utf-8")]
    wide = [str(f.relative_to(ROOT)) for f in files if room in f.read_text(encoding="utf-8")]
    return list(dict.fromkeys([*near, *wide]))


def is_noticed(copy: Path, tests: list[str], most_s: float | None = None) -> bool:
    """Whether a test fails, or does not come to an end in time."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-n0", "-p", "no:cacheprovider", *tests]
    environment = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        run = subprocess.run(
            command, cwd=copy, env=environment, capture_output=True, timeout=most_s
        )
    except subprocess.TimeoutExpired:
        return True
    return run.returncode != 0


def most_seconds(copy: Path, tests: tuple[str, ...], known: dict[tuple[str, ...], float]) -> float:
    """How long they may take; they have to pass where nothing is changed, or nothing is told."""
    if tests not in known:
        start = time.monotonic()
        if is_noticed(copy, [*tests]):
            sys.exit(f"these fail where nothing is changed: {' '.join(tests)}")
        known[tests] = HANGS_TIMES * (time.monotonic() - start) + HANGS_S
    return known[tests]


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("modules", nargs="+")
    ask.add_argument("--tests", nargs="*", help="test files to run instead of those that fit")
    ask.add_argument("--most", type=int, default=20, help="changes tried in all")
    ask.add_argument("--seed", type=int, default=1)
    given = ask.parse_args()
    places = [
        (module, number, line, what)
        for module in modules_of(given.modules)
        for number, (line, what) in enumerate(
            changed(ast.parse((ROOT / module).read_text(encoding="utf-8")), None)
        )
    ]
    random.Random(given.seed).shuffle(places)
    tried = survived = 0
    unchanged: dict[tuple[str, ...], float] = {}
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv*", "__pycache__"))
        for module, number, line, what in places[: given.most]:
            text = (ROOT / module).read_text(encoding="utf-8")
            tree = ast.parse(text)
            list(changed(tree, number))
            tests = given.tests or tests_for(module)
            most_s = most_seconds(copy, tuple(tests), unchanged)
            (copy / module).write_text(ast.unparse(tree), encoding="utf-8")
            noticed = is_noticed(copy, tests, most_s)
            (copy / module).write_text(text, encoding="utf-8")
            tried += 1
            survived += not noticed
            print(f"{module}:{line}: {what}: {'caught' if noticed else 'SURVIVED'}", flush=True)
    share = 100 * (tried - survived) / tried if tried else 0.0
    print(f"{tried} changes, {survived} survived, {share:.0f} % caught; seed {given.seed}")


if __name__ == "__main__":
    main()
