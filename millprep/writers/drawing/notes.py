"""What has to be said beside a drawing: may its size be trusted, and what is it good for."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.sheets.drawing import DrawnSetup
from millprep.sheets.view import Mark
from millprep.writers.drawing.frame import Frame

PAPER_ERROR_MM = 0.3
"""What damp in the paper and a punch by eye add up to. Source: common practice."""
_MOST_LETTERS_NAMED = 8
_SAME_MM = 1e-9


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
        yield "full size in millimetres, zero as in the table"
        return
    purpose = frame.purpose
    if purpose.measured_mm is None:
        has_table = frame.table is not None or purpose.is_template
        rest = "before you trust the paper" if has_table else "first; table of holes: next sheet"
        yield f"measure both bars {rest}"
        return
    across, up = purpose.measured_mm
    yield f"corrected, bars {round(across, 2):g} and {round(up, 2):g} mm: measure again"
    farthest = _farthest(setup)
    if farthest is not None:
        left_over = residual_mm(frame, farthest)
        read_to = f"{purpose.read_to_mm / 2:.2f} mm"
        yield f"bars read to {read_to} leave {left_over:.2f} mm at {farthest.letter}"


def _of_template(setup: DrawnSetup, frame: Frame) -> Iterator[str]:
    left_over = PAPER_ERROR_MM
    farthest = _farthest(setup)
    if frame.purpose.measured_mm is None and farthest is not None:
        reach = math.hypot(farthest.x_mm, farthest.y_mm)
        off = reach * 0.5 / frame.purpose.bar_mm
        yield f"a bar 0.5 mm out puts {farthest.letter} {off:.2f} mm off"
    elif farthest is not None:
        left_over += residual_mm(frame, farthest)
    closer = [letter for letter, off_mm in setup.may_be_off_mm if off_mm < left_over - _SAME_MM]
    if closer:
        named = (
            ", ".join(closer) if len(closer) <= _MOST_LETTERS_NAMED else f"{len(closer)} letters"
        )
        yield f"paper and punch keep {left_over:.1f} mm: not for drilling {named}"
    else:
        yield f"paper and punch keep {left_over:.1f} mm: check before drilling"


def _farthest(setup: DrawnSetup) -> Mark | None:
    """The hole farthest from zero."""
    return max(setup.view.marks, key=lambda mark: math.hypot(mark.x_mm, mark.y_mm), default=None)


def residual_mm(frame: Frame, mark: Mark) -> float:
    """How far a hole may still be off after the correction: half the last place of the bars."""
    share = frame.purpose.read_to_mm / 2 / frame.purpose.bar_mm
    return share * math.hypot(mark.x_mm, mark.y_mm)
