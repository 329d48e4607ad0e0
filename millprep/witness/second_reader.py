"""The second reader: a program that was written is read by pygcode too, and both must agree.

pygcode is an independent general library. Compared are the words on every line, the end points of
plain motion and the X and Y of cycles. Beyond it are G84 with the lines that continue it, G53, G28
and the depths of cycles. It is slow, so only the first 20,000 lines are compared; the rest is said
in a note, and so is a line that it cannot follow. Imports pygcode, numpy and the reading side.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from typing import Any

import numpy as np

from millprep.base.bounds import MOST_COMPARED_LINES
from millprep.base.findings import Finding
from millprep.reading.gcode.lines import decode, raw_lines
from millprep.reading.gcode.recognise import Line as OwnLine
from millprep.reading.gcode.recognise import recognise
from millprep.reading.moves import ProgramRun

AGREEMENT_MM = 0.0005
_BEYOND = frozenset({280, 300, 530, 840})  # as `Line.g` has codes: tenths
_PLAIN_MOTION = frozenset({0, 10, 20, 30})
_CYCLES = frozenset({730, *range(810, 900, 10)})
_END_OF_CYCLE = 800
_MOTIONS = _PLAIN_MOTION | _CYCLES | {_END_OF_CYCLE}


def second_reading(data: bytes, run: ProgramRun, file: str) -> list[Finding]:
    """Where pygcode and millprep read a program differently, each a stop.

    data : the program's bytes; run : what millprep's own reader made of them
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its own regular expressions warn on newer Pythons
        found = list(_compare(data, run, file))
    if run.lines > MOST_COMPARED_LINES:
        words = f"the second reader compared the first {MOST_COMPARED_LINES} of {run.lines} lines"
        found.append(Finding("note", "second-reader-capped", words, file=file))
    return found


def _stop(file: str, number: int, message: str) -> Finding:
    remedy = "the program was not written; please report it"
    return Finding("stop", "readers-disagree", message, remedy, file, number)


def _lost(file: str, number: int, lines: int, error: Exception) -> Finding:
    words = f"the second reader cannot follow this line ({type(error).__name__}): lines {number} "
    words += f"to {lines} are not compared with what it makes of them"
    return Finding("note", "second-reader-lost", words, file=file, line=number)


def _compare(data: bytes, run: ProgramRun, file: str) -> Iterator[Finding]:
    from pygcode import Line, Machine

    machine = Machine()
    ends = _ends_by_line(run)
    unit_mm = 1.0
    mode = _END_OF_CYCLE
    for number, _, raw in raw_lines(data):
        if number > MOST_COMPARED_LINES:
            return
        text = decode(raw)
        own = recognise(text, number)
        if not (own.g or own.m or own.words):
            continue
        unit_mm = 25.4 if 200 in own.g else 1.0 if 210 in own.g else unit_mm
        mode = next((code for code in own.g if code in _MOTIONS), mode)
        is_beyond = bool(_BEYOND & set(own.g)) or (mode in _BEYOND and bool(own.words))
        try:
            theirs = Line(text)
            their_words = _their_words(theirs)
            if not is_beyond:
                machine.process_block(theirs.block)
        except Exception as error:  # whatever a library of others throws is no fault of the program
            yield _lost(file, number, run.lines, error)
            return
        if _own_words(own) != their_words:
            yield _stop(file, number, f"the second reader finds other words on the line: {text}")
        if is_beyond or number not in ends:
            continue
        letters = "XY" if mode in _CYCLES else "XYZ"
        for letter in letters:
            if letter not in own.words:
                continue
            ours = ends[number]["XYZ".index(letter)]
            other = float(getattr(machine.pos, letter)) * unit_mm
            if abs(ours - other) > AGREEMENT_MM:
                words = f"{letter} ends at {ours:.4f} mm, by the second reader at {other:.4f} mm"
                yield _stop(file, number, words)


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
    """All but the number of the line, which says nothing."""
    return {(w.letter, float(w.value)) for w in line.block.words if w.letter != "N"}
