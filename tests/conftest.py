"""What every test may use: skipping where a program is missing, and only there.

No test is timed: a loaded machine makes none fail.
"""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# of two interpreters that share the runs by chance each tries half as many examples, others each
settings.register_profile(
    "untimed",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    max_examples=50 if "MILLPREP_SHARE" in os.environ else 100,
)
settings.load_profile("untimed")


def skip_without(program: str, is_there: bool) -> None:
    """Skips with the reason; where MILLPREP_NO_SKIPS=1 is set, fails instead."""
    if is_there:
        return
    reason = f"{program} is not installed"
    if os.environ.get("MILLPREP_NO_SKIPS") == "1":
        pytest.fail(f"{reason}, and MILLPREP_NO_SKIPS=1 is set")
    pytest.skip(reason)


def pytest_runtest_setup(item: pytest.Item) -> None:
    for marker in item.iter_markers("needs"):
        for program in marker.args:
            skip_without(program, shutil.which(program) is not None)


@pytest.fixture(scope="session", autouse=True)
def _own_state(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What the desk keeps of the folders of tests does not lie with what it keeps of one's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
        yield


@pytest.fixture
def in_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An empty folder that the test runs in."""
    monkeypatch.chdir(tmp_path)
    yield tmp_path
