"""What hurts is found, and what only looks like it is left in peace: two files a case.

A case is a folder of `look_alikes` with `case.toml`, a dangerous file `danger.*` and a sound one
`sound.*`, and whatever both need beside them. The command runs in a copy of the folder; its word
FILE stands for the one or the other. `found` lists "severity kind line" (line left out where the
finding has none): the dangerous file gives at least these, the sound one exactly these stops and
warnings. `says` are words that must, `silent` words that must not stand in what is printed, for
commands without JSON; they are checked in the text form.
"""

from __future__ import annotations

import json
import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jobs import millprep

CASES = sorted(path.parent for path in (Path(__file__).parent / "look_alikes").glob("*/case.toml"))
HAS_JSON = {"check", "dryrun", "assembly", "listing", "dials", "markout", "inspect", "match"}


def test_there_are_pairs() -> None:
    assert len(CASES) >= 1


@pytest.mark.parametrize("side", ["danger", "sound"])
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_danger_is_found_and_its_look_alike_is_not(
    case: Path, side: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: dict[str, Any] = tomllib.loads((case / "case.toml").read_text(encoding="utf-8"))
    assert told["why"]
    expected = told[side]
    folder = tmp_path / "case"
    shutil.copytree(case, folder)
    monkeypatch.chdir(folder)
    (file,) = [path.name for path in folder.glob(f"{side}.*")]
    command = expected.get("command", told.get("command"))
    words = [file if word == "FILE" else word for word in command]

    assert {"found", "says", "silent"} & set(expected)
    if "found" in expected:
        assert command[0] in HAS_JSON
        ran = millprep(*words, "--format", "json")
        found = sorted(
            " ".join(str(f[key]) for key in ("severity", "kind", "line") if f[key] is not None)
            for f in json.loads(ran.out)["findings"]
            if f["severity"] != "note"
        )
        if side == "danger":
            assert not set(expected["found"]) - set(found), found
        else:
            assert found == sorted(expected["found"])
        assert ran.status == expected["status"]
    if "says" in expected or "silent" in expected:
        ran = millprep(*words)
        printed = " ".join((ran.out + ran.err).split())
        assert not [said for said in expected.get("says", []) if said not in printed]
        assert not [said for said in expected.get("silent", []) if said in printed]
        assert ran.status == expected["status"]
