"""Where several pieces stand on one table: words of an option, or a file (CSV), to places.

    "0,0 80,0 0,60"          x,y
                             0,0
                             80,0

The zero of each from the first's, which is 0,0.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from millprep.base.bounds import MOST_MADE
from millprep.base.findings import WordError, stopped
from millprep.base.units import Units, shown
from millprep.infiles.csv_file import figure_mm, read_csv
from millprep.infiles.told import Told

Place = tuple[float, float]
_HOW = 'give X,Y of each zero from the first\'s, blanks between: --places "0,0 80,0"'


def read_places(words: str, units: Units) -> tuple[Place, ...]:
    """The places [mm] of an option, or of the file that it names; two at least.

    Raises MillprepError.
    """
    if words.strip().lower().endswith(".csv"):
        return _sound(_of_file(words.strip(), units), words)
    pairs = [re.split(r"[,;]", each) for each in re.sub(r"\s*,\s*", ",", words).split()]
    try:
        return _sound([(_mm(x, units), _mm(y, units)) for x, y in pairs], words)
    except (ValueError, WordError):
        raise stopped("bad-value", f"--places: {shown(words)} is no list of places", _HOW) from None


def _mm(figure: str, units: Units) -> float:
    return float(figure_mm(figure, units))


def _of_file(path: str, units: Units) -> list[Place]:
    faults = Told(path)
    table = read_csv(Path(path), ("x", "y"), (), faults)
    found: list[Place] = []
    for row in table.rows:
        try:
            x, y = (table.length_mm(row.cells[axis], units) for axis in ("x", "y"))
            found.append((x, y))
        except WordError as error:
            faults.stop_at("bad-value", row.line, error.message, error.remedy)
    faults.raise_if_any()
    return found


def _sound(places: Sequence[Place], words: str) -> tuple[Place, ...]:
    if len(places) > MOST_MADE:
        what = f"--places: {len(places)} pieces"
        raise stopped("bad-value", what, f"at most {MOST_MADE} in one program")
    if len(places) < 2 or places[0] != (0.0, 0.0):
        what = f"--places: {shown(words)} does not begin with 0,0 and another"
        raise stopped("bad-value", what, f"the first piece is the one that zero is set on: {_HOW}")
    return tuple(places)
