"""The wheel holds the data files, and works where nothing else of the project is."""

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest
from conftest import skip_without

ROOT = Path(__file__).parent.parent


def has_builder() -> bool:
    try:
        import build  # noqa: F401  # asked for, not used
        import hatchling  # noqa: F401  # the same
    except ImportError:
        return False
    return True


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    skip_without("build with hatchling", has_builder())
    out = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", out, ROOT],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    (found,) = out.glob("*.whl")
    return found


def test_every_file_of_the_package_is_in_it(wheel: Path) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())
    package = ROOT / "millprep"
    wanted = {
        str(path.relative_to(ROOT))
        for path in package.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert wanted <= inside
    assert "millprep/infiles/shops/metric.toml" in inside
    assert "millprep/reference/data/threads-metric-coarse.toml" in inside
    assert any(name.startswith("millprep/infiles/starters/") for name in inside)
    assert not [name for name in inside if name.startswith(("tests/", "parts/"))]
    assert any(name.endswith("/COPYING") for name in inside)


def test_an_empty_environment_looks_up_a_thread(wheel: Path, tmp_path: Path) -> None:
    """Its dependencies are lent by path, so that no network is needed."""
    home = tmp_path / "venv"
    venv.create(home, with_pip=False)
    (library,) = home.glob("lib/python*/site-packages")
    zipfile.ZipFile(wheel).extractall(library)
    import numpy

    lent = Path(numpy.__file__).parent.parent
    script = (
        "import sys; sys.path.append(sys.argv.pop(1)); import millprep; "
        "assert sys.prefix in millprep.__file__, millprep.__file__; "
        "from millprep.cli import main; main()"
    )
    for arguments, said in (
        (["lookup", "M6"], "tapping drill 5 mm"),
        (["new", "part.toml"], ""),
        (["check", "part.toml"], "checked"),
        (["listing", "part.toml", "--shop", "inch"], "SET UP"),
    ):
        done = subprocess.run(
            [home / "bin" / "python", "-c", script, lent, *arguments],
            capture_output=True,
            text=True,
            check=False,
            cwd=tmp_path,
            env={key: value for key, value in os.environ.items() if key != "PYTHONPATH"},
        )
        assert done.returncode == 0, done.stderr
        assert said in done.stdout
