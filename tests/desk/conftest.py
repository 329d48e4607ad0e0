"""What the desk keeps of the folders of tests does not lie with what it keeps of one's own."""

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _own_state(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    home = tmp_path_factory.mktemp("state")
    monkeypatch.setenv("XDG_STATE_HOME", str(home))
    return home
