"""The drawing sheet of a part by its own faces, its figures one by one, and small live pictures.

What a page shows while a part grows: pieces of SVG whose looks are classes, and nothing to print.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from millprep.base.findings import WordError
from millprep.base.units import Units, read_length

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Projection
    from millprep.sheets.stated_figures import StatedFigure
    from millprep.writers.elevations import Board


def elevations(part: Part, projection: Projection = "first", text: str = "") -> Board:
    """The views of a part as a plan has them, with its figures from the edges that they count
    from, and where each stands on the sheet.

    text : of the file, of an opposite hand the original's: says from which hole others count
    """
    from millprep.infiles.stated import stated_leaves
    from millprep.sheets.elevations import elevations_of
    from millprep.sheets.stated_figures import stated_figures
    from millprep.writers.elevations import drawn_board

    figures = stated_figures(part, stated_leaves(text) if text else ())
    return drawn_board(elevations_of(part, projection), figures, projection)


def figures_of(part: Part, text: str = "") -> tuple[StatedFigure, ...]:
    """Every figure that the file states, in drawing order, to be compared with the plan.

    text : of the file, of an opposite hand the original's; without it lengths alone are listed,
           with it threads, numbered drills, counts and angles too
    """
    from millprep.infiles.stated import stated_leaves
    from millprep.sheets.stated_figures import stated_figures

    return stated_figures(part, stated_leaves(text) if text else ())


def part_picture(part: Part) -> str:
    """The part as it stands on the bench, for a card: one piece of SVG."""
    from millprep.sheets.picture import standing
    from millprep.writers.pictures.standing import standing_svg

    (picture,) = standing_svg([standing(part)])
    return picture


def pictures_side_by_side(parts: Sequence[Part]) -> list[str]:
    """Parts seen from the same hand and in one scale, as they stand beside each other on the
    bench: two hands, say."""
    from millprep.sheets.picture import standing
    from millprep.writers.pictures.standing import standing_svg

    return standing_svg([standing(part, "left") for part in parts])


def blank_picture(typed: Mapping[str, str], units: Units, *, is_round: bool = False) -> str:
    """A blank as it is typed, with an arrow and the figure for each of its lengths.

    typed : by the key of [stock]: "size.0" to "size.2", or "diameter", "length" and "bore"; what
            is missing or does not read yet is drawn in proportion
    """
    from millprep.sheets.blank import block_as_typed, disc_as_typed
    from millprep.writers.pictures.standing import blank_svg

    lengths = {key: length for key, text in typed.items() if (length := _length_mm(text, units))}
    blank = (disc_as_typed if is_round else block_as_typed)(typed, lengths)
    said = [f"{one.words} {one.text or '?'}" for one in blank.figures]
    return blank_svg(blank, ", ".join(["disc" if is_round else "block", *said]))


def _length_mm(text: str, units: Units) -> float | None:
    try:
        return float(read_length(text, units))
    except WordError:
        return None


def looks() -> str:
    """The rules that the pieces of SVG want of a page: classes alone, in its own colour, and
    `--behind` for that of the paper."""
    from millprep.writers.elevations import looks

    return looks()


def letter_of_line(line: int) -> str:
    """The letter in the balloons of a [[hole]] table, from 0: without I and O, read as figures."""
    from millprep.sheets.view import letter_of

    return letter_of(line)
