"""The one way to a drawing: sheets for each setup of a checked part, as the bytes of files.

It is drawn from the sheet that the listing is written from; a drawing itself is not read back.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, WordError, chosen_word, has_stop, stopped
from millprep.base.records import frozen, replace
from millprep.base.units import Units, read_length
from millprep.proven.handed import Handed, letters_lost
from millprep.proven.preparation import Prepared, nothing_to_show, numbered_path, wanted_setup

if TYPE_CHECKING:
    from millprep.canvas.paper import Paper
    from millprep.writers.drawing import Purpose

ENDINGS = (".svg", ".pdf", ".png", ".dxf")
MOST_CORRECTION_MM = 5.0


def drawings(
    prepared: Prepared,
    ending: str,
    *,
    units: Units | None = None,
    setup: int | None = None,
    purpose: Purpose | None = None,
    date: str = "",
) -> list[Handed]:
    """A drawing as files with that ending: a PDF of all setups, else one a sheet; one at least.

    date : as the title line shows it, none where it is empty
    """
    from millprep.sheets.drawing import make_drawing
    from millprep.sheets.left_words import marked
    from millprep.writers.drawn import drawn

    plan = prepared.plan
    if not (purpose is not None and purpose.is_template):  # it shows the part as it will be
        plan = replace(prepared.whole, part=marked(prepared.whole.part))
    number = wanted_setup(setup, [one.setup.number for one in plan.setups])
    lost = letters_lost(plan.part, ending, "write .svg or .dxf to keep them")
    found = (*prepared.findings, *lost, *nothing_to_show(plan.part))
    if has_stop(found):
        return [Handed(None, found)]
    sheet = make_drawing(plan, units or prepared.part.units, number, date)
    return [
        Handed(one.data, found, one.setup, sheet=one.sheet) for one in drawn(sheet, ending, purpose)
    ]


def drawn_files(
    prepared: Prepared,
    file: Path,
    wishes: Wishes,
    *,
    units: Units | None = None,
    setup: int | None = None,
    date: str = "",
) -> tuple[dict[Path, bytes], tuple[Finding, ...]]:
    """The files of a drawing, several numbered after `file`, and what was found.

    Raises MillprepError for what is wished of its paper and cannot be.
    """
    shown, ending = units or prepared.part.units, file.suffix.lower()
    purpose = purpose_of(ending, wishes, shown, str(file), prepared.shop.paper)
    sheets = drawings(prepared, ending, units=shown, setup=setup, purpose=purpose, date=date)
    several = len(sheets) > 1
    files = {
        numbered_path(file, one.setup if several else None, sheet=one.sheet): one.data
        for one in sheets
        if one.data is not None
    }
    return files, sheets[0].findings


def refuse_no_drawing(ending: str, file: str | None = None) -> None:
    """Raises MillprepError for an ending that no drawing has."""
    if ending.lower() not in ENDINGS:
        raise stopped(
            "unknown-word",
            f'no drawing is written as "{ending}"',
            f"endings: {', '.join(ENDINGS)}",
            file,
        )


@frozen
class Wishes:
    """What is asked of a drawing's paper, as words of a command line.

    measured_bars : read in `units` where a figure has none of its own
    """

    template: bool = False
    measured_bars: str | None = None
    paper: str | None = None
    units: Units = "mm"


def purpose_of(
    ending: str,
    wishes: Wishes,
    part_units: Units = "mm",
    file: str | None = None,
    shop_paper: str | None = None,
) -> Purpose:
    """What a drawing is for. Raises MillprepError for an ending, paper or bars that cannot be.

    part_units : of the figures on it, whose bars it has
    shop_paper : what is in the printer as a rule; the wishes go before it
    """
    from millprep.writers.drawing import BARS_MM, Purpose

    refuse_no_drawing(ending, file)
    if ending.lower() == ".dxf":
        for name in ("measured_bars", "paper"):
            if getattr(wishes, name) is not None:
                option = "--" + name.replace("_", "-")
                raise stopped(
                    "unknown-word",
                    f"{option} is for paper, and a .dxf file has none",
                    f"write .pdf, .svg or .png, or leave {option} out",
                    file,
                )
    bar_mm, bar = BARS_MM[part_units]
    purpose = Purpose(wishes.template, bar_mm=bar_mm, paper=_paper(wishes.paper or shop_paper))
    if wishes.measured_bars is None:
        return purpose
    measured, read_to_mm = _measured(wishes.measured_bars, wishes.units, bar_mm, bar)
    return replace(purpose, measured_mm=measured, read_to_mm=read_to_mm)


def _paper(name: str | None) -> Paper:
    """Raises MillprepError for paper that is not known."""
    from millprep.canvas.paper import EITHER, PAPERS

    return EITHER if name is None else PAPERS[chosen_word("--paper", name.lower(), tuple(PAPERS))]


def _measured(
    measured_bars: str, units: Units, bar_mm: float, bar: str
) -> tuple[tuple[float, float], float]:
    """The two bars and the last place they are read to [mm].

    Raises MillprepError for bars that are no two lengths near those printed.
    """
    words = measured_bars.split(",")
    example = "99.4,99.7" if bar == "100 mm" else "3.98 in,3.99 in"
    try:
        across, up = (float(read_length(word, units)) for word in words)
    except (ValueError, WordError):
        raise stopped(
            "bad-value",
            f'--measured-bars: "{measured_bars}" is not two lengths',
            f"give the bar along X and the bar along Y, as {example}",
        ) from None
    for axis, length in (("X", across), ("Y", up)):
        if abs(length - bar_mm) > MOST_CORRECTION_MM + 1e-9:
            raise stopped(
                "not-true-scale",
                f"--measured-bars: the bar along {axis} is {length:g} mm, not near {bar}",
                f"up to {MOST_CORRECTION_MM:g} mm out can be corrected, given as {example}; "
                'else print again at full size, without "fit to page"',
            )
    return (across, up), max(_last_place_mm(word, units) for word in words)


def _last_place_mm(word: str, units: Units) -> float:
    """What the last figure of a length stands for: 0.1 of "99.4", 1/16 in of "3 15/16 in"."""
    one = float(read_length("1" + re.sub(r"[\d\s./+-]", "", word), units))
    fraction = re.search(r"/\s*(\d+)", word)
    if fraction is not None:
        return one / int(fraction[1])
    decimals = re.search(r"\.(\d+)", word)
    return one / 10 ** len(decimals[1]) if decimals is not None else one
