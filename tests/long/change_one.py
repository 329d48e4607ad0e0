"""Changes one constant, sign, comparison or operator at a time and reports what no test noticed.

It is no test: a run over a room takes many minutes. The tests named, or else every test file that
names the modules or their room, are run once, and the lines that each reaches are noted. Then each
change is made in a child of this process, in memory, and the tests that reach its line are run,
cheapest first, until one fails. What all of them pass is tried once more on a copy of the project,
by the files of these tests in a process of their own: what is worked out while a file is imported
is worked out anew there. A change that survives this too is printed with its line; one on a line
that no test reached is printed and counted among the survivors.

Needs Python 3.12. A child is given so many seconds of CPU; what does not end in them is caught.

Run: python tests/long/change_one.py millprep/planning millprep/checks/gaps.py --most 40 --seed 7
"""

from __future__ import annotations

import argparse
import ast
import functools
import gc
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any, NamedTuple

import pytest
from _pytest.runner import runtestprotocol

ROOT = Path(__file__).parent.parent.parent
SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.Add: ast.Sub, ast.Sub: ast.Add,
    ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or, ast.Or: ast.And,
    ast.USub: ast.UAdd,
}  # fmt: skip


class Place(NamedTuple):
    """A place that can be changed: the how-manyeth of its module, and the statement round it."""

    module: Path
    number: int
    line: int
    what: str

    def __str__(self) -> str:
        return f"{self.module}:{self.line}: {self.what}"


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
            value = other_than(node.value)
            what = f"{node.value} to {value}"
            if number == wanted:
                node.value = value
        else:
            continue
        yield line, what
        number += 1


def other_than(value: float) -> float:
    if isinstance(value, bool):
        return not value
    return value + 1 if isinstance(value, int) else value * 1.3 or 1.0


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


def places_in(words: list[str]) -> Iterator[Place]:
    for module in modules_of(words):
        tree = ast.parse((ROOT / module).read_text(encoding="utf-8"))
        for number, (line, what) in enumerate(changed(tree, None)):
            yield Place(module, number, line, what)


# ---- a change, made in the process that is running


def lines_round(place: Place) -> tuple[range, bool]:
    """Lines of the innermost statement, and whether it stands within a function."""
    tree = ast.parse((ROOT / place.module).read_text(encoding="utf-8"))
    round_it: list[Any] = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.stmt) and first_line(node) <= place.line <= (node.end_lineno or 0)
    ]
    inner = min(round_it, key=lambda node: node.end_lineno - first_line(node))
    functions = ast.FunctionDef | ast.AsyncFunctionDef
    is_within = any(isinstance(node, functions) and node is not inner for node in round_it)
    return range(first_line(inner), inner.end_lineno + 1), is_within


def first_line(statement: ast.stmt) -> int:
    """Its decorators stand above it and belong to it."""
    return min(
        [statement.lineno, *(one.lineno for one in getattr(statement, "decorator_list", []))]
    )


def codes_of(code: CodeType) -> Iterator[CodeType]:
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield constant
            yield from codes_of(constant)


def make(place: Place) -> None:
    """Puts changed code into the functions that exist, a changed constant where it is known."""
    path = ROOT / place.module
    tree = ast.parse(path.read_text(encoding="utf-8"))
    list(changed(tree, place.number))
    fresh = {
        (code.co_qualname, code.co_firstlineno): code
        for code in codes_of(compile(tree, str(path), "exec"))
    }
    for function in [one for one in gc.get_objects() if isinstance(one, FunctionType)]:
        before = function.__code__
        after = fresh.get((before.co_qualname, before.co_firstlineno))
        is_ours = before.co_filename == str(path) and after is not None
        if is_ours and after.co_freevars == before.co_freevars:
            function.__code__ = after
    module = sys.modules[".".join(place.module.with_suffix("").parts).removesuffix(".__init__")]
    if not lines_round(place)[1]:
        change_constant(module, tree, place)
    for kept in [one for one in gc.get_objects() if isinstance(one, functools._lru_cache_wrapper)]:
        kept.cache_clear()


def change_constant(module: ModuleType, tree: ast.Module, place: Place) -> None:
    """What the statement at the top of a module names, in each module that has taken it over."""
    lines = lines_round(place)[0]
    statements = [one for one in tree.body if one.lineno == lines.start]
    names = {node.id for one in statements for node in ast.walk(one) if isinstance(node, ast.Name)}
    after = dict(vars(module))
    exec(compile(ast.Module(statements, []), str(module.__file__), "exec"), after)
    for name in names & vars(module).keys():
        before = vars(module)[name]
        for other in [one for one in sys.modules.values() if isinstance(one, ModuleType)]:
            if vars(other).get(name) is before:
                setattr(other, name, after[name])


# ---- the tests


