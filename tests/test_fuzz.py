"""Mutated part, shop, assembly, measured and program files: a clear end, whatever they hold.

300 each run, from a seed that a failure prints; MILLPREP_SEED repeats it. `long/fuzz.py` runs as
many as wanted.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest
from mutants import NOT_UTF_8, Case, case_of, fault_of, faults_of, part_folder
from shares import share_of

CHUNKS, CASES_IN_CHUNK = 6, 50


@pytest.fixture(scope="session")
def seed() -> str:
    return os.environ.get("MILLPREP_SEED") or f"{random.SystemRandom().randrange(10**9)}"


@pytest.mark.parametrize("chunk", share_of(CHUNKS))
def test_mutated_files_come_to_a_clear_end(seed: str, chunk: int) -> None:
    """Exit status 0, 1 or 2, no traceback, no input changed, within 10 s and 1 GB."""
    faults = list(faults_of(seed, chunk * CASES_IN_CHUNK, CASES_IN_CHUNK))
    assert not faults, "\n\n".join(faults)


def test_a_case_comes_back_with_its_seed_and_number() -> None:
    one, again = case_of("7", 12), case_of("7", 12)
    assert (one.files, one.arguments) == (again.files, again.arguments)
    assert str(one).startswith("MILLPREP_SEED=7, case 12: ")
    assert case_of("8", 12).files != one.files


def test_a_traceback_and_a_changed_input_are_noticed(
    in_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def throws(arguments: list[str]) -> None:
        raise RuntimeError("on purpose")

    def writes(arguments: list[str]) -> None:
        Path("a.toml").write_text("")

    for broken, said in ((throws, "RuntimeError: on purpose"), (writes, "['a.toml'] was changed")):
        monkeypatch.setattr("mutants.main", broken)
        assert said in fault_of(Case("", 0, {"a.toml": b"a"}, ["check", "a.toml"]))


@pytest.mark.parametrize("command", ["check", "tools", "listing", "dials", "markout", "inspect"])
def test_a_name_that_is_not_utf_8_comes_through_as_json(in_folder: Path, command: str) -> None:
    files = {NOT_UTF_8: part_folder()["tie-bar.toml"]}
    assert fault_of(Case("", 0, files, [command, NOT_UTF_8, "--format", "json"])) == ""
