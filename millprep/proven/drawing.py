"""The one way to a drawing: a page for each setup of a checked part, as the bytes of a file.

It is drawn from the sheet that the listing is written from; a drawing itself is not read back.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from millprep.base.findings import WordError, has_stop, stopped
from millprep.base.units import Units, read_length
from millprep.proven.letters import letters_lost
from millprep.proven.preparation import Prepared, nothing_to_show, wanted_setup
from millprep.proven.sheets import Handed

if TYPE_CHECKING:
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
) -> list[Handed]:
    """A drawing for each setup, as the bytes of files with that ending; one Handed at least.

    Raises MillprepError for what no paper takes at full size.
    """
    from millprep.sheets.drawing import make_drawing
    from millprep.writers.drawn import drawn

    number = wanted_setup(setup, prepared.setup_numbers)
    lost = letters_lost(prepared.part, ending, "write .svg or .dxf to keep them")
    found = (*prepared.findings, *lost, *nothing_to_show(prepared.part))
    if has_stop(found):
        return [Handed(None, found)]
    sheet = make_drawing(prepared.plan, units or prepared.part.units, number)
    return [Handed(drawn(sheet, one, ending, purpose), found, one.number) for one in sheet.setups]


def purpose_of(
    ending: str,
    template: bool = False,
    measured_bars: str | None = None,
    units: Units = "mm",
    file: str | None = None,
) -> Purpose:
    """What a drawing is for. Raises MillprepError for an ending or bars that cannot be."""
    if ending.lower() not in ENDINGS:
        raise stopped(
            "unknown-word",
            f'no drawing is written as "{ending}"',
            f"endings: {', '.join(ENDINGS)}",
            file,
        )
    purpose = _purpose(template, measured_bars, units)
    if ending.lower() == ".dxf" and purpose.measured_mm is not None:
        raise stopped(
            "unknown-word",
            "--measured-bars is for paper, and a .dxf file has none",
            "write .pdf, .svg or .png, or leave --measured-bars out",
            file,
        )
    return purpose


def _purpose(template: bool, measured_bars: str | None, units: Units) -> Purpose:
    """Raises MillprepError for bars that are no two lengths near 100 mm."""
    from millprep.writers.drawing import BAR_MM, Purpose

    if measured_bars is None:
        return Purpose(template)
    words = measured_bars.split(",")
    try:
        across, up = (float(read_length(word, units)) for word in words)
    except (ValueError, WordError):
        raise stopped(
            "bad-value",
            f'--measured-bars: "{measured_bars}" is not two lengths',
            "give the bar along X and the bar along Y in mm, as 99.4,99.7",
        ) from None
    for axis, length in (("X", across), ("Y", up)):
        if abs(length - BAR_MM) > MOST_CORRECTION_MM + 1e-9:
            raise stopped(
                "not-true-scale",
                f"--measured-bars: the bar along {axis} is {length:g} mm, not near 100",
                "from 95 to 105 mm can be corrected; print again at full size, "
                'without "fit to page"',
            )
    return Purpose(template, (across, up), max(_last_place_mm(word, units) for word in words))


def _last_place_mm(word: str, units: Units) -> float:
    """What the last figure of a length stands for: 0.1 of "99.4", 1/16 in of "3 15/16 in"."""
    one = float(read_length("1" + re.sub(r"[\d\s./+-]", "", word), units))
    fraction = re.search(r"/\s*(\d+)", word)
    if fraction is not None:
        return one / int(fraction[1])
    decimals = re.search(r"\.(\d+)", word)
    return one / 10 ** len(decimals[1]) if decimals is not None else one
