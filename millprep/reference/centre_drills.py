"""Centre drills: combined drill and 60 degree countersink, by pip and body.

A number alone is two different tools, so each carries its standard. Imports the standard library
and layer 0.
"""

from __future__ import annotations

from typing import Literal, get_args

from millprep.base.records import frozen
from millprep.reference.tables import Source, figure_mm, load_table

CentreDrillStandard = Literal["metric", "inch", "british"]
CENTRE_DRILL_STANDARDS: tuple[CentreDrillStandard, ...] = get_args(CentreDrillStandard)
_NAMES: dict[CentreDrillStandard, str] = {
    "metric": "centre drill A{pip_mm}",
    "inch": "centre drill No. {number}",
    "british": "centre drill BS{number}",
}


@frozen
class CentreDrill:
    """One centre drill: diameters of pip and body [mm], overall length [mm] where listed."""

    designation: str
    standard: CentreDrillStandard
    pip_mm: float
    body_mm: float
    overall_mm: float | None
    source: Source


def centre_drills(standard: CentreDrillStandard) -> tuple[CentreDrill, ...]:
    """Every centre drill of a standard, ascending in pip. Source: ISO 866, B94.11M, BS 328-2."""
    table = load_table(f"drills-centre-{standard}")
    made = []
    for row in table.rows:
        pip_mm, body_mm = figure_mm(row, "pip"), figure_mm(row, "body")
        assert pip_mm is not None and body_mm is not None  # columns of every such table
        words, overall_mm = _NAMES[standard].format_map(row), figure_mm(row, "overall")
        made.append(CentreDrill(words, standard, pip_mm, body_mm, overall_mm, table.source))
    return tuple(made)
