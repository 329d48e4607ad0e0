"""What has to be said beside a drawing: may its size be trusted, and what is it good for."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby

from millprep.sheets.drawing import DrawnSetup
from millprep.sheets.view import Mark
from millprep.writers.drawing.frame import BAR_MM, Frame
from millprep.writers.drawing.table import pattern_letter

PAPER_ERROR_MM = 0.3
"""What damp in the paper and a punch by eye add up to. Source: common practice."""
_MOST_LETTERS_NAMED = 8


def notes_of(setup: DrawnSetup, frame: Frame, left_out: Sequence[str]) -> list[str]:
    """At most four lines, each short enough for the title block."""
    lines = list(_of_size(setup, frame))
    if frame.purpose.is_template:
        lines += _of_template(setup, frame)
    if left_out:
        what = "letter has" if len(left_out) == 1 else "letters have"
        lines.append(f"{len(left_out)} {what} no room: see the table")
    return lines[:4]


def _of_size(setup: DrawnSetup, frame: Frame) -> Iterator[str]:
    if frame.is_model:
        yield "full size, millimetres, zero as in the table"
        return
    purpose = frame.purpose
    if purpose.measured_mm is None:
        yield "measure both bars before you trust the paper"
        return
    across, up = purpose.measured_mm
    yield f"corrected for bars of {across:g} and {up:g} mm: measure again"
    farthest = _farthest(setup)
    if farthest is not None:
        left_over = residual_mm(frame, farthest)
        yield (
            f"bars read to {purpose.read_to_mm / 2:g} mm leave {left_over:.2f} mm "
            f"at {farthest.letter}, the farthest"
        )


def _of_template(setup: DrawnSetup, frame: Frame) -> Iterator[str]:
    left_over = PAPER_ERROR_MM
    farthest = _farthest(setup)
    if frame.purpose.measured_mm is None and farthest is not None:
        reach = math.hypot(farthest.x_mm, farthest.y_mm)
        yield f"a bar 0.5 mm out puts {farthest.letter} {reach * 0.5 / BAR_MM:.2f} mm off"
    elif farthest is not None:
        left_over += residual_mm(frame, farthest)
    closer = [
        letter
        for letter, run in groupby(setup.view.marks, key=pattern_letter)
        if any(mark.tolerance_mm is not None and mark.tolerance_mm < left_over for mark in run)
    ]
    if closer:
        named = ", ".join(closer) if len(closer) <= _MOST_LETTERS_NAMED else f"{len(closer)} holes"
        yield f"paper and punch keep {left_over:.1f} mm: not for drilling {named}"
    else:
        yield f"paper and punch keep {left_over:.1f} mm: check before drilling"


def _farthest(setup: DrawnSetup) -> Mark | None:
    """The hole farthest from zero."""
    return max(setup.view.marks, key=lambda mark: math.hypot(mark.x_mm, mark.y_mm), default=None)


def residual_mm(frame: Frame, mark: Mark) -> float:
    """How far a hole may still be off after the correction: half the last place of the bars."""
    share = frame.purpose.read_to_mm / 2 / BAR_MM
    return share * math.hypot(mark.x_mm, mark.y_mm)
