"""How it starts: as a module, on a Python that is too old, where it is not installed."""

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from jobs import millprep

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]


def from_clone(*command: str | Path) -> subprocess.CompletedProcess[str]:
    """Runs a command in the clone, whatever of the project is installed."""
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    return subprocess.run(
        command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )


def test_as_a_module_it_is_the_same_command() -> None:
    ran, expected = (
        from_clone(sys.executable, "-m", "millprep", "lookup", "M6"),
        millprep("lookup", "M6"),
    )
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, expected.out, expected.err)
    unknown = from_clone(sys.executable, "-m", "millprep", "lokup")
    assert unknown.returncode == 2
    assert "did you mean lookup?" in unknown.stderr
    assert "Usage: millprep " in from_clone(sys.executable, "-m", "millprep", "--help").stdout


def test_it_says_its_version() -> None:
    ran = millprep("--version")
    assert (ran.status, ran.out, ran.err) == (0, f"millprep {PROJECT['version']}\n", "")


def older_pythons() -> list[Path]:
    """Those on the path and beside them that run: a name on the path may lead nowhere."""
    folders = [Path(folder) for folder in os.get_exec_path()]
    kept = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    found = {}
    for path in [*(p for f in folders for p in f.glob("python*")), *kept.glob("*/bin/python")]:
        if re.fullmatch(r"python[\d.]*", path.name):
            code = "import sys; print(sys.version_info < (3, 11)); print(sys.executable)"
            ran = subprocess.run([path, "-c", code], capture_output=True, text=True, check=False)
            if ran.returncode == 0 and ran.stdout.startswith("True"):
                found[Path(ran.stdout.splitlines()[1]).resolve()] = None
    return list(found)


def test_an_older_python_is_told_so() -> None:
    pythons = older_pythons()
    if not pythons:
        pytest.skip("no Python older than 3.11 is here")
    for python in pythons:
        ran = from_clone(python, "-B", "-m", "millprep", "--version")
        assert (ran.returncode, ran.stdout) == (2, ""), python
        assert re.fullmatch(
            r"stop: millprep needs Python 3\.11 or later, and this is [23][\d.]+\n", ran.stderr
        )


def test_what_is_too_old_is_what_pip_refuses() -> None:
    """Where no older Python is at hand: the same by a version that is pretended."""
    oldest = re.fullmatch(r">=3\.(\d+)", PROJECT["requires-python"])
    assert oldest is not None
    for minor, status in ((int(oldest[1]) - 1, 2), (int(oldest[1]), 0)):
        code = f"import sys; sys.version_info = (3, {minor}, 9); import millprep"
        ran = from_clone(sys.executable, "-c", code)
        assert (ran.returncode, ran.stderr.count("\n")) == (status, status // 2)


def test_a_clone_that_is_not_installed_says_how_to() -> None:
    ran = from_clone(sys.executable, "-S", "-m", "millprep", "--version")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert re.match(r"stop: \w+, which millprep uses, is not installed for /", ran.stderr)
    remedy = "python3 -m venv .venv && .venv/bin/pip install -qq . && .venv/bin/millprep "
    assert remedy in ran.stderr
    assert remedy in (ROOT / "README.md").read_text()
