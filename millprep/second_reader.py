"""The second reader: a program that was written is read by pygcode too, and both must agree.

pygcode is an independent general library. Compared are the words on every line, the end points of
plain motion and the X and Y of cycles. Beyond it are G84, G53, G28 and the depths of cycles. It is
slow, so only the first 20,000 lines are compared; the rest is said in a note. Imports pygcode,
numpy and the reading side.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from typing import Any

import numpy as np

from millprep.errors import Finding
from millprep.reading.gcode.recognise import Line as OwnLine
from millprep.reading.gcode.recognise import decode, raw_lines, recognise
from millprep.reading.moves import ProgramRun

MOST_LINES = 20_000
AGREEMENT_MM = 0.0005
_BEYOND = ("G84", "G53", "G28", "G30")
_CYCLES = frozenset({730, 810, 820, 830, 840, 850})


def second_reading(data: bytes, run: ProgramRun, file: str) -> list[Finding]:
    """Where pygcode and millprep read a program differently, each a stop.

    data : the program's bytes; run : what millprep's own reader made of them
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its own regular expressions warn on newer Pythons
        found = list(_compare(data, run, file))
    if run.lines > MOST_LINES:
        found.append(
            Finding(
                "note",
                "second-reader-capped",
                f"the second reader compared the first {MOST_LINES} of {run.lines} lines",
                file=file,
            )
        )
    return found


def _stop(file: str, number: int, message: str) -> Finding:
    return Finding(
        "stop", "readers-disagree", message, "the program was not written; please report it",
        file=file, line=number,
    )  # fmt: skip


def _compare(data: bytes, run: ProgramRun, file: str) -> Iterator[Finding]:
    from pygcode import Line, Machine

    machine = Machine()
    ends = _ends_by_line(run)
    unit_mm = 1.0
    in_cycle = False
    for number, _, raw in raw_lines(data):
        if number > MOST_LINES:
            return
        text = decode(raw)
        own = recognise(text, number)
        if not (own.g or own.m or own.words):
            continue
        theirs = Line(text)
        if _own_words(own) != _their_words(theirs):
            yield _stop(file, number, f"the second reader finds other words on the line: {text}")
        unit_mm = 25.4 if 200 in own.g else 1.0 if 210 in own.g else unit_mm
        in_cycle = bool(_CYCLES & set(own.g)) or (in_cycle and not {0, 10, 800} & set(own.g))
        if not _follow(machine, theirs) or number not in ends:
            continue
        letters = "XY" if in_cycle else "XYZ"
        for letter in letters:
            if letter not in own.words:
                continue
            ours = ends[number]["XYZ".index(letter)]
            other = float(getattr(machine.pos, letter)) * unit_mm
            if abs(ours - other) > AGREEMENT_MM:
                yield _stop(
                    file, number,
                    f"{letter} ends at {ours:.4f} mm, by the second reader at {other:.4f} mm",
                )  # fmt: skip


def _ends_by_line(run: ProgramRun) -> dict[int, tuple[float, float, float]]:
    """Reading at the end of the last move of each line."""
    moves = run.moves
    if not len(moves):
        return {}
    last = np.flatnonzero(np.diff(moves.line, append=-1))
    ends = moves.end[:, last].T.tolist()
    return dict(zip(moves.line[last].tolist(), map(tuple, ends), strict=True))


def _own_words(line: OwnLine) -> set[tuple[str, float]]:
    words = {("G", code / 10) for code in line.g} | {("M", float(code)) for code in line.m}
    return words | {(word.letter, word.value) for word in line.words.values()}


def _their_words(line: Any) -> set[tuple[str, float]]:
    return {(word.letter, float(word.value)) for word in line.block.words}


def _follow(machine: Any, line: Any) -> bool:
    """Let pygcode move; False for what is beyond it."""
    if re.search("|".join(_BEYOND), line.text, re.IGNORECASE):
        return False
    machine.process_block(line.block)
    return True