class Bitten:
    """A plugin of pytest: instead of running the tests once, runs them on each change."""

    def __init__(self, places: list[Place], most_s: float) -> None:
        self.places, self.most_s = places, most_s
        self.reached: dict[tuple[str, int], list[int]] = defaultdict(list)
        self.cost_s: dict[int, float] = {}
        self.counts = {"caught": 0, "SURVIVED": 0, "UNREACHED": 0}

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.run_unchanged(session.items)
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder) / "copy"
            left_out = shutil.ignore_patterns(".git", ".venv*", "__pycache__", ".*_cache")
            shutil.copytree(ROOT, copy, ignore=left_out)
            for place in self.places:
                said = self.told(place, session.items, copy)
                self.counts[said] += 1
                print(f"{place}: {said}", flush=True)
        return True

    def run_unchanged(self, items: list[pytest.Item]) -> None:
        """Notes which lines each test reaches, and how long it takes; a failure ends all."""
        watch, hits = sys.monitoring, set[tuple[str, int]]()

        def on_line(code: CodeType, line: int) -> object:
            hits.add((code.co_filename, line))
            return watch.DISABLE

        watch.use_tool_id(watch.PROFILER_ID, "changes")
        watch.register_callback(watch.PROFILER_ID, watch.events.LINE, on_line)
        for number, item in enumerate(items):
            hits.clear()
            watch.restart_events()
            watch.set_events(watch.PROFILER_ID, watch.events.LINE)
            start = time.process_time()
            if is_failed(item, items[number + 1] if number + 1 < len(items) else None):
                sys.exit(f"fails where nothing is changed: {item.nodeid}")
            self.cost_s[number] = time.process_time() - start
            watch.set_events(watch.PROFILER_ID, 0)
            for hit in hits:
                self.reached[hit].append(number)
        watch.free_tool_id(watch.PROFILER_ID)

    def told(self, place: Place, items: list[pytest.Item], copy: Path) -> str:
        lines, is_within = lines_round(place)
        file = str(ROOT / place.module)
        numbers = {
            number
            for (name, line), found in self.reached.items()
            if name == file and (line in lines or not is_within)
            for number in found
        }
        if not numbers:
            return "UNREACHED"
        order = sorted(numbers, key=lambda number: self.cost_s[number])
        if is_caught_here(place, [items[number] for number in order], self.most_s):
            return "caught"
        files = list(dict.fromkeys(str(items[number].path.relative_to(ROOT)) for number in order))
        return "caught" if is_caught_there(place, files, copy) else "SURVIVED"


def is_failed(item: pytest.Item, following: pytest.Item | None = None) -> bool:
    return any(report.failed for report in runtestprotocol(item, False, following))


def is_caught_here(place: Place, items: list[pytest.Item], most_s: float) -> bool:
    """Whether a test fails, or does not come to an end, in a child in which the change is made."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] != 0
    signal.signal(signal.SIGVTALRM, lambda *_: os._exit(1))
    signal.setitimer(signal.ITIMER_VIRTUAL, most_s)
    try:
        make(place)
        is_bitten = any(is_failed(item) for item in items)
    finally:  # whatever it was that was raised: nothing of it may come back to the parent's loop
        os._exit(int(sys.exc_info()[0] is not None or is_bitten))


def is_caught_there(place: Place, files: list[str], copy: Path) -> bool:
    """The same by whole files of tests, on a copy of the project in which the change stands."""
    text = (ROOT / place.module).read_text(encoding="utf-8")
    tree = ast.parse(text)
    list(changed(tree, place.number))
    (copy / place.module).write_text(ast.unparse(tree), encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-n0", "-p", "no:cacheprovider", *files]
    environment = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    run = subprocess.run(command, cwd=copy, env=environment, capture_output=True)
    (copy / place.module).write_text(text, encoding="utf-8")
    return run.returncode != 0


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("modules", nargs="+")
    ask.add_argument("--tests", nargs="*", help="test files to run instead of those that fit")
    ask.add_argument("--most", type=int, default=20, help="changes tried in all")
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--seconds", type=float, default=60, help="of CPU for each change")
    given = ask.parse_args()
    os.chdir(ROOT)
    places = [*places_in(given.modules)]
    random.Random(given.seed).shuffle(places)
    places = places[: given.most]
    tests = given.tests or list(
        dict.fromkeys(test for place in places for test in tests_for(place.module))
    )
    plugin = Bitten(places, given.seconds)
    pytest.main(["-q", "-s", "-n0", "-p", "no:cacheprovider", *tests], plugins=[plugin])
    caught, survived, unreached = plugin.counts.values()
    share = 100 * caught / len(places) if places else 0.0
    print(
        f"{len(places)} changes, {survived} survived, {unreached} unreached,"
        f" {share:.0f} % caught; seed {given.seed}"
    )


if __name__ == "__main__":
    main()
