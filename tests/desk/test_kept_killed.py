"""A process killed while it changes a file: the file is whole, and at most that change is lost.

The process, this file run as a program, says before each change what it leads to, and after it
that it is made. MILLPREP_KILLS says how many are killed.
"""

from __future__ import annotations

import itertools
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import IO, Any

from millprep.desk.held_folder import mark_of
from millprep.desk.kept import Kept

KILLS = int(os.environ.get("MILLPREP_KILLS", "12"))
Stands = tuple[str, dict[str, Any]]
"""The mark of the bytes, and what stands in pencil."""


def change_for_ever(folder: Path, home: Path, seed: int) -> None:
    """Changes one file, by chance in every way that there is."""
    chance, kept = random.Random(seed), Kept(folder, home)
    file = kept.of(Path("left.toml"))
    for number in itertools.count():
        now, way = file.now, chance.choice(["keep", "keep", "pencil", "back", "forward"])
        data, pencil = now.data, {"F": f"{seed}.{number}"}
        if way == "keep":
            data = b"# %d.%d\n" % (seed, number) * chance.randrange(1, 4_000)
        elif way != "pencil":
            look = kept.store.before if way == "back" else kept.store.after
            to = look("left.toml", now.number) or now
            data, pencil = to.data, to.pencil
        print(json.dumps([mark_of(data), pencil]), flush=True)
        if way == "keep":
            file.keep(now.mark, data, pencil, f"change {number}")
        elif way == "pencil":
            file.pencil(pencil, f"change {number}")
        else:
            file.step_back() if way == "back" else file.step_forward()
        print("made", flush=True)


def killed(folder: Path, home: Path, seed: int) -> tuple[Stands | None, Stands]:
    """How the file stood after the last change that was made, and what the next led to."""
    chance = random.Random(-seed)
    program = [sys.executable, __file__, str(folder), str(home), str(seed)]
    with subprocess.Popen(program, stdout=subprocess.PIPE, text=True) as process:
        out: IO[str] = process.stdout  # type: ignore[assignment]  # it is a pipe
        lines = [out.readline() for _ in range(2 * chance.randrange(1, 6) - 1)]
        time.sleep(chance.uniform(0, 0.02))
        process.send_signal(signal.SIGKILL)
        lines += out
    said = [json.loads(line) for line in lines if line.startswith("[")]
    is_made = lines[-1] == "made\n"
    stood = said[-1] if is_made else said[-2] if len(said) > 1 else None
    return stood and (stood[0], stood[1]), (said[-1][0], said[-1][1])


def test_a_killed_process_loses_at_most_the_change_that_it_was_making(tmp_path: Path) -> None:
    folder, home = tmp_path / "sheets", tmp_path / "home"
    folder.mkdir()
    path = folder / "left.toml"
    path.write_bytes(b"# first\n")
    before: Stands = mark_of(b"# first\n"), {}
    for seed in range(1, KILLS + 1):
        stood, next_to = killed(folder, home, seed)
        may_stand = [stood or before, next_to]
        assert mark_of(path.read_bytes()) in [mark for mark, _ in may_stand], seed
        kept = Kept(folder, home)
        file = kept.of(path)
        now = file.now
        before = now.mark, now.pencil
        assert before in may_stand, seed
        assert (now.by, mark_of(path.read_bytes())) == ("desk", now.mark), (seed, now.said)
        assert [one.name for one in folder.iterdir()] == ["left.toml"], seed
        assert all("finished what was begun" in one for one in kept.told), seed
        assert len(kept.told) <= 1, seed
        if os.environ.get("MILLPREP_KILLS"):
            print(seed, kept.told)
        if file.would_take_back() is not None:
            file.step_back()
            assert file.step_forward() == now, seed
        kept.close()


if __name__ == "__main__":
    change_for_ever(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]))
